// The panels: each draws itself into its box and calls what a person asked for on the view. Dear ImGui only.
#pragma once

#include <optional>

#include "viewer/panels/controls.hpp"
#include "viewer/panels/numbers.hpp"
#include "viewer/panels/press.hpp"
#include "viewer/panels/walk.hpp"

namespace boltwalk {

/// What the panels remember between frames and the view need not know.
struct Desk {
    Scroll card, start, tour, panel[PANELS + 1];
    std::size_t shown_step = SIZE_MAX; ///< the list was last brought to
    bool shown_back = false;
    int open_finding = -1;
    bool needs_open = false; ///< on the start card: what is to be had, row by row
    /// The card's cautions were in sight, for which step. Where they stand below what can be seen, the main action
    /// turns the card to them before it goes on.
    struct Read {
        std::size_t at = SIZE_MAX;
        bool back = false, all = false;
        int session = 0;
    } read;
    /// What is to be done, on how many of which size and with which tool, is on the card as it comes up.
    bool told_in_sight = false;
    bool field_asked = false; ///< the text field wants the keyboard
    bool field_active = false;
    bool study_on_top = false; ///< how far the estimates are stands in the top row of this frame
    bool ways_on_top = false;  ///< strip and refit stand in the top row of this frame
    Shape shape = Shape::wide; ///< of this frame's layout
    Screen screen;             ///< as measured or corrected
    bool screen_changed = false;
    /// While the ruler's buttons are being pressed: what was known of the screen before. Letters and buttons go by it
    /// until something else is pressed, so that those stay under the finger.
    std::optional<Screen> before_ruler;
    std::string reading; ///< being typed: what the wrench said
    ItemId reading_of;
    std::string slot_reading; ///< being typed: at what torque a castle nut came to its slot
    ItemId slot_of;
    std::string words;       ///< being typed, on what happened
    ItemId about;            ///< what the panel of that name showed last
    bool hold_taken = false; ///< this press was long, and has done its work
    OnePress press;          ///< of the main action
    std::size_t open_entry = std::string::npos;
    std::string hand_over_error; ///< why it could not be started

