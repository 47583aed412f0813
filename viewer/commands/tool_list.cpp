#include "viewer/commands/tool_list.hpp"

#include <fmt/format.h>

#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

std::optional<ToolBox> tools_from(const std::string& path) {
    if (path.empty())
        return home_box();
    const auto text = bytes_if_readable(path);
    if (!text || text->empty()) {
        say_error(fmt::format("{}: cannot be read, or is empty; write one tool a line", path));
        return std::nullopt;
    }
    auto read = read_tools(*text, path);
    if (!read) {
        say_error(read.error());
        return std::nullopt;
    }
    return std::move(*read);
}

} // namespace boltwalk
