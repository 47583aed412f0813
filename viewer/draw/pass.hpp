// The passes of a frame, in what drawing.cpp calls them for: those of four samples a pixel (pass.cpp) and those of one
// (layers.cpp); no other source includes this.
#pragma once

#include <array>
#include <vector>

#include <glm/gtc/type_ptr.hpp>

#include "viewer/draw/drawing.hpp"

namespace boltwalk {

inline std::array<float, 4> floats(Colour c) {
    return {static_cast<float>(c.r) / 255, static_cast<float>(c.g) / 255, static_cast<float>(c.b) / 255,
            static_cast<float>(c.a) / 255};
}

inline void count_draw(FrameCost& cost, std::size_t triangles) {
    ++cost.draws;
    cost.triangles += triangles;
}

inline void set(const gl::Program& program, const char* name, float value) {
    glUniform1f(gl::uniform(program, name), value);
}
inline void set(const gl::Program& program, const char* name, int value) {
    glUniform1i(gl::uniform(program, name), value);
}
inline void set(const gl::Program& program, const char* name, glm::dvec2 value) {
    glUniform2f(gl::uniform(program, name), static_cast<float>(value.x), static_cast<float>(value.y));
}
inline void set(const gl::Program& program, const char* name, const glm::mat4& value) {
    glUniformMatrix4fv(gl::uniform(program, name), 1, GL_FALSE, glm::value_ptr(value));
}
inline void set3(const gl::Program& program, const char* name, Colour colour) {
    glUniform3fv(gl::uniform(program, name), 1, floats(colour).data());
}
inline void set4(const gl::Program& program, const char* name, Colour colour) {
    glUniform4fv(gl::uniform(program, name), 1, floats(colour).data());
}

/// Everything that the passes of one frame share.
struct Pass {
    Drawing& drawing;
    const Frame& frame;
    const Theme& theme;
    const Projection& projection;
    const Prepared& prepared;
    glm::mat4 clip;

    void begin() const;
    void resolve(unsigned framebuffer) const;

    // Four samples a pixel.
    void surfaces(const std::vector<Batch>& batches, bool is_next = false) const;
    /// Of the primitives with normals, or of those without.
    void surfaces_of(const std::vector<Batch>& batches, const gl::Program& program, bool faceted,
                     bool is_next = false) const;
    /// Places alone, in one colour.
    void flat(const std::vector<Batch>& batches, Colour colour) const;
    void edges(const std::vector<Batch>& batches, Colour outline, Colour crease) const;
    /// `next`: of those that are next.
    void edges(const std::vector<Batch>& batches, Colour outline, Colour crease, Colour next) const;
    void whole() const;        ///< the surfaces of what is outlined as a whole, after all that is solid
    void around_whole() const; ///< its outline, where none of it is: not between its nodes
    void next_in_sight() const;
    /// Where something still stands before it: flat, half clear, once a pixel.
    void next_behind() const;
    void paint_strokes() const;

    // One sample a pixel.
    /// The depth of what is solid, one sample a pixel: contact shade reads it, and glass is tested against it.
    void copy_depth() const;
    void contact_shade() const;
    void glass() const;
    /// Contact shade and glass over the resolved picture: one sample a pixel instead of four.
    void shade_and_glass() const;

private:
    void point_at(std::size_t first) const;
    std::array<float, 3> surface(const StoredPrimitive& primitive) const;
    template <typename Wanted>
    void each_primitive(const std::vector<Batch>& batches, const Wanted& wanted) const;
    /// Every pixel of the frame's bands, in a target of its size or of half of it.
    void cover(const gl::Program& program) const;
    void scissor(const Rect& part) const;
    void upload() const;
    void lines(const std::vector<Batch>& batches, LineStyle style) const;
};

} // namespace boltwalk
