// What is on the screen, as JSON: for a test that drives the real window, and for anything else that cannot see it.
//
//   window     size, letters: capital_mm as measured in the atlas
//   state      what is shown: opening, error, start card, way, step, steps, picked, panel, light, reach, moving; of the
//              log: entries, said, stored, storing, where, warning, resumed, closed, round (of a tightening, from 0);
//              told_in_sight: what to do, how many, size, tool and torque, on the card with nothing turned;
//              handed_over: the addresses, hand_over_error; photo: the name of the one shown large
//   atlas      width and height of the letters' texture
//   areas      boxes of the layout, by name
//   controls   every control drawn: id, label, role, box, enabled, on, cut (partly out of sight), tight (shortened)
//   marks      the step's items in the drawing: name, where, and what a click there would pick
//   gnomon     where it stands in the drawing, and the height of its capitals in mm
//   frames     drawn so far: does not grow while nothing changes
//   settling   another frame comes at once: what became longer in this one stands right in the next
//   taken      presses of keys, releases of buttons and turns of the wheel that this and earlier frames answer
#pragma once

#include <string>
#include <vector>

#include "viewer/panels/panels.hpp"

namespace boltwalk {

struct OnScreen {
    std::string path;
    long frames = 0;
    long drawings = 0;       ///< frames for which the 3D view was drawn anew
    double first_swap_s = 0; ///< the steady clock's seconds when the first frame was on the screen
    double loaded_s = 0;
    std::vector<Box> label_boxes;
    Box gnomon;
    Box model; ///< about the whole model, in the marking room; empty where it reaches behind the eye
    double gnomon_capital_px = 0;
    bool settling = false;
    long keys_taken = 0, buttons_taken = 0; ///< counted by whoever owns the surface
};

std::string seen_text(const OnScreen&, const Ui&, const View&, const Desk&, const Layout&, float width, float height);
/// Writes the report, whole or not at all.
void write_seen(const OnScreen&, const Ui&, const View&, const Desk&, const Layout&, float width, float height);

} // namespace boltwalk
