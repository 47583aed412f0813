// From a camera's bytes to pixels, upright and scaled, and to a JPEG file that holds nothing else.
#include <algorithm>
#include <array>
#include <memory>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "core/photo/encode.hpp"
#include "core/photo/photo.hpp"
#include "core/photo/segments.hpp"

#define STB_IMAGE_IMPLEMENTATION
#define STB_IMAGE_WRITE_IMPLEMENTATION
#include "core/photo/stb.hpp"

namespace boltwalk {

namespace {

/// No picture of an object says so little a byte: deflate packs 1032 to 1 at most, and a flat JPEG less than that.
constexpr std::uint64_t most_pixels_per_byte = 2000; // 64 bits on the web, too
constexpr std::uint64_t free_pixels = 1'000'000;

constexpr std::string_view as_jpeg = "Save it as JPEG or PNG and take that";

std::string_view beginning(std::span<const std::byte> file) {
    return {reinterpret_cast<const char*>(file.data()), std::min<std::size_t>(file.size(), 16)};
}

/// What else people take for a photograph's file, by its first bytes.
std::string why_other(std::span<const std::byte> file) {
    const std::string_view first = beginning(file);
    std::string_view what = "no picture that is known here";
    if (first.size() >= 12 && first.substr(4, 4) == "ftyp")
        what = "a HEIF, HEIC or AVIF picture, or a film";
    else if (first.starts_with("RIFF") && first.size() >= 12 && first.substr(8, 4) == "WEBP")
        what = "a WebP picture";
    else if (first.starts_with("GIF8"))
        what = "a GIF picture";
    else if (first.starts_with("BM"))
        what = "a BMP picture";
    else if (first.starts_with(std::string_view("II*\0", 4)) || first.starts_with(std::string_view("MM\0*", 4)))
        what = "a TIFF picture or a camera's raw one";
    else if (file.empty())
        what = "empty";
    return fmt::format("this is {}. {}", what, as_jpeg);
}

/// A JPEG file's tables, as the segments come: what a scan is decoded with has to be there, whole, before it. The
/// stb_image of Debian 12 writes as many codes as are said, however few it has room for, and decodes a scan with tables
/// that never came, out of whatever lay there (both found by tests/fuzz/photo.cpp). So it sees neither.
/// Source: ITU-T T.81, B.2.2 (frame), B.2.3 (scan), B.2.4.1 and B.2.4.2 (tables); numbers from memory.
class Tables {
public:
    /// False: a table that cannot be, or one that is missing.
    bool take(std::uint8_t marker, std::span<const std::byte> payload) {
        constexpr std::uint8_t sof0 = 0xc0, sof1 = 0xc1, sof2 = 0xc2, dht = 0xc4, sos = 0xda, dqt = 0xdb;
        switch (marker) {
        case dht:
            return take_codes(payload);
        case dqt:
            return take_steps(payload);
        case sof0:
        case sof1:
        case sof2:
            return take_frame(payload, marker == sof2);
        case sos:
            return has_all_for(payload);
        default:
            return true;
        }
    }

private:
    struct Part {
        std::uint8_t id = 0, steps = 0;
    };
    std::array<bool, 4> dc_{}, ac_{}, steps_{};
    std::vector<Part> parts_;
    bool progressive_ = false;

    /// DHT: class and number, how many codes there are of each of 16 lengths, the codes' values.
    bool take_codes(std::span<const std::byte> payload) {
        constexpr std::size_t head = 17, most = 256;
        while (!payload.empty()) {
            std::size_t codes = 0;
            for (std::size_t i = 1; i < head && payload.size() >= head; ++i)
                codes += inside::byte_at(payload, i);
            if (payload.size() < head || codes > most || payload.size() - head < codes)
                return false;
            const std::uint8_t which = inside::byte_at(payload, 0);
            if (which >> 4U > 1 || (which & 15U) > 3)
                return false;
            (which >> 4U == 0 ? dc_ : ac_)[which & 15U] = true;
            payload = payload.subspan(head + codes);
        }
        return true;
    }

    /// DQT: precision and number, 64 steps of one byte or two.
    bool take_steps(std::span<const std::byte> payload) {
        while (!payload.empty()) {
            const std::uint8_t which = inside::byte_at(payload, 0);
            const std::size_t size = which >> 4U == 0 ? 65 : 129;
            if (payload.size() < size || (which & 15U) > 3)
                return false;
            steps_[which & 15U] = true;
            payload = payload.subspan(size);
        }
        return true;
    }

    /// SOF: precision, height, width, how many components; of each its name, its sampling, its steps.
    bool take_frame(std::span<const std::byte> payload, bool progressive) {
        constexpr std::size_t head = 6, each = 3;
        progressive_ = progressive;
        parts_.clear();
        if (payload.size() < head)
            return false;
        const std::size_t count = inside::byte_at(payload, head - 1);
        if (payload.size() < head + count * each)
            return false;
        for (std::size_t i = 0; i < count; ++i)
            parts_.push_back(
                {inside::byte_at(payload, head + i * each), inside::byte_at(payload, head + i * each + 2)});
        return true;
    }

