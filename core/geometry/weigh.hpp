// What one mesh encloses; core/geometry's own business.
#pragma once

#include <glm/glm.hpp>

#include "core/map/map.hpp"

namespace boltwalk {

/// Sums over the triangles of a mesh, in its own axes.
struct Enclosed {
    double volume = 0;      ///< signed: negative where the triangles are turned inside out
    glm::dvec3 moment{0.0}; ///< volume times centre
    double area = 0;
    glm::dvec3 area_moment{0.0}; ///< area times centre of the surface
    bool closed = false;         ///< every edge is met once each way
    bool paired = false; ///< every edge is met an even number of times: no hole, but some triangles may be flipped
};

Enclosed enclosed_by(const Mesh&);

} // namespace boltwalk
