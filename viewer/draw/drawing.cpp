// The passes of a frame. Edges as quads on the screen are old practice; what each pass costs on the software renderer
// is measured by tests/bench.
#include "viewer/draw/drawing.hpp"

#include <algorithm>
#include <cmath>

#include <glm/gtc/type_ptr.hpp>

namespace boltwalk {

namespace {

constexpr double OUTLINE_PX = 1.7; ///< at scale 1
constexpr double CREASE_PX = 1.15;
constexpr double SHADE_RADIUS = 0.035; ///< contact shade reaches so far, of the eye's distance
constexpr float DARKEST_SHADE = 0.36F; ///< what contact shade leaves of a colour at most

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
    MarkFacts facts{prepared.in_sight, add_overlays(shapes, *drawing.stage, frame, projection)};
    add_marks(shapes, *drawing.stage, frame, projection, facts);
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

} // namespace boltwalk
