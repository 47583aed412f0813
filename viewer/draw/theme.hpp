// The colours of Boltwalk, for the drawing and for the panels: one daylight set (dark on light), one night set (light
// on dark). Colours are sRGB, 8 bits a channel, not premultiplied. Text stands at 10:1 or more on everything it is
// written on, marks at 3:1 or more on what lies under them; tests/draw works both out from WCAG 2.x's relative
// luminance.
//
// No meaning rests on colour alone. The shapes that go with it:
//   next         accent, and a ring (dashed where something covers the fastener); parts that move: an arrow
//   done there   a part that something is done to where it stands: a thick outline in the accent, and nothing filled;
//                the hole of a plug that is out: two rings
//   selected     ink corner brackets
//   torqued      a paint-pen stroke across head and part
//   caution      a triangle
//   fault, doubt, note   a filled square, a half-filled diamond, an open circle
#pragma once

#include <cstdint>

namespace boltwalk {

struct Colour {
    std::uint8_t r = 0, g = 0, b = 0, a = 255;
    bool operator==(const Colour&) const = default;
};

struct Theme {
    // the drawing
    Colour paper;        ///< background
    Colour paper_low;    ///< a shade deeper: a window's ground beside the picture
    Colour surface;      ///< what has no material of its own, and what every material is drawn towards
    Colour line;         ///< outlines
    Colour line_soft;    ///< creases within an outline
    Colour glass;        ///< fill of what is ghosted; its alpha is the share that it covers
    Colour glass_line;   ///< edges of what is ghosted
    Colour accent;       ///< what is next: marks and shaded surfaces, never text
    Colour accent_far;   ///< the same seen through what covers it
    Colour paint;        ///< the paint-pen stroke
    Colour paint_edge;   ///< its rim
    double material = 0; ///< share of a material's own colour that is kept, 0 to 1
    double dim = 1;      ///< factor on surfaces: night draws them darker

    // words and panels
    Colour text;        ///< on paper, panel, label and button
    Colour text_soft;   ///< second in rank; also 10:1
    Colour label;       ///< fill of a label
    Colour label_edge;  ///< its rim and its leader
    Colour panel;       ///< fill of a panel
    Colour panel_edge;  ///< its rim, and the lines between rows
    Colour button;      ///< fill of a button
    Colour button_over; ///< under the pointer
    Colour button_down; ///< pressed
    Colour action;      ///< fill of the one main action
    Colour action_over; ///< under the pointer
    Colour action_text; ///< text on it
    Colour row;         ///< the row chosen in a list
    Colour caution;     ///< the caution's triangle
    Colour fault;       ///< marks of the three weights of a finding
    Colour doubt;
    Colour note;
    Colour done; ///< the tick of what is done
};

inline constexpr Theme DAYLIGHT{
    .paper = {246, 243, 235},
    .paper_low = {234, 231, 221},
    .surface = {214, 222, 223},
    .line = {22, 35, 46},
    .line_soft = {70, 88, 101},
    .glass = {196, 211, 216, 70},
    .glass_line = {60, 84, 98, 95},
    .accent = {196, 52, 8},
    .accent_far = {206, 74, 28},
    .paint = {255, 222, 64},
    .paint_edge = {48, 35, 0},
    .material = 0.42,
    .dim = 1.0,
    .text = {18, 30, 40},
    .text_soft = {36, 52, 64},
    .label = {255, 253, 247},
    .label_edge = {36, 52, 64},
    .panel = {251, 249, 243},
    .panel_edge = {120, 134, 140},
    .button = {228, 232, 228},
    .button_over = {214, 222, 219},
    .button_down = {199, 210, 208},
    .action = {92, 26, 6},
    .action_over = {112, 32, 8},
    .action_text = {255, 255, 255},
    .row = {249, 229, 216},
    .caution = {150, 92, 0},
    .fault = {170, 20, 40},
    .doubt = {140, 90, 0},
    .note = {20, 92, 140},
    .done = {20, 108, 70},
};

inline constexpr Theme NIGHT{
    .paper = {15, 23, 28},
    .paper_low = {9, 14, 18},
    .surface = {108, 124, 132},
    .line = {196, 207, 208},
    .line_soft = {118, 136, 143},
    .glass = {120, 150, 162, 46},
    .glass_line = {176, 200, 208, 90},
    .accent = {255, 138, 66},
    .accent_far = {240, 120, 54},
    .paint = {255, 232, 96},
    .paint_edge = {20, 16, 0},
    .material = 0.5,
    .dim = 0.56,
    .text = {244, 240, 230},
    .text_soft = {206, 210, 206},
    .label = {20, 31, 38},
    .label_edge = {196, 206, 206},
    .panel = {19, 28, 34},
    .panel_edge = {104, 122, 130},
    .button = {34, 48, 56},
    .button_over = {42, 58, 66},
    .button_down = {28, 40, 47},
    .action = {255, 186, 132},
    .action_over = {255, 200, 154},
    .action_text = {24, 10, 0},
    .row = {46, 32, 25},
    .caution = {255, 196, 70},
    .fault = {255, 120, 126},
    .doubt = {240, 190, 90},
    .note = {130, 196, 240},
    .done = {120, 214, 164},
};

inline constexpr const Theme& theme_of(bool night) {
    return night ? NIGHT : DAYLIGHT;
}

} // namespace boltwalk
