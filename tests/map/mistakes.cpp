// Every mistake that reading finds: node, key, value, remedy.

#include "tests/map/tiny.hpp"

using namespace boltwalk;
using namespace tiny;

namespace {

/// A fastener "b" with these keys has exactly one finding of that rule, on that key, and the value is not used.
Finding bolt_finding(const std::string& keys, std::string_view rule, Weight weight, std::string_view key) {
    const Map map = map_of(with_bolt(keys));
    CHECK_MESSAGE(map.findings.size() == 1, list(map));
    return only(map, rule, weight, key, "b");
}
Finding part_finding(const std::string& keys, std::string_view rule, Weight weight, std::string_view key) {
    const Map map = map_of(with_part(keys));
    CHECK_MESSAGE(map.findings.size() == 1, list(map));
    return only(map, rule, weight, key, "p");
}

} // namespace

TEST_CASE("an unknown key close to a known one") {
    const Finding f = bolt_finding(R"("torqe":"64 N·m")", "unknown-key", Weight::doubt, "torqe");
    CHECK(f.value == "64 N·m");
    CHECK(contains(f.remedy, "torque"));
    bolt_finding(R"("Thread":"M8")", "unknown-key", Weight::doubt, "Thread");
    CHECK(contains(bolt_finding(R"("length":30)", "unknown-key", Weight::doubt, "length").remedy, "length_mm"));
}

TEST_CASE("a misspelt marker in a file that has no other") {
    const Map map = map_of(gltf(R"({"name":"b","mesh":0,"extras":{"fastner":"bolt"}})"));
    only(map, "unknown-key", Weight::doubt, "fastner", "b");
    CHECK(findings_of(map, "not-annotated").empty());
}

TEST_CASE("a misspelt key of the scene") {
    const Map map = map_of(gltf(with_parts(""), R"({"nodes":[0,1,2],"extras":{"targt":"cover"}})"));
    CHECK(contains(only(map, "unknown-key", Weight::doubt, "targt", "").remedy, "target"));
}

TEST_CASE("a number with a wrong unit") {
    const Finding f = part_finding(R"("mass_kg":"95 lb")", "wrong-unit", Weight::fault, "mass_kg");
    CHECK(f.value == "95 lb");
    CHECK(contains(f.remedy, "43.09"));
    CHECK(contains(bolt_finding(R"("length_mm":"2 in")", "wrong-unit", Weight::fault, "length_mm").remedy, "50.8"));
    part_finding(R"("lower":"3 kg")", "wrong-unit", Weight::fault, "lower");
    bolt_finding(R"("soak_min":"2 h")", "wrong-unit", Weight::fault, "soak_min");
    part_finding(R"("amount_l":"a pint")", "wrong-unit", Weight::fault, "amount_l");
}

TEST_CASE("a torque without a unit, or with another quantity's") {
    CHECK(bolt_finding(R"("torque":64)", "unreadable-value", Weight::fault, "torque").value == "64");
    bolt_finding(R"("torque":"64")", "unreadable-value", Weight::fault, "torque");
    bolt_finding(R"("torque":"64 mm")", "unreadable-value", Weight::fault, "torque");
    bolt_finding(R"("torque":"78..69 N·m")", "unreadable-value", Weight::fault, "torque");
    CHECK_FALSE(fastener(map_of(with_bolt(R"("torque":64)")), "b").torque.has_value());
}

TEST_CASE("a grade that no standard has, or that a spreadsheet took for a date") {
    CHECK(contains(bolt_finding(R"("grade":"banana")", "grade-unknown", Weight::doubt, "grade").remedy, "ISO 898-1"));
    const Finding date = bolt_finding(R"("grade":"08. Aug")", "grade-unknown", Weight::doubt, "grade");
    CHECK(contains(date.what, "looks like a date"));
    CHECK(contains(date.remedy, "Was it 8.8? "));
    CHECK(contains(date.remedy, "column of text"));
    bolt_finding(R"("grade":45512)", "grade-unknown", Weight::doubt,
                 "grade"); // the same day as a spreadsheet counts it
    CHECK_FALSE(
        contains(bolt_finding(R"("grade":"01. Dez")", "grade-unknown", Weight::doubt, "grade").remedy, "Was it"));
    // What is made to no class may be called anything.
    const Map clip = map_of(gltf(with_parts(
        R"({"name":"b","mesh":0,"extras":{"fastener":"clip","holds":"frame;cover","grade":"spring steel"}})")));
    CHECK_MESSAGE(clip.findings.empty(), list(clip));
}

