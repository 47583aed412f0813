#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk page MAP -o F.html`: the page that viewer/web/build built, its program and the map in one HTML file that
/// needs no server and no network. Exit 0; 2: the map is not readable, the page is not built, F cannot be written.
void add_page(CLI::App& app, int& exit_code);

} // namespace boltwalk
