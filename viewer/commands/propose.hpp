#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk propose MAP`: what looks like a fastener, and the keys that a confirmed one becomes.
void add_propose(CLI::App&, int& exit_code);

} // namespace boltwalk
