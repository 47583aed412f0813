// The baked letters.
#include <algorithm>
#include <sstream>

#include <doctest/doctest.h>

#include "viewer/draw/letters.hpp"

using namespace boltwalk;

TEST_CASE("every letter that a label may need is in the font") {
    Atlas atlas;
    for (const Face face : {Face::text, Face::strong})
        for (const char* letter :
             {"·", "×", "°", "µ", "ä", "Ö", "ß", "é", "ñ", "Å", "ø", "½", "…", "–", "3", "M", "@"}) {
            const auto line = set_line(atlas, face, 20, letter, {0, 0});
            CAPTURE(letter);
            REQUIRE(line.size() == 1);
            // not the box that stands for a missing letter
            const auto missing = set_line(atlas, face, 20, "\xEE\x80\x80", {0, 0});
            if (!missing.empty())
                CHECK((line[0].glyph.x != missing[0].glyph.x || line[0].glyph.y != missing[0].glyph.y));
            CHECK(text_width_px(face, 20, letter) > 1);
        }
}

TEST_CASE("widths grow with size and text, and what is too long is cut with an ellipsis") {
    const double width = text_width_px(Face::strong, 20, "M10x1.25 × 35");
    CHECK(width > 80);
    CHECK(width < 260);
    CHECK(text_width_px(Face::strong, 40, "M10x1.25 × 35") == doctest::Approx(2 * width).epsilon(0.01));
    CHECK(text_width_px(Face::text, 20, "") == 0);
    CHECK(shortened(Face::text, 20, "bolt", 500) == "bolt");
    const std::string cut = shortened(Face::text, 20, "a very long headline about very many bolts", 120);
    CHECK(cut.size() > 5);
    CHECK(cut.substr(cut.size() - 3) == "…");
    CHECK(text_width_px(Face::text, 20, cut) <= 120);
}

namespace {

/// Its words, set solid.
std::string without_separators(const std::string& text) {
    std::istringstream words(text);
    std::string solid, word;
    while (words >> word)
        solid += word == "·" ? "" : word;
    return solid;
}

} // namespace

TEST_CASE("no line begins or ends with the separator, wherever the text breaks, and no word is lost") {
    const std::string separator = "·";
    for (const std::string text :
         {"hex 14 · 64 N·m · star, 2 passes", "socket 6 · 25 N·m · new · medium lock", "a · b"}) {
        const std::string words = without_separators(text);
        const double whole = text_width_px(Face::text, 15, text);
        for (double width = 1; width < whole + 4; width += 1) {
            const auto lines = wrapped(Face::text, 15, text, width);
            std::string together;
            for (const std::string& line : lines) {
                CAPTURE(line);
                CHECK(!line.starts_with(separator));
                CHECK(!line.ends_with(separator));
                CHECK((text_width_px(Face::text, 15, line) <= width || line.find(' ') == std::string::npos));
                together += without_separators(line);
            }
            CHECK(together == words);
            if (width > whole)
                CHECK(lines == std::vector<std::string>{text}); // in one line it stands between the words
            // At the width of the widest they break as they did, unless a word alone is wider: so a label is measured,
            // and then written.
            double widest = 0;
            for (const std::string& line : lines)
                widest = std::max(widest, text_width_px(Face::text, 15, line));
            if (widest <= width)
                CHECK(wrapped(Face::text, 15, text, widest) == lines);
        }
    }
    CHECK(wrapped(Face::text, 15, "· a ·", 500) == std::vector<std::string>{"a"});
    CHECK(wrapped(Face::text, 15, "", 500).empty());
}

TEST_CASE("a size stands in one line") {
    const std::string size = "2 × M8 × 60";
    for (double width = 1; width < 300; width += 1) {
        const auto lines = wrapped(Face::strong, 18, "hex 13 · " + size + " · new", width);
        CAPTURE(width);
        CHECK(std::any_of(lines.begin(), lines.end(),
                          [&](const std::string& line) { return line.find(size) != std::string::npos; }));
    }
}

TEST_CASE("broken UTF-8, controls and marks of direction neither crash nor hide") {
    Atlas atlas;
    for (const char* text : {"\xFF", "a\xC3", "\xE2\x82", "\xF0\x9F\x94\xA9", "\x1b[31m",
                             "\xE2\x80\xAE"
                             "abc",
                             "\xC0\x80"})
        CHECK(set_line(atlas, Face::text, 16, text, {3.3, 20}).size() < 8);
    CHECK(text_width_px(Face::text, 16,
                        "\xE2\x80\xAE"
                        "a") > text_width_px(Face::text, 16, "a"));
}

TEST_CASE("a full atlas leaves letters blank rather than wrong") {
    Atlas atlas;
    for (int size = 20; size < 400; size += 7)
        set_line(atlas, Face::strong, size, "ABCDEFGHIJKLMNOPQRSTUVWXYZ", {0, 0});
    CHECK(nearly_full(atlas));
    for (const auto& [key, glyph] : atlas.known) {
        CHECK(glyph.x + glyph.width <= Atlas::SIZE);
        CHECK(glyph.y + glyph.height <= Atlas::SIZE);
    }
}

TEST_CASE("both fonts' files are there for others") {
    CHECK(font_bytes(Face::text).size() > 50000);
    CHECK(font_bytes(Face::strong).size() > 50000);
}
