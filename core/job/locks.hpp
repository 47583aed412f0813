// What waits for each other: the smallest sets of items of which none can come before another.
#pragma once

#include <vector>

#include "core/job/job.hpp"

namespace boltwalk::inside {

/// Something to do, and which others of a list must all be done before it, each by which rule.
struct Waits {
    struct Link {
        std::int32_t for_what = -1;
        Rule rule = Rule::after;
    };
    ItemId item;
    std::vector<Link> links;
};

/// A ring of items, each of which waits for the next by that rule, and the last for the first.
struct Lock {
    struct Member {
        ItemId item;
        Rule rule = Rule::after;
    };
    std::vector<Member> ring; ///< beginning with the first by file
    bool smallest = true;     ///< false: the knot is so large that not every ring was looked at
};

/// Of each knot (all that waits for each other, straight or through others) the ring with the fewest items; of equal
/// ones the one that begins first. Knots in the order of their first members. Counted in links looked at, never timed.
std::vector<Lock> smallest_locks(const std::vector<Waits>&);

Finding in_words(const Job&, const Lock&);

} // namespace boltwalk::inside
