#include "core/job/poise.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "core/job/inside.hpp"
#include "core/job/shapes.hpp"

namespace boltwalk {

using namespace inside;

namespace {

/// Three points lie on one line when the third is nearer to it than this: half a bolt's head.
constexpr double on_line_m = 0.01;

bool has(const std::vector<ItemId>& list, ItemId id) {
    return std::find(list.begin(), list.end(), id) != list.end();
}

bool spread_out(const std::vector<glm::dvec3>& points) {
    for (std::size_t b = 1; b < points.size(); ++b) {
        const glm::dvec3 along = points[b] - points[0];
        const double length = glm::length(along);
        if (length < on_line_m)
            continue;
        return std::any_of(points.begin(), points.end(), [&](const glm::dvec3& c) {
            return glm::length(glm::cross(along, c - points[0])) / length > on_line_m;
        });
    }
    return false;
}

glm::dvec3 origin_of(const Node& node) {
    return {node.world[12], node.world[13], node.world[14]};
}

} // namespace

Balance::Balance(const Job& job, const Solids& solids, const Masses& masses, const State* end)
    : job_(job), solids_(solids), masses_(masses), joined_(job.map->parts.size()), inside_(job.map->parts.size()),
      place_(job.map->fasteners.size()), lift_(job.map->parts.size()), has_lift_(job.map->parts.size(), 0),
      unseen_(job.map->parts.size(), 0) {
    const Map& map = *job.map;
    for (const Fastener& fastener : map.fasteners) {
        const std::int32_t body = solids.body_of[at(fastener.item.index)];
        place_[slot(map, fastener.item)] =
            body >= 0 ? masses.bodies[at(body)].centre : origin_of(map.nodes[at(map[fastener.item].node)]);
        for (const ItemId held : fastener.holds)
            inside_[slot(map, held)].push_back(fastener.item);
        if (joins(fastener))
            for (const ItemId held : fastener.holds)
                joined_[slot(map, held)].push_back(fastener.item);
    }
    if (end != nullptr)
        for (const Part& part : map.parts)
            if (!part.fixed && counts(*end, part.item) && !rigidly_held(job, *end, part.item))
                unseen_[slot(map, part.item)] = 1;
    std::vector<std::int32_t> asked;
    for (std::size_t p = 0; p < map.parts.size(); ++p)
        if (!map.parts[p].lift_point.empty())
            asked.push_back(static_cast<std::int32_t>(p));
    if (asked.empty())
        return;
    for (const Node& node : map.nodes)
        for (const std::int32_t p : asked)
            if (has_lift_[at(p)] == 0 && node.name == map.parts[at(p)].lift_point) {
                lift_[at(p)] = origin_of(node);
                has_lift_[at(p)] = 1;
            }
}

const glm::dvec3* Balance::lift_point(ItemId part) const {
    const std::size_t p = slot(*job_.map, part);
    return has_lift_[p] != 0 ? &lift_[p] : nullptr;
}

bool Balance::counts(const State& state, ItemId part) const {
    const std::size_t p = slot(*job_.map, part);
    const bool away = state.parts[p] == PartState::off || state.parts[p] == PartState::aside;
    return !away && !job_.map->parts[p].flexible;
}

bool Balance::is_ground(const State& state, ItemId part) const {
    const std::size_t p = slot(*job_.map, part);
    return job_.map->parts[p].fixed || state.propped[p] != 0 || unseen_[p] != 0;
}

bool Balance::held_unseen(ItemId part) const {
    return unseen_[slot(*job_.map, part)] != 0;
}

/// From part to part by what holds, never through `avoid`.
struct Balance::Search {
    const Balance& balance;
    const State& state;
    ItemId avoid;
    std::vector<ItemId> held, hanging; ///< answered already

