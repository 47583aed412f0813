// Which edges are drawn.
#include <algorithm>

#include <doctest/doctest.h>

#include "tests/shared/shapes.hpp"
#include "viewer/scene/scene.hpp"

using namespace boltwalk;
using testing::Model;

TEST_CASE("a box has its twelve edges, and no diagonal") {
    Model model;
    const auto box = static_cast<std::size_t>(model.box({1, 2, 3}));
    const MeshEdges edges = edges_of(model.map.meshes[box]);
    CHECK(edges.crease_count == 12);
    CHECK(edges.edges.size() == 12);
}

TEST_CASE("a rod has its two rims as creases and its side lines as possible outlines") {
    Model model;
    const auto rod = static_cast<std::size_t>(model.rods({{0.1F, 0.5F}}, 32));
    const MeshEdges edges = edges_of(model.map.meshes[rod]);
    CHECK(edges.crease_count == 64);
    CHECK(edges.edges.size() == 96);
    CHECK(!edges.outlines_dropped);
}

TEST_CASE("a rod's rims stand in two runs, each piece beginning where the one before ended") {
    Model model;
    const auto rod = static_cast<std::size_t>(model.rods({{0.1F, 0.5F}}, 32));
    const MeshEdges edges = edges_of(model.map.meshes[rod]);
    REQUIRE(edges.crease_count == 64);
    int breaks = 0;
    for (std::size_t i = 1; i < edges.crease_count; ++i)
        breaks += std::equal(edges.edges[i].from, edges.edges[i].from + 3, edges.edges[i - 1].to) ? 0 : 1;
    CHECK(breaks == 1);
    CHECK(std::equal(edges.edges[0].from, edges.edges[0].from + 3, edges.edges[31].to)); // a ring closes
}

TEST_CASE("a sheet's rim is drawn, the fold of a hollow is drawn when sharp and never as an outline when shallow") {
    Model model;
    const auto sheet = [&](float rise) {
        return static_cast<std::size_t>(model.mesh({{0, 0, 0},
                                                    {1, 0, 0},
                                                    {1, 0, -1},
                                                    {0, 0, 0},
                                                    {1, 0, -1},
                                                    {0, 0, -1}, //
                                                    {1, 0, 0},
                                                    {2, rise, 0},
                                                    {2, rise, -1},
                                                    {1, 0, 0},
                                                    {2, rise, -1},
                                                    {1, 0, -1}}));
    };
    CHECK(edges_of(model.map.meshes[sheet(0)]).edges.size() == 6);     // flat: the rim only
    CHECK(edges_of(model.map.meshes[sheet(1)]).crease_count == 7);     // 45 degrees up: a crease
    CHECK(edges_of(model.map.meshes[sheet(0.2F)]).edges.size() == 6);  // 11 degrees, hollow from above: never seen
    CHECK(edges_of(model.map.meshes[sheet(-0.2F)]).edges.size() == 7); // 11 degrees, rounded: may become an outline
    CHECK(edges_of(model.map.meshes[sheet(-0.2F)]).crease_count == 6);
}

TEST_CASE("edges take at most half of the mesh's own memory, outlines being what is dropped") {
    // A ball with shared corners and no normals: little memory a triangle, and every edge a possible outline.
    constexpr std::uint32_t rings = 24;
    constexpr std::uint32_t around = 48;
    std::vector<Vec3> places;
    std::vector<std::uint32_t> order;
    for (std::uint32_t i = 0; i <= rings; ++i)
        for (std::uint32_t k = 0; k < around; ++k) {
            const double polar = 3.141592653589793 * i / rings;
            const double turn = 6.283185307179586 * k / around;
            places.push_back({static_cast<float>(std::sin(polar) * std::cos(turn)), static_cast<float>(std::cos(polar)),
                              static_cast<float>(-std::sin(polar) * std::sin(turn))});
        }
    for (std::uint32_t i = 0; i < rings; ++i)
        for (std::uint32_t k = 0; k < around; ++k) {
            const std::uint32_t a = i * around + k;
            const std::uint32_t b = i * around + (k + 1) % around;
            for (const std::uint32_t corner : {a, a + around, b, b, a + around, b + around})
                order.push_back(corner);
        }
    Mesh mesh;
    Primitive primitive;
    primitive.positions = {reinterpret_cast<const std::byte*>(places.data()), places.size(), sizeof(Vec3)};
    primitive.indices = reinterpret_cast<const std::byte*>(order.data());
    primitive.index_count = order.size();
    mesh.primitives.push_back(primitive);
    mesh.triangle_count = order.size() / 3;
    mesh.low = {-1, -1, -1};
    mesh.high = {1, 1, 1};
    const std::size_t bytes = places.size() * 12 + order.size() * 4;
    const MeshEdges lean = edges_of(mesh);
    CHECK(lean.outlines_dropped);
    CHECK(lean.edges.size() * sizeof(MeshEdges::Edge) <= bytes / 2);
    // With normals and corners of its own for each triangle the same ball has room for them.
    std::vector<glm::vec3> corners;
    for (const std::uint32_t i : order)
        corners.emplace_back(places[i].x, places[i].y, places[i].z);
    for (std::size_t i = 0; i < corners.size();) // the poles' flat triangles
        if (corners[i] == corners[i + 1] || corners[i + 1] == corners[i + 2] || corners[i] == corners[i + 2])
            corners.erase(corners.begin() + static_cast<std::ptrdiff_t>(i),
                          corners.begin() + static_cast<std::ptrdiff_t>(i + 3));
        else
            i += 3;
    Model model;
    const MeshEdges full = edges_of(model.map.meshes[static_cast<std::size_t>(model.mesh(corners))]);
    CHECK(!full.outlines_dropped);
    CHECK(full.edges.size() > 1500);
    CHECK(edges_of(Mesh{}).edges.empty());
}

TEST_CASE("normals survive their code") {
    testing::Dice dice(3);
    for (int i = 0; i < 2000; ++i) {
        glm::vec3 n(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1));
        if (i < 6) {
            n = glm::vec3(0.0F);
            n[i / 2] = i % 2 == 0 ? 1.0F : -1.0F;
        }
        n = glm::normalize(n);
        std::uint8_t code[2];
        octahedral_code(n, code);
        CHECK(glm::dot(octahedral_normal(code), n) > 0.9998F); // within 1.2 degrees
    }
}
