// What speaks against a stated torque: each suspicion there when it must be, and gone when the figure is mended. The
// limits are computed; that the formulas give the published figures is tests/outside/joint.cpp's business.
#include <doctest/doctest.h>

#include "core/job/tightening.hpp"
#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

Build one_bolt(const char* thread, const char* grade, const char* torque) {
    Build b;
    b.part("body", true);
    b.part("lid");
    Fastener& bolt = b.fastener("bolt", {"lid", "body"});
    bolt.thread = *read_thread(thread);
    bolt.grade = grade;
    bolt.torque = *read_torque(torque);
    return b;
}

Names found(const Build& b) {
    return rules_of(implausible_torques(prepare(b.map)));
}

Names found(const char* thread, const char* grade, const char* torque) {
    return found(one_bolt(thread, grade, torque));
}

} // namespace

TEST_CASE("the torques of VDI 2230's tables speak for themselves") {
    // 8.8 at friction 0.12, from memory of table A1, and 0.14 of a catalogue that prints table A3.
    struct Row {
        const char* thread;
        const char* torque;
    };
    for (const Row& row :
         {Row{"M6", "10.1 N·m"}, Row{"M8", "24.6 N·m"}, Row{"M10", "48 N·m"}, Row{"M12", "84 N·m"},
          Row{"M16", "206 N·m"}, Row{"M8x1", "29.2 N·m"}, Row{"M10x1.25", "57 N·m"}, Row{"M12x1.25", "101 N·m"}})
        CHECK_MESSAGE(found(row.thread, "8.8", row.torque).empty(), std::string(row.thread));
    CHECK(found("M10x1.25", "10.9", "64 N·m").empty());
}

TEST_CASE("beyond yield even at a high friction") {
    CHECK(found("M8", "8.8", "40 N·m") == Names{"beyond-yield"});
    CHECK(found("M8", "12.9", "40 N·m").empty());
    // Not for torque and angle: there the angle stretches it.
    CHECK(found("M8", "8.8", "40 N·m + 90°").empty());
    CHECK(found("M8", "8.8", "20 N·m; 40 N·m; + 90°").empty());
    // The last stage counts.
    CHECK(found("M8", "8.8", "20 N·m; 40 N·m") == Names{"beyond-yield"});
}

TEST_CASE("under a tenth of what its class allows; not for what closes, nor without a class") {
    CHECK(found("M12", "10.9", "5 N·m") == Names{"torque-too-low"});
    Build b = one_bolt("M12", "10.9", "5 N·m");
    b.f("bolt").kind = FastenerKind::drain_plug;
    CHECK(found(b).empty());
    CHECK(found("M12", "", "5 N·m").empty());
    CHECK(found("M12", "A2-70", "5 N·m").empty());
}

TEST_CASE("exactly what a mixed-up unit would give names the unit") {
    // 22 N·m on M8 of 8.8 is ordinary; 22 lbf·ft is 29.8 N·m.
    const auto findings = implausible_torques(prepare(one_bolt("M8", "8.8", "22 lbf·ft").map));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].rule == "unit-mixed-up");
    CHECK(findings[0].weight == Weight::doubt);
    // No torque that nobody stated stands before a person, for it might be used.
    CHECK(findings[0].what.find("as if its unit were N·m") != std::string::npos);
    CHECK(findings[0].what.find("22 N·m") == std::string::npos);
    CHECK(findings[0].nodes == Names{"bolt"});
    CHECK(found("M8", "8.8", "16 lbf·ft").empty());
    // 80 lbf·in on M6 of 8.8 is 9 N·m; 80 lbf·ft is 108, and 80 N·m no better.
    const auto inches = implausible_torques(prepare(one_bolt("M6", "8.8", "80 lbf·ft").map));
    REQUIRE(inches.size() == 1);
    CHECK(inches[0].what.find("as if its unit were lbf·in") != std::string::npos);
    // The other way about: 30 lbf·in is 3.4 N·m on M10.
    const auto feet = implausible_torques(prepare(one_bolt("M10", "8.8", "30 lbf·in").map));
    REQUIRE(feet.size() == 1);
    CHECK(feet[0].what.find("as if its unit were lbf·ft") != std::string::npos);
}

TEST_CASE("a nut is judged by the weaker of itself and its bolt") {
    Build b = one_bolt("M10", "8.8", "48 N·m");
    b.f("bolt").torque.reset();
    b.f("bolt").joint = "j";
    Fastener& nut = b.fastener("nut", {"lid", "body"}, FastenerKind::nut);
    nut.joint = "j";
    nut.thread = *read_thread("M10");
    nut.grade = "12";
    nut.torque = *read_torque("80 N·m");
    const auto findings = implausible_torques(prepare(b.map));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].nodes == Names{"nut"});
    b.f("bolt").grade = "12.9";
    CHECK(found(b).empty());
}

TEST_CASE("two alike with one figure in two units; two of one flange of which one was converted") {
    Build b = one_bolt("M8", "8.8", "22 N·m");
    b.part("other");
    Fastener& far = b.fastener("far", {"other", "body"});
    far.thread = *read_thread("M8");
    far.grade = "8.8";
    far.torque = *read_torque("22 lbf·ft");
    CHECK(found(b) == Names{"unit-mixed-up", "unit-mixed-up"}); // by itself, and against the other
    far.torque = *read_torque("16 N·m");
    CHECK(found(b).empty()); // another place may well have another torque
    b.f("far").holds = {b.at("lid"), b.at("body")};
    const auto findings = implausible_torques(prepare(b.map));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].nodes == Names{"far", "bolt"});
    b.f("far").torque = *read_torque("18 N·m");
    CHECK(found(b).empty());
}

TEST_CASE("alike ones are told once, all of them named; check tells it") {
    Build b = one_bolt("M8", "8.8", "40 N·m");
    b["bolt"].title = "lid bolts";
    b["bolt"].from = Place::front;
    for (const char* name : {"bolt_2", "bolt_3"}) {
        b.fastener(name, {"lid", "body"});
        const ItemId own = b.f(name).item;
        b.f(name) = b.f("bolt");
        b.f(name).item = own;
        b[name].title = "lid bolts";
    }
    const auto findings = implausible_torques(prepare(b.map));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].nodes == Names{"bolt", "bolt_2", "bolt_3"});
    CHECK(rules_of(check(prepare(b.map))) == Names{"beyond-yield"});
}

TEST_CASE("what it clamps, in words; nothing is reckoned for a plug or an unknown thread") {
    const Build b = one_bolt("M8", "8.8", "22 N·m");
    const auto clamp = clamp_of(prepare(b.map), b.at("bolt"));
    REQUIRE(clamp);
    CHECK(clamp->least_n < clamp->most_n);
    CHECK(clamp->factor_least_n == doctest::Approx(22000.0 / (0.25 * 8)));
    CHECK(print_clamp(*clamp).find("of the yield of 8.8") != std::string::npos);
    Build plug = one_bolt("M8", "8.8", "22 N·m");
    plug.f("bolt").kind = FastenerKind::drain_plug;
    CHECK(!clamp_of(prepare(plug.map), plug.at("bolt")));
    Build pipe = one_bolt("G 3/8", "8.8", "22 N·m");
    CHECK(!clamp_of(prepare(pipe.map), pipe.at("bolt")));
    Build classless = one_bolt("M8", "", "22 N·m");
    CHECK(print_clamp(*clamp_of(prepare(classless.map), classless.at("bolt"))).find("no class is stated") !=
          std::string::npos);
}
