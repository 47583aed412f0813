// Fit: bolts in stacks and holes of known depth. What is wanted of a thread, and where that is from, stands beside
// each.
#include <doctest/doctest.h>

#include "core/geometry/fit.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::at;
using boltwalk::testing::Model;

namespace {

constexpr int ring_sides = 48;

/// A plate of 60 mm across, about y from `low` up to `high`, with a hole through it.
std::int32_t plate(Model& model, double hole, double low, double high) {
    return model.turned({{hole, low}, {0.03, low}, {0.03, high}, {hole, high}}, ring_sides);
}

/// The same with a hole so deep, from above.
std::int32_t blind(Model& model, double hole, double low, double high, double depth) {
    return model.turned({{0, low}, {0.03, low}, {0.03, high}, {hole, high}, {hole, high - depth}, {0, high - depth}},
                        ring_sides);
}

Fastener& bolt(Model& model, double length, double diameter, const std::vector<ItemId>& holds, double head_at = 0) {
    const auto radius = static_cast<float>(diameter / 2);
    const std::int32_t mesh =
        model.rods({{radius, static_cast<float>(length)}, {1.8F * radius, 1.3F * radius}}, ring_sides);
    model.fastener("bolt", mesh, at(0, head_at - length, 0), holds);
    Fastener& made = model.map.fasteners.back();
    made.kind = FastenerKind::bolt;
    made.axis = {0, 1, 0};
    made.head = "hex";
    return made;
}

/// A plate with a slot along x, `wide` across, its shaft-side end `near` ahead of the axis, its other one as far behind
/// as the plate goes (open) or 15 mm.
std::int32_t slotted(Model& model, double wide, double near, bool open, double low, double high) {
    std::vector<glm::vec3> corners;
    const auto block = [&](double x0, double x1, double z0, double z1) {
        const auto p = [&](int i) {
            return glm::vec3((i & 1) != 0 ? x1 : x0, (i & 2) != 0 ? high : low, (i & 4) != 0 ? z1 : z0);
        };
        constexpr int faces[6][4] = {{0, 4, 6, 2}, {1, 3, 7, 5}, {0, 1, 5, 4},
                                     {2, 6, 7, 3}, {0, 2, 3, 1}, {4, 5, 7, 6}};
        for (const auto& f : faces)
            for (const int i : {f[0], f[1], f[2], f[0], f[2], f[3]})
                corners.push_back(p(i));
    };
    block(-0.03, 0.03, wide / 2, 0.03);
    block(-0.03, 0.03, -0.03, -wide / 2);
    block(near, 0.03, -wide / 2, wide / 2);
    if (!open)
        block(-0.03, -0.015, -wide / 2, wide / 2);
    return model.mesh(corners);
}

struct Told {
    Fit fit;
    std::vector<Finding> findings;
    bool found(const std::string& rule) const {
        return std::any_of(findings.begin(), findings.end(), [&](const Finding& f) { return f.rule == rule; });
    }
};

Told told(const Model& model) {
    const Solids solids = make_solids(model.map);
    const Fits fits = fit_of(solids);
    REQUIRE(fits.list.size() == 1);
    for (const Finding& finding : fits.findings) // whatever it finds is an estimate, and says so
        CHECK(finding.what.starts_with("Estimated: "));
    return {fits.list[0], fits.findings};
}

/// An M10 through 10 mm of plate into a block, so long, with a hole so deep in the block (none: right through).
Told in_block(double length, double depth = 0, const char* material = "steel") {
    Model model;
    const ItemId cover = model.part("cover", plate(model, 0.0055, -0.01, 0), {0, 0, 0});
    const ItemId block =
        model.part("block", depth > 0 ? blind(model, 0.005, -0.06, -0.01, depth) : plate(model, 0.005, -0.06, -0.01),
                   {0, 0, 0}, true);
    model.map.parts[1].material = material;
    bolt(model, length, 0.01, {cover, block}).thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
    return told(model);
}

} // namespace

