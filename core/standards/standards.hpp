// Published tables of threads, heads, drives and strengths, and the formulas of a bolted joint, as far as the job needs
// them. Each table's source stands beside it in the .cpp; a figure that rests on memory says so there.
//
//   threads      read_thread(), basic dimensions, stress area
//   drives       read_drive(), what is sold together
//   strength     strength_of_bolt(), strength_of_nut(), is_grade()
//   the joint    clamp load and torque by T = K d F and by the friction formula
//   patterns     in which order the bolts of one joint are tightened, from where they are
//   the wrench   its setting with an adapter, and what of its range is used
//   heads, nuts  how large they are, by standard: hardware_size()
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

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

/// Which tool to take to it, in a person's words: "hex 14" (ring, open or socket), "hexagon key 5", "hexalobular key
/// 40", "screwdriver cross 2", "pliers", "by hand"; empty where nothing turns it. A drive's own name says what is
/// gripped, and "socket 5" is asked for at the counter as something else.
std::string tool_for(const Drive&);
/// The same of what may state none: empty then, too.
std::string tool_for(const std::optional<Drive>&);

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

/// A diameter that some series sells with a drive of about that size.
struct SizeSold {
    std::string size; ///< "M10", "3/8 in": no pitch, for no drive tells one
    double diameter_mm = 0;
    Drive drive;              ///< the table's own size
    std::string series;       ///< names, joined by ", "
    bool from_memory = false; ///< none of them was seen in print
};
/// Of hexagons and hexagon sockets, from a measured width: every row within `share` of it, the nearest drive first,
/// then by diameter. `castle`: of castle nuts only, else of everything but them.
std::vector<SizeSold> sizes_sold_with(DriveKind, double measured_mm, bool castle, double share = 0.02);

// --------------------------------------------------------------------------------------------------------- strength

/// What the class of a bolt promises at least, in MPa.
struct Strength {
    std::string name;       ///< "8.8", "SAE grade 5"; of a nut the bolt that it is meant for
    double tensile_mpa = 0; ///< tensile strength
    double yield_mpa = 0;   ///< 0.2 % proof stress; of classes below 8.8 the lower yield stress
    double proof_mpa = 0;   ///< stress under proof load
};

/// Of a bolt, screw or stud of that thread: property classes of ISO 898-1 (4.6 to 12.9) for metric threads, SAE J429
/// grades 2, 5 and 8 ("5", "grade 5", "SAE 5") for unified ones. None where no table here has it.
std::optional<Strength> strength_of_bolt(std::string_view grade, const Thread&);
/// Of the strongest bolt that a nut of this class is meant for (ISO 898-2: 5, 6, 8, 9, 10, 12; SAE J995: 2, 5, 8). Thin
/// nuts (04, 05) strip before they stretch a bolt: none.
std::optional<Strength> strength_of_nut(std::string_view grade, const Thread&);

/// Whether some standard calls a class or grade so: ISO 898-1, -2, -5, ISO 3506, ISO 8839, SAE J429, SAE J995, ASTM, or
/// a washer's hardness; a coating may stand behind it. Not whether this fastener comes in it. From memory (grade.cpp).
bool is_grade(std::string_view);
/// Spreadsheets take 8.8 and 10.9 for days of the year. Of what looks like such a date ("08. Aug", "8/8/2026", the
/// day's number 45512) the class that it was, or an empty text where no class is written so; nothing where it is no
/// date.
std::optional<std::string> grade_of_date(std::string_view);

// -------------------------------------------------------------------------------------------------------- the joint

/// A surface with its nut factor K of T = K d F.
struct NutFactor {
    std::string_view surface;
    double k;
};
std::span<const NutFactor> nut_factors();
double torque_by_nut_factor_nm(double k, double diameter_mm, double clamp_n);
double clamp_by_nut_factor_n(double k, double diameter_mm, double torque_nm);

/// Frictions between which an ordinary joint lies, thread and head alike, and the usual one: class B of VDI 2230's
/// frictions, 0.08 to 0.16, and its middle (from memory).
constexpr double low_friction = 0.08, usual_friction = 0.12, high_friction = 0.16;
/// Nut factors between which it lies: lubricated to dry (common practice, no source; 0.15 lubricated and 0.20 dry are
/// what published examples reckon with, tests/outside/joint.cpp). They are no rows of nut_factors(), whose ends lie
/// outside them: paste at 0.12, black steel at 0.30. Nor are they worked out from the frictions above, so the two
/// estimates of a clamp load differ.
constexpr double low_nut_factor = 0.15, high_nut_factor = 0.25;

/// What turns on what: the mean of the bearing face's outside and the hole's diameter, in millimetres, of a plain
/// hexagon head in a medium hole; a flange is larger, so it takes more torque for the same clamp load.
double bearing_diameter_mm(const Thread&);
/// Share of the yield stress that tension and torsion together reach at this clamp load, the friction in the thread
/// being `friction` (von Mises; VDI 2230 reckons with 0.9 as the most while tightening).
double utilisation(const Thread&, double yield_mpa, double clamp_n, double friction);
/// The clamp load at which that share is reached.
double clamp_at_share_n(const Thread&, double yield_mpa, double share, double friction);
/// The torque that it takes, and the clamp load that a torque gives.
double torque_for_clamp_nm(const Thread&, double clamp_n, double friction);
double clamp_for_torque_n(const Thread&, double torque_nm, double friction);

