#include "core/geometry/tree.hpp"

#include <algorithm>
#include <bit>
#include <cstring>
#include <limits>
#include <numeric>

#include "core/geometry/bits.hpp"
#include "core/geometry/solids.hpp"

namespace boltwalk {

namespace {

constexpr std::size_t bins = 16;
/// Triangles in a leaf at most. Fewer: more nodes than triangles; more: more triangles looked at in vain.
constexpr std::uint32_t leaf_triangles = 4;
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

    /// The first splits level by level, each level's on all threads; then whole subtrees on each. Where what is small
    /// enough begins does not depend on the threads, so neither does the tree.
    BoxTree grow(int threads) {
        order_.resize(low_.size());
        std::iota(order_.begin(), order_.end(), 0U);
        BoxTree tree;
        if (low_.empty())
            return tree;
        tree.nodes.emplace_back();
        std::vector<Open> small;
        std::vector<Open> level{{0, 0, static_cast<std::uint32_t>(low_.size()), 0}};
        while (!level.empty()) {
            std::vector<Open> big;
            for (const Open& job : level)
                (job.count > subtree ? big : small).push_back(job);
            std::vector<Cut> cuts(big.size());
            in_parallel(big.size(), {threads, {}}, [&](std::size_t i) { cuts[i] = cut(big[i]); });
            level.clear();
            for (std::size_t i = 0; i < big.size(); ++i)
                put(tree.nodes, big[i], cuts[i], level);
        }
        std::vector<std::vector<BoxTree::Node>> grown(small.size());
        in_parallel(small.size(), {threads, {}}, [&](std::size_t i) { grown[i] = grow_below(small[i]); });
        for (std::size_t i = 0; i < small.size(); ++i) {
            const auto base = static_cast<std::uint32_t>(tree.nodes.size());
            for (std::size_t k = 0; k < grown[i].size(); ++k) {
                BoxTree::Node& node = grown[i][k];
                if (node.count == 0)
                    node.first += base - 1; // its root stands where the job says, all others behind what is there
                if (k == 0)
                    tree.nodes[small[i].node] = node;
                else
                    tree.nodes.push_back(node);
            }
            grown[i] = {};
        }
        tree.order = std::move(order_);
        return tree;
    }

private:
    /// More: less to do for all threads together. Fewer: more joints between subtrees.
    static constexpr std::uint32_t subtree = 1U << 15U;

    struct Open {
        std::uint32_t node, first, count;
        int depth;
    };

    struct Cut {
        Extent all;
        std::uint32_t left = 0; ///< how many go left; 0: a leaf
    };

    static void put(std::vector<BoxTree::Node>& nodes, const Open& job, const Cut& cut, std::vector<Open>& open) {
        if (cut.left == 0) {
            nodes[job.node] = {cut.all.low, job.first, cut.all.high, job.count};
            return;
        }
        const auto child = static_cast<std::uint32_t>(nodes.size());
        nodes[job.node] = {cut.all.low, child, cut.all.high, 0};
        nodes.resize(nodes.size() + 2);
        open.push_back({child + 1, job.first + cut.left, job.count - cut.left, job.depth + 1});
        open.push_back({child, job.first, cut.left, job.depth + 1});
    }

    std::vector<BoxTree::Node> grow_below(Open job) {
        std::vector<BoxTree::Node> nodes;
        nodes.reserve(job.count);
        nodes.emplace_back();
        job.node = 0;
        std::vector<Open> open{job};
        while (!open.empty()) {
            const Open next = open.back();
            open.pop_back();
            put(nodes, next, cut(next), open);
        }
        nodes.shrink_to_fit();
        return nodes;
    }

    glm::vec3 middle(std::uint32_t thing) const { return 0.5F * (low_[thing] + high_[thing]); }

    /// Bounds the node and parts it, or leaves it a leaf.
    Cut cut(const Open& job) {
        Cut result;
        Extent middles;
        for (std::uint32_t i = job.first; i < job.first + job.count; ++i) {
            const std::uint32_t thing = order_[i];
            result.all.add(low_[thing], high_[thing]);
            const glm::vec3 m = middle(thing);
            middles.add(m, m);
        }
        if (job.count <= leaf_size_ || job.depth + 1 >= deepest_tree)
            return result;
        // Halving by count for the last levels keeps the depth bounded, whatever the shapes.
        const bool by_count = job.depth > deepest_tree - 34;
        std::uint32_t left = by_count ? 0 : part(job, result.all, middles);
        if (left == 0 || left == job.count) {
            const glm::vec3 extent = middles.high - middles.low;
            const int axis = widest(extent);
            left = job.count / 2;
            const auto begin = order_.begin() + job.first;
            std::nth_element(begin, begin + left, begin + job.count, [&](std::uint32_t a, std::uint32_t b) {
                const float x = middle(a)[axis];
                const float y = middle(b)[axis];
                return x < y || (x == y && a < b);
            });
        }
        result.left = left;
        return result;
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
            const std::uint32_t thing = order_[i];
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
        const auto begin = order_.begin() + job.first;
        const auto split =
            std::stable_partition(begin, begin + job.count, [&](std::uint32_t t) { return bin_of(t) < plane; });
        return static_cast<std::uint32_t>(split - begin);
    }

