// The document's structure, read by tinygltf from an excerpt of the file.

#include <array>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

bool wrong_type(Gltf& gltf, TokenId value, std::string_view key, std::string_view wanted, const std::string& where) {
    return gltf.refuse(fmt::format("{}: \"{}\" is {}, not {}. Export the map again", where, key,
                                   spoken(gltf.json[value].kind), wanted));
}

/// The objects of an array at the root.
bool read_objects(Gltf& gltf, Array which) {
    const std::string_view key = key_of(which);
    std::vector<TokenId>& out = gltf.objects(which);
    const TokenId array = find_member(gltf.json, 0, key);
    if (array == no_token) {
        return true;
    }
    if (!gltf.json.is(array, JsonKind::array)) {
        return wrong_type(gltf, array, key, "an array", "the file");
    }
    out = elements_of(gltf.json, array);
    const std::size_t bytes_each = which == Array::materials   ? bytes_per_material
                                   : which == Array::accessors ? bytes_per_accessor
                                                               : bytes_per_object;
    if (out.size() > free_objects + gltf.bytes_read / bytes_each) {
        return too_many(gltf, out.size(), key);
    }
    for (std::size_t i = 0; i < out.size(); ++i) {
        if (!gltf.json.is(out[i], JsonKind::object)) {
            return wrong_type(gltf, out[i], fmt::format("{}[{}]", key, i), "an object", "the file");
        }
    }
    return true;
}

/// Nothing of the excerpt names a file or an image. Should a later tinygltf look for one all the same, it finds none.
template <typename Callbacks>
Callbacks no_files() {
    Callbacks callbacks{};
    callbacks.FileExists = [](const std::string&, void*) { return false; };
    callbacks.ExpandFilePath = [](const std::string&, void*) { return std::string(); };
    callbacks.ReadWholeFile = [](std::vector<unsigned char>*, std::string*, const std::string&, void*) {
        return false;
    };
    callbacks.WriteWholeFile = [](std::string*, const std::string&, const std::vector<unsigned char>&, void*) {
        return false;
    };
    if constexpr (requires { callbacks.GetFileSizeInBytes; }) { // from 2.9 on
        callbacks.GetFileSizeInBytes = [](std::size_t*, std::string*, const std::string&, void*) { return false; };
    }
    return callbacks;
}

bool no_image(tinygltf::Image*, int, std::string*, std::string*, int, int, const unsigned char*, int, void*) {
    return true;
}

} // namespace

std::string_view key_of(Array which) {
    constexpr std::array<std::string_view, arrays> keys{"scenes",    "nodes",       "meshes", "materials",
                                                        "accessors", "bufferViews", "buffers"};
    return keys[static_cast<std::size_t>(which)];
}

bool too_many(Gltf& gltf, std::size_t count, std::string_view of) {
    return gltf.refuse(fmt::format("{} {} in a file of {} bytes are more than any model has: it is damaged, or was "
                                   "made to be large. Export the map again",
                                   count, of, gltf.bytes_read));
}

bool read_whole(Gltf& gltf, TokenId value, std::string_view key, const std::string& where, double& out) {
    if (!gltf.json.is(value, JsonKind::number)) {
        return wrong_type(gltf, value, key, "a whole number", where);
    }
    out = number_of(gltf.json, value);
    if (!(out >= 0 && out <= 9007199254740992.0) || out != std::floor(out)) {
        return gltf.refuse(fmt::format("{}: \"{}\" is {}, where a whole number from 0 is wanted. Export the map again",
                                       where, key, gltf.json.raw(value).substr(0, 40)));
    }
    return true;
}

bool read_size(Gltf& gltf, TokenId object, std::string_view key, const std::string& where, std::size_t& out) {
    const TokenId value = find_member(gltf.json, object, key);
    double number = 0;
    if (value == no_token) {
        return true;
    }
    if (!read_whole(gltf, value, key, where, number)) {
        return false;
    }
    out = static_cast<std::size_t>(number);
    return true;
}

std::string say_object(const Gltf& gltf, std::string_view kind, std::size_t index, TokenId object) {
    const TokenId name = find_member(gltf.json, object, "name");
    if (!gltf.json.is(name, JsonKind::text)) {
        return fmt::format("{} {}", kind, index);
    }
    return fmt::format("{} {} \"{}\"", kind, index, text_of(gltf.json, name).substr(0, 200));
}

bool read_document(Gltf& gltf) {
    for (std::size_t i = 0; i < arrays; ++i) {
        if (!read_objects(gltf, static_cast<Array>(i))) {
            return false;
        }
    }
    const std::size_t scenes = gltf.objects(Array::scenes).size();
    std::size_t shown = 0;
    if (!read_size(gltf, 0, "scene", "the file", shown)) {
        return false;
    }
    if (find_member(gltf.json, 0, "scene") != no_token && shown >= scenes) {
        return gltf.refuse(
            fmt::format("the file: \"scene\" is {}, and the file has {} of those, counted from 0. Export "
                        "the map again",
                        shown, scenes));
    }
    gltf.scene = scenes == 0 ? -1 : static_cast<int>(shown);
    std::string excerpt;
    if (!write_excerpt(gltf, excerpt)) {
        return false;
    }
    // tinygltf grows these one by one; its objects are large, and growing holds them twice.
    gltf.model.nodes.reserve(gltf.objects(Array::nodes).size());
    gltf.model.meshes.reserve(gltf.objects(Array::meshes).size());
    gltf.model.materials.reserve(gltf.objects(Array::materials).size());
    gltf.model.accessors.reserve(gltf.objects(Array::accessors).size());
    gltf.model.bufferViews.reserve(gltf.objects(Array::views).size() + 1);
    tinygltf::TinyGLTF loader;
    loader.SetImageLoader(no_image, nullptr);
    static_cast<void>(loader.SetFsCallbacks(no_files<tinygltf::FsCallbacks>()));
    std::string error;
    std::string warning;
    if (excerpt.size() > std::numeric_limits<unsigned>::max() ||
        !loader.LoadASCIIFromString(&gltf.model, &error, &warning, excerpt.data(),
                                    static_cast<unsigned>(excerpt.size()), "", 0)) {
        return gltf.refuse(fmt::format("its structure cannot be read ({}). Export the map again", error));
    }
    return true;
}

} // namespace boltwalk
