#include "core/geometry/fit_doubts.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

namespace boltwalk {

namespace {

/// A stated length and a modelled one may differ by so much: chamfers, points, washers modelled on.
constexpr double length_apart_mm = 1;

/// Less thread than this, in diameters, is too little by every practice. In metal: www.sizes.com, "length of
/// engagement", gives as the least that breaks the bolt and not a thread as strong as itself 0.178 in for 1/4-20,
/// 0.269 in for 3/8-16, 0.36 in for 1/2-13, 0.73 in for 1-8: 0.71 to 0.73 diameters. In aluminium one diameter, where
/// that and the catalogues named in fit.cpp recommend 1.4 to 2.5: common practice, no source.
constexpr double plain_in_metal = 0.7, plain_in_aluminium = 1.0;
/// A nut may be lower than that: of its height so much, for its mouths are chamfered.
constexpr double plain_in_nut = 0.8;
/// A hole drawn just as deep as its bolt is long, chamfers and rounding included, is a way of drawing.
constexpr double plainly_into_mm = 0.5;

/// Where it ends in the thread, is that less than anybody calls enough?
bool has_plainly_little(const Solids& solids, const Fit& fit) {
    const Map& map = *solids.map;
    const ItemId in = solids.bodies[static_cast<std::size_t>(fit.thread_in)].item;
    const bool soft = in && map.is_part(in) && map.part(in).material == "aluminium";
    double least = fit.diameter_mm * (soft ? plain_in_aluminium : plain_in_metal);
    if (is_nut(map, in))
        least = std::min(least, plain_in_nut * fit.wanted_mm);
    // A hole with room round the shank may be no thread at all, but what the tip of an adjuster stands in.
    const bool holds_by_thread = is_nut(map, in) || (fit.thread_drawn && !map.fastener(fit.fastener).holds.empty());
    return holds_by_thread && fit.ends_in_thread && fit.engaged_mm < least;
}

bool is_plainly_short(const Solids& solids, const Fit& fit) {
    return fit.verdict == FitVerdict::short_one && (fit.unreached >= 0 || has_plainly_little(solids, fit));
}

/// Into the ground of its hole, not only near it: how near it may come is a matter of practice.
bool is_plainly_long(const Fit& fit) {
    return fit.verdict == FitVerdict::bottoms && *fit.room_mm < -plainly_into_mm;
}

std::string length_in_words(const Fit& fit) {
    return fmt::format("{} mm long{}", print_number(fit.stated_mm.value_or(fit.shank_mm), 1),
                       fit.stated_mm ? "" : " as drawn");
}

} // namespace

void find_doubts(const Solids& solids, const Fit& fit, std::vector<Finding>& findings) {
    const Map& map = *solids.map;
    const Fastener& fastener = map.fastener(fit.fastener);
    const auto add_node = [&](Finding& finding, std::int32_t body) {
        if (body >= 0)
            finding.nodes.push_back(
                map.nodes[static_cast<std::size_t>(solids.bodies[static_cast<std::size_t>(body)].node)].name);
    };
    Finding finding;
    finding.nodes.push_back(map[fit.fastener].name);
    add_node(finding, fit.unreached >= 0 ? fit.unreached : fit.thread_in);
    finding.key = "length_mm";
    finding.value = fit.stated_mm ? print_number(*fit.stated_mm, 3) : "";
    finding.remedy = "Look at the bolt and its hole, then correct `length_mm`, or the shapes.";
    if (fit.verdict == FitVerdict::short_one && fit.unreached >= 0) {
        const ItemId beyond = solids.bodies[static_cast<std::size_t>(fit.unreached)].item;
        finding.weight = Weight::doubt;
        finding.rule = "bolt-short";
        finding.what =
            fmt::format("Estimated: {}, it ends {} mm short of {}.", length_in_words(fit), print_number(fit.gap_mm, 1),
                        is_nut(map, beyond) ? "its nut" : name_of(solids, fit.unreached));
        finding.why = "What it does not reach it cannot hold.";
        finding.remedy = "Measure the bolt, then correct `length_mm`, the shapes, or what it `holds`.";
        findings.push_back(finding);
    } else if (fit.verdict == FitVerdict::short_one) {
        finding.weight = Weight::doubt;
        finding.rule = "bolt-short";
        finding.what = fmt::format("Estimated: {:.1f} mm of it stand in the thread of {}; {} would be {:.1f} mm.",
                                   fit.engaged_mm, name_of(solids, fit.thread_in), fit.wanted_why, fit.wanted_mm);
        finding.why = fmt::format("Under its head lie {:.1f} mm, and it is {:.1f} mm long.", fit.clamped_mm,
                                  fit.stated_mm.value_or(fit.shank_mm));
        findings.push_back(finding);
    } else if (fit.verdict == FitVerdict::bottoms) {
        finding.weight = Weight::doubt;
        finding.rule = "bolt-bottoms";
        finding.what =
            *fit.room_mm < 0
                ? fmt::format("Estimated: it is {:.1f} mm longer than its hole in {} is deep.", -*fit.room_mm,
                              name_of(solids, fit.thread_in))
                : fmt::format("Estimated: it ends {:.1f} mm above the bottom of its hole in {}, within one pitch.",
                              *fit.room_mm, name_of(solids, fit.thread_in));
        finding.why = "A bolt that stands on the bottom of its hole clamps nothing, whatever its torque.";
        findings.push_back(finding);
    }
    if (fit.stated_mm && fit.shank_mm > 0 && std::abs(*fit.stated_mm - fit.shank_mm) > length_apart_mm) {
        finding.nodes.resize(1);
        finding.weight = Weight::note;
        finding.rule = "length-differs";
        finding.what = fmt::format("Estimated: its shape is {:.1f} mm long under the head.", fit.shank_mm);
        finding.why = fmt::format("The stated {:g} mm are what is reckoned with.", *fastener.length_mm);
        findings.push_back(std::move(finding));
    }
}

std::vector<Finding> plain_length_doubts(const Solids& solids, const Fits& fits) {
    const Map& map = *solids.map;
    std::vector<Finding> found;
    std::map<std::tuple<std::string, std::string, std::string>, std::size_t> told; ///< index into found
    for (const Fit& fit : fits.list) {
        if (!fit.stated_mm || !fit.seated || !(is_plainly_short(solids, fit) || is_plainly_long(fit)))
            continue;
        std::vector<Finding> its;
        find_doubts(solids, fit, its);
        Finding& doubt = its.front();
        const auto [known, fresh] =
            told.emplace(std::tuple(map[fit.fastener].title, doubt.what, doubt.why), found.size());
        if (fresh) {
            found.push_back(std::move(doubt));
            continue;
        }
        for (std::string& node : doubt.nodes)
            if (auto& nodes = found[known->second].nodes; std::find(nodes.begin(), nodes.end(), node) == nodes.end())
                nodes.push_back(std::move(node));
    }
    return found;
}

} // namespace boltwalk
