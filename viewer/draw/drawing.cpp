// The passes of a frame. Sources of the ideas: edges as quads on the screen and a depth-first glass pass are old
// practice; what each costs on the software renderer is measured by tests/bench.
#include "viewer/draw/drawing.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <glm/gtc/type_ptr.hpp>

#include "viewer/draw/shaders.hpp"

namespace boltwalk {

namespace {

constexpr int MOST_SAMPLES = 4;    ///< what the software renderer has, and enough for lines of 1 pixel and up
constexpr double OUTLINE_PX = 1.7; ///< at scale 1
constexpr double CREASE_PX = 1.15;
constexpr double SHADE_RADIUS = 0.035; ///< contact shade reaches so far, of the eye's distance
constexpr float DARKEST_SHADE = 0.36F; ///< what contact shade leaves of a colour at most
constexpr std::size_t QUADS_A_CALL = 16384;

std::array<float, 4> floats(Colour c) {
    return {static_cast<float>(c.r) / 255, static_cast<float>(c.g) / 255, static_cast<float>(c.b) / 255,
            static_cast<float>(c.a) / 255};
}

void set(const gl::Program& program, const char* name, float value) {
    glUniform1f(gl::uniform(program, name), value);
}
void set(const gl::Program& program, const char* name, int value) {
    glUniform1i(gl::uniform(program, name), value);
}
void set(const gl::Program& program, const char* name, glm::dvec2 value) {
    glUniform2f(gl::uniform(program, name), static_cast<float>(value.x), static_cast<float>(value.y));
}
void set(const gl::Program& program, const char* name, const glm::mat4& value) {
    glUniformMatrix4fv(gl::uniform(program, name), 1, GL_FALSE, glm::value_ptr(value));
}
void set3(const gl::Program& program, const char* name, Colour colour) {
    glUniform3fv(gl::uniform(program, name), 1, floats(colour).data());
}
void set4(const gl::Program& program, const char* name, Colour colour) {
    glUniform4fv(gl::uniform(program, name), 1, floats(colour).data());
}

tl::expected<Programs, std::string> make_programs() {
    Programs p;
    std::string failed;
    const auto make = [&](gl::Program& into, const char* what, const char* vertex, const char* fragment,
                          std::initializer_list<const char*> attributes) {
        auto made = gl::make_program(what, vertex, fragment, attributes);
        if (made)
            into = std::move(*made);
        else if (failed.empty())
            failed = made.error();
    };
    using namespace shader;
    const std::initializer_list<const char*> node{"place", "normal", "row0", "row1", "row2", "style"};
    const auto make_mesh = [&](gl::Program& into, const char* what, const std::string& kind) {
        make(into, what, (kind + MESH_VERTEX).c_str(), (kind + MESH_FRAGMENT).c_str(), node);
    };
    make_mesh(p.mesh, "surfaces", "");
    make_mesh(p.mesh_faceted, "faceted surfaces", "#define FACETED\n");
    make_mesh(p.glass, "glass", "#define GLASS\n");
    make_mesh(p.glass_faceted, "faceted glass", "#define GLASS\n#define FACETED\n");
    make(p.flat, "what is covered", BARE_VERTEX, FLAT_FRAGMENT, node);
    make(p.line, "edges", LINE_VERTEX, COLOUR_FRAGMENT, {"place", "width", "tint"});
    make(p.soft_line, "edges of glass", LINE_VERTEX, SOFT_LINE_FRAGMENT, {"place", "width", "tint"});
    make(p.stroke, "paint strokes", STROKE_VERTEX, COLOUR_FRAGMENT, {"place", "tint"});
    make(p.shade, "contact shade", SCREEN_VERTEX, SHADE_FRAGMENT, {});
    make(p.shade_blur, "contact shade's blur", SCREEN_VERTEX, SHADE_BLUR_FRAGMENT, {});
    make(p.over, "shade on the picture", SCREEN_VERTEX, OVER_FRAGMENT, {});
    make(p.over_glass, "shade and glass on the picture", SCREEN_VERTEX,
         (std::string("#define WITH_GLASS\n") + OVER_FRAGMENT).c_str(), {});
    make(p.shape, "marks and text", SHAPE_VERTEX, SHAPE_FRAGMENT, {"place", "local", "box", "fill", "rim", "third"});
    if (!failed.empty())
        return tl::unexpected(failed);
    return p;
}

gl::Texture make_map(GLint internal, GLsizei width, GLsizei height, GLenum format, GLenum type, GLint filter) {
    gl::Texture map = gl::make_texture();
    glBindTexture(GL_TEXTURE_2D, *map);
    glTexImage2D(GL_TEXTURE_2D, 0, internal, width, height, 0, format, type, nullptr);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, filter);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, filter);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
    return map;
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
    targets.many = gl::make_framebuffer();
    targets.colour = gl::make_renderbuffer();
    targets.depth = gl::make_renderbuffer();
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
    targets.depth_only = gl::make_framebuffer();
    glBindFramebuffer(GL_FRAMEBUFFER, *targets.depth_only);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_DEPTH_STENCIL_ATTACHMENT, GL_TEXTURE_2D, *targets.depth_map, 0);
    const GLenum none = GL_NONE;
    glDrawBuffers(1, &none);
    glReadBuffer(GL_NONE);
    targets.layer_map = make_map(GL_RGBA8, width, height, GL_RGBA, GL_UNSIGNED_BYTE, GL_NEAREST);
    targets.layer = gl::make_framebuffer();
    glBindFramebuffer(GL_FRAMEBUFFER, *targets.layer);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, *targets.layer_map, 0);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_DEPTH_STENCIL_ATTACHMENT, GL_TEXTURE_2D, *targets.depth_map, 0);
    const GLsizei half_width = (width + 1) / 2;
    const GLsizei half_height = (height + 1) / 2;
    const auto shade_target = [&](gl::Framebuffer& framebuffer, gl::Texture& map) {
        map = make_map(GL_RG8, half_width, half_height, GL_RG, GL_UNSIGNED_BYTE, GL_LINEAR);
        framebuffer = gl::make_framebuffer();
        glBindFramebuffer(GL_FRAMEBUFFER, *framebuffer);
        glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, *map, 0);
    };
    shade_target(targets.shade_a, targets.shade_a_map);
    shade_target(targets.shade_b, targets.shade_b_map);
}

