// An order down: the author's own, replayed and completed, or one worked out (search.cpp).
#include <algorithm>
#include <set>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

namespace {

struct Commitment {
    std::int32_t step;
    int kind; ///< tasks, then fasteners, then parts
    std::int32_t group;
    ItemId item;
    auto operator<=>(const Commitment&) const = default;
};

std::vector<Commitment> commitments(const Map& map, const std::set<ItemId>* only) {
    std::vector<Commitment> list;
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const Item& item = map.items[i];
        const ItemId id{static_cast<std::int32_t>(i)};
        if (!item.step || (only != nullptr && only->count(id) == 0))
            continue;
        const int kind = item.kind == ItemKind::task ? 0 : item.kind == ItemKind::fastener ? 1 : 2;
        list.push_back({*item.step, kind, item.group, id});
    }
    std::sort(list.begin(), list.end());
    return list;
}

/// Everything of one author's step: first what is legal as it stands (all nuts, then all bolts, rather than nut, bolt,
/// nut, bolt), and only when nothing is, the next with whatever must come before it.
void take_one_step(const Job& job, std::vector<Commitment> left, Walk& walk) {
    // A joint's own order settles in three rounds; a long chain within one step is brought link by link instead.
    for (int round = 0; round < 8 && !left.empty(); ++round) {
        std::vector<Commitment> later;
        for (const Commitment& commitment : left) {
            const auto action = strip_goal(job, commitment.item);
            if (action && judge_first(job, walk.state(), *action).empty())
                walk.bring(*action);
            else if (action)
                later.push_back(commitment);
        }
        if (later.size() == left.size()) {
            walk.bring(*strip_goal(job, later.front().item));
            later.erase(later.begin());
        }
        left = std::move(later);
    }
    for (const Commitment& commitment : left)
        walk.bring(*strip_goal(job, commitment.item));
}

/// A gate of the author's is not left out because the part wanted would come off without it.
void keep_gates(const Map& map, std::set<ItemId>& needed) {
    std::int32_t last = -1;
    for (const ItemId id : needed)
        last = std::max(last, map[id].step.value_or(-1));
    for (const Task& task : map.tasks) {
        const Item& item = map[task.item];
        const auto& after = item.after;
        const bool before_last = item.step && *item.step < last;
        const bool named = std::any_of(after.begin(), after.end(), [&](ItemId id) { return needed.count(id) != 0; });
        const bool all_kept = std::all_of(after.begin(), after.end(), [&](ItemId id) { return needed.count(id) != 0; });
        if (task.gate && task.when != TaskWhen::refit && all_kept && (before_last || named))
            needed.insert(task.item);
    }
}

void replay(const Job& job, const std::vector<Commitment>& list, ItemId goal, Walk& walk) {
    const Map& map = *job.map;
    // What no step and no other item mentions has no better place than the start.
    if (!goal)
        for (const Task& task : map.tasks)
            if (task.when != TaskWhen::refit && !map[task.item].step && job.before[at(task.item.index)].empty() &&
                task.does == TaskDoes::nothing && map[task.item].after.empty() && !asks_anything(task.sets)) {
                walk.allow_steps_to(-1);
                walk.bring({Verb::do_task, task.item, {}});
            }
    // Oil needs time: every thread that wants it is soaked as soon as it can be reached, unless a task of the author's
    // does it in its own time.
    if (!list.empty())
        walk.allow_steps_to(list.front().step);
    for (const Commitment& commitment : list) {
        if (!is_fastener(job, commitment.item))
            continue;
        const Fastener& fastener = map.fastener(commitment.item);
        if (!fastener.soak_min || !map[commitment.item].after.empty())
            continue;
        const auto& tasks = job.tasks_for[at(commitment.item.index)];
        if (std::none_of(tasks.begin(), tasks.end(), [&](ItemId t) { return map.task(t).does == TaskDoes::soak; }))
            walk.bring({Verb::soak, commitment.item, {}});
    }
    for (std::size_t from = 0; from < list.size();) {
        std::size_t to = from;
        while (to < list.size() && list[to].step == list[from].step)
            ++to;
        walk.allow_steps_to(list[from].step);
        take_one_step(
            job, {list.begin() + static_cast<std::ptrdiff_t>(from), list.begin() + static_cast<std::ptrdiff_t>(to)},
            walk);
        from = to;
    }
    walk.allow_steps_to(INT32_MAX);
    if (goal)
        walk.bring(strip_goal(job, goal).value_or(Action{Verb::take_off, goal, {}}));
    else if (map.target && !map.part(map.target).fixed)
        walk.bring({Verb::take_off, map.target, {}});
    if (!goal)
        for (const Task& task : map.tasks)
            if (task.when != TaskWhen::refit && (!map[task.item].step || walk.state().done[slot(map, task.item)] == 0))
                walk.bring({Verb::do_task, task.item, {}});
}

} // namespace

Plan plan_strip(const Job& job, ItemId goal) {
    const Map& map = *job.map;
    Plan plan;
    const State begin = as_found(job);
    if (goal && (!map.is_part(goal) || map.part(goal).fixed)) {
        Finding finding;
        finding.weight = Weight::fault;
        finding.rule = "cannot-come-off";
        finding.nodes = {map[goal].name};
        finding.key = map.is_part(goal) ? "fixed" : "part";
        finding.what = map.is_part(goal) ? "This part is marked as the body that stays." : "This is no part.";
        finding.remedy = "Name a part that can come off.";
        plan.findings.push_back(std::move(finding));
        plan.end = begin;
        return plan;
    }
    const bool has_steps =
        std::any_of(map.items.begin(), map.items.end(), [](const Item& item) { return item.step.has_value(); });

    Order order;
    if (has_steps) {
        std::set<ItemId> needed;
        if (goal) {
            for (const Done& one : work_out(job, goal).done)
                if (one.action.item)
                    needed.insert(one.action.item);
            keep_gates(map, needed);
        }
        Walk walk(job, begin);
        replay(job, commitments(map, goal ? &needed : nullptr), goal, walk);
        order = walk.order();
        plan.by_author = true;
    } else {
        order = work_out(job, goal);
    }
    gather(job, begin, std::move(order), plan);
    return plan;
}

} // namespace boltwalk
