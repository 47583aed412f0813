// What speaks against a stated torque. Never what it should be instead: that stands in the manual.
#include <algorithm>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "core/job/inside.hpp"
#include "core/job/tightening.hpp"

namespace boltwalk {

using namespace inside;

namespace {

/// Below this share of what its class allows a torque is doubted (our own figure, no source: a unit mixed up with
/// lbf·in is a ninth or a twelfth).
constexpr double too_little = 0.1;
/// VDI 2230 tightens to 90 % of yield at the most: what a class allows.
constexpr double allowed_share = 0.9;
/// Between these shares of yield, at the usual friction, ordinary torques lie (common practice, no source).
constexpr double ordinary_least = 0.3, ordinary_most = 1.0;

bool clamps(FastenerKind kind) {
    return kind == FastenerKind::bolt || kind == FastenerKind::screw || kind == FastenerKind::stud || is_nut(kind);
}

/// Of a fastener and the others of its joint: the weakest whose class is stated.
std::optional<Strength> weakest(const Job& job, ItemId item, const Thread& thread) {
    const Map& map = *job.map;
    std::optional<Strength> found;
    const auto take = [&](const Fastener& fastener) {
        if (!clamps(fastener.kind) || (fastener.thread && fastener.thread->name != thread.name))
            return;
        const auto strength =
            is_nut(fastener.kind) ? strength_of_nut(fastener.grade, thread) : strength_of_bolt(fastener.grade, thread);
        if (strength && (!found || strength->yield_mpa < found->yield_mpa))
            found = strength;
    };
    take(map.fastener(item));
    for (const ItemId id : job.joint[slot(job, item)])
        take(map.fastener(id));
    return found;
}

/// The one torque that a bolt ends at; none where an angle comes in.
std::optional<TorqueStage> last_torque(const Fastener& fastener) {
    if (!fastener.torque)
        return std::nullopt;
    std::optional<TorqueStage> last;
    for (const TorqueStage& stage : fastener.torque->stages) {
        if (stage.has_angle)
            return std::nullopt;
        last = stage;
    }
    return last;
}

double use_at_usual(const ClampEstimate& clamp, const Thread& thread, double torque_nm) {
    return utilisation(thread, clamp.strength->yield_mpa, clamp_for_torque_n(thread, torque_nm, usual_friction),
                       usual_friction);
}

/// The units that get mixed up with one another: the figure is copied, the unit is not.
std::optional<TorqueUnit> mixed_up_with(const ClampEstimate& clamp, const Thread& thread, TorqueUnit stated) {
    using U = TorqueUnit;
    constexpr std::pair<U, U> pairs[] = {
        {U::pound_force_foot, U::newton_metre},
        {U::newton_metre, U::pound_force_foot},
        {U::pound_force_foot, U::pound_force_inch},
        {U::pound_force_inch, U::pound_force_foot},
    };
    const double figure = torque_in(stated, clamp.torque_nm);
    for (const auto& [from, to] : pairs) {
        if (from != stated)
            continue;
        const double use = use_at_usual(clamp, thread, torque_to_nm(to, figure));
        if (use >= ordinary_least && use <= ordinary_most)
            return to;
    }
    return std::nullopt;
}

Finding doubt(const char* rule, const Fastener& fastener, std::string what, std::string why) {
    Finding f;
    f.weight = Weight::doubt;
    f.rule = rule;
    f.key = "torque";
    f.value = fastener.torque->text;
    f.what = std::move(what);
    f.why = std::move(why);
    f.remedy = "Look at the figure and its unit in the source once more.";
    return f;
}

std::string percent(double share) {
    return fmt::format("{} %", print_number(100 * share, 0));
}

/// "bolt_1 (M8, 8.8)"; the class is that of the weakest of the joint.
std::string subject_of(const Map& map, const Fastener& fastener, const ClampEstimate& clamp) {
    return fmt::format("{} ({}, {})", map[fastener.item].name, fastener.thread->name, clamp.strength->name);
}

std::optional<Finding> judge_one(const Map& map, const Fastener& fastener, const ClampEstimate& clamp) {
    const Thread& thread = *fastener.thread;
    const double allowed = torque_for_clamp_nm(
        thread, clamp_at_share_n(thread, clamp.strength->yield_mpa, allowed_share, low_friction), low_friction);
    const bool low = clamp.torque_nm < too_little * allowed;
    const bool high = clamp.least_use > 1;
    const double usual = use_at_usual(clamp, thread, clamp.torque_nm);
    const std::string subject = subject_of(map, fastener, clamp);
    const std::string& text = fastener.torque->text;
    if (low || high || usual > 1)
        if (const auto unit = mixed_up_with(clamp, thread, fastener.torque->unit))
            // The unit without the figure: a torque that nobody stated must not stand where it might be used.
            return doubt("unit-mixed-up", fastener,
                         fmt::format("{}: {} is {}; it looks as if its unit were {}.", subject, text,
                                     low    ? "under a tenth of what its class allows"
                                     : high ? "beyond its yield even at a high friction"
                                            : "beyond its yield at the usual friction",
                                     torque_unit_sign(*unit)),
                         "With that unit it would be an ordinary one. Estimated, from the class alone.");
    if (high)
        return doubt(
            "beyond-yield", fastener,
            fmt::format("{}: {} stretches it beyond its yield, to {} of it at a friction of {} and to {} at {}.",
                        subject, text, percent(clamp.least_use), print_number(high_friction), percent(clamp.most_use),
                        print_number(low_friction)),
            "A bolt that yields in the torque alone lets go later. Estimated.");
    if (low)
        return doubt("torque-too-low", fastener,
                     fmt::format("{}: {} is under a tenth of what its class allows.", subject, text),
                     "Either it clamps little for a reason, or a figure or a unit is wrong. Estimated.");
    return std::nullopt;
}

/// Two torques of which one is the other's figure with another unit: 22 N·m and 22 lbf·ft.
bool one_figure_two_units(const TorqueSpec& a, const TorqueSpec& b) {
    if (a.unit == b.unit || a.stages.size() != b.stages.size())
        return false;
    for (std::size_t i = 0; i < a.stages.size(); ++i) {
        if (!a.stages[i].has_torque || !b.stages[i].has_torque)
            return false;
        const double difference = torque_in(a.unit, a.stages[i].high_nm) - torque_in(b.unit, b.stages[i].high_nm);
        if (difference > 1e-6 || difference < -1e-6)
            return false;
    }
    return true;
}

/// One is the other converted into lbf·ft, and its unit left as it was: 22 N·m and 16 N·m.
bool converted_and_unit_kept(const TorqueSpec& a, const TorqueSpec& b) {
    if (a.unit != b.unit || a.unit != TorqueUnit::newton_metre || a.stages.size() != 1 || b.stages.size() != 1)
        return false;
    const double more = std::max(a.stages[0].high_nm, b.stages[0].high_nm);
    const double less = std::min(a.stages[0].high_nm, b.stages[0].high_nm);
    const double converted = torque_in(TorqueUnit::pound_force_foot, more);
    return less < more &&
           (print_number(less) == print_number(converted, 0) || print_number(less) == print_number(converted, 1));
}

void compare_alike(const Job& job, std::vector<Finding>& out) {
    const Map& map = *job.map;
    // Of one size and class anywhere; each torque once.
    using Size = std::tuple<int, std::string, std::string>;
    std::map<Size, std::vector<const Fastener*>> sizes;
    std::map<std::pair<std::int32_t, Size>, std::vector<const Fastener*>> flanges;
    constexpr std::size_t most_torques = 32;
    const auto add = [](std::vector<const Fastener*>& list, const Fastener& fastener) {
        if (list.size() < most_torques && std::none_of(list.begin(), list.end(), [&](const Fastener* other) {
                return other->torque->text == fastener.torque->text;
            }))
            list.push_back(&fastener);
    };
    for (const Fastener& fastener : map.fasteners) {
        if (!fastener.torque || !fastener.thread || !clamps(fastener.kind))
            continue;
        const Size size{static_cast<int>(fastener.kind), fastener.thread->name, fastener.grade};
        add(sizes[size], fastener);
        add(flanges[{job.kin[slot(job, fastener.item)], size}], fastener);
    }
    const auto compare = [&](const std::vector<const Fastener*>& list,
                             bool (*alike)(const TorqueSpec&, const TorqueSpec&), const char* how) {
        for (std::size_t i = 0; i < list.size(); ++i)
            for (std::size_t k = i + 1; k < list.size(); ++k)
                if (alike(*list[i]->torque, *list[k]->torque)) {
                    Finding f = doubt("unit-mixed-up", *list[k],
                                      fmt::format("{} gets {} and {} gets {}, both {}{}{}: {}.",
                                                  map[list[i]->item].name, list[i]->torque->text,
                                                  map[list[k]->item].name, list[k]->torque->text, list[i]->thread->name,
                                                  list[i]->grade.empty() ? "" : ", ", list[i]->grade, how),
                                      "So in one of them the unit looks mixed up.");
                    f.nodes = {map[list[k]->item].name, map[list[i]->item].name};
                    out.push_back(std::move(f));
                }
    };
    for (const auto& [size, list] : sizes)
        compare(list, one_figure_two_units, "one figure in two units");
    for (const auto& [flange, list] : flanges)
        compare(list, converted_and_unit_kept, "one is the other in lbf·ft, with N·m behind it");
}

} // namespace

std::optional<ClampEstimate> clamp_of(const Job& job, ItemId item) {
    const Fastener& fastener = job.map->fastener(item);
    const std::optional<TorqueStage> stage = last_torque(fastener);
    if (!stage || !fastener.thread || !clamps(fastener.kind) || !(stress_area_mm2(*fastener.thread) > 0))
        return std::nullopt;
    const Thread& thread = *fastener.thread;
    ClampEstimate clamp;
    clamp.torque_nm = stage->high_nm;
    clamp.least_n = clamp_for_torque_n(thread, clamp.torque_nm, high_friction);
    clamp.most_n = clamp_for_torque_n(thread, clamp.torque_nm, low_friction);
    clamp.factor_least_n = clamp_by_nut_factor_n(high_nut_factor, thread.diameter_mm, clamp.torque_nm);
    clamp.factor_most_n = clamp_by_nut_factor_n(low_nut_factor, thread.diameter_mm, clamp.torque_nm);
    clamp.strength = weakest(job, item, thread);
    if (clamp.strength) {
        clamp.least_use = utilisation(thread, clamp.strength->yield_mpa, clamp.least_n, high_friction);
        clamp.most_use = utilisation(thread, clamp.strength->yield_mpa, clamp.most_n, low_friction);
    }
    return clamp;
}

std::string print_clamp(const ClampEstimate& clamp) {
    const auto kilonewtons = [](double n) { return print_number(n / 1000, n < 10000 ? 1 : 0); };
    std::string out =
        fmt::format("clamps about {}..{} kN at a friction of {} to {}; by T = K d F {}..{} kN (K {} to {})",
                    kilonewtons(clamp.least_n), kilonewtons(clamp.most_n), print_number(high_friction),
                    print_number(low_friction), kilonewtons(clamp.factor_least_n), kilonewtons(clamp.factor_most_n),
                    print_number(high_nut_factor), print_number(low_nut_factor));
    if (clamp.strength)
        out += fmt::format("; {}..{} of the yield of {}", print_number(100 * clamp.least_use, 0),
                           percent(clamp.most_use), clamp.strength->name);
    else
        out += "; no class is stated that says how much it bears";
    return out;
}

std::vector<Finding> implausible_torques(const Job& job) {
    const Map& map = *job.map;
    std::vector<Finding> out;
    // What is alike is told once, all of it named.
    std::map<std::tuple<std::string, int, std::string, std::string, std::string>, std::ptrdiff_t> told;
    for (const Fastener& fastener : map.fasteners) {
        if (job.turned[slot(job, fastener.item)] != fastener.item)
            continue;
        const std::optional<ClampEstimate> clamp = clamp_of(job, fastener.item);
        if (!clamp || !clamp->strength)
            continue;
        const auto [found, is_new] =
            told.emplace(std::tuple{map[fastener.item].title, static_cast<int>(fastener.kind), fastener.thread->name,
                                    clamp->strength->name, fastener.torque->text},
                         -1);
        if (is_new)
            if (std::optional<Finding> f = judge_one(map, fastener, *clamp)) {
                found->second = static_cast<std::ptrdiff_t>(out.size());
                out.push_back(std::move(*f));
            }
        if (found->second >= 0)
            out[static_cast<std::size_t>(found->second)].nodes.push_back(map[fastener.item].name);
    }
    compare_alike(job, out);
    return out;
}

} // namespace boltwalk
