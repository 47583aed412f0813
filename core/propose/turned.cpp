#include "core/propose/turned.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/geometry/about_axis.hpp"

namespace boltwalk {

namespace {

/// Two tilts or distances (as a share of the widest) closer than this are one band: what tessellators round.
constexpr double same_tilt = 0.004, same_distance = 0.004;
/// Two directions whose cross product is below this are one: 1.5 degrees, so 120 sides are still told apart.
constexpr double same_direction = 0.026;
/// Gaps between neighbouring sides differ by no more than this share of their mean: flats of a hexagon are even, the
/// ribs of a casting are not.
constexpr double even_gaps = 0.12;
/// Beyond this (cosine with the axis) a facet is an end face.
constexpr double end_face = 0.985;
/// A facet whose normal leans sideways by less than this is turned, if roughly: a modelled thread.
constexpr double turned_lean = 0.3;
/// More than this share of odd facets is no turned shape: slots and keys' recesses stay below it.
constexpr double most_odd = 0.4;
/// The extents across differ by less than this share: a hexagon's flats and corners differ by 15.5 %.
constexpr double round_extents = 0.17;

struct Frame {
    glm::dvec3 a, u, v, c;
};

Frame frame_about(const glm::dvec3& axis, const glm::dvec3& centre) {
    const auto [u, v] = across_of(axis);
    return {axis, u, v, centre};
}

/// Eigenvectors of a symmetric matrix by Jacobi's rotations (from memory): square roots only.
std::array<glm::dvec3, 3> eigenvectors(glm::dmat3 m) {
    glm::dmat3 vectors(1.0);
    for (int sweep = 0; sweep < 24; ++sweep)
        for (int p = 0; p < 2; ++p)
            for (int q = p + 1; q < 3; ++q) {
                if (std::abs(m[q][p]) <= 1e-15 * (std::abs(m[p][p]) + std::abs(m[q][q])))
                    continue;
                const double theta = (m[q][q] - m[p][p]) / (2 * m[q][p]);
                const double t = (theta >= 0 ? 1 : -1) / (std::abs(theta) + std::sqrt(theta * theta + 1));
                const double c = 1 / std::sqrt(t * t + 1);
                const double s = t * c;
                glm::dmat3 turn(1.0);
                turn[p][p] = turn[q][q] = c;
                turn[q][p] = s;
                turn[p][q] = -s;
                m = glm::transpose(turn) * m * turn;
                vectors = vectors * turn;
            }
    return {vectors[0], vectors[1], vectors[2]};
}

struct Moments {
    glm::dvec3 centre{0.0};
    glm::dmat3 spread{0.0}, normals{0.0};
};

Moments moments_of(const std::vector<Facet>& facets) {
    Moments moments;
    double area = 0;
    for (const Facet& f : facets) {
        moments.centre += f.area * (f.a + f.b + f.c) / 3.0;
        area += f.area;
    }
    moments.centre /= area;
    for (const Facet& f : facets) {
        // Second moment of a triangle: its corners' and its middle's, 1 : 9 (exact for quadratic functions).
        for (const glm::dvec3& p : {f.a, f.b, f.c}) {
            const glm::dvec3 d = p - moments.centre;
            moments.spread += f.area / 12 * glm::outerProduct(d, d);
        }
        const glm::dvec3 d = (f.a + f.b + f.c) / 3.0 - moments.centre;
        moments.spread += f.area * 0.75 * glm::outerProduct(d, d);
        moments.normals += f.area * glm::outerProduct(f.normal, f.normal);
    }
    return moments;
}

bool even_across(const glm::dmat3& m, const Frame& frame, double tolerance) {
    const double uu = glm::dot(frame.u, m * frame.u);
    const double vv = glm::dot(frame.v, m * frame.v);
    const double uv = glm::dot(frame.u, m * frame.v);
    return std::abs(uu - vv) < tolerance * (uu + vv) && std::abs(uv) < 0.5 * tolerance * (uu + vv);
}

/// One lateral facet as the bands see it.
struct Side {
    double tilt = 0, distance = 0; ///< of its plane from the centre
    glm::dvec2 direction{0.0};     ///< across the axis, unit
    double area = 0, inner = 0, outer = 0, low = 0, high = 0;
    bool leans = false;
};

/// The band that these sides of one tilt and distance make, if they go evenly all the way round.
std::optional<Band> band_of(std::vector<Side*>& sides) {
    if (sides.size() < 6)
        return std::nullopt;
    std::sort(sides.begin(), sides.end(),
              [](const Side* a, const Side* b) { return around(a->direction) < around(b->direction); });
    std::vector<glm::dvec2> directions;
    std::vector<double> areas;
    for (const Side* s : sides) {
        const auto cross = [&](const glm::dvec2& d) { return std::abs(d.x * s->direction.y - d.y * s->direction.x); };
        if (!directions.empty() && cross(directions.back()) < same_direction &&
            glm::dot(directions.back(), s->direction) > 0) {
            areas.back() += s->area;
        } else {
            directions.push_back(s->direction);
            areas.push_back(s->area);
        }
    }
    if (directions.size() > 1 && glm::length(directions.front() - directions.back()) < same_direction) {
        areas.front() += areas.back();
        directions.pop_back();
        areas.pop_back();
    }
    const std::size_t n = directions.size();
    if (n < 6)
        return std::nullopt;
    double mean = 0;
    double widest = 0;
    double least = 4;
    for (std::size_t i = 0; i < n; ++i) {
        const double gap = glm::length(directions[(i + 1) % n] - directions[i]);
        mean += gap / static_cast<double>(n);
        widest = std::max(widest, gap);
        least = std::min(least, gap);
    }
    // Cylinders out of CAD come in uneven pieces: round enough is what has no wide gap. A full turn has chords that
    // add up to more than 6; what does not go round adds up to less, or has a wide gap.
    const bool even = widest < (1 + even_gaps) * mean && least > (1 - even_gaps) * mean;
    if (mean * static_cast<double>(n) < 5.9 || (!even && (n < 10 || widest > 0.8)))
        return std::nullopt;
    Band band;
    band.sides = static_cast<int>(n);
    if (n == 6 && *std::min_element(areas.begin(), areas.end()) < 0.7 * *std::max_element(areas.begin(), areas.end()))
        return std::nullopt;
    band.inner = 1e9;
    band.low = 1e9;
    band.high = -1e9;
    double inner = 0;
    for (const Side* s : sides) {
        band.area += s->area;
        band.tilt += s->area * s->tilt;
        inner += s->area * std::abs(s->inner);
        band.outer = std::max(band.outer, s->outer);
        band.low = std::min(band.low, s->low);
        band.high = std::max(band.high, s->high);
    }
    band.tilt /= band.area;
    band.inner = inner / band.area;
    band.inward = sides.front()->inner < 0;
    return band;
}

/// Into runs of neighbours that differ by less than `step`.
template <typename Value, typename See>
void each_run(std::vector<Side*>& sides, double step, Value&& value, See&& see) {
    std::sort(sides.begin(), sides.end(), [&](const Side* a, const Side* b) { return value(*a) < value(*b); });
    for (std::size_t first = 0; first < sides.size();) {
        std::size_t end = first + 1;
        while (end < sides.size() && value(*sides[end]) - value(*sides[end - 1]) < step)
            ++end;
        std::vector<Side*> run(sides.begin() + static_cast<std::ptrdiff_t>(first),
                               sides.begin() + static_cast<std::ptrdiff_t>(end));
        see(run);
        first = end;
    }
}

/// Whether the axis goes through the triangle, an edge or corner included.
bool is_met(const std::array<glm::dvec2, 3>& p, double scale) {
    const double slack = 1e-6 * scale * scale;
    int signs = 0;
    for (std::size_t i = 0; i < 3; ++i) {
        const glm::dvec2& a = p[i];
        const glm::dvec2& b = p[(i + 1) % 3];
        const double cross = a.x * b.y - a.y * b.x;
        signs |= cross > slack ? 1 : cross < -slack ? 2 : 0;
    }
    return signs != 3;
}

std::optional<TurnedShape> turned_about(const std::vector<Facet>& facets, const Frame& frame) {
    TurnedShape shape;
    shape.axis = frame.a;
    shape.centre = frame.c;
    shape.low = 1e9;
    shape.high = -1e9;
    shape.open = true;
    const auto flat = [&](const glm::dvec3& p) {
        return glm::dvec2(glm::dot(p - frame.c, frame.u), glm::dot(p - frame.c, frame.v));
    };
    glm::dvec2 least(1e9);
    glm::dvec2 most(-1e9);
    for (const Facet& f : facets)
        for (const glm::dvec3& p : {f.a, f.b, f.c}) {
            const glm::dvec2 at = flat(p);
            least = glm::min(least, at);
            most = glm::max(most, at);
            shape.widest = std::max(shape.widest, glm::length(at));
            shape.low = std::min(shape.low, glm::dot(p - frame.c, frame.a));
            shape.high = std::max(shape.high, glm::dot(p - frame.c, frame.a));
        }
    const glm::dvec2 size = most - least;
    if (std::abs(size.x - size.y) > round_extents * std::max(size.x, size.y))
        return std::nullopt;
    std::vector<Side> sides;
    sides.reserve(facets.size());
    double lateral = 0;
    for (const Facet& f : facets) {
        const std::array<glm::dvec2, 3> at{flat(f.a), flat(f.b), flat(f.c)};
        const double tilt = glm::dot(f.normal, frame.a);
        if (std::abs(tilt) > 0.1 && is_met(at, shape.widest))
            shape.open = false;
        if (std::abs(tilt) > end_face)
            continue;
        Side side;
        side.tilt = tilt;
        const glm::dvec2 across(glm::dot(f.normal, frame.u), glm::dot(f.normal, frame.v));
        side.direction = across / glm::length(across);
        side.distance = glm::dot(f.normal, f.a - frame.c);
        side.area = f.area;
        side.inner = glm::dot(side.direction, (at[0] + at[1] + at[2]) / 3.0);
        side.low = 1e9;
        side.high = -1e9;
        for (std::size_t i = 0; i < 3; ++i) {
            const glm::dvec3& p = i == 0 ? f.a : i == 1 ? f.b : f.c;
            side.outer = std::max(side.outer, glm::length(at[i]));
            side.low = std::min(side.low, glm::dot(p - frame.c, frame.a));
            side.high = std::max(side.high, glm::dot(p - frame.c, frame.a));
        }
        const glm::dvec2 middle = (at[0] + at[1] + at[2]) / 3.0;
        const double far = glm::length(middle);
        const double lean = far > 0 ? (side.direction.x * middle.y - side.direction.y * middle.x) / far : 1;
        side.leans = std::abs(lean) > turned_lean;
        lateral += side.area;
        sides.push_back(side);
    }
    if (!(lateral > 0))
        return std::nullopt;
    std::vector<Side*> all;
    all.reserve(sides.size());
    for (Side& side : sides)
        all.push_back(&side);
    double odd = 0;
    double even = 0;
    each_run(
        all, same_tilt, [](const Side& s) { return s.tilt; },
        [&](std::vector<Side*>& tilted) {
            each_run(
                tilted, same_distance * shape.widest, [](const Side& s) { return s.distance; },
                [&](std::vector<Side*>& run) {
                    if (auto band = band_of(run)) {
                        even += band->area;
                        shape.bands.push_back(*band);
                        return;
                    }
                    for (const Side* side : run)
                        odd += side->leans ? side->area : 0;
                });
        });
    if (shape.bands.empty())
        return std::nullopt;
    std::stable_sort(shape.bands.begin(), shape.bands.end(),
                     [](const Band& a, const Band& b) { return a.area > b.area; });
    shape.odd_share = odd / lateral;
    if (shape.odd_share > most_odd || even < 0.2 * lateral)
        return std::nullopt;
    return shape;
}

} // namespace

std::optional<TurnedShape> turned_shape(const std::vector<Facet>& facets) {
    if (facets.size() < 12 || facets.size() > most_facets)
        return std::nullopt;
    const Moments moments = moments_of(facets);
    std::vector<glm::dvec3> tried;
    std::optional<TurnedShape> best;
    const auto attempt = [&](glm::dvec3 axis) {
        const double length = glm::length(axis);
        if (!(length > 0) || !std::isfinite(length))
            return;
        axis /= length;
        // Exporters round: an axis that all but lies along one of the world's is that one.
        for (int k = 0; k < 3; ++k)
            if (std::abs(axis[k]) > 1 - 1e-7) {
                const double sign = axis[k] < 0 ? -1 : 1;
                axis = glm::dvec3(0.0);
                axis[k] = sign;
            }
        for (const glm::dvec3& before : tried)
            if (std::abs(glm::dot(before, axis)) > 1 - 1e-6)
                return;
        tried.push_back(axis);
        const Frame frame = frame_about(axis, moments.centre);
        if (!even_across(moments.spread, frame, 0.08) || !even_across(moments.normals, frame, 0.12))
            return;
        auto shape = turned_about(facets, frame);
        if (shape && (!best || shape->odd_share < best->odd_share - 1e-6))
            best = std::move(shape);
    };
    for (const glm::dvec3& axis : eigenvectors(moments.spread))
        attempt(axis);
    for (const glm::dvec3& axis : eigenvectors(moments.normals))
        attempt(axis);
    for (int k = 0; k < 3 && !best; ++k) {
        glm::dvec3 axis(0.0);
        axis[k] = 1;
        attempt(axis);
    }
    return best;
}

} // namespace boltwalk
