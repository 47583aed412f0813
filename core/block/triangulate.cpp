// Ears are cut one by one (D. Eberly, "Triangulation by Ear Clipping", describes the method; from memory). A hole is
// first joined to the outline by a bridge to the nearest corner that sees it. Where only corners in one line are left,
// the flat ear is put into the triangle beyond it, so that no triangle without area comes out and none is missing.
#include "core/block/triangulate.hpp"

#include <algorithm>
#include <limits>

namespace boltwalk::recipe {

namespace {

bool between(const GridPoint& a, const GridPoint& b, const GridPoint& p) {
    return std::min(a.x, b.x) <= p.x && p.x <= std::max(a.x, b.x) && std::min(a.y, b.y) <= p.y &&
           p.y <= std::max(a.y, b.y);
}

bool on(const GridPoint& a, const GridPoint& b, const GridPoint& p) {
    return turn(a, b, p) == 0 && between(a, b, p);
}

int sign(std::int64_t value) {
    return value > 0 ? 1 : value < 0 ? -1 : 0;
}

/// Touching counts.
bool cross(const GridPoint& a, const GridPoint& b, const GridPoint& c, const GridPoint& d) {
    if (std::max(a.x, b.x) < std::min(c.x, d.x) || std::max(c.x, d.x) < std::min(a.x, b.x) ||
        std::max(a.y, b.y) < std::min(c.y, d.y) || std::max(c.y, d.y) < std::min(a.y, b.y))
        return false;
    const int c1 = sign(turn(a, b, c));
    const int d1 = sign(turn(a, b, d));
    const int a1 = sign(turn(c, d, a));
    const int b1 = sign(turn(c, d, b));
    if (c1 * d1 < 0 && a1 * b1 < 0)
        return true;
    return (c1 == 0 && between(a, b, c)) || (d1 == 0 && between(a, b, d)) || (a1 == 0 && between(c, d, a)) ||
           (b1 == 0 && between(c, d, b));
}

using Triangle = std::array<std::uint32_t, 3>;

class Clipper {
public:
    explicit Clipper(std::span<const GridRing> rings) {
        for (const GridRing& ring : rings) {
            const auto first = static_cast<std::uint32_t>(points_.size());
            points_.insert(points_.end(), ring.begin(), ring.end());
            std::vector<std::uint32_t> corners;
            for (std::uint32_t i = first; i < points_.size(); ++i)
                corners.push_back(i);
            rings_.push_back(std::move(corners));
        }
    }

    std::optional<std::vector<Triangle>> run() {
        if (rings_.empty() || rings_[0].size() < 3)
            return std::nullopt;
        loop_ = rings_[0];
        std::vector<std::size_t> holes;
        std::vector<std::size_t> seen_from(rings_.size(), 0);
        for (std::size_t h = 1; h < rings_.size(); ++h) {
            holes.push_back(h);
            const auto& ring = rings_[h];
            for (std::size_t i = 1; i < ring.size(); ++i)
                if (point(ring[i]).x > point(ring[seen_from[h]]).x)
                    seen_from[h] = i;
        }
        // The rightmost first: it always sees a corner of what is joined already.
        std::stable_sort(holes.begin(), holes.end(), [&](std::size_t a, std::size_t b) {
            return point(rings_[a][seen_from[a]]).x > point(rings_[b][seen_from[b]]).x;
        });
        for (std::size_t k = 0; k < holes.size(); ++k)
            if (!join(holes[k], seen_from[holes[k]], std::span(holes).subspan(k)))
                return std::nullopt;
        return clip() ? std::optional(triangles_) : std::nullopt;
    }

private:
    const GridPoint& point(std::uint32_t i) const { return points_[i]; }

    /// Whether `to` lies strictly within the angle at the loop's corner `i`, the inside being to the left.
    bool within(const std::vector<std::uint32_t>& loop, std::size_t i, const GridPoint& to) const {
        const GridPoint& before = point(loop[(i + loop.size() - 1) % loop.size()]);
        const GridPoint& here = point(loop[i]);
        const GridPoint& after = point(loop[(i + 1) % loop.size()]);
        if (turn(before, here, after) > 0)
            return turn(before, here, to) > 0 && turn(here, after, to) > 0;
        return !(turn(after, here, to) >= 0 && turn(here, before, to) >= 0);
    }

    bool blocks(const std::vector<std::uint32_t>& loop, const GridPoint& from, const GridPoint& to) const {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const GridPoint& a = point(loop[i]);
            const GridPoint& b = point(loop[(i + 1) % loop.size()]);
            const bool a_is_end = a == from || a == to;
            const bool b_is_end = b == from || b == to;
            if (a_is_end || b_is_end) {
                if ((!a_is_end && on(from, to, a)) || (!b_is_end && on(from, to, b)))
                    return true;
            } else if (cross(from, to, a, b)) {
                return true;
            }
        }
        return false;
    }

    bool join(std::size_t hole, std::size_t corner, std::span<const std::size_t> open) {
        const auto& ring = rings_[hole];
        const GridPoint from = point(ring[corner]);
        std::vector<std::pair<std::int64_t, std::size_t>> near;
        near.reserve(loop_.size());
        for (std::size_t i = 0; i < loop_.size(); ++i) {
            const GridPoint& p = point(loop_[i]);
            near.emplace_back((p.x - from.x) * (p.x - from.x) + (p.y - from.y) * (p.y - from.y), i);
        }
        std::sort(near.begin(), near.end());
        for (const auto& [distance, i] : near) {
            const GridPoint to = point(loop_[i]);
            if (distance == 0 || !within(loop_, i, from) || !within(ring, corner, to) || blocks(loop_, from, to))
                continue;
            const bool seen =
                std::none_of(open.begin(), open.end(), [&](std::size_t h) { return blocks(rings_[h], from, to); });
            if (!seen)
                continue;
            std::vector<std::uint32_t> joined(loop_.begin(), loop_.begin() + static_cast<std::ptrdiff_t>(i) + 1);
            for (std::size_t k = 0; k <= ring.size(); ++k)
                joined.push_back(ring[(corner + k) % ring.size()]);
            joined.insert(joined.end(), loop_.begin() + static_cast<std::ptrdiff_t>(i), loop_.end());
            loop_ = std::move(joined);
            return true;
        }
        return false;
    }

