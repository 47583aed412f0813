// What the shapes say, as pictures want it: where to look from, which fasteners are out of sight. Estimates, all of it.
//
//   Eyes            made once from a map: bodies and the points on them that can be looked at
//   views_of()      the camera of every shot of a plan, and what is drawn as glass for it
//   out_of_sight()  the hidden fasteners, the worst first, each with its camera
#pragma once

#include "core/geometry/look.hpp"
#include "viewer/scene/scene.hpp"

namespace boltwalk {

/// Holds pointers to the map, which must outlive it.
struct Eyes {
    Solids solids;
    LookSurfaces surfaces;
};
Eyes make_eyes(const Map&, const Effort& = {});

/// The picture that a camera is for: its size, and what of it is free of panels and captions.
struct Room {
    glm::dvec2 size_px{1.0};
    Rect clear;
};

struct StepView {
    bool found = false; ///< false: nothing to look at, or not worked out: camera_for() knows a camera by rule
    Camera camera;
    std::vector<std::int32_t> glass; ///< nodes that stand before what is looked at; in file order
};

/// The same camera for a picture of another shape: its items still fit.
Camera in_room(const Camera&, const Room& made_for, const Room& now);

/// The bodies as they are drawn.
Arrangement arrangement_of(const Solids&, std::span<const Pose>);

/// Index 0 (everything as found) has no view of its own. When progress says stop, all views are without.
std::vector<StepView> views_of(const Job&, const Stage&, const Eyes&, std::span<const Shot>, const Room&,
                               const Effort& = {});
StepView view_of(const Job&, const Stage&, const Eyes&, const Shot&, const Room&);

/// A fastener that cannot be seen before the work begins.
struct OutOfSight {
    ItemId fastener;
    double share = 0;       ///< of its head, seen from where it is worked at
    std::string hidden_by;  ///< "Skid plate, Crossmember"
    std::string seen_after; ///< "shows after step 7 (estimated)"
    StepView view;
};

/// In the state as found; those of which least is seen first, else in file order.
std::vector<OutOfSight> out_of_sight(const Job&, const Stage&, const Eyes&, const Plan& strip, const Room&,
                                     const Effort& = {});

/// "Out of sight 3 of 41", what it is, what hides it and when it shows.
Caption caption_of(const Map&, const OutOfSight&, std::size_t number, std::size_t count);

} // namespace boltwalk
