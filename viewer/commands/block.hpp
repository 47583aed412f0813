// boltwalk block RECIPE.toml -o MAP.glb: a map from nothing.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_block(CLI::App& app, int& exit_code);

} // namespace boltwalk
