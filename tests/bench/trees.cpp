// Our trees beside those of others, on the same triangles, in one run, as ratios. Rays: Embree. Collisions: FCL. Where
// either is not installed, its part is left out, and that is said.
//
//     build/bench_trees
#define DOCTEST_CONFIG_IMPLEMENT // the builder of models prints through doctest
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

#include "core/geometry/geometry.hpp"
#include "core/geometry/rays.hpp"
#include "core/geometry/way_sweep.hpp"
#include "tests/shared/shapes.hpp"

#if defined(BOLTWALK_EMBREE3)
#include <embree3/rtcore.h>
#elif defined(BOLTWALK_EMBREE4)
#include <embree4/rtcore.h>
#endif
#if defined(BOLTWALK_FCL)
#include <fcl/fcl.h>
#endif

using namespace boltwalk;
using boltwalk::testing::Dice;

namespace {

/// Processor time of all threads together: other programs on the machine do not count.
double processor_seconds() {
    timespec time{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
}

constexpr std::size_t chunk = 1024;

/// The best of five: rays a second on so many threads that nobody disturbs. `cast` takes a ray and gives how much it
/// met.
template <typename Cast>
double rate(const std::vector<Ray>& rays, int threads, std::size_t& met, const Cast& cast) {
    double best = 0;
    std::vector<std::size_t> sums((rays.size() + chunk - 1) / chunk);
    for (int round = 0; round < 5; ++round) {
        const double begin = processor_seconds();
        in_parallel(sums.size(), {threads, {}}, [&](std::size_t i) {
            std::size_t sum = 0;
            for (std::size_t k = i * chunk; k < std::min(rays.size(), (i + 1) * chunk); ++k)
                sum += cast(rays[k]);
            sums[i] = sum;
        });
        best = std::max(best, static_cast<double>(rays.size()) * threads / (processor_seconds() - begin));
    }
    met = 0;
    for (const std::size_t sum : sums)
        met += sum;
    return best;
}

std::vector<Ray> rays_of(const Solids& solids, std::size_t count) {
    // From points of the surface, lifted a little, in all directions: what hidden, reach and look ask.
    Dice dice(11);
    std::vector<glm::dvec3> starts;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        each_triangle_of(solids, static_cast<std::int32_t>(b), [&](const Triangle& t) {
            if (dice.from_0_to_1() < 0.05) {
                const glm::dvec3 normal = glm::cross(t.b - t.a, t.c - t.a);
                const double length = glm::length(normal);
                if (length > 0)
                    starts.push_back((t.a + t.b + t.c) / 3.0 + 0.0005 * normal / length);
            }
        });
    std::vector<Ray> rays(count);
    for (std::size_t i = 0; i < count; ++i) {
        rays[i].from = starts[i * 7919 % starts.size()];
        do
            rays[i].along = {dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)};
        while (glm::length(rays[i].along) > 1 || glm::length(rays[i].along) < 0.1);
        rays[i].along = glm::normalize(rays[i].along);
    }
    return rays;
}

constexpr double far_m = 2;

struct Ours {
    double first = 0, all = 0, bodies = 0;
    std::size_t first_met = 0, all_met = 0, bodies_met = 0;
};

Ours ours(const Solids& solids, const std::vector<Ray>& rays, int threads) {
    Ours result;
    result.first = rate(rays, threads, result.first_met,
                        [&](const Ray& ray) { return first_hit(solids, ray, far_m).body >= 0 ? 1U : 0U; });
    result.all = rate(rays, threads, result.all_met, [&](const Ray& ray) {
        thread_local std::vector<RayHit> hits;
        all_hits(solids, ray, far_m, hits);
        return hits.size();
    });
    result.bodies = rate(rays, threads, result.bodies_met, [&](const Ray& ray) {
        thread_local std::vector<std::int32_t> bodies;
        bodies_met(solids, ray, far_m, bodies);
        return bodies.size();
    });
    return result;
}

#if defined(BOLTWALK_EMBREE3) || defined(BOLTWALK_EMBREE4)

/// All triangles in the world, one scene: Embree has no placements to step into.
RTCScene scene_of(RTCDevice device, const Solids& solids, bool with_filter, std::size_t& triangles) {
#if defined(BOLTWALK_EMBREE3)
    constexpr RTCSceneFlags filter = RTC_SCENE_FLAG_CONTEXT_FILTER_FUNCTION;
#else
    constexpr RTCSceneFlags filter = RTC_SCENE_FLAG_FILTER_FUNCTION_IN_ARGUMENTS;
#endif
    RTCScene scene = rtcNewScene(device);
    rtcSetSceneFlags(scene, with_filter ? filter | RTC_SCENE_FLAG_ROBUST : RTC_SCENE_FLAG_ROBUST);
    rtcSetSceneBuildQuality(scene, RTC_BUILD_QUALITY_HIGH);
    triangles = 0;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        std::vector<glm::vec3> corners;
        each_triangle_of(solids, static_cast<std::int32_t>(b), [&](const Triangle& t) {
            for (const glm::dvec3& c : {t.a, t.b, t.c})
                corners.emplace_back(c);
        });
        if (corners.empty())
            continue;
        RTCGeometry geometry = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
        auto* places = static_cast<float*>(
            rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 12, corners.size()));
        auto* order = static_cast<unsigned*>(
            rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 12, corners.size() / 3));
        for (std::size_t i = 0; i < corners.size(); ++i) {
            for (int axis = 0; axis < 3; ++axis)
                places[3 * i + static_cast<std::size_t>(axis)] = corners[i][axis];
            order[i] = static_cast<unsigned>(i);
        }
        rtcCommitGeometry(geometry);
        rtcAttachGeometryByID(scene, geometry, static_cast<unsigned>(b));
        rtcReleaseGeometry(geometry);
        triangles += corners.size() / 3;
    }
    rtcCommitScene(scene);
    return scene;
}

