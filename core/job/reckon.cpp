// Estimates beside what is stated: overruled, dropped, put into words.
#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "core/job/estimated.hpp"
#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

namespace {

void take_out(Alternative& alternative, ItemId by) {
    for (auto* list : {&alternative.gone, &alternative.lowered, &alternative.undecided, &alternative.stays})
        std::erase(*list, by);
    alternative.never = !alternative.stays.empty() || !alternative.scenery.empty();
}

void take_out(Job& job, ItemId item, Question question, ItemId by) {
    for (const std::int32_t index : job.estimates.of_item[at(item.index)])
        if (Estimate& estimate = job.estimates.list[at(index)]; estimate.question == question)
            for (Alternative& alternative : estimate.alternatives)
                take_out(alternative, by);
}

std::span<const Question> questions_of(Rule rule) {
    static constexpr Question tools[] = {Question::reach, Question::counter};
    static constexpr Question ways[] = {Question::way};
    return rule == Rule::out_of_reach ? std::span<const Question>(tools) : std::span<const Question>(ways);
}

auto place_of(const Dropped& pair) {
    return std::make_tuple(pair.item, pair.question, pair.by, pair.scenery);
}

/// The estimates of a job as they were made, so that a pair can be given back.
class Reckoning {
public:
    Reckoning(Job& job, Estimates estimates) : job_(job), stated_faults_(faults_of(plan_strip(job))) {
        const Map& map = *job.map;
        for (Estimate& estimate : estimates.list)
            for (const ItemId by : map[estimate.item].not_in_way)
                for (Alternative& alternative : estimate.alternatives)
                    take_out(alternative, by);
        std::erase_if(estimates.list, [](const Estimate& estimate) { return estimate.alternatives.empty(); });
        std::stable_sort(estimates.list.begin(), estimates.list.end(), [](const Estimate& a, const Estimate& b) {
            return std::pair(a.item, a.question) < std::pair(b.item, b.question);
        });
        estimates.of_item.assign(map.items.size(), {});
        for (std::size_t i = 0; i < estimates.list.size(); ++i) {
            const ItemId item = estimates.list[i].item;
            estimates.of_item[at(item.index)].push_back(static_cast<std::int32_t>(i));
            job.facts[at(item.index)].estimated = true;
        }
        as_made_ = estimates.list;
        job.estimates = std::move(estimates);
    }

    void run() {
        // Each round takes another alternative of at least one estimate, or drops pairs; the bound is for maps of
        // thousands of contradictions, whose remaining ones are dropped where they are met.
        constexpr int most_rounds = 32;
        for (int round = 0; round < most_rounds; ++round) {
            const Plan plan = plan_strip(job_);
            if (plan.dropped.empty())
                break;
            if (!take_another(plan.dropped))
                take_out_all(plan.dropped);
        }
        // Also of what the whole job leaves on, for a part of its own.
        for (int round = 0; round < most_rounds; ++round) {
            const Order all = work_out_everything(job_);
            if (all.dropped.empty())
                break;
            if (!take_another(all.dropped))
                take_out_all(all.dropped);
        }
        leave_out_what_makes_faults();
        give_back();
        note_what_never_goes(plan_strip(job_));
        std::sort(job_.dropped.begin(), job_.dropped.end(),
                  [](const Dropped& a, const Dropped& b) { return place_of(a) < place_of(b); });
        job_.dropped.erase(std::unique(job_.dropped.begin(), job_.dropped.end(),
                                       [](const Dropped& a, const Dropped& b) { return place_of(a) == place_of(b); }),
                           job_.dropped.end());
    }

private:
    void take_out_all(const std::vector<Dropped>& pairs) {
        for (const Dropped& pair : pairs) {
            take_out(job_, pair.item, pair.question, pair.by);
            job_.dropped.push_back(pair);
        }
    }

    /// Where there is an alternative without what is in the way, it is taken first from now on. Whether there was any.
    bool take_another(const std::vector<Dropped>& pairs) {
        bool any = false;
        for (const Dropped& pair : pairs)
            for (const std::int32_t index : job_.estimates.of_item[at(pair.item.index)]) {
                Estimate& estimate = job_.estimates.list[at(index)];
                if (estimate.question != pair.question)
                    continue;
                const auto has = [&](const Alternative& one) {
                    return names(one.gone, pair.by) || names(one.lowered, pair.by);
                };
                const bool other =
                    std::any_of(estimate.alternatives.begin(), estimate.alternatives.end(),
                                [&](const Alternative& one) { return !one.never && !one.tried && !has(one); });
                if (!other)
                    continue;
                for (Alternative& one : estimate.alternatives)
                    if (has(one) && !one.tried)
                        any = one.tried = true;
            }
        return any;
    }

    using Fault = std::pair<std::string, std::vector<std::string>>;

    static std::vector<Fault> faults_of(const Plan& plan) {
        std::vector<Fault> faults;
        for (const Finding& finding : plan.findings)
            // A lock is there by what is stated or not at all; only its words vary.
            if (finding.weight == Weight::fault && finding.rule != "lock")
                faults.emplace_back(finding.rule, finding.nodes);
        return faults;
    }

