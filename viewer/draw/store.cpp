#include "viewer/draw/store.hpp"

#include <algorithm>
#include <cmath>

#include "viewer/scene/triangles.hpp"

namespace boltwalk {

namespace {

struct Vertex {
    glm::vec3 place;
    std::uint32_t normal; ///< 10 bits an axis, signed
};

std::uint32_t packed_normal(const glm::vec3& n) {
    const auto part = [](float value) {
        const float limited = std::isfinite(value) ? std::clamp(value, -1.0F, 1.0F) : 0.0F;
        const float rounded = limited * 511.0F + (limited < 0 ? -0.5F : 0.5F); // before it is cut off towards 0
        return static_cast<std::uint32_t>(static_cast<std::int32_t>(rounded)) & 1023U;
    };
    return part(n.x) | (part(n.y) << 10U) | (part(n.z) << 20U);
}

float to_srgb(float linear) {
    linear = std::clamp(linear, 0.0F, 1.0F);
    // IEC 61966-2-1.
    return linear <= 0.0031308F ? 12.92F * linear : 1.055F * std::pow(linear, 1 / 2.4F) - 0.055F;
}

StoredPrimitive store(const Map& map, const Primitive& primitive, DrawingSize& size) {
    StoredPrimitive stored;
    std::vector<Vertex> vertices(primitive.positions.count);
    stored.faceted = primitive.normals.count == 0;
    for (std::size_t i = 0; i < vertices.size(); ++i) {
        vertices[i].place = vector_at(primitive.positions, i);
        vertices[i].normal = stored.faceted ? 0 : packed_normal(vector_at(primitive.normals, i));
    }
    stored.array = gl::VertexArray::make();
    stored.vertices = gl::Buffer::make();
    stored.indices = gl::Buffer::make();
    glBindVertexArray(*stored.array);
    glBindBuffer(GL_ARRAY_BUFFER, *stored.vertices);
    glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(vertices.size() * sizeof(Vertex)), vertices.data(),
                 GL_STATIC_DRAW);
    glEnableVertexAttribArray(slot_place);
    glVertexAttribPointer(slot_place, 3, GL_FLOAT, GL_FALSE, sizeof(Vertex), gl::offset(0));
    glEnableVertexAttribArray(slot_normal);
    glVertexAttribPointer(slot_normal, 4, GL_INT_2_10_10_10_REV, GL_TRUE, sizeof(Vertex),
                          gl::offset(sizeof(glm::vec3)));
    glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, *stored.indices);
    stored.index_count = static_cast<GLsizei>(primitive.index_count - primitive.index_count % 3);
    const auto count = static_cast<std::size_t>(stored.index_count);
    std::size_t index_bytes = 0;
    const auto upload = [&](auto sample) {
        std::vector<decltype(sample)> indices(count);
        for (std::size_t i = 0; i < count; ++i)
            indices[i] = static_cast<decltype(sample)>(index_at(primitive, i));
        index_bytes = count * sizeof sample;
        glBufferData(GL_ELEMENT_ARRAY_BUFFER, static_cast<GLsizeiptr>(index_bytes), indices.data(), GL_STATIC_DRAW);
    };
    if (vertices.size() <= 65536) {
        stored.index_type = GL_UNSIGNED_SHORT;
        upload(std::uint16_t{});
    } else {
        upload(std::uint32_t{});
    }
    glBindVertexArray(0);
    Material material;
    if (primitive.material >= 0 && static_cast<std::size_t>(primitive.material) < map.materials.size())
        material = map.materials[static_cast<std::size_t>(primitive.material)];
    stored.double_sided = material.double_sided;
    stored.metallic = material.metallic;
    for (std::size_t i = 0; i < 3; ++i)
        stored.colour[i] = primitive.material < 0 ? -1.0F : to_srgb(material.colour[i]);
    size.mesh_bytes += vertices.size() * sizeof(Vertex) + index_bytes;
    size.triangles += count / 3;
    return stored;
}

} // namespace

Store make_store(const Stage& stage) {
    const Map& map = *stage.map;
    Store result;
    result.meshes.resize(map.meshes.size());
    std::vector<std::uint8_t> used(map.meshes.size(), 0);
    for (const std::int32_t node : stage.shown)
        used[static_cast<std::size_t>(map.nodes[static_cast<std::size_t>(node)].mesh)] = 1;
    for (std::size_t m = 0; m < map.meshes.size(); ++m) {
        if (!used[m])
            continue;
        const Mesh& mesh = map.meshes[m];
        for (const Primitive& primitive : mesh.primitives)
            if (primitive.index_count >= 3)
                result.meshes[m].primitives.push_back(store(map, primitive, result.size));
    }
    for (const MeshEdges& mesh : stage.edges) {
        result.size.edges += mesh.edges.size();
        result.size.edge_bytes += mesh.edges.size() * sizeof(MeshEdges::Edge);
    }
    return result;
}

} // namespace boltwalk
