// What a tool in a place would touch. For sources of reach only.
//
// Local axes of a tool: the origin on the fastener's axis, z from the fastener to the tool, x the arm's direction 0.
#pragma once

#include <vector>

#include "core/geometry/reach.hpp"

namespace boltwalk::reaching {

/// From the world into a tool's axes: what turns with the fastener's part, and everything else, each in its own way
/// (they are the same where nothing was turned).
struct Frame {
    glm::dmat4 of_rest{1.0};
    glm::dmat4 of_turning{1.0};
    const std::vector<std::uint8_t>* turning = nullptr; ///< by body; null: nothing turns
};

/// A rigid placement: z along `axis` (unit), x along `zero` (unit, square to it).
glm::dmat4 into_axes(const glm::dvec3& origin, const glm::dvec3& axis, const glm::dvec3& zero);
/// A unit vector square to `axis`, the same on every machine.
glm::dvec3 square_to(const glm::dvec3& axis);

/// The order of Stance::arm.
inline bool by_direction(const ArmBlock& a, const ArmBlock& b) {
    return a.first != b.first ? a.first < b.first : a.body < b.body;
}

/// Fills under and arm: which bodies the rings touch, and which directions of the arm each body blocks. Bodies in
/// `ignored` (sorted) are left out. With `margin` (metres) everything is taken thicker by it.
void sweep(const Solids&, const Frame&, const ToolShape&, double margin, const std::vector<std::int32_t>& ignored,
           Stance& out);

/// Height of the highest thing that stands wholly within `inner` of the axis between two heights (a stud's end through
/// its nut); `low` when there is none.
double proud(const Solids&, const Frame&, double inner, double low, double high,
             const std::vector<std::int32_t>& ignored);

// ---- where a tool goes on

/// The drive of a fastener as its mesh has it, along the axis from which the tool comes.
struct Site {
    glm::dvec3 foot{0.0}; ///< on the axis, at the face under the head
    glm::dvec3 axis{0, 0, 1}, zero{1, 0, 0};
    double head = 0;   ///< metres from the foot to the top of what the tool grips
    double proud = 0;  ///< to the top of what stands out of it (a stud's end), at least `head`
    double radius = 0; ///< of the fastener about the axis, all of it
};

/// `flats_mm`: what a socket fits over; 0: the drive is in the head's top (keys, screwdrivers). `far_end`: the other
/// end of the same fastener. False: no triangles.
bool find_site(const Solids&, ItemId fastener, double flats_mm, bool far_end, Site& out);
/// The fastener's axis in the world, unit, from shank to head.
glm::dvec3 axis_in_world(const Map&, ItemId fastener);

/// The axis about which the part that a fastener is in turns; false when it is in none that does, or its shape does not
/// tell. Direction: as `turns` states it. Where: through the middle of the circle on which the fasteners lie that hold
/// the same parts and point the same way; where fewer than two do, the middle of the part.
bool turning_axis(const Solids&, const Fastener&, glm::dvec3& through, glm::dvec3& axis, ItemId& part);

// ---- what is put on it

/// All tools of the box for that drive and use, the handiest first. Heights above the site's foot.
/// `missing` says what the box lacks when the list is empty.
std::vector<ToolShape> shapes_for(const ToolBox&, const Drive&, Use, double torque_nm, const Site&,
                                  std::string& missing);
/// A hand or pliers from outside, along z, begun at the surface.
ToolShape straight_grip(DriveKind, double surface_m);

} // namespace boltwalk::reaching
