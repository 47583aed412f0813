// The passes with one sample a pixel: contact shade, and glass as a layer of its own; and both over the picture.
#include "viewer/draw/pass.hpp"

#include <algorithm>
#include <cmath>

namespace boltwalk {

namespace {

constexpr double SHADE_RADIUS = 0.035; ///< contact shade reaches so far, of the eye's distance
constexpr float DARKEST_SHADE = 0.36F; ///< what contact shade leaves of a colour at most

} // namespace

void Pass::cover(const gl::Program& program) const {
    glUseProgram(*program);
    glBindVertexArray(*drawing.band_array);
    glDrawElements(GL_TRIANGLES, static_cast<GLsizei>(prepared.bands.rows.size() * 6), GL_UNSIGNED_SHORT, nullptr);
    count_draw(drawing.cost, prepared.bands.rows.size() * 2);
}

void Pass::scissor(const Rect& part) const {
    glEnable(GL_SCISSOR_TEST);
    glScissor(static_cast<GLint>(part.x), static_cast<GLint>(part.y), static_cast<GLsizei>(part.width),
              static_cast<GLsizei>(part.height));
}

void Pass::copy_depth() const {
    const Targets& targets = drawing.targets;
    glBindFramebuffer(GL_READ_FRAMEBUFFER, *targets.many);
    glBindFramebuffer(GL_DRAW_FRAMEBUFFER, *targets.depth_only);
    ++drawing.cost.passes;
    // Contact shade looks beyond what is drawn: there nothing stands.
    glClear(GL_DEPTH_BUFFER_BIT | GL_STENCIL_BUFFER_BIT);
    scissor(prepared.bands.all);
    glBlitFramebuffer(0, 0, targets.width, targets.height, 0, 0, targets.width, targets.height, GL_DEPTH_BUFFER_BIT,
                      GL_NEAREST);
    glDisable(GL_SCISSOR_TEST);
}

void Pass::contact_shade() const {
    Targets& targets = drawing.targets;
    const GLsizei half_width = (targets.width + 1) / 2;
    const GLsizei half_height = (targets.height + 1) / 2;
    glDisable(GL_DEPTH_TEST);
    glViewport(0, 0, half_width, half_height);
    glActiveTexture(GL_TEXTURE0);
    const gl::Program& shade = drawing.programs->shade;
    glBindFramebuffer(GL_FRAMEBUFFER, *targets.shade_a);
    ++drawing.cost.passes;
    glClearColor(1, 0, 0, 1); // light, beside the bands too: the picture takes its shade from between two of these
    glClear(GL_COLOR_BUFFER_BIT);
    glUseProgram(*shade);
    glBindTexture(GL_TEXTURE_2D, *targets.depth_map);
    set(shade, "depth_map", 0);
    glUniform2i(gl::uniform(shade, "full_size"), targets.width, targets.height);
    set(shade, "reach", glm::dvec2(1 / projection.projection[0][0], 1 / projection.projection[1][1]));
    set(shade, "planes", glm::dvec2(projection.near_m, projection.far_m));
    set(shade, "radius", static_cast<float>(SHADE_RADIUS * frame.camera.distance_m));
    cover(shade);
    const gl::Program& blur = drawing.programs->shade_blur;
    glUseProgram(*blur);
    set(blur, "shade", 0);
    for (const bool across : {true, false}) {
        glBindFramebuffer(GL_FRAMEBUFFER, across ? *targets.shade_b : *targets.shade_a);
        ++drawing.cost.passes;
        glBindTexture(GL_TEXTURE_2D, across ? *targets.shade_a_map : *targets.shade_b_map);
        glUniform2i(gl::uniform(blur, "along"), across ? 1 : 0, across ? 0 : 1);
        cover(blur);
    }
    glViewport(0, 0, targets.width, targets.height);
    glEnable(GL_DEPTH_TEST);
}

// A layer of its own, one sample a pixel, in which the nearest glass surface wins: each is drawn once, nothing is
// blended, and the order of drawing is no matter. Its edges lie over it with soft rims, and so cover its steps.
void Pass::glass() const {
    if (prepared.glass.empty())
        return;
    glBindFramebuffer(GL_FRAMEBUFFER, *drawing.targets.layer);
    ++drawing.cost.passes;
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
    surfaces_of(prepared.glass, drawing.programs->glass, false);
    surfaces_of(prepared.glass, drawing.programs->glass_faceted, true);
    glDisable(GL_STENCIL_TEST);
    glBlendFunc(GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
    edges(prepared.glass, theme.glass_line, theme.glass_line, theme.accent);
}

void Pass::shade_and_glass() const {
    const bool with_glass = !prepared.glass.empty();
    if (!frame.occlusion && !with_glass)
        return;
    const gl::Program& over = with_glass ? drawing.programs->over_glass : drawing.programs->over;
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
    cover(over);
    glDisable(GL_BLEND);
    if (with_glass) {
        glBindTexture(GL_TEXTURE_2D, 0);
        glActiveTexture(GL_TEXTURE0);
    }
}

} // namespace boltwalk
