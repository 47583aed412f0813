// A bounding-volume tree over one mesh's triangles; no other module includes this.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

struct MeshTree {
    /// A leaf has count > 0 and triangles order[first ..]; an inner node has its children at first and first + 1.
    struct Box {
        glm::vec3 low;
        std::uint32_t first;
        glm::vec3 high;
        std::uint32_t count;
    };
    std::vector<Box> boxes;
    std::vector<std::uint32_t> order; ///< triangles, numbered through the mesh's primitives
};

MeshTree make_tree(const Mesh&);
const MeshTree& tree_of(const Stage&, std::int32_t mesh);

/// Along a ray in the mesh's own axes: the share of `along` at the nearest triangle below `limit`, or `limit` when
/// nothing is met. Back faces count: a cut-open or mirrored mesh is still there.
double nearest_hit(const Mesh&, const MeshTree&, const glm::dvec3& from, const glm::dvec3& along, double limit);

/// Share of `along` where a ray enters a box, or a value above `limit` when it does not.
double entry(const glm::dvec3& low, const glm::dvec3& high, const glm::dvec3& from, const glm::dvec3& inverse,
             double limit);

} // namespace boltwalk
