// Which of a person's torque wrenches to take, and what to set it to.
#include <algorithm>

#include <fmt/format.h>

#include "core/job/tightening.hpp"

namespace boltwalk {

namespace {

/// A wrench's own setting for one round; how it fits at both ends.
struct Tried {
    double low_nm = 0, high_nm = 0;
    WrenchFit fit = WrenchFit::usable;
};

/// "16.2 lbf·ft", "51..58 lbf·ft", as a wrench can be set to.
std::string figures(double low_nm, double high_nm, TorqueUnit unit) {
    return wrench_torque({true, low_nm, high_nm, false, 0}, unit);
}

std::string why_none(const ToolBox& box, const std::vector<std::pair<const Tool*, Tried>>& tried, TorqueUnit unit) {
    if (tried.empty())
        return fmt::format("no torque wrench is in {}", box.name);
    std::string out;
    for (const auto& [tool, one] : tried) {
        const double fifth = std::max(tool->low_nm, wrench_least_share * tool->high_nm);
        const char* why = one.fit == WrenchFit::above         ? "too small"
                          : one.fit == WrenchFit::below_marks ? "below its lowest mark"
                                                              : "below a fifth of its full scale, where none is tested";
        out +=
            fmt::format("{}{}: {} ({} would be its setting, {} is used of it)", out.empty() ? "" : "; ", name_of(*tool),
                        why, figures(one.low_nm, one.high_nm, unit), figures(fifth, tool->high_nm, unit));
    }
    return "none of the wrenches takes it: " + out;
}

} // namespace

Reading<Adapter> read_adapter(std::string_view text) {
    const auto wrong = [&](std::string what) {
        return tl::unexpected(
            Mistake{std::move(what), "Write the length from the square to the fastener in millimetres and the angle to "
                                     "the wrench in degrees: \"50,0\" in line, \"50,90\" square to it."});
    };
    const std::size_t comma = text.find(',');
    Adapter adapter;
    const Reading<double> length = read_length_mm(text.substr(0, comma));
    if (!length || *length > 1000 || std::count(text.begin(), text.end(), ',') > 1)
        return wrong(fmt::format("\"{}\" gives no length of an adapter.", text));
    adapter.length_mm = *length;
    if (comma == std::string_view::npos)
        return adapter;
    std::string_view angle = text.substr(comma + 1);
    for (const std::string_view sign : {"°", "degrees", "deg"})
        if (angle.ends_with(sign))
            angle.remove_suffix(sign.size());
    while (!angle.empty() && angle.front() == ' ')
        angle.remove_prefix(1);
    while (!angle.empty() && angle.back() == ' ')
        angle.remove_suffix(1);
    const bool back = angle.starts_with('-');
    const Reading<double> degrees = read_number(back ? angle.substr(1) : angle);
    if (!degrees || *degrees > 360)
        return wrong(fmt::format("\"{}\" gives no angle of an adapter.", text));
    adapter.angle_deg = back ? -*degrees : *degrees;
    return adapter;
}

std::string wrench_torque(const TorqueStage& stage, TorqueUnit unit) {
    TorqueSpec spec;
    spec.stages.push_back(stage);
    // As if converted, for only then is it rounded so.
    spec.unit = unit == TorqueUnit::newton_metre ? TorqueUnit::pound_force_foot : TorqueUnit::newton_metre;
    return print_torque(spec, unit);
}

std::string round_torque(const Tightening& tightening, const Round& round, TorqueUnit unit) {
    if (round.percent != 100 && round.percent != 0)
        return wrench_torque(round.stage, unit);
    TorqueSpec spec;
    spec.stages = {round.stage};
    spec.unit = tightening.torque ? tightening.torque->unit : unit;
    return print_torque(spec, unit);
}

WrenchChoice choose_wrench(const ToolBox& box, const TorqueStage& stage, const std::optional<Adapter>& adapter,
                           TorqueUnit unit) {
    WrenchChoice choice;
    if (!stage.has_torque) {
        choice.words = "by an angle gauge or a mark: no torque wrench";
        return choice;
    }
    const bool corrects =
        adapter && adapter->length_mm > 0 && wrench_setting_nm(1, 1000, adapter->length_mm, adapter->angle_deg) != 1.0;
    std::vector<std::pair<const Tool*, Tried>> tried;
    std::string unmeasured, folded;
    for (const Tool& tool : box.tools) {
        if (tool.kind != ToolKind::torque_wrench)
            continue;
        Tried one{stage.low_nm, stage.high_nm, WrenchFit::usable};
        if (corrects) {
            if (tool.length_mm <= 0) {
                unmeasured += fmt::format("{}{}", unmeasured.empty() ? "" : ", ", name_of(tool));
                continue;
            }
            const auto low = wrench_setting_nm(stage.low_nm, tool.length_mm, adapter->length_mm, adapter->angle_deg);
            if (!low) { // a longer one may do
                folded = low.error().what + " " + low.error().remedy;
                continue;
            }
            one.low_nm = *low;
            one.high_nm = *wrench_setting_nm(stage.high_nm, tool.length_mm, adapter->length_mm, adapter->angle_deg);
        }
        const WrenchFit low = wrench_fit(one.low_nm, tool.low_nm, tool.high_nm);
        one.fit = low == WrenchFit::usable ? wrench_fit(one.high_nm, tool.low_nm, tool.high_nm) : low;
        tried.emplace_back(&tool, one);
        // The smallest that takes it: the figure lies higher up its scale.
        if (one.fit != WrenchFit::usable || (choice.wrench != nullptr && choice.wrench->high_nm <= tool.high_nm))
            continue;
        choice.wrench = &tool;
        choice.low_nm = one.low_nm;
        choice.high_nm = one.high_nm;
        choice.least_nm = std::max(tool.low_nm, wrench_least_share * tool.high_nm);
        choice.most_nm = tool.high_nm;
    }
    const std::string measure =
        unmeasured.empty() ? ""
                           : fmt::format("with this adapter the setting depends on the wrench's length, which the list "
                                         "does not state for {}: write \"length 420 mm\" behind it, from the middle "
                                         "of the grip to the square",
                                         unmeasured);
    if (choice.wrench == nullptr) {
        if (!tried.empty() || (measure.empty() && folded.empty()))
            choice.words = why_none(box, tried, unit);
        for (const std::string& more : {measure, folded})
            if (!more.empty())
                choice.words += (choice.words.empty() ? "" : "; ") + more;
        return choice;
    }
    choice.words = fmt::format("{}, set to {}", name_of(*choice.wrench), figures(choice.low_nm, choice.high_nm, unit));
    if (adapter && adapter->length_mm > 0)
        choice.words += corrects ? fmt::format(" for the adapter of {} mm at {}°", print_number(adapter->length_mm, 1),
                                               print_number(adapter->angle_deg, 1))
                                 : ", the adapter square to it: no correction";
    return choice;
}

} // namespace boltwalk
