// boltwalk sheet MAP -o F.pdf: the job on paper; with --done the record of it, from its log.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_sheet(CLI::App& app, int& exit_code);

} // namespace boltwalk
