// Labels carried along by what they name: what is not there whole stands in the list of what was left out.
#include <algorithm>
#include <utility>

#include <doctest/doctest.h>

#include "viewer/scene/steady.hpp"

using namespace boltwalk;

namespace {

constexpr double FRAME_S = 1.0 / 60;

struct Told {
    double opacity = 0; ///< of its label; 0: it has none
    bool left_out = false;
};

Told told(const LabelLayout& layout, std::int32_t wish) {
    Told result;
    for (const LabelBox& box : layout.boxes)
        if (box.wish == wish)
            result.opacity = box.opacity;
    result.left_out = std::find(layout.left_out.begin(), layout.left_out.end(), wish) != layout.left_out.end();
    return result;
}

} // namespace

TEST_CASE("a label that fades beside something at rest is in the list until it is there whole again") {
    const LabelRoom room{{0, 0, 400, 130}, {}, 8, {}};
    std::vector<LabelAsk> asks{{{{{150, 40}, 0}}, {{{60, 65}, 10, 10, 0}}}};
    // Something at rest that fills the right of the room from top to bottom.
    for (double y = 10; y < 130; y += 20)
        asks.push_back({{}, {{{330, y}, 14, 14, std::int32_t(y)}}});
    SteadyLabels labels;
    LabelLayout layout;
    for (int k = 0; k < 60; ++k)
        layout = steady(labels, asks, room, nullptr, FRAME_S, 1);
    REQUIRE(told(layout, 0).opacity == doctest::Approx(1));
    CHECK(layout.left_out.empty()); // what has no words is not asked for, and so is not left out
    // Its mark goes to what rests, faster than it can slide away, and stays there: half faded, then gone.
    int faded = 0, gone = 0;
    for (int k = 0; k < 120; ++k) {
        asks[0].targets[0].at.x = std::min(asks[0].targets[0].at.x + 8, 260.0);
        layout = steady(labels, asks, room, nullptr, FRAME_S, 1);
        const Told one = told(layout, 0);
        CAPTURE(k);
        CAPTURE(one.opacity);
        CHECK(one.left_out == (one.opacity < 0.95));
        faded += one.opacity > 0 && one.opacity < 0.95 ? 1 : 0;
        gone += one.opacity <= 0 ? 1 : 0;
    }
    CHECK(faded > 0);
    CHECK(gone > 0);
}

TEST_CASE("a label waiting to come back, and one whose mark left the picture, are in the list") {
    const LabelRoom room{{0, 0, 400, 300}, {}, 8, {}};
    std::vector<LabelAsk> asks{{{{{100, 40}, 0}}, {{{200, 150}, 10, 10, 0}}}};
    SteadyLabels labels;
    LabelLayout layout;
    for (int k = 0; k < 60; ++k)
        layout = steady(labels, asks, room, nullptr, FRAME_S, 1);
    REQUIRE(told(layout, 0).opacity == doctest::Approx(1));
    CHECK(!told(layout, 0).left_out);
    const auto targets = std::exchange(asks[0].targets, {});
    for (int k = 0; k < 3; ++k)
        layout = steady(labels, asks, room, nullptr, FRAME_S, 1);
    CHECK(told(layout, 0).opacity == 0);
    CHECK(told(layout, 0).left_out);
    asks[0].targets = targets;
    layout = steady(labels, asks, room, nullptr, FRAME_S, 1);
    CHECK(told(layout, 0).opacity == 0); // it waits
    CHECK(labels.busy);
    CHECK(told(layout, 0).left_out);
    for (int k = 0; k < 60; ++k)
        layout = steady(labels, asks, room, nullptr, FRAME_S, 1);
    CHECK(told(layout, 0).opacity == doctest::Approx(1));
    CHECK(!told(layout, 0).left_out);
}
