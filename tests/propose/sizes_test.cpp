// Heads and nuts at their standards' dimensions, made by recipes: what is measured is what the tables say.
#include <cmath>
#include <map>
#include <set>

#include <doctest/doctest.h>

#include "core/propose/propose.hpp"
#include "tests/block/made.hpp"

using namespace boltwalk;

namespace {

struct Row {
    const char* standard;
    FastenerKind kind;
    const char* head;
    double flats, length;
    const char* size;
};

Map bare(const std::string& recipe) {
    return as_scenery(testing::map_of(recipe));
}

const std::string cover_on_frame = R"(frame = { part = true, fixed = true, plate = [200, 120, 10] }
cover = { part = true, plate = [200, 120, 6], on = "top of frame" }
)";

/// Of the model as if nobody had said anything of it.
Proposals proposals_as_it_came(const Map& map) {
    const Map nobodys = as_scenery(map);
    return find_proposals(make_solids(nobodys));
}

} // namespace

TEST_CASE("widths across flats and lengths as the standards have them") {
    // Widths: ISO 272 as ISO 4014, 4017 and 4032 have it (M6 10, M8 13, M10 16, M12 18, M16 24), DIN 931 (M10 17, M12
    // 19), EN 1665 (M8 13, M10 15), ISO 4762 (M6 5, M8 6, M10 8), ISO 7380-1 (M8 5), ISO 10642 (M8 5), DIN 934 (M10
    // 17), DIN 935 (M10 17 or 16): the tables of core/standards, whose own sources stand there.
    const auto bolt = FastenerKind::bolt;
    for (const Row& row :
         {Row{"ISO 4017 M6x30", bolt, "hex", 10, 30, "M6"}, Row{"ISO 4014 M8x40", bolt, "hex", 13, 40, "M8"},
          Row{"ISO 4014 M10x50", bolt, "hex", 16, 50, "M10"}, Row{"ISO 4017 M12x30", bolt, "hex", 18, 30, "M12"},
          Row{"ISO 4014 M16x80", bolt, "hex", 24, 80, "M16"}, Row{"DIN 931 M10x40", bolt, "hex", 17, 40, "M10"},
          Row{"DIN 933 M12x40", bolt, "hex", 19, 40, "M12"}, Row{"EN 1665 M8x30", bolt, "hex_flange", 13, 30, "M8"},
          Row{"EN 1662 M10x30", bolt, "hex_flange", 13, 30, "M10"}, Row{"ISO 4762 M6x20", bolt, "cap", 5, 20, "M6"},
          Row{"ISO 4762 M8x30", bolt, "cap", 6, 30, "M8"}, Row{"ISO 4762 M10x30", bolt, "cap", 8, 30, "M10"},
          Row{"ISO 7380-1 M8x30", bolt, "button", 5, 30, "M8"},
          Row{"ISO 10642 M8x30", bolt, "countersunk", 5, 30, "M8"},
          Row{"ISO 4032 M10", FastenerKind::nut, "", 16, 8.4, "M10"},
          Row{"DIN 934 M10", FastenerKind::nut, "", 17, 8, "M10"},
          Row{"ISO 4161 M10", FastenerKind::nut, "", 15, 10, "M10"},
          Row{"DIN 935 M12", FastenerKind::castle_nut, "", 0, 15, "M12"}}) {
        CAPTURE(row.standard);
        const Map map = bare("frame = { part = true, fixed = true, box = [200, 80, 200] }\n[b]\nstandard = \"" +
                             std::string(row.standard) + "\"\nholds = \"frame\"\non = \"top of frame\"\n");
        const Solids solids = make_solids(map);
        const Proposals proposals = find_proposals(solids);
        REQUIRE(proposals.list.size() == 1);
        const Proposal& p = proposals.list[0];
        CHECK(map.nodes[static_cast<std::size_t>(p.node)].name == "b");
        CHECK(p.kind == row.kind);
        CHECK(p.head == row.head);
        if (row.flats > 0)
            CHECK(p.flats_mm == doctest::Approx(row.flats).epsilon(1e-3));
        CHECK(p.length_mm == doctest::Approx(row.length).epsilon(1e-3));
        CHECK(p.sureness == Sureness::fits_table);
        REQUIRE_FALSE(p.sold.empty());
        CHECK(p.sold.front().size == row.size);
        CHECK(p.axis.y > 0.999);
        CHECK(std::abs(p.base.y - 0.04) < 1e-5);
    }
}

TEST_CASE("a cover on a frame: the bolts, their washers and nuts, what they hold, one joint each") {
    const Map map = bare(cover_on_frame + R"([bolts]
standard = "ISO 4014 M8x40"
holds = ["cover", "frame"]
on = "top of cover, 40 from left"
row = { count = 3, step = 60, towards = "right" }
washer = true
nut = true
)");
    const Solids solids = make_solids(map);
    const Proposals proposals = find_proposals(solids);
    int bolts = 0;
    int nuts = 0;
    int washers = 0;
    for (const Proposal& p : proposals.list) {
        CAPTURE(map.nodes[static_cast<std::size_t>(p.node)].name);
        bolts += p.kind == FastenerKind::bolt ? 1 : 0;
        nuts += p.kind == FastenerKind::nut ? 1 : 0;
        washers += p.kind == FastenerKind::washer ? 1 : 0;
        CHECK(p.holds.size() == 2);
        CHECK(p.stacked.size() >= 2);
        CHECK((p.number >= 1 && p.number <= 6));
    }
    CHECK(bolts == 3);
    CHECK(nuts == 3);
    CHECK(washers >= 3);
    // Taken, they make a map that reads without a finding but what only its author knows.
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < proposals.list.size(); ++i)
        all.push_back(i);
    const auto changes = changes_of(map, proposals, all, "M8");
    CHECK(std::count_if(changes.begin(), changes.end(), [](const Change& c) { return c.key == "part"; }) == 2);
    CHECK(std::count_if(changes.begin(), changes.end(), [](const Change& c) { return c.key == "torque"; }) == 0);
}

