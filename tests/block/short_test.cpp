// The doubts about a bolt that is too short for what it is said to hold, or longer than its hole, by stacks of known
// thickness built here.
#include <fstream>

#include "core/geometry/fit.hpp"
#include "core/job/estimated.hpp"
#include "tests/block/made.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// A cover of 10 mm on a frame of 40 mm, and a bolt "b" of that standard through the one into the other.
std::string stack(const std::string& standard, const std::string& more = "", const std::string& of_frame = "") {
    return "frame = { part = true, fixed = true, box = [200, 40, 200]" + of_frame +
           " }\n"
           "cover = { part = true, plate = [100, 100, 10], on = \"top of frame\" }\n"
           "[b]\nstandard = \"" +
           standard + "\"\nholds = \"cover; frame\"\non = \"top of cover\"\n" + more + "\n";
}

std::vector<Finding> doubts_of(const Map& map, bool shapes = true) {
    Job job = shapes ? job_with_shapes(map) : prepare(map);
    std::vector<Finding> found = check(job);
    std::erase_if(found, [](const Finding& f) { return f.rule != "bolt-short" && f.rule != "bolt-bottoms"; });
    for (const Finding& f : found) {
        CHECK(f.weight == Weight::doubt);
        CHECK(f.key == "length_mm");
        CHECK(f.what.starts_with("Estimated: "));
        CHECK_FALSE(f.why.empty());
        CHECK_FALSE(f.remedy.empty());
    }
    return found;
}

std::string too_short(const std::string& recipe) {
    const std::vector<Finding> found = doubts_of(map_of(recipe));
    CHECK(found.size() < 2);
    return found.empty() ? "" : found[0].what;
}

/// The recipe's own bolt drawn as it is there, and another length stated afterwards.
std::string restated(const std::string& recipe, double length_mm) {
    Map map = map_of(recipe);
    for (Fastener& fastener : map.fasteners)
        if (map[fastener.item].name == "b")
            fastener.length_mm = length_mm;
    const std::vector<Finding> found = doubts_of(map);
    CHECK(found.size() < 2);
    return found.empty() ? "" : found[0].what;
}

} // namespace

TEST_CASE("a bolt that ends before it reaches the last part is doubted, however it is drawn") {
    CHECK(too_short(stack("ISO 4017 M8x8")) == "Estimated: 8 mm long, it ends 2 mm short of frame.");
    CHECK(restated(stack("ISO 4017 M8x25"), 6) == "Estimated: 6 mm long, it ends 4 mm short of frame.");
    const Map map = map_of(stack("ISO 4017 M8x8"));
    const std::vector<Finding> found = doubts_of(map);
    REQUIRE(found.size() == 1);
    CHECK(found[0].nodes == std::vector<std::string>{"b", "frame"});
    CHECK(found[0].value == "8");
    CHECK(doubts_of(map, false).empty()); // by what is stated alone
    // A washer of ISO 7089 for M8 is 1.6 mm thick: 10 mm end 1.6 mm before the frame.
    CHECK(too_short(stack("ISO 4017 M8x10", "washer = true")) ==
          "Estimated: 10 mm long, it ends 1.6 mm short of frame.");
}

TEST_CASE("thread that is too little by every practice is doubted, what only some call little is not") {
    // www.sizes.com, "length of engagement": 0.71 to 0.73 diameters in material as strong as the bolt is the least.
    for (const int engaged : {1, 2, 4, 5}) // M8: up to 0.63 diameters
        CHECK_MESSAGE(!too_short(stack("ISO 4017 M8x" + std::to_string(10 + engaged))).empty(), engaged);
    for (const int engaged : {6, 7, 8, 20}) // 0.75 diameters and more
        CHECK_MESSAGE(too_short(stack("ISO 4017 M8x" + std::to_string(10 + engaged))).empty(), engaged);
    CHECK(too_short(stack("ISO 4017 M8x12")) ==
          "Estimated: 2.0 mm of it stand in the thread of frame; one diameter would be 8.0 mm.");
    // Aluminium, stated, wants more (www.drillingscrew.net, named in tests/geometry/fit.cpp: 1.5 diameters).
    CHECK_FALSE(too_short(stack("ISO 4017 M8x17", "", ", material = \"aluminium\"")).empty());
    CHECK(too_short(stack("ISO 4017 M8x19", "", ", material = \"aluminium\"")).empty());
}

