// The camera against glm's own look-at and perspective, and what a person expects of it.
#include <doctest/doctest.h>
#include <glm/gtc/matrix_transform.hpp>

#include "tests/shared/shapes.hpp"
#include "viewer/scene/scene.hpp"

using namespace boltwalk;
using testing::Dice;

namespace {

Camera any_camera(Dice& dice) {
    Camera camera;
    camera.target = {dice.between(-2, 2), dice.between(-2, 2), dice.between(-2, 2)};
    camera.distance_m = dice.between(0.1, 8);
    camera.yaw_deg = dice.between(0, 360);
    camera.pitch_deg = dice.between(-90, 90);
    camera.field_deg = dice.between(15, 70);
    return camera;
}

Bounds ball(double radius) {
    Bounds bounds;
    bounds.add(glm::dvec3(-radius));
    bounds.add(glm::dvec3(radius));
    return bounds;
}

constexpr glm::dvec2 SIZE{1280, 800};

} // namespace

TEST_CASE("view and projection are glm's") {
    Dice dice(1);
    for (int i = 0; i < 200; ++i) {
        const Camera camera = any_camera(dice);
        const Projection p = project(camera, SIZE, ball(3));
        const glm::dmat4 view = glm::lookAt(eye_of(camera), camera.target, upright_of(camera));
        const glm::dmat4 projection =
            glm::perspective(glm::radians(camera.field_deg), SIZE.x / SIZE.y, p.near_m, p.far_m);
        for (int column = 0; column < 4; ++column)
            for (int row = 0; row < 4; ++row) {
                CHECK(p.view[column][row] == doctest::Approx(view[column][row]).epsilon(1e-9));
                CHECK(p.projection[column][row] == doctest::Approx(projection[column][row]).epsilon(1e-12));
            }
        const glm::dvec3 point{dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)};
        const auto screen = to_screen(p, point);
        const glm::dvec3 expected = glm::project(point, view, projection, glm::dvec4(0, 0, SIZE.x, SIZE.y));
        if (screen) {
            CHECK(screen->x == doctest::Approx(expected.x).epsilon(1e-7));
            CHECK(SIZE.y - screen->y == doctest::Approx(expected.y).epsilon(1e-7));
            // and back: the ray through the pixel meets the point
            const Ray ray = ray_through(p, {screen->x, screen->y});
            CHECK(glm::length(glm::cross(point - ray.from, ray.along)) < 1e-7 * glm::length(point - ray.from) + 1e-9);
        }
    }
}

TEST_CASE("straight up and straight down are views like any other") {
    Camera camera;
    for (const double pitch : {-90.0, 90.0})
        for (double yaw = 0; yaw < 360; yaw += 30) {
            camera.pitch_deg = pitch;
            camera.yaw_deg = yaw;
            CHECK(glm::length(upright_of(camera)) == doctest::Approx(1));
            CHECK(std::abs(glm::dot(upright_of(camera), backward_of(camera))) < 1e-12);
            const glm::dvec3 right = glm::cross(upright_of(camera), backward_of(camera));
            CHECK(glm::length(right - rightward_of(camera)) < 1e-12);
        }
    CHECK(orbited(camera, 0, 500).pitch_deg == 90);
    CHECK(orbited(camera, 0, -500).pitch_deg == -90);
}

TEST_CASE("from under the front is up in the picture, and so it is from over") {
    for (const Place place : {Place::under, Place::over}) {
        const Camera camera = turned_to(Camera{}, place);
        CHECK(glm::dot(upright_of(camera), glm::dvec3(0, 0, 1)) > 0.7);
        CHECK((backward_of(camera).y < 0) == (place == Place::under));
    }
    CHECK(backward_of(turned_to(Camera{}, Place::left)).x > 0.7);
    CHECK(backward_of(turned_to(Camera{}, Place::right)).x < -0.7);
    CHECK(backward_of(turned_to(Camera{}, Place::front)).z > 0.7);
    CHECK(backward_of(turned_to(Camera{}, Place::rear)).z < -0.7);
}

