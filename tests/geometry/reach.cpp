// Tools on fasteners in places made so that the answer is known: tubes, walls, ceilings, channels, beams.
#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

#include "core/geometry/reach.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Model;

namespace {

constexpr double mm = 0.001;
constexpr double degree = 3.14159265358979323846 / 180;

Drive drive(const char* text) {
    return read_drive(text).value();
}

ToolBox box(const char* text) {
    const auto read = read_tools(text, "test");
    REQUIRE(read.has_value());
    return *read;
}

const char* const ratchet_13 = "ratchet 250 square 12.5\nsocket 13 square 12.5\n";

/// A plate whose top is y = 0, a bolt of M8 under hex 13 in it, head up, at the origin; its head is 5.3 mm high.
struct Bench {
    Model model;
    ItemId plate, bolt;
    Solids solids;
    Reach reach;

    Bench() {
        plate = model.part("plate", model.box({0.04F, 0.02F, 0.04F}), {0, -0.01, 0});
        bolt = add_bolt("bolt", at(0, 0, 0));
    }
    Fastener& fastener(ItemId id) { return model.map.fasteners[static_cast<std::size_t>(model.map[id].detail)]; }
    Part& part(ItemId id) { return model.map.parts[static_cast<std::size_t>(model.map[id].detail)]; }

    ItemId add_bolt(const char* name, const glm::dmat4& place) {
        const float corner = 0.0065F * 2 / std::sqrt(3.0F);
        const ItemId id =
            model.fastener(name, model.rods({{0.004F, 0.03F}, {corner, 0.0053F}}, 6), place * at(0, -0.03, 0), {plate});
        fastener(id).drive = drive("hex 13");
        return id;
    }
    /// A box from corner to corner; a part of its own unless it is scenery.
    ItemId block(const char* name, glm::dvec3 low, glm::dvec3 high) {
        return model.part(name, model.box(glm::vec3(high - low)), 0.5 * (low + high));
    }
    void scenery(const char* name, glm::dvec3 low, glm::dvec3 high) {
        const glm::dvec3 middle = 0.5 * (low + high);
        model.node(name, model.box(glm::vec3(high - low)), at(middle.x, middle.y, middle.z));
    }
    /// A tube about y, closed, with so many sides.
    ItemId tube(const char* name, double inner, double outer, double low, double high, int sides = 96) {
        std::vector<glm::vec3> corners;
        const auto point = [&](int i, double r, double y) {
            const double angle = 2 * 180 * degree * i / sides;
            return glm::vec3(r * std::cos(angle), y, -r * std::sin(angle));
        };
        const auto quad = [&](glm::vec3 a, glm::vec3 b, glm::vec3 c, glm::vec3 d) {
            for (const glm::vec3& p : {a, b, c, a, c, d})
                corners.push_back(p);
        };
        for (int i = 0; i < sides; ++i) {
            const int k = i + 1;
            quad(point(i, outer, low), point(k, outer, low), point(k, outer, high), point(i, outer, high));
            quad(point(k, inner, low), point(i, inner, low), point(i, inner, high), point(k, inner, high));
            quad(point(i, inner, high), point(i, outer, high), point(k, outer, high), point(k, inner, high));
            quad(point(k, inner, low), point(k, outer, low), point(i, outer, low), point(i, inner, low));
        }
        return model.part(name, model.mesh(corners), {0, 0, 0});
    }

    void find(const ToolBox& tools, const std::vector<LoweredCase>& cases = {}, int threads = 1) {
        solids = make_solids(model.map, {threads, {}});
        reach = find_reach(solids, cases, tools, {threads, {}});
    }
    ReachAnswer answer(Use use = Use::turn, const Arrangement& state = {}) const { return answer_of(bolt, use, state); }
    ReachAnswer answer_of(ItemId id, Use use = Use::turn, const Arrangement& state = {}) const {
        return judge_reach(reach, id, use, state);
    }
    Arrangement without(std::initializer_list<ItemId> gone) const {
        Arrangement state;
        state.there.assign(solids.bodies.size(), 1);
        for (const ItemId id : gone)
            state.there[static_cast<std::size_t>(solids.body_of[static_cast<std::size_t>(id.index)])] = 0;
        return state;
    }
    std::vector<std::string> blockers(const ReachAnswer& answer) const {
        std::vector<std::string> names;
        for (const std::int32_t body : answer.blocked_by)
            names.push_back(name_of(solids, body));
        return names;
    }
};

using Names = std::vector<std::string>;

} // namespace