TEST_CASE("a nut that the bolt does not reach, or hardly, is doubted") {
    const std::string nut = "nut = true";
    CHECK(too_short(stack("ISO 4014 M8x60", nut)).empty());
    CHECK(too_short(stack("ISO 4014 M8x55", nut)).find("of it stand in the thread of b_nut") != std::string::npos);
    CHECK(restated(stack("ISO 4014 M8x60", nut), 45) == "Estimated: 45 mm long, it ends 5 mm short of its nut.");
    CHECK(restated(stack("ISO 4014 M8x60", nut), 8) == "Estimated: 8 mm long, it ends 42 mm short of its nut.");
    // Stated so short that its nut is drawn where the last part is: both sides of a mirrored pair, whatever the last
    // bit.
    std::ifstream file(BOLTWALK_SOURCE_DIR "/assets/first.toml", std::ios::binary);
    std::string recipe(std::istreambuf_iterator<char>(file), {});
    recipe.replace(recipe.find("M12x90"), 6, "M12x50");
    const std::vector<Finding> found = doubts_of(map_of(recipe));
    REQUIRE(found.size() == 2);
    CHECK(found[0].nodes == std::vector<std::string>{"pump_bolt_left", "frame"});
    CHECK(found[1].nodes == std::vector<std::string>{"pump_bolt_right", "frame"});
    CHECK(found[0].what == "Estimated: 50 mm long, it ends 5 mm short of Frame.");
    // A nut of ISO 4032 for M8 is 6.8 mm high: 56.5 mm leave the last tenth of it empty.
    CHECK(restated(stack("ISO 4014 M8x60", nut), 56.5).empty());
}

TEST_CASE("the maps shipped have none, and one of theirs made short is found") {
    const auto shipped = [](const std::string& name) {
        std::ifstream file(BOLTWALK_SOURCE_DIR "/assets/" + name, std::ios::binary);
        return std::string(std::istreambuf_iterator<char>(file), {});
    };
    CHECK(doubts_of(map_of(shipped("first.toml"))).empty());
    for (const std::string name : {"transfer_box.glb", "water_pump.glb"}) {
        CAPTURE(name);
        const std::string bytes = shipped(name);
        auto map = read_map_bytes(std::as_bytes(std::span(bytes.data(), bytes.size())), name, "");
        REQUIRE(map.has_value());
        CHECK(doubts_of(*map).empty());
        // Any bolt of two parts and more that states a length: 3 mm long it holds nothing.
        std::size_t made = 0;
        for (Fastener& fastener : map->fasteners)
            if (fastener.kind == FastenerKind::bolt && fastener.length_mm && fastener.holds.size() > 1) {
                fastener.length_mm = 3;
                ++made;
            }
        std::size_t found = 0;
        for (const Finding& doubt : doubts_of(*map))
            found += static_cast<std::size_t>(
                std::count_if(doubt.nodes.begin(), doubt.nodes.end(), [&](const std::string& node) {
                    const ItemId item = find_item(*map, node);
                    return item && map->is_fastener(item) && map->fastener(item).kind == FastenerKind::bolt;
                }));
        MESSAGE(name << ": " << found << " of " << made << " bolts made short are doubted");
        CHECK(2 * found > made);
    }
}

TEST_CASE(
    "a bolt that is stated longer than its hole is deep is doubted, one that only comes near to the bottom is not") {
    // Drilled for the 25 mm that it is drawn with, its hole ends 4.8 mm below it.
    const std::string drawn = stack("ISO 4017 M8x25");
    CHECK(restated(drawn, 29).empty());
    CHECK(restated(drawn, 30).empty()); // within what a drawing rounds off
    CHECK(restated(drawn, 34) == "Estimated: it is 4.2 mm longer than its hole in frame is deep.");
    Map map = map_of(drawn);
    map.fasteners.front().length_mm = 34;
    const std::vector<Finding> found = doubts_of(map);
    REQUIRE(found.size() == 1);
    CHECK(found[0].rule == "bolt-bottoms");
    CHECK(found[0].nodes == std::vector<std::string>{"b", "frame"});
    CHECK(doubts_of(map, false).empty());
}

