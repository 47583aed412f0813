#include "viewer/panels/layout.hpp"

#include <algorithm>
#include <cmath>

namespace boltwalk {

namespace {
// In text sizes. A line of a list reads well from 12 (about 24 letters), the card from 16.
constexpr float PANEL_LEAST = 12.5F, CARD_LEAST = 16, DRAWING_LEAST = 20;
constexpr float PANEL_MOST = 19, CARD_MOST = 25;
constexpr float STRIP_MOST = 0.3F; // of what lies between the top row and the last
constexpr float TALL_CARD = 0.45F; // of the height, where the screen stands upright: the drawing has the rest
constexpr float BOTH_HIGH = 40;    // upright, so high has room for both where only words fit across
constexpr float LOW_MIDDLE = 9;    // buttons' heights: two or three rows of them are half of it
constexpr float CORNER_LEAST = 7;  // in text sizes again: a lower drawing shows too little
constexpr float STRIP_LEAST = 16;  // pixels: lower than that nothing can be read

float clamp_share(float whole, float share, float least, float most) {
    return std::round(std::clamp(whole * share, least, most));
}
/// Upright: the step, what is out, a row of small buttons, the counting button across the whole width. On its side: the
/// step at the left, all of that in a column at the right, under the thumb, and a small drawing above it.
Layout lay_out_handheld(float width, float height, const Sizes& sizes, bool panel_open, bool drawing_asked,
                        const Strips& strips) {
    Layout l;
    l.shape = Shape::words;
    l.margin = std::max(std::round(sizes.gap), 8.0F);
    const float m = l.margin;
    const bool upright = height >= width;
    const float column = upright ? width - 2 * m : std::round(std::max(0.4F * width, 9 * sizes.text));
    const float x = width - m - column;
    l.next = {x, height - m - sizes.main, column, sizes.main};
    const float square = std::floor((column - 2 * m) / 3);
    const float row = l.next.y - m - sizes.icon;
    l.back = {x, row, square, sizes.icon};
    l.show = {l.back.right() + m, row, square, sizes.icon};
    l.more = {l.show.right() + m, row, column - 2 * (square + m), sizes.icon};
    float below = row - m;
    const auto strip = [&](Box& box, float wanted) {
        // Upright they share the height with the step.
        const float h = std::floor(std::min(wanted, std::max(0.0F, below - m) * (upright ? STRIP_MOST : 0.7F)));
        if (h < STRIP_LEAST)
            return;
        box = {x, below - h, column, h};
        below = box.y - m;
    };
    strip(l.ledger, strips.ledger);
    strip(l.warning, strips.warning);
    const Box middle = upright ? Box{m, m, width - 2 * m, std::max(0.0F, below - m)}
                               : Box{m, m, std::max(0.0F, x - 2 * m), height - 2 * m};
    // What is left above the column is the drawing's, until it is asked for larger.
    if (!upright && (panel_open || !drawing_asked) && below - m >= CORNER_LEAST * sizes.text)
        l.drawing = {x, m, column, below - m};
    (panel_open ? l.panel : drawing_asked ? l.drawing : l.card) = middle;
    return l;
}

} // namespace

bool overlap(const Box& a, const Box& b) {
    if (a.empty() || b.empty())
        return false;
    const float across = std::min(a.right(), b.right()) - std::max(a.x, b.x);
    const float down = std::min(a.bottom(), b.bottom()) - std::max(a.y, b.y);
    return across > 0.5F && down > 0.5F;
}

Layout lay_out(float width, float height, const Sizes& sizes, bool panel_open, bool drawing_asked,
               const ToolWidths& wants, const Strips& strips) {
    const float em = sizes.text;
    Layout l;
    l.margin = std::max(std::round(sizes.gap), 8.0F);
    if (sizes.handheld)
        return lay_out_handheld(width, height, sizes, panel_open, drawing_asked, strips);
    if (width >= (PANEL_LEAST + DRAWING_LEAST + CARD_LEAST) * em + 4 * l.margin)
        l.shape = Shape::wide;
    else if (width >= 2 * CARD_LEAST * em * 0.9F + 3 * l.margin)
        l.shape = Shape::swap;
    else
        l.shape = Shape::words;

    const float m = l.margin;
    const float row =
        l.shape == Shape::words
            ? std::max({sizes.icon, std::round(em * 1.3F), std::min(sizes.main, std::round(height * 0.2F))})
            : sizes.main;
    const float last = height - m - row;

    float above = m;
    if (l.shape != Shape::words) {
        l.top = {m, m, width - 2 * m, sizes.target};
        above = l.top.bottom() + m;
    }
    float below = last - m;
    // On a screen too small for any of this they leave the most to the step all the same.
    const float most = std::max(0.0F, (below - above) * STRIP_MOST);
    const auto strip = [&](Box& box, float wanted) {
        const float h = std::floor(std::min(wanted, most));
        if (h < STRIP_LEAST)
            return;
        box = {m, below - h, width - 2 * m, h};
        below = box.y - m;
    };
    strip(l.ledger, strips.ledger);
    strip(l.warning, strips.warning);
    const Box middle{m, above, width - 2 * m, std::max(0.0F, below - above)};

    // last row
    if (l.shape == Shape::words) {
        // A window narrower than four gloved fingers gets what there is: the hand-held layout is a matter of its own.
        const float square = std::min(sizes.icon, std::floor((width - 5 * m) * 0.2F));
        l.back = {m, last, std::max(square, std::round(width * 0.14F)), row};
        l.show = {l.back.right() + m, last, square, row};
        l.more = {l.show.right() + m, last, square, row};
        l.next = {l.more.right() + m, last, 0, row};
        l.next.w = width - m - l.next.x;
    } else {
        const float back = std::max(sizes.main * 1.6F, em * 7), next = std::max(sizes.main * 3, em * 14);
        l.back = {m, last, std::round(back), row};
        l.next = {width - m - std::round(next), last, std::round(next), row};
        l.ahead = {l.next.x - m - sizes.icon, last, sizes.icon, row};
        l.track = {l.back.right() + m, last, l.ahead.x - m - l.back.right() - m, row};
    }

    // Side by side on an upright screen each would be a narrow strip: there the card stands under the drawing.
    const bool tall = middle.h > middle.w;
    const Box upper{middle.x, middle.y, middle.w, std::round((middle.h - m) * (1 - TALL_CARD))};
    const Box lower{middle.x, upper.bottom() + m, middle.w, middle.h - upper.h - m};
    switch (l.shape) {
    case Shape::wide: {
        const float card = clamp_share(middle.w, 0.28F, CARD_LEAST * em, CARD_MOST * em);
        float left = middle.x;
        l.card = tall ? lower : Box{middle.right() - card, middle.y, card, middle.h};
        const Box beside = tall ? upper : Box{middle.x, middle.y, l.card.x - m - middle.x, middle.h};
        if (panel_open) {
            const float panel = clamp_share(middle.w, 0.2F, PANEL_LEAST * em, PANEL_MOST * em);
            l.panel = {left, beside.y, panel, beside.h};
            left = l.panel.right() + m;
        }
        if (panel_open && strips.panel_has_tabs && beside.h < LOW_MIDDLE * sizes.target) {
            l.panel.w = beside.w;
            break;
        }
        l.drawing = {left, beside.y, beside.right() - left, beside.h};
        // Gloves want rows so high that the drawing would suffer: then its controls stand in a panel.
        const int rows = wants.places + sizes.gap + wants.switches <= l.drawing.w ? 1 : 2;
        const float tools = float(rows) * (sizes.target + sizes.gap) - sizes.gap;
        if (std::max(wants.places, wants.switches) <= l.drawing.w && l.drawing.h > 6 * tools) {
            l.tool_rows = rows;
            l.tools = {l.drawing.x, l.drawing.bottom() - tools, l.drawing.w, tools};
            l.drawing.h -= tools + m;
        }
        break;
    }
    case Shape::swap: {
        const float card = clamp_share(middle.w, 0.45F, CARD_LEAST * 0.9F * em, CARD_MOST * em);
        l.card = tall ? lower : Box{middle.right() - card, middle.y, card, middle.h};
        const Box rest = tall ? upper : Box{middle.x, middle.y, l.card.x - m - middle.x, middle.h};
        (panel_open ? l.panel : l.drawing) = rest;
        break;
    }
    case Shape::words:
        if (tall && middle.h >= BOTH_HIGH * em && !(drawing_asked && !panel_open)) {
            (panel_open ? l.panel : l.drawing) = upper;
            l.card = lower;
            break;
        }
        (panel_open ? l.panel : drawing_asked ? l.drawing : l.card) = middle;
        break;
    }
    return l;
}

Box first_drawing(float width, float height, const Sizes& sizes) {
    // Wide, the list of steps is open at first; where it would have the drawing's place, the drawing comes first.
    for (const auto& [panel, alone] : {std::pair{true, false}, {false, false}, {false, true}})
        if (const Box drawing = lay_out(width, height, sizes, panel, alone).drawing; !drawing.empty())
            return drawing;
    return {};
}

namespace {

/// Of what is seen: a line of the words before stays.
constexpr float TURN = 0.8F;
/// In its letters. A list that is lower has its buttons beside it where it then shows more: about eight rows and a
/// heading, of which a card is read at a glance. A line reads well from 12 on (PANEL_LEAST), and words in the buttons
/// are worth it where there is more than twice that.
constexpr float LOW_ROWS = 11, LEAST_WIDE = 12, WIDE_FOR_WORDS = 30;
/// Where not even all of its width is that, for letters read from 3 m, it gives away so much of it at most.
constexpr float GIVEN_MOST = 0.15F;

} // namespace

Turning turning_in(const Box& box, const Sizes& sizes, float words_px) {
    // What stands lowest in it keeps as far from them as any two buttons.
    const float gap = sizes.gap, away = std::max(gap, sizes.pad * 0.5F), text = sizes.text;
    const float beside = box.w - away - words_px >= WIDE_FOR_WORDS * text ? words_px : std::max(sizes.turn, sizes.icon);
    const float narrower = box.w - away - beside;
    const bool is_wide =
        box.w < LEAST_WIDE * text ? away + beside <= GIVEN_MOST * box.w : narrower >= LEAST_WIDE * text;
    // In a place for hardly more than themselves they are lower, so that a line is left.
    const float h = std::clamp(box.h - away - text * 1.5F, std::min({text, box.h * 0.5F, sizes.turn}), sizes.turn);
    const float lower = std::max(0.0F, box.h - away - h);
    if (is_wide && lower < LOW_ROWS * text && lower * box.w < box.h * narrower && box.h >= 2 * sizes.turn + gap) {
        const float x = box.right() - beside, each = std::min(std::floor((box.h - gap) * 0.5F), sizes.turn * 1.5F);
        return {{box.x, box.y, narrower, box.h}, {x, box.y, beside, each}, {x, box.bottom() - each, beside, each}};
    }
    const float w = std::floor((box.w - gap) * 0.5F), y = box.bottom() - h;
    return {{box.x, box.y, box.w, lower}, {box.x, y, w, h}, {box.x + w + gap, y, box.w - w - gap, h}};
}

float turned_on(float at, float seen, float gap, const std::vector<Extent>& controls) {
    const float most = at + std::max(1.0F, seen * TURN);
    float to = most;
    for (const Extent& control : controls) {
        const float height = control.bottom - control.top;
        if (control.bottom <= at + seen + 0.5F || height > seen) // is in sight, or cannot be
            continue;
        to = std::min(to, control.top - std::min((seen - height) * 0.5F, gap));
    }
    to = std::floor(to);
    return to > at + 0.5F ? to : std::floor(most); // what was less than a pixel lower than its place
}

float turned_back(float at, float seen, float gap, const std::vector<Extent>& controls) {
    // The same list upside down, from the lower edge of what is seen.
    std::vector<Extent> mirrored;
    mirrored.reserve(controls.size());
    for (const Extent& control : controls)
        mirrored.push_back({-control.bottom, -control.top});
    return -turned_on(-at - seen, seen, gap, mirrored) - seen;
}

std::vector<std::pair<std::string, Box>> areas(const Layout& l) {
    std::vector<std::pair<std::string, Box>> all;
    const auto add = [&](const char* name, const Box& box) {
        if (!box.empty())
            all.emplace_back(name, box);
    };
    add("top", l.top);
    add("panel", l.panel);
    add("drawing", l.drawing);
    add("tools", l.tools);
    add("card", l.card);
    add("back", l.back);
    add("track", l.track);
    add("ahead", l.ahead);
    add("next", l.next);
    add("ledger", l.ledger);
    add("warning", l.warning);
    add("show", l.show);
    add("more", l.more);
    return all;
}

} // namespace boltwalk
