// Actions gathered into steps, and what a whole order shows that no single action does.
#include <algorithm>
#include <map>
#include <unordered_set>

#include <fmt/format.h>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

bool is_move(Verb verb) {
    return leaves(verb) || verb == Verb::fit || verb == Verb::put_back || verb == Verb::raise;
}

bool same_hardware(const Fastener& a, const Fastener& b) {
    const std::string thread_a = a.thread ? a.thread->name : std::string();
    const std::string thread_b = b.thread ? b.thread->name : std::string();
    const std::string drive_a = a.drive ? a.drive->name : std::string();
    const std::string drive_b = b.drive ? b.drive->name : std::string();
    return a.kind == b.kind && thread_a == thread_b && drive_a == drive_b && a.holds == b.holds;
}

bool one_step(const Map& map, const Done& a, const Done& b) {
    if (a.action.verb != b.action.verb || a.author_step != b.author_step || a.by_rules != b.by_rules)
        return false;
    if (a.action.verb == Verb::set_vehicle || a.action.verb == Verb::do_task || is_move(a.action.verb))
        return false;
    const Item& x = map[a.action.item];
    const Item& y = map[b.action.item];
    if (x.kind != ItemKind::fastener || y.kind != ItemKind::fastener)
        return false;
    if (a.action.verb == Verb::soak)
        return x.from == y.from;
    if (x.from != y.from || x.group != y.group)
        return false;
    if (a.action.verb == Verb::tighten &&
        is_pushed(map.fastener(a.action.item)) != is_pushed(map.fastener(b.action.item)))
        return false; // a washer laid on is no fastener tightened
    return x.group >= 0 || same_hardware(map.fastener(a.action.item), map.fastener(b.action.item));
}

int people_for(const Map& map, ItemId id) {
    const Item& item = map[id];
    int people = item.people;
    if (item.kind == ItemKind::part && map.part(id).support.find("helper") != std::string::npos)
        people = std::max(people, 2);
    if (item.kind == ItemKind::fastener) {
        const Fastener& fastener = map.fastener(id);
        if (fastener.counter_from != Place::not_stated && fastener.counter_from != item.from)
            people = std::max(people, 2);
    }
    return people;
}

/// Where the step that concerns an item stands, by what it does: a carrier is after a part's prop, and after its
/// removal.
struct Where {
    std::map<std::pair<Verb, ItemId>, std::size_t> of;

    const std::size_t* find(Verb concern, ItemId item) const {
        const auto it = of.find({concern, item});
        return it == of.end() ? nullptr : &it->second;
    }
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

void note_where(const Map& map, const Step& step, std::size_t index, Where& where) {
    for (const ItemId item : step.items) {
        where.of.emplace(std::make_pair(concern_of(step.verb), item), index);
        if (!map.is_task(item))
            continue;
        const Task& task = map.task(item);
        if (const auto concern = concern_of(task.does))
            for (const ItemId to : task.to)
                where.of.emplace(std::make_pair(*concern, to), index);
    }
}

/// For every step: which later ones could not be before it, by asking in the first state what stands in their way.
void explain(const Job& job, const State& begin, Plan& plan) {
    const Map& map = *job.map;
    Where where;
    for (std::size_t s = 0; s < plan.steps.size(); ++s)
        note_where(map, plan.steps[s], s, where);
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const Step& step = plan.steps[s];
        for (const ItemId item : step.items) {
            std::size_t last = 0;
            bool any = false;
            for (const Objection& objection : judge(job, begin, {step.verb, item, {}}))
                for (const ItemId by : objection.by) {
                    const std::size_t* found = where.find(concern_of(objection.rule), by);
                    if (found == nullptr)
                        found = where.find(itself, by);
                    if (found == nullptr || *found >= s)
                        continue;
                    if (map.is_task(item) && objection.rule == Rule::not_there)
                        continue; // "where it is" is no reason for a task
                    Step& earlier = plan.steps[*found];
                    if (std::find(earlier.items.begin(), earlier.items.end(), item) != earlier.items.end())
                        continue; // started, then tightened: no reason for itself
                    if (std::find(earlier.why.begin(), earlier.why.end(), item) == earlier.why.end()) {
                        if (earlier.why.empty())
                            earlier.why_rule = objection.rule;
                        if (objection.rule == earlier.why_rule)
                            earlier.why.push_back(item);
                    }
                    last = std::max(last, *found);
                    any = true;
                }
            const auto& own = plan.steps[last].items;
            if (any && !map.is_task(item) && std::find(own.begin(), own.end(), item) == own.end())
                plan.steps[last].frees.push_back(item);
        }
    }
}

