// Ways out of shapes whose answer is known: what slides, what hooks, what is in the way and how near.
#include <algorithm>
#include <cmath>
#include <deque>

#include <doctest/doctest.h>

#include "core/geometry/way.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Model;

namespace {

/// A ring about y from y = 0 upwards, closed.
std::int32_t ring(Model& model, float inner, float outer, float height, int sides) {
    return model.turned({{inner, 0}, {outer, 0}, {outer, height}, {inner, height}}, sides);
}

/// A box from corner to corner as one more piece of an item.
void piece(Model& model, ItemId item, glm::vec3 low, glm::vec3 high) {
    const glm::dvec3 middle = 0.5 * (glm::dvec3(low) + glm::dvec3(high));
    model.node("piece", model.box(high - low), at(middle.x, middle.y, middle.z), item);
}

ItemId block(Model& model, const std::string& name, glm::vec3 low, glm::vec3 high, bool fixed = false) {
    const glm::vec3 middle = 0.5F * (low + high);
    return model.part(name, model.box(high - low), glm::dvec3(middle), fixed);
}

struct Looked {
    WayVerdict verdict;
    WaysOut out;
    const Meeting* met(std::int32_t body) const {
        for (const Meeting& meeting : verdict.by)
            if (meeting.body == body)
                return &meeting;
        return nullptr;
    }
};

Looked look(const Solids& solids, ItemId item, std::vector<glm::dvec3> legs, std::vector<Obstacle> obstacles = {},
            std::span<const std::uint8_t> there = {}) {
    const std::vector<WayAsked> asked{{item, {solids.body_of[static_cast<std::size_t>(item.index)]}, std::move(legs)}};
    const WaySpace space = make_way_space(solids, asked, std::move(obstacles));
    Looked looked;
    looked.out = sweep_way(space, asked[0]);
    looked.verdict = judge(looked.out.ways.at(0), there);
    return looked;
}

Verdict along(const Solids& solids, ItemId item, const glm::dvec3& leg) {
    return look(solids, item, {leg}).verdict.verdict;
}

struct Search {
    bool found = false;
    WaysOut out;
};

Search search(const Solids& solids, ItemId item, int queries = 240) {
    const std::vector<WayAsked> asked{{item, {solids.body_of[static_cast<std::size_t>(item.index)]}, {}}};
    const WaySpace space = make_way_space(solids, asked);
    Search result;
    result.out = sweep_way(space, asked[0]);
    WaySearch how;
    how.queries = queries;
    result.found = find_way(space, asked[0], how, result.out);
    return result;
}

} // namespace

TEST_CASE("a peg in a hole of its own size goes along the axis, and not sideways") {
    for (const int sides : {24, 20, 16}) { // the hole has 24: its corners and the peg's do not meet
        CAPTURE(sides);
        Model model;
        const ItemId plate = model.part("plate", ring(model, 0.010F, 0.04F, 0.02F, 24), {0, 0, 0}, true);
        const ItemId peg = model.part("peg", model.rods({{0.010F, 0.05F}}, sides), {0, -0.01, 0});
        const Solids solids = make_solids(model.map);
        CHECK(along(solids, peg, {0, 0.1, 0}) == Verdict::free);
        CHECK(along(solids, peg, {0, -0.1, 0}) == Verdict::free);
        const Looked aside = look(solids, peg, {{0.1, 0, 0}});
        CHECK(aside.verdict.verdict == Verdict::blocked);
        const Meeting* met = aside.met(solids.body_of[static_cast<std::size_t>(plate.index)]);
        REQUIRE(met != nullptr);
        CHECK(met->after_mm < 1.2);
        CHECK(aside.verdict.free_mm == doctest::Approx(met->after_mm));
    }
}

