// An entry as a row of texts: what stands in SQLite, JSON and CSV alike. Not for others.
#pragma once

#include <array>
#include <string>
#include <string_view>

#include "core/log/log.hpp"

namespace boltwalk::log_row {

/// The columns, in the order of the files. `item` and `piece_of` are names of nodes at the time.
inline constexpr std::array<std::string_view, 18> columns{
    "key",      "at",       "deed", "verb",   "item", "step",   "vehicle", "mishap", "piece",
    "piece_of", "moved_to", "kind", "torque", "pass", "passes", "duty",    "about",  "words"};
using Row = std::array<std::string, columns.size()>;

Row to_row(const Entry&);
/// Whatever it cannot read makes it a Deed::unknown; nothing is refused. `item` and `piece_of` are left to the caller.
Entry from_row(const Row&);

/// Well-formed UTF-8 without NUL: what is not becomes U+FFFD.
std::string well_formed(std::string_view);

} // namespace boltwalk::log_row
