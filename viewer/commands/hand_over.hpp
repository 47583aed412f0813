#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "viewer/panels/hand_over.hpp"

namespace boltwalk {

/// By the same server as `boltwalk serve`, out of this program. `folder`: the page's; empty: beside the program.
std::unique_ptr<HandOver> hand_over_by_server(std::string folder, std::uint16_t port);

} // namespace boltwalk
