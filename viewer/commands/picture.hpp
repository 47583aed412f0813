#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk picture MAP --step N -o F.png` (or `--all -o FOLDER`): the drawing without a screen. Exit 0; 2: no map, no
/// OpenGL, or the file cannot be written; 64: no such step, size or place.
void add_picture(CLI::App& app, int& exit_code);

} // namespace boltwalk
