// The log on a page: SQLite's file lies in the program's memory, and whatever of it changed goes to the browser's
// storage (logs.js) in one transaction of the browser's. An entry is stored when that transaction is complete, and not
// before.
#pragma once

#include <memory>
#include <string>

#include "viewer/panels/keeper.hpp"

namespace boltwalk {

/// `files`: names of logs' files that the page has put ready, one a line: the map's own, or where one is to be made;
/// then logs of maps of the same name. One of those goes on where most of what it knows is found again in the map.
/// Empty: this browser keeps nothing, so the log stays in memory.
std::unique_ptr<Keeper> keep_in_browser(const Map&, const std::string& files);

/// What the page says of a store that it was asked for: complete, or why not. False: it was another map's.
bool take_browser_answer(Keeper&, int asked, const std::string& refusal);

} // namespace boltwalk
