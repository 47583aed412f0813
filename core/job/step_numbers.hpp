// The numbers that a job's items are called by where a step has several: a bolt has one in all steps, out and back.
#pragma once

#include <vector>

#include "core/job/tightening.hpp"

namespace boltwalk {

/// By item (Map::items), from 1; 0: in no step of either way. What comes into one step, or is tightened together, is
/// numbered together: a joint's bolts in the order of their tightening, one joint after the other, then the rest in
/// file order. So the numbers of a step that tightens are the order in which it does.
std::vector<int> step_numbers(const Job&, const Plan& strip, const Plan& refit, const std::vector<Tightening>&);

} // namespace boltwalk
