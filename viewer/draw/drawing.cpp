// A frame, pass by pass, and what lies over it as shapes.
#include "viewer/draw/drawing.hpp"

#include <algorithm>

#include "viewer/draw/pass.hpp"

namespace boltwalk {

namespace {

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
    glUseProgram(*drawing.programs->shape);
    set(drawing.programs->shape, "size_px", glm::dvec2(frame.width_px, frame.height_px));
    set(drawing.programs->shape, "atlas", 0);
    glEnable(GL_BLEND);
    glBindVertexArray(*drawing.shape_array);
    glBindBuffer(GL_ARRAY_BUFFER, *drawing.shape_buffer);
    const std::size_t count = shapes.corners.size() / 4;
    for (std::size_t from = 0; from < count; from += QUADS_A_CALL) {
        const std::size_t some = std::min(QUADS_A_CALL, count - from);
        glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(some * 4 * sizeof(Shapes::Corner)),
                     shapes.corners.data() + from * 4, GL_STREAM_DRAW);
        glDrawElements(GL_TRIANGLES, static_cast<GLsizei>(some * 6), GL_UNSIGNED_SHORT, nullptr);
        count_draw(drawing.cost, some * 2);
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

FrameCost cost_of(const Drawing& drawing) {
    return drawing.cost;
}

bool needs_frame(const Drawing& drawing, const Frame& frame) {
    return !drawing.last || !same_picture(*drawing.last, frame);
}

void draw(Drawing& drawing, const Frame& frame, unsigned framebuffer) {
    if (frame.width_px < 1 || frame.height_px < 1)
        return;
    const Projection projection = projection_of(drawing, frame);
    const Prepared prepared = prepare_frame(*drawing.stage, frame, projection, drawing.sheets);
    const Theme& theme = theme_of(frame.night);
    const Pass pass{drawing, frame, theme, projection, prepared, glm::mat4(projection.projection)};
    drawing.cost = {};
    pass.begin();
    pass.surfaces(prepared.solid);
    pass.whole();
    pass.next_in_sight();
    pass.edges(prepared.solid, theme.line, theme.line_soft);
    pass.edges(prepared.whole, theme.line, theme.line_soft);
    pass.around_whole();
    pass.edges(prepared.next, theme.line, theme.line);
    pass.edges(prepared.hidden, theme.line, theme.line);
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
    const Prepared prepared = prepare_frame(*drawing.stage, plain, projection, drawing.sheets, true);
    const Theme& theme = theme_of(frame.night);
    const Pass pass{drawing, plain, theme, projection, prepared, glm::mat4(projection.projection)};
    pass.begin();
    pass.flat(prepared.solid, theme.surface);
    pass.resolve(framebuffer);
    leave_clean();
}

} // namespace boltwalk
