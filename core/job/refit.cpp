// The way back: the order down in reverse wherever nothing else is stated, under the refit's own rules.
#include <algorithm>

#include <fmt/format.h>

#include "core/job/inside.hpp"
#include "core/job/tightening.hpp"

namespace boltwalk {

using namespace inside;

namespace {

class WayBack {
public:
    WayBack(const Job& job, State begin) : job_(job), map_(*job.map), walk(job, std::move(begin)) {
        std::vector<std::uint8_t> named(map_.items.size(), 0);
        for (std::size_t i = 0; i < map_.items.size(); ++i)
            if (job_.facts[i].refit_after)
                for (const ItemId other : map_.items[i].refit_after)
                    named[at(other.index)] = 1;
        for (const Task& task : map_.tasks) {
            if (task.when == TaskWhen::strip)
                continue;
            if (task.when == TaskWhen::refit && map_[task.item].step)
                in_place_.push_back(task.item);
            else if (named[at(task.item.index)] != 0)
                asked_for_.push_back(task.item);
            else if (!map_[task.item].refit_after.empty())
                when_possible_.push_back(task.item);
            // else: nothing says when, so it comes last (a trial, a look round)
        }
        std::stable_sort(in_place_.begin(), in_place_.end(),
                         [&](ItemId a, ItemId b) { return *map_[a].step > *map_[b].step; });
    }

    void run(const Plan& strip) {
        for (auto step = strip.steps.rbegin(); step != strip.steps.rend(); ++step) {
            if (step->author_step >= 0)
                do_in_place(step->author_step);
            undo(*step);
        }
        finish();
    }

private:
    const Job& job_;
    const Map& map_;

public:
    Walk walk;

private:
    void bring(const Action& action) {
        walk.bring(action);
        settle();
    }

    /// What only waited for this: tasks whose conditions are now met, torques, props.
    void settle() {
        for (bool again = true; again;) {
            again = false;
            for (auto it = when_possible_.begin(); it != when_possible_.end(); ++it) {
                const auto& after = map_[*it].refit_after;
                if (!std::all_of(after.begin(), after.end(),
                                 [&](ItemId id) { return is_back(job_, walk.state(), id); }))
                    continue;
                const Action action{Verb::do_task, *it, {}};
                when_possible_.erase(it);
                walk.bring(action);
                again = true;
                break;
            }
            for (auto it = pending_.begin(); !again && it != pending_.end(); ++it) {
                const Action action{Verb::tighten, *it, {}};
                // The vehicle is not put down for one torque while half the job hangs: only what is legal as it stands.
                if (!judge_first(job_, walk.state(), action).empty())
                    continue;
                pending_.erase(it);
                walk.bring(action);
                again = true;
                break;
            }
            for (auto it = plugs_.begin(); !again && it != plugs_.end(); ++it) {
                if (!may_close(*it))
                    continue;
                const Action action{Verb::tighten, *it, {}};
                plugs_.erase(it);
                walk.bring(action);
                again = true;
                break;
            }
            for (auto it = props_.begin(); !again && it != props_.end(); ++it) {
                const Action action{Verb::unprop, *it, {}};
                if (!is_back(job_, walk.state(), *it) || !judge_first(job_, walk.state(), action).empty())
                    continue;
                props_.erase(it);
                walk.bring(action);
                again = true;
                break;
            }
        }
    }

    /// A task of the way back whose `step` mirrors a later one comes once all of the later ones are back.
    void do_in_place(std::int32_t next_step) {
        while (!in_place_.empty() && *map_[in_place_.front()].step > next_step) {
            const ItemId task = in_place_.front();
            in_place_.erase(in_place_.begin());
            bring({Verb::do_task, task, {}});
        }
    }

