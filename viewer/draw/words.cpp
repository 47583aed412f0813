// The words of a picture: labels at what they are about, one tool with its own, nothing estimated without.
#include <algorithm>
#include <cmath>
#include <optional>

#include "viewer/draw/shapes.hpp"

namespace boltwalk {

bool is_labelled(const Frame& frame, std::size_t wish) {
    const auto& boxes = frame.layout.boxes;
    return std::any_of(boxes.begin(), boxes.end(),
                       [&](const LabelBox& box) { return static_cast<std::size_t>(box.wish) == wish; });
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

namespace {

constexpr double HEADLINE_PX = 18; ///< pixels at scale 1, as all that follow
constexpr double DETAIL_PX = 14.5;
constexpr double LABEL_PAD_X = 11;
constexpr double LABEL_PAD_Y = 8;
constexpr double LABEL_GAP = 4;             ///< half of that between two lines
constexpr double WIDEST = 420;              ///< a label of longer words gets more lines
constexpr double NARROWER[] = {0.75, 0.55}; ///< of that, where a label finds no room beside a line
constexpr double CLEAR_OF_MARKS = 16;
constexpr double NOTE_CLEAR = 8;
constexpr double TOOL_LEAST = 24; ///< a tool of which less shows is not drawn

struct Line {
    Face face;
    double size_px;
    std::string text;
};

/// Narrower than half the picture.
double widest_label(const Frame& frame) {
    return std::min(WIDEST * frame.scale, 0.5 * frame.width_px);
}

/// As many as it takes to keep a label so narrow.
std::vector<Line> lines_of(const Words& words, const Frame& frame, double width) {
    const double most = width - 2 * LABEL_PAD_X * frame.scale;
    std::vector<Line> lines;
    const auto add = [&](Face face, double size, const std::string& text) {
        for (const std::string& line : wrapped(face, size * frame.scale, text, most))
            lines.push_back({face, size * frame.scale, shortened(face, size * frame.scale, line, most)});
    };
    add(Face::strong, HEADLINE_PX, words.headline);
    add(Face::text, DETAIL_PX, words.detail);
    return lines;
}

glm::dvec2 size_of(const Words& words, const Frame& frame, double widest) {
    const double s = frame.scale;
    double width = 0;
    double height = 2 * LABEL_PAD_Y * s - 2 * LABEL_GAP * s;
    for (const Line& line : lines_of(words, frame, widest)) {
        width = std::max(width, text_width_px(line.face, line.size_px, line.text));
        height += capital_height_px(line.face, line.size_px) + 2 * LABEL_GAP * s;
    }
    return glm::ceil(glm::dvec2(width + 2 * LABEL_PAD_X * s, height + 2 * s));
}

glm::dvec2 size_of(const Words& words, const Frame& frame) {
    return size_of(words, frame, widest_label(frame));
}

/// All that is drawn as a line over the picture before any label: ways, arrows, plumb lines.
std::vector<Segment> drawn_lines(const Stage& stage, const Frame& frame, const Projection& projection) {
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

/// Everything that is to be laid out.
struct Wishes {
    std::vector<glm::dvec2> sizes;
    std::vector<std::vector<LabelTarget>> targets;
};

/// All labels, off the tool that shows most of those whose words then find room beside them.
LabelLayout lay_out_with_tool(const Frame& frame, const Projection& projection, LabelRoom& room, const Wishes& wishes,
                              const LabelLayout& before) {
    const std::vector<ToolDrawn>& tools = frame.over.tools;
    const LabelLayout* last = before.boxes.empty() ? nullptr : &before;
    std::vector<ToolShown> shown;
    shown.reserve(tools.size());
    for (const ToolDrawn& tool : tools)
        shown.push_back(shown_of(tool, projection, room.area, room.reserved));
    const std::size_t ways = room.lines.size();
    for (const std::size_t i : by_show(shown, tools, before.tool, TOOL_LEAST * frame.scale)) {
        room.lines.resize(ways);
        room.lines.insert(room.lines.end(), shown[i].lines.begin(), shown[i].lines.end());
        LabelLayout layout = lay_out(wishes.sizes, wishes.targets, room, last);
        Wishes more = wishes;
        more.sizes.push_back(size_of(tools[i].words, frame));
        more.targets.push_back({{shown[i].at, NOTE_CLEAR * frame.scale, 0, 0}});
        if (lay_out_one_more(more.sizes, more.targets, room, before.tool == tools[i].fastener ? last : nullptr, layout,
                             wishes.sizes.size())) {
            layout.tool = tools[i].fastener;
            return layout;
        }
    }
    room.lines.resize(ways);
    return lay_out(wishes.sizes, wishes.targets, room, last);
}

/// Which labels lie on a drawn line, or found no place: wishes, rising.
std::vector<std::size_t> badly_placed(const LabelLayout& layout, const LabelRoom& room) {
    std::vector<std::size_t> wishes;
    for (const std::int32_t wish : layout.left_out)
        wishes.push_back(static_cast<std::size_t>(wish));
    for (const LabelBox& label : layout.boxes)
        if (std::any_of(room.lines.begin(), room.lines.end(),
                        [&](const Segment& line) { return runs_through(line, label.box); }))
            wishes.push_back(static_cast<std::size_t>(label.wish));
    std::sort(wishes.begin(), wishes.end());
    return wishes;
}

/// A label, or behind them the words of a plumb line, or of the tool.
std::optional<Words> words_at(const Frame& frame, std::size_t index) {
    if (index < frame.labels.size())
        return Words{frame.labels[index].headline, frame.labels[index].detail};
    index -= frame.labels.size();
    if (index < frame.over.plumbs.size())
        return frame.over.plumbs[index].words;
    if (const ToolDrawn* tool = tool_of(frame))
        return tool->words;
    return std::nullopt;
}

} // namespace

void add_labels(Shapes& shapes, const Frame& frame) {
    const Theme& theme = theme_of(frame.night);
    const double s = frame.scale;
    for (const LabelBox& label : frame.layout.boxes)
        for (const glm::dvec2& point : label.leaders)
            add_line(shapes, label.foot, point, 4.2 * s, faded(theme.paper, 0.8 * label.opacity));
    for (const LabelBox& label : frame.layout.boxes)
        for (const glm::dvec2& point : label.leaders) {
            add_line(shapes, label.foot, point, 1.6 * s, faded(theme.label_edge, label.opacity));
            add_disc(shapes, point, 2.6 * s, faded(theme.label_edge, label.opacity));
        }
    for (const LabelBox& label : frame.layout.boxes) {
        const std::optional<Words> written = words_at(frame, static_cast<std::size_t>(label.wish));
        if (!written)
            continue;
        add_box(shapes, label.box, 7 * s, faded(theme.label, label.opacity), faded(theme.label_edge, label.opacity),
                1.5 * s);
        double pen = label.box.y + LABEL_PAD_Y * s + s - 2 * LABEL_GAP * s;
        // At the width that it was measured to have, its words break as they did then.
        for (const Line& line : lines_of(*written, frame, label.box.width)) {
            pen += 2 * LABEL_GAP * s + capital_height_px(line.face, line.size_px);
            add_text(shapes, line.face, line.size_px, line.text, {label.box.x + LABEL_PAD_X * s, pen},
                     faded(line.face == Face::strong ? theme.text : theme.text_soft, label.opacity));
        }
    }
}

namespace {

/// What the labels of a picture are laid out in.
struct Asked {
    Projection projection;
    Wishes wishes;
    std::vector<Rect> taken;
    LabelRoom room;
};

Asked asked(const Stage& stage, std::span<const Rect> reserved, const Frame& frame) {
    const glm::dvec2 size(frame.width_px, frame.height_px);
    Asked all;
    const Projection& projection = all.projection = project(frame.camera, size, bounds_of(stage, frame.poses));
    auto& [sizes, targets] = all.wishes;
    for (const LabelWish& wish : frame.labels) {
        sizes.push_back(size_of({wish.headline, wish.detail}, frame));
        std::vector<LabelTarget> points;
        for (const ItemId item : wish.items) {
            auto mark = stage.map->is_fastener(item) ? fastener_mark(stage, frame, projection, item)
                                                     : part_mark(stage, frame, projection, item);
            if (!mark)
                continue;
            if (stage.map->is_fastener(item)) {
                mark->radius_px += RING_BEYOND * frame.scale;
                mark->end_px = mark->radius_px;
            }
            mark->id = item.index;
            points.push_back(*mark);
        }
        targets.push_back(std::move(points));
    }
    for (const Plumb& plumb : frame.over.plumbs) {
        sizes.push_back(size_of(plumb.words, frame));
        targets.emplace_back();
        const auto place = to_screen(projection, plumb.centre);
        if (place && place->x >= 0 && place->y >= 0 && place->x < size.x && place->y < size.y)
            targets.back().push_back({{place->x, place->y}, NOTE_CLEAR * frame.scale, 0, 0});
    }
    // As far off these as where a label that is carried along begins to fade.
    const double clear = FADE_WITHIN * frame.scale;
    for (const Rect& one : reserved)
        all.taken.push_back(grown(one, clear));
    for (const Rect& own : {gnomon_rect(frame), caption_rect(frame)})
        if (own.width > 0)
            all.taken.push_back(grown(own, clear));
    const double edge = 14 * frame.scale;
    // What lies under the gnomon is not pointed at while there is another.
    for (std::vector<LabelTarget>& points : targets) {
        const auto is_covered = [&](const LabelTarget& point) {
            const Rect pixel{point.at.x, point.at.y, 1, 1};
            return std::any_of(all.taken.begin(), all.taken.end(),
                               [&](const Rect& rect) { return overlap(rect, pixel); });
        };
        if (!std::all_of(points.begin(), points.end(), is_covered))
            std::erase_if(points, is_covered);
    }
    all.room = {{edge, edge, size.x - 2 * edge, size.y - 2 * edge},
                all.taken,
                CLEAR_OF_MARKS * frame.scale,
                drawn_lines(stage, frame, projection)};
    return all;
}

LabelLayout fresh_layout(const Frame& frame, const Asked& asked, const LabelLayout& before) {
    Wishes wishes = asked.wishes;
    LabelRoom with_tool = asked.room;
    LabelLayout layout = lay_out_with_tool(frame, asked.projection, with_tool, wishes, before);
    // Narrower and higher a label may find a place beside a line that it would else lie on.
    std::vector<std::size_t> bad = badly_placed(layout, with_tool);
    for (const double share : NARROWER) {
        Wishes others = wishes;
        for (const std::size_t wish : bad)
            if (wish < others.sizes.size())
                if (const std::optional<Words> words = words_at(frame, wish))
                    others.sizes[wish] = size_of(*words, frame, share * widest_label(frame));
        if (others.sizes == wishes.sizes)
            break;
        LabelRoom other_room = asked.room;
        LabelLayout other = lay_out_with_tool(frame, asked.projection, other_room, others, before);
        const std::vector<std::size_t> still_bad = badly_placed(other, other_room);
        if (still_bad.size() >= bad.size())
            continue;
        layout = std::move(other);
        wishes = std::move(others);
        bad = still_bad;
    }
    return layout;
}

/// Where the words of the frame's tool point; none while that place does not show.
std::optional<LabelTarget> tool_target(const Frame& frame, const Asked& asked, const glm::dvec3& point) {
    const auto seen = to_screen(asked.projection, point);
    const auto within = [&](const Rect& rect) { return overlap(rect, {seen->x, seen->y, 0, 0}); };
    if (!seen || !within(asked.room.area) ||
        std::any_of(asked.room.reserved.begin(), asked.room.reserved.end(), within))
        return std::nullopt;
    return LabelTarget{glm::dvec2(*seen), NOTE_CLEAR * frame.scale, 0, 0};
}

} // namespace

void place_labels(const Stage& stage, std::span<const Rect> reserved, Frame& frame) {
    const Asked all = asked(stage, reserved, frame);
    const LabelLayout before = std::move(frame.layout);
    frame.layout = fresh_layout(frame, all, before);
}

void move_labels(const Stage& stage, std::span<const Rect> reserved, bool at_rest, double seconds, SteadyLabels& labels,
                 Frame& frame) {
    const Asked all = asked(stage, reserved, frame);
    const std::size_t count = all.wishes.sizes.size();
    LabelLayout goal;
    if (at_rest) {
        goal = fresh_layout(frame, all, frame.layout);
        const bool tool_goes = std::none_of(labels.held.begin(), labels.held.end(), [&](const HeldLabel& label) {
            return std::size_t(label.at.wish) == count;
        });
        if (tool_goes) {
            frame.layout.tool = goal.tool;
            if (const ToolDrawn* tool = tool_of(frame))
                labels.tool_point = shown_of(*tool, all.projection, all.room.area, all.room.reserved).point;
        } else if (goal.tool != frame.layout.tool) { // its place is for another
            std::erase_if(goal.boxes, [&](const LabelBox& box) { return std::size_t(box.wish) == count; });
        }
    }
    std::vector<LabelAsk> asks;
    for (std::size_t wish = 0; wish < count; ++wish) {
        LabelAsk ask{{all.wishes.sizes[wish]}, all.wishes.targets[wish]};
        if (const std::optional<Words> words = words_at(frame, wish))
            for (const double share : NARROWER)
                if (const glm::dvec2 size = size_of(*words, frame, share * widest_label(frame));
                    size != ask.sizes.back())
                    ask.sizes.push_back(size);
        asks.push_back(std::move(ask));
    }
    LabelRoom room = all.room;
    asks.emplace_back();
    const ToolDrawn* tool = tool_of(frame);
    const auto tool_at = tool != nullptr ? tool_target(frame, all, labels.tool_point) : std::nullopt;
    if (tool_at) {
        asks.back() = {{size_of(tool->words, frame)}, {*tool_at}};
        const ToolShown shown = shown_of(*tool, all.projection, room.area, room.reserved);
        room.lines.insert(room.lines.end(), shown.lines.begin(), shown.lines.end());
    }
    const ItemId drawn = frame.layout.tool;
    frame.layout = steady(labels, asks, room, at_rest ? &goal : nullptr, seconds, frame.scale);
    // No tool without its words.
    if (is_labelled(frame, count))
        frame.layout.tool = drawn;
}

} // namespace boltwalk
