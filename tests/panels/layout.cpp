#include <doctest/doctest.h>

#include <algorithm>
#include <tuple>

#include "viewer/panels/layout.hpp"

using namespace boltwalk;

namespace {

void check_room(const Layout& layout, float width, float height) {
    const auto all = areas(layout);
    for (std::size_t i = 0; i < all.size(); ++i) {
        const Box& box = all[i].second;
        CAPTURE(all[i].first);
        CHECK(box.x >= 0);
        CHECK(box.y >= 0);
        CHECK(box.right() <= width + 0.5F);
        CHECK(box.bottom() <= height + 0.5F);
        for (std::size_t j = i + 1; j < all.size(); ++j) {
            CAPTURE(all[j].first);
            CHECK_FALSE(overlap(box, all[j].second));
        }
    }
}

} // namespace

TEST_CASE("areas stay in the window and off each other, whatever its size, the distance and the display") {
    for (const auto& size : {std::pair{1280.0F, 800.0F},
                             {2000.0F, 1200.0F},
                             {1024.0F, 600.0F},
                             {800.0F, 1280.0F},
                             {3840.0F, 2160.0F},
                             {640.0F, 480.0F},
                             {360.0F, 640.0F},
                             {640.0F, 360.0F}})
        for (const double px_per_mm : {3.78, 5.2, 9.2}) {
            if (double(std::min(size.first, size.second)) / px_per_mm < 60) // smaller than any that is asked for
                continue;
            for (const Distance reach : {Distance::desk, Distance::hand, Distance::bench, Distance::helper})
                for (const bool panel : {false, true})
                    for (const bool drawing : {false, true}) {
                        const float width = size.first, height = size.second;
                        const Sizes sizes = sizes_in(reach, {px_per_mm, true}, width, height);
                        const ToolWidths tools{sizes.text * 28, sizes.text * 30};
                        CAPTURE(width);
                        CAPTURE(height);
                        CAPTURE(px_per_mm);
                        CAPTURE(name_of(reach));
                        CAPTURE(panel);
                        check_room(lay_out(width, height, sizes, panel, drawing, tools), width, height);
                        for (const float warning : {0.0F, sizes.target})
                            check_room(lay_out(width, height, sizes, panel, drawing, tools, {sizes.target, warning}),
                                       width, height);
                    }
        }
}

TEST_CASE("at a desk panel, drawing and card stand side by side at 1280 x 800") {
    const Layout layout = lay_out(1280, 800, sizes_for(Distance::desk, {}), true, false, {590, 620});
    CHECK(layout.shape == Shape::wide);
    CHECK_FALSE(layout.panel.empty());
    CHECK_FALSE(layout.drawing.empty());
    CHECK_FALSE(layout.card.empty());
    CHECK(layout.tool_rows == 2);
    CHECK(layout.drawing.w > 600);
}

TEST_CASE("on an upright screen the card stands under the drawing, and neither is a narrow strip") {
    for (const auto& [width, height] : {std::pair{800.0F, 1280.0F}, {1200.0F, 2000.0F}})
        for (const Distance reach : {Distance::desk, Distance::hand}) {
            const Sizes sizes = sizes_for(reach, {});
            for (const bool panel : {false, true}) {
                const Layout layout = lay_out(width, height, sizes, panel, false, {590, 620}, {sizes.target, 0});
                CAPTURE(width);
                CAPTURE(name_of(reach));
                CHECK(layout.card.w > 0.9F * width);
                CHECK(layout.card.h > 14 * sizes.text);
                const Box& above = layout.drawing.empty() ? layout.panel : layout.drawing;
                CHECK(above.bottom() < layout.card.y);
                CHECK(above.h > layout.card.h * 0.9F);
                CHECK(above.w > 0.75F * above.h);
            }
            // Cameras are worked out for the drawing as it will first be seen.
            const Box first = first_drawing(width, height, sizes);
            CHECK(first.w > 0.75F * first.h);
        }
}

TEST_CASE("read from 3 m on a small screen there are words alone, and the drawing or a panel when asked for") {
    const Sizes sizes = sizes_for(Distance::helper, {});
    CHECK(lay_out(1280, 800, sizes, false, false).shape == Shape::words);
    CHECK_FALSE(lay_out(1280, 800, sizes, false, false).card.empty());
    CHECK_FALSE(lay_out(1280, 800, sizes, false, true).drawing.empty());
    CHECK(lay_out(1280, 800, sizes, false, true).card.empty());
    CHECK_FALSE(lay_out(1280, 800, sizes, true, true).panel.empty());
}

