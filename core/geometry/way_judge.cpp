#include "core/geometry/way_judge.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <tuple>

#include "core/geometry/rays.hpp"

namespace boltwalk {

namespace {

std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

constexpr double mm = 1000;
/// Depths at rest that are told apart, in millimetres. A depth is rounded up to the next, so a verdict may come that
/// much later; more levels cost a pose each.
constexpr std::array<double, 8> levels_mm{0, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0, way_rest_most_mm};
/// What faces that are meant to lie in one another differ by in floats, and a little more. Millimetres.
constexpr double coincide_mm = 0.02;
/// A stretch inside something shorter than this is a graze.
constexpr double graze_m = 0.5e-3;
/// Of what lies deep in another at rest so many triangles are looked at, evenly over all.
constexpr std::size_t sunk_samples = 384;

bool touch(const Bounds& a, const Bounds& b) {
    constexpr double near = 1e-5;
    return a.low.x <= b.high.x + near && a.high.x + near >= b.low.x && a.low.y <= b.high.y + near &&
           a.high.y + near >= b.low.y && a.low.z <= b.high.z + near && a.high.z + near >= b.low.z;
}

bool within(const Bounds& inner, const Bounds& outer) {
    return inner.low.x >= outer.low.x && inner.low.y >= outer.low.y && inner.low.z >= outer.low.z &&
           inner.high.x <= outer.high.x && inner.high.y <= outer.high.y && inner.high.z <= outer.high.z;
}

/// Bent or sprung open before it comes, so its shape as drawn blocks nothing of its own way.
bool is_sprung(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::split_pin:
    case FastenerKind::lock_wire:
    case FastenerKind::tab:
    case FastenerKind::clip:
    case FastenerKind::clamp:
    case FastenerKind::hanger:
        return true;
    default:
        return false;
    }
}

Standing standing_of(const Mover& mover) {
    Standing standing;
    for (const Piece& piece : mover.pieces)
        standing.pieces.push_back({piece.tree, piece.world, piece.sense, piece.mirrored, mover.bounds});
    return standing;
}

/// Of two that do not cross: is the piece inside the other? What only touches has some face that is not.
bool lies_inside(const Standing& other, const Standing::Piece& piece) {
    constexpr std::size_t looks = 4;
    const auto& triangles = piece.tree->triangles;
    for (std::size_t i = 0; i <= looks; ++i) {
        const Tree::Corners& t = triangles[i * (triangles.size() - 1) / looks];
        if (!is_inside(other, glm::dvec3(piece.world * glm::dvec4((t.a + t.b + t.c) / 3.0F, 1.0))))
            return false;
    }
    return true;
}

struct Crossing {
    float distance;
    int turn; ///< +1: into it
    bool own; ///< of the mover itself, where it lies at rest
};

void crossings(const Standing& standing, const glm::dvec3& from, const glm::dvec3& along, bool own,
               std::vector<Crossing>& out) {
    for (const Standing::Piece& piece : standing.pieces) {
        if (!piece.sense.closed)
            continue;
        const glm::dmat4 inverse = glm::inverse(piece.world);
        const glm::vec3 direction(glm::dmat3(inverse) * along);
        const MeshRay ray{glm::vec3(inverse * glm::dvec4(from, 1.0)), direction, 1.0F / direction};
        constexpr float far = std::numeric_limits<float>::max();
        std::array<std::uint32_t, 2 * deepest_tree> open{};
        std::size_t depth = 1;
        while (depth > 0) {
            const BoxTree::Node& node = piece.tree->boxes.nodes[open[--depth]];
            if (!touches(node, ray.from, ray.inverse, far))
                continue;
            if (node.count == 0) {
                open[depth++] = node.first + 1;
                open[depth++] = node.first;
                continue;
            }
            for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
                bool entering = false;
                const float distance = meets_triangle(piece.tree->triangles[i], ray, far, entering);
                if (distance >= 0)
                    out.push_back({distance, (entering != piece.mirrored) != piece.sense.inside_out ? 1 : -1, own});
            }
        }
    }
}

} // namespace

