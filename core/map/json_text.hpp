// What the scan and the access to its tokens share. Not for others.
#pragma once

#include <string_view>

namespace boltwalk::json_text {

/// Four hexadecimal digits at `at`, or -1.
int hex4(std::string_view text, std::size_t at);
bool is_high_surrogate(int unit);
bool is_low_surrogate(int unit);

/// Whether a well-formed number lies beyond every double. Only the place of its first digit that is not zero matters:
/// below 1e308 all fit; from 1e309 none; between them the conversion itself is asked.
bool is_beyond_double(std::string_view number);
/// The number, whatever the locale. False where it lies beyond a double, or below the smallest.
bool convert(std::string_view text, double& value);

} // namespace boltwalk::json_text
