// Which bolts are tightened together, in which order and passes, with which wrench, and what to look at afterwards.
#include <iterator>

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "core/job/tightening.hpp"
#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

/// A cover on a body, its bolts where they are told to be: millimetres in the plane of the body, y up the axis.
class Cover {
public:
    Build b;
    Cover() {
        b.part("body", true);
        b.part("cover");
        nodes();
    }
    Fastener& bolt(const std::string& name, double x_mm, double z_mm) {
        Fastener& f = b.fastener(name, {"cover", "body"});
        f.thread = *read_thread("M8");
        f.grade = "8.8";
        f.torque = *read_torque("22 N·m");
        nodes();
        b.map.nodes.back().world[12] = x_mm / 1000;
        b.map.nodes.back().world[14] = z_mm / 1000;
        return f;
    }
    std::vector<Tightening> tightened() const {
        const Job job = prepare(b.map);
        return tightenings(job, plan_refit(job, plan_strip(job)));
    }
    Names order(const Tightening& t) const {
        Names names;
        for (const ItemId id : t.items)
            names.push_back(b.map[id].name);
        return names;
    }

private:
    void nodes() {
        while (b.map.nodes.size() < b.map.items.size()) {
            b.map.nodes.emplace_back();
            b.map.nodes.back().name = b.map.items[b.map.nodes.size() - 1].name;
        }
    }
};

Cover square_of_four() {
    Cover c;
    c.bolt("a", 0, 0);
    c.bolt("b", 80, 0);
    c.bolt("c", 80, 80);
    c.bolt("d", 0, 80);
    return c;
}

std::string words_of(const Tightening& t) {
    std::string all;
    for (const std::string& one : t.words)
        all += one + "; ";
    return all;
}

bool has(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

std::vector<double> shares(const Tightening& t) {
    std::vector<double> out;
    for (const Round& round : t.rounds)
        out.push_back(round.percent);
    return out;
}

/// Of the orders that have any of a tighten step, what is not in it.
std::vector<ItemId> rest_by_orders(const std::vector<Tightening>& all, const Step& step) {
    const auto in_step = [&](ItemId id) {
        return std::find(step.items.begin(), step.items.end(), id) != step.items.end();
    };
    std::vector<ItemId> others;
    for (const Tightening& t : all)
        if (step.verb == Verb::tighten && std::any_of(t.items.begin(), t.items.end(), in_step))
            std::copy_if(t.items.begin(), t.items.end(), std::back_inserter(others),
                         [&](ItemId id) { return !in_step(id); });
    std::sort(others.begin(), others.end());
    return others;
}

std::vector<ItemId> told_rest(const Job& job, const Plan& back, std::size_t step) {
    std::vector<ItemId> told = rest_of_joint(job, back, step).items;
    std::sort(told.begin(), told.end());
    return told;
}

} // namespace

TEST_CASE("the star is worked out from where the bolts are, and says so") {
    const Cover c = square_of_four();
    const auto all = c.tightened();
    REQUIRE(all.size() == 1);
    CHECK(all[0].pattern == Pattern::star);
    const Names order = c.order(all[0]);
    CHECK(order.front() == "a");
    CHECK(order[1] == "c"); // across
    CHECK(!all[0].pattern_stated);
    CHECK(has(all[0].order_words, "not stated"));
    CHECK(has(all[0].order_words, "worked out"));
}

TEST_CASE("an order that the author states wins, and what it leaves out comes last") {
    Cover c = square_of_four();
    for (const char* name : {"a", "b", "c", "d"})
        c.b.f(name).pattern = "d; b; a";
    const auto all = c.tightened();
    CHECK(c.order(all[0]) == Names{"d", "b", "a", "c"});
    CHECK(all[0].pattern_stated);
    CHECK(has(all[0].order_words, "stated, one by one"));
    for (const char* name : {"a", "b", "c", "d"})
        c.b.f(name).pattern = "circle";
    CHECK(c.tightened()[0].pattern == Pattern::round);
}

