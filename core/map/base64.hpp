// Base64 as RFC 4648, section 4, has it; the letters of section 5 are read, too.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace boltwalk {

std::string base64_of(std::string_view bytes);

/// How many bytes such a text holds; padding may be missing.
std::size_t base64_bytes(std::string_view text);
/// Into that many. Why not, or empty.
std::string from_base64(std::string_view text, std::byte* out);

} // namespace boltwalk
