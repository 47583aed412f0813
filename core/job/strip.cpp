// An order down: the author's own, replayed and completed, or one worked out (search.cpp).
#include <algorithm>
#include <set>

#include "core/job/locks.hpp"

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

/// One time through an author's order. What has to come first is brought first; where that cannot be, findings say so.
struct Replay {
    const Job& job;
    std::vector<Commitment> list;
    ItemId goal;
    /// Before which of the bouts that found something the first time the locks are looked for. A bout is a step's, or
    /// what the goal needs at the end.
    std::set<std::size_t> look;
    std::set<std::size_t> bad; ///< the bouts that found something
    std::set<std::vector<std::pair<ItemId, Rule>>> told;
    std::size_t bout = 0;

    void run(Walk& walk) {
        const Map& map = *job.map;
        // What no step and no other item mentions has no better place than the start.
        if (!goal)
            for (const Task& task : map.tasks)
                if (task.when != TaskWhen::refit && !map[task.item].step && job.before[at(task.item.index)].empty() &&
                    task.does == TaskDoes::nothing && map[task.item].after.empty() && !asks_anything(task.sets)) {
                    walk.allow_steps_to(-1);
                    walk.bring({Verb::do_task, task.item, {}});
                }
        soak(walk);
        for (std::size_t from = 0; from < list.size();) {
            std::size_t to = from;
            while (to < list.size() && list[to].step == list[from].step)
                ++to;
            walk.allow_steps_to(list[from].step);
            const auto begin = list.begin() + static_cast<std::ptrdiff_t>(from);
            const std::vector<Commitment> step(begin, list.begin() + static_cast<std::ptrdiff_t>(to));
            const std::size_t before = begin_bout(walk, actions_of(step));
            take_one_step(job, step, walk);
            end_bout(walk, before);
            from = to;
        }
        walk.allow_steps_to(INT32_MAX);
        std::vector<Action> last;
        if (goal)
            last.push_back(strip_goal(job, goal).value_or(Action{Verb::take_off, goal, {}}));
        else if (map.target && !map.part(map.target).fixed)
            last.push_back({Verb::take_off, map.target, {}});
        const std::size_t before = begin_bout(walk, last);
        for (const Action& action : last)
            walk.bring(action);
        end_bout(walk, before);
        if (!goal)
            for (const Task& task : map.tasks)
                if (task.when != TaskWhen::refit &&
                    (!map[task.item].step || walk.state().done[slot(map, task.item)] == 0))
                    walk.bring({Verb::do_task, task.item, {}});
    }

private:
    std::vector<Action> actions_of(const std::vector<Commitment>& some) const {
        std::vector<Action> actions;
        for (const Commitment& commitment : some)
            if (const auto action = strip_goal(job, commitment.item))
                actions.push_back(*action);
        return actions;
    }

    /// Oil needs time: every thread that wants it is soaked as soon as it can be reached, unless a task of the author's
    /// does it in its own time.
    void soak(Walk& walk) const {
        const Map& map = *job.map;
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
    }

    /// Looks for what locks itself before it is carried out all the same: with all done that can be done without.
    std::size_t begin_bout(Walk& walk, const std::vector<Action>& now) {
        if (look.count(bout) != 0) {
            Walk scratch(job, walk.state());
            scratch.go_by_what_is_stated();
            scratch.allow_steps_to(walk.latest_step());
            for (const Action& action : now)
                if (scratch.comes_of_itself(action))
                    scratch.bring(action);
            const auto is_done = [&](const Action& action) { return is_clear(job, scratch.state(), action.item); };
            std::vector<Action> stuck = now;
            std::erase_if(stuck, is_done);
            const std::vector<Lock> locks = author_locks(job, scratch.state(), stuck, walk.latest_step());
            for (const Lock& lock : locks) {
                std::vector<std::pair<ItemId, Rule>> ring;
                for (const Lock::Member& member : lock.ring)
                    ring.emplace_back(member.item, member.rule);
                if (!lock.told_by_itself && told.insert(std::move(ring)).second)
                    walk.explain(lock);
            }
        }
        return walk.found();
    }

    void end_bout(const Walk& walk, std::size_t before) {
        if (walk.found() > before)
            bad.insert(bout);
        ++bout;
    }
};

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
        Replay replay{job, commitments(map, goal ? &needed : nullptr), goal, {}, {}, {}, 0};
        Walk walk(job, begin);
        replay.run(walk);
        if (!replay.bad.empty()) {
            // Once more, to name what locks itself as a whole and not link by link.
            Replay again{job, replay.list, goal, replay.bad, {}, {}, 0};
            walk = Walk(job, begin);
            again.run(walk);
        }
        order = walk.order();
        plan.by_author = true;
    } else {
        order = work_out(job, goal);
    }
    gather(job, begin, std::move(order), plan);
    return plan;
}

} // namespace boltwalk
