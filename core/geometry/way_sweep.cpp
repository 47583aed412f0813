#include "core/geometry/way_sweep.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "core/geometry/crossings.hpp"

namespace boltwalk {

namespace {

/// A face of a closed mesh whose normal is less along the way than this is left out: its edges belong to others, too.
constexpr float sideways = 1e-4F;
constexpr float nowhere = std::numeric_limits<float>::infinity();

/// A placement's axes into a frame's, in floats.
struct Into {
    glm::mat3 linear{1.0F}, size{1.0F};
    glm::vec3 shift{0.0F};
    glm::vec3 operator()(const glm::vec3& p) const { return linear * p + shift; }
};

Into into(const WayFrame& frame, const glm::dmat4& world, const glm::dvec3& offset) {
    Into result;
    result.linear = glm::mat3(frame.to * glm::dmat3(world));
    result.shift = glm::vec3(frame.to * (glm::dvec3(world[3]) + offset - frame.origin));
    for (int column = 0; column < 3; ++column)
        result.size[column] = glm::abs(result.linear[column]);
    return result;
}

using ThreeCorners = std::array<glm::vec3, 3>;

float turn_of(const glm::vec3& a, const glm::vec3& b, const glm::vec3& p) {
    return (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
}

struct Gap {
    float least = nowhere, most = -nowhere;
    void add(float t) {
        least = std::min(least, t);
        most = std::max(most, t);
    }
};

/// By how much `moving` must go along z so that it meets `still`: over all points in which they cover each other, seen
/// along z. Those that bound this are corners over a face and edges over edges, so only these are looked at.
Gap gap_between(const ThreeCorners& moving, const ThreeCorners& still) {
    // by_moving[i][k]: on which side of edge i of `moving` corner k of `still` lies, and the other way round.
    std::array<std::array<float, 3>, 3> by_moving{};
    std::array<std::array<float, 3>, 3> by_still{};
    Gap gap;
    const float area = turn_of(moving[0], moving[1], moving[2]);
    const float other = turn_of(still[0], still[1], still[2]);
    for (std::size_t i = 0; i < 3; ++i) {
        const std::size_t next = (i + 1) % 3;
        bool apart = true;
        for (std::size_t k = 0; k < 3; ++k) {
            by_moving[i][k] = turn_of(moving[i], moving[next], still[k]);
            apart = apart && by_moving[i][k] * area < 0;
        }
        if (apart)
            return gap;
    }
    for (std::size_t i = 0; i < 3; ++i) {
        const std::size_t next = (i + 1) % 3;
        bool apart = true;
        for (std::size_t k = 0; k < 3; ++k) {
            by_still[i][k] = turn_of(still[i], still[next], moving[k]);
            apart = apart && by_still[i][k] * other < 0;
        }
        if (apart)
            return gap;
    }
    const auto same = [](float a, float b, float c) {
        return (a >= 0 && b >= 0 && c >= 0) || (a <= 0 && b <= 0 && c <= 0);
    };
    for (std::size_t k = 0; k < 3; ++k) {
        if (area != 0 && same(by_moving[0][k], by_moving[1][k], by_moving[2][k])) {
            const float height =
                (by_moving[1][k] * moving[0].z + by_moving[2][k] * moving[1].z + by_moving[0][k] * moving[2].z) / area;
            gap.add(still[k].z - height);
        }
        if (other != 0 && same(by_still[0][k], by_still[1][k], by_still[2][k])) {
            const float height =
                (by_still[1][k] * still[0].z + by_still[2][k] * still[1].z + by_still[0][k] * still[2].z) / other;
            gap.add(height - moving[k].z);
        }
    }
    for (std::size_t i = 0; i < 3; ++i) {
        const std::size_t next = (i + 1) % 3;
        for (std::size_t k = 0; k < 3; ++k) {
            const std::size_t after = (k + 1) % 3;
            const float a = by_moving[i][k];
            const float b = by_moving[i][after];
            const float c = by_still[k][i];
            const float d = by_still[k][next];
            if ((a > 0 && b > 0) || (a < 0 && b < 0) || (c > 0 && d > 0) || (c < 0 && d < 0) || a == b || c == d)
                continue;
            const float on_still = a / (a - b);
            const float on_moving = c / (c - d);
            gap.add(still[k].z + on_still * (still[after].z - still[k].z) -
                    (moving[i].z + on_moving * (moving[next].z - moving[i].z)));
        }
    }
    return gap;
}

struct Box {
    glm::vec3 low{nowhere}, high{-nowhere};
    void add(const glm::vec3& p) {
        low = glm::min(low, p);
        high = glm::max(high, p);
    }
};

Box box_of(const ThreeCorners& t) {
    return {glm::min(t[0], glm::min(t[1], t[2])), glm::max(t[0], glm::max(t[1], t[2]))};
}

/// Floats of positions near an origin; boxes are wider by this so that none is missed for rounding.
constexpr float rounding_m = 2e-6F;

/// Span of the way along z that is of interest; empty: stop.
struct Span {
    float from = 0, to = 0;
};

bool may_meet(const glm::vec3& low, const glm::vec3& high, const Box& still, const Span& part) {
    return low.x <= still.high.x && high.x >= still.low.x && low.y <= still.high.y && high.y >= still.low.y &&
           low.z + part.from <= still.high.z && high.z + part.to >= still.low.z;
}

/// Walks both trees; see(gap) for every pair of triangles that meets within the part of the way, returning what part is
/// of interest from then on.
template <typename See>
void each_gap(const Posing& how, const Posed& piece, const Standing::Piece& still, Span part, See&& see) {
    const Into to = into(how.frame, still.world, glm::dvec3(0.0));
    const bool facing_only = how.leading_only && still.sense.closed;
    const float sense = still.mirrored != still.sense.inside_out ? -1.0F : 1.0F;
    const auto& nodes = still.tree->boxes.nodes;
    const auto box_at = [&](std::uint32_t n) {
        const glm::vec3 middle = to(0.5F * (nodes[n].low + nodes[n].high));
        const glm::vec3 half = to.size * (0.5F * (nodes[n].high - nodes[n].low)) + rounding_m;
        return Box{middle - half, middle + half};
    };
    struct Open {
        std::uint32_t moving, still;
        Box box;
    };
    static thread_local std::vector<Open> open;
    static thread_local std::vector<ThreeCorners> leaf;
    ThreeCorners moving;
    open.clear();
    open.push_back({0, 0, box_at(0)});
    while (!open.empty()) {
        const Open now = open.back();
        open.pop_back();
        const Posed::Box& own_box = piece.boxes[now.moving];
        if (!may_meet(own_box.low, own_box.high, now.box, part))
            continue;
        const BoxTree::Node& mine = piece.tree->boxes.nodes[now.moving];
        const BoxTree::Node& theirs = nodes[now.still];
        if (mine.count == 0 || theirs.count == 0) {
            const glm::vec3 a = own_box.high - own_box.low;
            const glm::vec3 b = now.box.high - now.box.low;
            if (theirs.count > 0 || (mine.count == 0 && a.x + a.y + a.z > b.x + b.y + b.z)) {
                open.push_back({mine.first + 1, now.still, now.box});
                open.push_back({mine.first, now.still, now.box});
            } else {
                open.push_back({now.moving, theirs.first + 1, box_at(theirs.first + 1)});
                open.push_back({now.moving, theirs.first, box_at(theirs.first)});
            }
            continue;
        }
        leaf.clear();
        for (std::uint32_t k = theirs.first; k < theirs.first + theirs.count; ++k) {
            const Tree::Corners t = still.tree->triangle(k);
            const ThreeCorners corners{to(t.a), to(t.b), to(t.c)};
            if (facing_only && turn_of(corners[0], corners[1], corners[2]) * sense > 0)
                continue;
            const Box box = box_of(corners);
            if (may_meet(own_box.low, own_box.high, box, part))
                leaf.push_back(corners);
        }
        for (std::uint32_t i = mine.first; i < mine.first + mine.count && !leaf.empty(); ++i) {
            if (!piece.poser.triangle(i, moving))
                continue;
            const Box own = box_of(moving);
            for (const ThreeCorners& corners : leaf) {
                if (!may_meet(own.low, own.high, box_of(corners), part))
                    continue;
                const Gap gap = gap_between(moving, corners);
                if (gap.most < part.from || gap.least > part.to)
                    continue;
                part = see(gap);
                if (part.to < part.from)
                    return;
            }
        }
    }
}

} // namespace

WayFrame frame_along(const glm::dvec3& along, const glm::dvec3& origin) {
    // Across what it goes along least, so that a way along an axis gets axes for its frame.
    const glm::dvec3 size = glm::abs(along);
    glm::dvec3 across(1, 0, 0);
    if (size.y < size.x || size.z < size.x)
        across = size.y <= size.z ? glm::dvec3(0, 1, 0) : glm::dvec3(0, 0, 1);
    const glm::dvec3 u = glm::normalize(glm::cross(across, along));
    const glm::dvec3 v = glm::cross(along, u);
    return {glm::transpose(glm::dmat3(u, v, along)), origin};
}

WayFrame frame_askew(const glm::dvec3& origin) {
    // A twentieth of a degree off an axis: upright faces are seen as slivers and not as lines, and boxes of long flat
    // parts stay as thin as they are.
    return frame_along(glm::normalize(glm::dvec3(0.00071, 1.0, 0.00093)), origin);
}

Mover make_mover(const WaySpace& space, std::span<const std::int32_t> bodies) {
    const Solids& solids = *space.solids;
    Mover mover;
    mover.moves.assign(solids.bodies.size(), 0);
    for (const std::int32_t body : bodies) {
        if (mover.moves[at(body)])
            continue;
        mover.moves[at(body)] = 1;
        mover.bounds.add(solids.bodies[at(body)].bounds);
        for (const std::int32_t p : solids.bodies[at(body)].placements) {
            const Placement& placement = solids.placements[at(p)];
            const auto& skin = space.shapes->skins[at(p)];
            if (!skin)
                continue;
            mover.pieces.push_back({p, solids.meshes[at(placement.mesh)].get(), skin.get(),
                                    space.shapes->senses[at(placement.mesh)], placement.world,
                                    space.shapes->turns[at(p)].turn, placement.mirrored});
        }
    }
    return mover;
}

Mover turned_mover(const Mover& mover, const glm::dvec3& axis, const glm::dvec3& through, double sine, double cosine) {
    // Rodrigues' formula, column by column.
    glm::dmat3 turn(1.0);
    for (int column = 0; column < 3; ++column) {
        const glm::dvec3 unit = glm::dmat3(1.0)[column];
        turn[column] = unit * cosine + glm::cross(axis, unit) * sine + axis * glm::dot(axis, unit) * (1 - cosine);
    }
    glm::dmat4 move(turn);
    move[3] = glm::dvec4(through - turn * through, 1.0);
    Mover result = mover;
    result.bounds = {};
    for (Piece& piece : result.pieces) {
        piece.world = move * piece.world;
        piece.turn = turn * piece.turn;
        const BoxTree::Node& root = piece.tree->boxes.nodes[0];
        for (unsigned corner = 0; corner < 8; ++corner)
            result.bounds.add(glm::dvec3(piece.world * glm::dvec4((corner & 1U) ? root.high.x : root.low.x,
                                                                  (corner & 2U) ? root.high.y : root.low.y,
                                                                  (corner & 4U) ? root.high.z : root.low.z, 1.0)));
    }
    return result;
}

Poser::Poser(const Piece& piece, const Posing& how)
    : piece_(&piece), inward_(how.frame.to * piece.turn), inset_(static_cast<float>(how.inset_m)),
      sense_(piece.mirrored != piece.sense.inside_out ? -1.0F : 1.0F),
      leading_only_(how.leading_only && piece.sense.closed) {
    const Into to = into(how.frame, piece.world, how.offset);
    linear_ = to.linear;
    shift_ = to.shift;
}

ThreeCorners Poser::at_rest(std::size_t number) const {
    const Tree::Corners t = piece_->tree->triangle(number);
    return {linear_ * t.a + shift_, linear_ * t.b + shift_, linear_ * t.c + shift_};
}

bool Poser::leads(const ThreeCorners& corners) const {
    if (!leading_only_)
        return true;
    const glm::vec3 normal = glm::cross(corners[1] - corners[0], corners[2] - corners[0]);
    return normal.z * sense_ > sideways * glm::length(normal);
}

bool Poser::counts(std::size_t number) const {
    return !leading_only_ || leads(at_rest(number));
}

bool Poser::triangle(std::size_t number, ThreeCorners& out) const {
    out = at_rest(number);
    if (!leads(out))
        return false;
    const auto& vertices = piece_->tree->corners[number];
    for (std::size_t corner = 0; corner < 3; ++corner) {
        const std::uint32_t v = vertices[corner];
        out[corner] += (inward_ * piece_->skin->inward[v]) * std::min(inset_, piece_->skin->most[v]);
    }
    return true;
}

Posed pose(const Piece& piece, const Posing& how) {
    Posed out{Poser(piece, how), piece.tree, {}};
    const auto& nodes = piece.tree->boxes.nodes;
    out.boxes.resize(nodes.size());
    ThreeCorners corners;
    // Children stand behind their parents, so one walk from the end bounds everything.
    for (std::size_t n = nodes.size(); n-- > 0;) {
        Box box;
        if (nodes[n].count == 0) {
            const Posed::Box& a = out.boxes[nodes[n].first];
            const Posed::Box& b = out.boxes[nodes[n].first + 1];
            box = {glm::min(a.low, b.low), glm::max(a.high, b.high)};
        }
        for (std::uint32_t i = nodes[n].first; i < nodes[n].first + nodes[n].count; ++i)
            if (out.poser.triangle(i, corners))
                for (const glm::vec3& corner : corners)
                    box.add(corner);
        out.boxes[n] = {box.low, box.high};
    }
    return out;
}

namespace {

/// A box about all that a piece can be in a how.
Box about(const Piece& piece, const Posing& how) {
    const Into to = into(how.frame, piece.world, how.offset);
    const BoxTree::Node& root = piece.tree->boxes.nodes[0];
    const glm::vec3 middle = to(0.5F * (root.low + root.high));
    const glm::vec3 half = to.size * (0.5F * (root.high - root.low)) + rounding_m +
                           longest_miter * static_cast<float>(std::abs(how.inset_m));
    return {middle - half, middle + half};
}

Box about(const Standing::Piece& still, const Posing& how) {
    const Into to = into(how.frame, still.world, glm::dvec3(0.0));
    const BoxTree::Node& root = still.tree->boxes.nodes[0];
    const glm::vec3 middle = to(0.5F * (root.low + root.high));
    const glm::vec3 half = to.size * (0.5F * (root.high - root.low)) + rounding_m;
    return {middle - half, middle + half};
}

} // namespace

std::vector<double> first_contacts(const Mover& mover, const Posing& how, std::span<const Standing* const> all,
                                   double length, bool any) {
    struct Found {
        float best;
        bool met = false, done = false;
    };
    std::vector<Found> found(all.size(), Found{static_cast<float>(length)});
    for (const Piece& piece : mover.pieces) {
        const Box box = about(piece, how);
        std::optional<Posed> posed; // only once something comes near
        for (std::size_t s = 0; s < all.size(); ++s) {
            Found& one = found[s];
            for (const Standing::Piece& still : all[s]->pieces) {
                if (one.done)
                    break;
                if (!may_meet(box.low, box.high, about(still, how), {0, one.best}))
                    continue;
                if (!posed)
                    posed = pose(piece, how);
                each_gap(how, *posed, still, {0, one.best}, [&](const Gap& gap) {
                    one.best = std::max(gap.least, 0.0F);
                    one.met = true;
                    one.done = any || one.best <= 0;
                    return one.done ? Span{0, -1} : Span{0, one.best};
                });
            }
        }
    }
    std::vector<double> contacts;
    contacts.reserve(found.size());
    for (const Found& one : found)
        contacts.push_back(one.met ? static_cast<double>(one.best) : never_met);
    return contacts;
}

double first_room(const Mover& mover, const Posing& how, std::span<const Standing> all, double gap, double length) {
    const float room = static_cast<float>(2 * gap);
    float from = static_cast<float>(-gap);
    std::vector<Posed> posed;
    for (const Piece& piece : mover.pieces)
        posed.push_back(pose(piece, how));
    // What is met late may move the room on to where an earlier one is met again: until nothing does.
    for (bool moved_on = true; moved_on;) {
        moved_on = false;
        for (const Standing& standing : all)
            for (const Posed& piece : posed)
                for (const Standing::Piece& still : standing.pieces)
                    each_gap(how, piece, still, {from, from + room}, [&](const Gap& met) {
                        if (met.most > from + rounding_m) {
                            from = met.most;
                            moved_on = true;
                        }
                        return from > length ? Span{0, -1} : Span{from, from + room};
                    });
        if (from > length)
            return never_met;
    }
    return static_cast<double>(from) + gap;
}

namespace {

bool touch(const Bounds& a, const Bounds& b) {
    return a.low.x <= b.high.x && a.high.x >= b.low.x && a.low.y <= b.high.y && a.high.y >= b.low.y &&
           a.low.z <= b.high.z && a.high.z >= b.low.z;
}

} // namespace

std::vector<Standing> standing_near(const WaySpace& space, const Mover& mover, const glm::dvec3& offset,
                                    const glm::dvec3& leg, double margin, std::span<const std::uint8_t> there) {
    std::vector<Standing> near;
    if (mover.bounds.empty())
        return near;
    const Solids& solids = *space.solids;
    Bounds swept{mover.bounds.low + offset - margin, mover.bounds.high + offset + margin};
    swept.add(Bounds{swept.low + leg, swept.high + leg});
    const auto is_met = [&](const BoxTree::Node& node) {
        const Bounds box{glm::dvec3(node.low), glm::dvec3(node.high)};
        return touch(swept, box);
    };
    std::vector<std::int32_t> found = placements_where(solids, is_met);
    std::erase_if(found, [&](std::int32_t p) {
        const Placement& placement = solids.placements[at(p)];
        return mover.moves[at(placement.body)] || !(there.empty() || there[at(placement.body)]) ||
               !touch(swept, placement.bounds);
    });
    std::sort(found.begin(), found.end(), [&](std::int32_t a, std::int32_t b) {
        return std::pair(solids.placements[at(a)].body, a) < std::pair(solids.placements[at(b)].body, b);
    });
    for (const std::int32_t p : found) {
        const Placement& placement = solids.placements[at(p)];
        if (near.empty() || near.back().body != placement.body) {
            near.emplace_back();
            near.back().body = placement.body;
        }
        near.back().pieces.push_back({solids.meshes[at(placement.mesh)].get(), placement.world,
                                      space.shapes->senses[at(placement.mesh)], placement.mirrored, placement.bounds});
    }
    for (std::size_t i = 0; i < space.obstacles.size(); ++i) {
        const Bounds& box = space.obstacles[i].box;
        if (box.empty() || !touch(swept, box))
            continue;
        Standing& standing = near.emplace_back();
        standing.obstacle = static_cast<std::int32_t>(i);
        standing.pieces.push_back({&space.shapes->boxes[i], glm::dmat4(1.0), {true, false}, false, box});
    }
    return near;
}

Standing standing_of(const Mover& mover) {
    Standing standing;
    for (const Piece& piece : mover.pieces)
        standing.pieces.push_back({piece.tree, piece.world, piece.sense, piece.mirrored, mover.bounds});
    return standing;
}

bool is_inside(const Standing& standing, const glm::dvec3& point) {
    const glm::dvec3 along = glm::normalize(glm::dvec3(0.4127, 0.8231, -0.3907));
    int turns = 0;
    for (const Standing::Piece& piece : standing.pieces) {
        if (!piece.sense.closed || !touch(piece.bounds, {point, point}))
            continue;
        each_crossing(*piece.tree, piece.world, point, along,
                      [&](double, bool entering) { turns += entering ? 1 : -1; });
    }
    return turns != 0;
}

} // namespace boltwalk