    /// SOS: how many components; of each its name and its tables; the first and the last coefficient, and which bits.
    bool has_all_for(std::span<const std::byte> payload) const {
        const std::size_t count = payload.empty() ? 0 : inside::byte_at(payload, 0);
        if (count == 0 || payload.size() < 1 + 2 * count + 3)
            return false;
        const std::uint8_t first = inside::byte_at(payload, 1 + 2 * count),
                           last = inside::byte_at(payload, 2 + 2 * count),
                           bits = inside::byte_at(payload, 3 + 2 * count);
        const bool wants_dc = !progressive_ || (first == 0 && bits >> 4U == 0), wants_ac = !progressive_ || last > 0;
        for (std::size_t i = 0; i < count; ++i) {
            const std::uint8_t id = inside::byte_at(payload, 1 + 2 * i), codes = inside::byte_at(payload, 2 + 2 * i);
            const auto part = std::find_if(parts_.begin(), parts_.end(), [&](const Part& p) { return p.id == id; });
            if (part == parts_.end() || part->steps > 3 || !steps_[part->steps])
                return false;
            if (codes >> 4U > 3 || (codes & 15U) > 3 || (wants_dc && !dc_[codes >> 4U]) ||
                (wants_ac && !ac_[codes & 15U]))
                return false;
        }
        return true;
    }
};

bool is_png(std::span<const std::byte> file) {
    return beginning(file).starts_with("\x89PNG\r\n\x1a\n");
}

struct Free {
    void operator()(stbi_uc* pixels) const { stbi_image_free(pixels); }
};

/// One row or column from `from` pixels to `to`, each the mean of what it covers: in whole numbers, so that every
/// machine makes the same picture. `step`: bytes from one pixel to the next.
struct Line {
    std::size_t from = 0, to = 0;

    void scale(const std::uint8_t* in, std::size_t step_in, std::uint8_t* out, std::size_t step_out) const {
        for (std::size_t j = 0; j < to; ++j) {
            // In a common unit pixel i of the source lies over [i to, (i + 1) to), pixel j of the result over
            // [j from, (j + 1) from).
            const std::size_t begin = j * from, end = begin + from;
            std::array<std::size_t, 3> sum{};
            for (std::size_t i = begin / to; i * to < end; ++i) {
                const std::size_t weight = std::min(end, (i + 1) * to) - std::max(begin, i * to);
                for (std::size_t c = 0; c < 3; ++c)
                    sum[c] += weight * in[i * step_in + c];
            }
            for (std::size_t c = 0; c < 3; ++c)
                out[j * step_out + c] = static_cast<std::uint8_t>((sum[c] + from / 2) / from);
        }
    }
};

PhotoPixels scaled_to(const std::uint8_t* rgb, int width, int height, int longest) {
    const int side = std::max(width, height);
    const auto fitted = [&](int of) {
        return side <= longest
                   ? of
                   : std::max(1, static_cast<int>((std::int64_t{of} * longest + side / 2) / std::int64_t{side}));
    };
    PhotoPixels out{fitted(width), fitted(height), {}};
    const auto w = static_cast<std::size_t>(width), h = static_cast<std::size_t>(height);
    const auto ow = static_cast<std::size_t>(out.width), oh = static_cast<std::size_t>(out.height);
    if (ow == w && oh == h) {
        out.rgb.assign(rgb, rgb + 3 * w * h);
        return out;
    }
    std::vector<std::uint8_t> narrow(3 * ow * h);
    for (std::size_t y = 0; y < h; ++y)
        Line{w, ow}.scale(rgb + 3 * w * y, 3, narrow.data() + 3 * ow * y, 3);
    out.rgb.resize(3 * ow * oh);
    for (std::size_t x = 0; x < ow; ++x)
        Line{h, oh}.scale(narrow.data() + 3 * x, 3 * ow, out.rgb.data() + 3 * x, 3 * ow);
    return out;
}

/// Exif's orientation says on which side of the picture as it lies its row 0 and its column 0 stand: 1 top left, 2 top
/// right, 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left bottom.
PhotoPixels turned(PhotoPixels in, int orientation) {
    if (orientation <= 1 || orientation > 8)
        return in;
    const bool swapped = orientation >= 5;
    PhotoPixels out{swapped ? in.height : in.width, swapped ? in.width : in.height, {}};
    out.rgb.resize(in.rgb.size());
    for (int y = 0; y < out.height; ++y) {
        for (int x = 0; x < out.width; ++x) {
            int column = swapped ? y : x, row = swapped ? x : y;
            if (orientation == 2 || orientation == 3 || orientation == 7 || orientation == 8)
                column = in.width - 1 - column;
            if (orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7)
                row = in.height - 1 - row;
            const auto from = 3 * (static_cast<std::size_t>(row) * static_cast<std::size_t>(in.width) +
                                   static_cast<std::size_t>(column));
            const auto to =
                3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(out.width) + static_cast<std::size_t>(x));
            std::copy_n(in.rgb.begin() + static_cast<std::ptrdiff_t>(from), 3,
                        out.rgb.begin() + static_cast<std::ptrdiff_t>(to));
        }
    }
    return out;
}

/// What shines through becomes white, as on paper.
std::vector<std::uint8_t> on_white(const std::uint8_t* rgba, std::size_t pixels) {
    std::vector<std::uint8_t> out(3 * pixels);
    for (std::size_t i = 0; i < pixels; ++i) {
        const unsigned alpha = rgba[4 * i + 3];
        for (std::size_t c = 0; c < 3; ++c)
            out[3 * i + c] = static_cast<std::uint8_t>((rgba[4 * i + c] * alpha + 255U * (255U - alpha) + 127U) / 255U);
    }
    return out;
}

} // namespace

