// Geometry: what the shapes say, as an estimate.
//
//   solids.hpp    bodies in space, made once from a map: what moves together, what a ray meets, what lies near a box
//   estimate.hpp  precedence as the shapes suggest it: what would have to be gone first (plain data; core/job reads it)
//   hidden.hpp    from where, and how much of it, is a fastener's head seen, and what hides it
//   reach.hpp     which tool gets on a fastener and can turn it, or what is in the way
//   way.hpp       does a part come out along its way, or what is in the way; a way where none is stated
//   balance.hpp   mass and centre of mass, what would tip or drop
//   explode.hpp   where everything moves so that it is seen apart
//   look.hpp      the camera from which a step's fasteners are seen best
//   fit.hpp       is a bolt long enough for its stack, or too long for its hole
//
// Axes and units: metres, +Y up, +Z the vehicle's front, +X its left (as glTF and core/map have them). Lengths that a
// person reads are in millimetres and say so in their name. Positions and verdicts are computed with +, -, *, / and
// square roots only: no function that differs between C libraries decides anything, so the same file gives the same
// answer everywhere, on one thread or on many. Everything here is an estimate: what an author states goes before it,
// and whoever prints it says "estimated".
//
// No function here throws on what a map may hold. Degenerate shapes (no triangles, no area, open, turned inside out)
// give a finding or a worse estimate.
#pragma once

#include "core/geometry/balance.hpp"
#include "core/geometry/estimate.hpp"
#include "core/geometry/explode.hpp"
#include "core/geometry/fit.hpp"
#include "core/geometry/hidden.hpp"
#include "core/geometry/look.hpp"
#include "core/geometry/reach.hpp"
#include "core/geometry/solids.hpp"
#include "core/geometry/way.hpp"
