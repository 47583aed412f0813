// What is drawn over a step's picture besides its marks: ways out, a tool in its place, the centre of what leaves.
//
// Worked out from the shapes, and so an estimate, but for ways that the author states; whatever is estimated says so in
// its own words. Plain values in the world, metres.
#pragma once

#include "core/geometry/solids.hpp"
#include "viewer/scene/scene.hpp"

namespace boltwalk {

/// A part's way out as a line, from its anchor.
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

/// Words at a place: a line in bold, one below it.
struct Words {
    std::string headline, detail;
    bool operator==(const Words&) const = default;
};

/// A tool on a fastener, to scale, and how far it swings.
struct ToolDrawn {
    ItemId fastener;
    Words words; ///< what it is; that it is estimated
    std::vector<ToolRod> rods;
    std::vector<glm::dvec3> arc; ///< points along the swing, at the end of the handle; empty: it does not swing
    glm::dvec3 pivot{0.0};       ///< the arc's middle
    bool operator==(const ToolDrawn&) const = default;
};

/// An upright line through the centre of mass of what is about to leave.
struct Plumb {
    glm::dvec3 centre{0.0};
    double low_m = 0, high_m = 0; ///< heights of its ends
    Words words;
    bool operator==(const Plumb&) const = default;
};

/// Tools and plumb lines are drawn with their words or not at all.
struct Overlays {
    std::vector<std::int32_t> glass; ///< nodes drawn as glass, whatever else covers
    std::vector<Track> tracks;
    std::vector<ToolDrawn>
        tools; ///< one for each of the step's fasteners that one goes on: a picture shows one of them
    std::vector<Plumb> plumbs;
    bool operator==(const Overlays&) const = default;
};

/// For every shot of a plan, index 0 the state as found. What was worked out when progress said stop is not given.
/// `queries`: how far a way is looked for where none is stated (core/geometry/way.hpp).
std::vector<Overlays> overlays_of(const Job&, const Stage&, const Solids&, const Plan&, std::span<const Shot>,
                                  int queries, const Effort& = {});

/// Leaves away what is only drawn with its words.
void without_words(Overlays&);
/// Of the tools only that one: it is this fastener's turn.
void only_tool_on(Overlays&, ItemId fastener);
/// Of a step that nobody has begun: a tightening has only the tool of its first.
void only_first_tool(Overlays&, const Step&);

/// What of a way is on the picture, in pixels: up to where it first comes nearer to the rim than this, or passes behind
/// the eye. Fewer than two points: nothing of it.
std::vector<glm::dvec2> on_picture(const Track&, const Projection&, double rim_px);

/// How much of a tool is on the picture.
struct ToolShown {
    double shown_px = 0;        ///< of its pieces' middle lines
    double share = 0;           ///< of their whole length in space
    glm::dvec2 at{0.0};         ///< the middle of what shows of the piece that shows most: its label points there
    glm::dvec3 point{0.0};      ///< the same in the world
    std::vector<Segment> lines; ///< what shows of it: middle lines, and beside them the sides of what is thick
};
/// What lies outside `area` or on `reserved` does not show.
ToolShown shown_of(const ToolDrawn&, const Projection&, const Rect& area, std::span<const Rect> reserved);

/// Tools that show by more than `least_px`, by index, the one that shows most first; that on `before` stays first
/// unless another shows much more.
std::vector<std::size_t> by_show(std::span<const ToolShown>, std::span<const ToolDrawn>, ItemId before,
                                 double least_px);

/// Says at the labels of the parts, and below the caption, whose way is drawn.
void tell_ways(const Overlays&, std::vector<LabelWish>& labels, Caption&);

} // namespace boltwalk
