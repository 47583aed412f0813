// What follows from how everything is joined as found: which fasteners carry a part, and which join it to what stays.
//
// Both are read off the biconnected blocks of parts and fasteners (Hopcroft and Tarjan 1973, Algorithm 447), found for
// all parts by one search from the ground, which is every part that stays, taken as one.
#include <algorithm>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

/// Parts are vertices by their slots, the ground is one more. Edges are added, then search() finds the blocks.
class Blocks {
public:
    struct Edge {
        std::size_t a, b;
        ItemId fastener;
    };
    static constexpr std::size_t none = SIZE_MAX;

    explicit Blocks(std::size_t parts) : ground_(parts) {}

    std::size_t ground() const { return ground_; }

    void connect(std::size_t a, std::size_t b, ItemId fastener) {
        if (a != b)
            edges_.push_back({a, b, fastener});
    }

    /// Each two of them.
    void connect_all(const std::vector<std::size_t>& ends, ItemId fastener) {
        for (std::size_t i = 0; i < ends.size(); ++i)
            for (std::size_t j = i + 1; j < ends.size(); ++j)
                connect(ends[i], ends[j], fastener);
    }

    void search();

    const std::vector<Edge>& edges() const { return edges_; }
    /// The vertex by which an edge's block hangs from the ground; none for what does not.
    std::size_t top_of(std::size_t edge) const {
        return block_of_[edge] == none ? none : top_of_block_[block_of_[edge]];
    }

    /// Every fastener on any path from a part to the ground, once, by file; empty when it hangs on nothing that stays.
    std::vector<ItemId> between(std::size_t vertex) const {
        std::vector<ItemId> found;
        while (vertex != ground_ && block_above_[vertex] != none) {
            const std::size_t block = block_above_[vertex];
            for (std::size_t i = block_begin_[block]; i < block_begin_[block + 1]; ++i)
                found.push_back(edges_[block_edges_[i]].fastener);
            vertex = top_of_block_[block];
        }
        if (vertex != ground_)
            return {};
        std::sort(found.begin(), found.end());
        found.erase(std::unique(found.begin(), found.end()), found.end());
        return found;
    }

private:
    void close_block(std::size_t top, std::size_t first_edge, std::vector<std::size_t>& open_edges) {
        const std::size_t block = top_of_block_.size();
        for (std::size_t edge = none; edge != first_edge;) {
            edge = open_edges.back();
            open_edges.pop_back();
            block_of_[edge] = block;
            block_edges_.push_back(edge);
        }
        block_begin_.push_back(block_edges_.size());
        top_of_block_.push_back(top);
    }

    std::size_t ground_;
    std::vector<Edge> edges_;
    std::vector<std::size_t> block_of_;                     ///< edge
    std::vector<std::size_t> block_begin_{0}, block_edges_; ///< edges of each block, end to end
    std::vector<std::size_t> top_of_block_;
    std::vector<std::size_t> block_above_; ///< vertex: the block by which it hangs
};

void Blocks::search() {
    const std::size_t count = ground_ + 1;
    std::vector<std::size_t> begin(count + 1, 0);
    for (const Edge& edge : edges_) {
        ++begin[edge.a + 1];
        ++begin[edge.b + 1];
    }
    for (std::size_t v = 0; v < count; ++v)
        begin[v + 1] += begin[v];
    std::vector<std::size_t> next = begin, edges_at(edges_.size() * 2);
    for (std::size_t e = 0; e < edges_.size(); ++e) {
        edges_at[next[edges_[e].a]++] = e;
        edges_at[next[edges_[e].b]++] = e;
    }
    next = begin;
    block_of_.assign(edges_.size(), none);
    block_above_.assign(count, none);

    std::vector<std::size_t> seen(count, 0), low(count, 0), reached_by(count, none);
    std::vector<std::size_t> path{ground_}, open_edges;
    std::vector<std::uint8_t> used(edges_.size(), 0);
    std::size_t clock = 1;
    seen[ground_] = low[ground_] = clock;
    while (!path.empty()) {
        const std::size_t vertex = path.back();
        if (next[vertex] < begin[vertex + 1]) {
            const std::size_t edge = edges_at[next[vertex]++];
            if (used[edge] != 0)
                continue;
            used[edge] = 1;
            open_edges.push_back(edge);
            const std::size_t other = edges_[edge].a == vertex ? edges_[edge].b : edges_[edge].a;
            if (seen[other] == 0) {
                seen[other] = low[other] = ++clock;
                reached_by[other] = edge;
                path.push_back(other);
            } else {
                low[vertex] = std::min(low[vertex], seen[other]);
            }
            continue;
        }
        path.pop_back();
        if (path.empty())
            break;
        const std::size_t above = path.back();
        low[above] = std::min(low[above], low[vertex]);
        if (low[vertex] >= seen[above])
            close_block(above, reached_by[vertex], open_edges);
    }
    // Each vertex hangs in the block of the edge it was reached by.
    for (std::size_t v = 0; v < count; ++v)
        if (reached_by[v] != none)
            block_above_[v] = block_of_[reached_by[v]];
}

