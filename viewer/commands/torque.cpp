#include "viewer/commands/torque.hpp"

#include <algorithm>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/job/estimated.hpp"
#include "core/job/tightening.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/naming.hpp"
#include "viewer/commands/report.hpp"
#include "viewer/commands/tool_list.hpp"

namespace boltwalk {

namespace torque_command {
namespace {

using Json = nlohmann::ordered_json;

struct Settings {
    std::string map, group, unit, wrenches, adapter;
    bool json = false;
};

struct Asked {
    const Job& job;
    const ToolBox& box;
    std::optional<Adapter> adapter;
    TorqueUnit unit = TorqueUnit::newton_metre;
    std::vector<Tightening> tightenings;
    std::vector<Finding> findings;
    std::vector<LastLook> looks;
};

void line(std::string& out, const std::string& text) {
    out += printable(text) + "\n";
}

std::vector<std::string> names_of(const Map& map, const std::vector<ItemId>& items) {
    std::vector<std::string> names;
    names.reserve(items.size());
    for (const ItemId id : items)
        names.push_back(map[id].name);
    return names;
}

std::string joined(const std::vector<std::string>& list, std::string_view by) {
    std::string out;
    for (const std::string& one : list)
        out += (out.empty() ? "" : std::string(by)) + one;
    return out;
}

/// "Skid plate bolts (6), drain plug"
std::string titles_of(const Map& map, const std::vector<ItemId>& items) {
    std::vector<std::pair<std::string, int>> titles;
    for (const ItemId id : items) {
        const std::string& title = map[id].title.empty() ? map[id].name : map[id].title;
        const auto known = std::find_if(titles.begin(), titles.end(), [&](const auto& t) { return t.first == title; });
        if (known == titles.end())
            titles.emplace_back(title, 1);
        else
            ++known->second;
    }
    std::vector<std::string> words;
    words.reserve(titles.size());
    for (const auto& [title, count] : titles)
        words.push_back(count > 1 ? fmt::format("{} ({})", title, count) : title);
    return joined(words, ", ");
}

std::string hardware_of(const Map& map, const Tightening& t) {
    const Fastener& f = map.fastener(t.items.front());
    std::string out = fmt::format("{} × {}", t.items.size(), spoken(f.kind));
    if (f.thread)
        out += " " + f.thread->name;
    if (const std::string tool = tool_for(f.drive); !tool.empty())
        out += ", " + tool;
    if (!f.grade.empty())
        out += ", " + f.grade;
    return out;
}

bool concerns(const Map& map, const Finding& finding, const Tightening& t) {
    return std::any_of(t.items.begin(), t.items.end(), [&](ItemId id) {
        return std::find(finding.nodes.begin(), finding.nodes.end(), map[id].name) != finding.nodes.end();
    });
}

void tightening_lines(std::string& out, const Asked& asked, const Tightening& t, std::size_t number) {
    const Map& map = *asked.job.map;
    line(out, fmt::format("{:>3}  {}: {}", number, t.title, hardware_of(map, t)));
    if (!t.torque)
        line(out, "     torque  not stated");
    else
        line(out, fmt::format("     torque  {}  ({})", torque_in_words(*t.torque, asked.unit), t.source));
    if (t.items.size() > 1) {
        std::string order;
        for (std::size_t i = 0; i < t.items.size(); ++i)
            order += fmt::format("{}{}. {}", i == 0 ? "" : "  ", i + 1, map[t.items[i]].name);
        line(out, "     order   " + order);
        line(out, "             " + t.order_words);
    }
    for (std::size_t i = 0; i < t.rounds.size(); ++i) {
        const Round& round = t.rounds[i];
        const WrenchChoice choice = choose_wrench(asked.box, round.stage, asked.adapter, asked.unit);
        const std::string share =
            round.percent > 0 && round.percent < 100 ? fmt::format(" ({} %)", print_number(round.percent, 1)) : "";
        line(out, fmt::format("     pass {}  {}{}: {}{}", i + 1, round_torque(t, round, asked.unit), share,
                              choice.words, round.is_final ? "; then the paint stroke" : ""));
    }
    if (!t.rounds_words.empty())
        line(out, "             " + t.rounds_words);
    if (!t.words.empty())
        line(out, "     with    " + joined(t.words, "; "));
    if (const auto clamp = clamp_of(asked.job, t.items.front()))
        line(out, "     estimate: " + print_clamp(*clamp));
    for (const Finding& finding : asked.findings)
        if (concerns(map, finding, t))
            line(out, fmt::format("     {}: {} {}", name_of(finding.weight), finding.what, finding.remedy));
}

std::string text_of(const Asked& asked) {
    const Map& map = *asked.job.map;
    std::string out;
    line(out, fmt::format("{}: what is tightened, in the order of the way back; wrenches of {}",
                          map.job.empty() ? map.path : map.job, asked.box.name));
    line(out, "Torques are as stated. Orders from where the bolts are, and clamp loads, are estimated; the maker's "
              "manual comes first.");
    for (std::size_t i = 0; i < asked.tightenings.size(); ++i) {
        out += "\n";
        tightening_lines(out, asked, asked.tightenings[i], i + 1);
    }
    if (asked.looks.empty())
        return out;
    out += "\n";
    line(out, "When it is done (common practice, no source):");
    for (const LastLook& look : asked.looks)
        line(out, fmt::format("  {}: {} {}", look.when, look.what, titles_of(map, look.items)));
    return out;
}

Json wrench_json(const WrenchChoice& choice) {
    Json json;
    json["wrench"] = choice.wrench != nullptr ? Json(name_of(*choice.wrench)) : Json();
    json["set_to_low_nm"] = choice.low_nm;
    json["set_to_high_nm"] = choice.high_nm;
    json["used_from_nm"] = choice.least_nm;
    json["used_to_nm"] = choice.most_nm;
    json["words"] = choice.words;
    return json;
}

Json tightening_json(const Asked& asked, const Tightening& t) {
    const Map& map = *asked.job.map;
    Json json;
    json["title"] = t.title;
    json["hardware"] = hardware_of(map, t);
    json["torque_stated"] = t.torque ? Json(t.torque->text) : Json();
    json["torque"] = t.torque ? torque_in_words(*t.torque, asked.unit) : "not stated";
    json["source"] = t.source;
    json["order"] = names_of(map, t.items);
    json["pattern"] = name_of(t.pattern);
    json["pattern_stated"] = t.pattern_stated;
    json["order_words"] = t.order_words;
    json["passes"] = Json::array();
    for (const Round& round : t.rounds) {
        Json one;
        one["torque"] = round_torque(t, round, asked.unit);
        one["low_nm"] = round.stage.low_nm;
        one["high_nm"] = round.stage.high_nm;
        one["angle_deg"] = round.stage.has_angle ? Json(round.stage.angle_deg) : Json();
        one["percent"] = round.percent > 0 ? Json(round.percent) : Json();
        one["final"] = round.is_final;
        one["wrench"] = wrench_json(choose_wrench(asked.box, round.stage, asked.adapter, asked.unit));
        json["passes"].push_back(std::move(one));
    }
    json["passes_words"] = t.rounds_words;
    json["with"] = t.words;
    json["estimated_clamp"] = Json();
    if (const auto clamp = clamp_of(asked.job, t.items.front()))
        json["estimated_clamp"] = {{"least_n", clamp->least_n},
                                   {"most_n", clamp->most_n},
                                   {"by_nut_factor_least_n", clamp->factor_least_n},
                                   {"by_nut_factor_most_n", clamp->factor_most_n},
                                   {"class", clamp->strength ? Json(clamp->strength->name) : Json()},
                                   {"least_share_of_yield", clamp->strength ? Json(clamp->least_use) : Json()},
                                   {"most_share_of_yield", clamp->strength ? Json(clamp->most_use) : Json()}};
    return json;
}

std::string all_json(const Asked& asked) {
    const Map& map = *asked.job.map;
    Json root;
    root["map"] = map.path;
    root["job"] = map.job;
    root["unit"] = torque_unit_sign(asked.unit);
    root["wrenches"] = asked.box.name;
    root["tightenings"] = Json::array();
    for (const Tightening& t : asked.tightenings)
        root["tightenings"].push_back(tightening_json(asked, t));
    root["findings"] = Json::array();
    for (const Finding& finding : asked.findings)
        root["findings"].push_back(finding_json(finding));
    root["afterwards"] = Json::array();
    for (const LastLook& look : asked.looks)
        root["afterwards"].push_back({{"when", look.when}, {"what", look.what}, {"items", names_of(map, look.items)}});
    return json_text(root);
}

/// Of that group, or of one below it.
bool is_below(const Map& map, std::int32_t node, std::int32_t ancestor) {
    for (; node >= 0; node = map.nodes[static_cast<std::size_t>(node)].parent)
        if (node == ancestor)
            return true;
    return false;
}

int run(const Settings& settings) {
    TorqueUnit unit = TorqueUnit::newton_metre;
    if (!settings.unit.empty()) {
        const auto read = read_torque_unit(settings.unit);
        if (!read) {
            say_error(fmt::format("--unit: {} {}", read.error().what, read.error().remedy));
            return exit_usage;
        }
        unit = *read;
    }
    std::optional<Adapter> adapter;
    if (!settings.adapter.empty()) {
        const auto read = read_adapter(settings.adapter);
        if (!read) {
            say_error(fmt::format("--adapter: {} {}", read.error().what, read.error().remedy));
            return exit_usage;
        }
        adapter = *read;
    }
    const std::optional<ToolBox> box = tools_from(settings.wrenches);
    if (!box)
        return exit_unreadable;
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const Job job = job_with_shapes(*map);
    const Plan refit = plan_refit(job, plan_strip(job));
    Asked asked{job, *box, adapter, unit, tightenings(job, refit), implausible_torques(job), last_looks(job, refit)};
    if (!settings.group.empty()) {
        const auto named = find_named(*map, settings.group, Naming::hardware);
        if (!named) {
            say_error(named.error());
            return exit_usage;
        }
        const std::int32_t node =
            named->group >= 0 ? map->groups[static_cast<std::size_t>(named->group)].node : (*map)[named->item].node;
        std::erase_if(asked.tightenings, [&](const Tightening& t) {
            return std::none_of(t.items.begin(), t.items.end(),
                                [&](ItemId id) { return is_below(*map, (*map)[id].node, node); });
        });
        std::erase_if(asked.findings, [&](const Finding& finding) {
            return std::none_of(asked.tightenings.begin(), asked.tightenings.end(),
                                [&](const Tightening& t) { return concerns(*map, finding, t); });
        });
        asked.looks.clear(); // those are of the whole job
    }
    return print(settings.json ? all_json(asked) : text_of(asked)) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace torque_command

void add_torque(CLI::App& app, int& exit_code) {
    using namespace torque_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand(
        "torque",
        "What is tightened to what: order and passes, both units, which wrench, what speaks against a figure");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("--group", settings->group, "only this group, or this fastener (node name or title)");
    command->add_option("--unit", settings->unit,
                        "N·m, lbf·ft, lbf·in, kgf·m or kgf·cm; the manual's stands beside it");
    command->add_option("--wrenches", settings->wrenches,
                        "a text file of the tools owned, one a line, as for reach; else a home box");
    command->add_option("--adapter", settings->adapter,
                        "LENGTH,ANGLE of an adapter: mm from square to fastener, degrees to the wrench (0 in line)");
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
