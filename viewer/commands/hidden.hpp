// `boltwalk hidden`: which fasteners cannot be seen, what hides them, and when each comes into view.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_hidden(CLI::App&, int& exit_code);

} // namespace boltwalk