/// With which step a part begins to come loose, and with which nothing holds it any more: its cautions belong there,
/// not at the step that carries it away.
void find_first_and_last(const Job& job, Plan& plan) {
    const Map& map = *job.map;
    std::vector<std::size_t> undone_at(map.fasteners.size(), plan.steps.size());
    for (std::size_t s = 0; s < plan.steps.size(); ++s)
        if (plan.steps[s].verb == Verb::take_out || plan.steps[s].verb == Verb::loosen)
            for (const ItemId id : plan.steps[s].items)
                undone_at[slot(map, id)] = s;
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const Step& step = plan.steps[s];
        if (!leaves(step.verb))
            continue;
        const ItemId part = step.items.front();
        std::size_t first = plan.steps.size(), last = 0;
        for (const ItemId id : job.held_by[slot(map, part)])
            if (const std::size_t at_step = undone_at[slot(map, id)]; at_step < s) {
                first = std::min(first, at_step);
                last = std::max(last, at_step);
            }
        if (first == plan.steps.size())
            continue;
        plan.steps[first].opens.push_back(part);
        plan.steps[first].people = std::max(plan.steps[first].people, people_for(map, part));
        if (map.part(part).support.empty() && !map.part(part).flexible)
            plan.steps[last].drops.push_back(part);
    }
}

} // namespace

void gather(const Job& job, const State& begin, const std::vector<Done>& done, Plan& plan) {
    const Map& map = *job.map;
    plan.refit = begin.refit;
    plan.end = begin;
    for (std::size_t i = 0; i < done.size(); ++i) {
        const Action& action = done[i].action;
        apply(job, plan.end, action);
        if (i > 0 && !plan.steps.empty() && one_step(map, done[i - 1], done[i])) {
            Step& step = plan.steps.back();
            step.items.push_back(action.item);
            step.people = std::max(step.people, people_for(map, action.item));
            continue;
        }
        Step step;
        step.verb = action.verb;
        step.by_rules = done[i].by_rules;
        step.author_step = done[i].author_step;
        if (action.verb == Verb::set_vehicle) {
            step.vehicle = action.vehicle;
        } else {
            step.items = {action.item};
            step.from = map[action.item].from;
            step.people = people_for(map, action.item);
        }
        plan.steps.push_back(std::move(step));
    }
    explain(job, begin, plan);
    if (!plan.refit)
        find_first_and_last(job, plan);
}

namespace {

/// Parts joined, straight or through others, by fasteners that hold; whether any of them stays or is held up.
bool hangs_on_nothing(const Job& job, const State& state, ItemId part, std::vector<ItemId>& company) {
    const Map& map = *job.map;
    company = {part};
    std::unordered_set<std::int32_t> seen{part.index};
    for (std::size_t i = 0; i < company.size(); ++i) {
        const std::size_t p = slot(map, company[i]);
        if (map.parts[p].fixed || state.propped[p] != 0 || state.parts[p] == PartState::aside ||
            state.parts[p] == PartState::off)
            return false;
        for (const ItemId id : job.held_by[p]) {
            if (is_freed(job, state, id))
                continue;
            const auto& holds = map.fastener(id).holds;
            if (holds.size() == 1)
                return false;
            for (const ItemId other : holds)
                if (state.parts[slot(map, other)] != PartState::off && seen.insert(other.index).second) {
                    if (map.part(other).fixed)
                        return false;
                    company.push_back(other);
                }
        }
    }
    return true;
}

Finding drops(const Map& map, ItemId part, const Step& cause, std::size_t step_number, bool comes_later) {
    Finding finding;
    finding.weight = comes_later ? Weight::doubt : Weight::fault;
    finding.rule = "hangs-on-nothing";
    finding.nodes = {map[part].name};
    if (!cause.items.empty())
        finding.nodes.push_back(map[cause.items.back()].name);
    finding.key = "support";
    finding.value = map.part(part).support;
    finding.what =
        fmt::format("After step {} nothing on the map holds {} any more{}.", step_number, map[part].name,
                    comes_later ? ", and other things are done before it comes off" : ", and it never comes off");
    finding.why = "What nothing holds can drop on whoever lies below.";
    finding.remedy = comes_later ? "Let it come off directly after its last fastener, or state its `support`."
                                 : "State its `support` (jack, helper, strap, stand), or what else holds it.";
    return finding;
}

void find_drops(const Job& job, const State& begin, Plan& plan) {
    const Map& map = *job.map;
    State state = begin;
    std::unordered_set<std::int32_t> told;
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const Step& step = plan.steps[s];
        apply_step(job, state, step);
        if (step.verb != Verb::take_out && step.verb != Verb::loosen && step.verb != Verb::take_off)
            continue;
        std::vector<ItemId> touched;
        for (const ItemId item : step.items) {
            if (map.is_fastener(item)) {
                if (joins(map.fastener(item)))
                    touched.insert(touched.end(), map.fastener(item).holds.begin(), map.fastener(item).holds.end());
            } else {
                for (const ItemId id : job.held_by[slot(map, item)])
                    touched.insert(touched.end(), map.fastener(id).holds.begin(), map.fastener(id).holds.end());
            }
        }
        std::sort(touched.begin(), touched.end());
        touched.erase(std::unique(touched.begin(), touched.end()), touched.end());
        for (const ItemId part : touched) {
            const std::size_t p = slot(map, part);
            if (map.parts[p].fixed || state.parts[p] == PartState::off || state.parts[p] == PartState::aside ||
                state.propped[p] != 0 || told.count(part.index) != 0)
                continue;
            std::vector<ItemId> company;
            if (!hangs_on_nothing(job, state, part, company))
                continue;
            const auto in_company = [&](ItemId id) {
                return std::find(company.begin(), company.end(), id) != company.end();
            };
            // It may come off next, along with the small things that only it still carries.
            std::size_t next = s + 1;
            bool comes = false;
            for (; next < plan.steps.size() && !comes; ++next) {
                const Step& later = plan.steps[next];
                if (is_move(later.verb)) {
                    comes = in_company(later.items.front());
                    continue;
                }
                if (later.verb != Verb::take_out && later.verb != Verb::loosen)
                    continue; // a look, a mark, a prop
                if (!later.items.empty()) {
                    const auto& holds = map.fastener(later.items.front()).holds;
                    if (std::any_of(holds.begin(), holds.end(), in_company) || holds.empty())
                        continue;
                }
                break;
            }
            for (const ItemId id : company)
                told.insert(id.index);
            // A gasket clings, and hurts nobody.
            if (comes || (map.parts[p].renew && !map.parts[p].mass_kg))
                continue;
            const bool later =
                std::any_of(plan.steps.begin() + static_cast<std::ptrdiff_t>(s), plan.steps.end(),
                            [&](const Step& one) { return is_move(one.verb) && in_company(one.items.front()); });
            plan.findings.push_back(drops(map, part, step, s + 1, later));
        }
    }
}

