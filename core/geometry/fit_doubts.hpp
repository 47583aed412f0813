// What of a bolt's fit is to be told.
#pragma once

#include "core/geometry/fit.hpp"

namespace boltwalk {

inline bool is_nut(const Map& map, ItemId item) {
    return item && map.is_fastener(item) && is_nut(map.fastener(item).kind);
}

/// Adds what `fit` tells of one fastener: a doubt where it is short or would bottom, a note where its length differs.
void find_doubts(const Solids&, const Fit&, std::vector<Finding>&);

} // namespace boltwalk
