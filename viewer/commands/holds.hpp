#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk holds MAP ITEM [--step N] [--json]`: what still holds a part, or what must come before a fastener, as
/// found or after N steps of the order down. Exit 0; 2: no map, or no such item or step.
void add_holds(CLI::App& app, int& exit_code);

} // namespace boltwalk
