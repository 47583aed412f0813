// What is apart on the way out stands apart when exploded: nearest to its place what comes off last.
#include "core/geometry/explode.hpp"

#include <algorithm>
#include <array>

#include "core/geometry/way_judge.hpp"

namespace boltwalk {

namespace {

/// Nothing goes farther than this share of the whole's radius.
constexpr double farthest_share = 1.5;
/// How much wider what moves is taken, across its way, and how much of the gap it leaves, in turn; a later one counts
/// where it leads clear so much sooner, and by more than a gap saves. The widest is more than the play of a bolt in its
/// hole, so that it is drawn out of it and not only off its seat; the next still more than most. What would scrape
/// along something for ever is taken as it is in the end, a little narrower for what only touches.
struct Room {
    double inset_m, gap_share;
};
constexpr std::array<Room, 4> rooms{{{-1.5e-3, 1}, {-0.75e-3, 1}, {-1.5e-3, 0.2}, {-0.75e-3, 0.2}}};
constexpr Room last_room{0.2e-3, 1};
constexpr double sooner_by = 2.5;
constexpr double gaps_saved = 3;

/// The shortest of the stated ways is taken when it leads clear within this share of the radius; otherwise the shortest
/// of all.
constexpr double near_share = 0.4;

struct Placing {
    const WaySpace& space;
    const Solids& solids;
    std::vector<glm::dvec3> shift;   ///< by body, so far
    std::vector<std::uint8_t> waits; ///< by body: comes off before what is being placed, so it is placed after it
    double radius = 0;

    /// How far along a unit vector until what moves has room; negative: nowhere.
    double clear_at(const Mover& mover, const glm::dvec3& from, const glm::dvec3& along) const {
        const double whole = explode_gap_share * radius;
        const double length = farthest_share * radius;
        const WayFrame frame = frame_along(along, mover.bounds.centre() + from);
        const std::vector<Standing> near = others(mover, from, along * length, whole);
        const auto room_with = [&](const Room& room) {
            // Nothing of a closed mesh is left out: what it already is in counts, too.
            return first_room(mover, {frame, from, room.inset_m, false}, near, whole * room.gap_share, length);
        };
        double best = -1;
        for (const Room& room : rooms) {
            const double clear = room_with(room);
            if (clear >= 0 && (best < 0 || (clear * sooner_by < best && best - clear > gaps_saved * whole)))
                best = clear;
        }
        return best >= 0 ? best : room_with(last_room);
    }

    /// Everything else, where it stands by now, that is near enough.
    std::vector<Standing> others(const Mover& mover, const glm::dvec3& offset, const glm::dvec3& leg,
                                 double gap) const {
        Bounds swept{mover.bounds.low + offset - 3 * gap, mover.bounds.high + offset + 3 * gap};
        swept.add(Bounds{swept.low + leg, swept.high + leg});
        std::vector<Standing> list;
        for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
            if (mover.moves[b] || waits[b])
                continue;
            Standing standing;
            standing.body = static_cast<std::int32_t>(b);
            for (const std::int32_t p : solids.bodies[b].placements) {
                const Placement& placement = solids.placements[at(p)];
                const Bounds box{placement.bounds.low + shift[b], placement.bounds.high + shift[b]};
                if (box.low.x > swept.high.x || box.high.x < swept.low.x || box.low.y > swept.high.y ||
                    box.high.y < swept.low.y || box.low.z > swept.high.z || box.high.z < swept.low.z)
                    continue;
                glm::dmat4 world = placement.world;
                world[3] += glm::dvec4(shift[b], 0.0);
                standing.pieces.push_back({solids.meshes[at(placement.mesh)].get(), world,
                                           space.shapes->senses[at(placement.mesh)], placement.mirrored, box});
            }
            if (!standing.pieces.empty())
                list.push_back(std::move(standing));
        }
        return list;
    }
};

struct Nest {
    std::vector<std::size_t> depth;                ///< of each in the list
    std::vector<std::vector<std::int32_t>> bodies; ///< its own and of all that is nested on it
    std::vector<std::vector<std::int32_t>>
        counts; ///< of these, without fasteners: they come out before it is looked at
    std::size_t levels = 0;
};

Nest nest_of(std::span<const Apart> list) {
    Nest nest;
    nest.depth.assign(list.size(), 0);
    nest.bodies.resize(list.size());
    nest.counts.resize(list.size());
    std::size_t part_levels = 0;
    for (std::size_t i = 0; i < list.size(); ++i) {
        // A ring of things on each other is cut where it has gone round.
        std::int32_t on = static_cast<std::int32_t>(i);
        for (std::size_t steps = 0; on >= 0 && steps <= list.size(); ++steps) {
            auto& bodies = nest.bodies[at(on)];
            bodies.insert(bodies.end(), list[i].bodies.begin(), list[i].bodies.end());
            if (!list[i].fastener || steps == 0) {
                auto& counts = nest.counts[at(on)];
                counts.insert(counts.end(), list[i].bodies.begin(), list[i].bodies.end());
            }
            on = list[at(on)].on;
            nest.depth[i] = steps;
        }
        if (!list[i].fastener)
            part_levels = std::max(part_levels, nest.depth[i] + 1);
    }
    // Fasteners come after all parts, whatever they are on.
    for (std::size_t i = 0; i < list.size(); ++i)
        if (list[i].fastener)
            nest.depth[i] = std::max(nest.depth[i], part_levels);
    for (const std::size_t depth : nest.depth)
        nest.levels = std::max(nest.levels, depth + 1);
    return nest;
}

/// The pieces of its way, as metres; empty: it stays.
std::vector<glm::dvec3> place_for(const Placing& placing, const Mover& mover, const Apart& one,
                                  const glm::dvec3& from) {
    double best = -1;
    std::vector<glm::dvec3> pieces;
    for (std::size_t i = 0; i < one.ways.size(); ++i) {
        if (i >= one.stated && best >= 0 && best < near_share * placing.radius && one.stated > 0)
            break;
        const ApartWay& way = one.ways[i];
        const double length = glm::length(way.along);
        if (!(length > 0))
            continue;
        const double clear = placing.clear_at(mover, from + way.before, way.along / length);
        const double all = clear + glm::length(way.before);
        if (clear < 0 || (best >= 0 && all >= best))
            continue;
        best = all;
        pieces.clear();
        if (glm::length(way.before) > 0)
            pieces.push_back(way.before);
        if (clear > 0)
            pieces.push_back(way.along * (clear / length));
    }
    return pieces;
}

/// One after the other between two places of the slider, each as long as its share of the way.
std::vector<ExplodeLeg> timed(const std::vector<glm::dvec3>& pieces, double from, double to) {
    double all = 0;
    for (const glm::dvec3& piece : pieces)
        all += glm::length(piece);
    std::vector<ExplodeLeg> legs;
    double gone = 0;
    for (const glm::dvec3& piece : pieces) {
        const double start = from + (to - from) * gone / all;
        gone += glm::length(piece);
        legs.push_back({piece, start, from + (to - from) * gone / all});
    }
    return legs;
}

} // namespace

