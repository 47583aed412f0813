// The drawing: OpenGL 3.3 core through epoxy, in GLSL that WebGL2 takes too. One Drawing for one Stage and one context.
//
//   open_offscreen()   a context without a screen (EGL's surfaceless platform, else any device)
//   make_drawing()     uploads a stage into the context that is current
//   Frame              everything that a picture depends on; equal frames give equal pictures
//   needs_frame()      is this frame another than the last one drawn?
//   draw()             into a framebuffer of the caller's
//   render()           offscreen, to pixels; write_png()
//
// Colours: viewer/draw/theme.hpp. Sizes in the frame are pixels of the framebuffer; `scale` is pixels for one pixel of
// a picture 800 high, and everything with a fixed size (lines, text, rings, gnomon) grows with it. Errors are
// sentences.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

#include "viewer/draw/theme.hpp"
#include "viewer/scene/overlays.hpp"
#include "viewer/scene/scene.hpp"
#include "viewer/scene/steady.hpp"

namespace boltwalk {

// ---------------------------------------------------------------------------------------------------------------------
// letters

enum class Face { text, strong };
/// The font file's bytes (OpenType), as baked into the program: for Dear ImGui's atlas too.
std::span<const unsigned char> font_bytes(Face);
/// Width in pixels of one line of UTF-8 at that size (of the em). Needs no context.
double text_width_px(Face, double size_px, std::string_view text);
/// The longest beginning of a text that fits, with an ellipsis where it was cut.
std::string shortened(Face, double size_px, std::string_view text, double width_px);
/// In as many lines as it takes, broken at spaces; none for an empty one. None begins or ends with the separator "·".
std::vector<std::string> wrapped(Face, double size_px, const std::string& text, double width_px);

// ---------------------------------------------------------------------------------------------------------------------
// what a picture shows

enum class Corner : std::uint8_t { foot_left, foot_right, top_right, top_left };

struct Frame {
    int width_px = 1280, height_px = 800;
    double scale = 1;
    Camera camera;
    std::vector<Pose> poses; ///< by item; empty: everything at rest

    std::vector<ItemId> next;          ///< highlighted, and drawn through what covers them
    std::vector<ItemId> moves;         ///< parts that get an arrow along their way
    std::vector<ItemId> whole;         ///< of `next`: outlined only, for no place on it is meant
    std::vector<ItemId> holes;         ///< plugs that are out: a ring where each goes, and its label
    std::vector<ItemId> selected;      ///< bracketed
    std::vector<std::uint8_t> painted; ///< by item; empty: none

    Overlays over; ///< estimates: ways out, a tool, the centre of what leaves, what turns to glass

    std::vector<LabelWish> labels;
    LabelLayout layout; ///< of those labels, behind them of over.plumbs and of one tool: place_labels() fills it in
    Caption caption;    ///< empty: no caption

