// What a drawing is made of: its programs, the vertex arrays and buffers of what is drawn anew each frame, and, when
// the picture's size changes, what is drawn into.
#include "viewer/draw/drawing.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "viewer/draw/shaders.hpp"

namespace boltwalk {

namespace {

constexpr int MOST_SAMPLES = 4; ///< what the software renderer has, and enough for lines of 1 pixel and up

/// Waits for all that were begun. Empty, or what the driver refuses.
std::string finish(Programs& programs) {
    for (auto& [into, begun] : std::exchange(programs.begun, {})) {
        auto made = gl::finish_program(std::move(begun));
        if (!made)
            return made.error();
        programs.*into = std::move(*made);
    }
    return {};
}

gl::Texture make_map(GLint internal, GLsizei width, GLsizei height, GLenum format, GLenum type, GLint filter) {
    gl::Texture map = gl::Texture::make();
    glBindTexture(GL_TEXTURE_2D, *map);
    glTexImage2D(GL_TEXTURE_2D, 0, internal, width, height, 0, format, type, nullptr);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, filter);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, filter);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
    return map;
}

void make_arrays(Drawing& drawing) {
    drawing.instance_buffer = gl::Buffer::make();
    drawing.stroke_array = gl::VertexArray::make();
    drawing.stroke_buffer = gl::Buffer::make();
    glBindVertexArray(*drawing.stroke_array);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.stroke_buffer);
    glEnableVertexAttribArray(0);
    glVertexAttribPointer(0, 3, GL_FLOAT, GL_FALSE, sizeof(StrokeCorner), gl::offset(0));
    glEnableVertexAttribArray(1);
    glVertexAttribPointer(1, 4, GL_UNSIGNED_BYTE, GL_TRUE, sizeof(StrokeCorner),
                          gl::offset(offsetof(StrokeCorner, tint)));
    drawing.shape_array = gl::VertexArray::make();
    drawing.shape_buffer = gl::Buffer::make();
    drawing.quad_indices = gl::Buffer::make();
    glBindVertexArray(*drawing.shape_array);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.shape_buffer);
    struct Attribute {
        GLint size;
        GLenum type;
        std::size_t at;
    };
    const std::array<Attribute, 6> attributes{{{2, GL_FLOAT, offsetof(Shapes::Corner, place)},
                                               {2, GL_FLOAT, offsetof(Shapes::Corner, local)},
                                               {4, GL_FLOAT, offsetof(Shapes::Corner, box)},
                                               {4, GL_UNSIGNED_BYTE, offsetof(Shapes::Corner, fill)},
                                               {4, GL_UNSIGNED_BYTE, offsetof(Shapes::Corner, rim)},
                                               {3, GL_FLOAT, offsetof(Shapes::Corner, third)}}};
    for (GLuint i = 0; i < attributes.size(); ++i) {
        glEnableVertexAttribArray(i);
        glVertexAttribPointer(i, attributes[i].size, attributes[i].type, GL_TRUE, sizeof(Shapes::Corner),
                              gl::offset(attributes[i].at));
    }
    std::vector<std::uint16_t> indices;
    for (std::size_t i = 0; i < QUADS_A_CALL; ++i)
        for (const std::size_t corner : {0U, 1U, 2U, 2U, 1U, 3U})
            indices.push_back(static_cast<std::uint16_t>(i * 4 + corner));
    glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, *drawing.quad_indices);
    glBufferData(GL_ELEMENT_ARRAY_BUFFER, static_cast<GLsizeiptr>(indices.size() * sizeof indices[0]), indices.data(),
                 GL_STATIC_DRAW);
    drawing.line_array = gl::VertexArray::make();
    drawing.line_buffer = gl::Buffer::make();
    glBindVertexArray(*drawing.line_array);
    glEnableVertexAttribArray(0);
    glEnableVertexAttribArray(1);
    glEnableVertexAttribArray(2);
    glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, *drawing.quad_indices);
    drawing.band_array = gl::VertexArray::make();
    drawing.band_buffer = gl::Buffer::make();
    glBindVertexArray(*drawing.band_array);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.band_buffer);
    glEnableVertexAttribArray(0);
    glVertexAttribPointer(0, 2, GL_FLOAT, GL_FALSE, sizeof(glm::vec2), gl::offset(0));
    glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, *drawing.quad_indices);
    glBindVertexArray(0);
    drawing.atlas_map = make_map(GL_R8, Atlas::SIZE, Atlas::SIZE, GL_RED, GL_UNSIGNED_BYTE, GL_NEAREST);
}

} // namespace