// A clip, a connector or a plug keeps a thing where it is, but no weight hangs on it.
bool can_carry(const Job& job, ItemId id) {
    const Facts& facts = fact(job, id);
    return facts.joins && facts.fastener != FastenerKind::connector && facts.fastener != FastenerKind::clip;
}

/// Calls `see` with every fastener, by file: from what lies side by side, and not from the map.
template <typename See>
void each_fastener(const Job& job, See&& see) {
    for (std::size_t i = 0; i < job.facts.size(); ++i)
        if (job.facts[i].kind == ItemKind::fastener)
            see(ItemId{static_cast<std::int32_t>(i)});
}

Blocks carrying_blocks(const Job& job) {
    Blocks blocks(job.map->parts.size());
    std::vector<std::size_t> ends;
    each_fastener(job, [&](ItemId fastener) {
        if (!can_carry(job, fastener))
            return;
        ends.clear();
        const auto holds = job.holds[slot(job, fastener)];
        for (const ItemId part : holds)
            if (!fact(job, part).flexible)
                ends.push_back(fact(job, part).fixed ? blocks.ground() : slot(job, part));
        if (holds.size() == 1 && ends.size() == 1)
            ends.push_back(blocks.ground());
        blocks.connect_all(ends, fastener);
    });
    blocks.search();
    return blocks;
}

} // namespace

Lists::Pairs find_carriers(const Job& job) {
    Lists::Pairs pairs;
    std::optional<Blocks> blocks; // only where some part's carriers are not stated
    for (std::size_t p = 0; p < job.map->parts.size(); ++p) {
        const Part& part = job.map->parts[p];
        if (part.support.empty() || part.fixed)
            continue;
        if (part.carried_by.empty() && !blocks)
            blocks = carrying_blocks(job);
        for (const ItemId id : part.carried_by.empty() ? blocks->between(p) : part.carried_by)
            pairs.emplace_back(p, id);
    }
    return pairs;
}

// What lies beyond a block's top is held without it; what lies in a block that hangs from the part hangs on the part.
Lists::Pairs find_first_joints(const Job& job) {
    Blocks blocks(job.map->parts.size());
    const auto rests = [&](ItemId part) { return fact(job, part).fixed || fact(job, part).supported; };
    std::vector<std::size_t> ends;
    each_fastener(job, [&](ItemId fastener) {
        if (!fact(job, fastener).joins)
            return;
        ends.clear();
        for (const ItemId part : job.holds[slot(job, fastener)])
            ends.push_back(rests(part) ? blocks.ground() : slot(job, part));
        if (ends.size() == 1)
            ends.push_back(blocks.ground());
        blocks.connect_all(ends, fastener);
    });
    blocks.search();
    Lists::Pairs pairs;
    const auto add = [&](std::size_t vertex, ItemId fastener) {
        if (vertex == blocks.ground())
            return;
        // A fastener's edges follow each other: of three parts, two edges lead out of each.
        for (auto pair = pairs.rbegin(); pair != pairs.rend() && pair->second == fastener; ++pair)
            if (pair->first == vertex)
                return;
        pairs.emplace_back(vertex, fastener);
    };
    for (std::size_t e = 0; e < blocks.edges().size(); ++e) {
        const auto& [a, b, fastener] = blocks.edges()[e];
        const std::size_t top = blocks.top_of(e);
        if (top == Blocks::none)
            continue; // hangs on nothing that stays
        if (top != a)
            add(a, fastener);
        if (top != b)
            add(b, fastener);
    }
    return pairs;
}

} // namespace boltwalk::inside
