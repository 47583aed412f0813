// The published sequences, as far as they were seen: 4, a works' drawing and memory; 8, a gasket maker's text and the
// same drawing; 12, a web article and memory; 16, 20 and 24 from memory of PCC-1's older table. Another cross order for
// 12 exists; what all have in common is that consecutive pairs are opposite.
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include <doctest/doctest.h>

#include "core/standards/standards.hpp"

using namespace boltwalk;

namespace {

using Order = std::vector<std::size_t>;
constexpr BoltPlace up{0, 0, 1};

/// Clockwise as seen from above, the first at twelve o'clock.
std::vector<BoltPlace> circle(std::size_t count, double radius = 50, BoltPlace centre = {}) {
    std::vector<BoltPlace> places;
    for (std::size_t i = 0; i < count; ++i) {
        const double a = 2 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(count);
        places.push_back({centre[0] + radius * std::sin(a), centre[1] + radius * std::cos(a), centre[2]});
    }
    return places;
}

Order numbered(Order order) {
    for (std::size_t& one : order)
        ++one;
    return order;
}

} // namespace

TEST_CASE("the published sequences of 4, 8 and 12 bolts, and those from memory") {
    struct Row {
        std::size_t count;
        Order order;
    };
    const Row published[] = {
        {4, {1, 3, 2, 4}},
        {8, {1, 5, 3, 7, 2, 6, 4, 8}},
        {12, {1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12}},
        {16, {1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16}},
        {20, {1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19}},
        {24, {1, 13, 7, 19, 4, 16, 10, 22, 2, 14, 8, 20, 5, 17, 11, 23, 3, 15, 9, 21, 6, 18, 12, 24}},
    };
    for (const Row& row : published) {
        CAPTURE(row.count);
        const TighteningOrder made = tightening_order(circle(row.count), up);
        CHECK(made.pattern == Pattern::star);
        CHECK(numbered(made.order) == row.order);
    }
}

TEST_CASE("of every even circle consecutive pairs are opposite, and each is tightened once") {
    for (std::size_t count = 4; count <= 64; count += 2) {
        CAPTURE(count);
        const Order order = tightening_order(circle(count), up).order;
        CHECK(std::set<std::size_t>(order.begin(), order.end()).size() == count);
        for (std::size_t i = 0; i < count; i += 2)
            CHECK((order[i + 1] + count - order[i]) % count == count / 2);
        // The second pair stands a quarter on, to the nearest bolt.
        const std::size_t on = (order[2] + count - order[0]) % (count / 2);
        CHECK(std::fabs(static_cast<double>(on) - static_cast<double>(count) / 4) <= 0.5);
    }
}

TEST_CASE("odd circles by every second: 1-3-5-2-4 (from memory, as for five wheel studs)") {
    CHECK(numbered(tightening_order(circle(5), up).order) == Order{1, 3, 5, 2, 4});
    CHECK(numbered(tightening_order(circle(7), up).order) == Order{1, 3, 5, 7, 2, 4, 6});
    CHECK(tightening_order(circle(3), up).pattern == Pattern::every_second);
}

TEST_CASE("the order is that of the places, not of the list, and the side from which one looks does not matter") {
    std::vector<BoltPlace> places = circle(8, 80, {300, -20, 900});
    std::swap(places[1], places[6]);
    std::swap(places[3], places[4]);
    for (const BoltPlace& axis : {BoltPlace{0, 0, 1}, BoltPlace{0, 0, -2}}) {
        const Order order = tightening_order(places, axis).order;
        CHECK(order.front() == 0);
        for (std::size_t i = 0; i < 8; i += 2) {
            const BoltPlace a = places[order[i]], b = places[order[i + 1]];
            CHECK(std::hypot(a[0] - b[0], a[1] - b[1]) == doctest::Approx(160));
        }
    }
}

TEST_CASE("a slanting axis, and places a little off the circle") {
    std::vector<BoltPlace> places = circle(6, 60);
    for (BoltPlace& place : places)
        place[2] = 0.3 * place[0];
    places[2][0] += 1.5;
    CHECK(tightening_order(places, {-0.3, 0, 1}).pattern == Pattern::star);
}