/// Everything that the passes of one frame share.
struct Pass {
    Drawing& drawing;
    const Frame& frame;
    const Theme& theme;
    const Projection& projection;
    const Prepared& prepared;
    glm::mat4 clip;

    void point_at(std::size_t first) const {
        glBindBuffer(GL_ARRAY_BUFFER, *drawing.instance_buffer);
        const std::size_t start = first * sizeof(Instance);
        for (GLuint row = 0; row < 3; ++row) {
            glEnableVertexAttribArray(slot_row0 + row);
            glVertexAttribPointer(slot_row0 + row, 4, GL_FLOAT, GL_FALSE, sizeof(Instance),
                                  gl::offset(start + std::size_t{row} * 4 * sizeof(float)));
            glVertexAttribDivisor(slot_row0 + row, 1);
        }
        glEnableVertexAttribArray(slot_style);
        glVertexAttribPointer(slot_style, 4, GL_UNSIGNED_BYTE, GL_TRUE, sizeof(Instance),
                              gl::offset(start + offsetof(Instance, style)));
        glVertexAttribDivisor(slot_style, 1);
    }

    std::array<float, 3> surface(const StoredPrimitive& primitive) const {
        const auto own = floats(theme.surface);
        std::array<float, 3> colour{};
        const bool plain = primitive.colour[0] < 0;
        for (std::size_t i = 0; i < 3; ++i)
            colour[i] = plain ? own[i]
                              : static_cast<float>(theme.material) * primitive.colour[i] +
                                    static_cast<float>(1 - theme.material) * own[i];
        for (float& value : colour)
            value *= static_cast<float>(theme.dim);
        return colour;
    }