TEST_CASE("a hook needs two legs: down, then forward") {
    Model model;
    const ItemId body = model.part("body", model.box({0.3F, 0.02F, 0.3F}), {0, 0.06, 0}, true); // above
    piece(model, body, {-0.15F, -0.3F, -0.15F}, {-0.055F, 0.05F, 0.15F});                       // right
    piece(model, body, {0.055F, -0.3F, -0.15F}, {0.15F, 0.05F, 0.15F});                         // left
    piece(model, body, {-0.15F, -0.3F, -0.15F}, {0.15F, 0.05F, -0.055F});                       // behind
    piece(model, body, {-0.15F, -0.03F, 0.055F}, {0.15F, 0.05F, 0.15F}); // before, with a way under
    piece(model, body, {-0.3F, -0.32F, -0.3F}, {0.3F, -0.3F, 0.3F});     // below
    const ItemId hooked = block(model, "hooked", {-0.05F, -0.05F, -0.05F}, {0.05F, 0.05F, 0.05F});
    const Solids solids = make_solids(model.map);
    for (const glm::dvec3& straight : {glm::dvec3(0, 0, 1), glm::dvec3(0, 0, -1), glm::dvec3(1, 0, 0),
                                       glm::dvec3(-1, 0, 0), glm::dvec3(0, 1, 0), glm::dvec3(0, -1, 0)})
        CHECK(along(solids, hooked, straight) == Verdict::blocked);
    const Search out = search(solids, hooked);
    REQUIRE(out.found);
    const WayAnswer& way = out.out.ways.back();
    REQUIRE(way.legs.size() == 2);
    CHECK(way.legs[0].leg.y <= -0.08); // below the front wall's edge
    CHECK(way.legs[0].leg.y > -0.26);
    CHECK(way.legs[1].leg.z > 0.1);
    CHECK(judge(way).verdict == Verdict::free);
    CHECK_FALSE(way.stated);
}

TEST_CASE("what a press fit of 0.1 mm has at rest is taken off: a drawer slides") {
    Model model;
    const ItemId case_ = model.part("case", model.box({0.02F, 0.1F, 0.3F}), {-0.0599, 0, 0}, true);
    piece(model, case_, {0.0499F, -0.05F, -0.15F}, {0.07F, 0.05F, 0.15F});
    const ItemId drawer = block(model, "drawer", {-0.05F, -0.04F, -0.1F}, {0.05F, 0.04F, 0.1F});
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, drawer, {0, 0, 0.3}) == Verdict::free);
    const Looked aside = look(solids, drawer, {{0.01, 0, 0}});
    CHECK(aside.verdict.verdict == Verdict::blocked);
    CHECK(aside.verdict.by[0].rest_mm == doctest::Approx(0.1));
    CHECK(aside.verdict.by[0].after_mm == doctest::Approx(0.5).epsilon(0.02));
}

TEST_CASE("the band: free below 0.2 mm, undecided to 0.5 mm, blocked beyond") {
    for (const auto& [depth_mm, verdict] :
         {std::pair(0.0F, Verdict::free), std::pair(0.15F, Verdict::free), std::pair(0.25F, Verdict::undecided),
          std::pair(0.3F, Verdict::undecided), std::pair(0.45F, Verdict::undecided), std::pair(0.55F, Verdict::blocked),
          std::pair(3.0F, Verdict::blocked)}) {
        const double tried = depth_mm; // clang before 16 captures no structured binding
        CAPTURE(tried);
        Model model;
        // A post that a passing block grazes by so much.
        block(model, "post", {0.05F - depth_mm / 1000, -0.1F, 0.2F}, {0.1F, 0.1F, 0.25F}, true);
        const ItemId moving = block(model, "moving", {-0.05F, -0.05F, -0.05F}, {0.05F, 0.05F, 0.05F});
        const Solids solids = make_solids(model.map);
        const Looked past = look(solids, moving, {{0, 0, 0.5}});
        CHECK(past.verdict.verdict == verdict);
        if (verdict != Verdict::free)
            CHECK(past.verdict.by[0].after_mm == doctest::Approx(150).epsilon(0.01));
    }
}

