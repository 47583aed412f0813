// Heads seen and hidden: shapes whose answer is a formula, states, degenerate shapes, the demo maps.
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <string>

#include <doctest/doctest.h>

#include "core/geometry/geometry.hpp"
#include "core/job/shapes.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Model;

namespace {

using Corners = std::vector<glm::vec3>;

constexpr double whole_turn = 6.283185307179586;

glm::vec3 rim(double radius, double height, int i, int sides) {
    return {radius * std::cos(whole_turn * i / sides), height, -radius * std::sin(whole_turn * i / sides)};
}

/// One-sided, looking up.
void add_disc(Corners& corners, double radius, double height, int sides = 48) {
    for (int i = 0; i < sides; ++i)
        for (const glm::vec3& p :
             {glm::vec3(0, height, 0), rim(radius, height, i, sides), rim(radius, height, i + 1, sides)})
            corners.push_back(p);
}

/// The wall of a round hole, circumscribed by half its error so that its area is the circle's.
Corners wall(double radius, double depth, int sides = 256) {
    Corners corners;
    for (int i = 0; i < sides; ++i)
        for (const glm::vec3& p :
             {rim(radius, 0, i, sides), rim(radius, depth, i + 1, sides), rim(radius, 0, i + 1, sides),
              rim(radius, 0, i, sides), rim(radius, depth, i, sides), rim(radius, depth, i + 1, sides)})
            corners.push_back(p);
    return corners;
}

/// A ball on a pin-thin foot as wide as itself, so that all of the ball counts as the head.
Corners ball(double radius) {
    constexpr int rings = 24;
    constexpr int sides = 32;
    Corners corners;
    const auto point = [&](int ring, int side) {
        const double angle = whole_turn / 2 * ring / rings;
        return rim(radius * std::sin(angle), radius + radius * std::cos(angle), side, sides);
    };
    for (int r = 0; r < rings; ++r)
        for (int s = 0; s < sides; ++s) {
            const glm::vec3 a = point(r, s), b = point(r + 1, s), c = point(r + 1, s + 1), d = point(r, s + 1);
            if (r + 1 < rings)
                corners.insert(corners.end(), {a, b, c});
            if (r > 0)
                corners.insert(corners.end(), {a, c, d});
        }
    const auto r = static_cast<float>(radius);
    corners.insert(corners.end(), {{r, 0, 0}, {0, 0, 1e-6F}, {0, 0, 0}});
    return corners;
}

SightSettings fine() {
    return {512, 512};
}

/// Seen of the first fastener, everything there.
Seen seen_at_rest(const Model& model, const SightSettings& settings = fine()) {
    const Solids solids = make_solids(model.map);
    return seen(measure_sights(solids, {}, {}, settings), 0, {});
}

double share_in_hole(const Corners& head, double radius, double depth, const glm::dmat4& place,
                     const SightSettings& settings = fine()) {
    Model model;
    const ItemId body = model.part("body", model.mesh(wall(radius, depth)), {}, true);
    glm::dmat4 there = place;
    for (std::size_t i = 0; i < 16; ++i)
        model.map.nodes[0].world[i] = glm::value_ptr(place)[i];
    model.fastener("bolt", model.mesh(head), there, {body});
    return seen_at_rest(model, settings).share[0];
}

/// Coaxial parallel discs: J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors, C-41 (the formula
/// from memory; checked below against a value worked out from R. Siegel and J. R. Howell, Thermal Radiation Heat
/// Transfer, 4th edition, p. 845, by others).
double from_disc_to_disc(double r1, double r2, double apart) {
    const double a = r1 / apart;
    const double b = r2 / apart;
    const double x = 1 + (1 + b * b) / (a * a);
    return 0.5 * (x - std::sqrt(x * x - 4 * (b / a) * (b / a)));
}

glm::dmat4 aslant() {
    return glm::rotate(at(0.3, 0.2, -0.1), 1.1, glm::normalize(glm::dvec3(0.3, 0.5, 0.8)));
}

/// All shares of all fasteners in that arrangement are numbers from 0 to 1.
void check_sane(const Sights& sights, const Arrangement& arrangement) {
    for (const Seen& one : seen(sights, arrangement))
        for (std::size_t p = 0; p < one.share.size(); ++p) {
            CHECK(one.share[p] >= 0);
            CHECK(one.share[p] <= 1);
            CHECK(one.facing[p] >= 0);
            CHECK(one.facing[p] <= 1);
        }
    for (std::size_t i = 0; i < sights.heads.size(); ++i)
        for (const Hider& hider : hiders(sights, i, arrangement, Place::not_stated)) {
            CHECK(hider.share > 0);
            CHECK(hider.share <= 1 + 1e-9);
            CHECK(hider.alone <= hider.share + 1e-9);
        }
}

bool alike(const Sights& a, const Sights& b) {
    bool same = a.rays == b.rays && a.cases.size() == b.cases.size();
    for (std::size_t c = 0; same && c < a.cases.size(); ++c)
        for (std::size_t i = 0; same && i < a.cases[c].heads.size(); ++i) {
            const HeadSights& x = a.cases[c].heads[i];
            const HeadSights& y = b.cases[c].heads[i];
            same = x.free == y.free && x.bodies == y.bodies &&
                   std::equal(x.sights.begin(), x.sights.end(), y.sights.begin(), y.sights.end(),
                              [](const Sight& s, const Sight& t) {
                                  return s.from == t.from && s.weight == t.weight && s.first == t.first &&
                                         s.count == t.count;
                              });
        }
    return same;
}

} // namespace