    /// Of the primitives with normals, or of those without.
    void surfaces_of(const std::vector<Batch>& batches, const gl::Program& program, bool faceted,
                     bool is_next = false) const {
        glUseProgram(*program);
        set(program, "projection", clip);
        set3(program, "accent", theme.accent);
        set4(program, "glass", theme.glass);
        set(program, "tones", is_next ? glm::dvec2(0.35, 0.72) : glm::dvec2(0, 1));
        const glm::dvec2 reach(1 / projection.projection[0][0], 1 / projection.projection[1][1]);
        const glm::dvec2 factor = 2.0 * reach / projection.size_px;
        glUniform4f(gl::uniform(program, "sight"), static_cast<float>(factor.x), static_cast<float>(factor.y),
                    static_cast<float>(-reach.x), static_cast<float>(-reach.y));
        const auto accent = floats(theme.accent);
        const GLint colour_at = gl::uniform(program, "colour");
        const GLint sheen_at = gl::uniform(program, "sheen");
        each_primitive(batches, [&](const StoredPrimitive& primitive) {
            if (primitive.faceted != faceted)
                return false;
            glUniform3fv(colour_at, 1, is_next ? accent.data() : surface(primitive).data());
            glUniform1f(sheen_at, 0.05F + 0.12F * primitive.metallic);
            return true;
        });
    }

    void surfaces(const std::vector<Batch>& batches, bool is_next = false) const {
        surfaces_of(batches, drawing.programs.mesh, false, is_next);
        surfaces_of(batches, drawing.programs.mesh_faceted, true, is_next);
    }

    /// Places alone, in one colour.
    void flat(const std::vector<Batch>& batches, Colour colour) const {
        glUseProgram(*drawing.programs.flat);
        set(drawing.programs.flat, "projection", clip);
        set4(drawing.programs.flat, "colour", colour);
        each_primitive(batches, [](const StoredPrimitive&) { return true; });
    }

    template <typename Wanted>
    void each_primitive(const std::vector<Batch>& batches, const Wanted& wanted) const {
        for (const Batch& batch : batches) {
            glFrontFace(batch.mirrored ? GL_CW : GL_CCW);
            for (const StoredPrimitive& primitive :
                 drawing.store.meshes[static_cast<std::size_t>(batch.mesh)].primitives) {
                if (!wanted(primitive))
                    continue;
                // From outside nobody sees the inner side of what is closed, whatever its material says.
                if (primitive.double_sided && !drawing.stage->edges[static_cast<std::size_t>(batch.mesh)].closed)
                    glDisable(GL_CULL_FACE);
                else
                    glEnable(GL_CULL_FACE);
                glBindVertexArray(*primitive.array);
                point_at(batch.first);
                glDrawElementsInstanced(GL_TRIANGLES, primitive.index_count, primitive.index_type, nullptr,
                                        static_cast<GLsizei>(batch.count));
            }
        }
        glFrontFace(GL_CCW);
        glDisable(GL_CULL_FACE);
    }

