// Casting the rays of hidden.hpp: once a map, for no state in particular.
#include "core/geometry/hidden.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

#include "core/geometry/rays.hpp"
#include "core/geometry/shifts.hpp"

namespace boltwalk {

namespace {

/// Rays begin this far off the surface, metres, so that rounding (a quarter of a micrometre, 3 m from the origin)
/// does not let them begin below it. More: what touches the head begins to be overlooked.
constexpr double off_surface_m = 2e-5;

std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

std::size_t slot(Place place) {
    return static_cast<std::size_t>(place);
}

Place place_along(const glm::dvec3& d) {
    const glm::dvec3 size = glm::abs(d);
    if (size.y >= size.x && size.y >= size.z)
        return d.y > 0 ? Place::over : Place::under;
    if (size.x >= size.z)
        return d.x > 0 ? Place::left : Place::right;
    return d.z > 0 ? Place::front : Place::rear;
}

struct Direction {
    glm::dvec3 along;
    Place from;
};

/// Turns (x, y) by the angle whose cosine and sine are given, and keeps it on the unit circle.
glm::dvec2 turned(const glm::dvec2& v, const glm::dvec2& by) {
    const glm::dvec2 t(v.x * by.x - v.y * by.y, v.x * by.y + v.y * by.x);
    return t / glm::length(t);
}

/// For each point a Fibonacci lattice of its own: heights in equal steps (equal areas, Archimedes), turned on by the
/// golden section. From point to point heights shift by the van der Corput sequence and the whole turns by another
/// irrational share, so that together they fill the sphere.
std::vector<Direction> direction_table(const SightSettings& settings) {
    const glm::dvec2 golden(-0.7373688780783202, -0.6754902942615233); // cos and sin of 0.6180339887498948 turns
    const glm::dvec2 other(0.030642483513659977, -0.9995304088441307); // and of 0.7548776662466927 turns
    std::vector<Direction> table;
    glm::dvec2 start(1, 0);
    for (int k = 0; k < settings.points; ++k) {
        double shift = 0;
        double digit = 0.5;
        for (int rest = k + 1; rest > 0; rest /= 2, digit /= 2)
            shift += (rest % 2) * digit;
        glm::dvec2 round = start;
        for (int i = 0; i < settings.directions; ++i) {
            const double height = 1 - 2 * (i + shift) / settings.directions;
            const double radius = std::sqrt(std::max(0.0, 1 - height * height));
            const glm::dvec3 along(radius * round.x, height, radius * round.y);
            table.push_back({along, place_along(along)});
            round = turned(round, golden);
        }
        start = turned(start, other);
    }
    return table;
}

/// One pair of point and direction that counts, and which set of bodies stands along it.
struct Pair {
    glm::dvec3 from;
    std::int32_t direction = -1;
    Place place = Place::not_stated;
    double limit = 0;
    double weight = 0;
};

using Bodies = std::vector<std::int32_t>;

/// Casts one head's rays.
struct Caster {
    const std::vector<Direction>& table;
    const SightSettings& settings;
    const Bodies& own; ///< its body and those of its joint

    bool own_hides(const Solids& solids, const Ray& ray) const {
        for (const std::int32_t body : own)
            for (const std::int32_t i : solids.bodies[at(body)].placements)
                if (meets(solids, i, ray, near_eye_m))
                    return true;
        return false;
    }

    /// What counts, nothing else looked at yet.
    std::vector<Pair> pairs(const Solids& solids, const Head& head, std::size_t& rays) const {
        const auto points = points_on(facets_of(solids, head), head.axis, settings.points);
        std::vector<Pair> list;
        const auto count = static_cast<std::size_t>(settings.directions);
        for (std::size_t k = 0; k < points.size(); ++k) {
            Ray ray;
            ray.from = points[k].at + off_surface_m * points[k].normal;
            for (std::size_t i = k * count; i < (k + 1) * count; ++i) {
                ray.along = table[i].along;
                const double facing = glm::dot(points[k].normal, ray.along);
                if (!(facing > 0) || !(glm::dot(head.axis, ray.along) > 0))
                    continue;
                ++rays;
                if (own_hides(solids, ray))
                    continue;
                const auto direction = static_cast<std::int32_t>(i);
                const double weight = points[k].area * facing;
                const double limit = table[i].from == Place::under ? near_eye_m : far_eye_m;
                list.push_back({ray.from, direction, table[i].from, limit, weight});
                if (table[i].from == Place::over)
                    list.push_back({ray.from, direction, Place::inside, near_eye_m, weight});
            }
        }
        return list;
    }