TEST_CASE("the table of directions goes round once, by unit vectors, half a degree apart") {
    for (int i = 0; i < reach_directions; ++i) {
        const glm::dvec2 d = direction_at(i);
        CHECK(glm::length(d) == doctest::Approx(1).epsilon(1e-14));
        CHECK(d.x == doctest::Approx(std::cos(i * 0.5 * degree)).epsilon(1e-12));
        CHECK(d.y == doctest::Approx(std::sin(i * 0.5 * degree)).epsilon(1e-12));
    }
    CHECK(direction_at(-1) == direction_at(reach_directions - 1));
}

TEST_CASE("a bolt on a plate: the ratchet goes all the way round, and the plate under it is not in the way") {
    Bench scene;
    scene.find(box(ratchet_13));
    const ReachAnswer answer = scene.answer();
    CHECK(answer.verdict == Verdict::free);
    CHECK(tool_of(scene.reach, answer) == "ratchet 250 mm, socket 13");
    CHECK(answer.swing == reach_directions - 1);
    CHECK(scene.answer(Use::hold).reached == -1);
    CHECK(scene.answer(Use::loosen).reached == -1);
}

TEST_CASE("a tube lets the socket in when its bore is wider than the socket and its clearance") {
    const double outside = socket_outside_mm(13, 12.5) / 2;
    CHECK(outside == doctest::Approx(12));
    for (const auto& [bore, goes] : {std::pair{outside + 0.4, false}, std::pair{outside + 0.6, true}}) {
        const double tried = bore; // clang before 16 captures no structured binding
        CAPTURE(tried);
        Bench scene;
        scene.tube("tube", bore * mm, 0.03, 0, 0.2);
        scene.find(box("ratchet 250 square 12.5\nsocket 13 square 12.5\nextension 250\n"));
        const ReachAnswer answer = scene.answer();
        CHECK((answer.verdict == Verdict::free) == goes);
        if (goes)
            CHECK(tool_of(scene.reach, answer) == "ratchet 250 mm, extension 250 mm, socket 13");
        else
            CHECK(scene.blockers(answer) == Names{"tube"});
    }
}

TEST_CASE("a wall at a known distance leaves the swing that follows from it") {
    const double reach = 250 - ratchet_head_mm(12.5) / 2 + reach_clearance_mm;
    const double half = handle_width_mm(12.5) / 2 + reach_clearance_mm;
    for (const double wall : {30.0, 60.0, 120.0, 200.0}) {
        CAPTURE(wall);
        Bench scene;
        scene.block("wall", {wall * mm, -0.5, -0.5}, {0.5, 0.5, 0.5});
        scene.find(box(ratchet_13));
        const ReachAnswer answer = scene.answer();
        REQUIRE(answer.verdict == Verdict::free);
        // A corner of the handle touches the wall at this angle to the wall's normal.
        const double corner = std::sqrt(reach * reach + half * half);
        const double blocked = std::atan(half / reach) + std::acos(wall / corner);
        const double swing = 360 - 2 * blocked / degree;
        CHECK(answer.swing * reach_step_deg <= swing);
        CHECK(answer.swing * reach_step_deg > swing - 2 * reach_step_deg);
    }
}

TEST_CASE("a tooth of five degrees just fits into a channel, or just does not") {
    // Between two walls the handle turns by asin((width - half) / reach) to each side, roughly; the directions are half
    // a degree apart, from straight ahead.
    for (const auto& [width, fits] : {std::pair{25.0, true}, std::pair{22.9, false}}) {
        const double tried = width; // clang before 16 captures no structured binding
        CAPTURE(tried);
        Bench scene;
        scene.block("one side", {-0.3, -0.2, width * mm}, {0.3, 0.3, 0.3});
        scene.block("other side", {-0.3, -0.2, -0.3}, {0.3, 0.3, -width * mm});
        scene.block("back", {-0.3, 0.005, -0.3}, {-0.1, 0.3, 0.3});
        scene.find(box(ratchet_13));
        const ReachAnswer answer = scene.answer();
        CHECK((answer.verdict == Verdict::free) == fits);
        CHECK(answer.swing == (fits ? 10 : 8));
    }
}

