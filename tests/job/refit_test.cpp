// The way back is not the way out reversed.
#include <doctest/doctest.h>

#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

struct Both {
    Plan down, back;
};

Both both(const Job& job) {
    Both plans{plan_strip(job), {}};
    plans.back = plan_refit(job, plans.down);
    return plans;
}

Build two_lids() {
    Build b;
    b.part("body", true);
    b.part("inner");
    b.part("outer");
    b.fastener("inner_1", {"inner", "body"});
    b.fastener("inner_2", {"inner", "body"});
    b.fastener("outer_1", {"outer", "body"});
    b.fastener("outer_2", {"outer", "body"});
    b.group("inner_bolts", {"inner_1", "inner_2"});
    b.group("outer_bolts", {"outer_1", "outer_2"});
    b.after("inner_1", {"outer"});
    b.after("inner_2", {"outer"});
    return b;
}

Names returning(const Map& map, const Plan& plan) {
    return names_in(map, plan,
                    {Verb::fit, Verb::put_back, Verb::raise, Verb::start, Verb::seat, Verb::tighten, Verb::do_task});
}

} // namespace

TEST_CASE("mirrored by default: inner before outer, all by hand before any is tight") {
    const Build b = two_lids();
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(returning(b.map, plans.back) == Names{"inner", "inner_1", "inner_2", "inner_1", "inner_2", "outer", "outer_1",
                                                "outer_2", "outer_1", "outer_2"});
    for (const FastenerState state : plans.back.end.fasteners)
        CHECK(state == FastenerState::torqued);
}

