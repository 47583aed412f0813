// Casting the rays of hidden.hpp: once a map, for no state in particular.
#include "core/geometry/hidden.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <span>
#include <tuple>
#include <utility>

#include "core/geometry/rays.hpp"
#include "core/geometry/shifts.hpp"

namespace boltwalk {

namespace {

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

/// By pair: the bodies along it, by index.
class Sets {
public:
    /// Pairs of a number below `count` and a body, each once.
    Sets(std::size_t count, std::span<const std::pair<std::uint32_t, std::int32_t>> met)
        : first_(count + 1, 0), bodies_(met.size()) {
        for (const auto& [pair, body] : met)
            ++first_[pair + 1];
        for (std::size_t k = 0; k < count; ++k)
            first_[k + 1] += first_[k];
        std::vector<std::uint32_t> next(first_.begin(), first_.end() - 1);
        for (const auto& [pair, body] : met)
            bodies_[next[pair]++] = body;
        for (std::size_t k = 0; k < count; ++k)
            std::sort(bodies_.begin() + first_[k], bodies_.begin() + first_[k + 1]);
    }
    std::span<const std::int32_t> of(std::size_t pair) const {
        return {bodies_.data() + first_[pair], first_[pair + 1] - first_[pair]};
    }

private:
    std::vector<std::uint32_t> first_;
    Bodies bodies_;
};

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

    /// Of every pair the bodies along it, each once; only those that `looked_at` (by body; empty: all).
    ///
    /// First which boxes each ray touches, then box by box all rays that touch it, so that one mesh's tree is walked
    /// while it is at hand. A pair from inside goes along the ray before it and sees part of what that one meets.
    Sets meet(const Solids& solids, const std::vector<Pair>& pairs, const glm::dvec3& shift,
              const std::vector<std::uint8_t>& looked_at) const {
        struct Touch {
            std::int32_t body, placement;
            std::uint32_t pair;
        };
        static thread_local std::vector<Touch> touched;
        touched.clear();
        const auto ray_of = [&](const Pair& pair) { return Ray{pair.from + shift, table[at(pair.direction)].along}; };
        for (std::size_t k = 0; k < pairs.size(); ++k) {
            if (pairs[k].place == Place::inside)
                continue;
            each_placement(solids, ray_of(pairs[k]), pairs[k].limit, [&](std::int32_t i) {
                const std::int32_t body = solids.placements[at(i)].body;
                if ((looked_at.empty() || looked_at[at(body)]) && std::find(own.begin(), own.end(), body) == own.end())
                    touched.push_back({body, i, static_cast<std::uint32_t>(k)});
            });
        }
        std::sort(touched.begin(), touched.end(), [](const Touch& a, const Touch& b) {
            return std::tie(a.body, a.placement, a.pair) < std::tie(b.body, b.placement, b.pair);
        });
        std::vector<std::pair<std::uint32_t, std::int32_t>> met;
        std::vector<std::int32_t> last(pairs.size(), -1); // the body that a pair met last
        const auto meet_one = [&](const Touch& touch, std::size_t k) {
            const Ray ray = ray_of(pairs[k]);
            if (last[k] != touch.body && meets(solids, touch.placement, ray, pairs[k].limit)) {
                last[k] = touch.body;
                met.emplace_back(static_cast<std::uint32_t>(k), touch.body);
            }
            return last[k] == touch.body;
        };
        for (const Touch& touch : touched)
            if (meet_one(touch, touch.pair) && touch.pair + 1 < pairs.size() &&
                pairs[touch.pair + 1].place == Place::inside)
                meet_one(touch, touch.pair + 1);
        return Sets(pairs.size(), met);
    }
};

/// Pairs of one place and one set of bodies come together.
HeadSights gather(const std::vector<Pair>& pairs, const Sets& sets) {
    HeadSights result;
    std::vector<std::uint32_t> order(pairs.size());
    std::iota(order.begin(), order.end(), 0U);
    const auto before = [&](std::uint32_t a, std::uint32_t b) {
        if (pairs[a].place != pairs[b].place)
            return pairs[a].place < pairs[b].place;
        const auto of_a = sets.of(a);
        const auto of_b = sets.of(b);
        return std::lexicographical_compare(of_a.begin(), of_a.end(), of_b.begin(), of_b.end());
    };
    // Stable: weights add up in the order of the pairs.
    std::stable_sort(order.begin(), order.end(), before);
    for (const Pair& pair : pairs) {
        result.free[at(pair.place)] += pair.weight;
        if (pair.place != Place::inside)
            result.free[0] += pair.weight;
    }
    for (std::size_t i = 0; i < order.size(); ++i) {
        const auto set = sets.of(order[i]);
        if (i == 0 || before(order[i - 1], order[i])) {
            result.sights.push_back({pairs[order[i]].place, 0, static_cast<std::uint32_t>(result.bodies.size()),
                                     static_cast<std::uint32_t>(set.size())});
            result.bodies.insert(result.bodies.end(), set.begin(), set.end());
        }
        result.sights.back().weight += pairs[order[i]].weight;
    }
    result.sights.shrink_to_fit();
    result.bodies.shrink_to_fit();
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
        const Sets sets = caster.meet(solids, pairs, glm::dvec3(0.0), {});
        rays[i] += pairs.size();
        result.cases[0].heads[i] = gather(pairs, sets);
        // Of a lowered case only what has moved relative to the head is looked at again.
        std::vector<std::uint8_t> moves(solids.bodies.size());
        for (std::size_t c = 1; c < result.cases.size() && !pairs.empty(); ++c) {
            const auto& shift = result.cases[c].shift;
            const glm::dvec3 with = shift_of(shift, head.body);
            for (std::size_t b = 0; b < moves.size(); ++b)
                moves[b] = same_shift(shift_of(shift, static_cast<std::int32_t>(b)), with) ? 0 : 1;
            const Sets again = caster.meet(places[c - 1], pairs, with, moves);
            std::vector<std::pair<std::uint32_t, std::int32_t>> now;
            for (std::uint32_t k = 0; k < pairs.size(); ++k) {
                for (const std::int32_t body : sets.of(k))
                    if (!moves[at(body)])
                        now.emplace_back(k, body);
                for (const std::int32_t body : again.of(k))
                    now.emplace_back(k, body);
            }
            rays[i] += pairs.size();
            result.cases[c].heads[i] = gather(pairs, Sets(pairs.size(), now));
        }
    });
    for (const std::size_t count : rays)
        result.rays += count;
    return result;
}

} // namespace boltwalk