TEST_CASE("a bolt that stands free on a flat face is seen whole from every place that it faces") {
    Model model;
    const ItemId slab = model.part("slab", model.box({0.4F, 0.02F, 0.4F}), {0, -0.01, 0}, true);
    // A shank below the face, a head above it.
    model.fastener("bolt", model.rods({{0.004F, 0.02F}, {0.0075F, 0.006F}}, 24), at(0, -0.02, 0), {slab});
    const Seen seen = seen_at_rest(model, {});
    CHECK(seen.known);
    CHECK(seen.there);
    for (const Place place : {Place::over, Place::inside, Place::left, Place::right, Place::front, Place::rear})
        CHECK(seen.share[at(place)] == 1);
    CHECK(seen.share[0] == 1);
    CHECK(seen.facing[at(Place::under)] == 0);
    CHECK(seen.share[at(Place::under)] == 0);
    CHECK(best_place(seen) == Place::over);
    CHECK_FALSE(is_hidden(seen, Place::not_stated));
    // It cannot be judged from a place that it is turned away from.
    CHECK(judged_from(seen, Place::under) == Place::over);
    CHECK(judged_from(seen, Place::rear) == Place::rear);
}

TEST_CASE("a point-like head at the bottom of a round hole shows the solid angle of its mouth") {
    // A ball shows the same disc from all sides, so the share is the mouth's solid angle 2 pi (1 - cos) over 2 pi.
    for (const double depth : {0.005, 0.010, 0.020, 0.040}) {
        const double radius = 0.010;
        const double cosine = depth / std::sqrt(depth * depth + radius * radius);
        for (const glm::dmat4& place : {at(0, 0, 0), aslant()})
            CHECK(share_in_hole(ball(0.00005), radius, depth, place) == doctest::Approx(1 - cosine).epsilon(0.02));
    }
}

TEST_CASE("a disc at the bottom of a round hole shows the view factor to the hole's mouth") {
    CHECK(from_disc_to_disc(0.1, 0.2, 0.5) == doctest::Approx(0.1339).epsilon(0.0004));
    struct Case {
        double head, hole, depth;
    };
    for (const Case& c :
         {Case{0.008, 0.010, 0.005}, Case{0.008, 0.010, 0.020}, Case{0.005, 0.015, 0.010}, Case{0.0099, 0.010, 0.040}})
        for (const glm::dmat4& place : {at(0, 0, 0), aslant()}) {
            Corners head;
            add_disc(head, c.head, 1e-6, 128);
            const double expected = from_disc_to_disc(c.head, c.hole, c.depth);
            const double share = share_in_hole(head, c.hole, c.depth, place);
            CHECK_MESSAGE(std::abs(share - expected) < 0.006,
                          c.head << " " << c.hole << " " << c.depth << ": " << share << " " << expected);
        }
}

