// What every press that enters something does. For walk.cpp and beside_plan.cpp alone.
#pragma once

#include <string>
#include <vector>

#include "viewer/panels/walk.hpp"

namespace boltwalk {

/// Adds facts, and says so once they are stored. False: there was nothing to add, or nothing to add it to.
bool keep(View&, std::vector<Entry>, const std::string& said);
/// None: of the vehicle, or of nothing.
Entry entry_about(const View&, Deed, ItemId);
/// As a person calls it, of what was pressed just now.
std::string name_in(const View&, ItemId);

} // namespace boltwalk
