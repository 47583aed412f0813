// Quantities as manuals print them: read, convert, print.
//
// Inside the program a torque is newton metres, an angle degrees, a length millimetres, a mass kilograms; the unit
// stands in the field's name. The author's own words are kept beside the figures, because the manual's text is the fact
// and the converted figure only a courtesy. Factors: NIST Special Publication 811, appendix B (exact where the foot and
// the pound are exact). Nothing here uses the C locale: "," and "." are read the same way on every machine.
#pragma once

#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

namespace boltwalk {

// glTF's unit is the metre, a workshop's the millimetre.
constexpr double mm_per_m = 1000;
constexpr double m_per_mm = 0.001;
constexpr double mm_per_inch = 25.4; ///< exact

/// Why a text could not be read as a quantity, and what to write instead. Both are whole sentences without node or key;
/// whoever holds those adds them.
struct Mistake {
    std::string what;
    std::string remedy;
};

/// Without blanks, tabs and ends of line before and after it.
std::string_view trimmed(std::string_view text);

template <typename T>
using Reading = tl::expected<T, Mistake>;

enum class TorqueUnit {
    newton_metre,
    pound_force_foot,
    pound_force_inch,
    kilogram_force_metre,
    kilogram_force_centimetre
};

/// One stage of tightening: to a torque (low_nm == high_nm for a single value), through an angle, or one then the
/// other.
struct TorqueStage {
    bool has_torque = false;
    double low_nm = 0;
    double high_nm = 0;
    bool has_angle = false;
    double angle_deg = 0;
};

/// A torque as stated, stage after stage. Never empty when it came out of read_torque.
struct TorqueSpec {
    std::vector<TorqueStage> stages;
    TorqueUnit unit = TorqueUnit::newton_metre; ///< the unit that the author wrote
    std::string text;                           ///< the author's words, trimmed
};

/// Stages joined by ";", each a torque, a torque with an angle, or an angle: "64 N·m", "69..78 N·m" ("69-78", "69 to
/// 78"), "64 ± 5 N·m" (59 to 69), "64 N·m ± 10 %", "40 N·m + 90°", "20 N·m; 40 N·m; + 90 deg". Units in the trade's
/// spellings, capitals or not: N·m ("N.m", "Nm", "N m"), lbf·ft ("lb-ft", "ft-lb", "ft lbs"), lbf·in likewise, kgf·m
/// ("kg·m", "mkg": the trade writes it so) and kgf·cm. Mistakes: no unit, or one of force, length, pressure; two units;
/// a range upside down; zero or less; a figure that can be read in two ways ("1,500"); anything left over.
Reading<TorqueSpec> read_torque(std::string_view text);

/// Millimetres from "50 mm", "5 cm", "0.05 m", "2 in", "1-1/2 in", or a bare number (taken as millimetres). Never
/// negative; zero is read.
Reading<double> read_length_mm(std::string_view text);

/// Kilograms from "43 kg", "95 lb", "850 g", or a bare number (taken as kilograms). Never negative; zero is read.
Reading<double> read_mass_kg(std::string_view text);

/// A decimal number and nothing else, "." or "," as the decimal sign, below 10^9 in size. "1,500" is refused: it is 1.5
/// to one reader and 1500 to another.
Reading<double> read_number(std::string_view text);

/// `value` newton metres in `unit`.
double torque_in(TorqueUnit unit, double value_nm);
/// `value` of `unit` in newton metres.
double torque_to_nm(TorqueUnit unit, double value);
/// A unit of torque alone, in any spelling that read_torque takes.
Reading<TorqueUnit> read_torque_unit(std::string_view text);
/// "N·m", "lbf·ft", ...
std::string_view torque_unit_sign(TorqueUnit unit);

/// At most `digits` figures after the point, trailing zeros dropped, "." as the sign: "64", "1.5".
std::string print_number(double value, int digits = 3);
/// "64 N·m", "69..78 N·m", "40 N·m + 90°"; stages joined by "; ". In the author's own unit the author's figures. In
/// another one the figures that a torque wrench can be set to: whole numbers from 20 upwards, one decimal from 2, more
/// below.
std::string print_torque(const TorqueSpec& spec, TorqueUnit unit = TorqueUnit::newton_metre);

} // namespace boltwalk