TEST_CASE("a stud keeps a plate from going sideways until it has gone the stud's length") {
    Model model;
    const ItemId base = block(model, "base", {-0.1F, -0.02F, -0.1F}, {0.1F, 0, 0.1F}, true);
    const ItemId stud = model.part("stud", model.rods({{0.005F, 0.03F}}, 20), {0, 0, 0}, true);
    const ItemId plate = model.part("plate", ring(model, 0.0055F, 0.05F, 0.008F, 26), {0, 0, 0});
    const Solids solids = make_solids(model.map);
    const std::int32_t stud_body = solids.body_of[static_cast<std::size_t>(stud.index)];
    CHECK(along(solids, plate, {0, 0.1, 0}) == Verdict::free);
    CHECK(look(solids, plate, {{0.1, 0, 0}}).met(stud_body) != nullptr);
    const Looked early = look(solids, plate, {{0, 0.029, 0}, {0.1, 0, 0}});
    CHECK(early.verdict.verdict == Verdict::blocked);
    CHECK(early.verdict.leg == 1);
    CHECK(early.verdict.free_mm == doctest::Approx(30).epsilon(0.03));
    CHECK(look(solids, plate, {{0, 0.031, 0}, {0.1, 0, 0}}).verdict.verdict == Verdict::free);
    CHECK(look(solids, plate, {{0, -0.01, 0}}).met(solids.body_of[static_cast<std::size_t>(base.index)]) != nullptr);
    // Where the stud is gone, the same answer says free.
    std::vector<std::uint8_t> there(solids.bodies.size(), 1);
    there[static_cast<std::size_t>(stud_body)] = 0;
    CHECK(judge(early.out.ways[0], there).verdict == Verdict::free);
}

TEST_CASE("what is shut in has no way, and nobody hangs looking for one") {
    Model model;
    const ItemId shell = model.part("shell", model.box({0.2F, 0.01F, 0.2F}), {0, 0.1, 0}, true);
    piece(model, shell, {-0.1F, -0.105F, -0.1F}, {0.1F, -0.095F, 0.1F});
    piece(model, shell, {-0.105F, -0.1F, -0.1F}, {-0.095F, 0.1F, 0.1F});
    piece(model, shell, {0.095F, -0.1F, -0.1F}, {0.105F, 0.1F, 0.1F});
    piece(model, shell, {-0.1F, -0.1F, -0.105F}, {0.1F, 0.1F, -0.095F});
    piece(model, shell, {-0.1F, -0.1F, 0.095F}, {0.1F, 0.1F, 0.105F});
    const ItemId marble = block(model, "marble", {-0.02F, -0.02F, -0.02F}, {0.02F, 0.02F, 0.02F});
    const Solids solids = make_solids(model.map);
    const Search out = search(solids, marble);
    CHECK_FALSE(out.found);
    REQUIRE(out.out.ways.size() == 1);
    CHECK_FALSE(out.out.ways[0].out);
    CHECK(judge(out.out.ways[0]).verdict == Verdict::blocked);
    const Estimate estimate = estimate_of(solids, out.out);
    REQUIRE(estimate.alternatives.size() == 1);
    CHECK(estimate.alternatives[0].never);
    CHECK_FALSE(search(solids, marble, 1).found);
}

TEST_CASE("a shank in a block without a hole slides along itself, and cannot go sideways or through the block") {
    Model model;
    const ItemId solid = block(model, "solid", {-0.1F, -0.1F, -0.1F}, {0.1F, 0, 0.1F}, true);
    const ItemId shank = model.part("shank", model.rods({{0.006F, 0.05F}}, 20), {0, -0.03, 0});
    const ItemId buried = block(model, "buried", {0.05F, -0.06F, 0.05F}, {0.07F, -0.04F, 0.07F});
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, shank, {0, 0.1, 0}) == Verdict::free);
    CHECK(along(solids, shank, {0.1, 0, 0}) == Verdict::blocked);
    CHECK(along(solids, shank, {0, -0.05, 0}) == Verdict::blocked);
    const Looked out = look(solids, buried, {{0, 0.2, 0}});
    CHECK(out.verdict.verdict == Verdict::blocked);
    CHECK(out.verdict.by[0].body == solids.body_of[static_cast<std::size_t>(solid.index)]);
    // The block about the shank: off it along it, but not across it. What is buried in it goes along with it.
    std::vector<std::uint8_t> there(solids.bodies.size(), 1);
    there[static_cast<std::size_t>(solids.body_of[static_cast<std::size_t>(buried.index)])] = 0;
    CHECK(look(solids, solid, {{0, -0.1, 0}}, {}, there).verdict.verdict == Verdict::free);
    CHECK(look(solids, solid, {{0, 0, 0.1}}, {}, there).verdict.verdict == Verdict::blocked);
}

