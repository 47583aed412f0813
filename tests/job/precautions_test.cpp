// What keeps a person from harm: each rule with an assembly of its own, refused where it must be and quiet where it is
// met.
#include <doctest/doctest.h>

#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

} // namespace

TEST_CASE("neutral and no brake on its wheels without chocks is a fault; with chocks it is none") {
    Build b = bolted_lid();
    Task& task = b.task("free_it");
    task.sets = {.brake = Ask::no, .gear = Ask::no};
    b.step("free_it", 1);
    b.step("bolt", 2);
    b.step("lid", 3);
    const Job job = prepare(b.map);
    State state = as_found(job);
    REQUIRE(judge(job, state, {Verb::do_task, b.at("free_it"), {}}).size() == 1);
    CHECK(judge(job, state, {Verb::do_task, b.at("free_it"), {}})[0].rule == Rule::vehicle);
    state.vehicle.chocked = Ask::yes;
    CHECK(judge(job, state, {Verb::do_task, b.at("free_it"), {}}).empty());
}

TEST_CASE("chocks are not taken from a vehicle on stands") {
    Build b = bolted_lid();
    b.task("chocks_away").sets = {.chocked = Ask::no};
    const Job job = prepare(b.map);
    State state = as_found(job);
    state.vehicle.stands = state.vehicle.chocked = Ask::yes;
    CHECK(judge(job, state, {Verb::do_task, b.at("chocks_away"), {}}).size() == 1);
    state.vehicle.stands = Ask::no;
    CHECK(judge(job, state, {Verb::do_task, b.at("chocks_away"), {}}).empty());
}

TEST_CASE("an item that wants neutral, no brake and no chocks is told so, and nothing hangs") {
    Build b = bolted_lid();
    b["bolt"].needs = {.chocked = Ask::no, .brake = Ask::no, .gear = Ask::no};
    CHECK(strip_rules(b.map) == Names{"vehicle"});
}

