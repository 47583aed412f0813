// Loads, and what would tip or drop about what holds it.
#include "core/geometry/balance.hpp"

#include <algorithm>
#include <cmath>

namespace boltwalk {

namespace {

constexpr double gravity_m_s2 = 9.80665; // standard gravity (3rd CGPM, 1901)

/// Points nearer to each other than this, seen from above, are one: the lengths of one bolt's head.
constexpr double one_place_m = 0.005;

/// Seen from above: x is the vehicle's left, y its front.
glm::dvec2 from_above(const glm::dvec3& p) {
    return {p.x, p.z};
}

glm::dvec3 level(const glm::dvec2& p) {
    return {p.x, 0, p.y};
}

double cross(const glm::dvec2& a, const glm::dvec2& b) {
    return a.x * b.y - a.y * b.x;
}

/// The hull of points, by index, counter-clockwise (Andrew, "Another efficient algorithm for convex hulls in two
/// dimensions", 1979). Points in one place are one; what lies on a line gives two.
std::vector<std::size_t> hull_of(const std::vector<glm::dvec2>& points) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < points.size(); ++i)
        order.push_back(i);
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        if (points[a].x != points[b].x)
            return points[a].x < points[b].x;
        return points[a].y != points[b].y ? points[a].y < points[b].y : a < b;
    });
    std::vector<std::size_t> hull;
    const auto half = [&](auto begin, auto end) {
        const std::size_t base = hull.size();
        for (auto it = begin; it != end; ++it) {
            while (hull.size() >= base + 2 && cross(points[hull[hull.size() - 1]] - points[hull[hull.size() - 2]],
                                                    points[*it] - points[hull[hull.size() - 2]]) <= 0)
                hull.pop_back();
            hull.push_back(*it);
        }
        hull.pop_back();
    };
    half(order.begin(), order.end());
    half(order.rbegin(), order.rend());
    if (hull.empty() && !order.empty())
        hull.push_back(order.front());
    if (hull.size() == 2 && points[hull[0]] == points[hull[1]])
        hull.pop_back();
    return hull;
}

struct Nearest {
    double past = 0;              ///< positive outside
    std::size_t from = 0, to = 0; ///< the edge that is nearest
    glm::dvec2 towards{0.0};      ///< of length 1, from the edge to the centre; 0 where it is on it
};

glm::dvec2 unit(const glm::dvec2& v) {
    const double length = glm::length(v);
    return length > 0 ? v / length : glm::dvec2(0.0);
}

/// Where the centre is beside the hull.
Nearest nearest_edge(const std::vector<glm::dvec2>& points, const std::vector<std::size_t>& hull,
                     const glm::dvec2& centre) {
    Nearest best;
    best.past = -1e30;
    double nearest_outside = 1e30;
    for (std::size_t i = 0; i < hull.size(); ++i) {
        const std::size_t a = hull[i];
        const std::size_t b = hull[(i + 1) % hull.size()];
        const glm::dvec2 along = points[b] - points[a];
        const double length = glm::length(along);
        const glm::dvec2 outward = length > 0 ? glm::dvec2(along.y, -along.x) / length : glm::dvec2(0.0);
        const double share =
            length > 0 ? std::clamp(glm::dot(centre - points[a], along) / (length * length), 0.0, 1.0) : 0.0;
        const glm::dvec2 off = centre - (points[a] + share * along);
        const double side = glm::dot(centre - points[a], outward);
        if (hull.size() <= 2 || side > 0) {
            if (glm::length(off) < nearest_outside) {
                nearest_outside = glm::length(off);
                // Past the end of a line of bolts it would tip about the last of them alone.
                const std::size_t pivot = share > 0 ? b : a;
                const bool past_end = hull.size() <= 2 && (share == 0.0 || share == 1.0);
                best = {nearest_outside, past_end ? pivot : a, past_end ? pivot : b, unit(off)};
            }
        } else if (nearest_outside == 1e30 && side > best.past) {
            best = {side, a, b, outward};
        }
    }
    return best;
}