TEST_CASE("the error falls with more samples") {
    const auto error = [](const SightSettings& settings) {
        double sum = 0;
        int count = 0;
        for (const double depth : {0.006, 0.009, 0.013, 0.019, 0.028})
            for (const glm::dmat4& place : {at(0, 0, 0), aslant()}) {
                Corners head;
                add_disc(head, 0.008, 1e-6, 128);
                const double off =
                    share_in_hole(head, 0.010, depth, place, settings) - from_disc_to_disc(0.008, 0.010, depth);
                sum += off * off;
                ++count;
            }
        return std::sqrt(sum / count);
    };
    const double coarse = error({8, 32});
    const double usual = error({});
    const double close = error({128, 512});
    MESSAGE("rms error with 8 x 32, " << SightSettings{}.points << " x " << SightSettings{}.directions
                                      << ", 128 x 512: " << coarse << ", " << usual << ", " << close);
    CHECK(usual < coarse / 1.5);
    CHECK(close < usual / 1.5);
    CHECK(usual < 0.02);
    CHECK(close < 0.004);
}

TEST_CASE("a plate hides its own part of the view, and hides nothing once it is gone") {
    // A small disc looking up at a plate of radius R at height H: R^2 / (R^2 + H^2) of its view (the same formula for a
    // vanishing first disc).
    Model model;
    Corners head;
    add_disc(head, 0.0002, 0);
    const ItemId body = model.part("body", model.box({0.01F, 0.01F, 0.01F}), {0, -0.2, 0}, true);
    Corners plate;
    add_disc(plate, 0.03, 0, 256);
    const ItemId cover = model.part("cover", model.mesh(plate), {0, 0.05, 0});
    const ItemId other = model.part("other", model.mesh(plate), {0, 0.05001, 0});
    model.fastener("bolt", model.mesh(head), at(0, 0, 0), {body});
    const Solids solids = make_solids(model.map);
    const Sights sights = measure_sights(solids, {}, {}, fine());
    const double hidden = 0.03 * 0.03 / (0.03 * 0.03 + 0.05 * 0.05);
    const auto body_of = [&](ItemId item) { return solids.body_of[static_cast<std::size_t>(item.index)]; };
    Arrangement state;
    state.there.assign(solids.bodies.size(), 1);
    CHECK(seen(sights, 0, state).share[0] == doctest::Approx(1 - hidden).epsilon(0.01));
    auto by = hiders(sights, 0, state, Place::not_stated);
    REQUIRE(by.size() == 2);
    // Two in one line share what they hide; neither alone brings it into view.
    CHECK(by[0].share == doctest::Approx(hidden / 2).epsilon(0.01));
    CHECK(by[0].share == doctest::Approx(by[1].share).epsilon(0.002));
    CHECK(by[0].alone < 0.002);
    state.there[static_cast<std::size_t>(body_of(other))] = 0;
    CHECK(seen(sights, 0, state).share[0] == doctest::Approx(1 - hidden).epsilon(0.01));
    by = hiders(sights, 0, state, Place::not_stated);
    REQUIRE(by.size() == 1);
    CHECK(by[0].body == body_of(cover));
    CHECK(by[0].share == doctest::Approx(hidden).epsilon(0.01));
    CHECK(by[0].alone == doctest::Approx(by[0].share));
    state.there[static_cast<std::size_t>(body_of(cover))] = 0;
    CHECK(seen(sights, 0, state).share[0] == 1);
    CHECK(hiders(sights, 0, state, Place::not_stated).empty());
    // The head itself gone.
    state.there[static_cast<std::size_t>(solids.body_of[static_cast<std::size_t>(model.map.fasteners[0].item.index)])] =
        0;
    CHECK_FALSE(seen(sights, 0, state).there);
}

