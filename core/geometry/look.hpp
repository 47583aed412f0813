// Where to look from: the camera in which the items of a step are large, little covered and told apart, seen from where
// the person is, upright. An estimate, and only a picture: no verdict rests on it.
//
// The measure of a camera, from 0 to 1. Each item counts by the part of the picture that its visible surface takes,
// divided by what is enough (below) and at most 1; the mean over the items is the first factor. The second is from 1/2
// to 1: how far the two items closest to each other on the picture are apart, as a share of enough. What covers: every
// body that is there, the item's own other side and the step's other items included; what is covered counts for
// `covered_worth`. So the measure falls when an item is small, turned away, covered, outside the picture or in front of
// another.
//
// The look. Directions to the eye are tried in a fixed table over the sector of the place (as in hidden.hpp, the eye
// a little more level for left, right, front, rear), one of them the direction that pictures from there have always
// had. For each the eye comes near: all items within the clear part of the picture, never nearer than an eye can read,
// heads about as wide as enough and a quarter (so that seen aslant they are still enough); of distances as good as each
// other the farther, for what is about it. The measure decides, reduced by up to `turn_cost` for turning away from the
// usual direction, so that pictures do not swing round for nothing.
#pragma once

#include <span>
#include <vector>

#include "core/geometry/hidden.hpp"

namespace boltwalk {

/// A head is large enough when its width takes this share of the picture's height: 48 of 800 pixels, 12 mm on a screen
/// 200 mm high, which shows at arm's length (0.7 m) what drive it has; larger: less is seen of what is about it.
constexpr double head_enough = 0.06;
/// A part is large enough when it takes this share of the picture.
constexpr double part_enough = 0.15;
/// What is covered is drawn through glass, and worth this share of what is in plain sight: enough to choose between two
/// cameras from which nothing is seen, too little to prefer either to one from which something is.
constexpr double covered_worth = 0.05;
/// Items are told apart when there is this share of the picture's height between them: 16 of 800 pixels.
constexpr double gap_enough = 0.02;
/// The eye comes no nearer to the middle of what it looks at, metres: the near point of an eye in middle age is at 0.25
/// to 0.4 m (common practice, no source), and nearer the lens distorts.
constexpr double nearest_look_m = 0.35;
/// What turning right round from the usual direction costs, as a share of the measure.
constexpr double turn_cost = 0.30;

struct LookFrame {
    double aspect = 1.6;                             ///< width over height
    double left = 0, top = 0, right = 0, bottom = 0; ///< shares of width and height that panels take
    double field_deg = 30;                           ///< over the height
    double margin = 0.06;                            ///< of what is left: kept free at each side, for marks and labels
};

struct LookCamera {
    glm::dvec3 eye{0, 0, 1}, target{0.0};
    glm::dvec3 up{0, 1, 0}; ///< unit vector, square to the view, as upright as it can be (never rolled)
};

/// Points on all that can be looked at, once a map.
struct LookSurfaces {
    std::vector<std::vector<SurfacePoint>> points; ///< by body, at rest: of a fastener its head, of a part all of it
    std::vector<glm::dvec3> middle;                ///< by body, of the ball about that
    std::vector<double> radius;
    std::vector<Bounds> bounds; ///< by body: of a head the box about its ball
};
LookSurfaces make_surfaces(const Solids&, const Effort& = {});

/// A step: what is looked at, from where, how the bodies are. What the step is about is drawn whether or not it is
/// `there` (a fastener on the bench): its shift counts all the same.
struct LookWish {
    std::vector<ItemId> items; ///< fasteners and parts; what has no triangles is left out
    Place from = Place::not_stated;
    Arrangement arrangement;
};

struct Look {
    bool found = false; ///< false: nothing to look at
    LookCamera camera;
    double measure = 0;
    std::vector<double> in_sight;  ///< by LookWish::items: of its surface that faces the eye, how much is seen
    std::vector<Hider> covered_by; ///< bodies between the eye and the items, to be ghosted; none of the items itself
    std::size_t rays = 0;
};

Look look(const Solids&, const LookSurfaces&, const LookWish&, const LookFrame& = {});
/// All of them, on several threads.
std::vector<Look> look(const Solids&, const LookSurfaces&, std::span<const LookWish>, const LookFrame& = {},
                       const Effort& = {});

/// The measure of any camera, found here or elsewhere.
double measure_of(const Solids&, const LookSurfaces&, const LookWish&, const LookCamera&, const LookFrame& = {});

} // namespace boltwalk