TEST_CASE("values that are not of the key's form") {
    for (const char* keys : {R"("thread":"ten")",
                             R"("drive":"hex")",
                             R"("length_mm":-3)",
                             R"("length_mm":0)",
                             R"("length_mm":60000)",
                             R"("stack":-1)",
                             R"("stack":1.5)",
                             R"("step":-1)",
                             R"("step":2.5)",
                             R"("step":"first")",
                             R"("people":0)",
                             R"("people":1e9)",
                             R"("renew":"maybe")",
                             R"("renew":2)",
                             R"("needs":"on the moon")",
                             R"("needs":"stands; wheels down")",
                             R"("axis":"up")",
                             R"("axis":[0,0,0])",
                             R"("axis":[1,2])",
                             R"("passes":"many")",
                             R"("passes":0)",
                             R"("passes":"60 %; 30 %; 100 %")",
                             R"("passes":"30 %; 60 %")",
                             R"("torque":{"value":64})",
                             R"("torque":null)",
                             R"("note":["a"])",
                             R"("torque":[64])"}) {
        CAPTURE(keys);
        const std::string key = std::string(keys).substr(1, std::string(keys).find('"', 1) - 1);
        bolt_finding(keys, "unreadable-value", Weight::fault, key);
    }
    for (const char* keys : {R"("way":"sideways 3 mm")", R"("way":"down")", R"("mass_kg":-4)", R"("lower":-2)",
                             R"("turns":"around")", R"("fixed":"perhaps")"}) {
        CAPTURE(keys);
        const std::string key = std::string(keys).substr(1, std::string(keys).find('"', 1) - 1);
        part_finding(keys, "unreadable-value", Weight::fault, key);
    }
}

TEST_CASE("words that a key does not know: the near one is offered") {
    CHECK(contains(bolt_finding(R"("from":"uner")", "unknown-word", Weight::fault, "from").remedy, "under"));
    CHECK(contains(bolt_finding(R"("head":"hex-flange")", "unknown-word", Weight::fault, "head").remedy, "hex_flange"));
    CHECK(contains(bolt_finding(R"("hand":"sinister")", "unknown-word", Weight::fault, "hand").remedy, "right, left"));
    bolt_finding(R"("turn":"both")", "unknown-word", Weight::fault, "turn");
    bolt_finding(R"("frees_when":"loose")", "unknown-word", Weight::fault, "frees_when");
    bolt_finding(R"("counter_from":"sky")", "unknown-word", Weight::fault, "counter_from");
    CHECK(contains(part_finding(R"("support":"jacks")", "unreadable-value", Weight::fault, "support").remedy, "jack"));
    const Map kind = map_of(gltf(with_parts(R"({"name":"x","extras":{"fastener":"blot","holds":"frame;cover"}})")));
    CHECK(contains(only(kind, "unknown-word", Weight::fault, "fastener", "x").remedy, "bolt"));
    const Map task = map_of(gltf(with_parts(R"({"name":"x","extras":{"task":"x","when":"never","does":"dig"}})")));
    CHECK(findings_of(task, "unknown-word").size() == 2);
}

