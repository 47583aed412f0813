#include <doctest/doctest.h>

#include "core/log/ledger.hpp"
#include "tests/log/small.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

std::vector<std::string> measuring_tools(const Build& b) {
    const Job job = prepare(b.map);
    std::vector<std::string> out;
    for (const Need& need : needs_of(job, fold(job, {})))
        if (need.name.find("wrench") != std::string::npos || need.name.find("gauge") != std::string::npos) {
            CHECK(need.kind == NeedKind::tool);
            out.push_back(std::to_string(need.count) + " " + need.name);
            if (!need.note.empty())
                out.push_back(need.note);
        }
    return out;
}

Build stated(const std::string& bolts, const std::string& nut) {
    Build b = lid_and_body();
    for (const char* name : {"bolt_1", "bolt_2", "bolt_3", "bolt_4"})
        b.f(name).torque = *read_torque(bolts);
    b.f("nut").torque.reset();
    if (!nut.empty())
        b.f("nut").torque = *read_torque(nut);
    return b;
}

using Words = std::vector<std::string>;

} // namespace

TEST_CASE("a torque wrench is to be had where torques are stated, from the least to the greatest of them") {
    CHECK(measuring_tools(lid_and_body()) == Words{"5 tool: torque wrench for 22..40 N·m"});
    CHECK(measuring_tools(stated("22.5 N·m", "")) == Words{"4 tool: torque wrench for 22.5 N·m"});
    CHECK(measuring_tools(stated("10 N·m; 22 N·m", "35..38 N·m")) ==
          Words{"5 tool: torque wrench for 10..38 N·m"}); // each stage is set on it
    Build none = lid_and_body();
    for (Fastener& fastener : none.map.fasteners)
        fastener.torque.reset();
    CHECK(measuring_tools(none).empty());
}

TEST_CASE("of what no order works on, and of the end that is held, no torque is asked for") {
    Build b = lid_and_body();
    b.part("horn");
    b.fastener("horn_bolt", {"horn", "body"}).torque = *read_torque("90 N·m");
    b.map.target = b.at("lid");
    const Job job = prepare(b.map);
    const Plan strip = plan_strip(job);
    Words wrenches;
    for (const Need& need : needs_of(job, fold(job, {}, gates_of(b.map, strip, plan_refit(job, strip)))))
        if (need.name.find("wrench") != std::string::npos)
            wrenches.push_back(need.name);
    CHECK(wrenches == Words{"tool: torque wrench for 22..40 N·m"});

    Build held = lid_and_body();
    held.fastener("through", {"lid", "body"}).joint = "t";
    held.f("through").torque = *read_torque("90 N·m");
    held.fastener("through_nut", {"lid", "body"}, FastenerKind::nut).joint = "t";
    held.f("through_nut").torque = *read_torque("30 N·m");
    CHECK(measuring_tools(held) == Words{"6 tool: torque wrench for 22..40 N·m"});
}

TEST_CASE("torques stated in another unit stand behind the newton metres, for the wrench may have that scale") {
    // 16 and 30 lbf·ft by NIST SP 811's factor 1.355818: 21.7 and 40.7 N·m, to the figures of a wrench's scale
    CHECK(measuring_tools(stated("16 lbf·ft", "30 lbf·ft")) ==
          Words{"5 tool: torque wrench for 22..41 N·m (16..30 lbf·ft)"});
    CHECK(measuring_tools(stated("16 lbf·ft", "40 N·m")) == Words{"5 tool: torque wrench for 22..40 N·m"});
}

TEST_CASE("an angle asks for a gauge, and an angle alone for no wrench") {
    CHECK(measuring_tools(stated("40 N·m + 90°", "")) ==
          Words{"4 tool: torque wrench for 40 N·m", "4 tool: angle gauge for 90°"});
    CHECK(measuring_tools(stated("40 N·m + 60°; + 90°", "50 N·m")) ==
          Words{"5 tool: torque wrench for 40..50 N·m", "4 tool: angle gauge for 60..90°"});
    Build b = stated("22 N·m", "");
    for (Fastener& fastener : b.map.fasteners)
        if (fastener.torque)
            fastener.torque = *read_torque("+ 90°");
    CHECK(measuring_tools(b) == Words{"4 tool: angle gauge for 90°"});
}

TEST_CASE("torques too far apart for one wrench are told of") {
    // ISO 6789 tests a wrench at 20, 60 and 100 % of its scale: 20 N·m is a fifth of 100.
    CHECK(measuring_tools(stated("20 N·m", "100 N·m")) == Words{"5 tool: torque wrench for 20..100 N·m"});
    CHECK(measuring_tools(stated("19 N·m", "100 N·m")) ==
          Words{"5 tool: torque wrench for 19..100 N·m", "more than one: none is checked below a fifth of its scale"});
}
