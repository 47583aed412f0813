// Cameras for steps: the measure against formulas, what a look must never be, degenerate wishes. That looks are better
// than the fixed rule is in tests/scene/look.cpp.
#include <algorithm>
#include <cmath>
#include <string>

#include <doctest/doctest.h>

#include "core/geometry/geometry.hpp"
#include "core/job/shapes.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Model;

namespace {

constexpr double turn = 6.283185307179586;

std::vector<glm::vec3> disc(double radius) {
    std::vector<glm::vec3> corners;
    for (int i = 0; i < 64; ++i) {
        const auto rim = [&](int k) {
            return glm::vec3(radius * std::cos(turn * k / 64), 0, -radius * std::sin(turn * k / 64));
        };
        corners.insert(corners.end(), {glm::vec3(0), rim(i), rim(i + 1)});
    }
    return corners;
}

/// What looks down, for work from under.
const glm::dmat4 down = glm::rotate(glm::dmat4(1), turn / 2, glm::dvec3(1, 0, 0));

struct Made {
    Solids solids;
    LookSurfaces surfaces;
    explicit Made(const Model& model) : solids(make_solids(model.map)), surfaces(make_surfaces(solids)) {}
};

void check_upright(const LookCamera& camera) {
    const glm::dvec3 back = glm::normalize(camera.eye - camera.target);
    CHECK(glm::length(camera.up) == doctest::Approx(1));
    CHECK(std::abs(glm::dot(camera.up, back)) < 1e-9);
    CHECK(camera.up.y >= 0);
    CHECK(std::abs(glm::cross(camera.up, back).y) < 1e-9); // no roll: the picture's right is level
}

} // namespace

TEST_CASE("a disc square to the view takes its own share of the picture") {
    Model model;
    const ItemId body = model.part("body", model.box({0.001F, 0.001F, 0.001F}), {0, -0.5, 0}, true);
    const ItemId bolt = model.fastener("bolt", model.mesh(disc(0.01)), at(0, 0, 0), {body});
    const Made made(model);
    const LookWish wish{{bolt}, Place::over, {}};
    LookFrame frame;
    const double tangent = std::tan(turn / 24); // half of 30 degrees
    const double enough = turn / 8 * head_enough * head_enough / frame.aspect;
    for (const double distance : {2.0, 3.0, 5.0}) {
        const double share = turn / 2 * 0.01 * 0.01 / (4 * distance * distance * tangent * tangent * frame.aspect);
        const LookCamera camera{{0, distance, 0}, {0, 0, 0}, {0, 0, -1}};
        CHECK(measure_of(made.solids, made.surfaces, wish, camera, frame) ==
              doctest::Approx(share / enough).epsilon(0.005));
        // Aslant by 60 degrees: half of it.
        const LookCamera low{{0, 0.5 * distance, distance * std::sqrt(0.75)}, {0, 0, 0}, {0, std::sqrt(0.75), -0.5}};
        CHECK(measure_of(made.solids, made.surfaces, wish, low, frame) ==
              doctest::Approx(0.5 * share / enough).epsilon(0.01));
    }
    // Never more than enough; nothing from behind or outside the picture.
    CHECK(measure_of(made.solids, made.surfaces, wish, {{0, 0.2, 0}, {0, 0, 0}, {0, 0, -1}}, frame) == 1);
    CHECK(measure_of(made.solids, made.surfaces, wish, {{0, -2, 0}, {0, 0, 0}, {0, 0, 1}}, frame) == 0);
    CHECK(measure_of(made.solids, made.surfaces, wish, {{2, 2, 0}, {2, 0, 0}, {0, 0, -1}}, frame) == 0);
}

