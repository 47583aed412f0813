// boltwalk table MAP: every fact of every fastener as CSV; with --apply a filled-in one back into the map.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_table(CLI::App& app, int& exit_code);

} // namespace boltwalk