Balanced judge(std::span<const glm::dvec3> held_at, const glm::dvec3& centre, double mass_kg) {
    Balanced result;
    if (held_at.empty())
        return result;
    std::vector<glm::dvec2> points;
    std::vector<std::size_t> source;
    for (std::size_t i = 0; i < held_at.size(); ++i) {
        const glm::dvec2 p = from_above(held_at[i]);
        if (std::any_of(points.begin(), points.end(),
                        [&](const glm::dvec2& q) { return glm::length(p - q) < one_place_m; }))
            continue;
        points.push_back(p);
        source.push_back(i);
    }
    const std::vector<std::size_t> hull = hull_of(points);
    const Nearest near = nearest_edge(points, hull, from_above(centre));
    result.past_m = near.past;
    result.towards = level(near.towards);
    result.line_from = held_at[source[near.from]];
    result.line_to = held_at[source[near.to]];
    if (near.past > poise_margin_m) {
        result.moment_nm = mass_kg * gravity_m_s2 * near.past;
        result.poise = hull.size() == 1 ? Poise::turns : Poise::beside;
    } else if (near.past < -poise_margin_m || hull.size() <= 2) {
        result.poise = Poise::between; // below a point or a line of bolts it hangs plumb
    } else {
        result.poise = Poise::close;
    }
    return result;
}

} // namespace

Load load_of(const Masses& masses, std::span<const std::int32_t> bodies, std::span<const glm::dvec3> shift) {
    Load load;
    glm::dvec3 known(0.0);
    glm::dvec3 steel(0.0);
    for (const std::int32_t b : bodies) {
        const BodyMass& body = masses.bodies[at(b)];
        const glm::dvec3 centre = body.centre + (at(b) < shift.size() ? shift[at(b)] : glm::dvec3(0.0));
        if (body.mass_kg) {
            load.mass_kg += *body.mass_kg;
            if (body.mass_from != MassFrom::stated)
                load.estimated_kg += *body.mass_kg;
            known += *body.mass_kg * centre;
        } else {
            // What has no volume either weighs as much as nothing can be said about: it only shows in `without`.
            const double as_steel = steel_kg_m3 * body.volume_m3;
            load.without.push_back(b);
            load.without_as_steel_kg += as_steel;
            steel += as_steel * centre;
        }
    }
    const double all = load.mass_kg + load.without_as_steel_kg;
    if (all > 0) {
        load.has_centre = true;
        load.centre_as_steel = (known + steel) / all;
        load.centre = load.mass_kg > 0 ? known / load.mass_kg : load.centre_as_steel;
    } else if (!bodies.empty()) {
        for (const std::int32_t b : bodies)
            load.centre += masses.bodies[at(b)].centre + (at(b) < shift.size() ? shift[at(b)] : glm::dvec3(0.0));
        load.centre /= static_cast<double>(bodies.size());
        load.centre_as_steel = load.centre;
        load.has_centre = true;
    }
    return load;
}

Balanced balance_on(std::span<const glm::dvec3> held_at, const Load& load) {
    Balanced by_known = judge(held_at, load.centre, load.mass_kg);
    if (load.without.empty() || held_at.empty())
        return by_known;
    const Balanced by_all = judge(held_at, load.centre_as_steel, load.mass_kg);
    // To different sides is as much a difference as another verdict.
    if (by_all.poise != by_known.poise ||
        (by_known.poise == Poise::beside && glm::dot(by_all.towards, by_known.towards) <= 0)) {
        by_known.masses_decide = by_known.poise != Poise::close && by_all.poise != Poise::close;
        by_known.poise = Poise::close;
    }
    return by_known;
}

std::string side_of(const glm::dvec3& direction) {
    const double ahead = std::abs(direction.z);
    const double aside = std::abs(direction.x);
    if (!(ahead > 0 || aside > 0))
        return "";
    const char* const along = direction.z > 0 ? "front" : "rear";
    const char* const across = direction.x > 0 ? "left" : "right";
    if (ahead > 2 * aside)
        return along;
    if (aside > 2 * ahead)
        return across;
    return std::string(along) + " " + across;
}

} // namespace boltwalk
