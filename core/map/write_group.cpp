// A new node above others: the file's tree changes, what it shows does not.

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "core/map/map.hpp"
#include "core/map/write.hpp"

namespace boltwalk {

namespace {

using Numbers = std::vector<std::int32_t>;

std::string list_of(const Numbers& nodes) {
    std::string out;
    for (const std::int32_t node : nodes)
        out += fmt::format("{}{}", out.empty() ? "" : ",", node);
    return "[" + out + "]";
}

Numbers numbers_in(const Json& json, TokenId array) {
    Numbers out;
    for (const TokenId element : elements_of(json, array))
        out.push_back(json.is(element, JsonKind::number) ? static_cast<std::int32_t>(number_of(json, element)) : -1);
    return out;
}

/// The object without those members, and with `added` ("key":value) at its end, where there is any.
Edit without(const Json& json, TokenId object, std::span<const std::string_view> keys, const std::string& added) {
    std::string out = "{";
    const auto put = [&](std::string_view member) {
        out += out.size() > 1 ? "," : "";
        out += member;
    };
    for (TokenId at = object + 1; at < json[object].next; at = json[at + 1].next) {
        const TokenId value = at + 1;
        if (std::none_of(keys.begin(), keys.end(), [&](std::string_view key) { return text_equals(json, at, key); }))
            put(json.text.substr(json[at].begin, json[value].end - json[at].begin));
    }
    if (!added.empty())
        put(added);
    return {json[object].begin, json[object].end, out + "}"};
}

/// Where each of those stands in the world, written into itself.
std::string placed(const Json& json, const Map& map, const std::set<std::int32_t>& nodes) {
    const std::vector<TokenId> objects = elements_of(json, find_member(json, 0, "nodes"));
    constexpr std::array<std::string_view, 4> places{"matrix", "translation", "rotation", "scale"};
    std::vector<Edit> edits;
    for (const std::int32_t node : nodes) {
        std::string matrix;
        for (const double value : map.nodes[static_cast<std::size_t>(node)].world)
            matrix += fmt::format("{}{}", matrix.empty() ? "\"matrix\":[" : ",", value);
        edits.push_back(without(json, objects[static_cast<std::size_t>(node)], places, matrix + "]"));
    }
    return edited(json.text, edits);
}

/// `key` of `owner` without the picked; the first of them, or the end, becomes the group where that is wanted.
void change_list(const Json& json, TokenId owner, std::string_view key, const std::set<std::int32_t>& picked,
                 std::int32_t group, bool takes_group, std::vector<Edit>& edits) {
    const TokenId list = find_member(json, owner, key);
    const Numbers before = numbers_in(json, list);
    Numbers now;
    bool put = !takes_group;
    for (const std::int32_t node : before) {
        if (!picked.contains(node))
            now.push_back(node);
        else if (!put)
            now.push_back(group);
        put = put || picked.contains(node);
    }
    if (!put)
        now.push_back(group);
    if (list == no_token || now == before)
        return;
    if (now.empty()) // an empty list is none (glTF 2.0, section 3.5.2)
        edits.push_back(without(json, owner, {&key, 1}, ""));
    else
        edits.push_back({json[list].begin, json[list].end, list_of(now)});
}

} // namespace

tl::expected<std::string, ReadError> write_group(std::span<const std::byte> file, const Map& map, std::string_view name,
                                                 std::span<const std::int32_t> wanted) {
    auto opened = open_json(file);
    if (!opened)
        return tl::unexpected(opened.error());
    Json& json = opened->json;
    const auto group = static_cast<std::int32_t>(elements_of(json, find_member(json, 0, "nodes")).size());
    const std::set<std::int32_t> all(wanted.begin(), wanted.end());
    if (all.empty() || *all.begin() < 0 || *all.rbegin() >= group ||
        map.nodes.size() != static_cast<std::size_t>(group))
        return cannot("a group needs nodes that are there");
    const auto parent_of = [&](std::int32_t node) { return map.nodes[static_cast<std::size_t>(node)].parent; };
    std::set<std::int32_t> picked;
    for (const std::int32_t node : all) {
        std::int32_t up = parent_of(node);
        while (up >= 0 && !all.contains(up))
            up = parent_of(up);
        if (up < 0)
            picked.insert(node);
    }
    const std::int32_t parent = parent_of(*picked.begin());
    const bool together =
        std::all_of(picked.begin(), picked.end(), [&](std::int32_t node) { return parent_of(node) == parent; });
    std::string text(json.text);
    if (!together) {
        std::set<std::int32_t> moved;
        for (const std::int32_t node : picked)
            if (parent_of(node) >= 0 && map.nodes[static_cast<std::size_t>(parent_of(node))].world != Node{}.world)
                moved.insert(node);
        if (!moved.empty() && find_member(json, 0, "animations") != no_token)
            return cannot(
                "the picked nodes stand below different ones that are moved, and the file holds animations, so "
                "their places cannot be written down. Pick nodes of one parent");
        text = placed(json, map, moved);
        json = *scan_json(text);
    }
    std::vector<Edit> edits;
    const std::vector<TokenId> nodes = elements_of(json, find_member(json, 0, "nodes"));
    for (std::int32_t n = 0; n < group; ++n)
        change_list(json, nodes[static_cast<std::size_t>(n)], "children", picked, group, together && parent == n,
                    edits);
    const double scene = shown_scene(json);
    double s = 0;
    for (const TokenId one : elements_of(json, find_member(json, 0, "scenes")))
        change_list(json, one, "nodes", picked, group, (!together || parent < 0) && s++ == scene, edits);
    const TokenId array = find_member(json, 0, "nodes");
    edits.push_back(
        {json[array].end - 1, json[array].end - 1,
         fmt::format(",{{\"name\":{},\"children\":{}}}", json_quoted(name), list_of({picked.begin(), picked.end()}))});
    return with_json(file, edited(json.text, edits));
}

} // namespace boltwalk