    std::vector<Fault> new_faults(const Plan& plan) const {
        std::vector<Fault> faults = faults_of(plan);
        // What hangs on nothing is the first node; after which step is no matter.
        std::erase_if(faults, [&](const Fault& fault) {
            return std::any_of(stated_faults_.begin(), stated_faults_.end(), [&](const Fault& stated) {
                return stated.first == fault.first &&
                       (fault.first == "hangs-on-nothing" ? stated.second.front() == fault.second.front()
                                                          : stated.second == fault.second);
            });
        });
        return faults;
    }

    /// A turn that an estimate asks for can break a rule later on (what a shaft is held by is off by then, or something
    /// hangs that would not). Then what is stated goes before all estimates about what the fault names; where that is
    /// not enough, before all estimates.
    void leave_out_what_makes_faults() {
        constexpr int most_rounds = 16;
        for (int round = 0; round < most_rounds; ++round) {
            const Plan plan = plan_strip(job_);
            const std::vector<Fault> faults = new_faults(plan);
            if (faults.empty() && plan.dropped.empty())
                return;
            std::vector<Dropped> pairs = plan.dropped;
            if (!faults.empty())
                for (const bool all : {false, true})
                    if (pairs.size() == plan.dropped.size())
                        add_pairs_about(faults, all || round + 2 >= most_rounds, pairs);
            take_out_all(pairs);
        }
    }

    void add_pairs_about(const std::vector<Fault>& faults, bool all, std::vector<Dropped>& pairs) const {
        const auto is_named = [&](ItemId id) {
            return std::any_of(faults.begin(), faults.end(),
                               [&](const Fault& fault) { return names(fault.second, (*job_.map)[id].name); });
        };
        const auto concerns = [&](ItemId id) {
            if (is_named(id) || !is_part(job_, id))
                return is_named(id);
            const auto joints = job_.held_by[slot(job_, id)];
            return std::any_of(joints.begin(), joints.end(), is_named);
        };
        for (const Estimate& estimate : job_.estimates.list)
            for (const Alternative& alternative : estimate.alternatives)
                for (const auto* list : {&alternative.gone, &alternative.lowered})
                    for (const ItemId by : *list)
                        if (all || concerns(estimate.item) || concerns(by))
                            pairs.push_back({estimate.item, estimate.question, by, -1, false, alternative.how});
    }

    /// A pair that was dropped before others were may hold beside what is stated now, by another alternative or by
    /// itself. Each is tried in turn; of maps with very many the rest is left.
    void give_back() {
        constexpr std::size_t most_items_looked_at = 100000;
        constexpr int most_alternatives = 8;
        std::size_t looked_at = 0;
        for (std::size_t d = 0; d < job_.dropped.size();) {
            looked_at += job_.facts.size();
            if (looked_at > most_items_looked_at)
                return;
            const Estimates estimates = job_.estimates;
            const Dropped pair = job_.dropped[d];
            job_.dropped.erase(job_.dropped.begin() + static_cast<std::ptrdiff_t>(d));
            as_made_but_for_dropped(pair.item);
            bool holds = false, another = true;
            for (int round = 0; round < most_alternatives && another && !holds; ++round) {
                const Plan plan = plan_strip(job_);
                const std::vector<Dropped> again =
                    plan.dropped.empty() ? work_out_everything(job_).dropped : plan.dropped;
                holds = again.empty() && new_faults(plan).empty();
                another = !holds && take_another(again);
            }
            if (holds)
                continue;
            job_.dropped.insert(job_.dropped.begin() + static_cast<std::ptrdiff_t>(d), pair);
            job_.estimates = estimates;
            ++d;
        }
    }

    void as_made_but_for_dropped(ItemId item) {
        for (const std::int32_t index : job_.estimates.of_item[at(item.index)]) {
            Estimate& estimate = job_.estimates.list[at(index)];
            estimate.alternatives = as_made_[at(index)].alternatives;
        }
        for (const Dropped& pair : job_.dropped)
            if (pair.item == item)
                take_out(job_, pair.item, pair.question, pair.by);
    }

    static bool asks(const Action& action, Question question) {
        const bool undoes = action.verb == Verb::take_out || action.verb == Verb::loosen || action.verb == Verb::prove;
        return question == Question::way ? action.verb == Verb::take_out || leaves(action.verb) : undoes;
    }

    /// What comes off in the order, though scenery or a part that stays is in its way whatever else is gone.
    void note_what_never_goes(const Plan& plan) {
        State state = as_found(job_);
        for (const Step& step : plan.steps) {
            if (step.items.empty())
                apply_step(job_, state, step);
            for (const ItemId item : step.items) {
                const Action action{step.verb, item, {}};
                for (const Question question : {Question::reach, Question::counter, Question::way})
                    if (fact(job_, item).estimated && asks(action, question))
                        if (const Alternative* least = never_free(job_, state, action, question))
                            note(item, question, *least);
                apply(job_, state, action);
            }
        }
    }

