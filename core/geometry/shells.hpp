// What the closed shells of one body share; core/geometry's own business.
#pragma once

#include "core/geometry/solids.hpp"

namespace boltwalk {

/// Along lines through a body, three ways: how much of it they go through, and how much of that more than once. The two
/// are good as a ratio, and the moment over `twice` as a centre.
struct Shared {
    double met = 0;   ///< m3, what lies in two shells counted twice
    double twice = 0; ///< m3
    glm::dvec3 twice_moment{0.0};
};

/// Of closed meshes wound outwards; lines that do not leave what they have entered are left out.
Shared shared_by_shells(const Solids&, const Body&);

} // namespace boltwalk
