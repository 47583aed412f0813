// Bounding-volume trees; no other module includes this but through solids.hpp.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include <glm/glm.hpp>

#include "core/map/map.hpp"

namespace boltwalk {

/// A tree over boxes. A leaf has count > 0 and things order[first ..]; an inner node has its children at first and
/// first + 1.
struct BoxTree {
    struct Node {
        glm::vec3 low;
        std::uint32_t first;
        glm::vec3 high;
        std::uint32_t count;
    };
    std::vector<Node> nodes;
    std::vector<std::uint32_t> order;
};

/// Deeper than this no tree grows; walks size their stacks by it.
constexpr int deepest_tree = 64;

/// Splits by the surface area heuristic over 16 bins (Wald, "On fast construction of SAH-based bounding volume
/// hierarchies", 2007); what no bin parts is halved by count.
BoxTree grow_tree(std::span<const glm::vec3> low, std::span<const glm::vec3> high, std::uint32_t leaf_size);

/// One mesh's triangles in its own axes, in the order of the tree's leaves. Triangles without area are left out.
struct Tree {
    struct Corners {
        glm::vec3 a, b, c;
    };
    BoxTree boxes; ///< `order` is empty: triangles stand as the leaves want them
    std::vector<Corners> triangles;
    std::vector<std::uint32_t> numbers; ///< of the mesh, through its primitives
    std::size_t without_area = 0;
};

Tree grow_tree(const Mesh&);

} // namespace boltwalk