TEST_CASE("what is clamped, what is in the thread, what is left to the bottom: as it was made") {
    const Told is = in_block(0.03, 0.025);
    CHECK(is.fit.verdict == FitVerdict::enough);
    CHECK(is.fit.diameter_mm == doctest::Approx(10));
    CHECK(is.fit.shank_mm == doctest::Approx(30).epsilon(1e-4));
    CHECK(is.fit.clamped_mm == doctest::Approx(10).epsilon(1e-4));
    CHECK(is.fit.engaged_mm == doctest::Approx(20).epsilon(1e-4));
    REQUIRE(is.fit.room_mm.has_value());
    CHECK(*is.fit.room_mm == doctest::Approx(5).epsilon(1e-3));
    CHECK(is.fit.thread_drawn);
    CHECK(is.findings.empty());
    CHECK_FALSE(in_block(0.03).fit.room_mm.has_value()); // right through: no bottom
}

TEST_CASE("in steel less than one diameter of thread is short") {
    // One diameter in steel, 1.5 in aluminium: www.drillingscrew.net, "How does thread engagement length affect the
    // clamping force of ...", 2026, and the two catalogues named in fit.cpp; www.sizes.com, "length of engagement",
    // has less as the least that breaks the bolt and not its thread (3/8-16: 0.269 in, 0.72 diameters).
    for (const double engaged_mm : {4.0, 8.0, 9.5, 10.5, 15.0}) {
        CAPTURE(engaged_mm);
        const Told is = in_block((10 + engaged_mm) / 1000);
        CHECK(is.fit.engaged_mm == doctest::Approx(engaged_mm).epsilon(1e-3));
        CHECK(is.fit.wanted_mm == doctest::Approx(10));
        CHECK((is.fit.verdict == FitVerdict::short_one) == (engaged_mm < 10));
        CHECK(is.found("bolt-short") == (engaged_mm < 10));
    }
}

TEST_CASE("in aluminium one and a half diameters are wanted") {
    // The same page: 1.5 diameters in aluminium.
    CHECK(in_block(0.022, 0, "aluminium").fit.verdict == FitVerdict::short_one);
    CHECK(in_block(0.022, 0, "aluminium").fit.wanted_mm == doctest::Approx(15));
    CHECK(in_block(0.026, 0, "aluminium").fit.verdict == FitVerdict::enough);
}

TEST_CASE("a hole that ends before the bolt, or within a pitch of it, is told") {
    // M10 has a pitch of 1.5 mm (ISO 261, coarse). That a tap leaves about a pitch or more of incomplete thread at the
    // bottom: common practice, no source.
    for (const double room_mm : {-4.0, -0.5, 0.5, 1.2, 1.8, 6.0}) {
        CAPTURE(room_mm);
        const Told is = in_block(0.03, 0.02 + room_mm / 1000);
        REQUIRE(is.fit.room_mm.has_value());
        CHECK(*is.fit.room_mm == doctest::Approx(room_mm).epsilon(0.01));
        CHECK((is.fit.verdict == FitVerdict::bottoms) == (room_mm < 1.5));
        CHECK(is.found("bolt-bottoms") == (room_mm < 1.5));
    }
}

TEST_CASE("a stated length goes before the drawn one, and where they differ that is noted") {
    Model model;
    const ItemId cover = model.part("cover", plate(model, 0.0055, -0.01, 0), {0, 0, 0});
    const ItemId block = model.part("block", blind(model, 0.005, -0.06, -0.01, 0.022), {0, 0, 0}, true);
    Fastener& made = bolt(model, 0.03, 0.01, {cover, block});
    made.thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
    made.length_mm = 40;
    const Told is = told(model);
    CHECK(is.fit.verdict == FitVerdict::bottoms);
    CHECK(*is.fit.room_mm == doctest::Approx(-8).epsilon(0.01));
    CHECK(is.found("length-differs"));
}

