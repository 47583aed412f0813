// A text as a cell of a CSV file (RFC 4180), so that no spreadsheet takes it for a formula.
#pragma once

#include <string>

namespace boltwalk {

/// Quoted where it must be. A text that a spreadsheet would run as a formula gets an apostrophe in front, as does one
/// that begins with an apostrophe: strip_apostrophe() takes one away.
void put_cell(std::string& out, const std::string& text, char delimiter = ',');
void strip_apostrophe(std::string& text);

} // namespace boltwalk
