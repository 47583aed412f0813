// Meshes as triangle lists with their bounds, and materials.

#include <algorithm>
#include <array>
#include <cstring>
#include <limits>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

// glTF 2.0 specification, section 3.7.2.1.
constexpr std::size_t mode_triangles = 4;
constexpr std::size_t mode_fan = 6; // 5, between them, is a strip

void note(Gltf& gltf, std::string rule, std::string node, std::string what, std::string remedy) {
    Finding finding;
    finding.weight = Weight::note;
    finding.rule = std::move(rule);
    finding.nodes.push_back(std::move(node));
    finding.what = std::move(what);
    finding.remedy = std::move(remedy);
    gltf.map.findings.push_back(std::move(finding));
}

struct Bounds {
    std::array<float, 3> low{}, high{};

    void take(const float* position) {
        for (std::size_t axis = 0; axis < 3; ++axis) {
            low[axis] = std::min(low[axis], position[axis]);
            high[axis] = std::max(high[axis], position[axis]);
        }
    }
};

const float* position_at(const Primitive& primitive, std::size_t i) {
    return reinterpret_cast<const float*>(primitive.positions.data + i * primitive.positions.stride);
}

/// All positions, tightly packed: twelve floats are four positions, in lanes that the compiler turns into vectors.
void take_all(const Primitive& primitive, Bounds& bounds) {
    constexpr std::size_t lanes = 12;
    std::array<float, lanes> low{};
    std::array<float, lanes> high{};
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        low[lane] = bounds.low[lane % 3];
        high[lane] = bounds.high[lane % 3];
    }
    const float* floats = position_at(primitive, 0);
    const std::size_t whole = primitive.positions.count / 4;
    for (std::size_t i = 0; i < whole; ++i, floats += lanes) {
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            low[lane] = std::min(low[lane], floats[lane]);
            high[lane] = std::max(high[lane], floats[lane]);
        }
    }
    for (std::size_t lane = 0; lane < lanes; ++lane) {
        bounds.low[lane % 3] = std::min(bounds.low[lane % 3], low[lane]);
        bounds.high[lane % 3] = std::max(bounds.high[lane % 3], high[lane]);
    }
    for (std::size_t i = whole * 4; i < primitive.positions.count; ++i) {
        bounds.take(position_at(primitive, i));
    }
}

/// Takes in the positions that triangles use, and no others. Fetching each corner's position costs more than all other
/// checks together; so where most positions are used they are marked first, and then gone through in order.
template <typename T>
void take_used(const Primitive& primitive, std::vector<std::uint8_t>& used, Bounds& bounds) {
    const T* indices = reinterpret_cast<const T*>(primitive.indices);
    const std::size_t positions = primitive.positions.count;
    if (primitive.index_count < positions) {
        for (std::size_t i = 0; i < primitive.index_count; ++i) {
            bounds.take(position_at(primitive, indices[i]));
        }
        return;
    }
    used.assign(positions, 0);
    for (std::size_t i = 0; i < primitive.index_count; ++i) {
        used[indices[i]] = 1;
    }
    const bool all = std::find(used.begin(), used.end(), 0) == used.end();
    if (all && primitive.positions.stride == sizeof(Vec3)) {
        take_all(primitive, bounds);
        return;
    }
    for (std::size_t i = 0; i < positions; ++i) {
        if (used[i] != 0) {
            bounds.take(position_at(primitive, i));
        }
    }
}

/// Indices 0, 1, 2, ... up to `count`, for triangles that have none; shared by all of them.
bool fetch_counting(Gltf& gltf, std::size_t count, const std::string& where, const std::byte*& out) {
    if (gltf.counting.size() / 4 < count) {
        // At least doubled, so that growing step by step costs no more than four times the largest.
        const std::size_t room = std::max(count, gltf.counting.size() / 2);
        std::byte* block = gltf.own(room * 4, where);
        if (block == nullptr || !gltf.spend(room, where)) {
            return false;
        }
        auto* values = reinterpret_cast<std::uint32_t*>(block);
        for (std::size_t i = 0; i < room; ++i) {
            values[i] = static_cast<std::uint32_t>(i);
        }
        gltf.counting = {block, room * 4};
    }
    out = gltf.counting.data();
    return true;
}

