// Photographs taken: nothing but pixels is left, they stand upright, and no file asks for more than its share.
#include "core/photo/photo.hpp"

#include <algorithm>
#include <set>

#include <doctest/doctest.h>

#include "tests/photo/camera.hpp"

using namespace boltwalk;

namespace {

std::span<const std::byte> span_of(std::string_view bytes) {
    return std::as_bytes(std::span(bytes.data(), bytes.size()));
}

std::string why_not(const std::string& file) {
    const auto taken = take_photo(span_of(file));
    REQUIRE_FALSE(taken.has_value());
    return taken.error();
}

/// Which of the four colours is nearest in the middle of that quarter.
char at_quarter(const PhotoPixels& p, int right, int low) {
    const auto x = std::size_t(p.width * (1 + 2 * right) / 4), y = std::size_t(p.height * (1 + 2 * low) / 4);
    const std::uint8_t* c = p.rgb.data() + 3 * (y * std::size_t(p.width) + x);
    constexpr std::array<std::pair<char, camera::Colour>, 4> known{
        {{'R', camera::red}, {'G', camera::green}, {'B', camera::blue}, {'W', camera::white}}};
    char best = '?';
    int least = 40 * 40;
    for (const auto& [letter, colour] : known) {
        int far = 0;
        for (std::size_t i = 0; i < 3; ++i)
            far += (c[i] - colour[i]) * (c[i] - colour[i]);
        if (far < least) {
            least = far;
            best = letter;
        }
    }
    return best;
}

/// Top left, top right, bottom right, bottom left.
std::string corners(const PhotoPixels& p) {
    return {at_quarter(p, 0, 0), at_quarter(p, 1, 0), at_quarter(p, 1, 1), at_quarter(p, 0, 1)};
}

/// Every marker of the headers, walked by the test itself: FF, marker, length, up to the scan.
std::set<int> markers_of(const std::string& jpeg) {
    std::set<int> found;
    std::size_t at = 2;
    while (at + 4 <= jpeg.size() && jpeg[at] == '\xff') {
        const int marker = std::uint8_t(jpeg[at + 1]);
        found.insert(marker);
        if (marker == 0xda)
            break;
        at += 2 + std::size_t(std::uint8_t(jpeg[at + 2])) * 256 + std::uint8_t(jpeg[at + 3]);
    }
    return found;
}

} // namespace

TEST_CASE("where and when it was taken, and with what, is in what the camera wrote and nowhere in what is kept") {
    for (const bool little : {true, false}) {
        const std::string file = camera::telephone(6, little);
        camera::Tiff second{little, ""};
        second.number(567891, 4);
        second.number(10000, 4);
        const std::vector<std::string> secrets{std::string(camera::make),
                                               std::string(camera::model),
                                               std::string(camera::date),
                                               second.bytes,
                                               "Exif",
                                               "latitude",
                                               "12.5824",
                                               "secret town",
                                               "taken at home",
                                               "Photoshop"};
        const auto taken = take_photo(span_of(file));
        REQUIRE(taken.has_value());
        for (const std::string& secret : secrets) {
            INFO(secret);
            CHECK(file.find(secret) != std::string::npos);
            CHECK(taken->jpeg.find(secret) == std::string::npos);
        }
        CHECK(told_by_photo(span_of(file)) == std::vector<std::string>{"Exif", "a program's own data", "a comment"});
        CHECK(told_by_photo(span_of(taken->jpeg)).empty());
        // JFIF's own, quantisation, frame, Huffman tables, scan; of APPn none but APP0, and no comment.
        CHECK(markers_of(file).contains(0xe1));
        CHECK(markers_of(taken->jpeg) == std::set<int>{0xe0, 0xdb, 0xc0, 0xc4, 0xda});
    }
}

