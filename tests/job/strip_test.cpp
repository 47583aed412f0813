// The order down, from the rules alone: tiny assemblies, written out.
#include <algorithm>
#include <doctest/doctest.h>

#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

Names strip(const Map& map) {
    const Job job = prepare(map);
    return leaving(map, plan_strip(job));
}

} // namespace

TEST_CASE("a lid on a body: bolts, then lid") {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.fastener("bolt_1", {"lid", "body"});
    b.fastener("bolt_2", {"lid", "body"});
    b.map.target = b.at("lid");
    CHECK(strip(b.map) == Names{"bolt_1", "bolt_2", "lid"});
}

TEST_CASE("a cover bolted over a bolt comes first, because `after` says so") {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.part("cover");
    b.fastener("hidden", {"lid", "body"});
    b.fastener("cover_bolt", {"cover", "body"});
    b.after("hidden", {"cover"});
    b.map.target = b.at("lid");
    CHECK(strip(b.map) == Names{"cover_bolt", "cover", "hidden", "lid"});
}

TEST_CASE("only what must come off for a part") {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.part("other");
    b.fastener("lid_bolt", {"lid", "body"});
    b.fastener("other_bolt", {"other", "body"});
    const Job job = prepare(b.map);
    CHECK(leaving(b.map, plan_strip(job, b.at("other"))) == Names{"other_bolt", "other"});
}

TEST_CASE("a unit leaves with its own plugs, studs and inner bolts") {
    Build b;
    b.part("body", true);
    b.part("box");
    b.part("flange");
    b.fastener("mount", {"box", "body"});
    b.fastener("flange_bolt", {"flange", "box"});
    b.fastener("level", {"box"}, FastenerKind::level_plug);
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(leaving(b.map, plan) == Names{"mount", "box"});
    CHECK(plan.end.parts[1] == PartState::off);
    CHECK(plan.end.parts[2] == PartState::off);
    CHECK(plan.end.went_with[2] == b.at("box"));
    CHECK(plan.end.fasteners[1] == FastenerState::tight);
}

TEST_CASE("a bolt with one part only joins it to what stays; a plug joins nothing") {
    Build b;
    b.part("pan");
    b.fastener("pan_bolt", {"pan"});
    b.fastener("plug", {"pan"}, FastenerKind::plug);
    b.map.target = b.at("pan");
    CHECK(strip(b.map) == Names{"pan_bolt", "pan"});
}

TEST_CASE("pin before its nut") {
    Build b;
    b.part("body", true);
    b.part("joint");
    b.fastener("castle", {"joint", "body"}, FastenerKind::castle_nut);
    b.fastener("pin", {}, FastenerKind::split_pin).secures = {b.at("castle")};
    b.map.target = b.at("joint");
    CHECK(strip(b.map) == Names{"pin", "castle", "joint"});
}

TEST_CASE("nut, washer, spacer off a stud from the outside; the stud stays in the box") {
    Build b;
    b.part("body", true);
    b.part("box");
    for (const auto& [name, kind, stack] : {std::tuple{"stud", FastenerKind::stud, 1},
                                            {"spacer", FastenerKind::spacer, 2},
                                            {"washer", FastenerKind::washer, 3},
                                            {"nut", FastenerKind::nut, 4}}) {
        Fastener& f = b.fastener(name, {"box", "body"}, kind);
        f.joint = "j";
        f.stack = stack;
    }
    CHECK(strip(b.map) == Names{"nut", "washer", "spacer", "box"});
    const Job job = prepare(b.map);
    const Plan down = plan_strip(job);
    const Plan back = plan_refit(job, down);
    CHECK(names_in(b.map, back, {Verb::fit, Verb::start, Verb::tighten}) ==
          Names{"box", "spacer", "washer", "nut", "nut"});
}

