// Labels in a picture that moves: each is carried along by what it names, and none jumps.
//
// While the camera turns, a label keeps its place beside the mark that it led to first, and slides away from what comes
// near it by at most SLIDE_PX_PER_S. Where that is not enough it fades, is gone before anything touches it, and comes
// back elsewhere, from nothing. At rest those that stand much worse than a fresh layout would have them go over to it,
// fading out and in. Pixels are those of a picture at scale 1.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

/// The stated bound: a label that is seen moves as its mark does, and by so much more at most.
inline constexpr double SLIDE_PX_PER_S = 180;
inline constexpr double FADE_IN_S = 0.2, FADE_OUT_S = 0.15;
inline constexpr double AWAY_S = 0.25;   ///< one that is gone does not come back sooner
inline constexpr double FADE_WITHIN = 6; ///< nearer than that to anything it fades, pixels

/// A size that a label may have.
struct LabelSize {
    glm::dvec2 px{0.0};
    std::int32_t form = 0; ///< LabelBox::form
    bool operator==(const LabelSize&) const = default;
};

/// What is asked of one label in this picture.
struct LabelAsk {
    std::vector<LabelSize> sizes;     ///< that it may have, the best first; none: not in this picture
    std::vector<LabelTarget> targets; ///< on the screen, each with its id
};

struct HeldLabel {
    LabelBox at;            ///< as last shown
    std::int32_t lead = -1; ///< the target that carries it
    glm::dvec2 offset{0.0}; ///< of its box from there
    double strength = 0;    ///< fades in up to 1
    bool leaving = false;
    std::int32_t came = 0; ///< how many came before it: tells one that went and came back from one that stayed
};

struct SteadyLabels {
    std::vector<HeldLabel> held;
    glm::dvec3 tool_point{0.0}; ///< of the tool drawn: what its words point at
    std::vector<double> away_s; ///< by wish: still to wait
    /// By wish: how often it has gone over to another place since the picture rests.
    std::vector<std::uint8_t> gone_over;
    bool busy = false;   ///< something fades, or waits to come back: another picture is due
    bool all_go = false; ///< asked for by whoever lays out: all fade, and none comes until they are gone
    std::int32_t came = 0;
};

/// The labels of this picture, `seconds` after the last one; what fades, or is not there, is among those left out.
/// `goal`: at rest, how a fresh layout has them. As many asks as in the picture before; else a new SteadyLabels.
LabelLayout steady(SteadyLabels&, std::span<const LabelAsk>, const LabelRoom&, const LabelLayout* goal, double seconds,
                   double scale);

} // namespace boltwalk
