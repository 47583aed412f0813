// Rays through the trees against every triangle looked at one by one.
#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

#include "core/geometry/geometry.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::Dice;

namespace {

std::vector<double> one_by_one(const Solids& solids, const Ray& ray, double limit) {
    std::vector<double> met;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        each_triangle_of(solids, static_cast<std::int32_t>(b), [&](const Triangle& t) {
            const glm::dvec3 p = glm::cross(ray.along, t.c - t.a);
            const double scale = glm::dot(t.b - t.a, p);
            if (scale == 0)
                return;
            const glm::dvec3 to = ray.from - t.a;
            const glm::dvec3 q = glm::cross(to, t.b - t.a);
            const double u = glm::dot(to, p) / scale;
            const double v = glm::dot(ray.along, q) / scale;
            const double d = glm::dot(t.c - t.a, q) / scale;
            if (u >= 0 && v >= 0 && u + v <= 1 && d >= 0 && d <= limit)
                met.push_back(d);
        });
    std::sort(met.begin(), met.end());
    return met;
}

} // namespace

TEST_CASE("what is entered is entered, mirrored or not (glTF 2.0, Instantiation: a mirror turns the winding)") {
    testing::Model model;
    const auto mesh = model.box(glm::vec3(0.2F, 0.2F, 0.2F));
    model.node("plain", mesh, testing::at(0, 0, 0));
    model.node("mirrored", mesh, glm::scale(testing::at(1, 0, 0), glm::dvec3(-1, 1, 1)));
    const Solids solids = make_solids(model.map);
    std::vector<RayHit> hits;
    for (const double x : {0.01, 1.01}) {
        const Ray ray{{x, 0.03, -1}, {0, 0, 1}};
        all_hits(solids, ray, 5, hits);
        REQUIRE(hits.size() == 2);
        std::sort(hits.begin(), hits.end(), [](const RayHit& a, const RayHit& b) { return a.distance < b.distance; });
        CHECK(hits[0].entering);
        CHECK_FALSE(hits[1].entering);
        CHECK(first_hit(solids, ray, 5).entering);
    }
}

TEST_CASE("a ray meets what every triangle one by one says it meets") {
    testing::Model model;
    Dice dice(7);
    for (int i = 0; i < 60; ++i) {
        const auto mesh = i % 2 ? model.box(glm::vec3(0.1F, 0.2F, 0.3F)) : model.rods({{0.05F, 0.4F}}, 24);
        const glm::dmat4 place = glm::rotate(
            glm::translate(glm::dmat4(1), glm::dvec3(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1))),
            dice.between(0, 6), glm::dvec3(0.6, 0.0, 0.8));
        model.node("n" + std::to_string(i), mesh, place);
    }
    const Solids solids = make_solids(model.map);
    CHECK(solids.bodies.size() == 60);
    std::vector<RayHit> hits;
    std::size_t all = 0;
    for (int i = 0; i < 6000; ++i) {
        Ray ray;
        ray.from = {dice.between(-2, 2), dice.between(-2, 2), dice.between(-2, 2)};
        ray.along = {dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)};
        all_hits(solids, ray, 5.0, hits);
        std::vector<double> distances;
        for (const RayHit& hit : hits)
            distances.push_back(hit.distance);
        std::sort(distances.begin(), distances.end());
        const std::vector<double> expected = one_by_one(solids, ray, 5.0);
        all += expected.size();
        REQUIRE(distances.size() == expected.size());
        for (std::size_t k = 0; k < distances.size(); ++k)
            CHECK(distances[k] == doctest::Approx(expected[k]).epsilon(1e-4));
        const RayHit first = first_hit(solids, ray, 5.0);
        CHECK((first.body >= 0) == !expected.empty());
        if (!expected.empty())
            CHECK(first.distance == doctest::Approx(expected[0]).epsilon(1e-4));
    }
    CHECK(all > 1000);
}
