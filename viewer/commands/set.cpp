#include "viewer/commands/set.hpp"

#include <cstdio>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/map/map.hpp"
#include "core/map/utf8.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace set_command {
namespace {

struct Settings {
    std::string map, out, node;
    std::vector<std::string> values;
    bool ids = false;
};

int node_of(const Map& map, const std::string& name, int& found) {
    int count = 0;
    for (std::size_t i = 0; i < map.nodes.size(); ++i)
        if (map.nodes[i].name == name) {
            found = static_cast<int>(i);
            ++count;
        }
    return count;
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    int node = -1;
    if (!settings.node.empty()) {
        const int count = node_of(*map, settings.node, node);
        if (count != 1) {
            say_error(fmt::format("{}: {} nodes are named {}; name exactly one", settings.map, count, settings.node));
            return exit_unreadable;
        }
    }
    std::vector<Change> changes;
    for (const std::string& value : settings.values) {
        const std::size_t sign = value.find('=');
        if (sign == std::string::npos || sign == 0) {
            say_error(fmt::format("{}: write KEY=VALUE, as in torque=\"64 N·m\"; KEY= takes the key away", value));
            return exit_unreadable;
        }
        if (!is_utf8(value)) {
            say_error(fmt::format("{}: the value is not UTF-8 text", value));
            return exit_unreadable;
        }
        changes.push_back({node, value.substr(0, sign), json_typed(value.substr(sign + 1))});
    }
    if (settings.ids)
        for (const Change& change : missing_ids(*map))
            changes.push_back(change);
    const auto file = bytes_of(settings.map);
    if (!file)
        return exit_unreadable;
    const auto written = write_changes(span_of(*file), changes);
    if (!written) {
        say_error(written.error().text);
        return exit_unreadable;
    }
    if (!write_whole(settings.out, *written))
        return exit_unreadable;
    std::puts(printable(fmt::format("{}: {} change{}", settings.out, changes.size(), changes.size() == 1 ? "" : "s"))
                  .c_str());
    return exit_good;
}

} // namespace
} // namespace set_command

void add_set(CLI::App& app, int& exit_code) {
    using namespace set_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("set", "Write keys of the annotation into a map");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("CHANGE", settings->values, "KEY=VALUE, as many as wanted; KEY= takes a key away");
    command->add_option("--node", settings->node, "the node; without it, the scene");
    command->add_flag("--ids", settings->ids, "give every item the stable id that a log finds it by");
    command->add_option("-o", settings->out, "the file to write")->required();
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
