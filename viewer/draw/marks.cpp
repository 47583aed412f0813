// Marks on what is next or selected.
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "viewer/draw/shapes.hpp"

namespace boltwalk {

namespace {

constexpr double LEAST_RING = 9; ///< pixels at scale 1: a ring smaller than this reads as a dot
constexpr double RING_WIDTH = 2.4;
constexpr double HALO_WIDTH = 1.4;      ///< of the paper's colour on both sides, so that a ring shows on any ground
constexpr double LEAST_UNDASHED = 0.35; ///< less of it in sight, and its ring is dashed
constexpr double HOLE_WITHIN = 0.5;     ///< of the outer ring's radius
constexpr double PART_CLEAR = 70; ///< a part's label keeps so far from its middle at most, where the part is that large

void add_haloed_ring(Shapes& shapes, const Theme& theme, glm::dvec2 middle, double radius, double scale, bool covered) {
    const int dashes = covered ? std::clamp(static_cast<int>(radius / scale / 2.2), 6, 28) : 0;
    add_ring(shapes, middle, radius, (RING_WIDTH + 2 * HALO_WIDTH) * scale, faded(theme.paper, 0.85));
    add_ring(shapes, middle, radius, RING_WIDTH * scale, theme.accent, dashes);
}

bool is_hole(const Frame& frame, ItemId item) {
    return std::find(frame.holes.begin(), frame.holes.end(), item) != frame.holes.end();
}

/// Something that is drawn stands before the rim of a hole.
bool is_behind(const Stage& stage, const Frame& frame, const Projection& projection, const LabelTarget& rim) {
    const Ray ray = ray_through(projection, rim.at);
    const auto hit = pick(stage, frame.poses, ray);
    const HeadShape& head = stage.heads[at((*stage.map)[ItemId{rim.id}].detail)];
    return hit && hit->distance_m < glm::length(head.top - projection.eye) - head.length;
}

void add_way(Shapes& shapes, const Theme& theme, double scale, const WayArrow& arrow) {
    const glm::dvec2 a = arrow.a;
    const glm::dvec2 b = arrow.b;
    const double width = 6 * scale;
    if (glm::length(b - a) < 4 * width) {
        // Seen along the way: a dot comes towards the eye, a cross goes away from it.
        add_disc(shapes, a, 13 * scale, theme.paper);
        add_ring(shapes, a, 11 * scale, 3 * scale, theme.accent);
        if (arrow.towards_eye) {
            add_disc(shapes, a, 4 * scale, theme.accent);
        } else {
            const double arm = 6 * scale;
            add_line(shapes, a - arm, a + arm, 3 * scale, theme.accent);
            add_line(shapes, a + glm::dvec2(-arm, arm), a + glm::dvec2(arm, -arm), 3 * scale, theme.accent);
        }
        return;
    }
    const glm::dvec2 unit = (b - a) / glm::length(b - a);
    add_arrow(shapes, a - unit * scale, b + unit * 3.0 * scale, width + 3.5 * scale, theme.paper);
    add_arrow(shapes, a, b, width, theme.accent);
}

void add_brackets(Shapes& shapes, const Theme& theme, const Rect& around, double scale) {
    const double arm = std::min({14 * scale, around.width / 2.5, around.height / 2.5});
    for (const bool halo : {true, false}) {
        const double width = halo ? 5.5 * scale : 2.6 * scale;
        const Colour colour = halo ? theme.paper : theme.text;
        for (const double x : {around.x, around.right()})
            for (const double y : {around.y, around.bottom()}) {
                const double dx = x > around.x ? -arm : arm;
                const double dy = y > around.y ? -arm : arm;
                add_line(shapes, {x, y}, {x + dx, y}, width, colour);
                add_line(shapes, {x, y}, {x, y + dy}, width, colour);
            }
    }
}

} // namespace

std::optional<LabelTarget> fastener_mark(const Stage& stage, const Frame& frame, const Projection& projection,
                                         ItemId item) {
    const double least = LEAST_RING * frame.scale;
    if (!is_hole(frame, item))
        return mark_of(stage, frame.poses, item, projection, least);
    std::vector<Pose> plugged = frame.poses;
    put_in_its_hole(*stage.map, item, plugged);
    return mark_of(stage, plugged, item, projection, least);
}

std::optional<LabelTarget> part_mark(const Stage& stage, const Frame& frame, const Projection& projection,
                                     ItemId item) {
    auto mark = mark_of(stage, frame.poses, item, projection, 3 * frame.scale);
    const Pose pose = at(item.index) < frame.poses.size() ? frame.poses[at(item.index)] : Pose{};
    const auto box = screen_box(projection, moved(stage.item_bounds[at(item.index)], pose.shift_m));
    if (mark && box)
        mark->radius_px =
            std::clamp(0.5 * std::min(box->width, box->height), 3 * frame.scale, PART_CLEAR * frame.scale);
    return mark;
}

std::optional<WayArrow> arrow_of(const Stage& stage, const Frame& frame, const Projection& projection, ItemId part) {
    const Map& map = *stage.map;
    const Part& p = map.part(part);
    const std::vector<Leg> down{{Way::down, p.lower_mm.value_or(0)}};
    const std::vector<Leg>& legs = !p.way.empty() ? p.way : !p.aside_legs.empty() ? p.aside_legs : down;
    if (legs.front().length_mm <= 0)
        return std::nullopt;
    const Pose pose = at(part.index) < frame.poses.size() ? frame.poses[at(part.index)] : Pose{};
    const Bounds box = moved(stage.item_bounds[at(part.index)], pose.shift_m);
    if (pose.presence <= 0 || box.empty())
        return std::nullopt;
    const auto d = direction_of(legs.front().way);
    const glm::dvec3 along(d[0], d[1], d[2]);
    const double reach = std::clamp(legs.front().length_mm / 1000.0, 0.25 * box.radius(), 0.8 * box.radius());
    const glm::dvec3 foot = stage.anchors[at(part.index)] + pose.shift_m;
    const auto from = to_screen(projection, foot);
    const auto to = to_screen(projection, foot + along * reach);
    if (!from || !to)
        return std::nullopt;
    WayArrow arrow;
    arrow.a = {from->x, from->y};
    arrow.b = {to->x, to->y};
    arrow.towards_eye = to->z < from->z;
    return arrow;
}

void add_marks(Shapes& shapes, const Stage& stage, const Frame& frame, const Projection& projection,
               const MarkFacts& facts) {
    const Theme& theme = theme_of(frame.night);
    for (std::size_t i = 0; i < frame.next.size(); ++i) {
        const ItemId item = frame.next[i];
        if (!stage.map->is_fastener(item))
            continue;
        const auto mark = fastener_mark(stage, frame, projection, item);
        const bool covered = i < facts.in_sight.size() && facts.in_sight[i] < LEAST_UNDASHED;
        if (mark)
            add_haloed_ring(shapes, theme, mark->at, mark->radius_px + 2 * frame.scale, frame.scale, covered);
    }
    for (const ItemId item : frame.holes)
        if (auto mark = fastener_mark(stage, frame, projection, item)) {
            mark->id = item.index;
            const bool covered = is_behind(stage, frame, projection, *mark);
            // Two rings, as a hole is drawn: what is in place has one.
            for (const double share : {1.0, HOLE_WITHIN})
                add_haloed_ring(shapes, theme, mark->at, share * (mark->radius_px + 2 * frame.scale), frame.scale,
                                covered);
        }
    for (const ItemId part : frame.moves)
        if (stage.map->is_part(part) &&
            std::find(facts.ways_drawn.begin(), facts.ways_drawn.end(), part) == facts.ways_drawn.end())
            if (const auto arrow = arrow_of(stage, frame, projection, part))
                add_way(shapes, theme, frame.scale, *arrow);
    for (const ItemId item : frame.selected) {
        const Pose pose = at(item.index) < frame.poses.size() ? frame.poses[at(item.index)] : Pose{};
        const auto box = screen_box(projection, moved(stage.item_bounds[at(item.index)], pose.shift_m));
        if (box && pose.presence > 0) {
            const double edge = 5 * frame.scale;
            add_brackets(shapes, theme, {box->x - edge, box->y - edge, box->width + 2 * edge, box->height + 2 * edge},
                         frame.scale);
        }
    }
}

} // namespace boltwalk
