#include "viewer/commands/way.hpp"

#include <algorithm>
#include <array>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/job/estimated.hpp"
#include "core/job/ways.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/naming.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace way_command {
namespace {

using Json = nlohmann::ordered_json;

struct Settings {
    std::string map, part;
    std::size_t step = 0; ///< 0: when it leaves
    bool as_found = false;
    int queries = 240;
    bool json = false;
};

std::string_view word(Verdict verdict) {
    switch (verdict) {
    case Verdict::free:
        return "free";
    case Verdict::blocked:
        return "blocked";
    case Verdict::undecided:
        break;
    }
    return "undecided";
}

/// Everything that one line of output wants.
struct Asked {
    const Map& map;
    const Solids& solids;
    const std::vector<Leaving>& leavings;
    const std::vector<WayFound>& found;
};

std::string name_of_met(const Asked& asked, const Meeting& meeting) {
    const Body& body = asked.solids.bodies[at(meeting.body)];
    return asked.map.nodes[at(body.node)].name;
}

std::string by_whom(const Asked& asked, const WayVerdict& verdict) {
    std::string text;
    for (const Meeting& meeting : verdict.by) {
        if (!text.empty())
            text += ", ";
        text += fmt::format("{}{} after {:.0f} mm", meeting.verdict == Verdict::undecided ? "perhaps " : "",
                            name_of_met(asked, meeting), meeting.after_mm);
        if (meeting.rest_mm > 0)
            text += fmt::format(" (they lie {} {:.2g} mm in one another as modelled)",
                                meeting.rest_mm >= way_rest_most_mm ? "over" : "up to", meeting.rest_mm);
    }
    return text;
}

/// What it pushes aside on that way, of what is there.
std::string pushed(const Asked& asked, const WayAnswer& way, const Leaving& leaving) {
    std::vector<std::string> names;
    for (const LegAnswer& leg : way.legs)
        for (const Meeting& meeting : leg.met)
            if (meeting.soft && leaving.state.there[at(meeting.body)]) {
                const std::string name = name_of_met(asked, meeting);
                if (std::find(names.begin(), names.end(), name) == names.end())
                    names.push_back(name);
            }
    return fmt::format("{}", fmt::join(names, ", "));
}

std::string_view verb_of(const Leaving& leaving) {
    switch (leaving.verb) {
    case Verb::set_aside:
        return "aside";
    case Verb::let_down:
        return "lowered";
    case Verb::take_out:
    case Verb::loosen:
        return "drawn";
    default:
        return "off";
    }
}

/// "blocked" would be no news of what is stated to stay in until its part comes, and comes then.
std::string of_one_that_comes_with(const Asked& asked, const Leaving& leaving, const WayAnswer& way,
                                   const WayVerdict& verdict) {
    const std::string& part = asked.map[leaving.comes_with].name;
    std::string text = "  stated: comes with " + part;
    if (leaving.comes_step >= 0)
        text += fmt::format(", step {}", leaving.comes_step + 1);
    else if (leaving.step >= 0)
        text += ", which does not come off in this order";
    switch (verdict.verdict) {
    case Verdict::free:
        return fmt::format("{}; yet it is free by itself along its axis, {} (estimated)", text, words_of(way));
    case Verdict::blocked:
        return fmt::format("{}; so say the shapes (estimated): along its axis, {}, it meets {}", text, words_of(way),
                           by_whom(asked, verdict));
    case Verdict::undecided:
        break;
    }
    return fmt::format("{}; whether it is free along its axis before, {}, is undecided (estimated): {}", text,
                       words_of(way), by_whom(asked, verdict));
}

/// The same for scripts: `verdict` is of the way, this is of what becomes of it.
std::string_view verdict_of(const Leaving& leaving, const WayVerdict& verdict) {
    return leaving.comes_with && leaving.comes_step >= 0 && verdict.verdict == Verdict::blocked ? "comes with its part"
                                                                                                : word(verdict.verdict);
}

std::string lines_of(const Asked& asked, std::size_t i, bool whole) {
    const Leaving& leaving = asked.leavings[i];
    const WayFound& found = asked.found[i];
    const Item& item = asked.map[leaving.asked.item];
    std::string out = fmt::format("{}{}, {}{}", leaving.step >= 0 ? fmt::format("step {}: ", leaving.step + 1) : "",
                                  item.name, verb_of(leaving), leaving.bench ? " on the bench" : "");
    if (leaving.asked.moving.size() > 1)
        out += fmt::format(" with {} more", leaving.asked.moving.size() - 1);
    out = printable(out) + "\n";
    for (std::size_t w = 0; w < found.out.ways.size(); ++w) {
        const WayAnswer& way = found.out.ways[w];
        const WayVerdict verdict = judge(way, leaving.state.there);
        const bool drawn = asked.map.is_fastener(leaving.asked.item);
        if (leaving.comes_with) {
            out += printable(of_one_that_comes_with(asked, leaving, way, verdict)) + "\n";
            continue;
        }
        out += printable(fmt::format("  {} {}: {} (estimated){}{}",
                                     drawn        ? "along its axis,"
                                     : way.stated ? "stated:"
                                                  : "found:",
                                     words_of(way), word(verdict.verdict), verdict.by.empty() ? "" : ": ",
                                     by_whom(asked, verdict))) +
               "\n";
        if (whole)
            for (const LegAnswer& leg : way.legs) {
                WayAnswer one;
                one.legs.push_back(leg);
                const WayVerdict part = judge(one, leaving.state.there);
                out += printable(fmt::format("    {}: {}{}{}", words_of(one), word(part.verdict),
                                             part.by.empty() ? "" : ": ", by_whom(asked, part))) +
                       "\n";
            }
        const std::string soft = pushed(asked, way, leaving);
        if (!soft.empty())
            out += printable(fmt::format("    {}: {}",
                                         found.out.gives_way ? "gives way itself, meeting" : "pushes aside", soft)) +
                   "\n";
    }
    if (found.out.ways.empty())
        out += "  no way stated, none looked for\n";
    for (const ItemId line : found.out.tethers)
        out += printable(fmt::format("    tethered by {}: how far that lets it go is not known from its shape",
                                     asked.map[line].name)) +
               "\n";
    return out;
}

Json json_of(const Asked& asked, const WayVerdict& verdict) {
    Json by = Json::array();
    for (const Meeting& meeting : verdict.by)
        by.push_back({{"node", name_of_met(asked, meeting)},
                      {"verdict", word(meeting.verdict)},
                      {"after_mm", meeting.after_mm},
                      {"rest_mm", meeting.rest_mm}});
    return by;
}

Json json_of(const Asked& asked, std::size_t i) {
    const Leaving& leaving = asked.leavings[i];
    const WayFound& found = asked.found[i];
    Json json;
    json["item"] = asked.map[leaving.asked.item].name;
    if (leaving.step >= 0)
        json["step"] = leaving.step + 1;
    json["how"] = verb_of(leaving);
    json["bench"] = leaving.bench;
    json["estimated"] = true;
    if (leaving.comes_with) {
        json["comes_with"] = asked.map[leaving.comes_with].name;
        if (leaving.comes_step >= 0)
            json["comes_at_step"] = leaving.comes_step + 1;
    }
    json["moves"] = Json::array();
    for (const std::int32_t body : leaving.asked.moving)
        json["moves"].push_back(asked.map.nodes[at(asked.solids.bodies[at(body)].node)].name);
    json["ways"] = Json::array();
    for (const WayAnswer& way : found.out.ways) {
        const WayVerdict verdict = judge(way, leaving.state.there);
        Json one;
        one["way"] = words_of(way);
        one["stated"] = way.stated && asked.map.is_part(leaving.asked.item);
        one["verdict"] = verdict_of(leaving, verdict);
        one["free_mm"] = verdict.free_mm;
        one["by"] = json_of(asked, verdict);
        one["legs"] = Json::array();
        for (const LegAnswer& leg : way.legs) {
            WayAnswer alone;
            alone.legs.push_back(leg);
            const WayVerdict part = judge(alone, leaving.state.there);
            one["legs"].push_back({{"along", {leg.leg.x, leg.leg.y, leg.leg.z}},
                                   {"verdict", word(part.verdict)},
                                   {"by", json_of(asked, part)}});
        }
        json["ways"].push_back(one);
    }
    if (!found.out.tethers.empty()) {
        json["tethers"] = Json::array();
        for (const ItemId line : found.out.tethers)
            json["tethers"].push_back(asked.map[line].name);
    }
    return json;
}

/// How what is stated and what the shapes say go together.
struct Split {
    int agreed = 0, undecided = 0, disagreed = 0, not_stated = 0;
    void add(const Leaving& leaving, const WayFound& found) {
        switch (agreement_of(leaving, found)) {
        case Agreement::agreed:
            ++agreed;
            break;
        case Agreement::undecided:
            ++undecided;
            break;
        case Agreement::disagreed:
            ++disagreed;
            break;
        case Agreement::not_stated:
            ++not_stated;
            break;
        }
    }
};

int all(const Settings& settings, const Asked& asked) {
    Split parts;
    Split fasteners;
    for (std::size_t i = 0; i < asked.leavings.size(); ++i)
        (asked.map.is_part(asked.leavings[i].asked.item) ? parts : fasteners).add(asked.leavings[i], asked.found[i]);
    if (settings.json) {
        Json json;
        json["map"] = asked.map.path;
        const auto split = [](const Split& s) {
            return Json{{"agreed", s.agreed},
                        {"undecided", s.undecided},
                        {"disagreed", s.disagreed},
                        {"not_stated", s.not_stated}};
        };
        json["parts"] = split(parts);
        json["fasteners"] = split(fasteners);
        json["items"] = Json::array();
        for (std::size_t i = 0; i < asked.leavings.size(); ++i)
            json["items"].push_back(json_of(asked, i));
        return print(json_text(json)) ? exit_good : exit_unreadable;
    }
    std::string out = "Ways out, estimated from the shapes, each when it leaves in the order down\n";
    std::size_t quiet = 0;
    for (std::size_t i = 0; i < asked.leavings.size(); ++i) {
        const Leaving& leaving = asked.leavings[i];
        const WayFound& found = asked.found[i];
        // Of fasteners only those that do not simply come.
        const bool plain =
            asked.map.is_fastener(leaving.asked.item) && !leaving.comes_with && found.stated.verdict == Verdict::free;
        quiet += plain ? 1 : 0;
        if (!plain)
            out += lines_of(asked, i, false);
    }
    out += fmt::format("{} fasteners more: free along their axes (estimated)\n", quiet);
    const auto line = [](const char* what, const Split& s) {
        return fmt::format("{}: {} agreed, {} undecided, {} disagreed, {} with no way stated\n", what, s.agreed,
                           s.undecided, s.disagreed, s.not_stated);
    };
    out += line("Parts", parts) + line("Fasteners", fasteners);
    return print(out) ? exit_good : exit_unreadable;
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    ItemId item;
    if (!settings.part.empty()) {
        const auto named = find_named(*map, settings.part, Naming::part_or_bolt);
        if (!named) {
            say_error(named.error());
            return exit_usage;
        }
        item = named->item;
    }
    const Measured measured = job_and_shapes(*map, false);
    const Job& job = measured.job;
    const Plan plan = plan_strip(job);
    if (settings.step > plan.steps.size()) {
        say_error(fmt::format("--step {}: the order down has {} steps", settings.step, plan.steps.size()));
        return exit_usage;
    }
    const Solids& solids = measured.solids;
    std::vector<Leaving> list;
    if (item && (settings.step > 0 || settings.as_found)) {
        State state = as_found(job);
        for (std::size_t i = 0; i + 1 < settings.step; ++i)
            apply_step(job, state, plan.steps[i]);
        list.push_back(leaving_at(job, solids, state, item, map->is_part(item) ? Verb::take_off : Verb::take_out));
        if (list[0].asked.moving.empty() || !list[0].state.there[at(solids.body_of[at(item.index)])]) {
            say_error(fmt::format("{} has no shape, or is away already before step {}", settings.part, settings.step));
            return exit_usage;
        }
    } else {
        list = leavings(job, solids, plan);
        if (item)
            std::erase_if(list, [&](const Leaving& leaving) { return leaving.asked.item != item; });
        if (item && list.empty()) {
            say_error(
                fmt::format("{} does not come off in the order down: name a --step to look at it in", settings.part));
            return exit_usage;
        }
    }
    const std::vector<WayFound> found = ways_of(job, solids, list, settings.queries);
    const Asked asked{*map, solids, list, found};
    if (!item)
        return all(settings, asked);
    if (settings.json) {
        Json json = Json::array();
        for (std::size_t i = 0; i < list.size(); ++i)
            json.push_back(json_of(asked, i));
        return print(json_text(json)) ? exit_good : exit_unreadable;
    }
    std::string out;
    for (std::size_t i = 0; i < list.size(); ++i)
        out += lines_of(asked, i, true);
    return print(out) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace way_command

void add_way(CLI::App& app, int& exit_code) {
    using namespace way_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("way", "Does a part come out along its way, or what is in the way?");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("--part", settings->part,
                        "node name or title of a part or fastener; without it: everything that leaves");
    auto* step =
        command->add_option("--step", settings->step, "before this step of the order down; default: when it leaves")
            ->check(CLI::Range(1, 1000000));
    command->add_flag("--as-found", settings->as_found, "before anything is taken off")->excludes(step);
    command->add_option("--queries", settings->queries, "how far to look for a way: legs swept for each part")
        ->check(CLI::Range(0, 100000));
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
