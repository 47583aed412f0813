// The reader and the writer of maps. Whatever the bytes are, reading ends with a map whose promises hold or with a
// sentence; what was read can be written, and reads back the same.
//
// An input that starts with "J" is the JSON of a .glb whose binary chunk is filled with sane floats, so that mutations
// of the text reach the geometry; any other input is a file as it stands.

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <span>
#include <string>

#include "core/map/map.hpp"

using namespace boltwalk;

namespace {

void must(bool holds, const char* what) {
    if (!holds) {
        static_cast<void>(std::fprintf(stderr, "broken promise: %s\n", what));
        std::abort();
    }
}

void put_u32(std::string& out, std::size_t value) {
    for (unsigned shift = 0; shift < 32; shift += 8) {
        out += static_cast<char>(static_cast<unsigned char>((value >> shift) & 0xffU));
    }
}

std::string wrapped(std::string json) {
    std::string data;
    for (int i = 0; i < 256; ++i) {
        const float value = static_cast<float>(i % 17) * 0.25F;
        char bytes[4];
        std::memcpy(bytes, &value, 4);
        data.append(bytes, 4);
    }
    for (int i = 0; i < 256; ++i) {
        data += static_cast<char>(i % 9);
    }
    json.append((4 - json.size() % 4) % 4, ' ');
    std::string out = "glTF";
    put_u32(out, 2);
    put_u32(out, 28 + json.size() + data.size());
    put_u32(out, json.size());
    out += "JSON";
    out += json;
    put_u32(out, data.size());
    out.append("BIN\0", 4);
    return out + data;
}

void check_item_list(const Map& map, const std::vector<ItemId>& list) {
    for (const ItemId id : list) {
        must(id && static_cast<std::size_t>(id.index) < map.items.size(), "lists name items");
    }
}

void check_model(const Map& map) {
    for (const Mesh& mesh : map.meshes) {
        for (const Primitive& primitive : mesh.primitives) {
            must(primitive.index_count % 3 == 0, "three indices a triangle");
            must(primitive.index_size == 2 || primitive.index_size == 4, "indices of two or four bytes");
            must(primitive.material < static_cast<int>(map.materials.size()), "a material that is there");
            must(primitive.normals.count == 0 || primitive.normals.count == primitive.positions.count,
                 "as many normals");
            for (std::size_t i = 0; i < primitive.index_count; ++i) {
                must(primitive.index(i) < primitive.positions.count, "indices within the positions");
            }
            for (std::size_t i = 0; i < primitive.positions.count; ++i) {
                const Vec3 p = primitive.positions[i];
                must(std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.z), "finite positions");
            }
        }
    }
    for (const Node& node : map.nodes) {
        must(node.parent < static_cast<std::int32_t>(map.nodes.size()), "parents that are there");
        must(node.mesh < static_cast<std::int32_t>(map.meshes.size()), "meshes that are there");
        must(!node.item || static_cast<std::size_t>(node.item.index) < map.items.size(), "items that are there");
        for (const double value : node.world) {
            must(std::isfinite(value), "finite transforms");
        }
    }
}

void check_items(const Map& map) {
    must(map.items.size() == map.parts.size() + map.fasteners.size() + map.tasks.size(), "each item is one thing");
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const Item& item = map.items[i];
        const ItemId id{static_cast<std::int32_t>(i)};
        check_item_list(map, item.after);
        check_item_list(map, item.refit_after);
        check_item_list(map, item.refit_free);
        must(item.people >= 1, "at least one person");
        must(item.group < static_cast<std::int32_t>(map.groups.size()), "groups that are there");
        must(map.nodes[static_cast<std::size_t>(item.node)].in_scene, "items stand in the scene");
        if (map.is_fastener(id)) {
            const Fastener& fastener = map.fastener(id);
            must(fastener.item == id, "a fastener knows its item");
            for (const ItemId part : fastener.holds) {
                must(map.is_part(part), "what is held is a part");
            }
            for (const ItemId other : fastener.secures) {
                must(map.is_fastener(other), "what is secured is a fastener");
            }
            must(!fastener.torque || !fastener.torque->stages.empty(), "a torque has stages");
            must(!fastener.length_mm || *fastener.length_mm > 0, "lengths are positive");
        } else if (map.is_part(id)) {
            must(map.part(id).item == id, "a part knows its item");
        } else {
            check_item_list(map, map.task(id).to);
        }
    }
    must(!map.target || map.is_part(map.target), "the target is a part");
    for (const Finding& finding : map.findings) {
        must(!finding.rule.empty() && !finding.what.empty() && !finding.remedy.empty(), "findings say what and mend");
        must(printable(printable(finding.value)) == printable(finding.value), "printable twice is printable once");
    }
}

std::span<const std::byte> span_of(const std::string& text) {
    return std::as_bytes(std::span(text.data(), text.size()));
}

void write_back(const std::string& file, const Map& map) {
    std::vector<Change> changes = missing_ids(map);
    if (!map.nodes.empty()) {
        const auto last = static_cast<std::int32_t>(map.nodes.size() - 1);
        changes.push_back({last, "note", "\"written\""});
        changes.push_back({0, "a key of another's", "12345678901234567890"});
        changes.push_back({0, "note", ""});
    }
    const auto written = write_changes(span_of(file), changes);
    if (!written) {
        return; // extras that are no object
    }
    const auto again = read_map_bytes(span_of(*written), "again", "");
    must(again.has_value(), "what was written can be read");
    must(again->items.size() == map.items.size(), "no item is lost");
    must(again->nodes.size() == map.nodes.size(), "no node is lost");
    must(missing_ids(*again).empty(), "every item has an id of its own");
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        must(again->items[i].name == map.items[i].name, "names stay");
        must(again->items[i].after == map.items[i].after, "what is waited for stays");
    }
}

/// A photograph, the same one changed, and a group: each leaves a file that can be read, with nothing lost.
void write_nodes(const std::string& file, const Map& map) {
    const std::string jpeg = "\xff\xd8\xff\xd9";
    for (const std::string_view old : {"", "p"}) {
        const auto written = write_photo(span_of(file), old, "p", jpeg);
        const auto again = written ? read_map_bytes(span_of(*written), "again", "") : tl::unexpected(ReadError{});
        must(!written || again.has_value(), "a map with a photograph can be read");
        if (again) {
            must(again->nodes.size() <= map.nodes.size() + 1, "one node holds the photographs");
            must(again->items.size() == map.items.size(), "and is no item");
        }
    }
    const std::vector<std::int32_t> some{0, static_cast<std::int32_t>(map.nodes.size()) - 1};
    const auto written = write_group(span_of(file), map, "g", some);
    if (written) {
        const auto again = read_map_bytes(span_of(*written), "again", "");
        must(again.has_value(), "a map with a new group can be read");
        must(again->nodes.size() == map.nodes.size() + 1, "it is one node more");
    }
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    std::string file(reinterpret_cast<const char*>(data), size);
    if (!file.empty() && file.front() == 'J') {
        file = wrapped(file.substr(1));
    }
    ReadOptions options;
    options.byte_limit = std::size_t{1} << 24;
    const auto map = read_map_bytes(span_of(file), "input", "", options);
    if (!map) {
        must(!map.error().text.empty(), "a refusal says why");
        static_cast<void>(write_changes(span_of(file), std::vector<Change>{{0, "k", "1"}, {-1, "job", "\"j\""}}));
        return 0;
    }
    check_model(*map);
    check_items(*map);
    write_back(file, *map);
    write_nodes(file, *map);
    return 0;
}