    /// Does it stay up without `avoid`? What does not is added to `hanging`.
    bool stays(ItemId start) {
        if (has(held, start))
            return true;
        if (has(hanging, start))
            return false;
        std::vector<ItemId> met{start};
        bool ground = balance.is_ground(state, start);
        for (std::size_t i = 0; i < met.size() && !ground; ++i)
            for (const ItemId id : balance.joined_[slot(*balance.job_.map, met[i])]) {
                if (is_freed(balance.job_, state, id))
                    continue;
                const auto& holds = balance.job_.map->fastener(id).holds;
                ground = ground || holds.size() == 1;
                for (const ItemId part : holds)
                    if (part != avoid && balance.counts(state, part) && !has(met, part)) {
                        ground = ground || balance.is_ground(state, part) || has(held, part);
                        met.push_back(part);
                    }
                if (ground)
                    break;
            }
        auto& list = ground ? held : hanging;
        // Of what was met on the way to the ground only the start is known to be held without anything else said.
        if (ground)
            list.push_back(start);
        else
            list.insert(list.end(), met.begin(), met.end());
        return ground;
    }
};

Hanging Balance::of(const State& state, ItemId part) const {
    const Map& map = *job_.map;
    Search search{*this, state, part, {}, {}};
    Hanging result;
    result.part = part;
    for (const ItemId id : joined_[slot(map, part)]) {
        if (is_freed(job_, state, id))
            continue;
        const auto& holds = map.fastener(id).holds;
        bool crossing = holds.size() == 1;
        for (const ItemId other : holds)
            if (other != part && counts(state, other) && search.stays(other))
                crossing = true;
        const std::string& joint = map.fastener(id).joint;
        const bool told =
            !joint.empty() && std::any_of(result.held_by.begin(), result.held_by.end(),
                                          [&](ItemId other) { return map.fastener(other).joint == joint; });
        if (crossing && !told)
            result.held_by.push_back(id);
    }
    std::vector<ItemId> parts{part};
    std::sort(search.hanging.begin(), search.hanging.end());
    parts.insert(parts.end(), search.hanging.begin(), search.hanging.end());
    result.items = parts;
    for (const ItemId one : parts) {
        const std::size_t p = slot(map, one);
        if (state.propped[p] != 0)
            result.props.push_back(one);
        for (const ItemId id : inside_[p]) {
            const auto& holds = map.fastener(id).holds;
            const bool all_in =
                std::all_of(holds.begin(), holds.end(), [&](ItemId h) { return has(parts, h) || !counts(state, h); });
            if (state.fasteners[slot(map, id)] != FastenerState::out && all_in && !has(result.items, id) &&
                !has(result.held_by, id))
                result.items.push_back(id);
        }
    }
    const Arrangement where = arrange(job_, solids_, state);
    std::vector<std::int32_t> bodies;
    for (const ItemId id : result.items)
        if (solids_.body_of[at(id.index)] >= 0)
            bodies.push_back(solids_.body_of[at(id.index)]);
    result.load = load_of(masses_, bodies, where.shift);
    std::vector<glm::dvec3> held_at;
    for (const ItemId id : result.held_by)
        held_at.push_back(place_[slot(map, id)]);
    result.clamped = spread_out(held_at);
    result.prop_shown = !result.props.empty();
    for (const ItemId prop : result.props) {
        if (const glm::dvec3* place = lift_point(prop))
            held_at.push_back(*place);
        else
            result.prop_shown = false;
    }
    result.balanced = balance_on(held_at, result.load);
    return result;
}

std::vector<ItemId> Balance::touched(const State& state, const Step& step) const {
    // Whose holding may have changed: what the step is about, and what that is joined to, on to what stays. So many
    // parts at most, nearest first: beyond that a long chain of parts would be asked about again at every step.
    constexpr std::size_t most = 48;
    const Map& map = *job_.map;
    std::vector<ItemId> ring;
    const auto add = [&](ItemId part) {
        if (!map.part(part).fixed && !held_unseen(part) && !has(ring, part))
            ring.push_back(part);
    };
    for (const ItemId id : step.items) {
        if (map.is_part(id))
            add(id);
        else if (map.is_fastener(id))
            for (const ItemId held : map.fastener(id).holds)
                add(held);
        else
            for (const ItemId to : map.task(id).to)
                if (map.is_part(to))
                    add(to);
    }
    for (std::size_t i = 0; i < ring.size() && ring.size() < most; ++i)
        for (const ItemId id : joined_[slot(map, ring[i])])
            if (!is_freed(job_, state, id))
                for (const ItemId held : map.fastener(id).holds)
                    add(held);
    std::erase_if(ring, [&](ItemId part) { return !counts(state, part); });
    std::sort(ring.begin(), ring.end());
    return ring;
}

Gone Balance::gone(const State& state) const {
    const Map& map = *job_.map;
    std::vector<std::int32_t> bodies;
    Bounds stays;
    for (std::size_t b = 0; b < solids_.bodies.size(); ++b) {
        const ItemId item = solids_.bodies[b].item;
        if (!item || map.is_task(item))
            continue;
        const std::size_t i = slot(map, item);
        const bool off =
            map.is_part(item) ? state.parts[i] == PartState::off : state.fasteners[i] == FastenerState::out;
        if (off)
            bodies.push_back(static_cast<std::int32_t>(b));
        else if (map.is_part(item) && map.parts[i].fixed)
            stays.add(solids_.bodies[b].bounds);
    }
    Gone result;
    result.load = load_of(masses_, bodies);
    if (result.load.has_centre && !stays.empty()) {
        result.off = result.load.centre - stays.centre();
        result.off.y = 0;
    }
    return result;
}

std::vector<BalanceLine> balance_lines(const Job& job, const Solids& solids, const Masses& masses, const Plan& strip) {
    const Map& map = *job.map;
    const Balance balance(job, solids, masses, &strip.end);
    std::vector<BalanceLine> lines;
    std::vector<std::string> last(map.parts.size());
    State state = as_found(job);
    const auto look = [&](std::size_t step, ItemId part, bool tell) {
        Hanging hanging = balance.of(state, part);
        const Load& load = hanging.load;
        std::string now = in_words(map, hanging);
        // Of a part that is still clamped only the side matters, not how many bolts are left.
        if (hanging.clamped)
            now = fmt::format("clamped {} {}", static_cast<int>(hanging.balanced.poise),
                              side_of(hanging.balanced.towards));
        std::string& before = last[slot(map, part)];
        const bool changed = now != before;
        before = std::move(now);
        if (tell && changed && load.mass_kg + load.without_as_steel_kg >= told_from_kg)
            lines.push_back({step, std::move(hanging)});
    };
    for (const Part& part : map.parts)
        if (!part.fixed && !part.flexible && !balance.held_unseen(part.item))
            look(0, part.item, false);
    for (std::size_t i = 0; i < strip.steps.size(); ++i) {
        apply_step(job, state, strip.steps[i]);
        for (const ItemId part : balance.touched(state, strip.steps[i]))
            look(i + 1, part, true);
    }
    return lines;
}

} // namespace boltwalk
