#include "core/geometry/reach_sweep.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include <glm/gtc/matrix_transform.hpp>

namespace boltwalk {

namespace {

constexpr int quarter = reach_directions / 4;

/// Cosine and sine of half a degree, to the last digit of a double; everything else by multiplying.
constexpr double cos_step = 0.99996192306417128874;
constexpr double sin_step = 0.0087265354983739347;

std::array<glm::dvec2, reach_directions> make_directions() {
    std::array<glm::dvec2, reach_directions> table{};
    glm::dvec2 at(1, 0);
    for (int i = 0; i < quarter; ++i) {
        const auto k = static_cast<std::size_t>(i);
        table[k] = at;
        table[k + quarter] = {-at.y, at.x};
        table[k + 2 * quarter] = {-at.x, -at.y};
        table[k + 3 * quarter] = {at.y, -at.x};
        at = {at.x * cos_step - at.y * sin_step, at.x * sin_step + at.y * cos_step};
    }
    return table;
}

const std::array<glm::dvec2, reach_directions>& directions() {
    static const std::array<glm::dvec2, reach_directions> table = make_directions();
    return table;
}

} // namespace

glm::dvec2 direction_at(int number) {
    const int turned = number % reach_directions;
    return directions()[static_cast<std::size_t>(turned < 0 ? turned + reach_directions : turned)];
}

namespace reaching {

namespace {

/// Part of a triangle between two heights, seen along the axis: a triangle cut by two planes has five corners at most.
struct Outline {
    std::array<glm::dvec2, 8> corner;
    int count = 0;
    void add(const glm::dvec2& p) { corner[static_cast<std::size_t>(count++)] = p; }
};

struct Corners {
    glm::dvec3 a, b, c;
};

/// The part of the triangle with low <= z <= high.
Outline cut_out(const Corners& t, double low, double high) {
    std::array<glm::dvec3, 6> in{t.a, t.b, t.c};
    std::array<glm::dvec3, 6> next{};
    int count = 3;
    for (const double sign : {1.0, -1.0}) {
        const double limit = sign > 0 ? low : -high;
        int kept = 0;
        for (int i = 0; i < count; ++i) {
            const glm::dvec3& from = in[static_cast<std::size_t>(i)];
            const glm::dvec3& to = in[static_cast<std::size_t>((i + 1) % count)];
            const double a = sign * from.z - limit;
            const double b = sign * to.z - limit;
            if (a >= 0)
                next[static_cast<std::size_t>(kept++)] = from;
            if ((a >= 0) != (b >= 0))
                next[static_cast<std::size_t>(kept++)] = from + (to - from) * (a / (a - b));
        }
        in = next;
        count = kept;
    }
    Outline outline;
    for (int i = 0; i < count; ++i)
        outline.add(glm::dvec2(in[static_cast<std::size_t>(i)]));
    return outline;
}

/// Does the convex outline hold the axis, or lie on it?
bool holds_axis(const Outline& outline) {
    bool left = false;
    bool right = false;
    for (int i = 0; i < outline.count; ++i) {
        const glm::dvec2& a = outline.corner[static_cast<std::size_t>(i)];
        const glm::dvec2& b = outline.corner[static_cast<std::size_t>((i + 1) % outline.count)];
        const double side = a.x * b.y - a.y * b.x;
        left = left || side > 0;
        right = right || side < 0;
    }
    return left != right; // an outline without area is left to the distance of its edges
}

/// Square of the least distance of the outline from the axis.
double least_squared(const Outline& outline) {
    if (outline.count >= 3 && holds_axis(outline))
        return 0;
    double least = 1e300;
    for (int i = 0; i < outline.count; ++i) {
        const glm::dvec2& a = outline.corner[static_cast<std::size_t>(i)];
        const glm::dvec2 along = outline.corner[static_cast<std::size_t>((i + 1) % outline.count)] - a;
        const double length = glm::dot(along, along);
        const double t = length > 0 ? std::clamp(-glm::dot(a, along) / length, 0.0, 1.0) : 0.0;
        const glm::dvec2 near = a + along * t;
        least = std::min(least, glm::dot(near, near));
    }
    return least;
}

double most_squared(const Outline& outline) {
    double most = 0;
    for (int i = 0; i < outline.count; ++i) {
        const glm::dvec2& p = outline.corner[static_cast<std::size_t>(i)];
        most = std::max(most, glm::dot(p, p));
    }
    return most;
}

/// Does the outline meet the arm that points along `way`: the rectangle from..to, half_width to both sides? Cut to the
/// arm's width, the outline is convex and in one piece, so its reach along the arm decides.
bool meets_arm(const Outline& outline, const glm::dvec2& way, double from, double to, double half_width) {
    std::array<glm::dvec2, 10> in{};
    std::array<glm::dvec2, 10> next{};
    int count = outline.count;
    for (int i = 0; i < count; ++i) {
        const glm::dvec2& p = outline.corner[static_cast<std::size_t>(i)];
        in[static_cast<std::size_t>(i)] = {p.x * way.x + p.y * way.y, p.y * way.x - p.x * way.y};
    }
    for (const double sign : {1.0, -1.0}) {
        int kept = 0;
        for (int i = 0; i < count; ++i) {
            const glm::dvec2& a = in[static_cast<std::size_t>(i)];
            const glm::dvec2& b = in[static_cast<std::size_t>((i + 1) % count)];
            const double da = half_width - sign * a.y;
            const double db = half_width - sign * b.y;
            if (da >= 0)
                next[static_cast<std::size_t>(kept++)] = a;
            if ((da >= 0) != (db >= 0))
                next[static_cast<std::size_t>(kept++)] = a + (b - a) * (da / (da - db));
        }
        in = next;
        count = kept;
        if (count == 0)
            return false;
    }
    double low = 1e300;
    double high = -1e300;
    for (int i = 0; i < count; ++i) {
        low = std::min(low, in[static_cast<std::size_t>(i)].x);
        high = std::max(high, in[static_cast<std::size_t>(i)].x);
    }
    return high >= from && low <= to;
}

/// Number of the direction of the table near the direction of `p`, out by one at most: atan t = t (pi / 4 + 0.273 (1 -
/// t)) within 0.22 degrees for t from 0 to 1 (Rajan and others, "Efficient approximations for the arctangent function",
/// 2006). It only says where to look.
int number_near(const glm::dvec2& p) {
    constexpr double steps_by_radian = reach_directions / 6.283185307179586;
    const double x = std::abs(p.x);
    const double y = std::abs(p.y);
    const double t = x > y ? y / x : (y > 0 ? x / y : 0.0);
    const double angle = t * (0.7853981633974483 + 0.273 * (1 - t)) * steps_by_radian;
    const double first = x > y ? angle : quarter - angle; // in the first quarter
    const double half_turn = p.x < 0 ? 2 * quarter - first : first;
    return static_cast<int>(p.y < 0 ? reach_directions - half_turn : half_turn);
}

/// Steps that a half width takes up at a distance, rounded up: asin x <= x + (pi / 2 - 1) x^3 for x from 0 to 1.
int steps_aside(double half_width, double distance) {
    constexpr double steps_by_radian = reach_directions / 6.283185307179586;
    const double x = half_width / distance;
    return static_cast<int>((x + 0.5707963267948966 * x * x * x) * steps_by_radian) + 2;
}

/// A bit a direction.
struct Mask {
    std::array<std::uint64_t, (reach_directions + 63) / 64> words{};
    bool has(int number) const { return (words[static_cast<std::size_t>(number) / 64] >> (number % 64)) & 1U; }
    void set(int number) { words[static_cast<std::size_t>(number) / 64] |= std::uint64_t{1} << (number % 64); }
    /// The first direction from `number` on that is not set, or `end`.
    int next_clear(int number, int end) const {
        while (number < end) {
            const std::uint64_t clear = ~words[static_cast<std::size_t>(number) / 64] >> (number % 64);
            if (clear != 0)
                return std::min(number + std::countr_zero(clear), end);
            number += 64 - number % 64;
        }
        return end;
    }
};

struct Blocks {
    std::int32_t body = -1;
    int count = 0; ///< directions blocked
    Mask mask{};
};

class Sweep {
public:
    Sweep(const ToolShape& shape, double margin, Stance& out) : shape_(shape), margin_(margin), out_(out) {
        low_ = 1e300;
        high_ = -1e300;
        for (const ToolRing& ring : shape.rings) {
            low_ = std::min(low_, ring.low);
            high_ = std::max(high_, ring.high + ring.way_on + margin);
            column_ = std::max(column_, ring.outer + margin);
        }
        for (const auto* list : {&shape.arms, &shape.hand})
            for (const ToolArm& arm : *list) {
                arm_low_ = std::min(arm_low_, arm.low - margin);
                arm_high_ = std::max(arm_high_, arm.high + margin);
                const double to = arm.to + margin;
                const double half = arm.half_width + margin;
                reach_ = std::max(reach_, std::sqrt(to * to + half * half));
            }
    }

