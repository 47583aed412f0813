#include "viewer/commands/tool_list.hpp"

#include "viewer/commands/report.hpp"

namespace boltwalk {

std::optional<ToolBox> tools_from(const std::string& path) {
    if (path.empty())
        return home_box();
    auto read = read_tools_of(path);
    if (!read) {
        say_error(read.error());
        return std::nullopt;
    }
    return std::move(*read);
}

} // namespace boltwalk
