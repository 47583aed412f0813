// boltwalk compare A B: what changed between two maps, in the job's terms.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_compare(CLI::App& app, int& exit_code);

} // namespace boltwalk
