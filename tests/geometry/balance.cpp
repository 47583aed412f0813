// Volumes, centres, masses, and what would tip or drop, against formulas.
#include <cmath>
#include <fstream>
#include <functional>
#include <string>

#include <doctest/doctest.h>

#include "core/geometry/balance.hpp"
#include "core/geometry/shells.hpp"
#include "tests/shared/sanitized.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Dice;
using boltwalk::testing::Model;

namespace {

using Corners = std::vector<glm::vec3>;

constexpr double pi = 3.141592653589793;

/// A box from corner to corner, as corners in threes: shells are put together of them.
void add_box(Corners& corners, const glm::vec3& low, const glm::vec3& high) {
    const auto quad = [&](glm::vec3 a, glm::vec3 b, glm::vec3 c, glm::vec3 d) {
        for (const glm::vec3& p : {a, b, c, a, c, d})
            corners.push_back(low + p * (high - low));
    };
    quad({0, 0, 1}, {1, 0, 1}, {1, 1, 1}, {0, 1, 1});
    quad({1, 0, 0}, {0, 0, 0}, {0, 1, 0}, {1, 1, 0});
    quad({1, 0, 1}, {1, 0, 0}, {1, 1, 0}, {1, 1, 1});
    quad({0, 0, 0}, {0, 0, 1}, {0, 1, 1}, {0, 1, 0});
    quad({0, 1, 1}, {1, 1, 1}, {1, 1, 0}, {0, 1, 0});
    quad({0, 0, 0}, {1, 0, 0}, {1, 0, 1}, {0, 0, 1});
}

struct Weighed {
    BodyMass mass;
    std::vector<Finding> findings;
    bool found(const std::string& rule) const {
        return std::any_of(findings.begin(), findings.end(), [&](const Finding& f) { return f.rule == rule; });
    }
};

Weighed weighed(const Corners& corners, const glm::dmat4& place = glm::dmat4(1.0)) {
    Model model;
    const ItemId item = model.part("part", model.mesh(corners), {0, 0, 0});
    for (std::size_t i = 0; i < 16; ++i)
        model.map.nodes[static_cast<std::size_t>(model.map[item].node)].world[i] = glm::value_ptr(place)[i];
    const Solids solids = make_solids(model.map);
    const Masses masses = weigh(solids);
    return {masses.bodies.at(0), masses.findings};
}

void check_near(const glm::dvec3& is, const glm::dvec3& should, double within) {
    CAPTURE(is.x);
    CAPTURE(is.y);
    CAPTURE(is.z);
    CHECK(glm::length(is - should) < within);
}

/// Turned shapes have the volume that the formula gives times what a polygon has of its circle, and the centre on the
/// axis at the formula's height.
void check_turned(const std::vector<glm::dvec2>& outline, int sides, double volume, double height,
                  double within = 1e-5) {
    const glm::dmat4 place = glm::rotate(at(0.3, -0.2, 0.7), 0.8, glm::dvec3(0.36, 0.48, 0.8));
    const Weighed one = weighed(Model::turned_corners(outline, sides), place);
    CAPTURE(sides);
    CHECK(one.findings.empty());
    CHECK(one.mass.centre_from == CentreFrom::volume);
    CHECK(one.mass.volume_m3 == doctest::Approx(volume * Model::turned_share(sides)).epsilon(within));
    check_near(one.mass.centre, glm::dvec3(place * glm::dvec4(0, height, 0, 1)), within);
}

std::vector<glm::dvec2> arc(const glm::dvec2& middle, double radius, double from, double to, int pieces) {
    std::vector<glm::dvec2> points;
    for (int i = 0; i <= pieces; ++i) {
        const double angle = from + (to - from) * i / pieces;
        points.push_back(middle + radius * glm::dvec2(std::cos(angle), std::sin(angle)));
    }
    return points;
}

/// Volume and height of the centre of a solid of revolution whose slices' areas are a polynomial in height of degree 2
/// at most: Simpson's rule is exact to degree 3 (Bronshtein, Handbook of Mathematics, by memory).
std::pair<double, double> by_slices(double low, double high, const std::function<double(double)>& radius_squared) {
    const double middle = 0.5 * (low + high);
    const double sixth = (high - low) / 6;
    const auto area = [&](double y) { return pi * radius_squared(y); };
    const double volume = sixth * (area(low) + 4 * area(middle) + area(high));
    const double moment = sixth * (low * area(low) + 4 * middle * area(middle) + high * area(high));
    return {volume, moment / volume};
}

} // namespace

