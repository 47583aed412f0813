#include "viewer/commands/reach.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/geometry/geometry.hpp"
#include "core/job/estimated.hpp"
#include "core/job/shapes.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"
#include "viewer/commands/tool_list.hpp"

namespace boltwalk {

namespace reach_command {
namespace {

using Json = nlohmann::ordered_json;

struct Settings {
    std::string map, tools;
    std::size_t step = 0;
    bool json = false;
};

/// One use of one fastener in the state asked about.
struct Line {
    ItemId item;
    Use use = Use::turn;
    ReachAnswer answer;
    std::optional<std::size_t> later; ///< blocked now: the first step after which it is reached, before it comes out
};

/// The order takes it out at this step, and no tool was found that does.
struct Contradiction {
    std::size_t step = 0;
    Line line;
};

struct Worked {
    const Map& map;
    const Job& job;
    const Plan& plan;
    const Solids& solids;
    Reach reach;
    std::vector<Line> lines;
    std::vector<Contradiction> against;
    std::size_t own_steps = 0; ///< fasteners that the order turns, each looked at at its own step
};

bool takes_out(Verb verb) {
    return verb == Verb::take_out || verb == Verb::loosen || verb == Verb::prove;
}

bool is_out(const Map& map, const State& state, ItemId fastener) {
    const FastenerState is = state.fasteners[static_cast<std::size_t>(map[fastener].detail)];
    return is == FastenerState::out || is == FastenerState::slack;
}

constexpr Use uses[] = {Use::turn, Use::hold, Use::loosen, Use::tighten};

std::vector<ItemId> fasteners_of(const Map& map) {
    std::vector<ItemId> list;
    for (const Fastener& fastener : map.fasteners)
        list.push_back(fastener.item);
    return list;
}

/// Everything in the state after so many steps, and when the rest comes within reach.
void judge_all(Worked& worked, std::size_t step) {
    State state = as_found(worked.job);
    for (std::size_t i = 0; i < step; ++i)
        apply_step(worked.job, state, worked.plan.steps[i]);
    const Arrangement now = arrange(worked.job, worked.solids, state);
    for (const ItemId id : fasteners_of(worked.map))
        for (const Use use : uses) {
            Line line{id, use, judge_reach(worked.reach, id, use, now), {}};
            if (line.answer.reached >= 0 && !is_out(worked.map, state, id))
                worked.lines.push_back(line);
        }
    for (std::size_t i = step; i < worked.plan.steps.size(); ++i) {
        apply_step(worked.job, state, worked.plan.steps[i]);
        const Arrangement then = arrange(worked.job, worked.solids, state);
        for (Line& line : worked.lines)
            if (line.answer.verdict == Verdict::blocked && !line.later && !is_out(worked.map, state, line.item) &&
                judge_reach(worked.reach, line.item, line.use, then).verdict == Verdict::free)
                line.later = i + 1;
    }
}

/// At the step at which each comes out: does a tool reach it, with what else comes out at that step out of the way?
void judge_order(Worked& worked) {
    State state = as_found(worked.job);
    for (std::size_t i = 0; i < worked.plan.steps.size(); ++i) {
        const Step& step = worked.plan.steps[i];
        if (takes_out(step.verb)) {
            for (const ItemId id : step.items) {
                if (!worked.map.is_fastener(id))
                    continue;
                Arrangement alone = arrange_about(worked.job, worked.solids, state, id);
                for (const ItemId other : step.items)
                    if (const std::int32_t body = worked.solids.body_of[static_cast<std::size_t>(other.index)];
                        other != id && body >= 0 && worked.map.is_fastener(other))
                        alone.there[static_cast<std::size_t>(body)] = 0;
                for (const Use use : {Use::turn, Use::hold}) {
                    const Line line{id, use, judge_reach(worked.reach, id, use, alone), {}};
                    worked.own_steps += line.answer.grip == Grip::tool ? 1U : 0U;
                    if (line.answer.verdict == Verdict::blocked)
                        worked.against.push_back({i + 1, line});
                }
            }
        }
        apply_step(worked.job, state, step);
    }
}

// ------------------------------------------------------------------------------------------------------------ words

std::string list_of(const std::vector<std::string>& names) {
    std::string text;
    std::vector<std::string> told;
    for (const std::string& name : names) {
        if (std::find(told.begin(), told.end(), name) != told.end())
            continue;
        told.push_back(name);
        text += (text.empty() ? "" : ", ") + name;
    }
    return text;
}

std::string in_the_way(const Worked& worked, const ReachAnswer& answer) {
    std::vector<std::string> names;
    for (const std::int32_t body : answer.blocked_by)
        names.push_back(name_of(worked.solids, body));
    return list_of(names);
}

/// Of one fastener, or from the least to the greatest of several.
std::string swing_text(int least, int greatest) {
    if (least == 0)
        return "";
    if (least >= reach_directions - 1)
        return ", all the way round";
    const double low = std::floor(least * reach_step_deg);
    const double high = std::floor(greatest * reach_step_deg);
    if (greatest >= reach_directions - 1)
        return fmt::format(", swing {:.0f} degrees to all the way round", low);
    return low == high ? fmt::format(", swing {:.0f} degrees", low)
                       : fmt::format(", swing {:.0f} to {:.0f} degrees", low, high);
}

std::string where_of(const Worked& worked, ItemId item) {
    const Place place = worked.map[item].from;
    return place == Place::not_stated ? "" : fmt::format(", from {} (stated)", name_of(place));
}

/// What is said of a line without its name, so that alike ones go together.
std::string said_of(const Worked& worked, const Line& line, bool with_step) {
    const ReachAnswer& answer = line.answer;
    switch (answer.grip) {
    case Grip::not_stated:
        return "its drive is not stated";
    case Grip::not_owned:
        return "not in the tool list: " + worked.reach.list[static_cast<std::size_t>(answer.reached)].missing;
    case Grip::no_shape:
        return "it has no shape on the map";
    default:
        break;
    }
    const std::string tool = tool_of(worked.reach, answer);
    if (answer.verdict == Verdict::free)
        return tool;
    std::string text = fmt::format("in the way: {} (of {})", in_the_way(worked, answer), tool);
    if (with_step)
        text += line.later ? fmt::format("; estimated to be reached after step {}", *line.later)
                           : "; at no step before it comes out";
    return text;
}

std::string title_of(const Map& map, ItemId item) {
    return map[item].title.empty() ? map[item].name : map[item].title;
}

/// What comes behind the swing.
std::string tail_of(const Worked& worked, const Line& line) {
    const ReachAnswer& answer = line.answer;
    if (answer.verdict != Verdict::free)
        return "";
    return (answer.force_n > 0
                ? fmt::format(", {:.0f} N at the hand{}", answer.force_n,
                              answer.force_n > hand_force_n ? ", nothing longer was found that fits" : "")
                : "") +
           where_of(worked, line.item);
}

struct Alike {
    std::string title, said, tail;
    int least = 0, greatest = 0; ///< swing, of those that are reached
    std::vector<std::string> names;
};

std::vector<Alike> alike(const Worked& worked, const std::vector<Line>& lines, bool with_step) {
    std::vector<Alike> list;
    for (const Line& line : lines) {
        const int swing = line.answer.verdict == Verdict::free ? line.answer.swing : 0;
        Alike one{
            title_of(worked.map, line.item), said_of(worked, line, with_step), tail_of(worked, line), swing, swing,
            {worked.map[line.item].name}};
        const auto same = std::find_if(list.begin(), list.end(), [&](const Alike& a) {
            return a.title == one.title && a.said == one.said && a.tail == one.tail && (a.least == 0) == (swing == 0);
        });
        if (same == list.end()) {
            list.push_back(std::move(one));
            continue;
        }
        same->names.push_back(one.names[0]);
        same->least = std::min(same->least, swing);
        same->greatest = std::max(same->greatest, swing);
    }
    return list;
}

void print_list(std::string& out, const std::vector<Alike>& list) {
    for (const Alike& one : list) {
        out += printable(fmt::format("  {}{}: {}", one.title,
                                     one.names.size() > 1 ? fmt::format(" ({})", one.names.size()) : "",
                                     one.said + swing_text(one.least, one.greatest) + one.tail)) +
               "\n";
        std::string names;
        for (const std::string& name : one.names)
            names += (names.empty() ? "" : ", ") + name;
        if (names != one.title)
            out += printable("      " + names) + "\n";
    }
}

void section(std::string& out, const Worked& worked, const std::string& title, bool with_step,
             const std::function<bool(const Line&)>& wanted) {
    std::vector<Line> lines;
    std::copy_if(worked.lines.begin(), worked.lines.end(), std::back_inserter(lines), wanted);
    if (lines.empty())
        return;
    out += "\n" + printable(title) + "\n";
    print_list(out, alike(worked, lines, with_step));
}

std::string text_of(const Worked& worked, const Settings& settings, const ToolBox& box) {
    const auto count = [&](const std::function<bool(const Line&)>& wanted) {
        return std::count_if(worked.lines.begin(), worked.lines.end(), wanted);
    };
    const auto turned = [](const Line& line) { return line.use == Use::turn && line.answer.grip == Grip::tool; };
    std::string out =
        printable(fmt::format("{}, {}: estimated from the shapes, with the tools of {}", worked.map.path,
                              settings.step == 0 ? "as found" : fmt::format("after step {}", settings.step),
                              settings.tools.empty() ? "an ordinary home box" : box.name)) +
        "\n";
    out +=
        fmt::format("{} fasteners to turn or get hold of: {} reached, {} not; {} more cannot be judged\n",
                    count(turned), count([&](const Line& l) { return turned(l) && l.answer.verdict == Verdict::free; }),
                    count([&](const Line& l) { return turned(l) && l.answer.verdict == Verdict::blocked; }),
                    count([&](const Line& l) {
                        return l.use == Use::turn && l.answer.grip != Grip::tool && l.answer.grip != Grip::nothing;
                    }));
    const auto blocked = [](Use use) {
        return [use](const Line& l) { return l.use == use && l.answer.verdict == Verdict::blocked; };
    };
    const auto free = [](Use use) {
        return [use](const Line& l) { return l.use == use && l.answer.verdict == Verdict::free; };
    };
    section(out, worked, "not reached:", true, blocked(Use::turn));
    section(out, worked, "the other side cannot be held:", true, blocked(Use::hold));
    section(out, worked, "cannot be judged:", false, [](const Line& l) {
        return l.use != Use::loosen && l.answer.grip != Grip::tool && l.answer.grip != Grip::nothing;
    });
    section(out, worked, "reached:", false, free(Use::turn));
    section(out, worked, "held on the other side:", false, free(Use::hold));
    section(
        out, worked,
        "broken loose (force: the torque stated for the refit over the lever; how tight it has become nobody knows):",
        false, free(Use::loosen));
    section(out, worked, "no room to break it loose:", true, blocked(Use::loosen));
    section(out, worked, "brought to its torque on the way back:", false, free(Use::tighten));
    section(out, worked, "no room for a torque wrench:", true, blocked(Use::tighten));
    out += "\n" +
           printable(fmt::format("in the order, at the step at which each comes out: {} of {} reached",
                                 worked.own_steps - worked.against.size(), worked.own_steps)) +
           "\n";
    for (const Contradiction& one : worked.against)
        out += printable(fmt::format(
                   "  step {}, {} ({}){}: the order takes it out, and no tool was found that reaches it; {}", one.step,
                   title_of(worked.map, one.line.item), worked.map[one.line.item].name,
                   one.line.use == Use::hold ? ", the other side" : "", said_of(worked, one.line, false))) +
               "\n";
    return out;
}

Json line_json(const Worked& worked, const Line& line) {
    constexpr const char* use_words[] = {"turn", "hold", "loosen", "tighten"};
    constexpr const char* verdicts[] = {"free", "blocked", "undecided"};
    constexpr const char* grips[] = {"tool", "nothing", "drive not stated", "not in the tool list", "no shape"};
    const ReachAnswer& answer = line.answer;
    Json one;
    one["fastener"] = worked.map[line.item].name;
    one["use"] = use_words[static_cast<std::size_t>(line.use)];
    one["grip"] = grips[static_cast<std::size_t>(answer.grip)];
    if (answer.grip == Grip::not_owned)
        one["missing"] = worked.reach.list[static_cast<std::size_t>(answer.reached)].missing;
    if (answer.grip != Grip::tool)
        return one;
    one["estimated"] = verdicts[static_cast<std::size_t>(answer.verdict)];
    one["tool"] = tool_of(worked.reach, answer);
    one["swing_deg"] = answer.swing * reach_step_deg;
    if (answer.force_n > 0)
        one["force_n"] = answer.force_n;
    if (answer.verdict == Verdict::blocked) {
        one["in_the_way"] = Json::array();
        for (const std::int32_t body : answer.blocked_by) {
            const Body& b = worked.solids.bodies[static_cast<std::size_t>(body)];
            one["in_the_way"].push_back(b.item ? worked.map[b.item].name
                                               : worked.map.nodes[static_cast<std::size_t>(b.node)].name);
        }
        one["reached_after_step"] = line.later ? Json(*line.later) : Json();
    }
    return one;
}

std::string json_of(const Worked& worked, const Settings& settings, const ToolBox& box) {
    Json root;
    root["map"] = worked.map.path;
    root["estimated"] = true;
    root["after_step"] = settings.step;
    root["tools"] = box.name;
    root["reach"] = Json::array();
    for (const Line& line : worked.lines)
        if (line.answer.grip != Grip::nothing)
            root["reach"].push_back(line_json(worked, line));
    root["against_the_order"] = Json::array();
    for (const Contradiction& one : worked.against) {
        Json json = line_json(worked, one.line);
        json.erase("reached_after_step");
        json["step"] = one.step;
        root["against_the_order"].push_back(std::move(json));
    }
    return json_text(root);
}

int run(const Settings& settings) {
    const std::optional<ToolBox> box = tools_from(settings.tools);
    if (!box)
        return exit_unreadable;
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    Measured measured = job_and_shapes(*map, true);
    const Job& job = measured.job;
    const Plan plan = plan_strip(job);
    if (settings.step > plan.steps.size()) {
        say_error(fmt::format("--step {}: the order down has {} steps", settings.step, plan.steps.size()));
        return exit_usage;
    }
    Worked worked{*map, job, plan, measured.solids, {}, {}, {}, 0};
    // What the order was made with is good for its answers, too, where tools and lowered places are the same.
    const std::vector<LoweredCase> cases = lowered_cases(job, worked.solids, plan);
    const bool known = settings.tools.empty() && std::equal(cases.begin(), cases.end(), measured.cases.begin(),
                                                            measured.cases.end(), [](const auto& a, const auto& b) {
                                                                return a.parts == b.parts && a.shift == b.shift;
                                                            });
    worked.reach = known ? std::move(measured.reach) : find_reach(worked.solids, cases, *box);
    judge_all(worked, settings.step);
    judge_order(worked);
    return print(settings.json ? json_of(worked, settings, *box) : text_of(worked, settings, *box)) ? exit_good
                                                                                                    : exit_unreadable;
}

} // namespace
} // namespace reach_command

void add_reach(CLI::App& app, int& exit_code) {
    using namespace reach_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command =
        app.add_subcommand("reach", "Which tool gets on each fastener and can turn it: estimated from the shapes");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("--step", settings->step, "after so many steps of the order down; 0 is as found");
    command->add_option("--tools", settings->tools, "a text file of the tools owned, one a line; else a home box");
    command->add_flag("--json", settings->json, "as JSON");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
