// Where a state puts the bodies: the bridge from the job to what core/geometry measures.
#pragma once

#include <vector>

#include "core/geometry/solids.hpp"
#include "core/job/job.hpp"

namespace boltwalk {

/// What is still there in a state, and what of it is moved. A part that is off is gone, with the fasteners in it; one
/// set aside is moved by its legs where `aside` states them, gone otherwise (moved clear: nobody says where); one
/// lowered hangs straight below by its `lower`, and what hangs on it with it. A fastener that joins what moved to what
/// stayed stays.
Arrangement arrange(const Job&, const Solids&, const State&);

/// What a part that is off left with: its unit, or itself.
ItemId off_with(const Map&, const State&, ItemId part);

/// The unit on the bench that this item is on; none: it is still on the vehicle.
ItemId unit_on_bench(const Map&, const State&, ItemId);

/// On the bench: everything that left with a unit and is still on it, in its place as found. However low it hung before
/// it came off, that is over.
Arrangement arrange_on_bench(const Map&, const Solids&, const State&, ItemId unit);

/// As this item is worked at: on the bench where it lies there, else on the vehicle.
Arrangement arrange_about(const Job&, const Solids&, const State&, ItemId);

/// The lowered places that an order passes through, each once, in the order in which they come.
std::vector<LoweredCase> lowered_cases(const Job&, const Solids&, const Plan& strip);

} // namespace boltwalk
