#include "core/measure/spelling.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <fmt/format.h>

namespace boltwalk::spelling {
namespace {

struct Spelling {
    std::string_view from, to;
};

constexpr Spelling spellings[] = {
    {"+/-", "+-"},      {"\u00b1", "+-"},   // plus-minus
    {"\u00b7", "*"},    {"\u22c5", "*"},    // middle dot, dot operator
    {"\u2219", "*"},    {"\u2022", "*"},    // bullet operator, bullet
    {"\u00d7", "*"},    {"\u2715", "*"},    // multiplication signs
    {"\u2010", "-"},    {"\u2011", "-"},    // hyphens
    {"\u2012", "-"},    {"\u2013", "-"},    // figure dash, en dash
    {"\u2014", "-"},    {"\u2212", "-"},    // em dash, minus
    {"\u2026", "..."},  {"\u00b0", "deg"},  // ellipsis, degree
    {"\u00ba", "deg"},  {"\u02da", "deg"},  // what is typed for the degree sign
    {"\u2033", "\""},   {"\u201d", "\""},   // double prime and the closing quotation mark typed for it
    {"\u00a0", " "},    {"\u2007", " "},    // blanks that do not break
    {"\u2009", " "},    {"\u202f", " "},    // thin blanks
    {"\u00bd", " 1/2"}, {"\u00bc", " 1/4"}, // fractions
    {"\u00be", " 3/4"}, {"\u215b", " 1/8"}, //
    {"\u215c", " 3/8"}, {"\u215d", " 5/8"}, //
    {"\u215e", " 7/8"}, {"\u2044", "/"},    // fraction slash
    {"\t", " "},        {"\n", " "},        //
    {"\r", " "},
};

constexpr std::string_view joiners = " *._-";

bool is_joiner(char c) {
    return joiners.find(c) != std::string_view::npos;
}

/// Letters, and the signs that units are written with.
bool is_unit_sign(char c) {
    return is_letter(c) || c == '%' || c == '/' || c == '"' || c == '\'' || c == '#';
}

/// Powers of ten up to 10^18, each exact in a double.
constexpr std::array<double, 19> powers_of_ten = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8, 1e9,
                                                  1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18};
constexpr std::size_t most_digits = powers_of_ten.size() - 1;
constexpr std::size_t most_whole_digits = 9;

std::string_view take_digits(std::string_view& rest) {
    std::size_t n = 0;
    while (n < rest.size() && is_digit(rest[n])) {
        ++n;
    }
    const std::string_view digits = rest.substr(0, n);
    rest.remove_prefix(n);
    return digits;
}

bool decimal_sign_ahead(std::string_view rest) {
    return rest.size() >= 2 && (rest[0] == '.' || rest[0] == ',') && is_digit(rest[1]);
}

/// The value of the two runs of digits. Not std::from_chars: libc++ (the web build) has none for floating point. Up to
/// 15 digits the quotient of two exact numbers is the nearest double; beyond, it is within one step of it, and the same
/// on every machine.
double value_of(std::string_view whole, std::string_view decimals) {
    std::uint64_t mantissa = 0;
    for (const char c : whole) {
        mantissa = mantissa * 10 + static_cast<std::uint64_t>(c - '0');
    }
    decimals = decimals.substr(0, most_digits - most_whole_digits);
    for (const char c : decimals) {
        mantissa = mantissa * 10 + static_cast<std::uint64_t>(c - '0');
    }
    return static_cast<double>(mantissa) / powers_of_ten[decimals.size()];
}

} // namespace

std::string plain(std::string_view text) {
    std::string out;
    out.reserve(text.size());
    while (!text.empty()) {
        const auto* const found = std::find_if(std::begin(spellings), std::end(spellings),
                                               [&](const Spelling& s) { return text.starts_with(s.from); });
        if (found != std::end(spellings)) {
            out += found->to;
            text.remove_prefix(found->from.size());
            continue;
        }
        const char c = text.front();
        out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        text.remove_prefix(1);
    }
    const auto both_blank = [](char a, char b) { return a == ' ' && b == ' '; };
    out.erase(std::unique(out.begin(), out.end(), both_blank), out.end());
    if (out.ends_with(' ')) {
        out.pop_back();
    }
    if (out.starts_with(' ')) {
        out.erase(out.begin());
    }
    return out;
}

