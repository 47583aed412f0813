#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk log MAP [LINE...]`: prints the log of a job, adds to it, exports and imports it. Exit 0; 1: what was
/// entered deviates from the rules, or the job may not be closed; 2: no map, or nothing could be written; 64: a line or
/// file that cannot be read.
void add_log(CLI::App& app, int& exit_code);

} // namespace boltwalk
