#include <algorithm>
#include <array>
#include <cmath>

#include "viewer/scene/tree.hpp"
#include "viewer/scene/triangles.hpp"

namespace boltwalk {

namespace {

constexpr std::uint32_t LEAF_TRIANGLES = 6;
constexpr int DEEPEST = 60; ///< halving a float's range ends before; the walk's stack is sized by it

struct Corners {
    glm::vec3 a, b, c;
};

/// Triangles of one number through all primitives.
class Numbered {
public:
    explicit Numbered(const Mesh& mesh) : mesh_(mesh) {
        std::size_t count = 0;
        for (const Primitive& primitive : mesh.primitives) {
            first_.push_back(count);
            count += primitive.index_count / 3;
        }
        count_ = count;
    }
    std::size_t count() const { return count_; }
    Corners operator[](std::size_t triangle) const {
        std::size_t p = first_.size() - 1;
        while (first_[p] > triangle)
            --p;
        const Primitive& primitive = mesh_.primitives[p];
        const std::size_t at = (triangle - first_[p]) * 3;
        return {vector_at(primitive.positions, index_at(primitive, at)),
                vector_at(primitive.positions, index_at(primitive, at + 1)),
                vector_at(primitive.positions, index_at(primitive, at + 2))};
    }

private:
    const Mesh& mesh_;
    std::vector<std::size_t> first_;
    std::size_t count_ = 0;
};

struct Builder {
    MeshTree& tree;
    const Numbered& triangles;
    std::vector<glm::vec3> centres;

    void bound(MeshTree::Box& box, std::uint32_t first, std::uint32_t count) const {
        box.low = glm::vec3(std::numeric_limits<float>::infinity());
        box.high = -box.low;
        for (std::uint32_t i = first; i < first + count; ++i) {
            const Corners corners = triangles[tree.order[i]];
            for (const glm::vec3& corner : {corners.a, corners.b, corners.c}) {
                box.low = glm::min(box.low, corner);
                box.high = glm::max(box.high, corner);
            }
        }
    }

    /// Halves the middles' own box across its longest side; where that parts nothing, halves the count.
    std::uint32_t parted(std::uint32_t first, std::uint32_t count) {
        glm::vec3 low(std::numeric_limits<float>::infinity());
        glm::vec3 high = -low;
        for (std::uint32_t i = first; i < first + count; ++i) {
            low = glm::min(low, centres[tree.order[i]]);
            high = glm::max(high, centres[tree.order[i]]);
        }
        const glm::vec3 extent = high - low;
        const int axis = extent.x >= extent.y && extent.x >= extent.z ? 0 : (extent.y >= extent.z ? 1 : 2);
        const float middle = 0.5F * (low[axis] + high[axis]);
        const auto begin = tree.order.begin() + first;
        const auto end = begin + count;
        const auto split =
            std::stable_partition(begin, end, [&](std::uint32_t t) { return centres[t][axis] < middle; });
        const auto left = static_cast<std::uint32_t>(split - begin);
        return left == 0 || left == count ? count / 2 : left;
    }

    void build() {
        struct Open {
            std::uint32_t box, first, count;
            int depth;
        };
        std::vector<Open> open{{0, 0, static_cast<std::uint32_t>(tree.order.size()), 0}};
        tree.boxes.emplace_back();
        while (!open.empty()) {
            const Open job = open.back();
            open.pop_back();
            bound(tree.boxes[job.box], job.first, job.count);
            if (job.count <= LEAF_TRIANGLES || job.depth >= DEEPEST) {
                tree.boxes[job.box].first = job.first;
                tree.boxes[job.box].count = job.count;
                continue;
            }
            const std::uint32_t left = parted(job.first, job.count);
            const auto child = static_cast<std::uint32_t>(tree.boxes.size());
            tree.boxes[job.box].first = child;
            tree.boxes[job.box].count = 0;
            tree.boxes.resize(tree.boxes.size() + 2);
            open.push_back({child, job.first, left, job.depth + 1});
            open.push_back({child + 1, job.first + left, job.count - left, job.depth + 1});
        }
    }
};

// Möller and Trumbore, "Fast, Minimum Storage Ray/Triangle Intersection", 1997, in doubles.
double meets(const Corners& corners, const glm::dvec3& from, const glm::dvec3& along, double limit) {
    const glm::dvec3 a(corners.a);
    const glm::dvec3 side = glm::dvec3(corners.b) - a;
    const glm::dvec3 other = glm::dvec3(corners.c) - a;
    const glm::dvec3 normal = glm::cross(along, other);
    const double scale = glm::dot(side, normal);
    if (scale == 0)
        return limit;
    const glm::dvec3 to = from - a;
    const double u = glm::dot(to, normal) / scale;
    if (u < 0 || u > 1)
        return limit;
    const glm::dvec3 turned = glm::cross(to, side);
    const double v = glm::dot(along, turned) / scale;
    if (v < 0 || u + v > 1)
        return limit;
    const double t = glm::dot(other, turned) / scale;
    return t >= 0 && t < limit ? t : limit;
}

} // namespace

MeshTree make_tree(const Mesh& mesh) {
    MeshTree tree;
    const Numbered triangles(mesh);
    if (triangles.count() == 0)
        return tree;
    tree.order.resize(triangles.count());
    Builder builder{tree, triangles, {}};
    builder.centres.resize(triangles.count());
    for (std::size_t i = 0; i < triangles.count(); ++i) {
        const Corners corners = triangles[i];
        tree.order[i] = static_cast<std::uint32_t>(i);
        builder.centres[i] = (corners.a + corners.b + corners.c) / 3.0F;
    }
    builder.build();
    return tree;
}

const MeshTree& tree_of(const Stage& stage, std::int32_t mesh) {
    auto& tree = stage.trees[static_cast<std::size_t>(mesh)];
    if (!tree)
        tree = std::make_shared<const MeshTree>(make_tree(stage.map->meshes[static_cast<std::size_t>(mesh)]));
    return *tree;
}

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

double nearest_hit(const Mesh& mesh, const MeshTree& tree, const glm::dvec3& from, const glm::dvec3& along,
                   double limit) {
    if (tree.boxes.empty())
        return limit;
    const Numbered triangles(mesh);
    const glm::dvec3 inverse = 1.0 / along;
    double nearest = limit;
    std::array<std::uint32_t, 2 * DEEPEST + 4> open{};
    std::size_t depth = 1;
    while (depth > 0) {
        const MeshTree::Box& box = tree.boxes[open[--depth]];
        const double enters = entry(glm::dvec3(box.low), glm::dvec3(box.high), from, inverse, nearest);
        if (!(enters <= nearest))
            continue;
        if (box.count > 0) {
            for (std::uint32_t i = box.first; i < box.first + box.count; ++i)
                nearest = meets(triangles[tree.order[i]], from, along, nearest);
            continue;
        }
        const MeshTree::Box& left = tree.boxes[box.first];
        const MeshTree::Box& right = tree.boxes[box.first + 1];
        const double to_left = entry(glm::dvec3(left.low), glm::dvec3(left.high), from, inverse, nearest);
        const double to_right = entry(glm::dvec3(right.low), glm::dvec3(right.high), from, inverse, nearest);
        const bool left_first = to_left <= to_right;
        open[depth++] = left_first ? box.first + 1 : box.first;
        open[depth++] = left_first ? box.first : box.first + 1;
    }
    return nearest;
}

} // namespace boltwalk
