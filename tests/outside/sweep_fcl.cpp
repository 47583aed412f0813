// Every sweep's verdict, judged by a library that knows nothing of ours: FCL's distance and static collision at samples
// along the way, as dense as the distance allows, and containment. (Its own continuous collision misses simple cases.)
//
// The judge gets the moving shape made smaller by formula, not by our skins: a box by twice the inset, a prism's radius
// by the inset over the cosine of half a side's angle. Then the scheme of core/geometry/way.hpp says
//     ours blocked    the judge's shape, 0.5 mm smaller than at rest, touches
//     ours free       the judge's, 0.2 mm smaller, does not
//     ours undecided  the second touches, the first does not
// The two may differ where it is nearer than `close_mm`: we sweep in floats (some 1e-6 m at this size), and a corner of
// three faces is damped by a thousandth of its inset; the judge steps on by 0.02 mm at least where the shapes slide
// past each other nearer than that, so it may step over a touch.
#include <array>
#include <cmath>
#include <memory>
#include <vector>

#include <doctest/doctest.h>

#include "core/geometry/way.hpp"
#include "tests/outside/fcl.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::Dice;

namespace {

constexpr double close_mm = 0.02;
constexpr double least_step_m = 2e-5;
constexpr double touching_m = 1e-7;

using Corners = std::vector<glm::dvec3>; ///< in threes

/// A shape of which a smaller one is known by formula.
struct Form {
    enum class Kind { box, prism, ring } kind = Kind::box;
    glm::dvec3 size{0.1}; ///< box: sides; prism and ring: radius, inner radius, height
    int sides = 12;
};

Corners corners_of(const Form& shape, double inset) {
    Corners list;
    const auto quad = [&](glm::dvec3 a, glm::dvec3 b, glm::dvec3 c, glm::dvec3 d) {
        for (const glm::dvec3& p : {a, b, c, a, c, d})
            list.push_back(p);
    };
    if (shape.kind == Form::Kind::box) {
        const glm::dvec3 h = 0.5 * shape.size - inset;
        const auto at = [&](double x, double y, double z) { return glm::dvec3(x, y, z) * h; };
        quad(at(-1, -1, 1), at(1, -1, 1), at(1, 1, 1), at(-1, 1, 1));
        quad(at(1, -1, -1), at(-1, -1, -1), at(-1, 1, -1), at(1, 1, -1));
        quad(at(1, -1, 1), at(1, -1, -1), at(1, 1, -1), at(1, 1, 1));
        quad(at(-1, -1, -1), at(-1, -1, 1), at(-1, 1, 1), at(-1, 1, -1));
        quad(at(-1, 1, 1), at(1, 1, 1), at(1, 1, -1), at(-1, 1, -1));
        quad(at(-1, -1, -1), at(1, -1, -1), at(1, -1, 1), at(-1, -1, 1));
        return list;
    }
    const double half_side = 3.141592653589793 / shape.sides;
    const double outer = shape.size.x - inset / std::cos(half_side);
    const double inner = shape.size.y + inset / std::cos(half_side);
    const double half = 0.5 * shape.size.z - inset;
    const auto rim = [&](int i, double r, double y) {
        const double angle = 2 * half_side * (i % shape.sides);
        return glm::dvec3(r * std::cos(angle), y, -r * std::sin(angle));
    };
    for (int i = 0; i < shape.sides; ++i) {
        const int k = i + 1;
        quad(rim(i, outer, -half), rim(k, outer, -half), rim(k, outer, half), rim(i, outer, half));
        if (shape.kind == Form::Kind::prism) {
            for (const glm::dvec3& p : {rim(i, outer, half), rim(k, outer, half), glm::dvec3(0, half, 0),
                                        rim(k, outer, -half), rim(i, outer, -half), glm::dvec3(0, -half, 0)})
                list.push_back(p);
            continue;
        }
        quad(rim(k, inner, -half), rim(i, inner, -half), rim(i, inner, half), rim(k, inner, half));
        quad(rim(i, inner, half), rim(i, outer, half), rim(k, outer, half), rim(k, inner, half));
        quad(rim(k, inner, -half), rim(k, outer, -half), rim(i, outer, -half), rim(i, inner, -half));
    }
    return list;
}

using FclModel = fcl::BVHModel<fcl::OBBRSS<double>>;

std::shared_ptr<FclModel> model_of(const Corners& corners, const glm::dmat4& place) {
    auto model = std::make_shared<FclModel>();
    model->beginModel(static_cast<int>(corners.size() / 3), static_cast<int>(corners.size()));
    const auto world = [&](const glm::dvec3& p) {
        const glm::dvec4 q = place * glm::dvec4(p, 1.0);
        return fcl::Vector3d(q.x, q.y, q.z);
    };
    for (std::size_t i = 0; i < corners.size(); i += 3)
        model->addTriangle(world(corners[i]), world(corners[i + 1]), world(corners[i + 2]));
    model->endModel();
    return model;
}

/// Winding along a ray, in doubles and triangle by triangle.
bool inside(const Corners& corners, const glm::dmat4& place, const glm::dvec3& point) {
    const glm::dvec3 along = glm::normalize(glm::dvec3(0.3, 0.5, 0.81));
    int turns = 0;
    for (std::size_t i = 0; i < corners.size(); i += 3) {
        const auto world = [&](std::size_t k) { return glm::dvec3(place * glm::dvec4(corners[i + k], 1.0)); };
        const glm::dvec3 a = world(0);
        const glm::dvec3 e = world(1) - a;
        const glm::dvec3 f = world(2) - a;
        const glm::dvec3 p = glm::cross(along, f);
        const double scale = glm::dot(e, p);
        if (scale == 0)
            continue;
        const glm::dvec3 to = point - a;
        const double u = glm::dot(to, p) / scale;
        const glm::dvec3 q = glm::cross(to, e);
        const double v = glm::dot(along, q) / scale;
        if (u >= 0 && v >= 0 && u + v <= 1 && glm::dot(f, q) / scale > 0)
            turns += scale > 0 ? 1 : -1;
    }
    return turns != 0;
}

struct Thing {
    Form shape;
    glm::dmat4 place{1.0};
};

fcl::Transform3d moved_by(const glm::dvec3& shift) {
    fcl::Transform3d transform = fcl::Transform3d::Identity();
    transform.translation() = fcl::Vector3d(shift.x, shift.y, shift.z);
    return transform;
}

/// Does the judge's smaller shape touch the other anywhere on the way?
bool judge_touches(const Thing& moving, double inset, const Thing& still, const glm::dvec3& leg) {
    const Corners small = corners_of(moving.shape, inset);
    const Corners other = corners_of(still.shape, 0);
    const auto mover = model_of(small, moving.place);
    const auto stands = model_of(other, still.place);
    const double length = glm::length(leg);
    const auto at_rest = moved_by(glm::dvec3(0.0));
    const glm::dvec3 a_corner(moving.place * glm::dvec4(small[0], 1.0));
    const glm::dvec3 other_corner(still.place * glm::dvec4(other[0], 1.0));
    for (double way = 0;;) {
        const glm::dvec3 shift = length > 0 ? leg * (way / length) : leg;
        const auto place = moved_by(shift);
        fcl::DistanceRequest<double> ask;
        fcl::DistanceResult<double> answer;
        const double apart = fcl::distance(mover.get(), place, stands.get(), at_rest, ask, answer);
        if (apart <= touching_m) {
            fcl::CollisionRequest<double> request;
            fcl::CollisionResult<double> result;
            if (apart < 0 || fcl::collide(mover.get(), place, stands.get(), at_rest, request, result) > 0)
                return true;
        }
        if (inside(other, still.place, a_corner + shift) || inside(small, moving.place, other_corner - shift))
            return true;
        if (way >= length)
            return false;
        way = std::min(length, way + std::max(apart, least_step_m));
    }
}

glm::dmat4 any_place(Dice& dice, double spread) {
    const glm::dvec3 shift(dice.between(-spread, spread), dice.between(-spread, spread), dice.between(-spread, spread));
    const glm::dvec3 axis(dice.between(-1, 1), dice.between(-1, 1), dice.between(0.1, 1));
    return glm::rotate(glm::translate(glm::dmat4(1.0), shift), dice.between(0, 3), glm::normalize(axis));
}

Form any_shape(Dice& dice, double least, double most) {
    Form shape;
    const double which = dice.from_0_to_1();
    if (which < 0.4) {
        shape.size = {dice.between(least, most), dice.between(least, most), dice.between(least, most)};
        return shape;
    }
    shape.kind = which < 0.7 ? Form::Kind::prism : Form::Kind::ring;
    shape.sides = 5 + static_cast<int>(dice.between(0, 20));
    const double radius = dice.between(least, 0.5 * most + least);
    shape.size = {radius, shape.kind == Form::Kind::ring ? radius * dice.between(0.3, 0.7) : 0.0,
                  dice.between(least, most)};
    return shape;
}

double farthest(const Thing& body, const glm::dvec3& along) {
    double most = -1e30;
    for (const glm::dvec3& p : corners_of(body.shape, 0))
        most = std::max(most, glm::dot(glm::dvec3(body.place * glm::dvec4(p, 1.0)), along));
    return most;
}

/// A box beside the way that the moving body grazes by so much.
Thing beside(const Thing& moving, const glm::dvec3& way, double depth, Dice& dice) {
    const glm::dvec3 any(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1));
    const glm::dvec3 across = glm::normalize(glm::cross(way, any));
    const glm::dvec3 third = glm::cross(across, way);
    Thing box;
    box.shape.size = {0.04, dice.between(0.05, 0.2), dice.between(0.02, 0.1)};
    const glm::dvec3 middle(moving.place[3]);
    const double face = farthest(moving, across) - glm::dot(middle, across) - depth;
    const glm::dvec3 at = middle + across * (face + 0.02) + way * dice.between(0.15, 0.25);
    box.place = glm::dmat4(glm::dvec4(across, 0), glm::dvec4(third, 0), glm::dvec4(way, 0), glm::dvec4(at, 1));
    if (glm::determinant(glm::dmat3(box.place)) < 0)
        box.place[1] = -box.place[1];
    return box;
}

