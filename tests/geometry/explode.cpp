// Seen apart: nothing that was apart overlaps, nothing moves farther than it must, nothing jumps.
#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include <doctest/doctest.h>

#include "core/geometry/explode.hpp"
#include "core/geometry/way.hpp"
#include "core/job/ways.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Model;

namespace {

/// A plate with a square hole about y: four boxes round it, so that every face is where it is said to be.
ItemId plate(Model& model, const std::string& name, float low, float high, float hole, bool fixed = false) {
    const float y = 0.5F * (low + high);
    const float h = high - low;
    constexpr float half = 0.05F;
    const float wide = half - hole;
    const float off = 0.5F * (half + hole);
    const ItemId item = model.part(name, model.box({2 * half, h, wide}), {0, y, off}, fixed);
    model.node("piece", model.box({2 * half, h, wide}), at(0, y, -off), item);
    model.node("piece", model.box({wide, h, 2 * hole}), at(off, y, 0), item);
    model.node("piece", model.box({wide, h, 2 * hole}), at(-off, y, 0), item);
    return item;
}

std::vector<glm::dvec3> at_end(const Solids& solids, const Explosion& explosion) {
    std::vector<glm::dvec3> shift;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        shift.push_back(exploded_by(explosion, static_cast<std::int32_t>(b), 1));
    return shift;
}

/// How many edges of one body's triangles pierce a triangle of another: two surfaces cross exactly when some edge does.
std::map<std::pair<std::int32_t, std::int32_t>, int> crossings(const Solids& solids) {
    std::map<std::pair<std::int32_t, std::int32_t>, int> count;
    std::vector<RayHit> hits;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        each_triangle_of(solids, static_cast<std::int32_t>(b), [&](const Triangle& t) {
            const std::array<glm::dvec3, 3> corners{t.a, t.b, t.c};
            for (std::size_t i = 0; i < 3; ++i) {
                const glm::dvec3 along = corners[(i + 1) % 3] - corners[i];
                all_hits(solids, {corners[i], along}, 1, hits);
                for (const RayHit& hit : hits)
                    if (hit.body != static_cast<std::int32_t>(b))
                        ++count[std::minmax(hit.body, static_cast<std::int32_t>(b))];
            }
        });
    return count;
}

void nothing_jumps(const Solids& solids, const Explosion& explosion) {
    constexpr int steps = 2000;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        const auto body = static_cast<std::int32_t>(b);
        double shortest = 1;
        for (const ExplodeLeg& leg : explosion.legs[b]) {
            CHECK(leg.from >= 0);
            CHECK(leg.to <= 1 + 1e-12);
            CHECK(leg.to > leg.from);
            shortest = std::min(shortest, (leg.to - leg.from) / std::max(glm::length(leg.shift), 1e-9));
        }
        CHECK(exploded_by(explosion, body, 0) == glm::dvec3(0.0));
        double jump = 0;
        for (int i = 0; i < steps; ++i)
            jump = std::max(jump, glm::length(exploded_by(explosion, body, (i + 1.0) / steps) -
                                              exploded_by(explosion, body, static_cast<double>(i) / steps)));
        // No faster than the fastest leg.
        CHECK(jump <= 1.0001 / steps / shortest + 1e-12);
    }
}

} // namespace