void find_hasty_soaks(const Job& job, const std::vector<Done>& done, Plan& plan) {
    const Map& map = *job.map;
    std::map<std::int32_t, std::size_t> soaked_at;
    std::vector<std::size_t> work_before(done.size() + 1, 0); // actions that take time
    for (std::size_t i = 0; i < done.size(); ++i) {
        const Action& action = done[i].action;
        const bool works = action.verb != Verb::soak &&
                           !(action.verb == Verb::do_task && map.task(action.item).does == TaskDoes::soak);
        work_before[i + 1] = work_before[i] + (works ? 1 : 0);
        if (action.verb == Verb::soak)
            soaked_at.emplace(action.item.index, i);
        if (action.verb == Verb::do_task && map.task(action.item).does == TaskDoes::soak)
            for (const ItemId to : map.task(action.item).to)
                soaked_at.emplace(to.index, i);
    }
    Finding finding;
    for (std::size_t i = 0; i < done.size(); ++i) {
        const Action& action = done[i].action;
        if ((action.verb != Verb::take_out && action.verb != Verb::loosen) || !map.fastener(action.item).soak_min)
            continue;
        const auto soaked = soaked_at.find(action.item.index);
        if (soaked == soaked_at.end() || soaked->second > i)
            continue;
        // Its own group's fasteners are no time for the oil to work in.
        bool other_work = false;
        for (std::size_t j = soaked->second + 1; j < i && !other_work; ++j) {
            const Action& between = done[j].action;
            other_work = work_before[j + 1] > work_before[j] &&
                         !(between.item && !map.is_task(between.item) &&
                           map[between.item].group == map[action.item].group && map[between.item].group >= 0);
        }
        if (!other_work)
            finding.nodes.push_back(map[action.item].name);
    }
    if (finding.nodes.empty())
        return;
    finding.weight = Weight::doubt;
    finding.rule = "soak-late";
    finding.key = "soak_min";
    finding.what = "Penetrating oil goes on right before these are undone.";
    finding.why = "It needs the stated minutes to creep in.";
    finding.remedy = "Soak them earlier: give the task that `does: soak` an earlier step, or none at all.";
    plan.findings.push_back(std::move(finding));
}

} // namespace

void judge_order(const Job& job, const State& begin, const std::vector<Done>& done, Plan& plan) {
    find_drops(job, begin, plan);
    find_hasty_soaks(job, done, plan);
}

} // namespace boltwalk::inside
