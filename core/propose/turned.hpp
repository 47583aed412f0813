// What of a shape repeats evenly round an axis: flats, cylinders, cones. For core/propose only.
#pragma once

#include <optional>
#include <vector>

#include <glm/glm.hpp>

#include "core/geometry/head.hpp"

namespace boltwalk {

/// Facets of one tilt at one distance from the axis, evenly spaced all the way round it.
struct Band {
    int sides = 0;
    double tilt = 0;             ///< of its normals along the axis, -1 to 1: 0 is a cylinder's
    double inner = 0, outer = 0; ///< metres from the axis: to the flat, to its corners
    double low = 0, high = 0;    ///< along the axis from the shape's centre
    double area = 0;
    bool inward = false; ///< it looks at the axis: a hole, a socket
    bool flats() const { return sides == 6 && tilt < 0.03 && tilt > -0.03 && outer < 1.3 * inner; }
    bool round() const { return sides >= 8; }
};

struct TurnedShape {
    glm::dvec3 axis{0, 1, 0}, centre{0.0};
    double low = 0, high = 0; ///< extents along the axis from `centre`
    double widest = 0;        ///< radius
    double odd_share = 0;     ///< of the lateral area: what neither repeats evenly nor is turned
    bool open = false;        ///< a line along the axis goes through
    std::vector<Band> bands;  ///< the largest first
};

/// The best axis of the shape; none where no axis has an even band and a fair share of it.
std::optional<TurnedShape> turned_shape(const std::vector<Facet>&);

/// No fastener has more triangles than this, a modelled thread included; larger shapes are not looked at.
constexpr std::size_t most_facets = 30000;

} // namespace boltwalk
