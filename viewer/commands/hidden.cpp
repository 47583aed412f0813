#include "viewer/commands/hidden.hpp"

#include <algorithm>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/geometry/geometry.hpp"
#include "core/job/estimated.hpp"
#include "core/job/shapes.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace hidden_command {
namespace {

using Json = nlohmann::ordered_json;

/// Who hides less than this of the view is not named in a line for people (the JSON has all).
constexpr double worth_naming = 0.05;
constexpr std::size_t most_named = 4;

struct Settings {
    std::string map;
    std::size_t step = 0;
    bool all = false;
    bool json = false;
};

/// All that is worked out for one map.
struct Worked {
    const Map& map;
    const Job& job;
    const Plan& plan;
    Solids solids;
    Sights sights;
    std::vector<State> states;
    std::vector<Arrangement> arrangements;
};

/// Washers and the like lie under what is turned: who finds that has found them.
bool is_turned(const Fastener& fastener) {
    return fastener.kind != FastenerKind::washer && fastener.kind != FastenerKind::spacer &&
           fastener.kind != FastenerKind::shim && !(fastener.drive && fastener.drive->kind == DriveKind::none);
}

Worked work_out(const Map& map, const Job& job, const Plan& plan) {
    Worked worked{map, job, plan, make_solids(map), {}, {}, {}};
    worked.sights = measure_sights(worked.solids, lowered_cases(job, worked.solids, plan));
    worked.states.push_back(as_found(job));
    for (const Step& step : plan.steps) {
        worked.states.push_back(worked.states.back());
        apply_step(job, worked.states.back(), step);
    }
    for (const State& state : worked.states)
        worked.arrangements.push_back(arrange(job, worked.solids, state));
    return worked;
}

std::string percent(double share) {
    return fmt::format("{:.0f} %", 100 * share);
}

std::string from_words(Place place) {
    switch (place) {
    case Place::under:
    case Place::over:
    case Place::inside:
        return fmt::format("from {}", name_of(place));
    default:
        return fmt::format("from the {}", name_of(place));
    }
}

std::string step_words(const Worked& worked, std::int32_t state) {
    const auto step = static_cast<std::size_t>(state);
    return fmt::format("step {} ({})", step, card_of(worked.job, worked.plan, step - 1).headline);
}

/// What becomes of it along the order.
std::string fate_of(const Worked& worked, const HiddenHead& one) {
    if (one.into_view >= 0)
        return fmt::format("in view after {}: {} {}", step_words(worked, one.into_view), percent(one.view_share),
                           from_words(one.view_from));
    const std::string most = one.view_share < one.share + 0.01
                                 ? "seen no better before"
                                 : fmt::format("before that seen to {} at most, {}, after step {}",
                                               percent(one.view_share), from_words(one.view_from), one.view);
    if (one.gone < 0)
        return "does not come into view in this order";
    const bool out = worked.states[static_cast<std::size_t>(one.gone)].fasteners[one.fastener] == FastenerState::out;
    return fmt::format("{} {}; {}", out ? "out with" : "on the bench after", step_words(worked, one.gone), most);
}

std::string hidden_by(const Worked& worked, const HiddenHead& one) {
    std::string out;
    std::size_t named = 0;
    for (const Hider& hider : one.by) {
        if (named == most_named || (named > 0 && hider.share < worth_naming))
            break;
        out +=
            fmt::format("{}{} ({})", named > 0 ? ", " : "", name_of(worked.solids, hider.body), percent(hider.share));
        ++named;
    }
    return out.empty() ? "nothing that is there" : out;
}

std::string text_of(const Worked& worked, const std::vector<HiddenHead>& list, const Settings& settings) {
    const auto turned = std::count_if(worked.map.fasteners.begin(), worked.map.fasteners.end(), is_turned);
    const std::string when =
        settings.step == 0 ? "as found"
                           : fmt::format("after {}", step_words(worked, static_cast<std::int32_t>(settings.step)));
    std::string out;
    const auto line = [&](const std::string& text) { out += printable(text) + "\n"; };
    line(fmt::format("{}, {}: {} of {} fasteners hidden, estimated from the shapes (less than {} of the head "
                     "seen from where it is worked at)",
                     worked.map.path, when, list.size(), turned, percent(hidden_below)));
    for (const HiddenHead& one : list) {
        const Item& item = worked.map[worked.map.fasteners[one.fastener].item];
        line(fmt::format("  {}{}", item.name, item.title != item.name ? ": " + item.title : ""));
        const std::string best =
            one.best == one.from ? "" : fmt::format("; most {}, {}", from_words(one.best), percent(one.best_share));
        line(fmt::format("      seen {}: {}{}", from_words(one.from), percent(one.share), best));
        line(fmt::format("      hidden by {}", hidden_by(worked, one)));
        line(fmt::format("      {}", fate_of(worked, one)));
    }
    return out;
}

constexpr Place places[] = {Place::under, Place::left, Place::right, Place::front,
                            Place::rear,  Place::over, Place::inside};

std::string table_of(const Worked& worked, const std::vector<Seen>& all) {
    std::string out = fmt::format("{:>7}", "all");
    for (const Place place : places)
        out += fmt::format("{:>7}", name_of(place));
    out += "   percent of the head seen, estimated; -: turned away\n";
    for (std::size_t i = 0; i < all.size(); ++i) {
        const Seen& seen = all[i];
        if (!seen.there || !seen.known)
            continue;
        out += fmt::format("{:>7.0f}", 100 * seen.share[0]);
        for (const Place place : places) {
            const auto p = static_cast<std::size_t>(place);
            out += seen.facing[p] > 0 ? fmt::format("{:>7.0f}", 100 * seen.share[p]) : fmt::format("{:>7}", "-");
        }
        const Item& item = worked.map[worked.map.fasteners[i].item];
        out += printable(fmt::format("   {}{}", item.name, is_hidden(seen, item.from) ? "  HIDDEN" : "")) + "\n";
    }
    return out;
}

Json table_json(const Worked& worked, const std::vector<Seen>& all) {
    Json list = Json::array();
    for (std::size_t i = 0; i < all.size(); ++i) {
        const Seen& seen = all[i];
        const Item& item = worked.map[worked.map.fasteners[i].item];
        Json json = {{"node", item.name}, {"there", seen.there}, {"known", seen.known}};
        if (seen.there && seen.known) {
            json["hidden"] = is_hidden(seen, item.from);
            json["seen"]["all"] = seen.share[0];
            for (const Place place : places)
                if (const auto p = static_cast<std::size_t>(place); seen.facing[p] > 0)
                    json["seen"][std::string(name_of(place))] = seen.share[p];
        }
        list.push_back(std::move(json));
    }
    return list;
}

Json json_of(const Worked& worked, const HiddenHead& one) {
    const Item& item = worked.map[worked.map.fasteners[one.fastener].item];
    Json json;
    json["node"] = item.name;
    json["title"] = item.title;
    json["from"] = name_of(one.from);
    json["from_stated"] = item.from == one.from;
    json["seen"] = one.share;
    json["best"] = {{"from", name_of(one.best)}, {"seen", one.best_share}};
    json["hidden_by"] = Json::array();
    for (const Hider& hider : one.by) {
        const Body& body = worked.solids.bodies[static_cast<std::size_t>(hider.body)];
        json["hidden_by"].push_back({{"node", worked.map.nodes[static_cast<std::size_t>(body.node)].name},
                                     {"share", hider.share},
                                     {"alone", hider.alone}});
    }
    json["in_view"] = one.into_view >= 0;
    json["most_in_view"] = {{"after_step", one.view}, {"from", name_of(one.view_from)}, {"seen", one.view_share}};
    if (one.gone >= 0)
        json["gone_after_step"] = one.gone;
    return json;
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const Job job = job_with_shapes(*map);
    const Plan plan = plan_strip(job);
    if (settings.step > plan.steps.size()) {
        say_error(fmt::format("--step {}: the order has {} steps; 0 is the state as found", settings.step,
                              plan.steps.size()));
        return exit_usage;
    }
    const Worked worked = work_out(*map, job, plan);
    std::vector<HiddenHead> list = hidden_in(worked.sights, worked.solids, worked.arrangements, settings.step);
    std::erase_if(list, [&](const HiddenHead& one) { return !is_turned(map->fasteners[one.fastener]); });
    const std::vector<Seen> all =
        settings.all ? seen(worked.sights, worked.arrangements[settings.step]) : std::vector<Seen>{};
    if (!settings.json)
        return print(settings.all ? table_of(worked, all) : text_of(worked, list, settings)) ? exit_good
                                                                                             : exit_unreadable;
    Json json;
    json["map"] = map->path;
    json["step"] = settings.step;
    json["estimated"] = true;
    json["hidden_below"] = hidden_below;
    json["hidden"] = Json::array();
    for (const HiddenHead& one : list)
        json["hidden"].push_back(json_of(worked, one));
    if (settings.all)
        json["fasteners"] = table_json(worked, all);
    return print(json_text(json)) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace hidden_command

void add_hidden(CLI::App& app, int& exit_code) {
    using namespace hidden_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("hidden", "Which fasteners cannot be seen, and what hides them (estimated)");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("--step", settings->step, "after how many steps of the order; 0, the default: as found");
    command->add_flag("--all", settings->all, "every fastener: how much of it is seen from each place");
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
