// About an axis: what is square to it, and the order in which directions go round it.
#pragma once

#include <cmath>

#include <glm/glm.hpp>

namespace boltwalk {

/// Two directions square to an axis and to each other; all of them units, u x v along the axis.
struct Across {
    glm::dvec3 u, v;
};

inline Across across_of(const glm::dvec3& axis) {
    const glm::dvec3 other = std::abs(axis.y) < 0.9 ? glm::dvec3(0, 1, 0) : glm::dvec3(1, 0, 0);
    const glm::dvec3 u = glm::normalize(glm::cross(axis, other));
    return {u, glm::cross(axis, u)};
}

/// Grows with the angle, from 0 to 4, without a sine: the same on every machine.
inline double around(const glm::dvec2& d) {
    const double s = std::abs(d.x) + std::abs(d.y);
    return s <= 0 ? 0 : d.y >= 0 ? 1 - d.x / s : 3 + d.x / s;
}

} // namespace boltwalk
