// Findings that need no order: each with a map of its own, there when it must be and gone when the map is mended.
#include <doctest/doctest.h>

#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

bool finds(const Build& b, const std::string& rule, Weight weight, const std::string& node = "") {
    for (const Finding& finding : check(prepare(b.map)))
        if (finding.rule == rule) {
            CHECK(finding.weight == weight);
            CHECK(!finding.what.empty());
            CHECK(!finding.remedy.empty());
            return node.empty() || (!finding.nodes.empty() && finding.nodes.front() == node);
        }
    return false;
}

} // namespace

TEST_CASE("a support that no fastener carries") {
    Build b = bolted_lid();
    b.part("loose").support = "jack";
    CHECK(finds(b, "no-carrier", Weight::doubt, "loose"));
    b.fastener("loose_bolt", {"loose", "body"});
    CHECK(!finds(b, "no-carrier", Weight::doubt));
}

TEST_CASE("a joint that its nut frees, with no nut") {
    Build b = bolted_lid();
    b.f("bolt").frees_when = FreesWhen::nut_off;
    b.f("bolt").joint = "j";
    CHECK(finds(b, "no-nut", Weight::doubt, "bolt"));
    b.fastener("nut", {"lid", "body"}, FastenerKind::nut).joint = "j";
    CHECK(!finds(b, "no-nut", Weight::doubt));
}

TEST_CASE("a fluid whose draining nobody states") {
    Build b = bolted_lid();
    b.p("lid").fluid = "oil";
    CHECK(finds(b, "drain-not-stated", Weight::note, "lid"));
    b.fastener("tap", {"lid"}, FastenerKind::drain_plug);
    CHECK(!finds(b, "drain-not-stated", Weight::note));
}

TEST_CASE("torques with no source, and none stated") {
    Build b = bolted_lid();
    CHECK(finds(b, "torque-not-stated", Weight::note, "bolt"));
    CHECK(!finds(b, "no-source", Weight::note));
    b.f("bolt").torque = *read_torque("22 N·m");
    CHECK(!finds(b, "torque-not-stated", Weight::note));
    CHECK(finds(b, "no-source", Weight::note));
    b.map.source = "the manual's page 12 (invented for this test)";
    CHECK(!finds(b, "no-source", Weight::note));
}

TEST_CASE("no target, and a target that stays") {
    Build b = bolted_lid();
    CHECK(!finds(b, "no-target", Weight::note));
    b.map.target = {};
    CHECK(finds(b, "no-target", Weight::note));
    b.map.target = b.at("body");
    CHECK(finds(b, "target-fixed", Weight::fault, "body"));
}

TEST_CASE("no item says from where: one doubt; some do not: a note that names them, but not the bench's") {
    Build b = bolted_lid();
    for (const char* name : {"b2", "b3", "b4", "b5"})
        b.fastener(name, {"lid", "body"});
    b.fastener("ring", {"lid", "body"}, FastenerKind::washer);
    const auto found = [&] {
        std::vector<Finding> out;
        for (Finding& f : check(prepare(b.map)))
            if (f.rule == "from-not-stated")
                out.push_back(std::move(f));
        return out;
    };
    REQUIRE(found().size() == 1);
    CHECK(found()[0].weight == Weight::doubt);
    CHECK(found()[0].key == "from");
    CHECK(found()[0].what == "From where one gets at bolt, b2, b3, b4 and 2 more is not stated.");
    for (const char* name : {"bolt", "b2", "b3", "b4", "b5"})
        b[name].from = Place::under;
    REQUIRE(found().size() == 1);
    CHECK(found()[0].weight == Weight::note);
    CHECK(found()[0].nodes == std::vector<std::string>{"lid"});
    b["lid"].from = Place::under;
    CHECK(found().empty());
    b.part("knob").transfer = true;
    b.fastener("screw", {"knob", "lid"});
    CHECK(found().empty());
}

TEST_CASE("stating one place takes one name off the list, also where the order then ends for want of stands") {
    Build b;
    b.part("frame", true);
    b.part("cover");
    b.part("pump");
    for (const char* name : {"c1", "c2", "c3", "c4"})
        b.fastener(name, {"cover", "frame"});
    for (const char* name : {"p1", "p2", "p3", "p4", "p5"})
        b.fastener(name, {"pump", "frame"});
    b["pump"].after = {b.at("cover")};
    for (const char* name : {"p1", "p2", "p3", "p4", "p5"})
        b[name].after = {b.at("cover")};
    b.part("horn"); // nobody has to get at it
    b.fastener("horn_bolt", {"horn", "frame"});
    b.map.target = b.at("pump");
    const auto named = [&] {
        for (const Finding& f : check(prepare(b.map)))
            if (f.rule == "from-not-stated")
                return f.nodes;
        return std::vector<std::string>{};
    };
    std::vector<std::string> left = named();
    CHECK(left.size() == 11);
    for (const char* name : {"c1", "c2", "c3", "c4", "cover", "p1"}) {
        b[name].from = Place::under;
        std::erase(left, name);
        CHECK_MESSAGE(named() == left, name);
    }
    // The vehicle is raised only when the cover is off, which is got at from under: no order, and the same names.
    b.task("raise").sets.stands = Ask::yes;
    b["raise"].after = {b.at("cover")};
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(std::any_of(plan.findings.begin(), plan.findings.end(),
                      [](const Finding& f) { return f.weight == Weight::fault; }));
    CHECK(named() == left);
}