Tree box_tree(const Bounds& box) {
    Tree tree;
    if (box.empty())
        return tree;
    const auto corner = [&](unsigned i) {
        return glm::vec3((i & 1U) ? box.high.x : box.low.x, (i & 2U) ? box.high.y : box.low.y,
                         (i & 4U) ? box.high.z : box.low.z);
    };
    constexpr std::array<std::array<unsigned, 4>, 6> faces{
        {{0, 4, 6, 2}, {1, 3, 7, 5}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 2, 3, 1}, {4, 5, 7, 6}}};
    for (const auto& f : faces) {
        tree.triangles.push_back({corner(f[0]), corner(f[1]), corner(f[2])});
        tree.triangles.push_back({corner(f[0]), corner(f[2]), corner(f[3])});
    }
    for (std::uint32_t i = 0; i < 12; ++i)
        tree.numbers.push_back(i);
    tree.boxes.nodes.push_back({glm::vec3(box.low), 0, glm::vec3(box.high), 12});
    return tree;
}

WaysOut begin_answer(const Solids& solids, const WayAsked& asked) {
    WaysOut answer;
    answer.item = asked.item;
    answer.moving = asked.moving;
    std::sort(answer.moving.begin(), answer.moving.end());
    answer.moving.erase(std::unique(answer.moving.begin(), answer.moving.end()), answer.moving.end());
    if (!asked.item)
        return answer;
    const Map& map = *solids.map;
    if (map.is_part(asked.item)) {
        answer.tethers = map.part(asked.item).tether;
        answer.gives_way = map.part(asked.item).flexible;
    } else if (map.is_fastener(asked.item)) {
        answer.gives_way = is_sprung(map.fastener(asked.item).kind);
    }
    return answer;
}

std::size_t WayJudge::key_of(const Standing& standing) const {
    return standing.body >= 0 ? at(standing.body) : space_.solids->bodies.size() + at(standing.obstacle);
}

bool WayJudge::is_soft(const Standing& standing) const {
    if (gives_way_)
        return true;
    if (standing.body < 0)
        return false;
    const Map& map = *space_.solids->map;
    const ItemId item = space_.solids->bodies[at(standing.body)].item;
    if (!item)
        return false;
    if (map.is_part(item))
        return map.part(item).flexible;
    return map.is_fastener(item) && map.fastener(item).kind == FastenerKind::hanger;
}

double WayJudge::rest_mm(const Standing& standing) {
    const std::size_t key = key_of(standing);
    const auto known = rest_mm_.find(key);
    if (known != rest_mm_.end())
        return known->second;
    double& rest = rest_mm_[key];
    rest = 0;
    Standing close;
    close.body = standing.body;
    for (const Standing::Piece& piece : standing.pieces)
        if (touch(piece.bounds, mover_.bounds))
            close.pieces.push_back(piece);
    if (close.pieces.empty())
        return rest;
    const glm::dvec3 origin = mover_.bounds.centre();
    for (std::size_t level = 0; level < levels_mm.size(); ++level) {
        auto posed = at_rest_.find(static_cast<int>(level));
        if (posed == at_rest_.end()) {
            const double inset = (levels_mm[level] + coincide_mm) / mm;
            posed =
                at_rest_
                    .emplace(static_cast<int>(level), pose(mover_, frame_askew(origin), glm::dvec3(0.0), inset, false))
                    .first;
        }
        rest = levels_mm[level];
        if (first_contact(posed->second, close, 0, true) < 0)
            break;
        if (level + 1 == levels_mm.size())
            rest = deep;
    }
    // Surfaces that do not cross may still lie in one another: a thing in a solid block, or a block about a thing.
    if (rest < deep) {
        const Standing own = standing_of(mover_);
        for (const Standing::Piece& piece : own.pieces) {
            const BoxTree::Node& root = piece.tree->boxes.nodes[0];
            Bounds box;
            for (unsigned corner = 0; corner < 8; ++corner)
                box.add(glm::dvec3(piece.world * glm::dvec4((corner & 1U) ? root.high.x : root.low.x,
                                                            (corner & 2U) ? root.high.y : root.low.y,
                                                            (corner & 4U) ? root.high.z : root.low.z, 1.0)));
            if (std::any_of(close.pieces.begin(), close.pieces.end(),
                            [&](const Standing::Piece& other) { return within(box, other.bounds); }) &&
                lies_inside(close, piece))
                rest = deep;
        }
        for (const Standing::Piece& other : close.pieces)
            if (rest < deep && within(other.bounds, mover_.bounds) && lies_inside(own, other))
                rest = deep;
    }
    return rest;
}

