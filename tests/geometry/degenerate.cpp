// What no modelling tool should write and some do: every question is asked of it, and gets a finding or a worse
// estimate, never a crash, a hang or a figure that is no number.
#include <cmath>
#include <limits>

#include <doctest/doctest.h>

#include "core/geometry/geometry.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Dice;
using boltwalk::testing::Model;

namespace {

using Corners = std::vector<glm::vec3>;

Corners box_corners(const glm::vec3& size) {
    return Model::turned_corners(
        {{0, -0.5 * size.y}, {0.5 * size.x, -0.5 * size.y}, {0.5 * size.x, 0.5 * size.y}, {0, 0.5 * size.y}}, 4);
}

Corners flipped(Corners corners) {
    for (std::size_t i = 0; i + 2 < corners.size(); i += 3)
        std::swap(corners[i + 1], corners[i + 2]);
    return corners;
}

Corners holed(Corners corners) {
    corners.resize(corners.size() - 6);
    return corners;
}

bool finite(const glm::dvec3& p) {
    return std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.z);
}

struct Asked {
    Solids solids;
    Masses masses;
    std::vector<Seen> seen;
    Fits fits;
    WaysOut way;
    Explosion explosion;
    bool found(const std::string& rule) const {
        for (const auto* list : {&solids.findings, &masses.findings})
            for (const Finding& finding : *list)
                if (finding.rule == rule)
                    return true;
        return false;
    }
};

/// Everything that core/geometry answers, of a model whose first part is to come out.
Asked ask_all(const Map& map) {
    Asked asked;
    asked.solids = make_solids(map);
    const Solids& solids = asked.solids;
    asked.masses = weigh(solids);
    for (const BodyMass& mass : asked.masses.bodies) {
        CHECK(finite(mass.centre));
        CHECK(std::isfinite(mass.volume_m3));
        CHECK(mass.volume_m3 >= 0);
    }
    const Sights sights = measure_sights(solids);
    asked.seen = seen(sights, Arrangement{});
    for (const Seen& one : asked.seen)
        for (const double share : one.share)
            CHECK((share >= 0 && share <= 1));
    const Reach reach = find_reach(solids, {}, home_box());
    for (const Fastener& fastener : map.fasteners) {
        const ReachAnswer answer = judge_reach(reach, fastener.item, Use::turn, Arrangement{});
        CHECK(answer.swing < reach_directions);
    }
    asked.fits = fit_of(solids);
    for (const Fit& fit : asked.fits.list) {
        CHECK(std::isfinite(fit.engaged_mm));
        CHECK(std::isfinite(fit.shank_mm));
    }
    if (!map.parts.empty() && solids.body_of[static_cast<std::size_t>(map.parts[0].item.index)] >= 0) {
        const std::int32_t body = solids.body_of[static_cast<std::size_t>(map.parts[0].item.index)];
        const std::vector<WayAsked> ways{{map.parts[0].item, {body}, {{0, 0.5, 0}}}};
        const WaySpace space = make_way_space(solids, ways);
        asked.way = sweep_way(space, ways[0]);
        WaySearch search;
        search.queries = 30;
        find_way(space, ways[0], search, asked.way);
        for (const WayAnswer& way : asked.way.ways)
            for (const LegAnswer& leg : way.legs) {
                CHECK(finite(leg.leg));
                for (const Meeting& met : leg.met)
                    CHECK(std::isfinite(met.after_mm));
            }
        std::vector<Apart> apart(1);
        apart[0].item = map.parts[0].item;
        apart[0].bodies = {body};
        apart[0].ways = {{{0, 1, 0}, {0, 0, 0}}};
        asked.explosion = explode(solids, apart);
        CHECK(finite(exploded_by(asked.explosion, body, 1)));
    }
    return asked;
}

