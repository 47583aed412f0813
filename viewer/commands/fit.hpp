// boltwalk fit MAP: are bolts long enough for what they clamp, or too long for their holes.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_fit(CLI::App& app, int& exit_code);

} // namespace boltwalk
