// What a turned shape is for, by its head. For core/propose only.
#pragma once

#include <optional>

#include "core/propose/propose.hpp"
#include "core/propose/turned.hpp"

namespace boltwalk {

enum class HeadForm : std::uint8_t {
    headed, ///< a head and a shank, or a head alone
    nut,
    ring,   ///< neither flats nor socket, a hole through: a washer or spacer if it lies in line with one of the others
    rod,    ///< neither head nor hole: a stud or pin, likewise
    pushed, ///< a head and a shank, no drive: a screw whose recess is not modelled, a rivet, a pin with a head
};

struct LikelyFastener {
    HeadForm form = HeadForm::headed;
    Proposal proposal;
    TurnedShape shape;
    std::int32_t body = -1;
    double base = 0, tip = 0, top = 0; ///< along the axis, from its centre, metres; the axis runs from shank to head
    double shank = 0;                  ///< radius of shank or hole, metres; 0: none
    double head = 0;                   ///< radius
    bool way_known = false;            ///< which end is the head
};

/// Nothing where the shape is none of these.
std::optional<LikelyFastener> find_form(const TurnedShape&);

/// Lists the threads that such a drive is sold with, names the drive by its table, and says how sure that is.
void judge_sizes(LikelyFastener&);

/// The neighbours: what it bears on, what its shank passes, what lies on the same axis. Rings, rods and pushed ones
/// that nothing calls for are taken out.
void ask_neighbours(const Solids&, std::vector<LikelyFastener>&);

} // namespace boltwalk
