// Reading a map: bytes, container, JSON, geometry, nodes, annotation, one after the other.

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <memory>

#include <fmt/format.h>

#include "core/map/annotate.hpp"
#include "core/map/container.hpp"
#include "core/map/files.hpp"
#include "core/map/gltf.hpp"
#include "core/map/map.hpp"

namespace boltwalk {

namespace {

namespace fs = std::filesystem;

tl::unexpected<ReadError> cannot(const std::string& name, std::string_view why) {
    return tl::unexpected(ReadError{fmt::format("{}: {}.", name, why)});
}

/// Extensions that change what the triangles are, and that are not read.
bool check_extensions(Gltf& gltf) {
    const TokenId required = find_member(gltf.json, 0, "extensionsRequired");
    for (const TokenId element : elements_of(gltf.json, required)) {
        const std::string name = gltf.json.is(element, JsonKind::text) ? text_of(gltf.json, element) : std::string();
        if (name == "KHR_draco_mesh_compression" || name == "EXT_meshopt_compression") {
            return gltf.refuse(fmt::format("the geometry is compressed ({}), which is not read. Export it without "
                                           "compression",
                                           name));
        }
        const bool harmless = name == "KHR_mesh_quantization" || name == "KHR_texture_transform" ||
                              name == "KHR_texture_basisu" || name.starts_with("KHR_materials_") ||
                              name.starts_with("EXT_texture_") || name.starts_with("KHR_lights_");
        if (!harmless) {
            gltf.map.findings.push_back(
                {Weight::doubt,
                 "extension",
                 {},
                 "extensionsRequired",
                 name,
                 fmt::format("The file says that it cannot be shown without \"{}\", which is not read.", name),
                 "What that extension adds is missing here.",
                 "Export the map without it."});
        }
    }
    return true;
}

bool check_asset(Gltf& gltf) {
    if (!gltf.json.is(0, JsonKind::object)) {
        return gltf.refuse("this is JSON but no object; export the model as glTF 2.0");
    }
    const TokenId version = find_member(gltf.json, find_member(gltf.json, 0, "asset"), "version");
    const std::string text = gltf.json.is(version, JsonKind::text) ? text_of(gltf.json, version) : std::string();
    if (!text.starts_with("2.")) {
        return gltf.refuse(text.empty() ? std::string("it does not say which version of glTF it is (\"asset\", "
                                                      "\"version\"); export the model as glTF 2.0")
                                        : fmt::format("this is glTF {}; export the model as glTF 2.0", text));
    }
    return true;
}

bool tell(Gltf& gltf, float share) {
    return !gltf.options.progress || gltf.options.progress(share) || gltf.refuse("stopped");
}

bool read_all(Gltf& gltf) {
    NodeReading nodes;
    if (!check_asset(gltf) || !check_extensions(gltf) || !read_document(gltf)) {
        return false;
    }
    gltf.buffers.resize(gltf.objects(Array::buffers).size());
    gltf.vectors.resize(gltf.model.accessors.size());
    gltf.indices.resize(gltf.model.accessors.size());
    // What costs least comes first: a broken tree is found before a buffer is fetched.
    if (!read_nodes(gltf, nodes)) {
        return false;
    }
    read_materials(gltf);
    if (!tell(gltf, 0.5F) || !read_meshes(gltf) || !tell(gltf, 0.9F)) {
        return false;
    }
    read_photos(gltf, nodes);
    gltf.model = {}; // large, and no longer needed
    doubt_absurd_places(gltf);
    annotate(gltf, nodes);
    return tell(gltf, 1.0F);
}

/// With a `store`, `file` is its first block and stays; without one the binary chunk is copied.
tl::expected<Map, ReadError> read_bytes(std::span<const std::byte> file, const std::string& name,
                                        const std::string& folder, const ReadOptions& options,
                                        std::shared_ptr<Buffers> store) {
    if (file.size() > options.byte_limit) {
        return cannot(name, fmt::format("the file has {} bytes, more than the {} allowed. Leave out what is not "
                                        "needed, or simplify the meshes",
                                        file.size(), options.byte_limit));
    }
    const auto container = open_container(file);
    if (!container) {
        return cannot(name, container.error());
    }
    const auto json = scan_json(container->json);
    if (!json) {
        return cannot(name, fmt::format("{}: {}. The file was cut off or damaged, or edited by hand: export it again",
                                        place_in(container->json, json.error().offset), json.error().what));
    }
    Map map;
    map.path = name;
    std::optional<std::span<const std::byte>> data = container->data;
    if (store == nullptr) {
        store = std::make_shared<Buffers>();
        if (data) {
            Block copy = make_block(data->size());
            std::copy(data->begin(), data->end(), copy.bytes.get());
            data = copy.view();
            store->blocks.push_back(std::move(copy));
        }
    }
    Gltf gltf{*json, options, folder, data, map, store, {}, file.size()};
    if (!read_all(gltf)) {
        return cannot(name, gltf.refusal);
    }
    if (!container->binary && !store->blocks.empty() && store->blocks.front().bytes.get() == file.data()) {
        store->blocks.erase(store->blocks.begin()); // a .gltf's text: nothing looks into it any more
    }
    map.buffers = std::move(store);
    return map;
}

} // namespace

tl::expected<Map, ReadError> read_map_bytes(std::span<const std::byte> bytes, const std::string& name,
                                            const std::string& folder, const ReadOptions& options) {
    return read_bytes(bytes, name, folder, options, nullptr);
}

tl::expected<Map, ReadError> read_map(const std::string& path, const ReadOptions& options) {
    std::error_code error;
    const fs::path place(path);
    if (!fs::is_regular_file(place, error) || error) {
        return cannot(path, fs::is_directory(place, error) ? "this is a folder; name the file in it"
                                                           : "there is no such file; look at the path again");
    }
    const std::uintmax_t size = fs::file_size(place, error);
    if (error || size > options.byte_limit) {
        return cannot(path, fmt::format("the file has {} bytes, more than the {} allowed. Leave out what is not "
                                        "needed, or simplify the meshes",
                                        size, options.byte_limit));
    }
    const std::unique_ptr<std::FILE, CloseFile> file(std::fopen(path.c_str(), "rb"));
    if (!file) {
        return cannot(path, "the file cannot be opened; see whether you may read it");
    }
    auto store = std::make_shared<Buffers>();
    store->blocks.push_back(make_block(static_cast<std::size_t>(size)));
    Block& block = store->blocks.back();
    constexpr std::size_t piece = std::size_t{8} << 20;
    for (std::size_t at = 0; at < block.size;) {
        const std::size_t wanted = std::min(piece, block.size - at);
        if (std::fread(block.bytes.get() + at, 1, wanted, file.get()) != wanted) {
            return cannot(path, "the file cannot be read to its end; copy it again");
        }
        at += wanted;
        if (options.progress && !options.progress(0.5F * static_cast<float>(at) /
                                                  static_cast<float>(std::max<std::size_t>(1, block.size)))) {
            return cannot(path, "stopped");
        }
    }
    const std::span<const std::byte> view = block.view();
    return read_bytes(view, path, folder_of(path), options, std::move(store));
}

ItemId find_item(const Map& map, std::string_view name) {
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        if (map.items[i].name == name) {
            return {static_cast<std::int32_t>(i)};
        }
    }
    return {};
}

std::int32_t find_group(const Map& map, std::string_view name) {
    for (std::size_t i = 0; i < map.groups.size(); ++i) {
        if (map.groups[i].name == name) {
            return static_cast<std::int32_t>(i);
        }
    }
    return -1;
}

} // namespace boltwalk
