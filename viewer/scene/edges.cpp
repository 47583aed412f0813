// Edges to be drawn, found once a mesh: corners welded on the 16-bit grid that edges are stored on, then every pair of
// corners that two triangles share is judged by the angle between the two.
#include <algorithm>
#include <array>
#include <cmath>

#include "viewer/scene/scene.hpp"
#include "viewer/scene/triangles.hpp"

namespace boltwalk {

namespace {

constexpr float CREASE_COSINE =
    0.866F; ///< 30 degrees: sharper is drawn always. Chamfers (45) show, facets of round things do not
constexpr float OUTLINE_COSINE = 0.99985F; ///< 1 degree: flatter than this is never an outline worth its memory
constexpr float GRID = 65535.0F;
constexpr float CONCAVE_SHARE = 1e-4F; ///< of a triangle's own size by which its neighbour must rise to make a hollow

using Cell = std::array<std::uint16_t, 3>;

struct Welded {
    std::vector<Cell> cells;
    std::vector<std::uint32_t> corners; ///< three a triangle, into cells; degenerate triangles are left out
    std::vector<glm::vec3> normals;     ///< by triangle
    glm::vec3 cell_size{0.0F};          ///< metres
    std::size_t bytes = 0;              ///< of the mesh as it stands in the file
};

/// Open addressing, keys in the order met.
class Welder {
public:
    explicit Welder(std::size_t expected) {
        std::size_t size = 16;
        while (size < expected * 2)
            size *= 2;
        slots_.assign(size, 0);
    }
    std::uint32_t find_or_add(const Cell& cell, std::vector<Cell>& cells) {
        const std::uint64_t key = (std::uint64_t{cell[0]} << 32U) | (std::uint64_t{cell[1]} << 16U) | cell[2];
        std::size_t at = (key * 0x9E3779B97F4A7C15ULL >> 20U) & (slots_.size() - 1);
        while (slots_[at] != 0) {
            if (cells[slots_[at] - 1] == cell)
                return slots_[at] - 1;
            at = (at + 1) & (slots_.size() - 1);
        }
        cells.push_back(cell);
        slots_[at] = static_cast<std::uint32_t>(cells.size());
        return slots_[at] - 1;
    }

private:
    std::vector<std::uint32_t> slots_; ///< index + 1; 0 is empty
};

Welded weld(const Mesh& mesh) {
    Welded result;
    std::size_t vertices = 0;
    for (const Primitive& primitive : mesh.primitives)
        vertices += primitive.positions.count;
    Welder welder(vertices);
    result.corners.reserve(mesh.triangle_count * 3);
    result.normals.reserve(mesh.triangle_count);
    const glm::vec3 low(mesh.low[0], mesh.low[1], mesh.low[2]);
    const glm::vec3 extent = glm::vec3(mesh.high[0], mesh.high[1], mesh.high[2]) - low;
    const glm::vec3 per_metre = GRID / glm::max(extent, glm::vec3(1e-12F));
    result.cell_size = extent / GRID;
    std::vector<std::uint32_t> welded;
    for (const Primitive& primitive : mesh.primitives) {
        result.bytes += primitive.positions.count * (primitive.normals.count > 0 ? 24 : 12) +
                        primitive.index_count * static_cast<std::size_t>(primitive.index_size);
        welded.assign(primitive.positions.count, 0);
        for (std::size_t i = 0; i < primitive.positions.count; ++i) {
            const glm::vec3 share = glm::clamp((vector_at(primitive.positions, i) - low) * per_metre, 0.0F, GRID);
            const Cell cell{static_cast<std::uint16_t>(share.x + 0.5F), static_cast<std::uint16_t>(share.y + 0.5F),
                            static_cast<std::uint16_t>(share.z + 0.5F)};
            welded[i] = welder.find_or_add(cell, result.cells);
        }
        for (std::size_t i = 0; i + 2 < primitive.index_count; i += 3) {
            const std::array<std::uint32_t, 3> raw{index_at(primitive, i), index_at(primitive, i + 1),
                                                   index_at(primitive, i + 2)};
            const std::array<std::uint32_t, 3> corner{welded[raw[0]], welded[raw[1]], welded[raw[2]]};
            if (corner[0] == corner[1] || corner[1] == corner[2] || corner[2] == corner[0])
                continue;
            const glm::vec3 a = vector_at(primitive.positions, raw[0]);
            const glm::vec3 normal =
                glm::cross(vector_at(primitive.positions, raw[1]) - a, vector_at(primitive.positions, raw[2]) - a);
            const float length = glm::length(normal);
            if (!(length > 0))
                continue;
            result.corners.insert(result.corners.end(), corner.begin(), corner.end());
            result.normals.push_back(normal / length);
        }
    }
    return result;
}

struct HalfEdge {
    std::uint32_t other;
    std::uint32_t triangle;
};

/// Half edges by their lower corner: a counting sort, so that a mesh of millions is done in two passes.
struct ByCorner {
    std::vector<std::uint32_t> first;
    std::vector<HalfEdge> half_edges;
};

ByCorner by_corner(const Welded& mesh) {
    ByCorner result;
    result.first.assign(mesh.cells.size() + 1, 0);
    const auto each = [&](const auto& take) {
        for (std::size_t i = 0; i < mesh.corners.size(); ++i) {
            const std::uint32_t a = mesh.corners[i];
            const std::uint32_t b = mesh.corners[i % 3 == 2 ? i - 2 : i + 1];
            take(std::min(a, b), HalfEdge{std::max(a, b), static_cast<std::uint32_t>(i / 3)});
        }
    };
    each([&](std::uint32_t lower, HalfEdge) { ++result.first[lower + 1]; });
    for (std::size_t i = 1; i < result.first.size(); ++i)
        result.first[i] += result.first[i - 1];
    result.half_edges.resize(mesh.corners.size());
    std::vector<std::uint32_t> next(result.first.begin(), result.first.end() - 1);
    each([&](std::uint32_t lower, HalfEdge half) { result.half_edges[next[lower]++] = half; });
    return result;
}

MeshEdges::Edge packed(const Cell& from, const Cell& to, const glm::vec3& left, const glm::vec3& right) {
    MeshEdges::Edge edge{};
    std::copy(from.begin(), from.end(), edge.from);
    std::copy(to.begin(), to.end(), edge.to);
    octahedral_code(left, edge.left);
    octahedral_code(right, edge.right);
    return edge;
}

/// An edge between two corners, with the triangles on its sides.
struct Found {
    std::array<std::uint32_t, 2> ends;
    std::uint32_t left, right;
};

/// In runs that go on where the edge before ended, from one end or fork to the next: short pieces of one run can then
/// be drawn as one. Deterministic: runs start in the order in which their edges were found.
std::vector<Found> in_runs(const std::vector<Found>& found, std::size_t corner_count) {
    std::vector<std::uint32_t> first(corner_count + 1, 0);
    for (const Found& edge : found)
        for (const std::uint32_t end : edge.ends)
            ++first[end + 1];
    for (std::size_t i = 1; i < first.size(); ++i)
        first[i] += first[i - 1];
    std::vector<std::uint32_t> at_corner(found.size() * 2);
    std::vector<std::uint32_t> next(first.begin(), first.end() - 1);
    for (std::uint32_t i = 0; i < found.size(); ++i)
        for (const std::uint32_t end : found[i].ends)
            at_corner[next[end]++] = i;
    std::vector<std::uint8_t> taken(found.size(), 0);
    std::vector<Found> result;
    result.reserve(found.size());
    const auto is_end = [&](std::uint32_t corner) { return first[corner + 1] - first[corner] != 2; };
    const auto run_from = [&](std::uint32_t edge, std::uint32_t from) {
        while (!taken[edge]) {
            taken[edge] = 1;
            const auto& ends = found[edge].ends;
            const std::uint32_t to = ends[0] == from ? ends[1] : ends[0];
            result.push_back({{from, to}, found[edge].left, found[edge].right});
            if (is_end(to))
                return;
            edge = at_corner[first[to]] == edge ? at_corner[first[to] + 1] : at_corner[first[to]];
            from = to;
        }
    };
    for (std::uint32_t i = 0; i < found.size(); ++i)
        for (const std::uint32_t end : found[i].ends)
            if (is_end(end))
                run_from(i, end);
    for (std::uint32_t i = 0; i < found.size(); ++i)
        run_from(i, found[i].ends[0]); // what is left are rings
    return result;
}

/// Two faces that rise towards each other: the edge between is hidden by them whenever it might be an outline.
bool is_hollow(const Welded& mesh, std::uint32_t left, std::uint32_t right) {
    const auto point = [&](std::uint32_t triangle, std::uint32_t corner) {
        const Cell& cell = mesh.cells[mesh.corners[triangle * 3 + corner]];
        return glm::vec3(cell[0], cell[1], cell[2]) * mesh.cell_size;
    };
    const glm::vec3 at = point(left, 0);
    float rise = 0;
    float reach = 0;
    for (std::uint32_t corner = 0; corner < 3; ++corner) {
        const glm::vec3 to = point(right, corner) - at;
        rise = std::max(rise, glm::dot(to, mesh.normals[left]));
        reach = std::max(reach, glm::length(to));
    }
    return rise > CONCAVE_SHARE * reach;
}

} // namespace

// Cigolle et al., "A Survey of Efficient Representations for Independent Unit Vectors", JCGT 3(2), 2014.
void octahedral_code(const glm::vec3& normal, std::uint8_t code[2]) {
    const float sum = std::abs(normal.x) + std::abs(normal.y) + std::abs(normal.z);
    float u = sum > 0 ? normal.x / sum : 0;
    float v = sum > 0 ? normal.y / sum : 0;
    if (normal.z < 0) {
        const float folded = (1 - std::abs(v)) * (u >= 0 ? 1.0F : -1.0F);
        v = (1 - std::abs(u)) * (v >= 0 ? 1.0F : -1.0F);
        u = folded;
    }
    // Never below 0, so cutting off rounds; a page's lround() took a third of the time of all edges.
    code[0] = static_cast<std::uint8_t>((u * 0.5F + 0.5F) * 254.0F + 0.5F);
    code[1] = static_cast<std::uint8_t>((v * 0.5F + 0.5F) * 254.0F + 0.5F);
}

glm::vec3 octahedral_normal(const std::uint8_t code[2]) {
    const float u = static_cast<float>(code[0]) / 127.0F - 1.0F;
    const float v = static_cast<float>(code[1]) / 127.0F - 1.0F;
    glm::vec3 normal(u, v, 1 - std::abs(u) - std::abs(v));
    if (normal.z < 0) {
        normal.x = (1 - std::abs(v)) * (u >= 0 ? 1.0F : -1.0F);
        normal.y = (1 - std::abs(u)) * (v >= 0 ? 1.0F : -1.0F);
    }
    return glm::normalize(normal);
}

MeshEdges edges_of(const Mesh& mesh) {
    MeshEdges result;
    const Welded welded = weld(mesh);
    if (welded.corners.empty())
        return result;
    const ByCorner sorted = by_corner(welded);
    std::vector<Found> creases;
    std::vector<Found> outlines;
    std::vector<HalfEdge> around;
    for (std::uint32_t corner = 0; corner + 1 < sorted.first.size(); ++corner) {
        const auto from = sorted.half_edges.begin() + sorted.first[corner];
        const auto to = sorted.half_edges.begin() + sorted.first[corner + 1];
        around.assign(from, to);
        std::stable_sort(around.begin(), around.end(),
                         [](const HalfEdge& a, const HalfEdge& b) { return a.other < b.other; });
        for (std::size_t i = 0; i < around.size();) {
            std::size_t end = i + 1;
            while (end < around.size() && around[end].other == around[i].other)
                ++end;
            const glm::vec3& left = welded.normals[around[i].triangle];
            const glm::vec3& right = welded.normals[around[end - 1].triangle];
            const float cosine = glm::dot(left, right);
            const bool crease = end - i != 2 || cosine < CREASE_COSINE;
            result.closed = result.closed && end - i >= 2;
            const Found edge{{corner, around[i].other}, around[i].triangle, around[end - 1].triangle};
            if (crease)
                creases.push_back(edge);
            else if (cosine < OUTLINE_COSINE && !is_hollow(welded, edge.left, edge.right))
                outlines.push_back(edge);
            i = end;
        }
    }
    result.crease_count = creases.size();
    const std::size_t wanted = (creases.size() + outlines.size()) * sizeof(MeshEdges::Edge);
    result.outlines_dropped = !outlines.empty() && wanted > welded.bytes / 2;
    if (result.outlines_dropped)
        outlines.clear();
    result.edges.reserve(creases.size() + outlines.size());
    const auto keep = [&](const Found& edge) {
        result.edges.push_back(packed(welded.cells[edge.ends[0]], welded.cells[edge.ends[1]], welded.normals[edge.left],
                                      welded.normals[edge.right]));
    };
    for (const Found& edge : in_runs(creases, welded.cells.size()))
        keep(edge);
    for (const Found& edge : outlines)
        keep(edge);
    return result;
}

} // namespace boltwalk
