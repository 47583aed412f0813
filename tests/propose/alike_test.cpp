// Congruent shapes and their numbers.
#include <doctest/doctest.h>
#include <glm/gtc/matrix_transform.hpp>

#include "core/propose/propose.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using testing::at;

namespace {

/// Corners of a bracket that is its own image in no mirror, moved by `place`.
std::int32_t bracket(testing::Model& model, const glm::dmat4& place, double longer = 0) {
    std::vector<glm::vec3> corners;
    const auto add = [&](glm::dvec3 a, glm::dvec3 b, glm::dvec3 c) {
        for (const glm::dvec3& p : {a, b, c})
            corners.emplace_back(glm::dvec3(place * glm::dvec4(p, 1.0)));
    };
    const glm::dvec3 o(0, 0, 0);
    const glm::dvec3 x(0.05 + longer, 0, 0);
    const glm::dvec3 y(0, 0.03, 0);
    const glm::dvec3 z(0, 0, 0.02);
    const glm::dvec3 w(0.05, 0.03, 0.007);
    add(o, y, x);
    add(o, x, z);
    add(o, z, y);
    add(x, y, w);
    add(x, w, z);
    add(z, w, y);
    return model.mesh(corners);
}

} // namespace

TEST_CASE("instances, copies, turned, moved and mirrored ones are alike; a longer one is not") {
    testing::Model model;
    const glm::dmat4 turned = glm::rotate(at(0.3, 0.1, -0.2), 0.7, glm::normalize(glm::dvec3(1, 2, -1)));
    const std::int32_t first = bracket(model, glm::dmat4(1.0));
    const std::int32_t copy = bracket(model, turned);
    const std::int32_t image = bracket(model, glm::scale(at(0.5, 0, 0), glm::dvec3(-1, 1, 1)));
    const std::int32_t longer = bracket(model, glm::dmat4(1.0), 0.0005);
    model.node("first", first, at(0, 0, 0));
    model.node("instance", first, turned);
    model.node("copy", copy, at(1, 0, 0));
    model.node("image", image, at(0, 1, 0));
    model.node("longer", longer, at(0, 0, 1));
    model.node("mirrored by its node", first, glm::scale(at(2, 0, 0), glm::dvec3(1, -1, 1)));
    model.node("twice as large", first, glm::scale(at(3, 0, 0), glm::dvec3(2, 2, 2)));
    const Solids solids = make_solids(model.map);
    const auto sets = find_alike(solids);
    REQUIRE(sets.size() == 3);
    CHECK(sets[0].nodes == std::vector<std::int32_t>{0, 1, 2, 3, 5});
    CHECK(sets[0].mirrored == std::vector<bool>{false, false, false, true, true});
    CHECK(sets[1].nodes == std::vector<std::int32_t>{4});
    CHECK(sets[2].nodes == std::vector<std::int32_t>{6});
}

TEST_CASE("what is its own image in a mirror is never mirrored") {
    testing::Model model;
    const std::int32_t rod = model.rods({{0.004F, 0.02F}, {0.007F, 0.005F}}, 24);
    model.node("a", rod, at(0, 0, 0));
    model.node("b", rod, glm::scale(at(1, 0, 0), glm::dvec3(-1, 1, 1)));
    const auto sets = find_alike(make_solids(model.map));
    REQUIRE(sets.size() == 1);
    CHECK(sets[0].mirrored == std::vector<bool>{false, false});
}

TEST_CASE("round a circle they are counted clockwise from the top, along a row from the front") {
    testing::Model model;
    const std::int32_t rod = model.rods({{0.004F, 0.02F}}, 12);
    // On a circle about z, in an order of no sense; seen onto heads that look to +z, clockwise from the top.
    const std::vector<glm::dvec3> round{{0, -0.1, 0}, {0.1, 0, 0}, {0, 0.1, 0}, {-0.1, 0, 0}};
    std::vector<std::int32_t> nodes;
    for (const glm::dvec3& p : round)
        nodes.push_back(model.node("c", rod, at(p.x, p.y, p.z)));
    std::vector<std::int32_t> row;
    for (const double z : {0.1, 0.3, 0.2, 0.4})
        row.push_back(model.node("r", rod, at(1, 0, z)));
    const std::int32_t alone = model.node("alone", rod, at(5, 0, 0));
    const Solids solids = make_solids(model.map);
    const Numbered circle = number_nodes(solids, nodes, {0, 0, 1});
    CHECK(circle.layout == Spread::circle);
    CHECK(circle.nodes == std::vector<std::int32_t>{2, 1, 0, 3});
    CHECK(number_nodes(solids, nodes, {0, 0, -1}).nodes == std::vector<std::int32_t>{2, 3, 0, 1});
    const Numbered line = number_nodes(solids, row, {0, 1, 0});
    CHECK(line.layout == Spread::row);
    CHECK(line.nodes == std::vector<std::int32_t>{7, 5, 6, 4});
    CHECK(number_nodes(solids, std::vector<std::int32_t>{alone}, {0, 1, 0}).layout == Spread::alone);
}

TEST_CASE("nothing, a point, a flat triangle: no proposal and no harm") {
    testing::Model model;
    model.node("flat", model.mesh({{0, 0, 0}, {1, 0, 0}, {0, 1, 0}}), at(0, 0, 0));
    model.node("point", model.mesh({{0, 0, 0}, {0, 0, 0}, {0, 0, 0}}), at(0, 0, 0));
    CHECK(find_proposals(make_solids(model.map)).list.empty());
    CHECK(find_proposals(make_solids(Map{})).list.empty());
    CHECK_FALSE(ask_units(make_solids(Map{})).ask_scale);
}
