// Numbers beside the heads of a step, as the camera turns.
#include <doctest/doctest.h>

#include <cmath>

#include "viewer/panels/numbers.hpp"

using namespace boltwalk;

namespace {

constexpr glm::dvec2 PICTURE{800, 600};
constexpr double FRAME_S = 1.0 / 60;

/// Six heads on a ring that turns about an axis across the picture: they pass one another, and crowd when it is narrow.
std::vector<StepNumber> ring(double turn, double narrow, double middle_x = 400) {
    std::vector<StepNumber> heads;
    for (int i = 0; i < 6; ++i) {
        const double angle = turn + 1.0471975512 * i;
        StepNumber one;
        one.tick.item = ItemId{i};
        one.tick.number = i + 1;
        one.head = {middle_x + 160 * std::cos(angle), 300 + 160 * narrow * std::sin(angle)};
        one.head_px = 10;
        one.radius = 14;
        if (one.head.x >= 0 && one.head.x <= PICTURE.x)
            heads.push_back(one);
    }
    return heads;
}

const StepNumber* of(const std::vector<StepNumber>& numbers, ItemId item) {
    for (const StepNumber& one : numbers)
        if (one.tick.item == item)
            return &one;
    return nullptr;
}

} // namespace

TEST_CASE("a number comes from nothing, stands whole after its time, and rests") {
    std::vector<StepNumber> numbers = move_numbers(ring(0, 1), {}, PICTURE, true, FRAME_S);
    REQUIRE(numbers.size() == 6);
    for (const StepNumber& one : numbers)
        CHECK(one.opacity == 0);
    CHECK(are_fading(numbers));
    for (double t = 0; t < FADE_IN_S + 2 * FRAME_S; t += FRAME_S)
        numbers = move_numbers(ring(0, 1), numbers, PICTURE, true, FRAME_S);
    for (const StepNumber& one : numbers)
        CHECK(one.opacity == 1);
    CHECK_FALSE(are_fading(numbers));
}

TEST_CASE("while the camera turns a number goes along with its head, or fades and comes back elsewhere from nothing") {
    int seen = 0, jumps = 0, cuts = 0, gone = 0, touching = 0;
    for (const double narrow : {1.0, 0.4, 0.1}) {
        std::vector<StepNumber> numbers;
        std::vector<StepNumber> before_heads;
        for (int frame = 0; frame < 1200; ++frame) {
            const double middle = 400 + 500 * std::sin(0.004 * frame); // out of the picture and back
            const std::vector<StepNumber> heads = ring(0.012 * frame, narrow, middle);
            const std::vector<StepNumber> now = move_numbers(heads, numbers, PICTURE, false, FRAME_S);
            for (const StepNumber& was : numbers) {
                if (was.opacity <= 0)
                    continue;
                const StepNumber* one = of(now, was.tick.item);
                const double left = one == nullptr ? 0 : one->opacity;
                cuts += was.opacity - left > 0.5;
                gone += left <= 0;
                if (one == nullptr || left <= 0)
                    continue;
                ++seen;
                jumps += glm::length((one->at - one->head) - (was.at - was.head)) > 0.01;
            }
            for (const StepNumber& a : now)
                for (const StepNumber& b : now)
                    touching += a.tick.item != b.tick.item && a.opacity > 0 && b.opacity > 0 &&
                                glm::length(a.at - b.at) < a.radius + b.radius;
            numbers = now;
        }
    }
    CHECK(seen > 5000);
    CHECK(gone > 10); // else this has tried nothing
    CHECK(jumps == 0);
    CHECK(touching == 0);
    MESSAGE(seen << " numbers seen, " << gone << " went, " << cuts << " of them in one picture from more than half");
    CHECK(cuts == 0);
}

TEST_CASE("where the picture rests every number is there, also where there is no free place") {
    std::vector<StepNumber> heads = ring(0, 1);
    for (StepNumber& one : heads)
        one.head = {400 + 2.0 * one.tick.number, 300};
    std::vector<StepNumber> numbers;
    for (int i = 0; i < 60; ++i)
        numbers = move_numbers(heads, numbers, PICTURE, true, FRAME_S);
    for (StepNumber& one : heads)
        one.head_px = 500; // nowhere beside these
    for (int i = 0; i < 120; ++i)
        numbers = move_numbers(heads, numbers, PICTURE, true, FRAME_S);
    REQUIRE(numbers.size() == 6);
    for (const StepNumber& one : numbers)
        CHECK(one.opacity == 1);
    CHECK_FALSE(are_fading(numbers));
}