TEST_CASE("two items in one line are told apart only half") {
    Model model;
    const ItemId body = model.part("body", model.box({0.001F, 0.001F, 0.001F}), {0, -0.5, 0}, true);
    const auto mesh = model.mesh(disc(0.01));
    const ItemId near = model.fastener("near", mesh, at(0, 0.03, 0), {body});
    const ItemId far = model.fastener("far", mesh, at(0, 0, 0), {body});
    const ItemId beside = model.fastener("beside", mesh, at(0.1, 0, 0), {body});
    const Made made(model);
    const LookCamera above{{0, 0.4, 0}, {0, 0, 0}, {0, 0, -1}};
    const auto measure = [&](std::vector<ItemId> items) {
        return measure_of(made.solids, made.surfaces, {std::move(items), Place::over, {}}, above);
    };
    CHECK(measure({far}) < 0.5); // behind `near`, which is there
    CHECK(measure({near, beside}) == 1);
    CHECK(measure({near, far}) < 0.5);
    const Look found = look(made.solids, made.surfaces, {{near, far}, Place::not_stated, {}});
    CHECK(found.measure > measure({near, far}));
}

TEST_CASE("a look goes round what covers, and names what it cannot go round") {
    Model model;
    const ItemId body = model.part("body", model.box({0.5F, 0.02F, 0.5F}), {0, 0.01, 0}, true);
    const auto mesh = model.rods({{0.0075F, 0.006F}}, 24);
    const ItemId bolt = model.fastener("bolt", mesh, at(0, 0, 0) * down, {body, body});
    const ItemId plate = model.part("plate", model.box({0.3F, 0.005F, 0.3F}), {0.0, -0.05, 0.17});
    const ItemId pan = model.part("pan", model.box({0.9F, 0.005F, 0.9F}), {0.0, -0.08, 0});
    const Made made(model);
    const auto slot = [&](ItemId item) {
        return static_cast<std::size_t>(made.solids.body_of[static_cast<std::size_t>(item.index)]);
    };
    LookWish wish{{bolt}, Place::under, {}};
    const Look covered = look(made.solids, made.surfaces, wish);
    REQUIRE(covered.found);
    CHECK(covered.measure <= covered_worth);
    CHECK(covered.in_sight[0] == 0);
    CHECK(std::any_of(covered.covered_by.begin(), covered.covered_by.end(),
                      [&](const Hider& one) { return one.body == static_cast<std::int32_t>(slot(pan)); }));
    // The pan gone, the plate covers the usual direction (from below, in front): the eye goes behind or beside.
    wish.arrangement.there.assign(made.solids.bodies.size(), 1);
    wish.arrangement.there[slot(pan)] = 0;
    const Look round = look(made.solids, made.surfaces, wish);
    CHECK(round.measure > 0.5);
    CHECK(round.in_sight[0] > 0.5);
    // The plate gone too: as usual.
    wish.arrangement.there[slot(plate)] = 0;
    const Look usual = look(made.solids, made.surfaces, wish);
    CHECK(usual.measure >= round.measure);
    CHECK(usual.covered_by.empty());
    // Moved, the picture moves with it.
    wish.arrangement.shift.assign(made.solids.bodies.size(), glm::dvec3(0.5, -0.3, 0.2));
    const Look moved_look = look(made.solids, made.surfaces, wish);
    CHECK(glm::length(moved_look.camera.eye - usual.camera.eye - glm::dvec3(0.5, -0.3, 0.2)) < 1e-6);
}

