// Offscreen pictures, and what makes two frames the same.
#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <memory>

#include <fmt/format.h>

#define STB_IMAGE_WRITE_IMPLEMENTATION
#ifndef STB_IMAGE_WRITE_STATIC
#define STB_IMAGE_WRITE_STATIC
#endif
#if defined(__GNUC__)
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#endif
#include <stb/stb_image_write.h>
#if defined(__GNUC__)
#pragma GCC diagnostic pop
#endif

#include "viewer/draw/drawing.hpp"

namespace boltwalk {

bool operator==(const LabelLayout& a, const LabelLayout& b) {
    return a.boxes == b.boxes && a.left_out == b.left_out && a.tool == b.tool;
}

bool same_picture(const Frame& a, const Frame& b) {
    return a.width_px == b.width_px && a.height_px == b.height_px && a.scale == b.scale && a.camera == b.camera &&
           a.poses == b.poses && a.next == b.next && a.moves == b.moves && a.whole == b.whole && a.holes == b.holes &&
           a.selected == b.selected && a.painted == b.painted && a.over == b.over && a.labels == b.labels &&
           a.layout == b.layout && a.caption == b.caption && a.night == b.night && a.xray == b.xray &&
           a.gnomon == b.gnomon && a.gnomon_at == b.gnomon_at && a.capital_px == b.capital_px &&
           a.letters == b.letters && a.occlusion == b.occlusion && a.edges == b.edges;
}

void fill_frame(const Job& job, const Stage& stage, const Shot& shot, double t, Frame& frame) {
    frame.poses = poses_between(job, stage, shot.before, shot.after, t);
    show_bench(job, t < 1 ? shot.before : shot.after, shot.next, frame.poses);
    frame.next = shot.next;
    frame.moves = shot.moves;
    frame.whole = shot.whole;
    frame.holes = shot.holes;
    frame.labels = shot.labels;
    frame.caption = shot.caption;
    frame.painted = painted_in(job, t < 1 ? shot.before : shot.after);
}

namespace {

/// A framebuffer of one sample to resolve into.
struct Plate {
    gl::Framebuffer framebuffer = gl::Framebuffer::make();
    gl::Renderbuffer colour = gl::Renderbuffer::make();
    bool good = false;
    Plate(int width, int height) {
        glBindFramebuffer(GL_FRAMEBUFFER, *framebuffer);
        glBindRenderbuffer(GL_RENDERBUFFER, *colour);
        glRenderbufferStorage(GL_RENDERBUFFER, GL_RGBA8, width, height);
        glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, *colour);
        good = glCheckFramebufferStatus(GL_FRAMEBUFFER) == GL_FRAMEBUFFER_COMPLETE;
    }
};

} // namespace

FrameTime time_frame(Drawing& drawing, const Frame& frame, bool bare) {
    const Plate plate(frame.width_px, frame.height_px);
    glFinish();
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t processor = std::clock();
    if (bare)
        draw_bare(drawing, frame, *plate.framebuffer);
    else
        draw(drawing, frame, *plate.framebuffer);
    glFinish();
    return {std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(),
            static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC};
}

tl::expected<Pixels, std::string> render(Drawing& drawing, const Frame& frame) {
    GLint most = 0;
    glGetIntegerv(GL_MAX_RENDERBUFFER_SIZE, &most);
    if (frame.width_px < 1 || frame.height_px < 1 || frame.width_px > most || frame.height_px > most)
        return tl::unexpected(fmt::format("a picture of {} x {} pixels cannot be drawn: each side must be from 1 to {}",
                                          frame.width_px, frame.height_px, most));
    const Plate plate(frame.width_px, frame.height_px);
    if (!plate.good)
        return tl::unexpected(fmt::format("the graphics driver gives no picture of {} x {} pixels to draw into",
                                          frame.width_px, frame.height_px));
    while (glGetError() != GL_NO_ERROR) {
        // errors of whoever drew before
    }
    draw(drawing, frame, *plate.framebuffer);
    const auto width = static_cast<std::size_t>(frame.width_px);
    const auto height = static_cast<std::size_t>(frame.height_px);
    std::vector<std::uint8_t> rgba(width * height * 4);
    glBindFramebuffer(GL_READ_FRAMEBUFFER, *plate.framebuffer);
    glReadPixels(0, 0, frame.width_px, frame.height_px, GL_RGBA, GL_UNSIGNED_BYTE, rgba.data());
    if (const GLenum error = glGetError(); error != GL_NO_ERROR)
        return tl::unexpected(fmt::format("the graphics driver failed while drawing (OpenGL error {:#x})", error));
    Pixels pixels{frame.width_px, frame.height_px, std::vector<std::uint8_t>(width * height * 3)};
    for (std::size_t y = 0; y < height; ++y)
        for (std::size_t x = 0; x < width; ++x)
            std::copy_n(rgba.data() + ((height - 1 - y) * width + x) * 4, 3, pixels.rgb.data() + (y * width + x) * 3);
    return pixels;
}

tl::expected<void, std::string> write_png(const Pixels& pixels, const std::string& path) {
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(path.c_str(), "wb"), std::fclose);
    if (!file)
        return tl::unexpected(fmt::format("{}: cannot be written: {}", path, std::strerror(errno)));
    struct Sink {
        std::FILE* file;
        bool good;
    } sink{file.get(), true};
    const auto write = [](void* to, void* bytes, int count) {
        auto* s = static_cast<Sink*>(to);
        const auto size = static_cast<std::size_t>(count);
        s->good = s->good && std::fwrite(bytes, 1, size, s->file) == size;
    };
    const int done =
        stbi_write_png_to_func(write, &sink, pixels.width, pixels.height, 3, pixels.rgb.data(), pixels.width * 3);
    if (done == 0 || !sink.good || std::fflush(file.get()) != 0)
        return tl::unexpected(
            fmt::format("{}: the picture could not be written whole: {}", path, std::strerror(errno)));
    return {};
}

std::string jpeg_of(const Pixels& pixels, int quality) {
    std::string bytes;
    stbi_write_jpg_to_func(
        [](void* to, void* from, int count) {
            static_cast<std::string*>(to)->append(static_cast<const char*>(from), static_cast<std::size_t>(count));
        },
        &bytes, pixels.width, pixels.height, 3, pixels.rgb.data(), quality);
    return bytes;
}

} // namespace boltwalk
