// Where an arrangement has moved bodies to, compared; the business of hidden's sources.
#pragma once

#include <cstdint>
#include <vector>

#include <glm/glm.hpp>

namespace boltwalk {

/// Of a body; nothing where the list does not reach.
inline glm::dvec3 shift_of(const std::vector<glm::dvec3>& shift, std::int32_t body) {
    const auto index = static_cast<std::size_t>(body);
    return body >= 0 && index < shift.size() ? shift[index] : glm::dvec3(0.0);
}

/// Shifts that differ by less than this are one, metres: rounding in their sums.
constexpr double one_shift_m = 1e-9;

inline bool same_shift(const glm::dvec3& a, const glm::dvec3& b) {
    const glm::dvec3 d = glm::abs(a - b);
    return d.x <= one_shift_m && d.y <= one_shift_m && d.z <= one_shift_m;
}

} // namespace boltwalk