TEST_CASE("upright and high enough the drawing stands above the words, and has everything where it is asked for") {
    const Sizes sizes = sizes_for(Distance::bench, {});
    const Layout both = lay_out(1200, 2000, sizes, false, false);
    CHECK(both.shape == Shape::words);
    CHECK(both.drawing.h > both.card.h);
    CHECK(both.card.h > 14 * sizes.text);
    CHECK(both.drawing.bottom() < both.card.y);
    CHECK(first_drawing(1200, 2000, sizes).h == both.drawing.h);
    const Layout panel = lay_out(1200, 2000, sizes, true, false);
    CHECK(panel.panel.y == both.drawing.y);
    CHECK(panel.drawing.empty());
    CHECK_FALSE(panel.card.empty());
    const Layout alone = lay_out(1200, 2000, sizes, false, true);
    CHECK(alone.card.empty());
    CHECK(alone.drawing.h > 1.5F * both.drawing.h);
    CHECK(lay_out(800, 1280, sizes, false, false).drawing.empty()); // there the words need it all
}

TEST_CASE("ledger and warning stand above the last row, as wide as the window, in every shape") {
    for (const Distance reach : {Distance::desk, Distance::hand, Distance::bench, Distance::helper})
        for (const auto& size : {std::pair{1280.0F, 800.0F}, {2000.0F, 1200.0F}, {800.0F, 1280.0F}}) {
            const Sizes sizes = sizes_for(reach, {});
            const Layout layout = lay_out(size.first, size.second, sizes, false, false, {}, {20, 30});
            CHECK(layout.ledger.h == 20);
            CHECK(layout.warning.h == 30);
            CHECK(layout.ledger.w > size.first * 0.9F);
            CHECK(layout.ledger.bottom() <= layout.next.y);
            CHECK(layout.warning.bottom() <= layout.ledger.y);
            CHECK(lay_out(size.first, size.second, sizes, false, false).ledger.empty());
        }
}

TEST_CASE("boxes that touch do not overlap") {
    CHECK_FALSE(overlap(Box{0, 0, 10, 10}, Box{10, 0, 10, 10}));
    CHECK_FALSE(overlap(Box{0, 0, 10, 10}, Box{0, 0, 0, 0}));
    CHECK(overlap(Box{0, 0, 10, 10}, Box{9, 9, 10, 10}));
}

TEST_CASE("in the hand there is one large counting button, from 5 inches on; the full layout starts at 10") {
    // 5 inches of 16:9 are 62 mm by 111 mm; the window counts in a browser's pixels, 360 or 412 across.
    for (const auto& [width, height, px_per_mm] : {std::tuple{360.0F, 640.0F, 5.8},
                                                   {412.0F, 732.0F, 6.6},
                                                   {640.0F, 360.0F, 5.8},
                                                   {360.0F, 640.0F, 3.78},
                                                   {640.0F, 360.0F, 3.78}}) {
        CAPTURE(width);
        CAPTURE(px_per_mm);
        for (const Distance reach : {Distance::desk, Distance::hand}) {
            const Sizes sizes = sizes_in(reach, {px_per_mm, true}, width, height);
            REQUIRE(sizes.handheld);
            const Layout layout = lay_out(width, height, sizes, false, false, {}, {sizes.target, 0});
            check_room(layout, width, height);
            CHECK(double(layout.next.w) >= 25 * px_per_mm - 1);
            CHECK(double(layout.next.h) >= (height > width ? 25 : 18) * px_per_mm - 1);
            for (const Box& small : {layout.back, layout.show, layout.more, layout.ledger}) {
                CHECK(double(small.h) >= 9 * px_per_mm - 1);
                CHECK(double(small.w) >= 9 * px_per_mm - 1);
            }
            CHECK(layout.card.h >= 6 * sizes.text); // a few lines of the step stay
            CHECK(layout.card.w >= (height > width ? 10.5F : 9.5F) * sizes.text);
        }
    }
    CHECK_FALSE(sizes_in(Distance::hand, {3.78, true}, 1280, 800).handheld);
    CHECK_FALSE(sizes_in(Distance::helper, {3.78, true}, 360, 640).handheld); // from 3 m large letters matter more
    const double px_per_mm = 1280 / 217.0;                                    // 10.1 inches
    CHECK_FALSE(sizes_in(Distance::hand, {px_per_mm, true}, 1280, 800).handheld);
}

