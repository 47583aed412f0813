#include <algorithm>
#include <fmt/format.h>

#include "core/measure/measure.hpp"
#include "core/measure/spelling.hpp"

namespace boltwalk {

using namespace spelling;

namespace {

struct UnitWord {
    std::string_view word;
    double factor;
};

constexpr UnitWord length_words[] = {
    {"", 1.0},     {"mm", 1.0},  {"millimetre", 1.0}, {"millimetres", 1.0}, {"cm", 10.0},
    {"m", 1000.0}, {"in", 25.4}, {"inch", 25.4},      {"inches", 25.4},     {"\"", 25.4},
};

// The avoirdupois pound is exact: NIST SP 811, appendix B.8.
constexpr UnitWord mass_words[] = {
    {"", 1.0}, {"kg", 1.0}, {"kgs", 1.0}, {"g", 0.001}, {"lb", 0.45359237}, {"lbs", 0.45359237},
};

template <std::size_t N>
Reading<double> read_quantity(std::string_view text, const UnitWord (&words)[N], std::string_view quantity,
                              std::string_view remedy) {
    const std::string plain_text = plain(text);
    std::string_view rest = plain_text;
    if (rest.empty()) {
        return tl::unexpected(Mistake{fmt::format("{} is empty.", quantity), std::string(remedy)});
    }
    if (rest.starts_with('-')) {
        return tl::unexpected(Mistake{fmt::format("{} is negative.", quoted(text)), std::string(remedy)});
    }
    const Reading<Fraction> value = take_fraction(rest);
    if (!value) {
        return tl::unexpected(value.error());
    }
    const std::string_view unit = take_unit(rest);
    take(rest, ".");
    if (!rest.empty()) {
        return tl::unexpected(Mistake{fmt::format("In {} it is not clear what {} means.", quoted(text), quoted(rest)),
                                      std::string(remedy)});
    }
    if (unit.empty() && value->broken) {
        return tl::unexpected(
            Mistake{fmt::format("{} is a fraction without a unit.", quoted(text)), "Write the unit: \"1/2 in\"."});
    }
    const std::string word = squeezed(unit);
    const auto* const found =
        std::find_if(std::begin(words), std::end(words), [&](const UnitWord& w) { return w.word == word; });
    if (found != std::end(words)) {
        return value->value * found->factor;
    }
    const std::string_view other = quantity_of(word);
    return tl::unexpected(Mistake{other.empty() ? fmt::format("{} is no unit that is known here.", quoted(unit))
                                                : fmt::format("{} is {}.", quoted(text), other),
                                  std::string(remedy)});
}

} // namespace

Reading<double> read_length_mm(std::string_view text) {
    return read_quantity(text, length_words, "The length",
                         "Write a length like \"50 mm\", \"5 cm\", \"0.05 m\" or \"2 in\".");
}

Reading<double> read_mass_kg(std::string_view text) {
    return read_quantity(text, mass_words, "The mass", "Write a mass like \"43 kg\" or \"95 lb\".");
}

Reading<double> read_number(std::string_view text) {
    const std::string plain_text = plain(text);
    std::string_view rest = plain_text;
    const double sign = take(rest, "-") ? -1.0 : 1.0;
    const Reading<double> value = take_number(rest);
    if (!value) {
        return tl::unexpected(value.error());
    }
    if (!rest.empty()) {
        return tl::unexpected(Mistake{fmt::format("{} is not a number alone.", quoted(text)),
                                      "Write figures and at most one decimal sign, for instance \"12\" or \"1.5\"."});
    }
    return sign * *value;
}

std::string print_number(double value, int digits) {
    std::string out = fmt::format("{:.{}f}", value, std::clamp(digits, 0, 12));
    if (out.find('.') != std::string::npos) {
        out.erase(out.find_last_not_of('0') + 1);
        if (out.ends_with('.')) {
            out.pop_back();
        }
    }
    return out == "-0" ? "0" : out;
}

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t from = text.find_first_not_of(blanks);
    return from == std::string_view::npos ? std::string_view()
                                          : text.substr(from, text.find_last_not_of(blanks) - from + 1);
}

} // namespace boltwalk
