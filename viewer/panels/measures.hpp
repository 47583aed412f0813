// How large letters and targets are on this screen, for this distance and this hand. Plain maths, no OpenGL.
//
// Sizes are physical. Capital height: 22 minutes of arc at the reading distance (NUREG-0700, ISO 9241-3). Targets for a
// gloved hand: 20 mm, the main action 25 mm, 6 mm apart (common practice, no source); for a mouse 9 mm are enough.
// Pixels are the window's own (glfwGetWindowSize), which on some systems are not the framebuffer's.
#pragma once

#include <string_view>

namespace boltwalk {

/// From where the screen is read, and with what it is touched.
enum class Distance {
    desk,   ///< 0.5 m, mouse or bare finger
    hand,   ///< 0.5 m, glove
    bench,  ///< 1 m, glove
    helper, ///< 3 m, glove
};
inline constexpr int REACHES = 4;
std::string_view name_of(Distance); ///< for the command line and reports: "bench"
std::string_view spoken(Distance);  ///< for buttons: "Bench, 1 m"
double distance_m(Distance);
double capital_height_mm(Distance);

/// What is known of a display.
struct Screen {
    double px_per_mm = 96 / 25.4;
    bool stated = false; ///< the display's own figures were believable; else 96 dots an inch are taken
};
/// Believed when both directions agree within 15 % and the density lies between 40 and 600 dots an inch.
Screen screen_of(int width_px, int height_px, int width_mm, int height_mm);

/// Everything in pixels.
struct Sizes {
    float text = 20;       ///< Dear ImGui's font size of the running text: ascent plus descent
    float heading = 25;    ///< the step's headline
    float figure = 40;     ///< the step's figures: twice the text
    float target = 36;     ///< height of a button, and its least width
    float icon = 36;       ///< a button without words
    float turn = 36;       ///< height of the buttons that turn a long text
    float main = 48;       ///< height of the main action
    float gap = 6;         ///< between targets
    float pad = 10;        ///< between an edge and what it frames
    float line = 1.5F;     ///< thickness of frames and marks
    bool handheld = false; ///< one large counting button; the others are for a bare finger
};
Sizes sizes_for(Distance, const Screen&);
/// In a window of that size: below 10 inches across its corners, read from the hand, everything but the one main action
/// gives way (five targets of 20 mm, 6 mm apart, are wider than such a screen).
Sizes sizes_in(Distance, const Screen&, float width, float height);

/// Dear ImGui's font size over capital height: Inter's own tables, (hhea ascender - descender) / (OS/2 capital height)
/// = (2728 + 680) / 2048.
inline constexpr double SIZE_PER_CAPITAL = 3408.0 / 2048.0;

} // namespace boltwalk