Explosion explode(const Solids& solids, std::span<const Apart> list, const Effort& effort) {
    Explosion explosion;
    explosion.legs.resize(solids.bodies.size());
    const Nest nest = nest_of(list);
    std::vector<WayAsked> asked;
    for (std::size_t i = 0; i < list.size(); ++i)
        asked.push_back({list[i].item, nest.bodies[i], {}});
    const WaySpace space = make_way_space(solids, asked, {}, effort);
    Placing placing{space, solids, std::vector<glm::dvec3>(solids.bodies.size(), glm::dvec3(0.0)),
                    std::vector<std::uint8_t>(solids.bodies.size(), 0), solids.bounds.radius()};
    std::size_t done = 0;
    for (std::size_t level = 0; level < nest.levels; ++level) {
        for (std::size_t i = 0; i < list.size(); ++i)
            if (nest.depth[i] >= level)
                for (const std::int32_t body : nest.bodies[i])
                    placing.waits[at(body)] = 1;
        for (std::size_t i = list.size(); i-- > 0;) {
            if (nest.depth[i] != level || list[i].bodies.empty())
                continue;
            if (effort.progress && !effort.progress(static_cast<float>(done++) / static_cast<float>(list.size())))
                return explosion;
            for (const std::int32_t body : nest.bodies[i])
                placing.waits[at(body)] = 0;
            Mover mover = make_mover(space, nest.counts[i]);
            for (const std::int32_t body : nest.bodies[i])
                mover.moves[at(body)] = 1;
            if (mover.pieces.empty())
                continue;
            const glm::dvec3 from = placing.shift[at(list[i].bodies[0])];
            const double levels = static_cast<double>(nest.levels);
            const std::vector<ExplodeLeg> legs =
                timed(place_for(placing, mover, list[i], from), static_cast<double>(level) / levels,
                      static_cast<double>(level + 1) / levels);
            for (std::size_t b = 0; b < solids.bodies.size(); ++b)
                for (const ExplodeLeg& leg : legs)
                    if (mover.moves[b]) {
                        placing.shift[b] += leg.shift;
                        explosion.legs[b].push_back(leg);
                    }
        }
    }
    return explosion;
}

glm::dvec3 exploded_by(const Explosion& explosion, std::int32_t body, double slider) {
    glm::dvec3 shift(0.0);
    if (body < 0 || at(body) >= explosion.legs.size())
        return shift;
    for (const ExplodeLeg& leg : explosion.legs[at(body)]) {
        const double share = leg.to > leg.from ? (slider - leg.from) / (leg.to - leg.from) : slider >= leg.to ? 1 : 0;
        shift += leg.shift * std::clamp(share, 0.0, 1.0);
    }
    return shift;
}

} // namespace boltwalk
