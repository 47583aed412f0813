// Picking against every triangle one by one, and what covers what.
#include <doctest/doctest.h>
#include <glm/gtx/norm.hpp>

#include "tests/shared/shapes.hpp"
#include "viewer/scene/scene.hpp"
#include "viewer/scene/triangles.hpp"

using namespace boltwalk;
using testing::at;
using testing::Dice;
using testing::Model;

namespace {

/// The plane's own equation and three sides: another way than the tree's.
double meets_plainly(const glm::dvec3& a, const glm::dvec3& b, const glm::dvec3& c, const Ray& ray) {
    const glm::dvec3 n = glm::cross(b - a, c - a);
    const double slope = glm::dot(n, ray.along);
    if (slope == 0)
        return -1;
    const double t = glm::dot(n, a - ray.from) / slope;
    const glm::dvec3 p = ray.from + t * ray.along;
    const bool inside = glm::dot(glm::cross(b - a, p - a), n) >= 0 && glm::dot(glm::cross(c - b, p - b), n) >= 0 &&
                        glm::dot(glm::cross(a - c, p - c), n) >= 0;
    return inside ? t : -1;
}

std::optional<Hit> pick_plainly(const Map& map, std::span<const Pose> poses, const Ray& ray) {
    Hit best;
    best.distance_m = 1e30;
    for (std::size_t i = 0; i < map.nodes.size(); ++i) {
        const Node& node = map.nodes[i];
        const Pose pose = node.item ? poses[static_cast<std::size_t>(node.item.index)] : Pose{};
        if (pose.presence <= 0 || node.mesh < 0)
            continue;
        const glm::dmat4 world = world_of(node);
        for (const Primitive& primitive : map.meshes[static_cast<std::size_t>(node.mesh)].primitives)
            for (std::size_t k = 0; k + 2 < primitive.index_count; k += 3) {
                glm::dvec3 p[3];
                for (std::size_t c = 0; c < 3; ++c)
                    p[c] =
                        glm::dvec3(world * glm::dvec4(vector_at(primitive.positions, index_at(primitive, k + c)), 1)) +
                        pose.shift_m;
                const double t = meets_plainly(p[0], p[1], p[2], ray);
                if (t >= 0 && t < best.distance_m)
                    best = {static_cast<std::int32_t>(i), node.item, t, ray.from + t * ray.along};
            }
    }
    return best.node < 0 ? std::nullopt : std::optional(best);
}

} // namespace

TEST_CASE("picking meets what brute force meets") {
    Dice dice(7);
    Model model;
    const std::int32_t bolt = model.rods({{0.02F, 0.1F}, {0.04F, 0.03F}}, 24);
    const std::int32_t block = model.box({0.3F, 0.2F, 0.25F});
    for (int i = 0; i < 40; ++i) {
        glm::dmat4 world = at(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1));
        world = glm::rotate(world, dice.between(0, 6),
                            glm::normalize(glm::dvec3(dice.between(-1, 1), 1, dice.between(-1, 1))));
        world = glm::scale(world, glm::dvec3(dice.between(0.5, 2), dice.between(0.5, 2), i % 5 == 0 ? -1.0 : 1.0));
        if (i % 2 == 0)
            model.fastener("bolt", bolt, world, {});
        else if (i % 3 == 0)
            model.node("scenery", block, world);
        else
            model.part("block", block, glm::dvec3(world[3]));
    }
    const Stage stage = make_stage(model.map);
    std::vector<Pose> poses(model.map.items.size());
    for (std::size_t i = 0; i < poses.size(); ++i)
        poses[i] = {{dice.between(-0.1, 0.1), 0, 0}, i % 7 == 3 ? 0.0F : 1.0F};
    int met = 0;
    for (int i = 0; i < 2000; ++i) {
        const glm::dvec3 from{dice.between(-3, 3), dice.between(-3, 3), dice.between(-3, 3)};
        const glm::dvec3 to{dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)};
        const Ray ray{from, glm::normalize(to - from)};
        const auto fast = pick(stage, poses, ray);
        const auto plain = pick_plainly(model.map, poses, ray);
        REQUIRE(fast.has_value() == plain.has_value());
        if (!fast)
            continue;
        ++met;
        CHECK(fast->distance_m == doctest::Approx(plain->distance_m).epsilon(1e-6)); // core/geometry's floats
        CHECK(fast->node == plain->node);
        CHECK(fast->item == plain->item);
    }
    CHECK(met > 500);
}

TEST_CASE("rays along an axis meet faces that lie across it") {
    Model model;
    model.part("block", model.box({1, 1, 1}), {0, 0, 0});
    const Stage stage = make_stage(model.map);
    for (int axis = 0; axis < 3; ++axis)
        for (const double sign : {-1.0, 1.0}) {
            glm::dvec3 along(0.0);
            along[axis] = -sign;
            const auto hit = pick(stage, {}, {-3.0 * along + glm::dvec3(0.01), along});
            REQUIRE(hit);
            CHECK(std::abs(hit->point[axis]) == doctest::Approx(0.5));
        }
}

TEST_CASE("what is not drawn is not picked, and covers nothing") {
    Model model;
    const ItemId plate = model.part("plate", model.box({2, 0.1F, 2}), {0, -0.5, 0});
    const std::int32_t bolt_mesh = model.rods({{0.02F, 0.1F}, {0.04F, 0.03F}}, 12);
    const ItemId bolt = model.fastener("bolt", bolt_mesh, at(0, 0, 0), {plate});
    const Stage stage = make_stage(model.map);
    std::vector<Pose> poses(2);
    const glm::dvec3 below{0.01, -3, 0.01};
    const Ray up{below, {0, 1, 0}};
    CHECK(pick(stage, poses, up)->item == plate);
    const Cover covered = covers_of(stage, poses, bolt, below);
    CHECK(covered.in_sight == 0);
    CHECK(covered.nodes == std::vector<std::int32_t>{model.map[plate].node});
    poses[0].presence = 0;
    CHECK(pick(stage, poses, up)->item == bolt);
    CHECK(covers_of(stage, poses, bolt, below).in_sight == 1);
    CHECK(covers_of(stage, poses, bolt, below).nodes.empty());
    poses[1].presence = 0;
    CHECK(!pick(stage, poses, up));
}

TEST_CASE("a map with nothing to see is no trouble") {
    Map empty;
    const Stage stage = make_stage(empty);
    CHECK(!pick(stage, {}, Ray{}));
    CHECK(bounds_of(stage, {}).empty());
    Model flat;
    flat.part("flat", flat.box({1, 1, 1}), {0, 0, 0});
    flat.map.nodes[0].world = {1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1}; // squashed to a plane
    CHECK(!pick(make_stage(flat.map), {}, Ray{{0, 3, 0}, {0, -1, 0}}));
}
