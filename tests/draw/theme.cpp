// Contrast of both palettes. Source: WCAG 2.1, "relative luminance" and "contrast ratio" in its glossary. The limits
// are ours (issue 2, design): text 10:1, marks 3:1.
#include <algorithm>
#include <cmath>
#include <initializer_list>

#include <doctest/doctest.h>

#include "viewer/draw/theme.hpp"

using namespace boltwalk;

namespace {

double luminance(Colour c) {
    const auto linear = [](std::uint8_t channel) {
        const double share = channel / 255.0;
        return share <= 0.04045 ? share / 12.92 : std::pow((share + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * linear(c.r) + 0.7152 * linear(c.g) + 0.0722 * linear(c.b);
}

double contrast(Colour a, Colour b) {
    const double la = luminance(a);
    const double lb = luminance(b);
    return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

Colour scaled(Colour c, double by) {
    const auto one = [&](std::uint8_t v) { return static_cast<std::uint8_t>(std::min(255.0, v * by)); };
    return {one(c.r), one(c.g), one(c.b)};
}

} // namespace

TEST_CASE("the formula gives the standard's own ends") {
    CHECK(contrast({0, 0, 0}, {255, 255, 255}) == doctest::Approx(21));
    CHECK(contrast({119, 119, 119}, {255, 255, 255}) == doctest::Approx(4.48).epsilon(0.002)); // #777 on white
}

TEST_CASE("text stands at 10:1 on whatever it is written on") {
    for (const bool night : {false, true}) {
        const Theme& t = theme_of(night);
        CAPTURE(night);
        for (const Colour ink : {t.text, t.text_soft})
            for (const Colour ground : {t.paper, t.paper_low, t.label, t.panel, t.row}) {
                CAPTURE(contrast(ink, ground));
                CHECK(contrast(ink, ground) >= 10);
            }
        for (const Colour ground : {t.button, t.button_over, t.button_down})
            CHECK(contrast(t.text, ground) >= 10);
        CHECK(contrast(t.action_text, t.action) >= 10);
        CHECK(contrast(t.action_text, t.action_over) >= 10);
    }
}

TEST_CASE("marks stand at 3:1 on whatever they are drawn on") {
    for (const bool night : {false, true}) {
        const Theme& t = theme_of(night);
        CAPTURE(night);
        for (const Colour mark : {t.caution, t.fault, t.doubt, t.note, t.done, t.accent, t.label_edge, t.panel_edge})
            for (const Colour ground : {t.paper, t.panel, t.label}) {
                CAPTURE(contrast(mark, ground));
                CHECK(contrast(mark, ground) >= 3);
            }
        // On surfaces as the shading leaves them. In the shade a ring stands by its rim of paper on both sides.
        CHECK(contrast(t.accent, scaled(t.surface, t.dim)) >= 3);
        for (const double light : {0.75, 1.0})
            CHECK(contrast(t.line, scaled(t.surface, t.dim * light)) >= 3);
        CHECK(contrast(t.paint, t.paint_edge) >= 10);
    }
}

TEST_CASE("meanings that colour tells apart differ in more than lightness, and none is a plain grey") {
    for (const bool night : {false, true}) {
        const Theme& t = theme_of(night);
        for (const Colour c : {t.paper, t.surface, t.line, t.panel, t.button, t.text})
            CHECK(!(c.r == c.g && c.g == c.b));
        CHECK(!(t.fault == t.doubt));
        CHECK(!(t.accent == t.fault));
    }
}
