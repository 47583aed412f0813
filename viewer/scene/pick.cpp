// What a ray meets first, and what stands before an item.
#include <algorithm>
#include <cmath>

#include <limits>
#include <utility>

#include "viewer/scene/scene.hpp"
#include "viewer/scene/triangles.hpp"

namespace boltwalk {

namespace {

constexpr Pose AT_REST{};
constexpr double COVERS_SHARE = 0.25; ///< of an item's rays that a node must stop to count as covering it

const Pose& pose_of(std::span<const Pose> poses, ItemId item) {
    const auto i = static_cast<std::size_t>(item.index);
    return item && i < poses.size() ? poses[i] : AT_REST;
}

const Solids& alone(const Stage& stage, std::int32_t index) {
    auto& found = stage.alone[static_cast<std::size_t>(index)];
    if (found)
        return *found;
    const Mesh& mesh = stage.map->meshes[static_cast<std::size_t>(index)];
    Solids one;
    one.map = stage.map;
    // A million triangles take a third of a second on one core, and a person waits for the click.
    one.meshes = {std::make_shared<const Tree>(grow_tree(mesh, mesh.triangle_count >= huge_mesh ? 0 : 1))};
    one.bodies.resize(1);
    one.placements.resize(1);
    one.placements[0].mesh = one.placements[0].body = 0;
    const glm::vec3 low(mesh.low[0], mesh.low[1], mesh.low[2]);
    const glm::vec3 high(mesh.high[0], mesh.high[1], mesh.high[2]);
    one.tree = grow_tree(std::span(&low, 1), std::span(&high, 1), 1);
    found = std::make_shared<const Solids>(std::move(one));
    return *found;
}

/// Share of `along` where a ray enters a box, or a value above `limit` when it does not.
double entry(const glm::dvec3& low, const glm::dvec3& high, const glm::dvec3& from, const glm::dvec3& inverse,
             double limit) {
    double enter = 0;
    double leave = limit;
    for (int i = 0; i < 3; ++i) {
        // A ray within a slab's plane gives 0 * infinity; such a comparison is false and leaves the bounds as they are.
        const double a = (low[i] - from[i]) * inverse[i];
        const double b = (high[i] - from[i]) * inverse[i];
        const double first = std::min(a, b);
        const double last = std::max(a, b);
        if (first > enter)
            enter = first;
        if (last < leave)
            leave = last;
    }
    // Flat boxes (a sheet across an axis) are met exactly, so rounding must not lose them.
    return enter <= leave * (1 + 1e-9) + 1e-12 ? enter : std::numeric_limits<double>::infinity();
}

/// Metres along the ray to the node's nearest triangle below `limit`, else `limit`.
double meets_node(const Stage& stage, std::int32_t node, const glm::dvec3& shift, const Ray& ray,
                  const glm::dvec3& inverse, double limit) {
    const Bounds& bounds = stage.node_bounds[static_cast<std::size_t>(node)];
    const glm::dvec3 from = ray.from - shift;
    if (!(entry(bounds.low, bounds.high, from, inverse, limit) <= limit))
        return limit;
    const Node& n = stage.map->nodes[static_cast<std::size_t>(node)];
    const glm::dmat4 world = world_of(n);
    if (std::abs(glm::determinant(glm::dmat3(world))) < 1e-30)
        return limit; // flattened to nothing: not drawn either
    const glm::dmat4 back = glm::inverse(world);
    // Back faces count: a cut-open or mirrored mesh is still there.
    const RayHit hit = first_hit(alone(stage, n.mesh),
                                 {glm::dvec3(back * glm::dvec4(from, 1.0)), glm::dmat3(back) * ray.along}, limit);
    return hit.body < 0 ? limit : std::min(limit, hit.distance);
}

} // namespace

std::optional<Hit> pick(const Stage& stage, std::span<const Pose> poses, const Ray& ray) {
    const glm::dvec3 inverse = 1.0 / ray.along;
    Hit hit;
    hit.distance_m = std::numeric_limits<double>::infinity();
    for (const std::int32_t node : stage.shown) {
        const ItemId item = stage.map->nodes[static_cast<std::size_t>(node)].item;
        const Pose& pose = pose_of(poses, item);
        if (pose.presence <= 0)
            continue;
        const double distance = meets_node(stage, node, pose.shift_m, ray, inverse, hit.distance_m);
        if (distance < hit.distance_m) {
            hit.distance_m = distance;
            hit.node = node;
            hit.item = item;
        }
    }
    if (hit.node < 0)
        return std::nullopt;
    hit.point = ray.from + hit.distance_m * ray.along;
    return hit;
}

Cover covers_of(const Stage& stage, std::span<const Pose> poses, ItemId item, const glm::dvec3& eye, int rays) {
    Cover cover;
    std::vector<std::int32_t> own;
    Bounds box;
    for (const std::int32_t node : stage.shown)
        if (stage.map->nodes[static_cast<std::size_t>(node)].item == item) {
            own.push_back(node);
            box.add(stage.node_bounds[static_cast<std::size_t>(node)]);
        }
    const Pose& pose = pose_of(poses, item);
    if (own.empty() || box.empty() || pose.presence <= 0)
        return cover;
    box = moved(box, pose.shift_m);
    // A grid across the box as the eye sees it, its odd rows set off by half a cell.
    const glm::dvec3 forward = glm::normalize(box.centre() - eye);
    const glm::dvec3 helper = std::abs(forward.y) < 0.9 ? glm::dvec3(0, 1, 0) : glm::dvec3(0, 0, 1);
    const glm::dvec3 right = glm::normalize(glm::cross(forward, helper));
    const glm::dvec3 up = glm::cross(right, forward);
    const glm::dvec3 half = 0.5 * (box.high - box.low);
    const double wide = glm::dot(glm::abs(right), half);
    const double tall = glm::dot(glm::abs(up), half);
    const int columns = std::max(2, static_cast<int>(std::sqrt(static_cast<double>(rays))));
    const int rows = std::max(2, rays / columns);
    // Only what touches the beam from the eye to the item can stop a ray of it.
    const glm::dvec3 beam = box.centre() - eye;
    std::vector<std::int32_t> near_beam;
    for (const std::int32_t node : stage.shown) {
        const ItemId other = stage.map->nodes[static_cast<std::size_t>(node)].item;
        const Pose& at = pose_of(poses, other);
        if (other == item || at.presence <= 0)
            continue;
        const Bounds& bounds = stage.node_bounds[static_cast<std::size_t>(node)];
        const glm::dvec3 to = bounds.centre() + at.shift_m - eye;
        const double along = std::clamp(glm::dot(to, beam) / glm::dot(beam, beam), 0.0, 1.0);
        if (glm::length(to - along * beam) <= bounds.radius() + box.radius())
            near_beam.push_back(node);
    }
    std::vector<int> stopped(stage.map->nodes.size(), 0);
    int met = 0;
    int free = 0;
    for (int row = 0; row < rows; ++row)
        for (int column = 0; column < columns; ++column) {
            const double x = ((column + (row % 2 == 0 ? 0.3 : 0.7)) / columns * 2 - 1) * wide;
            const double y = ((row + 0.5) / rows * 2 - 1) * tall;
            const Ray ray{eye, glm::normalize(box.centre() + x * right + y * up - eye)};
            const glm::dvec3 inverse = 1.0 / ray.along;
            double distance = std::numeric_limits<double>::infinity();
            for (const std::int32_t node : own)
                distance = meets_node(stage, node, pose.shift_m, ray, inverse, distance);
            if (!std::isfinite(distance))
                continue;
            ++met;
            bool in_sight = true;
            // What lies against it (a washer under its head, the thread in its hole) is no cover.
            const double before = distance * (1 - 1e-5) - 1e-5;
            for (const std::int32_t node : near_beam) {
                const Pose& at = pose_of(poses, stage.map->nodes[static_cast<std::size_t>(node)].item);
                if (meets_node(stage, node, at.shift_m, ray, inverse, before) < before) {
                    in_sight = false;
                    ++stopped[static_cast<std::size_t>(node)];
                }
            }
            free += in_sight ? 1 : 0;
        }
    if (met == 0)
        return cover;
    cover.in_sight = static_cast<double>(free) / met;
    for (const std::int32_t node : stage.shown)
        if (stopped[static_cast<std::size_t>(node)] >= std::max(1.0, COVERS_SHARE * met))
            cover.nodes.push_back(node);
    return cover;
}

} // namespace boltwalk
