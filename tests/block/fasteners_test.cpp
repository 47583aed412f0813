// Hardware at its standards' dimensions, joints, patterns, mirror, drilling.
#include "core/standards/standards.hpp"
#include "tests/block/made.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

const std::string frame = "frame = { part = true, fixed = true, box = [200, 40, 200] }\n";

const Fastener& fastener(const Map& map, std::string_view name) {
    const ItemId id = find_item(map, name);
    REQUIRE_MESSAGE(id, std::string(name));
    return map.fastener(id);
}

glm::dvec3 place_of(const Map& map, const std::string& name) {
    for (const Node& node : map.nodes)
        if (node.name == name)
            return glm::round(glm::dvec3(node.world[12], node.world[13], node.world[14]) * 1e6) / 1e3;
    FAIL(name);
    return {};
}

} // namespace

TEST_CASE("heads and nuts have their standards' dimensions") {
    // Figures: the open data of the FreeCAD fasteners workbench (FsData), read for this test: iso4014head k and s,
    // iso4032def m, iso7089def, iso4762def dk and k, iso7380def dk and k, en1665def dc and k. 18 flats at M12 and the
    // like are ISO 272's.
    struct Row {
        const char* standard;
        double across, height; ///< over the widest of it: flats / cos 30 for hexagons
    };
    const double corner = 2 / std::sqrt(3.0);
    for (const Row& row :
         {Row{"ISO 4017 M6x30", 10 * corner, 4}, Row{"ISO 4014 M8x30", 13 * corner, 5.3},
          Row{"ISO 4014 M10x30", 16 * corner, 6.4}, Row{"ISO 4014 M12x30", 18 * corner, 7.5},
          Row{"DIN 931 M10x30", 17 * corner, 6.4}, Row{"ISO 4762 M8x30", 13, 8}, Row{"ISO 4762 M10x30", 16, 10},
          Row{"ISO 7380-1 M8x30", 14, 4.4}, Row{"EN 1665 M8x30", 18, 8.1}, Row{"EN 1662 M10x30", 20.8, 9.7},
          Row{"ISO 1580 M5x30", 9.5, 3}, Row{"ISO 7045 M5x30", 9.5, 3.7}}) {
        CAPTURE(row.standard);
        const Map map =
            map_of(frame + "[b]\nstandard = \"" + row.standard + "\"\nholds = \"frame\"\non = \"top of frame\"\n");
        const Sums sums = sums_of(map, "b");
        CHECK(sums.open_edges == 0);
        CHECK(sums.volume_mm3 > 0);
        CHECK(sums.high.y == doctest::Approx(20 + row.height).epsilon(1e-4));
        CHECK(sums.low.y == doctest::Approx(20 - 30).epsilon(1e-4));
        CHECK(sums.high.z - sums.low.z == doctest::Approx(row.across).epsilon(2e-4));
        CHECK(sums.worst_normal < 1e-3);
    }
    // Countersunk: flush, its length over all (ISO 10642 M8: dk theoretical 17.92, k 4.96).
    const Map sunk = map_of(frame + "[b]\nstandard = \"ISO 10642 M8x30\"\nholds = \"frame\"\non = \"top of frame\"\n");
    CHECK(sums_of(sunk, "b").high.y == doctest::Approx(20));
    CHECK(sums_of(sunk, "b").low.y == doctest::Approx(-10));
    CHECK(sums_of(sunk, "b").high.z == doctest::Approx(17.92 / 2).epsilon(1e-3));
    // Nuts stand up from their seat: ISO 4032 M10 8.4, DIN 934 8, DIN 935 12, ISO 4161 10.
    for (const auto& [standard, height] : {std::pair{"ISO 4032 M10", 8.4}, std::pair{"DIN 934 M10", 8.0},
                                           std::pair{"DIN 935 M10", 12.0}, std::pair{"ISO 4161 M10", 10.0}}) {
        const std::string which = standard; // clang 14 captures no structured binding
        CAPTURE(which);
        const Map map = map_of(frame + "[n]\nstandard = \"" + which + "\"\nholds = \"frame\"\non = \"top of frame\"\n");
        const Sums sums = sums_of(map, "n");
        CHECK(sums.high.y == doctest::Approx(20 + height).epsilon(1e-4));
        CHECK(sums.low.y == doctest::Approx(20));
        CHECK(sums.open_edges == 0);
        CHECK(sums.volume_mm3 > 0);
    }
}