TEST_CASE("under a low ceiling a ring goes where a ratchet does not") {
    Bench scene;
    const ItemId ceiling = scene.block("ceiling", {-0.4, 0.07, -0.4}, {0.4, 0.08, 0.4});
    scene.find(box("ratchet 250 square 12.5\nsocket 13 square 12.5\nspanner 13\n"));
    CHECK(tool_of(scene.reach, scene.answer()) == "ring 13");
    CHECK(tool_of(scene.reach, scene.answer(Use::turn, scene.without({ceiling}))) == "ratchet 250 mm, socket 13");
    // Lower still: only what lies flat, and then nothing.
    for (const auto& [height, tool] : {std::pair{0.03, "open 13"}, std::pair{0.007, ""}}) {
        Bench low;
        low.block("ceiling", {-0.4, height, -0.4}, {0.4, 0.1, 0.4});
        low.find(box("ratchet 250 square 12.5\nsocket 13 square 12.5\nspanner 13\n"));
        const ReachAnswer answer = low.answer();
        CHECK((answer.verdict == Verdict::free) == (*tool != 0));
        if (*tool != 0)
            CHECK(tool_of(low.reach, answer) == tool);
    }
}

TEST_CASE("an open end goes on from the side where a ring cannot be lifted over") {
    Bench scene;
    scene.tube("stud", 0.0001, 0.004, -0.02, 0.03, 12);
    const ItemId lip = scene.block("lip", {0.007, 0.02, -0.1}, {0.1, 0.1, 0.1});
    scene.find(box("spanner 13\n"));
    CHECK(tool_of(scene.reach, scene.answer()) == "open 13");
    CHECK(tool_of(scene.reach, scene.answer(Use::turn, scene.without({lip}))) == "ring 13");
    // Its jaws need their room beside a wall as they turn by 30 degrees: half their width times sin 15 degrees and what
    // their tips reach past the axis times cos 15 degrees.
    const double half = open_width_mm(13) / 2 + reach_clearance_mm;
    const double tips = 0.6 * 13 + reach_clearance_mm;
    const double needed = half * std::sin(15 * degree) + tips * std::cos(15 * degree);
    for (const double more : {-0.4, 0.4}) {
        Bench beside;
        beside.block("wall", {(needed + more) * mm, -0.1, -0.3}, {0.1, 0.3, 0.3});
        beside.find(box("open 13\n"));
        CHECK((beside.answer().verdict == Verdict::free) == (more > 0));
    }
}

TEST_CASE("the other side is held from its own place") {
    Bench scene;
    const float corner = 0.0065F * 2 / std::sqrt(3.0F);
    const ItemId nut =
        scene.model.fastener("nut", scene.model.rods({{corner, 0.0065F}}, 6),
                             at(0, -0.02, 0) * glm::rotate(glm::dmat4(1), 180 * degree, glm::dvec3(1, 0, 0)), {});
    const ItemId crate = scene.block("crate", {-0.1, -0.1, -0.1}, {0.1, -0.028, 0.1});
    scene.fastener(nut).kind = FastenerKind::nut;
    scene.fastener(nut).drive = drive("hex 13");
    for (const ItemId id : {scene.bolt, nut}) {
        scene.fastener(id).joint = "j";
        scene.fastener(id).turn = "head";
    }
    scene.fastener(scene.bolt).counter = "hex 13";
    scene.find(box("ratchet 250 square 12.5\nsocket 13 square 12.5\nring 13\n"));
    CHECK(scene.answer().verdict == Verdict::free);
    CHECK(scene.answer_of(nut).grip == Grip::nothing);
    const ReachAnswer held = scene.answer(Use::hold);
    CHECK(held.verdict == Verdict::blocked);
    CHECK(scene.reach.list[static_cast<std::size_t>(held.reached)].at == nut);
    CHECK(scene.blockers(held) == Names{"crate"});
    CHECK(scene.answer(Use::hold, scene.without({crate})).verdict == Verdict::free);
    const std::vector<Estimate> estimates = reach_estimates(scene.reach);
    const auto counter = std::find_if(estimates.begin(), estimates.end(),
                                      [](const Estimate& e) { return e.question == Question::counter; });
    REQUIRE(counter != estimates.end());
    CHECK(counter->item == scene.bolt);
    CHECK(counter->alternatives.at(0).gone == std::vector<ItemId>{crate});
    CHECK(!counter->alternatives.at(0).never);
    // Brakes and gears hold without a tool.
    scene.fastener(scene.bolt).counter = "brake";
    scene.find(box(ratchet_13));
    CHECK(scene.answer(Use::hold).reached == -1);
}