TEST_CASE(
    "steps that share a joint tell one order over all of it, the same as `torque` does, and keep it in themselves") {
    for (const char* pattern : {"star", "d; b; a; c", ""}) {
        CAPTURE(pattern);
        Cover c = square_of_four();
        c.b.group("left", {"a", "b"});
        c.b.group("right", {"c", "d"});
        for (const char* name : {"a", "b", "c", "d"})
            c.b.f(name).pattern = pattern;
        const Job job = prepare(c.b.map);
        const Plan back = plan_refit(job, plan_strip(job));
        const auto all = tightenings(job, back);
        REQUIRE(all.size() == 1);
        const Names by_torque = c.order(all[0]);
        int told = 0;
        for (std::size_t s = 0; s < back.steps.size(); ++s) {
            if (back.steps[s].verb != Verb::tighten)
                continue;
            const RestOfJoint rest = rest_of_joint(job, back, s);
            REQUIRE(rest.orders.size() == 1);
            CHECK(rest.orders[0].stated == (std::string(pattern).find(';') != std::string::npos));
            Names order, here;
            std::string words;
            for (const RestOfJoint::Member& one : rest.orders[0].members) {
                order.push_back(c.b.map[one.item].name);
                words += fmt::format("  {}. {}", order.size(), order.back());
                if (one.step == s)
                    here.push_back(order.back());
                else
                    words += fmt::format(" (step {})", one.step + 1);
            }
            CHECK(order == by_torque);
            Names own; // the step's own items stand in that order, too
            for (const ItemId id : back.steps[s].items)
                own.push_back(c.b.map[id].name);
            CHECK(own == here);
            for (const std::string& note : card_of(job, back, s).notes)
                told += has(note, words) ? 1 : 0;
        }
        CHECK(told == 2);
    }
}

TEST_CASE("a longer bolt lies where its hole is; a shifted mesh, where its mesh is") {
    Cover c = square_of_four();
    for (const char* name : {"b", "d"})
        c.b.map.nodes[static_cast<std::size_t>(c.b[name].node)].world[13] = 0.06; // along the axis
    CHECK(c.tightened()[0].pattern == Pattern::star);
    // All origins at one place, as when a model was joined up and taken apart again: the meshes say where they are.
    for (const char* name : {"a", "b", "c", "d"}) {
        Node& node = c.b.map.nodes[static_cast<std::size_t>(c.b[name].node)];
        Mesh mesh;
        for (std::size_t k = 0; k < 3; ++k) {
            mesh.low[k] = static_cast<float>(node.world[12 + k]) - 0.004F;
            mesh.high[k] = static_cast<float>(node.world[12 + k]) + 0.004F;
            node.world[12 + k] = 0;
        }
        mesh.triangle_count = 1;
        node.mesh = static_cast<std::int32_t>(c.b.map.meshes.size());
        c.b.map.meshes.push_back(mesh);
    }
    CHECK(c.tightened()[0].pattern == Pattern::star);
    CHECK(c.order(c.tightened()[0])[1] == "c");
}

TEST_CASE("one flange in two groups is one pattern; another torque is another") {
    Cover c = square_of_four();
    c.b.group("long ones", {"a", "c"});
    c.b.group("short ones", {"b", "d"});
    CHECK(c.tightened().size() == 1);
    c.b.f("a").torque = c.b.f("c").torque = *read_torque("25 N·m");
    CHECK(c.tightened().size() == 2);
    CHECK(c.tightened()[0].pattern == Pattern::two);
}

TEST_CASE("of one flange those that say nothing go by the pattern that the others state; two patterns stay two") {
    Cover c = square_of_four();
    c.b.f("a").pattern = c.b.f("b").pattern = "star";
    c.b.f("a").passes = c.b.f("b").passes = "50 %; 100 %";
    auto all = c.tightened();
    REQUIRE(all.size() == 1);
    CHECK(all[0].pattern_stated);
    CHECK(all[0].rounds.size() == 2);
    c.b.f("d").lock = "medium"; // what is said of three is not said of the fourth
    CHECK(c.tightened().size() == 2);
    c.b.f("d").lock.clear();
    c.b.f("c").pattern = c.b.f("d").pattern = "circle";
    all = c.tightened();
    CHECK(all.size() == 2);
    CHECK(c.order(all[0]) == Names{"a", "b"});
}

