// Published tables of threads, heads and drives, as far as the job needs them. Each table's source stands beside it in
// the .cpp; a figure that rests on memory says so there.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "core/measure/measure.hpp"

namespace boltwalk {

enum class ThreadSeries {
    iso_coarse, ///< ISO 261, ISO 262: coarse pitch
    iso_fine,   ///< ISO 261: a fine pitch listed for this diameter
    unified,    ///< ASME B1.1: UNC, UNF, UNEF, 8-UN as listed
    pipe,       ///< ISO 228-1 (G), ISO 7-1 (R, Rc, Rp), ASME B1.20.1 (NPT)
    unlisted,   ///< well formed, in none of those: real, but worth a note
};

/// A thread as designated. diameter_mm is the nominal (for pipe threads the major diameter), pitch_mm the pitch.
struct Thread {
    ThreadSeries series = ThreadSeries::unlisted;
    double diameter_mm = 0;
    double pitch_mm = 0;
    std::string name; ///< our spelling: "M10", "M10x1.25", "3/8-16 UNC", "G 3/8"
};

/// Reads "M10", "M10x1.5" (also "M 10 X 1,5", "M10×1.5", "M10-1.5"), "3/8-16", "3/8-16 UNC", "1/4-28UNF", "#10-32",
/// "G 3/8", "R 1/2", "NPT 1/4". "M10" gets its coarse pitch. A text of no such shape is a mistake; a well-formed size
/// that no table lists is read as `unlisted`.
Reading<Thread> read_thread(std::string_view text);

/// ISO 724: basic pitch and minor diameters; ISO 898-1 9.1.6.1: nominal stress area (also ASME B1.1 for unified
/// threads, where it is pi/4 (D - 0.9743 P)^2). Millimetres, square millimetres.
double pitch_diameter_mm(const Thread&);
double minor_diameter_mm(const Thread&); ///< D1, of the nut
double root_diameter_mm(const Thread&);  ///< d3, of the bolt
double stress_area_mm2(const Thread&);

enum class DriveKind { hex, socket, hexalobular, external_hexalobular, bihex, square, slot, cross, hand, pliers, none };

/// What the tool grips. size is millimetres across flats for hex, bihex, socket, square and slot (blade width); the
/// drive number for hexalobular (ISO 10664), external hexalobular and cross (ISO 4757); 0 where there is none.
struct Drive {
    DriveKind kind = DriveKind::none;
    double size = 0;
    std::string name; ///< our spelling: "hex 14", "socket 6", "hexalobular 40", "hex 9/16 in"
};

/// Reads "hex 14", "hex 9/16 in", "socket 6", "hexalobular 40", "external hexalobular 12", "bihex 12", "square 10",
/// "slot 6", "cross 2", "hand", "pliers", "none".
Reading<Drive> read_drive(std::string_view text);

enum class FastenerForm { bolt, nut, castle_nut, stud, plug, other };

/// How a drive and a thread go together.
enum class Sold {
    listed,     ///< some series of ISO, EN, DIN, JIS or ASME sells this thread with this drive
    not_listed, ///< none of the series known here does
    unknown,    ///< no table covers this pairing (plugs, unlisted threads, slots): nothing can be said
};

/// `head` is a value of the annotation's key or empty. `series` (may be null) receives the names of the series that
/// list it, or, where none does, the drives that this thread is sold with, for the remedy's sentence.
Sold is_sold(const Thread&, const Drive&, FastenerForm, std::string_view head, std::string* series);

} // namespace boltwalk
