// States, and what an action makes of one.
#include <algorithm>

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
    for (auto* flags : {&state.propped, &state.unloaded, &state.marked, &state.drained, &state.filled,
                        &state.transferred, &state.unmated})
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
    const std::size_t i = slot(job, id);
    switch (fact(job, id).kind) {
    case ItemKind::part:
        // What was only let down along with something else is not out of the way by that.
        if (state.parts[i] == PartState::lowered)
            return !state.went_with[i];
        return state.parts[i] != PartState::on;
    case ItemKind::fastener: {
        if (state.fasteners[i] == FastenerState::out || state.fasteners[i] == FastenerState::slack ||
            is_freed(job, state, id))
            return true;
        const auto holds = job.holds[i];
        return !holds.empty() && std::all_of(holds.begin(), holds.end(), [&](ItemId part) {
            return state.parts[slot(job, part)] == PartState::off;
        });
    }
    case ItemKind::task:
        return state.done[i] != 0 || job.map->tasks[i].when == TaskWhen::refit;
    }
    return false;
}

bool is_back(const Job& job, const State& state, ItemId id) {
    const std::size_t i = slot(job, id);
    switch (fact(job, id).kind) {
    case ItemKind::part: {
        const PartState is = state.parts[i];
        if (is == PartState::on)
            return true;
        const ItemId with = state.went_with[i];
        // Fitted to something that still hangs lowered, or lies on the bench: it comes along with that.
        return with && (is == PartState::lowered || (is == PartState::off && state.bench_from[i] == with));
    }
    case ItemKind::fastener:
        switch (state.fasteners[i]) {
        case FastenerState::tight:
        case FastenerState::torqued:
        case FastenerState::seated: // its torque waits by the author's own wish
            return true;
        default:
            return false;
        }
    case ItemKind::task:
        return state.done[i] != 0 || job.map->tasks[i].when == TaskWhen::strip;
    }
    return false;
}

std::optional<Action> strip_goal(const Job& job, ItemId id) {
    const Facts& facts = fact(job, id);
    switch (facts.kind) {
    case ItemKind::part:
        if (facts.fixed)
            return std::nullopt;
        if (id != job.map->target && facts.goes_aside)
            return Action{Verb::set_aside, id, {}};
        if (id != job.map->target && facts.goes_down)
            return Action{Verb::let_down, id, {}};
        return Action{Verb::take_off, id, {}};
    case ItemKind::fastener:
        if (facts.nut_frees)
            return std::nullopt; // stated: it stays in
        return Action{facts.drawn_late || facts.slack_frees ? Verb::loosen : Verb::take_out, id, {}};
    case ItemKind::task:
        if (job.map->tasks[at(facts.slot)].when == TaskWhen::refit)
            return std::nullopt;
        return Action{Verb::do_task, id, {}};
    }
    return std::nullopt;
}

} // namespace inside

namespace {

void do_what_task_does(const Job& job, State& state, const Task& task) {
    state.done[slot(job, task.item)] = 1;
    state.vehicle = merged(state.vehicle, task.sets);
    for (const ItemId id : task.to) {
        const std::size_t i = slot(job, id);
        switch (task.does) {
        case TaskDoes::prop:
            if (is_part(job, id))
                state.propped[i] = 1;
            break;
        case TaskDoes::mark:
            if (is_part(job, id))
                state.marked[i] = 1;
            break;
        case TaskDoes::unload:
            if (is_part(job, id))
                state.unloaded[i] = 1;
            break;
        case TaskDoes::drain:
            if (is_part(job, id))
                state.drained[i] = 1;
            break;
        case TaskDoes::fill:
            if (is_part(job, id))
                state.filled[i] = 1;
            break;
        case TaskDoes::soak:
            if (is_fastener(job, id))
                state.soaked[i] = 1;
            break;
        case TaskDoes::prove:
            if (is_fastener(job, id) && state.fasteners[i] == FastenerState::tight)
                state.fasteners[i] = FastenerState::cracked;
            break;
        case TaskDoes::level: // looked at, nothing changes by it
        case TaskDoes::nothing:
            break;
        }
    }
}

void leave(const Job& job, State& state, ItemId part, PartState to, bool rigid_only) {
    const ItemId bench = bench_of(job, state, part);
    for (const ItemId id : hanging_on(job, state, part, rigid_only)) {
        const std::size_t p = slot(job, id);
        if (id == part)
            state.bench_from[p] = bench;
        state.parts[p] = to;
        state.went_with[p] = id == part ? ItemId{} : part;
        if (to == PartState::off)
            state.propped[p] = 0;
        state.unmated[p] = 0;
    }
}

/// Down goes whatever is rigidly joined to it and does not stay, propped or not.
void let_down(const Job& job, State& state, ItemId part) {
    for (const ItemId id : moving_with(job, state, part)) {
        const std::size_t p = slot(job, id);
        if (id == part || state.parts[p] == PartState::on) {
            state.parts[p] = PartState::lowered;
            state.went_with[p] = id == part ? ItemId{} : part;
        }
    }
}

/// What this part is bolted to, where that still hangs lowered; none otherwise.
ItemId lowered_neighbour(const Job& job, const State& state, ItemId part) {
    for (const ItemId id : job.held_by[slot(job, part)])
        for (const ItemId other : job.holds[slot(job, id)]) {
            const std::size_t p = slot(job, other);
            if (other != part && state.parts[p] == PartState::lowered && !fact(job, other).flexible)
                return state.went_with[p] ? state.went_with[p] : other;
        }
    return {};
}

void come_back(const Job& job, State& state, ItemId part) {
    PartState to = PartState::on;
    ItemId with, bench;
    if (const ItemId from = state.bench_from[slot(job, part)]; from && state.parts[slot(job, from)] == PartState::off) {
        to = PartState::off; // put together on the bench
        with = bench = root_of(state, slot(job, from), from);
    } else if (const ItemId below = lowered_neighbour(job, state, part); below && below != part) {
        to = PartState::lowered;
        with = below;
    }
    for (const ItemId id : company_of(job, state, part)) {
        const std::size_t p = slot(job, id);
        state.parts[p] = to;
        state.went_with[p] = with;
        state.bench_from[p] = bench;
    }
}

} // namespace

void apply(const Job& job, State& state, const Action& action) {
    const std::size_t i = action.item ? slot(job, action.item) : 0;
    switch (action.verb) {
    case Verb::set_vehicle:
        state.vehicle = merged(state.vehicle, action.vehicle);
        break;
    case Verb::do_task:
        do_what_task_does(job, state, job.map->tasks[i]);
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
        if (kind_of(job, action.item) == FastenerKind::drain_plug)
            for (const ItemId part : job.holds[i])
                state.drained[slot(job, part)] = 1;
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
        // What hung along was joined to it already, and mates with it.
        state.unmated[i] = fact(job, action.item).mating && state.parts[i] != PartState::off ? 1 : 0;
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
        if (fact(job, action.item).jointed)
            for (const ItemId other : job.joint[i])
                if (job.turned[slot(job, other)] == action.item &&
                    state.fasteners[slot(job, other)] == FastenerState::started)
                    state.fasteners[slot(job, other)] = FastenerState::torqued; // the end that is held
        state.fasteners[i] = action.verb == Verb::seat ? FastenerState::seated : FastenerState::torqued;
        break;
    case Verb::fill:
        state.filled[i] = 1;
        break;
    case Verb::unprop:
        state.propped[i] = 0;
        break;
    case Verb::mate:
        state.unmated[i] = 0;
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