RTCRayHit embree_ray(const Ray& ray) {
    RTCRayHit r{};
    r.ray.org_x = static_cast<float>(ray.from.x);
    r.ray.org_y = static_cast<float>(ray.from.y);
    r.ray.org_z = static_cast<float>(ray.from.z);
    r.ray.dir_x = static_cast<float>(ray.along.x);
    r.ray.dir_y = static_cast<float>(ray.along.y);
    r.ray.dir_z = static_cast<float>(ray.along.z);
    r.ray.tfar = static_cast<float>(far_m);
    r.ray.mask = ~0U;
    r.hit.geomID = RTC_INVALID_GEOMETRY_ID;
    r.hit.instID[0] = RTC_INVALID_GEOMETRY_ID;
    return r;
}

/// Every hit is counted and refused, so that the walk goes on: Embree's own way to all hits.
struct Counting {
#if defined(BOLTWALK_EMBREE3)
    RTCIntersectContext context;
#else
    RTCRayQueryContext context;
#endif
    std::size_t met = 0;
};

void count_hit(const RTCFilterFunctionNArguments* arguments) {
    ++reinterpret_cast<Counting*>(arguments->context)->met;
    arguments->valid[0] = 0;
}

void cast_first(RTCScene scene, RTCRayHit& ray) {
#if defined(BOLTWALK_EMBREE3)
    RTCIntersectContext context;
    rtcInitIntersectContext(&context);
    rtcIntersect1(scene, &context, &ray);
#else
    rtcIntersect1(scene, &ray, nullptr);
#endif
}

std::size_t cast_all(RTCScene scene, RTCRayHit& ray) {
    Counting counting;
#if defined(BOLTWALK_EMBREE3)
    rtcInitIntersectContext(&counting.context);
    counting.context.filter = count_hit;
    rtcIntersect1(scene, &counting.context, &ray);
#else
    rtcInitRayQueryContext(&counting.context);
    RTCIntersectArguments arguments;
    rtcInitIntersectArguments(&arguments);
    arguments.context = &counting.context;
    arguments.filter = count_hit;
    arguments.flags = RTC_RAY_QUERY_FLAG_INVOKE_ARGUMENT_FILTER;
    rtcIntersect1(scene, &ray, &arguments);
#endif
    return counting.met;
}

