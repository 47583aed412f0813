// What of a bolt's fit is to be told.
#pragma once

#include "core/geometry/fit.hpp"

namespace boltwalk {

inline bool is_nut(const Map& map, ItemId item) {
    if (!item || !map.is_fastener(item))
        return false;
    const FastenerKind kind = map.fastener(item).kind;
    return kind == FastenerKind::nut || kind == FastenerKind::castle_nut;
}

/// Adds what `fit` tells of one fastener: a doubt where it is short or would bottom, a note where its length differs.
void find_doubts(const Solids&, const Fit&, std::vector<Finding>&);

} // namespace boltwalk
