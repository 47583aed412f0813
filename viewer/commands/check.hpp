#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk check MAP [--json] [--strict]`: every finding. Exit 0: no fault; 1: faults (with --strict doubts too); 2:
/// no map.
void add_check(CLI::App& app, int& exit_code);

} // namespace boltwalk
