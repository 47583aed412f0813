// Hidden, reach, balance and explode on a real model (engine.hpp); FCL, an independent library, says what its bodies
// weigh and whether they touch. Its ways out are in way_engine.cpp.
#include <algorithm>
#include <cmath>
#include <memory>

#include <doctest/doctest.h>

#include "core/geometry/geometry.hpp"
#include "tests/outside/engine.hpp"
#include "tests/outside/fcl.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using boltwalk::testing::Dice;

namespace {

std::size_t slot(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

// Meshes of the file, told by their size and place: what its author called Piston, and the two cylinders with their
// fins. The nodes themselves have no names.
constexpr std::int32_t piston_mesh = 0, pin_mesh = 1, cylinder_mesh = 24, other_cylinder_mesh = 25;
/// Rods of 13 mm by 230 beside the cylinders, nuts of 24 mm on the heads, tubes of 15 mm above them.
constexpr std::int32_t rod_mesh = 23, nut_mesh = 19, tube_mesh = 11;

/// A node without a name becomes an item of the map.
ItemId name_node(Map& map, std::size_t node, ItemKind kind, std::size_t detail) {
    const ItemId id{static_cast<std::int32_t>(map.items.size())};
    Item& item = map.items.emplace_back();
    item.kind = kind;
    item.detail = static_cast<std::int32_t>(detail);
    item.name = item.title = "node " + std::to_string(node);
    item.node = static_cast<std::int32_t>(node);
    map.nodes[node].item = id;
    return id;
}

/// A fastener along its mesh's z.
void fasten(Map& map, std::size_t node, const char* drive) {
    const ItemId id = name_node(map, node, ItemKind::fastener, map.fasteners.size());
    Fastener& fastener = map.fasteners.emplace_back();
    fastener.item = id;
    fastener.kind = FastenerKind::bolt;
    fastener.axis = {0, 0, 1};
    fastener.drive = read_drive(drive).value();
}

Map with_fasteners(std::initializer_list<std::pair<std::int32_t, const char*>> meshes) {
    Map map = testing::read_engine();
    for (std::size_t n = 0; n < map.nodes.size(); ++n)
        for (const auto& [mesh, drive] : meshes)
            if (map.nodes[n].mesh == mesh)
                fasten(map, n, drive);
    return map;
}

std::int32_t mesh_of(const Solids& solids, std::int32_t body) {
    return solids.placements[slot(solids.bodies[slot(body)].placements[0])].mesh;
}

using FclModel = fcl::BVHModel<fcl::OBBRSSd>;

std::shared_ptr<FclModel> fcl_model(const Solids& solids, std::int32_t body) {
    std::vector<fcl::Vector3d> corners;
    std::vector<fcl::Triangle> faces;
    each_triangle_of(solids, body, [&](const Triangle& t) {
        for (const glm::dvec3& p : {t.a, t.b, t.c})
            corners.emplace_back(p.x, p.y, p.z);
        faces.emplace_back(corners.size() - 3, corners.size() - 2, corners.size() - 1);
    });
    auto model = std::make_shared<FclModel>();
    model->beginModel();
    model->addSubModel(corners, faces);
    model->endModel();
    return model;
}

fcl::Transform3d moved_by(const glm::dvec3& shift) {
    fcl::Transform3d transform = fcl::Transform3d::Identity();
    transform.translation() = fcl::Vector3d(shift.x, shift.y, shift.z);
    return transform;
}

} // namespace

TEST_CASE(
    "engine, hidden: pistons and their pins are not seen, their cylinders hide them, and without those they show") {
    const Map map = with_fasteners({{piston_mesh, "hex 13"}, {pin_mesh, "hex 13"}, {rod_mesh, "hex 13"}});
    const Solids solids = make_solids(map);
    CHECK(solids.bodies.size() == 67);
    const Sights sights = measure_sights(solids);
    REQUIRE(map.fasteners.size() == 8);
    Arrangement bare; // the cylinders, and what stands before them, taken away
    bare.there.assign(solids.bodies.size(), 0);
    for (const Fastener& fastener : map.fasteners)
        bare.there[slot(solids.body_of[slot(fastener.item.index)])] = 1;
    int rods = 0;
    for (std::size_t f = 0; f < map.fasteners.size(); ++f) {
        CAPTURE(f);
        const std::int32_t mesh = mesh_of(solids, solids.body_of[slot(map.fasteners[f].item.index)]);
        const Seen now = seen(sights, f, Arrangement{});
        REQUIRE(now.known);
        if (mesh == rod_mesh) { // along the cylinders' outside
            CHECK(now.share[0] > 0.02);
            ++rods;
            continue;
        }
        CHECK(is_hidden(now, Place::not_stated));
        CHECK(now.share[0] == 0);
        const std::vector<Hider> by = hiders(sights, f, Arrangement{}, Place::not_stated);
        REQUIRE_FALSE(by.empty());
        if (mesh == piston_mesh) {
            const std::int32_t worst = mesh_of(solids, by[0].body);
            CHECK((worst == cylinder_mesh || worst == other_cylinder_mesh));
            // Of the two the one that it is in: they lie on either side of the crank.
            CHECK(solids.bodies[slot(by[0].body)].bounds.centre().x *
                      solids.bodies[slot(solids.body_of[slot(map.fasteners[f].item.index)])].bounds.centre().x >
                  0);
            CHECK(seen(sights, f, bare).share[0] > 0.8);
        }
        // Each thing taken away shows as much or more.
        Arrangement fewer;
        fewer.there.assign(solids.bodies.size(), 1);
        double last = 0;
        for (const Hider& hider : by) {
            fewer.there[slot(hider.body)] = 0;
            const double share = seen(sights, f, fewer).share[0];
            CHECK(share >= last);
            last = share;
        }
        CHECK(last == doctest::Approx(1.0).epsilon(1e-6)); // all that hides it is named
    }
    CHECK(rods == 4);
}

TEST_CASE("engine, reach: what is said to be in the way is all that is in the way") {
    const Map map =
        with_fasteners({{piston_mesh, "hex 13"}, {rod_mesh, "hex 13"}, {nut_mesh, "hex 24"}, {tube_mesh, "hex 13"}});
    const Solids solids = make_solids(map);
    const Reach reach = find_reach(solids, {}, home_box());
    int blocked = 0;
    for (const Fastener& fastener : map.fasteners) {
        CAPTURE(map[fastener.item].name);
        const std::int32_t body = solids.body_of[slot(fastener.item.index)];
        const ReachAnswer now = judge_reach(reach, fastener.item, Use::turn, Arrangement{});
        REQUIRE(now.grip == Grip::tool);
        Arrangement alone;
        alone.there.assign(solids.bodies.size(), 0);
        alone.there[slot(body)] = 1;
        CHECK(judge_reach(reach, fastener.item, Use::turn, alone).verdict == Verdict::free);
        if (now.verdict == Verdict::free)
            continue;
        ++blocked;
        REQUIRE_FALSE(now.blocked_by.empty());
        Arrangement without;
        without.there.assign(solids.bodies.size(), 1);
        for (const std::int32_t b : now.blocked_by)
            without.there[slot(b)] = 0;
        CHECK(judge_reach(reach, fastener.item, Use::turn, without).verdict == Verdict::free);
        if (mesh_of(solids, body) == piston_mesh) {
            const std::int32_t worst = mesh_of(solids, now.blocked_by[0]);
            CHECK((worst == cylinder_mesh || worst == other_cylinder_mesh));
        }
    }
    CHECK(map.fasteners.size() == 12);
    CHECK(blocked >= 6);
    Effort two;
    two.threads = 2;
    const Reach again = find_reach(solids, {}, home_box(), two);
    for (std::size_t i = 0; i < reach.list.size(); ++i)
        CHECK(again.list[i].poses.size() == reach.list[i].poses.size());
}

TEST_CASE("engine, balance: volumes and centres as FCL has them") {
    Map map = testing::read_engine();
    // Bodies of scenery are not weighed: each becomes a part.
    for (std::size_t n = 0; n < map.nodes.size(); ++n) {
        if (map.nodes[n].mesh < 0)
            continue;
        const ItemId id = name_node(map, n, ItemKind::part, map.parts.size());
        map.parts.emplace_back().item = id;
    }
    const Solids solids = make_solids(map);
    REQUIRE(solids.bodies.size() == 67);
    const Masses masses = weigh(solids);
    std::size_t closed = 0;
    std::size_t overlapping = 0;
    std::size_t open = 0;
    for (std::size_t b = 0; b < masses.bodies.size(); ++b) {
        CAPTURE(b);
        const BodyMass& mass = masses.bodies[b];
        CHECK_FALSE(mass.mass_kg.has_value()); // nobody states a material
        const glm::dvec3 low = solids.bodies[b].bounds.low;
        const glm::dvec3 high = solids.bodies[b].bounds.high;
        CHECK((glm::all(glm::greaterThan(mass.centre, low)) && glm::all(glm::lessThan(mass.centre, high))));
        if (mass.centre_from == CentreFrom::surface) {
            ++open;
            continue;
        }
        const auto model = fcl_model(solids, static_cast<std::int32_t>(b));
        const double volume = std::abs(model->computeVolume());
        const fcl::Vector3d c = model->computeCOM();
        if (mass.centre_from == CentreFrom::lines) {
            ++overlapping;
            CHECK(mass.volume_m3 < volume);
            continue;
        }
        ++closed;
        // Lines through the body take away at most what is too little to be told (5 %).
        CHECK(mass.volume_m3 == doctest::Approx(volume).epsilon(0.05));
        CHECK(glm::length(mass.centre - glm::dvec3(c[0], c[1], c[2])) < 0.02 * glm::length(high - low));
        if (std::abs(mass.volume_m3 / volume - 1) < 1e-9)
            CHECK(glm::length(mass.centre - glm::dvec3(c[0], c[1], c[2])) < 1e-6);
    }
    MESSAGE("of 67 bodies " << closed << " closed, " << overlapping << " of shells in one another, " << open
                            << " with holes or flipped faces");
    CHECK(closed >= 20);
}

TEST_CASE("volumes and centres of random shapes as FCL has them") {
    Dice dice(3);
    for (int i = 0; i < 200; ++i) {
        testing::Model model;
        std::vector<glm::dvec2> outline{{0, 0}};
        double y = 0;
        for (int k = 0; k < 2 + i % 5; ++k) {
            outline.push_back({dice.between(0.01, 0.1), y});
            y += dice.between(0.005, 0.1);
            outline.push_back({dice.between(0.01, 0.1), y});
        }
        outline.push_back({0, y});
        const std::int32_t mesh = model.turned(outline, 3 + i % 17);
        const ItemId item = model.part("part", mesh, {0, 0, 0});
        const glm::dmat4 place = glm::scale(
            glm::rotate(testing::at(dice.between(-1, 1), dice.between(-1, 1), dice.between(-1, 1)), dice.between(0, 3),
                        glm::normalize(glm::dvec3(1, dice.between(-1, 1), dice.between(-1, 1)))),
            glm::dvec3(i % 3 == 0 ? -1 : 1, dice.between(0.5, 2), 1));
        for (std::size_t k = 0; k < 16; ++k)
            model.map.nodes[slot(model.map[item].node)].world[k] = glm::value_ptr(place)[k];
        const Solids solids = make_solids(model.map);
        const BodyMass mass = weigh(solids).bodies[0];
        const auto judge = fcl_model(solids, 0);
        const fcl::Vector3d c = judge->computeCOM();
        CAPTURE(i);
        CHECK(mass.centre_from == CentreFrom::volume);
        CHECK(mass.volume_m3 == doctest::Approx(judge->computeVolume()).epsilon(1e-4));
        CHECK(glm::length(mass.centre - glm::dvec3(c[0], c[1], c[2])) < 1e-5);
    }
}

TEST_CASE("engine, explode: what FCL finds apart at rest it finds apart at the end") {
    const Map map = testing::read_engine();
    const Solids solids = make_solids(map);
    std::vector<Apart> list;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        if (solids.bodies[b].bounds.radius() > 0.2) // the case stays
            continue;
        Apart& one = list.emplace_back();
        one.bodies = {static_cast<std::int32_t>(b)};
        const double side = solids.bodies[b].bounds.centre().x < 0 ? -1 : 1;
        one.ways = {{{side, 0, 0}, {0, 0, 0}}, {{0, 1, 0}, {0, 0, 0}}, {{0, 0, 1}, {0, 0, 0}}};
    }
    CHECK(list.size() >= 60);
    const Explosion explosion = explode(solids, list);
    std::vector<std::shared_ptr<FclModel>> models;
    std::vector<glm::dvec3> end;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        models.push_back(fcl_model(solids, static_cast<std::int32_t>(b)));
        end.push_back(exploded_by(explosion, static_cast<std::int32_t>(b), 1));
    }
    const auto meet = [&](std::size_t a, std::size_t b, const glm::dvec3& by_a, const glm::dvec3& by_b) {
        const Bounds& p = solids.bodies[a].bounds;
        const Bounds& q = solids.bodies[b].bounds;
        if (glm::any(glm::greaterThan(p.low + by_a, q.high + by_b)) ||
            glm::any(glm::lessThan(p.high + by_a, q.low + by_b)))
            return false;
        fcl::CollisionRequestd request;
        fcl::CollisionResultd result;
        return fcl::collide(models[a].get(), moved_by(by_a), models[b].get(), moved_by(by_b), request, result) > 0;
    };
    int before = 0;
    int after = 0;
    int anew = 0;
    double moved = 0;
    for (std::size_t a = 0; a < models.size(); ++a) {
        moved += glm::length(end[a]) > 0.001 ? 1 : 0;
        for (std::size_t b = 0; b < a; ++b) {
            const bool touched = meet(a, b, glm::dvec3(0.0), glm::dvec3(0.0));
            const bool touches = meet(a, b, end[a], end[b]);
            before += touched ? 1 : 0;
            after += touches ? 1 : 0;
            anew += touches && !touched ? 1 : 0;
            CHECK_FALSE((touches && !touched));
        }
    }
    MESSAGE(before << " pairs touch or cross at rest, " << after << " seen apart, " << anew << " of them anew; "
                   << moved << " bodies move");
    CHECK(before > 60);
    CHECK(after * 4 < before);
    CHECK(moved >= 50);
}
