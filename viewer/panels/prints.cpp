#include "viewer/panels/prints.hpp"

#include <algorithm>

#include "core/photo/photo.hpp"
#include "viewer/draw/gl.hpp"

namespace boltwalk {

namespace {

/// A step has two or three; 1600 x 1200 pixels are 7.7 MB each.
constexpr std::size_t most_kept = 6;

} // namespace

const Prints::Print& Prints::of(const Map& map, std::int32_t photo) {
    const Photo& wanted = map.photos[static_cast<std::size_t>(photo)];
    const auto known = std::find_if(kept_.begin(), kept_.end(), [&](const Kept& one) {
        return one.buffers == map.buffers.get() && one.bytes == wanted.bytes.data();
    });
    if (known != kept_.end()) {
        std::rotate(known, known + 1, kept_.end());
        return kept_.back().print;
    }
    if (kept_.size() >= most_kept) {
        glDeleteTextures(1, &kept_.front().print.texture);
        kept_.erase(kept_.begin());
    }
    Kept made{map.buffers.get(), wanted.bytes.data(), {}};
    const auto pixels = pixels_of_photo(wanted.bytes);
    if (!pixels) {
        made.print.why = pixels.error();
    } else {
        made.print.width = pixels->width;
        made.print.height = pixels->height;
        glGenTextures(1, &made.print.texture);
        glBindTexture(GL_TEXTURE_2D, made.print.texture);
        glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
        glTexImage2D(GL_TEXTURE_2D, 0, GL_RGB8, pixels->width, pixels->height, 0, GL_RGB, GL_UNSIGNED_BYTE,
                     pixels->rgb.data());
        glPixelStorei(GL_UNPACK_ALIGNMENT, 4);
        // Shown small in the card and large over all: between its own sizes the smaller ones are made by OpenGL.
        glGenerateMipmap(GL_TEXTURE_2D);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR_MIPMAP_LINEAR);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_LINEAR);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
        glBindTexture(GL_TEXTURE_2D, 0);
    }
    kept_.push_back(std::move(made));
    return kept_.back().print;
}

void Prints::close() {
    for (const Kept& one : kept_)
        glDeleteTextures(1, &one.print.texture);
    kept_.clear();
}

} // namespace boltwalk
