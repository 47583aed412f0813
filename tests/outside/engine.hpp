// The 67-part engine of Debian's assimp-testmodels: a model that nobody here made, in millimetres, its nodes without
// names and placed by matrices.
#pragma once

#include <string>

#include <doctest/doctest.h>

#include "core/map/map.hpp"

namespace boltwalk::testing {

inline const std::string engine_path = "/usr/share/assimp/models/glTF2/2CylinderEngine-glTF-Binary/2CylinderEngine.glb";

/// Brought to metres.
inline Map read_engine() {
    auto map = read_map(engine_path);
    REQUIRE(map.has_value());
    for (Node& node : map->nodes)
        for (std::size_t i = 0; i < 16; ++i)
            if (i % 4 != 3)
                node.world[i] *= 1e-3;
    return std::move(*map);
}

} // namespace boltwalk::testing
