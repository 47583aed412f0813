// The numbers of a step's fasteners over the drawing. As the labels do (viewer/scene/steady.hpp), they go along with
// what they stand beside, fade before anything touches them, and come back elsewhere from nothing. Plain maths.
#pragma once

#include <span>
#include <vector>

#include "viewer/panels/walk.hpp"
#include "viewer/scene/steady.hpp"

namespace boltwalk {

/// A number of one of the step's fasteners, over the drawing; in its pixels.
struct StepNumber {
    Tick tick;
    glm::dvec2 head{0.0};
    double head_px = 0;
    glm::dvec2 at{0.0};
    double radius = 0;
    glm::dvec2 side{0.0}; ///< of the head that it stands on, and how far out
    double strength = 0;  ///< fades in up to 1
    double opacity = 0;   ///< as drawn: fainter the nearer to it anything comes
    double away_s = 0;    ///< above 0: it has no place, and looks for one no sooner than then
    bool leaving = false; ///< fades out, and comes back elsewhere
    bool crowded = false; ///< at rest there was no free place for it
};
/// The numbers of this picture, `seconds` after those before. Of `heads` tick, head, head_px and radius are stated.
std::vector<StepNumber> move_numbers(std::span<const StepNumber> heads, std::span<const StepNumber> before,
                                     glm::dvec2 size_px, bool rests, double seconds);
bool are_fading(std::span<const StepNumber>);                                  ///< another picture is due
std::vector<Rect> number_boxes(const std::vector<StepNumber>&, float density); ///< in the frame's pixels
/// The fastener whose number is there; none: no number.
ItemId number_under(const std::vector<StepNumber>&, glm::dvec2 px);

} // namespace boltwalk