namespace {

/// A ray from something's skin on its way: where does it begin to be inside `other`, but not inside what `own` fills at
/// rest, for longer than a graze? Negative: nowhere before `length`.
double entered(const Standing& own, const Standing& other, const glm::dvec3& from, const glm::dvec3& along,
               double length) {
    static thread_local std::vector<Crossing> met;
    met.clear();
    crossings(other, from, along, false, met);
    crossings(own, from, along, true, met);
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
        const double here = k < met.size() ? std::min<double>(met[k].distance, length) : length;
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

/// Points a little inside a standing thing's faces that look against `along`: there another meets it.
template <typename See>
void each_facing(const Standing& standing, const glm::dvec3& along, double inset, See&& see) {
    std::size_t all = 0;
    for (const Standing::Piece& piece : standing.pieces)
        all += piece.tree->triangles.size();
    const std::size_t stride = std::max<std::size_t>(1, all / sunk_samples);
    std::size_t number = 0;
    std::vector<Crossing> wall;
    for (const Standing::Piece& piece : standing.pieces)
        for (const Tree::Corners& t : piece.tree->triangles) {
            if (number++ % stride != 0)
                continue;
            const auto world = [&](const glm::vec3& p) { return glm::dvec3(piece.world * glm::dvec4(p, 1.0)); };
            const glm::dvec3 a = world(t.a);
            const glm::dvec3 b = world(t.b);
            const glm::dvec3 c = world(t.c);
            glm::dvec3 normal = glm::cross(b - a, c - a);
            const double size = glm::length(normal);
            if (!(size > 0))
                continue;
            normal *= (piece.mirrored != piece.sense.inside_out ? -1.0 : 1.0) / size;
            if (glm::dot(normal, along) >= 0)
                continue;
            const glm::dvec3 middle = (a + b + c) / 3.0;
            constexpr double off_m = 2e-5;
            wall.clear();
            crossings(standing, middle - normal * off_m, -normal, false, wall);
            double thick = 1;
            for (const Crossing& crossing : wall)
                thick = std::min<double>(thick, crossing.distance);
            see(middle - normal * std::min(inset, 0.45 * thick));
        }
}

} // namespace

WayJudge::Sunk WayJudge::enters_anew(const Standing& standing, const WayFrame& frame, const glm::dvec3& offset,
                                     double length) {
    const Standing own = standing_of(mover_);
    const glm::dmat3 back = glm::transpose(frame.to);
    const auto try_inset = [&](double inset_mm) {
        double first = -1;
        const Posed posed = pose(mover_, frame, offset, inset_mm / mm, true);
        std::size_t all = 0;
        for (const Posed::Piece& piece : posed.pieces)
            all += static_cast<std::size_t>(std::count(piece.counts.begin(), piece.counts.end(), 1));
        const std::size_t stride = std::max<std::size_t>(1, all / sunk_samples);
        std::size_t number = 0;
        for (const Posed::Piece& piece : posed.pieces)
            for (std::size_t i = 0; i < piece.triangles.size(); ++i) {
                if (!piece.counts[i] || number++ % stride != 0)
                    continue;
                const auto& t = piece.triangles[i];
                const glm::dvec3 from = frame.origin + back * glm::dvec3((t[0] + t[1] + t[2]) / 3.0F);
                first = sooner(first, entered(own, standing, from, back[2], length));
            }
        // And as the mover sees it: the other comes towards it.
        each_facing(standing, back[2], inset_mm / mm, [&](const glm::dvec3& from) {
            first = sooner(first, entered(standing, own, from - offset, -back[2], length));
        });
        return first;
    };
    const double blocked = try_inset(way_rest_most_mm + way_blocked_mm);
    if (blocked >= 0)
        return {Verdict::blocked, blocked * mm};
    const double undecided = try_inset(way_free_mm);
    if (undecided >= 0)
        return {Verdict::undecided, undecided * mm};
    return {};
}

namespace {

void in_order(LegAnswer& answer) {
    std::stable_sort(answer.met.begin(), answer.met.end(), [](const Meeting& a, const Meeting& b) {
        const bool blocks_a = a.verdict == Verdict::blocked;
        const bool blocks_b = b.verdict == Verdict::blocked;
        return blocks_a != blocks_b ? blocks_a : a.after_mm < b.after_mm;
    });
}

} // namespace

LegAnswer WayJudge::sweep(const glm::dvec3& offset, const glm::dvec3& leg, std::span<const std::uint8_t> there) {
    ++queries;
    LegAnswer answer;
    answer.leg = leg;
    const double length = glm::length(leg);
    if (!(length > 0) || mover_.pieces.empty())
        return answer;
    const WayFrame frame = frame_along(leg / length, mover_.bounds.centre() + offset);
    std::map<double, Posed> posed;
    const auto at_inset = [&](double inset_mm) -> const Posed& {
        auto found = posed.find(inset_mm);
        if (found == posed.end())
            found = posed.emplace(inset_mm, pose(mover_, frame, offset, inset_mm / mm, true)).first;
        return found->second;
    };
    constexpr double margin = 1e-5;
    for (const Standing& standing : standing_near(space_, mover_, offset, leg, margin, there)) {
        const double rest = rest_mm(standing);
        Meeting meeting;
        meeting.body = standing.body;
        meeting.obstacle = standing.obstacle;
        meeting.soft = is_soft(standing);
        if (rest >= deep) {
            const Sunk sunk = enters_anew(standing, frame, offset, length);
            if (sunk.verdict == Verdict::free)
                continue;
            meeting.verdict = sunk.verdict;
            meeting.after_mm = sunk.after_mm;
            meeting.rest_mm = way_rest_most_mm;
            answer.met.push_back(meeting);
            continue;
        }
        const Posed& slim = at_inset(rest + way_free_mm);
        if (first_contact(slim, standing, length, true) < 0)
            continue;
        meeting.rest_mm = rest;
        double after = first_contact(at_inset(rest + way_blocked_mm), standing, length, false);
        meeting.verdict = after >= 0 ? Verdict::blocked : Verdict::undecided;
        if (after < 0)
            after = first_contact(slim, standing, length, false);
        meeting.after_mm = after * mm;
        answer.met.push_back(meeting);
    }
    in_order(answer);
    return answer;
}

LegAnswer WayJudge::in_place(const Mover& turned, std::span<const std::uint8_t> there) {
    LegAnswer answer;
    constexpr double margin = 1e-5;
    const WayFrame frame = frame_askew(turned.bounds.centre());
    std::map<double, Posed> posed;
    for (const Standing& standing : standing_near(space_, turned, glm::dvec3(0.0), glm::dvec3(0.0), margin, there)) {
        const double rest = rest_mm(standing);
        if (rest >= deep)
            continue; // what it has cut out of the other is not known when it is turned
        const double inset = rest + way_blocked_mm;
        auto found = posed.find(inset);
        if (found == posed.end())
            found = posed.emplace(inset, pose(turned, frame, glm::dvec3(0.0), inset / mm, false)).first;
        if (first_contact(found->second, standing, 0, true) < 0)
            continue;
        Meeting meeting;
        meeting.body = standing.body;
        meeting.obstacle = standing.obstacle;
        meeting.soft = is_soft(standing);
        meeting.rest_mm = rest;
        answer.met.push_back(meeting);
    }
    in_order(answer);
    return answer;
}

} // namespace boltwalk