TEST_CASE("a PNG's words are told wherever they stand: also behind its end, and cut off") {
    const std::string png = camera::png(4, 4, 3, std::vector<std::uint8_t>(4 * 4 * 3, 7));
    CHECK(told_by_photo(span_of(png)).empty());
    const std::string text = std::string("\0\0\0\4", 4) + "tEXthomesum!";
    const std::vector<std::string> told{"text"};
    CHECK(told_by_photo(span_of(png + text)) == told);
    CHECK(take_photo(span_of(png + text)).has_value()); // what stands behind the end is none of ours
    std::string cut = png + text;
    cut[png.size()] = '\x7f'; // it says that it has 2 GB
    CHECK(told_by_photo(span_of(cut)) == told);
}

TEST_CASE("Exif's orientation is honoured before it is dropped") {
    // What the eye sees: top left, top right, bottom right, bottom left, of a picture that lies as R G B W. By the
    // standard's words: 6 has row 0 at the right and column 0 at the top, 8 row 0 at the left and column 0 at the
    // bottom, 5 at left and top, 7 at right and bottom; 2 is mirrored, 3 upside down, 4 both.
    const std::array<std::string, 8> seen{"RGBW", "GRWB", "BWRG", "WBGR", "RWBG", "WRGB", "BGRW", "GBWR"};
    for (int orientation = 1; orientation <= 8; ++orientation) {
        for (const bool little : {true, false}) {
            INFO(orientation);
            const std::string file = camera::telephone(orientation, little);
            CHECK(orientation_of_photo(span_of(file)) == orientation);
            const auto pixels = pixels_of_photo(span_of(file));
            REQUIRE(pixels.has_value());
            CHECK(corners(*pixels) == seen[std::size_t(orientation - 1)]);
            CHECK(pixels->width == (orientation < 5 ? 64 : 32));
            // And once taken it stands as it was seen, with nothing left that would turn it again.
            const auto taken = take_photo(span_of(file));
            REQUIRE(taken.has_value());
            CHECK(orientation_of_photo(span_of(taken->jpeg)) == 1);
            CHECK(corners(pixels_of_photo(span_of(taken->jpeg)).value()) == seen[std::size_t(orientation - 1)]);
        }
    }
}

TEST_CASE("an orientation that cannot be is none") {
    using camera::exif, camera::segment, camera::with;
    const std::string plain = camera::four_corners();
    CHECK(orientation_of_photo(span_of(plain)) == 1);
    CHECK(orientation_of_photo(span_of(with(plain, segment(0xe1, exif(9))))) == 1);
    CHECK(orientation_of_photo(span_of(with(plain, segment(0xe1, exif(0))))) == 1);
    std::string far = exif(6);
    far[10] = '\xff'; // the directory begins beyond the end
    far[11] = '\xff';
    CHECK(orientation_of_photo(span_of(with(plain, segment(0xe1, far)))) == 1);
    for (std::size_t cut = 0; cut < 48; ++cut) // ends before the value
        CHECK(orientation_of_photo(span_of(with(plain, segment(0xe1, exif(6).substr(0, cut))))) == 1);
    std::string typed = exif(6);
    typed[6 + 8 + 2 + 24 + 2] = 4; // a long, where the standard has a short
    CHECK(orientation_of_photo(span_of(with(plain, segment(0xe1, typed)))) == 1);
}

TEST_CASE("the longest side is scaled down to 1600 pixels, the other one with it, and nothing is scaled up") {
    const auto flat = [](int, int) { return camera::Colour{90, 120, 60}; };
    struct Case {
        int w, h, ow, oh;
    };
    for (const Case& one : {Case{3200, 2400, 1600, 1200}, Case{1000, 3000, 533, 1600}, Case{1600, 900, 1600, 900},
                            Case{1601, 3, 1600, 3}, Case{6000, 1, 1600, 1}, Case{64, 48, 64, 48}}) {
        INFO(one.w << " x " << one.h);
        const auto taken = take_photo(span_of(camera::jpeg(one.w, one.h, flat)));
        REQUIRE(taken.has_value());
        CHECK(taken->width == one.ow);
        CHECK(taken->height == one.oh);
        const auto size = look_at_photo(span_of(taken->jpeg));
        REQUIRE(size.has_value());
        CHECK(size->width == one.ow);
        CHECK(size->height == one.oh);
    }
}

