// Small models for tests of scene and drawing: boxes and rods put together in code, no file. Metres.
#pragma once

#include <cmath>
#include <cstdint>
#include <deque>
#include <string>
#include <vector>

#include <glm/glm.hpp>
#include <glm/gtc/matrix_transform.hpp>
#include <glm/gtc/type_ptr.hpp>

#include "core/map/map.hpp"

namespace boltwalk::testing {

/// The same numbers on every machine (Knuth's MMIX constants).
class Dice {
public:
    explicit Dice(std::uint64_t seed) : state_(seed * 2 + 1) {}
    double from_0_to_1() {
        state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
        return static_cast<double>(state_ >> 11U) / 9007199254740992.0;
    }
    double between(double low, double high) { return low + (high - low) * from_0_to_1(); }

private:
    std::uint64_t state_;
};

/// The map points into the lists, so a model stays where it was made.
class Model {
public:
    Map map;
    Model() = default;
    Model(const Model&) = delete;
    Model& operator=(const Model&) = delete;

    /// Corners in threes; each triangle has corners of its own, so normals are those of the faces.
    std::int32_t mesh(const std::vector<glm::vec3>& corners, bool normals = true) {
        auto& places = places_.emplace_back();
        auto& directions = places_.emplace_back();
        auto& order = orders_.emplace_back();
        Mesh made;
        made.low = {1e30F, 1e30F, 1e30F};
        made.high = {-1e30F, -1e30F, -1e30F};
        for (std::size_t i = 0; i < corners.size(); ++i) {
            places.push_back({corners[i].x, corners[i].y, corners[i].z});
            const std::size_t first = i / 3 * 3;
            const glm::vec3 n =
                glm::normalize(glm::cross(corners[first + 1] - corners[first], corners[first + 2] - corners[first]));
            directions.push_back({n.x, n.y, n.z});
            order.push_back(static_cast<std::uint32_t>(i));
            for (int axis = 0; axis < 3; ++axis) {
                auto& low = made.low[static_cast<std::size_t>(axis)];
                auto& high = made.high[static_cast<std::size_t>(axis)];
                low = std::min(low, corners[i][axis]);
                high = std::max(high, corners[i][axis]);
            }
        }
        Primitive primitive;
        primitive.positions = {reinterpret_cast<const std::byte*>(places.data()), places.size(), sizeof(Vec3)};
        if (normals)
            primitive.normals = {reinterpret_cast<const std::byte*>(directions.data()), directions.size(),
                                 sizeof(Vec3)};
        primitive.indices = reinterpret_cast<const std::byte*>(order.data());
        primitive.index_count = order.size();
        primitive.index_size = 4;
        made.primitives.push_back(primitive);
        made.triangle_count = corners.size() / 3;
        map.meshes.push_back(made);
        return static_cast<std::int32_t>(map.meshes.size() - 1);
    }

    std::int32_t box(glm::vec3 size) {
        std::vector<glm::vec3> corners;
        const auto quad = [&](glm::vec3 a, glm::vec3 b, glm::vec3 c, glm::vec3 d) {
            for (const glm::vec3& point : {a, b, c, a, c, d})
                corners.push_back(point * size * 0.5F);
        };
        quad({-1, -1, 1}, {1, -1, 1}, {1, 1, 1}, {-1, 1, 1});
        quad({1, -1, -1}, {-1, -1, -1}, {-1, 1, -1}, {1, 1, -1});
        quad({1, -1, 1}, {1, -1, -1}, {1, 1, -1}, {1, 1, 1});
        quad({-1, -1, -1}, {-1, -1, 1}, {-1, 1, 1}, {-1, 1, -1});
        quad({-1, 1, 1}, {1, 1, 1}, {1, 1, -1}, {-1, 1, -1});
        quad({-1, -1, -1}, {1, -1, -1}, {1, -1, 1}, {-1, -1, 1});
        return mesh(corners);
    }

