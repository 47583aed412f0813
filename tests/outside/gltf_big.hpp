// A map far larger than any real one, made in memory: the same bytes on every machine.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <string>

#include <fmt/format.h>

namespace big_map {

struct Made {
    std::string file;           ///< a .glb
    std::size_t mesh_bytes = 0; ///< positions, normals and indices
    std::size_t triangles = 0;  ///< of all meshes, each counted once
};

inline void put_u32(std::string& out, std::uint64_t value) {
    const auto narrow = static_cast<std::uint32_t>(value);
    char bytes[4];
    std::memcpy(bytes, &narrow, 4);
    out.append(bytes, 4);
}

template <typename T>
void put(std::string& out, T value) {
    char bytes[sizeof(T)];
    std::memcpy(bytes, &value, sizeof(T));
    out.append(bytes, sizeof(T));
}

/// 50 wavy plates of about `triangles` in all, as parts, and `fasteners` bolts in groups of ten on one small mesh.
inline Made make(std::size_t triangles, std::size_t fasteners) {
    constexpr std::size_t plates = 50;
    const auto side = static_cast<std::size_t>(std::sqrt(static_cast<double>(triangles) / plates / 2));
    const std::size_t vertices = (side + 1) * (side + 1);
    const std::size_t indices = side * side * 6;
    Made made;
    made.triangles = plates * indices / 3 + 4;
    std::string data;
    data.reserve(plates * (vertices * 24 + indices * 4) + 128);
    std::string nodes;
    std::string meshes;
    std::string accessors;
    std::string views;
    const auto view = [&](std::size_t from, int component, std::size_t count, const char* type) {
        const char* comma = views.empty() ? "" : ",";
        const std::size_t index = static_cast<std::size_t>(std::count(accessors.begin(), accessors.end(), '{'));
        views += fmt::format(R"({}{{"buffer":0,"byteOffset":{},"byteLength":{}}})", comma, from, data.size() - from);
        accessors += fmt::format(R"({}{{"bufferView":{},"componentType":{},"count":{},"type":"{}"}})", comma, index,
                                 component, count, type);
        return index;
    };
    for (std::size_t plate = 0; plate < plates; ++plate) {
        const std::size_t positions_at = data.size();
        for (std::size_t i = 0; i < vertices; ++i) {
            const auto column = static_cast<float>(i % (side + 1));
            put(data, column * 0.001F);
            put(data, static_cast<float>(plate) + 0.01F * static_cast<float>(i % 7));
            put(data, static_cast<float>(i / (side + 1)) * 0.001F);
        }
        const std::size_t position = view(positions_at, 5126, vertices, "VEC3");
        const std::size_t normals_at = data.size();
        for (std::size_t i = 0; i < vertices; ++i) {
            put(data, 0.0F);
            put(data, 1.0F);
            put(data, 0.0F);
        }
        const std::size_t normal = view(normals_at, 5126, vertices, "VEC3");
        const std::size_t indices_at = data.size();
        for (std::size_t row = 0; row < side; ++row) {
            for (std::size_t column = 0; column < side; ++column) {
                const auto a = static_cast<std::uint32_t>(row * (side + 1) + column);
                const auto b = static_cast<std::uint32_t>(a + side + 1);
                for (const std::uint32_t corner : {a, b, a + 1, a + 1, b, b + 1}) {
                    put(data, corner);
                }
            }
        }
        const std::size_t index = view(indices_at, 5125, indices, "SCALAR");
        meshes += fmt::format(
            R"({}{{"name":"plate {}","primitives":[{{"attributes":{{"POSITION":{},"NORMAL":{}}},"indices":{}}}]}})",
            plate == 0 ? "" : ",", plate, position, normal, index);
        nodes +=
            fmt::format(R"({}{{"name":"part_{}","mesh":{},"extras":{{"part":"Part {}",{}}}}})", plate == 0 ? "" : ",",
                        plate, plate, plate, plate == 0 ? R"("fixed":true)" : R"("after":"part_0")");
    }
    const std::size_t positions_at = data.size();
    for (const float value : {0.F, 0.F, 0.F, .01F, 0.F, 0.F, 0.F, .01F, 0.F, 0.F, 0.F, .01F}) {
        put(data, value);
    }
    const std::size_t position = view(positions_at, 5126, 4, "VEC3");
    const std::size_t indices_at = data.size();
    for (const int value : {0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3}) {
        put(data, static_cast<std::uint16_t>(value));
    }
    const std::size_t index = view(indices_at, 5123, 12, "SCALAR");
    meshes += fmt::format(R"(,{{"name":"bolt","primitives":[{{"attributes":{{"POSITION":{}}},"indices":{}}}]}})",
                          position, index);
    made.mesh_bytes = data.size();

    std::string roots = "0";
    for (std::size_t plate = 1; plate < plates; ++plate) {
        roots += fmt::format(",{}", plate);
    }
    std::size_t next = plates;
    for (std::size_t group = 0; group < fasteners / 10; ++group) {
        roots += fmt::format(",{}", next);
        nodes += fmt::format(
            R"(,{{"name":"group_{}","extras":{{"group":"Group {}","fastener":"bolt","count":10,"holds":"part_{};part_{}",)"
            R"("thread":"M8x1.25","drive":"hex 13","torque":"22 N·m","step":{}}},"children":[)",
            group, group, group % plates, (group + 1) % plates, group);
        for (std::size_t k = 1; k <= 10; ++k) {
            nodes += fmt::format("{}{}", k == 1 ? "" : ",", next + k);
        }
        nodes += "]}";
        for (std::size_t k = 0; k < 10; ++k) {
            const double place = static_cast<double>(group * 10 + k) * 0.0001;
            nodes += fmt::format(
                R"(,{{"name":"bolt_{}_{}","mesh":{},"translation":[{:.9f},{:.9f},{:.9f}],"rotation":[0.18257418583505536,0.3651483716701107,0.5477225575051661,0.7302967433402214],)"
                R"("extras":{{"length_mm":{},"id":"b{}-{}"}}}})",
                group, k, plates, place, 1 - place, place / 3, 20 + k, group, k);
        }
        next += 11;
    }
    std::string json = fmt::format(
        R"({{"asset":{{"version":"2.0"}},"scene":0,"scenes":[{{"nodes":[{}],"extras":{{"job":"big","target":"part_1"}}}}],)"
        R"("nodes":[{}],"meshes":[{}],"accessors":[{}],"bufferViews":[{}],"buffers":[{{"byteLength":{}}}]}})",
        roots, nodes, meshes, accessors, views, data.size());
    json.append((4 - json.size() % 4) % 4, ' ');
    made.file.reserve(28 + json.size() + data.size());
    made.file = "glTF";
    put_u32(made.file, 2);
    put_u32(made.file, 28 + json.size() + data.size());
    put_u32(made.file, json.size());
    made.file += "JSON" + json;
    put_u32(made.file, data.size());
    made.file += std::string("BIN\0", 4) + data;
    return made;
}

} // namespace big_map