std::int32_t add(testing::Model& model, const Thing& body, const std::string& name) {
    std::vector<glm::vec3> corners;
    for (const glm::dvec3& p : corners_of(body.shape, 0))
        corners.push_back(glm::vec3(p));
    return model.node(name, model.mesh(corners), body.place);
}

struct Split {
    int agreed = 0, undecided = 0, disagreed = 0;
    int blocked = 0, free = 0, between = 0;
};

/// Ours against the judge's for one pair. `rest_mm` is how deep they lie in one another, `slack_mm` how much deeper
/// ours may think they do (depths at rest are rounded up to a level).
void compare(Verdict ours, const Thing& moving, const Thing& still, const glm::dvec3& leg, double rest_mm,
             double slack_mm, Split& split) {
    const auto touches = [&](double inset_mm) { return judge_touches(moving, inset_mm / 1000, still, leg); };
    const double blocked = rest_mm + way_blocked_mm;
    const double free = rest_mm + way_free_mm;
    bool right = true;
    bool near = true; // right to within close_mm
    switch (ours) {
    case Verdict::blocked:
        ++split.blocked;
        right = touches(blocked);
        near = right || touches(blocked - close_mm);
        break;
    case Verdict::free:
        ++split.free;
        right = !touches(free + slack_mm);
        near = right || !touches(free + slack_mm + close_mm);
        break;
    case Verdict::undecided:
        ++split.between;
        right = touches(free) && !touches(blocked + slack_mm);
        near = right || (touches(free - close_mm) && !touches(blocked + slack_mm + close_mm));
        break;
    }
    if (right)
        ++split.agreed;
    else if (near)
        ++split.undecided;
    else
        ++split.disagreed;
}

