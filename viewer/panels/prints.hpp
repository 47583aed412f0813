// Photographs of a map as textures: decoded when they are first drawn, a few kept.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/map/map.hpp"

namespace boltwalk {

class Prints {
public:
    struct Print {
        unsigned texture = 0; ///< 0: it cannot be shown
        int width = 0, height = 0;
        std::string why; ///< it cannot
    };
    /// Of that photograph, for this frame. While the context is current.
    const Print& of(const Map&, std::int32_t photo);
    void close(); ///< everything; while the context is current

private:
    struct Kept {
        const void* buffers = nullptr; ///< which map's: another one may have the same name for another picture
        const void* bytes = nullptr;
        Print print;
    };
    std::vector<Kept> kept_; ///< the one used last at the end
};

} // namespace boltwalk
