#include "viewer/commands/propose.hpp"

#include <algorithm>
#include <array>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/propose/propose.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace propose_command {
namespace {

struct Settings {
    std::string map, out, thread, turn;
    std::vector<std::string> take, alike;
    double scale = 0;
    bool json = false, all = false;
};

/// Line by line, for printable() shows a line's end as a sign.
bool print_lines(const std::string& text) {
    std::string out;
    for (std::size_t begin = 0; begin < text.size();) {
        const std::size_t end = std::min(text.find('\n', begin), text.size());
        out += printable(text.substr(begin, end - begin)) + "\n";
        begin = end + 1;
    }
    return print(out);
}

/// Of an answer to --turn.
std::array<double, 4> rotation_of(const std::string& word) {
    return upright_turn(word == "z-up" ? UpAxis::z : word == "x-up" ? UpAxis::x : UpAxis::y);
}

std::string question_text(const UnitQuestion& question) {
    std::string out;
    if (question.ask_scale)
        out +=
            fmt::format("Question: is this model to be scaled by {}? Answer with --scale {}, or --scale 1 if it is in "
                        "metres.\n",
                        question.scale, question.scale);
    if (question.ask_up)
        out += fmt::format("Question: is {0} up in this model? Answer with --turn {0}-up, or --turn none.\n",
                           name_of(question.up));
    if (!out.empty())
        for (const std::string& why : question.why)
            out += fmt::format("    {}\n", why);
    return out;
}

std::string line_of(const Map& map, const Proposals& proposals, const Proposal& p) {
    std::string text = fmt::format("{}  {}  {}: {}", p.id, map.nodes[static_cast<std::size_t>(p.node)].name,
                                   spoken(p.sureness), spoken(p.kind));
    if (p.drive)
        text += fmt::format(", {}", p.drive->name);
    if (!p.head.empty())
        text += fmt::format(", head {}", p.head);
    const std::size_t alike = proposals.alike[static_cast<std::size_t>(p.alike)].nodes.size();
    if (alike > 1)
        text += fmt::format(", one of {} alike", alike);
    text += "\n";
    for (const std::string& why : p.why)
        text += fmt::format("    {}\n", why);
    return text;
}

nlohmann::ordered_json json_of(const Map& map, const Proposals& proposals, const UnitQuestion& question) {
    const auto name = [&](std::int32_t node) { return map.nodes[static_cast<std::size_t>(node)].name; };
    nlohmann::ordered_json out;
    if (question.ask_scale)
        out["scale"] = question.scale;
    if (question.ask_up)
        out["up"] = name_of(question.up);
    out["proposals"] = nlohmann::ordered_json::array();
    for (const std::size_t i : open_ones_of(map, proposals)) {
        const Proposal& p = proposals.list[i];
        nlohmann::ordered_json one{{"id", p.id},
                                   {"node", name(p.node)},
                                   {"sureness", spoken(p.sureness)},
                                   {"fastener", name_of(p.kind)},
                                   {"number", p.number}};
        if (!p.head.empty())
            one["head"] = p.head;
        if (p.drive)
            one["drive"] = p.drive->name;
        if (p.flats_mm > 0)
            one["flats_mm"] = p.flats_mm;
        one["across_mm"] = p.across_mm;
        if (p.shank_mm > 0)
            one["shank_mm"] = p.shank_mm;
        one["length_mm"] = p.length_mm;
        one["axis"] = {p.axis.x, p.axis.y, p.axis.z};
        one["sold"] = nlohmann::ordered_json::array();
        for (const SizeSold& sold : p.sold)
            one["sold"].push_back({{"size", sold.size}, {"series", sold.series}});
        one["holds"] = nlohmann::ordered_json::array();
        for (const std::int32_t node : p.holds)
            one["holds"].push_back(name(node));
        if (p.rests_on >= 0)
            one["rests_on"] = name(p.rests_on);
        one["alike"] = nlohmann::ordered_json::array();
        for (const std::int32_t node : proposals.alike[static_cast<std::size_t>(p.alike)].nodes)
            if (node != p.node)
                one["alike"].push_back(name(node));
        one["why"] = p.why;
        out["proposals"].push_back(std::move(one));
    }
    return out;
}

/// The proposals that the command line names; nothing, which was said, where it names one that is not there.
std::optional<std::vector<std::size_t>> chosen(const Settings& settings, const Map& map, const Proposals& proposals) {
    std::vector<std::size_t> taken;
    const std::vector<std::size_t> open = open_ones_of(map, proposals);
    const auto named = [&](const std::string& word) {
        std::vector<std::size_t> found;
        for (const std::size_t i : open)
            if (proposals.list[i].id == word ||
                map.nodes[static_cast<std::size_t>(proposals.list[i].node)].name == word)
                found.push_back(i);
        if (found.size() != 1)
            say_error(fmt::format("{}: {} proposals are called {}; `boltwalk propose {}` lists them, each with its id",
                                  settings.map, found.empty() ? "no" : "several", word, settings.map));
        return found.size() == 1 ? std::optional(found[0]) : std::nullopt;
    };
    for (const std::string& word : settings.take) {
        const auto one = named(word);
        if (!one)
            return std::nullopt;
        taken.push_back(*one);
    }
    for (const std::string& word : settings.alike) {
        const auto one = named(word);
        if (!one)
            return std::nullopt;
        for (const std::size_t i : open)
            if (proposals.list[i].alike == proposals.list[*one].alike)
                taken.push_back(i);
    }
    std::sort(taken.begin(), taken.end());
    taken.erase(std::unique(taken.begin(), taken.end()), taken.end());
    return taken;
}

int write(const Settings& settings, const Map& map, const Proposals& proposals, const std::string& file) {
    const auto taken = chosen(settings, map, proposals);
    if (!taken)
        return exit_usage;
    std::vector<Change> changes = changes_of(map, proposals, *taken, settings.thread);
    auto written = write_changes(span_of(file), changes);
    if (written) {
        // Ids as on every first save: a log finds its items by them.
        const auto again = read_map_bytes(span_of(*written), settings.map, folder_of(settings.map));
        if (again)
            written = write_changes(span_of(*written), missing_ids(*again));
    }
    if (!written) {
        say_error(written.error().text);
        return exit_unreadable;
    }
    if (!write_whole(settings.out, *written))
        return exit_unreadable;
    std::string text;
    for (const std::size_t i : *taken)
        text += line_of(map, proposals, proposals.list[i]);
    for (const Change& change : changes)
        if (change.key == "part")
            text += fmt::format("{}: a part, for it is held\n", map.nodes[static_cast<std::size_t>(change.node)].name);
    text += fmt::format("{}: {} taken, {} keys\n", settings.out, taken->size(), changes.size());
    return print_lines(text) ? exit_good : exit_unreadable;
}

int run(const Settings& settings) {
    auto file = bytes_of(settings.map);
    auto map = file ? map_of(settings.map) : std::nullopt;
    if (!map)
        return exit_unreadable;
    const bool taking = !settings.take.empty() || !settings.alike.empty() || settings.all;
    if (settings.out.empty() && taking) {
        say_error("name the file to write with -o: nothing is taken into the map that is read");
        return exit_usage;
    }
    UnitQuestion question = ask_units(make_solids(*map));
    const bool scale_open = question.ask_scale && settings.scale == 0;
    const bool turn_open = question.ask_up && settings.turn.empty();
    if (!settings.out.empty() && (scale_open || turn_open)) {
        say_error(fmt::format("{}: nothing is written before this is answered", settings.map));
        print_lines(question_text(question));
        return exit_findings;
    }
    // What is not answered is looked at as it is proposed, and said so; nothing is written then.
    const double scale = settings.scale > 0 ? settings.scale : question.scale;
    const auto upright = turn_open ? upright_turn(question.up) : rotation_of(settings.turn);
    const bool changed = scale != 1 || upright != upright_turn(UpAxis::y);
    if (changed) {
        auto turned = write_turned(span_of(*file), scale, upright);
        if (!turned) {
            say_error(fmt::format("{}: {}", settings.map, turned.error().text));
            return exit_unreadable;
        }
        auto again = read_map_bytes(span_of(*turned), settings.map, folder_of(settings.map));
        if (!again) {
            say_error(again.error().text);
            return exit_unreadable;
        }
        file = std::move(*turned);
        map = std::move(*again);
    }
    question.ask_scale = scale_open;
    question.ask_up = turn_open;
    // What was taken before is looked at, too: a nut belongs to the joint of its bolt, and ids stay what they were.
    const Map bare = as_scenery(*map);
    const Proposals proposals = find_proposals(make_solids(bare));
    if (!settings.out.empty()) {
        Settings asked = settings;
        if (settings.all)
            for (const std::size_t i : open_ones_of(*map, proposals))
                if (proposals.list[i].sureness == Sureness::fits_table)
                    asked.take.push_back(proposals.list[i].id);
        return write(asked, *map, proposals, *file);
    }
    if (settings.json)
        return print(json_text(json_of(*map, proposals, question))) ? exit_good : exit_unreadable;
    std::string text = question_text(question);
    if (scale_open || turn_open)
        text += "What follows is measured as if that were answered with yes.\n";
    const std::vector<std::size_t> open = open_ones_of(*map, proposals);
    for (const std::size_t i : open)
        text += line_of(*map, proposals, proposals.list[i]);
    text += fmt::format("{} proposals, estimated from shapes alone; each is yours to confirm: --take ID... -o FILE\n",
                        open.size());
    return print_lines(text) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace propose_command

void add_propose(CLI::App& app, int& exit_code) {
    using namespace propose_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("propose", "What in a model looks like a fastener, to be confirmed");
    command->add_option("MAP", settings->map, "a .gltf or .glb file, annotated or not")->required();
    command->add_option("--take", settings->take, "ids (or node names) of proposals to write into the map");
    command->add_option("--all-like", settings->alike, "a node, and every proposal of the same shape");
    command->add_flag("--all-that-fit", settings->all, "every proposal whose sizes fit a standard's table");
    command->add_option("--thread", settings->thread, "the thread of those taken, as the manual has it: M10x1.25");
    command
        ->add_option("--scale", settings->scale,
                     "from the model's units to metres: 0.001 for millimetres, 1 to leave it")
        ->check(CLI::PositiveNumber);
    command->add_option("--turn", settings->turn, "which axis is up in the model")
        ->check(CLI::IsMember({"none", "z-up", "x-up"}));
    command->add_option("-o,--output", settings->out, "the file to write");
    command->add_flag("--json", settings->json, "for a script");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
