// Meshes as triangle lists with their bounds, and materials.

#include <algorithm>
#include <array>
#include <cstring>
#include <limits>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

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

bool fetch_corner_indices(Gltf& gltf, const tinygltf::Primitive& in, const std::string& where, Primitive& primitive) {
    if (in.indices < 0) {
        primitive.index_count = primitive.positions.count;
        if (!fetch_counting(gltf, primitive.index_count, where, primitive.indices)) {
            return false;
        }
    } else {
        const std::string here = fmt::format("{}, indices (accessor {})", where, in.indices);
        Indices indices;
        if (!fetch_indices(gltf, static_cast<std::size_t>(in.indices), here, indices)) {
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
    if (in.mode != TINYGLTF_MODE_TRIANGLES) {
        return unroll(gltf, in.mode == TINYGLTF_MODE_TRIANGLE_FAN, where, primitive);
    }
    primitive.index_count -= primitive.index_count % 3;
    return true;
}

bool fetch_normals(Gltf& gltf, const tinygltf::Primitive& in, const std::string& where, const std::string& mesh_name,
                   Primitive& primitive) {
    const auto found = in.attributes.find("NORMAL");
    if (found == in.attributes.end()) {
        return true;
    }
    const std::string here = fmt::format("{}, NORMAL (accessor {})", where, found->second);
    Strided<Vec3> normals;
    if (!fetch_vectors(gltf, static_cast<std::size_t>(found->second), here, normals) ||
        !gltf.spend(normals.count, here)) {
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

bool read_primitive(Gltf& gltf, const tinygltf::Primitive& in, const std::string& where, Mesh& mesh, bool& left_out) {
    if (in.mode > TINYGLTF_MODE_TRIANGLE_FAN) {
        return gltf.refuse(fmt::format("{}: mode {} is none of glTF. Export the map again", where, in.mode));
    }
    const auto found = in.attributes.find("POSITION");
    if (in.mode < TINYGLTF_MODE_TRIANGLES || found == in.attributes.end()) {
        left_out = true;
        return true;
    }
    Primitive primitive;
    primitive.material = in.material;
    const auto position = static_cast<std::size_t>(found->second);
    const std::string here = fmt::format("{}, POSITION (accessor {})", where, position);
    if (in.extensions.contains("KHR_draco_mesh_compression") &&
        static_cast<std::size_t>(gltf.model.accessors[position].bufferView) == gltf.objects(Array::views).size()) {
        return gltf.refuse(where + ": the geometry is compressed (KHR_draco_mesh_compression), which is not read. "
                                   "Export it without compression");
    }
    if (!fetch_vectors(gltf, position, here, primitive.positions) || !gltf.spend(primitive.positions.count, here)) {
        return false;
    }
    if (!is_finite(primitive.positions)) {
        return gltf.refuse(here + ": a position is infinite or no number. Find the stray vertex, or export the map "
                                  "again");
    }
    if (!fetch_normals(gltf, in, where, mesh.name, primitive) || !fetch_corner_indices(gltf, in, where, primitive) ||
        !gltf.spend(primitive.index_count, where)) {
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
    const std::vector<tinygltf::Mesh>& meshes = gltf.model.meshes;
    for (std::size_t i = 0; i < meshes.size(); ++i) {
        const TokenId token = gltf.objects(Array::meshes)[i];
        const bool named = gltf.json.is(find_member(gltf.json, token, "name"), JsonKind::text);
        Mesh mesh;
        mesh.name = named ? meshes[i].name : fmt::format("mesh {}", i);
        mesh.low.fill(std::numeric_limits<float>::infinity());
        mesh.high.fill(-std::numeric_limits<float>::infinity());
        const std::string where = say_object(gltf, "mesh", i, token);
        bool left_out = false;
        std::size_t count = 0;
        for (const tinygltf::Primitive& primitive : meshes[i].primitives) {
            const std::string here = fmt::format("{}, primitive {}", where, count++);
            if (!read_primitive(gltf, primitive, here, mesh, left_out)) {
                return false;
            }
        }
        if (left_out) {
            note(gltf, "no-triangles", mesh.name, where + ": its points, lines or empty primitives are not shown.",
                 "Only triangles are; nothing needs to be done.");
        }
        gltf.map.meshes.push_back(std::move(mesh));
        if (gltf.options.progress && (i % 64 == 0) &&
            !gltf.options.progress(0.5F + 0.4F * static_cast<float>(i) / static_cast<float>(meshes.size()))) {
            return gltf.refuse("stopped");
        }
    }
    return true;
}

void read_materials(Gltf& gltf) {
    for (std::size_t i = 0; i < gltf.model.materials.size(); ++i) {
        const tinygltf::Material& in = gltf.model.materials[i];
        const tinygltf::PbrMetallicRoughness& metal = in.pbrMetallicRoughness;
        const bool own = find_member(gltf.json, gltf.objects(Array::materials)[i], "pbrMetallicRoughness") != no_token;
        Material material;
        if (own || in.extensions.contains("KHR_materials_pbrSpecularGlossiness")) {
            for (std::size_t c = 0; c < 4; ++c) {
                material.colour[c] = static_cast<float>(std::clamp(metal.baseColorFactor[c], 0.0, 1.0));
            }
        }
        if (own) {
            material.metallic = static_cast<float>(std::clamp(metal.metallicFactor, 0.0, 1.0));
            material.roughness = static_cast<float>(std::clamp(metal.roughnessFactor, 0.0, 1.0));
        }
        material.double_sided = in.doubleSided;
        gltf.map.materials.push_back(material);
    }
}

} // namespace boltwalk