    void edges(const std::vector<Batch>& batches, Colour outline, Colour crease, Colour next) const {
        if (!frame.edges || batches.empty())
            return;
        const double scale = std::max(frame.scale, 0.8);
        std::vector<LineCorner> corners;
        std::vector<LineCorner> faint;
        const bool on_glass = &batches == &prepared.glass;
        add_lines(corners, faint, *drawing.stage, prepared, batches, projection,
                  {outline, crease, next, OUTLINE_PX * scale, CREASE_PX * scale, scale, on_glass});
        // These need no blending, which costs four samples a pixel.
        const std::size_t full = on_glass ? 0 : corners.size() / 4;
        corners.insert(corners.end(), faint.begin(), faint.end());
        if (corners.empty())
            return;
        glUseProgram(on_glass ? *drawing.programs.soft_line : *drawing.programs.line);
        glBindVertexArray(*drawing.line_array);
        glBindBuffer(GL_ARRAY_BUFFER, *drawing.line_buffer);
        glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(corners.size() * sizeof corners[0]), corners.data(),
                     GL_STREAM_DRAW);
        glDepthMask(GL_FALSE);
        const std::size_t count = corners.size() / 4;
        std::size_t from = 0;
        while (from < count) {
            const bool blended = from >= full;
            const std::size_t some = std::min(QUADS_A_CALL, (blended ? count : full) - from);
            if (blended)
                glEnable(GL_BLEND);
            const std::size_t start = from * 4 * sizeof(LineCorner);
            glVertexAttribPointer(0, 3, GL_FLOAT, GL_FALSE, sizeof(LineCorner), gl::offset(start));
            glVertexAttribPointer(1, 2, GL_FLOAT, GL_FALSE, sizeof(LineCorner),
                                  gl::offset(start + offsetof(LineCorner, across)));
            glVertexAttribPointer(2, 4, GL_UNSIGNED_BYTE, GL_TRUE, sizeof(LineCorner),
                                  gl::offset(start + offsetof(LineCorner, tint)));
            glDrawElements(GL_TRIANGLES, static_cast<GLsizei>(some * 6), GL_UNSIGNED_SHORT, nullptr);
            from += some;
        }
        glDepthMask(GL_TRUE);
        glDisable(GL_BLEND);
    }

    void screen(const gl::Program& program, float depth) const {
        set(program, "depth", depth);
        glBindVertexArray(*drawing.empty_array);
        glDrawArrays(GL_TRIANGLES, 0, 3);
    }

    void scissor(const Rect& part) const {
        glEnable(GL_SCISSOR_TEST);
        glScissor(static_cast<GLint>(part.x), static_cast<GLint>(part.y), static_cast<GLsizei>(part.width),
                  static_cast<GLsizei>(part.height));
    }

    /// The depth of what is solid, one sample a pixel: contact shade reads it, and glass is tested against it.
    void copy_depth() const {
        const Targets& targets = drawing.targets;
        glBindFramebuffer(GL_READ_FRAMEBUFFER, *targets.many);
        glBindFramebuffer(GL_DRAW_FRAMEBUFFER, *targets.depth_only);
        scissor(shaded_part());
        glBlitFramebuffer(0, 0, targets.width, targets.height, 0, 0, targets.width, targets.height, GL_DEPTH_BUFFER_BIT,
                          GL_NEAREST);
        glDisable(GL_SCISSOR_TEST);
    }

    void contact_shade() const {
        Targets& targets = drawing.targets;
        const GLsizei half_width = (targets.width + 1) / 2;
        const GLsizei half_height = (targets.height + 1) / 2;
        glDisable(GL_DEPTH_TEST);
        const Rect seen = shaded_part();
        // A few more on each side: the picture takes its shade from between two of these.
        scissor({std::floor(seen.x / 2) - 2, std::floor(seen.y / 2) - 2, std::floor(seen.width / 2) + 5,
                 std::floor(seen.height / 2) + 5});
        glViewport(0, 0, half_width, half_height);
        glActiveTexture(GL_TEXTURE0);
        const gl::Program& shade = drawing.programs.shade;
        glBindFramebuffer(GL_FRAMEBUFFER, *targets.shade_a);
        glUseProgram(*shade);
        glBindTexture(GL_TEXTURE_2D, *targets.depth_map);
        set(shade, "depth_map", 0);
        glUniform2i(gl::uniform(shade, "full_size"), targets.width, targets.height);
        set(shade, "reach", glm::dvec2(1 / projection.projection[0][0], 1 / projection.projection[1][1]));
        set(shade, "planes", glm::dvec2(projection.near_m, projection.far_m));
        set(shade, "radius", static_cast<float>(SHADE_RADIUS * frame.camera.distance_m));
        screen(shade, 0.0F);
        const gl::Program& blur = drawing.programs.shade_blur;
        glUseProgram(*blur);
        set(blur, "shade", 0);
        for (const bool across : {true, false}) {
            glBindFramebuffer(GL_FRAMEBUFFER, across ? *targets.shade_b : *targets.shade_a);
            glBindTexture(GL_TEXTURE_2D, across ? *targets.shade_a_map : *targets.shade_b_map);
            glUniform2i(gl::uniform(blur, "along"), across ? 1 : 0, across ? 0 : 1);
            screen(blur, 0.0F);
        }
        glViewport(0, 0, targets.width, targets.height);
        glDisable(GL_SCISSOR_TEST);
        glEnable(GL_DEPTH_TEST);
    }

    /// Where the model can be in the picture, from its foot up as OpenGL counts.
    Rect shaded_part() const {
        const auto box = screen_box(projection, bounds_of(*drawing.stage, frame.poses));
        if (!box)
            return {0, 0, projection.size_px.x, projection.size_px.y};
        const double left = std::clamp(std::floor(box->x) - 2, 0.0, projection.size_px.x);
        const double right = std::clamp(std::ceil(box->right()) + 2, left, projection.size_px.x);
        const double top = std::clamp(std::floor(box->y) - 2, 0.0, projection.size_px.y);
        const double bottom = std::clamp(std::ceil(box->bottom()) + 2, top, projection.size_px.y);
        return {left, projection.size_px.y - bottom, right - left, bottom - top};
    }

    /// Contact shade and glass over the resolved picture: one sample a pixel instead of four.
    void shade_and_glass() const {
        const bool with_glass = !prepared.glass.empty();
        if (!frame.occlusion && !with_glass)
            return;
        const gl::Program& over = with_glass ? drawing.programs.over_glass : drawing.programs.over;
        glUseProgram(*over);
        set(over, "shade", 0);
        set(over, "darkest", frame.occlusion ? DARKEST_SHADE : 1.0F);
        glActiveTexture(GL_TEXTURE0);
        glBindTexture(GL_TEXTURE_2D, *drawing.targets.shade_a_map);
        if (with_glass) {
            set(over, "layer", 1);
            glActiveTexture(GL_TEXTURE1);
            glBindTexture(GL_TEXTURE_2D, *drawing.targets.layer_map);
        }
        glEnable(GL_BLEND);
        glBlendFuncSeparate(GL_ONE, GL_SRC_ALPHA, GL_ZERO, GL_ONE);
        scissor(shaded_part());
        screen(over, 0.0F);
        glDisable(GL_SCISSOR_TEST);
        glDisable(GL_BLEND);
        if (with_glass) {
            glBindTexture(GL_TEXTURE_2D, 0);
            glActiveTexture(GL_TEXTURE0);
        }
    }

    void paint_strokes() const {
        const auto corners = strokes_of(*drawing.stage, frame, projection);
        if (corners.empty())
            return;
        glUseProgram(*drawing.programs.stroke);
        set(drawing.programs.stroke, "projection", clip);
        glBindVertexArray(*drawing.stroke_array);
        glBindBuffer(GL_ARRAY_BUFFER, *drawing.stroke_buffer);
        glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(corners.size() * sizeof corners[0]), corners.data(),
                     GL_STREAM_DRAW);
        glDepthMask(GL_FALSE);
        glDrawArrays(GL_TRIANGLES, 0, static_cast<GLsizei>(corners.size()));
        glDepthMask(GL_TRUE);
    }

    // A layer of its own, one sample a pixel, in which the nearest glass surface wins: each is drawn once, nothing is
    // blended, and the order of drawing is no matter. Its edges lie over it with soft rims, and so cover its steps.
    void glass() const {
        if (prepared.glass.empty())
            return;
        glBindFramebuffer(GL_FRAMEBUFFER, *drawing.targets.layer);
        glClearColor(0, 0, 0, 0);
        glClear(GL_COLOR_BUFFER_BIT | GL_STENCIL_BUFFER_BIT);
        // What is next is left clear, whatever stands before it.
        glEnable(GL_STENCIL_TEST);
        glStencilFunc(GL_ALWAYS, 1, 0xFF);
        glStencilOp(GL_KEEP, GL_KEEP, GL_REPLACE);
        glColorMask(GL_FALSE, GL_FALSE, GL_FALSE, GL_FALSE);
        glDepthMask(GL_FALSE);
        glDepthFunc(GL_ALWAYS);
        flat(prepared.hidden, theme.accent);
        glDepthFunc(GL_LEQUAL);
        glEnable(GL_POLYGON_OFFSET_FILL); // the depth copied is not that of a pixel's middle
        glPolygonOffset(-1.0F, -4.0F);
        flat(prepared.next, theme.accent);
        glDisable(GL_POLYGON_OFFSET_FILL);
        glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
        glDepthMask(GL_TRUE);
        glDepthFunc(GL_LESS);
        glStencilFunc(GL_NOTEQUAL, 1, 0xFF);
        glStencilOp(GL_KEEP, GL_KEEP, GL_KEEP);
        surfaces_of(prepared.glass, drawing.programs.glass, false);
        surfaces_of(prepared.glass, drawing.programs.glass_faceted, true);
        glDisable(GL_STENCIL_TEST);
        glBlendFunc(GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
        edges(prepared.glass, theme.glass_line, theme.glass_line, theme.accent);
    }

    void next_in_sight() const {
        glEnable(GL_STENCIL_TEST);
        glStencilFunc(GL_ALWAYS, 1, 0xFF);
        glStencilOp(GL_KEEP, GL_KEEP, GL_REPLACE);
        surfaces(prepared.next, true);
        surfaces(prepared.hidden, true);
        glDisable(GL_STENCIL_TEST);
    }

    /// Where something still stands before it: flat, half clear, once a pixel.
    void next_behind() const {
        glEnable(GL_STENCIL_TEST);
        glStencilFunc(GL_NOTEQUAL, 1, 0xFF);
        glStencilOp(GL_KEEP, GL_KEEP, GL_REPLACE);
        glEnable(GL_BLEND);
        glDepthFunc(GL_GREATER);
        glDepthMask(GL_FALSE);
        Colour far = theme.accent_far;
        far.a = 150;
        flat(prepared.hidden, far);
        glDepthMask(GL_TRUE);
        glDepthFunc(GL_LESS);
        glDisable(GL_BLEND);
        glDisable(GL_STENCIL_TEST);
    }

    void upload_instances() const {
        glBindBuffer(GL_ARRAY_BUFFER, *drawing.instance_buffer);
        glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(prepared.instances.size() * sizeof(Instance)),
                     prepared.instances.data(), GL_STREAM_DRAW);
    }

    void begin() const {
        fit_targets(drawing.targets, frame.width_px, frame.height_px);
        upload_instances();
        glBindFramebuffer(GL_FRAMEBUFFER, *drawing.targets.many);
        glViewport(0, 0, frame.width_px, frame.height_px);
        glDisable(GL_SCISSOR_TEST);
        glDisable(GL_BLEND);
        glEnable(GL_DEPTH_TEST);
        glDepthFunc(GL_LESS);
        glDepthMask(GL_TRUE);
        glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
        glBlendFuncSeparate(GL_SRC_ALPHA, GL_ONE_MINUS_SRC_ALPHA, GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
        const auto paper = floats(theme.paper);
        glClearColor(paper[0], paper[1], paper[2], 1);
        glClearDepthf(1.0F);
        glClearStencil(0);
        glClear(GL_COLOR_BUFFER_BIT | GL_DEPTH_BUFFER_BIT | GL_STENCIL_BUFFER_BIT);
    }

    void resolve(unsigned framebuffer) const {
        glBindFramebuffer(GL_READ_FRAMEBUFFER, *drawing.targets.many);
        glBindFramebuffer(GL_DRAW_FRAMEBUFFER, framebuffer);
        glBlitFramebuffer(0, 0, frame.width_px, frame.height_px, 0, 0, frame.width_px, frame.height_px,
                          GL_COLOR_BUFFER_BIT, GL_NEAREST);
        glBindFramebuffer(GL_FRAMEBUFFER, framebuffer);
        glDisable(GL_DEPTH_TEST);
    }
};

