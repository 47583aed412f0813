// Balance in words.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "core/job/inside.hpp"
#include "core/job/poise.hpp"

namespace boltwalk {

using namespace inside;

namespace {

std::string counted(std::size_t count, const std::string& word) {
    return fmt::format("{} {}{}", count, word, count == 1 ? "" : "s");
}

/// "2 bolts", or "3 fasteners" where they are of several kinds.
std::string holders(const Map& map, const std::vector<ItemId>& fasteners) {
    const FastenerKind kind = map.fastener(fasteners.front()).kind;
    const bool alike =
        std::all_of(fasteners.begin(), fasteners.end(), [&](ItemId id) { return map.fastener(id).kind == kind; });
    return counted(fasteners.size(), alike ? std::string(spoken(kind)) : "fastener");
}

/// What is not weighed: a few bolts are as good as nothing, a part is not.
std::string kilograms(const Load& load) {
    std::string text;
    if (load.mass_kg > 0)
        text = fmt::format("{:.1f} kg{}", load.mass_kg, load.estimated_kg > 0 ? " (partly estimated)" : "");
    if (load.without.empty())
        return text;
    const std::string rest = fmt::format("{} without a stated mass (as solid steel {:.1f} kg)",
                                         counted(load.without.size(), "piece"), load.without_as_steel_kg);
    return text.empty() ? rest : text + " and " + rest;
}

/// The side opposite to the one that would go down.
std::string other_side(const Balanced& balanced) {
    return side_of(-balanced.towards);
}

} // namespace

std::string in_words(const Map& map, const Hanging& hanging) {
    const Balanced& balanced = hanging.balanced;
    std::string text = "estimated: ";
    if (hanging.held_by.empty() && hanging.props.empty())
        return text + "nothing holds it any more: it drops unless it is held";
    const std::string prop = hanging.props.empty() ? "" : "its prop";
    const std::string bolts = hanging.held_by.empty() ? "" : holders(map, hanging.held_by);
    const std::string both = bolts.empty() ? prop : (prop.empty() ? bolts : bolts + " and " + prop);
    if (bolts.empty() && !hanging.prop_shown)
        return text +
               "stands on its prop alone, whose place under its centre the map does not show: it may tip to any side";
    text += fmt::format("{} {}", bolts.empty() ? "stands on" : "held by", both);
    if (!prop.empty() && !hanging.prop_shown)
        text += " (whose place the map does not show)";
    const double past_mm = std::abs(balanced.past_m) * 1000;
    switch (balanced.poise) {
    case Poise::drops:
        return text; // on a prop whose place is not known, said above
    case Poise::between:
        return text + "; its centre lies between them, seen from above";
    case Poise::close:
        return text + (!balanced.masses_decide
                           ? "; its centre lies too near to the edge of them to say what it would do"
                           : "; to which side it would go depends on masses that are not stated");
    case Poise::turns:
        return text + fmt::format(
                          "; its centre is {:.0f} mm to the {} of that one point: it would turn about it, {} side down",
                          past_mm, side_of(balanced.towards), side_of(balanced.towards));
    case Poise::beside:
        text += fmt::format(", to the {} of its centre by {:.0f} mm", other_side(balanced), past_mm);
        if (hanging.clamped)
            text += fmt::format("; they carry it while they are tight{}; slack, its {} would go down",
                                balanced.moment_nm > 0 ? fmt::format(" (about {:.0f} N·m)", balanced.moment_nm) : "",
                                side_of(balanced.towards));
        else
            text += fmt::format("; its {} would go down", side_of(balanced.towards));
        if (!hanging.props.empty() && !hanging.prop_shown)
            text += " unless the prop takes it there";
        return text;
    }
    return text;
}

std::string in_words(const BodyMass& mass) {
    const double litres = mass.volume_m3 * 1000;
    switch (mass.mass_from) {
    case MassFrom::stated:
        return fmt::format("{:.1f} kg", *mass.mass_kg);
    case MassFrom::material:
        return fmt::format("mass not stated: estimated {:.1f} kg, {:.2f} l of {} if it is as solid as modelled",
                           *mass.mass_kg, litres, mass.material);
    case MassFrom::not_stated:
        break;
    }
    if (litres > 0)
        return fmt::format("mass not stated: {:.2f} l of material as modelled; as solid steel it would be {:.1f} kg",
                           litres, litres * steel_kg_m3 / 1000);
    return "mass not stated, and its shape does not enclose a volume";
}

std::string in_words(const Gone& gone) {
    if (!gone.load.has_centre)
        return "nothing has come off";
    const double ahead_mm = gone.off.z * 1000;
    const double left_mm = gone.off.x * 1000;
    return fmt::format(
        "estimated: {} off, centre {:.0f} mm {} and {:.0f} mm {} of the middle of what stays on the model. The "
        "vehicle's own mass is not stated: its balance on the stands shifts away from there. Look at "
        "stands and chocks again",
        kilograms(gone.load), std::abs(ahead_mm), ahead_mm >= 0 ? "ahead" : "behind", std::abs(left_mm),
        left_mm >= 0 ? "left" : "right");
}

} // namespace boltwalk