TEST_CASE("a step that tightens part of a joint names the others, as the orders of tightening have them") {
    Cover c = square_of_four();
    c.b.group("left", {"a", "b"});
    c.b.group("right", {"c", "d"});
    const auto notes = [&] {
        const Job job = prepare(c.b.map);
        const Plan back = plan_refit(job, plan_strip(job));
        const auto all = tightenings(job, back);
        Names out;
        for (std::size_t s = 0; s < back.steps.size(); ++s) {
            CHECK(told_rest(job, back, s) == rest_by_orders(all, back.steps[s]));
            for (const std::string& note : card_of(job, back, s).notes)
                if (has(note, "One joint"))
                    out.push_back(note);
        }
        return out;
    };
    REQUIRE(notes().size() == 2);
    CHECK(has(notes()[0], "One joint with 2 others (step "));
    CHECK(has(notes()[0], "): go round all of them in one order, as `torque` gives it."));
    c.b.f("a").torque = c.b.f("b").torque = *read_torque("30 N·m");
    CHECK(notes().empty());
}

TEST_CASE("the rest of a joint on the demo maps is what the orders of tightening say") {
    for (const char* name : {"transfer_box.glb", "water_pump.glb"}) {
        const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR "/assets/") + name);
        REQUIRE(map);
        const Job job = prepare(*map);
        const Plan back = plan_refit(job, plan_strip(job));
        const auto all = tightenings(job, back);
        for (std::size_t s = 0; s < back.steps.size(); ++s) {
            CHECK(told_rest(job, back, s) == rest_by_orders(all, back.steps[s]));
        }
    }
}

TEST_CASE("all at one place: as listed, and nothing is claimed") {
    Cover c;
    for (const char* name : {"a", "b", "c"})
        c.bolt(name, 0, 0);
    CHECK(c.tightened()[0].pattern == Pattern::listed);
    CHECK(c.order(c.tightened()[0]) == Names{"a", "b", "c"});
}

TEST_CASE("passes: shares as stated; a number alone has shares that say where they are from; none is one") {
    Cover c = square_of_four();
    const auto with = [&](const char* passes) {
        for (const char* name : {"a", "b", "c", "d"})
            c.b.f(name).passes = passes;
        return c.tightened()[0];
    };
    CHECK(shares(with("50 %; 100 %")) == std::vector<double>{50, 100});
    CHECK(with("50 %; 100 %").rounds[0].stage.high_nm == doctest::Approx(11));
    CHECK(with("50 %; 100 %").rounds_words == "passes as stated");
    CHECK(shares(with("3")) == std::vector<double>{30, 60, 100});
    CHECK(has(with("3").rounds_words, "published"));
    CHECK(has(with("2").rounds_words, "common practice, no source"));
    CHECK(shares(with("")) == std::vector<double>{100});
    CHECK(has(with("").rounds_words, "not stated"));
    CHECK(with("2").rounds.back().is_final);
    CHECK(!with("2").rounds.front().is_final);
}

TEST_CASE("stages go all round each; torque and angle: all to the torque, then all through the angle") {
    Cover c = square_of_four();
    const auto with = [&](const char* torque) {
        for (const char* name : {"a", "b", "c", "d"})
            c.b.f(name).torque = *read_torque(torque);
        return c.tightened()[0];
    };
    const Tightening stages = with("10 N·m; 20 N·m; + 90°");
    REQUIRE(stages.rounds.size() == 3);
    CHECK(stages.rounds[1].stage.high_nm == doctest::Approx(20));
    CHECK(!stages.rounds[2].stage.has_torque);
    CHECK(stages.rounds[2].is_final);
    const Tightening both = with("20 N·m + 90°");
    REQUIRE(both.rounds.size() == 2);
    CHECK(!both.rounds[0].stage.has_angle);
    CHECK(both.rounds[1].stage.angle_deg == 90);
    CHECK(has(words_of(both), "never torqued again"));
}

TEST_CASE("dry, oiled, threadlocker: as stated, and not stated says so") {
    Cover c;
    c.bolt("a", 0, 0);
    CHECK(has(words_of(c.tightened()[0]), "threadlocker: not stated"));
    CHECK(has(words_of(c.tightened()[0]), "thread dry or oiled: not stated"));
    c.b.f("a").lock = "medium";
    c.b.f("a").condition = "oiled";
    CHECK(has(words_of(c.tightened()[0]), "threadlocker: medium"));
    CHECK(has(words_of(c.tightened()[0]), "thread oiled"));
    c.b.f("a").lock = "self-locking";
    CHECK(!has(words_of(c.tightened()[0]), "threadlocker"));
}

