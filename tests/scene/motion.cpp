// Nothing jumps: where items are drawn between states and while exploding.
#include <doctest/doctest.h>

#include "core/job/ways.hpp"
#include "tests/shared/shapes.hpp"
#include "viewer/scene/scene.hpp"

using namespace boltwalk;
using testing::at;
using testing::Model;

namespace {

/// A block that stays, a cover bolted to it, a pipe that is let down, a canister that is moved aside.
struct Bench : Model {
    ItemId block, cover, pipe, canister, bolt, pipe_bolt, pin;
    Bench() {
        const std::int32_t cube = box({0.2F, 0.2F, 0.2F});
        const std::int32_t bolt_mesh = rods({{0.005F, 0.03F}, {0.009F, 0.008F}}, 12);
        block = part("block", cube, {0, 0, 0}, true);
        cover = part("cover", cube, {0, 0.25, 0});
        pipe = part("pipe", cube, {0.4, 0, 0});
        canister = part("canister", cube, {-0.4, 0, 0});
        bolt = fastener("bolt", bolt_mesh, at(0, 0.36, 0), {cover, block});
        pipe_bolt = fastener("pipe_bolt", bolt_mesh, at(0.4, 0.12, 0), {pipe});
        pin = fastener("pin", bolt_mesh, at(0, 0.4, 0), {});
        map.fasteners[2].secures = {bolt};
        map.target = cover;
        map.parts[1].way = {{Way::up, 50}, {Way::left, 300}};
        map.parts[2].lower_mm = 60;
        map.parts[3].aside_legs = {{Way::rear, 200}};
    }
};

double largest_jump(const std::vector<Pose>& a, const std::vector<Pose>& b) {
    double jump = 0;
    for (std::size_t i = 0; i < a.size(); ++i)
        if (a[i].presence > 0 || b[i].presence > 0)
            jump = std::max(jump, glm::length(a[i].shift_m - b[i].shift_m));
    return jump;
}

/// Where what is not drawn would be drawn is nobody's business.
void check_same(const std::vector<Pose>& a, const std::vector<Pose>& b) {
    REQUIRE(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        CHECK(a[i].presence == b[i].presence);
        if (a[i].presence > 0)
            CHECK(glm::length(a[i].shift_m - b[i].shift_m) < 1e-9);
    }
}

} // namespace

TEST_CASE("every change of state is one smooth move from the state's picture to the next one's") {
    const Bench bench;
    const Job job = prepare(bench.map);
    const Stage stage = make_stage(bench.map);
    const std::vector<Action> actions{
        {Verb::take_out, bench.pin, {}},  {Verb::take_out, bench.bolt, {}},    {Verb::take_off, bench.cover, {}},
        {Verb::let_down, bench.pipe, {}}, {Verb::loosen, bench.pipe_bolt, {}}, {Verb::set_aside, bench.canister, {}},
        {Verb::take_off, bench.pipe, {}}, {Verb::fit, bench.pipe, {}},         {Verb::put_back, bench.canister, {}},
        {Verb::fit, bench.cover, {}},     {Verb::start, bench.bolt, {}},       {Verb::tighten, bench.bolt, {}}};
    State before = as_found(job);
    for (const Action& action : actions) {
        State after = before;
        apply(job, after, action);
        std::vector<Pose> last = poses_between(job, stage, before, after, 0);
        check_same(last, poses_of(job, stage, before));
        for (int step = 1; step <= 200; ++step) {
            const auto now = poses_between(job, stage, before, after, step / 200.0);
            CHECK(largest_jump(last, now) < 0.01);
            for (std::size_t i = 0; i < now.size(); ++i)
                CHECK(std::abs(now[i].presence - last[i].presence) < 0.05F);
            last = now;
        }
        check_same(last, poses_of(job, stage, after));
        before = after;
    }
}

