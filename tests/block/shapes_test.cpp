// Volumes against the formulas of solid geometry, closedness, extents.
#include <fmt/format.h>

#include "tests/block/made.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

constexpr double pi = 3.14159265358979;

Sums of_shape(const std::string& shape) {
    const Map map = map_of(one_part(shape));
    return sums_of(map, "it");
}

void is(const std::string& shape, double volume, double relative = 1e-4) {
    const Sums sums = of_shape(shape);
    CAPTURE(shape);
    CHECK(sums.volume_mm3 == doctest::Approx(volume).epsilon(relative));
    CHECK(sums.open_edges == 0);
    CHECK(sums.worst_normal < 1e-4);
}

} // namespace

TEST_CASE("each shape encloses what its formula says, closed and wound outwards") {
    is("box = [40, 20, 30]", 40 * 20 * 30);
    is("plate = [40, 30, 4]", 40 * 30 * 4);
    // Rounded: the corners' squares less quarter circles, which are polygons of 24 sides here.
    is("plate = [40, 30, 4]\nround = 10", 4 * (40 * 30 - 4 * 100 + polygon_area(20, 24)));
    is("cylinder = [30, 80]\nsides = 32", 80 * polygon_area(30, 32));
    is("tube = [30, 22, 80]\nsides = 32", 80 * (polygon_area(30, 32) - outer_polygon_area(22, 32)));
    is("cone = [40, 20, 30]\nsides = 128", pi / 12 * 30 * (1600 + 800 + 400), 5e-4);
    is("cone = [40, 0, 30]\nsides = 128", pi / 12 * 30 * 1600, 5e-4);
    is("cone = [0, 40, 30]\nsides = 128", pi / 12 * 30 * 1600, 5e-4);
    is("turned = [[0, 0], [30, 0], [30, 10], [12, 40], [0, 40]]\nsides = 128",
       pi * (900 * 10 + 30.0 / 3 * (900 + 30 * 12 + 144)), 5e-4);
    // A ring of rectangular section, by Pappus: its area times the way of its centre.
    is("turned = [[20, 0], [20, 8], [30, 8], [30, 0]]\nsides = 128", 10 * 8 * 2 * pi * 25, 5e-4);
    is("extruded = { outline = [[0, 0], [60, 0], [60, 20], [20, 20], [20, 50], [0, 50]], height = 8 }",
       8 * (60 * 20 + 20 * 30));
    // The same outline the other way round.
    is("extruded = { outline = [[0, 50], [20, 50], [20, 20], [60, 20], [60, 0], [0, 0]], height = 8 }",
       8 * (60 * 20 + 20 * 30));
    is("pipe = { outside = 20, through = [[0, 0, 0], [0, 0, 300]] }\nsides = 32", 300 * polygon_area(20, 32));
}

TEST_CASE("a bent pipe has its section times the way of its middle line") {
    // Two legs of 300 and 200, a right angle between: bend 60, so 300 + 200 - 2 * 60 + pi / 2 * 60.
    const double length = 300 + 200 - 120 + pi / 2 * 60;
    is("pipe = { outside = 42, bend = 60, through = [[0, 0, 0], [0, 0, 300], [200, 0, 300]] }\nsides = 64",
       length * pi * 21 * 21, 0.01);
    is("pipe = { outside = 42, wall = 2, bend = 60, through = [[0, 0, 0], [0, 0, 300], [200, 0, 300]] }\nsides = 64",
       length * pi * (21 * 21 - 19 * 19), 0.06);
    // Two bends that use up the leg between them.
    is("pipe = { outside = 24, bend = 40, through = [[-140, 20, -80], [20, 20, -80], [20, 100, -80], [140, 100, -80]] "
       "}\nsides "
       "= 64",
       (120 + 80 + pi * 40) * pi * 144, 0.01);
    // Out of one plane, and through a point on a straight line.
    is("pipe = { outside = 10, bend = 15, through = [[0,0,0], [0,0,50], [0,0,100], [80,0,100], [80,60,100]] }",
       (100 + 80 + 60 - 4 * 15 + pi * 15) * 24 / 2 * 25 * std::sin(2 * pi / 20) * 20 / 24, 0.02);
}

