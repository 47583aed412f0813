// Congruent shapes. Corners decide: first counts and sizes that no turn changes, then a turn (or a mirror and a turn)
// that lays every corner of one on a corner of the other.
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "core/geometry/bits.hpp"
#include "core/propose/propose.hpp"

namespace boltwalk {

namespace {

/// Turns tried before two shapes count as different; each mostly ends at its first corner.
constexpr std::size_t most_first = 96, most_second = 24;
/// Corners tried before all are.
constexpr std::size_t sampled = 24;

std::vector<glm::dvec3> corners_of(const Solids& solids, const Placement& placement) {
    const Tree& tree = *solids.meshes[at(placement.mesh)];
    std::vector<glm::dvec3> corners(tree.places());
    glm::dvec3 middle(0.0);
    for (std::size_t i = 0; i < corners.size(); ++i) {
        corners[i] = glm::dvec3(placement.world * glm::dvec4(glm::dvec3(tree.vertices[i]), 1.0));
        middle += corners[i] / static_cast<double>(corners.size());
    }
    for (glm::dvec3& p : corners)
        p -= middle;
    return corners;
}

double tolerance_of(double size) {
    return std::max(alike_mm * 1e-3, alike_share * size);
}

/// Corners by the cell of a grid that they lie in.
class Grid {
public:
    Grid(const std::vector<glm::dvec3>& corners, double tolerance)
        : corners_(corners), tolerance_(tolerance), cell_(4 * tolerance) {
        for (std::size_t i = 0; i < corners.size(); ++i)
            cells_.emplace_back(key(cell_of(corners[i])), static_cast<std::uint32_t>(i));
        std::sort(cells_.begin(), cells_.end());
    }
    bool has(const glm::dvec3& p) const {
        // A cell is four tolerances wide: at most two of them lie within reach on each axis.
        const glm::dvec3 low = cell_of(p - glm::dvec3(tolerance_));
        const glm::dvec3 more = cell_of(p + glm::dvec3(tolerance_)) - low;
        for (int x = 0; x <= int(more.x); ++x)
            for (int y = 0; y <= int(more.y); ++y)
                for (int z = 0; z <= int(more.z); ++z) {
                    const std::uint64_t wanted = key(low + glm::dvec3(x, y, z));
                    for (auto it = std::lower_bound(cells_.begin(), cells_.end(), std::pair(wanted, std::uint32_t{0}));
                         it != cells_.end() && it->first == wanted; ++it)
                        if (glm::length(corners_[it->second] - p) <= tolerance_)
                            return true;
                }
        return false;
    }

private:
    glm::dvec3 cell_of(const glm::dvec3& p) const { return glm::floor(p / cell_); }
    static std::uint64_t key(const glm::dvec3& cell) {
        std::uint64_t h = 0x9e3779b97f4a7c15U;
        for (int k = 0; k < 3; ++k)
            h = mix(h ^ static_cast<std::uint64_t>(static_cast<std::int64_t>(cell[k])));
        return h;
    }
    const std::vector<glm::dvec3>& corners_;
    double tolerance_, cell_;
    std::vector<std::pair<std::uint64_t, std::uint32_t>> cells_;
};

/// The corner whose distance from the middle the fewest others share, and not near the middle: few turns to try.
std::size_t rarest(const std::vector<glm::dvec3>& corners, double size, double tolerance) {
    std::vector<std::pair<double, std::size_t>> far;
    for (std::size_t i = 0; i < corners.size(); ++i)
        if (const double r = glm::length(corners[i]); r > 0.4 * size)
            far.emplace_back(r, i);
    std::sort(far.begin(), far.end());
    std::size_t best = far.back().second;
    std::size_t fewest = corners.size() + 1;
    for (std::size_t first = 0; first < far.size();) {
        std::size_t end = first + 1;
        while (end < far.size() && far[end].first - far[end - 1].first < 2 * tolerance)
            ++end;
        if (end - first <= fewest) { // of equals the farthest, which turns are the surest by
            fewest = end - first;
            best = far[first].second;
        }
        first = end;
    }
    return best;
}

glm::dmat3 base_of(const glm::dvec3& first, const glm::dvec3& second) {
    const glm::dvec3 x = glm::normalize(first);
    const glm::dvec3 z = glm::normalize(glm::cross(first, second));
    return {x, glm::cross(z, x), z};
}

/// Whether some turn lays all of a's corners on b's; with `mirror`, of a's image in a mirror.
bool turns_onto(std::vector<glm::dvec3> a, const std::vector<glm::dvec3>& b, bool mirror) {
    if (a.size() != b.size() || a.empty())
        return false;
    if (mirror)
        for (glm::dvec3& p : a)
            p.x = -p.x;
    double size = 0;
    for (const glm::dvec3& p : a)
        size = std::max(size, glm::length(p));
    if (!(size > 0))
        return true;
    const double tolerance = tolerance_of(size);
    const glm::dvec3 first = a[rarest(a, size, tolerance)];
    glm::dvec3 second(0.0);
    double widest = 0;
    for (const glm::dvec3& p : a)
        if (const double across = glm::length(glm::cross(first, p)); across > widest * (1 + 1e-9)) {
            widest = across;
            second = p;
        }
    if (widest < 1e-3 * size * size)
        return false; // on one line: no shape
    const glm::dmat3 from = glm::transpose(base_of(first, second));
    const Grid grid(b, tolerance);
    const double r1 = glm::length(first);
    const double r2 = glm::length(second);
    const double d = glm::length(first - second);
    std::size_t firsts = 0;
    for (const glm::dvec3& p : b) {
        if (std::abs(glm::length(p) - r1) > tolerance)
            continue;
        if (++firsts > most_first)
            return false;
        std::size_t seconds = 0;
        for (const glm::dvec3& q : b) {
            if (std::abs(glm::length(q) - r2) > tolerance || std::abs(glm::length(p - q) - d) > tolerance)
                continue;
            if (++seconds > most_second)
                break;
            const glm::dmat3 turn = base_of(p, q) * from;
            const auto lies = [&](std::size_t i) { return grid.has(turn * a[i]); };
            bool all = true;
            for (std::size_t k = 0; k < sampled && all; ++k)
                all = lies(k * a.size() / sampled);
            for (std::size_t i = 0; i < a.size() && all; ++i)
                all = lies(i);
            if (all)
                return true;
        }
    }
    return false;
}

/// One mesh at one scale: all its placements are congruent by themselves.
struct Shape {
    std::size_t placement = 0; ///< the first
    std::int32_t mesh = -1;
    std::array<double, 6> gram{};
    std::size_t corners = 0, triangles = 0;
    double spread = 0; ///< mean square distance of the corners from their middle
    std::size_t set = 0;
    bool mirrored = false; ///< against the set's first shape
};

std::array<double, 6> gram_of(const glm::dmat4& m) {
    const glm::dvec3 x(m[0]);
    const glm::dvec3 y(m[1]);
    const glm::dvec3 z(m[2]);
    return {glm::dot(x, x), glm::dot(y, y), glm::dot(z, z), glm::dot(x, y), glm::dot(y, z), glm::dot(z, x)};
}

bool same_gram(const std::array<double, 6>& a, const std::array<double, 6>& b) {
    for (std::size_t i = 0; i < 6; ++i)
        if (std::abs(a[i] - b[i]) > 2 * alike_share * std::max(a[0], 1e-30))
            return false;
    return true;
}

} // namespace

std::vector<AlikeSet> find_alike(const Solids& solids) {
    std::vector<Shape> shapes;
    std::vector<std::size_t> shape_of(solids.placements.size());
    std::map<std::int32_t, std::vector<std::size_t>> of_mesh;
    for (std::size_t p = 0; p < solids.placements.size(); ++p) {
        const Placement& placement = solids.placements[p];
        const auto gram = gram_of(placement.world);
        std::vector<std::size_t>& known = of_mesh[placement.mesh];
        const auto same =
            std::find_if(known.begin(), known.end(), [&](std::size_t s) { return same_gram(shapes[s].gram, gram); });
        if (same != known.end()) {
            shape_of[p] = *same;
            continue;
        }
        shape_of[p] = shapes.size();
        known.push_back(shapes.size());
        Shape shape;
        shape.placement = p;
        shape.mesh = placement.mesh;
        shape.gram = gram;
        shape.triangles = solids.meshes[at(placement.mesh)]->size();
        const std::vector<glm::dvec3> corners = corners_of(solids, placement);
        shape.corners = corners.size();
        for (const glm::dvec3& c : corners)
            shape.spread += glm::dot(c, c) / static_cast<double>(corners.size());
        shapes.push_back(shape);
    }
    // Candidates stand side by side once sorted; ties stay in file order.
    std::vector<std::size_t> order(shapes.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        const Shape& p = shapes[a];
        const Shape& q = shapes[b];
        return std::tie(p.corners, p.triangles, p.spread) < std::tie(q.corners, q.triangles, q.spread);
    });
    std::vector<std::vector<std::size_t>> classes;
    for (std::size_t i = 0; i < order.size(); ++i) {
        Shape& shape = shapes[order[i]];
        std::vector<glm::dvec3> corners;
        bool found = false;
        for (std::size_t c = classes.size(); c-- > 0 && !found;) {
            const Shape& first = shapes[classes[c].front()];
            const double size = std::sqrt(shape.spread);
            if (first.corners != shape.corners || first.triangles != shape.triangles ||
                size - std::sqrt(first.spread) > 2 * tolerance_of(size))
                break;
            if (corners.empty())
                corners = corners_of(solids, solids.placements[shape.placement]);
            const auto others = corners_of(solids, solids.placements[first.placement]);
            const bool turned = turns_onto(others, corners, false);
            if (!turned && !turns_onto(others, corners, true))
                continue;
            shape.set = c;
            shape.mirrored = !turned;
            classes[c].push_back(order[i]);
            found = true;
        }
        if (!found) {
            shape.set = classes.size();
            classes.push_back({order[i]});
        }
    }
    // Whether a class looks the same in a mirror is asked only where a mirror is met.
    std::vector<int> symmetric(classes.size(), -1);
    const auto is_symmetric = [&](std::size_t c) {
        if (symmetric[c] < 0) {
            const auto corners = corners_of(solids, solids.placements[shapes[classes[c].front()].placement]);
            symmetric[c] = turns_onto(corners, corners, true) ? 1 : 0;
        }
        return symmetric[c] == 1;
    };
    std::vector<AlikeSet> sets;
    std::vector<std::int32_t> place_of(classes.size(), -1);
    for (std::size_t p = 0; p < solids.placements.size(); ++p) {
        const Shape& shape = shapes[shape_of[p]];
        if (place_of[shape.set] < 0) {
            place_of[shape.set] = static_cast<std::int32_t>(sets.size());
            sets.emplace_back();
        }
        AlikeSet& set = sets[at(place_of[shape.set])];
        const bool flipped = solids.placements[p].mirrored != solids.placements[shape.placement].mirrored;
        set.nodes.push_back(solids.placements[p].node);
        set.mirrored.push_back(shape.mirrored != flipped && !is_symmetric(shape.set));
    }
    for (AlikeSet& set : sets)
        if (set.mirrored.front())
            set.mirrored.flip(); // the first in the file is the one that others are images of
    return sets;
}

} // namespace boltwalk
