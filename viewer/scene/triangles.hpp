// How the sources of viewer/scene and viewer/draw walk a mesh's triangles; no other module includes this.
#pragma once

#include <cstring>
#include <glm/glm.hpp>
#include <glm/gtc/type_ptr.hpp>

#include "core/map/map.hpp"

namespace boltwalk {

// The views' own accessors are calls into another library; millions of corners want these to be inlined.
inline glm::vec3 vector_at(const Strided<Vec3>& view, std::size_t i) {
    glm::vec3 value;
    std::memcpy(&value, view.data + i * view.stride, sizeof value);
    return value;
}

inline std::uint32_t index_at(const Primitive& primitive, std::size_t i) {
    if (primitive.index_size == 2) {
        std::uint16_t value;
        std::memcpy(&value, primitive.indices + i * 2, sizeof value);
        return value;
    }
    std::uint32_t value;
    std::memcpy(&value, primitive.indices + i * 4, sizeof value);
    return value;
}

inline glm::dmat4 world_of(const Node& node) {
    return glm::make_mat4(node.world.data());
}

} // namespace boltwalk