    void undo(const Step& step) {
        switch (step.verb) {
        case Verb::take_off:
            bring({Verb::fit, step.items.front(), {}});
            // Before its first bolt is even started by hand: once bolts are in, nobody sees a gap.
            if (walk.state().unmated[slot(job_, step.items.front())] != 0)
                bring({Verb::mate, step.items.front(), {}});
            note_prop(step.items.front());
            break;
        case Verb::set_aside:
            bring({Verb::put_back, step.items.front(), {}});
            break;
        case Verb::let_down:
            bring({Verb::raise, step.items.front(), {}});
            note_prop(step.items.front());
            break;
        case Verb::take_out:
        case Verb::loosen:
        case Verb::prove:
            fasten(step.items);
            break;
        case Verb::prop:
            note_prop(step.items.front());
            settle();
            break;
        case Verb::do_task: {
            const Task& task = map_.task(step.items.front());
            if (task.does == TaskDoes::prop)
                for (const ItemId part : task.to)
                    if (is_part(job_, part))
                        note_prop(part);
            if (task.does == TaskDoes::prove)
                for (const ItemId plug : task.to)
                    if (is_fastener(job_, plug))
                        fasten({plug});
            if (task.when == TaskWhen::both)
                bring({Verb::do_task, task.item, {}});
            settle();
            break;
        }
        default:
            break;
        }
    }

    void note_prop(ItemId part) {
        const std::size_t p = slot(job_, part);
        if (walk.state().propped[p] != 0 && std::find(props_.begin(), props_.end(), part) == props_.end())
            props_.push_back(part);
        settle();
    }

    /// All of them by hand first, then each to its torque, in file order.
    void fasten(std::vector<ItemId> items) {
        std::sort(items.begin(), items.end());
        std::stable_sort(items.begin(), items.end(), [&](ItemId a, ItemId b) { return rank(a) < rank(b); });
        for (const ItemId id : items)
            if (belongs_to_waiting_plug(id))
                continue;
            else if (!fact(job_, id).pushed)
                walk.bring({Verb::start, id, {}});
            else if (is_loose_piece(kind_of(job_, id)))
                walk.bring({Verb::tighten, id, {}});
        for (const ItemId id : items) {
            if (is_loose_piece(kind_of(job_, id)) && belongs_to_waiting_plug(id))
                continue;
            if (job_.turned[slot(job_, id)] != id)
                continue; // the end that is held
            if (is_plug_that_waits(id)) {
                plugs_.push_back(id);
            } else if (fact(job_, id).torque_waits &&
                       !judge_first(job_, walk.state(), {Verb::tighten, id, {}}).empty()) {
                walk.bring({Verb::seat, id, {}});
                pending_.push_back(id);
            } else {
                walk.bring({Verb::tighten, id, {}});
            }
        }
        settle();
    }

    /// Shafts before what lies on them, nuts last: the order within one group.
    int rank(ItemId id) const {
        const FastenerKind kind = kind_of(job_, id);
        return is_nut(kind) ? 2 : is_loose_piece(kind) ? 1 : 0;
    }

    /// Fill and level plugs stay open until the fluid is in.
    bool is_plug_that_waits(ItemId id) const {
        if (kind_of(job_, id) != FastenerKind::fill_plug && kind_of(job_, id) != FastenerKind::level_plug)
            return false;
        const auto holds = job_.holds[slot(job_, id)];
        return std::any_of(holds.begin(), holds.end(), [&](ItemId part) {
            const std::size_t p = slot(job_, part);
            return walk.state().drained[p] != 0 && walk.state().filled[p] == 0;
        });
    }

    /// The plug itself, and the ring that lies on it.
    bool belongs_to_waiting_plug(ItemId id) const {
        if (!is_loose_piece(kind_of(job_, id)))
            return is_plug_that_waits(id);
        const auto joint = job_.joint[slot(job_, id)];
        return std::any_of(joint.begin(), joint.end(), [&](ItemId other) { return is_plug_that_waits(other); });
    }

    /// The fluid is in, and level where somebody is to look: the plug closes now, not at the end of the job.
    bool may_close(ItemId plug) const {
        if (is_plug_that_waits(plug))
            return false;
        for (const Objection& objection : judge(job_, walk.state(), {Verb::start, plug, {}}))
            if (objection.rule != Rule::joint_order)
                return false;
        for (const Objection& objection : judge(job_, walk.state(), {Verb::tighten, plug, {}}))
            if (objection.rule != Rule::not_all_started && objection.rule != Rule::so_already)
                return false;
        return true;
    }

