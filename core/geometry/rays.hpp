// The walk of a ray through the trees, open to inlining; sources of core/geometry include this, others solids.hpp.
#pragma once

#include <array>
#include <bit>
#include <cstring>
#include <limits>

#if defined(__SSE__)
#include <xmmintrin.h>
#endif

#include "core/geometry/solids.hpp"

namespace boltwalk {

/// Rays begin this far off the surface, metres, so that rounding (a quarter of a micrometre, 3 m from the origin)
/// does not let them begin below it. More: what touches the head begins to be overlooked.
inline constexpr double off_surface_m = 2e-5;

/// A ray in the axes of one mesh; distances stay those of the world's ray.
struct MeshRay {
    glm::vec3 from, along, inverse;
};

inline MeshRay in_mesh(const Placement& placement, const Ray& ray) {
    const glm::dvec3 along = glm::dmat3(placement.inverse) * ray.along;
    return {glm::vec3(placement.inverse * glm::dvec4(ray.from, 1.0)), glm::vec3(along), glm::vec3(1.0 / along)};
}

/// Does the ray touch the box between 0 and `limit`? As below, for one box.
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

/// A ray four times over, against the boxes of a wide node.
struct Slabs {
    std::array<Four, 3> from, inverse;
    std::array<std::size_t, 3> near; ///< which of low and high it meets first, by axis
};

inline Four four(float value) {
    return Four{value, value, value, value};
}

/// The outcome of a comparison, a bit a lane.
template <typename Lanes>
unsigned bits_of(const Lanes& lanes) {
#if defined(__SSE__)
    return static_cast<unsigned>(_mm_movemask_ps(std::bit_cast<__m128>(lanes)));
#else
    unsigned bits = 0;
    for (unsigned lane = 0; lane < 4; ++lane)
        bits |= lanes[lane] != 0 ? 1U << lane : 0U;
    return bits;
#endif
}

inline Slabs slabs_of(const glm::vec3& from, const glm::vec3& inverse) {
    Slabs slabs{};
    for (std::size_t axis = 0; axis < 3; ++axis) {
        const int a = static_cast<int>(axis);
        slabs.from[axis] = four(from[a]);
        slabs.inverse[axis] = four(inverse[a]);
        slabs.near[axis] = inverse[a] < 0 ? 1 : 0;
    }
    return slabs;
}

/// Which of the four boxes the ray touches between 0 and `limit`, as bits; `enter` is where. A ray within a slab's
/// plane gives 0 * infinity; such a comparison is false and leaves the bounds as they are. The last factor pays for
/// rounding, so that flat boxes are not lost (Ize, "Robust BVH Ray Traversal", 2013).
inline unsigned touches(const BoxTree::Wide& node, const Slabs& ray, float limit, Four& enter) {
    enter = four(0);
    Four leave = four(limit);
    for (std::size_t axis = 0; axis < 3; ++axis) {
        const Four first = (node.bounds[ray.near[axis]][axis] - ray.from[axis]) * ray.inverse[axis];
        const Four last = (node.bounds[1 - ray.near[axis]][axis] - ray.from[axis]) * ray.inverse[axis];
        enter = first > enter ? first : enter;
        leave = last < leave ? last : leave;
    }
    return bits_of(enter <= leave * four(1.0000004F));
}

/// Three lanes more than it takes off the stack, at every level.
constexpr std::size_t walk_stack = 3 * deepest_tree + 4;

/// Calls see(first, count) for every leaf whose box the ray touches, in no particular order; see returns true to stop.
template <typename See>
bool any_leaf(const BoxTree& tree, const Slabs& ray, float limit, See&& see) {
    if (tree.wide.empty())
        return !tree.nodes.empty() && see(0U, static_cast<std::uint32_t>(tree.nodes[0].count));
    std::array<std::uint32_t, walk_stack>
        open; // NOLINT(cppcoreguidelines-pro-type-member-init): written before it is read
    open[0] = 0;
    std::size_t depth = 1;
    Four enter;
    while (depth > 0) {
        const BoxTree::Wide& node = tree.wide[open[--depth]];
        for (unsigned bits = touches(node, ray, limit, enter); bits != 0; bits &= bits - 1) {
            const auto lane = static_cast<std::size_t>(std::countr_zero(bits));
            if (node.count[lane] == 0)
                open[depth++] = node.first[lane];
            else if (see(node.first[lane], node.count[lane]))
                return true;
        }
    }
    return false;
}

/// The same from near to far, and only up to where `limit` stands: see makes it smaller as it finds.
template <typename See>
void each_leaf_from_near(const BoxTree& tree, const Slabs& ray, const float& limit, See&& see) {
    if (tree.wide.empty()) {
        if (!tree.nodes.empty())
            see(0U, static_cast<std::uint32_t>(tree.nodes[0].count));
        return;
    }
    struct Open {
        float enter;
        std::uint32_t first, count;
    };
    std::array<Open, walk_stack> open; // NOLINT(cppcoreguidelines-pro-type-member-init)
    open[0] = {0, 0, 0};
    std::size_t depth = 1;
    Four enter;
    while (depth > 0) {
        const Open next = open[--depth];
        if (next.enter > limit * 1.0000004F)
            continue;
        if (next.count > 0) {
            see(next.first, next.count);
            continue;
        }
        const BoxTree::Wide& node = tree.wide[next.first];
        const std::size_t base = depth;
        for (unsigned bits = touches(node, ray, limit, enter); bits != 0; bits &= bits - 1) {
            const auto lane = static_cast<std::size_t>(std::countr_zero(bits));
            const Open child{enter[lane], node.first[lane], node.count[lane]};
            std::size_t place = depth++;
            for (; place > base && open[place - 1].enter < child.enter; --place)
                open[place] = open[place - 1];
            open[place] = child;
        }
    }
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

/// The same for up to four triangles at once, to the same bits. Which are met, a bit each; of those `distance` and
/// `entering` say the rest.
inline unsigned meets_four(const Tree& tree, std::uint32_t begin, std::uint32_t count, const MeshRay& ray, float limit,
                           Four& distance, unsigned& entering) {
    // A place and what follows it, one triangle a row; turned, a coordinate a row.
    std::array<Four, 4> of_a, of_b, of_c;
    for (std::uint32_t i = 0; i < 4; ++i) {
        const auto& corners = tree.corners[begin + (i < count ? i : 0)];
        std::memcpy(&of_a[i], &tree.vertices[corners[0]].x, sizeof(Four));
        std::memcpy(&of_b[i], &tree.vertices[corners[1]].x, sizeof(Four));
        std::memcpy(&of_c[i], &tree.vertices[corners[2]].x, sizeof(Four));
    }
    const auto turned = [](std::array<Four, 4>& r) {
        const Four a = __builtin_shufflevector(r[0], r[1], 0, 4, 1, 5);
        const Four b = __builtin_shufflevector(r[2], r[3], 0, 4, 1, 5);
        const Four c = __builtin_shufflevector(r[0], r[1], 2, 6, 3, 7);
        const Four d = __builtin_shufflevector(r[2], r[3], 2, 6, 3, 7);
        r = {__builtin_shufflevector(a, b, 0, 1, 4, 5), __builtin_shufflevector(a, b, 2, 3, 6, 7),
             __builtin_shufflevector(c, d, 0, 1, 4, 5), __builtin_shufflevector(c, d, 2, 3, 6, 7)};
    };
    turned(of_a);
    turned(of_b);
    turned(of_c);
    struct Three {
        Four x, y, z;
    };
    const auto cross = [](const Three& a, const Three& b) {
        return Three{a.y * b.z - b.y * a.z, a.z * b.x - b.z * a.x, a.x * b.y - b.x * a.y};
    };
    const auto dot = [](const Three& a, const Three& b) { return a.x * b.x + a.y * b.y + a.z * b.z; };
    const Three a{of_a[0], of_a[1], of_a[2]};
    const Three side{of_b[0] - a.x, of_b[1] - a.y, of_b[2] - a.z};
    const Three other{of_c[0] - a.x, of_c[1] - a.y, of_c[2] - a.z};
    const Three along{four(ray.along.x), four(ray.along.y), four(ray.along.z)};
    const Three p = cross(along, other);
    const Four scale = dot(side, p);
    const Four inverse = four(1) / scale;
    const Three to{four(ray.from.x) - a.x, four(ray.from.y) - a.y, four(ray.from.z) - a.z};
    const Four u = dot(to, p) * inverse;
    const unsigned asked = (1U << (count < 4 ? count : 4U)) - 1;
    unsigned met = bits_of((scale != four(0)) & (u >= four(0)) & (u <= four(1))) & asked;
    if (met == 0)
        return 0;
    const Three q = cross(to, side);
    const Four v = dot(along, q) * inverse;
    distance = dot(other, q) * inverse;
    met &= bits_of((v >= four(0)) & (u + v <= four(1)) & (distance >= four(0)) & (distance <= four(limit)));
    entering = bits_of(scale > four(0));
    return met;
}

/// Calls see(index, distance, entering) for every triangle of a leaf that the ray meets; see returns true to stop.
template <typename See>
bool any_met(const Tree& tree, std::uint32_t first, std::uint32_t count, const MeshRay& ray, const float& limit,
             See&& see) {
    for (std::uint32_t begin = first; begin < first + count; begin += 4) {
        Four distance;
        unsigned entering = 0;
        for (unsigned met = meets_four(tree, begin, first + count - begin, ray, limit, distance, entering); met != 0;
             met &= met - 1) {
            const auto lane = static_cast<unsigned>(std::countr_zero(met));
            if (see(begin + lane, distance[lane], (entering >> lane & 1U) != 0))
                return true;
        }
    }
    return false;
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
    any_leaf(tree.boxes, slabs_of(own.from, own.inverse), far, [&](std::uint32_t first, std::uint32_t count) {
        return any_met(tree, first, count, own, far, [&](std::uint32_t i, float distance, bool entering) {
            see(RayHit{static_cast<double>(distance), placement.body, index, tree.numbers[i], entering});
            return false;
        });
    });
}

/// Does the ray meet anything of one placement?
inline bool meets(const Solids& solids, std::int32_t index, const Ray& ray, double limit) {
    const Placement& placement = solids.placements[static_cast<std::size_t>(index)];
    const Tree& tree = *solids.meshes[static_cast<std::size_t>(placement.mesh)];
    const MeshRay own = in_mesh(placement, ray);
    const float far = upward(limit);
    return any_leaf(tree.boxes, slabs_of(own.from, own.inverse), far, [&](std::uint32_t first, std::uint32_t count) {
        return any_met(tree, first, count, own, far, [](std::uint32_t, float, bool) { return true; });
    });
}

/// Calls see(placement) for every placement whose box the ray touches.
template <typename See>
void each_placement(const Solids& solids, const Ray& ray, double limit, See&& see) {
    any_leaf(solids.tree, slabs_of(glm::vec3(ray.from), glm::vec3(1.0 / ray.along)), upward(limit),
             [&](std::uint32_t first, std::uint32_t count) {
                 for (std::uint32_t i = first; i < first + count; ++i)
                     see(static_cast<std::int32_t>(solids.tree.order[i]));
                 return false;
             });
}

/// Calls see(RayHit) for all hits with everything.
template <typename See>
void each_hit(const Solids& solids, const Ray& ray, double limit, See&& see) {
    each_placement(solids, ray, limit, [&](std::int32_t index) { each_hit_of(solids, index, ray, limit, see); });
}

} // namespace boltwalk
