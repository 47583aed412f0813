#include "core/table/extras.hpp"

#include <algorithm>

#include "core/map/container.hpp"

namespace boltwalk::table_inside {

Extras::Extras(std::span<const std::byte> file) {
    // Read before by read_map, which bounds its depth.
    if (const auto container = open_container(file))
        document_ = nlohmann::json::parse(container->json, nullptr, false);
}

const nlohmann::json& Extras::value(std::int32_t node, std::string_view key) const {
    static const nlohmann::json nothing;
    const auto nodes = document_.find("nodes");
    if (nodes == document_.end() || !nodes->is_array() || static_cast<std::size_t>(node) >= nodes->size())
        return nothing;
    const nlohmann::json& one = (*nodes)[static_cast<std::size_t>(node)];
    const auto extras = one.find("extras");
    if (extras == one.end() || !extras->is_object())
        return nothing;
    const auto found = extras->find(std::string(key));
    return found == extras->end() ? nothing : *found;
}

std::string Extras::text(std::int32_t node, std::string_view key) const {
    const nlohmann::json& json = value(node, key);
    if (json.is_null())
        return {};
    if (json.is_string())
        return json.get<std::string>();
    return json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::vector<TableNode> table_nodes(const Map& map) {
    std::vector<TableNode> out;
    std::vector<bool> told(map.groups.size(), false);
    for (const Fastener& fastener : map.fasteners) {
        const Item& item = map[fastener.item];
        if (item.group >= 0 && !told[static_cast<std::size_t>(item.group)]) {
            const Group& group = map.groups[static_cast<std::size_t>(item.group)];
            told[static_cast<std::size_t>(item.group)] = true;
            out.push_back({group.node, true, group.name, "group: " + group.title, group.title});
            for (const ItemId member : group.members)
                if (map.is_fastener(member))
                    out.push_back(
                        {map[member].node, false, map[member].name, std::string(spoken(map.fastener(member).kind))});
        }
        if (item.group < 0)
            out.push_back({item.node, false, item.name, std::string(spoken(fastener.kind))});
    }
    return out;
}

bool is_column(const Key& key) {
    if (key.id == KeyId::id || key.id == KeyId::group || key.id == KeyId::part || key.id == KeyId::task)
        return false;
    return (key.on & on_fastener) != 0 || key.id == KeyId::count || key.id == KeyId::fastener;
}

} // namespace boltwalk::table_inside
