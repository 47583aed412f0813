// Where labels go: every place of a grid is tried, what is forbidden is left out, the cheapest of the rest is taken.
// Wishes are placed from the top of the picture down, so that leaders of labels at one side do not cross; what found no
// room that way is placed before the others.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

namespace {

constexpr int COLUMNS = 22;            ///< places tried across the area
constexpr int ROWS = 30;               ///< and down it
constexpr double CROSSING_COST = 400;  ///< pixels of leader that a crossing of leaders is worth
constexpr double THROUGH_COST = 250;   ///< a leader that runs through another label's target or box
constexpr double UNDER_COST = 800;     ///< a leader that runs under what is reserved, and is not seen there
constexpr double UNDER_SHARE = 0.8;    ///< of a leader that is looked at for that: a number stands close to its head
constexpr double MOVED_COST = 120;     ///< leaving the place of the picture before
constexpr double ALONG_COST = 300;     ///< a leader that runs along a drawn line: one would not be told from the other
constexpr double ALONG_SHARE = 0.05;   ///< of the leader's length that its middle is from the line, or less
constexpr double ON_LINE_COST = 4000;  ///< a box on a drawn line: more than any leader, so only where all else is taken
constexpr std::size_t MOST_ROUNDS = 3; ///< in which what was left out is placed first
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

/// The label at that place, its leaders to the nearest of its targets.
LabelBox label_at(std::int32_t wish, const Rect& box, const std::vector<LabelTarget>& targets, std::size_t most) {
    std::vector<LabelTarget> sorted = targets;
    const glm::dvec2 middle(box.x + box.width / 2, box.y + box.height / 2);
    std::stable_sort(sorted.begin(), sorted.end(), [&](const LabelTarget& a, const LabelTarget& b) {
        return glm::length(a.at - middle) < glm::length(b.at - middle);
    });
    sorted.resize(std::min(sorted.size(), most));
    LabelBox label{wish, box, {}, foot_towards(box, sorted.front().at), 1, {}};
    for (const LabelTarget& target : sorted) {
        label.leaders.push_back(leader_end(label.foot, target));
        label.led.push_back(target.id);
    }
    return label;
}

struct Layout {
    std::span<const glm::dvec2> sizes;
    std::span<const std::vector<LabelTarget>> targets;
    const LabelRoom& room;
    const LabelLayout* last;
    bool alone;
    std::vector<LabelBox> placed;
    std::vector<Segment> leaders;

    /// No leader crosses a label: not this one's theirs, nor theirs this one.
    bool crosses_none(const LabelBox& label) const {
        const double clear = room.gap_px / 2;
        for (const Segment& other : leaders)
            if (runs_through(other, grown(label.box, clear)))
                return false;
        for (const LabelBox& other : placed)
            for (const glm::dvec2& point : label.leaders)
                if (runs_through({label.foot, point}, grown(other.box, clear)))
                    return false;
        return true;
    }

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

    double cost(std::size_t wish, const LabelBox& label) const {
        const Rect& box = label.box;
        double sum = 0;
        const auto& points = label.leaders;
        for (const glm::dvec2& point : points) {
            const Segment leader{label.foot, point};
            sum += glm::length(leader.b - leader.a) / static_cast<double>(points.size());
            for (const Segment& other : leaders)
                sum += crosses(leader, other) ? CROSSING_COST : 0;
            const Segment before_end{leader.a, glm::mix(leader.a, leader.b, UNDER_SHARE)};
            for (const Rect& taken : room.reserved)
                sum += runs_through(before_end, taken) ? UNDER_COST : 0;
            const glm::dvec2 middle = 0.5 * (leader.a + leader.b);
            for (const Segment& line : room.lines)
                sum += distance(line, middle) < ALONG_SHARE * glm::length(leader.b - leader.a) ? ALONG_COST : 0;
            for (std::size_t w = 0; w < targets.size(); ++w)
                for (const LabelTarget& target : targets[w])
                    if (glm::length(target.at - point) > 2 * target.radius_px &&
                        distance(leader, target.at) < target.radius_px)
                        sum += THROUGH_COST;
        }
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
        // Where many leaders find no way past the labels that are there, one does.
        return place(wish, alone && targets[wish].size() > 3 ? 1 : MOST_LEADERS) || place(wish, 1);
    }

