// Actions gathered into steps, with what each frees and why it comes when it does.
#include <algorithm>
#include <array>
#include <numeric>
#include <span>

#include "core/job/estimated.hpp"
#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

bool is_move(Verb verb) {
    return leaves(verb) || verb == Verb::fit || verb == Verb::put_back || verb == Verb::raise;
}

bool same_hardware(const Job& job, const Facts& a, const Facts& b) {
    const auto holds_a = job.holds[at(a.slot)], holds_b = job.holds[at(b.slot)];
    return a.fastener == b.fastener && a.thread == b.thread && a.tool == b.tool &&
           std::equal(holds_a.begin(), holds_a.end(), holds_b.begin(), holds_b.end());
}

bool one_step(const Job& job, const Done& a, const Done& b) {
    const Verb verb = a.action.verb;
    if (verb != b.action.verb || a.author_step != b.author_step || a.by_rules != b.by_rules)
        return false;
    if (verb == Verb::set_vehicle || verb == Verb::do_task || is_move(verb))
        return false;
    const Facts& x = fact(job, a.action.item);
    const Facts& y = fact(job, b.action.item);
    if (x.kind != ItemKind::fastener || y.kind != ItemKind::fastener || x.from != y.from)
        return false;
    if (verb == Verb::soak)
        return true;
    if (x.group != y.group || (verb == Verb::tighten && x.pushed != y.pushed))
        return false; // a washer laid on is no fastener tightened
    return x.group >= 0 || same_hardware(job, x, y);
}

/// Where the step that concerns an item stands, by what it does: a carrier is after a part's prop, and after its
/// removal. The first such step, or none.
class Where {
public:
    static constexpr std::uint32_t none = UINT32_MAX;

    explicit Where(std::size_t items) : items_(items) {}

    void note(Verb concern, ItemId item, std::size_t step) {
        auto& steps = of_[static_cast<std::size_t>(concern)];
        if (steps.empty())
            steps.assign(items_, none);
        if (steps[at(item.index)] == none)
            steps[at(item.index)] = static_cast<std::uint32_t>(step);
    }
    std::uint32_t find(Verb concern, ItemId item) const {
        const auto& steps = of_[static_cast<std::size_t>(concern)];
        return steps.empty() ? none : steps[at(item.index)];
    }

private:
    std::size_t items_;
    std::array<std::vector<std::uint32_t>, static_cast<std::size_t>(Verb::mate) + 1> of_;
};

/// Stands for an item's own coming off and going back, whichever verb that is.
constexpr Verb itself = Verb::take_off;

/// What of an item a verb is about.
Verb concern_of(Verb verb) {
    switch (verb) {
    case Verb::prop:
    case Verb::unload:
    case Verb::mark:
    case Verb::soak:
    case Verb::prove:
    case Verb::drain:
    case Verb::fill:
    case Verb::unprop:
    case Verb::mate:
    case Verb::transfer:
    case Verb::start:
        return verb;
    case Verb::seat:
        return Verb::start;
    default:
        return itself;
    }
}

Verb concern_of(Rule rule) {
    switch (rule) {
    case Rule::not_propped:
        return Verb::prop;
    case Rule::loaded:
        return Verb::unload;
    case Rule::not_marked:
        return Verb::mark;
    case Rule::not_soaked:
        return Verb::soak;
    case Rule::fill_not_proven:
        return Verb::prove;
    case Rule::not_filled:
        return Verb::fill;
    case Rule::not_transferred:
        return Verb::transfer;
    case Rule::not_mated:
        return Verb::mate;
    case Rule::not_all_started:
        return Verb::start;
    default:
        return itself;
    }
}

std::optional<Verb> concern_of(TaskDoes does) {
    switch (does) {
    case TaskDoes::prop:
        return Verb::prop;
    case TaskDoes::unload:
        return Verb::unload;
    case TaskDoes::mark:
        return Verb::mark;
    case TaskDoes::soak:
        return Verb::soak;
    case TaskDoes::prove:
        return Verb::prove;
    case TaskDoes::drain:
        return Verb::drain;
    case TaskDoes::fill:
        return Verb::fill;
    case TaskDoes::level:
    case TaskDoes::nothing:
        return std::nullopt;
    }
    return std::nullopt;
}

void note_where(const Job& job, const Step& step, std::size_t index, Where& where) {
    for (const ItemId item : step.items) {
        where.note(concern_of(step.verb), item, index);
        if (!is_task(job, item))
            continue;
        const Task& task = job.map->task(item);
        if (const auto concern = concern_of(task.does))
            for (const ItemId to : task.to)
                where.note(*concern, to, index);
    }
}

/// In which steps each item is done: two or three at most, while a step may have hundreds of items.
class StepsOf {
public:
    StepsOf(std::size_t items, const std::vector<Step>& steps) : begin_(items + 1, 0) {
        for (const Step& step : steps)
            for (const ItemId item : step.items)
                ++begin_[at(item.index) + 1];
        std::partial_sum(begin_.begin(), begin_.end(), begin_.begin());
        steps_.resize(begin_.back());
        std::vector<std::uint32_t> next(begin_.begin(), begin_.end() - 1);
        for (std::size_t s = 0; s < steps.size(); ++s)
            for (const ItemId item : steps[s].items)
                steps_[next[at(item.index)]++] = static_cast<std::uint32_t>(s);
    }
    bool has(ItemId item, std::uint32_t step) const {
        const auto from = steps_.begin() + begin_[at(item.index)], to = steps_.begin() + begin_[at(item.index) + 1];
        return std::find(from, to, step) != to;
    }

private:
    std::vector<std::uint32_t> begin_, steps_;
};

