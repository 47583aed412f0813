#include "core/geometry/way_judge.hpp"

#include <algorithm>
#include <array>

namespace boltwalk {

namespace {

/// Depths at rest that are told apart, in millimetres. A depth is rounded up to the next, so a verdict may come that
/// much later; more levels cost a pose each.
constexpr std::array<double, 8> levels_mm{0, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0, way_rest_most_mm};
/// What faces that are meant to lie in one another differ by in floats, and a little more. Millimetres.
constexpr double coincide_mm = 0.02;

bool nearly_touch(const Bounds& a, const Bounds& b) {
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
    for (std::size_t i = 0; i <= looks; ++i) {
        const Tree::Corners t = piece.tree->triangle(i * (piece.tree->size() - 1) / looks);
        if (!is_inside(other, glm::dvec3(piece.world * glm::dvec4((t.a + t.b + t.c) / 3.0F, 1.0))))
            return false;
    }
    return true;
}

/// Does a piece of either lie inside the other?
bool encloses(const Standing& other, const Standing& own, const Bounds& own_bounds) {
    for (const Standing::Piece& piece : own.pieces) {
        const BoxTree::Node& root = piece.tree->boxes.nodes[0];
        Bounds box;
        for (unsigned corner = 0; corner < 8; ++corner)
            box.add(glm::dvec3(piece.world * glm::dvec4((corner & 1U) ? root.high.x : root.low.x,
                                                        (corner & 2U) ? root.high.y : root.low.y,
                                                        (corner & 4U) ? root.high.z : root.low.z, 1.0)));
        if (std::any_of(other.pieces.begin(), other.pieces.end(),
                        [&](const Standing::Piece& round) { return within(box, round.bounds); }) &&
            lies_inside(other, piece))
            return true;
    }
    return std::any_of(other.pieces.begin(), other.pieces.end(), [&](const Standing::Piece& piece) {
        return within(piece.bounds, own_bounds) && lies_inside(own, piece);
    });
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
    std::vector<Tree::Corners> triangles;
    for (const auto& f : faces) {
        triangles.push_back({corner(f[0]), corner(f[1]), corner(f[2])});
        triangles.push_back({corner(f[0]), corner(f[2]), corner(f[3])});
    }
    take_triangles(tree, triangles);
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

std::vector<double> WayJudge::rests_mm(std::span<const Standing> all) {
    std::vector<Standing> close; // of what is not known yet, what touches the mover's box
    for (const Standing& standing : all) {
        if (!rest_mm_.emplace(key_of(standing), 0).second)
            continue;
        Standing near;
        near.body = standing.body;
        near.obstacle = standing.obstacle;
        for (const Standing::Piece& piece : standing.pieces)
            if (nearly_touch(piece.bounds, mover_.bounds))
                near.pieces.push_back(piece);
        if (!near.pieces.empty())
            close.push_back(std::move(near));
    }
    std::vector<const Standing*> open;
    open.reserve(close.size());
    for (const Standing& standing : close)
        open.push_back(&standing);
    Posing how{frame_askew(mover_.bounds.centre()), glm::dvec3(0.0), 0, false};
    for (std::size_t level = 0; level < levels_mm.size() && !open.empty(); ++level) {
        how.inset_m = (levels_mm[level] + coincide_mm) / mm_per_m;
        const std::vector<double> contacts = first_contacts(mover_, how, open, 0, true);
        std::vector<const Standing*> deeper;
        for (std::size_t i = 0; i < open.size(); ++i) {
            rest_mm_[key_of(*open[i])] = level + 1 == levels_mm.size() && contacts[i] >= 0 ? deep : levels_mm[level];
            if (contacts[i] >= 0)
                deeper.push_back(open[i]);
        }
        open = std::move(deeper);
    }
    // Surfaces that do not cross may still lie in one another: a thing in a solid block, or a block about a thing.
    const Standing own = standing_of(mover_);
    for (const Standing& standing : close)
        if (double& rest = rest_mm_[key_of(standing)]; rest < deep && encloses(standing, own, mover_.bounds))
            rest = deep;
    std::vector<double> rests;
    for (const Standing& standing : all)
        rests.push_back(rest_mm_[key_of(standing)]);
    return rests;
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
    constexpr double margin = 1e-5;
    const std::vector<Standing> near = standing_near(space_, mover_, offset, leg, margin, there);
    const std::vector<double> rests = rests_mm(near);
    struct Met {
        Verdict verdict = Verdict::free;
        double after_mm = 0, rest_mm = 0;
    };
    std::vector<Met> met(near.size());
    const auto contacts = [&](const std::vector<std::size_t>& list, double inset_mm, bool any) {
        std::vector<const Standing*> some;
        some.reserve(list.size());
        for (const std::size_t i : list)
            some.push_back(&near[i]);
        return first_contacts(mover_, {frame, offset, inset_mm / mm_per_m, true}, some, length, any);
    };
    // Those that lie equally deep at rest are met by the same pose.
    for (const double rest : levels_mm) {
        std::vector<std::size_t> list;
        for (std::size_t i = 0; i < near.size(); ++i)
            if (rests[i] == rest)
                list.push_back(i);
        const auto leave = [&](const std::vector<double>& after, bool those_met) {
            std::vector<std::size_t> left;
            for (std::size_t k = 0; k < list.size(); ++k)
                if ((after[k] >= 0) == those_met)
                    left.push_back(list[k]);
            list = std::move(left);
        };
        if (!list.empty())
            leave(contacts(list, rest + way_free_mm, true), true);
        for (const Verdict verdict : {Verdict::blocked, Verdict::undecided}) {
            if (list.empty())
                break;
            const bool blocked = verdict == Verdict::blocked;
            const std::vector<double> after = contacts(list, rest + (blocked ? way_blocked_mm : way_free_mm), false);
            for (std::size_t k = 0; k < list.size(); ++k)
                if (after[k] >= 0 || !blocked)
                    met[list[k]] = {verdict, after[k] * mm_per_m, rest};
            leave(after, false);
        }
    }
    for (std::size_t i = 0; i < near.size(); ++i) {
        if (rests[i] >= deep) {
            const Sunk sunk = enters_anew(near[i], frame, offset, length);
            met[i] = {sunk.verdict, sunk.after_mm, way_rest_most_mm};
        }
        if (met[i].verdict == Verdict::free)
            continue;
        Meeting meeting;
        meeting.body = near[i].body;
        meeting.obstacle = near[i].obstacle;
        meeting.soft = is_soft(near[i]);
        meeting.verdict = met[i].verdict;
        meeting.after_mm = met[i].after_mm;
        meeting.rest_mm = met[i].rest_mm;
        answer.met.push_back(meeting);
    }
    in_order(answer);
    return answer;
}

LegAnswer WayJudge::in_place(const Mover& turned, std::span<const std::uint8_t> there) {
    LegAnswer answer;
    constexpr double margin = 1e-5;
    const std::vector<Standing> near = standing_near(space_, turned, glm::dvec3(0.0), glm::dvec3(0.0), margin, there);
    const std::vector<double> rests = rests_mm(near);
    std::vector<std::uint8_t> met(near.size(), 0);
    Posing how{frame_askew(turned.bounds.centre()), glm::dvec3(0.0), 0, false};
    for (const double rest : levels_mm) { // what it has cut out of the deep ones is not known when it is turned
        std::vector<std::size_t> list;
        std::vector<const Standing*> some;
        for (std::size_t i = 0; i < near.size(); ++i)
            if (rests[i] == rest) {
                list.push_back(i);
                some.push_back(&near[i]);
            }
        how.inset_m = (rest + way_blocked_mm) / mm_per_m;
        const std::vector<double> contacts = first_contacts(turned, how, some, 0, true);
        for (std::size_t k = 0; k < list.size(); ++k)
            met[list[k]] = contacts[k] >= 0 ? 1 : 0;
    }
    for (std::size_t i = 0; i < near.size(); ++i) {
        if (!met[i])
            continue;
        Meeting meeting;
        meeting.body = near[i].body;
        meeting.obstacle = near[i].obstacle;
        meeting.soft = is_soft(near[i]);
        meeting.rest_mm = rests[i];
        answer.met.push_back(meeting);
    }
    in_order(answer);
    return answer;
}

} // namespace boltwalk
