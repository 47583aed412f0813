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
        return static_cast<std::uint32_t>(static_cast<std::int32_t>(std::lround(limited * 511.0F))) & 1023U;
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
    stored.array = gl::make_vertex_array();
    stored.vertices = gl::make_buffer();
    stored.indices = gl::make_buffer();
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

/// Lays the edges of all meshes one after another into textures, no call's run across two of them.
void store_edges(const Stage& stage, Store& result) {
    constexpr std::size_t page_size = EDGE_TEXTURE * EDGE_TEXTURE;
    std::vector<MeshEdges::Edge> page;
    const auto close = [&] {
        if (page.empty())
            return;
        const std::size_t rows = (page.size() + EDGE_TEXTURE - 1) / EDGE_TEXTURE;
        page.resize(rows * EDGE_TEXTURE);
        result.edge_pages.push_back(gl::make_texture());
        glBindTexture(GL_TEXTURE_2D, *result.edge_pages.back());
        glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA32UI, static_cast<GLsizei>(EDGE_TEXTURE), static_cast<GLsizei>(rows), 0,
                     GL_RGBA_INTEGER, GL_UNSIGNED_INT, page.data());
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_NEAREST);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_NEAREST);
        result.size.edge_bytes += page.size() * sizeof(MeshEdges::Edge);
        page.clear();
    };
    for (std::size_t m = 0; m < stage.edges.size(); ++m) {
        const MeshEdges& mesh = stage.edges[m];
        result.size.edges += mesh.edges.size();
        for (std::size_t from = 0; from < mesh.edges.size(); from += EDGES_A_CALL) {
            const std::size_t count = std::min(EDGES_A_CALL, mesh.edges.size() - from);
            if (page.size() + count > page_size)
                close();
            EdgeRun run;
            run.page = result.edge_pages.size();
            run.first = static_cast<GLint>(page.size());
            run.count = static_cast<GLsizei>(count);
            const std::size_t creases = mesh.crease_count > from ? std::min(mesh.crease_count - from, count) : 0;
            run.creases_end = run.first + static_cast<GLint>(creases);
            page.insert(page.end(), mesh.edges.begin() + static_cast<std::ptrdiff_t>(from),
                        mesh.edges.begin() + static_cast<std::ptrdiff_t>(from + count));
            result.meshes[m].edges.push_back(run);
        }
    }
    close();
    std::vector<std::uint16_t> indices;
    indices.reserve(EDGES_A_CALL * 6);
    for (std::size_t i = 0; i < EDGES_A_CALL; ++i)
        for (const std::size_t corner : {0U, 1U, 2U, 2U, 1U, 3U})
            indices.push_back(static_cast<std::uint16_t>(i * 4 + corner));
    result.edge_array = gl::make_vertex_array();
    result.edge_indices = gl::make_buffer();
    glBindVertexArray(*result.edge_array);
    glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, *result.edge_indices);
    glBufferData(GL_ELEMENT_ARRAY_BUFFER, static_cast<GLsizeiptr>(indices.size() * sizeof indices[0]), indices.data(),
                 GL_STATIC_DRAW);
    glBindVertexArray(0);
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
        result.meshes[m].low = {mesh.low[0], mesh.low[1], mesh.low[2]};
        result.meshes[m].extent = glm::vec3(mesh.high[0], mesh.high[1], mesh.high[2]) - result.meshes[m].low;
        for (const Primitive& primitive : mesh.primitives)
            if (primitive.index_count >= 3)
                result.meshes[m].primitives.push_back(store(map, primitive, result.size));
    }
    store_edges(stage, result);
    return result;
}

} // namespace boltwalk