TEST_CASE("what stands beyond the eye hides nothing: near from inside, farther from over") {
    const auto with_roof_at = [](double height) {
        Model model;
        Corners head;
        add_disc(head, 0.005, 0);
        const ItemId body = model.part("body", model.box({0.01F, 0.01F, 0.01F}), {0, -0.2, 0}, true);
        model.part("roof", model.box({20, 0.01F, 20}), {0, height, 0});
        model.fastener("nut", model.mesh(head), at(0, 0, 0), {body});
        return seen_at_rest(model, {});
    };
    // Straight up; the roof is met later aslant, so a little beyond the eye all of it is free.
    CHECK(with_roof_at(0.2).share[at(Place::inside)] == 0);
    CHECK(with_roof_at(0.2).share[at(Place::over)] == 0);
    CHECK(with_roof_at(near_eye_m + 0.01).share[at(Place::inside)] == 1);
    CHECK(with_roof_at(near_eye_m + 0.01).share[at(Place::over)] < 1);
    CHECK(with_roof_at(far_eye_m + 0.01).share[at(Place::over)] == 1);
}

TEST_CASE("a washer is not hidden by the nut of its own joint") {
    Model model;
    const ItemId slab = model.part("slab", model.box({0.4F, 0.02F, 0.4F}), {0, -0.01, 0}, true);
    model.fastener("washer", model.rods({{0.010F, 0.002F}}, 24), at(0, 0, 0), {slab});
    model.fastener("nut", model.rods({{0.0075F, 0.008F}}, 6), at(0, 0.002, 0), {slab});
    CHECK(seen_at_rest(model, {}).share[0] < 0.9);
    for (Fastener& fastener : model.map.fasteners)
        fastener.joint = "j";
    CHECK(seen_at_rest(model, {}).share[0] == 1);
}

TEST_CASE("a lowered case is what measuring the lowered model gives") {
    const auto build = [](Model& model, double lowered) {
        const ItemId body = model.part("body", model.box({0.5F, 0.02F, 0.5F}), {0, 0.2, 0}, true);
        const ItemId unit = model.part("unit", model.box({0.2F, 0.1F, 0.2F}), {0, 0.12 - lowered, 0});
        const glm::dmat4 down = glm::rotate(glm::dmat4(1), whole_turn / 2, glm::dvec3(1, 0, 0));
        const glm::dmat4 front = glm::rotate(glm::dmat4(1), whole_turn / 4, glm::dvec3(1, 0, 0));
        const auto mesh = model.rods({{0.004F, 0.02F}, {0.0075F, 0.006F}}, 24);
        model.fastener("upper", mesh, at(0.05, 0.20, 0) * down, {body, body});
        model.fastener("beside", mesh, at(0.13, 0.21, 0) * down, {body, body});
        model.fastener("on_unit", mesh, at(0, 0.15 - lowered, 0.08) * front, {unit, unit});
    };
    Model rest;
    build(rest, 0);
    Model low;
    build(low, 0.05);
    const Solids solids = make_solids(rest.map);
    LoweredCase lowered;
    lowered.shift.assign(solids.bodies.size(), glm::dvec3(0));
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        if (const std::string& name = rest.map[solids.bodies[b].item].name; name == "unit" || name == "on_unit")
            lowered.shift[b] = {0, -0.05, 0};
    const Sights sights = measure_sights(solids, std::span(&lowered, 1));
    const Sights direct = measure_sights(make_solids(low.map));
    const Arrangement state{{}, lowered.shift};
    bool changes = false;
    for (std::size_t i = 0; i < 3; ++i) {
        const Seen as_case = seen(sights, i, state);
        const Seen as_built = seen(direct, i, {});
        for (std::size_t p = 0; p < as_case.share.size(); ++p)
            CHECK(as_case.share[p] == doctest::Approx(as_built.share[p]).epsilon(0.01));
        changes = changes || std::abs(as_case.share[0] - seen(sights, i, {}).share[0]) > 0.05;
    }
    CHECK(changes);
    // What has moved as in no case counts as gone; what moved along with the head still hides it.
    Arrangement elsewhere{{}, lowered.shift};
    for (glm::dvec3& shift : elsewhere.shift)
        shift *= 3;
    CHECK(seen(sights, 0, elsewhere).share[0] >= seen(sights, 0, state).share[0] - 1e-9);
    Arrangement all_moved{{}, std::vector<glm::dvec3>(solids.bodies.size(), glm::dvec3(1, 2, 3))};
    for (std::size_t i = 0; i < 3; ++i)
        CHECK(seen(sights, i, all_moved).share == seen(sights, i, {}).share);
}