    bool night = false;
    bool xray = false; ///< everything but what is next is glass
    bool gnomon = true;
    Corner gnomon_at = Corner::foot_left;
    double capital_px = 0; ///< least height of capitals, where the picture has room for them: gnomon, fit_letters()
    double letters = 1;    ///< labels are so many times as large as the scale has them
    bool occlusion = true; ///< soft contact shadows
    bool edges = true;
};
bool operator==(const LabelLayout&, const LabelLayout&);
bool same_picture(const Frame&, const Frame&);

/// Sets poses, next, moves, labels, caption and painted from a shot, at t between before (0) and after (1).
void fill_frame(const Job&, const Stage&, const Shot&, double t, Frame&);

/// Lays the frame's labels out for its camera, off `reserved`, the caption and the gnomon, and chooses the tool that is
/// drawn: of those in `over` the one that shows most and has room for its words. What is an estimate and found no room
/// for its words is not drawn.
void place_labels(const Stage&, std::span<const Rect> reserved, Frame&);
/// The same in a picture that moves, `seconds` after the one whose layout the frame still has: labels are carried along
/// with what they name and fade (viewer/scene/steady.hpp). `labels`: of the same labels and estimates, else a new one;
/// of other tools, after without_tool().
void move_labels(const Stage&, std::span<const Rect> reserved, bool at_rest, double seconds, SteadyLabels& labels,
                 Frame&);
/// For a picture whose tools are others than before: no tool is drawn yet, and all other labels stay.
void without_tool(SteadyLabels&, Frame&);
/// Sets `letters`: as large as `capital_px` asks for, or as leaves out no label that would find room with smaller ones
/// and the drawing in sight. Smaller than the scale has them only where one would be left out else, and never where the
/// scale's are as large as that. What it says for a view holds while it turns.
void fit_letters(const Stage&, std::span<const Rect> reserved, Frame&);
/// Where the gnomon hides fewest fasteners of `next` and `holes`, and is hidden by least of `beside`, which is drawn
/// over it; of equal ones the first.
Corner best_for_gnomon(const Stage&, std::span<const Rect> beside, const Frame&);
/// Where the gnomon and the caption are drawn in that frame; width 0 when not drawn.
Rect gnomon_rect(const Frame&);
Rect caption_rect(const Frame&);
/// What is left of the picture beside the gnomon and below the caption, where a step's items should stand.
Rect clear_of(const Frame&);

// ---------------------------------------------------------------------------------------------------------------------
// drawing

/// Closes its context when it goes.
struct Offscreen;
struct OffscreenCloser {
    void operator()(Offscreen*) const;
};
using OffscreenContext = std::unique_ptr<Offscreen, OffscreenCloser>;
/// Makes a context and makes it current. The error says what was tried and what is missing.
tl::expected<OffscreenContext, std::string> open_offscreen();

struct Programs;
using ProgramsHandle = std::shared_ptr<Programs>;
/// What all drawings in the context that is current are drawn with. Drivers may compile it while something else is
/// done; make_drawing() waits for it. It goes before the context does.
ProgramsHandle begin_programs();

struct Drawing;
struct DrawingCloser {
    void operator()(Drawing*) const; ///< the context must be current
};
using DrawingHandle = std::unique_ptr<Drawing, DrawingCloser>;
/// The stage (and its map) must outlive the drawing. Fails with a sentence when the context is too old or refuses.
/// Without `programs` it has its own.
tl::expected<DrawingHandle, std::string> make_drawing(const Stage&, ProgramsHandle programs = {});

bool needs_frame(const Drawing&, const Frame&);
/// Leaves blending, depth test, scissor and the bound program as a fresh context has them; viewport is the frame's.
/// `framebuffer`: 0 for the window. Everything antialiased is resolved before, so it needs no samples of its own.
void draw(Drawing&, const Frame&, unsigned framebuffer = 0);

/// Only the triangles, once, one colour, same antialiasing: what tests/bench measures a frame against.
void draw_bare(Drawing&, const Frame&, unsigned framebuffer = 0);
struct FrameTime {
    double seconds = 0;     ///< from the first call until the GPU has finished; no pixels are read
    double processor_s = 0; ///< of all threads: with a software renderer what the frame takes, however busy the machine
};
/// Draws one frame of either kind, offscreen.
FrameTime time_frame(Drawing&, const Frame&, bool bare);
/// What the frame drawn last took: calls that draw, targets drawn into one after the other, triangles handed over.
struct FrameCost {
    std::size_t draws = 0, passes = 0, triangles = 0;
};
FrameCost cost_of(const Drawing&);
/// What the drawing holds on the GPU.
struct DrawingSize {
    std::size_t mesh_bytes = 0, edge_bytes = 0, triangles = 0, edges = 0, samples = 0;
};
DrawingSize size_of(const Drawing&);

struct Pixels {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb; ///< top row first, 3 bytes a pixel
};
/// Draws offscreen into a framebuffer of its own. Fails when the size is more than the context can.
tl::expected<Pixels, std::string> render(Drawing&, const Frame&);
tl::expected<void, std::string> write_png(const Pixels&, const std::string& path);
/// A JPEG file's bytes, for a page; quality from 1 to 100.
std::string jpeg_of(const Pixels&, int quality);

} // namespace boltwalk