/// Which steps each item is a reason for. A unit's step has hundreds of reasons, a unit hundreds of steps, but what is
/// the one has few of the other: the shorter of both lists is looked through.
class Reasons {
public:
    explicit Reasons(std::size_t items) : last_(items, none) {}

    void add(Step& step, std::uint32_t index, ItemId item) {
        if (step.why.size() <= few ? names(step.why, item) : is_known(index, item))
            return;
        step.why.push_back(item);
        entries_.push_back({index, last_[at(item.index)]});
        last_[at(item.index)] = static_cast<std::uint32_t>(entries_.size() - 1);
    }

private:
    static constexpr std::uint32_t none = UINT32_MAX;
    static constexpr std::size_t few = 16;
    struct Entry {
        std::uint32_t step, before; ///< the one before of the same item
    };

    bool is_known(std::uint32_t index, ItemId item) const {
        for (std::uint32_t e = last_[at(item.index)]; e != none; e = entries_[e].before)
            if (entries_[e].step == index)
                return true;
        return false;
    }

    std::vector<std::uint32_t> last_; ///< item
    std::vector<Entry> entries_;
};

/// For every step: which later ones could not be before it, by asking in the first state what stands in their way.
void explain(const Job& job, const State& begin, Plan& plan) {
    const bool at_first = !begin.refit; // an order down begins with everything as found
    Where where(job.facts.size());
    for (std::size_t s = 0; s < plan.steps.size(); ++s)
        note_where(job, plan.steps[s], s, where);
    const StepsOf steps_of(job.facts.size(), plan.steps);
    Reasons reasons(job.facts.size());
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const Step& step = plan.steps[s];
        for (const ItemId item : step.items) {
            std::uint32_t last = 0;
            bool any = false;
            const Action action{step.verb, item, {}};
            for (const Objection& objection :
                 at_first ? judge_at_first(job, begin, action, false) : judge(job, begin, action))
                for (const ItemId by : objection.by) {
                    std::uint32_t found = where.find(concern_of(objection.rule), by);
                    if (found == Where::none)
                        found = where.find(itself, by);
                    if (found == Where::none || found >= s)
                        continue;
                    if (is_task(job, item) && objection.rule == Rule::not_there)
                        continue; // "where it is" is no reason for a task
                    if (steps_of.has(item, found))
                        continue; // started, then tightened: no reason for itself
                    Step& earlier = plan.steps[found];
                    if (earlier.why.empty())
                        earlier.why_rule = objection.rule;
                    if (objection.rule == earlier.why_rule)
                        reasons.add(earlier, found, item);
                    last = std::max(last, found);
                    any = true;
                }
            if (any && !is_task(job, item))
                plan.steps[last].frees.push_back(item);
        }
    }
}

/// With which step a part begins to come loose, and with which nothing holds it any more: its cautions belong there,
/// not at the step that carries it away.
void find_first_and_last(const Job& job, Plan& plan) {
    std::vector<std::size_t> undone_at(job.kin.size(), plan.steps.size());
    for (std::size_t s = 0; s < plan.steps.size(); ++s)
        if (plan.steps[s].verb == Verb::take_out || plan.steps[s].verb == Verb::loosen)
            for (const ItemId id : plan.steps[s].items)
                undone_at[slot(job, id)] = s;
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const Step& step = plan.steps[s];
        if (!leaves(step.verb))
            continue;
        const ItemId part = step.items.front();
        const Facts& facts = fact(job, part);
        std::size_t first = plan.steps.size(), last = 0;
        for (const ItemId id : job.held_by[at(facts.slot)])
            if (const std::size_t at_step = undone_at[slot(job, id)]; at_step < s) {
                first = std::min(first, at_step);
                last = std::max(last, at_step);
            }
        if (first == plan.steps.size())
            continue;
        plan.steps[first].opens.push_back(part);
        plan.steps[first].people = std::max(plan.steps[first].people, facts.people);
        if (!facts.supported && !facts.flexible)
            plan.steps[last].drops.push_back(part);
    }
}

void fill_step(const Job& job, std::span<const Done> done, Step& step) {
    const Action& action = done.front().action;
    step.verb = action.verb;
    step.by_rules = done.front().by_rules;
    step.author_step = done.front().author_step;
    if (action.verb == Verb::set_vehicle) {
        step.vehicle = action.vehicle;
        return;
    }
    step.from = static_cast<Place>(fact(job, action.item).from);
    step.items.reserve(done.size());
    for (const Done& one : done) {
        step.items.push_back(one.action.item);
        step.people = std::max(step.people, people_for(job, one.action.verb, one.action.item));
    }
}

} // namespace

void gather(const Job& job, const State& begin, Order order, Plan& plan) {
    plan.refit = begin.refit;
    const std::vector<Done>& done = order.done;
    std::vector<std::size_t> first; // action of each step
    for (std::size_t i = 0; i < done.size(); ++i)
        if (i == 0 || !one_step(job, done[i - 1], done[i]))
            first.push_back(i);
    plan.steps.resize(first.size());
    first.push_back(done.size());
    for (std::size_t s = 0; s < plan.steps.size(); ++s)
        fill_step(job, std::span(done).subspan(first[s], first[s + 1] - first[s]), plan.steps[s]);
    explain(job, begin, plan);
    plan.findings = std::move(order.findings);
    plan.end = std::move(order.end);
    plan.dropped = std::move(order.dropped);
    const std::vector<Finding> dropped = findings_of(job, plan.dropped);
    plan.findings.insert(plan.findings.end(), dropped.begin(), dropped.end());
    find_half_undone(job, begin, plan);
    if (plan.refit)
        return;
    find_first_and_last(job, plan);
    judge_order(job, begin, done, plan);
}

} // namespace boltwalk::inside
