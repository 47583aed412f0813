// `boltwalk photo`: photographs into a map, out of it, and as files again.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_photo(CLI::App&, int& exit_code);

} // namespace boltwalk