    /// Does a box in the tool's axes touch the tool's own room?
    bool wants(const glm::dvec3& centre, const glm::dvec3& half) const {
        const double x = std::max(std::abs(centre.x) - half.x, 0.0);
        const double y = std::max(std::abs(centre.y) - half.y, 0.0);
        const double near = x * x + y * y;
        const double low = centre.z - half.z;
        const double high = centre.z + half.z;
        return (near <= column_ * column_ && high >= low_ && low <= high_) ||
               (near <= reach_ * reach_ && high >= arm_low_ && low <= arm_high_);
    }

    void meet(std::int32_t body, const Corners& t) { near_.push_back({body, t}); }

    void finish() {
        for (const Near& one : near_)
            rings(one.body, one.corners);
        std::sort(out_.under.begin(), out_.under.end());
        out_.under.erase(std::unique(out_.under.begin(), out_.under.end()), out_.under.end());
        // What the rings touch is in the way whichever direction the arm points.
        for (const Near& one : near_) {
            if (one.body != under_asked_) {
                under_asked_ = one.body;
                under_ = std::binary_search(out_.under.begin(), out_.under.end(), one.body);
            }
            if (!under_)
                arms(one.body, one.corners);
        }
        for (const Blocks& one : blocks_)
            for (int i = 0; i < reach_directions; ++i) {
                if (!one.mask.has(i))
                    continue;
                const int first = i;
                while (i + 1 < reach_directions && one.mask.has(i + 1))
                    ++i;
                out_.arm.push_back({one.body, static_cast<std::uint16_t>(first), static_cast<std::uint16_t>(i)});
            }
        std::sort(out_.arm.begin(), out_.arm.end(), by_direction);
    }

private:
    void rings(std::int32_t body, const Corners& t) {
        const double low = std::min({t.a.z, t.b.z, t.c.z});
        const double high = std::max({t.a.z, t.b.z, t.c.z});
        if (high < low_ || low > high_ || (!out_.under.empty() && out_.under.back() == body))
            return;
        for (const ToolRing& ring : shape_.rings)
            if (touches(ring, t, low, high)) {
                out_.under.push_back(body);
                return;
            }
    }