TEST_CASE("a spacer on the stud behind the arm comes after the arm, and goes on before it") {
    Build b;
    b.part("body", true);
    b.part("arm");
    for (const auto& [name, kind, stack] : {std::tuple{"stud", FastenerKind::stud, 1},
                                            {"spacer", FastenerKind::spacer, 2},
                                            {"washer", FastenerKind::washer, 3},
                                            {"nut", FastenerKind::nut, 4}}) {
        const bool behind = kind == FastenerKind::spacer;
        Fastener& f = behind ? b.fastener(name, {"body"}, kind) : b.fastener(name, {"arm", "body"}, kind);
        f.joint = "j";
        f.stack = stack;
    }
    b.after("spacer", {"arm"});
    CHECK(strip(b.map) == Names{"nut", "washer", "arm", "spacer"});
    const Job job = prepare(b.map);
    const Plan down = plan_strip(job);
    CHECK(names_in(b.map, plan_refit(job, down), {Verb::fit, Verb::start, Verb::tighten}) ==
          Names{"spacer", "arm", "washer", "nut", "nut"});
}

TEST_CASE("through bolt: its nut first, its washer no earlier than itself") {
    Build b;
    b.part("body", true);
    b.part("arm");
    Fastener& washer = b.fastener("washer", {"arm", "body"}, FastenerKind::washer);
    washer.joint = "j";
    Fastener& bolt = b.fastener("bolt", {"arm", "body"});
    bolt.joint = "j";
    Fastener& nut = b.fastener("nut", {"arm", "body"}, FastenerKind::nut);
    nut.joint = "j";
    b.map.target = b.at("arm");
    const Names order = strip(b.map);
    CHECK(place_of(order, "nut") < place_of(order, "bolt"));
    CHECK(place_of(order, "bolt") < place_of(order, "arm"));
}

TEST_CASE("a slotted bracket is freed by slackening") {
    Build b;
    b.part("body", true);
    b.part("bracket");
    b.fastener("slot_bolt", {"bracket", "body"}).frees_when = FreesWhen::slack;
    b.map.target = b.at("bracket");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(names_in(b.map, plan, {Verb::loosen}) == Names{"slot_bolt"});
    CHECK(names_in(b.map, plan, {Verb::take_out}).empty());
    CHECK(plan.end.parts[1] == PartState::off);
}

