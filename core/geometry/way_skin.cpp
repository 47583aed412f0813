#include "core/geometry/way_skin.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>

#include "core/geometry/bits.hpp"
#include "core/geometry/rays.hpp"

namespace boltwalk {

namespace {

/// Share of the wall's thickness that a corner moves at most: both sides keep a tenth between them.
constexpr float share_of_wall = 0.45F;
/// Walls thicker than this need no limit: no inset reaches the middle. Metres.
constexpr float thick_m = 0.012F;
/// Two faces whose normals agree to within 1.8 degrees count as one.
constexpr float same_face = 0.9995F;
constexpr std::size_t faces_kept = 6;
/// A triangle this much lower than long says nothing about which way its face looks.
constexpr float sliver = 1e-4F;
/// Keeps directions that no face asks for out of the answer.
constexpr float damping = 1e-3F;

/// By vertex of the tree: which of those that lie in its very place comes first (0 and -0 are one place).
std::vector<std::uint32_t> first_in_place(const Tree& tree) {
    constexpr std::uint32_t free = std::numeric_limits<std::uint32_t>::max();
    std::vector<std::uint32_t> first(tree.places());
    std::vector<std::uint32_t> table(std::bit_ceil(2 * tree.places() + 1), free);
    for (std::uint32_t v = 0; v < first.size(); ++v) {
        std::size_t slot = hash_of(tree.vertices[v]) & (table.size() - 1);
        while (table[slot] != free && tree.vertices[table[slot]] != tree.vertices[v])
            slot = (slot + 1) & (table.size() - 1);
        if (table[slot] == free)
            table[slot] = v;
        first[v] = table[slot];
    }
    return first;
}

struct Faces {
    std::array<glm::vec3, faces_kept> normals{};
    std::size_t count = 0;
    void add(const glm::vec3& normal) {
        for (std::size_t i = 0; i < count; ++i)
            if (glm::dot(normals[i], normal) > same_face)
                return;
        if (count < faces_kept)
            normals[count++] = normal;
    }
};

/// The move that brings every face inwards by one, as nearly as one point can.
glm::vec3 inward_of(const Faces& faces) {
    glm::mat3 sum(damping);
    glm::vec3 wanted(0.0F);
    for (std::size_t i = 0; i < faces.count; ++i) {
        sum += glm::outerProduct(faces.normals[i], faces.normals[i]);
        wanted -= faces.normals[i];
    }
    const glm::vec3 move = glm::inverse(sum) * wanted;
    const float length = glm::length(move);
    if (!(length > 0) || !std::isfinite(length))
        return glm::vec3(0.0F);
    return length > longest_miter ? move * (longest_miter / length) : move;
}

/// How far the wall goes on behind a vertex, `along` being the unit of distance.
float wall_behind(const Tree& tree, const glm::vec3& from, const glm::vec3& along, float limit) {
    const MeshRay ray{from, along, 1.0F / along};
    float nearest = limit;
    const auto wanted = [&](const BoxTree::Node& node) { return touches(node, ray.from, ray.inverse, nearest); };
    each_leaf_where(tree.boxes, wanted, [&](std::uint32_t first, std::uint32_t count) {
        for (std::uint32_t i = first; i < first + count; ++i) {
            bool entering = false;
            const float distance = meets_triangle(tree.triangle(i), ray, nearest, entering);
            if (distance >= 0)
                nearest = distance;
        }
    });
    return nearest;
}

} // namespace

namespace {

/// Each edge is met once in either sense where a mesh is closed; sums of hashes vanish then, and hardly otherwise.
/// Corners are told apart by the cells of a grid: those that a modelling tool meant to be one may differ in their last
/// bits, and putting corners together never opens what is closed (it closes holes of a cell's size).
bool edges_balance(const Tree& tree, const glm::vec3& from, float cell) {
    std::uint64_t balance = 0;
    const auto edge = [](std::uint64_t a, std::uint64_t b) { return mix(a * 3 + b); };
    std::vector<std::uint64_t> hashes(tree.places());
    for (std::size_t v = 0; v < hashes.size(); ++v)
        hashes[v] = hash_of(glm::floor((tree.vertices[v] - from) / cell));
    for (const auto& corners : tree.corners) {
        const std::array<std::uint64_t, 3> h{hashes[corners[0]], hashes[corners[1]], hashes[corners[2]]};
        for (std::size_t i = 0; i < 3; ++i) {
            const std::size_t next = (i + 1) % 3;
            balance += edge(h[i], h[next]) - edge(h[next], h[i]);
        }
    }
    return balance == 0;
}

/// Cells along the longest side; finer ones part corners that are meant to be one, coarser ones close larger holes.
constexpr float cells = 4096;
/// Where the grid begins, in cells: what one grid parts at a border, another does not.
constexpr std::array<float, 3> grid_starts{0.137F, 0.471F, 0.803F};

} // namespace

Sense sense_of(const Tree& tree) {
    Sense sense;
    if (tree.corners.empty())
        return sense;
    const glm::vec3 low = tree.boxes.nodes[0].low;
    const glm::vec3 size = tree.boxes.nodes[0].high - low;
    const float cell = std::max({size.x, size.y, size.z}) / cells;
    sense.closed = std::any_of(grid_starts.begin(), grid_starts.end(),
                               [&](float start) { return edges_balance(tree, low - start * cell, cell); });
    double volume = 0;
    const glm::dvec3 middle = glm::dvec3(low) + 0.5 * glm::dvec3(size);
    for (std::size_t i = 0; i < tree.size(); ++i) {
        const Tree::Corners t = tree.triangle(i);
        volume += glm::dot(glm::dvec3(t.a) - middle, glm::cross(glm::dvec3(t.b) - middle, glm::dvec3(t.c) - middle));
    }
    sense.inside_out = volume < 0;
    return sense;
}

Turned turned(const glm::dmat4& world) {
    const glm::dmat3 linear(world);
    const double size = glm::length(linear[0]);
    const auto same = [&](double a, double b) { return std::abs(a - b) <= 1e-4 * size * size; };
    const bool even = same(glm::dot(linear[1], linear[1]), size * size) &&
                      same(glm::dot(linear[2], linear[2]), size * size) && same(glm::dot(linear[0], linear[1]), 0) &&
                      same(glm::dot(linear[0], linear[2]), 0) && same(glm::dot(linear[1], linear[2]), 0);
    if (even)
        return {glm::dmat3(size), linear / size};
    return {linear, glm::dmat3(1.0)};
}

Skin make_skin(const Tree& tree, const Sense& sense, const glm::dmat3& size) {
    const std::vector<std::uint32_t> first = first_in_place(tree);
    const glm::mat3 sized(size);
    const bool turned_round = glm::determinant(size) < 0;
    const float outwards = sense.inside_out != turned_round ? -1.0F : 1.0F;
    std::vector<Faces> faces(first.size());
    for (std::size_t i = 0; i < tree.size(); ++i) {
        const Tree::Corners t = tree.triangle(i);
        const glm::vec3 normal = glm::cross(sized * (t.b - t.a), sized * (t.c - t.a));
        const float length = glm::length(normal);
        const float longest = std::max({glm::length(t.b - t.a), glm::length(t.c - t.b), glm::length(t.a - t.c)});
        const float scale = glm::length(sized[0]);
        if (!(length > sliver * longest * longest * scale * scale))
            continue;
        for (const std::uint32_t corner : tree.corners[i])
            faces[first[corner]].add(normal * (outwards / length));
    }
    const glm::mat3 back(glm::inverse(size));
    Skin skin;
    skin.inward.resize(first.size());
    skin.most.resize(first.size());
    for (std::size_t v = 0; v < first.size(); ++v) {
        if (first[v] != v) {
            skin.inward[v] = skin.inward[first[v]];
            skin.most[v] = skin.most[first[v]];
            continue;
        }
        skin.inward[v] = inward_of(faces[v]);
        const float length = glm::length(skin.inward[v]);
        if (!(length > 0))
            continue;
        const glm::vec3 along = back * (skin.inward[v] / length);
        // Off its own faces first, or those would be the wall.
        constexpr float off_m = 2e-5F;
        const float wall = wall_behind(tree, tree.vertices[v] + along * off_m, along, thick_m);
        skin.most[v] = wall < thick_m ? share_of_wall * (wall + off_m) / length : std::numeric_limits<float>::max();
    }
    return skin;
}

} // namespace boltwalk
