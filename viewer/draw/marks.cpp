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
constexpr double TOOL_LEAST = 24; ///< a tool of which less shows is not drawn
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
struct WayArrow : Segment {
    bool towards_eye = false;
};
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
    const auto from = to_screen(projection, box.centre());
    const auto to = to_screen(projection, box.centre() + along * reach);
    if (!from || !to)
        return std::nullopt;
    WayArrow arrow;
    arrow.a = {from->x, from->y};
    arrow.b = {to->x, to->y};
    arrow.towards_eye = to->z < from->z;
    return arrow;
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

glm::dvec2 label_size_px(const LabelWish& wish, double scale) {
    const double headline = text_width_px(Face::strong, HEADLINE_PX * scale, wish.headline);
    const double detail = text_width_px(Face::text, DETAIL_PX * scale, wish.detail);
    double height = capital_height_px(Face::strong, HEADLINE_PX * scale) + 2 * LABEL_PAD_Y * scale;
    if (!wish.detail.empty())
        height += capital_height_px(Face::text, DETAIL_PX * scale) + 2 * LABEL_GAP * scale;
    return glm::ceil(glm::dvec2(std::max(headline, detail) + 2 * LABEL_PAD_X * scale, height + 2 * scale));
}

bool is_labelled(const Frame& frame, std::size_t wish) {
    const auto& boxes = frame.layout.boxes;
    return std::any_of(boxes.begin(), boxes.end(), [&](const LabelBox& box) { return at(box.wish) == wish; });
}

const ToolDrawn* tool_of(const Frame& frame) {
    const auto& tools = frame.over.tools;
    const auto found = std::find_if(tools.begin(), tools.end(),
                                    [&](const ToolDrawn& tool) { return tool.fastener == frame.layout.tool; });
    return frame.layout.tool && found != tools.end() ? &*found : nullptr;
}

bool is_told(const Frame& frame, ItemId part) {
    if (!frame.caption.footnote.empty())
        return true;
    for (std::size_t i = 0; i < frame.labels.size(); ++i)
        if (frame.labels[i].items == std::vector<ItemId>{part} && is_labelled(frame, i))
            return true;
    return false;
}

/// A label, or behind them the words of a plumb line, or of the tool.
static std::optional<Words> words_at(const Frame& frame, std::size_t index) {
    if (index < frame.labels.size())
        return Words{frame.labels[index].headline, frame.labels[index].detail};
    index -= frame.labels.size();
    if (index < frame.over.plumbs.size())
        return frame.over.plumbs[index].words;
    if (const ToolDrawn* tool = tool_of(frame))
        return tool->words;
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
        const std::optional<Words> written = words_at(frame, at(label.wish));
        if (!written)
            continue;
        const Words& wish = *written;
        add_box(shapes, label.box, 7 * s, theme.label, theme.label_edge, 1.5 * s);
        double pen = label.box.y + LABEL_PAD_Y * s + s + capital_height_px(Face::strong, HEADLINE_PX * s);
        const double x = label.box.x + LABEL_PAD_X * s;
        add_text(shapes, Face::strong, HEADLINE_PX * s, wish.headline, {x, pen}, theme.text);
        pen += 2 * LABEL_GAP * s + capital_height_px(Face::text, DETAIL_PX * s);
        if (!wish.detail.empty())
            add_text(shapes, Face::text, DETAIL_PX * s, wish.detail, {x, pen}, theme.text_soft);
    }
}

/// All that is drawn as a line over the picture before any label: ways, arrows, plumb lines.
static std::vector<Segment> lines_of(const Stage& stage, const Frame& frame, const Projection& projection) {
    std::vector<Segment> lines;
    for (const Track& track : frame.over.tracks) {
        const auto path = on_picture(track, projection, WAY_RIM * frame.scale);
        for (std::size_t i = 1; i < path.size(); ++i)
            lines.push_back({path[i - 1], path[i]});
    }
    const auto has_track = [&](ItemId part) {
        return std::any_of(frame.over.tracks.begin(), frame.over.tracks.end(),
                           [&](const Track& track) { return track.part == part; });
    };
    for (const ItemId part : frame.moves)
        if (stage.map->is_part(part) && !has_track(part))
            if (const auto arrow = arrow_of(stage, frame, projection, part))
                lines.push_back(*arrow);
    for (const Plumb& plumb : frame.over.plumbs) {
        const auto low = to_screen(projection, {plumb.centre.x, plumb.low_m, plumb.centre.z});
        const auto high = to_screen(projection, {plumb.centre.x, plumb.high_m, plumb.centre.z});
        if (low && high)
            lines.push_back({{low->x, low->y}, {high->x, high->y}});
    }
    return lines;
}

/// The tool that shows most of those whose words find room.
static void choose_tool(Frame& frame, const Projection& projection, LabelRoom& room, std::vector<glm::dvec2>& sizes,
                        std::vector<std::vector<LabelTarget>>& targets, const LabelLayout& before) {
    const std::vector<ToolDrawn>& tools = frame.over.tools;
    std::vector<ToolShown> shown;
    for (const ToolDrawn& tool : tools)
        shown.push_back(shown_of(tool, projection, room.area, room.reserved));
    const std::size_t ways = room.lines.size();
    sizes.emplace_back();
    targets.emplace_back();
    for (const std::size_t i : by_show(shown, tools, before.tool, TOOL_LEAST * frame.scale)) {
        const Words& words = tools[i].words;
        sizes.back() = label_size_px({words.headline, words.detail, {}}, frame.scale);
        targets.back() = {{shown[i].at, NOTE_CLEAR * frame.scale, 0}};
        room.lines.resize(ways);
        room.lines.insert(room.lines.end(), shown[i].lines.begin(), shown[i].lines.end());
        const LabelLayout* last = before.tool == tools[i].fastener ? &before : nullptr;
        if (lay_out_one_more(sizes, targets, room, last, frame.layout)) {
            frame.layout.tool = tools[i].fastener;
            return;
        }
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
    for (const Plumb& plumb : frame.over.plumbs) {
        sizes.push_back(label_size_px({plumb.words.headline, plumb.words.detail, {}}, frame.scale));
        targets.emplace_back();
        const auto place = to_screen(projection, plumb.centre);
        if (place && place->x >= 0 && place->y >= 0 && place->x < size.x && place->y < size.y)
            targets.back().push_back({{place->x, place->y}, NOTE_CLEAR * frame.scale, 0});
    }
    std::vector<Rect> taken(reserved.begin(), reserved.end());
    for (const Rect& own : {gnomon_rect(frame), caption_rect(frame)})
        if (own.width > 0)
            taken.push_back(own);
    const double edge = 14 * frame.scale;
    LabelRoom room{{edge, edge, size.x - 2 * edge, size.y - 2 * edge},
                   taken,
                   CLEAR_OF_MARKS * frame.scale,
                   lines_of(stage, frame, projection)};
    const LabelLayout before = std::move(frame.layout);
    const LabelLayout* last = before.boxes.empty() ? nullptr : &before;
    frame.layout = lay_out(sizes, targets, room, last);
    choose_tool(frame, projection, room, sizes, targets, before);
}

} // namespace boltwalk
