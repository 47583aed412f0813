// How thick a shank is drawn, by bolts drawn here, and the doubt where the thread stated is another.
#include "core/geometry/shank.hpp"
#include "core/job/estimated.hpp"
#include "core/standards/standards.hpp"
#include "tests/block/made.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

const std::string plate_below = "frame = { part = true, fixed = true, box = [200, 40, 200] }\n";

/// A fastener "b" on the frame.
std::string bolt(const std::string& rest) {
    return plate_below + "[b]\nholds = \"frame\"\non = \"top of frame\"\n" + rest + "\n";
}

std::string turned(const std::string& thread, const std::string& outline) {
    return bolt("fastener = \"bolt\"\nthread = \"" + thread + "\"\nturned = " + outline);
}

double drawn(const std::string& recipe) {
    const Map map = map_of(recipe);
    const ItemId id = find_item(map, "b");
    REQUIRE(id);
    return drawn_shank_mm(map, map.fastener(id)).value_or(0);
}

std::string doubted(const std::string& recipe, bool shapes = true) {
    const Map map = map_of(recipe);
    Job job = prepare(map);
    if (shapes)
        reckon_with(job, {});
    for (const Finding& finding : check(job))
        if (finding.rule == "shank-differs") {
            CHECK(finding.weight == Weight::doubt);
            CHECK(finding.key == "thread");
            return finding.what;
        }
    return {};
}

} // namespace

TEST_CASE("what is drawn by a standard has the shank of its thread") {
    int seen = 0;
    for (const HardwareStandard& standard : hardware_standards())
        for (const double d : {4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0}) {
            if (standard.head.empty() || standard.head == "none" || standard.form != ThreadForm::metric ||
                !hardware_size(standard, d))
                continue;
            const std::string size = "M" + print_number(d) + "x" + print_number(5 * d);
            const std::string recipe = bolt("standard = \"" + std::string(standard.name) + " " + size + "\"");
            CAPTURE(recipe);
            // Drawn as a polygon of at least 12 sides whose flats or corners are true: cos 15 degrees is 0.966.
            CHECK(std::abs(drawn(recipe) - d) < 0.036 * d);
            CHECK(doubted(recipe).empty());
            ++seen;
        }
    CHECK(seen > 80);
}

TEST_CASE("a shank of 10 mm is no M12's, and one of 12 mm no M10's") {
    const std::string ten = "[[0, 0], [5, 0], [5, 40], [9, 40], [9, 47], [0, 47]]";
    CHECK(std::abs(drawn(turned("M12", ten)) - 10) < 0.01);
    CHECK(doubted(turned("M12", ten)) == "Estimated: the shank of b is drawn 10 mm thick, and M12 is 12 mm.");
    CHECK(doubted(turned("M8", ten)).find("M8 is 8 mm") != std::string::npos);
    CHECK(doubted(turned("M8", ten), false).empty()); // by what is stated alone
    CHECK(doubted(turned("M10", ten)).empty());
    CHECK(doubted(turned("M10x1.25", ten)).empty());
    CHECK(doubted(turned("3/8-16", ten)).empty()); // 9.5 mm
    // Within the 12 % or the 0.8 mm: a core drawn for the thread of something small.
    CHECK(doubted(turned("M11x1", ten)).empty());
    CHECK(doubted(turned("M5", "[[0, 0], [2.1, 0], [2.1, 20], [4, 20], [4, 24], [0, 24]]")).empty()); // 0.8 mm
}

TEST_CASE("where the shape shows no plain shank nothing is said of it") {
    const std::string rod = "[[0, 0], [5, 0], [5, 40], [0, 40]]";
    const std::string waisted = "[[0, 0], [5, 0], [5, 15], [4, 15], [4, 40], [9, 40], [9, 47], [0, 47]]";
    const std::string tapered = "[[0, 0], [3, 0], [5, 40], [9, 40], [9, 47], [0, 47]]";
    const std::string collar = "[[0, 0], [5, 0], [5, 6], [9, 6], [9, 13], [0, 13]]";
    const std::string pointed = "[[0, 0], [5, 30], [5, 40], [9, 40], [9, 47], [0, 47]]";
    for (const std::string& outline : {rod, waisted, tapered, collar, pointed})
        CHECK_MESSAGE(doubted(turned("M16", outline)).empty(), outline);
    // A plug's thread says little of what is drawn below its head.
    CHECK(drawn(bolt(
              "fastener = \"drain_plug\"\nthread = \"M20x1.5\"\nturned = [[0, 0], [5, 0], [5, 40], [9, 40], [9, 47], "
              "[0, 47]]")) == 0);
}
