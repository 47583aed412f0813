// What leaves in an order, with what, along which way, past what: the bridge from the job to core/geometry's ways.
#pragma once

#include <vector>

#include "core/geometry/explode.hpp"
#include "core/geometry/way.hpp"
#include "core/job/job.hpp"

namespace boltwalk {

/// An item at the moment before it comes off, aside, down or out.
struct Leaving {
    std::int32_t step = -1; ///< of the plan
    Verb verb = Verb::take_off;
    bool bench = false;           ///< what it comes off is off already: only what left with that is there
    WayAsked asked;               ///< a part along its `way`, `aside` or `lower`; a fastener drawn along its axis
    Arrangement state;            ///< before; of same items of a step, those before it are gone already
    ItemId comes_with;            ///< of a fastener that cannot be drawn, as stated: the part that it leaves with
    std::int32_t comes_step = -1; ///< the step in which that part leaves; -1: it does not, or not in a plan
};

/// The same for one item in any state.
Leaving leaving_at(const Job&, const Solids&, const State&, ItemId, Verb);

std::vector<Leaving> leavings(const Job&, const Solids&, const Plan& strip);

/// What the shapes say about one of them.
struct WayFound {
    WaysOut out;
    WayVerdict stated; ///< of the stated way, or of drawing it
    bool has_stated = false;
    std::int32_t best = -1; ///< of `out.ways`, in that state
};

/// How what is stated and what the shapes say go together. Of a fastener that is stated to come with its part, that it
/// cannot be drawn before is no contradiction but the same said twice.
enum class Agreement : std::uint8_t { agreed, undecided, disagreed, not_stated };
Agreement agreement_of(const Leaving&, const WayFound&);

/// For each leaving in turn. Where no way is stated, or the stated one is not free, one is looked for with so many
/// queries (0: none is looked for); for parts only.
std::vector<WayFound> ways_of(const Job&, const Solids&, const std::vector<Leaving>&, int queries, const Effort& = {},
                              const std::vector<Obstacle>& = {});

/// What moves by itself when all is seen apart, in the order of the plan: parts on the unit with which they left, or by
/// themselves; each fastener on the part that its head is on.
std::vector<Apart> apart_of(const Job&, const Solids&, const Plan& strip);

} // namespace boltwalk