TEST_CASE("every size of every standard is drawn closed, and its drive is one that is sold") {
    std::size_t sizes = 0;
    for (const HardwareStandard& standard : hardware_standards())
        for (const double d : {3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 20.0, 24.0, 25.4 / 4, 25.4 / 2}) {
            const auto size = hardware_size(standard, d);
            if (!size)
                continue;
            ++sizes;
            const std::string thread =
                standard.form == ThreadForm::unified ? (d < 10 ? "1/4-20 UNC" : "1/2-13 UNC") : "M" + print_number(d);
            CAPTURE(standard.name);
            CAPTURE(thread);
            const Blocked made =
                block_out(frame + "[b]\nstandard = \"" + std::string(standard.name) + "\"\ndraw = { thread = \"" +
                          thread + "\", length_mm = 40 }\nholds = \"frame\"\non = \"top of frame\"\n");
            const Map map = read_back(made);
            CHECK_MESSAGE(map.findings.empty(), all_notes(made));
            const Sums sums = sums_of(map, "b");
            CHECK(sums.open_edges == 0);
            CHECK(sums.volume_mm3 > 0);
        }
    CHECK(sizes > 150);
}

TEST_CASE("a designation states what is in it and nothing else") {
    const Map map = map_of(frame + R"(
[a]
standard = "ISO 4017 - M10x1.25x40 - 10.9"
holds = "frame"
on = "top of frame, 30 from left"
[b]
fastener = "bolt"
thread = "M8"
length_mm = 20
holds = "frame"
on = "top of frame"
[c]
fastener = "bolt"
draw = { thread = "M8", length_mm = 20 }
holds = "frame"
on = "top of frame, 30 from right"
)");
    CHECK(fastener(map, "a").kind == FastenerKind::bolt);
    CHECK(fastener(map, "a").thread->name == "M10x1.25");
    CHECK(fastener(map, "a").length_mm == 40.0);
    CHECK(fastener(map, "a").grade == "10.9");
    CHECK(fastener(map, "a").head == "hex");
    CHECK(fastener(map, "a").drive->name == "hex 16");
    CHECK_FALSE(fastener(map, "a").torque.has_value());
    CHECK_FALSE(fastener(map, "b").drive.has_value());
    CHECK(fastener(map, "b").head.empty());
    CHECK_FALSE(fastener(map, "c").thread.has_value());
    CHECK_FALSE(fastener(map, "c").length_mm.has_value());
}

TEST_CASE("patterns: places, numbers and one mesh for all") {
    const Map map = map_of(frame + R"(
[row_bolts]
standard = "ISO 4017 M6x16"
holds = "frame"
torque = "9 N·m"
on = "top of frame, 20 from left, 30 from front"
row = { count = 3, step = 25, towards = "rear" }
[ring_bolts]
standard = "ISO 4017 M6x16"
holds = "frame"
on = "top of frame"
circle = { count = 4, diameter = 50 }
[corner_bolts]
standard = "ISO 4017 M6x16"
holds = "frame"
on = "bottom of frame"
corners = 15
each = "edge_bolt"
[grid_bolts]
standard = "ISO 4017 M6x16"
holds = "frame"
on = "front of frame"
grid = { count = [3, 2], step = [40, 20] }
)");
    CHECK(map.findings.empty());
    CHECK(place_of(map, "row_bolt_1") == glm::dvec3(80, 20, 70));
    CHECK(place_of(map, "row_bolt_3") == glm::dvec3(80, 20, 20));
    CHECK(fastener(map, "row_bolt_2").torque->stages[0].high_nm == doctest::Approx(9));
    // Clockwise from the front as seen from above: front, right, rear, left.
    CHECK(place_of(map, "ring_bolt_1") == glm::dvec3(0, 20, 25));
    CHECK(place_of(map, "ring_bolt_2") == glm::dvec3(-25, 20, 0));
    CHECK(place_of(map, "ring_bolt_4") == glm::dvec3(25, 20, 0));
    CHECK(place_of(map, "edge_bolt_1") == glm::dvec3(85, -20, 85));
    CHECK(place_of(map, "edge_bolt_2") == glm::dvec3(-85, -20, 85));
    CHECK(place_of(map, "edge_bolt_3") == glm::dvec3(-85, -20, -85));
    CHECK(place_of(map, "grid_bolt_1") == glm::dvec3(40, 10, 100));
    CHECK(place_of(map, "grid_bolt_4") == glm::dvec3(40, -10, 100));
    CHECK(map.groups.size() == 4);
    CHECK(map.groups[0].title == "Row bolts");
    CHECK(map.meshes.size() == 2);
    // A head looks out of its face.
    CHECK(sums_of(map, "edge_bolt_1").low.y == doctest::Approx(-24));
    CHECK(sums_of(map, "grid_bolt_1").high.z == doctest::Approx(104));
}

