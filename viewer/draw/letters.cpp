#include "viewer/draw/letters.hpp"

#include <algorithm>
#include <cmath>

#define STB_TRUETYPE_IMPLEMENTATION
#ifndef STBTT_STATIC
#define STBTT_STATIC
#endif
#if defined(__GNUC__)
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#endif
#include <stb/stb_truetype.h>
#if defined(__GNUC__)
#pragma GCC diagnostic pop
#endif

extern const unsigned char boltwalk_font_text[];
extern const unsigned long boltwalk_font_text_size;
extern const unsigned char boltwalk_font_strong[];
extern const unsigned long boltwalk_font_strong_size;

namespace boltwalk {

namespace {

constexpr int SUBPIXELS = 4;
constexpr int REPLACEMENT = 0xFFFD;

const stbtt_fontinfo& font_of(Face face) {
    const auto load = [](const unsigned char* bytes) {
        stbtt_fontinfo info;
        stbtt_InitFont(&info, bytes, stbtt_GetFontOffsetForIndex(bytes, 0));
        return info;
    };
    static const stbtt_fontinfo text = load(boltwalk_font_text);
    static const stbtt_fontinfo strong = load(boltwalk_font_strong);
    return face == Face::strong ? strong : text;
}

float scale_of(const stbtt_fontinfo& font, double size_px) {
    return stbtt_ScaleForMappingEmToPixels(&font, static_cast<float>(size_px));
}

/// One code point from the front of the text, which is shortened by it (Unicode 15, table 3-7).
int next_code_point(std::string_view& text) {
    const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
    const unsigned lead = byte(0);
    const std::size_t length = lead < 0x80   ? 1
                               : lead < 0xC2 ? 0
                               : lead < 0xE0 ? 2
                               : lead < 0xF0 ? 3
                               : lead < 0xF5 ? 4
                                             : 0;
    if (length == 0 || length > text.size()) {
        text.remove_prefix(1);
        return REPLACEMENT;
    }
    unsigned value = length == 1 ? lead : lead & (0x7FU >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xC0U) != 0x80U) {
            text.remove_prefix(1);
            return REPLACEMENT;
        }
        value = (value << 6U) | (byte(i) & 0x3FU);
    }
    text.remove_prefix(length);
    // Controls and marks that turn the direction have no business in a picture.
    const bool hidden = value < 0x20 || (value >= 0x7F && value < 0xA0) || (value >= 0x200B && value <= 0x200F) ||
                        (value >= 0x202A && value <= 0x202E) || (value >= 0x2066 && value <= 0x2069);
    return hidden ? ' ' : static_cast<int>(value);
}

double advance(const stbtt_fontinfo& font, float scale, int letter, int following) {
    int width = 0;
    stbtt_GetCodepointHMetrics(&font, letter, &width, nullptr);
    int units = width;
    if (following != 0)
        units += stbtt_GetCodepointKernAdvance(&font, letter, following);
    return static_cast<double>(scale) * units;
}

const Glyph& glyph_of(Atlas& atlas, Face face, double size_px, int letter, int subpixel) {
    const auto key = std::make_tuple(face, static_cast<int>(std::lround(size_px * 4)), subpixel, letter);
    const auto found = atlas.known.find(key);
    if (found != atlas.known.end())
        return found->second;
    const stbtt_fontinfo& font = font_of(face);
    const float scale = scale_of(font, size_px);
    const float shift = static_cast<float>(subpixel) / SUBPIXELS;
    int x0 = 0;
    int y0 = 0;
    int x1 = 0;
    int y1 = 0;
    stbtt_GetCodepointBitmapBoxSubpixel(&font, letter, scale, scale, shift, 0, &x0, &y0, &x1, &y1);
    Glyph glyph{0, 0, x1 - x0, y1 - y0, x0, y0};
    if (glyph.width > 0 && glyph.height > 0) {
        if (atlas.shelf_x + glyph.width + 1 > Atlas::SIZE) {
            atlas.shelf_x = 1;
            atlas.shelf_y += atlas.shelf_height + 1;
            atlas.shelf_height = 0;
        }
        if (atlas.shelf_y + glyph.height + 1 > Atlas::SIZE || glyph.width + 2 > Atlas::SIZE) {
            glyph.width = glyph.height = 0; // no room: the letter stays blank rather than another's
            return atlas.known.emplace(key, glyph).first->second;
        }
        glyph.x = atlas.shelf_x;
        glyph.y = atlas.shelf_y;
        atlas.shelf_x += glyph.width + 1;
        atlas.shelf_height = std::max(atlas.shelf_height, glyph.height);
        std::uint8_t* to = atlas.pixels.data() + std::ptrdiff_t{glyph.y} * Atlas::SIZE + glyph.x;
        stbtt_MakeCodepointBitmapSubpixel(&font, to, glyph.width, glyph.height, Atlas::SIZE, scale, scale, shift, 0,
                                          letter);
        atlas.changed = true;
    }
    return atlas.known.emplace(key, glyph).first->second;
}

} // namespace