TEST_CASE("a pixel of the scaled picture is the mean of what it covers") {
    // 3 x 1 to 2 x 1: by hand (2 a + b) / 3 and (b + 2 c) / 3.
    const std::string three = camera::png(3, 1, 3, {30, 0, 255, 60, 90, 255, 120, 240, 255});
    const auto two = pixels_of_photo(span_of(three), 2);
    REQUIRE(two.has_value());
    CHECK(two->width == 2);
    CHECK(two->height == 1);
    CHECK(two->rgb == std::vector<std::uint8_t>{40, 30, 255, 100, 190, 255});
    // A chessboard becomes grey of its mean, not of one of its fields.
    const std::string board =
        camera::png(64, 64, 3, camera::pixels(64, 64, [](int x, int y) {
                        return (x + y) % 2 == 0 ? camera::Colour{200, 200, 200} : camera::Colour{100, 100, 100};
                    }));
    const auto grey = pixels_of_photo(span_of(board), 16);
    REQUIRE(grey.has_value());
    CHECK(std::all_of(grey->rgb.begin(), grey->rgb.end(), [](std::uint8_t c) { return c == 150; }));
}

TEST_CASE("what shines through becomes white") {
    const auto seen = pixels_of_photo(span_of(camera::png(2, 1, 4, {10, 20, 30, 255, 10, 20, 30, 0})));
    REQUIRE(seen.has_value());
    CHECK(seen->rgb == std::vector<std::uint8_t>{10, 20, 30, 255, 255, 255});
}

TEST_CASE("cut off anywhere: refused, never half a picture") {
    const std::string file = camera::telephone(1);
    for (std::size_t size = 0; size < file.size(); size += size < 700 ? 1 : 13) {
        const auto taken = take_photo(span_of(file.substr(0, size)));
        INFO(size);
        CHECK_FALSE(taken.has_value());
    }
    CHECK(why_not(file.substr(0, file.size() - 40)).find("cut off") != std::string::npos);
    const auto colour = [](int x, int y) { return camera::Colour{x * 6, y * 6, (x * y) % 256}; };
    const std::string png = camera::png(40, 40, 3, camera::pixels(40, 40, colour));
    CHECK(take_photo(span_of(png)).has_value());
    for (std::size_t size = 0; size + 12 < png.size(); size += 3) // the last twelve bytes only say that it ends
        CHECK_FALSE(take_photo(span_of(png.substr(0, size))).has_value());
    // What a camera puts behind the end (a second picture, a film) is none of ours.
    CHECK(take_photo(span_of(file + file + "MotionPhoto")).has_value());
}

TEST_CASE("a chunk that says it is longer than the file is refused before there is room made for it") {
    std::string png = camera::png(40, 40, 3, std::vector<std::uint8_t>(40 * 40 * 3, 7));
    const std::size_t data = png.find("IDAT");
    REQUIRE(data != std::string::npos);
    png[data - 4] = '\x3f'; // a gigabyte
    CHECK(why_not(png).find("cut off or damaged") != std::string::npos);
    png[data - 4] = '\x7f'; // and more than stb's own limit
    CHECK(why_not(png).find("cut off or damaged") != std::string::npos);
}

