#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

/// `boltwalk set MAP -o OUT [--node NAME KEY=VALUE ...] [--ids]`: writes the annotation of one node (or of the scene),
/// everything else byte for byte as it was. Exit 0; 2: not readable, no such node, cannot be written.
void add_set(CLI::App& app, int& exit_code);

} // namespace boltwalk