TEST_CASE("holes are holes, in every face that carries them") {
    const double hole = outer_polygon_area(9, 20);
    is("plate = [60, 40, 5]\nholes = [{ on = \"top\", corners = 10, d = 9 }]", 5 * (60 * 40 - 4 * hole));
    is("plate = [60, 40, 5]\nholes = [{ on = \"bottom\", d = 9 }]", 5 * (60 * 40 - hole));
    is("plate = [60, 40, 5]\nround = 8\nholes = [{ on = \"top\", grid = { count = [4, 2], step = [12, 15] }, d = 9 }]",
       5 * (60 * 40 - 4 * 64 + polygon_area(16, 24) - 8 * hole));
    is("box = [40, 40, 40]\nholes = [{ on = \"top\", d = 9, deep = 12 }, { on = \"front\", d = 9, deep = 12 },"
       "{ on = \"left\", d = 9, deep = 12 }, { on = \"rear\", d = 9, deep = 12 }, { on = \"bottom\", d = 9, deep = 12 "
       "},"
       "{ on = \"right\", d = 9, deep = 12 }]",
       64000 - 6 * 12 * hole);
    is("box = [40, 40, 40]\nholes = [{ on = \"top, 8 from left\", d = 9 }, { on = \"front, 8 from right\", d = 9 }]",
       64000 - 2 * 40 * hole);
    is("plate = [60, 40, 5]\nholes = [{ on = \"top\", window = [30, 10] }]", 5 * (60 * 40 - 300));
    is("plate = [60, 40, 5]\nholes = [{ on = \"top\", window = [30, 10], towards = \"front\", deep = 2 }]",
       5 * 60 * 40 - 2 * 300);
    // A slot: a rectangle and a circle, whose ends are polygons of 16 sides.
    is("plate = [60, 40, 5]\nholes = [{ on = \"top\", slot = [20, 8] }]", 5 * (60 * 40 - 12 * 8 - polygon_area(8, 16)));
    is("cylinder = [80, 10]\nsides = 64\nholes = [{ on = \"top\", circle = { count = 6, diameter = 60 }, d = 9 }]",
       10 * (polygon_area(80, 64) - 6 * hole));
    is("cylinder = [80, 10]\nfacing = \"front\"\nsides = 64\nholes = [{ on = \"front\", d = 9 }]",
       10 * (polygon_area(80, 64) - hole));
    is("tube = [80, 30, 10]\nsides = 64\nholes = [{ on = \"top, 12 from left\", d = 9 }]",
       10 * (polygon_area(80, 64) - outer_polygon_area(30, 64) - hole));
    // Counterbore and countersink: one more cylinder's ring, one more cone's.
    const double bore = outer_polygon_area(15, 24);
    const double inner = outer_polygon_area(9, 24);
    is("box = [40, 20, 40]\nholes = [{ on = \"top\", d = 9, counterbore = [15, 8] }]", 32000 - 12 * inner - 8 * bore);
    const double depth = (15 - 9) / 2.0;
    is("box = [40, 20, 40]\nholes = [{ on = \"top\", d = 9, countersink = 15 }]",
       32000 - (20 - depth) * inner - depth / 3 * (inner + bore + std::sqrt(inner * bore)));
}

TEST_CASE("many holes in rows, corners in one line") {
    const double hole = outer_polygon_area(4, 16);
    is("plate = [400, 200, 3]\nholes = [{ on = \"top\", grid = { count = [20, 15], step = [18, 12] }, d = 4 }]",
       3 * (400 * 200 - 300 * hole));
    std::string comb = "extruded = { height = 5, outline = [";
    for (int i = 0; i < 20; ++i)
        comb += fmt::format("[{},0],[{},0],[{},30],[{},30],", 10 * i, 10 * i + 5, 10 * i + 5, 10 * i + 10);
    comb += "[200,-20],[0,-20]] }";
    // 20 teeth of 5 by 30 below the comb's upper line, drawn from a back of 20.
    const Sums sums = of_shape(comb);
    CHECK(sums.open_edges == 0);
    CHECK(sums.volume_mm3 == doctest::Approx(5 * (200 * 20 + 20 * 5 * 30)).epsilon(1e-4));
}

TEST_CASE("pieces, and a part that is turned") {
    const Map map = map_of(R"(
[l]
part = "Bracket"
fixed = true
foot = { plate = [60, 40, 8] }
wall = { plate = [60, 100, 8], facing = "front", on = "top of foot, 0 from front" }
at = [0, 54, 0]
[tilted]
part = "Tilted"
box = [20, 10, 30]
on = "top of l"
rotate = [0, 0, 90]
after = "l"
)");
    const Sums sums = sums_of(map, "l");
    CHECK(sums.volume_mm3 == doctest::Approx(60 * 40 * 8 + 60 * 100 * 8).epsilon(1e-5));
    CHECK(sums.open_edges == 0);
    CHECK(sums.low.y == doctest::Approx(0));
    CHECK(sums.high.y == doctest::Approx(108));
    CHECK(sums.high.z == doctest::Approx(20));
    const Sums tilted = sums_of(map, "tilted");
    CHECK(tilted.low.y == doctest::Approx(108)); // it stands on what lies lowest
    CHECK(tilted.high.y == doctest::Approx(128));
    CHECK(tilted.high.x - tilted.low.x == doctest::Approx(10));
}

TEST_CASE("the same recipe gives the same bytes") {
    const std::string recipe = one_part("cylinder = [80, 10]\nholes = [{ on = \"top\", d = 9 }]");
    CHECK(block_out(recipe).glb == block_out(recipe).glb);
}