    void finish() {
        for (const ItemId task : asked_for_)
            bring({Verb::do_task, task, {}});
        for (std::size_t p = 0; p < map_.parts.size(); ++p)
            if (walk.state().drained[p] != 0 && walk.state().filled[p] == 0)
                bring_fill(map_.parts[p].item);
        for (const ItemId plug : plugs_)
            bring({Verb::tighten, plug, {}});
        do_in_place(0);
        for (const ItemId part : std::vector<ItemId>(props_))
            bring({Verb::unprop, part, {}});
        for (const ItemId task : std::vector<ItemId>(when_possible_))
            if (!asks_anything(map_.task(task).sets))
                walk.bring({Verb::do_task, task, {}});
        restore_vehicle();
        // Road wheels last: everything else that waits for the ground is done under them.
        std::stable_partition(pending_.begin(), pending_.end(), [&](ItemId id) { return !fact(job_, id).on_ground; });
        for (const ItemId id : std::vector<ItemId>(pending_))
            walk.bring({Verb::tighten, id, {}});
        for (const Task& task : map_.tasks)
            if (task.when != TaskWhen::strip)
                walk.bring({Verb::do_task, task.item, {}});
    }

    void bring_fill(ItemId part) {
        for (const ItemId id : job_.tasks_for[at(part.index)]) {
            const Task& task = map_.task(id);
            if (task.does == TaskDoes::fill && task.when != TaskWhen::strip)
                bring({Verb::do_task, id, {}});
        }
        if (walk.state().filled[slot(job_, part)] == 0)
            bring({Verb::fill, part, {}});
    }

    /// Down on its wheels, battery connected, as it was found; the map's own tasks first.
    void restore_vehicle() {
        const State found = as_found(job_);
        for (const Task& task : map_.tasks)
            if (task.when != TaskWhen::strip && asks_anything(task.sets))
                walk.bring({Verb::do_task, task.item, {}});
        VehicleAsk back = found.vehicle;
        back.chocked = Ask::nothing; // the chocks go last, by hand
        const VehicleAsk lacks = missing(back, walk.state().vehicle);
        if (asks_anything(lacks))
            walk.bring({Verb::set_vehicle, {}, lacks});
    }

    std::vector<ItemId> in_place_, when_possible_, asked_for_, pending_, plugs_, props_;
};

void find_unreturned(const Job& job, const State& end, Plan& plan) {
    const Map& map = *job.map;
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const ItemId id{static_cast<std::int32_t>(i)};
        const bool seated = is_fastener(job, id) && end.fasteners[slot(job, id)] == FastenerState::seated;
        if (is_back(job, end, id) && !seated)
            continue;
        if (is_part(job, id) && end.went_with[slot(job, id)])
            continue; // told with the part that it left with
        Finding finding;
        finding.weight = Weight::fault;
        finding.rule = "not-back";
        finding.nodes = {map[id].name};
        finding.what = fmt::format("On the way back {} is left over.", map[id].name);
        finding.why = "Everything that came off goes back on.";
        finding.remedy = "Look at its `refit_after` and `torque_after`.";
        plan.findings.push_back(std::move(finding));
    }
}

} // namespace

State refit_begin(const Plan& strip) {
    State begin = strip.end;
    begin.refit = true;
    std::fill(begin.done.begin(), begin.done.end(), std::uint8_t{0});
    return begin;
}

Plan plan_refit(const Job& job, const Plan& strip) {
    const State begin = refit_begin(strip);
    WayBack way(job, begin);
    way.run(strip);
    Plan plan;
    plan.by_author = strip.by_author;
    gather(job, begin, way.walk.order(), plan);
    put_in_order_of_joints(job, plan);
    find_unreturned(job, plan.end, plan);
    return plan;
}

} // namespace boltwalk