    void arms(std::int32_t body, const Corners& t) {
        const double low = std::min({t.a.z, t.b.z, t.c.z});
        const double high = std::max({t.a.z, t.b.z, t.c.z});
        if (high < arm_low_ || low > arm_high_)
            return;
        Blocks& blocks = blocks_of(body);
        if (blocks.count == reach_directions)
            return;
        const Round round = round_of(t);
        for (const auto* list : {&shape_.arms, &shape_.hand})
            for (const ToolArm& arm : *list)
                if (high >= arm.low - margin_ && low <= arm.high + margin_ && !all_marked(blocks, arm, round))
                    block(arm, blocks, t);
    }

    /// A circle round a triangle, seen along the axis.
    struct Round {
        double distance = 0, radius = 0;
        int number = 0;
    };
    static Round round_of(const Corners& t) {
        const glm::dvec2 a(t.a);
        const glm::dvec2 b(t.b);
        const glm::dvec2 c(t.c);
        const glm::dvec2 middle = 0.5 * (glm::min(a, glm::min(b, c)) + glm::max(a, glm::max(b, c)));
        const auto squared = [&](const glm::dvec2& p) { return glm::dot(p - middle, p - middle); };
        return {std::sqrt(glm::dot(middle, middle)), std::sqrt(std::max({squared(a), squared(b), squared(c)})),
                number_near(middle)};
    }
    /// Neighbouring triangles block the same directions: is there nothing left that this one could add?
    bool all_marked(const Blocks& blocks, const ToolArm& arm, const Round& round) const {
        const double half = arm.half_width + margin_ + round.radius;
        const double behind = std::min(arm.from - margin_, 0.0) - round.radius;
        if (round.distance <= half || round.distance * round.distance <= half * half + behind * behind)
            return false;
        const int aside = steps_aside(half, round.distance) + 1;
        if (2 * aside + 1 >= reach_directions)
            return false;
        const int first = (round.number - aside + reach_directions) % reach_directions;
        const int end = first + 2 * aside + 1;
        const int cut = std::min(end, reach_directions);
        return blocks.mask.next_clear(first, cut) == cut &&
               (end <= reach_directions || blocks.mask.next_clear(0, end - reach_directions) == end - reach_directions);
    }

