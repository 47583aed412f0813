// Lines through closed meshes, met so that what is entered is left again; core/geometry's own business.
//
// A line that runs along an edge must meet one of the two triangles there, not both and not none, or a plain box counts
// twice along its faces' diagonals: symmetric models have such lines as a rule. So a triangle is met by the sides of
// its edges on which the line passes, each side worked out alike from either end of the edge; a line on an edge counts
// as shifted by next to nothing (Edelsbrunner and Muecke, "Simulation of Simplicity", 1990).
#pragma once

#include <array>
#include <limits>
#include <optional>

#include "core/geometry/rays.hpp"

namespace boltwalk {

/// Where a line meets a triangle.
struct LineMet {
    std::array<double, 3> share; ///< of each corner in that place; they add up to 1
    int turn;                    ///< 1: the corners go counter-clockwise round the line, else -1
};

/// On which side of an edge the origin lies; 0 for an edge without length. `twice` is a.x * b.y - a.y * b.x, exactly
/// the other sign for the edge the other way round.
inline int side_of_edge(double twice, const glm::dvec2& a, const glm::dvec2& b) {
    if (twice != 0)
        return twice > 0 ? 1 : -1;
    if (a.y != b.y)
        return a.y > b.y ? 1 : -1;
    return a.x == b.x ? 0 : b.x > a.x ? 1 : -1;
}

/// The triangle as seen along the line, with the line at the origin.
inline std::optional<LineMet> met_by_line(const std::array<glm::dvec2, 3>& p) {
    const auto twice = [&](std::size_t i, std::size_t k) { return p[i].x * p[k].y - p[i].y * p[k].x; };
    const std::array<double, 3> area{twice(1, 2), twice(2, 0), twice(0, 1)};
    const int side = side_of_edge(area[0], p[1], p[2]);
    if (side == 0 || side != side_of_edge(area[1], p[2], p[0]) || side != side_of_edge(area[2], p[0], p[1]))
        return {};
    const double all = area[0] + area[1] + area[2];
    if (all == 0)
        return {};
    return LineMet{{area[0] / all, area[1] / all, area[2] / all}, side};
}

/// Calls see(distance, entering) for every triangle of a mesh placed by `world` that the ray meets, by its winding as
/// stored; distances in lengths of `along`.
template <typename See>
void each_crossing(const Tree& tree, const glm::dmat4& world, const glm::dvec3& from, const glm::dvec3& along,
                   See&& see) {
    const glm::dmat4 inverse = glm::inverse(world);
    const glm::vec3 direction(glm::dmat3(inverse) * along);
    const glm::vec3 inverse_direction = 1.0F / direction;
    const glm::vec3 origin(inverse * glm::dvec4(from, 1.0));
    // Across the ray, from the axis that it follows least; right-handed with it.
    const glm::dvec3 w(direction);
    const glm::dvec3 size = glm::abs(w);
    const glm::dvec3 least = size.x <= size.y && size.x <= size.z ? glm::dvec3(1, 0, 0)
                             : size.y <= size.z                   ? glm::dvec3(0, 1, 0)
                                                                  : glm::dvec3(0, 0, 1);
    const glm::dvec3 u = glm::cross(least, w);
    const glm::dvec3 v = glm::cross(w, u);
    const double square = glm::dot(w, w);
    constexpr float far = std::numeric_limits<float>::max();
    any_leaf(tree.boxes, slabs_of(origin, inverse_direction), far, [&](std::uint32_t first, std::uint32_t count) {
        for (std::uint32_t i = first; i < first + count; ++i) {
            const Tree::Corners t = tree.triangle(i);
            const std::array<glm::dvec3, 3> p{glm::dvec3(t.a) - glm::dvec3(origin),
                                              glm::dvec3(t.b) - glm::dvec3(origin),
                                              glm::dvec3(t.c) - glm::dvec3(origin)};
            const auto seen = [&](const glm::dvec3& q) { return glm::dvec2(glm::dot(q, u), glm::dot(q, v)); };
            const std::optional<LineMet> met = met_by_line({seen(p[0]), seen(p[1]), seen(p[2])});
            if (!met)
                continue;
            const auto& s = met->share;
            const double distance =
                (s[0] * glm::dot(p[0], w) + s[1] * glm::dot(p[1], w) + s[2] * glm::dot(p[2], w)) / square;
            if (distance >= 0)
                see(distance, met->turn < 0);
        }
        return false;
    });
}

} // namespace boltwalk