TEST_CASE("a shank through a gasket or washer drawn without a hole, and either of them off the shank") {
    for (const bool washer : {false, true}) {
        CAPTURE(washer);
        Model model;
        // Rings of triangles: many of them lie in the shank.
        std::vector<glm::dvec2> outline;
        const float radius = washer ? 0.009F : 0.05F; // a washer is smaller than its bolt, a gasket larger
        for (int i = 0; i <= 10; ++i)
            outline.push_back({radius * 0.1 * i, -0.0004});
        for (int i = 10; i >= 0; --i)
            outline.push_back({radius * 0.1 * i, 0.0004});
        const std::int32_t disc = model.turned(outline, 32);
        const ItemId sheet =
            washer ? model.fastener("washer", disc, at(0, 0, 0), {}) : model.part("sheet", disc, {0, 0, 0});
        const ItemId bolt =
            model.fastener("bolt", model.rods({{0.005F, 0.04F}, {0.008F, 0.008F}}, 24), at(0, -0.03, 0), {sheet});
        if (washer)
            model.map.fasteners[0].kind = FastenerKind::washer;
        const Solids solids = make_solids(model.map);
        CHECK(along(solids, bolt, {0, 0.1, 0}) == Verdict::free);
        CHECK(along(solids, bolt, {0, -0.1, 0}) == Verdict::blocked); // its head does not go through
        CHECK(along(solids, bolt, {0.05, 0, 0}) == Verdict::blocked);
        CHECK(along(solids, sheet, {0, -0.1, 0}) == Verdict::free);
        CHECK(along(solids, sheet, {0, 0.1, 0}) == Verdict::blocked); // the head is in its way
        CHECK(along(solids, sheet, {0.05, 0, 0}) == Verdict::blocked);
    }
}

TEST_CASE("a gasket drawn without holes comes off the dowels of its case, and not across them") {
    Model model;
    const ItemId casing = block(model, "case", {-0.1F, -0.2F, -0.1F}, {0.1F, 0, 0.1F}, true);
    const std::int32_t dowel = model.rods({{0.005F, 0.02F}}, 24);
    model.node("dowel", dowel, at(0.06, -0.005, 0.05), casing);
    model.node("dowel", dowel, at(-0.06, -0.005, -0.05), casing);
    std::vector<glm::dvec2> outline;
    for (int i = 0; i <= 40; ++i)
        outline.push_back({0.1 * i / 40, 0});
    for (int i = 40; i >= 0; --i)
        outline.push_back({0.1 * i / 40, 0.0008});
    const ItemId gasket = model.part("gasket", model.turned(outline, 96), {0, 0, 0});
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, gasket, {0, 0.05, 0}) == Verdict::free);
    CHECK(along(solids, gasket, {0.05, 0, 0}) == Verdict::blocked);
    CHECK(along(solids, gasket, {0, 0, -0.05}) == Verdict::blocked);
    CHECK(along(solids, casing, {0, -0.05, 0}) == Verdict::free);
}