void draw_shapes(Drawing& drawing, const Shapes& shapes, const Frame& frame) {
    if (shapes.corners.empty())
        return;
    glActiveTexture(GL_TEXTURE0);
    glBindTexture(GL_TEXTURE_2D, *drawing.atlas_map);
    if (drawing.atlas.changed) {
        glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
        glTexImage2D(GL_TEXTURE_2D, 0, GL_R8, Atlas::SIZE, Atlas::SIZE, 0, GL_RED, GL_UNSIGNED_BYTE,
                     drawing.atlas.pixels.data());
        glPixelStorei(GL_UNPACK_ALIGNMENT, 4);
        drawing.atlas.changed = false;
    }
    glUseProgram(*drawing.programs.shape);
    set(drawing.programs.shape, "size_px", glm::dvec2(frame.width_px, frame.height_px));
    set(drawing.programs.shape, "atlas", 0);
    glEnable(GL_BLEND);
    glBindVertexArray(*drawing.shape_array);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.shape_buffer);
    const std::size_t count = shapes.corners.size() / 4;
    for (std::size_t from = 0; from < count; from += QUADS_A_CALL) {
        const std::size_t some = std::min(QUADS_A_CALL, count - from);
        glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(some * 4 * sizeof(Shapes::Corner)),
                     shapes.corners.data() + from * 4, GL_STREAM_DRAW);
        glDrawElements(GL_TRIANGLES, static_cast<GLsizei>(some * 6), GL_UNSIGNED_SHORT, nullptr);
    }
    glDisable(GL_BLEND);
}

