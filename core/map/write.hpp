// What the writers share. For core/map only.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "core/map/map.hpp"

namespace boltwalk {

/// The file with another JSON text in place of its own; everything else stays byte for byte. An error where that text
/// cannot be read again, or the file is not read_map's kind.
tl::expected<std::string, ReadError> with_json(std::span<const std::byte> file, std::string_view text);

} // namespace boltwalk
