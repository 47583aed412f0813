// Published tables of threads, heads and drives, as far as the job needs them. Each table's source stands beside it in
// the .cpp; a figure that rests on memory says so there.
#pragma once

#include <string>
#include <string_view>

#include "core/measure/measure.hpp"

namespace boltwalk {

// --------------------------------------------------------------------------------------------------------- threads

enum class ThreadSeries {
    iso_coarse, ///< ISO 261, ISO 262: coarse pitch
    iso_fine,   ///< ISO 261: a fine pitch listed for this diameter
    unified,    ///< ASME B1.1: UNC, UNF, UNEF, 8-UN as listed
    pipe,       ///< ISO 228-1 (G), ISO 7-1 (R, Rc, Rp), ASME B1.20.1 (NPT)
    unlisted,   ///< well formed, in none of those: real, but worth a note
};

/// The shape of the thread, known for unlisted sizes too: what fits what, and which formulas hold.
enum class ThreadForm { metric, unified, pipe };

/// A thread as designated. diameter_mm is the nominal (for pipe threads the major diameter), pitch_mm the pitch.
struct Thread {
    ThreadSeries series = ThreadSeries::unlisted;
    double diameter_mm = 0;
    double pitch_mm = 0;
    std::string name; ///< our spelling: "M10", "M10x1.25", "3/8-16 UNC", "G 3/8"
    ThreadForm form = ThreadForm::metric;
};

/// Reads "M10", "M10x1.5" (also "M 10 X 1,5", "M10×1.5", "M10-1.5"), "3/8-16", "3/8-16 UNC", "3/8 UNC", "1/4-28UNF",
/// "#10-32", "10-32", "G 3/8", "R 1/2", "NPT 1/4", "1/4-18 NPT". A tolerance class behind it ("-6g", "-2A") is dropped.
/// "M10" gets its coarse pitch. A well-formed size that no table lists is read as `unlisted`. Mistakes: any other
/// shape; a diameter that has no coarse pitch, written without a pitch; a pitch that can only be a length ("M10x30");
/// "3/8-16 UNF", which contradicts itself; a pipe size that the standard does not have.
Reading<Thread> read_thread(std::string_view text);

/// Basic dimensions in millimetres (ISO 724 and ISO 898-1 for metric threads, ASME B1.1 for unified ones), the nominal
/// stress area in square millimetres. Zero for pipe threads: they close, they are not stressed by a preload.
double pitch_diameter_mm(const Thread&);
double minor_diameter_mm(const Thread&); ///< D1, of the nut
double root_diameter_mm(const Thread&);  ///< d3, of the bolt
double stress_area_mm2(const Thread&);

// ---------------------------------------------------------------------------------------------------------- drives

enum class DriveKind { hex, socket, hexalobular, external_hexalobular, bihex, square, slot, cross, hand, pliers, none };

/// What the tool grips. size is millimetres across flats for hex, bihex, socket, square and slot (blade width); the
/// drive number for hexalobular (ISO 10664), external hexalobular and cross (ISO 4757); 0 where there is none.
struct Drive {
    DriveKind kind = DriveKind::none;
    double size = 0;
    std::string name; ///< our spelling: "hex 14", "socket 6", "hexalobular 40", "hex 9/16 in"
};

/// Reads "hex 14", "hex 9/16 in", "socket 6", "hexalobular 40", "external hexalobular 12", "bihex 12", "square 10",
/// "slot 6", "cross 2", "hand", "pliers", "none". Millimetres unless "in" or a fraction says inches.
Reading<Drive> read_drive(std::string_view text);

// ------------------------------------------------------------------------------------------------- what is sold

enum class FastenerForm { bolt, nut, castle_nut, stud, plug, other };

/// How a drive and a thread go together.
enum class Sold {
    listed,     ///< some series of ISO, EN, DIN, JIS or ASME sells this thread with this drive
    not_listed, ///< none of the series known here does
    unknown,    ///< no table covers this pairing (plugs, unlisted threads, slots): nothing can be said
};

/// `head` is a value of the annotation's key or empty. `series` (may be null) receives the names of the series that
/// list it, or, where none does, the drives that this thread is sold with, as a clause for the remedy: "M10 is sold
/// with hex 16 (ISO 4014/4017/4032), 17 (DIN 931/933/934), ..."; it is empty where nothing can be said.
///
/// A hexagon counts whether the series is one of bolts or of nuts, plain or flanged (only a castle nut keeps to its own
/// series): makers mix them, and this is asked for a doubt, not for a parts list. A keyed head that is stated (`cap`,
/// `button`, `countersunk`, `none`) keeps to the series of that head. A table that rests on memory can say `listed`,
/// but never `not_listed`. A bihexagon is taken across flats like a hexagon and can only be confirmed: twelve-point
/// flange screws often have a smaller one.
Sold is_sold(const Thread&, const Drive&, FastenerForm, std::string_view head, std::string* series);

} // namespace boltwalk
