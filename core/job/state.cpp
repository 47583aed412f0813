// States, and what an action makes of one.
#include <algorithm>
#include <unordered_set>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

State as_found(const Job& job) {
    const Map& map = *job.map;
    State state;
    state.vehicle = {.stands = Ask::no,
                     .chocked = Ask::no,
                     .brake = Ask::yes,
                     .gear = Ask::yes,
                     .battery = Ask::yes,
                     .straight = Ask::nothing};
    state.fasteners.assign(map.fasteners.size(), FastenerState::tight);
    state.parts.assign(map.parts.size(), PartState::on);
    state.went_with.assign(map.parts.size(), ItemId{});
    state.bench_from.assign(map.parts.size(), ItemId{});
    for (auto* flags :
         {&state.propped, &state.unloaded, &state.marked, &state.drained, &state.filled, &state.transferred})
        flags->assign(map.parts.size(), 0);
    state.soaked.assign(map.fasteners.size(), 0);
    state.done.assign(map.tasks.size(), 0);
    return state;
}

namespace inside {

bool leaves(Verb verb) {
    return verb == Verb::take_off || verb == Verb::set_aside || verb == Verb::let_down;
}

bool is_own_doing(Verb verb) {
    return verb == Verb::do_task || verb == Verb::take_out || verb == Verb::loosen || leaves(verb);
}

bool is_clear(const Job& job, const State& state, ItemId id) {
    const Map& map = *job.map;
    switch (map[id].kind) {
    case ItemKind::part: {
        const PartState is = state.parts[slot(map, id)];
        // What was only let down along with something else is not out of the way by that.
        if (is == PartState::lowered)
            return !state.went_with[slot(map, id)];
        return is != PartState::on;
    }
    case ItemKind::fastener: {
        const FastenerState is = state.fasteners[slot(map, id)];
        if (is == FastenerState::out || is == FastenerState::slack || is_freed(job, state, id))
            return true;
        const auto& holds = map.fastener(id).holds;
        return !holds.empty() && std::all_of(holds.begin(), holds.end(), [&](ItemId part) {
            return state.parts[slot(map, part)] == PartState::off;
        });
    }
    case ItemKind::task:
        return state.done[slot(map, id)] != 0 || map.task(id).when == TaskWhen::refit;
    }
    return false;
}

bool is_back(const Job& job, const State& state, ItemId id) {
    const Map& map = *job.map;
    switch (map[id].kind) {
    case ItemKind::part: {
        const PartState is = state.parts[slot(map, id)];
        const ItemId with = state.went_with[slot(map, id)];
        // Fitted to something that still hangs lowered, or lies on the bench: it comes along with that.
        return is == PartState::on || (is == PartState::lowered && with) ||
               (is == PartState::off && with && state.bench_from[slot(map, id)] == with);
    }
    case ItemKind::fastener:
        switch (state.fasteners[slot(map, id)]) {
        case FastenerState::tight:
        case FastenerState::torqued:
        case FastenerState::seated: // its torque waits by the author's own wish
            return true;
        default:
            return false;
        }
    case ItemKind::task:
        return state.done[slot(map, id)] != 0 || map.task(id).when == TaskWhen::strip;
    }
    return false;
}

std::optional<Action> strip_goal(const Job& job, ItemId id) {
    const Map& map = *job.map;
    switch (map[id].kind) {
    case ItemKind::part: {
        const Part& part = map.part(id);
        if (part.fixed)
            return std::nullopt;
        if (id != map.target && !part.aside.empty())
            return Action{Verb::set_aside, id, {}};
        if (id != map.target && part.lower_mm)
            return Action{Verb::let_down, id, {}};
        return Action{Verb::take_off, id, {}};
    }
    case ItemKind::fastener: {
        const Fastener& fastener = map.fastener(id);
        if (fastener.frees_when == FreesWhen::nut_off)
            return std::nullopt; // stated: it stays in
        if (fastener.leaves_with || fastener.captive_in || fastener.frees_when == FreesWhen::slack)
            return Action{Verb::loosen, id, {}};
        return Action{Verb::take_out, id, {}};
    }
    case ItemKind::task:
        if (map.task(id).when == TaskWhen::refit)
            return std::nullopt;
        return Action{Verb::do_task, id, {}};
    }
    return std::nullopt;
}

} // namespace inside