TEST_CASE("bolts taken first and their nuts afterwards are one joint each all the same") {
    Map half = testing::map_of(cover_on_frame + R"([bolts]
standard = "ISO 4014 M8x30"
holds = ["cover", "frame"]
on = "top of cover, 40 from left"
row = { count = 2, step = 60, towards = "right" }
nut = true
)");
    const Proposals proposals = proposals_as_it_came(half);
    REQUIRE(proposals.list.size() == 4);
    // As if only the bolts had been said so far, by themselves.
    std::vector<std::size_t> nuts;
    for (Fastener& fastener : half.fasteners)
        fastener.joint.clear();
    for (std::size_t i = 0; i < proposals.list.size(); ++i)
        if (proposals.list[i].kind == FastenerKind::nut) {
            nuts.push_back(i);
            half.nodes[static_cast<std::size_t>(proposals.list[i].node)].item = {};
        }
    REQUIRE(nuts.size() == 2);
    std::map<std::string, std::vector<std::int32_t>> joints;
    for (const Change& change : changes_of(half, proposals, nuts))
        if (change.key == "joint")
            joints[change.json].push_back(change.node);
    REQUIRE(joints.size() == 2);
    for (const auto& [joint, nodes] : joints) {
        REQUIRE(nodes.size() == 2);
        CHECK(half.nodes[static_cast<std::size_t>(nodes[0])].name.substr(0, 3) == "nut");
        CHECK(half.nodes[static_cast<std::size_t>(nodes[1])].name.substr(0, 4) == "bolt");
    }
    // A joint that has a name keeps it.
    for (Fastener& fastener : half.fasteners)
        fastener.joint = "mount " + half[fastener.item].name;
    for (const Change& change : changes_of(half, proposals, nuts))
        if (change.key == "joint") {
            CHECK(change.json.find("mount bolt") != std::string::npos);
            CHECK(half.nodes[static_cast<std::size_t>(change.node)].name.find("nut") != std::string::npos);
        }
}

TEST_CASE("a joint is never named like another's, and a part that is drawn as several nodes is held by its own name") {
    Map map = testing::map_of(cover_on_frame + R"([other]
standard = "ISO 4014 M6x30"
holds = ["cover", "frame"]
on = "top of cover, 20 from right, 20 from front"
nut = true
[bolts]
standard = "ISO 4014 M8x30"
holds = ["cover", "frame"]
on = "top of cover, 40 from left"
nut = true
)");
    const Proposals proposals = proposals_as_it_came(map);
    REQUIRE(proposals.list.size() == 4);
    std::vector<std::size_t> taken; // those of the second joint; the first is annotated, and has the name meant for it
    for (std::size_t i = 0; i < proposals.list.size(); ++i) {
        Node& node = map.nodes[static_cast<std::size_t>(proposals.list[i].node)];
        if (node.name.find("other") == std::string::npos) {
            taken.push_back(i);
            node.item = {};
        }
    }
    REQUIRE(taken.size() == 2);
    const std::string meant = "joint " + proposals.list[taken[0]].id;
    for (Fastener& fastener : map.fasteners)
        fastener.joint = map[fastener.item].name.find("other") != std::string::npos ? meant : "";
    // The cover's drawing lies in a node below the cover's own, called otherwise.
    const ItemId cover = find_item(map, "cover");
    const std::int32_t own = map[cover].node;
    map.nodes.push_back(map.nodes[static_cast<std::size_t>(own)]);
    map.nodes.back().name = "cover_drawing";
    map.items[static_cast<std::size_t>(cover.index)].node = static_cast<std::int32_t>(map.nodes.size()) - 1;
    std::set<std::string> joints;
    int holds = 0;
    for (const Change& change : changes_of(map, proposals, taken)) {
        if (change.key == "joint")
            joints.insert(change.json);
        if (change.key == "holds") {
            CHECK(change.json.find("cover_drawing") != std::string::npos);
            ++holds;
        }
        CHECK(change.key != "part");
    }
    CHECK(joints == std::set<std::string>{"\"" + meant + " 2\""});
    CHECK(holds == 2);
}

TEST_CASE("what a body touches") {
    const Map map = bare(R"(
frame = { part = true, fixed = true, box = [200, 20, 200] }
block = { part = true, box = [50, 30, 50], on = "top of frame" }
far = { part = true, box = [20, 20, 20], at = [0, 300, 0] }
)");
    const Solids solids = make_solids(map);
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        if (name_of(solids, static_cast<std::int32_t>(b)) == "block") {
            const auto touches = touched_by(solids, static_cast<std::int32_t>(b));
            REQUIRE(touches.size() == 1);
            CHECK(name_of(solids, touches[0].body) == "frame");
            // Its underside is 2500 of its 11000 mm2.
            CHECK(touches[0].share == doctest::Approx(2500.0 / 11000).epsilon(0.05));
        }
}