TEST_CASE("a name in holds that is no part") {
    const Map unknown = map_of(gltf(with_parts(R"({"name":"b","extras":{"fastener":"bolt","holds":"frame;covr"}})")));
    const Finding f = only(unknown, "unknown-name", Weight::fault, "holds", "b");
    CHECK(f.value == "covr");
    CHECK(contains(f.remedy, "\"cover\""));
    CHECK(names(unknown, fastener(unknown, "b").holds) == std::vector<std::string>{"frame"});

    const Map wrong = map_of(gltf(with_parts(R"({"name":"b","extras":{"fastener":"bolt","holds":"frame;b0"}})")));
    CHECK(only(wrong, "wrong-kind", Weight::fault, "holds", "b").value == "b0");

    const Map plain = map_of(
        gltf(with_parts(R"({"name":"wall","mesh":0},{"name":"b","extras":{"fastener":"bolt","holds":"frame;wall"}})")));
    CHECK(contains(only(plain, "unknown-name", Weight::fault, "holds", "b").remedy, "Say on that node"));

    const Map capital = map_of(gltf(with_parts(R"({"name":"b","extras":{"fastener":"bolt","holds":"frame;Cover"}})")));
    CHECK(contains(only(capital, "unknown-name", Weight::fault, "holds", "b").remedy, "\"cover\""));
}

TEST_CASE("names of the wrong kind elsewhere") {
    bolt_finding(R"("secures":"cover")", "wrong-kind", Weight::fault, "secures");
    bolt_finding(R"("leaves_with":"b0")", "wrong-kind", Weight::fault, "leaves_with");
    bolt_finding(R"("captive_in":"nowhere")", "unknown-name", Weight::fault, "captive_in");
    bolt_finding(R"("leaves_with":"frame;cover")", "one-only", Weight::fault, "leaves_with");
    bolt_finding(R"("torque_after":"wheels dwon")", "unknown-name", Weight::fault, "torque_after");
    part_finding(R"("carried_by":"frame")", "wrong-kind", Weight::fault, "carried_by");
    bolt_finding(R"("after":"b")", "names-itself", Weight::fault, "after");
    const Map target = map_of(gltf(with_parts(""), R"({"nodes":[0,1,2],"extras":{"target":"b0"}})"));
    only(target, "wrong-kind", Weight::fault, "target", "b0");
    const Map none = map_of(gltf(with_parts(""), R"({"nodes":[0,1,2],"extras":{"target":"covers"}})"));
    CHECK(contains(only(none, "unknown-name", Weight::fault, "target", "").remedy, "\"cover\""));
}

TEST_CASE("a mistake in a group is told once, at the group") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"g","children":[4,5,6],"extras":{"group":"g","fastener":"bolt","torque":"22","holds":"frame;cove","drive":"hex 13"}},)"
        R"({"name":"g1","mesh":0},{"name":"g2","mesh":0},{"name":"g3","mesh":0})")));
    only(map, "unreadable-value", Weight::fault, "torque", "g");
    only(map, "unknown-name", Weight::fault, "holds", "g");
    CHECK_MESSAGE(map.findings.size() == 2, list(map));
}

TEST_CASE("two nodes of one name, where an item is one of them") {
    const Map two = map_of(gltf(with_parts(R"({"name":"cover","mesh":0})")));
    const Finding f = only(two, "two-of-one-name", Weight::fault, "", "cover");
    CHECK(f.nodes.size() == 2);
    // Scenery may repeat itself.
    CHECK(map_of(gltf(with_parts(R"({"name":"wall","mesh":0},{"name":"wall","mesh":0})"))).findings.empty());
    const Map three = map_of(gltf(with_parts(
        R"({"name":"b","extras":{"fastener":"bolt","holds":"cover"}},{"name":"b","extras":{"fastener":"bolt","holds":"cover"}})")));
    only(three, "two-of-one-name", Weight::fault, "", "b");
}

TEST_CASE("two items of one id") {
    const Map map = map_of(gltf(
        R"({"name":"frame","extras":{"part":"frame","fixed":true,"id":"k"}},{"name":"cover","extras":{"part":"cover","fixed":true,"id":"k"}})"));
    CHECK(only(map, "two-of-one-id", Weight::fault, "id", "cover").nodes.size() == 2);
}