TEST_CASE("two mirror images of a part have the same ways") {
    for (const double mirror : {1.0, -1.0}) {
        CAPTURE(mirror);
        Model model;
        const ItemId solid = block(model, "solid", {-0.1F, -0.1F, -0.1F}, {0.1F, 0, 0.1F}, true);
        const ItemId shank = model.part("shank", model.rods({{0.006F, 0.05F}}, 20), {0, -0.03, 0});
        for (const ItemId item : {solid, shank})
            for (std::size_t i = 0; i < 3; ++i)
                model.map.nodes[static_cast<std::size_t>(model.map[item].node)].world[i] *= mirror;
        piece(model, solid, {0.2F, 0, 0}, {0.21F, 0.01F, 0.01F}); // not mirrored
        const Solids solids = make_solids(model.map);
        CHECK(along(solids, shank, {0, 0.1, 0}) == Verdict::free);
        CHECK(along(solids, shank, {0.1, 0, 0}) == Verdict::blocked);
        CHECK(along(solids, shank, {0, -0.05, 0}) == Verdict::blocked);
    }
}

TEST_CASE("sheets that cross edge over edge, with no corner in anything") {
    for (const float thick : {0.004F, 0.0005F}) {
        Model model;
        block(model, "lying", {-0.1F, -thick / 2, 0.1F}, {0.1F, thick / 2, 0.3F}, true);
        const ItemId standing = block(model, "standing", {-thick / 2, -0.1F, -0.2F}, {thick / 2, 0.1F, 0});
        const Solids solids = make_solids(model.map);
        const Looked into = look(solids, standing, {{0, 0, 0.3}});
        CHECK(into.verdict.verdict == Verdict::blocked);
        CHECK(into.verdict.free_mm == doctest::Approx(100).epsilon(0.01));
        CHECK(along(solids, standing, {0, 0, 0.099}) == Verdict::free);
        CHECK(along(solids, standing, {0, 0.3, 0}) == Verdict::free);
    }
}

TEST_CASE("sheets of no thickness at all cross, too") {
    Model model;
    const auto quad = [&](glm::vec3 a, glm::vec3 b, glm::vec3 c, glm::vec3 d) {
        return model.mesh({a, b, c, a, c, d});
    };
    model.part("lying", quad({-0.1F, 0, 0.1F}, {0.1F, 0, 0.1F}, {0.1F, 0, 0.3F}, {-0.1F, 0, 0.3F}), {0, 0, 0}, true);
    const ItemId standing =
        model.part("standing", quad({0, -0.1F, -0.2F}, {0, 0.1F, -0.2F}, {0, 0.1F, 0}, {0, -0.1F, 0}), {0, 0, 0});
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, standing, {0, 0, 0.3}) == Verdict::blocked);
    CHECK(along(solids, standing, {0, 0, 0.05}) == Verdict::free);
    CHECK(along(solids, standing, {0, 0, -0.3}) == Verdict::free);
}

TEST_CASE("a wall that it only leans on, or that is behind it, is not in the way") {
    Model model;
    block(model, "wall", {-0.1F, -0.1F, -0.12F}, {0.1F, 0.1F, -0.05F}, true);
    const ItemId moving = block(model, "moving", {-0.05F, -0.05F, -0.05F}, {0.05F, 0.05F, 0.05F});
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, moving, {0, 0, 0.5}) == Verdict::free);
    CHECK(along(solids, moving, {0.5, 0, 0}) == Verdict::free);
    CHECK(along(solids, moving, {0, -0.5, 0}) == Verdict::free);
    CHECK(along(solids, moving, {0, 0, -0.5}) == Verdict::blocked);
    CHECK(along(solids, moving, {0, 0, -0.0003}) == Verdict::undecided);
}

TEST_CASE("a jack below counts when it is there") {
    Model model;
    const ItemId moving = block(model, "moving", {-0.05F, -0.05F, -0.05F}, {0.05F, 0.05F, 0.05F});
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, moving, {0, -0.6, 0}) == Verdict::free);
    Obstacle jack{"jack", {}};
    jack.box.add(glm::dvec3(-0.1, -0.5, -0.1));
    jack.box.add(glm::dvec3(0.1, -0.3, 0.1));
    const Looked onto = look(solids, moving, {{0, -0.6, 0}}, {jack});
    CHECK(onto.verdict.verdict == Verdict::blocked);
    CHECK(onto.verdict.by[0].obstacle == 0);
    CHECK(onto.verdict.free_mm == doctest::Approx(250).epsilon(0.01));
}