    bool is_ear(std::size_t a, std::size_t b, std::size_t c) const {
        const GridPoint& pa = point(loop_[a]);
        const GridPoint& pb = point(loop_[b]);
        const GridPoint& pc = point(loop_[c]);
        if (turn(pa, pb, pc) <= 0)
            return false;
        const auto [low_x, high_x] = std::minmax({pa.x, pb.x, pc.x});
        const auto [low_y, high_y] = std::minmax({pa.y, pb.y, pc.y});
        for (std::size_t i = next_[c]; i != a; i = next_[i]) {
            const GridPoint& p = point(loop_[i]);
            if (p.x < low_x || p.x > high_x || p.y < low_y || p.y > high_y || p == pa || p == pb || p == pc)
                continue;
            if (turn(pa, pb, p) >= 0 && turn(pb, pc, p) >= 0 && turn(pc, pa, p) >= 0)
                return false;
        }
        return true;
    }

    bool clip() {
        std::size_t left = loop_.size();
        next_.resize(left);
        before_.resize(left);
        for (std::size_t i = 0; i < left; ++i) {
            next_[i] = (i + 1) % left;
            before_[i] = (i + left - 1) % left;
        }
        struct Flat {
            std::uint32_t a, b, c;
        };
        std::vector<Flat> flats;
        std::size_t b = 0;
        std::size_t tried = 0;
        while (left > 2) {
            const std::size_t a = before_[b];
            const std::size_t c = next_[b];
            // Of three in a row the first two rounds look for an ear with area only.
            if (is_ear(a, b, c)) {
                triangles_.push_back({loop_[a], loop_[b], loop_[c]});
            } else if (tried > left && turn(point(loop_[a]), point(loop_[b]), point(loop_[c])) == 0) {
                // A spike there and back closes with itself; a corner on a straight line goes into its neighbour.
                if (loop_[a] != loop_[c])
                    flats.push_back({loop_[a], loop_[b], loop_[c]});
            } else {
                if (++tried > 2 * left + 2)
                    return false;
                b = c;
                continue;
            }
            tried = 0;
            next_[a] = c;
            before_[c] = a;
            --left;
            b = next_[c];
        }
        for (auto flat = flats.rbegin(); flat != flats.rend(); ++flat)
            if (!put_in(flat->a, flat->b, flat->c) && !put_in(flat->c, flat->b, flat->a))
                return false;
        return true;
    }

    /// Splits the triangle that has the edge from a to c at b.
    bool put_in(std::uint32_t a, std::uint32_t b, std::uint32_t c) {
        for (std::size_t t = 0; t < triangles_.size(); ++t)
            for (std::size_t k = 0; k < 3; ++k) {
                const Triangle now = triangles_[t];
                if (now[k] != a || now[(k + 1) % 3] != c)
                    continue;
                const std::uint32_t d = now[(k + 2) % 3];
                triangles_[t] = {a, b, d};
                triangles_.push_back({b, c, d});
                return true;
            }
        return false;
    }

    std::vector<GridPoint> points_;
    std::vector<std::vector<std::uint32_t>> rings_;
    std::vector<std::uint32_t> loop_;
    std::vector<std::size_t> next_, before_;
    std::vector<Triangle> triangles_;
};

} // namespace

std::int64_t turn(const GridPoint& a, const GridPoint& b, const GridPoint& c) {
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

std::int64_t twice_area(const GridRing& ring) {
    std::int64_t sum = 0;
    for (std::size_t i = 1; i + 1 < ring.size(); ++i)
        sum += turn(ring[0], ring[i], ring[i + 1]);
    return sum;
}

bool meets_itself(const GridRing& ring) {
    const std::size_t n = ring.size();
    for (std::size_t i = 0; i < n; ++i) {
        const GridPoint& a = ring[i];
        const GridPoint& b = ring[(i + 1) % n];
        const GridPoint& c = ring[(i + 2) % n];
        // Neighbours share a corner: they meet elsewhere only where one folds back on the other.
        if (a == b || (turn(a, b, c) == 0 && (on(a, b, c) || on(b, c, a))))
            return true;
        for (std::size_t k = i + 2; k < n; ++k)
            if ((k + 1) % n != i && cross(a, b, ring[k], ring[(k + 1) % n]))
                return true;
    }
    return false;
}

bool meet(const GridRing& first, const GridRing& second) {
    for (std::size_t i = 0; i < first.size(); ++i)
        for (std::size_t k = 0; k < second.size(); ++k)
            if (cross(first[i], first[(i + 1) % first.size()], second[k], second[(k + 1) % second.size()]))
                return true;
    return false;
}

bool holds(const GridRing& ring, const GridPoint& p) {
    bool within = false;
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const GridPoint& a = ring[i];
        const GridPoint& b = ring[(i + 1) % ring.size()];
        if (on(a, b, p))
            return true;
        if ((a.y > p.y) != (b.y > p.y) && (turn(a, b, p) > 0) == (b.y > a.y))
            within = !within;
    }
    return within;
}

std::optional<std::vector<std::array<std::uint32_t, 3>>> triangulate(std::span<const GridRing> rings) {
    return Clipper(rings).run();
}

} // namespace boltwalk::recipe
