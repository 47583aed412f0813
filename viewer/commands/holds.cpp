#include "viewer/commands/holds.hpp"

#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/job/estimated.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/naming.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace holds_command {
namespace {

struct Settings {
    std::string map, item;
    std::size_t step = 0;
    bool json = false;
};

std::string one_line(const Map& map, const Held& held) {
    const Item& item = map[held.by];
    if (!map.is_fastener(held.by))
        return fmt::format("  {} ({})", item.name, name_of(held.rule));
    const Fastener& fastener = map.fastener(held.by);
    return fmt::format("  {} ({}): {}, {}{}{}", item.name, name_of(held.rule), spoken(fastener.kind), size_of(fastener),
                       fastener.drive ? ", " : "", fastener.drive ? fastener.drive->name : "");
}

/// What makes the question idle: it stays, or it is away already. Empty otherwise.
std::string standing_of(const Map& map, const State& state, ItemId item) {
    const auto detail = static_cast<std::size_t>(map[item].detail);
    switch (map[item].kind) {
    case ItemKind::part:
        if (map.parts[detail].fixed)
            return "it is the body that stays";
        if (state.parts[detail] == PartState::off)
            return "it is off already";
        return state.parts[detail] == PartState::aside ? "it hangs aside already" : "";
    case ItemKind::fastener:
        if (state.fasteners[detail] == FastenerState::out)
            return "it is out already";
        if (map.fasteners[detail].frees_when == FreesWhen::nut_off)
            return "it stays in; what frees its joint is the nut";
        return state.fasteners[detail] == FastenerState::slack ? "it is undone already, and stays in its place" : "";
    case ItemKind::task:
        if (map.tasks[detail].when == TaskWhen::refit)
            return "it belongs to the way back";
        return state.done[detail] != 0 ? "it is done already" : "";
    }
    return "";
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const auto named = find_named(*map, settings.item, Naming::item);
    if (!named) {
        say_error(named.error());
        return exit_usage;
    }
    const ItemId item = named->item;
    const std::string& name = (*map)[item].name;
    const Job job = job_with_shapes(*map);
    const Plan plan = plan_strip(job);
    if (settings.step > plan.steps.size()) {
        say_error(fmt::format("--step {}: the order down has {} steps", settings.step, plan.steps.size()));
        return exit_usage;
    }
    State state = as_found(job);
    for (std::size_t i = 0; i < settings.step; ++i)
        apply_step(job, state, plan.steps[i]);
    const std::vector<Held> held = what_holds(job, state, item);
    const std::string standing = standing_of(*map, state, item);
    if (settings.json)
        return print(holds_json(*map, name, settings.step, standing, held)) ? exit_good : exit_unreadable;
    const std::string when = settings.step == 0 ? "as found" : fmt::format("after step {}", settings.step);
    std::string out;
    if (!standing.empty())
        out = printable(fmt::format("{}, {}: {}", name, when, standing)) + "\n";
    else if (held.empty())
        out = printable(fmt::format("{}, {}: nothing on the map holds it", name, when)) + "\n";
    else
        out = printable(fmt::format("{}, {}, waits for {}:", name, when, held.size())) + "\n";
    if (standing.empty())
        for (const Held& one : held)
            out += printable(one_line(*map, one)) + "\n";
    return print(out) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace holds_command

void add_holds(CLI::App& app, int& exit_code) {
    using namespace holds_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("holds", "What still holds this?");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("ITEM", settings->item, "node name or title of a part or fastener")->required();
    command->add_option("--step", settings->step, "after so many steps of the order down; 0 is as found");
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