TEST_CASE("a hose is pushed aside, and what is tethered says so") {
    Model model;
    const ItemId hose = block(model, "hose", {-0.1F, -0.2F, -0.01F}, {0.1F, -0.18F, 0.01F});
    const ItemId moving = block(model, "moving", {-0.05F, -0.05F, -0.05F}, {0.05F, 0.05F, 0.05F});
    model.map.parts[0].flexible = true;
    model.map.parts[1].tether = {hose};
    const Solids solids = make_solids(model.map);
    const Looked down = look(solids, moving, {{0, -0.6, 0}});
    CHECK(down.verdict.verdict == Verdict::free);
    REQUIRE(down.out.ways[0].legs[0].met.size() == 1);
    CHECK(down.out.ways[0].legs[0].met[0].soft);
    CHECK(down.out.tethers == std::vector<ItemId>{hose});
    const Estimate estimate = estimate_of(solids, down.out);
    CHECK(estimate.alternatives[0].gone.empty());
    CHECK_FALSE(estimate.alternatives[0].never);
}

TEST_CASE("a bolt is drawn along its axis, a nut off the end of its bolt") {
    Model model;
    const ItemId plate = model.part("plate", ring(model, 0.0045F, 0.04F, 0.02F, 26), {0, 0, 0}, true);
    // Shank downwards from y = 0, head above it: rods stand upwards, so it is put 40 mm down.
    const ItemId bolt =
        model.fastener("bolt", model.rods({{0.004F, 0.05F}, {0.007F, 0.006F}}, 24), at(0, -0.03, 0), {plate});
    const glm::dmat4 upside_down = glm::rotate(at(0, 0, 0), 3.141592653589793, glm::dvec3(1, 0, 0));
    const ItemId nut = model.fastener("nut", ring(model, 0.004F, 0.008F, 0.007F, 24), upside_down, {plate});
    model.map.fasteners[1].kind = FastenerKind::nut;
    block(model, "lid", {-0.02F, 0.06F, -0.02F}, {0.02F, 0.08F, 0.02F});
    const Solids solids = make_solids(model.map);
    const WayAsked up = drawn(solids, bolt);
    REQUIRE(up.legs.size() == 1);
    CHECK(up.legs[0].y == doctest::Approx(0.056 + drawn_clear_mm / 1000).epsilon(0.001));
    const WayAsked down = drawn(solids, nut);
    REQUIRE(down.legs.size() == 1);
    CHECK(down.legs[0].y == doctest::Approx(-(0.030 + drawn_clear_mm / 1000)).epsilon(0.001));
    CHECK(look(solids, nut, down.legs).verdict.verdict == Verdict::free);
    const Looked under_lid = look(solids, bolt, up.legs);
    CHECK(under_lid.verdict.verdict == Verdict::blocked);
    CHECK(name_of(solids, under_lid.verdict.by[0].body) == "lid");
    const Estimate estimate = estimate_of(solids, under_lid.out);
    REQUIRE(estimate.alternatives.size() == 1);
    REQUIRE(estimate.alternatives[0].gone.size() == 1);
    CHECK(model.map[estimate.alternatives[0].gone[0]].name == "lid");
}

