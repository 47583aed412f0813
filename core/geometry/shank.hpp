// How thick a bolt's shank is drawn, from its node's own mesh: an estimate.
#pragma once

#include <optional>

#include "core/map/map.hpp"

namespace boltwalk {

/// Millimetres across the shank of a bolt or screw, at rest. Only where the shape clearly shows one: a head, and below
/// it one cylinder that reaches to the end. Nothing for a modelled thread, a waisted shank, a stretched node.
std::optional<double> drawn_shank_mm(const Map&, const Fastener&);

} // namespace boltwalk