void make_arrays(Drawing& drawing) {
    drawing.instance_buffer = gl::make_buffer();
    drawing.empty_array = gl::make_vertex_array();
    drawing.stroke_array = gl::make_vertex_array();
    drawing.stroke_buffer = gl::make_buffer();
    glBindVertexArray(*drawing.stroke_array);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.stroke_buffer);
    glEnableVertexAttribArray(0);
    glVertexAttribPointer(0, 3, GL_FLOAT, GL_FALSE, sizeof(StrokeCorner), gl::offset(0));
    glEnableVertexAttribArray(1);
    glVertexAttribPointer(1, 4, GL_UNSIGNED_BYTE, GL_TRUE, sizeof(StrokeCorner),
                          gl::offset(offsetof(StrokeCorner, tint)));
    drawing.shape_array = gl::make_vertex_array();
    drawing.shape_buffer = gl::make_buffer();
    drawing.quad_indices = gl::make_buffer();
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
    drawing.line_array = gl::make_vertex_array();
    drawing.line_buffer = gl::make_buffer();
    glBindVertexArray(*drawing.line_array);
    glEnableVertexAttribArray(0);
    glEnableVertexAttribArray(1);
    glEnableVertexAttribArray(2);
    glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, *drawing.quad_indices);
    glBindVertexArray(0);
    drawing.atlas_map = make_map(GL_R8, Atlas::SIZE, Atlas::SIZE, GL_RED, GL_UNSIGNED_BYTE, GL_NEAREST);
}