TEST_CASE("a joint: bolt, washers and nut, each in its place along it") {
    const Map map = map_of(frame + R"(
[cover]
part = true
plate = [60, 60, 10]
on = "top of frame"
[cover_bolt]
standard = "ISO 4014 M10x80"
holds = "cover; frame"
on = "top of cover"
washer = true
nut = { standard = "ISO 4032", torque = "45 N·m", from = "under" }
)");
    CHECK(map.findings.empty());
    const Fastener& bolt = fastener(map, "cover_bolt");
    const Fastener& nut = fastener(map, "cover_nut");
    CHECK(nut.kind == FastenerKind::nut);
    CHECK(bolt.joint == nut.joint);
    CHECK(bolt.joint == fastener(map, "cover_washer").joint);
    CHECK(fastener(map, "cover_nut_washer").kind == FastenerKind::washer);
    CHECK(bolt.stack == 1);
    CHECK(nut.stack == 4);
    CHECK(nut.torque.has_value());
    CHECK_FALSE(bolt.torque.has_value());
    CHECK(nut.thread->name == "M10");
    CHECK(nut.drive->name == "hex 16");
    // 2 mm of washer (ISO 7089 M10) under the head at 30 and above the nut at -20.
    CHECK(place_of(map, "cover_bolt") == glm::dvec3(0, 32, 0));
    CHECK(place_of(map, "cover_washer") == glm::dvec3(0, 30, 0));
    CHECK(place_of(map, "cover_nut") == glm::dvec3(0, -22, 0));
    CHECK(sums_of(map, "cover_nut").low.y == doctest::Approx(-30.4).epsilon(1e-4));
    // Both are gone through: 11 mm by ISO 273.
    const double hole = outer_polygon_area(11, 20);
    CHECK(sums_of(map, "cover").volume_mm3 == doctest::Approx(10 * (3600 - hole)).epsilon(1e-4));
    CHECK(sums_of(map, "frame").volume_mm3 == doctest::Approx(40 * (40000 - hole)).epsilon(1e-4));
}

TEST_CASE("what a bolt holds is drilled: through, then tapped and blind; not with drill = false") {
    const std::string recipe = frame + R"(
[cover]
part = true
plate = [60, 60, 10]
on = "top of frame"
[bolts]
standard = "ISO 4017 M8x25"
holds = "cover; frame"
on = "top of cover"
corners = 12
)";
    const Map map = map_of(recipe);
    const double clear = outer_polygon_area(9, 20);
    CHECK(sums_of(map, "cover").volume_mm3 == doctest::Approx(10 * (3600 - 4 * clear)).epsilon(1e-4));
    // 15 mm of shank and 0.6 diameters below it, in M8's own width.
    CHECK(sums_of(map, "frame").volume_mm3 ==
          doctest::Approx(40 * 40000 - 4 * (15 + 0.6 * 8) * outer_polygon_area(8, 20)).epsilon(1e-4));
    const Map whole = map_of(recipe + "drill = false\n");
    CHECK(sums_of(whole, "cover").volume_mm3 == doctest::Approx(36000));
}

