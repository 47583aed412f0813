// One subcommand.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk reach MAP [--step N] [--tools FILE] [--json]`: which tool gets on each fastener and can turn it, estimated
/// from the shapes; what is in the way where none does, and after which step one does; and where the order takes out
/// what no tool reaches. Exit 0: told; 2: the map or the list of tools cannot be read; 64: wrong use.
void add_reach(CLI::App&, int& exit_code);

} // namespace boltwalk
