#include "viewer/commands/fit.hpp"

#include <algorithm>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/geometry/fit.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace fit_command {
namespace {

using Json = nlohmann::ordered_json;

struct Settings {
    std::string map;
    bool json = false;
};

constexpr const char* words[] = {"enough", "short", "bottoms", "not shown", "not stated"};

const char* word_of(FitVerdict verdict) {
    return words[static_cast<std::size_t>(verdict)];
}

std::string figures(const Solids& solids, const Fit& fit) {
    if (fit.verdict == FitVerdict::not_shown)
        return "the shapes do not show it: " + fit.why;
    if (fit.verdict == FitVerdict::not_stated)
        return fit.why;
    if (fit.unreached >= 0)
        return fmt::format("{:.1f} mm {}, ends {:.1f} mm short of {} (estimated)", fit.stated_mm.value_or(fit.shank_mm),
                           fit.stated_mm ? "stated" : "as modelled", fit.gap_mm, name_of(solids, fit.unreached));
    return fmt::format(
        "{:.1f} mm {}, {:.1f} mm clamped, {:.1f} mm in the thread of {}{} ({}: {:.1f} mm), {} (estimated)",
        fit.stated_mm.value_or(fit.shank_mm), fit.stated_mm ? "stated" : "as modelled", fit.clamped_mm, fit.engaged_mm,
        name_of(solids, fit.thread_in), fit.thread_drawn ? "" : ", which is not drawn but can only be there,",
        fit.wanted_why, fit.wanted_mm,
        fit.room_mm ? fmt::format("{:.1f} mm to the bottom of the hole", *fit.room_mm)
                    : std::string("no bottom of the hole shows"));
}

std::string text_of(const Solids& solids, const Fits& fits) {
    const Map& map = *solids.map;
    std::string out;
    const auto line = [&](const std::string& text) { out += printable(text) + "\n"; };
    line(fmt::format("{}: estimated from the shapes; stated lengths go before modelled ones", map.path));
    // Alike in everything that is printed: one line for them all.
    std::vector<std::pair<std::string, std::vector<ItemId>>> lines;
    for (const Fit& fit : fits.list) {
        std::string text =
            fmt::format("{:<9} {}: {}", word_of(fit.verdict), map[fit.fastener].title, figures(solids, fit));
        const auto same = std::find_if(lines.begin(), lines.end(), [&](const auto& one) { return one.first == text; });
        if (same == lines.end())
            lines.emplace_back(std::move(text), std::vector<ItemId>{fit.fastener});
        else
            same->second.push_back(fit.fastener);
    }
    for (const auto& [text, items] : lines)
        line(items.size() > 1 ? fmt::format("  {} × {}", items.size(), text) : "  " + text);
    for (const Finding& finding : fits.findings) {
        std::string names;
        for (const std::string& name : finding.nodes)
            names += (names.empty() ? "" : ", ") + name;
        line("");
        line(fmt::format("{:<6} {}: {}", finding.weight == Weight::note ? "NOTE" : "DOUBT", finding.rule, names));
        line("       " + finding.what);
        line("       Why: " + finding.why);
        line("       Mend: " + finding.remedy);
    }
    return out;
}

std::string json_of(const Solids& solids, const Fits& fits) {
    const Map& map = *solids.map;
    Json root;
    root["map"] = map.path;
    root["estimated"] = Json::array();
    for (const Fit& fit : fits.list) {
        // What was not measured is null, never 0.
        const bool reached = fit.unreached < 0;
        const auto measured = [](bool is, double mm) { return is ? Json(mm) : Json(); };
        const bool in_thread = reached && fit.thread_in >= 0 && fit.verdict != FitVerdict::not_shown;
        Json one;
        one["fastener"] = map[fit.fastener].name;
        one["verdict"] = word_of(fit.verdict);
        one["why"] = fit.why;
        one["diameter_mm"] = measured(fit.diameter_mm > 0, fit.diameter_mm);
        one["shank_mm"] = measured(fit.shank_mm > 0, fit.shank_mm);
        one["stated_mm"] = fit.stated_mm ? Json(*fit.stated_mm) : Json();
        one["clamped_mm"] = measured(in_thread, fit.clamped_mm);
        one["engaged_mm"] = measured(in_thread, fit.engaged_mm);
        one["wanted_mm"] = measured(in_thread, fit.wanted_mm);
        one["wanted_why"] = fit.wanted_why;
        one["room_mm"] = fit.room_mm ? Json(*fit.room_mm) : Json();
        one["thread_drawn"] = fit.thread_drawn;
        one["unreached"] = reached ? Json() : Json(name_of(solids, fit.unreached));
        one["unreached_by_mm"] = measured(!reached, fit.gap_mm);
        one["thread_in"] = fit.thread_in >= 0 ? Json(name_of(solids, fit.thread_in)) : Json();
        root["estimated"].push_back(std::move(one));
    }
    root["findings"] = Json::array();
    for (const Finding& f : fits.findings)
        root["findings"].push_back(finding_json(f));
    return json_text(root);
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const Solids solids = make_solids(*map);
    const Fits fits = fit_of(solids);
    return print(settings.json ? json_of(solids, fits) : text_of(solids, fits)) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace fit_command

void add_fit(CLI::App& app, int& exit_code) {
    using namespace fit_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand(
        "fit", "Is a bolt long enough for what it clamps, or too long for its hole: estimated from the shapes");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