    bool touches(const ToolRing& ring, const Corners& t, double low, double high) const {
        const double top = ring.high + ring.way_on + margin_;
        if (high < ring.low || low > top)
            return false;
        const double outer = ring.outer + margin_;
        if (std::min({t.a.x, t.b.x, t.c.x}) > outer || std::max({t.a.x, t.b.x, t.c.x}) < -outer ||
            std::min({t.a.y, t.b.y, t.c.y}) > outer || std::max({t.a.y, t.b.y, t.c.y}) < -outer)
            return false;
        const Outline outline = cut_out(t, ring.low, top);
        if (outline.count == 0)
            return false;
        return most_squared(outline) > ring.inner * ring.inner && least_squared(outline) <= outer * outer;
    }

    Blocks& blocks_of(std::int32_t body) {
        if (last_ < blocks_.size() && blocks_[last_].body == body)
            return blocks_[last_];
        for (last_ = 0; last_ < blocks_.size(); ++last_)
            if (blocks_[last_].body == body)
                return blocks_[last_];
        blocks_.push_back({body, 0, {}});
        return blocks_.back();
    }

    void block(const ToolArm& arm, Blocks& blocks, const Corners& t) {
        const double from = arm.from - margin_;
        const double to = arm.to + margin_;
        const double half = arm.half_width + margin_;
        // Cheap first: a side of the square round the arm's circle.
        const double far = std::sqrt(to * to + half * half);
        if (std::min({t.a.x, t.b.x, t.c.x}) > far || std::max({t.a.x, t.b.x, t.c.x}) < -far ||
            std::min({t.a.y, t.b.y, t.c.y}) > far || std::max({t.a.y, t.b.y, t.c.y}) < -far)
            return;
        const Outline outline = cut_out(t, arm.low - margin_, arm.high + margin_);
        if (outline.count == 0)
            return;
        const double most = most_squared(outline);
        if ((from > 0 && most < from * from) || most <= arm.inner * arm.inner)
            return;
        const double near_squared = least_squared(outline);
        if (near_squared > far * far)
            return;
        const double near = std::sqrt(near_squared);
        // Candidates: the outline's own directions, and the arm's half width to both sides. Near the axis, where an arm
        // that begins behind it can meet the outline with its back, all of them.
        const double behind = std::min(from, 0.0);
        int first = 0;
        int count = reach_directions;
        if (near > half && near * near > half * half + behind * behind) {
            const int aside = steps_aside(half, near) + 2; // two for number_near
            const int zero = number_near(outline.corner[0]);
            int least = 0;
            int greatest = 0;
            for (int i = 1; i < outline.count; ++i) {
                int by = number_near(outline.corner[static_cast<std::size_t>(i)]) - zero;
                by = by > reach_directions / 2 ? by - reach_directions : by;
                by = by < -reach_directions / 2 ? by + reach_directions : by;
                least = std::min(least, by);
                greatest = std::max(greatest, by);
            }
            first = zero + least - aside;
            count = std::min(greatest - least + 1 + 2 * aside, reach_directions);
        }
        first = (first % reach_directions + reach_directions) % reach_directions;
        const int end = first + count;
        mark(blocks, outline, {from, to, half}, first, std::min(end, reach_directions));
        mark(blocks, outline, {from, to, half}, 0, end - reach_directions);
    }