TEST_CASE("what is off is gone, what is lowered hangs lower, what is aside stands aside") {
    const Bench bench;
    const Job job = prepare(bench.map);
    const Stage stage = make_stage(bench.map);
    State state = as_found(job);
    const auto pose = [&](ItemId item) { return poses_of(job, stage, state)[static_cast<std::size_t>(item.index)]; };
    CHECK(pose(bench.cover) == Pose{});
    apply(job, state, {Verb::let_down, bench.pipe, {}});
    CHECK(pose(bench.pipe).shift_m.y == doctest::Approx(-0.06));
    CHECK(pose(bench.pipe_bolt).shift_m.y == doctest::Approx(-0.06)); // still in it
    apply(job, state, {Verb::set_aside, bench.canister, {}});
    CHECK(pose(bench.canister).shift_m.z == doctest::Approx(-0.2));
    apply(job, state, {Verb::take_out, bench.bolt, {}});
    CHECK(pose(bench.bolt).presence == 0);
    apply(job, state, {Verb::take_off, bench.cover, {}});
    CHECK(pose(bench.cover).presence == 0);
    CHECK(pose(bench.block) == Pose{});
}

TEST_CASE("a leaving part goes along its way, leg after leg") {
    const Bench bench;
    const Job job = prepare(bench.map);
    const Stage stage = make_stage(bench.map);
    const State before = as_found(job);
    State after = before;
    apply(job, after, {Verb::take_off, bench.cover, {}});
    bool went_left = false;
    for (int step = 0; step <= 100; ++step) {
        const Pose pose =
            poses_between(job, stage, before, after, step / 100.0)[static_cast<std::size_t>(bench.cover.index)];
        CHECK(pose.shift_m.y <= 0.05 + 1e-9);
        if (pose.shift_m.x > 1e-9)
            CHECK(pose.shift_m.y == doctest::Approx(0.05));
        went_left = went_left || pose.shift_m.x > 0.2;
    }
    CHECK(went_left);
}

TEST_CASE("seen apart nothing jumps, what stays stays, and what has left its place is pulled from there") {
    for (const char* name : {"transfer_box.glb", "water_pump.glb"}) {
        const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/" + name);
        REQUIRE(map);
        const Job job = prepare(*map);
        const Stage stage = make_stage(*map);
        const Solids solids = make_solids(*map);
        const Explosion explosion = explode(solids, apart_of(job, solids, plan_strip(job)));
        const State state = as_found(job);
        const auto at_share = [&](double share) {
            std::vector<Pose> poses = poses_of(job, stage, state);
            pull_apart(solids, explosion, share, poses);
            return poses;
        };
        check_same(at_share(0), poses_of(job, stage, state));
        check_same(at_share(2), at_share(1)); // beyond the end is the end
        constexpr int steps = 400;
        std::vector<double> way(map->items.size(), 0);
        auto last = at_share(0);
        for (int step = 1; step <= steps; ++step) {
            const auto now = at_share(double(step) / steps);
            // Nothing goes farther than 1.5 radii (core/geometry/explode.cpp), a level takes a part of the slider.
            CHECK(largest_jump(last, now) < 12 * stage.bounds.radius() / steps);
            for (std::size_t i = 0; i < now.size(); ++i)
                way[i] += glm::length(now[i].shift_m - last[i].shift_m);
            last = now;
        }
        std::size_t moved = 0;
        for (const Part& part : map->parts) {
            if (part.fixed)
                CHECK(way[static_cast<std::size_t>(part.item.index)] == 0);
            moved += way[static_cast<std::size_t>(part.item.index)] > 0.005 ? 1U : 0U;
        }
        CHECK(moved * 2 > map->parts.size());
        State later = state;
        for (const Part& part : map->parts)
            if (part.lower_mm)
                apply(job, later, {Verb::let_down, part.item, {}});
        std::vector<Pose> lowered = poses_of(job, stage, later);
        pull_apart(solids, explosion, 1, lowered);
        for (const Part& part : map->parts)
            if (part.lower_mm) {
                const auto i = static_cast<std::size_t>(part.item.index);
                CHECK(lowered[i].shift_m.y == doctest::Approx(last[i].shift_m.y - *part.lower_mm / 1000));
            }
    }
}
