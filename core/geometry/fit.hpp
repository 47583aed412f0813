// Fit: is a bolt long enough for what it clamps, or too long for the hole behind it? From shapes alone, where they show
// both: an estimate.
//
// Rays parallel to a fastener's axis, on circles outside its shank, meet what it goes through; rays on its axis, below
// the shank's end, meet the bottom of the hole. What leaves room round the shank is clearance; what lies on it is
// thread. What the shank stands in the thread for is its engagement. What it holds by a slot lies on opposite sides of
// the shank only: it is clamped, and holds no thread. What it is said to hold and does not reach lies beyond its end on
// the same circles.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/geometry/solids.hpp"

namespace boltwalk {

enum class FitVerdict : std::uint8_t {
    enough,     ///< enough of it in the thread, and it ends before the hole does
    short_one,  ///< less in the thread than `wanted_mm`
    bottoms,    ///< the hole ends before the shank, or nearer than one pitch
    not_shown,  ///< the shapes do not show it; `why` says what is missing
    not_stated, ///< turned by hand, a cap or a knob, and nobody states the length of its thread
};

struct Fit {
    ItemId fastener;
    FitVerdict verdict = FitVerdict::not_shown;
    std::string why;        ///< for not_shown and not_stated: "no shank below the head"
    double diameter_mm = 0; ///< of the thread where stated, else of the shank as modelled
    bool diameter_stated = false;
    double shank_mm = 0;             ///< as modelled, from under the head to its end
    std::optional<double> stated_mm; ///< `length_mm`, where the head is one whose length is measured so
    double clamped_mm = 0;           ///< what lies between the head and the thread, gaps included
    double engaged_mm = 0;           ///< the shank in the thread
    double wanted_mm = 0;            ///< one diameter, or more in what is softer
    std::string wanted_why;          ///< "one diameter", "aluminium: 1.5 diameters"
    std::optional<double> room_mm;   ///< from the shank's end to the bottom of the hole; none: it goes through
    bool thread_drawn = false;       ///< no gap is drawn round the shank there; else it is there for want of a nut
    std::int32_t thread_in = -1;     ///< the body that holds the thread: a part, or the nut
    std::int32_t unreached = -1;     ///< what it is said to hold, or its nut, beyond its end: the farthest; then it is
                                     ///< short_one, and of the figures below `stated_mm` only this one stands
    double gap_mm = 0;               ///< from its end to that
    bool seated = false;             ///< as drawn its head lies on something
    bool ends_in_thread = false;     ///< a longer one would have more in the thread
};

struct Fits {
    std::vector<Fit> list;         ///< bolts, screws and plugs, in file order
    std::vector<Finding> findings; ///< doubts: too short, would bottom; a stated length that the shape does not have
};

Fits fit_of(const Solids&, const Effort& = {});

/// The doubts for a check of the whole map: lengths that are stated, of bolts that are drawn in their place, and too
/// short by every practice or longer than their holes are deep. It has less to say than Fits::findings. Alike ones are
/// told once.
std::vector<Finding> plain_length_doubts(const Solids&, const Fits&);

} // namespace boltwalk
