#include "viewer/commands/order.hpp"

#include <algorithm>
#include <cstdio>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/job/estimated.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/naming.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace order_command {
namespace {

struct Settings {
    std::string map, part;
    bool refit = false;
    bool least_crawling = false;
    bool json = false;
    bool estimates = true;
};

Finding by_stated_alone(const Map& map, ItemId goal) {
    Finding finding;
    finding.weight = Weight::doubt;
    finding.rule = "estimates-left-out";
    finding.nodes = {map[goal].name};
    finding.what = fmt::format(
        "With what the shapes say no order was found that is only for {}: this one goes by what is stated alone.",
        map[goal].name);
    finding.why = "What is estimated stands in the way of no order.";
    finding.remedy = "Run `boltwalk check`, and mend what it tells of the shapes.";
    return finding;
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    ItemId goal;
    if (!settings.part.empty()) {
        const auto named = find_named(*map, settings.part, Naming::part);
        if (!named) {
            say_error(named.error());
            return exit_usage;
        }
        goal = named->item;
    }
    Job job = settings.estimates ? job_with_shapes(*map) : prepare(*map);
    Proven proven;
    Fewest fewest;
    LeastCrawling crawling;
    Plan strip;
    if (goal) {
        fewest = plan_fewest(job, goal);
        // Measured on the whole job, an estimate may still stand in the way of one part's: what is stated wins.
        if (settings.estimates && weighs(fewest.plan.findings, false))
            if (const Job stated = prepare(*map); !weighs(plan_fewest(stated, goal).plan.findings, false)) {
                job = stated;
                fewest = plan_fewest(job, goal);
                fewest.plan.findings.push_back(by_stated_alone(*map, goal));
            }
        strip = fewest.plan;
        proven.fewest = &fewest;
    } else {
        strip = plan_strip(job);
    }
    if (settings.least_crawling) {
        crawling = plan_least_crawling(job, strip);
        strip = crawling.plan;
        proven.crawling = &crawling;
    }
    Plan plan = settings.refit ? plan_refit(job, strip) : strip;
    if (settings.refit)
        plan.findings.insert(plan.findings.begin(), strip.findings.begin(), strip.findings.end());
    const std::vector<Finding> dropped = findings_of(job, job.dropped);
    plan.findings.insert(plan.findings.end(), dropped.begin(), dropped.end());
    const auto misread = std::count_if(map->findings.begin(), map->findings.end(),
                                       [](const Finding& finding) { return finding.weight == Weight::fault; });
    if (misread > 0) {
        Finding finding;
        finding.weight = Weight::fault;
        finding.rule = "map-has-faults";
        finding.what =
            fmt::format("{} faults were found in reading this map, so the order may leave something out.", misread);
        finding.why = "What cannot be read is as if it were not stated.";
        finding.remedy = "Run `boltwalk check` on it, and mend those first.";
        plan.findings.insert(plan.findings.begin(), std::move(finding));
    }
    const std::string title = fmt::format("{}: {}{}", map->job.empty() ? map->path : map->job,
                                          settings.refit ? "the way back" : "the order down",
                                          goal ? fmt::format(", only for {}", (*map)[goal].name) : "");
    if (!print(settings.json ? plan_json(job, plan, proven) : plan_text(job, plan, title, proven)))
        return exit_unreadable;
    if (!settings.json)
        for (const Finding& finding : plan.findings)
            say_error(fmt::format("{}: {} {}", name_of(finding.weight), finding.what, finding.remedy));
    return weighs(plan.findings, false) ? exit_findings : exit_good;
}

} // namespace
} // namespace order_command

void add_order(CLI::App& app, int& exit_code) {
    using namespace order_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("order", "In which order things come off, or go back");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("--for", settings->part,
                        "only what must come off for this part (node name or title): the fewest items");
    command->add_flag("--least-crawling", settings->least_crawling,
                      "the same things with the fewest changes of place to work from, then of tool");
    command->add_flag("--refit", settings->refit, "the way back, with torques");
    command->add_flag("--estimates,!--no-estimates", settings->estimates,
                      "what the shapes say about reach and ways, beside what is stated; on by default");
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
