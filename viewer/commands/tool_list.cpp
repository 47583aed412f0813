#include "viewer/commands/tool_list.hpp"

#include <fstream>
#include <sstream>

#include <fmt/format.h>

#include "viewer/commands/report.hpp"

namespace boltwalk {

std::optional<ToolBox> tools_from(const std::string& path) {
    if (path.empty())
        return home_box();
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    if (!file || !(text << file.rdbuf())) {
        say_error(fmt::format("{}: cannot be read, or is empty; write one tool a line", path));
        return std::nullopt;
    }
    auto read = read_tools(text.str(), path);
    if (!read) {
        say_error(read.error());
        return std::nullopt;
    }
    return std::move(*read);
}

} // namespace boltwalk
