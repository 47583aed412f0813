// Pictures as a camera writes them, made in the test.
//
// Exif: CIPA DC-008 (Exif 2.3), tags 0x010F Make, 0x0110 Model, 0x0112 Orientation, 0x0132 DateTime, 0x8825 GPS
// directory, in it 0x0001 to 0x0004 latitude and longitude; TIFF 6.0 for the byte orders, directories and types.
// Numbers from memory.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#define STB_IMAGE_WRITE_IMPLEMENTATION
#include <stb/stb_image_write.h>

namespace camera {

using Colour = std::array<int, 3>;
constexpr Colour red{230, 20, 20}, green{20, 200, 20}, blue{20, 20, 230}, white{245, 245, 245};

/// Rows from the top, three bytes a pixel.
inline std::vector<std::uint8_t> pixels(int w, int h, const std::function<Colour(int, int)>& at) {
    std::vector<std::uint8_t> out;
    out.reserve(std::size_t(w) * std::size_t(h) * 3);
    for (int y = 0; y < h; ++y)
        for (int x = 0; x < w; ++x)
            for (const int c : at(x, y))
                out.push_back(std::uint8_t(c));
    return out;
}

inline void keep(void* to, void* bytes, int size) {
    static_cast<std::string*>(to)->append(static_cast<const char*>(bytes), std::size_t(size));
}
inline std::string jpeg(int w, int h, const std::function<Colour(int, int)>& at) {
    std::string out;
    stbi_write_jpg_to_func(keep, &out, w, h, 3, pixels(w, h, at).data(), 95);
    return out;
}
inline std::string png(int w, int h, int channels, const std::vector<std::uint8_t>& bytes) {
    std::string out;
    stbi_write_png_to_func(keep, &out, w, h, channels, bytes.data(), w * channels);
    return out;
}

/// Top left red, top right green, bottom right blue, bottom left white.
inline std::string four_corners(int w = 64, int h = 32) {
    return jpeg(w, h, [&](int x, int y) { return y < h / 2 ? (x < w / 2 ? red : green) : (x < w / 2 ? white : blue); });
}

struct Tiff {
    bool little = true;
    std::string bytes;
    void number(std::uint32_t value, int size) {
        for (int i = 0; i < size; ++i)
            bytes += char(std::uint8_t(value >> (8 * (little ? i : size - 1 - i))));
    }
    void entry(int tag, int type, std::uint32_t count, std::uint32_t value) {
        number(std::uint32_t(tag), 2);
        number(std::uint32_t(type), 2);
        number(count, 4);
        if (type == 3) { // a short stands at the front of its four bytes
            number(value, 2);
            number(0, 2);
        } else {
            number(value, 4);
        }
    }
};

constexpr std::string_view make = "Invented Optics", model = "Pocket 7", date = "2024:05:17 18:03:21";

/// An Exif segment's payload: who, when, how held, where.
inline std::string exif(int orientation, bool little = true) {
    Tiff tiff{little, little ? "II" : "MM"};
    tiff.number(42, 2);
    tiff.number(8, 4);
    constexpr std::uint32_t entries = 5, texts = 8 + 2 + 12 * entries + 4;
    const auto make_at = texts, model_at = make_at + std::uint32_t(make.size()) + 1,
               date_at = model_at + std::uint32_t(model.size()) + 1, gps_at = date_at + std::uint32_t(date.size()) + 1;
    tiff.number(entries, 2);
    tiff.entry(0x010f, 2, std::uint32_t(make.size()) + 1, make_at);
    tiff.entry(0x0110, 2, std::uint32_t(model.size()) + 1, model_at);
    tiff.entry(0x0112, 3, 1, std::uint32_t(orientation));
    tiff.entry(0x0132, 2, std::uint32_t(date.size()) + 1, date_at);
    tiff.entry(0x8825, 4, 1, gps_at);
    tiff.number(0, 4);
    for (const std::string_view text : {make, model, date})
        tiff.bytes += std::string(text) + '\0';
    const std::uint32_t rationals = gps_at + 2 + 12 * 4 + 4;
    tiff.number(4, 2);
    tiff.entry(1, 2, 2, little ? 'N' : std::uint32_t('N') << 24U);
    tiff.entry(2, 5, 3, rationals);
    tiff.entry(3, 2, 2, little ? 'E' : std::uint32_t('E') << 24U);
    tiff.entry(4, 5, 3, rationals + 24);
    tiff.number(0, 4);
    for (const std::uint32_t value : {12U, 1U, 34U, 1U, 567891U, 10000U, 98U, 1U, 7U, 1U, 654321U, 10000U})
        tiff.number(value, 4);
    return std::string("Exif\0\0", 6) + tiff.bytes;
}

inline std::string segment(int marker, const std::string& payload) {
    const std::size_t length = payload.size() + 2;
    return std::string{'\xff', char(marker), char(length >> 8U), char(length & 0xffU)} + payload;
}

/// With those segments behind the start of the image.
inline std::string with(const std::string& jpeg, const std::string& segments) {
    return jpeg.substr(0, 2) + segments + jpeg.substr(2);
}

/// Everything that a telephone puts in.
inline std::string telephone(int orientation, bool little = true) {
    return with(four_corners(),
                segment(0xe1, exif(orientation, little)) +
                    segment(0xe1, std::string("http://ns.adobe.com/xap/1.0/\0<x latitude='12.5824'/>", 52)) +
                    segment(0xed, std::string("Photoshop 3.0\0secret town", 25)) + segment(0xfe, "taken at home"));
}

} // namespace camera
