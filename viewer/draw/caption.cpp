// The gnomon and the caption.
#include <algorithm>
#include <array>
#include <cmath>

#include "viewer/draw/shapes.hpp"

namespace boltwalk {

namespace {

// The gnomon: a row for each name, its arrow before it. Three arms from one point with the names at their tips set a
// name beside another's tip wherever two arms nearly meet, and somebody read FRONT for LEFT.
constexpr double GNOMON_CAPITAL = 12; ///< at scale 1
constexpr double GNOMON_LEAST = 0.6;  ///< of that, so that its names stay legible
constexpr double GNOMON_MOST = 0.24;  ///< of the picture's shorter side that the plate takes for that
constexpr double ROWS_MOST = 0.5;     ///< of each side: beyond it letters that are asked for grow no more
// In capitals.
constexpr double ROW_ARROW = 1.7, ROW_GAP = 0.6, ROW_PAD = 0.6, ROW_BETWEEN = 0.7;
constexpr double END_FLAT = 0.28; ///< of an arm's length: seen so short it is seen from its end
constexpr double EDGE = 14;       ///< from the picture's rim

constexpr double COUNT_PX = 14.5;
constexpr double CAPTION_HEADLINE_PX = 21;
constexpr double LINE_PX = 14.5;
constexpr double PAD = 12;
constexpr double LEADING = 1.42; ///< baseline to baseline, in sizes of the lower line
constexpr std::size_t MOST_CAUTIONS = 3;
constexpr double PARAGRAPH = 5; ///< more room before a caution or a footnote

constexpr std::array<const char*, 3> AXIS_NAMES{"FRONT", "UP", "LEFT"};

struct CaptionLine {
    Face face;
    double size;
    std::string text;
    bool caution;
    bool soft;
    double before = 0; ///< more room above it, pixels at scale 1
};

double caption_width(const Frame& frame) {
    return std::min(0.5 * frame.width_px, 620 * frame.scale);
}

std::vector<CaptionLine> caption_lines(const Frame& frame) {
    const double s = frame.scale;
    const double width = caption_width(frame) - 2 * PAD * s;
    std::vector<CaptionLine> lines;
    const auto add = [&](Face face, double size, const std::string& text, bool caution, bool soft, std::size_t most) {
        const double indent = caution ? size * s * 1.35 : 0;
        auto broken = wrapped(face, size * s, text, width - indent);
        if (broken.size() > most) {
            broken.resize(most);
            broken.back() = shortened(face, size * s, broken.back() + " …", width - indent);
        }
        for (std::size_t i = 0; i < broken.size(); ++i)
            lines.push_back({face, size, shortened(face, size * s, broken[i], width - indent), caution && i == 0, soft,
                             i == 0 && !lines.empty() && face == Face::text ? PARAGRAPH : 0});
    };
    const Caption& caption = frame.caption;
    std::string first = caption.count;
    if (!caption.from.empty())
        first += (first.empty() ? "" : " · ") + caption.from;
    if (!first.empty())
        add(Face::text, COUNT_PX, first, false, true, 1);
    if (!caption.headline.empty())
        add(Face::strong, CAPTION_HEADLINE_PX, caption.headline, false, false, 2);
    for (std::size_t i = 0; i < std::min(caption.cautions.size(), MOST_CAUTIONS); ++i)
        add(Face::text, LINE_PX, caption.cautions[i], true, false, 2);
    if (caption.cautions.size() > MOST_CAUTIONS)
        add(Face::text, LINE_PX, "and " + std::to_string(caption.cautions.size() - MOST_CAUTIONS) + " more cautions",
            true, false, 1);
    if (!caption.footnote.empty())
        add(Face::text, COUNT_PX, caption.footnote, false, true, 2);
    return lines;
}

Rect resting(Rect rect) {
    return {std::round(rect.x), std::round(rect.y), std::ceil(rect.width), std::ceil(rect.height)};
}

void add_caution_mark(Shapes& shapes, glm::dvec2 at, double size, const Theme& theme) {
    const double half = 0.5 * size;
    add_triangle(shapes, {at.x + half, at.y - size * 0.92}, {at.x, at.y}, {at.x + size, at.y}, theme.caution);
    const double stem = std::max(1.4, size * 0.12);
    add_line(shapes, {at.x + half, at.y - size * 0.56}, {at.x + half, at.y - size * 0.34}, stem, theme.panel);
    add_disc(shapes, {at.x + half, at.y - size * 0.15}, stem * 0.62, theme.panel);
}

} // namespace

Gnomon gnomon_of(const Frame& frame) {
    const double an_em = capital_height_px(Face::strong, 1);
    double widest = 0;
    for (const char* name : AXIS_NAMES)
        widest = std::max(widest, text_width_px(Face::strong, 1, name) / an_em);
    const double across = 2 * ROW_PAD + ROW_ARROW + ROW_GAP + widest;
    const double down = 2 * ROW_PAD + 3 + 2 * ROW_BETWEEN;
    const double whole = GNOMON_CAPITAL * frame.scale;
    const double own = std::clamp(GNOMON_MOST * std::min(frame.width_px, frame.height_px) / std::max(across, down),
                                  GNOMON_LEAST * whole, whole);
    const double capital = std::min(
        {std::max(own, frame.capital_px), ROWS_MOST * frame.width_px / across, ROWS_MOST * frame.height_px / down});
    const double height = down * capital;
    const double width = across * capital;
    const double edge = EDGE * frame.scale;
    const bool right = frame.gnomon_at == Corner::foot_right || frame.gnomon_at == Corner::top_right;
    const bool top = frame.gnomon_at == Corner::top_right || frame.gnomon_at == Corner::top_left;
    return {resting({right ? frame.width_px - width - edge : edge, top ? edge : frame.height_px - height - edge, width,
                     height}),
            capital / an_em};
}

Corner best_for_gnomon(const Stage& stage, std::span<const Rect> beside, const Frame& frame) {
    const Projection projection =
        project(frame.camera, {frame.width_px, frame.height_px}, bounds_of(stage, frame.poses));
    std::vector<LabelTarget> marks;
    for (const auto* items : {&frame.next, &frame.holes})
        for (const ItemId item : *items)
            if (stage.map->is_fastener(item))
                if (const auto mark = fastener_mark(stage, frame, projection, item))
                    marks.push_back(*mark);
    Frame there = frame;
    // How deep it reaches into the rings; of equal ones how many others lie on it.
    const auto hidden_at = [&](Corner corner) {
        there.gnomon_at = corner;
        const Rect plate = gnomon_rect(there);
        double depth = 0;
        for (const LabelTarget& mark : marks) {
            const glm::dvec2 nearest(std::clamp(mark.at.x, plate.x, plate.right()),
                                     std::clamp(mark.at.y, plate.y, plate.bottom()));
            depth += std::max(0.0, mark.radius_px - glm::distance(nearest, mark.at));
        }
        return std::pair(
            depth, std::count_if(beside.begin(), beside.end(), [&](const Rect& box) { return overlap(plate, box); }));
    };
    Corner best = Corner::foot_left;
    auto least = hidden_at(best);
    for (const Corner corner : {Corner::foot_right, Corner::top_right, Corner::top_left})
        if (const auto hidden = hidden_at(corner); hidden < least) {
            best = corner;
            least = hidden;
        }
    return best;
}

Rect gnomon_rect(const Frame& frame) {
    return frame.gnomon ? gnomon_of(frame).plate : Rect{};
}

Rect caption_rect(const Frame& frame) {
    const auto lines = caption_lines(frame);
    if (lines.empty())
        return {};
    const double s = frame.scale;
    double height = 2 * PAD * s;
    double widest = 0;
    for (const CaptionLine& line : lines) {
        height += (LEADING * line.size + line.before) * s;
        widest = std::max(widest, text_width_px(line.face, line.size * s, line.text) + (line.size * s * 1.35));
    }
    return resting(
        {EDGE * s, EDGE * s, std::min(widest + 2 * PAD * s, caption_width(frame)), height - 0.3 * LINE_PX * s});
}

Rect clear_of(const Frame& frame) {
    const double s = frame.scale;
    const Rect caption = caption_rect(frame);
    const double top = std::min(caption.width > 0 ? caption.bottom() : EDGE * s, 0.35 * frame.height_px);
    const double side = 4 * EDGE * s;
    return {side, top + EDGE * s, frame.width_px - 2 * side, frame.height_px - top - 3 * EDGE * s};
}

void add_caption(Shapes& shapes, const Frame& frame) {
    const Rect rect = caption_rect(frame);
    if (rect.width <= 0)
        return;
    const Theme& theme = theme_of(frame.night);
    const double s = frame.scale;
    add_box(shapes, rect, 7 * s, theme.panel, theme.panel_edge, 1.2 * s);
    double pen = rect.y + PAD * s - 0.25 * LINE_PX * s;
    bool in_caution = false;
    for (const CaptionLine& line : caption_lines(frame)) {
        pen += (LEADING * line.size + line.before) * s;
        in_caution = line.caution || (in_caution && !line.soft && line.face == Face::text);
        double x = rect.x + PAD * s;
        if (line.caution)
            add_caution_mark(shapes, {x, pen}, line.size * s * 0.95, theme);
        if (in_caution)
            x += line.size * s * 1.35;
        add_text(shapes, line.face, line.size * s, line.text, {x, pen}, line.soft ? theme.text_soft : theme.text);
    }
}

namespace {

struct Arm {
    glm::dvec2 flat; ///< its tip on the screen, of length 1 when seen from the side
    double nearness; ///< to the eye
    double length() const { return glm::length(flat); }
    bool from_its_end() const { return length() < END_FLAT; }
};

std::array<Arm, 3> arms_of(const Camera& camera) {
    const std::array<glm::dvec3, 3> along{glm::dvec3(0, 0, 1), glm::dvec3(0, 1, 0), glm::dvec3(1, 0, 0)};
    std::array<Arm, 3> arms{};
    for (std::size_t i = 0; i < 3; ++i)
        arms[i] = {{glm::dot(along[i], rightward_of(camera)), -glm::dot(along[i], upright_of(camera))},
                   glm::dot(along[i], backward_of(camera))};
    return arms;
}

/// An arm seen from its end: a dot towards the eye, a cross away from it, as on a drawing board.
void add_end(Shapes& shapes, const Theme& theme, const Arm& arm, glm::dvec2 tip, double s) {
    add_disc(shapes, tip, 6 * s, theme.text);
    if (arm.nearness < 0) {
        add_line(shapes, tip - 2.6 * s, tip + 2.6 * s, 1.5 * s, theme.panel);
        add_line(shapes, tip + glm::dvec2(-2.6, 2.6) * s, tip + glm::dvec2(2.6, -2.6) * s, 1.5 * s, theme.panel);
    } else {
        add_disc(shapes, tip, 2.2 * s, theme.panel);
    }
}

} // namespace

void add_gnomon(Shapes& shapes, const Frame& frame) {
    if (!frame.gnomon)
        return;
    const Theme& theme = theme_of(frame.night);
    const Gnomon gnomon = gnomon_of(frame);
    const double capital = capital_height_px(Face::strong, gnomon.text_px);
    add_box(shapes, gnomon.plate, capital / 2, theme.panel, theme.panel_edge, capital / 12);
    const double left = gnomon.plate.x + ROW_PAD * capital;
    double foot = gnomon.plate.y + ROW_PAD * capital;
    const std::array<Arm, 3> arms = arms_of(frame.camera);
    for (std::size_t i = 0; i < arms.size(); ++i) {
        const Arm& arm = arms[i];
        foot += capital;
        const glm::dvec2 middle(left + ROW_ARROW * capital / 2, foot - capital / 2);
        if (arm.from_its_end()) {
            add_end(shapes, theme, arm, middle, capital / 12);
        } else {
            // Of one length, since a short one is all head: where it points is all that a row says.
            const glm::dvec2 half = arm.flat / arm.length() * (ROW_ARROW / 2 * capital);
            add_arrow(shapes, middle - half, middle + half, capital / 5, theme.text);
        }
        add_text(shapes, Face::strong, gnomon.text_px, AXIS_NAMES[i], {left + (ROW_ARROW + ROW_GAP) * capital, foot},
                 theme.text);
        foot += ROW_BETWEEN * capital;
    }
}

} // namespace boltwalk
