// Lines through the shells of a body.
#include "core/geometry/shells.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "core/geometry/crossings.hpp"

namespace boltwalk {

namespace {

/// Lines across a body, each way: so many along either side of its box. More: nearer to what shells in one another
/// share, and slower by the square.
constexpr int lines_across = 24;

using Hit = std::pair<double, int>; ///< height, and +1 where the line goes in, -1 where it comes out

/// So many hits are kept at once along each axis (8 MB, twice that as lists grow), or those of one row of lines where
/// that alone has more: a body can be 100,000 shells in one another.
constexpr std::size_t most_hits = 500000;

/// The lines along one axis, side by side over the body's box: row after row, as many at once as their hits allow.
struct Lines {
    int axis = 0, u = 1, v = 2;
    glm::dvec2 from{0.0}, step{0.0};
    std::vector<std::vector<Hit>> hits;
    std::size_t kept = 0;
    int row = 0, row_end = lines_across; ///< those that are met now

    Lines(const Bounds& box, int along) : axis(along), u((along + 1) % 3), v((along + 2) % 3) {
        const glm::dvec3 size = box.size();
        step = glm::dvec2(size[u], size[v]) / static_cast<double>(lines_across);
        from = glm::dvec2(box.low[u], box.low[v]) + 0.5 * step;
        hits.resize(std::size_t{lines_across} * lines_across);
    }
    glm::dvec2 place(int i, int k) const { return from + glm::dvec2(i, k) * step; }

    /// Numbers of the lines that may be between two places along a side.
    std::pair<int, int> between(double low, double high, int side) const {
        if (!(step[side] > 0))
            return {0, -1};
        const auto number = [&](double x) {
            return std::clamp((x - from[side]) / step[side], -1.0, 1.0 * lines_across);
        };
        const double first = number(low), last = number(high);
        if (!(first <= last)) // no numbers
            return {0, -1};
        return {std::max(static_cast<int>(std::floor(first)), 0),
                std::min(static_cast<int>(std::ceil(last)), lines_across - 1)};
    }

    void meet(const Triangle& t) {
        const std::array<glm::dvec2, 3> p{glm::dvec2(t.a[u], t.a[v]), {t.b[u], t.b[v]}, {t.c[u], t.c[v]}};
        const auto [first_i, last_i] =
            between(std::min({p[0].x, p[1].x, p[2].x}), std::max({p[0].x, p[1].x, p[2].x}), 0);
        const auto [first_k, last_k] =
            between(std::min({p[0].y, p[1].y, p[2].y}), std::max({p[0].y, p[1].y, p[2].y}), 1);
        for (int i = std::max(first_i, row); i <= last_i && i < row_end; ++i)
            for (int k = first_k; k <= last_k; ++k) {
                const glm::dvec2 line = place(i, k);
                const std::optional<LineMet> met = met_by_line({p[0] - line, p[1] - line, p[2] - line});
                if (!met)
                    continue;
                const auto& share = met->share;
                const double height = share[0] * t.a[axis] + share[1] * t.b[axis] + share[2] * t.c[axis];
                if (!std::isfinite(height))
                    continue;
                line_of(i, k).emplace_back(height, -met->turn);
                ++kept;
            }
        while (kept > most_hits && row_end - row > 1)
            leave_half();
    }

    /// What was met; then the rows that were left come next, with every triangle once more.
    void add_to(Shared& sum) {
        for (int i = row; i < row_end; ++i)
            for (int k = 0; k < lines_across; ++k) {
                std::vector<Hit>& line = line_of(i, k);
                int left = 0;
                for (const Hit& hit : line)
                    left += hit.second;
                if (left == 0)
                    add_line(line, place(i, k), sum);
                std::vector<Hit>().swap(line); // {} would keep its memory
            }
        kept = 0;
        row = row_end;
        row_end = lines_across;
    }

private:
    std::vector<Hit>& line_of(int i, int k) {
        return hits[static_cast<std::size_t>(i) * lines_across + static_cast<std::size_t>(k)];
    }

    /// The later half of the rows waits for another turn.
    void leave_half() {
        const int middle = row + (row_end - row) / 2;
        for (int i = middle; i < row_end; ++i)
            for (int k = 0; k < lines_across; ++k) {
                kept -= line_of(i, k).size();
                std::vector<Hit>().swap(line_of(i, k));
            }
        row_end = middle;
    }

    void add_line(std::vector<Hit>& line, const glm::dvec2& at, Shared& sum) const {
        std::sort(line.begin(), line.end());
        const double across = step.x * step.y;
        int depth = 0;
        double last = 0;
        for (const auto& [height, way] : line) {
            const double piece = (height - last) * across;
            if (depth > 0)
                sum.met += depth * piece;
            if (depth > 1) {
                glm::dvec3 middle;
                middle[axis] = 0.5 * (last + height);
                middle[u] = at.x;
                middle[v] = at.y;
                sum.twice += (depth - 1) * piece;
                sum.twice_moment += (depth - 1) * piece * middle;
            }
            depth += way;
            last = height;
        }
    }
};

} // namespace

Shared shared_by_shells(const Solids& solids, const Body& body) {
    std::array<Lines, 3> all{Lines(body.bounds, 0), Lines(body.bounds, 1), Lines(body.bounds, 2)};
    const auto index = static_cast<std::int32_t>(&body - solids.bodies.data());
    Shared sum;
    const auto any_left = [&] {
        return std::any_of(all.begin(), all.end(), [](const Lines& lines) { return lines.row < lines.row_end; });
    };
    while (any_left()) {
        each_triangle_of(solids, index, [&](const Triangle& t) {
            for (Lines& lines : all)
                lines.meet(t);
        });
        for (Lines& lines : all)
            lines.add_to(sum);
    }
    return sum;
}

} // namespace boltwalk
