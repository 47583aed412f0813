#include "viewer/commands/report.hpp"

#include <algorithm>
#include <cstdio>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/job/estimated.hpp"
#include "core/map/keys.hpp"

namespace boltwalk {

using Json = nlohmann::ordered_json;

namespace {

void line(std::string& out, const std::string& text) {
    out += printable(text);
    out += '\n';
}

std::string join(const std::vector<std::string>& list, const char* between) {
    std::string out;
    for (const std::string& text : list)
        out += (out.empty() ? "" : between) + text;
    return out;
}

std::string count_words(std::size_t count, const char* word) {
    return fmt::format("{} {}{}", count, word, count == 1 ? "" : "s");
}

std::size_t count_weight(const std::vector<Finding>& findings, Weight weight) {
    return static_cast<std::size_t>(
        std::count_if(findings.begin(), findings.end(), [&](const Finding& f) { return f.weight == weight; }));
}

Json names_of(const Map& map, const std::vector<ItemId>& items) {
    Json list = Json::array();
    for (const ItemId id : items)
        list.push_back(map[id].name);
    return list;
}

void hardware_lines(std::string& out, const StepCard& card) {
    for (const Hardware& h : card.hardware) {
        std::vector<std::string> facts;
        for (const std::string& fact :
             {h.size, h.tool, h.grade.empty() ? std::string() : "grade " + h.grade, h.torque, h.extra})
            if (!fact.empty())
                facts.push_back(fact);
        line(out, fmt::format("      {} × {}{}{}", h.count, h.kind, facts.empty() ? "" : ": ", join(facts, ", ")));
    }
}

void step_lines(std::string& out, const Job& job, const Plan& plan, std::size_t index) {
    const StepCard card = card_of(job, plan, index);
    line(out, fmt::format("{:>4}  {}{}", index + 1, card.headline, card.gate ? "   [confirm]" : ""));
    for (const std::string& caution : card.cautions)
        line(out, "      CAUTION: " + caution);
    hardware_lines(out, card);
    std::vector<std::string> where;
    if (!card.from.empty())
        where.push_back(card.from);
    if (card.people > 1)
        where.push_back(fmt::format("{} people", card.people));
    if (!card.vehicle.empty())
        where.push_back("vehicle: " + card.vehicle);
    if (card.by_rules)
        where.emplace_back("asked for by the rules");
    if (!where.empty())
        line(out, "      " + join(where, " | "));
    for (const std::string& note : card.notes)
        line(out, "      " + note);
    if (!card.why.empty())
        line(out, "      Why now: " + why_in_words(card));
    if (!card.frees.empty())
        line(out, fmt::format("      {}: {}", plan.refit ? "Then" : "Then free", card.frees));
    if (!card.source.empty())
        line(out, "      Source: " + card.source);
}

} // namespace

// Pure ASCII, for the same reason as printable(). nlohmann throws on text that is no UTF-8; a map's text is, but a path
// on the command line need not be.
std::string json_text(const nlohmann::ordered_json& json) {
    std::string out;
    for (const char c : json.dump(2, ' ', true, Json::error_handler_t::replace) + "\n")
        out += c == '\x7f' ? std::string("\\u007f") : std::string(1, c);
    return out;
}

void say_error(const std::string& text) {
    std::fprintf(stderr, "boltwalk: %s\n", printable(text).c_str());
}

bool print(const std::string& text) {
    const bool written = std::fputs(text.c_str(), stdout) >= 0;
    const bool flushed = std::fflush(stdout) == 0;
    if (!written || !flushed)
        say_error("the output cannot be written; is there room?");
    return written && flushed;
}

std::string no_such_item(const Map& map, const std::string& name, const char* kind) {
    const std::string wanted = kind;
    std::string near;
    std::size_t least = name.size() / 2 + 1;
    for (const Item& item : map.items) {
        if (wanted == "part" && item.kind != ItemKind::part)
            continue;
        const std::size_t distance = edit_distance(name, item.name, least);
        if (distance < least) {
            least = distance;
            near = item.name;
        }
    }
    return fmt::format("{}: no {} has the node name or title {}{}", map.path, kind, name,
                       near.empty() ? "; names are those of the model's nodes"
                                    : fmt::format("; did you mean {}?", near));
}

std::string_view name_of(Weight weight) {
    switch (weight) {
    case Weight::fault:
        return "fault";
    case Weight::doubt:
        return "doubt";
    case Weight::note:
        return "note";
    }
    return "";
}

std::string_view name_of(Verb verb) {
    constexpr std::string_view names[] = {"set-vehicle", "do-task",  "soak",   "mark",     "unload",   "prop",
                                          "prove",       "drain",    "loosen", "take-out", "let-down", "set-aside",
                                          "take-off",    "transfer", "fit",    "put-back", "raise",    "start",
                                          "seat",        "tighten",  "fill",   "unprop",   "mate"};
    return names[static_cast<std::size_t>(verb)];
}

std::string counts_of(const Map& map) {
    return fmt::format("{} in {}, {}, {}", count_words(map.fasteners.size(), "fastener"),
                       count_words(map.groups.size(), "group"), count_words(map.parts.size(), "part"),
                       count_words(map.tasks.size(), "task"));
}

std::string findings_text(const Map& map, const std::vector<Finding>& findings) {
    std::string out;
    line(out, fmt::format("{}: {}", map.path, counts_of(map)));
    for (const Finding& f : findings) {
        constexpr const char* words[] = {"FAULT", "DOUBT", "NOTE"};
        out += '\n';
        line(out, fmt::format("{:<6} {}{}{}", words[static_cast<std::size_t>(f.weight)], f.rule,
                              f.nodes.empty() ? "" : ": ", join(f.nodes, ", ")));
        line(out, "       " + f.what);
        if (!f.key.empty())
            line(out, fmt::format("       key {}{}{}", f.key, f.value.empty() ? "" : " = ", f.value));
        if (!f.why.empty())
            line(out, "       Why: " + f.why);
        if (!f.remedy.empty())
            line(out, "       Mend: " + f.remedy);
    }
    if (!findings.empty())
        out += '\n';
    line(out, fmt::format("{}, {}, {}", count_words(count_weight(findings, Weight::fault), "fault"),
                          count_words(count_weight(findings, Weight::doubt), "doubt"),
                          count_words(count_weight(findings, Weight::note), "note")));
    return out;
}

nlohmann::ordered_json finding_json(const Finding& f) {
    return {{"weight", name_of(f.weight)},
            {"rule", f.rule},
            {"nodes", f.nodes},
            {"key", f.key},
            {"value", f.value},
            {"what", f.what},
            {"why", f.why},
            {"remedy", f.remedy}};
}

std::string findings_json(const Map& map, const std::vector<Finding>& findings) {
    Json root;
    root["map"] = map.path;
    root["job"] = map.job;
    root["fasteners"] = map.fasteners.size();
    root["groups"] = map.groups.size();
    root["parts"] = map.parts.size();
    root["tasks"] = map.tasks.size();
    root["findings"] = Json::array();
    for (const Finding& f : findings)
        root["findings"].push_back(finding_json(f));
    return json_text(root);
}

bool weighs(const std::vector<Finding>& findings, bool strict) {
    return count_weight(findings, Weight::fault) > 0 || (strict && count_weight(findings, Weight::doubt) > 0);
}

std::string holds_json(const Map& map, const std::string& item, std::size_t step, const std::string& standing,
                       const std::vector<Held>& held) {
    Json root;
    root["item"] = item;
    root["after_step"] = step;
    root["standing"] = standing;
    root["held_by"] = Json::array();
    for (const Held& one : held)
        root["held_by"].push_back({{"node", map[one.by].name}, {"rule", name_of(one.rule)}});
    return json_text(root);
}

namespace {

/// "the fewest" and "least" only where it is proven, else how far the proof goes.
void proven_lines(std::string& out, const Proven& proven) {
    if (const Fewest* fewest = proven.fewest) {
        const std::string count = count_words(fewest->items.size(), "item");
        if (fewest->proven)
            line(out, fmt::format("{} come off before it: the fewest, proven", count));
        else
            line(out, fmt::format("{} come off before it: not proven the fewest, at least {} must", count,
                                  fewest->at_least));
        if (!fewest->also.empty())
            line(out,
                 fmt::format("{} more that these lay bare come along (washers, rings, gaskets)", fewest->also.size()));
    }
    if (const LeastCrawling* crawling = proven.crawling) {
        const auto [place, tool] = crawling->changes;
        line(out, fmt::format("{} of place to work from ({})", count_words(static_cast<std::size_t>(place), "change"),
                              crawling->proven_place ? "proven least"
                                                     : fmt::format("at least {}", crawling->at_least.place)));
        // Among orders with more changes of place there may be fewer of tool: that bound says nothing then.
        const bool bound = crawling->proven_place && !crawling->proven;
        line(out, fmt::format("{} of tool ({})", count_words(static_cast<std::size_t>(tool), "change"),
                              crawling->proven ? "proven least with so few changes of place"
                              : bound ? fmt::format("at least {} with so few changes of place", crawling->at_least.tool)
                                      : "not proven"));
    }
}

} // namespace

std::string plan_text(const Job& job, const Plan& plan, const std::string& title, const Proven& proven) {
    std::string out;
    line(out, title);
    proven_lines(out, proven);
    line(out,
         fmt::format("{}, {}", count_words(plan.steps.size(), "step"),
                     plan.by_author ? "in the author's order, completed by the rules" : "worked out from the rules"));
    out += '\n';
    for (const std::string& caution : standing_cautions(*job.map))
        line(out, "CAUTION: " + caution);
    for (const std::string& caution : job.map->cautions)
        line(out, "CAUTION: " + caution);
    out += '\n';
    for (std::size_t i = 0; i < plan.steps.size(); ++i)
        step_lines(out, job, plan, i);
    return out;
}

std::string plan_json(const Job& job, const Plan& plan, const Proven& proven) {
    const Map& map = *job.map;
    Json root;
    root["map"] = map.path;
    root["job"] = map.job;
    root["way"] = plan.refit ? "refit" : "strip";
    root["by_author"] = plan.by_author;
    if (const Fewest* fewest = proven.fewest)
        root["fewest"] = {{"items", names_of(map, fewest->items)},
                          {"also", names_of(map, fewest->also)},
                          {"at_least", fewest->at_least},
                          {"proven", fewest->proven}};
    if (const LeastCrawling* crawling = proven.crawling)
        root["least_crawling"] = {
            {"changes_of_place", crawling->changes.place},   {"changes_of_tool", crawling->changes.tool},
            {"at_least_of_place", crawling->at_least.place}, {"at_least_of_tool", crawling->at_least.tool},
            {"proven_place", crawling->proven_place},        {"proven", crawling->proven}};
    Json cautions = standing_cautions(map);
    for (const std::string& caution : map.cautions)
        cautions.push_back(caution);
    root["cautions"] = std::move(cautions);
    root["steps"] = Json::array();
    for (std::size_t i = 0; i < plan.steps.size(); ++i) {
        const Step& step = plan.steps[i];
        const StepCard card = card_of(job, plan, i);
        Json one;
        one["number"] = i + 1;
        one["action"] = name_of(step.verb);
        one["headline"] = card.headline;
        one["items"] = names_of(map, step.items);
        one["hardware"] = Json::array();
        for (const Hardware& h : card.hardware)
            one["hardware"].push_back({{"count", h.count},
                                       {"kind", h.kind},
                                       {"size", h.size},
                                       {"drive", h.drive},
                                       {"tool", h.tool},
                                       {"grade", h.grade},
                                       {"torque", h.torque},
                                       {"extra", h.extra},
                                       {"items", names_of(map, h.items)}});
        one["from"] = name_of(step.from);
        one["people"] = card.people;
        one["vehicle"] = card.vehicle;
        one["cautions"] = card.cautions;
        one["notes"] = card.notes;
        one["photos"] = Json::array();
        for (const std::int32_t photo : card.photos)
            one["photos"].push_back(map.photos[static_cast<std::size_t>(photo)].name);
        one["why"] = card.why;
        one["why_rule"] = card.why.empty() || step.why.empty() ? "" : name_of(step.why_rule);
        one["why_from"] = card.why.empty() ? "" : card.estimated ? "estimated" : "stated";
        one["frees"] = names_of(map, step.frees);
        one["source"] = card.source;
        one["gate"] = card.gate;
        one["by_rules"] = card.by_rules;
        root["steps"].push_back(std::move(one));
    }
    root["findings"] = Json::array();
    for (const Finding& f : plan.findings)
        root["findings"].push_back(finding_json(f));
    return json_text(root);
}

} // namespace boltwalk