TEST_CASE("a castle nut: onward and never back, back, or not stated; the torque at the slot is asked for") {
    Cover c;
    c.bolt("a", 0, 0).kind = FastenerKind::castle_nut;
    CHECK(has(words_of(c.tightened()[0]), "onward or back is not stated"));
    c.b.f("a").slot = "onward";
    CHECK(has(words_of(c.tightened()[0]), "never back"));
    CHECK(has(words_of(c.tightened()[0]), "write down the torque there"));
    c.b.f("a").slot = "back";
    CHECK(has(words_of(c.tightened()[0]), "back to the last one"));
}

TEST_CASE("the person's unit, the manual's own beside it") {
    const auto stated = *read_torque("47 lbf·ft");
    CHECK(torque_in_words(stated, TorqueUnit::newton_metre) == "64 N·m (stated: 47 lbf·ft)");
    CHECK(torque_in_words(stated, TorqueUnit::pound_force_foot) == "47 lbf·ft");
    CHECK(torque_in_words(*read_torque("69..78 N·m"), TorqueUnit::pound_force_foot) ==
          "51..58 lbf·ft (stated: 69..78 N·m)");
    CHECK(torque_in_words(*read_torque("40 N·m + 90°"), TorqueUnit::pound_force_foot) ==
          "30 lbf·ft + 90° (stated: 40 N·m + 90°)");
}

TEST_CASE("the smallest wrench that takes it, within what of its scale is used") {
    const auto box =
        read_tools("torque wrench 40..200 N·m\ntorque wrench 5..25 N·m\ntorque wrench 20..100 N·m", "mine");
    REQUIRE(box);
    const auto choose = [&](const char* torque) {
        return choose_wrench(*box, read_torque(torque)->stages[0], std::nullopt, TorqueUnit::newton_metre);
    };
    CHECK(name_of(*choose("22 N·m").wrench) == "torque wrench 5..25 N·m");
    CHECK(name_of(*choose("26 N·m").wrench) == "torque wrench 20..100 N·m");
    CHECK(name_of(*choose("90..110 N·m").wrench) == "torque wrench 40..200 N·m");
    CHECK(choose("4 N·m").wrench == nullptr);
    CHECK(has(choose("4 N·m").words, "below its lowest mark"));
    CHECK(choose("220 N·m").wrench == nullptr);
    CHECK(has(choose("220 N·m").words, "too small"));
    // A wrench marked from 10 to 100 is not used below 20: ISO 6789 as a wrench's manual reviews it.
    const auto wide = read_tools("torque wrench 10..100 N·m", "mine");
    const WrenchChoice low =
        choose_wrench(*wide, read_torque("15 N·m")->stages[0], std::nullopt, TorqueUnit::newton_metre);
    CHECK(low.wrench == nullptr);
    CHECK(has(low.words, "below a fifth"));
    CHECK(has(choose_wrench(*read_tools("socket 13", "mine"), read_torque("15 N·m")->stages[0], std::nullopt,
                            TorqueUnit::newton_metre)
                  .words,
              "no torque wrench is in mine"));
}

TEST_CASE("with an adapter the setting follows the wrench's length, and is not guessed where that is not stated") {
    const auto box = read_tools("torque wrench 20..100 N·m length 400", "mine");
    REQUIRE(box);
    const TorqueStage stage = read_torque("80 N·m")->stages[0];
    const auto set = [&](const ToolBox& tools, const char* adapter) {
        return choose_wrench(tools, stage, *read_adapter(adapter), TorqueUnit::newton_metre);
    };
    // 80 N·m, 40 cm and 5 cm: 71.1 in line, 80 square to it (US Army TM 9-254 and a calculator's page).
    CHECK(set(*box, "50,0").high_nm == doctest::Approx(71.1).epsilon(0.001));
    CHECK(set(*box, "50,90").high_nm == 80);
    CHECK(has(set(*box, "50,90").words, "no correction"));
    const auto unmeasured = read_tools("torque wrench 20..100 N·m", "mine");
    CHECK(set(*unmeasured, "50,0").wrench == nullptr);
    CHECK(has(set(*unmeasured, "50,0").words, "write \"length 420 mm\""));
    CHECK(set(*unmeasured, "50,90").high_nm == 80);
    CHECK(!read_adapter("fifty"));
    CHECK(!read_adapter("50,square"));
    CHECK(!read_adapter("50,0,0"));
    CHECK(read_adapter("50 mm, -45 deg")->angle_deg == -45);
}