Projection projection_of(const Drawing& drawing, const Frame& frame) {
    return project(frame.camera, {frame.width_px, frame.height_px}, bounds_of(*drawing.stage, frame.poses));
}

void leave_clean() {
    glBindVertexArray(0);
    glUseProgram(0);
    glBindTexture(GL_TEXTURE_2D, 0);
    glDisable(GL_BLEND);
    glDisable(GL_DEPTH_TEST);
    glDisable(GL_CULL_FACE);
    glBlendFunc(GL_ONE, GL_ZERO);
}

} // namespace

void DrawingCloser::operator()(Drawing* drawing) const {
    delete drawing;
}

tl::expected<DrawingHandle, std::string> make_drawing(const Stage& stage) {
#ifndef __EMSCRIPTEN__
    if (epoxy_gl_version() < 33)
        return tl::unexpected(fmt::format("this needs OpenGL 3.3, and the driver gives {}.{}. Newer drivers, or Mesa's "
                                          "software renderer (LIBGL_ALWAYS_SOFTWARE=1), have it.",
                                          epoxy_gl_version() / 10, epoxy_gl_version() % 10));
#endif
    DrawingHandle drawing(new Drawing);
    auto programs = make_programs();
    if (!programs)
        return tl::unexpected(programs.error());
    drawing->programs = std::move(*programs);
    drawing->stage = &stage;
    drawing->sheets = sheets_of(stage);
    drawing->store = make_store(stage);
    make_arrays(*drawing);
    if (glGetError() == GL_OUT_OF_MEMORY)
        return tl::unexpected(std::string("the graphics driver has no memory left for this model"));
    return drawing;
}

