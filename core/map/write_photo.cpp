// A photograph into the file: the arrays of its JSON get one object more each, its binary chunk the bytes.

#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "core/map/base64.hpp"
#include "core/map/map.hpp"
#include "core/map/write.hpp"

namespace boltwalk {

namespace {

std::string data_uri(std::string_view bytes) {
    return json_quoted("data:application/octet-stream;base64," + base64_of(bytes));
}

/// A number that is none counts as 0: what it is used for is checked against what is there.
std::size_t whole(const Json& json, TokenId object, std::string_view key) {
    const TokenId value = find_member(json, object, key);
    const double number = json.is(value, JsonKind::number) ? number_of(json, value) : 0;
    return number > 0 && number < 4294967295.0 ? static_cast<std::size_t>(number) : 0;
}

/// What is done to the JSON, put together at the end.
struct Work {
    const Json& json;
    std::vector<Edit> edits{};
    std::map<std::string, std::vector<std::string>> added{}; ///< to the arrays at the root

    std::vector<TokenId> all(std::string_view key) const { return elements_of(json, find_member(json, 0, key)); }

    /// Its index.
    std::size_t append(const std::string& key, std::string object) {
        std::vector<std::string>& list = added[key];
        list.push_back(std::move(object));
        return all(key).size() + list.size() - 1;
    }
    void append_to(TokenId array, const std::string& element) {
        const bool empty = json[array].next == array + 1;
        edits.push_back({json[array].end - 1, json[array].end - 1, (empty ? "" : ",") + element});
    }
    /// A member's value, or a new member.
    void put(TokenId object, std::string_view key, const std::string& value) {
        const TokenId there = find_member(json, object, key);
        const std::size_t at = json[object].begin + 1;
        if (there != no_token)
            edits.push_back({json[there].begin, json[there].end, value});
        else
            edits.push_back({at, at, json_quoted(key) + ":" + value + (json[object].next == object + 1 ? "" : ",")});
    }
    std::string done() {
        std::string members;
        for (const auto& [key, list] : added) {
            std::string text;
            for (const std::string& object : list)
                text += (text.empty() ? "" : ",") + object;
            if (const TokenId array = find_member(json, 0, key); json.is(array, JsonKind::array))
                append_to(array, text);
            else
                members += "," + json_quoted(key) + ":[" + text + "]";
        }
        if (!members.empty())
            edits.push_back({json[0].end - 1, json[0].end - 1, members});
        return edited(json.text, edits);
    }
};

/// Where the photographs are held already: a mesh's primitives, and the first of them; no_token: nowhere.
struct Held {
    TokenId primitives = no_token, first = no_token;
};
Held held_in(const Work& work) {
    const Json& json = work.json;
    const std::vector<TokenId> meshes = work.all("meshes");
    for (const TokenId node : work.all("nodes")) {
        const std::size_t mesh = whole(json, node, "mesh");
        if (find_member(json, find_member(json, node, "extras"), "photographs") == no_token || mesh >= meshes.size())
            continue;
        const TokenId primitives = find_member(json, meshes[mesh], "primitives");
        const std::vector<TokenId> list = elements_of(json, primitives);
        if (!list.empty() && find_member(json, list.front(), "attributes") != no_token)
            return {primitives, list.front()};
    }
    return {};
}

void hold_beside(Work& work, const Held& held, std::size_t material) {
    const Json& json = work.json;
    const TokenId indices = find_member(json, held.first, "indices");
    work.append_to(held.primitives,
                   fmt::format("{{\"attributes\":{}{},\"material\":{}}}",
                               json.raw(find_member(json, held.first, "attributes")),
                               indices == no_token ? "" : fmt::format(",\"indices\":{}", json.raw(indices)), material));
}

/// Three corners in one place: their places and their places in the picture, all nought.
constexpr std::size_t corner_bytes = std::size_t{3} * 3 * 4, spot_bytes = std::size_t{3} * 2 * 4;

/// A node of its own holds the first. Its corners are in buffer view `corners`, their spots in the next.
void hold_first(Work& work, std::size_t corners, std::size_t material) {
    const Json& json = work.json;
    const std::size_t places = work.append(
        "accessors",
        fmt::format("{{\"bufferView\":{},\"componentType\":5126,\"count\":3,\"type\":\"VEC3\",\"min\":[0,0,0],"
                    "\"max\":[0,0,0]}}",
                    corners));
    const std::size_t spots = work.append(
        "accessors",
        fmt::format("{{\"bufferView\":{},\"componentType\":5126,\"count\":3,\"type\":\"VEC2\"}}", corners + 1));
    const std::size_t mesh = work.append(
        "meshes", fmt::format("{{\"name\":\"photographs\",\"primitives\":[{{\"attributes\":{{\"POSITION\":{},"
                              "\"TEXCOORD_0\":{}}},\"material\":{}}}]}}",
                              places, spots, material));
    const std::size_t node = work.append(
        "nodes", fmt::format("{{\"name\":\"photographs\",\"mesh\":{},\"extras\":{{\"photographs\":true}}}}", mesh));
    const std::vector<TokenId> scenes = work.all("scenes");
    const std::size_t shown = whole(json, 0, "scene");
    if (shown >= scenes.size())
        return; // without a scene every root is shown
    if (const TokenId roots = find_member(json, scenes[shown], "nodes"); json.is(roots, JsonKind::array))
        work.append_to(roots, std::to_string(node));
    else
        work.put(scenes[shown], "nodes", fmt::format("[{}]", node));
}

bool is_chunk(const Container& container, const Json& json, std::size_t buffer, TokenId object) {
    return buffer == 0 && container.binary && container.data && find_member(json, object, "uri") == no_token;
}

struct Piece {
    std::string_view bytes;
    bool corners = false; ///< of a mesh: its view says so (ARRAY_BUFFER)
};

/// Each piece of bytes as a new buffer view: the index of the first. `data` is the binary chunk, where it changes.
std::size_t add_views(Work& work, const Container& container, const std::vector<Piece>& pieces,
                      std::optional<std::string>& data) {
    const std::vector<TokenId> buffers = work.all("buffers");
    const bool ours = !buffers.empty() && is_chunk(container, work.json, 0, buffers.front());
    const bool chunk = ours || (container.binary && buffers.empty() && !container.data);
    std::string bytes =
        ours ? std::string(reinterpret_cast<const char*>(container.data->data()), container.data->size()) : "";
    const std::size_t buffer = chunk ? 0 : buffers.size();
    const std::size_t first = work.all("bufferViews").size();
    for (const Piece& piece : pieces) {
        bytes.append((4 - bytes.size() % 4) % 4, '\0');
        work.append("bufferViews",
                    fmt::format("{{\"buffer\":{},\"byteOffset\":{},\"byteLength\":{}{}}}", buffer, bytes.size(),
                                piece.bytes.size(), piece.corners ? ",\"target\":34962" : ""));
        bytes += piece.bytes;
    }
    if (ours)
        work.put(buffers.front(), "byteLength", std::to_string(bytes.size()));
    else
        work.append("buffers",
                    fmt::format("{{\"byteLength\":{}{}}}", bytes.size(), chunk ? "" : ",\"uri\":" + data_uri(bytes)));
    if (chunk)
        data = std::move(bytes);
    return first;
}

/// What a data: URI holds. False: it is none.
bool bytes_of_uri(const Json& json, TokenId uri, std::string& out) {
    const std::string text = json.is(uri, JsonKind::text) ? text_of(json, uri) : std::string();
    const std::size_t comma = text.find(";base64,");
    if (!text.starts_with("data:") || comma == std::string::npos)
        return false;
    const std::string_view coded = std::string_view(text).substr(comma + std::string_view(";base64,").size());
    out.resize(base64_bytes(coded));
    return from_base64(coded, reinterpret_cast<std::byte*>(out.data())).empty();
}

/// Other bytes in the place of a view's. Why not, or empty.
std::string replace_view(Work& work, const Container& container, std::size_t index, std::string_view bytes,
                         std::optional<std::string>& data) {
    const Json& json = work.json;
    const std::vector<TokenId> views = work.all("bufferViews"), buffers = work.all("buffers");
    if (index >= views.size() || whole(json, views[index], "buffer") >= buffers.size())
        return "its bytes are not there. Export the map again";
    const std::size_t buffer = whole(json, views[index], "buffer");
    const std::size_t begin = whole(json, views[index], "byteOffset");
    const std::size_t end = begin + whole(json, views[index], "byteLength");
    const bool chunk = is_chunk(container, json, buffer, buffers[buffer]);
    std::string old;
    if (chunk)
        old.assign(reinterpret_cast<const char*>(container.data->data()), container.data->size());
    else if (!bytes_of_uri(json, find_member(json, buffers[buffer], "uri"), old))
        return "its bytes lie in a file of their own. Export the map as one .glb";
    std::size_t next = old.size();
    for (std::size_t v = 0; v < views.size(); ++v) {
        if (v == index || whole(json, views[v], "buffer") != buffer)
            continue;
        const std::size_t from = whole(json, views[v], "byteOffset");
        if (from < end && from + whole(json, views[v], "byteLength") > begin)
            return "something else uses the same bytes. Export the map again";
        if (from >= end)
            next = std::min(next, from);
    }
    if (end > next)
        return "its bytes are not there. Export the map again";
    // What follows keeps its place among multiples of four.
    const std::size_t room = bytes.size() + (next - begin + 4 - bytes.size() % 4) % 4;
    std::string now = old.substr(0, begin);
    now += bytes;
    now.append(room - bytes.size(), '\0');
    now += old.substr(next);
    work.put(views[index], "byteLength", std::to_string(bytes.size()));
    for (std::size_t v = 0; v < views.size(); ++v)
        if (v != index && whole(json, views[v], "buffer") == buffer && whole(json, views[v], "byteOffset") >= end)
            work.put(views[v], "byteOffset",
                     std::to_string(whole(json, views[v], "byteOffset") - (next - begin) + room));
    work.put(buffers[buffer], "byteLength", std::to_string(now.size()));
    if (chunk)
        data = std::move(now);
    else
        work.put(buffers[buffer], "uri", data_uri(now));
    return "";
}

std::string name_of_image(const Json& json, TokenId image) {
    const TokenId name = find_member(json, image, "name");
    return json.is(name, JsonKind::text) ? text_of(json, name) : std::string();
}

} // namespace

std::vector<std::pair<std::int32_t, std::string>> values_of_key(std::span<const std::byte> file, std::string_view key) {
    std::vector<std::pair<std::int32_t, std::string>> values;
    const auto opened = open_json(file);
    if (!opened)
        return values;
    const Json& json = opened->json;
    std::int32_t node = 0;
    for (const TokenId one : elements_of(json, find_member(json, 0, "nodes"))) {
        const TokenId value = find_member(json, find_member(json, one, "extras"), key);
        if (json.is(value, JsonKind::text))
            values.emplace_back(node, text_of(json, value));
        ++node;
    }
    return values;
}

std::vector<std::string> image_names(std::span<const std::byte> file) {
    std::vector<std::string> names;
    if (const auto opened = open_json(file))
        for (const TokenId image : elements_of(opened->json, find_member(opened->json, 0, "images")))
            names.push_back(name_of_image(opened->json, image));
    return names;
}

tl::expected<std::string, ReadError> write_photo(std::span<const std::byte> file, std::string_view old_name,
                                                 std::string_view name, std::string_view jpeg) {
    const auto opened = open_json(file);
    if (!opened)
        return tl::unexpected(opened.error());
    const Container& container = opened->container;
    const Json& json = opened->json;
    Work work{json};
    std::optional<std::string> data;
    const std::string_view wanted = old_name.empty() ? photo_taken_out : old_name;
    const std::vector<TokenId> images = work.all("images");
    const auto image =
        std::find_if(images.begin(), images.end(), [&](TokenId one) { return name_of_image(json, one) == wanted; });
    if (image == images.end() && !old_name.empty())
        return cannot(fmt::format("the file has no image \"{}\"", old_name));
    if (image != images.end()) {
        if (find_member(json, *image, "bufferView") == no_token)
            return cannot(fmt::format("the image \"{}\" is not inside the file. Export the map as one .glb", wanted));
        const std::string why = replace_view(work, container, whole(json, *image, "bufferView"), jpeg, data);
        if (!why.empty())
            return cannot(fmt::format("the image \"{}\" cannot be changed: {}", wanted, why));
        work.put(*image, "name", json_quoted(name));
        work.put(*image, "mimeType", "\"image/jpeg\"");
    } else {
        const Held held = held_in(work);
        const bool first = held.primitives == no_token;
        const std::string corners(corner_bytes, '\0'), spots(spot_bytes, '\0');
        std::vector<Piece> pieces{{jpeg}};
        if (first)
            pieces.insert(pieces.end(), {{corners, true}, {spots, true}});
        const std::size_t view = add_views(work, container, pieces, data);
        const std::size_t added =
            work.append("images", fmt::format("{{\"name\":{},\"mimeType\":\"image/jpeg\",\"bufferView\":{}}}",
                                              json_quoted(name), view));
        const std::size_t texture = work.append("textures", fmt::format("{{\"source\":{}}}", added));
        const std::size_t material =
            work.append("materials", fmt::format("{{\"name\":\"photograph\",\"pbrMetallicRoughness\":{{"
                                                 "\"baseColorTexture\":{{\"index\":{}}},\"metallicFactor\":0}}}}",
                                                 texture));
        if (first)
            hold_first(work, view + 1, material);
        else
            hold_beside(work, held, material);
    }
    return with_json(file, work.done(), data ? std::optional<std::string_view>(*data) : std::nullopt);
}

} // namespace boltwalk
