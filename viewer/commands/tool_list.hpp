// The person's own tools, as a command takes them.
#pragma once

#include <optional>
#include <string>

#include "core/geometry/tools.hpp"

namespace boltwalk {

/// The list in that file, or the home box where none is named. None: what is wrong was said on the error stream.
std::optional<ToolBox> tools_from(const std::string& path);

} // namespace boltwalk
