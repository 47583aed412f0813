#include "viewer/commands/holds.hpp"

#include <cstdio>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "viewer/commands/report.hpp"

namespace boltwalk {

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

int run(const Settings& settings) {
    const auto map = read_map(settings.map);
    if (!map) {
        say_error(map.error().text);
        return exit_unreadable;
    }
    const ItemId item = find_item(*map, settings.item);
    if (!item) {
        say_error(fmt::format("{}: no item of the node name {}", settings.map, settings.item));
        return exit_unreadable;
    }
    const Job job = prepare(*map);
    const Plan plan = plan_strip(job);
    if (settings.step > plan.steps.size()) {
        say_error(fmt::format("--step {}: the order down has {} steps", settings.step, plan.steps.size()));
        return exit_unreadable;
    }
    State state = as_found(job);
    for (std::size_t i = 0; i < settings.step; ++i)
        apply_step(job, state, plan.steps[i]);
    const std::vector<Held> held = what_holds(job, state, item);
    if (settings.json) {
        nlohmann::ordered_json root;
        root["item"] = settings.item;
        root["after_step"] = settings.step;
        root["held_by"] = nlohmann::ordered_json::array();
        for (const Held& one : held)
            root["held_by"].push_back({{"node", (*map)[one.by].name}, {"rule", name_of(one.rule)}});
        std::puts(root.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace).c_str());
        return exit_good;
    }
    const std::string when = settings.step == 0 ? "as found" : fmt::format("after step {}", settings.step);
    std::puts(printable(held.empty() ? fmt::format("{}, {}: nothing on the map holds it", settings.item, when)
                                     : fmt::format("{}, {}, waits for {}:", settings.item, when, held.size()))
                  .c_str());
    for (const Held& one : held)
        std::puts(printable(one_line(*map, one)).c_str());
    return exit_good;
}

} // namespace

void add_holds(CLI::App& app, int& exit_code) {
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("holds", "What still holds this?");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("ITEM", settings->item, "node name of a part or fastener")->required();
    command->add_option("--step", settings->step, "after so many steps of the order down; 0 is as found");
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