TEST_CASE("the hidden of a walk: what hides them, when each comes into view, what is gone before") {
    Model model;
    const ItemId body = model.part("body", model.box({0.4F, 0.02F, 0.4F}), {0, -0.01, 0}, true);
    const ItemId lid = model.part("lid", model.box({0.3F, 0.01F, 0.3F}), {0, 0.02, 0});
    const auto mesh = model.rods({{0.004F, 0.02F}, {0.0075F, 0.006F}}, 24);
    model.fastener("under_lid", mesh, at(0, -0.02, 0), {body});
    model.fastener("taken_blind", mesh, at(0.05, -0.02, 0), {body});
    model.fastener("free", mesh, at(0.19, -0.02, 0), {body});
    const Solids solids = make_solids(model.map);
    const Sights sights = measure_sights(solids);
    const auto index = [&](ItemId item) {
        return static_cast<std::size_t>(solids.body_of[static_cast<std::size_t>(item.index)]);
    };
    std::vector<Arrangement> states(4);
    for (Arrangement& state : states)
        state.there.assign(solids.bodies.size(), 1);
    for (std::size_t s = 1; s < 4; ++s)
        states[s].there[index(model.map.fasteners[1].item)] = 0;
    for (std::size_t s = 2; s < 4; ++s)
        states[s].there[index(lid)] = 0;
    auto list = hidden_in(sights, solids, states, 0);
    REQUIRE(list.size() == 2);
    CHECK(list[0].fastener == 0);
    CHECK(list[0].share < hidden_below);
    CHECK(list[0].by.front().body == static_cast<std::int32_t>(index(lid)));
    CHECK(list[0].into_view == 2);
    CHECK(list[0].gone == -1);
    CHECK(list[0].view == 2);
    CHECK(list[0].view_share == 1);
    CHECK(list[1].fastener == 1);
    CHECK(list[1].into_view == -1);
    CHECK(list[1].gone == 1);
    CHECK(list[1].view == 0);
    CHECK(hidden_in(sights, solids, states, 1).size() == 1);
    CHECK(hidden_in(sights, solids, states, 3).empty());
    CHECK(hidden_in(sights, solids, states, 4).empty());
}