TEST_CASE("a nut wants the bolt all the way through it") {
    for (const double length : {0.034, 0.0385, 0.042}) {
        CAPTURE(length);
        Model model;
        const ItemId a = model.part("a", plate(model, 0.0055, -0.02, 0), {0, 0, 0});
        const ItemId b = model.part("b", plate(model, 0.0055, -0.03, -0.02), {0, 0, 0}, true);
        bolt(model, length, 0.01, {a, b}).thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
        // 8.4 mm: an M10 nut of style 1 (ISO 4032, greatest height), from memory.
        model.fastener("nut",
                       model.turned({{0.005, -0.0384}, {0.008, -0.0384}, {0.008, -0.03}, {0.005, -0.03}}, ring_sides),
                       at(0, 0, 0), {a, b});
        model.map.fasteners.back().kind = FastenerKind::nut;
        const Told is = told(model);
        CHECK(is.fit.wanted_mm == doctest::Approx(8.4).epsilon(1e-3));
        CHECK((is.fit.verdict == FitVerdict::enough) == (length > 0.0384));
        CHECK(is.fit.clamped_mm == doctest::Approx(30).epsilon(1e-3));
    }
}

TEST_CASE("washers count as clamped, and the tilt and mirror of the whole do not count at all") {
    for (const double mirror : {1.0, -1.0}) {
        CAPTURE(mirror);
        Model model;
        const ItemId cover = model.part("cover", plate(model, 0.0055, -0.012, -0.002), {0, 0, 0});
        const ItemId block = model.part("block", blind(model, 0.005, -0.06, -0.012, 0.025), {0, 0, 0}, true);
        bolt(model, 0.03, 0.01, {cover, block}).thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
        model.fastener("washer", model.turned({{0.0053, -0.002}, {0.01, -0.002}, {0.01, 0}, {0.0053, 0}}, ring_sides),
                       at(0, 0, 0), {cover, block});
        model.map.fasteners.back().kind = FastenerKind::washer;
        const glm::dmat4 turn =
            glm::scale(glm::rotate(at(1, 2, 3), 1.1, glm::normalize(glm::dvec3(3, 1, 2))), glm::dvec3(mirror, 1, 1));
        for (Node& node : model.map.nodes) {
            const glm::dmat4 world = turn * glm::make_mat4(node.world.data());
            for (std::size_t i = 0; i < 16; ++i)
                node.world[i] = glm::value_ptr(world)[i];
        }
        const Told is = told(model);
        CHECK(is.fit.verdict == FitVerdict::enough);
        CHECK(is.fit.clamped_mm == doctest::Approx(12).epsilon(1e-3));
        CHECK(is.fit.engaged_mm == doctest::Approx(18).epsilon(1e-3));
        CHECK(*is.fit.room_mm == doctest::Approx(7).epsilon(1e-2));
    }
}

TEST_CASE("a slot is clamped on its two ring_sides, whichever way it lies, and its ends are no bottom") {
    // Widths for M10: 11 and 12 mm, the medium and coarse clearance holes of ISO 273 (from memory).
    for (const double wide : {0.011, 0.012})
        for (const double near : {0.006, 0.015}) // the bolt at its end, or in its middle
            for (const bool open : {false, true})
                for (const double turned : {0.0, 0.3, 0.8, 1.3, 2.9}) {
                    CAPTURE(wide);
                    CAPTURE(near);
                    CAPTURE(open);
                    CAPTURE(turned);
                    Model model;
                    const ItemId arm = model.part("arm", slotted(model, wide, near, open, -0.01, 0), {0, 0, 0});
                    const ItemId block = model.part("block", blind(model, 0.005, -0.06, -0.01, 0.025), {0, 0, 0}, true);
                    bolt(model, 0.03, 0.01, {arm, block}).thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
                    const glm::dmat4 turn = glm::rotate(glm::dmat4(1), turned, glm::dvec3(0, 1, 0));
                    for (std::size_t i = 0; i < 16; ++i)
                        model.map.nodes[0].world[i] = glm::value_ptr(turn)[i];
                    const Told is = told(model);
                    CHECK(is.fit.verdict == FitVerdict::enough);
                    CHECK(is.fit.clamped_mm == doctest::Approx(10).epsilon(1e-3));
                    CHECK(is.fit.engaged_mm == doctest::Approx(20).epsilon(1e-3));
                    REQUIRE(is.fit.room_mm.has_value());
                    CHECK(*is.fit.room_mm == doctest::Approx(5).epsilon(1e-2));
                    CHECK(is.findings.empty());
                }
}

