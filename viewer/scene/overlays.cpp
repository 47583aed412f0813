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
constexpr int way_pieces = 40;       ///< a leg is looked at in so many: where it leaves the picture
constexpr int rod_pieces = 24;       ///< and a piece of a tool
constexpr double stays_from = 0.6;   ///< of what shows of the best tool: one that was drawn before stays

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
        glm::dvec3 point = stage.anchors[at(track.part.index)];
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

void add_tools(const Job& job, const Solids& solids, const Reach& reach, const Step& step, const State& before,
               Overlays& out) {
    const Map& map = *job.map;
    const auto use = use_of(step.verb);
    if (!use)
        return;
    for (const ItemId item : step.items) {
        if (!map.is_fastener(item))
            continue;
        const Arrangement state = arrange_about(job, solids, before, item);
        ReachAnswer answer = judge_reach(reach, item, *use, state);
        if (answer.reached < 0 || answer.grip != Grip::tool)
            answer = judge_reach(reach, item, Use::turn, state);
        if (answer.verdict != Verdict::free)
            continue;
        const ToolPose pose = tool_pose(reach, answer);
        if (pose.pieces.empty())
            continue;
        out.tools.push_back(drawn_of(item, pose));
        ToolDrawn& drawn = out.tools.back();
        const std::string swing = drawn.arc.empty() ? ""
                                  : pose.all_round  ? "swings all round, "
                                                    : fmt::format("swings {:.0f}°, ", pose.swing_deg);
        drawn.words = {tool_of(reach, answer), swing + "estimated"};
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
        const std::string lift = p.lift_point.empty() ? "" : "stated lift point: " + p.lift_point;
        out.plumbs.push_back({load.centre,
                              std::min(box.low.y, load.centre.y) - beyond,
                              std::max(box.high.y, load.centre.y) + beyond,
                              {"estimated centre of mass", lift}});
    }
}

} // namespace

std::vector<Overlays> overlays_of(const Job& job, const Stage& stage, const Solids& solids, const Plan& plan,
                                  std::span<const Shot> shots, int queries, const Effort& effort) {
    std::vector<Overlays> all(shots.size());
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
        add_tools(job, solids, reach, plan.steps[i - 1], state, all[i]);
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

void without_words(Overlays& overlays) {
    overlays.tools.clear();
    overlays.plumbs.clear();
}

void only_tool_on(Overlays& overlays, ItemId fastener) {
    std::erase_if(overlays.tools, [&](const ToolDrawn& tool) { return tool.fastener != fastener; });
}

void only_first_tool(Overlays& overlays, const Step& step) {
    if (step.verb == Verb::tighten && !step.items.empty())
        only_tool_on(overlays, step.items.front());
}

std::vector<glm::dvec2> on_picture(const Track& track, const Projection& projection, double rim_px) {
    std::vector<glm::dvec2> path;
    const std::vector<glm::dvec3>& points = track.points;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const int pieces = i == 0 ? 1 : way_pieces;
        for (int k = 1; k <= pieces; ++k) {
            const glm::dvec3 point = i == 0 ? points[0] : glm::mix(points[i - 1], points[i], double(k) / pieces);
            const auto seen = to_screen(projection, point);
            if (!seen || seen->x < rim_px || seen->y < rim_px || seen->x > projection.size_px.x - rim_px ||
                seen->y > projection.size_px.y - rim_px)
                return path;
            if (k > 1 && path.size() > 1) // straight on: one longer piece
                path.back() = {seen->x, seen->y};
            else
                path.emplace_back(seen->x, seen->y);
        }
    }
    return path;
}

ToolShown shown_of(const ToolDrawn& tool, const Projection& projection, const Rect& area,
                   std::span<const Rect> reserved) {
    const auto shows = [&](const glm::dvec3& point) -> std::optional<glm::dvec2> {
        const auto seen = to_screen(projection, point);
        const auto within = [&](const Rect& rect) {
            return seen->x >= rect.x && seen->y >= rect.y && seen->x <= rect.right() && seen->y <= rect.bottom();
        };
        if (!seen || !within(area) || std::any_of(reserved.begin(), reserved.end(), within))
            return std::nullopt;
        return glm::dvec2(*seen);
    };
    ToolShown result;
    double whole = 0;
    double most = 0;
    for (const ToolRod& rod : tool.rods) {
        const double piece = glm::length(rod.to - rod.from) / rod_pieces;
        whole += piece * rod_pieces;
        std::vector<Segment> lines;
        std::vector<glm::dvec3> begins;
        double length = 0;
        std::optional<glm::dvec2> last = shows(rod.from);
        for (int i = 1; i <= rod_pieces; ++i) {
            const std::optional<glm::dvec2> next = shows(glm::mix(rod.from, rod.to, double(i) / rod_pieces));
            if (last && next) {
                length += glm::length(*next - *last);
                result.share += piece;
                lines.push_back({*last, *next});
                begins.push_back(glm::mix(rod.from, rod.to, double(i - 1) / rod_pieces));
            }
            last = next;
        }
        if (lines.empty())
            continue;
        if (length > most) {
            most = length;
            result.at = lines[lines.size() / 2].a;
            result.point = begins[lines.size() / 2];
        }
        result.shown_px += length;
        const double depth = (projection.both * glm::dvec4(0.5 * (rod.from + rod.to), 1.0)).w;
        const double half = rod.radius * 0.5 * projection.size_px.y * projection.projection[1][1] / depth;
        const glm::dvec2 along = lines.back().b - lines.front().a;
        for (const double side : {-half, 0.0, half}) {
            const glm::dvec2 aside =
                length > 0 ? glm::dvec2(-along.y, along.x) * (side / glm::length(along)) : glm::dvec2(0.0);
            result.lines.push_back({lines.front().a + aside, lines.back().b + aside});
        }
    }
    result.share = whole > 0 ? result.share / whole : 0;
    return result;
}

std::vector<std::size_t> by_show(std::span<const ToolShown> shown, std::span<const ToolDrawn> tools, ItemId before,
                                 double least_px) {
    // What is whole tells more than a length of pipe that runs out of the picture.
    const auto worth = [&](std::size_t i) { return shown[i].shown_px * shown[i].share; };
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < shown.size(); ++i)
        if (shown[i].shown_px > least_px)
            order.push_back(i);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return worth(a) > worth(b); });
    const auto stays =
        std::find_if(order.begin(), order.end(), [&](std::size_t i) { return tools[i].fastener == before; });
    if (before && stays != order.end() && worth(*stays) >= stays_from * worth(order.front()))
        std::rotate(order.begin(), stays, stays + 1);
    return order;
}

void tell_ways(const Overlays& overlays, std::vector<LabelWish>& labels, Caption& caption) {
    if (overlays.tracks.empty())
        return;
    bool estimated = false;
    bool stated = false;
    for (const Track& track : overlays.tracks) {
        (track.estimated ? estimated : stated) = true;
        for (LabelWish& label : labels)
            if (label.items.size() == 1 && label.items.front() == track.part) {
                label.detail += fmt::format("{}way out {}", label.detail.empty() ? "" : " · ",
                                            track.estimated ? "estimated" : "as stated");
                if (track.estimated)
                    label.shorter.clear(); // nothing estimated without its word
            }
    }
    if (!caption.footnote.empty())
        caption.footnote = !estimated ? "The way out is the author's."
                           : !stated  ? "The way out, dashed, is estimated from the shapes."
                                      : "The way out: as stated, or dashed where it is estimated from the shapes.";
}

} // namespace boltwalk