TEST_CASE("the buttons that turn a list stand beside it where it would else be too low to read") {
    for (const Distance reach : {Distance::desk, Distance::hand, Distance::bench, Distance::helper}) {
        const Sizes sizes = sizes_for(reach, {});
        int asides = 0;
        for (float w = 150; w < 2000; w *= 1.3F)
            for (float h = 90; h < 1200; h *= 1.2F) {
                const Box box{7, 11, w, h};
                const Turning turning = turning_in(box, sizes, 5 * sizes.text);
                CAPTURE(int(reach));
                CAPTURE(w);
                CAPTURE(h);
                CHECK(turning.seen.w > 0);
                const std::vector<Box> all{turning.seen, turning.earlier, turning.more};
                for (std::size_t i = 0; i < all.size(); ++i) {
                    CHECK(all[i].x >= box.x);
                    CHECK(all[i].right() <= box.right() + 0.01F);
                    CHECK(all[i].bottom() <= box.bottom() + 0.01F);
                    for (std::size_t k = 0; k < i; ++k)
                        CHECK_FALSE(overlap(all[i], all[k]));
                }
                CHECK(turning.seen.h >= std::min(sizes.text, h * 0.2F)); // a line is left
                const bool beside = turning.earlier.y == box.y;
                if (!beside)
                    continue;
                // More is seen than above them, and no row is too short to be read, or shorter by much.
                CHECK(turning.seen.w * h > w * (h - sizes.turn - sizes.gap));
                CHECK(turning.seen.h == h);
                CHECK((turning.seen.w >= 12 * sizes.text || turning.seen.w >= 0.85F * w));
                CHECK(turning.earlier.h >= sizes.turn - 1);
                CHECK(turning.earlier.w >= sizes.icon);
                CHECK(turning.more.y - turning.earlier.bottom() >= sizes.gap - 1);
                asides += 1;
            }
        CHECK(asides > 5); // it happens from every distance
    }
}

TEST_CASE("by presses alone every control of a list comes whole into sight, both ways") {
    // Heights of controls and of the place, the latter down to little more than one control.
    for (const float place : {41.0F, 50.0F, 64.0F, 90.0F, 200.0F})
        for (const float between : {0.0F, 6.0F, 23.0F, 71.0F}) {
            CAPTURE(place);
            CAPTURE(between);
            std::vector<Extent> controls;
            float end = 17.3F;
            for (int i = 0; i < 12; ++i) {
                const float height = i % 3 == 0 ? 39.6F : i % 3 == 1 ? 30.0F : 12.5F;
                controls.push_back({end, end + height});
                end += height + between;
            }
            const float most = std::floor(std::max(0.0F, end + 30 - place));
            const auto see = [&](float at, std::vector<bool>& seen) {
                for (std::size_t i = 0; i < controls.size(); ++i)
                    if (controls[i].top >= at - 1 &&
                        controls[i].bottom <= at + place + 1) // Dear ImGui scrolls by whole pixels
                        seen[i] = true;
            };
            float at = 0;
            std::vector<bool> on(controls.size()), back(controls.size());
            see(at, on);
            int presses = 0;
            for (; at < most; ++presses) {
                const float next = std::floor(std::min(most, turned_on(at, place, 8, controls)));
                REQUIRE(next > at);
                CHECK(next <= at + place); // no words are passed over
                at = next;
                see(at, on);
            }
            CHECK(presses <= 60);
            see(at, back);
            while (at > 0) {
                const float next = std::floor(std::max(0.0F, turned_back(at, place, 8, controls)));
                REQUIRE(next < at);
                CHECK(next >= at - place);
                at = next;
                see(at, back);
            }
            CHECK(std::count(on.begin(), on.end(), true) == 12);
            CHECK(std::count(back.begin(), back.end(), true) == 12);
        }
}

TEST_CASE("a control higher than its place is turned through, not stuck at") {
    const std::vector<Extent> controls{{0, 300}, {310, 350}};
    CHECK(turned_on(0, 100, 8, controls) == doctest::Approx(80));
    CHECK(turned_on(160, 100, 8, controls) == doctest::Approx(240));
    CHECK(turned_on(240, 100, 8, controls) == doctest::Approx(302));
    CHECK(turned_back(250, 100, 8, controls) == doctest::Approx(170));
    CHECK(turned_back(170, 100, 8, controls) == doctest::Approx(90));
    // What is but a part of a pixel lower than its place does not hold it up.
    CHECK(turned_on(199, 200, 8, {{200, 399.6F}}) == doctest::Approx(359));
    CHECK(turned_on(0, 200, 8, {{0.2F, 199.9F}, {200, 399.6F}}) == doctest::Approx(160));
}
