// Whole files in, whole files out.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace boltwalk {

/// None when it cannot be read.
std::optional<std::string> read_whole(const std::string& path);
/// Beside it and then renamed: a full disk must not leave half a file where a whole one was. What failed is said on the
/// error stream; false then.
bool write_whole(const std::string& path, std::string_view bytes);

} // namespace boltwalk
