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

/// The lowered places that an order passes through, each once, in the order in which they come.
std::vector<LoweredCase> lowered_cases(const Job&, const Solids&, const Plan& strip);

} // namespace boltwalk
