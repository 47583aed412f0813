// What is joined to what, in a state: what holds, what hangs on one part alone, what leads to the body that stays.
#include <algorithm>
#include <unordered_set>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

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

} // namespace

namespace inside {

ItemId bench_of(const Job& job, const State& state, ItemId part) {
    const std::size_t p = slot(*job.map, part);
    return state.parts[p] == PartState::off ? state.went_with[p] : ItemId{};
}

std::vector<ItemId> hanging_on(const Job& job, const State& state, ItemId part, bool rigid_only) {
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
            // Whatever a search met is joined to all else that it met: what stays, or hangs, stays or hangs together.
            for (const ItemId other : found)
                if (decided.insert(other.index).second && !grounded)
                    set.push_back(other);
        }
    }
    std::sort(set.begin() + 1, set.end());
    return set;
}

} // namespace inside

std::vector<ItemId> hangs_on(const Job& job, const State& state, ItemId part) {
    return hanging_on(job, state, part, false);
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
    const std::vector<ItemId> set = hanging_on(job, state, part, rigid_only);
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

std::vector<ItemId> moving_with(const Job& job, const State& state, ItemId part) {
    bool grounded = false;
    const Reach reach{job, state, ItemId{}, true, false, ItemId{}};
    std::vector<ItemId> moving = reach.from(part, grounded);
    return grounded ? std::vector<ItemId>{part} : moving;
}

} // namespace inside

} // namespace boltwalk