TEST_CASE("names that nobody can refer to") {
    const Map map = map_of(gltf(with_parts(R"({"name":"a;b","extras":{"part":"x","after":"cover"}})")));
    only(map, "name-with-semicolon", Weight::fault, "", "a;b");
    const Map unnamed = map_of(gltf(with_parts(R"({"extras":{"part":"x","after":"cover"}})")));
    only(unnamed, "unnamed", Weight::doubt, "", "node 3");
    const Map unseen = map_of(gltf(with_parts(R"({"name":"pump\u202e","extras":{"part":"x","after":"cover"}})")));
    only(unseen, "name-unseen", Weight::doubt, "", "pump\xe2\x80\xae");
}

TEST_CASE("keys on the mesh instead of the node") {
    const std::string mesh = R"({"fastener":"bolt","torque":"22 N·m"})";
    const Map map = map_of(gltf(with_parts(R"({"name":"b","mesh":0})"), "", mesh));
    const Finding f = only(map, "on-mesh", Weight::doubt, "fastener, torque", "b");
    CHECK(contains(f.remedy, "Object"));
    // Where the node itself says what it is, the mesh's copy does no harm.
    CHECK(map_of(gltf(with_parts(R"({"name":"b","mesh":0,"extras":{"fastener":"bolt","holds":"cover"}})"), "", mesh))
              .findings.empty());
    // In a file that has nothing else it is said as well.
    const Map alone = map_of(gltf(R"({"name":"b","mesh":0})", "", mesh));
    only(alone, "on-mesh", Weight::doubt, "fastener, torque", "b");
}

TEST_CASE("a mirrored, stretched or vanished fastener") {
    const auto scaled = [](const std::string& transform) {
        return map_of(gltf(with_parts(R"({"name":"b","mesh":0,)" + transform +
                                      R"(,"extras":{"fastener":"bolt","holds":"frame;cover"}})")));
    };
    CHECK(contains(only(scaled(R"("scale":[-1,1,1])"), "scale", Weight::doubt, "scale", "b").what, "mirrored"));
    CHECK(contains(only(scaled(R"("scale":[0.5,1,0.5])"), "scale", Weight::doubt, "scale", "b").what, "stretched"));
    CHECK(contains(only(scaled(R"("scale":[1,0,1])"), "scale", Weight::doubt, "scale", "b").what, "nothing"));
    // Sheared, by a matrix.
    only(scaled(R"("matrix":[1,0,0,0,0.5,0.8660254,0,0,0,0,1,0,0,0,0,1])"), "scale", Weight::doubt, "scale", "b");
    // Uniform, twice mirrored, turned: nothing to say. Rounding of exporters neither.
    CHECK(scaled(R"("scale":[0.001,0.001,0.001])").findings.empty());
    CHECK(scaled(R"("scale":[-1,-1,1])").findings.empty());
    CHECK(scaled(R"("scale":[1,1.0000002,0.9999999],"rotation":[0.5,0.5,0.5,0.5])").findings.empty());
    // A stretched part is the author's affair.
    CHECK(map_of(gltf(with_parts(R"({"name":"p","scale":[1,2,1],"extras":{"part":"p","after":"cover"}})")))
              .findings.empty());
}

TEST_CASE("a drive that no such thread is sold with") {
    const Finding f = bolt_finding(R"("thread":"M10","drive":"hex 24")", "drive-not-sold", Weight::doubt, "drive");
    CHECK(f.value == "hex 24");
    CHECK(contains(f.remedy, "hex 16"));
    CHECK(contains(f.remedy, "DIN"));
    for (const char* drive : {"hex 16", "hex 17", "hex 14", "socket 8", "hexalobular 50"}) {
        CAPTURE(drive);
        CHECK(map_of(with_bolt(fmt::format(R"("thread":"M10","drive":"{}")", drive))).findings.empty());
    }
}

TEST_CASE("a thread that no table lists is only a note") {
    bolt_finding(R"("thread":"M11x1.1")", "thread-unlisted", Weight::note, "thread");
    CHECK(map_of(with_bolt(R"("thread":"G 1/2")")).findings.empty());
}