TEST_CASE("the eye is where the person is, and upright, from every place") {
    Model model;
    const ItemId body = model.part("body", model.box({0.1F, 0.1F, 0.1F}), {0, 0, 0}, true);
    const ItemId bolt = model.fastener("bolt", model.rods({{0.01F, 0.02F}}, 12), at(0, 0.05, 0), {body});
    const ItemId bolt_below = model.fastener("below", model.rods({{0.01F, 0.02F}}, 12), at(0, -0.05, 0) * down, {body});
    const Made made(model);
    for (const Place place : {Place::not_stated, Place::under, Place::over, Place::left, Place::right, Place::front,
                              Place::rear, Place::inside}) {
        const Look found = look(made.solids, made.surfaces, {{bolt, bolt_below, body}, place, {}});
        REQUIRE(found.found);
        check_upright(found.camera);
        const glm::dvec3 back = glm::normalize(found.camera.eye - found.camera.target);
        const bool beside = std::abs(back.y) <= 0.51;
        switch (place) {
        case Place::under:
            CHECK(back.y <= -0.69);
            break;
        case Place::over:
        case Place::inside:
            CHECK(back.y >= 0.69);
            break;
        case Place::left:
            CHECK((beside && back.x > 0.6));
            break;
        case Place::right:
            CHECK((beside && back.x < -0.6));
            break;
        case Place::front:
            CHECK((beside && back.z > 0.6));
            break;
        case Place::rear:
            CHECK((beside && back.z < -0.6));
            break;
        case Place::not_stated:
            break;
        }
    }
}

TEST_CASE("nothing to look at, shapes that are none, panels that take all") {
    Model model;
    const ItemId body = model.part("body", model.box({0.1F, 0.1F, 0.1F}), {0, 0, 0}, true);
    const ItemId none = model.fastener("none", -1, at(0, 0, 0), {body});
    const ItemId speck = model.fastener("speck", model.box({1e-6F, 1e-6F, 1e-6F}), at(0, 0.2, 0), {body});
    const Made made(model);
    CHECK_FALSE(look(made.solids, made.surfaces, {{}, Place::under, {}}).found);
    CHECK_FALSE(look(made.solids, made.surfaces, {{none, ItemId{}}, Place::under, {}}).found);
    const auto check_finite = [](const Look& found) {
        CHECK(found.found);
        for (int axis = 0; axis < 3; ++axis) {
            CHECK(std::isfinite(found.camera.eye[axis]));
            CHECK(std::isfinite(found.camera.target[axis]));
        }
        CHECK((found.measure >= 0 && found.measure <= 1));
    };
    check_finite(look(made.solids, made.surfaces, {{speck, none}, Place::left, {}}));
    LookFrame full;
    full.left = full.right = full.top = full.bottom = 0.5;
    check_finite(look(made.solids, made.surfaces, {{body}, Place::left, {}}, full));
    LookFrame odd;
    odd.field_deg = 500;
    odd.aspect = 0.1;
    check_finite(look(made.solids, made.surfaces, {{body, body}, Place::not_stated, {}}, odd));
    CHECK(make_surfaces(make_solids(Map{})).points.empty());
}

TEST_CASE("looks of the big map: the same on one thread and on two") {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/transfer_box.glb");
    REQUIRE(map);
    const Job job = prepare(*map);
    const Plan plan = plan_strip(job);
    const Solids solids = make_solids(*map);
    std::vector<LookWish> wishes;
    State state = as_found(job);
    for (const Step& step : plan.steps) {
        LookWish wish{{}, step.from, arrange(job, solids, state)};
        std::copy_if(step.items.begin(), step.items.end(), std::back_inserter(wish.items),
                     [&](ItemId item) { return !map->is_task(item); });
        wishes.push_back(std::move(wish));
        apply_step(job, state, step);
    }
    const LookSurfaces surfaces = make_surfaces(solids, {1, {}});
    const auto one = look(solids, surfaces, wishes, {}, {1, {}});
    const auto two = look(solids, make_surfaces(solids, {2, {}}), wishes, {}, {2, {}});
    std::size_t rays = 0;
    for (std::size_t i = 0; i < one.size(); ++i) {
        CHECK(one[i].found == two[i].found);
        CHECK(one[i].camera.eye == two[i].camera.eye);
        CHECK(one[i].measure == two[i].measure);
        CHECK(one[i].in_sight == two[i].in_sight);
        rays += one[i].rays;
        if (one[i].found)
            check_upright(one[i].camera);
    }
    MESSAGE(rays << " rays for " << wishes.size() << " steps");
}