    bool place(std::size_t wish, std::size_t most_leaders) {
        const glm::dvec2 size = sizes[wish];
        const Rect& area = room.area;
        const double wide = area.width - size.x;
        const double tall = area.height - size.y;
        if (wide < 0 || tall < 0 || targets[wish].empty())
            return false;
        double best = std::numeric_limits<double>::infinity();
        LabelBox result;
        for (int row = 0; row <= ROWS; ++row)
            for (int column = 0; column <= COLUMNS; ++column) {
                const Rect box{area.x + std::round(wide * column / COLUMNS), area.y + std::round(tall * row / ROWS),
                               size.x, size.y};
                if (!allowed(box))
                    continue;
                const LabelBox label = label_at(std::int32_t(wish), box, targets[wish], most_leaders);
                if (!crosses_none(label))
                    continue;
                const double price = cost(wish, label);
                if (price < best) {
                    best = price;
                    result = label;
                }
            }
        if (!std::isfinite(best))
            return false;
        for (const glm::dvec2& point : result.leaders)
            leaders.push_back({result.foot, point});
        placed.push_back(std::move(result));
        return true;
    }
};

} // namespace

/// At the mark's rim, not across it.
glm::dvec2 leader_end(glm::dvec2 foot, const LabelTarget& target) {
    const double length = glm::length(foot - target.at);
    const double share = length > target.end_px ? target.end_px / length : 0;
    return target.at + share * (foot - target.at);
}

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

namespace {

LabelLayout laid_in_turn(std::span<const std::size_t> turn, Layout layout) {
    LabelLayout result;
    for (const std::size_t wish : turn)
        if (!layout.place(wish))
            result.left_out.push_back(static_cast<std::int32_t>(wish));
    result.boxes = std::move(layout.placed);
    std::sort(result.left_out.begin(), result.left_out.end());
    return result;
}

} // namespace

LabelLayout lay_out(std::span<const glm::dvec2> sizes_px, std::span<const std::vector<LabelTarget>> targets,
                    const LabelRoom& room, const LabelLayout* last) {
    const Layout empty{sizes_px, targets, room, last, sizes_px.size() == 1, {}, {}};
    std::vector<std::size_t> turn(sizes_px.size());
    std::iota(turn.begin(), turn.end(), std::size_t{0});
    const auto height = [&](std::size_t wish) { return targets[wish].empty() ? 0.0 : mean(targets[wish]).y; };
    std::stable_sort(turn.begin(), turn.end(), [&](std::size_t a, std::size_t b) { return height(a) < height(b); });
    LabelLayout best = laid_in_turn(turn, empty);
    // What found no room among the others goes first, and they round it.
    for (std::size_t round = 0; round < MOST_ROUNDS; ++round) {
        const auto is_wanting = [&](std::size_t wish) {
            return !targets[wish].empty() &&
                   std::binary_search(best.left_out.begin(), best.left_out.end(), static_cast<std::int32_t>(wish));
        };
        if (std::none_of(turn.begin(), turn.end(), is_wanting))
            break;
        std::stable_partition(turn.begin(), turn.end(), is_wanting);
        LabelLayout other = laid_in_turn(turn, empty);
        if (other.left_out.size() >= best.left_out.size())
            break;
        best = std::move(other);
    }
    return best;
}

bool lay_out_one_more(std::span<const glm::dvec2> sizes_px, std::span<const std::vector<LabelTarget>> targets,
                      const LabelRoom& room, const LabelLayout* last, LabelLayout& laid, std::size_t wish) {
    Layout layout{sizes_px, targets, room, last, false, laid.boxes, {}};
    for (const LabelBox& box : laid.boxes)
        for (const glm::dvec2& point : box.leaders)
            layout.leaders.push_back({box.foot, point});
    if (!layout.place(wish))
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
