// What has to be there before the first bolt: tools, the torque wrench, what is used once, fluids.
#include <algorithm>
#include <optional>

#include <fmt/format.h>

#include "core/job/tightening.hpp"
#include "core/log/folding.hpp"
#include "core/log/ledger.hpp"

namespace boltwalk {

using log_fold::slot;

namespace {

bool is_drained(const Job& job, ItemId part) {
    if (!job.drain_plugs[static_cast<std::size_t>((*job.map)[part].detail)].empty())
        return true;
    for (const Task& task : job.map->tasks)
        if (task.does == TaskDoes::drain && std::find(task.to.begin(), task.to.end(), part) != task.to.end())
            return true;
    return false;
}

/// By fastener: the orders down and back work on it, or on another end of its joint. All of them, where no order is
/// known.
std::vector<std::uint8_t> worked_on(const Job& job, const Gates& orders) {
    const Map& map = *job.map;
    std::vector<std::uint8_t> out(map.fasteners.size(), orders.places.empty() ? 1 : 0);
    for (const Gates::Place& place : orders.places) {
        if (!place.item || !map.is_fastener(place.item))
            continue;
        out[slot(map, place.item)] = 1;
        for (const ItemId other : job.joint[slot(map, place.item)])
            out[slot(map, other)] = 1;
    }
    return out;
}

/// All the torques and angles that are stated for what is tightened on the way back.
struct Stated {
    TorqueStage all; ///< from the least to the greatest
    int with_torque = 0, with_angle = 0;
    double least_deg = 0;
    std::optional<TorqueUnit> unit; ///< in which every torque is stated; none: in several
};

Stated stated_of(const Job& job, const std::vector<std::uint8_t>& worked) {
    Stated out;
    bool mixed = false;
    for (std::size_t f = 0; f < worked.size(); ++f) {
        const Fastener& fastener = job.map->fasteners[f];
        if (worked[f] == 0 || job.turned[f] != fastener.item || !fastener.torque)
            continue;
        bool torque = false, angle = false;
        for (const TorqueStage& stage : fastener.torque->stages) {
            if (stage.has_torque) {
                out.all.low_nm = out.all.has_torque ? std::min(out.all.low_nm, stage.low_nm) : stage.low_nm;
                out.all.high_nm = std::max(out.all.high_nm, stage.high_nm);
                out.all.has_torque = torque = true;
            }
            if (stage.has_angle) {
                out.least_deg = out.all.has_angle ? std::min(out.least_deg, stage.angle_deg) : stage.angle_deg;
                out.all.angle_deg = std::max(out.all.angle_deg, stage.angle_deg);
                out.all.has_angle = angle = true;
            }
        }
        out.with_torque += torque ? 1 : 0;
        out.with_angle += angle ? 1 : 0;
        mixed = mixed || (torque && out.unit && *out.unit != fastener.torque->unit);
        if (torque)
            out.unit = fastener.torque->unit;
    }
    if (mixed)
        out.unit.reset();
    return out;
}

/// "22..40 N·m"; stated in another unit, that one behind it, for the wrench may have its scale.
std::string torques_in_words(const Stated& stated) {
    TorqueStage torques = stated.all;
    torques.has_angle = false;
    if (!stated.unit)
        return wrench_torque(torques, TorqueUnit::newton_metre);
    TorqueSpec spec;
    spec.stages = {torques};
    spec.unit = *stated.unit;
    const std::string words = print_torque(spec, TorqueUnit::newton_metre);
    return *stated.unit == TorqueUnit::newton_metre ? words
                                                    : fmt::format("{} ({})", words, print_torque(spec, *stated.unit));
}

} // namespace

std::string need_of_part(const Map& map, const Fastener& fastener) {
    Count one; // as it is asked for in the shop
    one.kind = kind_of(fastener);
    one.of = log_fold::title_where_unsized(map, one.kind, fastener.item);
    return "part: " + print_kind(one);
}

std::string name_without_kind(const Need& need) {
    const std::size_t colon = need.name.find(": ");
    return colon == std::string::npos ? need.name : need.name.substr(colon + 2);
}

std::string amount_in_words(const Need& need) {
    std::string amount;
    switch (need.kind) {
    case NeedKind::tool:
        amount = fmt::format("for {} fastener{}", need.count, need.count == 1 ? "" : "s");
        break;
    case NeedKind::part:
        amount = fmt::format("{} ×", need.count);
        break;
    case NeedKind::fluid:
        amount = need.amount_l > 0 ? print_number(need.amount_l, 2) + " l" : "amount not stated";
        break;
    }
    return need.note.empty() ? amount : amount + "; " + need.note;
}

std::vector<Need> needs_of(const Job& job, const JobNow& now) {
    const Map& map = *job.map;
    std::vector<Need> out;
    const auto need = [&](NeedKind kind, const std::string& name) -> Need& {
        const auto found = std::find_if(out.begin(), out.end(), [&](const Need& n) { return n.name == name; });
        if (found != out.end())
            return *found;
        out.push_back({kind, name, 0, 0, false, ""});
        return out.back();
    };
    const std::vector<std::uint8_t> worked = worked_on(job, now.gates);
    for (const Fastener& fastener : map.fasteners)
        if (worked[slot(map, fastener.item)] != 0 && fastener.drive && fastener.drive->kind != DriveKind::none &&
            fastener.drive->kind != DriveKind::hand)
            ++need(NeedKind::tool, "tool: " + tool_for(*fastener.drive)).count;
    for (const Fastener& fastener : map.fasteners)
        if (const auto drive = read_drive(fastener.counter);
            worked[slot(map, fastener.item)] != 0 && !fastener.counter.empty() && drive)
            ++need(NeedKind::tool, "tool: " + tool_for(*drive)).count;
    const Stated stated = stated_of(job, worked);
    if (stated.with_torque > 0) {
        Need& wrench = need(NeedKind::tool, "tool: torque wrench for " + torques_in_words(stated));
        wrench.count = stated.with_torque;
        if (stated.all.low_nm < wrench_least_share * stated.all.high_nm)
            wrench.note = "more than one: none is checked below a fifth of its scale";
    }
    if (stated.with_angle > 0)
        need(NeedKind::tool,
             fmt::format("tool: angle gauge for {}{}°",
                         stated.least_deg < stated.all.angle_deg ? print_number(stated.least_deg) + ".." : "",
                         print_number(stated.all.angle_deg)))
            .count = stated.with_angle;
    for (const Fastener& fastener : map.fasteners)
        if (fastener.renew)
            ++need(NeedKind::part, need_of_part(map, fastener)).count;
    for (const Part& part : map.parts)
        if (part.renew)
            ++need(NeedKind::part, "part: " + map[part.item].title).count;
    for (const OpenDuty& open : now.duties)
        if (open.duty == Duty::buy && !open.settled && open.item && map.is_fastener(open.item) &&
            !map.fastener(open.item).renew)
            ++need(NeedKind::part, need_of_part(map, map.fasteners[slot(map, open.item)])).count;
    for (const Part& part : map.parts)
        // What stays keeps its fluid, unless the job lets it out.
        if (!part.fluid.empty() && (!part.fixed || is_drained(job, part.item))) {
            Need& fluid = need(NeedKind::fluid, "fluid: " + part.fluid);
            ++fluid.count;
            fluid.amount_l += part.amount_l.value_or(0);
        }
    for (Need& one : out)
        one.ticked = std::find(now.ticked.begin(), now.ticked.end(), one.name) != now.ticked.end();
    return out;
}

} // namespace boltwalk
