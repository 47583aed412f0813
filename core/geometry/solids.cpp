// Bodies and placements from a map.
#include "core/geometry/solids.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <glm/gtc/type_ptr.hpp>

#include "core/geometry/rays.hpp"

namespace boltwalk {

namespace {

/// A vehicle and what stands round it is smaller than this; a model in millimetres is not.
constexpr double largest_model_m = 100;
/// A placement that shrinks volumes below this share is flat: nothing of it can be met from the side.
constexpr double flat = 1e-30;

Bounds bounds_of(const Tree& tree, const glm::dmat4& world) {
    Bounds box;
    const glm::dvec3 low(tree.boxes.nodes[0].low);
    const glm::dvec3 high(tree.boxes.nodes[0].high);
    for (unsigned corner = 0; corner < 8; ++corner)
        box.add(glm::dvec3(world * glm::dvec4((corner & 1U) ? high.x : low.x, (corner & 2U) ? high.y : low.y,
                                              (corner & 4U) ? high.z : low.z, 1.0)));
    return box;
}

void note(Solids& solids, std::string rule, std::string node, std::string what, std::string remedy) {
    Finding finding;
    finding.weight = Weight::note;
    finding.rule = std::move(rule);
    finding.nodes.push_back(std::move(node));
    finding.what = std::move(what);
    finding.remedy = std::move(remedy);
    solids.findings.push_back(std::move(finding));
}

/// The tree over placements, rounded outwards so that no float hides a double's hit.
void plant(Solids& solids) {
    std::vector<glm::vec3> low(solids.placements.size());
    std::vector<glm::vec3> high(solids.placements.size());
    solids.bounds = {};
    for (std::size_t i = 0; i < solids.placements.size(); ++i) {
        const Bounds& box = solids.placements[i].bounds;
        solids.bounds.add(box);
        for (int axis = 0; axis < 3; ++axis) {
            low[i][axis] = std::nextafter(static_cast<float>(box.low[axis]), -1e30F);
            high[i][axis] = std::nextafter(static_cast<float>(box.high[axis]), 1e30F);
        }
    }
    solids.tree = grow_tree(low, high, 1);
}

void judge_size(Solids& solids) {
    if (solids.placements.empty())
        return;
    const glm::dvec3 size = solids.bounds.size();
    const double longest = std::max({size.x, size.y, size.z});
    if (longest > largest_model_m)
        note(solids, "model-size", solids.map->nodes[at(solids.placements[0].node)].name,
             fmt::format("the model is {:.0f} m long: is it in millimetres?", longest),
             "scale it to metres, or what is worked out from its shapes means nothing");
}

} // namespace

Solids make_solids(const Map& map, const Effort& effort) {
    Solids solids;
    solids.map = &map;
    solids.body_of.assign(map.items.size(), -1);
    solids.meshes.resize(map.meshes.size());
    std::vector<std::uint8_t> used(map.meshes.size(), 0);
    for (const Node& node : map.nodes)
        if (node.in_scene && node.mesh >= 0)
            used[at(node.mesh)] = 1;
    std::vector<std::shared_ptr<const Tree>> grown(map.meshes.size());
    // Huge meshes one after the other, each on all threads; the others side by side.
    for (std::size_t i = 0; i < map.meshes.size(); ++i)
        if (used[i] && map.meshes[i].triangle_count >= huge_mesh)
            grown[i] = std::make_shared<const Tree>(grow_tree(map.meshes[i], effort.threads));
    in_parallel(map.meshes.size(), effort, [&](std::size_t i) {
        if (used[i] && !grown[i])
            grown[i] = std::make_shared<const Tree>(grow_tree(map.meshes[i]));
    });
    std::size_t without_area = 0;
    std::string first_without;
    for (std::size_t i = 0; i < map.nodes.size(); ++i) {
        const Node& node = map.nodes[i];
        if (!node.in_scene || node.mesh < 0 || !grown[at(node.mesh)])
            continue;
        const auto& tree = grown[at(node.mesh)];
        if (tree->without_area > 0) {
            if (without_area == 0)
                first_without = node.name;
            without_area += tree->without_area;
        }
        if (tree->corners.empty())
            continue;
        Placement placement;
        placement.node = static_cast<std::int32_t>(i);
        placement.mesh = node.mesh;
        placement.world = glm::make_mat4(node.world.data());
        const double volume = glm::determinant(glm::dmat3(placement.world));
        if (!(std::abs(volume) > flat))
            continue;
        placement.inverse = glm::inverse(placement.world);
        placement.mirrored = volume < 0;
        placement.bounds = bounds_of(*tree, placement.world);
        std::int32_t body = node.item ? solids.body_of[at(node.item.index)] : -1;
        if (body < 0) {
            body = static_cast<std::int32_t>(solids.bodies.size());
            solids.bodies.push_back({node.item, node.item ? map[node.item].node : placement.node, {}, {}});
            if (node.item)
                solids.body_of[at(node.item.index)] = body;
        }
        placement.body = body;
        solids.meshes[at(node.mesh)] = tree;
        solids.bodies[at(body)].placements.push_back(static_cast<std::int32_t>(solids.placements.size()));
        solids.bodies[at(body)].bounds.add(placement.bounds);
        solids.placements.push_back(placement);
    }
    plant(solids);
    if (without_area > 0)
        note(solids, "no-area", first_without,
             fmt::format("{} triangles have no area: left out of what is worked out from shapes", without_area),
             "merge corners that lie in one place, in the modelling tool");
    judge_size(solids);
    return solids;
}

Solids moved(const Solids& solids, std::span<const glm::dvec3> shift) {
    Solids result = solids;
    for (std::size_t b = 0; b < result.bodies.size() && b < shift.size(); ++b) {
        if (shift[b] == glm::dvec3(0.0))
            continue;
        Body& body = result.bodies[b];
        body.bounds.low += shift[b];
        body.bounds.high += shift[b];
        for (const std::int32_t i : body.placements) {
            Placement& placement = result.placements[at(i)];
            placement.bounds.low += shift[b];
            placement.bounds.high += shift[b];
            placement.world[3] += glm::dvec4(shift[b], 0.0);
            placement.inverse = glm::inverse(placement.world);
        }
    }
    plant(result);
    return result;
}

std::string name_of(const Solids& solids, std::int32_t body) {
    const Body& b = solids.bodies[at(body)];
    return b.item ? (*solids.map)[b.item].title : solids.map->nodes[at(b.node)].name;
}

void all_hits(const Solids& solids, const Ray& ray, double limit, std::vector<RayHit>& out) {
    out.clear();
    each_hit(solids, ray, limit, [&](const RayHit& hit) { out.push_back(hit); });
}

RayHit first_hit(const Solids& solids, const Ray& ray, double limit, std::span<const std::uint8_t> there) {
    RayHit nearest;
    nearest.distance = limit;
    float far = upward(limit);
    const auto look_at = [&](std::int32_t index) {
        const Placement& placement = solids.placements[at(index)];
        if (!there.empty() && !there[at(placement.body)])
            return;
        const Tree& tree = *solids.meshes[at(placement.mesh)];
        const MeshRay own = in_mesh(placement, ray);
        each_leaf_from_near(
            tree.boxes, slabs_of(own.from, own.inverse), far, [&](std::uint32_t first, std::uint32_t count) {
                any_met(tree, first, count, own, far, [&](std::uint32_t i, float distance, bool entering) {
                    // Of two at one distance the one earlier in the file, so that the tree's own order never shows.
                    const bool nearer = nearest.body < 0 || distance < far ||
                                        (distance == far && std::pair(index, tree.numbers[i]) <
                                                                std::pair(nearest.placement, nearest.triangle));
                    if (nearer) {
                        far = distance;
                        nearest = {static_cast<double>(distance), placement.body, index, tree.numbers[i], entering};
                    }
                    return false;
                });
            });
    };
    each_leaf_from_near(solids.tree, slabs_of(glm::vec3(ray.from), glm::vec3(1.0 / ray.along)), far,
                        [&](std::uint32_t first, std::uint32_t count) {
                            for (std::uint32_t i = first; i < first + count; ++i)
                                look_at(static_cast<std::int32_t>(solids.tree.order[i]));
                        });
    return nearest;
}

void bodies_met(const Solids& solids, const Ray& ray, double limit, std::vector<std::int32_t>& out) {
    out.clear();
    each_placement(solids, ray, limit, [&](std::int32_t i) {
        const std::int32_t body = solids.placements[at(i)].body;
        if (std::find(out.begin(), out.end(), body) != out.end())
            return;
        if (meets(solids, i, ray, limit))
            out.push_back(body);
    });
    std::sort(out.begin(), out.end());
}

namespace {

void triangles_near(const Solids& solids, std::int32_t index, const Bounds& box,
                    const std::function<void(const Triangle&)>& see) {
    const Placement& placement = solids.placements[at(index)];
    const Tree& tree = *solids.meshes[at(placement.mesh)];
    // The box in the mesh's own axes, as the box round its eight corners: looks at a little more than needed.
    glm::vec3 low(1e30F);
    glm::vec3 high(-1e30F);
    for (unsigned corner = 0; corner < 8; ++corner) {
        const glm::vec3 point(placement.inverse * glm::dvec4((corner & 1U) ? box.high.x : box.low.x,
                                                             (corner & 2U) ? box.high.y : box.low.y,
                                                             (corner & 4U) ? box.high.z : box.low.z, 1.0));
        low = glm::min(low, point);
        high = glm::max(high, point);
    }
    const auto apart = [&](const glm::vec3& l, const glm::vec3& h) {
        return l.x > high.x || h.x < low.x || l.y > high.y || h.y < low.y || l.z > high.z || h.z < low.z;
    };
    const auto wanted = [&](const BoxTree::Node& node) { return !apart(node.low, node.high); };
    each_leaf_where(tree.boxes, wanted, [&](std::uint32_t first, std::uint32_t count) {
        for (std::uint32_t i = first; i < first + count; ++i) {
            const Tree::Corners t = tree.triangle(i);
            if (apart(glm::min(t.a, glm::min(t.b, t.c)), glm::max(t.a, glm::max(t.b, t.c))))
                continue;
            const auto world = [&](const glm::vec3& p) { return glm::dvec3(placement.world * glm::dvec4(p, 1.0)); };
            Triangle triangle{world(t.a), world(t.b), world(t.c), placement.body, index, tree.numbers[i]};
            if (placement.mirrored)
                std::swap(triangle.b, triangle.c);
            see(triangle);
        }
    });
}

bool apart(const Bounds& a, const Bounds& b) {
    return a.low.x > b.high.x || a.high.x < b.low.x || a.low.y > b.high.y || a.high.y < b.low.y || a.low.z > b.high.z ||
           a.high.z < b.low.z;
}

} // namespace

void each_triangle(const Solids& solids, const Bounds& box, const std::function<void(const Triangle&)>& see) {
    const auto wanted = [&](const BoxTree::Node& node) {
        return !apart(box, {glm::dvec3(node.low), glm::dvec3(node.high)});
    };
    for (const std::int32_t i : placements_where(solids, wanted))
        if (!apart(box, solids.placements[at(i)].bounds))
            triangles_near(solids, i, box, see);
}

void each_triangle_of(const Solids& solids, std::int32_t body, const std::function<void(const Triangle&)>& see) {
    for (const std::int32_t i : solids.bodies[at(body)].placements)
        triangles_near(solids, i, solids.placements[at(i)].bounds, see);
}

} // namespace boltwalk