TEST_CASE("a box, a cylinder, a frustum, a torus, a cap of a sphere: volume and centre by formula") {
    SUBCASE("box: product of its sides") {
        Corners corners;
        add_box(corners, {0.1F, 0.2F, -0.3F}, {0.4F, 0.3F, 0.1F});
        const Weighed one = weighed(corners);
        CHECK(one.findings.empty());
        CHECK(one.mass.volume_m3 == doctest::Approx(0.3 * 0.1 * 0.4).epsilon(1e-6));
        check_near(one.mass.centre, {0.25, 0.25, -0.1}, 1e-6);
    }
    for (const int sides : {6, 24, 97}) {
        // Cylinder: pi r^2 h.
        check_turned({{0, 0}, {0.05, 0}, {0.05, 0.3}, {0, 0.3}}, sides, pi * 0.05 * 0.05 * 0.3, 0.15);
        // Cone: a third of base times height, the centre a quarter up (www.geometry-formulas.com, "General cone or
        // pyramid"); a frustum is a cone less its tip.
        const double whole = pi / 3 * 0.08 * 0.08 * 0.4;
        const double tip = pi / 3 * 0.02 * 0.02 * 0.1;
        check_turned({{0, 0}, {0.08, 0}, {0, 0.4}}, sides, whole, 0.1);
        check_turned({{0, 0}, {0.08, 0}, {0.02, 0.3}, {0, 0.3}}, sides, whole - tip,
                     (whole * 0.1 - tip * (0.3 + 0.025)) / (whole - tip));
        // Torus with an outline of 32 sides: Pappus's theorem, 2 pi R times the outline's area (from memory).
        std::vector<glm::dvec2> round = arc({0.1, 0.05}, 0.03, -pi, pi, 32);
        round.pop_back();
        check_turned(round, sides, 2 * pi * 0.1 * pi * 0.03 * 0.03 * Model::turned_share(32), 0.05);
        // Ring: outer less inner cylinder.
        check_turned({{0.04, 0}, {0.06, 0}, {0.06, 0.02}, {0.04, 0.02}}, sides, pi * (0.0036 - 0.0016) * 0.02, 0.01);
    }
    // Cap of a sphere of 0.1, 0.06 high: pi h^2 (3 R - h) / 3 (www.sangakoo.com, "El casquet esferic"); its centre by
    // slices. An arc of 400 pieces lacks some 1e-5 of it.
    constexpr double r = 0.1;
    constexpr double h = 0.06;
    std::vector<glm::dvec2> cap = arc({0, 0}, r, std::asin((r - h) / r), pi / 2, 400);
    cap.insert(cap.begin(), {0, r - h});
    cap.back().x = 0;
    const auto [volume, height] = by_slices(r - h, r, [&](double y) { return r * r - y * y; });
    CHECK(volume == doctest::Approx(pi * h * h * (3 * r - h) / 3).epsilon(1e-12));
    check_turned(cap, 48, volume, height, 1e-4);
}