    void note(ItemId item, Question question, const Alternative& least) {
        for (const ItemId by : least.stays)
            job_.dropped.push_back({item, question, by, -1, true, least.how});
        for (const std::int32_t node : least.scenery)
            job_.dropped.push_back({item, question, {}, node, true, least.how});
    }

    Job& job_;
    std::vector<Fault> stated_faults_; ///< of the order by what is stated alone
    std::vector<Estimate> as_made_;
};

} // namespace

std::vector<Dropped> inside::drop_pairs(Job& job, const State& state, const Action& action, Rule rule, ItemId by) {
    std::vector<Dropped> dropped;
    for (const Question question : questions_of(rule)) {
        const auto found = in_the_way(job, state, action, question);
        if (!found)
            continue;
        const Estimate& estimate = job.estimates.list[at(found->estimate)];
        for (const ItemId id : found->by) {
            if (by && id != by)
                continue;
            Dropped pair{action.item, question, id, -1, false, {}};
            for (const Alternative& alternative : estimate.alternatives)
                if (pair.how.empty() && (names(alternative.gone, id) || names(alternative.lowered, id)))
                    pair.how = alternative.how;
            dropped.push_back(std::move(pair));
        }
    }
    for (const Dropped& pair : dropped)
        take_out(job, pair.item, pair.question, pair.by);
    return dropped;
}

void reckon_with(Job& job, Estimates estimates) {
    job.shapes_asked = true;
    Reckoning(job, std::move(estimates)).run();
}

namespace {

/// Items of one group that have the same in their way, told at once.
struct Told {
    Question question = Question::way;
    bool stays = false;
    std::vector<ItemId> items, by;
    std::vector<std::int32_t> scenery;
    std::string how;
};

std::vector<Told> together(const Map& map, const std::vector<Dropped>& dropped) {
    std::vector<Told> single;
    for (const Dropped& pair : dropped) {
        const auto same = std::find_if(single.begin(), single.end(), [&](const Told& one) {
            return one.items[0] == pair.item && one.question == pair.question && one.stays == pair.stays;
        });
        Told& told = same == single.end() ? single.emplace_back() : *same;
        if (told.items.empty())
            told = {pair.question, pair.stays, {pair.item}, {}, {}, pair.how};
        if (pair.by && !names(told.by, pair.by))
            told.by.push_back(pair.by);
        if (!pair.by && pair.scenery >= 0 && !names(told.scenery, pair.scenery))
            told.scenery.push_back(pair.scenery);
    }
    std::vector<Told> list;
    for (Told& one : single) {
        const std::int32_t group = map[one.items[0]].group;
        const auto same = std::find_if(list.begin(), list.end(), [&](const Told& other) {
            return group >= 0 && map[other.items[0]].group == group && other.question == one.question &&
                   other.stays == one.stays && other.by == one.by && other.scenery == one.scenery;
        });
        if (same == list.end())
            list.push_back(std::move(one));
        else
            same->items.push_back(one.items[0]);
    }
    return list;
}

Finding finding_of(const Map& map, const Told& told) {
    std::vector<std::string> items, by, overruled;
    for (const ItemId id : told.items)
        items.push_back(map[id].name);
    for (const ItemId id : told.by)
        by.push_back(map[id].name);
    overruled = by;
    for (const std::int32_t node : told.scenery)
        by.push_back(map.nodes[at(node)].name);
    const std::string what = few_of(items), others = few_of(by);
    const bool way = told.question == Question::way;
    Finding f;
    f.weight = Weight::doubt;
    f.rule = name_of(way ? Rule::in_the_way : Rule::out_of_reach);
    f.nodes = items;
    f.nodes.insert(f.nodes.end(), by.begin(), by.end());
    f.key = "not_in_way";
    const std::string cannot = way ? fmt::format("{} cannot come out", what)
                               : told.question == Question::counter
                                   ? fmt::format("no tool gets on the other side of {}", what)
                                   : fmt::format("no tool gets on {}", what);
    f.what = told.stays ? fmt::format("By the shapes {}, whatever comes off before: in the way is {}.", cannot, others)
                        : fmt::format("By the shapes {} while {} {} there, but as stated that cannot come first.",
                                      cannot, others, by.size() == 1 ? "is" : "are");
    f.why = fmt::format("An estimate; what is stated was followed. {} \"{}\".",
                        way ? "It rests on the way" : "The handiest that was tried:", told.how);
    f.remedy = told.stays ? "Mend the shapes, or what is stated about the tool or the way. "
                          : "Mend the shapes, or what is stated about the order, the tool or the way. ";
    f.remedy += overruled.empty() ? "Scenery cannot be overruled: make it a part that is `fixed`, and name that."
                                  : fmt::format("If it goes all the same: write `not_in_way` = {} on {}.",
                                                few_of(overruled, "; "), what);
    return f;
}

} // namespace

std::vector<Finding> findings_of(const Job& job, const std::vector<Dropped>& dropped) {
    std::vector<Finding> findings;
    for (const Told& told : together(*job.map, dropped))
        findings.push_back(finding_of(*job.map, told));
    return findings;
}

} // namespace boltwalk
