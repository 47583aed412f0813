// What lies about a fastener: what its face bears on, what its shank passes, what shares its axis.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "core/geometry/about_axis.hpp"
#include "core/propose/heads.hpp"

namespace boltwalk {

namespace {

/// Shank and hole: the widest hole of ISO 273's coarse series is 1.2 times its thread; beyond this factor (and room for
/// small ones, metres) a wall is no hole of this bolt.
constexpr double hole_share = 1.3, hole_room = 0.0004;
/// Axes this share of a radius apart, and this parallel, are one.
constexpr double off_axis = 0.25, parallel = 0.999;
/// A nut or washer on a stud of the part itself: how far behind its face parts are looked for, in diameters.
constexpr double behind_nut = 2.5;

/// Points on a circle without a sine: Pythagorean triples, both ways round.
constexpr std::array<std::array<double, 2>, 16> ring{{{1, 0},
                                                      {12.0 / 13, 5.0 / 13},
                                                      {0.8, 0.6},
                                                      {0.6, 0.8},
                                                      {0, 1},
                                                      {-5.0 / 13, 12.0 / 13},
                                                      {-0.6, 0.8},
                                                      {-0.8, 0.6},
                                                      {-1, 0},
                                                      {-12.0 / 13, -5.0 / 13},
                                                      {-0.8, -0.6},
                                                      {-0.6, -0.8},
                                                      {0, -1},
                                                      {5.0 / 13, -12.0 / 13},
                                                      {0.6, -0.8},
                                                      {0.8, -0.6}}};

glm::dvec3 on_axis(const LikelyFastener& found, double along) {
    return found.shape.centre + along * found.shape.axis;
}

/// The body that most of a ring of rays out of `height` meets within `limit`, and by how many.
struct Bearing {
    std::int32_t body = -1;
    int rays = 0;
};

Bearing bears_on(const Solids& solids, const LikelyFastener& found, double height, double inner, double outer,
                 bool down) {
    const Across a = across_of(found.shape.axis);
    const glm::dvec3 along = down ? -found.shape.axis : found.shape.axis;
    // From a little within, so that a face drawn into the other is met, too.
    const double back = std::min(0.25 * (found.top - found.base), 0.001);
    std::vector<std::int32_t> met;
    std::vector<RayHit> hits;
    for (const double share : {0.35, 0.75}) {
        const double radius = inner + share * (outer - inner);
        for (const auto& [x, y] : ring) {
            const glm::dvec3 from = on_axis(found, height) + radius * (x * a.u + y * a.v) - back * along;
            all_hits(solids, {from, along}, back + touching_m, hits);
            const RayHit* nearest = nullptr;
            for (const RayHit& hit : hits)
                if (hit.body != found.body && (!nearest || hit.distance < nearest->distance ||
                                               (hit.distance == nearest->distance && hit.body < nearest->body)))
                    nearest = &hit;
            if (nearest)
                met.push_back(nearest->body);
        }
    }
    std::sort(met.begin(), met.end());
    Bearing best;
    for (std::size_t first = 0; first < met.size();) {
        const auto end = static_cast<std::size_t>(
            std::upper_bound(met.begin() + static_cast<std::ptrdiff_t>(first), met.end(), met[first]) - met.begin());
        if (static_cast<int>(end - first) > best.rays)
            best = {met[first], static_cast<int>(end - first)};
        first = end;
    }
    return best;
}

/// How a body lies round a stretch of an axis.
struct Passed {
    std::int32_t body = -1;
    double nearest = 1e9, high = -1e9;
    int quarters = 0;
    bool crossed = false;
    bool holds() const { return crossed || quarters >= 3; }
};

/// The bodies whose walls go round the stretch from `low` to `high` within `radius`, the highest first.
std::vector<Passed> passed_by(const Solids& solids, const LikelyFastener& found, double low, double high,
                              double radius) {
    const Across a = across_of(found.shape.axis);
    Bounds box;
    for (const double h : {low, high})
        for (const double x : {-radius, radius})
            for (const double y : {-radius, radius})
                box.add(on_axis(found, h) + x * a.u + y * a.v);
    std::vector<Passed> list;
    std::vector<std::uint8_t> quarters;
    each_triangle(solids, box, [&](const Triangle& t) {
        if (t.body == found.body)
            return;
        // In the axis's own frame, cut off at both ends.
        std::vector<glm::dvec3> shape;
        for (const glm::dvec3& p : {t.a, t.b, t.c}) {
            const glm::dvec3 d = p - found.shape.centre;
            shape.emplace_back(glm::dot(d, a.u), glm::dot(d, a.v), glm::dot(d, found.shape.axis));
        }
        for (const double sign : {1.0, -1.0}) {
            const double limit = sign > 0 ? low : -high;
            std::vector<glm::dvec3> kept;
            for (std::size_t i = 0; i < shape.size(); ++i) {
                const glm::dvec3& p = shape[i];
                const glm::dvec3& q = shape[(i + 1) % shape.size()];
                const double hp = sign * p.z - limit;
                const double hq = sign * q.z - limit;
                if (hp >= 0)
                    kept.push_back(p);
                if ((hp > 0 && hq < 0) || (hp < 0 && hq > 0))
                    kept.push_back(p + (q - p) * (hp / (hp - hq)));
            }
            shape = std::move(kept);
        }
        if (shape.empty())
            return;
        double nearest = 1e9;
        int left = 0;
        int right = 0;
        glm::dvec2 closest(0.0);
        for (std::size_t i = 0; i < shape.size(); ++i) {
            const glm::dvec2 p(shape[i]);
            const glm::dvec2 q(shape[(i + 1) % shape.size()]);
            const glm::dvec2 d = q - p;
            const double length = glm::dot(d, d);
            const double share = length > 0 ? std::clamp(-glm::dot(p, d) / length, 0.0, 1.0) : 0.0;
            const glm::dvec2 point = p + share * d;
            if (glm::length(point) < nearest) {
                nearest = glm::length(point);
                closest = point;
            }
            const double turn = p.x * q.y - p.y * q.x;
            left += turn > 0 ? 1 : 0;
            right += turn < 0 ? 1 : 0;
        }
        const bool crossed = shape.size() > 2 && (left == 0) != (right == 0);
        if (!crossed && nearest > radius)
            return;
        auto it = std::find_if(list.begin(), list.end(), [&](const Passed& p) { return p.body == t.body; });
        if (it == list.end()) {
            list.emplace_back().body = t.body;
            quarters.push_back(0);
            it = list.end() - 1;
        }
        it->crossed = it->crossed || crossed;
        it->nearest = std::min(it->nearest, nearest);
        auto& mask = quarters[static_cast<std::size_t>(it - list.begin())];
        mask = static_cast<std::uint8_t>(mask | (1U << ((closest.x > 0 ? 1U : 0U) + (closest.y > 0 ? 2U : 0U))));
        for (const glm::dvec3& p : shape)
            it->high = std::max(it->high, p.z);
    });
    for (std::size_t i = 0; i < list.size(); ++i)
        for (unsigned int k = 0; k < 4; ++k)
            list[i].quarters += (quarters[i] >> k) & 1;
    std::erase_if(list, [](const Passed& p) { return !p.holds(); });
    std::stable_sort(list.begin(), list.end(), [](const Passed& p, const Passed& q) {
        return std::abs(p.high - q.high) > 1e-5 ? p.high > q.high : p.body < q.body;
    });
    return list;
}

void turn_over(LikelyFastener& found) {
    found.shape.axis = -found.shape.axis;
    std::swap(found.base, found.top);
    found.base = -found.base;
    found.top = -found.top;
    found.tip = found.base;
    found.proposal.axis = found.shape.axis;
    found.proposal.base = on_axis(found, found.base);
}

bool in_line(const LikelyFastener& a, const LikelyFastener& b) {
    if (std::abs(glm::dot(a.shape.axis, b.shape.axis)) < parallel)
        return false;
    const glm::dvec3 d = b.shape.centre - a.shape.centre;
    const glm::dvec3 off = d - glm::dot(d, a.shape.axis) * a.shape.axis;
    return glm::length(off) < off_axis * std::min(a.shank > 0 ? a.shank : a.head, b.shank > 0 ? b.shank : b.head);
}

/// b's extent along a's axis.
std::pair<double, double> extent(const LikelyFastener& a, const LikelyFastener& b) {
    const double middle = glm::dot(b.shape.centre - a.shape.centre, a.shape.axis);
    const double same = glm::dot(a.shape.axis, b.shape.axis) > 0 ? 1 : -1;
    const double p = middle + same * b.shape.low;
    const double q = middle + same * b.shape.high;
    return {std::min(p, q), std::max(p, q)};
}

/// Whether b sits on a's shank, or lies against it: a stack.
bool in_stack(const LikelyFastener& a, const LikelyFastener& b) {
    if (!in_line(a, b))
        return false;
    const auto [low, high] = extent(a, b);
    const double room = 2 * std::max(a.shank, b.shank);
    return high > std::min(a.tip, a.base) - room && low < a.top + 0.5 * room;
}

} // namespace

void ask_neighbours(const Solids& solids, std::vector<LikelyFastener>& list) {
    std::vector<std::int32_t> found_of(solids.bodies.size(), -1);
    for (std::size_t i = 0; i < list.size(); ++i)
        found_of[at(list[i].body)] = static_cast<std::int32_t>(i);
    // Which lie on one axis: only neighbours by the tree are asked.
    std::vector<std::vector<std::size_t>> stack(list.size());
    for (std::size_t i = 0; i < list.size(); ++i) {
        Bounds near = solids.bodies[at(list[i].body)].bounds;
        near.low -= glm::dvec3(3 * list[i].head);
        near.high += glm::dvec3(3 * list[i].head);
        const auto placements = placements_where(solids, [&](const auto& node) {
            return glm::all(glm::lessThanEqual(glm::dvec3(node.low), near.high)) &&
                   glm::all(glm::greaterThanEqual(glm::dvec3(node.high), near.low));
        });
        for (const std::int32_t p : placements) {
            const std::int32_t j = found_of[at(solids.placements[at(p)].body)];
            if (j >= 0 && at(j) != i && (in_stack(list[i], list[at(j)]) || in_stack(list[at(j)], list[i])))
                stack[i].push_back(at(j));
        }
        std::sort(stack[i].begin(), stack[i].end());
        stack[i].erase(std::unique(stack[i].begin(), stack[i].end()), stack[i].end());
    }
    const auto is_turned = [](const LikelyFastener& f) {
        return f.form == HeadForm::headed || f.form == HeadForm::nut;
    };
    std::vector<std::uint8_t> kept(list.size());
    const auto any_beside = [&](std::size_t i, const auto& wanted) {
        return std::any_of(stack[i].begin(), stack[i].end(), [&](std::size_t j) { return wanted(j, list[j]); });
    };
    // A rod fills a nut: a stud. A ring is a washer where such a shank goes through it, and it is no wider than
    // washers.
    for (std::size_t i = 0; i < list.size(); ++i) {
        const LikelyFastener& f = list[i];
        kept[i] = f.form == HeadForm::rod
                      ? any_beside(i,
                                   [&](std::size_t, const LikelyFastener& other) {
                                       const auto [low, high] = extent(other, f);
                                       const double inside = std::min(high, other.top) - std::max(low, other.base);
                                       return other.form == HeadForm::nut && f.shank > 0.75 * other.shank &&
                                              f.shank < 1.1 * other.shank && inside > 0.5 * (other.top - other.base);
                                   })
                      : is_turned(f) || f.form == HeadForm::pushed;
    }
    for (std::size_t i = 0; i < list.size(); ++i) {
        const LikelyFastener& f = list[i];
        if (f.form == HeadForm::ring)
            kept[i] = any_beside(i, [&](std::size_t j, const LikelyFastener& other) {
                const bool fits = other.shank > 0 && f.shank > 0.9 * other.shank && f.shank < 1.6 * other.shank;
                const auto [low, high] = extent(other, f);
                const double room = 6 * other.shank;
                return (is_turned(other) || (other.form == HeadForm::rod && kept[j] != 0)) && fits &&
                       high > std::min(other.tip, other.base - room) && low < other.top + 1e-4 &&
                       f.head < 3.2 * other.shank;
            });
    }
    const auto is_proposed = [&](std::int32_t body) {
        const std::int32_t f = found_of[at(body)];
        return f >= 0 && kept[at(f)] != 0;
    };
    const auto node_of = [&](std::int32_t body) {
        const Body& b = solids.bodies[at(body)];
        return b.item ? (*solids.map)[b.item].node : b.node;
    };
    const auto is_fastener = [&](std::int32_t body) {
        const Body& b = solids.bodies[at(body)];
        return is_proposed(body) || (b.item && !solids.map->is_part(b.item));
    };
    for (std::size_t i = 0; i < list.size(); ++i) {
        if (!kept[i])
            continue;
        LikelyFastener& f = list[i];
        Proposal& p = f.proposal;
        const double inner =
            f.form == HeadForm::nut || f.form == HeadForm::ring ? f.shank : std::min(f.shank, 0.9 * f.head);
        const double outer = p.flats_mm > 0 && f.head > 0 && p.head != "cap" && p.head != "button"
                                 ? std::max(0.5e-3 * p.flats_mm, inner)
                                 : f.head;
        Bearing bearing = bears_on(solids, f, f.base, inner, outer, true);
        if (!f.way_known) {
            const Bearing other = bears_on(solids, f, f.top, inner, outer, false);
            if (other.rays > bearing.rays) {
                turn_over(f);
                bearing = other;
            }
        }
        if (bearing.rays >= 4)
            p.rests_on = node_of(bearing.body);
        const double radius = std::max(f.shank, 1e-4) * hole_share + hole_room;
        double low = f.tip;
        if (f.form == HeadForm::nut || f.form == HeadForm::ring)
            low = f.base - behind_nut * 2 * f.shank;
        else if (f.shank <= 0)
            low = f.base - 0.5 * (f.top - f.base);
        for (const std::size_t j : stack[i]) // a bolt ends in its nut, a nut's reach at its bolt's head
            if (kept[j] && f.form == HeadForm::nut && list[j].form == HeadForm::headed) {
                const double end = extent(f, list[j]).first;
                low = std::min(f.base - 1e-4, std::max(end, f.base - 60 * f.shank));
            }
        const double high = p.head == "countersunk" ? f.top : f.base + 1e-5;
        if (f.form != HeadForm::ring)
            for (const Passed& one : passed_by(solids, f, low, high, radius))
                if (!is_fastener(one.body) && p.holds.size() < 6)
                    p.holds.push_back(node_of(one.body));
        if (bearing.rays >= 4 && !is_fastener(bearing.body) &&
            std::find(p.holds.begin(), p.holds.end(), p.rests_on) == p.holds.end())
            p.holds.insert(p.holds.begin(), p.rests_on);
        if (f.form == HeadForm::pushed && p.holds.size() < 2)
            kept[i] = 0; // a knob, a valve, a dowel: nothing says that it holds
    }
    // One stack is whatever lies in line from one to the next, each once and in file order.
    std::vector<std::vector<std::size_t>> whole(list.size());
    std::vector<std::uint8_t> seen(list.size());
    for (std::size_t i = 0; i < list.size(); ++i) {
        if (!kept[i] || seen[i] != 0)
            continue;
        std::vector<std::size_t> members{i};
        seen[i] = 1;
        for (std::size_t k = 0; k < members.size(); ++k)
            for (const std::size_t j : stack[members[k]])
                if (kept[j] && seen[j] == 0) {
                    seen[j] = 1;
                    members.push_back(j);
                }
        std::sort(members.begin(), members.end());
        for (const std::size_t j : members)
            whole[j] = members;
    }
    stack = std::move(whole);
    // What goes over a bolt holds what the bolt holds.
    for (std::size_t i = 0; i < list.size(); ++i)
        for (const std::size_t j : stack[i])
            if (list[j].form == HeadForm::headed && (list[i].form == HeadForm::nut || list[i].form == HeadForm::ring) &&
                list[j].proposal.holds.size() > list[i].proposal.holds.size())
                list[i].proposal.holds = list[j].proposal.holds;
    // What is left, with the stack's indices as they are then.
    std::vector<std::int32_t> place(list.size(), -1);
    std::int32_t next = 0;
    for (std::size_t i = 0; i < list.size(); ++i)
        if (kept[i])
            place[i] = next++;
    for (std::size_t i = 0; i < list.size(); ++i)
        for (const std::size_t j : stack[i])
            if (j != i && place[j] >= 0)
                list[i].proposal.stacked.push_back(place[j]);
    std::vector<LikelyFastener> left;
    for (std::size_t i = 0; i < list.size(); ++i)
        if (kept[i])
            left.push_back(std::move(list[i]));
    list = std::move(left);
}

} // namespace boltwalk