    /// Rods about y, one on the other from y = 0 upwards: a bolt is a shank and a head.
    struct Rod {
        float radius, height;
    };
    std::int32_t rods(const std::vector<Rod>& list, int sides) {
        std::vector<glm::vec3> corners;
        float y = 0;
        for (const Rod& rod : list) {
            for (int i = 0; i < sides; ++i) {
                const auto rim = [&](int k, float h) {
                    const double angle = 6.283185307179586 * k / sides;
                    return glm::vec3(rod.radius * std::cos(angle), h, -rod.radius * std::sin(angle));
                };
                const glm::vec3 a = rim(i, y);
                const glm::vec3 b = rim(i + 1, y);
                const glm::vec3 c = rim(i + 1, y + rod.height);
                const glm::vec3 d = rim(i, y + rod.height);
                for (const glm::vec3& point :
                     {a, b, c, a, c, d, d, c, glm::vec3(0, y + rod.height, 0), b, a, glm::vec3(0, y, 0)})
                    corners.push_back(point);
            }
            y += rod.height;
        }
        return mesh(corners);
    }

    /// Turned about y from an outline of (radius, height), run through upwards on its outer side; closed by itself
    /// where it does not begin and end on the axis. Every cut across y is a regular polygon: of the solid of revolution
    /// it has turned_share(sides) of the volume, and the same centre.
    std::int32_t turned(const std::vector<glm::dvec2>& outline, int sides) {
        return mesh(turned_corners(outline, sides));
    }
    static std::vector<glm::vec3> turned_corners(const std::vector<glm::dvec2>& outline, int sides) {
        std::vector<glm::vec3> corners;
        const auto point = [&](int i, const glm::dvec2& p) {
            const double angle = 6.283185307179586 * (i % sides) / sides;
            return p.x > 0 ? glm::vec3(p.x * std::cos(angle), p.y, -p.x * std::sin(angle)) : glm::vec3(0, p.y, 0);
        };
        for (std::size_t n = 0; n < outline.size(); ++n) {
            const glm::dvec2& p = outline[n];
            const glm::dvec2& q = outline[(n + 1) % outline.size()];
            for (int i = 0; i < sides; ++i) {
                if (p.x > 0)
                    for (const glm::vec3& corner : {point(i, p), point(i + 1, p), point(i, q)})
                        corners.push_back(corner);
                if (q.x > 0)
                    for (const glm::vec3& corner : {point(i + 1, p), point(i + 1, q), point(i, q)})
                        corners.push_back(corner);
            }
        }
        return corners;
    }
    static double turned_share(int sides) {
        const double angle = 6.283185307179586 / sides;
        return std::sin(angle) / angle;
    }

    std::int32_t node(const std::string& name, std::int32_t mesh_index, const glm::dmat4& world, ItemId item = {}) {
        Node made;
        made.name = name;
        made.mesh = mesh_index;
        made.item = item;
        made.in_scene = true;
        for (std::size_t i = 0; i < 16; ++i)
            made.world[i] = glm::value_ptr(world)[i];
        map.nodes.push_back(made);
        return static_cast<std::int32_t>(map.nodes.size() - 1);
    }

    ItemId part(const std::string& name, std::int32_t mesh_index, glm::dvec3 at, bool fixed = false) {
        const ItemId id = item(ItemKind::part, name, map.parts.size(), mesh_index, glm::translate(glm::dmat4(1.0), at));
        map.parts.emplace_back();
        map.parts.back().item = id;
        map.parts.back().fixed = fixed;
        return id;
    }

    ItemId fastener(const std::string& name, std::int32_t mesh_index, const glm::dmat4& world,
                    std::vector<ItemId> holds) {
        const ItemId id = item(ItemKind::fastener, name, map.fasteners.size(), mesh_index, world);
        map.fasteners.emplace_back();
        map.fasteners.back().item = id;
        map.fasteners.back().holds = std::move(holds);
        return id;
    }

private:
    ItemId item(ItemKind kind, const std::string& name, std::size_t detail, std::int32_t mesh_index,
                const glm::dmat4& world) {
        const ItemId id{static_cast<std::int32_t>(map.items.size())};
        map.items.emplace_back();
        map.items.back().kind = kind;
        map.items.back().detail = static_cast<std::int32_t>(detail);
        map.items.back().name = map.items.back().title = name;
        map.items.back().node = node(name, mesh_index, world, id);
        return id;
    }

    std::deque<std::vector<Vec3>> places_;
    std::deque<std::vector<std::uint32_t>> orders_;
};

inline glm::dmat4 at(double x, double y, double z) {
    return glm::translate(glm::dmat4(1.0), glm::dvec3(x, y, z));
}

} // namespace boltwalk::testing