TEST_CASE("a plate a little longer than its opening comes out when it is tipped") {
    // 400 mm in an opening of 398.9 mm: 0.55 mm too long on either side. Tipped by 5 degrees it is 400 cos 5 + 2 sin 5
    // = 398.65 mm long, by 2 degrees 399.8 mm.
    Model model;
    const ItemId tray = model.part("tray", model.box({0.5F, 0.01F, 0.2F}), {0, -0.055, 0}, true);
    piece(model, tray, {-0.25F, -0.05F, -0.1F}, {-0.21F, 0.05F, 0.1F});
    piece(model, tray, {0.21F, -0.05F, -0.1F}, {0.25F, 0.05F, 0.1F});
    piece(model, tray, {-0.25F, -0.05F, -0.1F}, {0.25F, 0.06F, -0.055F});
    piece(model, tray, {-0.25F, -0.05F, 0.055F}, {0.25F, 0.06F, 0.1F});
    piece(model, tray, {-0.25F, 0.05F, -0.1F}, {-0.19945F, 0.06F, 0.1F});
    piece(model, tray, {0.19945F, 0.05F, -0.1F}, {0.25F, 0.06F, 0.1F});
    const ItemId plate = block(model, "plate", {-0.2F, -0.001F, -0.05F}, {0.2F, 0.001F, 0.05F});
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, plate, {0, 0.2, 0}) == Verdict::blocked);
    const Search out = search(solids, plate, 2000);
    REQUIRE(out.found);
    const WayAnswer& way = out.out.ways.back();
    CHECK(way.turn.degrees == 5);
    CHECK(std::abs(way.turn.axis.z) == doctest::Approx(1));
    REQUIRE(way.legs.size() == 1);
    CHECK(way.legs[0].leg.y > 0.05);
    CHECK(judge(way).verdict == Verdict::free);
}

TEST_CASE("degenerate shapes give an answer and no crash") {
    Model model;
    std::vector<glm::vec3> inside_out;
    {
        Model source;
        const Mesh& mesh = source.map.meshes[static_cast<std::size_t>(source.box({0.1F, 0.1F, 0.1F}))];
        for (std::size_t i = 0; i < mesh.primitives[0].positions.count; ++i) {
            const Vec3 p = mesh.primitives[0].positions[i];
            inside_out.push_back({p.x, p.y, p.z});
        }
    }
    std::reverse(inside_out.begin(), inside_out.end());
    const ItemId flipped = model.part("flipped", model.mesh(inside_out), {0, 0, 0});
    block(model, "wall", {-0.2F, -0.2F, -0.12F}, {0.2F, 0.2F, -0.05F}, true);
    const ItemId flat = model.part("flat", model.mesh({{0, 0, 0}, {0.1F, 0, 0}, {0.2F, 0, 0}}, false), {0.5, 0, 0});
    const ItemId shell =
        model.part("shell", model.mesh({{0, 0, 0}, {0.1F, 0, 0}, {0, 0.1F, 0}, {0, 0, 0}, {0, 0.1F, 0}, {0, 0, 0.1F}}),
                   {0.06, 0, 0});
    const ItemId twin = model.part("twin", model.box({0.1F, 0.1F, 0.1F}), {0, 0, 0});
    const ItemId huge = model.part("huge", model.box({4000, 4000, 4000}), {9000, 0, 0});
    const ItemId mirrored = model.part("mirrored", model.box({0.1F, 0.1F, 0.1F}), {2, 0, 0});
    model.map.nodes[static_cast<std::size_t>(model.map[mirrored].node)].world[0] = -1;
    model.map.nodes[static_cast<std::size_t>(model.map[mirrored].node)].world[5] = 3;
    const Solids solids = make_solids(model.map);
    CHECK(along(solids, flipped, {0, 0, 0.5}) == Verdict::free); // out of its twin, whose place it shares
    CHECK(along(solids, flipped, {0, 0, -0.5}) == Verdict::blocked);
    CHECK(solids.body_of[static_cast<std::size_t>(flat.index)] < 0);
    for (const ItemId item : {shell, twin, huge, mirrored})
        for (const glm::dvec3& leg : {glm::dvec3(0, 0, 0.5), glm::dvec3(-10000, 0, 0), glm::dvec3(0, 1e-9, 0),
                                      glm::dvec3(0, 0, 0), glm::dvec3(0.3, -0.2, 0.7)})
            for (const Meeting& meeting : look(solids, item, {leg}).verdict.by) {
                CHECK(std::isfinite(meeting.after_mm));
                CHECK(meeting.after_mm >= 0);
                CHECK(meeting.after_mm <= glm::length(leg) * 1000 * 1.000001);
            }
    for (const ItemId item : {shell, twin, huge, mirrored, flipped})
        (void)search(solids, item, 100);
    WaysOut nothing;
    CHECK_FALSE(find_way(make_way_space(solids, {}), {}, {}, nothing));
    CHECK(best_way(nothing) == -1);
    CHECK(sweep_way(make_way_space(solids, {}), {}).ways.empty());
}