tl::expected<PhotoSize, std::string> look_at_photo(std::span<const std::byte> file) {
    const bool png = is_png(file);
    if (!png && !inside::is_jpeg(file))
        return tl::unexpected(why_other(file));
    if (file.size() > photo_most_bytes)
        return tl::unexpected(fmt::format("it has {} bytes, more than the {} allowed. Scale it down and take that",
                                          file.size(), photo_most_bytes));
    constexpr std::string_view damaged = "the picture is cut off or damaged. Copy it from the camera again";
    // stb makes grey of what is missing; a picture that is half there would look as if it had been taken so.
    bool sound = true;
    Tables tables;
    const auto is_sound = [&](std::uint8_t marker, std::span<const std::byte> payload) {
        sound = tables.take(marker, payload);
        return sound;
    };
    // stb makes room for as many bytes as a PNG's chunk says that it has, up to 2 GB, and only then looks for them.
    const bool whole =
        png ? inside::walk_chunks(file, [](std::string_view, std::span<const std::byte>) { return true; })
            : inside::walk_segments(file, is_sound);
    if (!whole || !sound)
        return tl::unexpected(std::string(damaged));
    PhotoSize size;
    int channels = 0;
    if (stbi_info_from_memory(reinterpret_cast<const stbi_uc*>(file.data()), static_cast<int>(file.size()), &size.width,
                              &size.height, &channels) == 0 ||
        size.width <= 0 || size.height <= 0)
        return tl::unexpected(std::string(damaged));
    const std::size_t pixels = static_cast<std::size_t>(size.width) * static_cast<std::size_t>(size.height);
    if (pixels > photo_most_pixels)
        return tl::unexpected(fmt::format("it says that it has {} x {} pixels, more than the {} million allowed. Scale "
                                          "it down and take that",
                                          size.width, size.height, photo_most_pixels / 1'000'000));
    if (pixels > free_pixels + file.size() * most_pixels_per_byte)
        return tl::unexpected(fmt::format("it says that it has {} x {} pixels, and {} bytes hold no such picture. "
                                          "Copy it from the camera again",
                                          size.width, size.height, file.size()));
    return size;
}

tl::expected<PhotoPixels, std::string> pixels_of_photo(std::span<const std::byte> file, int longest) {
    const auto size = look_at_photo(file);
    if (!size)
        return tl::unexpected(size.error());
    const bool png = is_png(file);
    int width = 0, height = 0, channels = 0;
    const std::unique_ptr<stbi_uc, Free> decoded(stbi_load_from_memory(reinterpret_cast<const stbi_uc*>(file.data()),
                                                                       static_cast<int>(file.size()), &width, &height,
                                                                       &channels, png ? 4 : 3));
    if (!decoded)
        return tl::unexpected(fmt::format("its pixels cannot be read ({}). {}", stbi_failure_reason(), as_jpeg));
    if (!png)
        return turned(scaled_to(decoded.get(), width, height, longest), orientation_of_photo(file));
    const std::vector<std::uint8_t> flat =
        on_white(decoded.get(), static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
    return scaled_to(flat.data(), width, height, longest);
}

std::string inside::jpeg_of_pixels(const PhotoPixels& pixels) {
    std::string jpeg;
    const auto keep = [](void* to, void* bytes, int size) {
        static_cast<std::string*>(to)->append(static_cast<const char*>(bytes), static_cast<std::size_t>(size));
    };
    const bool done =
        stbi_write_jpg_to_func(keep, &jpeg, pixels.width, pixels.height, 3, pixels.rgb.data(), photo_quality) != 0;
    return done ? jpeg : "";
}

tl::expected<PhotoTaken, std::string> take_photo(std::span<const std::byte> file) {
    const auto pixels = pixels_of_photo(file);
    if (!pixels)
        return tl::unexpected(pixels.error());
    PhotoTaken taken{inside::jpeg_of_pixels(*pixels), pixels->width, pixels->height};
    if (taken.jpeg.empty())
        return tl::unexpected(std::string("it cannot be encoded anew"));
    return taken;
}

} // namespace boltwalk
