// What the desktop's window and the web page share: the panels on a surface of somebody's, a frame at a time. Whoever
// owns the surface hands Dear ImGui the pointer, the keys and the size before each frame, and shows it afterwards.
#pragma once

#include <string>
#include <vector>

#include "viewer/draw/draw.hpp"
#include "viewer/panels/aloud.hpp"
#include "viewer/panels/canvas.hpp"
#include "viewer/panels/panels.hpp"
#include "viewer/panels/picture.hpp"
#include "viewer/panels/prints.hpp"
#include "viewer/panels/seen.hpp"

namespace boltwalk {

// Dear ImGui settles what it shows over a frame or two after an event (hover, scroll limits of new contents).
constexpr int SETTLE_FRAMES = 3;
constexpr double FRAME_SECONDS = 1.0 / 60;
// A longer pause than this is no motion: the machine was busy, or nothing was drawn.
constexpr double LONGEST_FRAME_SECONDS = 0.1;

struct Surface {
    float width = 0, height = 0;     ///< in the pixels of events and layouts
    int width_px = 0, height_px = 0; ///< of the framebuffer
    bool empty() const { return width <= 0 || height <= 0 || width_px <= 0 || height_px <= 0; }
};

struct MarkRoom;

struct ShortPress {
    int key = 0, mods = 0; ///< GLFW's
};

struct Window {
    Ui ui;
    View view;
    Desk desk;
    Layout layout;
    Canvas canvas;
    Prints prints;
    Picture picture;
    OnScreen seen;
    Reader reader;
    int settle = SETTLE_FRAMES;
    float density = 1; ///< framebuffer pixels for one of the window
    int session_loaded = 0;
    const Session* previewed = nullptr; ///< that the canvas holds already, though it is not open yet
    int study_news = 0;                 ///< shown of what is worked out beside
    // what the letters in the atlas were made for
    Distance letters_reach = Distance::desk;
    double letters_px_per_mm = 0;
    float letters_density = 0;
    int letters_session = -1;
    std::string letters_only; ///< Texts::only
    Sizes near_sizes;
    float pressed_x = 0, pressed_y = 0; ///< where a button went down in the drawing
    bool dragged = false;
    std::string drawing_error;
    bool drawn_words_shape = false;
    std::vector<ShortPress> short_presses; ///< keys that went down since the last frame (desktop.cpp)
    std::shared_ptr<MarkRoom> mark_room;   ///< of view.marking, while it is there
};

constexpr float CLICK_PX = 4; ///< a press that moves less is a click, not a drag
constexpr double ORBIT_DEG_PER_PX = 0.35, WHEEL_FACTOR = 1.15;
/// Its size and scale in that box of this window.
void size_frame(const Window&, const Box&, Frame&);
/// Draws the frame, where it changed, and shows it there; or why it cannot be drawn.
void show_picture(Window&, const Frame&, const Box&);
/// Where its labels and gnomon lie on the screen, for whoever asks (seen.hpp).
void tell_seen(Window&, const Frame&, const Box&);
/// The drawing in its box, turned by whoever points at it.
void draw_drawing(Window&, const Box&);
/// A map that is only looked at before it is opened: no labels, nothing to point at.
void draw_preview(Window&, const Session& made, const Box&);
/// Dear ImGui's context, with nothing that moves or is written by itself.
void start_imgui();
/// The room in which a model is marked up, in place of all else, while view.marking is there.
void draw_marking(Window&, const Box& all);
/// Goes into that room with the file that is open, or out of it.
void enter_marking(View&);
void leave_marking(Window&);
/// Letters and sizes for the present distance, screen and map; only when one of them changed. Before a frame begins.
void fit_letters(Window&);
/// Uploads a session that was opened since. True when there was one.
bool take_session(Window&, const Surface&);
/// Has what was worked out since drawn. Before a frame begins.
void take_news(Window&);
/// Whoever owns the surface has these: puts the atlas's letters where they are drawn from, anew; draws what Dear ImGui
/// made.
void show_letters();
void show_imgui(const Surface&);
/// Between the platform's own beginning of a frame and showing it.
void draw_frame(Window&, const Surface&);

} // namespace boltwalk
