#include <doctest/doctest.h>

#include <cmath>

#include "viewer/panels/measures.hpp"

using namespace boltwalk;

TEST_CASE("a display is believed when both directions agree, else 96 dots an inch are taken") {
    const Screen tablet = screen_of(2000, 1200, 217, 130);
    CHECK(tablet.stated);
    CHECK(tablet.px_per_mm == doctest::Approx(9.22).epsilon(0.01));
    CHECK_FALSE(screen_of(1280, 800, 0, 0).stated);
    CHECK_FALSE(screen_of(1920, 1080, 160, 90).px_per_mm < 3); // 305 dots an inch: odd, but possible
    CHECK_FALSE(screen_of(1920, 1080, 1600, 900).stated);      // an aspect ratio, not a size: 30 dots an inch
    CHECK_FALSE(screen_of(1280, 800, 340, 400).stated);
    CHECK(screen_of(1280, 800, 340, 400).px_per_mm == doctest::Approx(96 / 25.4));
}

TEST_CASE("capitals are 22 minutes of arc high at every distance (NUREG-0700, ISO 9241-3)") {
    const double arc = 22.0 / 60 * 3.14159265358979 / 180;
    for (const Distance reach : {Distance::desk, Distance::hand, Distance::bench, Distance::helper}) {
        const double wanted_mm = 2 * std::tan(arc / 2) * distance_m(reach) * 1000;
        CHECK(capital_height_mm(reach) >= wanted_mm - 0.01);
        const Screen screen{5, true};
        const Sizes sizes = sizes_for(reach, screen);
        CHECK(double(sizes.text) / SIZE_PER_CAPITAL / screen.px_per_mm >= capital_height_mm(reach) - 0.001);
        CHECK(sizes.figure == 2 * sizes.text);
    }
}

TEST_CASE("for a glove targets are 20 mm, the main action 25 mm, 6 mm apart") {
    for (const double px_per_mm : {3.78, 6.0, 9.2})
        for (const Distance reach : {Distance::hand, Distance::bench, Distance::helper}) {
            const Sizes sizes = sizes_for(reach, {px_per_mm, true});
            CHECK(double(sizes.icon) >= 20 * px_per_mm - 0.5);
            CHECK(sizes.target >= sizes.icon);
            CHECK(sizes.turn >= sizes.icon);
            CHECK(double(sizes.main) >= 25 * px_per_mm - 0.5);
            CHECK(double(sizes.gap) >= 6 * px_per_mm - 0.5);
        }
}
