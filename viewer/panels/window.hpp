// The window: opens at once, loads beside, draws only when something moves or changes.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "core/geometry/tools.hpp"
#include "core/measure/measure.hpp"
#include "viewer/panels/hand_over.hpp"
#include "viewer/panels/measures.hpp"
#include "viewer/panels/press.hpp"

namespace boltwalk {

struct WindowOptions {
    std::string path; ///< empty: the window says how to open one
    // What is not stated here is as this screen had it last (remembered.hpp), else for the desk, in N·m, by day.
    std::optional<Distance> reach;
    std::optional<TorqueUnit> unit; ///< of the torques; the manual's own stands beside it
    std::optional<bool> night;
    std::optional<ToolBox> wrenches; ///< of the person, to tell which one to take; none: nothing is told
    bool mark = false;               ///< opens in the room where models are marked up
    int width = 1280, height = 800;
    double press_gap_s = PRESS_GAP_SECONDS; ///< a press of the main action that comes sooner after the last is the same
    /// Brings what hands the page to a tablet; empty: that is not offered.
    std::function<std::unique_ptr<HandOver>()> hand_over;
    std::string report; ///< file that what is on the screen is written to after every frame; empty: none
};

/// Runs until the window is closed. 0, or 2 when no window could be opened (the reason is on standard error).
int run_window(const WindowOptions&);

} // namespace boltwalk
