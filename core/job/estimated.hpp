// Estimated precedence: what the shapes put in whose way, and how it stands beside what is stated.
//
// An estimate is asked of a state, as any rule is: a tool gets on a fastener, or a thing comes out, as soon as one of
// its alternatives has nothing in its way any more. Stated wins. A pair (this, and that in its way) that cannot hold
// beside what is stated is dropped: against the author's steps, against a rule, or in a ring of both, and reported
// with what it rests on. `not_in_way` overrules a pair. So no estimate makes a fault, nor an order impossible.
#pragma once

#include <optional>
#include <vector>

#include "core/geometry/reach.hpp"
#include "core/job/job.hpp"

namespace boltwalk {

/// What the shapes say of every fastener (its tool, what holds its other side, its way along its axis) and of every
/// part (its stated way, `aside` or `lower`; where no way is stated, the best that was found). Measured once, with
/// everything there; lowered and on the bench only as the order by what is stated alone brings it about. `job` as
/// prepare() gives it.
Estimates find_estimates(const Job&, const Solids&, const ToolBox&, const Effort& = {});

/// Hands estimates to the rules: from here on they are asked, in orders, checks and "why". Pairs that are overruled are
/// left out, those that contradict what is stated are in Job::dropped.
void reckon_with(Job&, Estimates);

/// What the map's own shapes say with the tools of an ordinary home box, with a job as prepare() gives it. None when
/// progress said stop.
std::optional<Estimates> ask_shapes(const Job&, const Effort& = {});

/// A job with its shapes, and what was measured on the way, for whoever asks the shapes more. `reach`: for all uses, or
/// only what an order asks, in `cases`.
struct Measured {
    Job job;
    Solids solids;
    std::vector<LoweredCase> cases;
    Reach reach;
};
Measured job_and_shapes(const Map&, bool torques, const Effort& = {});

/// prepare(), and reckon_with() what the map's own shapes say, where nobody stopped it: the one job that every command
/// and the window work with, so that a step has one number everywhere.
Job job_with_shapes(const Map&, const Effort& = {});

/// What was dropped, in words: doubts with the nodes to look at, and both ways to mend them.
std::vector<Finding> findings_of(const Job&, const std::vector<Dropped>&);

} // namespace boltwalk
