// Files as commands read and write them.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "core/map/files.hpp"
#include "core/map/map.hpp"

namespace boltwalk {

/// None when it gives no map; why was said on the error stream.
std::optional<Map> map_of(const std::string& path);

/// All bytes; none when it cannot be read, which was said on the error stream.
std::optional<std::string> bytes_of(const std::string& path);

/// True, and said on the error stream, when writing `output` would overwrite `input`.
bool same_file(const std::string& input, const std::string& output);

/// put_whole(); false when that failed, which was said on the error stream.
bool write_whole(const std::string& path, std::string_view bytes);

} // namespace boltwalk