TEST_CASE("a rectangle of four is a circle; six of them are a plate, from the centre outwards") {
    const std::vector<BoltPlace> four{{0, 0, 0}, {100, 0, 0}, {100, 40, 0}, {0, 40, 0}};
    CHECK(tightening_order(four, up).order[1] == 2);
    const std::vector<BoltPlace> six{{0, 0, 0}, {50, 0, 0}, {100, 0, 0}, {0, 40, 0}, {50, 40, 0}, {100, 40, 0}};
    const TighteningOrder made = tightening_order(six, up);
    CHECK(made.pattern == Pattern::centre_out);
    CHECK(made.order == Order{1, 4, 0, 5, 3, 2});
}

TEST_CASE("rows from the centre outwards, side about") {
    const std::vector<BoltPlace> five{{0, 0, 0}, {30, 0, 0}, {60, 0, 0}, {90, 0, 0}, {120, 0, 0}};
    CHECK(tightening_order(five, up).order == Order{2, 1, 3, 0, 4});
    const std::vector<BoltPlace> four{{0, 0, 0}, {30, 0, 0}, {60, 0, 0}, {90, 0, 0}};
    CHECK(tightening_order(four, up).order == Order{1, 2, 0, 3});
    // A half circle is an arc, no flange.
    std::vector<BoltPlace> arc = circle(12);
    arc.resize(6);
    CHECK(tightening_order(arc, up).pattern == Pattern::centre_out);
}

TEST_CASE("a circle of uneven spacing goes crosswise") {
    std::vector<BoltPlace> places = circle(12);
    places = {places[0], places[1], places[2], places[3], places[4], places[8]};
    const TighteningOrder made = tightening_order(places, up);
    CHECK(made.pattern == Pattern::crosswise);
    CHECK(made.order.front() == 0);
    CHECK(std::set<std::size_t>(made.order.begin(), made.order.end()).size() == 6);
}

TEST_CASE("one, two, none, two at one place, an axis that is none") {
    CHECK(tightening_order({}, up).order.empty());
    CHECK(tightening_order(circle(1), up).pattern == Pattern::one);
    CHECK(tightening_order(circle(2), up).order == Order{0, 1});
    std::vector<BoltPlace> twice = circle(4);
    twice[3] = twice[1];
    CHECK(tightening_order(twice, up).pattern == Pattern::listed);
    CHECK(tightening_order(twice, up).order == Order{0, 1, 2, 3});
    CHECK(tightening_order(circle(6), {0, 0, 0}).pattern == Pattern::centre_out);
    CHECK(tightening_order(std::vector<BoltPlace>(1000), up).pattern == Pattern::too_many);
    CHECK(tightening_order(circle(256), up).pattern == Pattern::star);
    CHECK(tightening_order(circle(257), up).pattern == Pattern::too_many);
    CHECK(tightening_order(circle(257), up).order.size() == 257);
    const double none = std::nan("");
    CHECK(tightening_order(std::vector<BoltPlace>(4, BoltPlace{none, none, none}), up).order.size() == 4);
    // Apart, and yet their distance from the middle is no number.
    for (const double far : {std::numeric_limits<double>::infinity(), 1e300}) {
        const std::vector<BoltPlace> places{{far, 0, 0}, {0, 0, 0}, {80, 0, 0}, {0, 80, 0}};
        for (const Pattern asked : {Pattern::star, Pattern::centre_out, Pattern::round}) {
            CHECK(tightening_order(asked, places, up).pattern == Pattern::listed);
            CHECK(tightening_order(asked, places, up).order == Order{0, 1, 2, 3});
        }
    }
}

TEST_CASE("where the author asks for a shape that the places do not have, theirs is taken") {
    CHECK(tightening_order(Pattern::round, circle(5), up).order == Order{0, 1, 2, 3, 4});
    CHECK(tightening_order(Pattern::centre_out, circle(5), up).pattern == Pattern::centre_out);
    const std::vector<BoltPlace> row{{0, 0, 0}, {30, 0, 0}, {60, 0, 0}};
    CHECK(tightening_order(Pattern::round, row, up).pattern == Pattern::centre_out);
}

TEST_CASE("three passes are published as 30, 60 and 100 %: two suppliers' pages, a gasket maker's, notes on PCC-1") {
    CHECK(pass_shares(3).percent == std::vector<double>{30, 60, 100});
    CHECK(pass_shares(3).published);
    CHECK(pass_shares(2).percent == std::vector<double>{50, 100});
    CHECK(!pass_shares(2).published);
    CHECK(pass_shares(1).percent == std::vector<double>{100});
    CHECK(pass_shares(0).percent.empty());
}