TEST_CASE("degenerate shapes: nothing is known, or a worse estimate, never a crash") {
    Model model;
    const ItemId body = model.part("body", model.box({0.4F, 0.02F, 0.4F}), {0, -0.01, 0}, true);
    const auto bolt = model.rods({{0.004F, 0.02F}, {0.0075F, 0.006F}}, 24);
    const auto open = model.mesh(wall(0.008, 0.01, 12));
    Corners inside_out;
    add_disc(inside_out, 0.008, 0);
    std::reverse(inside_out.begin(), inside_out.end());
    Corners nothing(6, glm::vec3(0.01F, 0, 0));
    Corners needle{{0, 0, 0}, {0, 0.01F, 0}, {1e-30F, 0.005F, 0}};
    model.fastener("no_mesh", -1, at(0, 0, 0), {body});
    model.fastener("open", open, at(0.05, 0, 0), {body});
    model.fastener("looks_down", model.mesh(inside_out), at(0.1, 0.01, 0), {body});
    model.fastener("no_area", model.mesh(nothing, false), at(0.1, 0, 0.1), {body});
    model.fastener("needle", model.mesh(needle, false), at(0.1, 0, 0.15), {body});
    model.fastener("inside_another", bolt, at(0, -0.02, 0.1) * glm::scale(glm::dmat4(1), glm::dvec3(0.1)), {body});
    model.fastener("mirrored", bolt, at(-0.1, -0.02, 0.1) * glm::scale(glm::dmat4(1), glm::dvec3(-1, 1, 1)), {body});
    model.fastener("flat", bolt, at(-0.1, 0, 0) * glm::scale(glm::dmat4(1), glm::dvec3(1, 0, 1)), {body});
    model.fastener("no_axis", bolt, at(-0.15, -0.02, 0), {body});
    model.map.fasteners.back().axis = {0, 0, 0};
    model.fastener("huge", bolt, at(0, 50, 0) * glm::scale(glm::dmat4(1), glm::dvec3(1000)), {body});
    const Solids solids = make_solids(model.map);
    const Sights sights = measure_sights(solids);
    check_sane(sights, {});
    const auto known = [&](std::size_t i) { return seen(sights, i, {}).known; };
    CHECK_FALSE(known(0));
    CHECK(known(1));
    CHECK_FALSE(known(2)); // it shows nothing to its own half-space
    CHECK_FALSE(known(3));
    CHECK(seen(sights, 5, {}).share[0] == 0);
    CHECK(seen(sights, 6, {}).share[0] > 0.99); // but for its neighbours
    CHECK(seen(sights, 8, {}).share[0] > 0.99);
    for (std::size_t i = 0; i < sights.heads.size(); ++i)
        if (!known(i))
            CHECK_FALSE(is_hidden(seen(sights, i, {}), Place::not_stated));
    CHECK(measure_sights(make_solids(Map{})).heads.empty());
    CHECK(measure_sights(solids, {}, {}, {0, 0}).rays == 0);
}

TEST_CASE("a closed head whose triangles are wound inside out is turned") {
    Model model;
    const ItemId body = model.part("body", model.box({0.4F, 0.02F, 0.4F}), {0, -0.01, 0}, true);
    Corners box;
    {
        Model other;
        other.box({0.01F, 0.01F, 0.01F});
        const Primitive& primitive = other.map.meshes[0].primitives[0];
        for (std::size_t i = 0; i < primitive.index_count; ++i) {
            const Vec3 p = primitive.positions[primitive.index(i)];
            box.emplace_back(p.x, p.y, p.z);
        }
    }
    std::reverse(box.begin(), box.end());
    model.fastener("bolt", model.mesh(box), at(0, 0.005, 0), {body});
    CHECK(seen_at_rest(model, {}).share[0] == 1);
}

TEST_CASE("the same on one thread and on two; stopped when asked") {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/transfer_box.glb");
    REQUIRE(map);
    const Job job = prepare(*map);
    const Solids solids = make_solids(*map);
    const auto lowered = lowered_cases(job, solids, plan_strip(job));
    const Sights one = measure_sights(solids, lowered, {1, {}}, {8, 32});
    CHECK(alike(one, measure_sights(solids, lowered, {2, {}}, {8, 32})));
    CHECK(alike(one, measure_sights(solids, lowered, {5, {}}, {8, 32})));
    const Sights stopped = measure_sights(solids, lowered, {1, [](float) { return false; }}, {8, 32});
    CHECK(stopped.rays < one.rays);
}

