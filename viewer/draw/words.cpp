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
constexpr double LABEL_GAP = 4;         ///< half of that between two lines
constexpr double WIDEST = 420;          ///< a label of longer words gets more lines
constexpr double WIDER[] = {1.25, 1.5}; ///< times that, where a word of every form has no room in it

struct Line {
    Face face;
    double size_px;
    std::string text;
};

/// Of everything in a label.
double label_scale(const Frame& frame) {
    return frame.scale * frame.letters;
}

/// Narrower than half the picture, where words allow it.
double widest_label(const Frame& frame) {
    return std::min(WIDEST * label_scale(frame), 0.5 * frame.width_px);
}

/// As many as it takes to keep a label so narrow; a word that is wider alone is cut, and then `cut` is set.
std::vector<Line> lines_of(const Words& words, const Frame& frame, double width, bool* cut = nullptr) {
    const double s = label_scale(frame);
    const double most = width - 2 * LABEL_PAD_X * s;
    std::vector<Line> lines;
    const auto add = [&](Face face, double size, const std::string& text) {
        for (const std::string& line : wrapped(face, size * s, text, most)) {
            lines.push_back({face, size * s, shortened(face, size * s, line, most)});
            if (cut != nullptr && lines.back().text != line)
                *cut = true;
        }
    };
    add(Face::strong, HEADLINE_PX, words.headline);
    add(Face::text, DETAIL_PX, words.detail);
    return lines;
}

glm::dvec2 size_of(const Words& words, const Frame& frame, double widest, bool* cut = nullptr) {
    const double s = label_scale(frame);
    double width = 0;
    double height = 2 * LABEL_PAD_Y * s - 2 * LABEL_GAP * s;
    for (const Line& line : lines_of(words, frame, widest, cut)) {
        width = std::max(width, text_width_px(line.face, line.size_px, line.text));
        height += capital_height_px(line.face, line.size_px) + 2 * LABEL_GAP * s;
    }
    return glm::ceil(glm::dvec2(width + 2 * LABEL_PAD_X * s, height + 2 * s));
}

/// Of a label, or behind them of a plumb line, or of the tool: in full, and then what is shorter.
std::vector<Words> forms_of(const Frame& frame, std::size_t index) {
    std::vector<Words> forms;
    if (index < frame.labels.size()) {
        const LabelWish& wish = frame.labels[index];
        forms.push_back({wish.headline, wish.detail});
        for (const std::string& line : wish.shorter)
            forms.push_back({line, {}});
        return forms;
    }
    index -= frame.labels.size();
    if (index < frame.over.plumbs.size()) {
        const Words& words = frame.over.plumbs[index].words;
        forms.push_back(words);
        if (!words.detail.empty())
            forms.push_back({words.headline, {}});
    } else if (const ToolDrawn* tool = tool_of(frame)) {
        forms.push_back(tool->words);
    }
    return forms;
}

} // namespace

double label_capital_px(const Frame& frame) {
    return capital_height_px(Face::text, DETAIL_PX * label_scale(frame));
}

glm::dvec2 size_of(const Words& words, const Frame& frame) {
    return size_of(words, frame, widest_label(frame));
}

namespace {

/// Those in which no word is cut, at most so wide.
std::vector<LabelSize> uncut_sizes(const Frame& frame, const std::vector<Words>& forms,
                                   std::span<const double> widths) {
    std::vector<LabelSize> sizes;
    for (std::size_t form = 0; form < forms.size(); ++form)
        for (const double share : widths) {
            bool cut = false;
            const LabelSize size{size_of(forms[form], frame, share * widest_label(frame), &cut), std::int32_t(form)};
            if (!cut && (sizes.empty() || size != sizes.back()))
                sizes.push_back(size);
        }
    return sizes;
}

} // namespace

std::vector<LabelSize> sizes_of(const Frame& frame, std::size_t index) {
    const std::vector<Words> forms = forms_of(frame, index);
    std::vector<LabelSize> sizes = uncut_sizes(frame, forms, WIDTHS);
    for (const double& share : WIDER)
        if (sizes.empty())
            sizes = uncut_sizes(frame, forms, {&share, 1});
    if (sizes.empty() && !forms.empty())
        sizes.push_back({size_of(forms.back(), frame, widest_label(frame)), std::int32_t(forms.size()) - 1});
    return sizes;
}

int room_wanting(const Frame& frame, std::size_t index) {
    const std::vector<Words> forms = forms_of(frame, index);
    return !uncut_sizes(frame, forms, WIDTHS).empty() ? 0 : !uncut_sizes(frame, forms, WIDER).empty() ? 1 : 2;
}

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
        const std::vector<Words> forms = forms_of(frame, static_cast<std::size_t>(label.wish));
        const auto form = static_cast<std::size_t>(label.form);
        if (form >= forms.size())
            continue;
        add_box(shapes, label.box, 7 * s, faded(theme.label, label.opacity), faded(theme.label_edge, label.opacity),
                1.5 * s);
        const double in = label_scale(frame); // within its rim
        double pen = label.box.y + LABEL_PAD_Y * in + in - 2 * LABEL_GAP * in;
        // At the width that it was measured to have, its words break as they did then.
        for (const Line& line : lines_of(forms[form], frame, label.box.width)) {
            pen += 2 * LABEL_GAP * in + capital_height_px(line.face, line.size_px);
            add_text(shapes, line.face, line.size_px, line.text, {label.box.x + LABEL_PAD_X * in, pen},
                     faded(line.face == Face::strong ? theme.text : theme.text_soft, label.opacity));
        }
    }
}

} // namespace boltwalk