TEST_CASE("a stack comes apart by a gap each, its bolt by its shank and a gap") {
    Model model;
    plate(model, "base", -0.02F, 0, 0.0055F, true);
    const ItemId lower = plate(model, "lower", 0, 0.01F, 0.0055F);
    const ItemId upper = plate(model, "upper", 0.01F, 0.02F, 0.0055F);
    const ItemId bolt =
        model.fastener("bolt", model.rods({{0.005F, 0.03F}, {0.01F, 0.006F}}, 24), at(0, -0.01, 0), {upper});
    const Solids solids = make_solids(model.map);
    const auto body = [&](ItemId item) { return solids.body_of[static_cast<std::size_t>(item.index)]; };
    std::vector<Apart> list(3);
    list[0] = {bolt, {body(bolt)}, 1, {{{0, 1, 0}, {}}}, 1, true};
    list[1] = {upper, {body(upper)}, -1, {{{0, 0.5, 0}, {}}}, 1, false};
    list[2] = {lower, {body(lower)}, -1, {{{0, 2, 0}, {}}}, 1, false};
    const Explosion explosion = explode(solids, list);
    const double gap = explode_gap_share * solids.bounds.radius();
    const auto moved_by = [&](ItemId item) { return exploded_by(explosion, body(item), 1); };
    // What moves is taken 1.5 mm wider all round, so that much more than the gap is kept.
    constexpr double wider = 0.0016;
    CHECK(moved_by(lower).y >= gap);
    CHECK(moved_by(lower).y <= gap + wider);
    CHECK(moved_by(upper).y >= moved_by(lower).y + gap);
    CHECK(moved_by(upper).y <= moved_by(lower).y + gap + wider);
    const double own = moved_by(bolt).y - moved_by(upper).y;
    CHECK(own >= 0.03 + gap);
    CHECK(own <= 0.03 + gap + wider);
    for (const ItemId item : {lower, upper, bolt}) {
        CHECK(moved_by(item).x == 0);
        CHECK(moved_by(item).z == 0);
    }
    CHECK(crossings(moved(solids, at_end(solids, explosion))).empty());
    nothing_jumps(solids, explosion);
    // The unit first, with its bolt in it; then the bolt.
    CHECK(exploded_by(explosion, body(bolt), 0.5).y == doctest::Approx(moved_by(upper).y));
    CHECK(exploded_by(explosion, body(upper), 0.5).y == doctest::Approx(moved_by(upper).y));
    CHECK(exploded_by(explosion, body(bolt), 0.75).y == doctest::Approx(moved_by(upper).y + own / 2));
}

TEST_CASE("what stands apart already stays, and what is in its stated way is passed by the shorter one") {
    Model model;
    model.part("base", model.box({0.4F, 0.02F, 0.4F}), {0, -0.01, 0}, true);
    const ItemId far = model.part("far", model.box({0.02F, 0.02F, 0.02F}), {0.1, 0.2, 0});
    const ItemId near = model.part("near", model.box({0.04F, 0.04F, 0.04F}), {-0.1, 0.02, 0});
    const Solids solids = make_solids(model.map);
    std::vector<Apart> list(2);
    list[0] = {far, {1}, -1, {{{0, 1, 0}, {}}}, 1, false};
    list[1] = {near, {2}, -1, {{{1, 0, 0}, {}}, {{0, 1, 0}, {}}}, 0, false};
    const Explosion explosion = explode(solids, list);
    CHECK(exploded_by(explosion, 1, 1) == glm::dvec3(0.0));
    const glm::dvec3 up = exploded_by(explosion, 2, 1);
    CHECK(up.x == 0);
    CHECK(up.y > 0);
    CHECK(up.y < explode_gap_share * solids.bounds.radius() + 0.002);
}

