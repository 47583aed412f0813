// The camera that core/geometry works out for a step against the one by a fixed rule (shot.cpp), on the measure that
// look.hpp states, for every step of both maps.
#include <algorithm>
#include <cmath>
#include <string>

#include <doctest/doctest.h>

#include "core/geometry/look.hpp"
#include "viewer/scene/scene.hpp"

using namespace boltwalk;

namespace {

const glm::dvec2 size_px(1280, 800);
const Rect clear{0, 120, 1280, 680}; ///< a caption lies over the top
/// A part is looked at by 240 points (look.cpp): what differs by less than one of them is not told apart.
constexpr double one_point = 1.0 / 240;

LookFrame frame() {
    LookFrame f;
    f.aspect = size_px.x / size_px.y;
    f.top = clear.y / size_px.y;
    f.field_deg = Camera{}.field_deg;
    return f;
}

LookCamera as_look(const Camera& camera) {
    return {eye_of(camera), camera.target, upright_of(camera)};
}

Camera as_turntable(const LookCamera& look) {
    Camera camera;
    camera.target = look.target;
    camera.distance_m = glm::length(look.eye - look.target);
    const glm::dvec3 back = (look.eye - look.target) / camera.distance_m;
    camera.yaw_deg = glm::degrees(std::atan2(back.x, back.z));
    camera.pitch_deg = glm::degrees(std::asin(std::clamp(back.y, -1.0, 1.0)));
    return camera;
}

/// The bodies as the picture of a step draws them.
Arrangement drawn(const Solids& solids, const std::vector<Pose>& poses) {
    Arrangement arrangement;
    for (const Body& body : solids.bodies) {
        const Pose pose = body.item ? poses[static_cast<std::size_t>(body.item.index)] : Pose{};
        arrangement.there.push_back(pose.presence > 0 ? 1 : 0);
        arrangement.shift.push_back(pose.shift_m);
    }
    return arrangement;
}

struct Compared {
    std::size_t steps = 0, worse = 0;
    double least = 1e9, product = 0, before = 0, now = 0;
    std::size_t rays = 0;
};

Compared compare(const std::string name, bool refit) {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/" + name);
    REQUIRE(map);
    const Job job = prepare(*map);
    const Plan strip = plan_strip(job);
    const Plan plan = refit ? plan_refit(job, strip) : strip;
    const auto shots = shots_of(job, plan, refit ? refit_begin(strip) : as_found(job));
    const Stage stage = make_stage(*map);
    const Solids solids = make_solids(*map);
    const LookSurfaces surfaces = make_surfaces(solids);
    Compared result;
    for (std::size_t step = 1; step < shots.size(); ++step) {
        const Shot& shot = shots[step];
        const State& state = refit ? shot.after : shot.before;
        std::vector<Pose> poses = poses_of(job, stage, state);
        if (at_bench(job, state, shot.next))
            show_bench(job, state, shot.next, poses);
        const LookWish wish{shot.next, shot.from, drawn(solids, poses)};
        const Look found = look(solids, surfaces, wish, frame());
        result.rays += found.rays;
        if (!found.found)
            continue;
        CHECK(found.measure == measure_of(solids, surfaces, wish, found.camera, frame()));
        // The same picture as a turntable camera.
        const Camera turntable = as_turntable(found.camera);
        CHECK(glm::length(eye_of(turntable) - found.camera.eye) < 1e-9);
        CHECK(glm::length(upright_of(turntable) - found.camera.up) < 1e-9);
        const Camera fixed = camera_for(stage, poses, shot, size_px, clear);
        const double before = measure_of(solids, surfaces, wish, as_look(fixed), frame());
        CHECK_MESSAGE(found.measure >= before - one_point,
                      name << " step " << step << ": " << found.measure << " < " << before);
        ++result.steps;
        result.worse += found.measure < before - one_point ? 1U : 0U;
        const double ratio = std::max(found.measure, 1e-3) / std::max(before, 1e-3);
        result.least = std::min(result.least, ratio);
        result.product += std::log(ratio);
        result.before += before;
        result.now += found.measure;
    }
    const auto steps = static_cast<double>(result.steps);
    MESSAGE(name << std::string(refit ? " refit" : "") << ": " << result.steps
                 << " steps with something to look at; mean measure " << result.before / steps << " by the fixed rule, "
                 << result.now / steps << " now; ratio " << std::exp(result.product / steps)
                 << " on (geometric) average, at least " << result.least << "; " << result.rays << " rays");
    return result;
}

} // namespace

TEST_CASE("every step of the big map is seen better than by the fixed rule") {
    const Compared strip = compare("transfer_box.glb", false);
    CHECK(strip.steps > 60);
    CHECK(strip.worse == 0);
    CHECK(strip.now > 2 * strip.before);
    CHECK(compare("transfer_box.glb", true).worse == 0);
}

TEST_CASE("every step of the small map is seen at least as well as by the fixed rule") {
    const Compared strip = compare("water_pump.glb", false);
    CHECK(strip.steps > 8);
    CHECK(strip.worse == 0);
    CHECK(compare("water_pump.glb", true).worse == 0);
}