TEST_CASE("a symmetric shape alone is counted once: lines along the diagonals of its faces meet one triangle") {
    // Before, rays through a box met both triangles of a face along its diagonal: it lost 4 % of its volume.
    Corners box;
    add_box(box, {-0.1F, -0.1F, -0.1F}, {0.1F, 0.1F, 0.1F});
    const Weighed cube = weighed(box);
    CHECK(cube.mass.centre_from == CentreFrom::volume);
    CHECK(cube.mass.volume_m3 == doctest::Approx(0.008).epsilon(1e-6));
    // A grid of cubes that only touch, corner by corner: lines run along all their edges.
    Corners grid;
    for (int x = 0; x < 4; ++x)
        for (int y = 0; y < 4; ++y)
            for (int z = 0; z < 4; ++z)
                if ((x + y + z) % 2 == 0) {
                    const glm::vec3 low = 0.05F * glm::vec3(x, y, z);
                    add_box(grid, low, low + 0.05F);
                }
    const Weighed board = weighed(grid);
    CHECK_FALSE(board.found("shells-overlap"));
    CHECK(board.mass.volume_m3 == doctest::Approx(32 * 0.05 * 0.05 * 0.05).epsilon(1e-5));
    check_near(board.mass.centre, glm::dvec3(0.1), 1e-5);
}

TEST_CASE("shells in one another are counted once, on symmetric models too") {
    SUBCASE("a cube in a cube") {
        Corners corners;
        add_box(corners, {-0.1F, -0.1F, -0.1F}, {0.1F, 0.1F, 0.1F});
        add_box(corners, {-0.05F, -0.05F, -0.05F}, {0.05F, 0.05F, 0.05F});
        const Weighed one = weighed(corners);
        CHECK(one.found("shells-overlap"));
        CHECK(one.mass.centre_from == CentreFrom::lines);
        CHECK(one.mass.volume_m3 == doctest::Approx(0.008).epsilon(0.001));
        check_near(one.mass.centre, {0, 0, 0}, 1e-5);
    }
    SUBCASE("three cubes in one another, to one side") {
        Corners corners;
        add_box(corners, {0, 0, 0}, {0.24F, 0.24F, 0.24F});
        add_box(corners, {0, 0, 0}, {0.12F, 0.12F, 0.12F});
        add_box(corners, {0, 0, 0}, {0.06F, 0.06F, 0.06F});
        const Weighed one = weighed(corners);
        CHECK(one.found("shells-overlap"));
        CHECK(one.mass.volume_m3 == doctest::Approx(0.24 * 0.24 * 0.24).epsilon(0.005));
        check_near(one.mass.centre, {0.12, 0.12, 0.12}, 0.001);
    }
    for (const int sides : {4, 8, 12, 24, 48}) {
        CAPTURE(sides);
        // A shaft through a wheel, both turned with corners on the axes.
        Corners corners = Model::turned_corners({{0, 0}, {0.1, 0}, {0.1, 0.05}, {0, 0.05}}, sides);
        const Corners shaft = Model::turned_corners({{0, -0.1}, {0.04, -0.1}, {0.04, 0.2}, {0, 0.2}}, sides);
        corners.insert(corners.end(), shaft.begin(), shaft.end());
        const double wheel = pi * 0.01 * 0.05 * Model::turned_share(sides);
        const double rest = pi * 0.0016 * 0.25 * Model::turned_share(sides);
        const Weighed one = weighed(corners);
        CHECK(one.found("shells-overlap"));
        CHECK(one.mass.volume_m3 == doctest::Approx(wheel + rest).epsilon(0.02));
        check_near(one.mass.centre, {0, (wheel * 0.025 + rest * 0.055) / (wheel + rest), 0}, 0.0005);
    }
    SUBCASE("a grid of bars that cross") {
        Corners corners;
        for (int i = 0; i < 3; ++i) {
            const float y = 0.1F * static_cast<float>(i);
            add_box(corners, {0, y, 0}, {0.22F, y + 0.02F, 0.02F});
            add_box(corners, {y, 0, 0}, {y + 0.02F, 0.22F, 0.02F});
        }
        const Weighed one = weighed(corners);
        CHECK(one.found("shells-overlap"));
        CHECK(one.mass.volume_m3 == doctest::Approx(6 * 0.22 * 0.0004 - 9 * 0.000008).epsilon(0.03));
        check_near(one.mass.centre, {0.11, 0.11, 0.01}, 0.001);
    }
}

