// A step as a still picture, for files and for paper: what is drawn, and from where.
#pragma once

#include "viewer/draw/draw.hpp"
#include "viewer/scene/seen_from.hpp"

namespace boltwalk {

/// A frame of that shot in which everything but the camera is settled. `scale` as Frame's.
Frame still_of(const Job&, const Stage&, const Shot&, int width_px, int height_px, double scale);

/// What of the frame is free for the step's items.
Room room_of(const Frame&);

/// Looks at the step's items from the view that was found, with its glass; where none was, from the camera by rule.
void aim(const Stage&, const Shot&, const StepView&, Frame&);

} // namespace boltwalk
