#include "core/map/annotate.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "core/map/values.hpp"

namespace boltwalk {

namespace {

constexpr std::array<KeyId, 4> markers{KeyId::part, KeyId::fastener, KeyId::task, KeyId::group};

bool has_marker(const Stated& stated) {
    return std::any_of(markers.begin(), markers.end(),
                       [&](KeyId key) { return stated.has[static_cast<std::size_t>(key)]; });
}

/// Keys that any exporter may write for purposes of its own: on a node that is no item they say nothing to us.
bool is_common_word(KeyId key) {
    constexpr std::array<KeyId, 13> common{KeyId::photo, KeyId::id,    KeyId::note, KeyId::source, KeyId::caution,
                                           KeyId::step,  KeyId::count, KeyId::from, KeyId::to,     KeyId::axis,
                                           KeyId::lock,  KeyId::head,  KeyId::when};
    return std::find(common.begin(), common.end(), key) != common.end();
}

/// The KeyId that an unknown key is near to, or -1. The same stray keys stand on thousands of nodes: each is judged
/// once, and after many different ones no more.
std::int32_t near_of(Annotator& annotator, const std::string& key) {
    constexpr std::size_t most_judged = 5000;
    const auto known = annotator.unknown_keys.find(key);
    if (known != annotator.unknown_keys.end()) {
        return known->second;
    }
    if (annotator.unknown_keys.size() >= most_judged) {
        return -1;
    }
    const std::optional<KeyId> near = near_key(key);
    const std::int32_t id = near ? static_cast<std::int32_t>(*near) : -1;
    annotator.unknown_keys.emplace(key, id);
    return id;
}

struct Stray {
    std::int32_t node;
    std::string key, value;
    KeyId near;
};

/// Our keys among an object's members, and those that look like ours.
void collect_from(Annotator& annotator, TokenId extras, std::int32_t node, Stated& stated, std::vector<Stray>& strays) {
    const Json& json = annotator.json;
    if (!json.is(extras, JsonKind::object)) {
        return;
    }
    for (TokenId at = extras + 1; at < json[extras].next; at = json[at + 1].next) {
        const std::string_view raw = json.raw(at).substr(1, json.raw(at).size() - 2);
        const std::string decoded = json[at].escaped ? text_of(json, at) : std::string();
        const std::string_view key = json[at].escaped ? std::string_view(decoded) : raw;
        const std::optional<KeyId> known = find_key(key);
        if (known) {
            if (stated.has[static_cast<std::size_t>(*known)]) {
                annotator.add(Weight::fault, "key-twice", node, key, shown_value(json, at + 1),
                              "The key stands twice on this node; the last value counts.",
                              "Which one is read depends on the reader.", "Leave one of them.");
                std::erase_if(stated.values, [&](const Stated::Value& value) { return value.key == *known; });
            }
            stated.has.set(static_cast<std::size_t>(*known));
            stated.values.push_back({*known, at + 1});
        } else if (key.size() <= 32) {
            const std::int32_t near = near_of(annotator, std::string(key));
            if (near >= 0) {
                strays.push_back({node, std::string(key), shown_value(json, at + 1), static_cast<KeyId>(near)});
            }
        }
    }
    std::sort(stated.values.begin(), stated.values.end(),
              [](const Stated::Value& a, const Stated::Value& b) { return a.key < b.key; });
}

void report_strays(Annotator& annotator, const std::vector<Stray>& strays, bool annotated) {
    for (const Stray& stray : strays) {
        const Key& key = key_of(stray.near);
        // In a file that says nothing else to us, only a long word one letter off is worth a word.
        if (!annotated && (key.name.size() < 7 || edit_distance(lower_case(stray.key), key.name, 1) > 1)) {
            continue;
        }
        annotator.add(Weight::doubt, "unknown-key", stray.node, stray.key, stray.value,
                      fmt::format("\"{}\" is no key of the annotation.", stray.key),
                      fmt::format("It looks like \"{}\", and as it stands it is not read.", key.name),
                      fmt::format("Rename it to \"{}\" if that is meant.", key.name));
    }
}

/// Keys on the mesh, where the node above has none: the usual slip in a modelling tool.
void report_on_mesh(Annotator& annotator) {
    constexpr std::array<KeyId, 8> telling{KeyId::part,  KeyId::fastener, KeyId::task,   KeyId::group,
                                           KeyId::holds, KeyId::thread,   KeyId::torque, KeyId::drive};
    std::vector<std::string> found(annotator.map.meshes.size());
    for (std::size_t i = 0; i < annotator.nodes.mesh_extras.size(); ++i) {
        Stated stated;
        std::vector<Stray> ignored;
        collect_from(annotator, annotator.nodes.mesh_extras[i], -1, stated, ignored);
        if (std::any_of(telling.begin(), telling.end(),
                        [&](KeyId key) { return stated.has[static_cast<std::size_t>(key)]; })) {
            for (const Stated::Value& value : stated.values) {
                found[i] += found[i].empty() ? "" : ", ";
                found[i] += key_of(value.key).name;
            }
        }
    }
    for (std::size_t i = 0; i < annotator.map.nodes.size(); ++i) {
        const Node& node = annotator.map.nodes[i];
        if (node.in_scene && node.mesh >= 0 && annotator.stated_of[i] < 0 &&
            !found[static_cast<std::size_t>(node.mesh)].empty()) {
            annotator.add(
                Weight::doubt, "on-mesh", static_cast<std::int32_t>(i), found[static_cast<std::size_t>(node.mesh)], "",
                fmt::format("The mesh \"{}\" carries the annotation, the node does not.",
                            annotator.map.meshes[static_cast<std::size_t>(node.mesh)].name),
                "A mesh can stand in several places; only a node is one fastener or part.",
                "Put the keys on the object: in Blender under Object properties, Custom Properties, not under "
                "Data.");
        }
    }
}

} // namespace

TokenId Stated::token(KeyId key) const {
    const auto at = std::find_if(values.begin(), values.end(), [&](const Value& value) { return value.key == key; });
    return at == values.end() ? no_token : at->token;
}

void Annotator::add(Weight weight, std::string_view rule, std::int32_t node, std::string_view key, std::string value,
                    std::string what, std::string why, std::string remedy, std::vector<std::string> others) {
    if (noted.size() >= finding_limit) {
        ++not_kept;
        return;
    }
    Finding finding{weight,         std::string(rule), {}, std::string(key), std::move(value), std::move(what),
                    std::move(why), std::move(remedy)};
    if (node >= 0) {
        finding.nodes.push_back(name_of_node(node));
    }
    finding.nodes.insert(finding.nodes.end(), std::make_move_iterator(others.begin()),
                         std::make_move_iterator(others.end()));
    noted.push_back({node, std::move(finding)});
}

void collect(Annotator& annotator) {
    Map& map = annotator.map;
    std::vector<Stray> strays;
    annotator.stated_of.assign(map.nodes.size(), -1);
    bool annotated = false;
    std::size_t outside = 0;
    std::int32_t first_outside = -1;
    for (std::size_t i = 0; i < map.nodes.size(); ++i) {
        const auto node = static_cast<std::int32_t>(i);
        Stated stated;
        stated.node = node;
        if (!map.nodes[i].in_scene) {
            std::vector<Stray> ignored;
            collect_from(annotator, annotator.nodes.node_extras[i], node, stated, ignored);
            if (has_marker(stated) && outside++ == 0) {
                first_outside = node;
            }
            continue;
        }
        collect_from(annotator, annotator.nodes.node_extras[i], node, stated, strays);
        if (!stated.values.empty()) {
            annotated = annotated || has_marker(stated);
            annotator.stated_of[i] = static_cast<std::int32_t>(annotator.stated.size());
            annotator.stated.push_back(std::move(stated));
        }
    }
    report_strays(annotator, strays, annotated);
    report_on_mesh(annotator);
    if (outside > 0) {
        annotator.add(
            Weight::doubt, "not-in-scene", first_outside, "", "",
            fmt::format("{} annotated node(s) stand outside the scene that is shown and are left out.", outside), "",
            "Move them into the scene, or delete them.");
    }
}

namespace {

void report_no_item(Annotator& annotator, const Stated& stated) {
    std::string keys;
    for (const Stated::Value& value : stated.values) {
        if (!is_common_word(value.key)) {
            keys += keys.empty() ? "" : ", ";
            keys += key_of(value.key).name;
        }
    }
    if (!keys.empty()) {
        annotator.add(Weight::doubt, "no-item", stated.node, keys, "",
                      "The node carries keys and says neither part, fastener, task nor group.",
                      "So nothing takes them up.", "Say what it is: \"part\", \"fastener\", \"task\" or \"group\".");
    }
}

/// What a node says it is; two things at once are a fault, and the first of part, fastener, task counts.
std::optional<ItemKind> stated_kind(Annotator& annotator, const Stated& stated, bool is_group) {
    constexpr std::array<std::pair<KeyId, ItemKind>, 3> kinds{
        {{KeyId::part, ItemKind::part}, {KeyId::fastener, ItemKind::fastener}, {KeyId::task, ItemKind::task}}};
    std::optional<ItemKind> found;
    std::string words = is_group ? "group" : "";
    std::size_t count = is_group ? 1 : 0;
    for (const auto& [key, kind] : kinds) {
        const bool for_members = is_group && key == KeyId::fastener;
        if (!stated.has[static_cast<std::size_t>(key)] || for_members) {
            continue;
        }
        found = found ? found : kind;
        words += words.empty() ? "" : ", ";
        words += key_of(key).name;
        ++count;
    }
    if (count > 1) {
        annotator.add(Weight::fault, "two-kinds", stated.node, words, "",
                      "The node is said to be several things at once.", "It can be one of them only.",
                      "Leave the one that is meant, and put the others on nodes of their own.");
    }
    return is_group ? std::nullopt : found;
}

void make_item(Annotator& annotator, std::size_t node, ItemKind kind, std::int32_t group) {
    Map& map = annotator.map;
    const ItemId id{static_cast<std::int32_t>(map.items.size())};
    Item item;
    item.kind = kind;
    item.node = static_cast<std::int32_t>(node);
    item.group = group;
    item.name = map.nodes[node].name;
    item.title = item.name;
    if (kind == ItemKind::part) {
        item.detail = static_cast<std::int32_t>(map.parts.size());
        map.parts.emplace_back().item = id;
    } else if (kind == ItemKind::fastener) {
        item.detail = static_cast<std::int32_t>(map.fasteners.size());
        map.fasteners.emplace_back().item = id;
        if (group >= 0) {
            item.title = map.groups[static_cast<std::size_t>(group)].title;
        }
    } else {
        item.detail = static_cast<std::int32_t>(map.tasks.size());
        map.tasks.emplace_back().item = id;
    }
    map.items.push_back(std::move(item));
    map.nodes[node].item = id;
    if (group >= 0) {
        map.groups[static_cast<std::size_t>(group)].members.push_back(id);
    }
}

} // namespace

void make_items(Annotator& annotator) {
    Map& map = annotator.map;
    const std::size_t count = map.nodes.size();
    std::vector<std::int32_t> group_at(count, -1); // the group that a node below this one is a member of
    std::vector<bool> makes(count, false);         // and whether a mesh below it is a fastener by its group's word
    std::vector<std::int32_t> member_of(count, -1);
    std::vector<std::optional<ItemKind>> kinds(count);

    // Groups in file order first: their index is asked for on the way down.
    std::vector<std::int32_t> group_of_node(count, -1);
    for (Stated& stated : annotator.stated) {
        if (!stated.has[static_cast<std::size_t>(KeyId::group)]) {
            continue;
        }
        Group group;
        group.node = stated.node;
        group.name = annotator.name_of_node(stated.node);
        const Reading<std::string> title = text_value(annotator.json, stated.token(KeyId::group));
        group.title = title && !title->empty() && *title != "true" && *title != "1" ? *title : group.name;
        group_of_node[static_cast<std::size_t>(stated.node)] = static_cast<std::int32_t>(map.groups.size());
        map.groups.push_back(std::move(group));
    }
    for (const std::size_t i : annotator.nodes.from_top) {
        const Node& node = map.nodes[i];
        if (!node.in_scene) {
            continue;
        }
        const auto parent = static_cast<std::size_t>(node.parent);
        const std::int32_t group = node.parent < 0 ? -1 : group_at[parent];
        const bool made = node.parent >= 0 && makes[parent];
        group_at[i] = group;
        makes[i] = made;
        const Stated* stated = annotator.stated_by(static_cast<std::int32_t>(i));
        if (group_of_node[i] >= 0) {
            stated_kind(annotator, *stated, true);
            group_at[i] = group_of_node[i];
            makes[i] = stated->has[static_cast<std::size_t>(KeyId::fastener)];
            continue;
        }
        kinds[i] = stated == nullptr ? std::nullopt : stated_kind(annotator, *stated, false);
        if (!kinds[i] && made && node.mesh >= 0) {
            kinds[i] = ItemKind::fastener;
        }
        if (kinds[i]) {
            member_of[i] = group;
            makes[i] = false;
            if (kinds[i] == ItemKind::part) {
                group_at[i] = -1;
            }
        }
    }
    for (std::size_t i = 0; i < count; ++i) {
        if (kinds[i]) {
            make_item(annotator, i, *kinds[i], member_of[i]);
        } else if (group_of_node[i] < 0 && annotator.stated_of[i] >= 0) {
            report_no_item(annotator, *annotator.stated_by(static_cast<std::int32_t>(i)));
        }
    }
    for (const std::size_t i : annotator.nodes.from_top) {
        Node& node = map.nodes[i];
        if (!node.item && node.parent >= 0 && node.in_scene) {
            node.item = map.nodes[static_cast<std::size_t>(node.parent)].item;
        }
    }
}

void annotate(Gltf& gltf, const NodeReading& nodes) {
    Annotator annotator{gltf.json, gltf.map, nodes};
    collect(annotator);
    const bool annotated = std::any_of(annotator.stated.begin(), annotator.stated.end(), has_marker);
    if (annotated) {
        make_items(annotator);
    }
    apply(annotator);
    link(annotator);
    cross_check(annotator);
    if (!annotated && annotator.noted.empty()) {
        annotator.add(
            Weight::note, "not-annotated", -1, "", "",
            "Nothing in this file is annotated: it can be looked at, and there is no order to check.", "",
            "Mark it up in the window (boltwalk view --mark), or put the keys \"part\" and \"fastener\" on the "
            "objects in the modelling tool, and export custom properties.");
    }
    if (annotator.not_kept > 0) {
        const std::size_t more = annotator.not_kept;
        annotator.noted.pop_back();
        annotator.add(Weight::fault, "more-findings", -1, "", "",
                      fmt::format("{} more findings are not listed.", more + 1), "",
                      "Mend what is listed and read the file again.");
    }
    // In file order, the scene's last; what one node has in the order in which it was found.
    std::stable_sort(annotator.noted.begin(), annotator.noted.end(), [](const auto& a, const auto& b) {
        return static_cast<std::uint32_t>(a.node) < static_cast<std::uint32_t>(b.node);
    });
    for (Annotator::Noted& noted : annotator.noted) {
        gltf.map.findings.push_back(std::move(noted.finding));
    }
}

} // namespace boltwalk