    struct Span {
        double from, to, half;
    };
    static void mark(Blocks& blocks, const Outline& outline, const Span& arm, int first, int end) {
        for (int i = blocks.mask.next_clear(first, end); i < end; i = blocks.mask.next_clear(i + 1, end))
            if (meets_arm(outline, directions()[static_cast<std::size_t>(i)], arm.from, arm.to, arm.half)) {
                blocks.mask.set(i);
                ++blocks.count;
            }
    }

    const ToolShape& shape_;
    double margin_;
    Stance& out_;
    double low_, high_, column_ = 0;
    double arm_low_ = 1e300, arm_high_ = -1e300, reach_ = 0;
    struct Near {
        std::int32_t body;
        Corners corners;
    };
    std::vector<Near> near_;
    std::int32_t under_asked_ = -1;
    bool under_ = false;
    std::vector<Blocks> blocks_;
    std::size_t last_ = 0; ///< of blocks_, the one asked for last
};

glm::dvec3 wide(const glm::dmat4& m, const glm::dvec3& half) {
    glm::dvec3 result;
    for (int row = 0; row < 3; ++row)
        result[row] = std::abs(m[0][row]) * half.x + std::abs(m[1][row]) * half.y + std::abs(m[2][row]) * half.z;
    return result;
}

template <typename Visitor>
void visit_placement(const Solids& solids, const Placement& placement, const glm::dmat4& into, Visitor& visitor) {
    const Tree& tree = *solids.meshes[static_cast<std::size_t>(placement.mesh)];
    const glm::dmat4 local = into * placement.world;
    const auto wanted = [&](const glm::vec3& low, const glm::vec3& high) {
        const glm::dvec3 centre = 0.5 * (glm::dvec3(low) + glm::dvec3(high));
        const glm::dvec3 half = 0.5 * (glm::dvec3(high) - glm::dvec3(low));
        return visitor.wants(glm::dvec3(local * glm::dvec4(centre, 1.0)), wide(local, half));
    };
    std::array<std::uint32_t, 2 * deepest_tree> open{};
    std::size_t depth = 1;
    while (depth > 0) {
        const BoxTree::Node& node = tree.boxes.nodes[open[--depth]];
        if (!wanted(node.low, node.high))
            continue;
        if (node.count == 0) {
            open[depth++] = node.first + 1;
            open[depth++] = node.first;
            continue;
        }
        for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
            const Tree::Corners& t = tree.triangles[i];
            const auto at = [&](const glm::vec3& p) { return glm::dvec3(local * glm::dvec4(p, 1.0)); };
            visitor.meet(placement.body, {at(t.a), at(t.b), at(t.c)});
        }
    }
}

template <typename Visitor>
void visit(const Solids& solids, const Frame& frame, const std::vector<std::int32_t>& ignored, Visitor& visitor) {
    const auto take = [&](std::int32_t index) {
        const Placement& placement = solids.placements[static_cast<std::size_t>(index)];
        if (std::binary_search(ignored.begin(), ignored.end(), placement.body))
            return;
        const bool turns = frame.turning && (*frame.turning)[static_cast<std::size_t>(placement.body)];
        visit_placement(solids, placement, turns ? frame.of_turning : frame.of_rest, visitor);
    };
    if (frame.turning) { // the tree over placements has what turns where it lies at rest: each is looked at
        for (std::size_t i = 0; i < solids.placements.size(); ++i)
            take(static_cast<std::int32_t>(i));
        return;
    }
    std::vector<std::int32_t> near;
    std::array<std::uint32_t, 2 * deepest_tree> open{};
    std::size_t depth = solids.tree.nodes.empty() ? 0 : 1;
    while (depth > 0) {
        const BoxTree::Node& node = solids.tree.nodes[open[--depth]];
        const glm::dvec3 centre = 0.5 * (glm::dvec3(node.low) + glm::dvec3(node.high));
        const glm::dvec3 half = 0.5 * (glm::dvec3(node.high) - glm::dvec3(node.low));
        if (!visitor.wants(glm::dvec3(frame.of_rest * glm::dvec4(centre, 1.0)), wide(frame.of_rest, half)))
            continue;
        if (node.count == 0) {
            open[depth++] = node.first + 1;
            open[depth++] = node.first;
            continue;
        }
        for (std::uint32_t i = node.first; i < node.first + node.count; ++i)
            near.push_back(static_cast<std::int32_t>(solids.tree.order[i]));
    }
    std::sort(near.begin(), near.end());
    for (const std::int32_t index : near)
        take(index);
}

/// What stands wholly within the bore: from where to where, triangle by triangle.
struct InBore {
    double inner, low, high;
    std::vector<std::pair<double, double>> spans;
    bool wants(const glm::dvec3& centre, const glm::dvec3& half) const {
        const double x = std::max(std::abs(centre.x) - half.x, 0.0);
        const double y = std::max(std::abs(centre.y) - half.y, 0.0);
        return x * x + y * y <= inner * inner && centre.z + half.z >= low && centre.z - half.z <= high;
    }
    void meet(std::int32_t, const Corners& t) {
        for (const glm::dvec3& p : {t.a, t.b, t.c})
            if (p.x * p.x + p.y * p.y > inner * inner)
                return;
        spans.emplace_back(std::min({t.a.z, t.b.z, t.c.z}), std::max({t.a.z, t.b.z, t.c.z}));
    }
};

/// A stud's end is in one piece with what is below: gaps above this end it.
constexpr double piece_gap_m = 0.0005;

} // namespace

glm::dvec3 square_to(const glm::dvec3& axis) {
    const glm::dvec3 size = glm::abs(axis);
    const glm::dvec3 other = size.x <= size.y && size.x <= size.z ? glm::dvec3(1, 0, 0)
                             : size.y <= size.z                   ? glm::dvec3(0, 1, 0)
                                                                  : glm::dvec3(0, 0, 1);
    return glm::normalize(other - axis * glm::dot(other, axis));
}

glm::dmat4 into_axes(const glm::dvec3& origin, const glm::dvec3& axis, const glm::dvec3& zero) {
    const glm::dvec3 third = glm::cross(axis, zero);
    glm::dmat4 result(1.0);
    for (int i = 0; i < 3; ++i) {
        result[i][0] = zero[i];
        result[i][1] = third[i];
        result[i][2] = axis[i];
    }
    result[3] = glm::dvec4(-glm::dot(zero, origin), -glm::dot(third, origin), -glm::dot(axis, origin), 1.0);
    return result;
}

void sweep(const Solids& solids, const Frame& frame, const ToolShape& shape, double margin,
           const std::vector<std::int32_t>& ignored, Stance& out) {
    Sweep sweeping(shape, margin, out);
    visit(solids, frame, ignored, sweeping);
    sweeping.finish();
}

double proud(const Solids& solids, const Frame& frame, double inner, double low, double high,
             const std::vector<std::int32_t>& ignored) {
    InBore bore{inner, low, high, {}};
    visit(solids, frame, ignored, bore);
    std::sort(bore.spans.begin(), bore.spans.end());
    double top = low;
    for (const auto& [begin, end] : bore.spans)
        if (begin <= top + piece_gap_m)
            top = std::max(top, end);
    return std::min(top, high);
}

} // namespace reaching
} // namespace boltwalk
