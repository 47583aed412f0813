// The bits of a float. std::bit_cast is not in the library that the web's compiler comes with (libc++ 14).
#pragma once

#include <cstdint>
#include <cstring>

namespace boltwalk {

inline std::uint32_t bits_of(float value) {
    std::uint32_t bits = 0;
    static_assert(sizeof bits == sizeof value);
    std::memcpy(&bits, &value, sizeof bits);
    return bits;
}

} // namespace boltwalk