namespace {

void do_what_task_does(const Job& job, State& state, const Task& task) {
    const Map& map = *job.map;
    state.done[slot(map, task.item)] = 1;
    state.vehicle = merged(state.vehicle, task.sets);
    for (const ItemId id : task.to) {
        const std::size_t i = slot(map, id);
        switch (task.does) {
        case TaskDoes::prop:
            if (map.is_part(id))
                state.propped[i] = 1;
            break;
        case TaskDoes::mark:
            if (map.is_part(id))
                state.marked[i] = 1;
            break;
        case TaskDoes::unload:
            if (map.is_part(id))
                state.unloaded[i] = 1;
            break;
        case TaskDoes::drain:
            if (map.is_part(id))
                state.drained[i] = 1;
            break;
        case TaskDoes::fill:
            if (map.is_part(id))
                state.filled[i] = 1;
            break;
        case TaskDoes::soak:
            if (map.is_fastener(id))
                state.soaked[i] = 1;
            break;
        case TaskDoes::prove:
            if (map.is_fastener(id) && state.fasteners[i] == FastenerState::tight)
                state.fasteners[i] = FastenerState::cracked;
            break;
        case TaskDoes::level: // looked at, nothing changes by it
        case TaskDoes::nothing:
            break;
        }
    }
}

void leave(const Job& job, State& state, ItemId part, PartState to, bool rigid_only) {
    const Map& map = *job.map;
    const ItemId bench = bench_of(job, state, part);
    for (const ItemId id : hanging_on(job, state, part, rigid_only)) {
        const std::size_t p = slot(map, id);
        if (id == part)
            state.bench_from[p] = bench;
        state.parts[p] = to;
        state.went_with[p] = id == part ? ItemId{} : part;
        if (to == PartState::off)
            state.propped[p] = 0;
    }
}

/// Down goes whatever is rigidly joined to it and does not stay, propped or not.
void let_down(const Job& job, State& state, ItemId part) {
    const Map& map = *job.map;
    for (const ItemId id : moving_with(job, state, part)) {
        const std::size_t p = slot(map, id);
        if (id == part || state.parts[p] == PartState::on) {
            state.parts[p] = PartState::lowered;
            state.went_with[p] = id == part ? ItemId{} : part;
        }
    }
}

/// What this part is bolted to, where that still hangs lowered; none otherwise.
ItemId lowered_neighbour(const Job& job, const State& state, ItemId part) {
    const Map& map = *job.map;
    for (const ItemId id : job.held_by[slot(map, part)])
        for (const ItemId other : map.fastener(id).holds) {
            const std::size_t p = slot(map, other);
            if (other != part && !map.parts[p].flexible && state.parts[p] == PartState::lowered)
                return state.went_with[p] ? state.went_with[p] : other;
        }
    return {};
}

/// A part and what is away in its company: bolted to it, straight or through others that are.
std::vector<ItemId> company_of(const Job& job, const State& state, ItemId part) {
    const Map& map = *job.map;
    std::vector<ItemId> company{part};
    std::unordered_set<std::int32_t> seen{part.index};
    for (std::size_t i = 0; i < company.size(); ++i)
        for (const ItemId id : job.held_by[slot(map, company[i])])
            for (const ItemId other : map.fastener(id).holds)
                if (state.went_with[slot(map, other)] == part && seen.insert(other.index).second)
                    company.push_back(other);
    return company;
}

void come_back(const Job& job, State& state, ItemId part) {
    const Map& map = *job.map;
    PartState to = PartState::on;
    ItemId with, bench;
    if (const ItemId from = state.bench_from[slot(map, part)]; from && state.parts[slot(map, from)] == PartState::off) {
        to = PartState::off; // put together on the bench
        with = bench = root_of(state, slot(map, from), from);
    } else if (const ItemId below = lowered_neighbour(job, state, part); below && below != part) {
        to = PartState::lowered;
        with = below;
    }
    for (const ItemId id : company_of(job, state, part)) {
        const std::size_t p = slot(map, id);
        state.parts[p] = to;
        state.went_with[p] = with;
        state.bench_from[p] = bench;
    }
}

} // namespace

void apply(const Job& job, State& state, const Action& action) {
    const Map& map = *job.map;
    const std::size_t i = action.item ? slot(map, action.item) : 0;
    switch (action.verb) {
    case Verb::set_vehicle:
        state.vehicle = merged(state.vehicle, action.vehicle);
        break;
    case Verb::do_task:
        do_what_task_does(job, state, map.task(action.item));
        break;
    case Verb::soak:
        state.soaked[i] = 1;
        break;
    case Verb::mark:
        state.marked[i] = 1;
        break;
    case Verb::unload:
        state.unloaded[i] = 1;
        break;
    case Verb::prop:
        state.propped[i] = 1;
        break;
    case Verb::prove:
        if (state.fasteners[i] == FastenerState::tight)
            state.fasteners[i] = FastenerState::cracked;
        break;
    case Verb::drain:
        state.drained[i] = 1;
        break;
    case Verb::loosen:
        state.fasteners[i] = FastenerState::slack;
        break;
    case Verb::take_out:
        state.fasteners[i] = FastenerState::out;
        if (map.fasteners[i].kind == FastenerKind::drain_plug)
            for (const ItemId part : map.fasteners[i].holds)
                state.drained[slot(map, part)] = 1;
        break;
    case Verb::let_down:
        let_down(job, state, action.item);
        break;
    case Verb::set_aside:
        leave(job, state, action.item, PartState::aside, true);
        break;
    case Verb::take_off:
        leave(job, state, action.item, PartState::off, false);
        break;
    case Verb::transfer:
        state.transferred[i] = 1;
        break;
    case Verb::fit:
        come_back(job, state, action.item);
        break;
    case Verb::put_back:
    case Verb::raise:
        come_back(job, state, action.item);
        break;
    case Verb::start:
        state.fasteners[i] = FastenerState::started;
        break;
    case Verb::seat:
    case Verb::tighten:
        for (const ItemId other : job.joint[i])
            if (job.turned[slot(map, other)] == action.item &&
                state.fasteners[slot(map, other)] == FastenerState::started)
                state.fasteners[slot(map, other)] = FastenerState::torqued; // the end that is held
        state.fasteners[i] = action.verb == Verb::seat ? FastenerState::seated : FastenerState::torqued;
        break;
    case Verb::fill:
        state.filled[i] = 1;
        break;
    case Verb::unprop:
        state.propped[i] = 0;
        break;
    }
}

void apply_step(const Job& job, State& state, const Step& step) {
    if (step.verb == Verb::set_vehicle) {
        apply(job, state, {step.verb, {}, step.vehicle});
        return;
    }
    for (const ItemId item : step.items)
        apply(job, state, {step.verb, item, {}});
}

} // namespace boltwalk
