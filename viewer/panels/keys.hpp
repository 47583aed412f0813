// What the keys do. Codes are GLFW's.
#pragma once

#include "viewer/panels/panels.hpp"

namespace boltwalk {

/// `typing`: a text field has the keyboard; `again`: held down, it repeats itself, and that is no further press of the
/// main action. True when the key did something.
bool press_key(Ui&, View&, Desk&, int key, int mods, bool typing, bool again = false);

} // namespace boltwalk
