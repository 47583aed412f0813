#include "core/geometry/tree.hpp"

#include <algorithm>
#include <cstring>
#include <limits>
#include <numeric>

namespace boltwalk {

namespace {

constexpr std::size_t bins = 16;
constexpr float none = std::numeric_limits<float>::infinity();

struct Extent {
    glm::vec3 low{none}, high{-none};
    void add(const glm::vec3& a, const glm::vec3& b) {
        low = glm::min(low, a);
        high = glm::max(high, b);
    }
    float half_area() const {
        const glm::vec3 size = high - low;
        return low.x > high.x ? 0.0F : size.x * size.y + size.y * size.z + size.z * size.x;
    }
};

class Grower {
public:
    Grower(std::span<const glm::vec3> low, std::span<const glm::vec3> high, std::uint32_t leaf_size)
        : low_(low), high_(high), leaf_size_(leaf_size) {}

    BoxTree grow() {
        tree_.order.resize(low_.size());
        std::iota(tree_.order.begin(), tree_.order.end(), 0U);
        if (low_.empty())
            return std::move(tree_);
        tree_.nodes.reserve(low_.size());
        tree_.nodes.emplace_back();
        std::vector<Open> open{{0, 0, static_cast<std::uint32_t>(low_.size()), 0}};
        while (!open.empty()) {
            const Open job = open.back();
            open.pop_back();
            const std::uint32_t left = fill(job);
            if (left == 0)
                continue;
            const auto child = tree_.nodes[job.node].first;
            open.push_back({child + 1, job.first + left, job.count - left, job.depth + 1});
            open.push_back({child, job.first, left, job.depth + 1});
        }
        tree_.nodes.shrink_to_fit();
        return std::move(tree_);
    }

private:
    struct Open {
        std::uint32_t node, first, count;
        int depth;
    };

    glm::vec3 middle(std::uint32_t thing) const { return 0.5F * (low_[thing] + high_[thing]); }

    /// Bounds the node and makes it a leaf (returns 0) or parts it (returns how many go left).
    std::uint32_t fill(const Open& job) {
        Extent all;
        Extent middles;
        for (std::uint32_t i = job.first; i < job.first + job.count; ++i) {
            const std::uint32_t thing = tree_.order[i];
            all.add(low_[thing], high_[thing]);
            const glm::vec3 m = middle(thing);
            middles.add(m, m);
        }
        tree_.nodes[job.node] = {all.low, job.first, all.high, job.count};
        if (job.count <= leaf_size_ || job.depth + 1 >= deepest_tree)
            return 0;
        // Halving by count for the last levels keeps the depth bounded, whatever the shapes.
        const bool by_count = job.depth > deepest_tree - 34;
        std::uint32_t left = by_count ? 0 : part(job, all, middles);
        if (left == 0 || left == job.count) {
            const glm::vec3 extent = middles.high - middles.low;
            const int axis = widest(extent);
            left = job.count / 2;
            const auto begin = tree_.order.begin() + job.first;
            std::nth_element(begin, begin + left, begin + job.count, [&](std::uint32_t a, std::uint32_t b) {
                const float x = middle(a)[axis];
                const float y = middle(b)[axis];
                return x < y || (x == y && a < b);
            });
        }
        tree_.nodes[job.node].first = static_cast<std::uint32_t>(tree_.nodes.size());
        tree_.nodes[job.node].count = 0;
        tree_.nodes.resize(tree_.nodes.size() + 2);
        return left;
    }

    static int widest(const glm::vec3& extent) {
        return extent.x >= extent.y && extent.x >= extent.z ? 0 : (extent.y >= extent.z ? 1 : 2);
    }