TEST_CASE("a shaft that turns brings its bolt out from under a beam") {
    Bench scene;
    const ItemId shaft = scene.tube("shaft", 0.005, 0.05, -0.02, 0);
    scene.part(shaft).turns = "+y";
    std::vector<ItemId> bolts;
    for (const auto& [name, x, z] :
         {std::tuple{"b0", 0.04, 0.0}, {"b1", 0.0, -0.04}, {"b2", -0.04, 0.0}, {"b3", 0.0, 0.04}}) {
        bolts.push_back(scene.add_bolt(name, at(x, 0, z)));
        scene.fastener(bolts.back()).holds = {shaft};
    }
    scene.model.map.nodes[static_cast<std::size_t>(scene.model.map[scene.bolt].node)].world[13] = -9; // out of the way
    scene.model.map.nodes[static_cast<std::size_t>(scene.model.map[scene.plate].node)].world[13] = -9;
    scene.scenery("beam", {0.02, 0.01, -0.03}, {0.06, 0.2, 0.03});
    scene.find(box(ratchet_13));
    const ReachAnswer under = scene.answer_of(bolts[0]);
    CHECK(under.verdict == Verdict::free);
    CHECK(tool_of(scene.reach, under).find("turned by") != std::string::npos);
    const ReachAnswer beside = scene.answer_of(bolts[2]);
    CHECK(beside.verdict == Verdict::free);
    CHECK(tool_of(scene.reach, beside) == "ratchet 250 mm, socket 13");
    scene.part(shaft).turns.clear();
    scene.find(box(ratchet_13));
    CHECK(scene.answer_of(bolts[0]).verdict == Verdict::blocked);
    CHECK(scene.blockers(scene.answer_of(bolts[0])) == Names{"beam"});
}

TEST_CASE("a lowered part lets the tool in, and the estimate says so") {
    Bench scene;
    const ItemId tail = scene.block("tail", {-0.4, 0.01, -0.4}, {0.4, 0.3, 0.4});
    scene.solids = make_solids(scene.model.map);
    LoweredCase lowered;
    lowered.parts = {tail};
    lowered.shift.assign(scene.solids.bodies.size(), glm::dvec3(0.0));
    lowered.shift[static_cast<std::size_t>(scene.solids.body_of[static_cast<std::size_t>(tail.index)])] = {0, 0.5, 0};
    scene.find(box(ratchet_13), {lowered});
    CHECK(scene.answer().verdict == Verdict::blocked);
    CHECK(scene.blockers(scene.answer()) == Names{"tail"});
    Arrangement let_down;
    let_down.there.assign(scene.solids.bodies.size(), 1);
    let_down.shift = lowered.shift;
    CHECK(scene.answer(Use::turn, let_down).verdict == Verdict::free);
    const std::vector<Estimate> estimates = reach_estimates(scene.reach);
    REQUIRE(estimates.size() == 1);
    REQUIRE(estimates[0].alternatives.size() == 2);
    CHECK(estimates[0].alternatives[0].gone == std::vector<ItemId>{tail});
    CHECK(estimates[0].alternatives[0].lowered.empty());
    CHECK(estimates[0].alternatives[1].gone.empty());
    CHECK(estimates[0].alternatives[1].lowered == std::vector<ItemId>{tail});
    // A place that nobody measured: as if it were not there.
    let_down.shift[static_cast<std::size_t>(scene.solids.body_of[static_cast<std::size_t>(tail.index)])] = {0, 0.4, 0};
    CHECK(scene.answer(Use::turn, let_down).verdict == Verdict::free);
}

