// Which fasteners carry a part, where the author does not say.
#include <algorithm>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

// A clip, a connector or a plug keeps a thing where it is, but no weight hangs on it.
bool can_carry(const Fastener& fastener) {
    return joins(fastener) && fastener.kind != FastenerKind::connector && fastener.kind != FastenerKind::clip;
}

/// The fasteners on any path of parts from a part to the body that stays: the edges of the biconnected blocks between
/// the two (Hopcroft and Tarjan 1973, Algorithm 447), found once for all parts by one search from the ground.
class Carriers {
public:
    explicit Carriers(const Map& map) : map_(map), ground_(map.parts.size()) {
        edges_at_.resize(ground_ + 1);
        for (const Fastener& fastener : map.fasteners)
            if (can_carry(fastener))
                add(fastener);
        search();
    }

    std::vector<ItemId> of(ItemId part) const {
        std::vector<ItemId> found;
        std::size_t vertex = slot(map_, part);
        while (vertex != ground_ && block_above_[vertex] >= 0) {
            const auto block = at(block_above_[vertex]);
            for (const std::size_t edge : blocks_[block])
                found.push_back(edges_[edge].fastener);
            vertex = top_of_[block];
        }
        if (vertex != ground_)
            return {}; // hangs on nothing that stays
        std::sort(found.begin(), found.end());
        found.erase(std::unique(found.begin(), found.end()), found.end());
        return found;
    }

private:
    struct Edge {
        std::size_t a, b;
        ItemId fastener;
    };

    std::size_t vertex_of(ItemId part) const { return map_.part(part).fixed ? ground_ : slot(map_, part); }

    void connect(std::size_t a, std::size_t b, ItemId fastener) {
        if (a == b)
            return;
        edges_at_[a].push_back(edges_.size());
        edges_at_[b].push_back(edges_.size());
        edges_.push_back({a, b, fastener});
    }

    void add(const Fastener& fastener) {
        std::vector<std::size_t> ends;
        for (const ItemId part : fastener.holds)
            if (!map_.part(part).flexible)
                ends.push_back(vertex_of(part));
        if (fastener.holds.size() == 1 && ends.size() == 1)
            ends.push_back(ground_);
        for (std::size_t i = 0; i < ends.size(); ++i)
            for (std::size_t j = i + 1; j < ends.size(); ++j)
                connect(ends[i], ends[j], fastener.item);
    }

    void search() {
        const std::size_t count = edges_at_.size();
        std::vector<std::size_t> seen(count, 0), low(count, 0), next(count, 0), parent_edge(count, edges_.size());
        std::vector<std::size_t> path, open_edges;
        std::vector<std::uint8_t> used(edges_.size(), 0);
        block_above_.assign(count, -1);
        std::size_t clock = 0;
        seen[ground_] = low[ground_] = ++clock;
        path.push_back(ground_);
        while (!path.empty()) {
            const std::size_t vertex = path.back();
            if (next[vertex] < edges_at_[vertex].size()) {
                const std::size_t edge = edges_at_[vertex][next[vertex]++];
                if (used[edge])
                    continue;
                used[edge] = 1;
                open_edges.push_back(edge);
                const std::size_t other = edges_[edge].a == vertex ? edges_[edge].b : edges_[edge].a;
                if (seen[other] == 0) {
                    seen[other] = low[other] = ++clock;
                    parent_edge[other] = edge;
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
                close_block(above, parent_edge[vertex], open_edges);
        }
        // Each vertex hangs in the block of the edge it was reached by.
        for (std::size_t block = 0; block < blocks_.size(); ++block)
            for (const std::size_t edge : blocks_[block])
                for (const std::size_t vertex : {edges_[edge].a, edges_[edge].b})
                    if (parent_edge[vertex] == edge)
                        block_above_[vertex] = static_cast<std::int32_t>(block);
    }

    void close_block(std::size_t top, std::size_t first_edge, std::vector<std::size_t>& open_edges) {
        std::vector<std::size_t> block;
        while (!open_edges.empty()) {
            block.push_back(open_edges.back());
            open_edges.pop_back();
            if (block.back() == first_edge)
                break;
        }
        blocks_.push_back(std::move(block));
        top_of_.push_back(top);
    }

    const Map& map_;
    std::size_t ground_;
    std::vector<Edge> edges_;
    std::vector<std::vector<std::size_t>> edges_at_;
    std::vector<std::vector<std::size_t>> blocks_;
    std::vector<std::size_t> top_of_;
    std::vector<std::int32_t> block_above_;
};

} // namespace

void find_carriers(const Map& map, Lists::Pairs& pairs) {
    std::optional<Carriers> carriers; // only where some part's carriers are not stated
    for (std::size_t p = 0; p < map.parts.size(); ++p) {
        const Part& part = map.parts[p];
        if (part.support.empty() || part.fixed)
            continue;
        if (part.carried_by.empty() && !carriers)
            carriers.emplace(map);
        for (const ItemId id : part.carried_by.empty() ? carriers->of(part.item) : part.carried_by)
            pairs.emplace_back(p, id);
    }
}

} // namespace boltwalk::inside
