// Orders chosen among the legal ones: the one that takes the fewest items off, and the one with the least crawling.
// Each says what is proven of it. Budgets are counted (questions asked of the rules, nodes of a search), never timed,
// so the same map gives the same answer everywhere. Nothing throws on what a file may hold.
#pragma once

#include <cstdint>
#include <vector>

#include "core/job/job.hpp"

namespace boltwalk {

// ---- the fewest items that free a part

struct Fewest {
    /// What comes off before the part can: fasteners undone, parts taken off, moved aside or let down, in the order in
    /// which they come. The part itself, tasks, props and vehicle changes are not counted, but come in their turn.
    /// Each item leaves as the map says that it leaves (`aside`, `lower`, `leaves_with`); what a task of the map does
    /// (propping, marking) is done by that task, and what the task waits for counts.
    std::vector<ItemId> items;
    /// What these lay bare and nobody should leave: washers, rings, single-use gaskets. It frees nothing, so it is not
    /// counted, but the order takes it along.
    std::vector<ItemId> also;
    /// No legal order does with fewer: proven. Equal to the number of items where `proven`.
    std::size_t at_least = 0;
    bool proven = false;
    /// A legal order in which these, the part and what the rules ask for happen, and `also`. Where none was found, what
    /// plan_strip() says.
    Plan plan;
    std::int64_t asked = 0; ///< questions asked of the rules
};

struct FewestSettings {
    /// Questions that may be asked of the rules before it gives up on the proof.
    std::int64_t budget = 600'000;
};

Fewest plan_fewest(const Job&, ItemId part, const FewestSettings& = {});

// ---- the least crawling

/// How often somebody following an order goes to another place, and takes up another tool. What states no place is done
/// from wherever one is; what no tool turns (pushed, by hand, a part, a task) leaves the tool where it is.
struct Changes {
    int place = 0, tool = 0;
    auto operator<=>(const Changes&) const = default;
};
Changes changes_of(const Job&, const Plan&);

struct LeastCrawling {
    Plan plan;
    Changes changes;  ///< of `plan`
    Changes at_least; ///< no legal order that does the same has fewer: first of place, then of tool
    bool proven_place = false;
    bool proven = false; ///< of place, and of tool among those
    std::int64_t nodes = 0;
};

struct LeastCrawlingSettings {
    std::int64_t budget = 60'000; ///< nodes of the search
};

/// Among the legal orders that do the same things as `strip`, change the vehicle by themselves no more often than it
/// does, and let nothing hang that can come off: the fewest changes of place, and of those the fewest of tool.
LeastCrawling plan_least_crawling(const Job&, const Plan& strip, const LeastCrawlingSettings& = {});

} // namespace boltwalk