TEST_CASE("thousands of shells in one another are met a few lines at a time, and a place that is no number by none") {
    Corners corners;
    constexpr int boxes = 2500;
    for (int i = 0; i < boxes; ++i) {
        const float half = 0.1F * (1.0F - static_cast<float>(i) / (2.0F * boxes));
        add_box(corners, {-half, -half, -half}, {half, half, half});
    }
    Model model;
    model.part("part", model.mesh(corners), {0, 0, 0});
    Solids solids = make_solids(model.map);
    // The most that this process held since that was asked to begin anew; Linux's own figure, in kB.
    const auto most_kb = [] {
        std::ifstream in("/proc/self/status");
        for (std::string line; std::getline(in, line);)
            if (line.starts_with("VmHWM:"))
                return std::stol(line.substr(6));
        return 0L;
    };
    std::ofstream("/proc/self/clear_refs") << "5" << std::flush;
    const long before = most_kb();
    const Shared shared = shared_by_shells(solids, solids.bodies.at(0));
    // All lines at once: up to 2 x 2500 hits of 16 bytes on each of 1728, 138 MB.
    if (!boltwalk::testing::sanitized)
        CHECK(most_kb() - before < 64 * 1024);
    double sum = 0;
    for (int i = 1; i < boxes; ++i)
        sum += std::pow(0.2 * (1.0 - i / (2.0 * boxes)), 3);
    CHECK(shared.twice == doctest::Approx(3 * sum).epsilon(0.02)); // three ways
    solids.placements.at(0).world[3][0] = std::nan("");
    CHECK(shared_by_shells(solids, solids.bodies.at(0)).twice >= 0);
}

TEST_CASE("turned cubes in one another: what they share by the formula of a smaller cube, at any angle") {
    Dice dice(31);
    for (int i = 0; i < 20; ++i) {
        Corners corners;
        const float inner = static_cast<float>(dice.between(0.03, 0.09));
        add_box(corners, glm::vec3(-0.1F), glm::vec3(0.1F));
        add_box(corners, glm::vec3(-inner), glm::vec3(inner));
        const glm::dmat4 place =
            glm::rotate(at(1, 2, 3), dice.between(0, 3), glm::normalize(glm::dvec3(1, dice.between(-1, 1), 0.3)));
        const Weighed one = weighed(corners, place);
        CHECK(one.mass.volume_m3 == doctest::Approx(0.008).epsilon(0.03));
        check_near(one.mass.centre, {1, 2, 3}, 0.002);
    }
}

TEST_CASE("mirrored and scaled placements weigh what they should") {
    const Corners cone = Model::turned_corners({{0, 0}, {0.08, 0}, {0, 0.4}}, 32);
    const double volume = pi / 3 * 0.0064 * 0.4 * Model::turned_share(32);
    const Weighed mirrored = weighed(cone, glm::scale(glm::dmat4(1.0), glm::dvec3(-1, 1, 1)));
    CHECK(mirrored.findings.empty());
    CHECK(mirrored.mass.volume_m3 == doctest::Approx(volume).epsilon(1e-5));
    const Weighed scaled = weighed(cone, glm::scale(glm::dmat4(1.0), glm::dvec3(2, 0.5, 3)));
    CHECK(scaled.mass.volume_m3 == doctest::Approx(3 * volume).epsilon(1e-5));
    check_near(scaled.mass.centre, {0, 0.05, 0}, 1e-6);
}