    /// The best of the planes between bins of the widest axis.
    std::uint32_t part(const Open& job, const Extent& all, const Extent& middles) {
        const glm::vec3 extent = middles.high - middles.low;
        const int axis = widest(extent);
        if (!(extent[axis] > 0))
            return 0;
        const float scale = static_cast<float>(bins) / extent[axis];
        const auto bin_of = [&](std::uint32_t thing) {
            const float place = (middle(thing)[axis] - middles.low[axis]) * scale;
            return std::min(static_cast<std::size_t>(place), bins - 1);
        };
        std::array<Extent, bins> boxes{};
        std::array<std::uint32_t, bins> counts{};
        for (std::uint32_t i = job.first; i < job.first + job.count; ++i) {
            const std::uint32_t thing = tree_.order[i];
            const std::size_t bin = bin_of(thing);
            boxes[bin].add(low_[thing], high_[thing]);
            ++counts[bin];
        }
        std::array<float, bins> from_left{};
        Extent grown;
        std::uint32_t count = 0;
        for (std::size_t i = 0; i + 1 < bins; ++i) {
            grown.add(boxes[i].low, boxes[i].high);
            count += counts[i];
            from_left[i] = grown.half_area() * static_cast<float>(count);
        }
        grown = {};
        count = 0;
        float best = none;
        std::size_t plane = 0;
        for (std::size_t i = bins - 1; i > 0; --i) {
            grown.add(boxes[i].low, boxes[i].high);
            count += counts[i];
            const float cost = from_left[i - 1] + grown.half_area() * static_cast<float>(count);
            if (cost < best) {
                best = cost;
                plane = i;
            }
        }
        if (!(best < all.half_area() * static_cast<float>(job.count)) && job.count <= 4 * leaf_size_)
            plane = 0; // no plane is better than looking at all of them: halve
        const auto begin = tree_.order.begin() + job.first;
        const auto split =
            std::stable_partition(begin, begin + job.count, [&](std::uint32_t t) { return bin_of(t) < plane; });
        return static_cast<std::uint32_t>(split - begin);
    }

    std::span<const glm::vec3> low_, high_;
    std::uint32_t leaf_size_;
    BoxTree tree_;
};

glm::vec3 position(const Primitive& primitive, std::size_t corner) {
    std::uint32_t index = 0;
    if (primitive.index_size == 2) {
        std::uint16_t value = 0;
        std::memcpy(&value, primitive.indices + corner * 2, sizeof value);
        index = value;
    } else {
        std::memcpy(&index, primitive.indices + corner * 4, sizeof index);
    }
    glm::vec3 value;
    std::memcpy(&value, primitive.positions.data + index * primitive.positions.stride, sizeof value);
    return value;
}

bool has_area(const Tree::Corners& t) {
    const glm::vec3 normal = glm::cross(t.b - t.a, t.c - t.a);
    return glm::dot(normal, normal) > 0;
}

} // namespace

BoxTree grow_tree(std::span<const glm::vec3> low, std::span<const glm::vec3> high, std::uint32_t leaf_size) {
    return Grower(low, high, std::max(leaf_size, 1U)).grow();
}

Tree grow_tree(const Mesh& mesh) {
    Tree tree;
    std::vector<Tree::Corners> all;
    std::vector<std::uint32_t> numbers;
    all.reserve(mesh.triangle_count);
    numbers.reserve(mesh.triangle_count);
    std::uint32_t number = 0;
    for (const Primitive& primitive : mesh.primitives)
        for (std::size_t i = 0; i + 2 < primitive.index_count; i += 3, ++number) {
            const Tree::Corners t{position(primitive, i), position(primitive, i + 1), position(primitive, i + 2)};
            if (!has_area(t)) {
                ++tree.without_area;
                continue;
            }
            all.push_back(t);
            numbers.push_back(number);
        }
    {
        std::vector<glm::vec3> low(all.size());
        std::vector<glm::vec3> high(all.size());
        for (std::size_t i = 0; i < all.size(); ++i) {
            low[i] = glm::min(all[i].a, glm::min(all[i].b, all[i].c));
            high[i] = glm::max(all[i].a, glm::max(all[i].b, all[i].c));
        }
        tree.boxes = grow_tree(low, high, 4);
    }
    tree.triangles.reserve(all.size());
    tree.numbers.reserve(all.size());
    for (const std::uint32_t i : tree.boxes.order) {
        tree.triangles.push_back(all[i]);
        tree.numbers.push_back(numbers[i]);
    }
    tree.boxes.order = {};
    return tree;
}

} // namespace boltwalk