std::string quoted(std::string_view text) {
    constexpr std::size_t most_bytes = 40;
    if (text.size() <= most_bytes) {
        return fmt::format("\"{}\"", text);
    }
    std::size_t end = most_bytes;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) {
        --end;
    }
    return fmt::format("\"{}...\"", text.substr(0, end));
}

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (static_cast<unsigned char>(c) & 0x80U) != 0;
}

void skip_blanks(std::string_view& rest) {
    while (rest.starts_with(' ')) {
        rest.remove_prefix(1);
    }
}

bool take(std::string_view& rest, std::string_view what) {
    if (!rest.starts_with(what)) {
        return false;
    }
    rest.remove_prefix(what.size());
    return true;
}

Reading<double> take_number(std::string_view& rest) {
    std::string_view ahead = rest;
    std::string_view whole = take_digits(ahead);
    if (whole.empty() && !(ahead.starts_with('.') && decimal_sign_ahead(ahead))) {
        return tl::unexpected(Mistake{rest.empty() ? std::string("A number is missing.")
                                                   : fmt::format("Where {} stands, a number is wanted.", quoted(rest)),
                                      "Write the number in figures, for instance \"64\" or \"1.5\"."});
    }
    std::string_view decimals;
    char sign = 0;
    if (decimal_sign_ahead(ahead)) {
        sign = ahead.front();
        ahead.remove_prefix(1);
        decimals = take_digits(ahead);
    }
    const std::string_view written = rest.substr(0, rest.size() - ahead.size());
    if (sign != 0 && decimal_sign_ahead(ahead)) {
        return tl::unexpected(Mistake{fmt::format("{} has two decimal signs.", quoted(rest)),
                                      "Write one, and no sign between the thousands: \"1500.5\"."});
    }
    if (sign == ',' && decimals.size() == 3 && whole.size() <= 3 && whole != "0") {
        const std::string as_decimal = print_number(value_of(whole, decimals));
        return tl::unexpected(Mistake{
            fmt::format("{} can be read in two ways, as {}{} or as {}.", quoted(written), whole, decimals, as_decimal),
            fmt::format("Write \"{}{}\" or \"{}\", whichever is meant.", whole, decimals, as_decimal)});
    }
    while (whole.size() > 1 && whole.front() == '0') {
        whole.remove_prefix(1);
    }
    if (whole.size() > most_whole_digits) {
        return tl::unexpected(
            Mistake{fmt::format("{} is too large a number.", quoted(written)), "Check the figure against its source."});
    }
    rest = ahead;
    return value_of(whole, decimals);
}

Reading<Fraction> take_fraction(std::string_view& rest) {
    const std::string_view start = rest;
    // Digits, a stroke and digits again; 0 where the text goes on in another way.
    const auto take_broken = [](std::string_view& ahead) {
        const std::string_view upper = take_digits(ahead);
        if (upper.empty() || upper.size() > 3 || !take(ahead, "/")) {
            return 0.0;
        }
        const std::string_view lower = take_digits(ahead);
        if (lower.empty() || lower.size() > 3 || value_of(lower, {}) == 0) {
            return 0.0;
        }
        return value_of(upper, {}) / value_of(lower, {});
    };
    std::string_view ahead = rest;
    if (const double part = take_broken(ahead); part > 0) {
        rest = ahead;
        return Fraction{part, true};
    }
    const Reading<double> number = take_number(rest);
    if (!number) {
        return tl::unexpected(number.error());
    }
    if (rest.starts_with('/')) {
        const Mistake mistake{fmt::format("{} is no fraction.", quoted(start)), "Write it like \"3/8\" or \"1-1/8\"."};
        rest = start;
        return tl::unexpected(mistake);
    }
    const std::string_view written = start.substr(0, start.size() - rest.size());
    if (std::all_of(written.begin(), written.end(), is_digit) && (rest.starts_with('-') || rest.starts_with(' '))) {
        ahead = rest.substr(1);
        if (const double part = take_broken(ahead); part > 0 && part < 1) {
            rest = ahead;
            return Fraction{*number + part, true};
        }
    }
    return Fraction{*number, false};
}

