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

Shader begin_shader(GLenum kind, const char* source) {
    Shader shader(glCreateShader(kind));
    const std::array<const char*, 2> parts{HEADER, source};
    glShaderSource(*shader, 2, parts.data(), nullptr);
    glCompileShader(*shader);
    return shader;
}

/// Of a shader that the driver refuses; empty where it does not.
std::string refusal_of(const Shader& shader) {
    GLint good = 0;
    glGetShaderiv(*shader, GL_COMPILE_STATUS, &good);
    if (good != 0)
        return {};
    std::array<char, 2048> log{};
    glGetShaderInfoLog(*shader, static_cast<GLsizei>(log.size()), nullptr, log.data());
    return log.front() != 0 ? log.data() : "it does not say why";
}

} // namespace

BegunProgram begin_program(const char* what, const char* vertex, const char* fragment,
                           std::initializer_list<const char*> attributes) {
    BegunProgram begun{what, begin_shader(GL_VERTEX_SHADER, vertex), begin_shader(GL_FRAGMENT_SHADER, fragment),
                       Program(glCreateProgram())};
    glAttachShader(*begun.program, *begun.vertex);
    glAttachShader(*begun.program, *begun.fragment);
    GLuint location = 0;
    for (const char* attribute : attributes)
        glBindAttribLocation(*begun.program, location++, attribute);
    glLinkProgram(*begun.program);
    return begun;
}

tl::expected<Program, std::string> finish_program(BegunProgram begun) {
    GLint good = 0;
    glGetProgramiv(*begun.program, GL_LINK_STATUS, &good);
    if (good != 0)
        return std::move(begun.program);
    // Each question waits for the driver, so why is asked only where something went wrong.
    for (const auto& [shader, kind] : {std::pair{&begun.vertex, "vertex"}, {&begun.fragment, "fragment"}})
        if (const std::string why = refusal_of(*shader); !why.empty())
            return tl::unexpected(
                fmt::format("the graphics driver refuses the {} shader for {}: {}", kind, begun.what, why));
    std::array<char, 2048> log{};
    glGetProgramInfoLog(*begun.program, static_cast<GLsizei>(log.size()), nullptr, log.data());
    return tl::unexpected(
        fmt::format("the graphics driver cannot link the shaders for {}: {}", begun.what, log.data()));
}

GLint uniform(const Program& program, const char* name) {
    return glGetUniformLocation(*program, name);
}

} // namespace boltwalk::gl
