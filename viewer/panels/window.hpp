// The window: opens at once, loads beside, draws only when something moves or changes.
#pragma once

#include <string>

#include "core/measure/measure.hpp"
#include "viewer/panels/measures.hpp"

namespace boltwalk {

struct WindowOptions {
    std::string path; ///< empty: the window says how to open one
    Distance reach = Distance::desk;
    TorqueUnit unit = TorqueUnit::newton_metre; ///< of the torques; the manual's own stands beside it
    bool night = false;
    bool mark = false; ///< opens in the room where models are marked up
    int width = 1280, height = 800;
    std::string report; ///< file that what is on the screen is written to after every frame; empty: none
};

/// Runs until the window is closed. 0, or 2 when no window could be opened (the reason is on standard error).
int run_window(const WindowOptions&);

} // namespace boltwalk
