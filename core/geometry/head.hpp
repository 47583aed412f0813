// The drive end of a fastener: what of its mesh a tool goes on, and points spread evenly over a surface.
#pragma once

#include <vector>

#include "core/geometry/solids.hpp"

namespace boltwalk {

/// What of a fastener is wider than this share of its widest, and all above it along the axis, is its head: the shank
/// of a bolt is at most 0.65 of its head (ISO 4014, ISO 4762), a nut's thread is not told from its flats, so a nut is
/// all head. A higher share would lose the upper half of chamfered heads' flats, a lower one would take in shanks.
constexpr double head_radius_share = 0.8;

struct Head {
    ItemId fastener;
    std::int32_t body = -1;   ///< none: it has no triangles
    glm::dvec3 axis{0, 1, 0}; ///< unit vector from shank to head
    glm::dvec3 base{0.0};     ///< on its axis, where it meets what it stands on
    glm::dvec3 top{0.0};      ///< on its axis, where it ends
    double radius = 0;        ///< of its widest, metres
};

/// By fastener (Map::fasteners), at rest.
std::vector<Head> heads_of(const Solids&);

/// A triangle of a surface, turned so that `normal` looks outwards.
struct Facet {
    glm::dvec3 a, b, c, normal;
    double area = 0; ///< above 0, square metres
};

/// Of a body, in order of placements and triangle numbers. A closed body whose triangles are wound inside out is
/// turned.
std::vector<Facet> facets_of(const Solids&, std::int32_t body);
/// Of a fastener's head only; what looks straight back along the axis is left out.
std::vector<Facet> facets_of(const Solids&, const Head&);

struct SurfacePoint {
    glm::dvec3 at, normal;
    double area = 0; ///< that it stands for, square metres
};

/// Points spread over the facets, each standing for the same share of what can be seen from the half-space about
/// `axis`: a facet counts by area * (1 + normal . axis) / 2, the part of that half-space's diffuse view which falls on
/// it; an axis of 0: by area. Stratified along the facets, within each by the sequence R2 (M. Roberts, "The
/// Unreasonable Effectiveness of Quasirandom Sequences", 2018; from memory).
std::vector<SurfacePoint> points_on(const std::vector<Facet>&, const glm::dvec3& axis, int count);
/// Over all of a body, by area.
std::vector<SurfacePoint> points_on(const Solids&, std::int32_t body, int count);

} // namespace boltwalk
