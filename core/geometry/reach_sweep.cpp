#include "core/geometry/reach_sweep.hpp"

#include <algorithm>
#include <array>
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

/// Number of the direction of the table at or just below the direction of `p`: by quarters, then by halving.
int number_of(const glm::dvec2& p) {
    glm::dvec2 turned = p;
    int base = 0;
    while (!(turned.x > 0 && turned.y >= 0) && base < 3 * quarter) {
        turned = {turned.y, -turned.x};
        base += quarter;
    }
    int low = 0;
    int high = quarter;
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        const glm::dvec2& d = directions()[static_cast<std::size_t>(middle)];
        (d.x * turned.y - d.y * turned.x >= 0 ? low : high) = middle;
    }
    return base + low;
}

/// Steps that a half width takes up at a distance, rounded up generously: asin x < x * pi / 2.
int steps_aside(double half_width, double distance) {
    constexpr double steps_by_radian = reach_directions / 6.283185307179586;
    return static_cast<int>(half_width / distance * 1.5707963267948966 * steps_by_radian) + 2;
}

using Mask = std::array<std::uint8_t, reach_directions>;

struct Blocks {
    std::int32_t body = -1;
    Mask mask{};
};

class Sweep {
public:
    Sweep(const ToolShape& shape, double margin, Pose& out) : shape_(shape), margin_(margin), out_(out) {
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

    void meet(std::int32_t body, const Corners& t) {
        const double low = std::min({t.a.z, t.b.z, t.c.z});
        const double high = std::max({t.a.z, t.b.z, t.c.z});
        if (std::find(out_.under.begin(), out_.under.end(), body) == out_.under.end())
            for (const ToolRing& ring : shape_.rings)
                if (touches(ring, t, low, high)) {
                    out_.under.push_back(body);
                    break;
                }
        for (const auto* list : {&shape_.arms, &shape_.hand})
            for (const ToolArm& arm : *list)
                block(arm, body, t, low, high);
    }

    void finish() {
        std::sort(out_.under.begin(), out_.under.end());
        for (const Blocks& one : blocks_)
            for (int i = 0; i < reach_directions; ++i) {
                if (!one.mask[static_cast<std::size_t>(i)])
                    continue;
                const int first = i;
                while (i + 1 < reach_directions && one.mask[static_cast<std::size_t>(i + 1)])
                    ++i;
                out_.arm.push_back({one.body, static_cast<std::uint16_t>(first), static_cast<std::uint16_t>(i)});
            }
        std::sort(out_.arm.begin(), out_.arm.end(), [](const ArmBlock& a, const ArmBlock& b) {
            return a.first != b.first ? a.first < b.first : a.body < b.body;
        });
    }

private:
    bool touches(const ToolRing& ring, const Corners& t, double low, double high) const {
        const double top = ring.high + ring.way_on + margin_;
        if (high < ring.low || low > top)
            return false;
        const Outline outline = cut_out(t, ring.low, top);
        if (outline.count == 0)
            return false;
        const double outer = ring.outer + margin_;
        return most_squared(outline) > ring.inner * ring.inner && least_squared(outline) <= outer * outer;
    }

    Mask& mask_of(std::int32_t body) {
        if (blocks_.empty() || blocks_.back().body != body) {
            const auto found =
                std::find_if(blocks_.begin(), blocks_.end(), [&](const Blocks& one) { return one.body == body; });
            if (found != blocks_.end())
                return found->mask;
            blocks_.push_back({body, {}});
        }
        return blocks_.back().mask;
    }

    void block(const ToolArm& arm, std::int32_t body, const Corners& t, double low, double high) {
        if (high < arm.low - margin_ || low > arm.high + margin_)
            return;
        const Outline outline = cut_out(t, arm.low - margin_, arm.high + margin_);
        if (outline.count == 0)
            return;
        const double from = std::max(arm.from - margin_, 0.0);
        const double to = arm.to + margin_;
        const double half = arm.half_width + margin_;
        const double near = std::sqrt(least_squared(outline));
        if (near * near > to * to + half * half || most_squared(outline) < from * from)
            return;
        // Candidates: the outline's own directions, and the arm's half width to both sides.
        int first = 0;
        int count = reach_directions;
        if (near > half) {
            const int aside = steps_aside(half, near);
            const int zero = number_of(outline.corner[0]);
            int least = 0;
            int most = 0;
            for (int i = 1; i < outline.count; ++i) {
                int by = number_of(outline.corner[static_cast<std::size_t>(i)]) - zero;
                by = by > reach_directions / 2 ? by - reach_directions : by;
                by = by < -reach_directions / 2 ? by + reach_directions : by;
                least = std::min(least, by);
                most = std::max(most, by);
            }
            first = zero + least - aside;
            count = std::min(most - least + 1 + 2 * aside, reach_directions);
        }
        Mask& mask = mask_of(body);
        first = (first % reach_directions + reach_directions) % reach_directions;
        for (int i = 0; i < count; ++i) {
            const int number = first + i < reach_directions ? first + i : first + i - reach_directions;
            std::uint8_t& mark = mask[static_cast<std::size_t>(number)];
            if (!mark && meets_arm(outline, directions()[static_cast<std::size_t>(number)], from, to, half))
                mark = 1;
        }
    }

    const ToolShape& shape_;
    double margin_;
    Pose& out_;
    double low_, high_, column_ = 0;
    double arm_low_ = 1e300, arm_high_ = -1e300, reach_ = 0;
    std::vector<Blocks> blocks_;
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

/// Looks for the top of what stands within the bore.
struct InBore {
    double inner, low, high, top;
    bool wants(const glm::dvec3& centre, const glm::dvec3& half) const {
        const double x = std::max(std::abs(centre.x) - half.x, 0.0);
        const double y = std::max(std::abs(centre.y) - half.y, 0.0);
        return x * x + y * y <= inner * inner && centre.z + half.z >= low && centre.z - half.z <= high;
    }
    void meet(std::int32_t, const Corners& t) {
        for (const glm::dvec3& p : {t.a, t.b, t.c})
            if (p.x * p.x + p.y * p.y > inner * inner)
                return;
        const double above = std::max({t.a.z, t.b.z, t.c.z});
        if (above <= high)
            top = std::max(top, above);
    }
};

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
           const std::vector<std::int32_t>& ignored, Pose& out) {
    Sweep sweeping(shape, margin, out);
    visit(solids, frame, ignored, sweeping);
    sweeping.finish();
}

double proud(const Solids& solids, const Frame& frame, double inner, double low, double high,
             const std::vector<std::int32_t>& ignored) {
    InBore bore{inner, low, high, low};
    visit(solids, frame, ignored, bore);
    return bore.top;
}

} // namespace reaching
} // namespace boltwalk