TEST_CASE("a stated mass goes before a stated material, and neither is made up") {
    Model model;
    const std::int32_t litre = model.box({0.1F, 0.1F, 0.1F});
    model.part("stated", litre, {0, 0, 0});
    const ItemId cast = model.part("cast", litre, {1, 0, 0});
    model.part("unknown", litre, {2, 0, 0});
    model.map.parts[0].mass_kg = 3;
    model.map.parts[0].material = "steel";
    model.map.parts[1].material = "aluminium";
    model.fastener("bolt", litre, at(3, 0, 0), {cast});
    model.map.fasteners[0].grade = "10.9";
    const Solids solids = make_solids(model.map);
    const Masses masses = weigh(solids);
    CHECK(masses.bodies[0].mass_kg == 3.0);
    CHECK(masses.bodies[0].mass_from == MassFrom::stated);
    // Aluminium 2.70 g/cm3, steel 7.85: the table's own words name their sources.
    CHECK(*masses.bodies[1].mass_kg == doctest::Approx(2.7).epsilon(1e-6));
    CHECK(masses.bodies[1].mass_from == MassFrom::material);
    CHECK_FALSE(masses.bodies[2].mass_kg.has_value());
    CHECK(*masses.bodies[3].mass_kg == doctest::Approx(7.85).epsilon(1e-6));
    CHECK(density_of("unobtainium") == std::nullopt);
    const std::vector<std::int32_t> all{0, 1, 2};
    const Load load = load_of(masses, all);
    CHECK(load.mass_kg == doctest::Approx(5.7).epsilon(1e-6));
    CHECK(load.estimated_kg == doctest::Approx(2.7).epsilon(1e-6));
    CHECK(load.without == std::vector<std::int32_t>{2});
    CHECK(load.without_as_steel_kg == doctest::Approx(7.85).epsilon(1e-6));
    CHECK(load.centre.x == doctest::Approx(2.7 / 5.7).epsilon(1e-6)); // lever rule
    CHECK(load.centre_as_steel.x == doctest::Approx((2.7 + 2 * 7.85) / (5.7 + 7.85)).epsilon(1e-6));
    std::vector<glm::dvec3> shift(4, glm::dvec3(0.0));
    shift[1] = {0, -0.5, 0};
    CHECK(load_of(masses, all, shift).centre.y == doctest::Approx(-0.5 * 2.7 / 5.7).epsilon(1e-6));
}

namespace {

Load load_at(const glm::dvec3& centre, double mass_kg) {
    Load load;
    load.mass_kg = mass_kg;
    load.has_centre = true;
    load.centre = load.centre_as_steel = centre;
    return load;
}

} // namespace

TEST_CASE("what would drop, tip, turn or stay between: levers by hand") {
    const std::vector<glm::dvec3> square{{0.1, 0, 0.1}, {-0.1, 0, 0.1}, {-0.1, 0, -0.1}, {0.1, 0, -0.1}};
    CHECK(balance_on({}, load_at({0, 0, 0}, 10)).poise == Poise::drops);
    CHECK(balance_on(square, load_at({0, -1, 0}, 10)).poise == Poise::between);
    CHECK(balance_on(square, load_at({0, 1, 0}, 10)).poise == Poise::between); // above or below: seen from above
    CHECK(balance_on(square, load_at({0, 0, 0}, 10)).past_m == doctest::Approx(-0.1));
    CHECK(balance_on(square, load_at({0.09, 0, 0}, 10)).poise == Poise::close);
    CHECK(balance_on(square, load_at({0.11, 0, 0}, 10)).poise == Poise::close);
    // 20 kg 0.15 m outside of the front edge: 20 * 9.80665 * 0.15 N m (standard gravity: 3rd CGPM, 1901).
    const Balanced ahead = balance_on(square, load_at({0, 0, 0.25}, 20));
    CHECK(ahead.poise == Poise::beside);
    CHECK(ahead.past_m == doctest::Approx(0.15));
    CHECK(ahead.moment_nm == doctest::Approx(29.41995));
    CHECK(ahead.line_from.z == 0.1);
    CHECK(ahead.line_to.z == 0.1);
    CHECK(side_of(ahead.towards) == "front");
    CHECK(side_of(balance_on(square, load_at({0.3, 0, 0}, 20)).towards) == "left");
    CHECK(side_of(balance_on(square, load_at({-0.3, 0, -0.3}, 20)).towards) == "rear right");
    // One bolt left: it turns about it, unless it hangs below.
    const std::vector<glm::dvec3> one{{0, 0, 0}};
    const Balanced turns = balance_on(one, load_at({0.3, 0, 0}, 10));
    CHECK(turns.poise == Poise::turns);
    CHECK(turns.moment_nm == doctest::Approx(10 * 9.80665 * 0.3));
    CHECK(balance_on(one, load_at({0, -0.5, 0}, 10)).poise == Poise::between);
    // Two: about their line, and past its end about the last of them.
    const std::vector<glm::dvec3> two{{-0.2, 0, 0}, {0.2, 0, 0}};
    const Balanced swings = balance_on(two, load_at({0, 0, 0.1}, 10));
    CHECK(swings.poise == Poise::beside);
    CHECK(swings.past_m == doctest::Approx(0.1));
    const Balanced past = balance_on(two, load_at({0.5, 0, 0}, 10));
    CHECK(past.past_m == doctest::Approx(0.3));
    CHECK(past.line_from.x == 0.2);
    CHECK(past.line_to.x == 0.2);
}

