// Where the words of a picture stand: what is asked of their layout, which size each gets, which tool is drawn.
#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "viewer/draw/shapes.hpp"

namespace boltwalk {

namespace {

constexpr double CLEAR_OF_MARKS = 16; ///< pixels at scale 1, as all that follow
constexpr double NOTE_CLEAR = 8;
constexpr double TOOL_LEAST = 24;    ///< a tool of which less shows is not drawn
constexpr std::int32_t SHORTEST = 2; ///< forms of a label that are tried, beyond the whole one
constexpr int LETTER_SIZES = 6;      ///< sizes of letters tried, from the largest down, before the scale's own
constexpr double SMALLER_LETTERS[] = {0.85, 0.72}; ///< than the scale's own, rather than that one is left out
constexpr double LABELS_SHARE = 0.22;              ///< of the picture that labels of larger letters cover at most

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
        // The others keep off the place that its words point at, as far as they will when they are carried along.
        std::vector<Rect> taken(room.reserved.begin(), room.reserved.end());
        taken.push_back(grown({shown[i].at.x, shown[i].at.y, 0, 0}, (NOTE_CLEAR + FADE_WITHIN) * frame.scale));
        LabelRoom others = room;
        others.reserved = taken;
        LabelLayout layout = lay_out(wishes.sizes, wishes.targets, others, last);
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

/// Of its sizes the one of that form, so many times narrower; where there is none, the next that there is.
std::size_t size_with(const std::vector<LabelSize>& sizes, std::int32_t form, std::size_t narrower) {
    std::size_t k = 0;
    while (k + 1 < sizes.size() && sizes[k].form < form)
        ++k;
    while (narrower > 0 && k + 1 < sizes.size() && sizes[k + 1].form == sizes[k].form) {
        ++k;
        --narrower;
    }
    return k;
}

/// What the labels of a picture are laid out in.
struct Asked {
    Projection projection;
    Wishes wishes;                             ///< each in full
    std::vector<std::vector<LabelSize>> sizes; ///< by wish: all that it may have
    std::vector<Rect> taken;
    LabelRoom room;
};

Asked asked(const Stage& stage, std::span<const Rect> reserved, const Frame& frame) {
    const glm::dvec2 size(frame.width_px, frame.height_px);
    Asked all;
    const Projection& projection = all.projection = project(frame.camera, size, bounds_of(stage, frame.poses));
    auto& [sizes, targets] = all.wishes;
    for (const LabelWish& wish : frame.labels) {
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
        targets.emplace_back();
        const auto place = to_screen(projection, plumb.centre);
        if (place && place->x >= 0 && place->y >= 0 && place->x < size.x && place->y < size.y)
            targets.back().push_back({{place->x, place->y}, NOTE_CLEAR * frame.scale, 0, 0});
    }
    for (std::size_t wish = 0; wish < targets.size(); ++wish) {
        all.sizes.push_back(sizes_of(frame, wish));
        sizes.push_back(all.sizes.back().front().px);
    }
    // As far off these as where a label that is carried along begins to fade.
    const double clear = FADE_WITHIN * frame.scale;
    for (const Rect& one : reserved)
        all.taken.push_back(grown(one, clear));
    const auto numbers = static_cast<std::ptrdiff_t>(all.taken.size());
    for (const Rect& own : {gnomon_rect(frame), caption_rect(frame)})
        if (own.width > 0)
            all.taken.push_back(grown(own, clear));
    const double edge = 14 * frame.scale;
    // What lies under the gnomon is not pointed at while there is another. A number stands beside its head, and a
    // square round the number may reach over the head all the same.
    for (std::vector<LabelTarget>& points : targets) {
        const auto is_covered = [&](const LabelTarget& point) {
            const Rect pixel{point.at.x, point.at.y, 1, 1};
            return std::any_of(all.taken.begin() + numbers, all.taken.end(),
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

/// A layout with the sizes that were chosen for it, and what is not well in it.
struct Tried {
    std::vector<std::size_t> chosen; ///< by wish: of Asked::sizes
    LabelLayout layout;
    std::vector<std::size_t> bad; ///< left out or on a line
    std::size_t missing = 0;      ///< left out, and yet in the picture

    bool is_better_than(const Tried& other) const {
        return missing != other.missing ? missing < other.missing : bad.size() < other.bad.size();
    }
    bool is_missing(const Asked& asked, std::size_t wish) const {
        return !asked.wishes.targets[wish].empty() &&
               std::binary_search(layout.left_out.begin(), layout.left_out.end(), static_cast<std::int32_t>(wish));
    }
};

Tried tried_with(const Frame& frame, const Asked& asked, const LabelLayout& before, std::vector<std::size_t> chosen) {
    Tried tried;
    Wishes wishes = asked.wishes;
    for (std::size_t wish = 0; wish < chosen.size(); ++wish)
        wishes.sizes[wish] = asked.sizes[wish][chosen[wish]].px;
    LabelRoom with_tool = asked.room;
    tried.chosen = std::move(chosen);
    tried.layout = lay_out_with_tool(frame, asked.projection, with_tool, wishes, before);
    for (LabelBox& box : tried.layout.boxes)
        if (const auto wish = static_cast<std::size_t>(box.wish); wish < tried.chosen.size())
            box.form = asked.sizes[wish][tried.chosen[wish]].form;
    tried.bad = badly_placed(tried.layout, with_tool);
    for (std::size_t wish = 0; wish < tried.chosen.size(); ++wish)
        tried.missing += tried.is_missing(asked, wish) ? 1U : 0U;
    return tried;
}

LabelLayout fresh_layout(const Frame& frame, const Asked& asked, const LabelLayout& before) {
    const std::size_t count = asked.sizes.size();
    Tried best = tried_with(frame, asked, before, std::vector<std::size_t>(count, 0));
    const auto try_out = [&](std::vector<std::size_t> chosen) {
        if (chosen == best.chosen)
            return;
        Tried other = tried_with(frame, asked, before, std::move(chosen));
        if (other.is_better_than(best))
            best = std::move(other);
    };
    // Narrower and higher a label may find a place beside a line that it would else lie on.
    for (std::size_t narrower = 1; narrower < std::size(WIDTHS); ++narrower) {
        std::vector<std::size_t> chosen = best.chosen;
        for (const std::size_t wish : best.bad)
            if (wish < count)
                chosen[wish] = size_with(asked.sizes[wish], 0, narrower);
        try_out(std::move(chosen));
    }
    // Or leave one to another.
    for (std::size_t narrower = 1; narrower < std::size(WIDTHS) && best.missing > 0; ++narrower) {
        std::vector<std::size_t> chosen;
        for (const std::vector<LabelSize>& sizes : asked.sizes)
            chosen.push_back(size_with(sizes, 0, narrower));
        try_out(std::move(chosen));
    }
    // What finds no room in full says less, and then all do: rather that than nothing.
    for (const bool all : {false, true})
        for (std::int32_t form = 1; form <= SHORTEST && best.missing > 0; ++form) {
            std::vector<std::size_t> chosen = best.chosen;
            for (std::size_t wish = 0; wish < count; ++wish)
                if (all || best.is_missing(asked, wish))
                    chosen[wish] = std::max(chosen[wish], size_with(asked.sizes[wish], form, 0));
            try_out(std::move(chosen));
        }
    // And what has room beside the others is said after all.
    const auto form_of = [&](std::size_t wish) { return asked.sizes[wish][best.chosen[wish]].form; };
    for (std::size_t wish = 0; wish < count; ++wish)
        for (std::int32_t form = 0; form < form_of(wish); ++form) {
            std::vector<std::size_t> chosen = best.chosen;
            chosen[wish] = size_with(asked.sizes[wish], form, 0);
            Tried longer = tried_with(frame, asked, before, std::move(chosen));
            if (!best.is_better_than(longer))
                best = std::move(longer);
        }
    return std::move(best.layout);
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

/// How many labels are in the picture and find no room, how much room their words want (room_wanting), and how much of
/// the picture they cover.
struct Fit {
    std::size_t missing = 0;
    int wanting = 0;
    double covered = 0;

    bool is_better_than(const Fit& other) const {
        return std::pair(missing, wanting) < std::pair(other.missing, other.wanting);
    }
    bool is_whole() const { return missing == 0 && wanting == 0; }
};

Fit fit_of(const Stage& stage, std::span<const Rect> reserved, const Frame& frame) {
    const Asked all = asked(stage, reserved, frame);
    const LabelLayout layout = fresh_layout(frame, all, {});
    Fit fit;
    for (const std::int32_t wish : layout.left_out)
        fit.missing += all.wishes.targets[std::size_t(wish)].empty() ? 0U : 1U;
    for (std::size_t wish = 0; wish < all.sizes.size(); ++wish)
        fit.wanting += room_wanting(frame, wish);
    for (const LabelBox& label : layout.boxes)
        fit.covered += label.box.width * label.box.height;
    fit.covered /= std::max(1.0, double(frame.width_px) * frame.height_px);
    return fit;
}

} // namespace

void fit_letters(const Stage& stage, std::span<const Rect> reserved, Frame& frame) {
    frame.letters = 1;
    const double most = frame.capital_px / label_capital_px(frame);
    if (most <= 1 || (frame.labels.empty() && frame.over.plumbs.empty()))
        return;
    // From the largest down, the first that nothing is wanting with; else the largest of those with least.
    std::vector<double> sizes;
    sizes.reserve(LETTER_SIZES + 1 + std::size(SMALLER_LETTERS));
    for (int k = 0; k < LETTER_SIZES; ++k)
        sizes.push_back(most - (most - 1) * k / LETTER_SIZES);
    sizes.push_back(1);
    sizes.insert(sizes.end(), std::begin(SMALLER_LETTERS), std::end(SMALLER_LETTERS));
    std::optional<Fit> best;
    Frame other = frame;
    for (const double letters : sizes) {
        // Smaller than the scale has them only for one that is left out else.
        if (best && (best->is_whole() || (letters < 1 && best->missing == 0)))
            return;
        other.letters = letters;
        const Fit fit = fit_of(stage, reserved, other);
        if ((letters > 1 && fit.covered > LABELS_SHARE) || (best && !fit.is_better_than(*best)))
            continue;
        best = fit;
        frame.letters = letters;
    }
}

void place_labels(const Stage& stage, std::span<const Rect> reserved, Frame& frame) {
    const Asked all = asked(stage, reserved, frame);
    const LabelLayout before = std::move(frame.layout);
    frame.layout = fresh_layout(frame, all, before);
}

void without_tool(SteadyLabels& labels, Frame& frame) {
    const std::size_t tool = frame.labels.size() + frame.over.plumbs.size();
    const auto is_its = [&](const LabelBox& box) { return std::size_t(box.wish) == tool; };
    std::erase_if(labels.held, [&](const HeldLabel& label) { return is_its(label.at); });
    std::erase_if(frame.layout.boxes, is_its);
    frame.layout.tool = {};
    labels.gone_over.clear(); // the new one may lie where they stand
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
    for (std::size_t wish = 0; wish < count; ++wish)
        asks.push_back({all.sizes[wish], all.wishes.targets[wish]});
    LabelRoom room = all.room;
    asks.emplace_back();
    const ToolDrawn* tool = tool_of(frame);
    const auto tool_at = tool != nullptr ? tool_target(frame, all, labels.tool_point) : std::nullopt;
    if (tool_at) {
        asks.back() = {{{size_of(tool->words, frame), 0}}, {*tool_at}};
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