TEST_CASE("the vehicle is neither raised nor let down over a unit on its jack") {
    Build b = bolted_lid();
    b.p("lid").support = "jack";
    b.task("down").sets = {.stands = Ask::no};
    const Job job = prepare(b.map);
    State state = as_found(job);
    state.vehicle.stands = state.vehicle.chocked = Ask::yes;
    CHECK(judge(job, state, {Verb::do_task, b.at("down"), {}}).empty());
    apply(job, state, {Verb::prop, b.at("lid"), {}});
    const auto objections = judge(job, state, {Verb::do_task, b.at("down"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::held_up);
    CHECK(objections[0].by == std::vector<ItemId>{b.at("lid")});
}

TEST_CASE("wheels down for one bolt and under for the next, with the unit on its jack between: a fault") {
    Build b;
    b.part("frame", true);
    b.part("box").support = "jack";
    b.fastener("m1", {"box", "frame"});
    b.fastener("m2", {"box", "frame"});
    b["m1"].from = b["m2"].from = Place::under;
    b["m2"].needs = {.stands = Ask::no};
    b.map.target = b.at("box");
    b.step("m1", 1);
    b.step("m2", 2);
    b.step("box", 3);
    CHECK(strip_rules(b.map) == Names{"held-up"});
}

TEST_CASE("what is held from above by bolts with nuts below is raised first, and propped then") {
    Build b;
    b.part("frame", true);
    b.part("box").support = "helper";
    b.fastener("bolt", {"box", "frame"}).joint = "mount";
    b.fastener("nut", {"box", "frame"}, FastenerKind::nut).joint = "mount";
    b["box"].from = b["bolt"].from = Place::over;
    b["nut"].from = Place::under;
    b.map.target = b.at("box");
    CHECK(strip_rules(b.map) == Names{});
    const Plan plan = plan_strip(prepare(b.map));
    REQUIRE(plan.steps.size() > 2);
    CHECK(plan.steps[0].verb == Verb::set_vehicle);
    CHECK(plan.steps[1].verb == Verb::prop);
    CHECK(plan_refit(prepare(b.map), plan).findings.empty());
    // By nothing from below: it stays on its wheels.
    b["nut"].from = Place::over;
    CHECK(plan_strip(prepare(b.map)).steps[0].verb == Verb::prop);
}

namespace {

/// A plate on two bolts, one got at from the left, the other from under.
Build plate_on_two() {
    Build b;
    b.part("frame", true);
    b.part("plate");
    b.fastener("low", {"plate", "frame"});
    b.fastener("side", {"plate", "frame"});
    b["low"].from = Place::under;
    b["side"].from = Place::left;
    b.map.target = b.at("plate");
    return b;
}

Names half(const Build& b, bool stands, std::initializer_list<const char*> out) {
    const Job job = prepare(b.map);
    State state = as_found(job);
    state.vehicle.stands = stands ? Ask::no : Ask::yes;
    state.vehicle.chocked = Ask::yes;
    for (const char* name : out)
        apply(job, state, {Verb::take_out, b.at(name), {}});
    Names parts;
    for (const ItemId id : shaken_by_half(job, state, {Verb::set_vehicle, {}, {.stands = stands ? Ask::yes : Ask::no}}))
        parts.push_back(b.map[id].name);
    return parts;
}

} // namespace

TEST_CASE("the vehicle is neither raised nor let down over what hangs on part of its bolts") {
    Build b = plate_on_two();
    for (const bool up : {true, false}) {
        CHECK(half(b, up, {}).empty());
        CHECK(half(b, up, {"side"}) == Names{"plate"});
        CHECK(half(b, up, {"low"}) == Names{"plate"});
        CHECK(half(b, up, {"low", "side"}).empty()); // then it hangs on nothing, which is another finding
    }
    // Shafts are turned with bolts out; batteries and brakes move nothing.
    const Job job = prepare(b.map);
    State state = as_found(job);
    state.vehicle.chocked = Ask::yes;
    apply(job, state, {Verb::take_out, b.at("side"), {}});
    CHECK(shaken_by_half(job, state, {Verb::set_vehicle, {}, {.brake = Ask::no, .gear = Ask::no}}).empty());
    CHECK(shaken_by_half(job, state, {Verb::set_vehicle, {}, {.battery = Ask::no}}).empty());
    CHECK(shaken_by_half(job, state, {Verb::set_vehicle, {}, {.stands = Ask::no}}).empty()); // so already
    CHECK(shaken_by_half(job, state, {Verb::set_vehicle, {}, {.stands = Ask::yes}}).size() == 1);
}

TEST_CASE("hanging on half a joint is told only where it is true") {
    SUBCASE("another joint carries it whole") {
        Build b = plate_on_two();
        b.part("beam", true);
        b.fastener("beam_bolt", {"plate", "beam"});
        CHECK(half(b, true, {"side"}).empty());
        b.fastener("beam_bolt_2", {"plate", "beam"});
        CHECK(half(b, true, {"side"}).empty());
        CHECK(half(b, true, {"side", "beam_bolt"}) == Names{"plate"});
    }
    SUBCASE("what hangs on it carries nothing") {
        Build b = plate_on_two();
        b.part("sensor");
        b.fastener("sensor_1", {"sensor", "plate"});
        b.fastener("sensor_2", {"sensor", "plate"});
        CHECK(half(b, true, {"side"}) == Names{"plate"});
        CHECK(half(b, true, {"sensor_1"}) == Names{"sensor"});
    }
    SUBCASE("what gives way hangs on nothing") {
        Build b = plate_on_two();
        b.p("plate").flexible = true;
        CHECK(half(b, true, {"side"}).empty());
    }
    SUBCASE("clips and plugs carry nothing") {
        Build b = plate_on_two();
        b.f("low").kind = b.f("side").kind = FastenerKind::clip;
        CHECK(half(b, true, {"side"}).empty());
    }
    SUBCASE("a nut off is its bolt undone, and a joint counts once") {
        Build b;
        b.part("frame", true);
        b.part("plate");
        for (const char* n : {"1", "2"}) {
            b.fastener(std::string("bolt_") + n, {"plate", "frame"}).joint = n;
            b.fastener(std::string("nut_") + n, {"plate", "frame"}, FastenerKind::nut).joint = n;
        }
        CHECK(half(b, true, {}).empty());
        CHECK(half(b, true, {"nut_1"}) == Names{"plate"});
        CHECK(half(b, true, {"nut_1", "nut_2"}).empty());
    }
}

TEST_CASE("an order worked out raises the vehicle before the first bolt of a joint that needs it raised for another") {
    const Build b = plate_on_two();
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(rules_of(plan.findings).empty());
    State state = as_found(job);
    for (const Step& step : plan.steps) {
        for (const ItemId id : step.items)
            if (id == b.at("side"))
                CHECK(state.vehicle.stands == Ask::yes);
        apply_step(job, state, step);
    }
    CHECK(rules_of(plan_refit(job, plan).findings).empty());
    // What its own joint does not ask for, nobody does.
    Build other = plate_on_two();
    other.part("cover");
    other.fastener("cover_bolt", {"cover", "frame"});
    other["cover_bolt"].from = Place::left;
    const Job job2 = prepare(other.map);
    CHECK(judge(job2, as_found(job2), {Verb::take_out, other.at("cover_bolt"), {}}).empty());
    CHECK(judge(job2, as_found(job2), {Verb::take_out, other.at("side"), {}}).size() == 1);
}

TEST_CASE("one bolt, then raised, then the other: the author is told, at the bolt and at the raising") {
    Build b = plate_on_two();
    b.task("raise").sets = {.stands = Ask::yes, .chocked = Ask::yes};
    b.step("side", 1);
    b.step("raise", 2);
    b.step("low", 3);
    b.step("plate", 4);
    CHECK(strip_rules(b.map) == Names{"vehicle", "half-undone"});
    const Job job = prepare(b.map);
    const Finding told = plan_strip(job).findings.back();
    CHECK(told.weight == Weight::doubt);
    CHECK(told.nodes == Names{"plate", "raise"});
    CHECK(told.what == "Step 2 raises the vehicle while plate hangs on part of the fasteners that carry it.");
    b.step("raise", 0);
    CHECK(strip_rules(b.map).empty());
}

TEST_CASE("loaded and lowered is still loaded") {
    Build b;
    b.part("frame", true);
    Part& beam = b.part("beam");
    beam.lower_mm = 50;
    beam.support = "jack";
    b.part("spring").loaded = "spring";
    b.fastener("beam_bolt", {"beam", "frame"});
    b.fastener("spring_bolt", {"spring", "beam"});
    const Job job = prepare(b.map);
    State state = as_found(job);
    apply(job, state, {Verb::prop, b.at("beam"), {}});
    apply(job, state, {Verb::take_out, b.at("beam_bolt"), {}});
    apply(job, state, {Verb::let_down, b.at("beam"), {}});
    REQUIRE(state.parts[2] == PartState::lowered);
    const auto objections = judge(job, state, {Verb::take_out, b.at("spring_bolt"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::loaded);
}

TEST_CASE("a brake holds a shaft only while its other end is still bolted up") {
    Build b;
    b.part("axle", true);
    b.part("box", true);
    b.part("shaft");
    b.fastener("axle_bolt", {"shaft", "axle"});
    Fastener& box_bolt = b.fastener("box_bolt", {"shaft", "box"});
    box_bolt.counter = "brake";
    box_bolt.held_through = {b.at("shaft")};
    const Job job = prepare(b.map);
    State state = as_found(job);
    CHECK(judge(job, state, {Verb::take_out, b.at("box_bolt"), {}}).empty());
    apply(job, state, {Verb::take_out, b.at("axle_bolt"), {}});
    const auto objections = judge(job, state, {Verb::take_out, b.at("box_bolt"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::hold_lost);
}

TEST_CASE("fluid in what leaves along with a part is drained first") {
    Build b = bolted_lid();
    b.part("cooler").fluid = "coolant";
    b.fastener("cooler_bolt", {"cooler", "lid"});
    b.fastener("tap", {"cooler"}, FastenerKind::drain_plug);
    const Job job = prepare(b.map);
    CHECK(names_in(b.map, plan_strip(job), {Verb::take_out, Verb::take_off}) == Names{"bolt", "tap", "lid"});
}

TEST_CASE("what is tethered does not come off by its hose") {
    Build b = bolted_lid();
    b.part("hose").flexible = true;
    b.p("lid").tether = {b.at("hose")};
    const Job job = prepare(b.map);
    CHECK(names_in(b.map, plan_strip(job), {Verb::take_out, Verb::take_off}) == Names{"hose", "bolt", "lid"});
}

TEST_CASE("single-use gaskets and rings come out with what covers them, also when only one part is wanted") {
    Build b = bolted_lid();
    b.part("gasket").renew = true;
    b.after("gasket", {"lid"});
    b.part("shim_gasket").renew = true;
    b.f("bolt").holds.push_back(b.at("shim_gasket"));
    b.fastener("washer", {"lid", "body"}, FastenerKind::washer).joint = "j";
    b.f("bolt").joint = "j";
    const Job job = prepare(b.map);
    for (const Plan& plan : {plan_strip(job), plan_strip(job, b.at("lid"))}) {
        const Names names = names_in(b.map, plan, {Verb::take_out, Verb::take_off});
        CHECK(rules_of(plan.findings).empty());
        for (const char* name : {"washer", "gasket", "shim_gasket"})
            CHECK_MESSAGE(place_of(names, name) < names.size(), name);
        CHECK(rules_of(plan_refit(job, plan).findings).empty());
    }
}

TEST_CASE("an author's gate is kept when only one part is wanted") {
    Build b = bolted_lid();
    b.task("lift").sets = {.stands = Ask::yes, .chocked = Ask::yes};
    b.task("look_at_stands").gate = true;
    b.part("other");
    b.fastener("other_bolt", {"other", "body"});
    b["bolt"].from = Place::under;
    int step = 0;
    for (const char* name : {"lift", "look_at_stands", "other_bolt", "other", "bolt", "lid"})
        b.step(name, ++step);
    const Job job = prepare(b.map);
    CHECK(leaving(b.map, plan_strip(job, b.at("lid"))) == Names{"lift", "look_at_stands", "bolt", "lid"});
}

TEST_CASE("a heavy unit goes back on its jack, and every bolt of its flange is in before any is tight") {
    Build b;
    b.part("frame", true);
    b.part("box").support = "jack; helper";
    b.fastener("long_1", {"box", "frame"});
    b.fastener("short_1", {"box", "frame"});
    b.group("long", {"long_1"});
    b.group("short", {"short_1"});
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Plan down = plan_strip(job);
    const Plan back = plan_refit(job, down);
    CHECK(rules_of(back.findings).empty());
    CHECK(back.steps[0].verb == Verb::prop);
    CHECK(back.steps[0].people == 2);
    CHECK(back.steps[0].by_rules);
    CHECK(names_in(b.map, back, {Verb::fit, Verb::start, Verb::tighten}) ==
          Names{"box", "short_1", "long_1", "short_1", "long_1"});
}

TEST_CASE("a prop stays while its carriers are only run down, unless they wait for the wheels") {
    Build b;
    b.part("frame", true);
    b.part("box").support = "jack";
    b.part("rail");
    b.fastener("mount", {"box", "frame"});
    b.fastener("rail_bolt", {"rail", "frame"});
    const Job job = prepare(b.map);
    State state = as_found(job);
    state.refit = true;
    apply(job, state, {Verb::prop, b.at("box"), {}});
    apply(job, state, {Verb::take_out, b.at("mount"), {}});
    apply(job, state, {Verb::start, b.at("mount"), {}});
    apply(job, state, {Verb::seat, b.at("mount"), {}});
    CHECK(judge(job, state, {Verb::unprop, b.at("box"), {}}).size() == 1);
    b.f("mount").torque_after_vehicle = {.stands = Ask::no};
    CHECK(judge(job, state, {Verb::unprop, b.at("box"), {}}).empty());
}

TEST_CASE("two people where the nut is held from elsewhere, and the card says from where") {
    Build b = bolted_lid();
    b["bolt"].from = Place::under;
    b.f("bolt").counter = "hex 13";
    b.f("bolt").counter_from = Place::inside;
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    const auto step =
        std::find_if(plan.steps.begin(), plan.steps.end(), [](const Step& s) { return s.verb == Verb::take_out; });
    REQUIRE(step != plan.steps.end());
    CHECK(step->people == 2);
    const StepCard card = card_of(job, plan, static_cast<std::size_t>(step - plan.steps.begin()));
    CHECK(card.from == "from under");
    REQUIRE(card.hardware.size() == 1);
    CHECK(card.hardware[0].extra == "hold the other side: hex 13 from inside");
    CHECK(card.hardware[0].size == "size not stated");
}

TEST_CASE("a part's caution and mass are said where it comes loose") {
    Build b = bolted_lid();
    b["lid"].caution = "sharp edges";
    b.p("lid").mass_kg = 7.5;
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    const StepCard card = card_of(job, plan, 0);
    CHECK(card.cautions == Names{"sharp edges", "lid (7.5 kg) comes loose with the last one: hold it."});
}

TEST_CASE("nobody is told to hold what is too heavy to hold") {
    Build b = bolted_lid();
    const auto first_card = [&](double kg) {
        b.p("lid").mass_kg = kg;
        const Job job = prepare(b.map);
        return card_of(job, plan_strip(job), 0);
    };
    CHECK(first_card(24.9).cautions == Names{"lid (24.9 kg) comes loose with the last one: hold it."});
    CHECK(first_card(24.9).notes.empty());
    CHECK(first_card(25).cautions == Names{"lid (25 kg) is too heavy to hold: prop it before the last one; what props "
                                           "it is not stated."});
    CHECK(first_card(25).notes == Names{"Heavy: not by one person's arms."});
    b["bolt"].people = 2;
    CHECK(first_card(25).notes.empty());
}

TEST_CASE("a part's caution stands at its prop, its first carrier and its own steps, at no other bolt") {
    Build b;
    b.part("body", true);
    b.part("plate");
    b.part("member");
    Part& box = b.part("box");
    box.support = "jack";
    b["box"].caution = "it tips";
    b["member"].caution = "sharp edges";
    b.part("shaft");
    b["shaft"].caution = "drops at one end";
    b.fastener("front_end", {"shaft", "body"});
    b.fastener("rear_end", {"shaft", "box"});
    b.fastener("plate_bolt", {"plate", "member", "body"});
    b.fastener("brace", {"box", "plate"});
    b.fastener("member_bolt", {"member", "body"});
    b.fastener("mount_1", {"box", "body"});
    b.fastener("mount_2", {"box", "body"});
    b.p("box").carried_by = {b.at("mount_1"), b.at("mount_2")};
    int number = 0;
    for (const char* name : {"front_end", "rear_end", "shaft", "brace", "plate_bolt", "plate", "member_bolt", "member",
                             "mount_1", "mount_2", "box"})
        b.step(name, ++number);
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    const auto wears = [&](const std::string& caution) {
        Names out;
        for (std::size_t i = 0; i < plan.steps.size(); ++i) {
            const StepCard card = card_of(job, plan, i);
            if (std::find(card.cautions.begin(), card.cautions.end(), caution) != card.cautions.end())
                out.push_back(b.map[plan.steps[i].items.front()].name);
        }
        return out;
    };
    CHECK(wears("it tips") == Names{"box", "mount_1", "box"});
    CHECK(wears("sharp edges") == Names{"member_bolt", "member"});
    CHECK(wears("drops at one end") == Names{"front_end", "rear_end", "shaft"});
}

TEST_CASE("a trial that nothing places comes last on the way back") {
    Build b = bolted_lid();
    b.task("road_test").when = TaskWhen::refit;
    const Job job = prepare(b.map);
    const Plan back = plan_refit(job, plan_strip(job));
    CHECK(back.steps.back().items == std::vector<ItemId>{b.at("road_test")});
}
