// Closed shells of triangles, wound outwards, in millimetres. For core/block only.
//
// Every corner lies on one grid, so that what two faces share is the same point in both.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include <glm/glm.hpp>

#include "core/block/triangulate.hpp"

namespace boltwalk::recipe {

/// Steps a millimetre. Two to the 25th of them are 32 metres: no shape is larger than 20.
inline constexpr double grid_per_mm = 1024;
inline constexpr double largest_mm = 20'000;
/// Nothing thinner is drawn.
inline constexpr double least_mm = 0.05;

glm::dvec3 snapped(const glm::dvec3&);

using Ring = std::vector<glm::dvec2>; ///< counter-clockwise
using Hoop = std::vector<glm::dvec3>; ///< a ring in space
struct Shell {
    std::vector<std::array<glm::dvec3, 3>> triangles;

    void add(const glm::dvec3& a, const glm::dvec3& b, const glm::dvec3& c); ///< none without area
    void quad(const glm::dvec3& a, const glm::dvec3& b, const glm::dvec3& c, const glm::dvec3& d);
    /// From hoop to hoop of equal count, counter-clockwise about the way from the first to the last; left open.
    void loft(const std::vector<Hoop>&);
    /// A fan about the middle, seen counter-clockwise.
    void cap(const Hoop&);
    void append(const Shell&, const glm::dmat3& turned, const glm::dvec3& moved);
};

/// Sides of a circle where the recipe does not say: a multiple of four, so that its extents are true.
int sides_of(double diameter_mm);
/// Corners on the circle, or, where it is hollow, the middles of its sides on it.
Ring circle(double radius_mm, int sides, bool hollow);
GridRing on_grid(const Ring&);

/// A plane with its outward normal: u x v = normal.
struct Plane {
    glm::dvec3 origin, u, v, normal;
    glm::dvec3 at(const glm::dvec2& p, double below = 0) const { return origin + u * p.x + v * p.y - normal * below; }
};
/// A flat face with holes; false when its rings meet.
[[nodiscard]] bool add_face(Shell&, const Plane&, const Ring& outline, const std::vector<Ring>& holes);

/// A loop of (radius, height), counter-clockwise with the radius to the right, turned about +Y.
Shell turned(const Ring& loop, int sides);

struct Bend {
    std::vector<glm::dvec3> through;
    double bend_mm = 0;                ///< radius of the middle line
    double outer_mm = 0, inner_mm = 0; ///< radii; inner 0: solid
    int sides = 16;
};
/// Why not, or the pipe. Its length along the middle is given back too.
struct Piped {
    Shell shell;
    double length_mm = 0;
    std::size_t wrong_at = 0; ///< the point with no room for its bend, counted from 1; 0: none
};
Piped piped(const Bend&);

} // namespace boltwalk::recipe
