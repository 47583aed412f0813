#include "viewer/commands/check.hpp"

#include <memory>

#include <CLI/CLI.hpp>

#include "core/job/estimated.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace check_command {
namespace {

struct Settings {
    std::string map;
    bool json = false;
    bool strict = false;
    bool estimates = true;
};

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const Job job = settings.estimates ? job_with_shapes(*map) : prepare(*map);
    const std::vector<Finding> findings = check(job);
    if (!print(settings.json ? findings_json(*map, findings) : findings_text(*map, findings)))
        return exit_unreadable;
    return weighs(findings, settings.strict) ? exit_findings : exit_good;
}

} // namespace
} // namespace check_command

void add_check(CLI::App& app, int& exit_code) {
    using namespace check_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command =
        app.add_subcommand("check", "What is wrong with a map: the annotation, the order down, the way back");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_flag("--json", settings->json, "as JSON");
    command->add_flag("--estimates,!--no-estimates", settings->estimates,
                      "doubts where the shapes contradict the order that is stated (estimated); on by default");
    command->add_flag("--strict", settings->strict, "doubts count as faults");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
