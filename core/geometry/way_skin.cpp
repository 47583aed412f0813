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

/// A corner sharper than this (whose faces meet at less than 39 degrees) moves no farther than this many insets, or it
/// would leave through the other side.
constexpr float longest_miter = 3;
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

std::uint64_t mix(std::uint64_t x) {
    x ^= x >> 32U;
    x *= 0xd6e8feb86659fd93U;
    x ^= x >> 32U;
    x *= 0xd6e8feb86659fd93U;
    return x ^ (x >> 32U);
}

std::uint64_t hash_of(const glm::vec3& p) {
    std::uint64_t h = 0x9e3779b97f4a7c15U;
    for (int axis = 0; axis < 3; ++axis)
        h = mix(h ^ bits_of(p[axis] + 0.0F)); // + 0: -0 is 0
    return h;
}

/// Corners that lie in one place are one vertex.
struct Welded {
    std::vector<std::uint32_t> vertex; ///< by corner
    std::vector<glm::vec3> place;      ///< by vertex
};

Welded weld(const Tree& tree) {
    Welded welded;
    const std::size_t corners = 3 * tree.triangles.size();
    welded.vertex.reserve(corners);
    welded.place.reserve(tree.triangles.size());
    const std::size_t slots = std::bit_ceil(2 * corners + 1);
    std::vector<std::uint32_t> table(slots, std::numeric_limits<std::uint32_t>::max());
    for (const Tree::Corners& t : tree.triangles)
        for (const glm::vec3& p : {t.a, t.b, t.c}) {
            std::size_t slot = hash_of(p) & (slots - 1);
            while (table[slot] != std::numeric_limits<std::uint32_t>::max() && welded.place[table[slot]] != p)
                slot = (slot + 1) & (slots - 1);
            if (table[slot] == std::numeric_limits<std::uint32_t>::max()) {
                table[slot] = static_cast<std::uint32_t>(welded.place.size());
                welded.place.push_back(p);
            }
            welded.vertex.push_back(table[slot]);
        }
    return welded;
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
            const float distance = meets_triangle(tree.triangles[i], ray, nearest, entering);
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
    const auto snapped = [&](const glm::vec3& p) { return hash_of(glm::floor((p - from) / cell)); };
    for (const Tree::Corners& t : tree.triangles) {
        const std::array<std::uint64_t, 3> h{snapped(t.a), snapped(t.b), snapped(t.c)};
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
    if (tree.triangles.empty())
        return sense;
    const glm::vec3 low = tree.boxes.nodes[0].low;
    const glm::vec3 size = tree.boxes.nodes[0].high - low;
    const float cell = std::max({size.x, size.y, size.z}) / cells;
    sense.closed = std::any_of(grid_starts.begin(), grid_starts.end(),
                               [&](float start) { return edges_balance(tree, low - start * cell, cell); });
    double volume = 0;
    const glm::dvec3 middle = glm::dvec3(low) + 0.5 * glm::dvec3(size);
    for (const Tree::Corners& t : tree.triangles)
        volume += glm::dot(glm::dvec3(t.a) - middle, glm::cross(glm::dvec3(t.b) - middle, glm::dvec3(t.c) - middle));
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
    const Welded welded = weld(tree);
    const glm::mat3 sized(size);
    const bool turned_round = glm::determinant(size) < 0;
    const float outwards = sense.inside_out != turned_round ? -1.0F : 1.0F;
    std::vector<Faces> faces(welded.place.size());
    for (std::size_t i = 0; i < tree.triangles.size(); ++i) {
        const Tree::Corners& t = tree.triangles[i];
        const glm::vec3 normal = glm::cross(sized * (t.b - t.a), sized * (t.c - t.a));
        const float length = glm::length(normal);
        const float longest = std::max({glm::length(t.b - t.a), glm::length(t.c - t.b), glm::length(t.a - t.c)});
        const float scale = glm::length(sized[0]);
        if (!(length > sliver * longest * longest * scale * scale))
            continue;
        for (std::size_t corner = 0; corner < 3; ++corner)
            faces[welded.vertex[3 * i + corner]].add(normal * (outwards / length));
    }
    const glm::mat3 back(glm::inverse(size));
    std::vector<glm::vec3> inward(welded.place.size());
    std::vector<float> most(welded.place.size());
    for (std::size_t v = 0; v < welded.place.size(); ++v) {
        inward[v] = inward_of(faces[v]);
        const float length = glm::length(inward[v]);
        if (!(length > 0))
            continue;
        const glm::vec3 along = back * (inward[v] / length);
        // Off its own faces first, or those would be the wall.
        constexpr float off_m = 2e-5F;
        const float wall = wall_behind(tree, welded.place[v] + along * off_m, along, thick_m);
        most[v] = wall < thick_m ? share_of_wall * (wall + off_m) / length : std::numeric_limits<float>::max();
    }
    Skin skin;
    skin.inward.reserve(welded.vertex.size());
    skin.most.reserve(welded.vertex.size());
    for (const std::uint32_t v : welded.vertex) {
        skin.inward.push_back(inward[v]);
        skin.most.push_back(most[v]);
    }
    return skin;
}

} // namespace boltwalk
