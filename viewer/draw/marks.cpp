// Marks on what is next or selected, and labels.
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
constexpr double LEAST_IN_SIGHT = 0.35; ///< less of it in sight, and its ring is dashed
constexpr double HEADLINE_PX = 18;
constexpr double DETAIL_PX = 14.5;
constexpr double LABEL_PAD_X = 11;
constexpr double LABEL_PAD_Y = 8;
constexpr double LABEL_GAP = 4; ///< between its two lines
constexpr double CLEAR_OF_MARKS = 16;
constexpr double NOTE_CLEAR = 8;
constexpr double PART_CLEAR = 70; ///< a part's label keeps so far from its middle at most, where the part is that large

std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

Colour faded(Colour colour, double share) {
    colour.a = static_cast<std::uint8_t>(std::lround(colour.a * std::clamp(share, 0.0, 1.0)));
    return colour;
}

void add_haloed_ring(Shapes& shapes, const Theme& theme, glm::dvec2 middle, double radius, double scale, bool covered) {
    const int dashes = covered ? std::clamp(static_cast<int>(radius / scale / 2.2), 6, 28) : 0;
    add_ring(shapes, middle, radius, (RING_WIDTH + 2 * HALO_WIDTH) * scale, faded(theme.paper, 0.85));
    add_ring(shapes, middle, radius, RING_WIDTH * scale, theme.accent, dashes);
}

/// Where a part goes first, as an arrow beside it: its own way, or none where the author states none.
void add_way(Shapes& shapes, const Theme& theme, const Stage& stage, const Frame& frame, const Projection& projection,
             ItemId part) {
    const Map& map = *stage.map;
    const Part& p = map.part(part);
    const std::vector<Leg> down{{Way::down, p.lower_mm.value_or(0)}};
    const std::vector<Leg>& legs = !p.way.empty() ? p.way : !p.aside_legs.empty() ? p.aside_legs : down;
    if (legs.front().length_mm <= 0)
        return;
    const Pose pose = at(part.index) < frame.poses.size() ? frame.poses[at(part.index)] : Pose{};
    const Bounds box = moved(stage.item_bounds[at(part.index)], pose.shift_m);
    if (pose.presence <= 0 || box.empty())
        return;
    const auto d = direction_of(legs.front().way);
    const glm::dvec3 along(d[0], d[1], d[2]);
    const double reach = std::clamp(legs.front().length_mm / 1000.0, 0.25 * box.radius(), 0.8 * box.radius());
    const auto from = to_screen(projection, box.centre());
    const auto to = to_screen(projection, box.centre() + along * reach);
    if (!from || !to)
        return;
    const glm::dvec2 a(from->x, from->y);
    const glm::dvec2 b(to->x, to->y);
    const double width = 6 * frame.scale;
    if (glm::length(b - a) < 4 * width) {
        // Seen along the way: a dot comes towards the eye, a cross goes away from it.
        add_disc(shapes, a, 13 * frame.scale, theme.paper);
        add_ring(shapes, a, 11 * frame.scale, 3 * frame.scale, theme.accent);
        if (to->z < from->z) {
            add_disc(shapes, a, 4 * frame.scale, theme.accent);
        } else {
            const double arm = 6 * frame.scale;
            add_line(shapes, a - arm, a + arm, 3 * frame.scale, theme.accent);
            add_line(shapes, a + glm::dvec2(-arm, arm), a + glm::dvec2(arm, -arm), 3 * frame.scale, theme.accent);
        }
        return;
    }
    const glm::dvec2 unit = (b - a) / glm::length(b - a);
    add_arrow(shapes, a - unit * frame.scale, b + unit * 3.0 * frame.scale, width + 3.5 * frame.scale, theme.paper);
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

std::optional<LabelTarget> fastener_mark(const Stage& stage, const Frame& frame, const Projection& projection,
                                         ItemId item) {
    return mark_of(stage, frame.poses, item, projection, LEAST_RING * frame.scale);
}

/// Its middle, and a disc within it that labels keep off.
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

} // namespace