bool needs_frame(const Drawing& drawing, const Frame& frame) {
    return !drawing.last || !same_picture(*drawing.last, frame);
}

void draw(Drawing& drawing, const Frame& frame, unsigned framebuffer) {
    if (frame.width_px < 1 || frame.height_px < 1)
        return;
    const Projection projection = projection_of(drawing, frame);
    const Prepared prepared = prepare_frame(*drawing.stage, frame, projection, &drawing.sheets);
    const Theme& theme = theme_of(frame.night);
    const Pass pass{drawing, frame, theme, projection, prepared, glm::mat4(projection.projection)};
    pass.begin();
    pass.surfaces(prepared.solid);
    pass.next_in_sight();
    pass.edges(prepared.solid, theme.line, theme.line_soft, theme.line);
    pass.edges(prepared.next, theme.line, theme.line, theme.line);
    pass.edges(prepared.hidden, theme.line, theme.line, theme.line);
    pass.paint_strokes();
    pass.next_behind();
    if (frame.occlusion || !prepared.glass.empty())
        pass.copy_depth();
    if (frame.occlusion)
        pass.contact_shade();
    pass.glass();
    pass.resolve(framebuffer);
    pass.shade_and_glass();

    if (nearly_full(drawing.atlas))
        drawing.atlas = Atlas{};
    Shapes shapes;
    shapes.atlas = &drawing.atlas;
    add_marks(shapes, *drawing.stage, frame, projection, {prepared.in_sight});
    add_labels(shapes, frame);
    add_caption(shapes, frame);
    add_gnomon(shapes, frame);
    glBlendFuncSeparate(GL_SRC_ALPHA, GL_ONE_MINUS_SRC_ALPHA, GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
    draw_shapes(drawing, shapes, frame);
    leave_clean();
    drawing.last = frame;
}

void draw_bare(Drawing& drawing, const Frame& frame, unsigned framebuffer) {
    const Projection projection = projection_of(drawing, frame);
    Frame plain = frame;
    plain.next.clear();
    plain.edges = false;
    plain.xray = false;
    const Prepared prepared = prepare_frame(*drawing.stage, plain, projection, nullptr);
    const Theme& theme = theme_of(frame.night);
    const Pass pass{drawing, plain, theme, projection, prepared, glm::mat4(projection.projection)};
    pass.begin();
    pass.flat(prepared.solid, theme.surface);
    pass.resolve(framebuffer);
    leave_clean();
}

DrawingSize size_of(const Drawing& drawing) {
    DrawingSize size = drawing.store.size;
    size.samples = static_cast<std::size_t>(drawing.targets.samples);
    return size;
}

} // namespace boltwalk
