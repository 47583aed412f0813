// The reading that quantities, threads and drives share: one spelling for what typography varies, plain decimal
// numbers, the fractions of the inch. For the readers in core/measure and core/standards only.
#pragma once

#include <string>
#include <string_view>

#include "core/measure/measure.hpp"

namespace boltwalk::spelling {

/// `text` trimmed and in one spelling: ASCII letters small; every run of blanks one blank; the signs of multiplication
/// and the cross "*"; dashes and the minus sign "-"; the ellipsis "..."; the degree sign "deg"; "±" and "+/-" as "+-";
/// typographic inch marks '"'; "⅜" as "3/8". All other bytes stay.
std::string plain(std::string_view text);

/// `text` between quotation marks, cut after some forty bytes (never inside a character), for a Mistake.
std::string quoted(std::string_view text);

bool is_digit(char c);
/// A small ASCII letter, or a byte of a character beyond ASCII.
bool is_letter(char c);

void skip_blanks(std::string_view& rest);
/// Removes `what` from the front of `rest` if it stands there.
bool take(std::string_view& rest, std::string_view what);

/// Takes a decimal number without a sign from the front of `rest` (plain text), "." or "," as the decimal sign.
/// Refused: no digit at all, ten digits or more before the decimal sign, two decimal signs, and "1,500", which is 1.5
/// to one reader and 1500 to another. `rest` is left as it was when refused.
Reading<double> take_number(std::string_view& rest);

struct Fraction {
    double value = 0;
    bool broken = false; ///< written as a fraction: "3/8", "1-1/8"
};
/// Takes "3/8", "1-1/8", "1 1/8" or a decimal number.
Reading<Fraction> take_fraction(std::string_view& rest);

/// "9/16", "1-1/8", "2" where the inches are whole 64ths, else decimals.
std::string print_inches(double inches);

/// The unit at the front of `rest`, its words with the joining signs between them: "n*m", "lbf ft". Empty if there is
/// none. Stops before the words "to", "plus" and "then".
std::string_view take_unit(std::string_view& rest);
/// The unit without its joining signs: "nm".
std::string squeezed(std::string_view unit);
/// "a force", "a length", ... for a squeezed unit that is known; empty for any other.
std::string_view quantity_of(std::string_view unit);

} // namespace boltwalk::spelling
