// A recipe built and read again, and sums over what came of it.
#pragma once

#include <array>
#include <cmath>
#include <map>
#include <set>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <glm/glm.hpp>

#include "core/block/block.hpp"
#include "core/map/map.hpp"

namespace boltwalk::testing {

inline std::string all_notes(const Blocked& made) {
    std::string out;
    for (const RecipeNote& note : made.notes)
        out += say("r", note) + "\n";
    return out;
}

inline Map read_back(const Blocked& made) {
    REQUIRE_MESSAGE(!made.glb.empty(), all_notes(made));
    auto map = read_map_bytes(std::as_bytes(std::span(made.glb.data(), made.glb.size())), "made", "");
    REQUIRE(map.has_value());
    return std::move(*map);
}

/// Without a fault.
inline Map map_of(const std::string& recipe) {
    return read_back(block_out(recipe));
}

struct Sums {
    double volume_mm3 = 0;
    std::size_t open_edges = 0;      ///< not met once each way
    glm::dvec3 low{1e9}, high{-1e9}; ///< in the vehicle, mm
    double worst_normal = 0;         ///< 1 less the cosine between a stated normal and its triangle's
};

inline Sums sums_of(const Map& map, const std::string& name) {
    Sums sums;
    const Node* node = nullptr;
    for (const Node& one : map.nodes)
        if (one.name == name)
            node = &one;
    REQUIRE_MESSAGE(node, name);
    REQUIRE(node->mesh >= 0);
    using Key = std::array<float, 3>;
    std::map<std::pair<Key, Key>, int> edges;
    for (const Primitive& primitive : map.meshes[static_cast<std::size_t>(node->mesh)].primitives)
        for (std::size_t i = 0; i < primitive.index_count; i += 3) {
            std::array<Key, 3> k{};
            std::array<glm::dvec3, 3> p{};
            glm::dvec3 stated{0.0};
            for (std::size_t c = 0; c < 3; ++c) {
                const Vec3 v = primitive.positions[primitive.index(i + c)];
                const Vec3 n = primitive.normals[primitive.index(i + c)];
                k[c] = {v.x, v.y, v.z};
                p[c] = glm::dvec3(v.x, v.y, v.z) * 1000.0;
                stated = glm::dvec3(n.x, n.y, n.z);
                const auto& w = node->world;
                const glm::dvec3 out(w[0] * v.x + w[4] * v.y + w[8] * v.z + w[12],
                                     w[1] * v.x + w[5] * v.y + w[9] * v.z + w[13],
                                     w[2] * v.x + w[6] * v.y + w[10] * v.z + w[14]);
                sums.low = glm::min(sums.low, out * 1000.0);
                sums.high = glm::max(sums.high, out * 1000.0);
            }
            const glm::dvec3 across = glm::cross(p[1] - p[0], p[2] - p[0]);
            sums.volume_mm3 += glm::dot(p[0], glm::cross(p[1], p[2])) / 6;
            if (glm::length(across) > 1e-3)
                sums.worst_normal = std::max(sums.worst_normal, 1 - glm::dot(glm::normalize(across), stated));
            for (std::size_t c = 0; c < 3; ++c)
                ++edges[{k[c], k[(c + 1) % 3]}];
        }
    for (const auto& [edge, count] : edges) {
        const auto back = edges.find({edge.second, edge.first});
        if (back == edges.end() || back->second != count)
            ++sums.open_edges;
    }
    return sums;
}

/// A recipe of one fixed part of that shape.
inline std::string one_part(const std::string& shape) {
    return "[it]\npart = true\nfixed = true\n" + shape + "\n";
}

/// Area of a regular polygon with its corners on the circle, by its share of the circle's.
inline double polygon_area(double diameter, int sides) {
    return sides * diameter * diameter / 8 * std::sin(2 * 3.14159265358979 / sides);
}
/// With the middles of its sides on it.
inline double outer_polygon_area(double diameter, int sides) {
    return sides * diameter * diameter / 4 * std::tan(3.14159265358979 / sides);
}

} // namespace boltwalk::testing
