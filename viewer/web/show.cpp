#include "viewer/web/show.hpp"

#include <imgui.h>

#include <cstddef>
#include <cstdint>
#include <optional>

#include "viewer/draw/gl.hpp"
#include "viewer/panels/frames.hpp"

namespace boltwalk {

namespace {

constexpr const char* VERTEX = R"(
in vec2 place;
in vec2 share;
in vec4 tint;
uniform vec4 to_screen; // factor and shift
out vec2 v_share;
out vec4 v_tint;
void main() {
    v_share = share;
    v_tint = tint;
    gl_Position = vec4(place * to_screen.xy + to_screen.zw, 0.0, 1.0);
}
)";
// Letters are a texture of one channel, pictures one of three.
constexpr const char* FRAGMENT = R"(
in vec2 v_share;
in vec4 v_tint;
uniform sampler2D map;
uniform bool letters;
out vec4 result;
void main() {
    vec4 texel = texture(map, v_share);
    result = v_tint * (letters ? vec4(1.0, 1.0, 1.0, texel.r) : texel);
}
)";

struct Shown {
    gl::Program program;
    gl::VertexArray array;
    gl::Buffer vertices, indices;
    gl::Texture letters;
    GLint to_screen = -1, letters_at = -1;
    int width = 0, height = 0; ///< of the letters uploaded
};
std::optional<Shown> shown;
std::string refused;

ImTextureID name_of(const gl::Texture& texture) {
    return reinterpret_cast<ImTextureID>(std::uintptr_t{*texture}); // NOLINT(performance-no-int-to-ptr): as it wants it
}

void attribute(GLuint slot, GLint size, GLenum type, GLboolean shares, std::size_t at) {
    glEnableVertexAttribArray(slot);
    glVertexAttribPointer(slot, size, type, shares, sizeof(ImDrawVert), gl::offset(at));
}

} // namespace

const char* start_showing() {
    auto program =
        gl::finish_program(gl::begin_program("buttons and words", VERTEX, FRAGMENT, {"place", "share", "tint"}));
    if (!program) {
        refused = program.error();
        return refused.c_str();
    }
    shown.emplace();
    shown->program = std::move(*program);
    shown->to_screen = gl::uniform(shown->program, "to_screen");
    shown->letters_at = gl::uniform(shown->program, "letters");
    shown->array = gl::VertexArray::make();
    shown->vertices = gl::Buffer::make();
    shown->indices = gl::Buffer::make();
    glBindVertexArray(*shown->array);
    glBindBuffer(GL_ARRAY_BUFFER, *shown->vertices);
    glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, *shown->indices);
    attribute(0, 2, GL_FLOAT, GL_FALSE, offsetof(ImDrawVert, pos));
    attribute(1, 2, GL_FLOAT, GL_FALSE, offsetof(ImDrawVert, uv));
    attribute(2, 4, GL_UNSIGNED_BYTE, GL_TRUE, offsetof(ImDrawVert, col));
    glBindVertexArray(0);
    ImGui::GetIO().BackendFlags |= ImGuiBackendFlags_RendererHasVtxOffset;
    return nullptr;
}

void stop_showing() {
    shown.reset();
}

void show_letters() {
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    unsigned char* pixels = nullptr;
    atlas.GetTexDataAsAlpha8(&pixels, &shown->width, &shown->height);
    shown->letters = gl::Texture::make();
    glBindTexture(GL_TEXTURE_2D, *shown->letters);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_LINEAR);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_R8, shown->width, shown->height, 0, GL_RED, GL_UNSIGNED_BYTE, pixels);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 4);
    glBindTexture(GL_TEXTURE_2D, 0);
    atlas.SetTexID(name_of(shown->letters));
}

bool has_letters() {
    return *shown->letters != 0;
}

void show_imgui(const Surface& surface) {
    ImDrawData& data = *ImGui::GetDrawData();
    const float across = float(surface.width_px) / surface.width, down = float(surface.height_px) / surface.height;
    glUseProgram(*shown->program);
    glUniform4f(shown->to_screen, 2 / surface.width, -2 / surface.height, -1, 1);
    glActiveTexture(GL_TEXTURE0);
    glEnable(GL_BLEND);
    glBlendFuncSeparate(GL_SRC_ALPHA, GL_ONE_MINUS_SRC_ALPHA, GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
    glEnable(GL_SCISSOR_TEST);
    glBindVertexArray(*shown->array);
    glBindBuffer(GL_ARRAY_BUFFER, *shown->vertices);
    for (int n = 0; n < data.CmdListsCount; ++n) {
        const ImDrawList& list = *data.CmdLists[n];
        glBufferData(GL_ARRAY_BUFFER, GLsizeiptr(list.VtxBuffer.size_in_bytes()), list.VtxBuffer.Data, GL_STREAM_DRAW);
        glBufferData(GL_ELEMENT_ARRAY_BUFFER, GLsizeiptr(list.IdxBuffer.size_in_bytes()), list.IdxBuffer.Data,
                     GL_STREAM_DRAW);
        unsigned base = 0xFFFFFFFFU;
        for (const ImDrawCmd& command : list.CmdBuffer) {
            const ImVec4& clip = command.ClipRect;
            const auto left = GLint(clip.x * across), right = GLint(clip.z * across);
            const auto top = GLint(clip.y * down), foot = GLint(clip.w * down);
            if (command.UserCallback != nullptr || right <= left || foot <= top)
                continue;
            glScissor(left, surface.height_px - foot, right - left, foot - top);
            if (base != command.VtxOffset) {
                base = command.VtxOffset;
                const std::size_t start = base * sizeof(ImDrawVert);
                attribute(0, 2, GL_FLOAT, GL_FALSE, start + offsetof(ImDrawVert, pos));
                attribute(1, 2, GL_FLOAT, GL_FALSE, start + offsetof(ImDrawVert, uv));
                attribute(2, 4, GL_UNSIGNED_BYTE, GL_TRUE, start + offsetof(ImDrawVert, col));
            }
            const auto texture = GLuint(reinterpret_cast<std::uintptr_t>(command.GetTexID()));
            glUniform1i(shown->letters_at, texture == *shown->letters ? 1 : 0);
            glBindTexture(GL_TEXTURE_2D, texture);
            glDrawElements(GL_TRIANGLES, GLsizei(command.ElemCount),
                           sizeof(ImDrawIdx) == 2 ? GL_UNSIGNED_SHORT : GL_UNSIGNED_INT,
                           gl::offset(command.IdxOffset * sizeof(ImDrawIdx)));
        }
    }
    glDisable(GL_SCISSOR_TEST);
    glDisable(GL_BLEND);
    glBindVertexArray(0);
    glBindTexture(GL_TEXTURE_2D, 0);
    glUseProgram(0);
    glBlendFunc(GL_ONE, GL_ZERO);
}

} // namespace boltwalk
