#include "core/geometry/hidden.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/geometry/rays.hpp"

namespace boltwalk {

namespace {

/// Rays begin this far off the surface, metres, so that rounding (a third of a micrometre, 3 m from the origin) does
/// not let them begin below it. More: what touches the head begins to be overlooked.
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
    std::map<std::pair<Place, const Bodies*>, double,
             bool (*)(const std::pair<Place, const Bodies*>&, const std::pair<Place, const Bodies*>&)>
        gathered([](const auto& a, const auto& b) {
            return a.first != b.first ? a.first < b.first : *a.second < *b.second;
        });
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

const glm::dvec3 unmoved(0.0);

const glm::dvec3& shift_of(const std::vector<glm::dvec3>& shift, std::int32_t body) {
    return body >= 0 && at(body) < shift.size() ? shift[at(body)] : unmoved;
}

bool is_there(const Arrangement& arrangement, std::int32_t body) {
    return body >= 0 && (at(body) >= arrangement.there.size() || arrangement.there[at(body)]);
}

/// Shifts that differ by less than this are one, metres: rounding in their sums.
constexpr double one_shift_m = 1e-9;

bool same(const glm::dvec3& a, const glm::dvec3& b) {
    const glm::dvec3 d = glm::abs(a - b);
    return d.x <= one_shift_m && d.y <= one_shift_m && d.z <= one_shift_m;
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
            caster.meet(solids, pairs[k], unmoved, {}, sets[k]);
        rays[i] += pairs.size();
        result.cases[0].heads[i] = gather(pairs, sets);
        // Of a lowered case only what has moved relative to the head is looked at again.
        std::vector<std::uint8_t> moves(solids.bodies.size());
        for (std::size_t c = 1; c < result.cases.size() && !pairs.empty(); ++c) {
            const auto& shift = result.cases[c].shift;
            const glm::dvec3& with = shift_of(shift, head.body);
            for (std::size_t b = 0; b < moves.size(); ++b)
                moves[b] = same(shift_of(shift, static_cast<std::int32_t>(b)), with) ? 0 : 1;
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

namespace {

/// For one arrangement and head: the case that fits best, and who of the bodies stands there as that case has it.
class Fit {
public:
    Fit(const Sights& sights, const Arrangement& arrangement) : sights_(sights), arrangement_(arrangement) {
        for (const SightCase& one : sights.cases) {
            const std::size_t bodies = std::max(one.shift.size(), arrangement.shift.size());
            auto& differ = differ_.emplace_back();
            for (std::size_t b = 0; b < bodies; ++b) {
                const auto body = static_cast<std::int32_t>(b);
                if (!same(shift_of(one.shift, body), shift_of(arrangement.shift, body)))
                    differ.push_back(body);
            }
        }
    }

    void choose(std::int32_t own) {
        own_ = own;
        std::size_t least = 0;
        for (std::size_t c = 0; c < sights_.cases.size(); ++c) {
            const std::size_t count = differing(c);
            if (c == 0 || count < least) {
                least = count;
                case_ = c;
            }
        }
    }

    std::size_t chosen() const { return case_; }
    bool stands(std::int32_t body) const {
        return is_there(arrangement_, body) && (differ_[case_].empty() || alike(case_, body));
    }

private:
    bool alike(std::size_t c, std::int32_t body) const {
        const auto& shift = sights_.cases[c].shift;
        return same(shift_of(arrangement_.shift, body) - shift_of(arrangement_.shift, own_),
                    shift_of(shift, body) - shift_of(shift, own_));
    }
    std::size_t differing(std::size_t c) const {
        const auto& differ = differ_[c];
        const bool own_differs = std::binary_search(differ.begin(), differ.end(), own_);
        std::size_t count = 0;
        if (!own_differs) {
            for (const std::int32_t body : differ)
                count += is_there(arrangement_, body) ? 1U : 0U;
            return count;
        }
        const std::size_t bodies = std::max(sights_.cases[c].shift.size(), arrangement_.shift.size());
        for (std::size_t b = 0; b < bodies; ++b) {
            const auto body = static_cast<std::int32_t>(b);
            count += is_there(arrangement_, body) && !alike(c, body) ? 1U : 0U;
        }
        return count;
    }

    const Sights& sights_;
    const Arrangement& arrangement_;
    std::vector<std::vector<std::int32_t>> differ_; ///< by case: bodies shifted otherwise
    std::int32_t own_ = -1;
    std::size_t case_ = 0;
};

Seen seen_by(const Sights& sights, std::size_t fastener, const Arrangement& arrangement, Fit& fit) {
    Seen result;
    const Head& head = sights.heads[fastener];
    result.there = is_there(arrangement, head.body);
    fit.choose(head.body);
    const HeadSights& own = sights.cases[fit.chosen()].heads[fastener];
    if (!(own.free[0] > 0))
        return result;
    result.known = true;
    ByPlace hidden{};
    for (const Sight& sight : own.sights) {
        bool free = true;
        for (std::uint32_t i = sight.first; free && i < sight.first + sight.count; ++i)
            free = !fit.stands(own.bodies[i]);
        ByPlace& sum = free ? result.share : hidden;
        sum[slot(sight.from)] += sight.weight;
        if (sight.from != Place::inside)
            sum[0] += sight.weight;
    }
    for (std::size_t p = 0; p < result.share.size(); ++p) {
        result.facing[p] = own.free[p] / own.free[0];
        if (result.facing[p] < least_facing)
            result.facing[p] = result.share[p] = 0;
        else // exactly 0 and 1 where nothing and everything is seen, whatever rounding makes of the sums
            result.share[p] = hidden[p] > 0 ? result.share[p] / (result.share[p] + hidden[p]) : 1;
    }
    return result;
}

} // namespace

Seen seen(const Sights& sights, std::size_t fastener, const Arrangement& arrangement) {
    Fit fit(sights, arrangement);
    return seen_by(sights, fastener, arrangement, fit);
}

std::vector<Seen> seen(const Sights& sights, const Arrangement& arrangement) {
    Fit fit(sights, arrangement);
    std::vector<Seen> result;
    for (std::size_t i = 0; i < sights.heads.size(); ++i)
        result.push_back(seen_by(sights, i, arrangement, fit));
    return result;
}

Place best_place(const Seen& seen) {
    std::size_t best = 0;
    double most = -1;
    for (std::size_t p = 1; p < seen.share.size(); ++p)
        if (seen.share[p] * seen.facing[p] > most) {
            most = seen.share[p] * seen.facing[p];
            best = p;
        }
    return static_cast<Place>(best);
}

Place judged_from(const Seen& seen, Place stated) {
    return stated != Place::not_stated && seen.facing[slot(stated)] > 0 ? stated : best_place(seen);
}

bool is_hidden(const Seen& seen, Place stated) {
    return seen.known && seen.share[slot(judged_from(seen, stated))] < hidden_below;
}

std::vector<Hider> hiders(const Sights& sights, std::size_t fastener, const Arrangement& arrangement, Place place) {
    Fit fit(sights, arrangement);
    fit.choose(sights.heads[fastener].body);
    const HeadSights& own = sights.cases[fit.chosen()].heads[fastener];
    std::map<std::int32_t, Hider> by;
    std::vector<std::int32_t> standing;
    for (const Sight& sight : own.sights) {
        if (place == Place::not_stated ? sight.from == Place::inside : sight.from != place)
            continue;
        standing.clear();
        for (std::uint32_t i = sight.first; i < sight.first + sight.count; ++i)
            if (fit.stands(own.bodies[i]))
                standing.push_back(own.bodies[i]);
        for (const std::int32_t body : standing) {
            Hider& hider = by[body];
            hider.body = body;
            hider.share += sight.weight / static_cast<double>(standing.size());
            hider.alone += standing.size() == 1 ? sight.weight : 0;
        }
    }
    std::vector<Hider> list;
    for (auto& [body, hider] : by) {
        hider.share /= own.free[slot(place)];
        hider.alone /= own.free[slot(place)];
        list.push_back(hider);
    }
    std::stable_sort(list.begin(), list.end(), [](const Hider& a, const Hider& b) { return a.share > b.share; });
    return list;
}

std::vector<HiddenHead> hidden_in(const Sights& sights, const Solids& solids, std::span<const Arrangement> states,
                                  std::size_t now) {
    const Map& map = *solids.map;
    std::vector<HiddenHead> list;
    if (now >= states.size())
        return list;
    const auto stated = [&](std::size_t i) { return map[map.fasteners[i].item].from; };
    const std::vector<Seen> present = seen(sights, states[now]);
    for (std::size_t i = 0; i < present.size(); ++i) {
        const Seen& seen = present[i];
        if (!seen.there || !is_hidden(seen, stated(i)))
            continue;
        HiddenHead one;
        one.fastener = i;
        one.from = judged_from(seen, stated(i));
        one.share = seen.share[slot(one.from)];
        one.best = best_place(seen);
        one.best_share = seen.share[slot(one.best)];
        one.by = hiders(sights, i, states[now], one.from);
        one.view = static_cast<std::int32_t>(now);
        one.view_from = one.from;
        one.view_share = one.share;
        list.push_back(std::move(one));
    }
    for (std::size_t s = now + 1; s < states.size(); ++s) {
        Fit fit(sights, states[s]);
        for (HiddenHead& one : list) {
            if (one.into_view >= 0 || one.gone >= 0)
                continue;
            const Seen seen = seen_by(sights, one.fastener, states[s], fit);
            if (!seen.there) {
                one.gone = static_cast<std::int32_t>(s);
                continue;
            }
            const Place from = judged_from(seen, stated(one.fastener));
            const bool into_view = !is_hidden(seen, stated(one.fastener));
            if (into_view)
                one.into_view = static_cast<std::int32_t>(s);
            if (into_view || seen.share[slot(from)] > one.view_share) {
                one.view = static_cast<std::int32_t>(s);
                one.view_from = from;
                one.view_share = seen.share[slot(from)];
            }
        }
    }
    return list;
}

} // namespace boltwalk