TEST_CASE("alike ones are told once") {
    const std::vector<Finding> found = doubts_of(map_of(stack("ISO 4017 M8x12", "corners = 15")));
    REQUIRE(found.size() == 1);
    CHECK(found[0].nodes.size() == 5); // four bolts and what they go into
    CHECK(found[0].nodes[0] == "b_1");
}

TEST_CASE("where it may be otherwise nothing is said") {
    // No length is stated: a drawing's is no statement.
    CHECK(too_short(stack("ISO 4017 M8", "draw = { length_mm = 12 }")).empty());
    // Through a thin sheet and on: a nut that is not drawn, and a longer one would hold no more.
    const std::string sheet = "frame = { part = true, fixed = true, plate = [200, 200, 3] }\n"
                              "cover = { part = true, plate = [100, 100, 10], on = \"top of frame\" }\n"
                              "[b]\nstandard = \"ISO 4017 M8x25\"\nholds = \"cover; frame\"\non = \"top of cover\"\n";
    CHECK(too_short(sheet).empty());
    // Between cover and frame stands what it is not said to hold: that may hold its thread.
    const std::string pillar = "frame = { part = true, fixed = true, box = [200, 40, 200] }\n"
                               "pillar = { cylinder = [20, 15], on = \"top of frame\" }\n"
                               "cover = { part = true, plate = [100, 100, 10], on = \"top of pillar\" }\n"
                               "[b]\nstandard = \"ISO 4017 M8x20\"\nholds = \"cover; frame\"\non = \"top of cover\"\n"
                               "drill = false\n";
    CHECK(too_short(pillar).empty());
    // Drawn pulled out, its head off what it lies on.
    CHECK(too_short("frame = { part = true, fixed = true, box = [200, 40, 200] }\n"
                    "cover = { part = true, plate = [100, 100, 10], on = \"top of frame\" }\n"
                    "[b]\nstandard = \"ISO 4017 M8x20\"\nholds = \"cover; frame\"\non = \"top of cover, 30 off\"\n"
                    "drill = false\n")
              .empty());
    // Far beyond its end and its drawing's: hardly what it was meant for.
    CHECK(too_short(
              "frame = { part = true, fixed = true, box = [200, 40, 200] }\n"
              "cover = { part = true, plate = [100, 100, 10], on = \"top of frame, 60 off\" }\n"
              "[b]\nstandard = \"ISO 4017 M8x16\"\nholds = \"cover; frame\"\non = \"top of cover\"\ndrill = false\n")
              .empty());
    // Plugs seal: how much thread they have says little.
    CHECK(too_short(stack("ISO 4017 M8x12", "fastener = \"drain_plug\"")).empty());
}

TEST_CASE("nothing is said where what holds the thread may not be modelled, or a longer one would hold no better") {
    const std::string hanging = "on = \"top of cover\"\ndrill = false\n";
    // A cage nut that is not modelled, in a box section's near wall.
    CHECK(too_short("[frame]\npart = true\nfixed = true\n[frame.wall]\nbox = [200, 3, 200]\n"
                    "holes = [{ on = \"top\", d = 13 }]\n[frame.far]\nbox = [200, 3, 200]\nat = [0, -32, 0]\n"
                    "[cover]\npart = true\nplate = [100, 100, 10]\non = \"top of frame.wall\"\n"
                    "[b]\nstandard = \"ISO 4017 M8x20\"\nholds = \"cover; frame\"\n" +
                    hanging)
              .empty());
    // An adjuster's tip in a blind pocket of the lever that it pushes.
    CHECK(too_short("[lever]\npart = true\nbox = [60, 20, 60]\nholes = [{ on = \"top\", d = 9, deep = 4 }]\n"
                    "[cover]\npart = true\nfixed = true\nplate = [100, 100, 12]\non = \"top of lever, 5 off\"\n"
                    "[b]\nstandard = \"ISO 4017 M8x20\"\nholds = \"cover; lever\"\n" +
                    hanging)
              .empty());
    // Flush with the far side of a thin plate that has the thread.
    CHECK(too_short("[plate]\npart = true\nfixed = true\nplate = [60, 60, 4]\n"
                    "[cover]\npart = true\nplate = [60, 60, 8]\non = \"top of plate\"\n"
                    "[b]\nstandard = \"ISO 4017 M8x12\"\nholds = \"cover; plate\"\non = \"top of cover\"\n")
              .empty());
}
