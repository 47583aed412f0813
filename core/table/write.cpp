#include <algorithm>

#include "core/map/cells.hpp"
#include "core/map/keys.hpp"
#include "core/table/extras.hpp"
#include "core/table/table.hpp"

namespace boltwalk {

using namespace table_inside;

std::string table_of(const Map& map, std::span<const std::byte> file) {
    const Extras extras(file);
    const std::vector<TableNode> nodes = table_nodes(map);
    std::vector<const Key*> columns;
    for (const Key& key : all_keys()) {
        if (!is_column(key))
            continue;
        const bool used = std::any_of(nodes.begin(), nodes.end(),
                                      [&](const TableNode& node) { return !extras.text(node.node, key.name).empty(); });
        if (used || std::find(usual_columns.begin(), usual_columns.end(), key.id) != usual_columns.end())
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