TEST_CASE("alternatives name the fewest obstacles, and what never goes is said") {
    Bench scene;
    const ItemId left = scene.block("left", {0.03, -0.1, -0.5}, {0.5, 0.5, 0.5});
    const ItemId right = scene.block("right", {-0.5, -0.1, -0.5}, {-0.03, 0.5, 0.5});
    scene.scenery("floor", {-0.5, 0.0, -0.5}, {0.5, 0.5, -0.05});
    scene.scenery("roof", {-0.5, 0.0, 0.05}, {0.5, 0.5, 0.5});
    scene.find(box(ratchet_13));
    const std::vector<Estimate> estimates = reach_estimates(scene.reach);
    REQUIRE(estimates.size() == 1);
    std::vector<std::vector<ItemId>> gone;
    for (const Alternative& alternative : estimates[0].alternatives)
        if (!alternative.never)
            gone.push_back(alternative.gone);
    CHECK(gone == std::vector<std::vector<ItemId>>{{left}, {right}});
    scene.part(left).fixed = true;
    scene.part(right).fixed = true;
    scene.find(box(ratchet_13));
    const std::vector<Estimate> fixed = reach_estimates(scene.reach);
    CHECK(!fixed.at(0).alternatives.empty());
    for (const Alternative& alternative : fixed.at(0).alternatives)
        CHECK(alternative.never);
}

TEST_CASE("a stud's end through its nut takes a deep socket, a very long one a ring") {
    for (const auto& [length, tool] :
         {std::pair{0.015, "ratchet 250 mm, socket 13"}, std::pair{0.035, "ratchet 250 mm, deep socket 13"},
          std::pair{0.075, "ring 13"}}) {
        const double tried = length; // clang before 16 captures no structured binding
        CAPTURE(tried);
        Bench scene;
        const ItemId stud = scene.tube("stud", 0.0001, 0.004, -0.02, length, 12);
        scene.fastener(scene.bolt).kind = FastenerKind::nut;
        scene.find(box("ratchet 250 square 12.5\nsocket 13 square 12.5\ndeep socket 13 square 12.5\nspanner 13\n"));
        CHECK(scene.answer().verdict == Verdict::free);
        CHECK(tool_of(scene.reach, scene.answer()) == tool);
        CHECK(stud);
    }
}

TEST_CASE("breaking loose: the lever that a hand can pull, with its force; the torque wrench by its range") {
    Bench scene;
    scene.fastener(scene.bolt).torque = read_torque("85 N·m").value();
    const char* const tools = "ratchet 250 square 12.5\nsocket 13 square 12.5\nbar 600 square 12.5\n"
                              "torque wrench 5..25 N·m square 12.5\ntorque wrench 40..200 N·m square 12.5\n";
    scene.find(box(tools));
    ReachAnswer answer = scene.answer(Use::loosen);
    CHECK(tool_of(scene.reach, answer) == "bar 600 mm, socket 13");
    const double lever = 600 - 1.1 * handle_width_mm(12.5) / 2 - grip_half_mm;
    CHECK(answer.force_n == doctest::Approx(85 / (lever * mm)));
    CHECK(tool_of(scene.reach, scene.answer(Use::tighten)) == "torque wrench 40..200 N·m, socket 13");
    // No room for the bar: the ratchet, and more than a hand likes.
    scene.tube("tube", 0.3, 0.32, -0.1, 0.3);
    scene.find(box(tools));
    answer = scene.answer(Use::loosen);
    CHECK(tool_of(scene.reach, answer) == "ratchet 250 mm, socket 13");
    CHECK(answer.force_n == doctest::Approx(85 / ((250 - ratchet_head_mm(12.5) / 2 - grip_half_mm) * mm)));
    CHECK(answer.force_n > hand_force_n);
    CHECK(scene.answer(Use::tighten).verdict == Verdict::blocked);
    // Little torque needs no bar.
    scene.fastener(scene.bolt).torque = read_torque("20 N·m").value();
    scene.find(box(tools));
    CHECK(tool_of(scene.reach, scene.answer(Use::loosen)) == "ratchet 250 mm, socket 13");
    scene.fastener(scene.bolt).torque = read_torque("300 N·m").value();
    scene.find(box(tools));
    CHECK(scene.answer(Use::tighten).grip == Grip::not_owned);
    CHECK(scene.reach.list[static_cast<std::size_t>(scene.answer(Use::tighten).reached)].missing ==
          "torque wrench for 300 N·m");
}

TEST_CASE("which tool is missing is said; what nobody stated stays not stated") {
    Bench scene;
    scene.fastener(scene.bolt).drive = drive("hex 24");
    scene.find(box(ratchet_13));
    CHECK(scene.answer().grip == Grip::not_owned);
    CHECK(scene.reach.list[0].missing == "socket 24");
    scene.fastener(scene.bolt).drive.reset();
    scene.find(box(ratchet_13));
    CHECK(scene.answer().grip == Grip::not_stated);
    CHECK(scene.answer().verdict == Verdict::undecided);
    scene.fastener(scene.bolt).drive = drive("none");
    scene.find(box(ratchet_13));
    CHECK(scene.answer().grip == Grip::nothing);
    CHECK(reach_estimates(scene.reach).empty());
}

