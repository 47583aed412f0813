// A column of a table: its heading, its unit, and what a cell below it says. Only core/table includes this.
#pragma once

#include <string>

#include <nlohmann/json.hpp>

#include "core/map/keys.hpp"

namespace boltwalk::table_inside {

struct Column {
    const Key* key = nullptr; ///< null: `name`, or one that is not read
    bool name = false;
    std::string word; ///< the heading without its unit, as a key is written
    std::string unit; ///< of the heading; empty: none
};

/// "torque (lbf·ft)", "length [mm]": the key and its unit.
Column column_of(const std::string& heading);
bool is_unit_of(const Key&, const std::string& unit);
/// What to do about a heading that names no key: which one may be meant, by its unit or its spelling.
std::string remedy_for_unknown(const Column&);

/// What the cell says as JSON, as the annotation would have it; what cannot be understood stays as it is, and the
/// reader says what is wrong with it.
nlohmann::json json_of(const std::string& cell, const Key&, const std::string& unit);

} // namespace boltwalk::table_inside
