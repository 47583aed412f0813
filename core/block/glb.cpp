// Source of the layout: glTF 2.0 specification, sections 3.6 (buffers) and 4.4 (the binary container).
#include "core/block/glb.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <unordered_map>

#include "core/map/container.hpp"

namespace boltwalk::recipe {

namespace {

using Json = nlohmann::ordered_json;

constexpr int array_buffer = 34962;
constexpr int element_array_buffer = 34963;
constexpr int component_u16 = 5123;
constexpr int component_u32 = 5125;
constexpr int component_float = 5126;

void put(std::string& out, std::uint32_t value, int bytes = 4) {
    for (int i = 0; i < bytes; ++i)
        out += static_cast<char>(static_cast<unsigned char>((value >> (8 * i)) & 0xffU));
}

void put(std::string& out, float value) {
    put(out, std::bit_cast<std::uint32_t>(value));
}

struct Vertex {
    std::array<float, 6> at_and_normal;
    bool operator==(const Vertex&) const = default;
};
struct VertexHash {
    std::size_t operator()(const Vertex& v) const {
        std::uint64_t hash = 0xcbf29ce484222325ULL; // FNV-1a
        for (const float f : v.at_and_normal)
            hash = (hash ^ std::bit_cast<std::uint32_t>(f)) * 0x100000001b3ULL;
        return static_cast<std::size_t>(hash ^ (hash >> 29U));
    }
};

/// What a screen shows to what light does: the sRGB curve (IEC 61966-2-1).
double linear(std::uint32_t rgb, unsigned shift) {
    const double c = ((rgb >> shift) & 0xffU) / 255.0;
    const double l = c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
    return std::round(l * 1e4) / 1e4; // so that it is the same on every machine
}

} // namespace

int Meshes::add(const Shell& shell, const std::string& name, const Paint& paint) {
    Made made;
    made.name = name;
    const auto painted = std::find(paints_.begin(), paints_.end(), paint);
    made.material = static_cast<int>(painted - paints_.begin());
    if (painted == paints_.end())
        paints_.push_back(paint);
    std::unordered_map<Vertex, std::uint32_t, VertexHash> seen;
    std::vector<std::uint32_t> indices;
    std::fill(std::begin(made.low), std::end(made.low), 1e30F);
    std::fill(std::begin(made.high), std::end(made.high), -1e30F);
    for (const auto& triangle : shell.triangles) {
        const glm::dvec3 across = glm::cross(triangle[1] - triangle[0], triangle[2] - triangle[0]);
        const double length = glm::length(across);
        const glm::dvec3 normal = length > 0 ? across / length + 0.0 : glm::dvec3(0, 1, 0);
        for (const glm::dvec3& corner : triangle) {
            Vertex vertex{};
            for (int i = 0; i < 3; ++i) {
                const auto k = static_cast<std::size_t>(i);
                vertex.at_and_normal[k] = static_cast<float>(corner[i] / 1000);
                vertex.at_and_normal[k + 3] = static_cast<float>(normal[i]);
            }
            const auto [it, fresh] = seen.try_emplace(vertex, static_cast<std::uint32_t>(seen.size()));
            indices.push_back(it->second);
            if (!fresh)
                continue;
            for (std::size_t i = 0; i < 3; ++i) {
                const float value = vertex.at_and_normal[i];
                put(made.positions, value);
                put(made.normals, vertex.at_and_normal[i + 3]);
                made.low[i] = std::min(made.low[i], value);
                made.high[i] = std::max(made.high[i], value);
            }
        }
    }
    made.vertices = seen.size();
    made.index_count = indices.size();
    made.wide = made.vertices > 65535; // 65535 itself is no index
    for (const std::uint32_t i : indices)
        put(made.indices, i, made.wide ? 4 : 2);
    const auto [it, fresh] = known_.try_emplace({made.positions + made.normals + made.indices, made.material},
                                                static_cast<int>(list_.size()));
    if (fresh) {
        corners_ += made.index_count;
        list_.push_back(std::move(made));
    }
    return it->second;
}

std::string Meshes::file(Json document) const {
    std::string data;
    Json meshes = Json::array();
    Json accessors = Json::array();
    Json views = Json::array();
    const auto view = [&](const std::string& bytes, int target) {
        data.resize((data.size() + 3) / 4 * 4, '\0');
        views.push_back({{"buffer", 0}, {"byteOffset", data.size()}, {"byteLength", bytes.size()}, {"target", target}});
        data += bytes;
        return views.size() - 1;
    };
    for (const Made& made : list_) {
        const std::size_t first = accessors.size();
        accessors.push_back({{"bufferView", view(made.positions, array_buffer)},
                             {"componentType", component_float},
                             {"count", made.vertices},
                             {"type", "VEC3"},
                             {"min", {made.low[0], made.low[1], made.low[2]}},
                             {"max", {made.high[0], made.high[1], made.high[2]}}});
        accessors.push_back({{"bufferView", view(made.normals, array_buffer)},
                             {"componentType", component_float},
                             {"count", made.vertices},
                             {"type", "VEC3"}});
        accessors.push_back({{"bufferView", view(made.indices, element_array_buffer)},
                             {"componentType", made.wide ? component_u32 : component_u16},
                             {"count", made.index_count},
                             {"type", "SCALAR"}});
        Json primitive = {{"attributes", {{"POSITION", first}, {"NORMAL", first + 1}}},
                          {"indices", first + 2},
                          {"material", made.material}};
        meshes.push_back({{"name", made.name}, {"primitives", Json::array({primitive})}});
    }
    Json materials = Json::array();
    for (const Paint& paint : paints_)
        materials.push_back(
            {{"pbrMetallicRoughness",
              {{"baseColorFactor", {linear(paint.rgb, 16), linear(paint.rgb, 8), linear(paint.rgb, 0), 1.0}},
               {"metallicFactor", paint.metallic},
               {"roughnessFactor", paint.roughness}}}});
    if (!list_.empty()) {
        data.resize((data.size() + 3) / 4 * 4, '\0');
        document["meshes"] = std::move(meshes);
        document["materials"] = std::move(materials);
        document["accessors"] = std::move(accessors);
        document["bufferViews"] = std::move(views);
        document["buffers"] = Json::array({{{"byteLength", data.size()}}});
    }
    std::string text = document.dump(-1, ' ', false, Json::error_handler_t::replace);
    text.append((4 - text.size() % 4) % 4, ' ');
    std::string out = "glTF";
    const std::size_t chunks = list_.empty() ? 1 : 2;
    put(out, 2U);
    put(out,
        static_cast<std::uint32_t>(glb_header_bytes + chunks * glb_chunk_header_bytes + text.size() + data.size()));
    put(out, static_cast<std::uint32_t>(text.size()));
    out += "JSON";
    out += text;
    if (!list_.empty()) {
        put(out, static_cast<std::uint32_t>(data.size()));
        out.append("BIN\0", 4);
        out += data;
    }
    return out;
}

} // namespace boltwalk::recipe