void beside_embree(const Solids& solids, const std::vector<Ray>& rays, int threads) {
    RTCDevice device = rtcNewDevice(("threads=" + std::to_string(threads)).c_str());
    std::size_t triangles = 0;
    RTCScene scene = scene_of(device, solids, false, triangles);
    RTCScene filtered = scene_of(device, solids, true, triangles);
    const Ours we = ours(solids, rays, threads);
    std::size_t first_met = 0;
    std::size_t all_met = 0;
    const double first = rate(rays, threads, first_met, [&](const Ray& ray) {
        RTCRayHit r = embree_ray(ray);
        cast_first(scene, r);
        return r.hit.geomID != RTC_INVALID_GEOMETRY_ID ? 1U : 0U;
    });
    const double all = rate(rays, threads, all_met, [&](const Ray& ray) {
        RTCRayHit r = embree_ray(ray);
        return cast_all(filtered, r);
    });
    std::printf("  %d thread%s, %zu triangles: first hit %.2f of Embree's (%.2f to %.2f million/s), all hits %.2f "
                "(%.2f to %.2f), bodies met %.2f\n",
                threads, threads == 1 ? "" : "s", triangles, we.first / first, we.first / 1e6, first / 1e6,
                we.all / all, we.all / 1e6, all / 1e6, we.bodies / all);
    std::printf("      met: first %zu to %zu, all %zu to %zu\n", we.first_met, first_met, we.all_met, all_met);
    rtcReleaseScene(scene);
    rtcReleaseScene(filtered);
    rtcReleaseDevice(device);
}

#else

void beside_embree(const Solids& solids, const std::vector<Ray>& rays, int threads) {
    const Ours we = ours(solids, rays, threads);
    std::printf(
        "  %d threads: Embree is not installed, so no ratios. Ours alone: first hit %.2f, all hits %.2f, bodies "
        "met %.2f million/s\n",
        threads, we.first / 1e6, we.all / 1e6, we.bodies / 1e6);
}

#endif

#if defined(BOLTWALK_FCL)

using Model = fcl::BVHModel<fcl::OBBRSSd>;

/// A body as FCL has it, in the world.
std::shared_ptr<Model> model_of(const Solids& solids, std::int32_t body) {
    std::vector<fcl::Vector3d> corners;
    std::vector<fcl::Triangle> faces;
    each_triangle_of(solids, body, [&](const Triangle& t) {
        const std::size_t first = corners.size();
        for (const glm::dvec3& c : {t.a, t.b, t.c})
            corners.emplace_back(c.x, c.y, c.z);
        faces.emplace_back(first, first + 1, first + 2);
    });
    auto model = std::make_shared<Model>();
    model->beginModel();
    model->addSubModel(corners, faces);
    model->endModel();
    return model;
}

struct Fcl {
    std::vector<std::shared_ptr<Model>> models;
    std::vector<std::unique_ptr<fcl::CollisionObjectd>> objects;
};