    /// Adds the bodies along a pair, each once; only those that `looked_at` (by body; empty: all).
    void meet(const Solids& solids, const Pair& pair, const glm::dvec3& shift,
              const std::vector<std::uint8_t>& looked_at, Bodies& met) const {
        const Ray ray{pair.from + shift, table[at(pair.direction)].along};
        each_placement(solids, ray, pair.limit, [&](std::int32_t i) {
            const std::int32_t body = solids.placements[at(i)].body;
            if ((!looked_at.empty() && !looked_at[at(body)]) || std::find(own.begin(), own.end(), body) != own.end() ||
                std::find(met.begin(), met.end(), body) != met.end())
                return;
            if (meets(solids, i, ray, pair.limit))
                met.push_back(body);
        });
        std::sort(met.begin(), met.end());
    }
};

/// Pairs of one place and one set of bodies come together. `sets[i]`: the bodies along pairs[i].
HeadSights gather(const std::vector<Pair>& pairs, const std::vector<Bodies>& sets) {
    HeadSights result;
    const auto before = [](const auto& a, const auto& b) {
        return a.first != b.first ? a.first < b.first : *a.second < *b.second;
    };
    std::map<std::pair<Place, const Bodies*>, double, decltype(before)> gathered(before);
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        result.free[slot(pairs[i].place)] += pairs[i].weight;
        if (pairs[i].place != Place::inside)
            result.free[0] += pairs[i].weight;
        gathered[{pairs[i].place, &sets[i]}] += pairs[i].weight;
    }
    for (const auto& [key, weight] : gathered) {
        result.sights.push_back({key.first, weight, static_cast<std::uint32_t>(result.bodies.size()),
                                 static_cast<std::uint32_t>(key.second->size())});
        result.bodies.insert(result.bodies.end(), key.second->begin(), key.second->end());
    }
    return result;
}

/// By fastener: its own body and those of its joint.
std::vector<std::vector<std::int32_t>> own_bodies(const Solids& solids) {
    const Map& map = *solids.map;
    std::map<std::string, std::vector<std::int32_t>> joints;
    for (const Fastener& fastener : map.fasteners) {
        const std::int32_t body = solids.body_of[at(fastener.item.index)];
        if (!fastener.joint.empty() && body >= 0)
            joints[fastener.joint].push_back(body);
    }
    std::vector<std::vector<std::int32_t>> own;
    for (const Fastener& fastener : map.fasteners) {
        const std::int32_t body = solids.body_of[at(fastener.item.index)];
        if (!fastener.joint.empty())
            own.push_back(joints[fastener.joint]);
        else
            own.push_back(body < 0 ? std::vector<std::int32_t>{} : std::vector<std::int32_t>{body});
    }
    return own;
}

} // namespace

Sights measure_sights(const Solids& solids, std::span<const LoweredCase> lowered, const Effort& effort,
                      const SightSettings& settings) {
    Sights result;
    result.heads = heads_of(solids);
    const std::size_t heads = result.heads.size();
    std::vector<Solids> places;
    places.reserve(lowered.size());
    result.cases.emplace_back();
    for (const LoweredCase& one : lowered) {
        places.push_back(moved(solids, one.shift));
        result.cases.push_back({one.shift, {}});
    }
    for (SightCase& one : result.cases)
        one.heads.resize(heads);
    const std::vector<Direction> table = direction_table(settings);
    const auto own = own_bodies(solids);
    std::vector<std::size_t> rays(heads, 0);
    in_parallel(heads, effort, [&](std::size_t i) {
        const Head& head = result.heads[i];
        const Caster caster{table, settings, own[i]};
        const std::vector<Pair> pairs = caster.pairs(solids, head, rays[i]);
        std::vector<Bodies> sets(pairs.size());
        for (std::size_t k = 0; k < pairs.size(); ++k)
            caster.meet(solids, pairs[k], glm::dvec3(0.0), {}, sets[k]);
        rays[i] += pairs.size();
        result.cases[0].heads[i] = gather(pairs, sets);
        // Of a lowered case only what has moved relative to the head is looked at again.
        std::vector<std::uint8_t> moves(solids.bodies.size());
        for (std::size_t c = 1; c < result.cases.size() && !pairs.empty(); ++c) {
            const auto& shift = result.cases[c].shift;
            const glm::dvec3 with = shift_of(shift, head.body);
            for (std::size_t b = 0; b < moves.size(); ++b)
                moves[b] = same_shift(shift_of(shift, static_cast<std::int32_t>(b)), with) ? 0 : 1;
            std::vector<Bodies> now(pairs.size());
            for (std::size_t k = 0; k < pairs.size(); ++k) {
                std::copy_if(sets[k].begin(), sets[k].end(), std::back_inserter(now[k]),
                             [&](std::int32_t body) { return !moves[at(body)]; });
                caster.meet(places[c - 1], pairs[k], with, moves, now[k]);
            }
            rays[i] += pairs.size();
            result.cases[c].heads[i] = gather(pairs, now);
        }
    });
    for (const std::size_t count : rays)
        result.rays += count;
    return result;
}

} // namespace boltwalk
