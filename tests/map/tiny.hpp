// Tiny maps written out in a test, and what reading found in them.
#pragma once

#include <algorithm>
#include <cstring>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "core/map/base64.hpp"
#include "core/map/map.hpp"

namespace tiny {

using namespace boltwalk;

template <typename T>
std::string bytes_of(std::initializer_list<T> values) {
    std::string out(values.size() * sizeof(T), '\0');
    std::memcpy(out.data(), std::data(values), out.size());
    return out;
}

inline std::string u32(std::uint32_t value) {
    return bytes_of<std::uint32_t>({value});
}

/// A triangle in the plane z = 0, of one metre, from three floats a corner.
inline std::string triangle() {
    return bytes_of<float>({0, 0, 0, 1, 0, 0, 0, 1, 0});
}

inline std::string data_uri(std::string_view bytes) {
    return "data:application/octet-stream;base64," + base64_of(bytes);
}

/// One mesh (0), a triangle; `nodes` as JSON. Without `scene` every root is shown; else it is the scene's JSON.
inline std::string gltf(const std::string& nodes, const std::string& scene = "", const std::string& mesh_extras = "") {
    return fmt::format(
        R"({{"asset":{{"version":"2.0"}},{}"nodes":[{}],"meshes":[{{"primitives":[{{"attributes":{{"POSITION":0}}}}]{}}}],)"
        R"("accessors":[{{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3","min":[0,0,0],"max":[1,1,0]}}],)"
        R"("bufferViews":[{{"buffer":0,"byteLength":36}}],"buffers":[{{"byteLength":36,"uri":"{}"}}]}})",
        scene.empty() ? "" : R"("scene":0,"scenes":[)" + scene + "],", nodes,
        mesh_extras.empty() ? "" : R"(,"extras":)" + mesh_extras, data_uri(triangle()));
}

inline std::span<const std::byte> span_of(std::string_view text) {
    return std::as_bytes(std::span(text.data(), text.size()));
}

inline tl::expected<Map, ReadError> read(const std::string& text, const std::string& folder = "") {
    return read_map_bytes(span_of(text), "tiny.gltf", folder);
}

/// The map, which must be one.
inline Map map_of(const std::string& text) {
    auto map = read(text);
    if (!map) {
        FAIL(map.error().text);
    }
    return std::move(*map);
}

/// The refusal, which must be one.
inline std::string refusal_of(const std::string& text, const std::string& folder = "") {
    const auto map = read(text, folder);
    REQUIRE_FALSE(map.has_value());
    return map.error().text;
}

inline std::vector<Finding> findings_of(const Map& map, std::string_view rule) {
    std::vector<Finding> out;
    std::copy_if(map.findings.begin(), map.findings.end(), std::back_inserter(out),
                 [&](const Finding& finding) { return finding.rule == rule; });
    return out;
}

inline std::string list(const Map& map) {
    std::string out;
    for (const Finding& finding : map.findings) {
        out +=
            fmt::format("[{} {}={} at {}: {} {} {}]\n", finding.rule, finding.key, finding.value,
                        finding.nodes.empty() ? "-" : finding.nodes.front(), finding.what, finding.why, finding.remedy);
    }
    return out;
}

inline bool contains(std::string_view text, std::string_view piece) {
    return text.find(piece) != std::string_view::npos;
}

/// Frame (fixed), cover, and `rest`: nodes of a test that needs parts to hold. The cover is held by the bolt "b0".
inline std::string with_parts(const std::string& rest) {
    return R"({"name":"frame","extras":{"part":"frame","fixed":true}},{"name":"cover","extras":{"part":"cover"}},)"
           R"({"name":"b0","extras":{"fastener":"bolt","holds":"frame;cover"}})" +
           (rest.empty() ? std::string() : "," + rest);
}

/// A glTF whose last node is a fastener "b" that holds frame and cover, with more keys.
inline std::string with_bolt(const std::string& keys) {
    return gltf(with_parts(R"({"name":"b","mesh":0,"extras":{"fastener":"bolt","holds":"frame;cover")" +
                           (keys.empty() ? std::string() : "," + keys) + "}}"));
}
inline std::string with_part(const std::string& keys) {
    return gltf(with_parts(R"({"name":"p","mesh":0,"extras":{"part":"p","after":"cover")" +
                           (keys.empty() ? std::string() : "," + keys) + "}}"));
}

inline const Item& item(const Map& map, std::string_view name) {
    const ItemId id = find_item(map, name);
    REQUIRE(id);
    return map[id];
}
inline const Fastener& fastener(const Map& map, std::string_view name) {
    return map.fastener(find_item(map, name));
}
inline const Part& part(const Map& map, std::string_view name) {
    return map.part(find_item(map, name));
}
inline std::vector<std::string> names(const Map& map, const std::vector<ItemId>& ids) {
    std::vector<std::string> out;
    for (const ItemId id : ids) {
        out.push_back(map[id].name);
    }
    return out;
}

/// Exactly one finding of that rule, with that weight, key and first node; it is given back for its words.
inline Finding only(const Map& map, std::string_view rule, Weight weight, std::string_view key, std::string_view node) {
    const std::vector<Finding> found = findings_of(map, rule);
    INFO(list(map));
    REQUIRE(found.size() == 1);
    CHECK(found[0].weight == weight);
    CHECK(found[0].key == key);
    CHECK((found[0].nodes.empty() ? std::string() : found[0].nodes[0]) == node);
    CHECK_FALSE(found[0].what.empty());
    CHECK_FALSE(found[0].remedy.empty());
    return found[0];
}

} // namespace tiny
