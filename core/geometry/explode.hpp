// Where everything moves so that it is seen apart: nested, each no farther than needed, fasteners in line with their
// holes.
//
// Nested: a unit moves out with everything on it, then its parts off it, then their fasteners off them. So a body's
// place is the sum of what its unit, its part and it itself have moved by.
#pragma once

#include <span>
#include <vector>

#include "core/geometry/solids.hpp"

namespace boltwalk {

/// Share of the whole's radius that is left between what was together, so that the gap is seen at any size.
constexpr double explode_gap_share = 0.02;

/// A straight line outwards, perhaps after something else: off the dowels by `before`, then along.
struct ApartWay {
    glm::dvec3 along{0.0};  ///< of any length
    glm::dvec3 before{0.0}; ///< metres
};

/// Something that moves by itself when seen apart, with all that is nested on it.
struct Apart {
    ItemId item;
    std::vector<std::int32_t> bodies; ///< its own; those of nested ones are not repeated
    std::int32_t on = -1;             ///< index of what it is nested on: the unit that it moves with; none: what stays
    std::vector<ApartWay> ways;       ///< in which it may go; a fastener: its axis alone
    std::size_t stated = 0;           ///< so many of them, at the front, are the author's: taken before shorter ones
    bool fastener = false;
};

/// One straight piece of a body's way apart, while the slider goes from `from` to `to` (0..1).
struct ExplodeLeg {
    glm::dvec3 shift{0.0}; ///< metres
    double from = 0, to = 1;
};

struct Explosion {
    std::vector<std::vector<ExplodeLeg>> legs; ///< by body, by `from`; empty: it stays
};

/// `list` in the order in which things come off: what comes off later stands nearer to its place. Whatever is nested
/// stands anywhere in the list.
Explosion explode(const Solids&, std::span<const Apart> list, const Effort& = {});

/// Where a body is at a place of the slider, 0 to 1: continuous, and zero at 0.
glm::dvec3 exploded_by(const Explosion&, std::int32_t body, double slider);

} // namespace boltwalk
