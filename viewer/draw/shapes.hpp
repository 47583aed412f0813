// Flat shapes over the picture: gathered on the CPU, drawn in one call. Places are pixels from the top left corner.
#pragma once

#include <array>
#include <optional>
#include <string_view>
#include <vector>

#include "viewer/draw/draw.hpp"
#include "viewer/draw/letters.hpp"

namespace boltwalk {

struct Shapes {
    struct Corner {
        std::array<float, 2> place, local;
        std::array<float, 4> box;
        Colour fill, rim;
        std::array<float, 3> third; ///< z: kind
    };
    std::vector<Corner> corners; ///< four a shape: top left, top right, bottom left, bottom right
    Atlas* atlas = nullptr;
};

Colour faded(Colour, double share); ///< so much of its opacity
void add_box(Shapes&, const Rect&, double radius, Colour fill, Colour rim, double rim_px);
/// A straight line with round ends.
void add_line(Shapes&, glm::dvec2 a, glm::dvec2 b, double width_px, Colour);
/// dashes 0: a whole ring.
void add_ring(Shapes&, glm::dvec2 middle, double radius, double width_px, Colour, int dashes = 0);
void add_disc(Shapes&, glm::dvec2 middle, double radius, Colour);
void add_triangle(Shapes&, glm::dvec2 a, glm::dvec2 b, glm::dvec2 c, Colour);
/// `at`: the pen on the baseline.
void add_text(Shapes&, Face, double size_px, std::string_view text, glm::dvec2 at, Colour);
/// A shaft with a head; nothing when it is shorter than its head.
void add_arrow(Shapes&, glm::dvec2 from, glm::dvec2 to, double width_px, Colour);

// What stands over the picture of a frame.

constexpr double WAY_RIM = 18; ///< a way that leaves the picture ends so far from its edge, pixels at scale 1
/// Of Frame::labels and what follows them: it found its place.
bool is_labelled(const Frame&, std::size_t wish);
/// The tool that has its words in this picture; null: none.
const ToolDrawn* tool_of(const Frame&);
/// Of a label's widest: narrower, and with more lines, where it finds no room beside a line.
constexpr double WIDTHS[] = {1, 0.75, 0.55};
/// The sizes that a label may have (an index as of LabelBox::wish): in full first, then what is shorter, each as wide
/// as it may be before it is broken narrower. What would have to be cut within a word is none of them, unless there is
/// no other.
std::vector<LabelSize> sizes_of(const Frame&, std::size_t wish);
glm::dvec2 size_of(const Words&, const Frame&); ///< in full
double label_capital_px(const Frame&);          ///< of a label's smaller letters
/// 0: there is a size in which no word is cut; 1: one that is wider than labels are meant to be; 2: none.
int room_wanting(const Frame&, std::size_t wish);
/// It is said somewhere in the picture that a part's way is estimated.
bool is_told(const Frame&, ItemId part);

struct MarkFacts {
    std::vector<double> in_sight;   ///< by Frame::next: how much of it is in plain sight
    std::vector<ItemId> ways_drawn; ///< parts whose way is a line already: they get no arrow
};
/// How a part's way begins, on the screen: its own, or none where the author states none.
struct WayArrow : Segment {
    bool towards_eye = false;
};
std::optional<WayArrow> arrow_of(const Stage&, const Frame&, const Projection&, ItemId part);
std::optional<LabelTarget> fastener_mark(const Stage&, const Frame&, const Projection&, ItemId);
/// Its middle, and a disc within it that labels keep off.
std::optional<LabelTarget> part_mark(const Stage&, const Frame&, const Projection&, ItemId);
constexpr double RING_BEYOND = 4.6; ///< that a ring's rim lies outside its mark, pixels at scale 1
void add_marks(Shapes&, const Stage&, const Frame&, const Projection&, const MarkFacts&);
/// Ways out, tools, centres: below marks and labels. Says which parts' ways it drew as lines.
std::vector<ItemId> add_overlays(Shapes&, const Stage&, const Frame&, const Projection&);
void add_labels(Shapes&, const Frame&);
/// Where the gnomon stands, and its letters (of the em).
struct Gnomon {
    Rect plate;
    double text_px = 0;
};
Gnomon gnomon_of(const Frame&);
void add_gnomon(Shapes&, const Frame&);
void add_caption(Shapes&, const Frame&);

} // namespace boltwalk
