// UTF-8, one character at a time. Source: RFC 3629, section 3 and 4 (no overlong forms, no surrogates, up to U+10FFFF).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace boltwalk {

struct Utf8 {
    std::uint32_t point = 0;
    std::size_t length = 1; ///< bytes taken; 1 when invalid
    bool valid = false;
};
/// The character at `at`, which lies within `text`.
Utf8 decode_utf8(std::string_view text, std::size_t at);
bool is_utf8(std::string_view text); ///< all of it
void append_utf8(std::string& out, std::uint32_t point);

} // namespace boltwalk
