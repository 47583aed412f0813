// Writing: the bytes of the file are patched where a key changes, and nowhere else. No JSON library sees them, so big
// numbers, nulls, odd spellings and whatever other programs keep in the file survive.

#include <algorithm>
#include <map>
#include <unordered_set>

#include <fmt/format.h>

#include "core/map/container.hpp"
#include "core/map/map.hpp"
#include "core/map/scan.hpp"
#include "core/map/utf8.hpp"
#include "core/map/write.hpp"

namespace boltwalk {

namespace {

/// The changes to one object of extras; an empty value takes the key away. In the order in which keys came.
struct KeyChange {
    std::string_view key, json;
};

std::string member(const KeyChange& change) {
    return json_quoted(change.key) + ":" + std::string(change.json);
}

std::string new_object(const std::vector<KeyChange>& changes) {
    std::string out;
    for (const KeyChange& change : changes) {
        if (!change.json.empty()) {
            out += out.empty() ? "{" : ",";
            out += member(change);
        }
    }
    return out.empty() ? out : out + "}";
}

/// The members of an object that stay, each with the bytes before it as they were; then the new ones.
Edit changed_object(const Json& json, TokenId object, const std::vector<KeyChange>& changes) {
    const auto text = [&](std::size_t begin, std::size_t end) { return json.text.substr(begin, end - begin); };
    const auto change_of = [&](TokenId key) {
        return std::find_if(changes.begin(), changes.end(),
                            [&](const KeyChange& change) { return text_equals(json, key, change.key); });
    };
    std::string out = "{";
    std::unordered_set<std::string_view> written;
    std::size_t after_last = json[object].begin + 1; // the end of the member before, comma not included
    bool any = false;
    for (TokenId key = object + 1; key < json[object].next; key = json[key + 1].next) {
        const TokenId value = key + 1;
        const auto change = change_of(key);
        const bool stays = change == changes.end() || !change->json.empty();
        if (stays) {
            // The space before it; the comma only where another member stays before.
            std::string_view before = text(after_last, json[key].begin);
            const std::size_t comma = before.find(',');
            if (comma != std::string_view::npos) {
                out += before.substr(0, comma);
                before.remove_prefix(comma + 1);
            }
            out += any ? "," : "";
            out += before;
            out += text(json[key].begin, json[value].begin);
            out += change == changes.end() ? json.raw(value) : change->json;
            any = true;
            if (change != changes.end()) {
                written.insert(change->key);
            }
        }
        after_last = json[value].end;
    }
    std::string added;
    for (const KeyChange& change : changes) {
        if (!change.json.empty() && !written.contains(change.key)) {
            added += any || !added.empty() ? "," : "";
            added += member(change);
        }
    }
    out += added;
    out += text(after_last, json[object].end); // space and the closing bracket
    return {json[object].begin, json[object].end, std::move(out)};
}

/// The edit that puts the changes into an owner's extras; nothing when there is nothing to do.
tl::expected<std::optional<Edit>, ReadError> edit_of(const Json& json, TokenId owner, const std::string& where,
                                                     const std::vector<KeyChange>& changes) {
    const TokenId extras = find_member(json, owner, "extras");
    if (extras == no_token) {
        const std::string object = new_object(changes);
        if (object.empty()) {
            return std::optional<Edit>();
        }
        const bool empty = json[owner].next == owner + 1;
        const std::size_t at = json[owner].begin + 1;
        return std::optional<Edit>(Edit{at, at, "\"extras\":" + object + (empty ? "" : ",")});
    }
    if (json.is(extras, JsonKind::null)) {
        // It says nothing, so nothing is lost by an object in its place.
        const std::string object = new_object(changes);
        const Edit edit{json[extras].begin, json[extras].end, object};
        return object.empty() ? std::optional<Edit>() : std::optional<Edit>(edit);
    }
    if (!json.is(extras, JsonKind::object)) {
        return cannot(fmt::format("{}: its extras are {}, no object, so no key fits in. Take those extras away in the "
                                  "program that made them",
                                  where, spoken(json[extras].kind)));
    }
    return std::optional<Edit>(changed_object(json, extras, changes));
}

/// The nodes' own names, in a pass of its own: a name and the extras may want the same place.
tl::expected<std::string, ReadError> renamed(const Json& json, std::span<const Change> changes) {
    const std::vector<TokenId> nodes = elements_of(json, find_member(json, 0, "nodes"));
    std::map<std::int32_t, const Change*> last;
    for (const Change& change : changes) {
        const auto value = scan_json(change.json);
        const bool there = change.node >= 0 && static_cast<std::size_t>(change.node) < nodes.size() &&
                           json.is(nodes[static_cast<std::size_t>(change.node)], JsonKind::object);
        if (!there || change.key != "name" || !value || !value->is(0, JsonKind::text)) {
            return cannot(fmt::format("node {}, \"{}\": only the name of a node that is there can be changed, into a "
                                      "text in quotes, and {} is none",
                                      change.node, change.key, change.json));
        }
        last[change.node] = &change;
    }
    std::vector<Edit> edits;
    for (const auto& [node, change] : last) {
        const TokenId owner = nodes[static_cast<std::size_t>(node)];
        const TokenId name = find_member(json, owner, "name");
        if (name != no_token) {
            edits.push_back({json[name].begin, json[name].end, change->json});
        } else {
            const std::size_t at = json[owner].begin + 1;
            edits.push_back({at, at, "\"name\":" + change->json + (json[owner].next == owner + 1 ? "" : ",")});
        }
    }
    return edited(json.text, edits);
}

tl::expected<std::string, ReadError> patched(const Json& json, std::span<const Change> changes) {
    // By owner, -1 first; keys in the order in which they came, the last value of each.
    std::map<std::int32_t, std::vector<KeyChange>> by_owner;
    for (const Change& change : changes) {
        const auto value = scan_json(change.json);
        if (change.key.empty() || !is_utf8(change.key) || (!change.json.empty() && !value)) {
            return cannot(
                fmt::format("node {}, key \"{}\": the value {} is no JSON, or the key no text. Write a text in "
                            "quotes, a number, true or false",
                            change.node, change.key, change.json));
        }
        std::vector<KeyChange>& list = by_owner[change.node];
        std::erase_if(list, [&](const KeyChange& before) { return before.key == change.key; });
        list.push_back({change.key, change.json});
    }
    const std::vector<TokenId> nodes = elements_of(json, find_member(json, 0, "nodes"));
    const std::vector<TokenId> scenes = elements_of(json, find_member(json, 0, "scenes"));
    std::vector<Edit> edits;
    for (const auto& [node, list] : by_owner) {
        TokenId owner = no_token;
        std::string where = fmt::format("node {}", node);
        if (node == -1) {
            const double index = shown_scene(json);
            where = "the scene";
            owner = index >= 0 && index < static_cast<double>(scenes.size()) ? scenes[static_cast<std::size_t>(index)]
                                                                             : no_token;
        } else if (node >= 0 && static_cast<std::size_t>(node) < nodes.size()) {
            owner = nodes[static_cast<std::size_t>(node)];
        }
        if (!json.is(owner, JsonKind::object)) {
            return cannot(fmt::format("{}: the file has none. Read it again: it may have changed meanwhile", where));
        }
        auto edit = edit_of(json, owner, where, list);
        if (!edit) {
            return tl::unexpected(edit.error());
        }
        if (*edit) {
            edits.push_back(std::move(**edit));
        }
    }
    return edited(json.text, edits);
}

void put_u32(std::string& out, std::size_t at, std::size_t value) {
    for (std::size_t i = 0; i < 4; ++i) {
        out[at + i] = static_cast<char>(static_cast<unsigned char>((value >> (8 * i)) & 0xffU));
    }
}

} // namespace

tl::expected<std::string, ReadError> write_changes(std::span<const std::byte> file, std::span<const Change> changes) {
    const std::string_view whole(reinterpret_cast<const char*>(file.data()), file.size());
    const auto opened = open_json(file);
    if (!opened)
        return tl::unexpected(opened.error());
    if (changes.empty()) {
        return std::string(whole);
    }
    std::vector<Change> extras;
    std::vector<Change> names;
    for (const Change& change : changes) {
        (change.of_node ? names : extras).push_back(change);
    }
    auto text = patched(opened->json, extras);
    if (!text) {
        return text;
    }
    if (!names.empty()) {
        const auto between = scan_json(*text);
        auto named = between ? renamed(*between, names) : tl::expected<std::string, ReadError>(*text);
        if (!named) {
            return named;
        }
        text = std::move(named);
    }
    return with_json(file, *text);
}

tl::expected<OpenedJson, ReadError> open_json(std::span<const std::byte> file) {
    const auto container = open_container(file);
    if (!container)
        return cannot(container.error());
    auto json = scan_json(container->json);
    if (!json)
        return cannot(fmt::format("{}: {}", place_in(container->json, json.error().offset), json.error().what));
    return OpenedJson{*container, std::move(*json)};
}

double shown_scene(const Json& json) {
    const TokenId shown = find_member(json, 0, "scene");
    return json.is(shown, JsonKind::number) ? number_of(json, shown) : 0;
}

std::string edited(std::string_view text, std::vector<Edit>& edits) {
    std::stable_sort(edits.begin(), edits.end(), [](const Edit& a, const Edit& b) { return a.begin < b.begin; });
    std::string out;
    out.reserve(text.size());
    std::size_t at = 0;
    for (const Edit& edit : edits) {
        out += text.substr(at, edit.begin - at);
        out += edit.text;
        at = edit.end;
    }
    out += text.substr(at);
    return out;
}

tl::expected<std::string, ReadError> with_json(std::span<const std::byte> file, std::string_view text,
                                               std::optional<std::string_view> data) {
    const std::string_view whole(reinterpret_cast<const char*>(file.data()), file.size());
    const auto container = open_container(file);
    if (!container) {
        return cannot(container.error());
    }
    if (const auto again = scan_json(text); !again) {
        return cannot(fmt::format("with these changes the file could not be read again: {}", again.error().what));
    }
    const auto begin = static_cast<std::size_t>(container->json.data() - whole.data());
    const std::size_t end = begin + container->json.size();
    std::string out(whole.substr(0, begin));
    out += text;
    if (!container->binary) {
        out += whole.substr(end);
        return out;
    }
    // Chunks start at multiples of four bytes; JSON is padded with spaces, binary with zeros (glTF 2.0, section 4.4).
    const std::size_t spaces = std::min(text.find_last_not_of(' ') + 1, text.size());
    out.resize(begin + spaces);
    out.append((4 - spaces % 4) % 4, ' ');
    const std::size_t json_size = out.size() - begin;
    std::size_t total = little_u32(file, 8) - container->json.size() + json_size;
    std::size_t rest = end; // of the file, that follows as it was
    if (data) {
        if (container->data) {
            const auto at =
                static_cast<std::size_t>(reinterpret_cast<const char*>(container->data->data()) - whole.data());
            out += whole.substr(end, at - glb_chunk_header_bytes - end);
            rest = at + container->data->size();
            total -= glb_chunk_header_bytes + container->data->size();
        }
        const std::size_t header = out.size();
        out.append(glb_chunk_header_bytes, '\0');
        out += *data;
        out.append((4 - data->size() % 4) % 4, '\0');
        const std::size_t data_size = out.size() - header - glb_chunk_header_bytes;
        total += glb_chunk_header_bytes + data_size;
        put_u32(out, header, data_size);
        put_u32(out, header + 4, glb_chunk_binary);
    }
    if (total > 0xffffffffU) {
        return cannot("with these changes the file would be longer than 4 GiB, more than a .glb can hold");
    }
    put_u32(out, begin - glb_chunk_header_bytes, json_size);
    put_u32(out, 8, total);
    out += whole.substr(rest);
    return out;
}

namespace {

constexpr std::size_t longest_id = 24;

/// The name's ASCII letters and digits, small, everything else one "-".
std::string slug(std::string_view name) {
    std::string out;
    for (const char c : name) {
        const bool large = c >= 'A' && c <= 'Z';
        if (large || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) {
            out += large ? static_cast<char>(c - 'A' + 'a') : c;
        } else if (!out.empty() && out.back() != '-') {
            out += '-';
        }
        if (out.size() == longest_id) {
            break;
        }
    }
    while (!out.empty() && out.back() == '-') {
        out.pop_back();
    }
    return out.empty() ? "item" : out;
}

} // namespace

std::vector<Change> missing_ids(const Map& map) {
    std::unordered_set<std::string> taken;
    std::vector<bool> keeps(map.items.size(), false);
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        keeps[i] = !map.items[i].id.empty() && taken.insert(map.items[i].id).second;
    }
    std::vector<Change> changes;
    std::map<std::string, int> last; // the counter of each slug: a thousand bolts of one name take no million tries
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        if (keeps[i]) {
            continue;
        }
        const std::string base = slug(map.items[i].name);
        std::string id = base;
        for (int& n = last[base]; !taken.insert(id).second;) {
            n = std::max(n + 1, 2);
            id = fmt::format("{}-{}", base, n);
        }
        changes.push_back({map.items[i].node, "id", json_quoted(id)});
    }
    return changes;
}

} // namespace boltwalk