ProgramsHandle begin_programs() {
    using ProgramMember = gl::Program Programs::*;
    auto programs = std::make_shared<Programs>();
    using namespace shader;
    const auto begin = [&](ProgramMember into, const char* what, const std::string& vertex, const std::string& fragment,
                           std::initializer_list<const char*> attributes) {
        programs->begun.emplace_back(into, gl::begin_program(what, vertex.c_str(), fragment.c_str(), attributes));
    };
    const std::initializer_list<const char*> node{"place", "normal", "row0", "row1", "row2", "style"};
    const auto begin_mesh = [&](ProgramMember into, const char* what, const std::string& kind) {
        begin(into, what, kind + MESH_VERTEX, kind + MESH_FRAGMENT, node);
    };
    using P = Programs;
    begin_mesh(&P::mesh, "surfaces", "");
    begin(&P::line, "edges", LINE_VERTEX, COLOUR_FRAGMENT, {"place", "width", "tint"});
    begin(&P::shape, "marks and text", SHAPE_VERTEX, SHAPE_FRAGMENT, {"place", "local", "box", "fill", "rim", "third"});
    begin_mesh(&P::mesh_faceted, "faceted surfaces", "#define FACETED\n");
    begin_mesh(&P::glass, "glass", "#define GLASS\n");
    begin_mesh(&P::glass_faceted, "faceted glass", "#define GLASS\n#define FACETED\n");
    begin(&P::flat, "what is covered", BARE_VERTEX, FLAT_FRAGMENT, node);
    begin(&P::soft_line, "edges of glass", LINE_VERTEX, SOFT_LINE_FRAGMENT, {"place", "width", "tint"});
    begin(&P::stroke, "paint strokes", STROKE_VERTEX, COLOUR_FRAGMENT, {"place", "tint"});
    begin(&P::shade, "contact shade", SCREEN_VERTEX, SHADE_FRAGMENT, {"place"});
    begin(&P::shade_blur, "contact shade's blur", SCREEN_VERTEX, SHADE_BLUR_FRAGMENT, {"place"});
    begin(&P::over, "shade on the picture", SCREEN_VERTEX, OVER_FRAGMENT, {"place"});
    begin(&P::over_glass, "shade and glass on the picture", SCREEN_VERTEX,
          std::string("#define WITH_GLASS\n") + OVER_FRAGMENT, {"place"});
    return programs;
}

void fit_targets(Targets& targets, int width, int height) {
    if (targets.width == width && targets.height == height)
        return;
    targets = Targets{};
    targets.width = width;
    targets.height = height;
    GLint most = 0;
    glGetIntegerv(GL_MAX_SAMPLES, &most);
    targets.samples = std::min(MOST_SAMPLES, most);
    targets.many = gl::Framebuffer::make();
    targets.colour = gl::Renderbuffer::make();
    targets.depth = gl::Renderbuffer::make();
    glBindFramebuffer(GL_FRAMEBUFFER, *targets.many);
    glBindRenderbuffer(GL_RENDERBUFFER, *targets.colour);
    glRenderbufferStorageMultisample(GL_RENDERBUFFER, targets.samples, GL_RGBA8, width, height);
    glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, *targets.colour);
    glBindRenderbuffer(GL_RENDERBUFFER, *targets.depth);
    glRenderbufferStorageMultisample(GL_RENDERBUFFER, targets.samples, GL_DEPTH24_STENCIL8, width, height);
    glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_DEPTH_STENCIL_ATTACHMENT, GL_RENDERBUFFER, *targets.depth);
    // A blit of depth wants the very same format on both sides.
    targets.depth_map =
        make_map(GL_DEPTH24_STENCIL8, width, height, GL_DEPTH_STENCIL, GL_UNSIGNED_INT_24_8, GL_NEAREST);
    targets.depth_only = gl::Framebuffer::make();
    glBindFramebuffer(GL_FRAMEBUFFER, *targets.depth_only);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_DEPTH_STENCIL_ATTACHMENT, GL_TEXTURE_2D, *targets.depth_map, 0);
    const GLenum none = GL_NONE;
    glDrawBuffers(1, &none);
    glReadBuffer(GL_NONE);
    targets.layer_map = make_map(GL_RGBA8, width, height, GL_RGBA, GL_UNSIGNED_BYTE, GL_NEAREST);
    targets.layer = gl::Framebuffer::make();
    glBindFramebuffer(GL_FRAMEBUFFER, *targets.layer);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, *targets.layer_map, 0);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_DEPTH_STENCIL_ATTACHMENT, GL_TEXTURE_2D, *targets.depth_map, 0);
    const GLsizei half_width = (width + 1) / 2;
    const GLsizei half_height = (height + 1) / 2;
    const auto shade_target = [&](gl::Framebuffer& framebuffer, gl::Texture& map) {
        map = make_map(GL_RG8, half_width, half_height, GL_RG, GL_UNSIGNED_BYTE, GL_LINEAR);
        framebuffer = gl::Framebuffer::make();
        glBindFramebuffer(GL_FRAMEBUFFER, *framebuffer);
        glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, *map, 0);
    };
    shade_target(targets.shade_a, targets.shade_a_map);
    shade_target(targets.shade_b, targets.shade_b_map);
}

void DrawingCloser::operator()(Drawing* drawing) const {
    delete drawing;
}

tl::expected<DrawingHandle, std::string> make_drawing(const Stage& stage, ProgramsHandle programs) {
#ifndef __EMSCRIPTEN__
    if (epoxy_gl_version() < 33)
        return tl::unexpected(fmt::format("this needs OpenGL 3.3, and the driver gives {}.{}. Newer drivers, or Mesa's "
                                          "software renderer (LIBGL_ALWAYS_SOFTWARE=1), have it.",
                                          epoxy_gl_version() / 10, epoxy_gl_version() % 10));
#endif
    DrawingHandle drawing(new Drawing);
    drawing->programs = programs ? std::move(programs) : begin_programs();
    drawing->stage = &stage;
    drawing->sheets = sheets_of(stage);
    drawing->store = make_store(stage);
    make_arrays(*drawing);
    if (std::string refusal = finish(*drawing->programs); !refusal.empty())
        return tl::unexpected(std::move(refusal));
    if (glGetError() == GL_OUT_OF_MEMORY)
        return tl::unexpected(std::string("the graphics driver has no memory left for this model"));
    return drawing;
}

DrawingSize size_of(const Drawing& drawing) {
    DrawingSize size = drawing.store.size;
    size.samples = static_cast<std::size_t>(drawing.targets.samples);
    return size;
}

} // namespace boltwalk
