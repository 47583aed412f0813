#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk serve MAP [--lan] [--port N]`: hands page and map to a browser until it is ended (Ctrl+C). Exit 0; 2: the
/// map is not readable, the page is not built, the port is taken.
void add_serve(CLI::App& app, int& exit_code);

} // namespace boltwalk
