// What is left out since other things hide it whole.
#include <doctest/doctest.h>

#include "tests/shared/shapes.hpp"
#include "viewer/draw/drawing.hpp"

using namespace boltwalk;
using testing::Model;

namespace {

/// A block, and before it a wide plate; both are seen from the front.
struct Scene : Model {
    ItemId block, plate;
    Stage stage;
    Frame frame;
    explicit Scene(float plate_m) {
        block = part("block", box({0.1F, 0.1F, 0.1F}), {0, 0, -0.3});
        plate = part("plate", box({plate_m, plate_m, 0.01F}), {0, 0, 0});
        stage = make_stage(map);
        frame.width_px = 320;
        frame.height_px = 200;
        frame.camera.yaw_deg = 0;
        frame.camera.pitch_deg = 0;
        frame.camera.distance_m = 1;
    }
    std::size_t drawn() const {
        const std::vector<Sheets> sheets = sheets_of(stage);
        const Projection projection = project(frame.camera, {320, 200}, bounds_of(stage, frame.poses));
        return prepare_frame(stage, frame, projection, &sheets).instances.size();
    }
};

} // namespace

TEST_CASE("what a plate hides whole is left out, and what looks out beside it is drawn") {
    CHECK(Scene(0.4F).drawn() == 1);
    CHECK(Scene(0.06F).drawn() == 2);
    Scene moved(0.4F);
    moved.frame.poses.assign(moved.map.items.size(), Pose{});
    moved.frame.poses[static_cast<std::size_t>(moved.block.index)].shift_m = {0.3, 0, 0};
    CHECK(moved.drawn() == 2);
}

TEST_CASE("nothing is left out from behind glass, from before the plate, or where the eye stands in it") {
    Scene scene(0.4F);
    scene.frame.xray = true;
    CHECK(scene.drawn() == 2);
    scene.frame.xray = false;
    scene.frame.next = {scene.block};
    CHECK(scene.drawn() == 2); // what covers it is glass
    scene.frame.next.clear();
    scene.frame.camera.yaw_deg = 180;
    CHECK(scene.drawn() == 2);
    scene.frame.camera.yaw_deg = 0;
    scene.frame.camera.distance_m = 0.005;
    CHECK(scene.drawn() > 0);
}

TEST_CASE("a plate that fades hides nothing, and one that is off neither") {
    Scene scene(0.4F);
    scene.frame.poses.assign(scene.map.items.size(), Pose{});
    Pose& plate = scene.frame.poses[static_cast<std::size_t>(scene.plate.index)];
    plate.presence = 0.5F;
    CHECK(scene.drawn() == 2);
    plate.presence = 0;
    CHECK(scene.drawn() == 1);
}
