// The big demo map, broken in one way at a time: each gives exactly the finding that is meant, at the node that is
// meant.
#include <fstream>

#include <doctest/doctest.h>

#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

struct Edit {
    const char* node; ///< empty: the scene
    const char* key;
    const char* json; ///< empty: the key goes
};

struct Broken {
    std::string what;
    std::vector<Edit> edits;
    Names rules; ///< every fault and doubt that is to be found, in the order of `check`
    const char* node;
};

std::string big_map() {
    std::ifstream file(BOLTWALK_SOURCE_DIR "/assets/transfer_box.glb", std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

std::span<const std::byte> bytes(const std::string& text) {
    return std::as_bytes(std::span(text.data(), text.size()));
}

std::int32_t node_of(const Map& map, const std::string& name) {
    for (std::size_t i = 0; i < map.nodes.size(); ++i)
        if (map.nodes[i].name == name)
            return static_cast<std::int32_t>(i);
    return -1;
}

} // namespace

TEST_CASE("the demo maps check clean") {
    for (const char* name : {"transfer_box.glb", "water_pump.glb"}) {
        const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR "/assets/") + name);
        REQUIRE(map);
        CHECK_MESSAGE(rules_of(check(prepare(*map))) == Names{}, name);
    }
}

TEST_CASE("the big map broken in one way at a time") {
    const std::string file = big_map();
    const auto whole = read_map_bytes(bytes(file), "transfer_box.glb", "");
    REQUIRE(whole);
    const std::vector<Broken> variants{
        {"box propped after its mounts are undone", {{"prop_box", "step", "64"}}, {"prop-late"}, "transfer_box"},
        {"skid plate off before its bolts", {{"skid_bolts", "step", "7"}}, {"joined"}, "skid_plate"},
        {"castle nut before its pin",
         {{"steady_split_pin", "step", "50"}, {"break_taper", "after", ""}},
         {"secured"},
         "steady_castle_nut"},
        {"drain opened before the fill plug is proven",
         {{"prove_fill_plug", "step", "9"}},
         {"fill-not-proven"},
         "fill_plug"},
        {"shaft drawn before its mark",
         {{"mark_front_shaft", "step", "19"}, {"mark_front_shaft", "needs", ""}, {"hold_shafts", "after", ""}},
         {"mark-late"},
         "front_shaft"},
        {"work from under on its wheels",
         {{"raise_vehicle", "step", "8"}, {"check_stands", "step", "9"}, {"prove_fill_plug", "after", ""}},
         {"vehicle"},
         "skid_bolt_1"},
        {"oil right before the spanner",
         {{"soak_nuts", "step", "25"},
          {"raise_vehicle", "after", ""},
          {"soak_nuts", "needs", ""},
          {"soak_nuts", "from", "\"under\""}},
         {"soak-late"},
         "tail_clamp"},
        {"bolts before their nuts", {{"front_shaft_box_bolts", "step", "16"}}, {"joint-order"}, "front_box_bolt_1"},
        {"held by a shaft that is off already",
         {{"front_shaft_box_nuts", "held_through", "\"skid_plate\""}},
         {"hold-lost"},
         "front_box_nut_1"},
        {"the author's order against the author's `after`",
         {{"skid_plate", "after", "\"crossmember\""}},
         {"lock"}, // the crossmember's own `after` names the skid plate
         "skid_plate"},
        {"a tail that nothing holds once the crossmember is off",
         {{"gearbox_tail", "support", ""},
          {"gearbox_tail", "mass_kg", ""},
          {"gearbox_tail", "carried_by", ""},
          {"prop_tail", "does", ""},
          {"prop_tail", "to", ""}},
         {"hangs-on-nothing"},
         "gearbox_tail"},
        {"each waits for the other on the way back",
         {{"heat_shield", "refit_after", "\"exhaust_run\""}, {"exhaust_run", "refit_after", "\"heat_shield\""}},
         {"refit-after"},
         "heat_shield"},
        {"heavy with no support", {{"crossmember", "mass_kg", "30"}}, {"heavy-unsupported"}, "crossmember"},
        {"the target is the body that stays", {{"transfer_box", "fixed", "true"}}, {"target-fixed"}, "transfer_box"},
        {"the manual counts another bolt", {{"skid_bolts", "count", "7"}}, {"count"}, "skid_bolts"},
        {"a key misspelt", {{"skid_bolt_1", "torqe", "\"22 N·m\""}}, {"unknown-key"}, "skid_bolt_1"},
        {"a torque with no unit", {{"skid_bolts", "torque", "\"22\""}}, {"unreadable-value"}, "skid_bolts"},
        {"holds what is no part", {{"skid_bolts", "holds", "\"skid_plate;frme\""}}, {"unknown-name"}, "skid_bolts"},
        {"a torque in the other unit",
         {{"heat_shield_bolts", "torque", "\"80 lbf·ft\""}},
         {"unit-mixed-up"},
         "heat_shield_bolt_1"},
        {"a torque that the bolt cannot bear",
         {{"heat_shield_bolts", "torque", "\"40 N·m\""}},
         {"beyond-yield"},
         "heat_shield_bolt_1"},
        {"a drive that no such thread is sold with",
         {{"skid_bolts", "drive", "\"hex 11\""}},
         {"drive-not-sold"},
         "skid_bolts"},
        {"a grade that a spreadsheet took for a date",
         {{"skid_bolts", "grade", "\"08. Aug\""}},
         {"grade-unknown"},
         "skid_bolts"},
        {"a grade that no standard has", {{"skid_bolt_1", "grade", "\"banana\""}}, {"grade-unknown"}, "skid_bolt_1"},
    };
    for (const Broken& broken : variants) {
        CAPTURE(broken.what);
        std::vector<Change> changes;
        for (const Edit& edit : broken.edits) {
            const std::int32_t node = node_of(*whole, edit.node);
            REQUIRE_MESSAGE(node >= 0, edit.node);
            changes.push_back({node, edit.key, edit.json});
        }
        const auto written = write_changes(bytes(file), changes);
        REQUIRE(written);
        const auto map = read_map_bytes(bytes(*written), "broken.glb", "");
        REQUIRE(map);
        const std::vector<Finding> findings = check(prepare(*map));
        std::string told;
        for (const Finding& finding : findings)
            told += finding.weight == Weight::note ? "" : finding.what + "\n";
        CAPTURE(told);
        CHECK(rules_of(findings) == broken.rules);
        if (rules_of(findings) == broken.rules) {
            const auto& nodes = findings.front().nodes;
            CHECK_MESSAGE(std::find(nodes.begin(), nodes.end(), broken.node) != nodes.end(), nodes);
            CHECK(!findings.front().remedy.empty());
        }
    }
}
