// What the sources of viewer/draw share of OpenGL; beside them only who shows the drawing in a surface includes this.
#pragma once

#ifdef __EMSCRIPTEN__
#include <GLES3/gl3.h>
#else
#include <epoxy/gl.h>
#endif

#include <cstdint>
#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace boltwalk::gl {

/// A name of OpenGL's that is given back once. The context must be current when it is made and when it goes.
template <void (*give_back)(GLuint), void (*take)(GLuint*) = nullptr>
class Name {
public:
    Name() = default;
    explicit Name(GLuint name) : name_(name) {}
    static Name make() {
        static_assert(take != nullptr);
        GLuint name = 0;
        take(&name);
        return Name(name);
    }
    Name(Name&& other) noexcept : name_(std::exchange(other.name_, 0)) {}
    Name& operator=(Name&& other) noexcept {
        std::swap(name_, other.name_);
        return *this;
    }
    Name(const Name&) = delete;
    Name& operator=(const Name&) = delete;
    ~Name() {
        if (name_ != 0)
            give_back(name_);
    }
    GLuint operator*() const { return name_; }

private:
    GLuint name_ = 0;
};

inline void take_buffer(GLuint* name) {
    glGenBuffers(1, name);
}
inline void delete_buffer(GLuint name) {
    glDeleteBuffers(1, &name);
}
inline void take_texture(GLuint* name) {
    glGenTextures(1, name);
}
inline void delete_texture(GLuint name) {
    glDeleteTextures(1, &name);
}
inline void take_vertex_array(GLuint* name) {
    glGenVertexArrays(1, name);
}
inline void delete_vertex_array(GLuint name) {
    glDeleteVertexArrays(1, &name);
}
inline void take_framebuffer(GLuint* name) {
    glGenFramebuffers(1, name);
}
inline void delete_framebuffer(GLuint name) {
    glDeleteFramebuffers(1, &name);
}
inline void take_renderbuffer(GLuint* name) {
    glGenRenderbuffers(1, name);
}
inline void delete_renderbuffer(GLuint name) {
    glDeleteRenderbuffers(1, &name);
}
inline void delete_shader(GLuint name) {
    glDeleteShader(name);
}
inline void delete_program(GLuint name) {
    glDeleteProgram(name);
}

using Buffer = Name<delete_buffer, take_buffer>;
using Texture = Name<delete_texture, take_texture>;
using VertexArray = Name<delete_vertex_array, take_vertex_array>;
using Framebuffer = Name<delete_framebuffer, take_framebuffer>;
using Renderbuffer = Name<delete_renderbuffer, take_renderbuffer>;
using Shader = Name<delete_shader>;
using Program = Name<delete_program>;

/// A program whose sources the driver has. It may compile them beside us: nobody has asked yet whether it is done.
struct BegunProgram {
    const char* what = "";
    Shader vertex, fragment;
    Program program;
};
/// With the version and precision lines that this platform wants put before both sources. Attributes get the locations
/// in which `attributes` names them.
BegunProgram begin_program(const char* what, const char* vertex, const char* fragment,
                           std::initializer_list<const char*> attributes);
/// Waits for it. The error says what the driver refuses, and why.
tl::expected<Program, std::string> finish_program(BegunProgram);
GLint uniform(const Program&, const char* name);

/// An offset into the buffer bound, as glVertexAttribPointer wants it.
inline const void* offset(std::size_t bytes) {
    return reinterpret_cast<const void*>(bytes); // NOLINT(performance-no-int-to-ptr): OpenGL's own convention
}

} // namespace boltwalk::gl