TEST_CASE("the big map: what its author hid is found, and comes into view when it should") {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/transfer_box.glb");
    REQUIRE(map);
    const Job job = prepare(*map);
    const Plan plan = plan_strip(job);
    const Solids solids = make_solids(*map);
    const Sights sights = measure_sights(solids, lowered_cases(job, solids, plan));
    MESSAGE(sights.rays << " rays, " << sights.cases.size() << " cases");
    std::vector<State> states{as_found(job)};
    for (const Step& step : plan.steps) {
        states.push_back(states.back());
        apply_step(job, states.back(), step);
    }
    std::vector<Arrangement> arrangements;
    arrangements.reserve(states.size());
    for (const State& state : states)
        arrangements.push_back(arrange(job, solids, state));
    const auto list = hidden_in(sights, solids, arrangements, 0);
    const auto find = [&](const std::string& name) -> const HiddenHead* {
        const auto found = std::find_if(list.begin(), list.end(), [&](const HiddenHead& one) {
            return (*map)[map->fasteners[one.fastener].item].name == name;
        });
        return found == list.end() ? nullptr : &*found;
    };
    const auto worst = [&](const std::string& name) {
        const HiddenHead* one = find(name);
        return one && !one->by.empty()
                   ? map->nodes[static_cast<std::size_t>(solids.bodies[static_cast<std::size_t>(one->by[0].body)].node)]
                         .name
                   : std::string();
    };
    // assets/README.md, "hidden when assembled".
    for (const char* name : {"adapter_upper_bolt_1", "adapter_upper_bolt_2", "mount_lower_nut_1", "mount_lower_nut_2",
                             "mount_lower_nut_3", "mount_lower_nut_4", "drain_plug", "adapter_bolt_behind_flange"})
        CHECK_MESSAGE(find(name) != nullptr, name);
    CHECK(worst("drain_plug") == "skid_plate");
    const auto off = [&](const char* part, std::int32_t state) {
        const ItemId item = find_item(*map, part);
        return state > 0 &&
               states[static_cast<std::size_t>(state)].parts[static_cast<std::size_t>((*map)[item].detail)] ==
                   PartState::off &&
               states[static_cast<std::size_t>(state) - 1].parts[static_cast<std::size_t>((*map)[item].detail)] !=
                   PartState::off;
    };
    REQUIRE(find("drain_plug"));
    CHECK(off("skid_plate", find("drain_plug")->into_view));
    // Between tunnel and box: no step brings them into view before they are out.
    REQUIRE(find("adapter_upper_bolt_1"));
    CHECK(find("adapter_upper_bolt_1")->into_view == -1);
    CHECK(find("adapter_upper_bolt_1")->gone > 0);
    // In plain sight from where they are worked at.
    for (const char* name : {"skid_bolt_1", "crossmember_long_1", "lever_bracket_nut_1", "tail_clamp"})
        CHECK_MESSAGE(find(name) == nullptr, name);
    for (const Arrangement& state : arrangements)
        for (const Seen& one : seen(sights, state))
            for (const double share : one.share)
                REQUIRE((share >= 0 && share <= 1));
}

TEST_CASE("an engine made by others, every node taken for a fastener") {
    const std::string path = "/usr/share/assimp/models/glTF2/2CylinderEngine-glTF-Binary/2CylinderEngine.glb";
    if (!std::filesystem::exists(path)) {
        MESSAGE("assimp-testmodels is not installed");
        return;
    }
    auto map = read_map(path);
    REQUIRE(map);
    for (std::size_t n = 0; n < map->nodes.size(); ++n) {
        Node& node = map->nodes[n];
        if (!node.in_scene || node.mesh < 0)
            continue;
        const ItemId id{static_cast<std::int32_t>(map->items.size())};
        map->items.emplace_back();
        map->items.back().kind = ItemKind::fastener;
        map->items.back().detail = static_cast<std::int32_t>(map->fasteners.size());
        map->items.back().node = static_cast<std::int32_t>(n);
        map->items.back().name = map->items.back().title = node.name;
        map->fasteners.emplace_back();
        map->fasteners.back().item = id;
        node.item = id;
    }
    const Solids solids = make_solids(*map);
    const Sights one = measure_sights(solids, {}, {1, {}}, {8, 32});
    CHECK(one.heads.size() > 50);
    check_sane(one, {});
    CHECK(alike(one, measure_sights(solids, {}, {2, {}}, {8, 32})));
}
