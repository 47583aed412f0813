// Reach against the world: sizes of tools against what is published of them, and what tools touch against FCL.
#include <algorithm>
#include <cmath>
#include <memory>

#include <doctest/doctest.h>

#include "core/geometry/reach.hpp"
#include "core/geometry/reach_sweep.hpp"
#include "tests/outside/fcl.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;

TEST_CASE("sockets are no thinner than those that were measured, and not much thicker") {
    // Outside diameters of the nut end, in millimetres, as two people measured their sets for 3D-printed trays (shared
    // check values, tool geometry): 1/4 in and 1/2 in squares. Real ones may be less than a standard's maximum.
    struct Row {
        double flats, square, measured;
    };
    constexpr Row rows[] = {
        {9, 6.3, 13.1},    {10, 6.3, 14.6},   {11, 6.3, 15.9},   {12, 6.3, 16.8},   {13, 6.3, 17.2},
        {16, 12.5, 22.17}, {17, 12.5, 23.49}, {18, 12.5, 24.27}, {19, 12.5, 25.79}, {10, 12.5, 17.16},
        {13, 12.5, 18.26}, {14, 12.5, 19.7},  {15, 12.5, 20.56},
    };
    for (const Row& row : rows) {
        CAPTURE(row.flats);
        CHECK(socket_outside_mm(row.flats, row.square) >= row.measured - 0.05);
        if (row.flats >= 16 || row.square < 10) // small ones are as thick as their driven end
            CHECK(socket_outside_mm(row.flats, row.square) <= row.measured + 2);
    }
    // Holes of trays for 1/2 in sets, an upper bound (the same source).
    CHECK(socket_outside_mm(21, 12.5) <= 30);
    CHECK(socket_outside_mm(22, 12.5) <= 32);
    CHECK(socket_outside_mm(27, 12.5) <= 38);
}

TEST_CASE("tools fit into the room that GOST 13682-80 wants left for them") {
    // Smallest room in millimetres by width across flats: diameter for a socket (D), from the axis to a wall (E; which
    // letter is which was inferred from the figures, the drawing was not seen).
    struct Row {
        double flats, diameter, wall;
    };
    constexpr Row rows[] = {{8, 20, 7},   {10, 22, 8},  {12, 26, 10}, {14, 26, 11}, {17, 30, 13}, {19, 32, 14},
                            {22, 36, 15}, {24, 40, 16}, {27, 45, 19}, {30, 48, 20}, {32, 52, 22}};
    for (const Row& row : rows) {
        CAPTURE(row.flats);
        const double square = row.flats <= 10 ? 6.3 : row.flats <= 14 ? 10 : 12.5;
        CHECK(socket_outside_mm(row.flats, square) + 2 * reach_clearance_mm <= row.diameter);
        CHECK(ring_outside_mm(row.flats) / 2 <= row.wall + 2); // rings of larger sizes run up to 2 mm over
    }
}

TEST_CASE("rings are as thick as U.S. CID A-A-1346A lets them be") {
    // 3.2: maximum outside diameter of box ends, inches, by width across flats.
    constexpr double in = 25.4;
    for (const auto& [flats, outside] :
         {std::pair{0.4375, 0.695}, {0.5, 0.775}, {0.5625, 0.868}, {0.625, 0.946}, {0.75, 1.125}})
        CHECK(std::abs(ring_outside_mm(flats * in) - outside * in) < 0.3);
}

TEST_CASE("hexagon keys are as long as JIS B 4648:2008 says") {
    // Standard long arm and short arm, as quoted in a maker of couplings' technical data.
    struct Row {
        const char* drive;
        double longer, shorter, corners_most;
    };
    for (const Row& row : {Row{"socket 4", 74, 29, 4.53},
                           {"socket 5", 85, 33, 5.67},
                           {"socket 6", 96, 38, 6.81},
                           {"socket 8", 108, 44, 9.09},
                           {"socket 10", 122, 50, 11.37},
                           {"socket 14", 154, 70, 15.93}}) {
        const Drive drive = read_drive(row.drive).value();
        CHECK(key_long_mm(drive) == row.longer);
        CHECK(key_short_mm(drive) == row.shorter);
        CHECK(key_thickness_mm(drive) >= row.corners_most);
        CHECK(key_thickness_mm(drive) < row.corners_most * 1.03);
    }
}

TEST_CASE("swings are what a spanner's shape makes them") {
    // An open end at 15 degrees, flipped, takes up after 30 (J. Rose, Modern Machine-Shop Practice, 1887, figures 443
    // to 448), a ring of twelve points after 30 (NAVEDTRA 14001), a ratchet of 72 teeth after 360 / 72.
    CHECK(swing_spanner_deg == 2 * 15);
    CHECK(swing_spanner_deg == 360.0 / 12);
    CHECK(swing_ratchet_deg == 360.0 / ratchet_teeth);
    CHECK(swing_key_deg == 360.0 / 6);
}

#ifdef BOLTWALK_FCL

