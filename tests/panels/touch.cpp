#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "viewer/panels/touch.hpp"

using namespace boltwalk;

namespace {

using Kind = PointerEvent::Kind;
using Tool = PointerEvent::Tool;
constexpr float PX_PER_MM = 4;

struct Fingers {
    Touch touch;
    void finger(Kind kind, int id, float x, float y, float contact = 30) {
        touch.put({kind, Tool::finger, id, x, y, contact, 0}, PX_PER_MM);
    }
    void mouse(Kind kind, float x, float y, int button = -1) {
        touch.put({kind, Tool::mouse, 1, x, y, 0, button}, PX_PER_MM);
    }
    /// Frames until nothing waits.
    std::vector<Pointing> frames() {
        std::vector<Pointing> all{touch.next()};
        while (touch.waits())
            all.push_back(touch.next());
        return all;
    }
    /// How often the button went down and came up again over something.
    int clicks() {
        int count = 0;
        bool down = false;
        for (const Pointing& one : frames()) {
            count += down && !one.down[0] && one.there ? 1 : 0;
            down = one.down[0];
        }
        return count;
    }
};

} // namespace

TEST_CASE("a tap within one frame is a press, a release and no pointer, a frame each") {
    Fingers hand;
    hand.finger(Kind::down, 5, 100, 50);
    hand.finger(Kind::up, 5, 101, 51);
    const auto frames = hand.frames();
    REQUIRE(frames.size() == 3);
    CHECK(frames[0].down[0]);
    CHECK(frames[0].x == 100);
    CHECK_FALSE(frames[1].down[0]);
    CHECK(frames[1].there);
    CHECK(frames[1].x == 100); // the finger's trembling is no drag
    CHECK_FALSE(frames[2].there);
}

TEST_CASE("many taps within one frame are all clicks") {
    Fingers hand;
    for (int i = 0; i < 5; ++i) {
        hand.finger(Kind::down, i, 10, 10);
        hand.finger(Kind::up, i, 10, 10);
    }
    CHECK(hand.clicks() == 5);
}

TEST_CASE("a palm is no finger, and a finger that grew into one presses nothing") {
    Fingers hand;
    hand.finger(Kind::down, 1, 100, 100, 31 * PX_PER_MM);
    hand.finger(Kind::up, 1, 100, 100, 31 * PX_PER_MM);
    CHECK(hand.clicks() == 0);
    hand.finger(Kind::down, 2, 100, 100);
    hand.finger(Kind::move, 2, 100, 100, 40 * PX_PER_MM);
    hand.finger(Kind::up, 2, 100, 100);
    CHECK(hand.clicks() == 0);
    hand.finger(Kind::down, 3, 100, 100); // and the next finger is one again
    hand.finger(Kind::up, 3, 100, 100);
    CHECK(hand.clicks() == 1);
}

TEST_CASE("a finger beside a palm still points") {
    Fingers hand;
    hand.finger(Kind::down, 1, 300, 300, 50 * PX_PER_MM);
    hand.finger(Kind::down, 2, 100, 100);
    hand.finger(Kind::up, 2, 100, 100);
    CHECK(hand.clicks() == 1);
}

TEST_CASE("the second finger takes the first one's press back, and one left over points at nothing") {
    Fingers hand;
    hand.finger(Kind::down, 1, 100, 100);
    hand.finger(Kind::down, 2, 200, 100);
    hand.finger(Kind::up, 2, 200, 100);
    hand.finger(Kind::move, 1, 140, 140);
    hand.finger(Kind::up, 1, 140, 140);
    CHECK(hand.clicks() == 0);
    CHECK_FALSE(hand.touch.next().there);
}

TEST_CASE("two fingers: spreading, moving and turning, each without the others") {
    Fingers hand;
    hand.finger(Kind::down, 1, 100, 100);
    hand.finger(Kind::down, 2, 200, 100);
    hand.frames();
    hand.finger(Kind::move, 1, 50, 100);
    hand.finger(Kind::move, 2, 250, 100); // twice as far apart
    TwoFingers two = hand.touch.next().two;
    CHECK(two.any);
    CHECK(two.spread > 1.3F); // less than 2: what set it going is not counted
    CHECK(two.spread <= 2.0F);
    CHECK(two.turn_deg == 0);
    CHECK(two.from_x == 150);
    hand.finger(Kind::move, 1, 60, 120);
    hand.finger(Kind::move, 2, 260, 120);
    two = hand.touch.next().two;
    CHECK(two.dx == doctest::Approx(10));
    CHECK(two.dy == doctest::Approx(20));

    Fingers other;
    other.finger(Kind::down, 1, 100, 100);
    other.finger(Kind::down, 2, 200, 100);
    other.frames();
    float turned = 0;
    for (int i = 1; i <= 40; ++i) { // a quarter turn about the first, clockwise on a screen whose y goes down
        const float angle = float(i) * 1.5707963F / 40;
        other.finger(Kind::move, 2, 100 + 100 * std::cos(angle), 100 + 100 * std::sin(angle));
        turned += other.touch.next().two.turn_deg;
    }
    CHECK(turned > 75);
    CHECK(turned <= 90);
}

TEST_CASE("a mouse hovers, drags with any button, and moves between frames are one") {
    Fingers hand;
    for (int i = 0; i < 10; ++i)
        hand.mouse(Kind::move, float(i), 0);
    auto frames = hand.frames();
    CHECK(frames.size() <= 2);
    CHECK(frames.back().x == 9);
    hand.mouse(Kind::down, 9, 0, 2);
    hand.mouse(Kind::move, 30, 0);
    hand.mouse(Kind::move, 60, 0);
    hand.mouse(Kind::up, 60, 0, 2);
    frames = hand.frames();
    CHECK(frames.front().down[2]);
    CHECK(frames.front().x == 9);
    CHECK_FALSE(frames.back().down[2]);
    CHECK(frames.back().x == 60);
}
