// The passes with four samples a pixel: surfaces, their edges, what is next, paint strokes. Edges as quads on the
// screen are old practice; what each pass costs on the software renderer is measured by tests/bench.
#include "viewer/draw/pass.hpp"

#include <algorithm>
#include <cstddef>

namespace boltwalk {

namespace {

constexpr double OUTLINE_PX = 1.7; ///< at scale 1
constexpr double CREASE_PX = 1.15;
// In the stencil.
constexpr GLuint NEXT_BIT = 1;  ///< what is next is drawn there
constexpr GLuint WHOLE_BIT = 2; ///< something that is outlined as a whole lies there

} // namespace

void Pass::upload() const {
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.instance_buffer);
    glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(prepared.instances.size() * sizeof(Instance)),
                 prepared.instances.data(), GL_STREAM_DRAW);
    std::vector<glm::vec2> corners;
    for (const Rect& row : prepared.bands.rows)
        for (const glm::dvec2 corner :
             {glm::dvec2(row.x, row.y), {row.right(), row.y}, {row.x, row.bottom()}, {row.right(), row.bottom()}})
            corners.emplace_back(corner / projection.size_px);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.band_buffer);
    glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(corners.size() * sizeof corners[0]), corners.data(),
                 GL_STREAM_DRAW);
}