TEST_CASE("nothing is free: each line that needs something else gone is told, those that need more on top are not") {
    Model model;
    const ItemId tube = model.part("tube", ring(model, 0.05F, 0.07F, 0.2F, 24), {0, 0, 0}, true); // about y
    const ItemId pump = block(model, "pump", {-0.03F, 0.08F, -0.03F}, {0.03F, 0.12F, 0.03F});
    const ItemId cover = block(model, "cover", {-0.04F, 0.15F, -0.04F}, {0.04F, 0.17F, 0.04F});
    block(model, "over_the_cover", {-0.02F, 0.18F, -0.02F}, {-0.01F, 0.19F, -0.01F});
    const ItemId box = block(model, "box", {-0.04F, 0.01F, -0.04F}, {0.04F, 0.05F, 0.04F});
    const Solids solids = make_solids(model.map);
    const Search out = search(solids, pump);
    CHECK_FALSE(out.found);
    std::vector<std::vector<std::int32_t>> by;
    for (const WayAnswer& way : out.out.ways) {
        CHECK_FALSE(way.out);
        by.emplace_back();
        for (const Meeting& meeting : judge(way).by)
            by.back().push_back(meeting.body);
        std::sort(by.back().begin(), by.back().end());
    }
    const auto body = [&](ItemId item) { return solids.body_of[static_cast<std::size_t>(item.index)]; };
    // Up are the cover and what stands over it, down the box, sideways the tube.
    REQUIRE(by.size() == 3);
    CHECK(std::count(by.begin(), by.end(), std::vector{body(box)}) == 1);
    CHECK(std::count(by.begin(), by.end(), std::vector{body(tube)}) == 1);
    CHECK(std::any_of(by.begin(), by.end(), [&](const auto& list) {
        return list.size() == 2 && std::find(list.begin(), list.end(), body(cover)) != list.end();
    }));
    // With the box gone there is a way, in any other state that has it there is none.
    std::vector<std::uint8_t> there(solids.bodies.size(), 1);
    CHECK(judge(out.out.ways[static_cast<std::size_t>(best_way(out.out, there))], there).verdict == Verdict::blocked);
    there[static_cast<std::size_t>(body(box))] = 0;
    CHECK(judge(out.out.ways[static_cast<std::size_t>(best_way(out.out, there))], there).verdict == Verdict::free);
}

TEST_CASE("ways are the same on one thread and on two") {
    Model model;
    testing::Dice dice(11);
    std::vector<WayAsked> asked;
    for (int i = 0; i < 40; ++i) {
        const auto size = [&] { return static_cast<float>(dice.between(0.02, 0.1)); };
        const ItemId item = model.part("p", model.box({size(), size(), size()}),
                                       {dice.between(0, 0.5), dice.between(0, 0.5), dice.between(0, 0.5)});
        asked.push_back({item, {i}, {{0, -0.3, 0}, {dice.between(-0.3, 0.3), 0, 0.2}}});
    }
    const Solids solids = make_solids(model.map);
    std::vector<std::vector<WaysOut>> answers;
    for (const int threads : {1, 2}) {
        Effort effort;
        effort.threads = threads;
        answers.push_back(sweep_ways(make_way_space(solids, asked, {}, effort), asked, effort));
    }
    std::size_t met = 0;
    for (std::size_t i = 0; i < asked.size(); ++i)
        for (std::size_t l = 0; l < 2; ++l) {
            const auto& a = answers[0][i].ways[0].legs[l].met;
            const auto& b = answers[1][i].ways[0].legs[l].met;
            REQUIRE(a.size() == b.size());
            met += a.size();
            for (std::size_t k = 0; k < a.size(); ++k) {
                CHECK(a[k].body == b[k].body);
                CHECK(a[k].after_mm == b[k].after_mm);
                CHECK(a[k].verdict == b[k].verdict);
            }
        }
    CHECK(met > 40);
}