TEST_CASE("off the dowels first, then down, by one leg after the other") {
    Model model;
    const ItemId face = model.part("face", model.box({0.2F, 0.2F, 0.02F}), {0, 0, 0.01}, true);
    model.node("dowel", model.box({0.01F, 0.01F, 0.03F}), at(0.05, 0.05, -0.015), face);
    model.node("dowel", model.box({0.01F, 0.01F, 0.03F}), at(-0.05, 0.05, -0.015), face);
    // A roof half a millimetre above the cover, nearer than a gap, and long.
    model.node("roof", model.box({0.2F, 0.02F, 0.4F}), at(0, 0.0955, -0.1), face);
    // Its lip lies over the dowels: down is blocked until it is off them.
    const ItemId cover = model.part("cover", model.box({0.16F, 0.08F, 0.02F}), {0, -0.0, -0.01});
    model.node("lip", model.box({0.16F, 0.02F, 0.02F}), at(0, 0.075, -0.01), cover);
    const Solids solids = make_solids(model.map);
    std::vector<Apart> list(1);
    list[0] = {cover, {1}, -1, {{{0, 0, -0.035}, {}}, {{0, -0.3, 0}, {0, 0, -0.035}}}, 2, false};
    const Explosion explosion = explode(solids, list);
    REQUIRE(explosion.legs[1].size() == 2);
    CHECK(explosion.legs[1][0].shift == glm::dvec3(0, 0, -0.035));
    CHECK(explosion.legs[1][1].shift.y < 0);
    CHECK(explosion.legs[1][0].to == explosion.legs[1][1].from);
    nothing_jumps(solids, explosion);
    CHECK(crossings(moved(solids, at_end(solids, explosion))).empty());
}

TEST_CASE("a list that goes round in a ring, or is empty, ends") {
    Model model;
    for (int i = 0; i < 3; ++i)
        model.part("p", model.box({0.1F, 0.1F, 0.1F}), {0.1 * i, 0, 0});
    const Solids solids = make_solids(model.map);
    std::vector<Apart> ring(3);
    for (int i = 0; i < 3; ++i)
        ring[static_cast<std::size_t>(i)] = {{i}, {i}, (i + 1) % 3, {{{0, 1, 0}, {}}}, 1, false};
    const Explosion explosion = explode(solids, ring);
    nothing_jumps(solids, explosion);
    CHECK(explode(solids, {}).legs.size() == 3);
    CHECK(exploded_by(explosion, -1, 0.5) == glm::dvec3(0.0));
    CHECK(exploded_by(explosion, 99, 0.5) == glm::dvec3(0.0));
}

TEST_CASE("both demo maps come apart: nothing new overlaps, fasteners stay in line with their holes, nothing jumps") {
    for (const char* file : {"transfer_box.glb", "water_pump.glb"}) {
        CAPTURE(file);
        const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR "/assets/") + file);
        REQUIRE(map.has_value());
        const Job job = prepare(*map);
        const Solids solids = make_solids(*map);
        const std::vector<Apart> list = apart_of(job, solids, plan_strip(job));
        const Explosion explosion = explode(solids, list);
        const std::vector<glm::dvec3> shift = at_end(solids, explosion);
        nothing_jumps(solids, explosion);
        const auto at_rest = crossings(solids);
        for (const auto& [pair, count] : crossings(moved(solids, shift))) {
            // Through a name of its own: clang before 16 captures no structured binding.
            const std::string both = name_of(solids, pair.first) + ", " + name_of(solids, pair.second);
            CAPTURE(both);
            // What moves together may lie in one another as it did; nothing else may.
            CHECK(shift[static_cast<std::size_t>(pair.first)] == shift[static_cast<std::size_t>(pair.second)]);
            CHECK(at_rest.contains(pair));
        }
        std::size_t fasteners = 0;
        std::size_t moving = 0;
        for (const Apart& one : list) {
            const glm::dvec3 own =
                shift[static_cast<std::size_t>(one.bodies[0])] -
                (one.on >= 0 ? shift[static_cast<std::size_t>(list[static_cast<std::size_t>(one.on)].bodies[0])]
                             : glm::dvec3(0.0));
            moving += glm::length(own) > 0 ? std::size_t{1} : 0;
            CHECK(glm::length(own) < 1.5 * solids.bounds.radius());
            if (!one.fastener)
                continue;
            ++fasteners;
            const glm::dvec3 axis = axis_of(*map, one.item);
            CHECK(glm::length(own - axis * glm::dot(own, axis)) < 1e-9);
            CHECK(glm::dot(own, axis) >= -1e-12);
        }
        CHECK(fasteners == map->fasteners.size());
        CHECK(moving * 10 >= list.size() * 9);
    }
}
