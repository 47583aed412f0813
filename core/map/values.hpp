// One value of the annotation: from what the file holds to what the program means, or a sentence on why not.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/map/keys.hpp"
#include "core/map/map.hpp"
#include "core/map/scan.hpp"

namespace boltwalk {

/// A part that leaves goes no further than this; more is a slip of the unit.
inline constexpr double longest_leg_mm = 100000;

std::string lower_case(std::string_view text); ///< ASCII letters only
/// What stands between semicolons, trimmed; empty pieces left out.
std::vector<std::string> split_list(std::string_view text);

/// Marks one vehicle word in `ask`; false when it is none. `contradicts`: the opposite was said before.
bool take_vehicle_word(std::string_view word, VehicleAsk& ask, bool& contradicts);
Reading<Place> read_place(std::string_view text);
Reading<std::vector<Leg>> read_legs(std::string_view text);
/// "+y", "-x", "0 1 0": a unit vector.
Reading<std::array<double, 3>> read_axis(std::string_view text);

// From a token. A flat value is a text, a number, true or false; anything else is a mistake.

Reading<std::string> text_value(const Json&, TokenId);
Reading<bool> yes_no_value(const Json&, TokenId);
/// A number in the unit that the key's name ends in; a text may carry that unit.
Reading<double> number_value(const Json&, TokenId, const Key&);
Reading<int> whole_value(const Json&, TokenId, int least);
Reading<double> length_value(const Json&, TokenId);
Reading<std::array<double, 3>> axis_value(const Json&, TokenId);
/// The place of the word among the key's choices.
Reading<std::size_t> choice_value(const Json&, TokenId, const Key&);
/// "2", or "30 %; 60 %; 100 %" rising to 100: as written.
Reading<std::string> passes_value(const Json&, TokenId);
/// Words of the key's choices joined by "; ".
Reading<std::string> choices_value(const Json&, TokenId, const Key&);

/// The value as the file has it, for a finding; long ones are cut.
std::string shown_value(const Json&, TokenId);

} // namespace boltwalk
