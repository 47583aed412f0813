// What follows from a map once, for drawing and picking.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "core/geometry/about_axis.hpp"
#include "viewer/scene/scene.hpp"
#include "viewer/scene/triangles.hpp"

namespace boltwalk {

namespace {

Bounds world_bounds(const Mesh& mesh, const glm::dmat4& world) {
    Bounds result;
    if (mesh.low[0] > mesh.high[0])
        return result;
    for (unsigned corner = 0; corner < 8; ++corner) {
        const glm::dvec4 point((corner & 1U) ? mesh.high[0] : mesh.low[0], (corner & 2U) ? mesh.high[1] : mesh.low[1],
                               (corner & 4U) ? mesh.high[2] : mesh.low[2], 1.0);
        result.add(glm::dvec3(world * point));
    }
    return result;
}

constexpr double HEAD_RADIUS_SHARE = 0.8; ///< what is wider than so much of the widest belongs to the head

/// How points lie along an axis: first the extents across it, which give the axis its place, then radius and heights.
HeadShape head_of(const std::vector<glm::dvec3>& points, const glm::dvec3& axis) {
    HeadShape head;
    if (points.empty())
        return head;
    const Across side = across_of(axis);
    const glm::dvec3 u = side.u;
    const glm::dvec3 v = side.v;
    Bounds across;
    for (const glm::dvec3& point : points)
        across.add({glm::dot(point, u), glm::dot(point, v), glm::dot(point, axis)});
    const glm::dvec3 middle = across.centre();
    const auto radius_of = [&](const glm::dvec3& point) {
        return glm::length(glm::dvec2(glm::dot(point, u) - middle.x, glm::dot(point, v) - middle.y));
    };
    for (const glm::dvec3& point : points)
        head.radius = std::max(head.radius, radius_of(point));
    double base = across.high.z;
    for (const glm::dvec3& point : points)
        if (radius_of(point) >= HEAD_RADIUS_SHARE * head.radius)
            base = std::min(base, glm::dot(point, axis));
    const glm::dvec3 foot = middle.x * u + middle.y * v;
    head.top = foot + across.high.z * axis;
    head.base = foot + base * axis;
    head.length = across.high.z - across.low.z;
    return head;
}

std::vector<glm::dvec3> points_of(const Map& map, const std::vector<std::int32_t>& nodes) {
    std::vector<glm::dvec3> points;
    for (const std::int32_t index : nodes) {
        const Node& node = map.nodes[at(index)];
        const glm::dmat4 world = world_of(node);
        for (const Primitive& primitive : map.meshes[at(node.mesh)].primitives)
            for (std::size_t i = 0; i < primitive.index_count; ++i)
                points.emplace_back(world * glm::dvec4(vector_at(primitive.positions, index_at(primitive, i)), 1.0F));
    }
    return points;
}

/// Shapes found once a mesh and axis, in the node's own axes: ten thousand bolts share a few meshes.
struct Known {
    std::int32_t mesh;
    std::array<double, 3> axis;
    HeadShape shape;
};

HeadShape placed(const HeadShape& shape, const glm::dmat4& world, const std::array<double, 3>& axis) {
    const glm::dmat3 turn(world);
    const glm::dvec3 along(axis[0], axis[1], axis[2]);
    const double stretch = glm::length(turn * along);
    HeadShape result;
    result.top = glm::dvec3(world * glm::dvec4(shape.top, 1.0));
    result.base = glm::dvec3(world * glm::dvec4(shape.base, 1.0));
    result.length = shape.length * stretch;
    result.radius = shape.radius * std::cbrt(std::abs(glm::determinant(turn)));
    return result;
}

void shape_fasteners(Stage& stage) {
    const Map& map = *stage.map;
    std::vector<std::vector<std::int32_t>> nodes_of(map.items.size());
    for (const std::int32_t node : stage.shown)
        if (map.nodes[at(node)].item)
            nodes_of[at(map.nodes[at(node)].item.index)].push_back(node);
    std::vector<Known> known;
    stage.heads.resize(map.fasteners.size());
    stage.axes.assign(map.fasteners.size(), glm::dvec3(0, 1, 0));
    for (std::size_t i = 0; i < map.fasteners.size(); ++i) {
        const Fastener& fastener = map.fasteners[i];
        const std::int32_t home = map[fastener.item].node;
        if (home < 0)
            continue;
        const glm::dmat4 world = world_of(map.nodes[at(home)]);
        const glm::dvec3 axis = glm::dmat3(world) * glm::dvec3(fastener.axis[0], fastener.axis[1], fastener.axis[2]);
        if (glm::length(axis) > 0)
            stage.axes[i] = glm::normalize(axis);
        const auto& nodes = nodes_of[at(fastener.item.index)];
        if (nodes.size() != 1 || nodes[0] != home) {
            stage.heads[i] = head_of(points_of(map, nodes), stage.axes[i]);
            continue;
        }
        const std::int32_t mesh = map.nodes[at(home)].mesh;
        auto found = std::find_if(known.begin(), known.end(),
                                  [&](const Known& k) { return k.mesh == mesh && k.axis == fastener.axis; });
        if (found == known.end()) {
            std::vector<glm::dvec3> points;
            for (const Primitive& primitive : map.meshes[at(mesh)].primitives)
                for (std::size_t k = 0; k < primitive.index_count; ++k)
                    points.emplace_back(vector_at(primitive.positions, index_at(primitive, k)));
            const glm::dvec3 own(fastener.axis[0], fastener.axis[1], fastener.axis[2]);
            found = known.insert(known.end(), {mesh, fastener.axis, head_of(points, own)});
        }
        stage.heads[i] = placed(found->shape, world, fastener.axis);
    }
}

/// Corners, the middles of sides and of whole triangles: near enough for a leader to end on.
void anchor_parts(Stage& stage) {
    const Map& map = *stage.map;
    std::vector<double> nearest(map.items.size(), std::numeric_limits<double>::infinity());
    stage.anchors.resize(map.items.size());
    for (std::size_t i = 0; i < map.items.size(); ++i)
        stage.anchors[i] = stage.item_bounds[i].empty() ? glm::dvec3(0.0) : stage.item_bounds[i].centre();
    const std::vector<glm::dvec3> middles = stage.anchors;
    for (const std::int32_t index : stage.shown) {
        const Node& node = map.nodes[at(index)];
        if (!node.item || !map.is_part(node.item))
            continue;
        const std::size_t item = at(node.item.index);
        const glm::dmat4 world = world_of(node);
        const auto look_at = [&](const glm::dvec3& point) {
            const double distance = glm::length(point - middles[item]);
            if (distance < nearest[item]) {
                nearest[item] = distance;
                stage.anchors[item] = point;
            }
        };
        for (const Primitive& primitive : map.meshes[at(node.mesh)].primitives)
            for (std::size_t i = 0; i + 2 < primitive.index_count; i += 3) {
                std::array<glm::dvec3, 3> corners;
                for (std::size_t k = 0; k < 3; ++k)
                    corners[k] = glm::dvec3(
                        world * glm::dvec4(vector_at(primitive.positions, index_at(primitive, i + k)), 1.0F));
                look_at((corners[0] + corners[1] + corners[2]) / 3.0);
                for (std::size_t k = 0; k < 3; ++k) {
                    look_at(corners[k]);
                    look_at(0.5 * (corners[k] + corners[(k + 1) % 3]));
                }
            }
    }
}

} // namespace

Stage make_stage(const Map& map, const std::function<bool(float)>& progress) {
    Stage stage;
    stage.map = &map;
    stage.node_bounds.resize(map.nodes.size());
    stage.item_bounds.resize(map.items.size());
    stage.alone.resize(map.meshes.size());
    stage.edges.resize(map.meshes.size());
    std::vector<std::uint8_t> used(map.meshes.size(), 0);
    for (std::size_t i = 0; i < map.nodes.size(); ++i) {
        const Node& node = map.nodes[i];
        if (!node.in_scene || node.mesh < 0)
            continue;
        const Bounds bounds = world_bounds(map.meshes[at(node.mesh)], world_of(node));
        if (bounds.empty())
            continue;
        used[at(node.mesh)] = 1;
        stage.shown.push_back(static_cast<std::int32_t>(i));
        stage.node_bounds[i] = bounds;
        stage.bounds.add(bounds);
        if (node.item)
            stage.item_bounds[at(node.item.index)].add(bounds);
    }
    shape_fasteners(stage);
    anchor_parts(stage);
    std::size_t all = 0;
    for (std::size_t i = 0; i < map.meshes.size(); ++i)
        all += used[i] ? map.meshes[i].triangle_count : 0;
    std::size_t done = 0;
    for (std::size_t i = 0; i < map.meshes.size(); ++i) {
        if (!used[i])
            continue;
        if (progress && !progress(static_cast<float>(done) / static_cast<float>(std::max<std::size_t>(all, 1))))
            break;
        stage.edges[i] = edges_of(map.meshes[i]);
        done += map.meshes[i].triangle_count;
    }
    return stage;
}

} // namespace boltwalk