Verdict about(const WaysOut& out, std::int32_t body) {
    for (const Meeting& meeting : out.ways[0].legs[0].met)
        if (meeting.body == body)
            return meeting.verdict;
    return Verdict::free;
}

} // namespace

TEST_CASE("sweeps past bodies that stand apart, judged by FCL") {
    Split split;
    int pairs = 0;
    int skipped = 0;
    for (std::uint64_t scene = 0; scene < 400; ++scene) {
        Dice dice(scene + 1);
        testing::Model model;
        std::vector<Thing> bodies(1);
        bodies[0] = {any_shape(dice, 0.02, 0.1), any_place(dice, 0.02)};
        glm::dvec3 way(0.0);
        if (scene % 2 == 0)
            way[static_cast<int>(dice.between(0, 3))] = dice.from_0_to_1() < 0.5 ? -1 : 1;
        else
            way = glm::normalize(glm::dvec3(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)));
        for (int i = 0; i < 4; ++i) {
            // Half of them close to the band, from 0.3 mm beside the way to 1 mm into it; half along the way anywhere.
            if (i % 2 == 0)
                bodies.push_back(beside(bodies[0], way, dice.between(-0.0003, 0.001), dice));
            else
                bodies.push_back(
                    {any_shape(dice, 0.01, 0.12),
                     glm::translate(glm::dmat4(1.0), way * dice.between(0.0, 0.5)) * any_place(dice, 0.1)});
        }
        for (std::size_t i = 0; i < bodies.size(); ++i)
            add(model, bodies[i], "body " + std::to_string(i));
        const Solids solids = make_solids(model.map);
        const glm::dvec3 leg = way * dice.between(0.25, 0.5);
        const std::vector<WayAsked> asked{{{}, {0}, {leg}}};
        const WaysOut out = sweep_way(make_way_space(solids, asked), asked[0]);
        for (std::size_t i = 1; i < bodies.size(); ++i) {
            if (judge_touches(bodies[0], 0, bodies[i], glm::dvec3(0.0))) {
                ++skipped; // the next test is about these
                continue;
            }
            ++pairs;
            const int before = split.disagreed;
            compare(about(out, static_cast<std::int32_t>(i)), bodies[0], bodies[i], leg, 0, 0, split);
            if (split.disagreed > before)
                MESSAGE("scene " << scene << " body " << i);
        }
    }
    MESSAGE(pairs << " sweeps (" << skipped << " not apart at rest left out): " << split.blocked << " blocked, "
                  << split.free << " free, " << split.between << " undecided by us; judged: " << split.agreed
                  << " agreed, " << split.undecided << " nearer than " << close_mm << " mm, " << split.disagreed
                  << " disagreed");
    CHECK(split.disagreed == 0);
    CHECK(split.undecided * 50 < pairs);
    CHECK(pairs > 1200);
    CHECK(split.blocked > 200);
    CHECK(split.free > 200);
    CHECK(split.between > 50);
}

