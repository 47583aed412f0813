#include <algorithm>
#include <array>

#include "core/map/cells.hpp"
#include "core/map/keys.hpp"
#include "core/table/extras.hpp"
#include "core/table/table.hpp"

namespace boltwalk {

using namespace table_inside;

namespace {

/// Always there, for somebody who fills in an empty one.
constexpr std::array<KeyId, 10> usual{KeyId::fastener, KeyId::holds, KeyId::thread, KeyId::length_mm, KeyId::head,
                                      KeyId::drive,    KeyId::grade, KeyId::torque, KeyId::renew,     KeyId::source};

} // namespace

std::string table_of(const Map& map, std::span<const std::byte> file) {
    const Extras extras(file);
    const std::vector<TableNode> nodes = table_nodes(map);
    std::vector<const Key*> columns;
    for (const Key& key : all_keys()) {
        if (!is_column(key))
            continue;
        const bool used = std::any_of(nodes.begin(), nodes.end(),
                                      [&](const TableNode& node) { return !extras.text(node.node, key.name).empty(); });
        if (used || std::find(usual.begin(), usual.end(), key.id) != usual.end())
            columns.push_back(&key);
    }
    std::string out = "name,what";
    for (const Key* key : columns) {
        out += ',';
        out += key->name;
    }
    out += "\r\n";
    for (const TableNode& node : nodes) {
        put_cell(out, node.name);
        out += ',';
        put_cell(out, node.what);
        for (const Key* key : columns) {
            out += ',';
            put_cell(out, extras.text(node.node, key->name));
        }
        out += "\r\n";
    }
    return out;
}

} // namespace boltwalk