TEST_CASE("a slot holds no thread, and what lies beside the shank on one side only is no slot") {
    Model model;
    const ItemId block = model.part("block", plate(model, 0.0055, -0.01, 0), {0, 0, 0}, true);
    const ItemId arm = model.part("arm", slotted(model, 0.011, 0.015, false, -0.02, -0.01), {0, 0, 0});
    bolt(model, 0.03, 0.01, {block, arm}).thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
    const Told behind = told(model);
    CHECK(behind.fit.verdict == FitVerdict::not_shown); // its nut is not modelled: the round hole cannot be its thread
    CHECK(behind.findings.empty());

    Model other;
    const ItemId wall = other.part("wall", other.box({0.02F, 0.01F, 0.04F}), {0.016, -0.005, 0});
    const ItemId under = other.part("under", blind(other, 0.005, -0.06, -0.01, 0.025), {0, 0, 0}, true);
    bolt(other, 0.03, 0.01, {wall, under}).thread = Thread{ThreadSeries::iso_coarse, 10, 1.5, "M10"};
    CHECK(told(other).fit.verdict == FitVerdict::not_shown);
}

TEST_CASE("what a hand turns, its thread's length not stated, is not stated") {
    for (const bool stated : {false, true}) {
        CAPTURE(stated);
        Model model;
        const ItemId block = model.part("block", blind(model, 0.005, -0.06, 0, 0.025), {0, 0, 0}, true);
        Fastener& cap = bolt(model, 0.012, 0.01, {block});
        cap.kind = FastenerKind::fill_plug;
        cap.drive = Drive{DriveKind::hand, 0, "hand"};
        if (stated)
            cap.length_mm = 12;
        const Told is = told(model);
        CHECK((is.fit.verdict == FitVerdict::not_stated) == !stated);
        CHECK(is.fit.why.empty() == stated);
        CHECK(is.findings.empty());
    }
}

TEST_CASE("what the shapes do not show is not judged") {
    SUBCASE("nothing round the shank") {
        Model model;
        const ItemId a = model.part("a", plate(model, 0.0055, -0.02, 0), {1, 0, 0});
        bolt(model, 0.03, 0.01, {a});
        CHECK(told(model).fit.verdict == FitVerdict::not_shown);
    }
    SUBCASE("no head") {
        Model model;
        const ItemId a = model.part("a", plate(model, 0.005, -0.02, 0), {0, 0, 0});
        model.fastener("bolt", model.rods({{0.005F, 0.03F}}, ring_sides), at(0, -0.03, 0), {a});
        model.map.fasteners.back().kind = FastenerKind::bolt;
        model.map.fasteners.back().axis = {0, 1, 0};
        const Told is = told(model);
        CHECK(is.fit.verdict == FitVerdict::not_shown);
        CHECK_FALSE(is.fit.why.empty());
    }
    SUBCASE("countersunk: its length is measured over all") {
        Model model;
        const ItemId a = model.part("a", plate(model, 0.005, -0.02, 0), {0, 0, 0});
        bolt(model, 0.03, 0.01, {a}).head = "countersunk";
        CHECK(told(model).fit.verdict == FitVerdict::not_shown);
    }
    SUBCASE("no shape at all") {
        Model model;
        const ItemId a = model.part("a", plate(model, 0.005, -0.02, 0), {0, 0, 0});
        bolt(model, 0.03, 0.01, {a});
        model.map.nodes[1].mesh = -1;
        const Told is = told(model);
        CHECK(is.fit.verdict == FitVerdict::not_shown);
        CHECK(is.fit.why == "it has no shape");
    }
}
