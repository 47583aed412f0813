#include <algorithm>
#include <fmt/format.h>
#include <optional>

#include "core/measure/measure.hpp"
#include "core/measure/spelling.hpp"

namespace boltwalk {

using namespace spelling;

namespace {

struct UnitFacts {
    TorqueUnit unit;
    double nm;
    std::string_view sign;
};

// NIST SP 811, appendix B.8, carried to all figures: the pound (0.453 592 37 kg), the foot (0.3048 m), the inch and
// standard gravity (9.806 65 m/s2) are exact by definition.
constexpr UnitFacts facts[] = {
    {TorqueUnit::newton_metre, 1.0, "N·m"},
    {TorqueUnit::pound_force_foot, 1.3558179483314004, "lbf·ft"},
    {TorqueUnit::pound_force_inch, 0.1129848290276167, "lbf·in"},
    {TorqueUnit::kilogram_force_metre, 9.80665, "kgf·m"},
    {TorqueUnit::kilogram_force_centimetre, 0.0980665, "kgf·cm"},
};

const UnitFacts& facts_of(TorqueUnit unit) {
    const auto* const found =
        std::find_if(std::begin(facts), std::end(facts), [&](const UnitFacts& f) { return f.unit == unit; });
    return found == std::end(facts) ? facts[0] : *found;
}

struct TorqueWord {
    std::string_view word; ///< joining signs left out
    TorqueUnit unit;
};

// Spellings of the trade; common practice, no source. "kp" is the kilopond of older manuals, another name of the kgf.
constexpr TorqueWord unit_words[] = {
    {"nm", TorqueUnit::newton_metre},
    {"newtonmetre", TorqueUnit::newton_metre},
    {"newtonmetres", TorqueUnit::newton_metre},
    {"newtonmeter", TorqueUnit::newton_metre},
    {"newtonmeters", TorqueUnit::newton_metre},
    {"lbfft", TorqueUnit::pound_force_foot},
    {"lbft", TorqueUnit::pound_force_foot},
    {"lbsft", TorqueUnit::pound_force_foot},
    {"ftlbf", TorqueUnit::pound_force_foot},
    {"ftlb", TorqueUnit::pound_force_foot},
    {"ftlbs", TorqueUnit::pound_force_foot},
    {"footpound", TorqueUnit::pound_force_foot},
    {"footpounds", TorqueUnit::pound_force_foot},
    {"poundfoot", TorqueUnit::pound_force_foot},
    {"poundfeet", TorqueUnit::pound_force_foot},
    {"lbfin", TorqueUnit::pound_force_inch},
    {"lbin", TorqueUnit::pound_force_inch},
    {"lbsin", TorqueUnit::pound_force_inch},
    {"inlbf", TorqueUnit::pound_force_inch},
    {"inlb", TorqueUnit::pound_force_inch},
    {"inlbs", TorqueUnit::pound_force_inch},
    {"inchpound", TorqueUnit::pound_force_inch},
    {"inchpounds", TorqueUnit::pound_force_inch},
    {"poundinch", TorqueUnit::pound_force_inch},
    {"poundinches", TorqueUnit::pound_force_inch},
    {"kgfm", TorqueUnit::kilogram_force_metre},
    {"kgm", TorqueUnit::kilogram_force_metre},
    {"mkgf", TorqueUnit::kilogram_force_metre},
    {"mkg", TorqueUnit::kilogram_force_metre},
    {"kpm", TorqueUnit::kilogram_force_metre},
    {"mkp", TorqueUnit::kilogram_force_metre},
    {"kgfcm", TorqueUnit::kilogram_force_centimetre},
    {"kgcm", TorqueUnit::kilogram_force_centimetre},
    {"cmkgf", TorqueUnit::kilogram_force_centimetre},
    {"cmkg", TorqueUnit::kilogram_force_centimetre},
    {"kpcm", TorqueUnit::kilogram_force_centimetre},
    {"cmkp", TorqueUnit::kilogram_force_centimetre},
};

std::optional<TorqueUnit> unit_of(std::string_view unit) {
    const auto* const found =
        std::find_if(std::begin(unit_words), std::end(unit_words), [&](const TorqueWord& w) { return w.word == unit; });
    return found == std::end(unit_words) ? std::nullopt : std::optional(found->unit);
}

bool is_degree(std::string_view unit) {
    return unit == "deg" || unit == "degree" || unit == "degrees";
}

// What is less or more was misread: the smallest screws (M1) take some hundredths of a newton metre, bolts as thick as
// an arm some hundred thousand, and the finest gauge of angles shows tenths of a degree. Common practice, no source.
constexpr double least_torque_nm = 0.001, most_torque_nm = 1e6;
constexpr double least_angle_deg = 0.1;

tl::unexpected<Mistake> wrong(std::string what, std::string remedy) {
    return tl::unexpected(Mistake{std::move(what), std::move(remedy)});
}

/// Never with the figure at hand in only one unit: that would read as advice which unit is meant.
constexpr std::string_view write_unit =
    "Write the unit that the source gives, for instance \"64 N·m\" or \"47 lbf·ft\".";

/// `shown` is the stage in the author's own spelling.
Mistake wrong_unit(std::string_view shown, std::string_view unit) {
    const std::string word = squeezed(unit);
    if (const std::string_view quantity = quantity_of(word); !quantity.empty()) {
        return {fmt::format("{} gives {}, not a torque.", quoted(shown), quantity), std::string(write_unit)};
    }
    if (word == "lb/ft" || word == "lbs/ft" || word == "lbf/ft" || word == "ft/lb" || word == "ft/lbs" ||
        word == "lb/in" || word == "in/lb") {
        return {fmt::format("In {} one unit is divided by the other; that is no torque.", quoted(shown)),
                "A torque is force times length: write \"lbf·ft\" or \"lbf·in\"."};
    }
    if (word == "danm") {
        return {"\"daN·m\" is not among the units read here.", "1 daN·m is 10 N·m: write the figure in N·m."};
    }
    if (word == "ncm" || word == "cnm") {
        return {fmt::format("The unit in {} is not among those read here.", quoted(shown)),
                "100 of them are 1 N·m: write the figure in N·m."};
    }
    return {fmt::format("{} has no unit of torque that is known here.", quoted(shown)),
            "Write one of N·m, lbf·ft, lbf·in, kgf·m, kgf·cm."};
}

/// The sign of a unit of torque, or what stands there instead.
std::string spoken_unit(std::string_view unit) {
    const std::optional<TorqueUnit> known = unit_of(squeezed(unit));
    return known ? std::string(torque_unit_sign(*known)) : quoted(unit);
}

bool take_range(std::string_view& rest) {
    skip_blanks(rest);
    return take(rest, "...") || take(rest, "..") || take(rest, "-") || take(rest, "to");
}

bool take_plus(std::string_view& rest) {
    skip_blanks(rest);
    return !rest.starts_with("+-") && (take(rest, "+") || take(rest, "plus") || take(rest, "then"));
}

Reading<double> take_amount(std::string_view& rest) {
    skip_blanks(rest);
    if (rest.starts_with('-')) {
        return wrong(fmt::format("{} is negative.", quoted(rest)),
                     "Write figures above zero; a left-hand thread is said with the key \"hand\".");
    }
    return take_number(rest);
}

/// The figures of one stage as they come, before they are judged.
struct Figures {
    double first = 0;
    std::optional<double> second;
    std::optional<double> give, give_percent; ///< what follows "±"
    std::string_view unit;
};

Reading<Figures> take_figures(std::string_view& rest) {
    Figures figures;
    const Reading<double> first = take_amount(rest);
    if (!first) {
        return tl::unexpected(first.error());
    }
    figures.first = *first;
    figures.unit = take_unit(rest);
    const bool give = take(rest, "+-") || (rest.starts_with(" +-") && take(rest, " +-"));
    if (!give && !take_range(rest)) {
        return figures;
    }
    const Reading<double> second = take_amount(rest);
    if (!second) {
        return tl::unexpected(second.error());
    }
    std::string_view unit = take_unit(rest);
    if (give && take(unit, "%")) {
        skip_blanks(unit);
        figures.give_percent = *second;
    } else if (give) {
        figures.give = *second;
    } else {
        figures.second = *second;
    }
    if (!unit.empty() && !figures.unit.empty() && unit_of(squeezed(unit)) != unit_of(squeezed(figures.unit))) {
        return wrong(
            fmt::format("The two figures stand in {} and in {}.", spoken_unit(figures.unit), spoken_unit(unit)),
            "Write both in one unit.");
    }
    if (!unit.empty()) {
        figures.unit = unit;
    }
    return figures;
}

Reading<TorqueStage> torque_stage(const Figures& figures, std::string_view shown, TorqueUnit unit) {
    double low = figures.first;
    double high = figures.second.value_or(low);
    if (figures.give || figures.give_percent) {
        const double give = figures.give ? *figures.give : low * *figures.give_percent / 100.0;
        high = low + give;
        low -= give;
    }
    if (figures.first == 0) {
        return wrong(fmt::format("{} is a torque of zero.", quoted(shown)),
                     "Leave the key out where no torque is stated.");
    }
    if (low <= 0) {
        return wrong(fmt::format("{} reaches down to zero.", quoted(shown)), "Check the figures against their source.");
    }
    if (torque_to_nm(unit, low) < least_torque_nm) {
        return wrong(fmt::format("{} is less than any fastener is tightened to.", quoted(shown)),
                     "Check the figure and its unit against the source.");
    }
    if (torque_to_nm(unit, high) > most_torque_nm) {
        return wrong(fmt::format("{} is more than any fastener is tightened to.", quoted(shown)),
                     "Check the figure and its unit against the source.");
    }
    if (high < low) {
        return wrong(fmt::format("{} is a range upside down.", quoted(shown)),
                     "Write the lower figure first, for instance \"69..78 N·m\".");
    }
    TorqueStage stage;
    stage.has_torque = true;
    stage.low_nm = torque_to_nm(unit, low);
    stage.high_nm = torque_to_nm(unit, high);
    return stage;
}

Reading<double> angle_of(const Figures& figures, std::string_view shown) {
    if (figures.second || figures.give || figures.give_percent) {
        return wrong(fmt::format("{} gives an angle two figures.", quoted(shown)),
                     "Write the angle to turn to, and say how far it may be off in \"note\".");
    }
    if (figures.first == 0) {
        return wrong(fmt::format("{} is an angle of zero.", quoted(shown)), "Leave the angle out.");
    }
    if (figures.first < least_angle_deg) {
        return wrong(fmt::format("{} gives an angle that nobody can turn to.", quoted(shown)),
                     "Check the angle against its source.");
    }
    return figures.first;
}

Reading<double> take_angle(std::string_view& rest, std::string_view shown) {
    const Reading<Figures> figures = take_figures(rest);
    if (!figures) {
        return tl::unexpected(figures.error());
    }
    const std::string unit = squeezed(figures->unit);
    if (unit_of(unit)) {
        return wrong(fmt::format("In {} a torque follows a \"+\".", quoted(shown)),
                     "Part the stages with \";\": \"20 N·m; 40 N·m\". After \"+\" stands an angle: \"40 N·m + 90°\".");
    }
    if (!is_degree(unit)) {
        return wrong(fmt::format("In {} the angle has no degree sign.", quoted(shown)),
                     "Write the angle in degrees: \"+ 90°\" or \"+ 90 deg\".");
    }
    return angle_of(*figures, shown);
}

/// Appends what stands between two ";" (mostly one stage; "40 N·m + 90° + 90°" is two). `unit` is that of the stages
/// before, if any had one; `shown` the text in the author's own spelling.
std::optional<Mistake> read_stage(std::string_view text, std::string_view shown, std::vector<TorqueStage>& stages,
                                  std::optional<TorqueUnit>& unit) {
    std::string_view rest = text;
    TorqueStage stage;
    if (!take_plus(rest)) {
        const Reading<Figures> figures = take_figures(rest);
        if (!figures) {
            return figures.error();
        }
        const std::string word = squeezed(figures->unit);
        if (word.empty()) {
            return Mistake{fmt::format("{} has no unit.", quoted(shown)), std::string(write_unit)};
        }
        if (is_degree(word)) {
            const Reading<double> angle = angle_of(*figures, shown);
            if (!angle) {
                return angle.error();
            }
            stage.has_angle = true;
            stage.angle_deg = *angle;
        } else {
            const std::optional<TorqueUnit> own = unit_of(word);
            if (!own) {
                return wrong_unit(shown, figures->unit);
            }
            if (unit && *unit != *own) {
                return Mistake{
                    fmt::format("The stages stand in {} and in {}.", torque_unit_sign(*unit), torque_unit_sign(*own)),
                    "Write all stages in one unit."};
            }
            unit = own;
            const Reading<TorqueStage> read = torque_stage(*figures, shown, *own);
            if (!read) {
                return read.error();
            }
            stage = *read;
        }
    } else {
        rest = text;
    }
    while (take_plus(rest)) {
        const Reading<double> angle = take_angle(rest, shown);
        if (!angle) {
            return angle.error();
        }
        if (stage.has_angle) {
            stages.push_back(stage);
            stage = TorqueStage{};
        }
        stage.has_angle = true;
        stage.angle_deg = *angle;
    }
    stages.push_back(stage);
    take(rest, ".");
    skip_blanks(rest);
    if (!rest.empty()) {
        return Mistake{fmt::format("In {} it is not clear what {} means.", quoted(shown), quoted(rest)),
                       "Write only figures, units, \"+\" before an angle and \";\" between stages; the rest belongs "
                       "into \"note\"."};
    }
    return std::nullopt;
}

/// `figures` after the point where the value is at least `from`, and one more for each power of ten below: nothing that
/// was stated is printed as zero.
std::string with_figures(double value, double from, int figures) {
    for (double least = from; value < least && value > 0; least /= 10) {
        ++figures;
    }
    return print_number(value, figures);
}

/// After the point, where the author's own figure is printed: enough for any, too few for the dust of a conversion.
constexpr int own_figures = 6;

/// A converted figure to what a torque wrench can be set to; below 20 with decimals, so that rounding never moves it by
/// more than 2.5 % (under the 4 % that ISO 6789 allows the wrench itself).
std::string wrench_figure(double value) {
    return with_figures(value, 20, 0);
}

} // namespace

Reading<TorqueSpec> read_torque(std::string_view text) {
    TorqueSpec spec;
    spec.text = trimmed(text);
    const std::string plain_text = plain(text);
    std::string_view rest = plain_text;
    if (rest.empty()) {
        return wrong("The torque is empty.", "Write it like \"64 N·m\", or leave the key out: then it is not stated.");
    }
    std::optional<TorqueUnit> unit;
    std::string_view shown = spec.text; // no spelling has a ";", so that both fall into the same stages
    const auto next_stage = [](std::string_view& ahead) {
        const std::size_t end = std::min(ahead.find(';'), ahead.size());
        const std::string_view stage = trimmed(ahead.substr(0, end));
        ahead.remove_prefix(end);
        return stage;
    };
    do {
        const std::string_view stage = next_stage(rest);
        const std::string_view shown_stage = next_stage(shown);
        if (stage.empty()) {
            return wrong(fmt::format("In {} a stage is empty.", quoted(spec.text)),
                         "Write \";\" only between stages: \"20 N·m; 40 N·m\".");
        }
        if (std::optional<Mistake> mistake = read_stage(stage, shown_stage, spec.stages, unit)) {
            return tl::unexpected(*std::move(mistake));
        }
    } while (take(shown, ";") && take(rest, ";"));
    spec.unit = unit.value_or(TorqueUnit::newton_metre);
    return spec;
}

Reading<TorqueUnit> read_torque_unit(std::string_view text) {
    if (const std::optional<TorqueUnit> unit = unit_of(squeezed(plain(text))))
        return *unit;
    return tl::unexpected(Mistake{fmt::format("{} is no unit of torque that is known here.", quoted(text)),
                                  "Write one of N·m, lbf·ft, lbf·in, kgf·m, kgf·cm."});
}

double torque_in(TorqueUnit unit, double value_nm) {
    return value_nm / facts_of(unit).nm;
}

double torque_to_nm(TorqueUnit unit, double value) {
    return value * facts_of(unit).nm;
}

std::string_view torque_unit_sign(TorqueUnit unit) {
    return facts_of(unit).sign;
}

std::string print_torque(const TorqueSpec& spec, TorqueUnit unit) {
    const auto figure = [&](double nm) {
        const double value = torque_in(unit, nm);
        return unit == spec.unit ? with_figures(value, 1, own_figures) : wrench_figure(value);
    };
    std::string out;
    for (const TorqueStage& stage : spec.stages) {
        if (!out.empty()) {
            out += "; ";
        }
        if (stage.has_torque) {
            const std::string low = figure(stage.low_nm);
            const std::string high = figure(stage.high_nm);
            out +=
                fmt::format("{}{}{} {}", low, low == high ? "" : "..", low == high ? "" : high, torque_unit_sign(unit));
        }
        if (stage.has_angle) {
            out += fmt::format("{}+ {}°", stage.has_torque ? " " : "", print_number(stage.angle_deg, own_figures));
        }
    }
    return out;
}

} // namespace boltwalk
