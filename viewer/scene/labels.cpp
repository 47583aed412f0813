// Where labels go: every place of a grid is tried, what is forbidden is left out, the cheapest of the rest is taken.
// Wishes are placed from the top of the picture down, so that leaders of labels at one side do not cross.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

namespace {

constexpr int COLUMNS = 22;           ///< places tried across the area
constexpr int ROWS = 30;              ///< and down it
constexpr double CROSSING_COST = 400; ///< pixels of leader that a crossing of leaders is worth
constexpr double THROUGH_COST = 250;  ///< a leader that runs through another label's target or box
constexpr double MOVED_COST = 120;    ///< leaving the place of the picture before
constexpr double ALONG_COST = 300;    ///< a leader that runs along a drawn line: one would not be told from the other
constexpr double ALONG_SHARE = 0.05;  ///< of the leader's length that its middle is from the line, or less
constexpr double ON_LINE_COST = 4000; ///< a box on a drawn line: more than any leader, so only where all else is taken
constexpr std::size_t MOST_LEADERS = 8; ///< of one label; beyond, its items are told by their marks

double cross(glm::dvec2 a, glm::dvec2 b) {
    return a.x * b.y - a.y * b.x;
}

bool crosses(const Segment& s, const Segment& t) {
    const auto side = [](const Segment& line, glm::dvec2 p) { return cross(line.b - line.a, p - line.a); };
    return side(s, t.a) * side(s, t.b) < 0 && side(t, s.a) * side(t, s.b) < 0;
}

double distance(const Segment& s, glm::dvec2 p) {
    const glm::dvec2 along = s.b - s.a;
    const double length2 = glm::dot(along, along);
    const double t = length2 > 0 ? std::clamp(glm::dot(p - s.a, along) / length2, 0.0, 1.0) : 0.0;
    return glm::length(p - (s.a + t * along));
}

Rect grown(const Rect& box, double by) {
    return {box.x - by, box.y - by, box.width + 2 * by, box.height + 2 * by};
}

bool touches(const Rect& box, const LabelTarget& target) {
    const glm::dvec2 nearest(std::clamp(target.at.x, box.x, box.right()), std::clamp(target.at.y, box.y, box.bottom()));
    return glm::length(nearest - target.at) < target.radius_px;
}

/// The middle of the side that faces a point.
glm::dvec2 foot_towards(const Rect& box, glm::dvec2 point) {
    const glm::dvec2 middle(box.x + box.width / 2, box.y + box.height / 2);
    if (point.x < box.x)
        return {box.x, middle.y};
    if (point.x > box.right())
        return {box.right(), middle.y};
    return {middle.x, point.y < middle.y ? box.y : box.bottom()};
}

glm::dvec2 mean(const std::vector<LabelTarget>& targets) {
    glm::dvec2 sum(0.0);
    for (const LabelTarget& target : targets)
        sum += target.at;
    return sum / static_cast<double>(targets.size());
}

/// A single label of many alike points at the nearest; where several must be told apart, each of theirs gets a leader.
std::vector<glm::dvec2> pointed_at(const std::vector<LabelTarget>& targets, const Rect& box, bool alone) {
    std::vector<LabelTarget> sorted = targets;
    const glm::dvec2 middle(box.x + box.width / 2, box.y + box.height / 2);
    std::stable_sort(sorted.begin(), sorted.end(), [&](const LabelTarget& a, const LabelTarget& b) {
        return glm::length(a.at - middle) < glm::length(b.at - middle);
    });
    const std::size_t most = alone && sorted.size() > 3 ? 1 : MOST_LEADERS;
    std::vector<glm::dvec2> points;
    for (std::size_t i = 0; i < std::min(sorted.size(), most); ++i) {
        const glm::dvec2 foot = foot_towards(box, sorted[i].at);
        const double length = glm::length(foot - sorted[i].at);
        // The leader ends at the mark's rim, not across it.
        const double share = length > sorted[i].end_px ? sorted[i].end_px / length : 0;
        points.push_back(sorted[i].at + share * (foot - sorted[i].at));
    }
    return points;
}

struct Layout {
    std::span<const glm::dvec2> sizes;
    std::span<const std::vector<LabelTarget>> targets;
    const LabelRoom& room;
    const LabelLayout* last;
    bool alone;
    std::vector<LabelBox> placed;
    std::vector<Segment> leaders;

    bool allowed(const Rect& box) const {
        const Rect& area = room.area;
        if (box.x < area.x || box.y < area.y || box.right() > area.right() || box.bottom() > area.bottom())
            return false;
        for (const Rect& taken : room.reserved)
            if (overlap(box, taken))
                return false;
        const Rect wide = grown(box, room.gap_px);
        for (const LabelBox& other : placed)
            if (overlap(wide, other.box))
                return false;
        for (const auto& group : targets)
            for (const LabelTarget& target : group)
                if (touches(wide, target))
                    return false;
        return true;
    }

