// A stage's triangles on the GPU, by primitive. Edges stay where the stage has them: lines.cpp picks those of a frame.
#pragma once

#include <array>
#include <vector>

#include "viewer/draw/draw.hpp"
#include "viewer/draw/gl.hpp"

namespace boltwalk {

/// Where the vertex attributes stand, in all programs that draw nodes.
enum Slot : GLuint { slot_place, slot_normal, slot_row0, slot_row1, slot_row2, slot_style };

/// What a node is drawn as.
enum class Kind : std::uint8_t { plain, next, glass, fading };

/// One node as an instance of its mesh: the rows of its matrix into view space.
struct Instance {
    std::array<std::array<float, 4>, 3> rows;
    std::array<std::uint8_t, 4> style; ///< kind, strength of edges, unused, presence
};

struct StoredPrimitive {
    gl::Buffer vertices, indices;
    gl::VertexArray array;
    GLsizei index_count = 0;
    GLenum index_type = GL_UNSIGNED_INT;
    bool faceted = false; ///< no normals in the file: the fragment takes the face's
    bool double_sided = false;
    std::array<float, 3> colour{}; ///< the material's, sRGB
    float metallic = 0;
};

struct StoredMesh {
    std::vector<StoredPrimitive> primitives;
};

struct Store {
    std::vector<StoredMesh> meshes; ///< by mesh of the map; those not shown are empty
    DrawingSize size;
};

Store make_store(const Stage&);

} // namespace boltwalk