namespace {

using Mesh = fcl::BVHModel<fcl::OBBRSSd>;

std::shared_ptr<Mesh> mesh_of(const Solids& solids, std::int32_t body) {
    auto mesh = std::make_shared<Mesh>();
    mesh->beginModel();
    each_triangle_of(solids, body, [&](const Triangle& t) {
        const auto at = [](const glm::dvec3& p) { return fcl::Vector3d(p.x, p.y, p.z); };
        mesh->addTriangle(at(t.a), at(t.b), at(t.c));
    });
    mesh->endModel();
    return mesh;
}

bool meet(const std::shared_ptr<Mesh>& mesh, const std::shared_ptr<fcl::CollisionGeometryd>& shape,
          const fcl::Transform3d& place) {
    fcl::CollisionObjectd a(mesh, fcl::Transform3d::Identity());
    fcl::CollisionObjectd b(shape, place);
    fcl::CollisionRequestd request;
    fcl::CollisionResultd result;
    return fcl::collide(&a, &b, request, result) > 0;
}

fcl::Transform3d placed(const glm::dvec3& origin, const glm::dvec3& x, const glm::dvec3& y, const glm::dvec3& z) {
    fcl::Transform3d place = fcl::Transform3d::Identity();
    for (int i = 0; i < 3; ++i) {
        place.linear()(i, 0) = x[i];
        place.linear()(i, 1) = y[i];
        place.linear()(i, 2) = z[i];
        place.translation()[i] = origin[i];
    }
    return place;
}

} // namespace

TEST_CASE("what a socket and a handle touch is what FCL says they touch") {
    // FCL's static collision of a solid cylinder, or of a box in one direction after another, with each mesh. The two
    // may differ where they are this close: FCL's solver ends within 1e-6 of a body's size, and our cylinder is round
    // where GJK sees one through its support function. So FCL is asked for a shape thinner and thicker by it, and only
    // where both say the same is that held against ours.
    constexpr double close = 2e-5;
    testing::Dice dice(5);
    int met = 0;
    int clear = 0;
    int blocked = 0;
    int open = 0;
    int unsure = 0;
    for (int scene = 0; scene < 250; ++scene) {
        testing::Model model;
        for (int i = 0; i < 6; ++i) {
            const auto mesh = i % 2 ? model.box(glm::vec3(0.03F, 0.08F, 0.02F)) : model.rods({{0.01F, 0.06F}}, 9);
            const glm::dvec3 turn(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1));
            model.node(
                "n" + std::to_string(i), mesh,
                glm::rotate(testing::at(dice.between(-0.15, 0.15), dice.between(-0.05, 0.1), dice.between(-0.15, 0.15)),
                            dice.between(0, 6), glm::normalize(turn)));
        }
        const Solids solids = make_solids(model.map);
        const glm::dvec3 axis =
            glm::normalize(glm::dvec3(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)));
        const glm::dvec3 zero = reaching::square_to(axis);
        const glm::dvec3 third = glm::cross(axis, zero);
        const glm::dvec3 origin(dice.between(-0.03, 0.03), dice.between(-0.03, 0.03), dice.between(-0.03, 0.03));
        ToolShape shape;
        shape.rings = {{0, 0.05, 0, dice.between(0.005, 0.04), 0}};
        shape.arms = {{0.02, 0.18, 0.02, 0.04, 0.008, 0}};
        reaching::Frame frame;
        frame.of_rest = reaching::into_axes(origin, axis, zero);
        Stance ring_only;
        ToolShape rings = shape;
        rings.arms.clear();
        reaching::sweep(solids, frame, rings, 0, {}, ring_only);
        Stance arm_only;
        ToolShape arms = shape;
        arms.rings.clear();
        reaching::sweep(solids, frame, arms, 0, {}, arm_only);
        const ToolArm& arm = shape.arms[0];
        for (std::int32_t body = 0; body < 6; ++body) {
            const auto mesh = mesh_of(solids, body);
            const auto cylinder = [&](double more) {
                return meet(
                    mesh, std::make_shared<fcl::Cylinderd>(shape.rings[0].outer + more, shape.rings[0].high + 2 * more),
                    placed(origin + axis * (shape.rings[0].high / 2), zero, third, axis));
            };
            const bool ours = std::binary_search(ring_only.under.begin(), ring_only.under.end(), body);
            if (cylinder(close) == cylinder(-close)) {
                CHECK(ours == cylinder(0));
                (ours ? met : clear) += 1;
            } else
                ++unsure;
            for (int number = 0; number < reach_directions; number += 17) {
                const glm::dvec2 d = direction_at(number);
                const glm::dvec3 along = zero * d.x + third * d.y;
                const auto box = [&](double more) {
                    return meet(mesh,
                                std::make_shared<fcl::Boxd>(arm.to - arm.from + 2 * more, 2 * (arm.half_width + more),
                                                            arm.high - arm.low + 2 * more),
                                placed(origin + along * ((arm.from + arm.to) / 2) + axis * ((arm.low + arm.high) / 2),
                                       along, glm::cross(axis, along), axis));
                };
                const bool ours_blocked =
                    std::any_of(arm_only.arm.begin(), arm_only.arm.end(), [&](const ArmBlock& block) {
                        return block.body == body && block.first <= number && number <= block.last;
                    });
                if (box(close) == box(-close)) {
                    CHECK(ours_blocked == box(0));
                    (ours_blocked ? blocked : open) += 1;
                } else
                    ++unsure;
            }
        }
    }
    MESSAGE("rings: " << met << " met, " << clear << " clear; arms: " << blocked << " blocked, " << open << " free; "
                      << unsure << " too close for either");
    CHECK(met > 50);
    CHECK(blocked > 500);
    CHECK(unsure < 500);
}

#endif
