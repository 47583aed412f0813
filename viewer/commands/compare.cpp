#include "viewer/commands/compare.hpp"

#include <memory>
#include <span>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/table/compare.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace compare_command {
namespace {

struct Settings {
    std::string first, second;
    bool json = false;
};

int run(const Settings& settings) {
    const auto first = map_of(settings.first);
    const auto second = map_of(settings.second);
    if (!first || !second)
        return exit_unreadable;
    const auto first_file = bytes_of(settings.first), second_file = bytes_of(settings.second);
    if (!first_file || !second_file)
        return exit_unreadable;
    const auto all = compare_maps(*first, span_of(*first_file), *second, span_of(*second_file));
    const auto unsourced = figures_without_source(*second);
    std::string out;
    if (settings.json) {
        nlohmann::ordered_json root;
        root["differences"] = nlohmann::ordered_json::array();
        for (const MapDifference& d : all)
            root["differences"].push_back({{"what", name_of(d.what)},
                                           {"nodes", d.names},
                                           {"title", d.title},
                                           {"key", d.key},
                                           {"before", d.before},
                                           {"after", d.after},
                                           {"moved_mm", d.moved_mm},
                                           {"sentence", sentence_of(d)}});
        root["figures_without_source"] = unsourced;
        out = json_text(root);
    } else {
        for (const MapDifference& d : all)
            out += printable(fmt::format("{:<7} {}", name_of(d.what), sentence_of(d))) + "\n";
        if (all.empty())
            out += "No difference found in what is stated, in where the items sit, their shapes and the order; scenery "
                   "was not "
                   "compared.\n";
        if (!unsourced.empty())
            out += printable(fmt::format("No source is stated for the figures of {} titles, {} the first.",
                                         unsourced.size(), unsourced.front())) +
                   "\n";
    }
    if (!print(out))
        return exit_unreadable;
    return all.empty() ? exit_good : exit_findings;
}

} // namespace
} // namespace compare_command

void add_compare(CLI::App& app, int& exit_code) {
    using namespace compare_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("compare", "What changed between two maps of one job");
    command->add_option("FIRST", settings->first, "a .gltf or .glb file")->required();
    command->add_option("SECOND", settings->second, "the one that came later")->required();
    command->add_flag("--json", settings->json, "as JSON");
    command->footer("Exit 0: no difference found; 1: something differs.");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
