// Photographs in a map: taken from what a camera wrote, shown again, put into the file and taken out of it.
//
// A camera's file says where and when it was taken, by whom and with what, and holds a second, small picture of what
// was there before it was cropped. None of it belongs in a map that is handed on. So nothing of the file is copied: its
// pixels are decoded, turned upright, scaled down and encoded anew, and what is written holds pixels only. A profile of
// colours goes, too: of a wide one the colours come out a little duller.
//
// JPEG and PNG, decoded and encoded by stb (stb_image, stb_image_write). Errors are sentences that end without a full
// stop and begin after the file's name.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "core/map/map.hpp"

namespace boltwalk {

/// The longest side that is kept, in pixels: 4:3 it is 1600 x 1200, the whole height of the largest window that is laid
/// out for (2000 x 1200), and 135 mm of paper at 300 dots an inch; below the 2048 that WebGL2 promises of a texture.
inline constexpr int photo_side_px = 1600;
/// Of the JPEG that is written: 200 to 500 kB a photograph.
inline constexpr int photo_quality = 85;
/// A picture that declares more is refused before any of it is decoded: two bytes of coefficients and one of colour for
/// each of three channels, twice over, are at most 12 bytes a pixel and 600 MB.
inline constexpr std::size_t photo_most_pixels = 50'000'000;
/// The bytes of a camera's file; a larger one is refused unread.
inline constexpr std::size_t photo_most_bytes = std::size_t{64} << 20;

struct PhotoSize {
    int width = 0, height = 0; ///< as it lies in the file, not turned
};

/// Rows from the top, three bytes a pixel: red, green, blue.
struct PhotoPixels {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb;
};

/// A JPEG file with nothing in it but pixels, and how large they are.
struct PhotoTaken {
    std::string jpeg;
    int width = 0, height = 0;
};

/// What a camera wrote, ready for a map.
tl::expected<PhotoTaken, std::string> take_photo(std::span<const std::byte> file);

/// The pixels of a photograph, upright, at most `longest` a side (never larger than they are).
tl::expected<PhotoPixels, std::string> pixels_of_photo(std::span<const std::byte> file, int longest = photo_side_px);

/// How large it says it is, decoding nothing; or why it is none of ours: another format, cut off, too large.
tl::expected<PhotoSize, std::string> look_at_photo(std::span<const std::byte> file);

/// How it is to be turned to stand upright, 1 to 8 as Exif's tag Orientation has it; 1: as it lies, or not stated.
/// Source: CIPA DC-008 (Exif 2.3), section 4.6.4 A, tag 0x0112; the byte orders and directories of TIFF 6.0, section 2.
/// Numbers from memory.
int orientation_of_photo(std::span<const std::byte> file);

/// What a JPEG or PNG file holds beside pixels, a word each ("Exif", "a comment"); empty: nothing that tells of a place
/// or a person.
std::vector<std::string> told_by_photo(std::span<const std::byte> file);

// ---- in a map's file

/// A name for a photograph taken from a file of that name: what Blender and a list with ";" keep as it is, and no image
/// of the file has yet.
std::string photo_name_for(std::span<const std::byte> map_file, std::string_view path);

/// The value of `photo` with one name more, or without one.
std::string photo_added(std::string_view value, std::string_view name);
std::string photo_dropped(std::string_view value, std::string_view name);

/// The file without that photograph's pixels: a grey dot stands in the image's place, for the images behind it keep
/// their numbers, and the next photograph takes the place. Keys that name it are left to the caller.
tl::expected<std::string, ReadError> write_without_photo(std::span<const std::byte> map_file, std::string_view name);

} // namespace boltwalk