TEST_CASE("sweeps out of what they lie in at rest, judged by FCL") {
    Split split;
    for (std::uint64_t scene = 0; scene < 200; ++scene) {
        Dice dice(scene + 5000);
        testing::Model model;
        // A prism in a ring, pressed in by up to a millimetre or loose by half, drawn along the axis or pushed aside.
        Thing ring;
        ring.shape.kind = Form::Kind::ring;
        ring.shape.sides = 8 + static_cast<int>(dice.between(0, 24));
        const double hole = dice.between(0.008, 0.02);
        ring.shape.size = {hole + dice.between(0.01, 0.03), hole, dice.between(0.01, 0.03)};
        ring.place = any_place(dice, 0.1);
        Thing peg;
        peg.shape.kind = Form::Kind::prism;
        peg.shape.sides = 8 + static_cast<int>(dice.between(0, 24));
        const double press = dice.between(-0.0005, 0.001);
        // What bears is the hole's flats and the peg's corners.
        peg.shape.size = {hole * std::cos(3.141592653589793 / ring.shape.sides) + press, 0, dice.between(0.04, 0.08)};
        peg.place = glm::translate(ring.place, glm::dvec3(0, dice.between(-0.005, 0.005), 0));
        add(model, peg, "peg");
        add(model, ring, "ring");
        const glm::dvec3 axis(ring.place[1]);
        const glm::dvec3 side(ring.place[0]);
        const glm::dvec3 leg = scene % 3 == 0   ? axis * 0.1
                               : scene % 3 == 1 ? -axis * 0.1
                                                : glm::normalize(side + axis * dice.between(0.0, 0.3)) * 0.05;
        double rest_mm = 0;
        for (double low = 0, high = 1.5; high - low > 0.002;) {
            const double middle = 0.5 * (low + high);
            (judge_touches(peg, middle / 1000, ring, glm::dvec3(0.0)) ? low : high) = middle;
            rest_mm = high;
        }
        const Solids solids = make_solids(model.map);
        const std::vector<WayAsked> asked{{{}, {0}, {leg}}};
        const WaysOut out = sweep_way(make_way_space(solids, asked), asked[0]);
        // Levels of depth at rest are half a millimetre apart at most; faces that coincide are given 0.02 mm.
        const int before = split.disagreed;
        compare(about(out, 1), peg, ring, leg, rest_mm < 0.01 ? 0 : rest_mm, 0.52, split);
        if (split.disagreed > before)
            MESSAGE("scene " << scene << " rest " << rest_mm);
        if (scene % 3 != 2)
            CHECK(about(out, 1) == Verdict::free);
    }
    MESSAGE("200 sweeps out of holes: " << split.blocked << " blocked, " << split.free << " free, " << split.between
                                        << " undecided by us; judged: " << split.agreed << " agreed, "
                                        << split.undecided << " nearer than " << close_mm << " mm, " << split.disagreed
                                        << " disagreed");
    CHECK(split.disagreed == 0);
    CHECK(split.blocked > 40);
}

