#include "viewer/draw/gl.hpp"

#include <array>
#include <vector>

#include <fmt/format.h>

namespace boltwalk::gl {

namespace {

#ifdef __EMSCRIPTEN__
constexpr const char* HEADER = "#version 300 es\nprecision highp float;\nprecision highp int;\n"
                               "precision highp sampler2D;\nprecision highp usampler2D;\n";
#else
constexpr const char* HEADER = "#version 330 core\n";
#endif

tl::expected<GLuint, std::string> compile(GLenum kind, const char* source) {
    const GLuint shader = glCreateShader(kind);
    const std::array<const char*, 2> parts{HEADER, source};
    glShaderSource(shader, 2, parts.data(), nullptr);
    glCompileShader(shader);
    GLint good = 0;
    glGetShaderiv(shader, GL_COMPILE_STATUS, &good);
    if (good != 0)
        return shader;
    std::array<char, 2048> log{};
    glGetShaderInfoLog(shader, static_cast<GLsizei>(log.size()), nullptr, log.data());
    glDeleteShader(shader);
    return tl::unexpected(std::string(log.data()));
}

} // namespace

tl::expected<Program, std::string> make_program(const char* what, const char* vertex, const char* fragment,
                                                std::initializer_list<const char*> attributes) {
    const auto first = compile(GL_VERTEX_SHADER, vertex);
    if (!first)
        return tl::unexpected(
            fmt::format("the graphics driver refuses the vertex shader for {}: {}", what, first.error()));
    const auto second = compile(GL_FRAGMENT_SHADER, fragment);
    if (!second) {
        glDeleteShader(*first);
        return tl::unexpected(
            fmt::format("the graphics driver refuses the fragment shader for {}: {}", what, second.error()));
    }
    Program program(glCreateProgram());
    glAttachShader(*program, *first);
    glAttachShader(*program, *second);
    GLuint location = 0;
    for (const char* attribute : attributes)
        glBindAttribLocation(*program, location++, attribute);
    glLinkProgram(*program);
    glDeleteShader(*first);
    glDeleteShader(*second);
    GLint good = 0;
    glGetProgramiv(*program, GL_LINK_STATUS, &good);
    if (good != 0)
        return program;
    std::array<char, 2048> log{};
    glGetProgramInfoLog(*program, static_cast<GLsizei>(log.size()), nullptr, log.data());
    return tl::unexpected(fmt::format("the graphics driver cannot link the shaders for {}: {}", what, log.data()));
}

GLint uniform(const Program& program, const char* name) {
    return glGetUniformLocation(*program, name);
}

} // namespace boltwalk::gl
