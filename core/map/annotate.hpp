// From extras to items: what the annotation's reading shares between its steps. Not for others.
//
//   collect    which of our keys stand on which node (and keys that look like ours)
//   make_items what is a part, a fastener, a task, a group; who belongs to which group
//   apply      values into fields: the group's first, the item's own over them
//   link       names into items
//   cross_check what is well written and yet probably wrong
#pragma once

#include <bitset>
#include <cstdint>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/map/gltf.hpp"
#include "core/map/keys.hpp"
#include "core/map/map.hpp"
#include "core/map/scan.hpp"

namespace boltwalk {

/// What a node (or the scene, node -1) states, in the order of KeyId.
struct Stated {
    struct Value {
        KeyId key;
        TokenId token;
    };
    std::int32_t node = -1;
    std::vector<Value> values;
    std::bitset<key_count> has;
    std::bitset<key_count> reported; ///< a mistake in it was reported: once, however many members inherit it

    TokenId token(KeyId key) const;
};

/// A list of names as one node states it, before it is resolved. Members of a group share it.
struct NamesStated {
    std::int32_t node = -1;
    KeyId key{};
    std::vector<std::string> names;
    std::vector<ItemId> items; ///< once resolved
    VehicleAsk vehicle;        ///< of `torque_after`
    bool resolved = false;
};

/// That this item has that list under that key.
struct NamesUse {
    ItemId item;
    KeyId key{};
    std::int32_t list = -1; ///< index into Annotator::lists
};

/// Findings kept for one file. Beyond it the file is beyond mending one by one.
inline constexpr std::size_t finding_limit = 10000;
/// Names resolved for one file, groups spelt out; a thousand items that each wait for a thousand others.
inline constexpr std::size_t link_limit = 4000000;
/// Text that members may inherit from groups, in bytes.
inline constexpr std::size_t inherited_text_limit = std::size_t{16} << 20;

struct Annotator {
    const Json& json;
    Map& map;
    const NodeReading& nodes;

    struct Noted {
        std::int32_t node;
        Finding finding;
    };
    std::vector<Noted> noted{};
    std::size_t not_kept = 0;

    std::vector<std::int32_t> stated_of{}; ///< by node: index into stated, or -1
    std::vector<Stated> stated{};
    std::vector<NamesStated> lists{};
    std::vector<NamesUse> uses{};
    std::unordered_map<std::string, std::int32_t> unknown_keys{}; ///< spelling -> KeyId it is near to, or -1
    std::unordered_map<std::uint64_t, std::int32_t> list_of{};    ///< node and key -> index into lists
    std::unordered_map<std::string, ItemId> item_of_name{};       ///< the first of each name; from cross_check on
    std::vector<std::string> target_names{};
    std::size_t links = 0;
    std::size_t inherited_text = 0;

    Stated* stated_by(std::int32_t node) {
        const std::int32_t index = node < 0 ? -1 : stated_of[static_cast<std::size_t>(node)];
        return index < 0 ? nullptr : &stated[static_cast<std::size_t>(index)];
    }
    /// The node that states the key for this item: its own, or its group's.
    std::int32_t stating(const Item& item, KeyId key) {
        const Stated* own = stated_by(item.node);
        if ((own != nullptr && own->has[static_cast<std::size_t>(key)]) || item.group < 0)
            return item.node;
        return map.groups[static_cast<std::size_t>(item.group)].node;
    }
    const std::string& name_of_node(std::int32_t node) const { return map.nodes[static_cast<std::size_t>(node)].name; }
    /// Adds a finding about a node (-1: the scene). Its nodes' names are `node`'s and then those in `others`.
    void add(Weight, std::string_view rule, std::int32_t node, std::string_view key, std::string value,
             std::string what, std::string why, std::string remedy, std::vector<std::string> others = {});
};

void collect(Annotator&);
void make_items(Annotator&);
void apply(Annotator&);
void link(Annotator&);
void cross_check(Annotator&);
/// Of cross_check: grades that no standard has.
void check_grades(Annotator&);

/// All of the above; findings end up in the map in file order.
void annotate(Gltf&, const NodeReading&);

} // namespace boltwalk
