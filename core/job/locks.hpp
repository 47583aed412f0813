// What waits for each other: the smallest sets of items of which none can come before another.
#pragma once

#include <vector>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

/// Something to do, and which others of a list must all be done before it, each by which rule. Without an item it is no
/// thing to do, but stands for all that its links name, and counts for nothing in a ring.
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
    std::vector<Member> ring;    ///< beginning with the first by file
    bool told_by_itself = false; ///< two, of which the one to be done now waits for the other's later step
    bool smallest = true;        ///< of its knot; false: not known, or another one is smaller
};

/// Of each knot (all that waits for each other, straight or through others) the ring with the fewest items; of equal
/// ones the one that begins first. Knots in the order of their first members. Counted in links looked at, never timed.
std::vector<Lock> smallest_locks(const std::vector<Waits>&);

/// Those, and the smallest ring through each of `also` that is in a knot; each ring once.
std::vector<Lock> locks_through(const std::vector<Waits>&, const std::vector<std::int32_t>& also);

/// What locks itself in an author's order, in a state in which every step before that of `now` is done: what that waits
/// for waits for each other as stated, or because its own step comes later than `latest_step`. Smallest ones; of two
/// that share a link the smaller.
std::vector<Lock> author_locks(const Job&, const State&, const std::vector<Action>& now, std::int32_t latest_step);

Finding in_words(const Job&, const Lock&);

} // namespace boltwalk::inside
