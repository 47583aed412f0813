// What a picture's file says beside its pixels: how the camera was held, and what else.
#include <algorithm>
#include <string_view>

#include "core/photo/photo.hpp"
#include "core/photo/segments.hpp"

namespace boltwalk {

namespace {

using inside::byte_at;

constexpr std::uint8_t app0 = 0xe0, app15 = 0xef, comment = 0xfe;
constexpr std::string_view exif_mark{"Exif\0\0", 6};

std::string_view text_of_bytes(std::span<const std::byte> bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

/// Numbers of a TIFF structure; 0 beyond its end.
struct Tiff {
    std::span<const std::byte> bytes;
    bool little = false;

    std::uint32_t number(std::size_t at, std::size_t size) const {
        std::uint32_t value = 0;
        if (at > bytes.size() || size > bytes.size() - at)
            return 0;
        for (std::size_t i = 0; i < size; ++i)
            value = value * 256 + byte_at(bytes, at + (little ? size - 1 - i : i));
        return value;
    }
};

/// Of the first directory; 0: it says nothing, or nothing that can be.
int orientation_in(std::span<const std::byte> bytes) {
    constexpr std::uint32_t orientation = 0x0112, type_short = 3;
    const std::string_view order = text_of_bytes(bytes.first(std::min<std::size_t>(bytes.size(), 2)));
    if (order != "II" && order != "MM")
        return 0;
    const Tiff tiff{bytes, order == "II"};
    if (tiff.number(2, 2) != 42)
        return 0;
    const std::size_t directory = tiff.number(4, 4);
    const std::size_t entries = tiff.number(directory, 2);
    for (std::size_t i = 0; i < entries; ++i) {
        const std::size_t at = directory + 2 + 12 * i;
        if (at + 12 > bytes.size())
            break;
        if (tiff.number(at, 2) != orientation)
            continue;
        const std::uint32_t value = tiff.number(at + 8, 2);
        return tiff.number(at + 2, 2) == type_short && value >= 1 && value <= 8 ? static_cast<int>(value) : 0;
    }
    return 0;
}

/// The chunks of a PNG that carry words or a camera's data (PNG, third edition, section 11.3; from memory).
std::vector<std::string> told_by_png(std::span<const std::byte> file) {
    std::vector<std::string> told;
    inside::walk_chunks(file, [&](std::string_view type, std::span<const std::byte>) {
        if (type == "eXIf")
            told.emplace_back("Exif");
        else if (type == "tEXt" || type == "zTXt" || type == "iTXt")
            told.emplace_back("text");
        return true;
    });
    return told;
}

} // namespace

int orientation_of_photo(std::span<const std::byte> file) {
    int found = 0;
    inside::walk_segments(file, [&](std::uint8_t marker, std::span<const std::byte> payload) {
        if (marker == app0 + 1 && text_of_bytes(payload).starts_with(exif_mark))
            found = orientation_in(payload.subspan(exif_mark.size()));
        return found == 0;
    });
    return found == 0 ? 1 : found;
}

std::vector<std::string> told_by_photo(std::span<const std::byte> file) {
    if (!inside::is_jpeg(file))
        return told_by_png(file);
    std::vector<std::string> told;
    const auto add = [&](std::string what) {
        if (std::find(told.begin(), told.end(), what) == told.end())
            told.push_back(std::move(what));
    };
    inside::walk_segments(file, [&](std::uint8_t marker, std::span<const std::byte> payload) {
        const std::string_view text = text_of_bytes(payload);
        if (marker == comment)
            add("a comment");
        else if (marker == app0 + 1 && text.starts_with(exif_mark))
            add("Exif");
        else if (marker > app0 && marker <= app15 && !text.starts_with("ICC_PROFILE") && !text.starts_with("Adobe"))
            add("a program's own data");
        return true;
    });
    return told;
}

} // namespace boltwalk
