// What the drawing shows of a view: the frame that is drawn, and the numbers over it. No Dear ImGui and no OpenGL.
#pragma once

#include <optional>
#include <vector>

#include "viewer/draw/draw.hpp"
#include "viewer/panels/numbers.hpp"
#include "viewer/panels/view.hpp"

namespace boltwalk {

/// Its size and scale in that box of the window's pixels, `density` of the frame's to each: letters and lines follow
/// the running text's size (Sizes::text), where the box has room for it.
void size_frame(double text_px, double density, const Box&, Frame&);
/// What is drawn, and what stands over it.
struct Picture {
    Frame frame;
    std::vector<StepNumber> numbers;
    Corner gnomon_at = Corner::foot_left; ///< as the step's own view was found to need it
    bool weighed = false; ///< since it rests it was asked whether other letters would leave fewer labels out
    std::optional<double> letters_due; ///< they would: when the labels are gone
};
/// The view as it is now, `view.labels_s` after the picture before: labels and numbers go along with what they stand
/// for, and settle when it rests.
void next_picture(View&, double text_px, double density, const Box&, Picture&);

} // namespace boltwalk