    std::span<const glm::vec3> low_, high_;
    std::uint32_t leaf_size_;
    std::vector<std::uint32_t> order_;
};

float half_area(const BoxTree::Node& node) {
    const glm::vec3 size = node.high - node.low;
    return size.x * size.y + size.y * size.z + size.z * size.x;
}

/// Four children a node: of the children met so far, the largest is opened until there are four (Wald, Benthin, Boulos,
/// "Getting rid of packets", 2008).
void widen(BoxTree& tree) {
    tree.wide.clear();
    if (tree.nodes.empty())
        return;
    struct Open {
        std::uint32_t from, to;
    };
    tree.wide.emplace_back();
    std::vector<Open> open{{0, 0}};
    while (!open.empty()) {
        const Open job = open.back();
        open.pop_back();
        std::array<std::uint32_t, 4> children{job.from};
        std::size_t count = 1;
        while (count < 4) {
            std::size_t largest = count;
            for (std::size_t i = 0; i < count; ++i) {
                const BoxTree::Node& node = tree.nodes[children[i]];
                if (node.count == 0 && (largest == count || half_area(node) > half_area(tree.nodes[children[largest]])))
                    largest = i;
            }
            if (largest == count)
                break;
            const std::uint32_t first = tree.nodes[children[largest]].first;
            children[largest] = first;
            children[count++] = first + 1;
        }
        BoxTree::Wide wide{};
        for (std::size_t lane = 0; lane < 4; ++lane) {
            const bool used = lane < count;
            const BoxTree::Node node =
                used ? tree.nodes[children[lane]] : BoxTree::Node{glm::vec3(none), 0, glm::vec3(-none), 1};
            for (std::size_t axis = 0; axis < 3; ++axis) {
                wide.bounds[0][axis][lane] = node.low[static_cast<int>(axis)];
                wide.bounds[1][axis][lane] = node.high[static_cast<int>(axis)];
            }
            wide.first[lane] = node.first;
            wide.count[lane] = node.count;
            if (used && node.count == 0) {
                wide.first[lane] = static_cast<std::uint32_t>(tree.wide.size());
                tree.wide.emplace_back();
                open.push_back({children[lane], wide.first[lane]});
            }
        }
        tree.wide[job.to] = wide;
    }
    tree.wide.shrink_to_fit();
}

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

BoxTree grow_tree(std::span<const glm::vec3> low, std::span<const glm::vec3> high, std::uint32_t leaf_size,
                  int threads) {
    BoxTree tree = Grower(low, high, std::max(leaf_size, 1U)).grow(threads);
    widen(tree);
    return tree;
}

void take_triangles(Tree& tree, std::span<const Tree::Corners> triangles) {
    if (triangles.empty())
        return;
    constexpr std::uint32_t free = std::numeric_limits<std::uint32_t>::max();
    const std::size_t slots = std::bit_ceil(2 * triangles.size() + 1); // closed: half as many places as triangles
    std::vector<std::uint32_t> table(slots, free);
    const auto grow = [&] {
        table.assign(2 * table.size(), free);
        for (std::uint32_t v = 0; v < tree.vertices.size(); ++v) {
            std::size_t slot = hash_of(tree.vertices[v]) & (table.size() - 1);
            while (table[slot] != free)
                slot = (slot + 1) & (table.size() - 1);
            table[slot] = v;
        }
    };
    const auto vertex = [&](const glm::vec3& place) {
        if (2 * tree.vertices.size() >= table.size())
            grow();
        std::size_t slot = hash_of(place) & (table.size() - 1);
        while (table[slot] != free && tree.vertices[table[slot]] != place)
            slot = (slot + 1) & (table.size() - 1);
        if (table[slot] == free) {
            table[slot] = static_cast<std::uint32_t>(tree.vertices.size());
            tree.vertices.push_back(place);
        }
        return table[slot];
    };
    tree.corners.reserve(triangles.size());
    for (const Tree::Corners& t : triangles) {
        const std::uint32_t a = vertex(t.a);
        const std::uint32_t b = vertex(t.b);
        tree.corners.push_back({a, b, vertex(t.c)});
    }
    tree.vertices.emplace_back(0.0F);
    tree.vertices.shrink_to_fit();
}

Tree grow_tree(const Mesh& mesh, int threads) {
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
        tree.boxes = grow_tree(low, high, leaf_triangles, threads);
    }
    std::vector<Tree::Corners> ordered;
    ordered.reserve(all.size());
    tree.numbers.reserve(all.size());
    for (const std::uint32_t i : tree.boxes.order) {
        ordered.push_back(all[i]);
        tree.numbers.push_back(numbers[i]);
    }
    all = {};
    tree.boxes.order = {};
    take_triangles(tree, ordered);
    return tree;
}

} // namespace boltwalk
