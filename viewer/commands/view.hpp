// `boltwalk view [MAP]`: the window.
#pragma once

#include <CLI/CLI.hpp>

namespace boltwalk {

void add_view(CLI::App& app, int& exit_code);

} // namespace boltwalk
