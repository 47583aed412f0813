// The 3D view as a texture: drawn anew only when its picture changed, shown by Dear ImGui in its box.
#pragma once

#include <string>

#include "viewer/draw/draw.hpp"

namespace boltwalk {

class Canvas {
public:
    Canvas() = default;
    Canvas(const Canvas&) = delete;
    Canvas& operator=(const Canvas&) = delete;

    /// Has what every stage is drawn with compiled, beside whatever else is done before load(). Not necessary.
    void begin();
    /// Uploads a stage. The error is a sentence; empty when it went well.
    std::string load(const Stage&);
    void drop();  ///< the drawing alone
    void close(); ///< everything; while the context is current
    bool loaded() const { return drawing_ != nullptr; }

    /// Draws the frame when it is another than the last. Framebuffer pixels. True when it drew.
    bool show(const Frame&);
    unsigned texture() const { return texture_; }

private:
    void resize(int width, int height);
    ProgramsHandle programs_;
    DrawingHandle drawing_;
    unsigned texture_ = 0, framebuffer_ = 0;
    int width_ = 0, height_ = 0;
    bool fresh_ = false;
};

} // namespace boltwalk