TEST_CASE("what is dragged follows the pointer") {
    Dice dice(2);
    for (int i = 0; i < 100; ++i) {
        const Camera camera = any_camera(dice);
        const glm::dvec2 by{dice.between(-300, 300), dice.between(-300, 300)};
        const Camera after = panned(camera, by, SIZE.y);
        const auto before_px = to_screen(project(camera, SIZE, {}), camera.target);
        const auto after_px = to_screen(project(after, SIZE, {}), camera.target);
        REQUIRE(before_px);
        REQUIRE(after_px);
        CHECK(after_px->x - before_px->x == doctest::Approx(by.x).epsilon(1e-6));
        CHECK(after_px->y - before_px->y == doctest::Approx(by.y).epsilon(1e-6));
    }
}

TEST_CASE("zooming keeps what is under the pointer") {
    Dice dice(3);
    for (int i = 0; i < 100; ++i) {
        const Camera camera = any_camera(dice);
        const glm::dvec2 at{dice.between(0, SIZE.x), dice.between(0, SIZE.y)};
        const Ray ray = ray_through(project(camera, SIZE, {}), at);
        const double depth = camera.distance_m / -glm::dot(ray.along, backward_of(camera));
        const glm::dvec3 point = ray.from + depth * ray.along;
        const auto after = to_screen(project(zoomed(camera, dice.between(0.5, 2), at, SIZE), SIZE, {}), point);
        REQUIRE(after);
        CHECK(after->x == doctest::Approx(at.x).epsilon(1e-6));
        CHECK(after->y == doctest::Approx(at.y).epsilon(1e-6));
    }
    CHECK(zoomed(Camera{}, 0) == Camera{});
    CHECK(zoomed(Camera{}, 1e30).distance_m > 0);
}

TEST_CASE("what is fitted is inside, and touches the rim") {
    Dice dice(4);
    for (int i = 0; i < 200; ++i) {
        Bounds bounds;
        for (int k = 0; k < 2; ++k)
            bounds.add({dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)});
        const Rect inside{dice.between(0, 400), dice.between(0, 200), dice.between(200, 800), dice.between(200, 500)};
        const Camera camera = fitted(any_camera(dice), bounds, SIZE, inside);
        const auto box = screen_box(project(camera, SIZE, bounds), bounds);
        REQUIRE(box);
        CHECK(box->x >= inside.x - 1e-6);
        CHECK(box->y >= inside.y - 1e-6);
        CHECK(box->right() <= inside.right() + 1e-6);
        CHECK(box->bottom() <= inside.bottom() + 1e-6);
        const double slack_x = std::max(box->x - inside.x, inside.right() - box->right());
        const double slack_y = std::max(box->y - inside.y, inside.bottom() - box->bottom());
        CHECK(std::min(slack_x, slack_y) < 1e-6);
    }
    CHECK(fitted(Camera{}, Bounds{}, SIZE) == Camera{});
}

TEST_CASE("a move between two cameras is steady and goes the short way round") {
    Dice dice(5);
    for (int i = 0; i < 50; ++i) {
        const Camera a = any_camera(dice);
        const Camera b = any_camera(dice);
        CHECK(between(a, b, 0) == a);
        CHECK(between(a, b, 1) == b);
        double turned = 0;
        Camera last = a;
        for (int step = 1; step <= 100; ++step) {
            const Camera now = between(a, b, step / 100.0);
            CHECK(glm::length(eye_of(now) - eye_of(last)) < 1.2);
            double turn = std::fmod(now.yaw_deg - last.yaw_deg + 540, 360) - 180;
            turned += turn;
            CHECK(std::abs(turn) < 3);
            last = now;
        }
        CHECK(std::abs(turned) <= 180 + 1e-6);
    }
}
