// Buttons, switches, rows and lists of our own look over Dear ImGui, and the book of what stands where.
//
// Every control is drawn at a place that the layout gives, and enters itself in the frame's book: so the keyboard can
// go from one to the next (Tab, Shift+Tab, Enter), and a report can say what is on the screen.
#pragma once

#include <imgui.h>

#include <string>
#include <string_view>
#include <vector>

#include "viewer/draw/theme.hpp"
#include "viewer/panels/layout.hpp"
#include "viewer/panels/measures.hpp"

namespace boltwalk {

/// A colour of the shared theme as Dear ImGui packs it.
inline ImU32 packed(const Colour& c) {
    return IM_COL32(c.r, c.g, c.b, c.a);
}

struct Fonts {
    ImFont *text = nullptr, *strong = nullptr, *heading = nullptr, *figure = nullptr;
};

/// Marks drawn, not typed: no font need have them.
enum class Mark {
    none,
    forward,
    back,
    up,
    down,
    plus,
    minus,
    caution, ///< triangle with a stroke
    fault,   ///< filled square
    doubt,   ///< half-filled diamond
    note,    ///< open circle
    done,    ///< tick
    now,     ///< filled wedge
    ahead,   ///< hollow dot
    drawing, ///< a box seen from a corner
    words,   ///< lines of text
    dials,   ///< the display panel
    bolt,    ///< a hexagon with its hole
};

struct Control {
    std::string id;
    std::string label;
    std::string role; ///< "button", "switch", "row", "field", "slider", "progress"
    Box box;          ///< what can be seen of it
    Box whole;        ///< also where nothing of it can be seen
    bool enabled = true;
    bool on = false;
    bool cut = false;   ///< part of it lies outside what can be seen
    bool tight = false; ///< its label did not fit
};

/// What a person does with the keyboard in one frame.
struct Keys {
    bool enter = false;
    int move = 0; ///< +1 Tab, -1 Shift+Tab
};

class Prints;

struct Ui {
    Prints* prints = nullptr; ///< photographs, ready to be drawn
    Theme theme;
    Fonts fonts;      ///< for the distance chosen
    Fonts near_fonts; ///< for what is read with the nose at it, where the card is read from 3 m
    Sizes sizes;
    Keys keys;
    std::vector<Control> book; ///< this frame's
    std::string focus;         ///< id of the focused control; empty: none
    bool focus_moved = false;  ///< this frame: what has it should come into view
    std::vector<Box> areas;    ///< this frame's, for the report
    bool swiped = false;       ///< this press turns a list, and is none
    bool slid = false;         ///< this press has a slider in hand

    void begin_frame();
    void end_frame(); ///< moves the focus by Tab over what was drawn
};

enum class Rank {
    plain,
    main, ///< the one main action
    row,  ///< a line of a list: a frame only when chosen or pointed at
    bare, ///< nothing but a frame when pointed at: for what is drawn already
};

struct Style {
    Rank look = Rank::plain;
    Mark mark = Mark::none;
    bool on = false;
    bool enabled = true;
    bool mark_after = false;     ///< the mark stands behind the words
    std::string_view badge = {}; ///< a count, in its own small frame
    std::string_view role = "button";
};

/// Enters a control at `box` in the book: what can be seen of it in the present window. Whatever draws one itself.
Control& enter(Ui&, std::string_view id, std::string_view label, std::string_view role, const Box& box);
/// True when pressed by pointer or by Enter.
bool button(Ui&, std::string_view id, std::string_view label, const Box&, const Style& = {});
/// The width that such a button wants.
float width_of(const Ui&, std::string_view label, const Style& = {});

/// A bar to press or drag along, 0 to 1; whatever it does two buttons beside it do as well. The value it has now.
double slider(Ui&, std::string_view id, std::string_view label, const Box&, double value);

/// How far something has come, 0 to 1, and in words what is done: nothing to be pressed.
void progress_bar(Ui&, std::string_view id, std::string_view words, const Box&, float share);

/// Draws a mark in a square box.
void draw_mark(ImDrawList*, Mark, const Box&, ImU32 colour, float thickness, ImU32 inner = 0);

/// One line of text in a box, from the left, in the middle or to the right (0, 0.5, 1). False when it did not fit: then
/// it is not cut, but set in smaller type down to the running text's, and after that broken with "…".
bool text_in(const Ui&, std::string_view text, const Box&, float align, ImU32 colour, ImFont* font);

/// An area that scrolls: its contents may be longer than it. Buttons at its foot or beside it turn it, the wheel too,
/// and a finger that is drawn over it.
struct Scroll {
    float contents = 0; ///< height, last frame
    float want = -1;    ///< to be scrolled to; -1: leave
    float at = 0, most = 0;
    float next_at = 0;     ///< where one press on "More" turns it to
    bool is_long = false;  ///< longer than its place: it has buttons
    Turning turning;       ///< where they stand then
    std::size_t first = 0; ///< of its controls, in the frame's book
};
/// Opens the area. Between these two, Dear ImGui's own cursor flow holds. Returns the width to write in.
float begin_scroll(Ui&, std::string_view id, const Box&, Scroll&);
void end_scroll(Ui&, std::string_view id, Scroll&);

/// Words in a frame with a thick edge and a mark, at the cursor.
void framed(const Ui&, const std::string& text, Mark, ImU32 colour, float width);
/// Wrapped text at the cursor.
void paragraph(std::string_view text, ImU32 colour, ImFont* font, float width);
/// Lines as they are set: broken at spaces.
std::string broken(std::string_view text, ImFont* font, float width);
/// Height of a paragraph.
float height_of(std::string_view text, ImFont* font, float width);
/// Goes on below so much; whole pixels, or a list would be longer the farther it is turned: Dear ImGui cuts what is
/// left of one, upwards above the window's upper edge and downwards below it.
void take_room(float width, float height);
void space(float height);

} // namespace boltwalk
