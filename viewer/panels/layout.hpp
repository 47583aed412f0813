// Where everything stands in the window. Plain maths over one table of boxes: tested without a window.
//
// Three shapes, by how many letters fit across:
//   wide    panel | drawing | step card, side by side
//   swap    step card, and beside it the drawing or a panel
//   words   the step card alone; the drawing or a panel takes its place when asked for (upright and high, the drawing
//           stands above it, until it is asked for alone; a small screen on its side has it in a corner until then)
// In every shape the last row holds back, the track of steps, and the main action.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "viewer/panels/measures.hpp"

namespace boltwalk {

/// Pixels of the window, from its upper left corner, y downwards.
struct Box {
    float x = 0, y = 0, w = 0, h = 0;
    float right() const { return x + w; }
    float bottom() const { return y + h; }
    bool empty() const { return w <= 0 || h <= 0; }
    bool holds(float px, float py) const { return px >= x && py >= y && px < right() && py < bottom(); }
    Box inset(float by) const { return {x + by, y + by, w - 2 * by, h - 2 * by}; }
};

/// Do they share more than half a pixel either way?
bool overlap(const Box&, const Box&);

enum class Shape { wide, swap, words };

struct Layout {
    Shape shape = Shape::wide;
    Box top;     ///< row of panel buttons; empty in `words`
    Box panel;   ///< the open panel; empty when none is
    Box drawing; ///< the 3D view; empty when something else has its place
    Box tools;   ///< under the drawing; empty where there is no room: then its controls stand in a panel
    int tool_rows = 0;
    Box card; ///< the step card; empty when something else has its place
    Box back, track, next;
    Box ahead;        ///< looks on without entering anything; not in `words`
    Box ledger;       ///< above the last row: what is out and where it is
    Box warning;      ///< above that, as long as something is not on disk
    Box show, more;   ///< `words` only: card or drawing, and the display panel
    float margin = 8; ///< between the areas
};

/// What the controls of the drawing want in one row each: where to look from, and how to draw.
struct ToolWidths {
    float places = 0, switches = 0;
};

/// What always stands above the last row.
struct Strips {
    float ledger = 0, warning = 0; ///< heights; 0: none
    bool panel_has_tabs =
        false; ///< a row of buttons above it: where the rest would be too low, it is as wide as may be
};

/// Upright, the card stands under the drawing, else beside it.
/// `panel_open`: a panel was asked for; in `swap` it takes the drawing's place, in `words` everything's but where the
/// drawing stands above the card. `drawing_asked`: in `words`, the drawing instead of the card.
Layout lay_out(float width, float height, const Sizes&, bool panel_open, bool drawing_asked, const ToolWidths& = {},
               const Strips& = {});

/// Where the drawing will stand before anything was ever drawn: cameras are worked out for it while a map opens.
Box first_drawing(float width, float height, const Sizes&);

/// Where a list and the two buttons that turn it stand in its place: at its foot, or beside it where the place is so
/// low that few rows would be left. `words_px`: width of a button with its words.
struct Turning {
    Box seen, earlier, more;
};
Turning turning_in(const Box&, const Sizes&, float words_px);

/// A control's upper and lower edge in a list that is longer than its place, px from the list's beginning.
struct Extent {
    float top = 0, bottom = 0;
};
/// Where one press turns such a list to, of which `seen` px can be seen from `at` on: on by most of what is seen, but
/// never past a control that was not wholly in sight, so that every one that is not higher than the place comes whole
/// into sight by presses alone. `gap`: what is left free beside it. Whole pixels, as Dear ImGui has them; not limited
/// to the list's ends.
float turned_on(float at, float seen, float gap, const std::vector<Extent>&);
float turned_back(float at, float seen, float gap, const std::vector<Extent>&);

/// The areas that are there, by name.
std::vector<std::pair<std::string, Box>> areas(const Layout&);

} // namespace boltwalk
