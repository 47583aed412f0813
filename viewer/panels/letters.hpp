// Dear ImGui's letters: which sizes, which characters, from the font baked into the program.
#pragma once

#include <string>

#include "viewer/panels/controls.hpp"
#include "viewer/panels/session.hpp"

namespace boltwalk {

/// Sets the atlas up anew and fills in ui.fonts and ui.near_fonts. Sizes in window pixels; `density` is framebuffer
/// pixels for one of them. Characters: Latin, and whatever else the session's texts use. `most_px`: the atlas is
/// neither wider nor higher; where it would be, the letters in it are coarser, and as large on the screen.
void load_letters(Ui& ui, const Sizes& far, const Sizes& near, float density, const Session* session, int most_px);

/// Height of a capital in the running text as the atlas holds it, in window pixels.
float capital_height_px(const Ui& ui);

} // namespace boltwalk