TEST_CASE("a bolt that cannot be drawn leaves and comes back with its part") {
    Build b;
    b.part("body", true);
    b.part("pump");
    b.fastener("long_bolt", {"pump", "body"}).leaves_with = b.at("pump");
    b.map.target = b.at("pump");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(names_in(b.map, plan, {Verb::loosen}) == Names{"long_bolt"});
    CHECK(rules_of(plan.findings).empty());
    State state = as_found(job);
    const auto objections = judge(job, state, {Verb::take_out, b.at("long_bolt"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::cannot_be_drawn);
    const Plan back = plan_refit(job, plan);
    CHECK(rules_of(back.findings).empty());
    CHECK(names_in(b.map, back, {Verb::fit, Verb::tighten}) == Names{"pump", "long_bolt"});
}

TEST_CASE("propped before the first carrier is slackened, whichever that is") {
    Build b;
    b.part("frame", true);
    b.part("member");
    b.part("box").support = "jack";
    b.fastener("member_bolt", {"member", "frame"});
    b.fastener("mount_nut", {"box", "member"});
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    CHECK(std::vector(job.carriers[2].begin(), job.carriers[2].end()) ==
          std::vector<ItemId>{b.at("member_bolt"), b.at("mount_nut")});
    const Plan plan = plan_strip(job);
    REQUIRE(plan.steps.size() == 3);
    CHECK(plan.steps[0].verb == Verb::prop);
    CHECK(plan.steps[0].by_rules);
    CHECK(leaving(b.map, plan) == Names{"mount_nut", "box"});
}

TEST_CASE("what hangs beside the path to the ground carries nothing") {
    Build b;
    b.part("frame", true);
    b.part("box").support = "jack";
    b.part("bracket");
    b.part("hose").flexible = true;
    b.fastener("mount", {"box", "frame"});
    b.fastener("bracket_bolt", {"bracket", "box"});
    b.fastener("hose_clamp_1", {"hose", "box"}, FastenerKind::clamp);
    b.fastener("hose_clamp_2", {"hose", "frame"}, FastenerKind::clamp);
    const Job job = prepare(b.map);
    CHECK(std::vector(job.carriers[1].begin(), job.carriers[1].end()) == std::vector<ItemId>{b.at("mount")});
}

TEST_CASE("a part that stays and would drop is propped too") {
    Build b;
    b.part("frame", true);
    b.part("tail").support = "jack";
    b.part("member");
    b.fastener("member_bolt", {"member", "frame"});
    b.fastener("tail_nut", {"tail", "member"});
    b.map.target = b.at("member");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(names_in(b.map, plan, {Verb::prop}) == Names{"tail"});
    CHECK(plan.steps[0].verb == Verb::prop);
    CHECK(plan.end.parts[1] == PartState::on);
    CHECK(plan.end.propped[1] == 1);
    CHECK(rules_of(plan.findings).empty());
    b.p("tail").support.clear();
    const Job bare = prepare(b.map);
    // Without its support the tail hangs on the member alone, and would go down with it.
    CHECK(leaving(b.map, plan_strip(bare)) == Names{"member_bolt", "member"});
}

TEST_CASE("the fill plug is proven before the drain opens, the drain before the shaft is drawn") {
    Build b;
    b.part("body", true);
    b.part("box", true).fluid = "gear oil";
    b.part("shaft").opens = {b.at("box")};
    b.fastener("fill", {"box"}, FastenerKind::fill_plug);
    b.fastener("drain", {"box"}, FastenerKind::drain_plug);
    b.fastener("flange_bolt", {"shaft", "body"});
    b.map.target = b.at("shaft");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(names_in(b.map, plan, {Verb::prove, Verb::take_out, Verb::take_off}) ==
          Names{"flange_bolt", "fill", "drain", "shaft"});
    const Plan back = plan_refit(job, plan);
    CHECK(rules_of(back.findings).empty());
    const Names names = names_in(b.map, back, {Verb::fit, Verb::tighten, Verb::fill});
    CHECK(place_of(names, "drain") < place_of(names, "box"));
    CHECK(place_of(names, "shaft") < place_of(names, "box"));
    CHECK(place_of(names, "box") < place_of(names, "fill"));
}

TEST_CASE("oil goes on before anything else is touched") {
    Build b;
    b.part("body", true);
    b.part("pipe");
    b.part("shield");
    b.fastener("shield_bolt", {"shield", "body"});
    b.fastener("rusty", {"pipe", "body"}, FastenerKind::nut).soak_min = 30;
    b.map.target = b.at("pipe");
    b.after("pipe", {"shield"});
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(plan.steps[0].verb == Verb::soak);
    CHECK(rules_of(plan.findings).empty());
}

TEST_CASE("work from under wants stands, and stands want chocks") {
    Build b;
    b.part("body", true);
    b.part("pan");
    b.fastener("bolt", {"pan", "body"});
    b["bolt"].from = Place::under;
    b.map.target = b.at("pan");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    REQUIRE(plan.steps[0].verb == Verb::set_vehicle);
    CHECK(plan.steps[0].vehicle.stands == Ask::yes);
    CHECK(plan.steps[0].vehicle.chocked == Ask::yes);
}

TEST_CASE("a task of the map's own that sets the vehicle is taken instead of one from the rules") {
    Build b;
    b.part("body", true);
    b.part("pan");
    b.fastener("bolt", {"pan", "body"});
    b["bolt"].from = Place::under;
    b.task("lift").sets = {.stands = Ask::yes, .chocked = Ask::yes};
    b.map.target = b.at("pan");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(names_in(b.map, plan, {Verb::set_vehicle}).empty());
    CHECK(leaving(b.map, plan) == Names{"lift", "bolt", "pan"});
}

TEST_CASE("a gear holds a shaft only while what it holds by is on") {
    Build b;
    b.part("body", true);
    b.part("shaft");
    b.part("flange");
    b.fastener("shaft_bolt", {"shaft", "body"});
    Fastener& nut = b.fastener("flange_nut", {"flange", "body"}, FastenerKind::nut);
    nut.counter = "gear";
    nut.held_through = {b.at("shaft")};
    const Job job = prepare(b.map);
    State state = as_found(job);
    CHECK(judge(job, state, {Verb::take_out, b.at("flange_nut"), {}}).empty());
    apply(job, state, {Verb::take_out, b.at("shaft_bolt"), {}});
    apply(job, state, {Verb::take_off, b.at("shaft"), {}});
    const auto objections = judge(job, state, {Verb::take_out, b.at("flange_nut"), {}});
    REQUIRE(objections.size() == 1);
    CHECK(objections[0].rule == Rule::hold_lost);
}

TEST_CASE("what hangs by a hose is moved aside, the hose still on") {
    Build b;
    b.part("body", true);
    b.part("canister").aside = "left 200 mm";
    b.part("hose").flexible = true;
    b.part("box");
    b.fastener("canister_bolt", {"canister", "body"});
    b.fastener("hose_clamp", {"hose", "canister"}, FastenerKind::clamp);
    b.fastener("hose_end", {"hose", "body"}, FastenerKind::clamp);
    b.fastener("box_bolt", {"box", "body"});
    b.after("box_bolt", {"canister"});
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(leaving(b.map, plan) == Names{"canister_bolt", "canister", "box_bolt", "box"});
    CHECK(plan.end.parts[1] == PartState::aside);
    const Plan back = plan_refit(job, plan);
    CHECK(rules_of(back.findings).empty());
    CHECK(names_in(b.map, back, {Verb::fit, Verb::put_back}) == Names{"box", "canister"});
}

TEST_CASE("two bolts reached only once the tail is let down") {
    Build b;
    b.part("frame", true);
    Part& tail = b.part("tail");
    tail.support = "jack";
    tail.lower_mm = 50;
    b.part("member");
    b.part("box").support = "jack";
    b.fastener("member_bolt", {"member", "frame"});
    b.fastener("tail_nut", {"tail", "member"});
    b.fastener("upper_1", {"box", "tail"});
    b.fastener("upper_2", {"box", "tail"});
    b.after("upper_1", {"tail"});
    b.after("upper_2", {"tail"});
    b.after("tail", {"member"});
    b.map.target = b.at("box");
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    CHECK(rules_of(plan.findings).empty());
    const Names names = names_in(b.map, plan, {Verb::prop, Verb::take_out, Verb::let_down, Verb::take_off});
    CHECK(place_of(names, "tail") < place_of(names, "member_bolt"));
    CHECK(names.back() == "box");
    CHECK(plan.end.parts[1] == PartState::lowered);
    const Plan back = plan_refit(job, plan);
    CHECK(rules_of(back.findings).empty());
    const Names returning = names_in(b.map, back, {Verb::fit, Verb::tighten, Verb::raise, Verb::unprop});
    CHECK(returning[0] == "box");
    CHECK(place_of(returning, "upper_2") < place_of(returning, "member"));
    CHECK(back.end.parts[1] == PartState::on);
    CHECK(back.end.parts[3] == PartState::on);
}

TEST_CASE("items that lock each other: no order, and the ring is named") {
    Build b;
    b.part("body", true);
    b.part("left_lid");
    b.part("right_lid");
    b.fastener("left_bolt", {"left_lid", "body"});
    b.fastener("right_bolt", {"right_lid", "body"});
    b.after("left_bolt", {"right_lid"});
    b.after("right_bolt", {"left_lid"});
    const Job job = prepare(b.map);
    const Plan plan = plan_strip(job);
    REQUIRE(plan.findings.size() == 1);
    CHECK(plan.findings[0].rule == "lock");
    CHECK(plan.findings[0].nodes.size() == 4);
    CHECK(plan.findings[0].remedy == "Change what one of them states in `after` or `holds`.");
    CHECK(leaving(b.map, plan).empty());
}

TEST_CASE("same place, same tool, same group before another: fewer crawls and socket changes") {
    Build b;
    b.part("body", true);
    b.part("a");
    b.part("b");
    const auto add = [&](const char* name, const char* part, Place from, const char* drive) {
        Fastener& f = b.fastener(name, {part, "body"});
        f.drive = *read_drive(drive);
        b[name].from = from;
    };
    add("a1", "a", Place::front, "hex 13");
    add("a2", "a", Place::rear, "hex 13");
    add("b1", "b", Place::front, "hex 10");
    add("b2", "b", Place::front, "hex 13");
    const Names order = strip(b.map);
    CHECK(order == Names{"b1", "a1", "b2", "b", "a2", "a"});
}

TEST_CASE("nothing at all, and a fixed target") {
    Build empty;
    CHECK(strip(empty.map).empty());
    Build b;
    b.part("body", true);
    const Job job = prepare(b.map);
    CHECK(rules_of(plan_strip(job, b.at("body")).findings) == Names{"cannot-come-off"});
}

TEST_CASE("a chain of ten thousand that wait for each other neither overflows nor gives up") {
    Build b;
    b.part("body", true);
    constexpr int count = 10000;
    for (int i = 0; i < count; ++i)
        b.fastener("f" + std::to_string(i), {}).holds = {ItemId{0}};
    for (int i = 0; i + 1 < count; ++i)
        b.map.items[static_cast<std::size_t>(1 + i)].after.push_back({i + 2});
    const Names by_rules = strip(b.map);
    REQUIRE(by_rules.size() == count);
    CHECK(by_rules.front() == "f9999");
    b.map.items[1].step = 1; // the author names only the last to come: everything else is brought first
    const Names by_author = strip(b.map);
    REQUIRE(by_author.size() == count);
    CHECK(by_author.front() == "f9999");
    CHECK(by_author.back() == "f0");
}

TEST_CASE("what joins a part while everything is as found is what a search finds") {
    int asked = 0;
    for (std::uint64_t seed = 0; seed < 300; ++seed) {
        RandomSettings settings;
        settings.parts = 3 + static_cast<int>(seed % 20);
        settings.nested = seed % 3 != 0;
        Build b = random_assembly(seed, settings);
        Lots dice(seed + 5);
        for (Part& part : b.map.parts) {
            part.flexible = dice.chance(10);
            part.fixed = part.fixed || dice.chance(5);
            if (dice.chance(10))
                part.support = "jack";
        }
        for (Fastener& fastener : b.map.fasteners)
            if (dice.chance(10))
                fastener.holds.resize(std::min<std::size_t>(fastener.holds.size(), 1)); // pins hold nothing
            else if (fastener.holds.size() == 2 && dice.chance(20))
                if (const ItemId third = b.map.parts[static_cast<std::size_t>(dice.below(settings.parts))].item;
                    !fastener.holds.empty() && third != fastener.holds[0] && third != fastener.holds[1])
                    fastener.holds.push_back(third);
        for (Item& item : b.map.items)
            item.after.clear();
        const Job job = prepare(b.map);
        const State found = as_found(job);
        CAPTURE(seed);
        for (std::size_t p = 0; p < b.map.parts.size(); ++p) {
            if (b.map.parts[p].fixed || !b.map.parts[p].support.empty())
                continue;
            std::vector<ItemId> searched;
            for (const Held& held : what_holds(job, found, b.map.parts[p].item))
                if (held.rule == Rule::joined)
                    searched.push_back(held.by);
            std::vector<ItemId> known(job.joined_at_first[p].begin(), job.joined_at_first[p].end());
            std::sort(known.begin(), known.end());
            CHECK(known == searched);
            ++asked;
        }
    }
    CHECK(asked > 2000);
}