/// A strip or a fan as a list. Section 3.7.2.1: strip p(i) = {v(i), v(i + 1 + i % 2), v(i + 2 - i % 2)}, fan
/// p(i) = {v(i + 1), v(i + 2), v(0)}.
bool unroll(Gltf& gltf, bool fan, const std::string& where, Primitive& primitive) {
    const std::size_t triangles = primitive.index_count < 3 ? 0 : primitive.index_count - 2;
    std::byte* block = gltf.own(triangles * 12, where);
    if (block == nullptr || !gltf.spend(triangles * 3, where)) {
        return false;
    }
    auto* out = reinterpret_cast<std::uint32_t*>(block);
    for (std::size_t i = 0; i < triangles; ++i) {
        const std::array<std::size_t, 3> corners = fan ? std::array<std::size_t, 3>{i + 1, i + 2, 0}
                                                       : std::array<std::size_t, 3>{i, i + 1 + i % 2, i + 2 - i % 2};
        for (const std::size_t corner : corners) {
            *out++ = primitive.index(corner);
        }
    }
    primitive.indices = block;
    primitive.index_size = 4;
    primitive.index_count = triangles * 3;
    return true;
}

bool fetch_corner_indices(Gltf& gltf, TokenId token, std::size_t mode, const std::string& where, Primitive& primitive) {
    int accessor = -1;
    if (!read_index(gltf, token, "indices", gltf.accessor_tokens.size(), where, accessor)) {
        return false;
    }
    if (accessor < 0) {
        primitive.index_count = primitive.positions.count;
        if (!fetch_counting(gltf, primitive.index_count, where, primitive.indices)) {
            return false;
        }
    } else {
        const std::string here = fmt::format("{}, indices (accessor {})", where, accessor);
        Indices indices;
        if (!fetch_indices(gltf, static_cast<std::size_t>(accessor), here, indices)) {
            return false;
        }
        if (indices.count > 0 && indices.largest >= primitive.positions.count) {
            return gltf.refuse(fmt::format("{}: index {} is used where there are {} positions. Export the map again",
                                           here, indices.largest, primitive.positions.count));
        }
        primitive.indices = indices.data;
        primitive.index_count = indices.count;
        primitive.index_size = indices.size;
    }
    if (mode != mode_triangles) {
        return unroll(gltf, mode == mode_fan, where, primitive);
    }
    primitive.index_count -= primitive.index_count % 3;
    return true;
}

bool fetch_normals(Gltf& gltf, TokenId attributes, const std::string& where, const std::string& mesh_name,
                   Primitive& primitive) {
    int accessor = -1;
    if (!read_index(gltf, attributes, "NORMAL", gltf.accessor_tokens.size(), where, accessor)) {
        return false;
    }
    if (accessor < 0) {
        return true;
    }
    const std::string here = fmt::format("{}, NORMAL (accessor {})", where, accessor);
    Strided<Vec3> normals;
    if (!fetch_vectors(gltf, static_cast<std::size_t>(accessor), here, normals) || !gltf.spend(normals.count, here)) {
        return false;
    }
    if (normals.count == primitive.positions.count && is_finite(normals)) {
        primitive.normals = normals;
    } else {
        note(gltf, "normals", mesh_name,
             here + ": some normals are missing or not finite; the mesh is shaded from its triangles instead.",
             "Export the mesh with its normals again.");
    }
    return true;
}

bool read_primitive(Gltf& gltf, TokenId token, const std::string& where, Mesh& mesh, bool& left_out) {
    std::size_t mode = mode_triangles;
    int position = -1;
    const TokenId attributes = find_member(gltf.json, token, "attributes");
    if (!gltf.json.is(attributes, JsonKind::object)) {
        return gltf.refuse(where + ": \"attributes\" is missing or no object. Export the map again");
    }
    Primitive primitive;
    if (!read_size(gltf, token, "mode", where, mode) ||
        !read_index(gltf, attributes, "POSITION", gltf.accessor_tokens.size(), where, position) ||
        !read_index(gltf, token, "material", gltf.map.materials.size(), where, primitive.material)) {
        return false;
    }
    if (mode > mode_fan) {
        return gltf.refuse(fmt::format("{}: mode {} is none of glTF. Export the map again", where, mode));
    }
    if (mode < mode_triangles || position < 0) {
        left_out = true;
        return true;
    }
    const std::string here = fmt::format("{}, POSITION (accessor {})", where, position);
    const TokenId extensions = find_member(gltf.json, token, "extensions");
    const TokenId accessor = gltf.accessor_tokens[static_cast<std::size_t>(position)];
    if (find_member(gltf.json, extensions, "KHR_draco_mesh_compression") != no_token &&
        find_member(gltf.json, accessor, "bufferView") == no_token) {
        return gltf.refuse(where + ": the geometry is compressed (KHR_draco_mesh_compression), which is not read. "
                                   "Export it without compression");
    }
    if (!fetch_vectors(gltf, static_cast<std::size_t>(position), here, primitive.positions) ||
        !gltf.spend(primitive.positions.count, here)) {
        return false;
    }
    if (!is_finite(primitive.positions)) {
        return gltf.refuse(here + ": a position is infinite or no number. Find the stray vertex, or export the map "
                                  "again");
    }
    if (!fetch_normals(gltf, attributes, where, mesh.name, primitive) ||
        !fetch_corner_indices(gltf, token, mode, where, primitive) || !gltf.spend(primitive.index_count, where)) {
        return false;
    }
    Bounds bounds{mesh.low, mesh.high};
    if (primitive.index_size == 2) {
        take_used<std::uint16_t>(primitive, gltf.used, bounds);
    } else {
        take_used<std::uint32_t>(primitive, gltf.used, bounds);
    }
    mesh.low = bounds.low;
    mesh.high = bounds.high;
    mesh.triangle_count += primitive.index_count / 3;
    mesh.primitives.push_back(primitive);
    return true;
}

} // namespace

