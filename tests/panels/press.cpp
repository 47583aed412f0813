// One press, one step.
#include "viewer/panels/press.hpp"

#include <doctest/doctest.h>

using namespace boltwalk;

TEST_CASE("a second press counts only once the step that the first one led to was in sight for a while") {
    OnePress press;
    press.gap_s = 0.4;
    CHECK(press.takes(0));
    press.acted();
    CHECK_FALSE(press.takes(100)); // however long the frame takes
    press.begins();
    CHECK_FALSE(press.takes(100));
    press.ends(100);
    CHECK_FALSE(press.takes(100.39));
    CHECK(press.takes(100.4));
}

TEST_CASE("a press in the middle of a frame: that frame still shows the step before") {
    OnePress press;
    press.begins();
    press.acted(); // by a button of it
    press.ends(1);
    CHECK_FALSE(press.takes(50));
    press.begins();
    press.ends(2);
    CHECK(press.takes(2 + PRESS_GAP_SECONDS));
}

TEST_CASE("slow frames: a tap made too soon is no other one for being seen late") {
    OnePress press;
    press.acted();
    press.begins();
    press.ends(1);
    press.goes_down(1.1);
    press.begins();
    press.ends(3);
    CHECK_FALSE(press.takes(3)); // its release
    press.is_up();
    CHECK(press.takes(3));
    press.goes_down(3);
    CHECK(press.takes(3.1));
}

TEST_CASE("frames in which nothing was pressed hold nothing off") {
    OnePress press;
    for (double at = 1; at < 2; at += 0.1) {
        press.begins();
        CHECK(press.takes(at));
        press.ends(at);
    }
}
