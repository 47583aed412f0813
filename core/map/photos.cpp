// The images that items name as photographs: found by name, their bytes not looked into.

#include <string_view>

#include <fmt/format.h>

#include "core/map/gltf.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

namespace {

/// Both say so in their first bytes, and the words beside them may lie.
bool is_jpeg_or_png(std::span<const std::byte> bytes) {
    const std::string_view first(reinterpret_cast<const char*>(bytes.data()), bytes.size());
    return first.starts_with("\xff\xd8\xff") || first.starts_with("\x89PNG\r\n\x1a\n");
}

/// Why it cannot be had; empty: `out` is set.
std::string fetch_image(Gltf& gltf, TokenId image, std::span<const std::byte>& out) {
    const TokenId view = find_member(gltf.json, image, "bufferView");
    if (view == no_token) {
        return find_member(gltf.json, image, "uri") == no_token
                   ? "its image has no bytes"
                   : "its image is no part of the binary data but named by a uri; export the map as one .glb";
    }
    const std::size_t views = gltf.objects(Array::views).size();
    const double index = gltf.json.is(view, JsonKind::number) ? number_of(gltf.json, view) : -1;
    if (!(index >= 0 && index < static_cast<double>(views))) {
        return "its image lies in a buffer view that is not there";
    }
    std::size_t stride = 0;
    const std::string before = gltf.refusal;
    if (!fetch_view(gltf, static_cast<std::size_t>(index), "its image", out, stride)) {
        return std::exchange(gltf.refusal, before);
    }
    return is_jpeg_or_png(out) ? "" : "its image is neither JPEG nor PNG";
}

} // namespace

bool holds_photographs(const Json& json, TokenId extras) {
    return find_member(json, extras, "photographs") != no_token;
}

void read_photos(Gltf& gltf, NodeReading& nodes) {
    // Only what is named is looked for: the textures of a map may lie in files that are not there.
    std::vector<std::string> names;
    for (const TokenId extras : nodes.node_extras) {
        const TokenId value = find_member(gltf.json, extras, "photo");
        if (gltf.json.is(value, JsonKind::text)) {
            for (std::string& name : split_list(text_of(gltf.json, value))) {
                if (nodes.photos.emplace(name, -1).second) {
                    names.push_back(std::move(name));
                }
            }
        }
    }
    if (names.empty()) {
        return;
    }
    for (const TokenId image : elements_of(gltf.json, find_member(gltf.json, 0, "images"))) {
        const TokenId name = find_member(gltf.json, image, "name");
        const std::string text = gltf.json.is(name, JsonKind::text) ? text_of(gltf.json, name) : std::string();
        const auto wanted = nodes.photos.find(text);
        if (wanted == nodes.photos.end() || wanted->second >= 0) {
            continue; // nobody's, or the second of one name
        }
        std::span<const std::byte> bytes;
        const std::string why = fetch_image(gltf, image, bytes);
        if (!why.empty()) {
            nodes.bad_photos.emplace(text, why);
            continue;
        }
        wanted->second = static_cast<std::int32_t>(gltf.map.photos.size());
        gltf.map.photos.push_back({text, bytes});
    }
}

} // namespace boltwalk
