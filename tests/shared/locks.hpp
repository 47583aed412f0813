// Which items lock each other, by the plain facts and by trying every set: no rule of ours in it.
#pragma once

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

#include "core/job/job.hpp"

namespace boltwalk::testing {

using Names = std::vector<std::string>;

inline Names faults_of(const Plan& plan) {
    Names rules;
    for (const Finding& finding : plan.findings)
        if (finding.weight == Weight::fault)
            rules.push_back(finding.rule);
    return rules;
}

/// For each item what must be gone before it, by the plain facts.
inline std::vector<std::vector<std::int32_t>> all_waits(const Map& map) {
    std::vector<std::vector<std::int32_t>> waits(map.items.size());
    for (std::size_t i = 1; i < map.items.size(); ++i)
        for (const ItemId id : map.items[i].after)
            waits[i].push_back(id.index);
    for (const Fastener& fastener : map.fasteners) {
        for (const ItemId id : fastener.holds)
            if (!map.part(id).fixed)
                waits[static_cast<std::size_t>(id.index)].push_back(fastener.item.index);
        for (const ItemId id : fastener.secures)
            waits[static_cast<std::size_t>(id.index)].push_back(fastener.item.index);
    }
    return waits;
}

/// None of the set can come while the rest of it is there.
inline bool locks_itself(std::uint32_t set, const std::vector<std::vector<std::int32_t>>& waits) {
    for (std::size_t i = 0; i < waits.size(); ++i)
        if (((set >> i) & 1U) != 0 && std::none_of(waits[i].begin(), waits[i].end(), [&](std::int32_t w) {
                return ((set >> static_cast<unsigned>(w)) & 1U) != 0;
            }))
            return false;
    return set != 0;
}

constexpr std::size_t no_lock = 99;
/// By trying every set among those.
inline std::size_t smallest_lock(std::uint32_t among, const std::vector<std::vector<std::int32_t>>& waits) {
    std::size_t best = no_lock;
    for (std::uint32_t set = among; set != 0; set = (set - 1) & among)
        if (static_cast<std::size_t>(__builtin_popcount(set)) < best && locks_itself(set, waits))
            best = static_cast<std::size_t>(__builtin_popcount(set));
    return best;
}

} // namespace boltwalk::testing
