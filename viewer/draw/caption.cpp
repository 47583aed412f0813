// The gnomon and the caption.
#include <algorithm>
#include <array>
#include <cmath>

#include "viewer/draw/shapes.hpp"

namespace boltwalk {

namespace {

constexpr double GNOMON_PX = 132; ///< at scale 1, square
constexpr double GNOMON_ARM = 38;
constexpr double GNOMON_TEXT = 13;
constexpr double EDGE = 14; ///< from the picture's rim

constexpr double COUNT_PX = 14.5;
constexpr double HEADLINE_PX = 21;
constexpr double LINE_PX = 14.5;
constexpr double PAD = 12;
constexpr double LEADING = 1.42; ///< baseline to baseline, in sizes of the lower line
constexpr std::size_t MOST_CAUTIONS = 3;

constexpr std::array<const char*, 3> AXIS_NAMES{"FRONT", "UP", "LEFT"};

struct CaptionLine {
    Face face;
    double size;
    std::string text;
    bool caution;
    bool soft;
};

/// A text in as many lines as it takes, broken at spaces.
std::vector<std::string> wrapped(Face face, double size_px, const std::string& text, double width_px) {
    std::vector<std::string> lines;
    std::string line;
    std::size_t from = 0;
    while (from <= text.size()) {
        const std::size_t space = std::min(text.find(' ', from), text.size());
        const std::string word = text.substr(from, space - from);
        const std::string longer = line.empty() ? word : line + " " + word;
        if (!line.empty() && text_width_px(face, size_px, longer) > width_px) {
            lines.push_back(line);
            line = word;
        } else {
            line = longer;
        }
        from = space + 1;
    }
    if (!line.empty())
        lines.push_back(line);
    return lines;
}

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
            lines.push_back(
                {face, size, shortened(face, size * s, broken[i], width - indent), caution && i == 0, soft});
    };
    const Caption& caption = frame.caption;
    std::string first = caption.count;
    if (!caption.from.empty())
        first += (first.empty() ? "" : " · ") + caption.from;
    if (!first.empty())
        add(Face::text, COUNT_PX, first, false, true, 1);
    if (!caption.headline.empty())
        add(Face::strong, HEADLINE_PX, caption.headline, false, false, 2);
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

Rect gnomon_rect(const Frame& frame) {
    if (!frame.gnomon)
        return {};
    if (frame.gnomon_px.width > 0)
        return frame.gnomon_px;
    const double size = GNOMON_PX * frame.scale;
    return resting({EDGE * frame.scale, frame.height_px - size - EDGE * frame.scale, size, size});
}

Rect caption_rect(const Frame& frame) {
    const auto lines = caption_lines(frame);
    if (lines.empty())
        return {};
    const double s = frame.scale;
    double height = 2 * PAD * s;
    double widest = 0;
    for (const CaptionLine& line : lines) {
        height += LEADING * line.size * s;
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
        pen += LEADING * line.size * s;
        in_caution = line.caution || (in_caution && !line.soft && line.face == Face::text);
        double x = rect.x + PAD * s;
        if (line.caution)
            add_caution_mark(shapes, {x, pen}, line.size * s * 0.95, theme);
        if (in_caution)
            x += line.size * s * 1.35;
        add_text(shapes, line.face, line.size * s, line.text, {x, pen}, line.soft ? theme.text_soft : theme.text);
    }
}

// The three arms are drawn from the far one to the near one. A name stands beyond its arm's tip, in the arm's direction
// on the screen; where two would meet (an arm seen from its end), the later one moves round the plate until it is free.
void add_gnomon(Shapes& shapes, const Frame& frame) {
    const Rect rect = gnomon_rect(frame);
    if (rect.width <= 0)
        return;
    const Theme& theme = theme_of(frame.night);
    const double s = rect.width / GNOMON_PX;
    const glm::dvec2 middle(rect.x + rect.width / 2, rect.y + rect.height / 2);
    add_disc(shapes, middle, rect.width / 2, theme.panel_edge);
    add_disc(shapes, middle, rect.width / 2 - 1.2 * s, theme.panel);
    const std::array<glm::dvec3, 3> along{glm::dvec3(0, 0, 1), glm::dvec3(0, 1, 0), glm::dvec3(1, 0, 0)};
    struct Arm {
        int axis;
        glm::dvec2 tip;
        double nearness;
    };
    std::array<Arm, 3> arms{};
    for (int i = 0; i < 3; ++i) {
        const glm::dvec3& axis = along[static_cast<std::size_t>(i)];
        const glm::dvec2 flat(glm::dot(axis, rightward_of(frame.camera)), -glm::dot(axis, upright_of(frame.camera)));
        arms[static_cast<std::size_t>(i)] = {i, flat, glm::dot(axis, backward_of(frame.camera))};
    }
    std::sort(arms.begin(), arms.end(), [](const Arm& a, const Arm& b) {
        return a.nearness != b.nearness ? a.nearness < b.nearness : a.axis < b.axis;
    });
    for (const Arm& arm : arms) {
        const glm::dvec2 tip = middle + arm.tip * GNOMON_ARM * s;
        if (glm::length(arm.tip) * GNOMON_ARM < 9) {
            // Seen from its end: a dot towards the eye, a cross away from it, as on a drawing board.
            add_disc(shapes, tip, 5 * s, theme.text);
            if (arm.nearness < 0) {
                add_line(shapes, tip - 2.4 * s, tip + 2.4 * s, 1.4 * s, theme.panel);
                add_line(shapes, tip + glm::dvec2(-2.4, 2.4) * s, tip + glm::dvec2(2.4, -2.4) * s, 1.4 * s,
                         theme.panel);
            } else {
                add_disc(shapes, tip, 1.8 * s, theme.panel);
            }
        } else {
            add_arrow(shapes, middle, tip, 3 * s, theme.text);
        }
    }
    std::vector<Rect> written;
    const double size = GNOMON_TEXT * s;
    const double tall = capital_height_px(Face::strong, size);
    // The longest arms first: they have the better claim to the place beyond their tip.
    std::sort(arms.begin(), arms.end(), [](const Arm& a, const Arm& b) {
        const double la = glm::length(a.tip);
        const double lb = glm::length(b.tip);
        return la != lb ? la > lb : a.axis < b.axis;
    });
    for (const Arm& arm : arms) {
        const char* name = AXIS_NAMES[static_cast<std::size_t>(arm.axis)];
        const double wide = text_width_px(Face::strong, size, name);
        const double length = glm::length(arm.tip);
        const double heading = length > 1e-6 ? std::atan2(arm.tip.y, arm.tip.x) : 0.9;
        Rect best;
        bool found = false;
        // Round the tip by steps, nearest to the arm's own heading first.
        for (int turn = 0; turn < 24 && !found; ++turn) {
            const double angle = heading + (turn % 2 == 0 ? 1 : -1) * ((turn + 1) / 2) * 0.2618;
            const glm::dvec2 towards(std::cos(angle), std::sin(angle));
            const double out = std::max(GNOMON_ARM * length, 6.0) * s;
            const glm::dvec2 half(wide / 2 + 2 * s, tall / 2 + 3 * s);
            const double reach =
                std::min(half.x / std::max(std::abs(towards.x), 1e-6), half.y / std::max(std::abs(towards.y), 1e-6));
            const glm::dvec2 base = length * GNOMON_ARM < 9 ? middle : middle + arm.tip * GNOMON_ARM * s;
            const glm::dvec2 at = base + towards * (reach + (length * GNOMON_ARM < 9 ? out : 2 * s));
            best = {at.x - half.x, at.y - half.y, 2 * half.x, 2 * half.y};
            found = true;
            for (const Rect& other : written)
                found = found && !overlap(best, other);
            for (const Arm& other : arms)
                for (int step = 0; step <= 8 && found; ++step) {
                    const glm::dvec2 p = middle + other.tip * GNOMON_ARM * s * (step / 8.0);
                    found = !(p.x > best.x && p.x < best.right() && p.y > best.y && p.y < best.bottom());
                }
        }
        written.push_back(best);
        add_text(shapes, Face::strong, size, name, {best.x + 2 * s, best.bottom() - 3 * s}, theme.text);
    }
}

} // namespace boltwalk