/// A case that stays, a part on it, a bolt through both; the part's mesh is what is asked.
struct Scene {
    Model model;
    ItemId part, body, bolt;
    explicit Scene(const Corners& corners, const glm::dmat4& place = glm::dmat4(1.0)) {
        part = model.part("part", model.mesh(corners), {0, 0, 0});
        for (std::size_t i = 0; i < 16; ++i)
            model.map.nodes[0].world[i] = glm::value_ptr(place)[i];
        body = model.part("body", model.box({0.3F, 0.05F, 0.3F}), {0, -0.075, 0}, true);
        bolt =
            model.fastener("bolt", model.rods({{0.005F, 0.1F}, {0.009F, 0.007F}}, 16), at(0, -0.05, 0), {part, body});
        model.map.fasteners[0].kind = FastenerKind::bolt;
        model.map.fasteners[0].axis = {0, 1, 0};
        model.map.fasteners[0].head = "hex";
        model.map.fasteners[0].thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
    }
};

const glm::vec3 size{0.2F, 0.1F, 0.2F};

} // namespace

TEST_CASE("an open shell: no volume, the centre of its surface, and that is said") {
    const Scene scene(holed(box_corners(size)));
    const Asked asked = ask_all(scene.model.map);
    CHECK(asked.found("open-shape"));
    CHECK(asked.masses.bodies[0].volume_m3 == 0);
    CHECK(asked.masses.bodies[0].centre_from == CentreFrom::surface);
    CHECK(glm::length(asked.masses.bodies[0].centre) < 0.03);
}

TEST_CASE("turned inside out: the volume as if it were not; some faces flipped: none") {
    const Asked whole = ask_all(Scene(box_corners(size)).model.map);
    CHECK_FALSE(whole.found("inside-out"));
    const Scene turned(flipped(box_corners(size)));
    const Asked out = ask_all(turned.model.map);
    CHECK(out.found("inside-out"));
    CHECK(out.masses.bodies[0].volume_m3 == doctest::Approx(whole.masses.bodies[0].volume_m3));
    Corners some = box_corners(size);
    std::swap(some[1], some[2]);
    const Scene part_of_it(some);
    const Asked mixed = ask_all(part_of_it.model.map);
    CHECK(mixed.found("flipped-faces"));
    CHECK(mixed.masses.bodies[0].centre_from == CentreFrom::surface);
    // The way out of the inside-out one is the same: up is free, down is not.
    CHECK(judge(out.way.ways.at(0)).verdict == judge(whole.way.ways.at(0)).verdict);
}

TEST_CASE("triangles without area are left out and counted; nothing but such is no body") {
    Corners corners = box_corners(size);
    for (int i = 0; i < 5; ++i)
        for (const glm::vec3& p : {glm::vec3(0, 0, 0), glm::vec3(0.1F, 0, 0), glm::vec3(0.05F, 0, 0)})
            corners.push_back(p);
    const Scene scene(corners);
    CHECK(ask_all(scene.model.map).found("no-area"));
    const Scene only({{0, 0, 0}, {0.1F, 0, 0}, {0.05F, 0, 0}, {0, 0, 0}, {0, 0, 0}, {0, 0, 0}});
    const Asked asked = ask_all(only.model.map);
    CHECK(asked.solids.body_of[0] == -1);
    CHECK(asked.found("no-area"));
}

TEST_CASE("slivers and specks") {
    Corners corners = box_corners(size);
    for (int i = 0; i < 200; ++i) {
        const float x = 1e-3F * static_cast<float>(i);
        for (const glm::vec3& p :
             {glm::vec3(x, 0.05F, 0), glm::vec3(x + 1e-3F, 0.05F, 0), glm::vec3(x, 0.05F + 1e-9F, 1e-9F)})
            corners.push_back(p);
    }
    const Scene scene(corners);
    const Asked asked = ask_all(scene.model.map);
    CHECK(asked.masses.bodies[0].centre_from == CentreFrom::surface);
}

TEST_CASE("a part in another, and the same part twice in one place") {
    Model model;
    const std::int32_t outer = model.mesh(box_corners(size));
    const std::int32_t inner = model.mesh(box_corners(0.3F * size));
    const ItemId shut = model.part("inside", inner, {0, 0, 0});
    model.part("outside", outer, {0, 0, 0}, true);
    const Asked asked = ask_all(model.map);
    CHECK(judge(asked.way.ways.at(0)).verdict == Verdict::blocked);
    (void)shut;
    Model twice;
    const std::int32_t mesh = twice.mesh(box_corners(size));
    twice.part("one", mesh, {0, 0, 0});
    twice.part("again", mesh, {0, 0, 0});
    const Asked both = ask_all(twice.map);
    CHECK(both.masses.bodies[0].volume_m3 == both.masses.bodies[1].volume_m3);
    // The same shell twice within one part is counted once.
    Corners doubled = box_corners(size);
    const Corners again = doubled;
    doubled.insert(doubled.end(), again.begin(), again.end());
    const Scene scene(doubled);
    const Asked counted = ask_all(scene.model.map);
    CHECK(counted.found("shells-overlap"));
    CHECK(counted.masses.bodies[0].volume_m3 == doctest::Approx(both.masses.bodies[0].volume_m3).epsilon(1e-4));
}

