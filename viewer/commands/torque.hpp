// `boltwalk torque MAP`: what is tightened to what, in which order, with which wrench.
#pragma once

namespace CLI {
class App;
}

namespace boltwalk {

void add_torque(CLI::App&, int& exit_code);

} // namespace boltwalk