TEST_CASE("what lies in another without a hole, judged by FCL in one with a hole") {
    // The judge gets the plate with a hole of the peg's own outline, 0.01 mm wider; ours is solid, its faces cut into
    // rings, so that many of their triangles lie in the peg. The peg is drawn along itself or aside, or the plate is.
    int blocked = 0;
    int free = 0;
    for (std::uint64_t scene = 0; scene < 200; ++scene) {
        CAPTURE(scene);
        Dice dice(scene + 9000);
        testing::Model model;
        const int sides = 6 + static_cast<int>(dice.between(0, 20));
        Thing peg;
        peg.shape = {Form::Kind::prism, {dice.between(0.004, 0.012), 0, dice.between(0.05, 0.09)}, sides};
        peg.place = any_place(dice, 0.1);
        Thing plate;
        plate.shape = {
            Form::Kind::ring, {peg.shape.size.x + 0.03, peg.shape.size.x + 1e-5, dice.between(0.001, 0.03)}, sides};
        plate.place = glm::translate(peg.place, glm::dvec3(0, dice.between(-0.01, 0.01), 0));
        const double half = 0.5 * plate.shape.size.z;
        std::vector<glm::dvec2> outline;
        for (int i = 0; i <= 8; ++i)
            outline.push_back({plate.shape.size.x * i / 8, -half});
        for (int i = 8; i >= 0; --i)
            outline.push_back({plate.shape.size.x * i / 8, half});
        const bool plate_moves = scene % 2 == 1;
        const auto solid = [&] {
            return model.node("plate", model.mesh(testing::Model::turned_corners(outline, sides)), plate.place);
        };
        if (plate_moves)
            solid();
        add(model, peg, "peg");
        if (!plate_moves)
            solid();
        const glm::dvec3 axis(peg.place[1]);
        const glm::dvec3 side(peg.place[0]);
        const glm::dvec3 leg = scene % 4 < 2 ? axis * (scene % 8 < 4 ? 0.15 : -0.15)
                                             : glm::normalize(side + axis * dice.between(-1.0, 1.0)) * 0.15;
        const Solids solids = make_solids(model.map);
        const std::vector<WayAsked> asked{{{}, {0}, {leg}}};
        const Verdict ours = about(sweep_way(make_way_space(solids, asked), asked[0]), 1);
        const Thing& moving = plate_moves ? plate : peg;
        const Thing& still = plate_moves ? peg : plate;
        const bool judged = judge_touches(moving, way_free_mm / 1000, still, leg);
        CHECK((ours == Verdict::free) == !judged);
        (judged ? blocked : free) += 1;
    }
    MESSAGE("200 sweeps in plates drawn without a hole: " << blocked << " met something by FCL, " << free << " not");
    CHECK(blocked >= 80);
    CHECK(free >= 80);
}
