// What a person types for a thing of the map: its node name, or the words that they read on the screen and on paper.
#pragma once

#include <string>
#include <string_view>

#include <tl/expected.hpp>

#include "core/map/map.hpp"

namespace boltwalk {

/// One of them is set.
struct Named {
    ItemId item;
    std::int32_t group = -1;
};

/// What may be meant.
enum class Naming {
    part,
    item,         ///< any part, fastener or task
    hardware,     ///< a group, or a fastener
    part_or_bolt, ///< a part or a fastener
};

/// A node name exactly; else, small and capital letters alike, the whole title; else words that occur in one title
/// alone. Else why not, with the names that it may have been: one line for the error stream.
tl::expected<Named, std::string> find_named(const Map&, std::string_view typed, Naming);

} // namespace boltwalk
