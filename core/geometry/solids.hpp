// Bodies in space, made once from a map.
//
// A body is what moves as one: all meshes of an item (a part without its fasteners, a fastener), or one scenery node.
// Bodies stand in file order of their first node. Meshes are kept once, in their own axes, however often they are
// placed; moving a body means building a small tree over placements again, never touching a triangle.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <functional>
#include <limits>
#include <memory>
#include <span>
#include <vector>

#include <glm/glm.hpp>

#include "core/geometry/tree.hpp"
#include "core/map/map.hpp"

namespace boltwalk {

/// How much work may be done at once, and who is told. Results do not depend on it.
struct Effort {
    int threads = 0; ///< 0: as many as the machine has cores
    /// Called now and then, from the calling thread, with a share from 0 to 1; false stops: the result is then
    /// incomplete and only good for being thrown away. May be empty.
    std::function<bool(float)> progress;
};

struct Bounds {
    glm::dvec3 low{std::numeric_limits<double>::infinity()};
    glm::dvec3 high{-std::numeric_limits<double>::infinity()};
    bool empty() const { return low.x > high.x; }
    void add(const glm::dvec3& point) {
        low = glm::min(low, point);
        high = glm::max(high, point);
    }
    void add(const Bounds& other) {
        low = glm::min(low, other.low);
        high = glm::max(high, other.high);
    }
    glm::dvec3 centre() const { return 0.5 * (low + high); }
    glm::dvec3 size() const { return high - low; }
    /// Of the ball through the corners; 0 when empty.
    double radius() const { return empty() ? 0 : 0.5 * glm::length(size()); }
};

struct Body {
    ItemId item;            ///< none: scenery
    std::int32_t node = -1; ///< its first node, for naming it
    std::vector<std::int32_t> placements;
    Bounds bounds;
};

/// A mesh in a place.
struct Placement {
    std::int32_t node = -1, mesh = -1, body = -1;
    glm::dmat4 world{1.0}, inverse{1.0};
    Bounds bounds;
    bool mirrored = false; ///< the placement turns the triangles' sense round
};

struct Solids {
    const Map* map = nullptr;
    std::vector<Body> bodies;
    std::vector<Placement> placements;
    std::vector<std::int32_t> body_of;               ///< item: its body, or -1 where it has no triangles
    std::vector<std::shared_ptr<const Tree>> meshes; ///< by mesh; null where it is not shown
    BoxTree tree;                                    ///< over placements
    Bounds bounds;                                   ///< of everything
    std::vector<Finding> findings;                   ///< degenerate shapes, a model in millimetres
};

/// Holds a pointer to the map, which must outlive it. Flattened placements and meshes without area give no placement.
Solids make_solids(const Map&, const Effort& = {});

/// The same bodies with some moved: `shift` by body, in metres. Meshes are shared, so this is cheap.
Solids moved(const Solids&, std::span<const glm::dvec3> shift);

/// How the bodies are in some state, by body. Empty vectors: all there, nothing moved.
struct Arrangement {
    std::vector<std::uint8_t> there;
    std::vector<glm::dvec3> shift; ///< metres
};

/// A state in which parts hang lowered: where that puts the bodies.
struct LoweredCase {
    std::vector<ItemId> parts; ///< those let down, by index
    std::vector<glm::dvec3> shift;
};

/// Name for people of a body: its item's title, else its node's name.
std::string name_of(const Solids&, std::int32_t body);

struct Ray {
    glm::dvec3 from{0.0};
    glm::dvec3 along{0, 0, 1}; ///< distances are in lengths of this
};

struct RayHit {
    double distance = 0; ///< in lengths of `along`
    std::int32_t body = -1, placement = -1;
    std::uint32_t triangle = 0; ///< of the mesh, through its primitives
    bool entering = false; ///< met from outside, as the triangles are wound; a mirror's image is wound the other way
};

/// All that the ray meets up to `limit`, in no particular order (sort them where it matters); hits at distance 0 count.
/// `out` is emptied first and keeps its memory.
void all_hits(const Solids&, const Ray&, double limit, std::vector<RayHit>& out);

/// The nearest of what is there (`there` by body, empty: everything), or a body of -1.
RayHit first_hit(const Solids&, const Ray&, double limit, std::span<const std::uint8_t> there = {});

/// Which bodies the ray meets up to `limit`, each once, by index. `out` is emptied first.
void bodies_met(const Solids&, const Ray&, double limit, std::vector<std::int32_t>& out);

struct Triangle {
    glm::dvec3 a, b, c; ///< in the world
    std::int32_t body = -1, placement = -1;
    std::uint32_t number = 0; ///< of the mesh
};

/// Every triangle whose box touches `box`. Instances in order of index, so the order is the same everywhere.
void each_triangle(const Solids&, const Bounds& box, const std::function<void(const Triangle&)>& see);
/// The placements in whose leaves of the tree wanted(node) is true, by index.
template <typename Wanted>
std::vector<std::int32_t> placements_where(const Solids& solids, Wanted&& wanted) {
    std::vector<std::int32_t> found;
    each_leaf_where(solids.tree, wanted, [&](std::uint32_t first, std::uint32_t count) {
        for (std::uint32_t i = first; i < first + count; ++i)
            found.push_back(static_cast<std::int32_t>(solids.tree.order[i]));
    });
    std::sort(found.begin(), found.end());
    return found;
}
/// All triangles of one body.
void each_triangle_of(const Solids&, std::int32_t body, const std::function<void(const Triangle&)>& see);

/// Calls work(i) for every i below `count`, on several threads where that helps. work writes to its own slot i only, so
/// the answer does not depend on threads. False when progress said stop.
bool in_parallel(std::size_t count, const Effort&, const std::function<void(std::size_t)>& work);

} // namespace boltwalk