// --------------------------------------------------------------------------------------------------------- patterns

enum class Pattern : std::uint8_t {
    one,          ///< a single one
    two,          ///< turn about
    star,         ///< an even circle: consecutive pairs opposite, pair after pair a quarter on
    every_second, ///< an odd circle
    crosswise,    ///< a circle of uneven spacing: the next is the farthest from the last
    centre_out,   ///< rows and plates
    round,        ///< once round a circle (only where it is asked for)
    listed,       ///< as listed: nothing can be worked out, two lie at one place or one out of all reach
    too_many,     ///< as listed: more than 256
};

struct TighteningOrder {
    Pattern pattern = Pattern::listed;
    std::vector<std::size_t> order; ///< indices into the places, each once
};

using BoltPlace = std::array<double, 3>;
/// From where the bolts are, in millimetres; `axis` (any length but zero) from shank to head. The first one listed is
/// the first of a circle, which is counted clockwise as seen onto the heads.
TighteningOrder tightening_order(std::span<const BoltPlace> places_mm, const BoltPlace& axis);
/// The same where the author names the shape: `star`, `round` or `centre_out`. A shape that these places do not have
/// gives what tightening_order() gives.
TighteningOrder tightening_order(Pattern asked, std::span<const BoltPlace> places_mm, const BoltPlace& axis);
/// Of an even circle, numbered round from 0.
std::vector<std::size_t> star_sequence(std::size_t count);
/// "star: consecutive pairs opposite"
std::string_view name_of(Pattern);
/// Where that is from: a publication, or "common practice, no source".
std::string_view source_of(Pattern);

/// Shares of the final torque in so many passes, in percent, and whether they are published (3 passes: 30, 60, 100) or
/// only common practice (equal steps).
struct PassShares {
    std::vector<double> percent;
    bool published = false;
};
PassShares pass_shares(int passes);

// -------------------------------------------------------------------------------------------------------- the wrench

/// What a torque wrench is set to so that the fastener gets `torque_nm`, when an adapter (a crowfoot, an offset ring)
/// of `adapter_mm` from square to fastener sits on a wrench of `wrench_mm` from grip to square, at `angle_deg` to the
/// wrench: T L / (L + E cos a). In line is 0, square to it 90 (no correction), folded back 180. A mistake where nothing
/// positive comes of it.
Reading<double> wrench_setting_nm(double torque_nm, double wrench_mm, double adapter_mm, double angle_deg);

/// Below a fifth of its full scale no hand torque wrench is checked (ISO 6789 tests at 20, 60 and 100 %).
constexpr double wrench_least_share = 0.2;
enum class WrenchFit : std::uint8_t { usable, below_marks, below_fifth, above };
WrenchFit wrench_fit(double setting_nm, double low_nm, double high_nm);
/// Largest error that ISO 6789 lets a setting wrench of class A have, in percent: 4 above 10 N·m of full scale, 6 up to
/// there.
double wrench_error_percent(double high_nm);

// ------------------------------------------------------------------------------------ heads and nuts as solids

enum class HardwareShape {
    hex_bolt,
    flanged_bolt,
    cap_screw,
    button_screw,
    countersunk_screw,
    pan_screw,
    headless_screw,
    plain_nut,
    flanged_nut,
    slotted_nut,
    flat_washer
};

struct HardwareStandard {
    std::string_view name; ///< "ISO 4017"
    HardwareShape shape = HardwareShape::hex_bolt;
    std::string_view head; ///< the annotation's word; empty for nuts and washers
    DriveKind drive = DriveKind::none;
    ThreadForm form = ThreadForm::metric;
};
std::span<const HardwareStandard> hardware_standards();
/// "ISO 4017", "iso4017"; "ISO 7380" is taken as its part 1. Null where no table here has it.
const HardwareStandard* find_hardware_standard(std::string_view name);
/// The standard in these tables that took a withdrawn one's place: "DIN 912" -> ISO 4762 (from memory). Null otherwise.
const HardwareStandard* successor_of(std::string_view name);

/// One size of a standard, largest or nominal, as its table has it. detail_mm: depth of the socket, recess or slot;
/// height of the flange's edge; of a slotted nut the height up to its slots; of a washer the width of its hole.
struct HardwareSize {
    double width_mm = 0;  ///< across head, flange or washer; 0: the flats are the widest there is
    double height_mm = 0; ///< of head, nut or washer
    double detail_mm = 0;
    std::optional<Drive> drive; ///< none: the standard gives no size that a tool is called by
};
/// Nothing where the standard has no such thread.
std::optional<HardwareSize> hardware_size(const HardwareStandard&, double diameter_mm);

/// Of a hole that a bolt goes through: ISO 273, medium.
double clearance_hole_mm(double diameter_mm);

} // namespace boltwalk