TEST_CASE("tightening one while another of its group still lies beside the car is refused") {
    const Build b = two_lids();
    const Job job = prepare(b.map);
    State state = plan_strip(job).end;
    state.refit = true;
    apply(job, state, {Verb::fit, b.at("inner"), {}});
    apply(job, state, {Verb::start, b.at("inner_1"), {}});
    const auto objections = judge(job, state, {Verb::tighten, b.at("inner_1"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::not_all_started);
    CHECK(objections[0].by == std::vector<ItemId>{b.at("inner_2")});
}

TEST_CASE("refit_after adds what is no mirror image") {
    Build b;
    b.part("body", true);
    b.part("brace");
    b.part("pipe");
    b.fastener("brace_bolt", {"brace", "body"});
    b.fastener("pipe_bolt", {"pipe", "body"});
    for (const auto& [name, step] : {std::pair{"pipe_bolt", 1}, {"pipe", 1}, {"brace_bolt", 2}, {"brace", 2}})
        b.step(name, step);
    {
        const Job job = prepare(b.map);
        CHECK(names_in(b.map, both(job).back, {Verb::fit}) == Names{"brace", "pipe"});
    }
    b["brace"].refit_after = {b.at("pipe_bolt")};
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(returning(b.map, plans.back) == Names{"pipe", "pipe_bolt", "pipe_bolt", "brace", "brace_bolt", "brace_bolt"});
}

TEST_CASE("refit_free takes the mirror image away") {
    Build b = two_lids();
    const Job strict = prepare(b.map);
    State state = plan_strip(strict).end;
    state.refit = true;
    const auto objections = judge(strict, state, {Verb::fit, b.at("outer"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::mirror);
    b["inner_1"].refit_free = {b.at("outer")};
    b["inner_2"].refit_free = {b.at("outer")};
    CHECK(judge(prepare(b.map), state, {Verb::fit, b.at("outer"), {}}).empty());
}

TEST_CASE("a torque that waits for the wheels: seated in its turn, tightened at the end") {
    Build b = two_lids();
    b.f("inner_1").torque_after_vehicle.stands = Ask::no;
    b["outer_1"].from = Place::under;
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(names_in(b.map, plans.back, {Verb::seat}) == Names{"inner_1"});
    CHECK(names_in(b.map, plans.back, {Verb::tighten}).back() == "inner_1");
    const auto down = std::find_if(plans.back.steps.begin(), plans.back.steps.end(), [](const Step& s) {
        return s.verb == Verb::set_vehicle && s.vehicle.stands == Ask::no;
    });
    REQUIRE(down != plans.back.steps.end());
    CHECK(down + 1 != plans.back.steps.end());
    CHECK((down + 1)->verb == Verb::tighten);
}

TEST_CASE("a torque that waits for another fastener") {
    Build b = two_lids();
    b.f("inner_1").torque_after = {b.at("outer_2")};
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    const Names tight = names_in(b.map, plans.back, {Verb::tighten});
    CHECK(place_of(tight, "outer_2") < place_of(tight, "inner_1"));
}

TEST_CASE("torques that wait for each other are a fault") {
    Build b = two_lids();
    b.f("inner_1").torque_after = {b.at("inner_2")};
    b.f("inner_2").torque_after = {b.at("outer_1")};
    b.f("outer_1").torque_after = {b.at("outer_2")};
    CHECK(rules_of(both(prepare(b.map)).back.findings).empty());
    Build c;
    c.part("body", true);
    c.part("inner");
    c.part("outer");
    c.fastener("inner_bolt", {"inner", "body"});
    c.fastener("outer_bolt", {"outer", "body"});
    c["inner"].refit_after = {c.at("outer")};
    c["outer"].refit_after = {c.at("inner")};
    CHECK(rules_of(both(prepare(c.map)).back.findings) == Names{"refit-after"});
}

TEST_CASE("the prop goes when the load is carried again, not earlier") {
    Build b;
    b.part("frame", true);
    b.part("box").support = "jack";
    b.fastener("mount_1", {"box", "frame"});
    b.fastener("mount_2", {"box", "frame"});
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(plans.back.steps.back().verb == Verb::unprop);
    State state = plans.down.end;
    state.refit = true;
    CHECK(judge(job, state, {Verb::fit, b.at("box"), {}}).at(0).rule == Rule::not_propped);
    apply(job, state, {Verb::prop, b.at("box"), {}});
    apply(job, state, {Verb::fit, b.at("box"), {}});
    apply(job, state, {Verb::start, b.at("mount_1"), {}});
    apply(job, state, {Verb::start, b.at("mount_2"), {}});
    apply(job, state, {Verb::tighten, b.at("mount_1"), {}});
    const auto objections = judge(job, state, {Verb::unprop, b.at("box"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::still_carried);
    CHECK(objections[0].by == std::vector<ItemId>{b.at("mount_2")});
}

TEST_CASE("what goes over to the replacement goes first") {
    Build b;
    b.part("frame", true);
    b.part("box");
    b.part("sensor").transfer = true;
    b.fastener("mount", {"box", "frame"});
    b.fastener("sensor_bolt", {"sensor", "box"});
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(plans.back.steps[0].verb == Verb::transfer);
    CHECK(plans.back.steps[1].verb == Verb::fit);
}

TEST_CASE("a pin goes in after its nut is torqued") {
    Build b;
    b.part("body", true);
    b.part("joint");
    b.fastener("pin", {}, FastenerKind::split_pin);
    b.fastener("nut", {"joint", "body"}, FastenerKind::castle_nut);
    b.f("pin").secures = {b.at("nut")};
    b.map.target = b.at("joint");
    const Job job = prepare(b.map);
    CHECK(names_in(b.map, both(job).back, {Verb::fit, Verb::start, Verb::tighten}) ==
          Names{"joint", "nut", "nut", "pin"});
}

TEST_CASE("tasks of the way back: gates where they are named, others when what they wait for is back") {
    Build b;
    b.part("frame", true);
    b.part("box");
    b.fastener("mount", {"box", "frame"});
    Task& count = b.task("count_dowels");
    count.when = TaskWhen::refit;
    count.gate = true;
    b.task("road_test").when = TaskWhen::refit;
    b["box"].refit_after = {b.at("count_dowels")};
    b["road_test"].refit_after = {b.at("mount")};
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(returning(b.map, plans.back) == Names{"count_dowels", "box", "mount", "mount", "road_test"});
    CHECK(leaving(b.map, plans.down) == Names{"mount", "box"});
}

TEST_CASE("the vehicle ends as it was found") {
    Build b = two_lids();
    b["outer_1"].from = Place::under;
    b["inner_1"].needs = {.brake = Ask::no, .gear = Ask::no, .battery = Ask::no};
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(plans.back.end.vehicle.stands == Ask::no);
    CHECK(plans.back.end.vehicle.brake == Ask::yes);
    CHECK(plans.back.end.vehicle.gear == Ask::yes);
    CHECK(plans.back.end.vehicle.battery == Ask::yes);
}

TEST_CASE("a task of the way back with a step: where that step is met in reverse") {
    Build b = two_lids();
    int step = 0;
    for (const char* name : {"outer_1", "outer_2", "outer", "inner_1", "inner_2", "inner"})
        b.step(name, ++step);
    b.task("look").when = TaskWhen::refit;
    b.step("look", 4);
    b.task("last").when = TaskWhen::refit;
    b.step("last", 0);
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(names_in(b.map, plans.back, {Verb::fit, Verb::do_task}) == Names{"inner", "look", "outer", "last"});
}

TEST_CASE("of a bolt and its nut one end is torqued, once both are there") {
    Build b;
    b.part("body", true);
    b.part("arm");
    for (const auto& [name, kind] : {std::pair{"bolt_1", FastenerKind::bolt},
                                     {"bolt_2", FastenerKind::bolt},
                                     {"nut_1", FastenerKind::nut},
                                     {"nut_2", FastenerKind::nut}})
        b.fastener(name, {"arm", "body"}, kind).joint = std::string("joint") + name[std::string(name).size() - 1];
    b.group("bolts", {"bolt_1", "bolt_2"});
    b.group("nuts", {"nut_1", "nut_2"});
    b.map.target = b.at("arm");
    {
        const Job job = prepare(b.map);
        const Both plans = both(job);
        CHECK(rules_of(plans.back.findings).empty());
        CHECK(returning(b.map, plans.back) == Names{"arm", "bolt_1", "bolt_2", "nut_1", "nut_2", "nut_1", "nut_2"});
        CHECK(plans.back.end.fasteners[0] == FastenerState::torqued);
    }
    b.f("bolt_1").turn = b.f("bolt_2").turn = "head";
    const Job job = prepare(b.map);
    CHECK(names_in(b.map, both(job).back, {Verb::tighten}) == Names{"bolt_1", "bolt_2"});
}

TEST_CASE("what was taken off on the bench goes back on there, before the unit goes in") {
    Build b;
    b.part("frame", true);
    b.part("box");
    b.part("damper");
    b.fastener("mount", {"box", "frame"});
    b.fastener("damper_bolt", {"damper", "box"});
    int step = 0;
    for (const char* name : {"mount", "box", "damper_bolt", "damper"})
        b.step(name, ++step);
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(leaving(b.map, plans.down) == Names{"mount", "box", "damper_bolt", "damper"});
    CHECK(rules_of(plans.down.findings).empty());
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(returning(b.map, plans.back) == Names{"damper", "damper_bolt", "damper_bolt", "box", "mount", "mount"});
    CHECK(plans.back.end.parts[2] == PartState::on);
    // Not asked to be taken apart, it stays together.
    b.step("damper_bolt", 4);
    b.step("damper", 3);
    CHECK(rules_of(plan_strip(prepare(b.map)).findings) == Names{"joined"});
}

TEST_CASE("filled, levelled, closed: in that order, as the map's own tasks say") {
    Build b;
    b.part("body", true);
    b.part("box", true).fluid = "gear oil";
    b.part("shaft").opens = {b.at("box")};
    b.fastener("fill", {"box"}, FastenerKind::fill_plug);
    b.fastener("level", {"box"}, FastenerKind::level_plug);
    b.fastener("drain", {"box"}, FastenerKind::drain_plug);
    b.group("plugs", {"fill", "level", "drain"});
    b.fastener("flange_bolt", {"shaft", "body"});
    b.task("pour", TaskDoes::fill, {"box"}).when = TaskWhen::refit;
    b.task("look", TaskDoes::level, {"box"}).when = TaskWhen::refit;
    b["look"].refit_after = {b.at("pour")};
    b["level"].refit_after = {b.at("look")};
    int step = 0;
    for (const char* name : {"fill", "drain", "level", "flange_bolt", "shaft"})
        b.step(name, ++step);
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.down.findings).empty());
    CHECK(rules_of(plans.back.findings).empty());
    const Names names = names_in(b.map, plans.back, {Verb::fit, Verb::tighten, Verb::do_task});
    CHECK(place_of(names, "shaft") < place_of(names, "pour"));
    CHECK(place_of(names, "drain") < place_of(names, "pour"));
    CHECK(place_of(names, "pour") < place_of(names, "look"));
    CHECK(place_of(names, "look") < place_of(names, "level"));
    CHECK(place_of(names, "pour") < place_of(names, "fill"));
}

TEST_CASE("the small map's filler cap goes on once the coolant is in, before the engine is run") {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/water_pump.glb");
    REQUIRE(map);
    const Both plans = both(prepare(*map));
    CHECK(rules_of(plans.back.findings).empty());
    const Names names = names_in(*map, plans.back, {Verb::tighten, Verb::do_task});
    CHECK(place_of(names, "fill_coolant") < place_of(names, "filler_cap"));
    CHECK(place_of(names, "filler_cap") < place_of(names, "level_coolant"));
    CHECK(names.back() == "level_coolant");
}

TEST_CASE("a ring goes onto its plug, and both in together, once the fluid is in") {
    Build b;
    b.part("body", true);
    b.part("box", true).fluid = "gear oil";
    b.part("shaft").opens = {b.at("box")};
    b.fastener("fill", {"box"}, FastenerKind::fill_plug).joint = "fill";
    b.fastener("fill_ring", {"box"}, FastenerKind::washer).joint = "fill";
    b.fastener("drain", {"box"}, FastenerKind::drain_plug).joint = "drain";
    b.fastener("drain_ring", {"box"}, FastenerKind::washer).joint = "drain";
    b.fastener("flange_bolt", {"shaft", "body"});
    int step = 0;
    for (const char* name : {"fill", "fill_ring", "drain", "drain_ring", "flange_bolt", "shaft"})
        b.step(name, ++step);
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.down.findings).empty());
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(names_in(b.map, plans.back, {Verb::fit, Verb::start, Verb::tighten, Verb::fill}) ==
          Names{"shaft", "flange_bolt", "flange_bolt", "drain_ring", "drain", "drain", "box", "fill_ring", "fill",
                "fill"});
}

namespace {

/// A unit of 46 kg on two mounts, held by a jack.
Build heavy_unit() {
    Build b;
    b.part("frame", true);
    b.part("box").support = "jack";
    b.p("box").mass_kg = 46;
    b.fastener("mount_1", {"box", "frame"});
    b.fastener("mount_2", {"box", "frame"});
    b.map.target = b.at("box");
    return b;
}

} // namespace

TEST_CASE("a heavy unit meets by hand, all round, before a bolt is started; bolts never draw it in") {
    const Build b = heavy_unit();
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    const Names order = names_in(b.map, plans.back, {Verb::fit, Verb::mate, Verb::start});
    CHECK(order == Names{"box", "box", "mount_1", "mount_2"});
    const auto gate = std::find_if(plans.back.steps.begin(), plans.back.steps.end(),
                                   [](const Step& step) { return step.verb == Verb::mate; });
    REQUIRE(gate != plans.back.steps.end());
    const StepCard card = card_of(job, plans.back, static_cast<std::size_t>(gate - plans.back.steps.begin()));
    CHECK(card.gate);
    CHECK(card.by_rules);
    CHECK(card.cautions.front().find("Never draw it in") != std::string::npos);
    // Whether it has a shaft nobody stated.
    CHECK(card.cautions.front().find("on a shaft, where it has one") != std::string::npos);
    CHECK(card.cautions.front().find("common practice, no source") != std::string::npos);
    CHECK(card.notes.size() >= 2);

    State state = refit_begin(plans.down);
    apply(job, state, {Verb::prop, b.at("box"), {}});
    apply(job, state, {Verb::fit, b.at("box"), {}});
    apply(job, state, {Verb::start, b.at("mount_1"), {}});
    apply(job, state, {Verb::start, b.at("mount_2"), {}});
    const auto objections = judge(job, state, {Verb::tighten, b.at("mount_1"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::not_mated);
    apply(job, state, {Verb::mate, b.at("box"), {}});
    CHECK(judge(job, state, {Verb::tighten, b.at("mount_1"), {}}).empty());
}

TEST_CASE("the author's own gate for it is enough; a light part, and what only was let down, need none") {
    Build b = heavy_unit();
    Task& look = b.task("faces_meet");
    look.when = TaskWhen::refit;
    look.gate = true;
    b["faces_meet"].refit_after = {b.at("box")};
    const Job job = prepare(b.map);
    CHECK(names_in(b.map, both(job).back, {Verb::mate}).empty());
    Build light = heavy_unit();
    light.p("box").mass_kg = 12;
    const Job light_job = prepare(light.map);
    CHECK(names_in(light.map, both(light_job).back, {Verb::mate}).empty());
}

TEST_CASE("road wheels: seated on the stands, torqued on the ground, and last") {
    Build b;
    b.part("hub", true);
    b.part("wheel").road_wheel = true;
    b.part("arm");
    b.fastener("wheel_nut", {"wheel", "hub"}, FastenerKind::nut);
    b.fastener("arm_bolt", {"arm", "hub"});
    b.f("arm_bolt").torque_after_vehicle.stands = Ask::no;
    b["arm_bolt"].from = Place::under;
    b["wheel_nut"].needs.stands = Ask::nothing;
    b.after("arm_bolt", {"wheel"});
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(names_in(b.map, plans.back, {Verb::seat}) == Names{"arm_bolt", "wheel_nut"});
    CHECK(names_in(b.map, plans.back, {Verb::tighten}) == Names{"arm_bolt", "wheel_nut"});
    State state = plans.back.end;
    state.vehicle.stands = Ask::yes;
    state.fasteners[0] = FastenerState::seated;
    const auto objections = judge(job, state, {Verb::tighten, b.at("wheel_nut"), {}});
    REQUIRE(!objections.empty());
    CHECK(objections.back().rule == Rule::vehicle);
    CHECK(objections.back().vehicle.stands == Ask::no);
}

TEST_CASE("a torque waits for its mounts to settle, which is a task, and for its sister to be seated") {
    Build b = two_lids();
    b.task("settle").when = TaskWhen::refit;
    b["settle"].refit_after = {b.at("outer_2")};
    b.f("inner_1").torque_after = {b.at("settle")};
    b.f("inner_2").torque_after = {b.at("inner_1")};
    const Job job = prepare(b.map);
    const Both plans = both(job);
    CHECK(rules_of(plans.back.findings).empty());
    const Names order = names_in(b.map, plans.back, {Verb::seat, Verb::tighten, Verb::do_task});
    CHECK(order == Names{"inner_1", "inner_2", "outer_1", "outer_2", "settle", "inner_1"});
}

TEST_CASE("mounts before brackets where that is stated") {
    Build b;
    b.part("frame", true);
    b.part("box");
    b.fastener("mount", {"box", "frame"});
    b.fastener("bracket", {"box", "frame"});
    b.group("mounts", {"mount"});
    b.group("brackets", {"bracket"});
    b.map.target = b.at("box");
    for (const auto& [name, step] : {std::pair{"mount", 1}, {"bracket", 2}, {"box", 3}})
        b.step(name, step);
    CHECK(names_in(b.map, both(prepare(b.map)).back, {Verb::tighten}) == Names{"bracket", "mount"});
    b["bracket"].refit_after = {b.at("mount")};
    const Both plans = both(prepare(b.map));
    CHECK(rules_of(plans.back.findings).empty());
    CHECK(names_in(b.map, plans.back, {Verb::tighten}) == Names{"mount", "bracket"});
}

TEST_CASE("a self-locking nut is started by hand for its first turns only; marks are met before the first is tight") {
    Build b;
    b.part("body", true);
    b.part("rod").adjust = true;
    b.part("flange");
    b.fastener("nut", {"rod", "body"}, FastenerKind::nut).lock = "self-locking";
    b.fastener("bolt", {"flange", "body"});
    b.task("mark_flange", TaskDoes::mark, {"flange"});
    const Job job = prepare(b.map);
    const Plan back = both(job).back;
    bool started = false, rod = false, flange = false;
    for (std::size_t i = 0; i < back.steps.size(); ++i) {
        const StepCard card = card_of(job, back, i);
        const bool nut = back.steps[i].items.size() == 1 && back.steps[i].items[0] == b.at("nut");
        if (back.steps[i].verb == Verb::start && nut)
            started = card.hardware.at(0).extra.find("first turns only") != std::string::npos;
        if (back.steps[i].verb == Verb::tighten)
            for (const std::string& note : card.notes) {
                rod = rod || (nut && note.find("Marks of rod") != std::string::npos);
                flange = flange || (!nut && note.find("Marks of flange") != std::string::npos);
            }
    }
    CHECK(started);
    CHECK(rod);
    CHECK(flange);
}
