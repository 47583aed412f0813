#include "viewer/commands/still.hpp"

namespace boltwalk {

Frame still_of(const Job& job, const Stage& stage, const Shot& shot, int width_px, int height_px, double scale) {
    Frame frame;
    frame.width_px = width_px;
    frame.height_px = height_px;
    frame.scale = scale;
    // On the way back what goes in is seen in its place, and no arrow points out of it.
    const bool refit = shot.before.refit;
    fill_frame(job, stage, shot, refit ? 1 : 0, frame);
    if (refit)
        frame.moves.clear();
    frame.painted.assign(frame.painted.size(), 0); // a stroke is for a torque that was logged, and nothing is here
    return frame;
}

Room room_of(const Frame& frame) {
    return {glm::dvec2(frame.width_px, frame.height_px), clear_of(frame)};
}

void aim(const Stage& stage, const Shot& shot, const StepView& view, Frame& frame) {
    if (view.found) {
        frame.camera = view.camera;
        frame.over.glass = view.glass;
        return;
    }
    const Room room = room_of(frame);
    frame.camera = camera_for(stage, frame.poses, shot, room.size_px, room.clear);
}

} // namespace boltwalk
