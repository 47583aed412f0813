// Nothing jumps: where items are drawn between states and while exploding.
#include <doctest/doctest.h>

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
    for (const double explode : {0.0, 0.6}) {
        State before = as_found(job);
        for (const Action& action : actions) {
            State after = before;
            apply(job, after, action);
            std::vector<Pose> last = poses_between(job, stage, before, after, 0, explode);
            check_same(last, poses_of(job, stage, before, explode));
            for (int step = 1; step <= 200; ++step) {
                const auto now = poses_between(job, stage, before, after, step / 200.0, explode);
                CHECK(largest_jump(last, now) < 0.01);
                for (std::size_t i = 0; i < now.size(); ++i)
                    CHECK(std::abs(now[i].presence - last[i].presence) < 0.05F);
                last = now;
            }
            check_same(last, poses_of(job, stage, after, explode));
            before = after;
        }
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

TEST_CASE("exploding is monotone, and leaves what stays") {
    const Bench bench;
    const Job job = prepare(bench.map);
    const Stage stage = make_stage(bench.map);
    const State state = as_found(job);
    std::vector<double> last(bench.map.items.size(), 0);
    for (int step = 0; step <= 100; ++step) {
        const auto poses = poses_of(job, stage, state, step / 100.0);
        for (std::size_t i = 0; i < poses.size(); ++i) {
            const double length = glm::length(poses[i].shift_m);
            CHECK(length >= last[i] - 1e-12);
            CHECK(length - last[i] < 0.02);
            last[i] = length;
        }
    }
    CHECK(last[static_cast<std::size_t>(bench.block.index)] == 0);
    CHECK(last[static_cast<std::size_t>(bench.cover.index)] > 0.05);
    CHECK(last[static_cast<std::size_t>(bench.bolt.index)] > 0.03);
}
