// Dear ImGui's letters: which sizes, which characters, from the font baked into the program.
#pragma once

#include <string>

#include "viewer/panels/controls.hpp"
#include "viewer/panels/session.hpp"

namespace boltwalk {

/// What letters are wanted for.
struct Texts {
    const Session* session = nullptr; ///< null: none is open
    std::string only;                 ///< not empty: this beside the program's own plain words, and nothing else
};

/// Sets the atlas up anew and fills in ui.fonts and ui.near_fonts. Sizes in window pixels; `density` is framebuffer
/// pixels for one of them. Characters: Latin, and whatever else the texts use; of `only`, ASCII and its own, for every
/// letter takes its time and a first frame waits for all. `most_px`: the atlas is neither wider nor higher; where it
/// would be, the letters in it are coarser, and as large on the screen.
void load_letters(Ui& ui, const Sizes& far, const Sizes& near, float density, const Texts&, int most_px);

/// Height of a capital in the running text as the atlas holds it, in window pixels.
float capital_height_px(const Ui& ui);

} // namespace boltwalk