TEST_CASE("a model in millimetres is told, and still answered") {
    Corners corners = box_corners(1000.0F * size);
    Scene scene(corners);
    const Asked asked = ask_all(scene.model.map);
    CHECK(asked.found("model-size"));
    CHECK(asked.masses.bodies[0].volume_m3 == doctest::Approx(200.0 / 2 * 200 * 100).epsilon(1e-4));
    CHECK_FALSE(ask_all(Scene(box_corners(size)).model.map).found("model-size"));
}

TEST_CASE("placements that flatten, mirror, shear or blow up") {
    const Corners corners = box_corners(size);
    const Scene flat(corners, glm::scale(glm::dmat4(1.0), glm::dvec3(1, 0, 1)));
    CHECK(ask_all(flat.model.map).solids.body_of[0] == -1);
    const double volume = ask_all(Scene(corners).model.map).masses.bodies[0].volume_m3;
    const Scene mirrored(corners, glm::scale(glm::dmat4(1.0), glm::dvec3(-1, -1, -1)));
    CHECK(ask_all(mirrored.model.map).masses.bodies[0].volume_m3 == doctest::Approx(volume));
    glm::dmat4 shear(1.0);
    shear[1][0] = 0.7; // x grows with y
    const Asked sheared = ask_all(Scene(corners, shear).model.map);
    CHECK(sheared.masses.bodies[0].volume_m3 == doctest::Approx(volume)); // a shear keeps volumes (Cavalieri)
    const Asked tiny = ask_all(Scene(corners, glm::scale(glm::dmat4(1.0), glm::dvec3(1e-5))).model.map);
    CHECK(tiny.masses.bodies[0].volume_m3 == doctest::Approx(volume * 1e-15));
    const Asked far = ask_all(Scene(corners, at(1e6, 0, 0)).model.map);
    CHECK(far.found("model-size"));
}

TEST_CASE("nothing at all, and scenery alone") {
    const Map empty;
    const Asked asked = ask_all(empty);
    CHECK(asked.solids.bodies.empty());
    Model model;
    model.node("scenery", model.mesh(box_corners(size)), glm::dmat4(1.0));
    CHECK(ask_all(model.map).solids.bodies.size() == 1);
}

TEST_CASE("soups of triangles: any answer, but an answer, and the same on two threads") {
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        CAPTURE(seed);
        Dice dice(seed);
        Corners corners;
        for (int i = 0; i < 300; ++i) {
            // On a coarse grid, so that many coincide, touch and have no area.
            const auto number = [&] { return 0.01F * std::floor(static_cast<float>(dice.between(-5, 6))); };
            for (int k = 0; k < 3; ++k)
                corners.emplace_back(number(), number(), number());
        }
        const Scene scene(corners);
        const Asked asked = ask_all(scene.model.map);
        Effort two;
        two.threads = 2;
        const Masses again = weigh(make_solids(scene.model.map, two), two);
        for (std::size_t b = 0; b < again.bodies.size(); ++b)
            CHECK(again.bodies[b].centre == asked.masses.bodies[b].centre);
    }
}

TEST_CASE("every triangle in one place, a thousand times over: no tree grows too deep") {
    Corners corners;
    for (int i = 0; i < 1000; ++i)
        for (const glm::vec3& p : {glm::vec3(0, 0, 0), glm::vec3(0.1F, 0, 0), glm::vec3(0, 0, 0.1F)})
            corners.push_back(p);
    const Scene scene(corners);
    const Asked asked = ask_all(scene.model.map);
    std::vector<RayHit> hits;
    all_hits(asked.solids, {{0.01, 1, 0.02}, {0, -1, 0}}, 2, hits);
    CHECK(hits.size() >= 1000);
}
