#include "core/geometry/head.hpp"

#include <algorithm>
#include <cmath>

#include "core/geometry/about_axis.hpp"

namespace boltwalk {

namespace {

/// What looks back along the axis by more than this (cosine) is an underside: it lies on something, nobody looks at it.
constexpr double underside = -0.999;

/// A closed body's signed volume is at least so large a share of its surface to the power 3/2 (a washer: 0.02, a ball:
/// 0.09); what is less is an open or flat shell, whose sense the sum does not tell.
constexpr double closed_volume = 1e-3;

double share_of(const Facet& facet, const glm::dvec3& axis) {
    const bool whole = axis == glm::dvec3(0.0);
    return whole ? facet.area : facet.area * 0.5 * std::max(0.0, 1.0 + glm::dot(facet.normal, axis));
}

double fraction(double x) {
    return x - std::floor(x);
}

Head head_of(const Solids& solids, const Fastener& fastener) {
    Head head;
    head.fastener = fastener.item;
    const Map& map = *solids.map;
    head.body = solids.body_of[at(fastener.item.index)];
    const std::int32_t node = map[fastener.item].node;
    if (node >= 0) {
        const auto& w = map.nodes[at(node)].world;
        const auto& a = fastener.axis;
        const glm::dvec3 along(w[0] * a[0] + w[4] * a[1] + w[8] * a[2], w[1] * a[0] + w[5] * a[1] + w[9] * a[2],
                               w[2] * a[0] + w[6] * a[1] + w[10] * a[2]);
        const double length = glm::length(along);
        if (length > 0 && std::isfinite(length))
            head.axis = along / length;
    }
    if (head.body < 0)
        return head;
    // The axis runs through the middle of the extents across it: a node's origin may lie anywhere.
    const Across side = across_of(head.axis);
    const glm::dvec3 u = side.u;
    const glm::dvec3 v = side.v;
    std::vector<glm::dvec3> corners;
    Bounds across;
    each_triangle_of(solids, head.body, [&](const Triangle& t) {
        for (const glm::dvec3& p : {t.a, t.b, t.c}) {
            corners.emplace_back(glm::dot(p, u), glm::dot(p, v), glm::dot(p, head.axis));
            across.add(corners.back());
        }
    });
    const glm::dvec3 middle = across.centre();
    const auto radius_of = [&](const glm::dvec3& p) { return glm::length(glm::dvec2(p) - glm::dvec2(middle)); };
    for (const glm::dvec3& p : corners)
        head.radius = std::max(head.radius, radius_of(p));
    double base = across.high.z;
    for (const glm::dvec3& p : corners)
        if (radius_of(p) >= head_radius_share * head.radius)
            base = std::min(base, p.z);
    const glm::dvec3 foot = middle.x * u + middle.y * v;
    head.base = foot + base * head.axis;
    head.top = foot + across.high.z * head.axis;
    return head;
}

} // namespace

std::vector<Head> heads_of(const Solids& solids) {
    std::vector<Head> heads;
    heads.reserve(solids.map->fasteners.size());
    for (const Fastener& fastener : solids.map->fasteners)
        heads.push_back(head_of(solids, fastener));
    return heads;
}

namespace {

/// A body's triangles that have an area, in order of placements and numbers: facets are worked out as they are asked
/// for, since all of them together would take more than the mesh.
class Surface {
public:
    Surface(const Solids& solids, std::int32_t body) {
        std::size_t count = 0;
        for (const std::int32_t p : solids.bodies[at(body)].placements)
            count += solids.meshes[at(solids.placements[at(p)].mesh)]->size();
        triangles_.reserve(count);
        const glm::dvec3 middle = solids.bodies[at(body)].bounds.centre();
        each_triangle_of(solids, body, [&](const Triangle& t) { triangles_.push_back(t); });
        // Trees may put triangles in another order one day; what stands in the file does not change.
        std::sort(triangles_.begin(), triangles_.end(), [](const Triangle& a, const Triangle& b) {
            return a.placement != b.placement ? a.placement < b.placement : a.number < b.number;
        });
        std::erase_if(triangles_, [](const Triangle& t) {
            const double twice = glm::length(glm::cross(t.b - t.a, t.c - t.a));
            return !(twice > 0) || !std::isfinite(twice);
        });
        double volume = 0;
        double area = 0;
        for (const Triangle& t : triangles_) {
            const glm::dvec3 cross = glm::cross(t.b - t.a, t.c - t.a);
            volume += glm::dot(t.a - middle, cross) / 6;
            area += 0.5 * glm::length(cross);
        }
        inside_out_ = volume < -closed_volume * area * std::sqrt(area);
    }
    std::size_t size() const { return triangles_.size(); }
    Facet operator[](std::size_t i) const {
        const Triangle& t = triangles_[i];
        const glm::dvec3 cross = glm::cross(t.b - t.a, t.c - t.a);
        const double twice = glm::length(cross);
        Facet facet{t.a, t.b, t.c, cross / twice, 0.5 * twice};
        if (inside_out_) {
            facet.normal = -facet.normal;
            std::swap(facet.b, facet.c);
        }
        return facet;
    }

private:
    std::vector<Triangle> triangles_;
    bool inside_out_ = false;
};

} // namespace

std::vector<Facet> facets_of(const Solids& solids, std::int32_t body) {
    const Surface surface(solids, body);
    std::vector<Facet> facets;
    facets.reserve(surface.size());
    for (std::size_t i = 0; i < surface.size(); ++i)
        facets.push_back(surface[i]);
    return facets;
}

std::vector<Facet> facets_of(const Solids& solids, const Head& head) {
    if (head.body < 0)
        return {};
    std::vector<Facet> facets = facets_of(solids, head.body);
    const double base = glm::dot(head.base, head.axis);
    std::erase_if(facets, [&](const Facet& f) {
        return glm::dot((f.a + f.b + f.c) / 3.0, head.axis) < base || glm::dot(f.normal, head.axis) < underside;
    });
    return facets;
}

namespace {

template <typename Facets>
std::vector<SurfacePoint> spread_over(const Facets& facets, const glm::dvec3& axis, int count) {
    double whole = 0;
    for (std::size_t i = 0; i < facets.size(); ++i)
        whole += share_of(facets[i], axis);
    std::vector<SurfacePoint> points;
    if (!(whole > 0) || count <= 0)
        return points;
    points.reserve(static_cast<std::size_t>(count));
    std::size_t f = 0;
    double before = 0;
    for (int k = 0; k < count; ++k) {
        const double wanted = whole * (k + 0.5) / count;
        while (f + 1 < facets.size() && before + share_of(facets[f], axis) <= wanted)
            before += share_of(facets[f++], axis);
        const Facet facet = facets[f];
        const double root = std::sqrt(fraction(0.5 + (k + 1) * 0.7548776662466927));
        const double across = fraction(0.5 + (k + 1) * 0.5698402909980532);
        const glm::dvec3 place =
            facet.a + root * (1 - across) * (facet.b - facet.a) + root * across * (facet.c - facet.a);
        const double share = share_of(facet, axis);
        if (share > 0)
            points.push_back({place, facet.normal, whole / count * facet.area / share});
    }
    return points;
}

} // namespace

std::vector<SurfacePoint> points_on(const std::vector<Facet>& facets, const glm::dvec3& axis, int count) {
    return spread_over(facets, axis, count);
}

std::vector<SurfacePoint> points_on(const Solids& solids, std::int32_t body, int count) {
    return spread_over(Surface(solids, body), glm::dvec3(0.0), count);
}

} // namespace boltwalk
