// The walk of a ray through the trees, open to inlining; sources of core/geometry include this, others solids.hpp.
#pragma once

#include <array>
#include <limits>

#include "core/geometry/solids.hpp"

namespace boltwalk {

/// A ray in the axes of one mesh; distances stay those of the world's ray.
struct MeshRay {
    glm::vec3 from, along, inverse;
};

inline MeshRay in_mesh(const Placement& placement, const Ray& ray) {
    const glm::dvec3 along = glm::dmat3(placement.inverse) * ray.along;
    return {glm::vec3(placement.inverse * glm::dvec4(ray.from, 1.0)), glm::vec3(along), glm::vec3(1.0 / along)};
}

/// Does the ray touch the box between 0 and `limit`? A ray within a slab's plane gives 0 * infinity; such a comparison
/// is false and leaves the bounds as they are. The last factor pays for rounding, so that flat boxes are not lost (Ize,
/// "Robust BVH Ray Traversal", 2013).
inline bool touches(const BoxTree::Node& node, const glm::vec3& from, const glm::vec3& inverse, float limit) {
    float enter = 0;
    float leave = limit;
    for (int axis = 0; axis < 3; ++axis) {
        const float a = (node.low[axis] - from[axis]) * inverse[axis];
        const float b = (node.high[axis] - from[axis]) * inverse[axis];
        const float first = a < b ? a : b;
        const float last = a < b ? b : a;
        enter = first > enter ? first : enter;
        leave = last < leave ? last : leave;
    }
    return enter <= leave * 1.0000004F;
}

/// Distance along the ray at which it meets the triangle, or a negative number. Moeller and Trumbore, "Fast, Minimum
/// Storage Ray/Triangle Intersection", 1997. `entering` by the winding as stored.
inline float meets_triangle(const Tree::Corners& t, const MeshRay& ray, float limit, bool& entering) {
    const glm::vec3 side = t.b - t.a;
    const glm::vec3 other = t.c - t.a;
    const glm::vec3 p = glm::cross(ray.along, other);
    const float scale = glm::dot(side, p);
    if (scale == 0)
        return -1;
    const float inverse = 1 / scale;
    const glm::vec3 to = ray.from - t.a;
    const float u = glm::dot(to, p) * inverse;
    if (!(u >= 0 && u <= 1))
        return -1;
    const glm::vec3 q = glm::cross(to, side);
    const float v = glm::dot(ray.along, q) * inverse;
    if (!(v >= 0 && u + v <= 1))
        return -1;
    const float distance = glm::dot(other, q) * inverse;
    if (!(distance >= 0 && distance <= limit))
        return -1;
    entering = scale > 0;
    return distance;
}

inline float upward(double limit) {
    return limit < 3e38 ? static_cast<float>(limit) : std::numeric_limits<float>::max();
}

/// Calls see(RayHit) for all hits with one placement.
template <typename See>
void each_hit_of(const Solids& solids, std::int32_t index, const Ray& ray, double limit, See&& see) {
    const Placement& placement = solids.placements[static_cast<std::size_t>(index)];
    const Tree& tree = *solids.meshes[static_cast<std::size_t>(placement.mesh)];
    const MeshRay own = in_mesh(placement, ray);
    const float far = upward(limit);
    std::array<std::uint32_t, 2 * deepest_tree> open{};
    std::size_t depth = 1;
    while (depth > 0) {
        const BoxTree::Node& node = tree.boxes.nodes[open[--depth]];
        if (!touches(node, own.from, own.inverse, far))
            continue;
        if (node.count == 0) {
            open[depth++] = node.first + 1;
            open[depth++] = node.first;
            continue;
        }
        for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
            bool entering = false;
            const float distance = meets_triangle(tree.triangles[i], own, far, entering);
            if (distance >= 0)
                see(RayHit{static_cast<double>(distance), placement.body, index, tree.numbers[i],
                           entering != placement.mirrored});
        }
    }
}

/// Does the ray meet anything of one placement?
inline bool meets(const Solids& solids, std::int32_t index, const Ray& ray, double limit) {
    const Placement& placement = solids.placements[static_cast<std::size_t>(index)];
    const Tree& tree = *solids.meshes[static_cast<std::size_t>(placement.mesh)];
    const MeshRay own = in_mesh(placement, ray);
    const float far = upward(limit);
    std::array<std::uint32_t, 2 * deepest_tree> open{};
    std::size_t depth = 1;
    while (depth > 0) {
        const BoxTree::Node& node = tree.boxes.nodes[open[--depth]];
        if (!touches(node, own.from, own.inverse, far))
            continue;
        if (node.count == 0) {
            open[depth++] = node.first + 1;
            open[depth++] = node.first;
            continue;
        }
        for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
            bool entering = false;
            if (meets_triangle(tree.triangles[i], own, far, entering) >= 0)
                return true;
        }
    }
    return false;
}

/// Calls see(placement) for every placement whose box the ray touches.
template <typename See>
void each_placement(const Solids& solids, const Ray& ray, double limit, See&& see) {
    const glm::vec3 from(ray.from);
    const glm::vec3 inverse(1.0 / ray.along);
    const float far = upward(limit);
    std::array<std::uint32_t, 2 * deepest_tree> open{};
    std::size_t depth = solids.tree.nodes.empty() ? 0 : 1;
    while (depth > 0) {
        const BoxTree::Node& node = solids.tree.nodes[open[--depth]];
        if (!touches(node, from, inverse, far))
            continue;
        if (node.count == 0) {
            open[depth++] = node.first + 1;
            open[depth++] = node.first;
            continue;
        }
        for (std::uint32_t i = node.first; i < node.first + node.count; ++i)
            see(static_cast<std::int32_t>(solids.tree.order[i]));
    }
}

/// Calls see(RayHit) for all hits with everything.
template <typename See>
void each_hit(const Solids& solids, const Ray& ray, double limit, See&& see) {
    each_placement(solids, ray, limit, [&](std::int32_t index) { each_hit_of(solids, index, ray, limit, see); });
}

} // namespace boltwalk
