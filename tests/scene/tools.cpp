// A tool is drawn where its fastener is drawn: on the vehicle, hanging lowered, and on the bench.
#include <algorithm>
#include <cmath>
#include <string>

#include <doctest/doctest.h>

#include "viewer/scene/overlays.hpp"

using namespace boltwalk;

TEST_CASE("the foot of a drawn tool is on the head that it turns, on every step of the big map, on the bench too") {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/transfer_box.glb");
    REQUIRE(map);
    const Job job = prepare(*map);
    const Plan plan = plan_strip(job);
    const Stage stage = make_stage(*map);
    const Solids solids = make_solids(*map);
    const auto shots = shots_of(job, plan, as_found(job));
    const auto over = overlays_of(job, stage, solids, plan, shots, 0);
    std::size_t on_bench = 0;
    std::size_t lowered = 0;
    for (std::size_t s = 1; s < shots.size(); ++s) {
        std::vector<Pose> poses = poses_of(job, stage, shots[s].before);
        show_bench(job, shots[s].before, shots[s].next, poses);
        const bool bench = at_bench(job, shots[s].before, shots[s].next);
        for (const ToolDrawn& tool : over[s].tools) {
            CAPTURE(s);
            CAPTURE((*map)[tool.fastener].name);
            const FastenerKind kind = map->fastener(tool.fastener).kind;
            if (kind == FastenerKind::tab || kind == FastenerKind::split_pin || kind == FastenerKind::clamp)
                continue; // gripped elsewhere than at a head on their axis
            const auto slot = static_cast<std::size_t>((*map)[tool.fastener].detail);
            const glm::dvec3 shift = poses[static_cast<std::size_t>(tool.fastener.index)].shift_m;
            const glm::dvec3 axis = glm::normalize(stage.axes[slot]);
            const glm::dvec3 base = stage.heads[slot].base + shift;
            // Along the axis no deeper than the head, and beside it by no more than a head.
            double deepest = 1e9;
            double nearest = 1e9;
            for (const ToolRod& rod : tool.rods)
                for (const glm::dvec3& end : {rod.from, rod.to}) {
                    const double along = glm::dot(end - base, axis);
                    deepest = std::min(deepest, along);
                    nearest = std::min(nearest, glm::length(end - base - along * axis));
                }
            CHECK(deepest > -0.012);
            CHECK(deepest < 0.03);
            CHECK(nearest < 0.02);
            on_bench += bench ? 1U : 0U;
            lowered += !bench && shift.y < 0 ? 1U : 0U;
        }
    }
    CHECK(on_bench >= 2);
    CHECK(lowered >= 2);
}
