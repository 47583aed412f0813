#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk way MAP [--part ITEM] [--step N] [--json]`: is the way out of a part, or of a drawn fastener, free,
/// blocked or undecided as the shapes have it, and by whom; a way, where none is stated or the stated one is not free.
/// Without
/// --part: everything that leaves in the order down, each when it leaves. Exit 0; 2: no map; 64: no such item.
void add_way(CLI::App& app, int& exit_code);

} // namespace boltwalk
