// What lies deep in another at rest: one has cut its shape out of the other, and only what is entered anew counts.
#include <algorithm>
#include <array>
#include <tuple>

#include "core/geometry/crossings.hpp"
#include "core/geometry/way_judge.hpp"

namespace boltwalk {

namespace {

/// A stretch inside something shorter than this is a graze.
constexpr double graze_m = 0.5e-3;
/// Of what lies deep in another at rest so many triangles are looked at, evenly over all.
constexpr std::size_t sunk_samples = 384;

/// Thinner than this, and than a fifth of its length, is a sheet: gaskets, washers, shims.
constexpr double sheet_m = 0.003;

bool is_sheet(const Solids& solids, std::int32_t body) {
    const auto& placements = solids.bodies[at(body)].placements;
    return std::all_of(placements.begin(), placements.end(), [&](std::int32_t p) {
        const Placement& placement = solids.placements[at(p)];
        const BoxTree::Node& root = solids.meshes[at(placement.mesh)]->boxes.nodes[0];
        glm::dvec3 size = glm::dvec3(root.high) - glm::dvec3(root.low);
        for (int axis = 0; axis < 3; ++axis)
            size[axis] *= glm::length(glm::dvec3(placement.world[axis]));
        const double least = std::min({size.x, size.y, size.z});
        return least < sheet_m && least < 0.2 * std::max({size.x, size.y, size.z});
    });
}

/// Of two that fill the same place: has the moving body cut its shape out of what stands? A shank has, whatever it is
/// in; a sheet has not, for dowels go through it; else the smaller one. A jack or a floor cuts nothing.
bool cuts_out(const Solids& solids, std::int32_t moving, const Standing& standing) {
    if (standing.body < 0)
        return true;
    const auto has_shank = [&](std::int32_t body) {
        const ItemId item = solids.bodies[at(body)].item;
        if (!item || !solids.map->is_fastener(item))
            return false;
        switch (solids.map->fastener(item).kind) {
        case FastenerKind::nut:
        case FastenerKind::castle_nut:
        case FastenerKind::washer:
        case FastenerKind::spacer:
        case FastenerKind::shim:
            return false; // these go round one
        default:
            return true;
        }
    };
    const auto room = [&](std::int32_t body) {
        const glm::dvec3 size = solids.bodies[at(body)].bounds.size();
        return size.x * size.y * size.z;
    };
    if (has_shank(moving) != has_shank(standing.body))
        return has_shank(moving);
    if (is_sheet(solids, moving) != is_sheet(solids, standing.body))
        return is_sheet(solids, standing.body);
    return room(moving) <= room(standing.body);
}

struct Crossing {
    double distance;
    int turn; ///< +1: into it
    bool own; ///< of the mover itself, where it lies at rest
};

void crossings(const Standing& standing, const glm::dvec3& from, const glm::dvec3& along, bool own,
               std::vector<Crossing>& out) {
    for (const Standing::Piece& piece : standing.pieces) {
        if (!piece.sense.closed)
            continue;
        each_crossing(*piece.tree, piece.world, from, along, [&](double distance, bool entering) {
            out.push_back({distance, entering != piece.sense.inside_out ? 1 : -1, own});
        });
    }
}

/// A ray from something's skin on its way: where does it begin to be inside `other`, but not inside what `own` (if any)
/// fills at rest, for longer than a graze? Negative: nowhere before `length`.
double entered(const Standing* own, const Standing& other, const glm::dvec3& from, const glm::dvec3& along,
               double length) {
    static thread_local std::vector<Crossing> met;
    met.clear();
    crossings(other, from, along, false, met);
    if (met.empty())
        return -1;
    if (own != nullptr)
        crossings(*own, from, along, true, met);
    std::sort(met.begin(), met.end(), [](const Crossing& a, const Crossing& b) {
        return std::tie(a.distance, a.own, a.turn) < std::tie(b.distance, b.own, b.turn);
    });
    // Beyond the last crossing it is outside of both: count back to where the ray begins.
    int in_other = 0;
    int in_own = 0;
    for (const Crossing& crossing : met)
        (crossing.own ? in_own : in_other) -= crossing.turn;
    double before = 0;
    double inside = 0;
    for (std::size_t k = 0; k <= met.size() && before < length; ++k) {
        const double here = k < met.size() ? std::min(met[k].distance, length) : length;
        if (in_other != 0 && in_own == 0) {
            inside += here - before;
            if (inside > graze_m)
                return before;
        }
        before = here;
        if (k < met.size())
            (met[k].own ? in_own : in_other) += met[k].turn;
    }
    return -1;
}

/// The first of two distances that are negative where there is none.
double sooner(double a, double b) {
    return a < 0 ? b : b < 0 ? a : std::min(a, b);
}

/// The middle of a triangle, and where only a part of it lies in the box, the middle of that: of the long faces of a
/// shank only a little lies in a thin sheet.
template <typename See>
void each_middle(const std::array<glm::dvec3, 3>& triangle, const Bounds& box, See&& see) {
    see((triangle[0] + triangle[1] + triangle[2]) / 3.0);
    std::vector<glm::dvec3> outline(triangle.begin(), triangle.end());
    std::vector<glm::dvec3> kept;
    bool whole = true;
    for (int axis = 0; axis < 3; ++axis)
        for (const double sign : {1.0, -1.0}) {
            const double wall = sign > 0 ? box.low[axis] : -box.high[axis];
            kept.clear();
            for (std::size_t i = 0; i < outline.size(); ++i) {
                const glm::dvec3& a = outline[i];
                const glm::dvec3& b = outline[(i + 1) % outline.size()];
                const double da = sign * a[axis] - wall;
                const double db = sign * b[axis] - wall;
                if (da >= 0)
                    kept.push_back(a);
                whole = whole && da >= 0;
                if ((da > 0 && db < 0) || (da < 0 && db > 0))
                    kept.push_back(a + da / (da - db) * (b - a));
            }
            outline.swap(kept);
            if (outline.empty())
                return;
        }
    if (whole)
        return;
    glm::dvec3 sum(0.0);
    for (const glm::dvec3& p : outline)
        sum += p;
    see(sum / static_cast<double>(outline.size()));
}

/// Points a little inside a standing thing's faces, but for those that look along `along`: there another meets it.
/// `near` is where that may be.
template <typename See>
void each_facing(const Standing& standing, const glm::dvec3& along, double inset, const Bounds& near, See&& see) {
    std::size_t all = 0;
    for (const Standing::Piece& piece : standing.pieces)
        all += piece.tree->size();
    const std::size_t stride = std::max<std::size_t>(1, all / sunk_samples);
    std::size_t number = 0;
    std::vector<Crossing> wall;
    for (const Standing::Piece& piece : standing.pieces)
        for (std::size_t i = 0; i < piece.tree->size(); ++i) {
            if (number++ % stride != 0)
                continue;
            const Tree::Corners t = piece.tree->triangle(i);
            const auto world = [&](const glm::vec3& p) { return glm::dvec3(piece.world * glm::dvec4(p, 1.0)); };
            const glm::dvec3 a = world(t.a);
            const glm::dvec3 b = world(t.b);
            const glm::dvec3 c = world(t.c);
            glm::dvec3 normal = glm::cross(b - a, c - a);
            const double size = glm::length(normal);
            if (!(size > 0))
                continue;
            normal *= (piece.mirrored != piece.sense.inside_out ? -1.0 : 1.0) / size;
            constexpr double across = 1e-3;
            if (glm::dot(normal, along) >= across)
                continue;
            each_middle({a, b, c}, near, [&](const glm::dvec3& middle) {
                constexpr double off_m = 2e-5;
                wall.clear();
                crossings(standing, middle - normal * off_m, -normal, false, wall);
                double thick = 1;
                for (const Crossing& crossing : wall)
                    thick = std::min(thick, crossing.distance);
                see(middle - normal * std::min(inset, 0.45 * thick));
            });
        }
}

} // namespace

// Where two fill the same place, one has cut its shape out of the other: its skin is the wall of the hole. What it cuts
// meets the hole's wall, and of the other only what lies outside of the hole is there to be met.
WayJudge::Sunk WayJudge::enters_anew(const Standing& standing, const WayFrame& frame, const glm::dvec3& offset,
                                     double length) {
    const Standing own = standing_of(mover_);
    Standing cutting;
    Standing cut;
    std::vector<std::uint8_t> cuts(mover_.pieces.size(), 0);
    for (std::size_t p = 0; p < mover_.pieces.size(); ++p) {
        const std::int32_t body = space_.solids->placements[at(mover_.pieces[p].placement)].body;
        cuts[p] = cuts_out(*space_.solids, body, standing) ? 1 : 0;
        (cuts[p] ? cutting : cut).pieces.push_back(own.pieces[p]);
    }
    const glm::dmat3 back = glm::transpose(frame.to);
    const glm::dvec3 leg = back[2] * length;
    Bounds ahead; // where the mover may meet it, as it stands before the leg
    for (const Standing::Piece& piece : standing.pieces) {
        ahead.add(piece.bounds);
        ahead.add({piece.bounds.low - leg, piece.bounds.high - leg});
    }
    Bounds swept{mover_.bounds.low + offset, mover_.bounds.high + offset};
    swept.add(Bounds{swept.low + leg, swept.high + leg});
    const auto try_inset = [&](double inset_mm) {
        double first = -1;
        const Posing how{frame, offset, inset_mm / mm_per_m, true};
        std::size_t all = 0;
        for (const Piece& piece : mover_.pieces) {
            const Poser poser(piece, how);
            for (std::size_t i = 0; i < piece.tree->size(); ++i)
                all += poser.counts(i) ? 1U : 0U;
        }
        const std::size_t stride = std::max<std::size_t>(1, all / sunk_samples);
        std::size_t number = 0;
        std::array<glm::vec3, 3> t;
        for (std::size_t p = 0; p < mover_.pieces.size(); ++p) {
            const Poser poser(mover_.pieces[p], how);
            for (std::size_t i = 0; i < mover_.pieces[p].tree->size(); ++i) {
                if (!poser.counts(i) || number++ % stride != 0)
                    continue;
                poser.triangle(i, t);
                const auto world = [&](const glm::vec3& q) { return frame.origin + back * glm::dvec3(q); };
                each_middle({world(t[0]), world(t[1]), world(t[2])}, ahead, [&](const glm::dvec3& from) {
                    if (cuts[p])
                        first = sooner(first, entered(&own, standing, from, back[2], length));
                    else if (!is_inside(standing, from - offset))
                        first = sooner(first, entered(nullptr, standing, from, back[2], length));
                });
            }
        }
        // And as the mover sees it: the other comes towards it.
        each_facing(standing, back[2], inset_mm / mm_per_m, swept, [&](const glm::dvec3& from) {
            if (!cutting.pieces.empty() && !is_inside(own, from))
                first = sooner(first, entered(nullptr, cutting, from - offset, -back[2], length));
            first = sooner(first, entered(&standing, cut, from - offset, -back[2], length));
        });
        return first;
    };
    const double blocked = try_inset(way_rest_most_mm + way_blocked_mm);
    if (blocked >= 0)
        return {Verdict::blocked, blocked * mm_per_m};
    const double undecided = try_inset(way_free_mm);
    if (undecided >= 0)
        return {Verdict::undecided, undecided * mm_per_m};
    return {};
}

} // namespace boltwalk