void Pass::begin() const {
    fit_targets(drawing.targets, frame.width_px, frame.height_px);
    upload();
    glBindFramebuffer(GL_FRAMEBUFFER, *drawing.targets.many);
    ++drawing.cost.passes;
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

void Pass::resolve(unsigned framebuffer) const {
    glBindFramebuffer(GL_READ_FRAMEBUFFER, *drawing.targets.many);
    glBindFramebuffer(GL_DRAW_FRAMEBUFFER, framebuffer);
    ++drawing.cost.passes;
    const auto paper = floats(theme.paper);
    glClearColor(paper[0], paper[1], paper[2], 1);
    scissor({0, 0, projection.size_px.x, projection.size_px.y});
    glClear(GL_COLOR_BUFFER_BIT);
    scissor(prepared.bands.all);
    glBlitFramebuffer(0, 0, frame.width_px, frame.height_px, 0, 0, frame.width_px, frame.height_px, GL_COLOR_BUFFER_BIT,
                      GL_NEAREST);
    glDisable(GL_SCISSOR_TEST);
    glBindFramebuffer(GL_FRAMEBUFFER, framebuffer);
    glDisable(GL_DEPTH_TEST);
}

void Pass::point_at(std::size_t first) const {
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

std::array<float, 3> Pass::surface(const StoredPrimitive& primitive) const {
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

template <typename Wanted>
void Pass::each_primitive(const std::vector<Batch>& batches, const Wanted& wanted) const {
    for (const Batch& batch : batches) {
        glFrontFace(batch.mirrored ? GL_CW : GL_CCW);
        for (const StoredPrimitive& primitive : drawing.store.meshes[static_cast<std::size_t>(batch.mesh)].primitives) {
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
            count_draw(drawing.cost, static_cast<std::size_t>(primitive.index_count) / 3 * batch.count);
        }
    }
    glFrontFace(GL_CCW);
    glDisable(GL_CULL_FACE);
}

void Pass::surfaces_of(const std::vector<Batch>& batches, const gl::Program& program, bool faceted,
                       bool is_next) const {
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

void Pass::surfaces(const std::vector<Batch>& batches, bool is_next) const {
    surfaces_of(batches, drawing.programs->mesh, false, is_next);
    surfaces_of(batches, drawing.programs->mesh_faceted, true, is_next);
}

void Pass::flat(const std::vector<Batch>& batches, Colour colour) const {
    glUseProgram(*drawing.programs->flat);
    set(drawing.programs->flat, "projection", clip);
    set4(drawing.programs->flat, "colour", colour);
    each_primitive(batches, [](const StoredPrimitive&) { return true; });
}

void Pass::edges(const std::vector<Batch>& batches, Colour outline, Colour crease) const {
    edges(batches, outline, crease, outline);
}

void Pass::edges(const std::vector<Batch>& batches, Colour outline, Colour crease, Colour next) const {
    lines(batches, {outline, crease, next});
}

void Pass::lines(const std::vector<Batch>& batches, LineStyle style) const {
    if (!frame.edges || batches.empty())
        return;
    const double scale = std::max(frame.scale, 0.8);
    const bool on_glass = &batches == &prepared.glass;
    style.scale = scale;
    style.outline_px = OUTLINE_PX * scale;
    style.crease_px = CREASE_PX * scale;
    style.glass = on_glass;
    std::vector<LineCorner> corners;
    std::vector<LineCorner> faint;
    add_lines(corners, faint, *drawing.stage, prepared, batches, projection, style);
    // These need no blending, which costs four samples a pixel.
    const std::size_t full = on_glass ? 0 : corners.size() / 4;
    corners.insert(corners.end(), faint.begin(), faint.end());
    if (corners.empty())
        return;
    glUseProgram(on_glass ? *drawing.programs->soft_line : *drawing.programs->line);
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
        count_draw(drawing.cost, some * 2);
        from += some;
    }
    glDepthMask(GL_TRUE);
    glDisable(GL_BLEND);
}

void Pass::whole() const {
    if (prepared.whole.empty())
        return;
    glEnable(GL_STENCIL_TEST);
    glStencilMask(WHOLE_BIT);
    glStencilFunc(GL_ALWAYS, WHOLE_BIT, WHOLE_BIT);
    glStencilOp(GL_KEEP, GL_REPLACE, GL_REPLACE); // behind another thing, too: its outline does not begin there
    surfaces(prepared.whole);
    glStencilMask(0xFF);
    glDisable(GL_STENCIL_TEST);
}

void Pass::around_whole() const {
    if (prepared.whole.empty())
        return;
    glEnable(GL_STENCIL_TEST);
    glStencilFunc(GL_NOTEQUAL, WHOLE_BIT, WHOLE_BIT);
    glStencilOp(GL_KEEP, GL_KEEP, GL_KEEP);
    LineStyle style;
    style.next = theme.accent;
    style.around = true;
    lines(prepared.whole, style);
    glDisable(GL_STENCIL_TEST);
}

void Pass::next_in_sight() const {
    glEnable(GL_STENCIL_TEST);
    glStencilMask(NEXT_BIT);
    glStencilFunc(GL_ALWAYS, NEXT_BIT, NEXT_BIT);
    glStencilOp(GL_KEEP, GL_KEEP, GL_REPLACE);
    surfaces(prepared.next, true);
    surfaces(prepared.hidden, true);
    glStencilMask(0xFF);
    glDisable(GL_STENCIL_TEST);
}

void Pass::next_behind() const {
    glEnable(GL_STENCIL_TEST);
    glStencilMask(NEXT_BIT);
    glStencilFunc(GL_NOTEQUAL, NEXT_BIT, NEXT_BIT);
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
    glStencilMask(0xFF);
    glDisable(GL_STENCIL_TEST);
}

void Pass::paint_strokes() const {
    const auto& corners = prepared.strokes;
    if (corners.empty())
        return;
    glUseProgram(*drawing.programs->stroke);
    set(drawing.programs->stroke, "projection", clip);
    glBindVertexArray(*drawing.stroke_array);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.stroke_buffer);
    glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(corners.size() * sizeof corners[0]), corners.data(),
                 GL_STREAM_DRAW);
    glDepthMask(GL_FALSE);
    glDrawArrays(GL_TRIANGLES, 0, static_cast<GLsizei>(corners.size()));
    count_draw(drawing.cost, corners.size() / 3);
    glDepthMask(GL_TRUE);
}

} // namespace boltwalk
