// The bits of a float, and hashes of them. std::bit_cast is not in the library that the web's compiler comes with
// (libc++ 14).
#pragma once

#include <cstdint>
#include <cstring>

#include <glm/glm.hpp>

namespace boltwalk {

inline std::uint32_t bits_of(float value) {
    std::uint32_t bits = 0;
    static_assert(sizeof bits == sizeof value);
    std::memcpy(&bits, &value, sizeof bits);
    return bits;
}

inline std::uint64_t mix(std::uint64_t x) {
    x ^= x >> 32U;
    x *= 0xd6e8feb86659fd93U;
    x ^= x >> 32U;
    x *= 0xd6e8feb86659fd93U;
    return x ^ (x >> 32U);
}

inline std::uint64_t hash_of(const glm::vec3& p) {
    std::uint64_t h = 0x9e3779b97f4a7c15U;
    for (int axis = 0; axis < 3; ++axis)
        h = mix(h ^ bits_of(p[axis] + 0.0F)); // + 0: -0 is 0
    return h;
}

} // namespace boltwalk