template <typename T>
T Strided<T>::operator[](std::size_t i) const {
    T value;
    std::memcpy(&value, data + i * stride, sizeof value);
    return value;
}
template struct Strided<Vec3>;

std::uint32_t Primitive::index(std::size_t i) const {
    if (index_size == 2) {
        std::uint16_t value = 0;
        std::memcpy(&value, indices + 2 * i, 2);
        return value;
    }
    std::uint32_t value = 0;
    std::memcpy(&value, indices + 4 * i, 4);
    return value;
}

bool read_meshes(Gltf& gltf) {
    std::vector<TokenId> tokens;
    if (!read_objects(gltf, "meshes", tokens)) {
        return false;
    }
    for (std::size_t i = 0; i < tokens.size(); ++i) {
        Mesh mesh;
        const TokenId name = find_member(gltf.json, tokens[i], "name");
        mesh.name = gltf.json.is(name, JsonKind::text) ? text_of(gltf.json, name) : fmt::format("mesh {}", i);
        mesh.low.fill(std::numeric_limits<float>::infinity());
        mesh.high.fill(-std::numeric_limits<float>::infinity());
        const std::string where = say_object(gltf, "mesh", i, tokens[i]);
        const TokenId primitives = find_member(gltf.json, tokens[i], "primitives");
        if (!gltf.json.is(primitives, JsonKind::array)) {
            return gltf.refuse(where + ": \"primitives\" is missing or no array. Export the map again");
        }
        bool left_out = false;
        std::size_t count = 0;
        for (const TokenId token : elements_of(gltf.json, primitives)) {
            const std::string here = fmt::format("{}, primitive {}", where, count++);
            if (!read_primitive(gltf, token, here, mesh, left_out)) {
                return false;
            }
        }
        if (left_out) {
            note(gltf, "no-triangles", mesh.name, where + ": its points, lines or empty primitives are not shown.",
                 "Only triangles are; nothing needs to be done.");
        }
        gltf.map.meshes.push_back(std::move(mesh));
        if (gltf.options.progress && (i % 64 == 0) &&
            !gltf.options.progress(0.5F + 0.4F * static_cast<float>(i) / static_cast<float>(tokens.size()))) {
            return gltf.refuse("stopped");
        }
    }
    return true;
}

bool read_materials(Gltf& gltf) {
    std::vector<TokenId> tokens;
    if (!read_objects(gltf, "materials", tokens)) {
        return false;
    }
    for (std::size_t i = 0; i < tokens.size(); ++i) {
        const std::string where = say_object(gltf, "material", i, tokens[i]);
        const TokenId metal = find_member(gltf.json, tokens[i], "pbrMetallicRoughness");
        const TokenId gloss = find_member(gltf.json, find_member(gltf.json, tokens[i], "extensions"),
                                          "KHR_materials_pbrSpecularGlossiness");
        Material material;
        std::array<double, 4> colour{0.8, 0.8, 0.8, 1};
        std::array<double, 1> metallic{1};
        std::array<double, 1> roughness{1};
        bool present = false;
        if (metal != no_token) {
            colour = {1, 1, 1, 1}; // the specification's default
            if (!read_numbers(gltf, metal, "baseColorFactor", where, colour, present) ||
                !read_numbers(gltf, metal, "metallicFactor", where, metallic, present) ||
                !read_numbers(gltf, metal, "roughnessFactor", where, roughness, present)) {
                return false;
            }
            material.metallic = static_cast<float>(std::clamp(metallic[0], 0.0, 1.0));
            material.roughness = static_cast<float>(std::clamp(roughness[0], 0.0, 1.0));
        } else if (gloss != no_token && !read_numbers(gltf, gloss, "diffuseFactor", where, colour, present)) {
            return false;
        }
        for (std::size_t c = 0; c < 4; ++c) {
            material.colour[c] = static_cast<float>(std::clamp(colour[c], 0.0, 1.0));
        }
        material.double_sided = gltf.json.is(find_member(gltf.json, tokens[i], "doubleSided"), JsonKind::yes);
        gltf.map.materials.push_back(material);
    }
    return true;
}

} // namespace boltwalk
