#include "viewer/scene/overlays.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "core/geometry/reach.hpp"
#include "core/job/poise.hpp"
#include "core/job/shapes.hpp"
#include "core/job/ways.hpp"

namespace boltwalk {

namespace {

constexpr double arc_step_deg = 5;
constexpr double plumb_beyond = 0.6; ///< of its own size that the line goes on above and below what leaves

std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

void add_tracks(const Job& job, const Stage& stage, const Solids& solids, const Plan& strip, int queries,
                const Effort& effort, std::vector<Overlays>& all) {
    const Map& map = *job.map;
    std::vector<Leaving> leaving = leavings(job, solids, strip);
    std::erase_if(leaving, [&](const Leaving& one) { return !map.is_part(one.asked.item); });
    const std::vector<WayFound> found = ways_of(job, solids, leaving, queries, effort);
    for (std::size_t i = 0; i < found.size() && i < leaving.size(); ++i) {
        const Leaving& one = leaving[i];
        const std::size_t shot = static_cast<std::size_t>(one.step) + 1;
        if (one.step < 0 || shot >= all.size())
            continue;
        Track track;
        track.part = one.asked.item;
        std::vector<glm::dvec3> legs = one.asked.legs;
        if (legs.empty() && found[i].best >= 0) {
            track.estimated = true;
            for (const LegAnswer& leg : found[i].out.ways[at(found[i].best)].legs)
                legs.push_back(leg.leg);
        }
        const Bounds& bounds = stage.item_bounds[at(track.part.index)];
        if (legs.empty() || bounds.empty())
            continue;
        glm::dvec3 point = bounds.centre();
        if (const std::int32_t body = solids.body_of[at(track.part.index)]; body >= 0 && !one.state.shift.empty())
            point += one.state.shift[at(body)];
        track.points.push_back(point);
        for (const glm::dvec3& leg : legs)
            track.points.push_back(point += leg);
        all[shot].tracks.push_back(std::move(track));
    }
}

std::optional<Use> use_of(Verb verb) {
    switch (verb) {
    case Verb::take_out:
    case Verb::loosen:
    case Verb::prove:
    case Verb::seat:
        return Use::turn;
    case Verb::tighten:
        return Use::tighten;
    default:
        return std::nullopt;
    }
}

/// From one unit vector to the other, counter-clockwise about the axis.
std::vector<glm::dvec3> arc_of(const ToolPose& pose, const glm::dvec3& middle, double radius) {
    std::vector<glm::dvec3> points;
    const double whole = pose.all_round ? 360 : pose.swing_deg;
    const glm::dvec3 across = glm::cross(pose.axis, pose.swing_from);
    const int steps = std::max(1, static_cast<int>(std::ceil(whole / arc_step_deg)));
    for (int i = 0; i <= steps; ++i) {
        const double angle = glm::radians(whole * i / steps);
        points.push_back(middle + radius * (std::cos(angle) * pose.swing_from + std::sin(angle) * across));
    }
    return points;
}

ToolDrawn drawn_of(ItemId fastener, const ToolPose& pose) {
    ToolDrawn drawn;
    drawn.fastener = fastener;
    double radius = 0;
    double height = 0;
    for (const ToolPiece& piece : pose.pieces) {
        drawn.rods.push_back({piece.from, piece.to, piece.radius, piece.capsule});
        const glm::dvec3 end = piece.to - pose.pivot;
        const double up = glm::dot(end, pose.axis);
        const double out = glm::length(end - up * pose.axis);
        if (piece.swings && out > radius) {
            radius = out;
            height = up;
        }
    }
    drawn.pivot = pose.pivot + height * pose.axis;
    if (radius > 0)
        drawn.arc = arc_of(pose, drawn.pivot, radius);
    return drawn;
}

void add_tool(const Map& map, const Reach& reach, const Step& step, const Arrangement& state, Overlays& out) {
    const auto use = use_of(step.verb);
    if (!use)
        return;
    for (const ItemId item : step.items) {
        if (!map.is_fastener(item))
            continue;
        ReachAnswer answer = judge_reach(reach, item, *use, state);
        if (answer.reached < 0 || answer.grip != Grip::tool)
            answer = judge_reach(reach, item, Use::turn, state);
        if (answer.verdict != Verdict::free)
            continue;
        const ToolPose pose = tool_pose(reach, answer);
        if (pose.pieces.empty())
            continue;
        out.tools.push_back(drawn_of(item, pose));
        const ToolDrawn& drawn = out.tools.back();
        const glm::dvec3 end = drawn.arc.empty() ? drawn.rods.back().to : drawn.arc.front();
        const std::string swing = drawn.arc.empty() ? ""
                                  : pose.all_round  ? "swings all round, "
                                                    : fmt::format("swings {:.0f}°, ", pose.swing_deg);
        out.notes.push_back({tool_of(reach, answer), swing + "estimated", glm::mix(drawn.pivot, end, 0.7)});
        return;
    }
}

void add_plumbs(const Job& job, const Stage& stage, const Balance& balance, const Shot& shot, Overlays& out) {
    const Map& map = *job.map;
    for (const ItemId part : shot.moves) {
        const Part& p = map.part(part);
        // What is light and has neither a support nor a lift point is held in the hand: no line, no noise.
        const Hanging hanging = balance.of(shot.before, part);
        const Load& load = hanging.load;
        if (!load.has_centre ||
            (load.mass_kg + load.without_as_steel_kg < told_from_kg && p.lift_point.empty() && p.support.empty()))
            continue;
        const Bounds& box = stage.item_bounds[at(part.index)];
        const double beyond = plumb_beyond * std::max(box.size().y, 0.05);
        out.plumbs.push_back(
            {load.centre, std::min(box.low.y, load.centre.y) - beyond, std::max(box.high.y, load.centre.y) + beyond});
        const std::string lift = p.lift_point.empty() ? "" : "stated lift point: " + p.lift_point;
        out.notes.push_back({"estimated centre of mass", lift, load.centre});
    }
}

} // namespace

std::vector<Overlays> overlays_of(const Job& job, const Stage& stage, const Solids& solids, const Plan& plan,
                                  std::span<const Shot> shots, int queries, const Effort& effort) {
    std::vector<Overlays> all(shots.size());
    const Map& map = *job.map;
    bool stopped = false;
    const auto part = [&](double from, double to) {
        Effort some = effort;
        if (effort.progress)
            some.progress = [&, from, to](float share) {
                stopped = stopped || !effort.progress(static_cast<float>(from + (to - from) * double(share)));
                return !stopped;
            };
        return some;
    };
    const Reach reach = find_reach(solids, lowered_cases(job, solids, plan), home_box(), part(0, 0.4));
    if (stopped)
        return std::vector<Overlays>(shots.size());
    for (std::size_t i = 1; i < shots.size(); ++i) {
        const State& state = plan.refit ? shots[i].after : shots[i].before;
        add_tool(map, reach, plan.steps[i - 1], arrange(job, solids, state), all[i]);
    }
    if (plan.refit)
        return all;
    add_tracks(job, stage, solids, plan, queries, part(0.4, 0.9), all);
    const Masses masses = weigh(solids, part(0.9, 1));
    if (stopped)
        return std::vector<Overlays>(shots.size());
    const Balance balance(job, solids, masses, &plan.end);
    for (std::size_t i = 1; i < shots.size(); ++i)
        add_plumbs(job, stage, balance, shots[i], all[i]);
    return all;
}

void tell_ways(const Overlays& overlays, std::vector<LabelWish>& labels, Caption& caption) {
    if (overlays.tracks.empty())
        return;
    bool estimated = false;
    bool stated = false;
    for (const Track& track : overlays.tracks) {
        (track.estimated ? estimated : stated) = true;
        for (LabelWish& label : labels)
            if (label.items.size() == 1 && label.items.front() == track.part)
                label.detail += fmt::format("{}way out {}", label.detail.empty() ? "" : " · ",
                                            track.estimated ? "estimated" : "as stated");
    }
    if (!caption.footnote.empty())
        caption.footnote = !estimated ? "The way out is the author's."
                           : !stated  ? "The way out, dashed, is estimated from the shapes."
                                      : "The way out: as stated, or dashed where it is estimated from the shapes.";
}

} // namespace boltwalk