std::span<const unsigned char> font_bytes(Face face) {
    if (face == Face::strong)
        return {boltwalk_font_strong, boltwalk_font_strong_size};
    return {boltwalk_font_text, boltwalk_font_text_size};
}

double text_width_px(Face face, double size_px, std::string_view text) {
    const stbtt_fontinfo& font = font_of(face);
    const float scale = scale_of(font, size_px);
    double width = 0;
    int letter = text.empty() ? 0 : next_code_point(text);
    while (letter != 0) {
        const int following = text.empty() ? 0 : next_code_point(text);
        width += advance(font, scale, letter, following);
        letter = following;
    }
    return width;
}

double capital_height_px(Face face, double size_px) {
    const stbtt_fontinfo& font = font_of(face);
    int x0 = 0;
    int y0 = 0;
    int x1 = 0;
    int y1 = 0;
    stbtt_GetCodepointBox(&font, 'H', &x0, &y0, &x1, &y1);
    return static_cast<double>(scale_of(font, size_px)) * y1;
}

std::string shortened(Face face, double size_px, std::string_view text, double width_px) {
    if (text_width_px(face, size_px, text) <= width_px)
        return std::string(text);
    const std::string ellipsis = "…";
    std::string kept;
    std::string_view rest = text;
    while (!rest.empty()) {
        std::string_view after = rest;
        next_code_point(after);
        const std::string longer = kept + std::string(rest.substr(0, rest.size() - after.size()));
        if (text_width_px(face, size_px, longer + ellipsis) > width_px)
            break;
        kept = longer;
        rest = after;
    }
    while (!kept.empty() && kept.back() == ' ')
        kept.pop_back();
    return kept + ellipsis;
}

std::vector<PlacedGlyph> set_line(Atlas& atlas, Face face, double size_px, std::string_view text, glm::dvec2 at) {
    const stbtt_fontinfo& font = font_of(face);
    const float scale = scale_of(font, size_px);
    std::vector<PlacedGlyph> line;
    const int baseline = static_cast<int>(std::lround(at.y));
    double pen = at.x;
    int letter = text.empty() ? 0 : next_code_point(text);
    while (letter != 0) {
        const int following = text.empty() ? 0 : next_code_point(text);
        const double quarter = std::floor(pen * SUBPIXELS + 0.5);
        const int whole = static_cast<int>(std::floor(quarter / SUBPIXELS));
        const int subpixel = static_cast<int>(quarter) - whole * SUBPIXELS;
        const Glyph& glyph = glyph_of(atlas, face, size_px, letter, subpixel);
        if (glyph.width > 0)
            line.push_back({glyph, whole + glyph.left, baseline + glyph.top});
        pen += advance(font, scale, letter, following);
        letter = following;
    }
    return line;
}

bool nearly_full(const Atlas& atlas) {
    return atlas.shelf_y > Atlas::SIZE * 3 / 4;
}

namespace {

/// What a line may be broken between: words, and what a "×" holds together ("M8 × 60").
std::vector<std::string> unbroken(const std::string& text) {
    const std::string times = "×";
    std::vector<std::string> pieces;
    bool holds = false; // the word before holds the next
    for (std::size_t from = 0; from <= text.size();) {
        const std::size_t space = std::min(text.find(' ', from), text.size());
        const std::string word = text.substr(from, space - from);
        from = space + 1;
        if (!pieces.empty() && (holds || word == times))
            pieces.back() += " " + word;
        else
            pieces.push_back(word);
        holds = word == times;
    }
    return pieces;
}

} // namespace

std::vector<std::string> wrapped(Face face, double size_px, const std::string& text, double width_px) {
    const std::string separator = "·";
    std::vector<std::string> lines;
    std::string line;
    bool separated = false; // by what is written only between two words of one line
    for (const std::string& word : unbroken(text)) {
        separated = separated || word == separator;
        if (word == separator || (word.empty() && separated))
            continue;
        std::string longer = line;
        if (!line.empty())
            longer += separated ? " " + separator + " " : " ";
        longer += word;
        if (!line.empty() && text_width_px(face, size_px, longer) > width_px) {
            lines.push_back(line);
            line = word;
        } else {
            line = longer;
        }
        separated = false;
    }
    if (!line.empty())
        lines.push_back(line);
    return lines;
}

} // namespace boltwalk
