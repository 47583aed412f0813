// What is put together or taken apart on the bench, away from the vehicle, stands alone in its picture.
#include <algorithm>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

namespace {

/// What an item goes onto: the other parts of its joints that lie there with it.
std::vector<ItemId> hosts_of(const Job& job, const State& drawn, ItemId item) {
    const Map& map = *job.map;
    std::vector<ItemId> hosts;
    const auto unit_of = [&](ItemId part) {
        const ItemId with = drawn.went_with[static_cast<std::size_t>(map[part].detail)];
        return with ? with : part;
    };
    const auto add = [&](ItemId fastener) {
        for (const ItemId part : map.fastener(fastener).holds) {
            const bool off = drawn.parts[static_cast<std::size_t>(map[part].detail)] == PartState::off;
            if (part != item && off && (!map.is_part(item) || unit_of(part) == unit_of(item)))
                hosts.push_back(part);
        }
    };
    if (map.is_fastener(item))
        add(item);
    else if (map.is_part(item))
        for (const ItemId by : job.held_by[static_cast<std::size_t>(map[item].detail)])
            add(by);
    return hosts;
}

} // namespace

bool at_bench(const Job& job, const State& drawn, std::span<const ItemId> next) {
    const Map& map = *job.map;
    const auto is_off = [&](ItemId part) {
        return drawn.parts[static_cast<std::size_t>(map[part].detail)] == PartState::off;
    };
    return std::any_of(next.begin(), next.end(), [&](ItemId item) {
        if (map.is_task(item))
            return false;
        if (map.is_part(item))
            return is_off(item);
        const std::vector<ItemId>& holds = map.fastener(item).holds;
        return std::any_of(holds.begin(), holds.end(), is_off);
    });
}

void put_in_its_hole(const Map& map, ItemId plug, std::vector<Pose>& poses) {
    poses.resize(std::max(poses.size(), map.items.size()));
    const auto& holds = map.fastener(plug).holds;
    poses[static_cast<std::size_t>(plug.index)] =
        holds.empty() ? Pose{} : poses[static_cast<std::size_t>(holds.front().index)];
}

void show_bench(const Job& job, const State& drawn, std::span<const ItemId> next, std::vector<Pose>& poses) {
    if (!at_bench(job, drawn, next))
        return;
    for (Pose& pose : poses)
        pose.presence = 0;
    for (const ItemId item : next) {
        poses[static_cast<std::size_t>(item.index)] = {};
        if (!job.map->is_task(item))
            for (const ItemId host : hosts_of(job, drawn, item))
                poses[static_cast<std::size_t>(host.index)] = {};
    }
}

} // namespace boltwalk
