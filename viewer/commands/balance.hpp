// boltwalk balance MAP: what things weigh, where their centre is, what would tip or drop at each step.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_balance(CLI::App& app, int& exit_code);

} // namespace boltwalk