TEST_CASE("hands and pliers come from where there is room; keys and screwdrivers go in at the top") {
    Bench scene;
    scene.fastener(scene.bolt).drive = drive("hand");
    const ItemId roof = scene.block("roof", {-0.5, 0.02, -0.5}, {0.5, 0.3, 0.5});
    scene.block("floor", {-0.5, -0.3, -0.5}, {0.5, -0.03, 0.5});
    scene.find(box("pliers\n"));
    CHECK(scene.answer().verdict == Verdict::blocked);
    CHECK(scene.answer(Use::turn, scene.without({roof})).verdict == Verdict::free);
    CHECK(tool_of(scene.reach, scene.answer(Use::turn, scene.without({roof}))) == "by hand from above");
    scene.fastener(scene.bolt).drive = drive("socket 6");
    scene.find(box("hex key 6\n"));
    CHECK(scene.answer().verdict == Verdict::blocked);
    CHECK(tool_of(scene.reach, scene.answer(Use::turn, scene.without({roof}))) == "hexagon key 6");
    scene.fastener(scene.bolt).drive = drive("cross 2");
    scene.find(box("screwdriver cross 2\n"));
    CHECK(scene.blockers(scene.answer()) == Names{"roof"});
    CHECK(tool_of(scene.reach, scene.answer(Use::turn, scene.without({roof}))) == "screwdriver cross 2");
}

TEST_CASE("a hose gives way, and a head within a solid is not reached") {
    Bench scene;
    const ItemId hose = scene.block("hose", {-0.3, 0.02, -0.01}, {0.3, 0.04, 0.01});
    scene.find(box(ratchet_13));
    CHECK(scene.answer().verdict == Verdict::blocked);
    scene.part(hose).flexible = true;
    scene.find(box(ratchet_13));
    CHECK(scene.answer().verdict == Verdict::free);
    Bench buried;
    buried.block("solid", {-2, -1, -2}, {2, 2, 2});
    buried.find(box("screwdriver cross 2\nring 13\n"));
    CHECK(buried.answer().verdict == Verdict::blocked);
    CHECK(buried.blockers(buried.answer()) == Names{"solid"});
}

TEST_CASE("the tool is drawn where it stands, at its size, with its swing") {
    Bench scene;
    scene.block("wall", {0.06, -0.5, -0.5}, {0.5, 0.5, 0.5});
    scene.find(box(ratchet_13));
    const ReachAnswer answer = scene.answer();
    const ToolPose pose = tool_pose(scene.reach, answer);
    CHECK(pose.tool == "ratchet 250 mm, socket 13");
    CHECK(glm::length(pose.pivot) < 1e-6);
    CHECK(pose.axis.y == doctest::Approx(1));
    CHECK(glm::length(pose.swing_from) == doctest::Approx(1));
    CHECK(glm::length(pose.swing_to) == doctest::Approx(1));
    // Neither end points at the wall, and the way between them is the swing.
    const double from = std::acos(pose.swing_from.x) / degree;
    const double to = std::acos(pose.swing_to.x) / degree;
    CHECK(360 - from - to == doctest::Approx(pose.swing_deg));
    const ToolPiece& handle = pose.pieces.back();
    CHECK(handle.swings);
    CHECK(glm::length(handle.to - handle.from) == doctest::Approx(0.25 - ratchet_head_mm(12.5) * mm / 2));
    CHECK(glm::dot(glm::normalize(handle.to - handle.from), pose.swing_from) == doctest::Approx(1));
    double top = 0;
    for (const ToolPiece& piece : pose.pieces)
        if (!piece.swings)
            top = std::max({top, piece.from.y, piece.to.y});
    const double foot = reach_foot_share * 5.3;
    CHECK(top == doctest::Approx((foot + socket_length_mm(12.5, false) + ratchet_height_mm(12.5)) * mm).epsilon(0.01));
    CHECK(tool_pose(scene.reach, {}).pieces.empty());
}

