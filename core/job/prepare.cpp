// What follows from a map once: who joins whom, what carries whom, which pin locks which nut.
#include <algorithm>
#include <map>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

namespace inside {

bool is_loose_piece(FastenerKind kind) {
    return kind == FastenerKind::washer || kind == FastenerKind::spacer || kind == FastenerKind::shim;
}

bool is_lock(FastenerKind kind) {
    return kind == FastenerKind::split_pin || kind == FastenerKind::lock_wire || kind == FastenerKind::tab;
}

bool is_plug(FastenerKind kind) {
    return kind == FastenerKind::plug || kind == FastenerKind::drain_plug || kind == FastenerKind::fill_plug ||
           kind == FastenerKind::level_plug;
}

bool is_nut(FastenerKind kind) {
    return kind == FastenerKind::nut || kind == FastenerKind::castle_nut;
}

namespace {

bool is_turned(const Fastener& fastener) {
    if (fastener.thread || !fastener.drive)
        return fastener.thread.has_value();
    const DriveKind kind = fastener.drive->kind;
    return kind != DriveKind::hand && kind != DriveKind::pliers && kind != DriveKind::none;
}

} // namespace

bool is_pushed(const Fastener& fastener) {
    switch (fastener.kind) {
    case FastenerKind::clip:
        return !is_turned(fastener);
    case FastenerKind::hanger:
    case FastenerKind::connector:
    case FastenerKind::split_pin:
    case FastenerKind::pin:
    case FastenerKind::lock_wire:
    case FastenerKind::tab:
    case FastenerKind::washer:
    case FastenerKind::spacer:
    case FastenerKind::shim:
        return true;
    case FastenerKind::clamp:
        return !fastener.torque && !is_turned(fastener);
    default:
        return false;
    }
}

bool joins(const Fastener& fastener) {
    return !is_loose_piece(fastener.kind) && !is_lock(fastener.kind) && !is_plug(fastener.kind) &&
           !fastener.holds.empty();
}

} // namespace inside

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

void relate_fasteners(const Map& map, Job& job) {
    std::vector<std::pair<std::string, ItemId>> by_joint;
    for (std::size_t i = 0; i < map.fasteners.size(); ++i) {
        const Fastener& fastener = map.fasteners[i];
        if (joins(fastener))
            for (const ItemId part : fastener.holds)
                job.held_by[slot(map, part)].push_back(fastener.item);
        for (const ItemId locked : fastener.secures)
            job.secured_by[slot(map, locked)].push_back(fastener.item);
        if (!fastener.joint.empty())
            by_joint.emplace_back(fastener.joint, fastener.item);
        for (const ItemId part : {fastener.leaves_with, fastener.captive_in})
            if (part)
                job.comes_with[slot(map, part)].push_back(fastener.item);
        for (const ItemId part : fastener.holds) {
            const std::size_t p = slot(map, part);
            if (fastener.kind == FastenerKind::drain_plug)
                job.drain_plugs[p].push_back(fastener.item);
            if (fastener.kind == FastenerKind::fill_plug)
                job.fill_plugs[p].push_back(fastener.item);
        }
    }
    std::stable_sort(by_joint.begin(), by_joint.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    for (std::size_t from = 0; from < by_joint.size();) {
        std::size_t to = from;
        while (to < by_joint.size() && by_joint[to].first == by_joint[from].first)
            ++to;
        for (std::size_t i = from; i < to; ++i)
            for (std::size_t j = from; j < to; ++j)
                if (i != j)
                    job.joint[slot(map, by_joint[i].second)].push_back(by_joint[j].second);
        from = to;
    }
}

/// The end of a joint that is torqued: as `turn` says; else the end that a torque is stated for; else the nut. Of
/// several nuts each is torqued itself.
ItemId turned_end(const Map& map, const Job& job, const Fastener& fastener) {
    if (!is_nut(fastener.kind) && fastener.kind != FastenerKind::bolt && fastener.kind != FastenerKind::screw)
        return fastener.item;
    std::vector<ItemId> members = job.joint[slot(map, fastener.item)];
    members.push_back(fastener.item);
    std::sort(members.begin(), members.end());
    ItemId shaft, nut;
    std::string turn;
    for (const ItemId id : members) {
        const Fastener& member = map.fastener(id);
        if (turn.empty())
            turn = member.turn;
        if (is_nut(member.kind)) {
            const bool outer = !nut || member.stack.value_or(0) > map.fastener(nut).stack.value_or(0);
            nut = outer ? id : nut;
        } else if (!shaft && (member.kind == FastenerKind::bolt || member.kind == FastenerKind::screw)) {
            shaft = id;
        }
    }
    if (!shaft || !nut)
        return fastener.item;
    if (turn.empty())
        turn = map.fastener(shaft).torque && !map.fastener(nut).torque ? "head" : "nut";
    if (turn == "head")
        return is_nut(fastener.kind) ? shaft : fastener.item;
    return is_nut(fastener.kind) ? fastener.item : nut;
}

} // namespace

Job prepare(const Map& map) {
    Job job;
    job.map = &map;
    const std::size_t parts = map.parts.size();
    const std::size_t fasteners = map.fasteners.size();
    for (auto* list : {&job.held_by, &job.carriers, &job.drain_plugs, &job.fill_plugs, &job.opened_by, &job.comes_with})
        list->resize(parts);
    for (auto* list : {&job.carries, &job.secured_by, &job.joint})
        list->resize(fasteners);
    job.before.resize(map.items.size());
    job.tasks_for.resize(map.items.size());

    relate_fasteners(map, job);
    std::map<std::vector<ItemId>, std::int32_t> kind_of;
    for (const Fastener& fastener : map.fasteners) {
        job.turned.push_back(turned_end(map, job, fastener));
        std::vector<ItemId> holds = fastener.holds;
        std::sort(holds.begin(), holds.end());
        const auto [known, fresh] = kind_of.emplace(std::move(holds), static_cast<std::int32_t>(job.kinds.size()));
        if (fresh)
            job.kinds.emplace_back();
        job.kin.push_back(known->second);
        job.kinds[at(known->second)].push_back(fastener.item);
    }

    for (std::size_t i = 0; i < map.items.size(); ++i)
        for (const ItemId earlier : map.items[i].after)
            job.before[at(earlier.index)].push_back({static_cast<std::int32_t>(i)});
    for (const Task& task : map.tasks)
        if (task.does != TaskDoes::nothing)
            for (const ItemId item : task.to)
                job.tasks_for[at(item.index)].push_back(task.item);

    std::optional<Carriers> carriers; // only where some part's carriers are not stated
    for (std::size_t p = 0; p < parts; ++p) {
        const Part& part = map.parts[p];
        if (part.transfer)
            job.transfers.push_back(part.item);
        for (const ItemId opened : part.opens)
            job.opened_by[slot(map, opened)].push_back(part.item);
        if (part.support.empty() || part.fixed)
            continue;
        if (!part.carried_by.empty()) {
            job.carriers[p] = part.carried_by;
        } else {
            if (!carriers)
                carriers.emplace(map);
            job.carriers[p] = carriers->of(part.item);
        }
        for (const ItemId fastener : job.carriers[p])
            if (map.is_fastener(fastener))
                job.carries[slot(map, fastener)].push_back(part.item);
    }
    return job;
}

} // namespace boltwalk