TEST_CASE("folded back over a short wrench an adapter leaves no lever: that one is passed over, longer ones are not") {
    const auto choose = [](const char* tools) {
        static std::optional<ToolBox> box;
        box = *read_tools(tools, "mine");
        return choose_wrench(*box, read_torque("40 N·m")->stages[0], *read_adapter("300,180"),
                             TorqueUnit::newton_metre);
    };
    const char* short_first = "torque wrench 40..200 N·m length 250\ntorque wrench 40..400 N·m length 600";
    const char* short_last = "torque wrench 40..400 N·m length 600\ntorque wrench 40..200 N·m length 250";
    for (const char* tools : {short_first, short_last}) {
        const WrenchChoice choice = choose(tools);
        REQUIRE(choice.wrench != nullptr);
        CHECK(choice.wrench->length_mm == 600);
        CHECK(choice.high_nm == doctest::Approx(80)); // 40 N·m by 60 cm over 60 less 30
        CHECK(has(choice.words, "set to 80 N·m"));
        CHECK(!has(choice.words, "leaves no lever"));
    }
    const WrenchChoice none = choose("torque wrench 40..200 N·m length 250");
    CHECK(none.wrench == nullptr);
    CHECK(has(none.words, "leaves no lever"));
    CHECK(!has(none.words, "no torque wrench is in"));
}

TEST_CASE("a share of a torque is rounded as a wrench can be set, in the manual's own unit too") {
    TorqueStage stage = read_torque("22 N·m")->stages[0];
    stage.low_nm = stage.high_nm = 0.3 * 22;
    CHECK(wrench_torque(stage, TorqueUnit::newton_metre) == "6.6 N·m");
    CHECK(wrench_torque(stage, TorqueUnit::kilogram_force_centimetre) == "67 kgf·cm"); // 67.3
}

TEST_CASE("self-locking is a word of its own in `lock`, whatever its case") {
    Cover c;
    c.bolt("a", 0, 0);
    const auto locks_itself = [&](const char* lock) {
        c.b.f("a").lock = lock;
        return has(words_of(c.tightened()[0]), "what it takes to turn before it seats");
    };
    for (const char* lock : {"self-locking", "SELF-LOCKING", "medium; Self-Locking ", "nylon ring,self-locking"})
        CHECK_MESSAGE(locks_itself(lock), lock);
    for (const char* lock : {"not self-locking", "self-locking paste", "medium"})
        CHECK_MESSAGE(!locks_itself(lock), lock);
}

TEST_CASE("more bolts than are put in order: as listed, and that is the reason given") {
    Cover c;
    for (int i = 0; i < 257; ++i)
        c.bolt("b" + std::to_string(i), 20.0 * (i % 16), 20.0 * (i / 16));
    const std::string words = c.tightened()[0].order_words;
    CHECK(has(words, "more than 256"));
    CHECK(!has(words, "where they are says nothing"));
    CHECK(!has(words, "worked out"));
}

TEST_CASE("afterwards: strokes and leaks; road wheels again; angle and threadlocker never") {
    Cover c;
    c.bolt("plain", 0, 0);
    c.bolt("locked", 40, 0).lock = "medium";
    c.bolt("angled", 80, 0).torque = *read_torque("20 N·m + 90°");
    c.b.p("cover").fluid = "oil";
    c.b.part("wheel").road_wheel = true;
    Fastener& nut = c.b.fastener("wheel_nut", {"wheel", "body"}, FastenerKind::nut);
    nut.torque = *read_torque("100 N·m");
    const Job job = prepare(c.b.map);
    const auto looks = last_looks(job, plan_refit(job, plan_strip(job)));
    const auto items_of = [&](const char* when, const char* what) {
        Names names;
        for (const LastLook& look : looks)
            if (look.when == when && has(look.what, what))
                for (const ItemId id : look.items)
                    names.push_back(c.b.map[id].name);
        return names;
    };
    CHECK(items_of("after the first drive, hot", "Leaks") == Names{"cover"});
    CHECK(items_of("the next morning, cold", "Leaks") == Names{"cover"});
    CHECK(items_of("after the first drive, hot", "strokes") == Names{"plain"});
    CHECK(items_of("after 50 to 100 km", "Wheel nuts") == Names{"wheel_nut"});
    CHECK(items_of("after 50 to 100 km", "never torqued again") == Names{"locked", "angled"});
}