/// Does a body, moved, touch any other? One query for FCL is one place; ours is a sweep as long as a bolt's head is
/// wide, or none at all.
void beside_fcl(const Solids& solids) {
    Fcl theirs;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        theirs.models.push_back(model_of(solids, static_cast<std::int32_t>(b)));
        theirs.objects.push_back(std::make_unique<fcl::CollisionObjectd>(theirs.models.back()));
        theirs.objects.back()->computeAABB();
    }
    std::vector<WayAsked> asked;
    for (const Part& part : solids.map->parts)
        if (!part.fixed && solids.body_of[static_cast<std::size_t>(part.item.index)] >= 0) {
            WayAsked one;
            one.moving = {solids.body_of[static_cast<std::size_t>(part.item.index)]};
            asked.push_back(one);
        }
    const WaySpace space = make_way_space(solids, asked);
    Dice dice(5);
    std::size_t queries = 0, agreed = 0, touching = 0;
    double our_seconds = 0, their_seconds = 0, sweep_seconds = 0;
    constexpr int samples = 50; // a millimetre apart
    constexpr double length_m = 0.05;
    double sampled_seconds = 0;
    std::size_t sweeps = 0;
    for (const WayAsked& one : asked) {
        const auto body = static_cast<std::size_t>(one.moving[0]);
        const Mover mover = make_mover(space, one.moving);
        for (int i = 0; i < 8; ++i) {
            glm::dvec3 offset;
            for (int axis = 0; axis < 3; ++axis)
                offset[axis] = dice.between(-0.1, 0.1);
            const glm::dvec3 along =
                glm::normalize(glm::dvec3(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)));
            const auto touches_ours = [&](double length) {
                const std::vector<Standing> near = standing_near(space, mover, offset, along * length, 0);
                const Posing how{frame_along(along, mover.bounds.centre()), offset, 0, length > 1e-6};
                std::vector<const Standing*> all;
                for (const Standing& standing : near)
                    all.push_back(&standing);
                const std::vector<double> contacts = first_contacts(mover, how, all, length, true);
                return std::any_of(contacts.begin(), contacts.end(), [](double contact) { return contact >= 0; });
            };
            const auto touches_theirs = [&](double far) {
                const glm::dvec3 at = offset + along * far;
                fcl::CollisionObjectd moved(theirs.models[body], fcl::Matrix3d::Identity(),
                                            fcl::Vector3d(at.x, at.y, at.z));
                moved.computeAABB();
                for (std::size_t b = 0; b < theirs.objects.size(); ++b) {
                    if (b == body || !moved.getAABB().overlap(theirs.objects[b]->getAABB()))
                        continue;
                    fcl::CollisionRequestd request;
                    fcl::CollisionResultd result;
                    if (fcl::collide(&moved, theirs.objects[b].get(), request, result) > 0)
                        return true;
                }
                return false;
            };
            double begin = processor_seconds();
            const bool ours_touch = touches_ours(1e-7);
            our_seconds += processor_seconds() - begin;
            begin = processor_seconds();
            const bool theirs_touch = touches_theirs(0);
            their_seconds += processor_seconds() - begin;
            ++queries;
            agreed += ours_touch == theirs_touch ? 1 : 0;
            touching += theirs_touch ? 1 : 0;
            if (theirs_touch)
                continue;
            begin = processor_seconds();
            (void)touches_ours(length_m);
            sweep_seconds += processor_seconds() - begin;
            begin = processor_seconds();
            for (int s = 0; s <= samples; ++s)
                if (touches_theirs(length_m * s / samples))
                    break;
            sampled_seconds += processor_seconds() - begin;
            ++sweeps;
        }
    }
    std::printf("  %zu places (%zu touching), one thread: ours %.2f times FCL's queries a second (%.0f to %.0f); same "
                "answer in %zu\n",
                queries, touching, their_seconds / our_seconds, static_cast<double>(queries) / our_seconds,
                static_cast<double>(queries) / their_seconds, agreed);
    std::printf("  %zu ways of 50 mm from a free place: one sweep of ours takes %.3f of FCL at every millimetre\n",
                sweeps, sweep_seconds / sampled_seconds);
}

#else

void beside_fcl(const Solids&) {
    std::printf("  FCL is not installed, so no ratios\n");
}

#endif

} // namespace

int main() {
    const auto map = read_map(BOLTWALK_SOURCE_DIR "/assets/transfer_box.glb");
    if (!map) {
        std::printf("%s\n", map.error().text.c_str());
        return 1;
    }
    const Solids solids = make_solids(*map);
    std::printf("rays from the surface of the big map, 2 m long\n");
    const std::vector<Ray> rays = rays_of(solids, 400000);
    for (const int threads : {1, 2})
        beside_embree(solids, rays, threads);

    std::printf("rays in one mesh of a million triangles, uneven as a casting\n");
    testing::Model model;
    std::vector<glm::vec3> corners;
    Dice dice(3);
    constexpr int across = 708;
    std::vector<float> heights(static_cast<std::size_t>(across + 1) * (across + 1));
    for (float& height : heights)
        height = static_cast<float>(dice.between(0, 0.02));
    const auto point = [&](int i, int k) {
        return glm::vec3(static_cast<float>(i) / across, heights[static_cast<std::size_t>(i * (across + 1) + k)],
                         static_cast<float>(k) / across);
    };
    for (int i = 0; i < across; ++i)
        for (int k = 0; k < across; ++k)
            for (const glm::vec3& p :
                 {point(i, k), point(i, k + 1), point(i + 1, k), point(i + 1, k), point(i, k + 1), point(i + 1, k + 1)})
                corners.push_back(p);
    model.node("casting", model.mesh(corners), glm::dmat4(1.0));
    const Solids one = make_solids(model.map);
    beside_embree(one, rays_of(one, 400000), 2);

    std::printf("collisions on the big map\n");
    beside_fcl(solids);
    return 0;
}
