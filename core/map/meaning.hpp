// What a key means, in a few words, out of annotation.md itself: it is baked in, so that there is one text.
#pragma once

#include <cstdint>
#include <string>

#include "core/map/keys.hpp"

namespace boltwalk {

/// The first sentence of its meaning, where it stands on one of `places` (on_part, on_scene, ...); where it stands on
/// none of them, that of the first table which has it. "" never: tests/map/contract.cpp.
std::string meaning_of(KeyId, std::uint8_t places);

} // namespace boltwalk