void add_marks(Shapes& shapes, const Stage& stage, const Frame& frame, const Projection& projection,
               const MarkFacts& facts) {
    const Theme& theme = theme_of(frame.night);
    for (std::size_t i = 0; i < frame.next.size(); ++i) {
        const ItemId item = frame.next[i];
        if (!stage.map->is_fastener(item))
            continue;
        const auto mark = fastener_mark(stage, frame, projection, item);
        const bool covered = i < facts.in_sight.size() && facts.in_sight[i] < LEAST_IN_SIGHT;
        if (mark)
            add_haloed_ring(shapes, theme, mark->at, mark->radius_px + 2 * frame.scale, frame.scale, covered);
    }
    for (const ItemId part : frame.moves)
        if (stage.map->is_part(part) &&
            std::find(facts.ways_drawn.begin(), facts.ways_drawn.end(), part) == facts.ways_drawn.end())
            add_way(shapes, theme, stage, frame, projection, part);
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

glm::dvec2 label_size_px(const LabelWish& wish, double scale) {
    const double headline = text_width_px(Face::strong, HEADLINE_PX * scale, wish.headline);
    const double detail = text_width_px(Face::text, DETAIL_PX * scale, wish.detail);
    double height = capital_height_px(Face::strong, HEADLINE_PX * scale) + 2 * LABEL_PAD_Y * scale;
    if (!wish.detail.empty())
        height += capital_height_px(Face::text, DETAIL_PX * scale) + 2 * LABEL_GAP * scale;
    return glm::ceil(glm::dvec2(std::max(headline, detail) + 2 * LABEL_PAD_X * scale, height + 2 * scale));
}

/// A label, or behind them a note.
static std::optional<LabelWish> wish_at(const Frame& frame, std::size_t index) {
    if (index < frame.labels.size())
        return frame.labels[index];
    index -= frame.labels.size();
    if (index < frame.over.notes.size())
        return LabelWish{frame.over.notes[index].headline, frame.over.notes[index].detail, {}};
    return std::nullopt;
}

void add_labels(Shapes& shapes, const Frame& frame) {
    const Theme& theme = theme_of(frame.night);
    const double s = frame.scale;
    for (const LabelBox& label : frame.layout.boxes)
        for (const glm::dvec2& point : label.leaders)
            add_line(shapes, label.foot, point, 4.2 * s, faded(theme.paper, 0.8));
    for (const LabelBox& label : frame.layout.boxes)
        for (const glm::dvec2& point : label.leaders) {
            add_line(shapes, label.foot, point, 1.6 * s, theme.label_edge);
            add_disc(shapes, point, 2.6 * s, theme.label_edge);
        }
    for (const LabelBox& label : frame.layout.boxes) {
        const std::optional<LabelWish> written = wish_at(frame, at(label.wish));
        if (!written)
            continue;
        const LabelWish& wish = *written;
        add_box(shapes, label.box, 7 * s, theme.label, theme.label_edge, 1.5 * s);
        double pen = label.box.y + LABEL_PAD_Y * s + s + capital_height_px(Face::strong, HEADLINE_PX * s);
        const double x = label.box.x + LABEL_PAD_X * s;
        add_text(shapes, Face::strong, HEADLINE_PX * s, wish.headline, {x, pen}, theme.text);
        pen += 2 * LABEL_GAP * s + capital_height_px(Face::text, DETAIL_PX * s);
        if (!wish.detail.empty())
            add_text(shapes, Face::text, DETAIL_PX * s, wish.detail, {x, pen}, theme.text_soft);
    }
}

void place_labels(const Stage& stage, std::span<const Rect> reserved, Frame& frame) {
    const glm::dvec2 size(frame.width_px, frame.height_px);
    const Projection projection = project(frame.camera, size, bounds_of(stage, frame.poses));
    std::vector<glm::dvec2> sizes;
    std::vector<std::vector<LabelTarget>> targets;
    for (const LabelWish& wish : frame.labels) {
        sizes.push_back(label_size_px(wish, frame.scale));
        std::vector<LabelTarget> points;
        for (const ItemId item : wish.items) {
            auto mark = stage.map->is_fastener(item) ? fastener_mark(stage, frame, projection, item)
                                                     : part_mark(stage, frame, projection, item);
            if (!mark)
                continue;
            if (stage.map->is_fastener(item)) {
                mark->radius_px += (2 + RING_WIDTH / 2 + HALO_WIDTH) * frame.scale;
                mark->end_px = mark->radius_px;
            }
            points.push_back(*mark);
        }
        targets.push_back(std::move(points));
    }
    for (const Note& note : frame.over.notes) {
        sizes.push_back(label_size_px({note.headline, note.detail, {}}, frame.scale));
        targets.emplace_back();
        const auto place = to_screen(projection, note.at);
        if (place && place->x >= 0 && place->y >= 0 && place->x < size.x && place->y < size.y)
            targets.back().push_back({{place->x, place->y}, NOTE_CLEAR * frame.scale, 0});
    }
    std::vector<Rect> taken(reserved.begin(), reserved.end());
    for (const Rect& own : {gnomon_rect(frame), caption_rect(frame)})
        if (own.width > 0)
            taken.push_back(own);
    const double edge = 14 * frame.scale;
    const Rect area{edge, edge, size.x - 2 * edge, size.y - 2 * edge};
    const LabelLayout last = std::move(frame.layout);
    frame.layout =
        lay_out(sizes, targets, area, taken, CLEAR_OF_MARKS * frame.scale, last.boxes.empty() ? nullptr : &last);
}

} // namespace boltwalk
