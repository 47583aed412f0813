// Bounding-volume trees; no other module includes this but through solids.hpp.
//
// Why trees of our own. The same code has to run in a browser, with the same answer to the bit: Embree builds for
// neither (it needs its own SIMD back ends and TBB), and its answers differ from one instruction set to the next. A
// body is moved without touching a triangle, which its flat scenes do not offer, and all hits of a ray are kept, for
// which it has a call-back for every one. Measured beside Embree 3.13 with AVX-512 (tests/bench/trees.cpp, same rays,
// same triangles, processor time): on the big map the first hit at 0.45, all hits at 0.65, which bodies a ray meets
// at 1.3 times its rate; in one mesh of a million triangles 0.32, 0.33 and 1.6. FCL judges places, ours sweeps whole
// ways: one way of 50 mm takes half of what FCL takes for a place every millimetre, and a single place takes 25 times
// as long as FCL's, because a sweep is set up for it.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include <glm/glm.hpp>

#include "core/map/map.hpp"

namespace boltwalk {

/// Four numbers at once, by the compiler's own vectors: SSE on x86, NEON on ARM, four scalars where there is neither.
using Four = float __attribute__((vector_size(16)));

/// A tree over boxes. A leaf has count > 0 and things order[first ..]; an inner node has its children at first and
/// first + 1. `wide` is the same tree with four children a node, which rays walk; a tree put together by hand may do
/// without, and is then met thing by thing.
struct BoxTree {
    struct Node {
        glm::vec3 low;
        std::uint32_t first;
        glm::vec3 high;
        std::uint32_t count;
    };
    /// Children by lane. A leaf's count is above 0; an inner child's `first` is a wide node. Lanes left over have boxes
    /// that nothing touches.
    struct Wide {
        std::array<std::array<Four, 3>, 2> bounds; ///< low, high; by axis
        std::array<std::uint32_t, 4> first, count;
    };
    std::vector<Node> nodes;
    std::vector<Wide> wide;
    std::vector<std::uint32_t> order;
};

/// Deeper than this no tree grows; walks size their stacks by it.
constexpr int deepest_tree = 64;

/// Calls see(first, count) for each leaf of whose box, and of every box round it, wanted(node) is true; first children
/// first.
template <typename Wanted, typename See>
void each_leaf_where(const BoxTree& boxes, Wanted&& wanted, See&& see) {
    if (boxes.nodes.empty())
        return;
    std::array<std::uint32_t, std::size_t{2} * deepest_tree> open;
    open[0] = 0;
    std::size_t depth = 1;
    while (depth > 0) {
        const BoxTree::Node& node = boxes.nodes[open[--depth]];
        if (!wanted(node))
            continue;
        if (node.count > 0) {
            see(node.first, node.count);
            continue;
        }
        open[depth++] = node.first + 1;
        open[depth++] = node.first;
    }
}

/// Splits by the surface area heuristic over 16 bins (Wald, "On fast construction of SAH-based bounding volume
/// hierarchies", 2007); what no bin parts is halved by count.
/// `threads` as Effort has it; the tree is the same for any.
BoxTree grow_tree(std::span<const glm::vec3> low, std::span<const glm::vec3> high, std::uint32_t leaf_size,
                  int threads = 1);

/// One mesh's triangles in its own axes, in the order of the tree's leaves. Triangles without area are left out.
/// Corners in one place are one vertex: that is half of what triangles with places of their own would take.
struct Tree {
    struct Corners {
        glm::vec3 a, b, c;
    };
    BoxTree boxes;                                     ///< `order` is empty: triangles stand as the leaves want them
    std::vector<std::array<std::uint32_t, 3>> corners; ///< by triangle: its vertices
    std::vector<glm::vec3> vertices; ///< in the order of their first corner; one more at the end, for reading by fours
    std::vector<std::uint32_t> numbers; ///< by triangle: of the mesh, through its primitives
    std::size_t without_area = 0;

    std::size_t size() const { return corners.size(); }
    std::size_t places() const { return vertices.empty() ? 0 : vertices.size() - 1; }
    Corners triangle(std::size_t number) const {
        const auto& c = corners[number];
        return {vertices[c[0]], vertices[c[1]], vertices[c[2]]};
    }
};

/// Puts the triangles into a tree that has none yet.
void take_triangles(Tree&, std::span<const Tree::Corners>);

/// Meshes of this many triangles are worth several threads each.
constexpr std::size_t huge_mesh = 100000;

Tree grow_tree(const Mesh&, int threads = 1);

} // namespace boltwalk
