// What the nodes of a file state, as written, and which of them a table speaks of. Only core/table includes this.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "core/map/keys.hpp"
#include "core/map/map.hpp"

namespace boltwalk::table_inside {

class Extras {
public:
    explicit Extras(std::span<const std::byte> file);
    /// Null where the node does not state it.
    const nlohmann::json& value(std::int32_t node, std::string_view key) const;
    /// As a cell has it: a text without its quotes, anything else as JSON has it; empty where it is not stated.
    std::string text(std::int32_t node, std::string_view key) const;

private:
    nlohmann::json document_;
};

struct TableNode {
    std::int32_t node = -1;
    bool group = false;
    std::string name;
    std::string what;    ///< for people: a group's title, a fastener's kind
    std::string title{}; ///< of a group
};
/// Each group that has a fastener, its members after it, in file order.
std::vector<TableNode> table_nodes(const Map&);

/// Always there in a table that is written, for somebody who fills in an empty one.
inline constexpr std::array<KeyId, 10> usual_columns{KeyId::fastener, KeyId::holds, KeyId::thread, KeyId::length_mm,
                                                     KeyId::head,     KeyId::drive, KeyId::grade,  KeyId::torque,
                                                     KeyId::renew,    KeyId::source};

/// Keys that a fastener or its group may state and a table may hold: not the id, which is no fact.
bool is_column(const Key&);

} // namespace boltwalk::table_inside