    double cost(std::size_t wish, const Rect& box) const {
        const auto& own = targets[wish];
        double sum = 0;
        const auto points = pointed_at(own, box, alone);
        for (const glm::dvec2& point : points) {
            const Segment leader{foot_towards(box, point), point};
            sum += glm::length(leader.b - leader.a) / static_cast<double>(points.size());
            for (const Segment& other : leaders)
                sum += crosses(leader, other) ? CROSSING_COST : 0;
            const glm::dvec2 middle = 0.5 * (leader.a + leader.b);
            for (const Segment& line : room.lines)
                sum += distance(line, middle) < ALONG_SHARE * glm::length(leader.b - leader.a) ? ALONG_COST : 0;
            for (const LabelBox& other : placed)
                sum += runs_through(leader, other.box) ? THROUGH_COST : 0;
            for (std::size_t w = 0; w < targets.size(); ++w)
                for (const LabelTarget& target : targets[w])
                    if (glm::length(target.at - point) > 2 * target.radius_px &&
                        distance(leader, target.at) < target.radius_px)
                        sum += THROUGH_COST;
        }
        for (const Segment& other : leaders)
            sum += runs_through(other, grown(box, room.gap_px / 2)) ? THROUGH_COST : 0;
        for (const Segment& line : room.lines)
            sum += runs_through(line, grown(box, room.gap_px / 2)) ? ON_LINE_COST : 0;
        if (last)
            for (const LabelBox& before : last->boxes)
                if (before.wish == static_cast<std::int32_t>(wish))
                    sum +=
                        std::min(1.0, std::hypot(before.box.x - box.x, before.box.y - box.y) / MOVED_COST) * MOVED_COST;
        return sum;
    }

    bool place(std::size_t wish) {
        const glm::dvec2 size = sizes[wish];
        const Rect& area = room.area;
        const double wide = area.width - size.x;
        const double tall = area.height - size.y;
        if (wide < 0 || tall < 0 || targets[wish].empty())
            return false;
        double best = std::numeric_limits<double>::infinity();
        Rect best_box;
        for (int row = 0; row <= ROWS; ++row)
            for (int column = 0; column <= COLUMNS; ++column) {
                const Rect box{area.x + std::round(wide * column / COLUMNS), area.y + std::round(tall * row / ROWS),
                               size.x, size.y};
                if (!allowed(box))
                    continue;
                const double price = cost(wish, box);
                if (price < best) {
                    best = price;
                    best_box = box;
                }
            }
        if (!std::isfinite(best))
            return false;
        LabelBox result{static_cast<std::int32_t>(wish), best_box, pointed_at(targets[wish], best_box, alone), {}};
        result.foot = foot_towards(best_box, result.leaders.front());
        for (const glm::dvec2& point : result.leaders)
            leaders.push_back({foot_towards(best_box, point), point});
        placed.push_back(std::move(result));
        return true;
    }
};

} // namespace

bool runs_through(const Segment& s, const Rect& box) {
    const auto inside = [&](glm::dvec2 p) {
        return p.x > box.x && p.x < box.right() && p.y > box.y && p.y < box.bottom();
    };
    const glm::dvec2 a(box.x, box.y);
    const glm::dvec2 b(box.right(), box.y);
    const glm::dvec2 c(box.right(), box.bottom());
    const glm::dvec2 d(box.x, box.bottom());
    return inside(s.a) || inside(s.b) || crosses(s, {a, b}) || crosses(s, {b, c}) || crosses(s, {c, d}) ||
           crosses(s, {d, a});
}

LabelLayout lay_out(std::span<const glm::dvec2> sizes_px, std::span<const std::vector<LabelTarget>> targets,
                    const LabelRoom& room, const LabelLayout* last) {
    Layout layout{sizes_px, targets, room, last, sizes_px.size() == 1, {}, {}};
    std::vector<std::size_t> turn(sizes_px.size());
    std::iota(turn.begin(), turn.end(), std::size_t{0});
    const auto height = [&](std::size_t wish) { return targets[wish].empty() ? 0.0 : mean(targets[wish]).y; };
    std::stable_sort(turn.begin(), turn.end(), [&](std::size_t a, std::size_t b) { return height(a) < height(b); });
    LabelLayout result;
    for (const std::size_t wish : turn)
        if (!layout.place(wish))
            result.left_out.push_back(static_cast<std::int32_t>(wish));
    result.boxes = std::move(layout.placed);
    std::sort(result.left_out.begin(), result.left_out.end());
    return result;
}

bool lay_out_one_more(std::span<const glm::dvec2> sizes_px, std::span<const std::vector<LabelTarget>> targets,
                      const LabelRoom& room, const LabelLayout* last, LabelLayout& laid) {
    Layout layout{sizes_px, targets, room, last, false, laid.boxes, {}};
    for (const LabelBox& box : laid.boxes)
        for (const glm::dvec2& point : box.leaders)
            layout.leaders.push_back({box.foot, point});
    if (!layout.place(sizes_px.size() - 1))
        return false;
    laid.boxes = std::move(layout.placed);
    return true;
}

std::optional<LabelTarget> mark_of(const Stage& stage, std::span<const Pose> poses, ItemId item,
                                   const Projection& projection, double least_px) {
    const auto index = static_cast<std::size_t>(item.index);
    const Pose pose = index < poses.size() ? poses[index] : Pose{};
    const Bounds& bounds = stage.item_bounds[index];
    if (pose.presence <= 0 || bounds.empty())
        return std::nullopt;
    glm::dvec3 middle = stage.anchors[index];
    double radius = 0;
    if (stage.map->is_fastener(item)) {
        const HeadShape& head = stage.heads[static_cast<std::size_t>((*stage.map)[item].detail)];
        middle = 0.5 * (head.top + head.base);
        radius = 1.25 * head.radius;
    }
    middle += pose.shift_m;
    const auto at = to_screen(projection, middle);
    if (!at || at->x < 0 || at->y < 0 || at->x > projection.size_px.x || at->y > projection.size_px.y)
        return std::nullopt;
    const double depth = (projection.both * glm::dvec4(middle, 1.0)).w;
    const double per_metre = 0.5 * projection.size_px.y * projection.projection[1][1] / depth;
    const double clear = std::max(least_px, radius * per_metre);
    return LabelTarget{{at->x, at->y}, clear, stage.map->is_fastener(item) ? clear : 0};
}

} // namespace boltwalk