TEST_CASE("a node that is two things") {
    const Map map = map_of(gltf(with_parts(R"({"name":"x","extras":{"part":"x","fastener":"bolt","after":"cover"}})")));
    only(map, "two-kinds", Weight::fault, "part, fastener", "x");
    CHECK(map.is_part(find_item(map, "x")));
    const Map group = map_of(gltf(with_parts(
        R"({"name":"x","children":[4],"extras":{"group":"x","part":"x"}},{"name":"y","extras":{"part":"y","after":"cover"}})")));
    only(group, "two-kinds", Weight::fault, "group, part", "x");
    CHECK_FALSE(find_item(group, "x"));
}

TEST_CASE("a key on the wrong kind of item") {
    part_finding(R"("torque":"22 N·m")", "wrong-place", Weight::doubt, "torque");
    bolt_finding(R"("mass_kg":3)", "wrong-place", Weight::doubt, "mass_kg");
    bolt_finding(R"("slot":"onward")", "wrong-place", Weight::doubt, "slot");
    const Map washer =
        map_of(gltf(with_parts(R"({"name":"w","extras":{"fastener":"washer","holds":"cover","torque":"22 N·m"}})")));
    only(washer, "wrong-place", Weight::doubt, "torque", "w");
    CHECK_FALSE(fastener(washer, "w").torque.has_value());
    const Map group = map_of(gltf(with_parts(
        R"({"name":"g","children":[4],"extras":{"group":"g","fastener":"bolt","holds":"cover","joint":"j"}},{"name":"x","mesh":0})")));
    only(group, "wrong-place", Weight::doubt, "joint", "g");
    // What every member says itself is not lost.
    CHECK(
        map_of(
            gltf(with_parts(
                R"({"name":"g","children":[4],"extras":{"group":"g","fastener":"bolt","holds":"cover","joint":"j"}},{"name":"x","mesh":0,"extras":{"joint":"j"}})")))
            .findings.empty());
}

TEST_CASE("keys on a node that says nothing of what it is") {
    const Map map = map_of(gltf(with_parts(R"({"name":"x","mesh":0,"extras":{"torque":"22 N·m","note":"n"}})")));
    only(map, "no-item", Weight::doubt, "torque", "x");
}

TEST_CASE("a count that differs from the manual's") {
    const auto group = [](int count, const std::string& members) {
        std::string children;
        for (std::size_t i = 0; i < static_cast<std::size_t>(std::count(members.begin(), members.end(), '{')) / 2;
             ++i) {
            children += fmt::format("{}{}", i == 0 ? "" : ",", 4 + i);
        }
        return map_of(gltf(with_parts(fmt::format(
            R"({{"name":"g","children":[{}],"extras":{{"group":"g","holds":"frame;cover","count":{}}}}},{})", children,
            count, members))));
    };
    const std::string bolts =
        R"({"name":"x1","extras":{"fastener":"bolt"}},{"name":"x2","extras":{"fastener":"bolt"}})";
    const std::string nuts = R"(,{"name":"n1","extras":{"fastener":"nut"}},{"name":"n2","extras":{"fastener":"nut"}})";
    const std::string washer = R"(,{"name":"w1","extras":{"fastener":"washer"}})";
    const Finding f = only(group(3, bolts), "count", Weight::fault, "count", "g");
    CHECK(f.value == "3");
    CHECK(contains(f.what, "2 bolt"));
    CHECK(group(2, bolts).findings.empty());
    CHECK(group(2, bolts + nuts).findings.empty());          // of each kind
    CHECK(group(4, bolts + nuts).findings.empty());          // of all
    CHECK(group(2, bolts + nuts + washer).findings.empty()); // washers aside
    CHECK(group(5, bolts + nuts + washer).findings.empty());
    CHECK(group(1, bolts.substr(0, bolts.find("},{") + 1) + nuts).findings.size() == 1); // a bolt is missing
    CHECK(group(3, bolts + nuts).findings.size() == 1);
}

