// What is left out since other things hide it whole, and where in the picture anything is.
#include <algorithm>
#include <string>

#include <doctest/doctest.h>

#include "tests/shared/shapes.hpp"
#include "viewer/draw/drawing.hpp"
#include "viewer/scene/triangles.hpp"

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
    Projection projection() const { return project(frame.camera, {320, 200}, bounds_of(stage, frame.poses)); }
    Prepared prepared() const { return prepare_frame(stage, frame, projection(), sheets_of(stage)); }
    std::size_t drawn() const { return prepared().instances.size(); }
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

TEST_CASE("a line behind the plate is left out; before it, beside it and across its rim it is drawn") {
    const Scene scene(0.2F);
    const Prepared prepared = scene.prepared();
    REQUIRE(prepared.veil);
    // The eye stands a metre from the plate's middle, which ends 0.1 m beside it.
    const auto hides = [&](float x0, float x1, float z) {
        return prepared.veil->hides(glm::vec3(x0, 0, z), glm::vec3(x1, 0.01F, z), 2);
    };
    CHECK(hides(-0.05F, 0.05F, -1.2F));
    CHECK(hides(0.02F, 0.021F, -1.2F));
    CHECK_FALSE(hides(-0.05F, 0.05F, -0.8F));
    CHECK_FALSE(hides(0.3F, 0.35F, -1.2F));
    CHECK_FALSE(hides(0.05F, 0.3F, -1.2F));
    CHECK_FALSE(hides(-0.3F, 0.3F, -1.2F)); // both ends look out
    CHECK_FALSE(hides(-1e6F, 1e6F, -1.2F));
}

TEST_CASE("of what looks out beside a plate the lines behind it are left out") {
    Scene scene(0.4F);
    scene.frame.poses.assign(scene.map.items.size(), Pose{});
    const auto lines = [&](bool veiled) {
        Prepared prepared = scene.prepared();
        if (!veiled)
            prepared.veil.reset();
        std::vector<LineCorner> full, faint;
        add_lines(full, faint, scene.stage, prepared, prepared.solid, scene.projection(), {{}, {}, {}, 1.7, 1.2});
        return full.size() + faint.size();
    };
    scene.frame.poses[static_cast<std::size_t>(scene.block.index)].shift_m = {0.24, 0, 0}; // looks out beside the plate
    CHECK(scene.drawn() == 2);
    CHECK(lines(true) < lines(false));
    CHECK(lines(true) > 0);
}

TEST_CASE("whatever is drawn lies in the bands of the picture, from any side") {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/transfer_box.glb");
    REQUIRE(map);
    const Stage stage = make_stage(*map);
    const std::vector<Sheets> sheets = sheets_of(stage);
    testing::Dice dice(41);
    double covered = 0;
    for (int i = 0; i < 30; ++i) {
        Frame frame;
        frame.width_px = 640;
        frame.height_px = 401;
        frame.camera = fitted(turned_to(Camera{}, Place::not_stated), stage.bounds, {640, 401});
        frame.camera.yaw_deg = dice.between(0, 360);
        frame.camera.pitch_deg = dice.between(-90, 90);
        frame.camera.distance_m *= dice.between(0.2, 1.5);
        const Projection projection = project(frame.camera, {640, 401}, stage.bounds);
        const Prepared prepared = prepare_frame(stage, frame, projection, sheets, true);
        const Bands& bands = prepared.bands;
        for (const Rect& row : bands.rows)
            covered += row.width * row.height / (640.0 * 401.0) / 30;
        int outside = 0;
        for (const Batch& batch : prepared.solid)
            for (std::size_t k = batch.first; k < batch.first + batch.count; ++k)
                for (const Primitive& primitive : map->meshes[std::size_t(batch.mesh)].primitives)
                    for (std::size_t v = 0; v < primitive.index_count; v += 7) {
                        const glm::vec3 p = vector_at(primitive.positions, index_at(primitive, v));
                        glm::dvec3 at(0.0);
                        for (int row = 0; row < 3; ++row) {
                            const auto& r = prepared.instances[k].rows[std::size_t(row)];
                            at[row] = double(r[0] * p.x + r[1] * p.y + r[2] * p.z + r[3]);
                        }
                        const glm::dvec4 clip = projection.projection * glm::dvec4(at, 1.0);
                        const double x = (0.5 + 0.5 * clip.x / clip.w) * 640, y = (0.5 + 0.5 * clip.y / clip.w) * 401;
                        if (clip.w <= projection.near_m || x < 0 || y < 0 || x > 640 || y > 401)
                            continue;
                        outside += std::none_of(bands.rows.begin(), bands.rows.end(), [&](const Rect& row) {
                            return x >= row.x && x <= row.right() && y >= row.y && y <= row.bottom();
                        });
                    }
        CHECK(outside == 0);
    }
    MESSAGE("bands cover " << covered << " of the picture");
    CHECK(covered < 0.9); // else there would be no point in them
}