TEST_CASE("a picture that says it is huge is refused before it is decoded") {
    std::string file = camera::four_corners();
    const std::size_t frame = file.find("\xff\xc0");
    REQUIRE(frame != std::string::npos);
    file[frame + 5] = '\x7f'; // height 0x7fff, width 0x7fff: 1,073,676,289 pixels, 3 GB
    file[frame + 6] = '\xff';
    file[frame + 7] = '\x7f';
    file[frame + 8] = '\xff';
    CHECK(why_not(file).find("32767 x 32767 pixels, more than the 50 million") != std::string::npos);
    file[frame + 5] = file[frame + 7] = '\x1c'; // 7168 x 7168 = 51 million
    file[frame + 6] = file[frame + 8] = '\0';
    CHECK(why_not(file).find("more than the 50 million") != std::string::npos);
    file[frame + 5] = '\x17'; // 5888 x 7168 = 42 million: allowed, but not of 1 kB
    CHECK(why_not(file).find("bytes hold no such picture") != std::string::npos);
    std::string png = camera::png(2, 2, 3, std::vector<std::uint8_t>(12, 7));
    png[16] = '\0'; // IHDR: width 16,000,000
    png[17] = '\xf4';
    CHECK_FALSE(take_photo(span_of(png)).has_value());
    CHECK(why_not(std::string("\xff\xd8\xff", 3) + std::string(photo_most_bytes, 'x')).find("Scale it down") !=
          std::string::npos);
}

TEST_CASE("more codes than a table has room for: refused before they are written anywhere") {
    // ITU-T T.81, B.2.4.2: behind the marker, the length and the table's number, how many codes there are of each
    // length.
    const std::string file = camera::four_corners();
    const std::size_t tables = file.find("\xff\xc4");
    REQUIRE(tables != std::string::npos);
    std::string many = file;
    many[tables + 5 + 15] = '\xff';
    many[tables + 5 + 14] = '\xff';
    CHECK(why_not(many).find("damaged") != std::string::npos);
    std::string few = file;
    few[tables + 5 + 15] = '\x7f'; // as many as there is room for, but not in its segment
    CHECK(why_not(few).find("damaged") != std::string::npos);
}

TEST_CASE("a scan without the tables that it is decoded with: refused, not decoded out of whatever lies there") {
    // ITU-T T.81, B.2.3: each component of a scan names its tables; B.2.2: the frame names its steps.
    const std::string file = camera::four_corners();
    CHECK(take_photo(span_of(file)).has_value());
    for (const char* marker : {"\xff\xc4", "\xff\xdb", "\xff\xc0"}) {
        std::string without = file;
        int found = 0;
        for (std::size_t at; (at = without.find(marker)) != std::string::npos; ++found) {
            const auto byte = [&](std::size_t i) { return std::size_t(static_cast<unsigned char>(without[at + i])); };
            without.erase(at, 2 + byte(2) * 256 + byte(3));
        }
        CHECK(found > 0);
        CHECK(why_not(without).find("damaged") != std::string::npos);
    }
    // Of two tables for the same scan only one is there: its number is another.
    std::string other = file;
    const std::size_t tables = other.find("\xff\xc4");
    REQUIRE(tables != std::string::npos);
    other[tables + 4] = static_cast<char>(other[tables + 4] ^ 3);
    CHECK(why_not(other).find("damaged") != std::string::npos);
}

TEST_CASE("other formats are called by their names") {
    const auto padded = [](std::string_view first) { return std::string(first) + std::string(40, '\0'); };
    CHECK(why_not(padded(std::string_view("\0\0\0\x18"
                                          "ftypheic",
                                          12)))
              .find("HEIC") != std::string::npos);
    CHECK(why_not(padded(std::string_view("RIFF\0\0\0\0WEBP", 12))).find("WebP") != std::string::npos);
    CHECK(why_not(padded("GIF89a")).find("GIF") != std::string::npos);
    CHECK(why_not(padded("BM")).find("BMP") != std::string::npos);
    CHECK(why_not(padded(std::string_view("II*\0", 4))).find("TIFF") != std::string::npos);
    CHECK(why_not("").find("empty") != std::string::npos);
    CHECK(why_not("a letter to a friend").find("Save it as JPEG or PNG") != std::string::npos);
}

TEST_CASE("the same picture, the same bytes") {
    const std::string file = camera::telephone(6);
    CHECK(take_photo(span_of(file))->jpeg == take_photo(span_of(file))->jpeg);
}