std::string print_inches(double inches) {
    const double in_64ths = inches * 64;
    if (!(inches >= 0 && inches < 1000) || in_64ths != std::floor(in_64ths)) {
        return print_number(inches, 6);
    }
    int upper = static_cast<int>(in_64ths);
    int lower = 64;
    while (lower > 1 && upper % 2 == 0) {
        upper /= 2;
        lower /= 2;
    }
    if (lower == 1) {
        return fmt::format("{}", upper);
    }
    const int whole = upper / lower;
    return whole == 0 ? fmt::format("{}/{}", upper, lower) : fmt::format("{}-{}/{}", whole, upper % lower, lower);
}

std::string_view take_unit(std::string_view& rest) {
    skip_blanks(rest);
    std::size_t end = 0;
    std::size_t at = 0;
    while (at < rest.size() && is_unit_sign(rest[at])) {
        const std::size_t from = at;
        while (at < rest.size() && is_unit_sign(rest[at])) {
            ++at;
        }
        const std::string_view word = rest.substr(from, at - from);
        if (word == "to" || word == "plus" || word == "then") {
            break;
        }
        while (at < rest.size() && (is_unit_sign(rest[at]) || is_digit(rest[at]))) { // "n/mm2"
            ++at;
        }
        end = at;
        while (at < rest.size() && is_joiner(rest[at])) {
            ++at;
        }
    }
    const std::string_view unit = rest.substr(0, end);
    rest.remove_prefix(end);
    return unit;
}

std::string squeezed(std::string_view unit) {
    std::string out(unit);
    out.erase(std::remove_if(out.begin(), out.end(), is_joiner), out.end());
    return out;
}

std::string_view quantity_of(std::string_view unit) {
    struct Known {
        std::string_view unit, quantity;
    };
    static constexpr Known known[] = {
        {"n", "a force"},       {"kn", "a force"},      {"dan", "a force"},      {"lbf", "a force"},
        {"kgf", "a force"},     {"kp", "a force"},      {"kg", "a mass"},        {"g", "a mass"},
        {"t", "a mass"},        {"lb", "a weight"},     {"lbs", "a weight"},     {"oz", "a weight"},
        {"mm", "a length"},     {"cm", "a length"},     {"m", "a length"},       {"in", "a length"},
        {"inch", "a length"},   {"inches", "a length"}, {"\"", "a length"},      {"ft", "a length"},
        {"feet", "a length"},   {"pa", "a pressure"},   {"kpa", "a pressure"},   {"mpa", "a pressure"},
        {"gpa", "a pressure"},  {"bar", "a pressure"},  {"psi", "a pressure"},   {"n/mm2", "a pressure"},
        {"n/m2", "a pressure"}, {"n/m", "a stiffness"}, {"n/mm", "a stiffness"}, {"j", "an energy"},
        {"kj", "an energy"},    {"deg", "an angle"},    {"degree", "an angle"},  {"degrees", "an angle"},
        {"rad", "an angle"},    {"l", "a volume"},      {"ml", "a volume"},      {"s", "a time"},
        {"min", "a time"},      {"h", "a time"},        {"rpm", "a speed"},      {"w", "a power"},
        {"kw", "a power"},      {"v", "a voltage"},     {"nm", "a torque"},      {"lbfft", "a torque"},
        {"lbft", "a torque"},   {"ftlb", "a torque"},   {"lbfin", "a torque"},   {"lbin", "a torque"},
        {"inlb", "a torque"},   {"kgfm", "a torque"},   {"kgm", "a torque"},     {"kgfcm", "a torque"},
        {"kgcm", "a torque"},
    };
    const auto* const found =
        std::find_if(std::begin(known), std::end(known), [&](const Known& k) { return k.unit == unit; });
    return found == std::end(known) ? std::string_view() : found->quantity;
}

} // namespace boltwalk::spelling