TEST_CASE("one thread says what two say") {
    Bench scene;
    testing::Dice dice(11);
    for (int i = 0; i < 40; ++i) {
        const glm::dvec3 low(dice.between(-0.3, 0.3), dice.between(-0.05, 0.3), dice.between(-0.3, 0.3));
        scene.block(("b" + std::to_string(i)).c_str(), low, low + glm::dvec3(0.02, 0.03, 0.05));
        scene.add_bolt(("f" + std::to_string(i)).c_str(),
                       at(dice.between(-0.3, 0.3), 0, dice.between(-0.3, 0.3)) *
                           glm::rotate(glm::dmat4(1), dice.between(0, 6), glm::dvec3(0.6, 0, 0.8)));
    }
    scene.find(home_box(), {}, 1);
    const Reach one = scene.reach;
    scene.find(home_box(), {}, 2);
    const Reach& two = scene.reach;
    REQUIRE(one.list.size() == two.list.size());
    std::size_t blocks = 0;
    for (std::size_t i = 0; i < one.list.size(); ++i) {
        REQUIRE(one.list[i].poses.size() == two.list[i].poses.size());
        for (std::size_t p = 0; p < one.list[i].poses.size(); ++p) {
            const Stance& a = one.list[i].poses[p];
            const Stance& b = two.list[i].poses[p];
            CHECK(a.under == b.under);
            REQUIRE(a.arm.size() == b.arm.size());
            for (std::size_t k = 0; k < a.arm.size(); ++k)
                CHECK((a.arm[k].body == b.arm[k].body && a.arm[k].first == b.arm[k].first &&
                       a.arm[k].last == b.arm[k].last));
            blocks += a.arm.size();
        }
    }
    CHECK(blocks > 100);
}

TEST_CASE("shapes that are none, or wrong, end in an answer") {
    Bench scene;
    const std::vector<glm::vec3> nothing;
    const std::vector<glm::vec3> flat{{0, 0, 0}, {0.1F, 0, 0}, {0.2F, 0, 0}};
    const std::vector<glm::vec3> open{{0, 0.05F, 0}, {0.1F, 0.05F, 0}, {0, 0.05F, 0.1F}};
    scene.model.part("empty", scene.model.mesh(nothing), {0, 0, 0});
    scene.model.part("flat", scene.model.mesh(flat, false), {0, 0, 0});
    scene.model.part("open", scene.model.mesh(open), {0, 0, 0});
    const ItemId none = scene.model.fastener("none", scene.model.mesh(nothing), at(0, 0, 0), {scene.plate});
    scene.fastener(none).drive = drive("hex 13");
    const ItemId squashed = scene.model.fastener("squashed", scene.model.box({0.01F, 0.01F, 0.01F}),
                                                 glm::scale(glm::dmat4(1), glm::dvec3(1, 0, 1)), {scene.plate});
    scene.fastener(squashed).drive = drive("hex 13");
    const ItemId mirrored = scene.model.fastener("mirrored", scene.model.box({0.01F, 0.01F, 0.01F}),
                                                 at(0.2, 0, 0) * glm::scale(glm::dmat4(1), glm::dvec3(-1, 1, 1)), {});
    scene.fastener(mirrored).drive = drive("socket 6");
    scene.fastener(mirrored).torque = read_torque("10 N·m").value();
    const ItemId large = scene.model.fastener("large", scene.model.box({13, 8, 13}), at(500, 0, 0), {scene.plate});
    scene.fastener(large).drive = drive("hex 13"); // a model in millimetres
    scene.find(home_box());
    CHECK(scene.answer_of(none).grip == Grip::no_shape);
    CHECK(scene.answer_of(squashed).grip == Grip::no_shape);
    CHECK(scene.answer_of(mirrored).grip == Grip::tool);
    for (const Fastener& fastener : scene.model.map.fasteners)
        for (const Use use : {Use::turn, Use::hold, Use::loosen, Use::tighten}) {
            const ReachAnswer answer = scene.answer_of(fastener.item, use);
            CHECK(std::isfinite(answer.force_n));
            for (const ToolPiece& piece : tool_pose(scene.reach, answer).pieces)
                CHECK((std::isfinite(glm::length(piece.from)) && std::isfinite(glm::length(piece.to))));
        }
    CHECK(judge_reach(scene.reach, {}, Use::turn, {}).reached == -1);
    CHECK(judge_reach(scene.reach, {9999}, Use::turn, {}).reached == -1);
    CHECK(find_reach(Bench().solids = make_solids(scene.model.map), {}, {"nothing", {}}).list.size() > 0);
}
