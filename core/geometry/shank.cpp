#include "core/geometry/shank.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <glm/glm.hpp>

#include "core/geometry/about_axis.hpp"
#include "core/geometry/head.hpp"

namespace boltwalk {

namespace {

/// What looks along the axis by more than this (cosine) is no side of a cylinder; a thread's flanks look by half.
constexpr double sideways = 0.05;
/// The sides' radii lie so near together, and so much of them does: facets of a round, no step, no thread.
constexpr double one_radius = 0.04, of_one_radius = 0.9;
/// A shank shorter than this many diameters is a collar.
constexpr double least_length = 0.8;
/// Its end may be chamfered or pointed by so many diameters.
constexpr double longest_point = 0.6;
/// More corners than this has no bolt that is drawn plain.
constexpr std::size_t most_corners = 90000;

struct Side {
    double radius, low, high, area;
};

/// The node's scale, where it is the same along all axes.
double scale_of(const Node& node) {
    const auto& m = node.world;
    const auto length = [&](std::size_t i) { return glm::length(glm::dvec3(m[i * 4], m[i * 4 + 1], m[i * 4 + 2])); };
    const double x = length(0);
    return std::abs(length(1) - x) <= 1e-3 * x && std::abs(length(2) - x) <= 1e-3 * x ? x : 0;
}

} // namespace

std::optional<double> drawn_shank_mm(const Map& map, const Fastener& fastener) {
    if (fastener.kind != FastenerKind::bolt && fastener.kind != FastenerKind::screw)
        return std::nullopt;
    const std::int32_t at = map[fastener.item].node;
    if (at < 0 || static_cast<std::size_t>(at) >= map.nodes.size() || map.nodes[static_cast<std::size_t>(at)].mesh < 0)
        return std::nullopt;
    const Node& node = map.nodes[static_cast<std::size_t>(at)];
    const double scale = scale_of(node);
    const glm::dvec3 up(fastener.axis[0], fastener.axis[1], fastener.axis[2]);
    if (!(scale > 0) || !(std::abs(glm::length(up) - 1) < 1e-3))
        return std::nullopt;
    const Across across = across_of(up);
    std::vector<glm::dvec3> corners; // across, across, along
    for (const Primitive& primitive : map.meshes[static_cast<std::size_t>(node.mesh)].primitives)
        for (std::size_t i = 0; i < primitive.index_count; ++i) {
            const Vec3 p = primitive.positions[primitive.index(i)];
            const glm::dvec3 point(p.x, p.y, p.z);
            corners.emplace_back(glm::dot(point, across.u), glm::dot(point, across.v), glm::dot(point, up));
            if (corners.size() > most_corners)
                return std::nullopt;
        }
    if (corners.size() < 3 || corners.size() % 3 != 0)
        return std::nullopt;
    glm::dvec3 low = corners.front();
    glm::dvec3 high = low;
    for (const glm::dvec3& p : corners) {
        low = glm::min(low, p);
        high = glm::max(high, p);
    }
    const glm::dvec2 middle = glm::dvec2(low + high) / 2.0;
    const auto radius = [&](const glm::dvec3& p) { return glm::length(glm::dvec2(p) - middle); };
    double widest = 0;
    for (const glm::dvec3& p : corners)
        widest = std::max(widest, radius(p));
    double seat = std::numeric_limits<double>::max(); // of the head, along the axis
    for (const glm::dvec3& p : corners)
        if (radius(p) >= head_radius_share * widest)
            seat = std::min(seat, p.z);
    std::vector<Side> sides;
    for (std::size_t i = 0; i + 2 < corners.size(); i += 3) {
        const glm::dvec3& a = corners[i];
        const glm::dvec3& b = corners[i + 1];
        const glm::dvec3& c = corners[i + 2];
        const glm::dvec3 cross = glm::cross(b - a, c - a);
        const double twice = glm::length(cross);
        const double top = std::max({a.z, b.z, c.z});
        if (!(twice > 0) || std::abs(cross.z) > sideways * twice || top > seat + 1e-3 * widest)
            continue;
        const double outer = std::max({radius(a), radius(b), radius(c)});
        const double inner = std::min({radius(a), radius(b), radius(c)});
        // A slender cone looks sideways, too: it counts, and as no radius.
        sides.push_back({outer - inner <= one_radius * outer ? outer : 0, std::min({a.z, b.z, c.z}), top, twice});
    }
    if (sides.empty())
        return std::nullopt;
    std::stable_sort(sides.begin(), sides.end(), [](const Side& a, const Side& b) { return a.radius < b.radius; });
    double area = 0;
    for (const Side& side : sides)
        area += side.area;
    double so_far = 0;
    double shank = 0;
    for (const Side& side : sides)
        if ((so_far += side.area) >= area / 2) {
            shank = side.radius;
            break;
        }
    double alike = 0;
    double from = std::numeric_limits<double>::max();
    double to = std::numeric_limits<double>::lowest();
    for (const Side& side : sides)
        if (std::abs(side.radius - shank) <= one_radius * shank) {
            alike += side.area;
            from = std::min(from, side.low);
            to = std::max(to, side.high);
        }
    const double diameter = 2 * shank;
    if (!(shank > 0) || alike < of_one_radius * area || to - from < least_length * diameter ||
        from - low.z > longest_point * diameter)
        return std::nullopt;
    return diameter * scale * 1000;
}

} // namespace boltwalk
