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

bool is_freed(const Job& job, const State& state, ItemId id) {
    const Map& map = *job.map;
    const Fastener& fastener = map.fastener(id);
    const FastenerState is = state.fasteners[slot(map, id)];
    if (is == FastenerState::out)
        return true;
    if (fastener.frees_when == FreesWhen::nut_off) {
        bool has_nut = false;
        for (const ItemId other : job.joint[slot(map, id)]) {
            if (!is_nut(map.fastener(other).kind))
                continue;
            has_nut = true;
            if (state.fasteners[slot(map, other)] != FastenerState::out)
                return false;
        }
        return has_nut;
    }
    return is == FastenerState::slack;
}

namespace {

// Does an unfreed fastener on this part lead straight to what stays?
bool holds_to_ground(const Fastener& fastener) {
    return fastener.holds.size() == 1;
}

struct Reach {
    const Job& job;
    const State& state;
    ItemId avoid; ///< paths may not lead through this part
    bool rigid_only;
    bool supports_stay; ///< what has a support of its own counts as staying
    ItemId bench;       ///< set: on the bench, among the parts that left in this one's company; it is what stays there

    bool here(ItemId part) const {
        const std::size_t p = slot(*job.map, part);
        const bool off = state.parts[p] == PartState::off;
        return bench ? off && root_of(state, p, part) == bench : !off;
    }

    bool stays(ItemId part) const {
        if (bench)
            return part == bench;
        const Part& p = job.map->part(part);
        if (p.fixed)
            return true;
        return supports_stay && part != avoid && !p.support.empty() &&
               state.parts[slot(*job.map, part)] != PartState::off;
    }

    /// Every part reached from `from`; `grounded` when one of them stays (the search then stops).
    std::vector<ItemId> from(ItemId from, bool& grounded) const {
        const Map& map = *job.map;
        std::vector<ItemId> queue{from};
        std::unordered_set<std::int32_t> seen{from.index};
        grounded = stays(from);
        for (std::size_t i = 0; i < queue.size() && !grounded; ++i)
            for (const ItemId id : job.held_by[slot(map, queue[i])]) {
                const Fastener& fastener = map.fastener(id);
                if (is_freed(job, state, id))
                    continue;
                if (holds_to_ground(fastener) && !bench) {
                    grounded = true;
                    return queue;
                }
                for (const ItemId part : fastener.holds) {
                    if (part == avoid || !here(part))
                        continue;
                    if (rigid_only && map.part(part).flexible)
                        continue;
                    if (!seen.insert(part.index).second)
                        continue;
                    if (stays(part)) {
                        grounded = true;
                        return queue;
                    }
                    queue.push_back(part);
                }
            }
        return queue;
    }
};

/// The part on the bench that this one would be taken from; none while it is on the vehicle.
ItemId bench_of(const Job& job, const State& state, ItemId part) {
    const std::size_t p = slot(*job.map, part);
    return state.parts[p] == PartState::off ? state.went_with[p] : ItemId{};
}

std::vector<ItemId> hanging(const Job& job, const State& state, ItemId part, bool rigid_only) {
    const Map& map = *job.map;
    const Reach reach{job, state, part, rigid_only, true, bench_of(job, state, part)};
    std::vector<ItemId> set{part};
    std::unordered_set<std::int32_t> decided{part.index};
    for (const ItemId id : job.held_by[slot(map, part)]) {
        if (is_freed(job, state, id))
            continue;
        for (const ItemId neighbour : map.fastener(id).holds) {
            if (!reach.here(neighbour) || decided.count(neighbour.index) != 0)
                continue;
            if (rigid_only && map.part(neighbour).flexible)
                continue;
            bool grounded = false;
            const std::vector<ItemId> found = reach.from(neighbour, grounded);
            if (grounded) {
                decided.insert(neighbour.index);
                continue;
            }
            for (const ItemId other : found)
                if (decided.insert(other.index).second)
                    set.push_back(other);
        }
    }
    std::sort(set.begin() + 1, set.end());
    return set;
}

} // namespace

std::vector<ItemId> hangs_on(const Job& job, const State& state, ItemId part) {
    return hanging(job, state, part, false);
}

namespace inside {

ItemId root_of(const State& state, std::size_t part_slot, ItemId part) {
    return state.went_with[part_slot] ? state.went_with[part_slot] : part;
}

bool rigidly_held(const Job& job, const State& state, ItemId part) {
    bool grounded = false;
    const Reach reach{job, state, ItemId{}, true, false, ItemId{}};
    reach.from(part, grounded);
    return grounded;
}

std::vector<ItemId> boundary(const Job& job, const State& state, ItemId part, bool rigid_only) {
    const Map& map = *job.map;
    const std::vector<ItemId> set = hanging(job, state, part, rigid_only);
    const ItemId bench = bench_of(job, state, part);
    const Reach reach{job, state, part, rigid_only, true, bench};
    const auto inside_set = [&](ItemId id) { return std::find(set.begin(), set.end(), id) != set.end(); };
    std::vector<ItemId> found;
    for (const ItemId member : set)
        for (const ItemId id : job.held_by[slot(map, member)]) {
            if (is_freed(job, state, id))
                continue;
            const Fastener& fastener = map.fastener(id);
            const bool crosses =
                (holds_to_ground(fastener) && !bench) ||
                std::any_of(fastener.holds.begin(), fastener.holds.end(), [&](ItemId other) {
                    return reach.here(other) && !inside_set(other) && !(rigid_only && map.part(other).flexible);
                });
            if (crosses)
                found.push_back(id);
        }
    std::sort(found.begin(), found.end());
    found.erase(std::unique(found.begin(), found.end()), found.end());
    return found;
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
    for (const ItemId id : hanging(job, state, part, rigid_only)) {
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
    bool grounded = false;
    const Reach reach{job, state, ItemId{}, true, false, ItemId{}};
    std::vector<ItemId> moving = reach.from(part, grounded);
    if (grounded)
        moving = {part};
    for (const ItemId id : moving) {
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

void come_back(const Job& job, State& state, ItemId part) {
    const Map& map = *job.map;
    const ItemId bench = state.bench_from[slot(map, part)];
    if (bench && state.parts[slot(map, bench)] == PartState::off) {
        const ItemId root = root_of(state, slot(map, bench), bench);
        for (std::size_t p = 0; p < state.parts.size(); ++p)
            if (map.parts[p].item == part || state.went_with[p] == part) {
                state.went_with[p] = root;
                state.bench_from[p] = root;
            }
        return;
    }
    if (const ItemId below = lowered_neighbour(job, state, part); below && below != part) {
        for (std::size_t p = 0; p < state.parts.size(); ++p)
            if (map.parts[p].item == part || state.went_with[p] == part) {
                state.parts[p] = PartState::lowered;
                state.went_with[p] = below;
            }
        return;
    }
    for (std::size_t p = 0; p < state.parts.size(); ++p)
        if (map.parts[p].item == part || state.went_with[p] == part) {
            state.parts[p] = PartState::on;
            state.went_with[p] = {};
            state.bench_from[p] = {};
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
        if (!map.parts[i].support.empty() && state.parts[i] != PartState::off)
            state.propped[i] = 1; // it is held up until what carries it is tight
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
