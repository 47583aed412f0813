#include "viewer/commands/balance.hpp"

#include <memory>
#include <optional>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/geometry/geometry.hpp"
#include "core/job/estimated.hpp"
#include "core/job/poise.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace balance_command {
namespace {

using Json = nlohmann::ordered_json;

/// So much gone at one step is worth a look at the stands: what one person lifts (HSE INDG143, from memory).
constexpr double heavy_gone_kg = 25;

struct Settings {
    std::string map;
    std::optional<std::size_t> step;
    bool json = false;
};

/// All that is worked out for one map.
struct Worked {
    const Map& map;
    const Job& job;
    const Plan& plan;
    Solids solids;
    Masses masses;
    std::vector<BalanceLine> lines;
    std::vector<Gone> gone;     ///< by step
    std::vector<ItemId> unseen; ///< held by what is not on the map
};

Worked work_out(const Map& map, const Job& job, const Plan& plan) {
    Worked worked{map, job, plan, make_solids(map), {}, {}, {}, {}};
    worked.masses = weigh(worked.solids);
    worked.lines = balance_lines(job, worked.solids, worked.masses, plan);
    const Balance balance(job, worked.solids, worked.masses, &plan.end);
    for (const Part& part : map.parts)
        if (balance.held_unseen(part.item))
            worked.unseen.push_back(part.item);
    State state = as_found(job);
    for (const Step& step : plan.steps) {
        apply_step(job, state, step);
        worked.gone.push_back(balance.gone(state));
    }
    return worked;
}

bool wanted(const Settings& settings, std::size_t step) {
    return !settings.step || *settings.step == step;
}

/// Steps by which something heavy has left: the vehicle's own balance has changed.
bool shifts(const Worked& worked, std::size_t step) {
    const double before = step > 1 ? worked.gone[step - 2].load.mass_kg : 0;
    return worked.gone[step - 1].load.mass_kg - before >= heavy_gone_kg;
}

std::string point_text(const glm::dvec3& p) {
    return fmt::format("{:.0f} mm left, {:.0f} mm up, {:.0f} mm ahead of the model's origin", p.x * 1000, p.y * 1000,
                       p.z * 1000);
}

const char* word_of(CentreFrom from) {
    switch (from) {
    case CentreFrom::volume:
        return "";
    case CentreFrom::lines:
        return " (shells in one another: counted along lines)";
    case CentreFrom::surface:
        return " (of its surface, which has holes or flipped faces: a worse estimate)";
    case CentreFrom::box:
        return " (of its box: a bad estimate)";
    }
    return "";
}

void line(std::string& out, const std::string& text) {
    out += printable(text) + "\n";
}

void step_lines(std::string& out, const Worked& worked, std::size_t step) {
    bool told = false;
    const auto headline = [&] {
        if (!told)
            line(out, fmt::format("after step {}: {}", step, card_of(worked.job, worked.plan, step - 1).headline));
        told = true;
    };
    for (const BalanceLine& one : worked.lines) {
        if (one.after_step != step)
            continue;
        headline();
        const Hanging& hanging = one.hanging;
        std::string with;
        for (const ItemId id : hanging.items)
            if (id != hanging.part && worked.map.is_part(id))
                with += (with.empty() ? " with " : ", ") + worked.map[id].title;
        line(out, fmt::format("    {}{}: {}", worked.map[hanging.part].title, with, in_words(worked.map, hanging)));
    }
    if (shifts(worked, step)) {
        headline();
        line(out, "    the vehicle: " + in_words(worked.gone[step - 1]));
    }
}

std::string text_of(const Worked& worked, const Settings& settings) {
    std::string out;
    line(out, fmt::format("{}: estimated from the shapes; what is stated goes before it", worked.map.path));
    if (!settings.step) {
        for (std::size_t b = 0; b < worked.solids.bodies.size(); ++b) {
            const ItemId item = worked.solids.bodies[b].item;
            if (!item || !worked.map.is_part(item) || worked.map.part(item).fixed)
                continue;
            const BodyMass& mass = worked.masses.bodies[b];
            line(out, fmt::format("  {}: {}", worked.map[item].title, in_words(mass)));
            line(out, fmt::format("      estimated centre of mass {}{}", point_text(mass.centre),
                                  word_of(mass.centre_from)));
            const std::string& lift = worked.map.part(item).lift_point;
            if (!lift.empty())
                line(out, "      lift point, stated: " + lift);
        }
        for (const ItemId id : worked.unseen)
            line(out, fmt::format("  {}: what holds it when all else is off is not on the map; taken to stay",
                                  worked.map[id].title));
        out += "\n";
    }
    bool told = false;
    for (std::size_t step = 1; step <= worked.plan.steps.size(); ++step)
        if (wanted(settings, step)) {
            step_lines(out, worked, step);
            told = told || shifts(worked, step);
        }
    if (!settings.step && !worked.gone.empty() && !told)
        line(out, "at the end: " + in_words(worked.gone.back()));
    for (const Finding& finding : worked.masses.findings)
        if (!settings.step)
            line(out, fmt::format("NOTE   {}: {}: {}", finding.rule, finding.nodes.front(), finding.what));
    return out;
}

Json point_json(const glm::dvec3& p) {
    return {p.x, p.y, p.z};
}

Json hanging_json(const Worked& worked, const BalanceLine& one) {
    constexpr const char* poises[] = {"drops", "beside", "turns", "between", "close"};
    const Hanging& hanging = one.hanging;
    Json json;
    json["after_step"] = one.after_step;
    json["part"] = worked.map[hanging.part].name;
    const auto names = [&](const std::vector<ItemId>& items) {
        Json list = Json::array();
        for (const ItemId id : items)
            list.push_back(worked.map[id].name);
        return list;
    };
    json["with"] = names(hanging.items);
    json["held_by"] = names(hanging.held_by);
    json["props"] = names(hanging.props);
    json["mass_kg"] = hanging.load.mass_kg;
    json["estimated_kg"] = hanging.load.estimated_kg;
    json["without_mass"] = hanging.load.without.size();
    json["estimated_centre_m"] = point_json(hanging.load.centre);
    json["poise"] = poises[static_cast<std::size_t>(hanging.balanced.poise)];
    json["side"] = side_of(hanging.balanced.towards);
    json["past_mm"] = hanging.balanced.past_m * 1000;
    json["moment_nm"] = hanging.balanced.moment_nm;
    json["text"] = in_words(worked.map, hanging);
    return json;
}

std::string json_of(const Worked& worked, const Settings& settings) {
    constexpr const char* mass_from[] = {"stated", "estimated from volume and material", "not stated"};
    constexpr const char* centre_from[] = {"volume", "lines", "surface", "box"};
    Json root;
    root["map"] = worked.map.path;
    root["parts"] = Json::array();
    for (std::size_t b = 0; b < worked.solids.bodies.size(); ++b) {
        const ItemId item = worked.solids.bodies[b].item;
        if (!item || !worked.map.is_part(item))
            continue;
        const BodyMass& mass = worked.masses.bodies[b];
        Json one;
        one["part"] = worked.map[item].name;
        one["mass_kg"] = mass.mass_kg ? Json(*mass.mass_kg) : Json();
        one["mass_from"] = mass_from[static_cast<std::size_t>(mass.mass_from)];
        one["material"] = mass.material;
        one["estimated_volume_l"] = mass.volume_m3 * 1000;
        one["estimated_centre_m"] = point_json(mass.centre);
        one["centre_from"] = centre_from[static_cast<std::size_t>(mass.centre_from)];
        one["lift_point_stated"] = worked.map.part(item).lift_point;
        root["parts"].push_back(std::move(one));
    }
    root["steps"] = Json::array();
    for (const BalanceLine& one : worked.lines)
        if (wanted(settings, one.after_step))
            root["steps"].push_back(hanging_json(worked, one));
    root["vehicle"] = Json::array();
    for (std::size_t step = 1; step <= worked.plan.steps.size(); ++step)
        if (wanted(settings, step) && shifts(worked, step))
            root["vehicle"].push_back({{"after_step", step}, {"text", in_words(worked.gone[step - 1])}});
    return json_text(root);
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const Job job = job_with_shapes(*map);
    const Plan plan = plan_strip(job);
    if (settings.step && *settings.step > plan.steps.size()) {
        say_error(fmt::format("--step {}: the order down has {} steps", *settings.step, plan.steps.size()));
        return exit_usage;
    }
    const Worked worked = work_out(*map, job, plan);
    return print(settings.json ? json_of(worked, settings) : text_of(worked, settings)) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace balance_command

void add_balance(CLI::App& app, int& exit_code) {
    using namespace balance_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand(
        "balance",
        "What parts weigh, where their centre of mass is, what would tip or drop: estimated from the shapes");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("--step", settings->step, "after this step of the order down only");
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
