// A stage on the GPU: triangles by primitive, edges of all meshes in textures of one size.
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

/// So many edges at most are drawn in one call: their vertices are counted in 16 bits.
constexpr std::size_t EDGES_A_CALL = 16384;
/// WebGL2 grants textures of 2048.
constexpr std::size_t EDGE_TEXTURE = 2048;

struct EdgeRun {
    std::size_t page = 0;  ///< texture
    GLint first = 0;       ///< texel
    GLint creases_end = 0; ///< texels before this one are creases
    GLsizei count = 0;
};

struct StoredMesh {
    std::vector<StoredPrimitive> primitives;
    std::vector<EdgeRun> edges;
    glm::vec3 low{0.0F}, extent{0.0F};
};

struct Store {
    std::vector<StoredMesh> meshes; ///< by mesh of the map; those not shown are empty
    std::vector<gl::Texture> edge_pages;
    gl::Buffer edge_indices; ///< two triangles an edge, for one call
    gl::VertexArray edge_array;
    DrawingSize size;
};

Store make_store(const Stage&);

} // namespace boltwalk
