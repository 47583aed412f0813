#include "core/geometry/way_judge.hpp"

#include <algorithm>
#include <array>

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
