// The gnomon and the caption.
#include <algorithm>
#include <array>
#include <cmath>

#include "viewer/draw/shapes.hpp"

namespace boltwalk {

namespace {

constexpr double GNOMON_PX = 148;    ///< at scale 1, square
constexpr double GNOMON_MOST = 0.24; ///< of the picture's shorter side that the plate takes
constexpr double GNOMON_LEAST = 0.6; ///< of its size that the plate keeps, so that its names stay legible
constexpr double GNOMON_ARM = 32;
constexpr double GNOMON_TEXT = 13.5;
constexpr double GNOMON_STEP = 2; ///< places tried for a name, pixels apart
// Where its capitals must be higher than on the plate above: larger names on that plate, and where that is too large
// for the picture a row for each name, its arrow before it.
constexpr double NAMED_TEXT = 20;   ///< in place of GNOMON_TEXT
constexpr double NAMED_MOST = 0.36; ///< of the picture's shorter side
constexpr double ROWS_MOST = 0.5;   ///< of each side: beyond it the letters grow no more
// Of the rows, in capitals.
constexpr double ROW_ARROW = 1.7, ROW_GAP = 0.6, ROW_PAD = 0.6, ROW_BETWEEN = 0.7;
constexpr double EDGE = 14; ///< from the picture's rim

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
    const double whole = GNOMON_PX * frame.scale;
    const double shorter = std::min(frame.width_px, frame.height_px);
    const double size = std::clamp(GNOMON_MOST * shorter, GNOMON_LEAST * whole, whole);
    const auto at_corner = [&](double width, double height) {
        return resting({EDGE * frame.scale, frame.height_px - height - EDGE * frame.scale, width, height});
    };
    const double an_em = capital_height_px(Face::strong, 1);
    const double text = frame.capital_px / an_em;
    if (text <= GNOMON_TEXT * size / GNOMON_PX)
        return {at_corner(size, size), GNOMON_TEXT * size / GNOMON_PX, false};
    const double named = std::max(size, text * GNOMON_PX / NAMED_TEXT);
    if (named <= NAMED_MOST * shorter)
        return {at_corner(named, named), NAMED_TEXT * named / GNOMON_PX, false};
    double widest = 0;
    for (const char* name : AXIS_NAMES)
        widest = std::max(widest, text_width_px(Face::strong, 1, name) / an_em);
    const double across = 2 * ROW_PAD + ROW_ARROW + ROW_GAP + widest;
    const double down = 2 * ROW_PAD + 3 + 2 * ROW_BETWEEN;
    const double capital =
        std::min({frame.capital_px, ROWS_MOST * frame.width_px / across, ROWS_MOST * frame.height_px / down});
    return {at_corner(across * capital, down * capital), capital / an_em, true};
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
    int axis;
    glm::dvec2 flat; ///< its tip on the screen, of length 1 when seen from the side
    double nearness; ///< to the eye
    double length() const { return glm::length(flat); }
    bool from_its_end() const { return length() * GNOMON_ARM < 9; }
};

std::array<Arm, 3> arms_of(const Camera& camera) {
    const std::array<glm::dvec3, 3> along{glm::dvec3(0, 0, 1), glm::dvec3(0, 1, 0), glm::dvec3(1, 0, 0)};
    std::array<Arm, 3> arms{};
    for (std::size_t i = 0; i < 3; ++i)
        arms[i] = {static_cast<int>(i),
                   {glm::dot(along[i], rightward_of(camera)), -glm::dot(along[i], upright_of(camera))},
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

void add_arm(Shapes& shapes, const Theme& theme, const Arm& arm, glm::dvec2 middle, double s) {
    const glm::dvec2 tip = middle + arm.flat * GNOMON_ARM * s;
    if (!arm.from_its_end()) {
        add_arrow(shapes, middle, tip, 3 * s, theme.text);
        return;
    }
    add_end(shapes, theme, arm, tip, s);
}

/// The place on the plate nearest to beyond the arm's tip that no arm and no other name takes.
Rect name_place(const Arm& arm, const std::array<Arm, 3>& arms, const std::vector<Rect>& written, const Rect& plate,
                glm::dvec2 size, double s) {
    const glm::dvec2 middle(plate.x + plate.width / 2, plate.y + plate.height / 2);
    const glm::dvec2 heading = arm.length() > 1e-6 ? arm.flat / arm.length() : glm::dvec2(0.7, 0.7);
    const glm::dvec2 ideal =
        middle + arm.flat * GNOMON_ARM * s + heading * (4 * s) + heading * glm::abs(heading) * 0.5 * size;
    const double edge = 5 * s;
    const double gap = 4 * s;
    Rect best{middle.x - size.x / 2, plate.bottom() - size.y - edge, size.x, size.y};
    double least = std::numeric_limits<double>::infinity();
    for (double y = plate.y + edge; y + size.y <= plate.bottom() - edge; y += GNOMON_STEP * s)
        for (double x = plate.x + edge; x + size.x <= plate.right() - edge; x += GNOMON_STEP * s) {
            const Rect box{x, y, size.x, size.y};
            const double cost = glm::length(glm::dvec2(x, y) + 0.5 * size - ideal);
            if (cost >= least)
                continue;
            bool free = true;
            for (const Rect& other : written)
                free = free && !overlap({x - gap, y - gap, size.x + 2 * gap, size.y + 2 * gap}, other);
            for (const Arm& other : arms)
                for (int step = 0; step <= 10 && free; ++step) {
                    const glm::dvec2 p = middle + other.flat * GNOMON_ARM * s * (step / 10.0);
                    const double clear = (other.from_its_end() ? 8 : 5) * s;
                    free =
                        p.x < x - clear || p.x > box.right() + clear || p.y < y - clear || p.y > box.bottom() + clear;
                }
            if (free) {
                least = cost;
                best = box;
            }
        }
    return best;
}

void add_rows(Shapes& shapes, const Theme& theme, const Gnomon& gnomon, const Camera& camera) {
    const double capital = capital_height_px(Face::strong, gnomon.text_px);
    const double s = capital * ROW_ARROW / (2 * GNOMON_ARM);
    add_box(shapes, gnomon.plate, capital / 2, theme.panel, theme.panel_edge, capital / 12);
    double foot = gnomon.plate.y + ROW_PAD * capital;
    for (const Arm& arm : arms_of(camera)) {
        foot += capital;
        const double left = gnomon.plate.x + ROW_PAD * capital;
        const glm::dvec2 middle(left + ROW_ARROW * capital / 2, foot - capital / 2);
        if (arm.from_its_end()) {
            add_end(shapes, theme, arm, middle, capital / 12);
        } else {
            // Of one length, since a short one is all head: where it points is all that a row says.
            const glm::dvec2 half = arm.flat / arm.length() * (GNOMON_ARM * s);
            add_arrow(shapes, middle - half, middle + half, capital / 5, theme.text);
        }
        add_text(shapes, Face::strong, gnomon.text_px, AXIS_NAMES[static_cast<std::size_t>(arm.axis)],
                 {left + (ROW_ARROW + ROW_GAP) * capital, foot}, theme.text);
        foot += ROW_BETWEEN * capital;
    }
}

} // namespace

void add_gnomon(Shapes& shapes, const Frame& frame) {
    if (!frame.gnomon)
        return;
    const Theme& theme = theme_of(frame.night);
    const Gnomon gnomon = gnomon_of(frame);
    if (gnomon.rows) {
        add_rows(shapes, theme, gnomon, frame.camera);
        return;
    }
    const Rect& rect = gnomon.plate;
    const double s = std::min(rect.width, rect.height) / GNOMON_PX;
    const glm::dvec2 middle(rect.x + rect.width / 2, rect.y + rect.height / 2);
    add_box(shapes, rect, 7 * s, theme.panel, theme.panel_edge, 1.2 * s);
    std::array<Arm, 3> arms = arms_of(frame.camera);
    std::sort(arms.begin(), arms.end(), [](const Arm& a, const Arm& b) {
        return a.nearness != b.nearness ? a.nearness < b.nearness : a.axis < b.axis;
    });
    std::array<Arm, 3> by_length = arms;
    // The longest arms have the better claim to the place beyond their tip.
    std::sort(by_length.begin(), by_length.end(), [](const Arm& a, const Arm& b) {
        return a.length() != b.length() ? a.length() > b.length() : a.axis < b.axis;
    });
    const double size = gnomon.text_px;
    std::vector<Rect> written;
    Bounds whole;
    whole.add({middle.x, middle.y, 0});
    for (const Arm& arm : by_length) {
        const char* name = AXIS_NAMES[static_cast<std::size_t>(arm.axis)];
        const glm::dvec2 box(text_width_px(Face::strong, size, name), capital_height_px(Face::strong, size));
        written.push_back(name_place(arm, arms, written, rect, box, s));
        whole.add({written.back().x, written.back().y, 0});
        whole.add({written.back().right(), written.back().bottom(), 0});
        whole.add({middle.x + arm.flat.x * GNOMON_ARM * s, middle.y + arm.flat.y * GNOMON_ARM * s, 0});
    }
    const glm::dvec2 shift = middle - glm::dvec2(whole.centre()); // all of it in the plate's middle
    for (const Arm& arm : arms)                                   // the near one last
        add_arm(shapes, theme, arm, middle + shift, s);
    for (std::size_t i = 0; i < by_length.size(); ++i)
        add_text(shapes, Face::strong, size, AXIS_NAMES[static_cast<std::size_t>(by_length[i].axis)],
                 glm::dvec2(written[i].x, written[i].bottom()) + shift, theme.text);
}

} // namespace boltwalk
