// Who is drawn how in a frame: what is in view, what is next, and what covers it and so turns to glass.
#include <algorithm>
#include <array>
#include <cmath>

#include "viewer/draw/drawing.hpp"
#include "viewer/scene/triangles.hpp"

namespace boltwalk {

namespace {

constexpr double LEAST_NODE_PX = 0.7;    ///< a node smaller than this on the screen is not drawn
constexpr double EDGES_FROM_PX = 16;     ///< nodes smaller than this get no edges (at scale 1): they would be all line
constexpr double EDGES_FULL_PX = 40;     ///< from this size on their edges have full strength
constexpr double LEAST_NEXT_EDGES = 0.3; ///< of what is next, however small: the accent must not drown in lines
constexpr double LEAST_IN_SIGHT = 0.6;   ///< of what is next: less of it in sight, and what covers it turns to glass
constexpr std::size_t MOST_LOOKED_AT = 256; ///< so many of what is next are looked at for covers, in file order
constexpr std::size_t MANY = 32;            ///< more than this, and each is looked at with fewer rays

/// The five planes of a view pyramid through the eye (no far plane), in view space: a ball is out when it lies wholly
/// beyond one.
struct Pyramid {
    std::array<glm::dvec3, 4> inward;
    explicit Pyramid(const Projection& projection) {
        const double x = 1 / projection.projection[0][0];
        const double y = 1 / projection.projection[1][1];
        inward = {glm::normalize(glm::dvec3(1, 0, -x)), glm::normalize(glm::dvec3(-1, 0, -x)),
                  glm::normalize(glm::dvec3(0, 1, -y)), glm::normalize(glm::dvec3(0, -1, -y))};
    }
    bool holds(const glm::dvec3& middle, double radius) const {
        if (middle.z > radius)
            return false;
        for (const glm::dvec3& plane : inward)
            if (glm::dot(plane, middle) < -radius)
                return false;
        return true;
    }
};

std::uint8_t share(double value) {
    return static_cast<std::uint8_t>(std::lround(255 * std::clamp(value, 0.0, 1.0)));
}

struct Candidate {
    std::int32_t node;
    glm::dvec3 shift_m;
    std::int32_t mesh;
    bool mirrored;
    Instance instance;
    bool has_edges;
    float nearest_z; ///< in view space: the largest is the nearest
};

/// Sorts candidates into batches, one a mesh, in file order; those with edges stand first in each.
std::vector<Batch> batched(std::vector<Candidate>& candidates, std::vector<Instance>& instances,
                           std::vector<float>& depths) {
    std::stable_sort(candidates.begin(), candidates.end(), [](const Candidate& a, const Candidate& b) {
        if (a.mesh != b.mesh)
            return a.mesh < b.mesh;
        if (a.mirrored != b.mirrored)
            return a.mirrored < b.mirrored;
        return a.has_edges > b.has_edges;
    });
    std::vector<Batch> batches;
    for (const Candidate& candidate : candidates) {
        if (batches.empty() || batches.back().mesh != candidate.mesh || batches.back().mirrored != candidate.mirrored)
            batches.push_back({candidate.mesh, candidate.mirrored, instances.size(), 0, instances.size(), 0});
        ++batches.back().count;
        batches.back().edge_count += candidate.has_edges ? 1 : 0;
        instances.push_back(candidate.instance);
        depths.push_back(candidate.nearest_z);
    }
    // The nearest first, so that what they hide is not shaded: a mesh of many nodes counts by its nearest.
    std::vector<std::pair<float, Batch>> by_depth;
    for (const Batch& batch : batches) {
        float nearest = -std::numeric_limits<float>::infinity();
        for (std::size_t i = batch.first; i < batch.first + batch.count; ++i)
            nearest = std::max(nearest, depths[i]);
        by_depth.emplace_back(nearest, batch);
    }
    std::stable_sort(by_depth.begin(), by_depth.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    for (std::size_t i = 0; i < batches.size(); ++i)
        batches[i] = by_depth[i].second;
    return batches;
}

} // namespace

Prepared prepare_frame(const Stage& stage, const Frame& frame, const Projection& projection,
                       const std::vector<Sheets>& sheets, bool all) {
    const Map& map = *stage.map;
    Prepared result;
    std::vector<std::uint8_t> is_next(map.items.size(), 0);
    for (const ItemId item : frame.next)
        is_next[at(item.index)] = 1;
    std::vector<std::uint8_t> is_whole(map.items.size(), 0);
    for (const ItemId item : frame.whole)
        is_whole[at(item.index)] = 1;
    std::vector<std::uint8_t> covers(map.nodes.size(), 0);
    for (const std::int32_t node : frame.over.glass)
        covers[at(node)] = 1;
    result.in_sight.assign(frame.next.size(), 1.0);
    const std::size_t looked_at = std::min(frame.next.size(), MOST_LOOKED_AT);
    std::vector<std::uint8_t> is_hidden(map.items.size(), 0);
    for (std::size_t i = 0; i < looked_at; ++i) {
        const Cover cover = covers_of(stage, frame.poses, frame.next[i], projection.eye, looked_at > MANY ? 9 : 24);
        result.in_sight[i] = cover.in_sight;
        if (cover.in_sight >= LEAST_IN_SIGHT)
            continue;
        is_hidden[at(frame.next[i].index)] = 1;
        for (const std::int32_t node : cover.nodes)
            covers[at(node)] = 1;
    }
    const Pyramid pyramid(projection);
    const double px_per_tangent = 0.5 * frame.height_px * projection.projection[1][1];
    std::vector<Candidate> solid;
    std::vector<Candidate> whole;
    std::vector<Candidate> next;
    std::vector<Candidate> hidden;
    std::vector<Candidate> glass;
    for (const std::int32_t index : stage.shown) {
        const Node& node = map.nodes[at(index)];
        const Pose pose =
            node.item && at(node.item.index) < frame.poses.size() ? frame.poses[at(node.item.index)] : Pose{};
        if (pose.presence <= 0)
            continue;
        const Bounds& bounds = stage.node_bounds[at(index)];
        const double radius = bounds.radius();
        const glm::dvec3 middle(projection.view * glm::dvec4(bounds.centre() + pose.shift_m, 1.0));
        if (!pyramid.holds(middle, radius))
            continue;
        const double size_px = 2 * radius * px_per_tangent / std::max(-middle.z, projection.near_m);
        const bool mine = node.item && is_next[at(node.item.index)] != 0;
        if (size_px < LEAST_NODE_PX && !mine)
            continue;
        glm::dmat4 world = world_of(node);
        world[3] += glm::dvec4(pose.shift_m, 0);
        const glm::dmat4 to_view = projection.view * world;
        Candidate candidate{index,
                            pose.shift_m,
                            node.mesh,
                            glm::determinant(glm::dmat3(world)) < 0,
                            {},
                            false,
                            static_cast<float>(middle.z + 0.5 * radius)};
        for (int row = 0; row < 3; ++row)
            for (int column = 0; column < 4; ++column)
                candidate.instance.rows[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)] =
                    static_cast<float>(to_view[column][row]);
        Kind kind = Kind::plain;
        if (mine)
            kind = Kind::next;
        else if (frame.xray || covers[at(index)])
            kind = Kind::glass;
        else if (pose.presence < 1)
            kind = Kind::fading;
        const double at_scale = size_px / std::max(frame.scale, 0.1);
        const double by_size = (at_scale - EDGES_FROM_PX) / (EDGES_FULL_PX - EDGES_FROM_PX);
        const double strength = mine ? std::max(by_size, LEAST_NEXT_EDGES) : by_size;
        candidate.has_edges = frame.edges && strength > 0;
        candidate.instance.style = {static_cast<std::uint8_t>(kind), share(strength), 0,
                                    share(static_cast<double>(pose.presence))};
        // What is next and leaves must fade too, so from then on it is blended like the rest.
        const bool is_lit = kind == Kind::next && pose.presence >= 1;
        if (is_lit && is_whole[at(node.item.index)]) {
            candidate.instance.style[0] = static_cast<std::uint8_t>(Kind::plain);
            whole.push_back(candidate);
        } else if (is_lit)
            (is_hidden[at(node.item.index)] ? hidden : next).push_back(candidate);
        else if (kind == Kind::plain)
            solid.push_back(candidate);
        else
            glass.push_back(candidate);
    }
    if (!all) {
        Veil& veil = result.veil.emplace(projection, frame.scale);
        for (const auto* drawn : {&solid, &whole})
            for (const Candidate& candidate : *drawn)
                veil.add(sheets[at(candidate.mesh)], candidate.instance, candidate.mirrored);
        veil.close();
        for (auto* drawn : {&solid, &whole, &glass})
            std::erase_if(*drawn, [&](const Candidate& candidate) {
                return veil.hides(sheets[at(candidate.mesh)], candidate.instance);
            });
    }
    std::vector<float> depths;
    result.solid = batched(solid, result.instances, depths);
    result.whole = batched(whole, result.instances, depths);
    result.next = batched(next, result.instances, depths);
    result.hidden = batched(hidden, result.instances, depths);
    result.glass = batched(glass, result.instances, depths);
    result.strokes = strokes_of(stage, frame, projection);
    result.bands = bands_of(sheets, result, projection, frame.scale);
    return result;
}

} // namespace boltwalk