    /// Row heights of a list, worked out once for a width, a letter size and a list.
    struct Rows {
        std::vector<float> tops;
        float width = 0, size = 0;
        std::size_t key = 0;
    };
    Rows rows[PANELS + 1];
};

/// What letters and buttons go by.
inline const Screen& screen_laid_out(const Desk& desk) {
    return desk.before_ruler ? *desk.before_ruler : desk.screen;
}

inline constexpr float HOLD_SECONDS = 0.5F; ///< a longer press asks about what is under it
/// The left button is down so long, or was when it came up: a frame may come late.
bool held_long();

/// Where the model can be looked at from.
struct PlaceButton {
    const char* id;
    const char* label;
    Place place;
};
inline constexpr std::array<PlaceButton, 6> PLACES{{{"look.front", "Front", Place::front},
                                                    {"look.rear", "Rear", Place::rear},
                                                    {"look.left", "Left", Place::left},
                                                    {"look.right", "Right", Place::right},
                                                    {"look.over", "Over", Place::over},
                                                    {"look.under", "Under", Place::under}}};

/// Buttons one after the other, from the left, on to the next row when one does not fit.
struct Flow {
    Box box;
    float x = 0, y = 0;
    explicit Flow(const Box& b) : box(b), x(b.x), y(b.y) {}
    Box next(float width, float height, float gap);
    float bottom = 0;
};
/// The buttons that correct how large the screen is.
inline constexpr const char *RULER_SHORTER = "ruler.shorter", *RULER_LONGER = "ruler.longer";
void draw_top(Ui&, View&, Desk&, const Layout&);
ToolWidths tool_widths(const Ui&, const View&);
void draw_tools(Ui&, View&, const Layout&);
void draw_last_row(Ui&, View&, Desk&, const Layout&);
/// How a list of tools comes in: what a window does in its own way and a web page in another.
void name_tools(Ui&, float width);
/// A row of buttons leads from it to its neighbours, and it does without the drawing.
bool has_tabs(Panel);
bool is_done(const View&, std::size_t step); ///< by the log
void draw_ledger_row(Ui&, View&, Desk&, const Layout&);
void draw_warning(Ui&, const View&, const Box&);
float warning_height(const Ui&, const View&, float width); ///< 0: nothing to warn of
void draw_card(Ui&, View&, Desk&, const Box&);
void draw_panel(Ui&, View&, Desk&, const Box&, const Layout&);
/// The photograph that is shown large, in place of all else, with what closes it.
void draw_photo(Ui&, const Map&, std::int32_t& shown, const std::vector<std::int32_t>& among, const Box& all);
/// A row of small ones at the cursor, each a button; one pressed is `shown`.
void draw_photo_row(Ui&, const Map&, const std::vector<std::int32_t>&, std::int32_t& shown, float width);

// in place of all that
void draw_welcome(Ui&, View&, Desk&, const Box&);
void draw_opening(Ui&, View&, const Box&);
void draw_start_card(Ui&, View&, Desk&, const Box&);

// parts of the above, one file each
void draw_steps(Ui&, View&, Desk&, const Box&);
void draw_about(Ui&, View&, Desk&, const Box&);
void draw_findings(Ui&, View&, Desk&, const Box&);
void draw_find(Ui&, View&, Desk&, const Box&);
void draw_display(Ui&, View&, Desk&, const Box&, const Layout&);
void draw_keys(Ui&, View&, Desk&, const Box&);
void draw_tray(Ui&, View&, Desk&, const Box&);
void draw_untorqued(Ui&, View&, Desk&, const Box&);
void draw_record(Ui&, View&, Desk&, const Box&);
void draw_in_way(Ui&, View&, Desk&, const Box&);
void draw_needed(Ui&, View&, Desk&, const Box&);
void draw_hand_over(Ui&, View&, Desk&, const Box&);

// of the card
void write_entered(Ui&, const View&, float width); ///< what was entered last, and whether it is stored
/// The torque of this pass, in large figures.
void write_turn_torque(const Ui&, const View&, const Ticks&, float width);
void write_turn(Ui&, View&, const Ticks&, float width); ///< the pass, whose turn it is
/// Slot, lock, order and where it is from.
void write_turn_words(Ui&, const Ticks&, float width);
void write_ticks(Ui&, View&, Desk&, const Ticks&, float width);
void write_closing(Ui&, View&, Desk&, float width);
/// What happened to these, and is to be bought, mended or remembered for it.
void write_owed(const Ui&, const View&, const Ticks&, float width);
constexpr std::size_t MOST_NEEDS = 12;       ///< that are named on a card
std::string need_words(const Need&);         ///< what, and how many
bool need_row(Ui&, const Need&, const Box&); ///< true: it was open, and was pressed
bool press_to_have(Ui&, float width);        ///< the way to where it is ticked off
/// Where the strip ends: what is to be bought, mended or come back to before anything goes back.
void write_before_refit(Ui&, View&, Desk&, float width);
void write_interruption(Ui&, const View&, float width);      ///< of the start card, where a walk is taken up again
void write_happened(Ui&, View&, Desk&, ItemId, float width); ///< of an item's sheet
/// In the drawing's box, as picture.hpp has them.
void draw_numbers(Ui&, const std::vector<StepNumber>&, const Box& drawing);
/// "Stated: ..." under a heading of its own, and a row of buttons that flows on.
void section(const Ui&, const char* title, float width);
Flow flow_here(float width);
void settle(const Ui&, const ImVec2& from, const Flow&);

/// How far the estimates are, and the button that stops them or lets them go on. Only while is_studying().
void draw_study(Ui&, View&, const Box& row);
void draw_study(Ui&, View&, const Box& bar, const Box& press);
float study_width(const Ui&); ///< that its row wants
void draw_view_buttons(Ui&, View&, Flow&);
void draw_drawing_switches(Ui&, View&, Flow&);
void draw_lying_buttons(Ui&, View&, Flow&);
void write_not_from_under(Ui&, const View&, float width); ///< why those can do nothing; else nothing

/// The main action: on, confirm, over to the way back. Also what Space and a pedal do.
struct MainAction {
    std::string label, brief; ///< `brief`: where there is no room for the whole
    bool enabled = true;
};
MainAction main_action(const View&, const Desk&);
void do_main_action(View&, Desk&);
void open_panel(View&, Desk&, Panel);

/// One line to type into, with a hint while it is empty. True when Enter was pressed in it.
bool text_field(Ui&, Desk&, std::string_view id, const char* hint, const Box&, std::string& text);
/// How a file is opened here, and the row of controls for it.
const char* how_to_open();
void draw_open_row(Ui&, View&, Desk&, const Box&);
/// A panel's ground and frame.
void plate(const Ui&, const Box&);
/// A row of a list with a mark before its words; true when pressed.
bool list_row(Ui&, std::string_view id, std::string_view text, const Box&, Mark, ImU32 mark_colour, bool on);
/// A finding's sign and its colour.
Mark mark_of(Weight);
ImU32 colour_of(const Ui&, Weight);
float row_height(const Ui&, std::string_view text, float width);

/// A list whose rows are drawn only where they are seen.
template <typename TextOf, typename DrawRow>
void draw_rows(Ui& ui, Desk::Rows& rows, float width, std::size_t key, std::size_t count, const TextOf& text_of,
               const DrawRow& draw_row) {
    const float size = ImGui::GetFontSize();
    if (rows.tops.size() != count + 1 || rows.width != width || rows.size != size || rows.key != key) {
        rows.tops.assign(1, 0);
        for (std::size_t i = 0; i < count; ++i)
            rows.tops.push_back(rows.tops.back() + row_height(ui, text_of(i), width) + ui.sizes.gap);
        rows.width = width;
        rows.size = size;
        rows.key = key;
    }
    const ImVec2 origin = ImGui::GetCursorScreenPos();
    // As it stands in this frame: scroll.at is the last one's, and nothing may be drawn after this one.
    const float top = ImGui::GetScrollY(), foot = top + ImGui::GetWindowHeight(), before = ImGui::GetCursorPosY();
    for (std::size_t i = 0; i < count; ++i) {
        if (before + rows.tops[i + 1] < top || before + rows.tops[i] > foot)
            continue;
        draw_row(i, Box{origin.x, origin.y + rows.tops[i], width, rows.tops[i + 1] - rows.tops[i] - ui.sizes.gap});
    }
    ImGui::SetCursorScreenPos({origin.x, origin.y + rows.tops.back()});
    ImGui::Dummy({1, 0});
}

} // namespace boltwalk
