// An author's order, replayed: what is legal stays as it is, what is not gives the one finding that is meant.
#include <doctest/doctest.h>

#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

/// A box on a member on a frame, with every kind of precaution stated as a task; steps from 1 on, all legal.
Build good() {
    Build b;
    b.part("frame", true);
    b.part("member");
    Part& box = b.part("box");
    box.support = "jack";
    box.fluid = "gear oil";
    b.part("shaft").adjust = true;
    b.part("spring").loaded = "spring";
    b.fastener("member_bolt", {"member", "frame"});
    b["member_bolt"].from = Place::front;
    b.fastener("fill", {"box"}, FastenerKind::fill_plug);
    b.fastener("drain", {"box"}, FastenerKind::drain_plug);
    b.fastener("shaft_bolt", {"shaft", "box"}).soak_min = 20;
    b.fastener("spring_bolt", {"spring", "frame"});
    b.fastener("pin", {}, FastenerKind::split_pin);
    b.fastener("mount_1", {"box", "member"}, FastenerKind::castle_nut);
    b.fastener("mount_2", {"box", "member"});
    b.f("pin").secures = {b.at("mount_1")};
    b.task("soak", TaskDoes::soak, {"shaft_bolt"});
    b.task("prove", TaskDoes::prove, {"fill"});
    b.task("mark", TaskDoes::mark, {"shaft"});
    b.task("unload", TaskDoes::unload, {"spring"}).gate = true;
    b.task("prop", TaskDoes::prop, {"box"});
    b.map.target = b.at("box");
    int step = 0;
    for (const char* name : {"soak", "prove", "drain", "mark", "shaft_bolt", "shaft", "unload", "spring_bolt", "spring",
                             "prop", "pin", "mount_1", "mount_2", "box"})
        b.step(name, ++step);
    b.map.source = "invented for this test";
    return b;
}

} // namespace

TEST_CASE("a legal order is taken as it is, with no finding") {
    const Build b = good();
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(rules_of(plan.findings).empty());
    CHECK(leaving(b.map, plan) == Names{"soak", "prove", "drain", "mark", "shaft_bolt", "shaft", "unload",
                                        "spring_bolt", "spring", "prop", "pin", "mount_1", "mount_2", "box"});
    CHECK(plan.by_author);
    CHECK(rules_of(check(job)).empty());
}

TEST_CASE("each broken order gives exactly the finding meant") {
    const auto broken = [](const char* item, int step) {
        Build b = good();
        b.step(item, step);
        return strip_rules(b.map);
    };
    CHECK(broken("soak", 14) == Names{"soak-late"});
    CHECK(broken("prove", 13) == Names{"fill-not-proven"});
    CHECK(broken("drain", 15) == Names{"not-drained"});
    CHECK(broken("mark", 9) == Names{"mark-late"});
    CHECK(broken("unload", 11) == Names{"loaded"});
    CHECK(broken("prop", 13) == Names{"prop-late"});
    CHECK(broken("pin", 13) == Names{"secured"});
    CHECK(broken("mount_2", 15) == Names{"joined"});
    CHECK(broken("shaft_bolt", 7) == Names{"joined"});
}

TEST_CASE("one mistake met at two bolts is one finding with both nodes") {
    Build b = good();
    b.step("prop", 14);
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    REQUIRE(plan.findings.size() == 1);
    CHECK(plan.findings[0].rule == "prop-late");
    CHECK(plan.findings[0].nodes == Names{"mount_1", "box", "mount_2"});
    CHECK(plan.findings[0].weight == Weight::fault);
}

TEST_CASE("the author's step against the author's own `after`") {
    Build b = good();
    b.after("shaft_bolt", {"spring"});
    CHECK(strip_rules(b.map) == Names{"after"});
}

TEST_CASE("what the author left without a step is brought where it is first needed") {
    Build b = good();
    for (const char* name : {"prop", "pin", "drain", "mark"})
        b[name].step.reset();
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(rules_of(plan.findings).empty());
    const Names order = leaving(b.map, plan);
    CHECK(place_of(order, "mark") < place_of(order, "shaft_bolt"));
    CHECK(place_of(order, "pin") < place_of(order, "mount_1"));
    CHECK(place_of(order, "drain") < place_of(order, "box"));
    CHECK(place_of(order, "prop") < place_of(order, "mount_1"));
}

TEST_CASE("a part that hangs on nothing while other work goes on") {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.part("other");
    b.fastener("lid_bolt", {"lid", "body"});
    b.fastener("other_bolt", {"other", "body"});
    int step = 0;
    for (const char* name : {"lid_bolt", "other_bolt", "other", "lid"})
        b.step(name, ++step);
    CHECK(strip_rules(b.map) == Names{"hangs-on-nothing"});
    b.step("lid", 1);
    CHECK(strip_rules(b.map).empty());
}

TEST_CASE("a part that hangs on nothing and never comes off is a fault") {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.part("other");
    b.fastener("lid_bolt", {"lid", "body"});
    b.fastener("other_bolt", {"other", "body"});
    b.step("lid_bolt", 1);
    b.step("other_bolt", 2);
    b.step("other", 3);
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    REQUIRE(plan.findings.size() == 1);
    CHECK(plan.findings[0].weight == Weight::fault);
    CHECK(plan.findings[0].nodes[0] == "lid");
}

TEST_CASE("oil right before the spanner is a doubt") {
    Build b = good();
    b.step("soak", 4);
    b.step("mark", 3);
    CHECK(strip_rules(b.map) == Names{"soak-late"});
}

TEST_CASE("heavy with no support, loaded with no gate, support with no carrier") {
    Build b = good();
    b.p("member").mass_kg = 30;
    CHECK(rules_of(check(prepare(b.map))) == Names{"heavy-unsupported"});
    b.p("member").mass_kg = 24.9;
    CHECK(rules_of(check(prepare(b.map))).empty());
    b.t("unload").to.clear();
    CHECK(rules_of(check(prepare(b.map))) == Names{"loaded-no-gate"});
}

TEST_CASE("look-alikes are called out as a note") {
    Build b = good();
    for (const auto& [name, length] : {std::pair{"mount_2", 40.0}, {"spring_bolt", 45.0}}) {
        b.f(name).thread = *read_thread("M10x1.25");
        b.f(name).drive = *read_drive("hex 14");
        b.f(name).length_mm = length;
    }
    const std::vector<Finding> findings = check(prepare(b.map));
    const auto alike =
        std::find_if(findings.begin(), findings.end(), [](const Finding& f) { return f.rule == "look-alike"; });
    REQUIRE(alike != findings.end());
    CHECK(alike->weight == Weight::note);
    CHECK(alike->what.find("40 mm") != std::string::npos);
    CHECK(alike->what.find("45 mm") != std::string::npos);
    b.f("spring_bolt").length_mm = 40;
    for (const Finding& f : check(prepare(b.map)))
        CHECK(f.rule != "look-alike");
}