TEST_CASE("mirrored: geometry and names; hand, length and torque only when said") {
    const Map map = map_of(frame + R"(
[ear_left]
part = "Left ear"
extruded = { outline = [[0, 0], [40, 0], [0, 30]], height = 10 }
on = "top of frame, 10 from left"
mirror = true
way = "left 40 mm; up 300 mm"
note = "grease the left lip"
[ear_left_bolts]
standard = "ISO 4017 M6x20"
hand = "left"
torque = "9 N·m"
from = "left"
holds = "ear_left; frame"
on = "top of ear_left, 30 from left, 8 from rear"
row = { count = 2, step = 8, towards = "front" }
mirror = { length_mm = 25, torque = "12 N·m" }
[mid_bolt]
standard = "ISO 4017 M6x16"
holds = "frame"
on = "top of frame, 90 from left, 20 from front"
mirror = true
)");
    const Sums left = sums_of(map, "ear_left");
    const Sums right = sums_of(map, "ear_right");
    CHECK(right.low.x == doctest::Approx(-left.high.x));
    CHECK(right.high.x == doctest::Approx(-left.low.x));
    CHECK(right.volume_mm3 == doctest::Approx(left.volume_mm3));
    CHECK(right.open_edges == 0);
    CHECK(right.worst_normal < 1e-4);
    const Part& ear = map.part(find_item(map, "ear_right"));
    CHECK(map[ear.item].title == "Right ear");
    CHECK(ear.way[0].way == Way::right);
    CHECK(map[ear.item].note == "grease the left lip");
    const Fastener& bolt = fastener(map, "ear_right_bolt_2");
    CHECK(map[bolt.holds[0]].name == "ear_right");
    CHECK(map[bolt.item].from == Place::right);
    CHECK(bolt.hand == Hand::left);
    CHECK(bolt.length_mm == 25.0);
    CHECK(bolt.torque->stages[0].high_nm == doctest::Approx(12));
    CHECK(fastener(map, "ear_left_bolt_2").length_mm == 20.0);
    CHECK(place_of(map, "ear_right_bolt_2").x == -place_of(map, "ear_left_bolt_2").x);
    CHECK(place_of(map, "mid_bolt_1") == glm::dvec3(10, 20, 80));
    CHECK(place_of(map, "mid_bolt_2") == glm::dvec3(-10, 20, 80));
    CHECK(map.findings.empty());
}

TEST_CASE("a note that says left is copied as it is, and that is told") {
    const Blocked made =
        block_out(frame + "[a_left]\npart = true\nbox = [9, 9, 9]\non = \"top of frame, 9 from left\"\n"
                          "mirror = true\nafter = \"frame\"\nnote = \"mind the left lip\"\n");
    CHECK_FALSE(made.glb.empty());
    REQUIRE(made.notes.size() == 1);
    CHECK(made.notes[0].weight == Weight::doubt);
    CHECK(made.notes[0].line == 8);
}

TEST_CASE("a group and its members, other fasteners by their own shape, tasks, scene") {
    const Blocked made = block_out(R"(
scene = { job = "J", target = "cover", caution = "Hot; Eyes" }
frame = { part = true, fixed = true, box = [200, 40, 200] }
cover = { part = "Cover", plate = [60, 60, 10], on = "top of frame" }
drain = { task = "Drain it", does = "drain", to = "cover", when = "strip" }
[cover_bolts]
group = "Cover bolts"
standard = "ISO 4017 M6x25"
holds = "cover; frame"
[cover_bolt_long]
in = "cover_bolts"
length_mm = 40
on = "top of cover, 10 from left"
[cover_bolt]
in = "cover_bolts"
on = ["top of cover, 10 from right", "top of cover, 10 from front"]
[cover_clip]
fastener = "clip"
holds = ["cover", "frame"]
box = [6, 3, 6]
on = "top of cover"
[wall]
box = [10, 300, 300]
at = [300, 0, 0]
)");
    const Map map = read_back(made);
    CHECK_MESSAGE(made.notes.empty(), all_notes(made));
    CHECK(map.job == "J");
    CHECK(map.cautions.size() == 2);
    CHECK(map.tasks.size() == 1);
    CHECK(fastener(map, "cover_bolt_long").length_mm == 40.0);
    CHECK(fastener(map, "cover_bolt_2").length_mm == 25.0);
    CHECK(fastener(map, "cover_bolt_2").drive->name == "hex 10");
    CHECK(map.groups.size() == 1);
    CHECK(map.groups[0].members.size() == 3);
    CHECK(sums_of(map, "cover_clip").low.y == doctest::Approx(30));
    CHECK(sums_of(map, "wall").low.x == doctest::Approx(295));
    CHECK(made.fasteners == 4);
}
