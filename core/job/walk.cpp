// Carrying out actions one after the other, with whatever must come first brought about first.
#include <algorithm>
#include <set>

#include "core/job/locks.hpp"

namespace boltwalk::inside {

namespace {

/// The task of the map that does this for an item, if one is still to be done on this way.
std::optional<Action> task_that(const Job& job, const State& state, TaskDoes does, ItemId item) {
    const Map& map = *job.map;
    for (const ItemId id : job.tasks_for[at(item.index)]) {
        const Task& task = map.task(id);
        const bool on_this_way = task.when == TaskWhen::both || (task.when == TaskWhen::refit) == state.refit;
        if (task.does == does && on_this_way && state.done[slot(job, id)] == 0)
            return Action{Verb::do_task, id, {}};
    }
    return std::nullopt;
}

Action by_task_or(const Job& job, const State& state, TaskDoes does, Verb verb, ItemId item) {
    return task_that(job, state, does, item).value_or(Action{verb, item, {}});
}

/// A vehicle that is put on stands, or that neither brake nor gear holds, has chocks under the wheels that stay down.
VehicleAsk with_chocks(const VehicleAsk& ask, const VehicleAsk& is) {
    VehicleAsk out = ask;
    const VehicleAsk then = merged(is, ask);
    if (needs_chocks(then) && then.chocked != Ask::yes)
        out.chocked = Ask::yes;
    return out;
}

void mend_vehicle(const Job& job, const State& state, const Objection& objection, std::vector<Action>& out) {
    const Map& map = *job.map;
    VehicleAsk left = objection.vehicle;
    for (const Task& task : map.tasks) {
        const bool on_this_way = task.when == TaskWhen::both || (task.when == TaskWhen::refit) == state.refit;
        if (!on_this_way || state.done[slot(job, task.item)] != 0 || !asks_anything(task.sets))
            continue;
        const VehicleAsk after = missing(left, task.sets);
        // A task that also makes the vehicle something that nobody asked for is about something else.
        VehicleAsk beyond = missing(task.sets, merged(state.vehicle, left));
        beyond.chocked = Ask::nothing;
        if (after == left || asks_anything(beyond))
            continue;
        out.push_back({Verb::do_task, task.item, {}});
        left = after;
        if (!asks_anything(left))
            return;
    }
    out.push_back({Verb::set_vehicle, {}, with_chocks(left, state.vehicle)});
}

void mend_refit_item(const Job& job, const State& state, ItemId id, std::vector<Action>& out) {
    switch (fact(job, id).kind) {
    case ItemKind::part:
        switch (state.parts[slot(job, id)]) {
        case PartState::off:
            out.push_back({Verb::fit, id, {}});
            break;
        case PartState::aside:
            out.push_back({Verb::put_back, id, {}});
            break;
        case PartState::lowered:
            out.push_back({Verb::raise, id, {}});
            break;
        case PartState::on:
            break;
        }
        break;
    case ItemKind::fastener: {
        const Facts& facts = fact(job, id);
        const FastenerState is = state.fasteners[slot(job, id)];
        if ((is == FastenerState::out || is == FastenerState::slack) && !facts.pushed)
            out.push_back({Verb::start, id, {}});
        out.push_back({facts.torque_waits ? Verb::seat : Verb::tighten, id, {}});
        break;
    }
    case ItemKind::task:
        out.push_back({Verb::do_task, id, {}});
        break;
    }
}

} // namespace

std::vector<Action> mends(const Job& job, const State& state, const Action& action, const Objection& objection) {
    const Map& map = *job.map;
    std::vector<Action> out;
    switch (objection.rule) {
    case Rule::after:
    case Rule::secured:
    case Rule::joint_order:
    case Rule::joined:
        for (const ItemId id : objection.by) {
            if (state.refit) {
                mend_refit_item(job, state, id, out);
            } else if (const auto goal = strip_goal(job, id)) {
                out.push_back(*goal);
            } else if (is_fastener(job, id)) {
                // A stud that its nut frees: what frees it is the nut.
                for (const ItemId nut : job.joint[slot(job, id)])
                    if (nut != id && is_nut(kind_of(job, nut)) && !is_clear(job, state, nut))
                        out.push_back({Verb::take_out, nut, {}});
            }
        }
        break;
    case Rule::not_propped:
        for (const ItemId id : objection.by)
            out.push_back(by_task_or(job, state, TaskDoes::prop, Verb::prop, id));
        break;
    case Rule::loaded:
        for (const ItemId id : objection.by)
            out.push_back(by_task_or(job, state, TaskDoes::unload, Verb::unload, id));
        break;
    case Rule::not_marked:
        for (const ItemId id : objection.by)
            out.push_back(by_task_or(job, state, TaskDoes::mark, Verb::mark, id));
        break;
    case Rule::not_soaked:
        for (const ItemId id : objection.by)
            out.push_back(by_task_or(job, state, TaskDoes::soak, Verb::soak, id));
        break;
    case Rule::fill_not_proven:
        for (const ItemId id : objection.by)
            out.push_back(by_task_or(job, state, TaskDoes::prove, Verb::prove, id));
        break;
    case Rule::not_drained:
        for (const ItemId id : objection.by) {
            if (is_fastener(job, id)) {
                std::optional<Action> task;
                for (const ItemId part : map.fastener(id).holds)
                    if (!task)
                        task = task_that(job, state, TaskDoes::drain, part);
                out.push_back(task.value_or(Action{Verb::take_out, id, {}}));
            } else {
                out.push_back(by_task_or(job, state, TaskDoes::drain, Verb::drain, id));
            }
        }
        break;
    case Rule::vehicle:
        mend_vehicle(job, state, objection, out);
        break;
    case Rule::refit_after:
    case Rule::mirror:
    case Rule::not_there:
    case Rule::still_carried:
    case Rule::torque_waits:
        for (const ItemId id : objection.by)
            mend_refit_item(job, state, id, out);
        break;
    case Rule::not_all_started:
        for (const ItemId id : objection.by)
            out.push_back({fact(job, id).pushed ? Verb::tighten : Verb::start, id, {}});
        break;
    case Rule::not_filled:
        for (const ItemId id : objection.by)
            if (is_task(job, id))
                out.push_back({Verb::do_task, id, {}});
            else
                out.push_back(by_task_or(job, state, TaskDoes::fill, Verb::fill, id));
        break;
    case Rule::held_up:
        if (state.refit)
            for (const ItemId id : objection.by) {
                if (state.parts[slot(job, id)] == PartState::lowered)
                    out.push_back({Verb::raise, id, {}});
                out.push_back({Verb::unprop, id, {}});
            }
        break;
    case Rule::not_transferred:
        for (const ItemId id : objection.by)
            out.push_back({Verb::transfer, id, {}});
        break;
    case Rule::out_of_reach:
    case Rule::in_the_way:
        for (const ItemId id : objection.by)
            for (const Action& mend : gets_out_of_the_way(job, state, id))
                out.push_back(mend);
        break;
    case Rule::not_mated:
        for (const ItemId id : objection.by)
            out.push_back({Verb::mate, id, {}});
        break;
    case Rule::so_already:
    case Rule::cannot_be_drawn:
    case Rule::hold_lost:
    case Rule::step:
        break; // nothing on the map brings that about
    }
    std::erase_if(out, [&](const Action& mend) { return mend.verb == action.verb && mend.item == action.item; });
    return out;
}

namespace {

/// Where a rule already says why a task must come first (prop it, mark it, drain it), an `after` that names the same
/// task says nothing more.
std::vector<Objection> without_echoes(const Job& job, const State& state, const Action& action,
                                      std::vector<Objection> objections) {
    std::set<ItemId> tasks;
    for (const Objection& objection : objections)
        if (objection.rule != Rule::after)
            for (const Action& mend : mends(job, state, action, objection))
                if (mend.verb == Verb::do_task)
                    tasks.insert(mend.item);
    for (Objection& objection : objections)
        if (objection.rule == Rule::after)
            std::erase_if(objection.by, [&](ItemId id) { return tasks.count(id) != 0; });
    std::erase_if(objections, [](const Objection& o) { return o.rule == Rule::after && o.by.empty(); });
    return objections;
}

/// Of the way back: what no item of the map asks for in words.
bool is_by_rules(Verb verb) {
    return verb == Verb::set_vehicle || verb == Verb::prop || verb == Verb::unprop || verb == Verb::fill ||
           verb == Verb::transfer || verb == Verb::mate;
}

} // namespace

bool Walk::may_bring(const Action& action) const {
    if (!action.item || !is_own_doing(action.verb))
        return true;
    return order_.end.refit || fact(*job_, action.item).step <= latest_step_;
}

void Walk::explain(const Lock& lock) {
    order_.findings.push_back(in_words(*job_, lock));
    for (std::size_t i = 0; i < lock.ring.size(); ++i)
        explained_.insert({lock.ring[i].item, lock.ring[(i + 1) % lock.ring.size()].item});
}

void Walk::report(const Action& action, const Objection& whole) {
    // A link of a lock that was named as a whole.
    Objection objection = whole;
    std::erase_if(objection.by, [&](ItemId by) { return explained_.count({action.item, by}) != 0; });
    if (objection.by.empty() && !whole.by.empty())
        return;
    std::pair<Rule, std::vector<std::int32_t>> what{objection.rule, {}};
    for (const ItemId id : objection.by) {
        // Four bolts before their four nuts are one mistake: a group counts as one.
        const std::int32_t group = fact(*job_, id).group;
        const std::int32_t key = group >= 0 ? -1 - group : id.index;
        if (std::find(what.second.begin(), what.second.end(), key) == what.second.end())
            what.second.push_back(key);
    }
    const auto [known, fresh] = reported_.emplace(std::move(what), order_.findings.size());
    if (!fresh) {
        // One mistake of the author's, met again at the next bolt: one finding, with every node that it concerns.
        auto& nodes = order_.findings[known->second].nodes;
        const auto add = [&](ItemId id) {
            if (id && !names(nodes, (*job_->map)[id].name))
                nodes.push_back((*job_->map)[id].name);
        };
        add(action.item);
        for (const ItemId id : objection.by)
            add(id);
        return;
    }
    const std::int32_t step = action.item && !order_.end.refit ? fact(*job_, action.item).step : -1;
    order_.findings.push_back(in_words(*job_, action, objection, step));
}

void Walk::carry_out(const Action& action) {
    const bool from_map = action.item && is_own_doing(action.verb);
    const std::int32_t step = from_map && !order_.end.refit ? fact(*job_, action.item).step : -1;
    order_.done.push_back({action, step, !from_map && (!order_.end.refit || is_by_rules(action.verb))});
    apply(*job_, order_.end, action);
}

bool Walk::comes_of_itself(const Action& action) const {
    Walk trial(*this);
    trial.stated_only_ = true;
    trial.order_.findings.clear();
    trial.reported_.clear();
    trial.bring(action);
    return trial.order_.findings.empty();
}

/// What the shapes still object to contradicts what is stated, and is asked no more.
void Walk::drop_what_is_left(const Action& action) {
    if (!action.item || stated_only_ || !fact(*job_, action.item).estimated)
        return;
    for (;;) {
        const std::vector<Objection> objections = judge(*job_, order_.end, action);
        const auto left = std::find_if(objections.begin(), objections.end(),
                                       [](const Objection& objection) { return is_estimated(objection.rule); });
        if (left == objections.end())
            return;
        if (!own_)
            own_ = std::make_shared<Job>(*job_);
        job_ = own_.get();
        for (Dropped& pair : drop_pairs(*own_, order_.end, action, left->rule, {}))
            order_.dropped.push_back(std::move(pair));
    }
}

void Walk::bring(const Action& wanted) {
    // An explicit stack: a chain of ten thousand items that wait for each other must not overflow ours.
    std::vector<Frame> frames;
    const auto bit = [](Verb verb) { return std::uint32_t{1} << static_cast<unsigned>(verb); };
    const auto in_progress = [&](const Action& action) {
        return action.item && (open_[at(action.item.index)] & bit(action.verb)) != 0;
    };
    const auto enter = [&](const Action& action) {
        if (action.item)
            open_[at(action.item.index)] |= bit(action.verb);
        frames.push_back({action, {}, 0, 0});
    };
    const auto leave = [&] {
        if (const Action& action = frames.back().action; action.item)
            open_[at(action.item.index)] &= ~bit(action.verb);
        frames.pop_back();
    };
    enter(wanted);
    std::vector<std::pair<Action, Objection>> rings; // what waits for what already waits for it
    while (!frames.empty()) {
        Frame& frame = frames.back();
        if (frame.next < frame.todo.size()) {
            const Action mend = frame.todo[frame.next++];
            if (may_bring(mend) && !in_progress(mend))
                enter(mend); // `frame` is dangling from here on
            continue;
        }
        const std::vector<Objection> objections =
            stated_only_ ? judge_stated(*job_, order_.end, frame.action) : judge(*job_, order_.end, frame.action);
        if (!objections.empty() && objections.front().rule == Rule::so_already) {
            leave();
            continue;
        }
        // Bringing one thing about can undo another only through the vehicle (neutral for this, in gear for that), so a
        // few rounds settle it; the bound is for maps that contradict themselves.
        std::vector<Action> todo;
        if (frame.rounds < 4)
            for (const Objection& objection : objections)
                for (const Action& mend : mends(*job_, order_.end, frame.action, objection))
                    if (may_bring(mend) && !in_progress(mend) &&
                        (!is_estimated(objection.rule) || comes_of_itself(mend)))
                        todo.push_back(mend);
        if (!todo.empty()) {
            frame.todo = std::move(todo);
            frame.next = 0;
            ++frame.rounds;
            continue;
        }
        const Action action = frame.action;
        drop_what_is_left(action);
        for (const Objection& objection : without_echoes(*job_, order_.end, action, objections)) {
            if (is_estimated(objection.rule))
                continue;
            const std::vector<Action> wanted_first = mends(*job_, order_.end, action, objection);
            if (std::any_of(wanted_first.begin(), wanted_first.end(), in_progress))
                rings.emplace_back(action, objection);
            else
                report(action, objection);
        }
        carry_out(action);
        leave();
    }
    // A ring shows at every link. Told once, at a link that the author stated, where there is one.
    const auto stated = [](Rule rule) {
        return rule == Rule::after || rule == Rule::refit_after || rule == Rule::torque_waits || rule == Rule::secured;
    };
    const auto first =
        std::find_if(rings.begin(), rings.end(), [&](const auto& ring) { return stated(ring.second.rule); });
    if (!rings.empty())
        report((first == rings.end() ? rings.begin() : first)->first,
               (first == rings.end() ? rings.begin() : first)->second);
}

} // namespace boltwalk::inside
