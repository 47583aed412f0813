// What is drawn over a step's picture besides its marks: ways out, a tool in its place, the centre of what leaves.
//
// Worked out from the shapes, and so an estimate, but for ways that the author states; whatever is estimated says so in
// its own words. Plain values in the world, metres.
#pragma once

#include "core/geometry/solids.hpp"
#include "viewer/scene/scene.hpp"

namespace boltwalk {

/// A part's way out as a line, from its middle.
struct Track {
    ItemId part;
    std::vector<glm::dvec3> points;
    bool estimated = false; ///< found from the shapes: drawn dashed; else as stated
    bool operator==(const Track&) const = default;
};

/// A round piece of a tool.
struct ToolRod {
    glm::dvec3 from{0.0}, to{0.0}; ///< ends of its axis
    double radius = 0;
    bool round_ends = false;
    bool operator==(const ToolRod&) const = default;
};

/// A tool on a fastener, to scale, and how far it swings.
struct ToolDrawn {
    ItemId fastener;
    std::vector<ToolRod> rods;
    std::vector<glm::dvec3> arc; ///< points along the swing, at the end of the handle; empty: it does not swing
    glm::dvec3 pivot{0.0};       ///< the arc's middle
    bool operator==(const ToolDrawn&) const = default;
};

/// An upright line through the centre of mass of what is about to leave.
struct Plumb {
    glm::dvec3 centre{0.0};
    double low_m = 0, high_m = 0; ///< heights of its ends
    bool operator==(const Plumb&) const = default;
};

/// A label at a place.
struct Note {
    std::string headline, detail;
    glm::dvec3 at{0.0};
    bool operator==(const Note&) const = default;
};

struct Overlays {
    std::vector<std::int32_t> glass; ///< nodes drawn as glass, whatever else covers
    std::vector<Track> tracks;
    std::vector<ToolDrawn> tools;
    std::vector<Plumb> plumbs;
    std::vector<Note> notes;
    bool operator==(const Overlays&) const = default;
};

/// For every shot of a plan, index 0 the state as found. What was worked out when progress said stop is not given.
/// `queries`: how far a way is looked for where none is stated (core/geometry/way.hpp).
std::vector<Overlays> overlays_of(const Job&, const Stage&, const Solids&, const Plan&, std::span<const Shot>,
                                  int queries, const Effort& = {});

/// Says at the labels of the parts, and below the caption, whose way is drawn.
void tell_ways(const Overlays&, std::vector<LabelWish>& labels, Caption&);

} // namespace boltwalk