TEST_CASE("the edge that it would tip about is the nearest of any hull, by looking at all pairs") {
    Dice dice(77);
    int outside = 0;
    for (int round = 0; round < 400; ++round) {
        std::vector<glm::dvec3> held;
        for (int i = 0; i < 3 + round % 6; ++i)
            held.push_back({dice.between(-0.2, 0.2), dice.between(-1, 1), dice.between(-0.2, 0.2)});
        const glm::dvec3 centre(dice.between(-0.4, 0.4), 0, dice.between(-0.4, 0.4));
        // Distance of a point to the hull: to the nearest segment between any two, 0 when no line parts them.
        double nearest = 1e30;
        bool parted = false;
        for (const glm::dvec3& a : held)
            for (const glm::dvec3& b : held) {
                const glm::dvec2 p(a.x, a.z);
                const glm::dvec2 along = glm::dvec2(b.x, b.z) - p;
                const glm::dvec2 to = glm::dvec2(centre.x, centre.z) - p;
                const double square = glm::dot(along, along);
                const double share = square > 0 ? std::min(std::max(glm::dot(to, along) / square, 0.0), 1.0) : 0.0;
                nearest = std::min(nearest, glm::length(to - share * along));
                if (!(square > 0))
                    continue;
                const auto side = [&](const glm::dvec2& v) { return along.x * v.y - along.y * v.x; };
                parted = parted || (side(to) < 0 && std::all_of(held.begin(), held.end(), [&](const glm::dvec3& c) {
                                        return side(glm::dvec2(c.x, c.z) - p) >= -1e-15;
                                    }));
            }
        const Balanced is = balance_on(held, load_at(centre, 1));
        CAPTURE(round);
        if (parted) {
            ++outside;
            CHECK(is.past_m == doctest::Approx(nearest).epsilon(1e-9));
        } else {
            CHECK(is.past_m <= 0);
        }
    }
    CHECK(outside > 100);
    CHECK(outside < 390);
}

TEST_CASE("where masses that are not stated would make another verdict, it is too close to say") {
    const std::vector<glm::dvec3> square{{0.1, 0, 0.1}, {-0.1, 0, 0.1}, {-0.1, 0, -0.1}, {0.1, 0, -0.1}};
    Load load = load_at({0, 0, 0}, 10);
    load.without = {7};
    load.centre_as_steel = {0.4, 0, 0};
    const Balanced is = balance_on(square, load);
    CHECK(is.poise == Poise::close);
    CHECK(is.masses_decide);
}
