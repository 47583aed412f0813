// What a frame takes is bounded by the model, not by the view: calls, passes, triangles, over cameras and steps.
#include <algorithm>
#include <string>

#include <doctest/doctest.h>

#include "core/job/shapes.hpp"
#include "tests/shared/shapes.hpp"
#include "viewer/draw/draw.hpp"

using namespace boltwalk;

TEST_CASE("draws, passes and triangles of a frame are bounded") {
    const auto context = open_offscreen();
    REQUIRE(context);
    for (const char* name : {"transfer_box.glb", "water_pump.glb"}) {
        const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/" + name);
        REQUIRE(map);
        const Job job = prepare(*map);
        const Plan plan = plan_strip(job);
        const auto shots = shots_of(job, plan, as_found(job));
        const Stage stage = make_stage(*map);
        const auto drawing = make_drawing(stage);
        REQUIRE(drawing);
        std::size_t model = 0, primitives = 0;
        for (const std::int32_t node : stage.shown) {
            const Mesh& mesh = map->meshes[std::size_t(map->nodes[std::size_t(node)].mesh)];
            model += mesh.triangle_count;
            primitives += mesh.primitives.size();
        }
        testing::Dice dice(37);
        FrameCost most;
        for (int i = 0; i < 60; ++i) {
            Frame frame;
            frame.width_px = 320;
            frame.height_px = 200;
            frame.scale = 0.4;
            fill_frame(job, stage, shots[std::size_t(dice.between(0, double(shots.size()) - 0.001))], 0, frame);
            frame.camera = fitted(turned_to(Camera{}, Place::not_stated), stage.bounds, {320, 200});
            frame.camera.yaw_deg = dice.between(0, 360);
            frame.camera.pitch_deg = dice.between(-90, 90);
            frame.xray = i % 4 == 0;
            place_labels(stage, {}, frame);
            REQUIRE(render(**drawing, frame));
            const FrameCost cost = cost_of(**drawing);
            most = {std::max(most.draws, cost.draws), std::max(most.passes, cost.passes),
                    std::max(most.triangles, cost.triangles)};
        }
        const std::size_t edges = size_of(**drawing).edges;
        MESSAGE(std::string(name) << ": at most " << most.draws << " draws, " << most.passes << " passes, "
                                  << most.triangles << " triangles; the model has " << stage.shown.size()
                                  << " nodes of " << primitives << " primitives, " << model << " triangles and "
                                  << edges << " edges");
        // Samples, depth, shade and its two blurs, glass, the picture.
        CHECK(most.passes <= 7);
        // What is next is drawn four times at most (in sight, behind, twice to keep glass off it), all else once.
        CHECK(most.draws <= 2 * primitives + 40);
        // The model once, what is next three times more, two triangles an edge, and the words.
        CHECK(most.triangles <= 2 * model + 2 * edges + 20000);
    }
}
