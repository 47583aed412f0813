#include "viewer/panels/canvas.hpp"

#include "viewer/draw/gl.hpp"

namespace boltwalk {

void Canvas::close() {
    drop();
    if (framebuffer_ != 0)
        glDeleteFramebuffers(1, &framebuffer_);
    if (texture_ != 0)
        glDeleteTextures(1, &texture_);
    framebuffer_ = texture_ = 0;
    programs_.reset();
    width_ = height_ = 0;
}

void Canvas::begin() {
    programs_ = begin_programs();
}

void Canvas::drop() {
    drawing_.reset();
    fresh_ = false;
}

std::string Canvas::load(const Stage& stage) {
    drop();
    if (!programs_)
        begin();
    auto made = make_drawing(stage, programs_);
    if (!made) {
        programs_.reset();
        return made.error();
    }
    drawing_ = std::move(*made);
    return {};
}

void Canvas::resize(int width, int height) {
    if (width == width_ && height == height_)
        return;
    if (texture_ == 0) {
        glGenTextures(1, &texture_);
        glGenFramebuffers(1, &framebuffer_);
    }
    glBindTexture(GL_TEXTURE_2D, texture_);
    // WebGL resolves samples only into the format that they have.
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, width, height, 0, GL_RGBA, GL_UNSIGNED_BYTE, nullptr);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_NEAREST);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_NEAREST);
    glBindTexture(GL_TEXTURE_2D, 0);
    glBindFramebuffer(GL_FRAMEBUFFER, framebuffer_);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, texture_, 0);
    glBindFramebuffer(GL_FRAMEBUFFER, 0);
    width_ = width;
    height_ = height;
    fresh_ = false;
}

bool Canvas::show(const Frame& frame) {
    if (!drawing_ || frame.width_px <= 0 || frame.height_px <= 0)
        return false;
    resize(frame.width_px, frame.height_px);
    if (fresh_ && !needs_frame(*drawing_, frame))
        return false;
    draw(*drawing_, frame, framebuffer_);
    // What the drawing leaves as alpha must not let the panels' ground through.
    glColorMask(GL_FALSE, GL_FALSE, GL_FALSE, GL_TRUE);
    glClearColor(0, 0, 0, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
    glBindFramebuffer(GL_FRAMEBUFFER, 0);
    fresh_ = true;
    return true;
}

} // namespace boltwalk
