// Glyphs from the baked fonts, on the CPU: metrics, and an atlas that fills as letters are asked for.
#pragma once

#include <cstdint>
#include <map>
#include <string_view>
#include <tuple>
#include <vector>

#include "viewer/draw/draw.hpp"

namespace boltwalk {

/// Height of capitals above the baseline, in pixels, for a size in pixels of the em.
double capital_height_px(Face, double size_px);

struct Glyph {
    int x = 0, y = 0, width = 0, height = 0; ///< in the atlas
    int left = 0, top = 0;                   ///< from the pen to the bitmap's top left corner, y down
};

/// 8-bit coverage, one texture. `changed` until the owner has taken the pixels.
struct Atlas {
    static constexpr int SIZE = 1024;
    std::vector<std::uint8_t> pixels = std::vector<std::uint8_t>(std::size_t{SIZE} * SIZE, 0);
    std::map<std::tuple<Face, int, int, int>, Glyph>
        known; ///< face, size in quarter pixels, quarter of a pixel, letter
    int shelf_x = 1, shelf_y = 1, shelf_height = 0;
    bool changed = true;
};

/// A letter of a line: x, y is the whole-pixel corner of its bitmap.
struct PlacedGlyph {
    Glyph glyph;
    int x = 0, y = 0;
};
/// `at` is the pen on the baseline. A letter that the atlas has no room for is left blank.
std::vector<PlacedGlyph> set_line(Atlas&, Face, double size_px, std::string_view text, glm::dvec2 at);

/// Room for another picture's text? Else the owner should empty the atlas before it starts one.
bool nearly_full(const Atlas&);

} // namespace boltwalk
