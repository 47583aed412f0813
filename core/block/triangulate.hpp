// Flat outlines with holes, cut into triangles. For core/block only.
//
// Coordinates are whole numbers (the caller's grid), so every question of left, right or on the line is answered
// exactly. No corner is added and none is left out: what lies along one edge on both sides fits.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace boltwalk::recipe {

/// At most 2^25 in size, so that products of differences fit.
struct GridPoint {
    std::int64_t x = 0, y = 0;
    bool operator==(const GridPoint&) const = default;
};
using GridRing = std::vector<GridPoint>;

/// Above 0: c lies left of the line from a to b.
std::int64_t turn(const GridPoint& a, const GridPoint& b, const GridPoint& c);
/// Twice the area; above 0 where it is counter-clockwise.
std::int64_t twice_area(const GridRing&);
/// Whether two edges of the ring meet elsewhere than at a common corner, or a corner stands twice.
bool meets_itself(const GridRing&);
/// Whether an edge of the one meets an edge of the other.
bool meet(const GridRing&, const GridRing&);
bool holds(const GridRing& outside, const GridPoint&); ///< on the edge counts as within

/// The outline counter-clockwise, its holes clockwise; they do not meet. Numbers count through all rings in their
/// order. Counter-clockwise triangles; nothing when the rings are not as promised.
std::optional<std::vector<std::array<std::uint32_t, 3>>> triangulate(std::span<const GridRing> rings);

} // namespace boltwalk::recipe
