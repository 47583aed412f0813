#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk order MAP [--for PART] [--least-crawling] [--refit] [--json]`: the order down, or only what must come off
/// for a part, or the way back. Exit 0; 1: the order breaks a rule, or there is none; 2: no map, or no such part.
void add_order(CLI::App& app, int& exit_code);

} // namespace boltwalk
