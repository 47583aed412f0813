#include "core/propose/propose.hpp"

#include <algorithm>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "core/propose/heads.hpp"

namespace boltwalk {

namespace {

std::string listed(const Map& map, const std::vector<std::int32_t>& nodes) {
    std::string out;
    for (const std::int32_t n : nodes)
        out += (out.empty() ? "" : ", ") + map.nodes[at(n)].name;
    return out;
}

} // namespace

std::string_view spoken(Sureness sureness) {
    switch (sureness) {
    case Sureness::fits_table:
        return "fits a table";
    case Sureness::looks_like:
        return "looks like one";
    default:
        return "perhaps";
    }
}

Map as_scenery(Map map) {
    map.items.clear();
    map.parts.clear();
    map.fasteners.clear();
    map.tasks.clear();
    map.groups.clear();
    for (Node& node : map.nodes)
        node.item = {};
    return map;
}

std::vector<std::size_t> open_ones_of(const Map& map, const Proposals& proposals) {
    std::vector<std::size_t> open;
    for (std::size_t i = 0; i < proposals.list.size(); ++i)
        if (!map.nodes[at(proposals.list[i].node)].item)
            open.push_back(i);
    return open;
}

Proposals find_proposals(const Solids& solids) {
    Proposals result;
    result.alike = find_alike(solids);
    std::vector<std::int32_t> set_of(solids.map->nodes.size(), -1);
    for (std::size_t s = 0; s < result.alike.size(); ++s)
        for (const std::int32_t node : result.alike[s].nodes)
            set_of[at(node)] = static_cast<std::int32_t>(s);
    std::vector<LikelyFastener> list;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        const Body& body = solids.bodies[b];
        if (body.item || body.placements.size() != 1)
            continue;
        const Placement& placement = solids.placements[at(body.placements[0])];
        if (solids.meshes[at(placement.mesh)]->size() > most_facets)
            continue;
        const auto shape = turned_shape(facets_of(solids, static_cast<std::int32_t>(b)));
        if (!shape)
            continue;
        auto found = find_form(*shape);
        if (!found)
            continue;
        found->body = static_cast<std::int32_t>(b);
        found->proposal.node = body.node;
        found->proposal.alike = set_of[at(body.node)];
        list.push_back(std::move(*found));
    }
    ask_neighbours(solids, list);
    for (LikelyFastener& found : list) {
        judge_sizes(found);
        result.list.push_back(std::move(found.proposal));
    }
    std::stable_sort(result.list.begin(), result.list.end(),
                     [](const Proposal& a, const Proposal& b) { return a.node < b.node; });
    // Numbers: among those alike that hold the same.
    using Key = std::tuple<std::int32_t, std::vector<std::int32_t>>;
    std::map<Key, std::vector<std::size_t>> groups;
    for (std::size_t i = 0; i < result.list.size(); ++i) {
        Proposal& p = result.list[i];
        p.id = fmt::format("p{}", i + 1);
        std::vector<std::int32_t> holds = p.holds;
        std::sort(holds.begin(), holds.end());
        groups[{p.alike, holds}].push_back(i);
        if (!p.holds.empty())
            p.why.push_back(fmt::format("{} {}", p.shank_mm > 0 ? "its axis goes through" : "it lies on",
                                        listed(*solids.map, p.holds)));
        if (p.rests_on >= 0)
            p.why.push_back(fmt::format("its face bears on {}", solids.map->nodes[at(p.rests_on)].name));
    }
    for (const auto& [key, members] : groups) {
        std::vector<std::int32_t> nodes;
        for (const std::size_t i : members)
            nodes.push_back(result.list[i].node);
        const Numbered numbered = number_nodes(solids, nodes, result.list[members.front()].axis);
        for (const std::size_t i : members) {
            const auto it = std::find(numbered.nodes.begin(), numbered.nodes.end(), result.list[i].node);
            result.list[i].number = static_cast<int>(it - numbered.nodes.begin()) + 1;
        }
    }
    return result;
}

} // namespace boltwalk