TEST_CASE("what holds nothing, and what nothing holds") {
    const Map bolt = map_of(gltf(with_parts(R"({"name":"b","extras":{"fastener":"bolt"}})")));
    only(bolt, "holds-nothing", Weight::doubt, "holds", "b");
    const Map loose = map_of(gltf(with_parts(R"({"name":"p","extras":{"part":"p"}})")));
    only(loose, "held-by-nothing", Weight::doubt, "part", "p");
    // The washer of a joint, a pin that locks, a nut whose bolt says what they hold, a hose, a gasket that waits.
    const Map fine = map_of(gltf(with_parts(
        R"({"name":"b","extras":{"fastener":"bolt","holds":"frame;cover","joint":"j"}},{"name":"w","extras":{"fastener":"washer","joint":"j"}},)"
        R"({"name":"n","extras":{"fastener":"nut","joint":"j"}},{"name":"pin","extras":{"fastener":"split_pin","secures":"n"}},)"
        R"({"name":"hose","extras":{"part":"hose","flexible":true}},{"name":"gasket","extras":{"part":"gasket","after":"cover"}})")));
    CHECK_MESSAGE(fine.findings.empty(), list(fine));
    const Map afloat =
        map_of(gltf(R"({"name":"p","extras":{"part":"p"}},{"name":"b","extras":{"fastener":"bolt","holds":"p"}})"));
    only(afloat, "nothing-fixed", Weight::doubt, "fixed", "");
    const Map empty = map_of(gltf(with_parts(R"({"name":"g","extras":{"group":"g"}})")));
    only(empty, "empty-group", Weight::doubt, "group", "g");
}

TEST_CASE("a pattern by names that are none") {
    CHECK(contains(bolt_finding(R"("pattern":"sta")", "unknown-name", Weight::fault, "pattern").remedy, "star"));
    CHECK(map_of(with_bolt(R"("pattern":"b; b0")")).findings.empty());
    CHECK(map_of(with_bolt(R"("pattern":"centre_out")")).findings.empty());
}

TEST_CASE("more people than a garage has room for") {
    CHECK(bolt_finding(R"("people":9)", "people", Weight::doubt, "people").value == "9");
}

TEST_CASE("fasteners drawn in millimetres are doubted once") {
    const auto scaled = [](const std::string& scale) {
        const std::string more =
            R"(,"mesh":0,"scale":)" + scale + R"(,"extras":{"fastener":"bolt","holds":"frame;cover"}})";
        return map_of(gltf(with_parts(R"({"name":"x")" + more + R"(,{"name":"y")" + more)));
    };
    CHECK(only(scaled("[30,30,30]"), "absurd-size", Weight::doubt, "", "x").value == "30 m");
    only(scaled("[1e-6,1e-6,1e-6]"), "absurd-size", Weight::doubt, "", "x");
    CHECK(scaled("[0.03,0.03,0.03]").findings.empty());
}

TEST_CASE("annotated nodes outside the scene") {
    const Map map = map_of(gltf(with_parts(R"({"name":"lost","extras":{"part":"lost"}})"), R"({"nodes":[0,1,2]})"));
    only(map, "not-in-scene", Weight::doubt, "", "lost");
    CHECK_FALSE(find_item(map, "lost"));
}

TEST_CASE("a key that stands twice") {
    const Map map = map_of(with_bolt(R"("torque":"20 N·m","torque":"30 N·m")"));
    only(map, "key-twice", Weight::fault, "torque", "b");
    CHECK(fastener(map, "b").torque->text == "30 N·m");
}

TEST_CASE("a text longer than any note") {
    bolt_finding(R"("note":")" + std::string(5000, 'x') + "\"", "unreadable-value", Weight::fault, "note");
}

TEST_CASE("findings stand in file order, and no file has more than are kept") {
    std::string nodes;
    for (int i = 0; i < 12000; ++i) {
        nodes +=
            fmt::format(R"({}{{"name":"b{}","extras":{{"fastener":"bolt","torque":"{}"}}}})", i == 0 ? "" : ",", i, i);
    }
    const Map map = map_of(gltf(nodes));
    CHECK(map.findings.size() == 10000);
    CHECK(findings_of(map, "more-findings").size() == 1);
    CHECK(map.findings[0].nodes[0] == "b0");
}
