#include "core/geometry/reach_sweep.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/geometry/reach_outline.hpp"

namespace boltwalk {

namespace {

using reaching::quarter;

/// Cosine and sine of half a degree, to the last digit of a double; everything else by multiplying.
constexpr double cos_step = 0.99996192306417128874;
constexpr double sin_step = 0.0087265354983739347;

std::array<glm::dvec2, reach_directions> make_directions() {
    std::array<glm::dvec2, reach_directions> table{};
    glm::dvec2 at(1, 0);
    constexpr std::size_t step = quarter;
    for (std::size_t k = 0; k < step; ++k) {
        table[k] = at;
        table[k + step] = {-at.y, at.x};
        table[k + 2 * step] = {-at.x, -at.y};
        table[k + 3 * step] = {at.y, -at.x};
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

struct Cuboid {
    glm::dvec3 centre, half;
    double low() const { return centre.z - half.z; }
    double high() const { return centre.z + half.z; }
    /// Square of the least distance of the box from the axis.
    double near_squared() const {
        const double x = std::max(std::abs(centre.x) - half.x, 0.0);
        const double y = std::max(std::abs(centre.y) - half.y, 0.0);
        return x * x + y * y;
    }
};

Cuboid box_of(const Corners& t) {
    const glm::dvec3 low = glm::min(t.a, glm::min(t.b, t.c));
    const glm::dvec3 high = glm::max(t.a, glm::max(t.b, t.c));
    return {0.5 * (low + high), 0.5 * (high - low)};
}

/// Which bodies the rings touch.
class Rings {
public:
    static constexpr std::size_t scattered = 0;
    Rings(const ToolShape& shape, double margin, std::vector<std::int32_t>& under) : under_(under) {
        for (const ToolRing& ring : shape.rings) {
            rings_.push_back({ring.low, ring.high + ring.way_on + margin, ring.inner * ring.inner,
                              (ring.outer + margin) * (ring.outer + margin)});
            low_ = std::min(low_, rings_.back().low);
            high_ = std::max(high_, rings_.back().high);
            outer_squared_ = std::max(outer_squared_, rings_.back().outer_squared);
        }
    }

    bool begin(std::int32_t body) {
        body_ = body;
        done_ = std::find(under_.begin(), under_.end(), body) != under_.end();
        return !done_;
    }
    bool room(const Cuboid& box) const {
        return box.high() >= low_ && box.low() <= high_ && box.near_squared() <= outer_squared_;
    }
    bool wants(const Cuboid& box) const { return !done_ && room(box); }
    void meet(const Corners& t) {
        if (done_)
            return;
        const Cuboid box = box_of(t);
        if (!room(box))
            return;
        for (const Span& ring : rings_) {
            if (box.high() < ring.low || box.low() > ring.high || box.near_squared() > ring.outer_squared)
                continue;
            const Outline outline = cut_out(t, ring.low, ring.high);
            if (outline.count > 0 && most_squared(outline) > ring.inner_squared &&
                least_squared(outline) <= ring.outer_squared) {
                done_ = true;
                under_.push_back(body_);
                return;
            }
        }
    }

private:
    struct Span {
        double low, high, inner_squared, outer_squared;
    };
    std::vector<Span> rings_;
    std::vector<std::int32_t>& under_;
    double low_ = 1e300, high_ = -1e300, outer_squared_ = 0;
    std::int32_t body_ = -1;
    bool done_ = false;
};

/// Which directions each body blocks for the arm. What the rings touch is in the way whichever direction the arm points
/// and is left out.
class Arms {
public:
    static constexpr std::size_t scattered = 16;
    Arms(const ToolShape& shape, double margin, const std::vector<std::int32_t>& under) : under_(under) {
        for (const auto* list : {&shape.arms, &shape.hand})
            for (const ToolArm& arm : *list) {
                Span span{arm.low - margin, arm.high + margin, arm.from - margin, arm.to + margin,
                          arm.half_width + margin};
                span.inner_squared = arm.inner * arm.inner;
                span.far_squared = span.to * span.to + span.half * span.half;
                const double behind = std::min(span.from, 0.0);
                span.round_squared = span.half * span.half + behind * behind;
                spans_.push_back(span);
                low_ = std::min(low_, span.low);
                high_ = std::max(high_, span.high);
                far_squared_ = std::max(far_squared_, span.far_squared);
            }
    }

    bool begin(std::int32_t body) {
        if (spans_.empty() || std::binary_search(under_.begin(), under_.end(), body))
            return false;
        for (now_ = 0; now_ < blocks_.size(); ++now_)
            if (blocks_[now_].body == body) {
                widen();
                return blocks_[now_].count < reach_directions;
            }
        blocks_.push_back({body, 0, {}});
        widen();
        return true;
    }
    bool room(const Cuboid& box) const {
        return box.high() >= low_ && box.low() <= high_ && box.near_squared() <= far_squared_;
    }
    /// Could something in this box block a direction that its body does not block yet?
    bool wants(const Cuboid& box) const {
        if (blocks_[now_].count == reach_directions || !room(box))
            return false;
        const double near_squared = box.near_squared();
        const double deep = depth_of(box);
        Round round;
        return std::any_of(spans_.begin(), spans_.end(), [&](const Span& arm) {
            return within(arm, box, near_squared, deep) && adds(arm, box, round);
        });
    }
    void meet(const Corners& t) {
        const Cuboid box = box_of(t);
        if (blocks_[now_].count == reach_directions || !room(box))
            return;
        const double near_squared = box.near_squared();
        const double deep = run_ ? std::min({depth_at(t.a), depth_at(t.b), depth_at(t.c)}) : -1;
        Round round;
        for (const Span& arm : spans_)
            if (within(arm, box, near_squared, deep) && adds(arm, box, round))
                block(arm, t);
    }

    void finish(std::vector<ArmBlock>& out) const {
        for (const Blocks& one : blocks_)
            for (int i = 0; i < reach_directions; ++i) {
                if (!one.mask.has(i))
                    continue;
                const int first = i;
                while (i + 1 < reach_directions && one.mask.has(i + 1))
                    ++i;
                out.push_back({one.body, static_cast<std::uint16_t>(first), static_cast<std::uint16_t>(i)});
            }
        std::sort(out.begin(), out.end(), by_direction);
    }

private:
    struct Span {
        double low, high, from, to, half;
        double inner_squared = 0, far_squared = 0;
        double round_squared = 0; ///< nearer to the axis than this the arm meets things with its sides or its back
    };
    struct Blocks {
        std::int32_t body = -1;
        int count = 0; ///< directions
        Mask mask{};
        int first = 0, last = -1; ///< a run of blocked directions, `first` perhaps below 0; empty: last below first
    };
    /// A circle round a box, seen along the axis.
    struct Round {
        double distance = 0, radius = -1; ///< below 0: not worked out yet
        int number = 0;
    };

    // What lies between the run's first and last direction, as deep as an arm's half width or more, blocks nothing but
    // what is blocked: the directions to a point p that an arm meets it from are those within asin(half / |p|) of it.

    /// Makes the run as long as it has become.
    void widen() {
        Blocks& b = blocks_[now_];
        // Less than half a turn, or the two sides would not say which of the two ways round is meant.
        constexpr int longest = 2 * quarter - 1;
        const auto has = [&](int number) {
            return b.mask.has((number % reach_directions + reach_directions) % reach_directions);
        };
        if (b.last >= b.first) {
            while (b.last - b.first < longest && has(b.first - 1))
                --b.first;
            while (b.last - b.first < longest && has(b.last + 1))
                ++b.last;
        }
        run_ = b.last > b.first;
        if (run_) {
            from_ = direction_at(b.first);
            to_ = direction_at(b.last);
        }
    }
    double depth_at(const glm::dvec3& p) const {
        return std::min(from_.x * p.y - from_.y * p.x, p.x * to_.y - p.y * to_.x);
    }
    /// Of the box's least deep corner; below 0: there is no run.
    double depth_of(const Cuboid& box) const {
        if (!run_)
            return -1;
        const double first = from_.x * box.centre.y - from_.y * box.centre.x -
                             (std::abs(from_.x) * box.half.y + std::abs(from_.y) * box.half.x);
        const double last =
            box.centre.x * to_.y - box.centre.y * to_.x - (std::abs(to_.y) * box.half.x + std::abs(to_.x) * box.half.y);
        return std::min(first, last);
    }
    /// Is a thing `deep` in the run where the arm goes, and not so deep that it adds nothing?
    static bool within(const Span& arm, const Cuboid& box, double near_squared, double deep) {
        if (box.high() < arm.low || box.low() > arm.high || near_squared > arm.far_squared)
            return false;
        constexpr double rounding_m = 1e-9;
        return deep < arm.half + rounding_m || near_squared <= arm.round_squared + rounding_m;
    }

    static Round round_of(const Cuboid& box) {
        const glm::dvec2 middle(box.centre);
        return {std::sqrt(glm::dot(middle, middle)), std::sqrt(box.half.x * box.half.x + box.half.y * box.half.y),
                number_near(middle)};
    }

    bool adds(const Span& arm, const Cuboid& box, Round& round) const {
        if (round.radius < 0)
            round = round_of(box);
        if (round.distance + round.radius < arm.from)
            return false;
        const double half = arm.half + round.radius;
        const double behind = std::max(-arm.from, 0.0) + round.radius;
        if (round.distance <= half || round.distance * round.distance <= half * half + behind * behind)
            return true;
        const int aside = steps_aside(half, round.distance) + 1;
        if (2 * aside + 1 >= reach_directions)
            return true;
        const int first = (round.number - aside + reach_directions) % reach_directions;
        const int end = first + 2 * aside + 1;
        const int cut = std::min(end, reach_directions);
        const Mask& mask = blocks_[now_].mask;
        return mask.next_clear(first, cut) < cut ||
               (end > reach_directions && mask.next_clear(0, end - reach_directions) < end - reach_directions);
    }

    void block(const Span& arm, const Corners& t) {
        const Outline outline = cut_out(t, arm.low, arm.high);
        if (outline.count == 0)
            return;
        const double most = most_squared(outline);
        if ((arm.from > 0 && most < arm.from * arm.from) || most <= arm.inner_squared)
            return;
        const double near_squared = least_squared(outline);
        if (near_squared > arm.far_squared)
            return;
        // Candidates: the outline's own directions, and the arm's half width to both sides. Near the axis, where an arm
        // that begins behind it can meet the outline with its back, all of them.
        const int before = blocks_[now_].count;
        if (near_squared <= arm.round_squared) {
            up(outline, arm, 0, reach_directions, false);
        } else {
            const int aside = steps_aside(arm.half, std::sqrt(near_squared)) + 2; // two for number_near
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
            const int count = std::min(greatest - least + 1 + 2 * aside, reach_directions);
            const int first = (zero + least - aside + reach_directions) % reach_directions;
            // From the middle to both sides, so that the first that points past the outline is the last.
            const bool ends = count <= 2 * quarter;
            const int middle = first + count / 2;
            const int end = first + count;
            if (up(outline, arm, middle, std::min(end, reach_directions), ends))
                up(outline, arm, std::max(middle - reach_directions, 0), end - reach_directions, ends);
            if (down(outline, arm, std::max(first - reach_directions, 0), middle - reach_directions, ends))
                down(outline, arm, first, std::min(middle, reach_directions), ends);
        }
        if (blocks_[now_].count > before)
            widen();
    }

    void set(int number) {
        Blocks& blocks = blocks_[now_];
        blocks.mask.set(number);
        if (blocks.count++ == 0)
            blocks.first = blocks.last = number;
    }

    // Both: false when it need not go on, the arm points past the outline. With `ends` the directions between first and
    // end are fewer than half a turn, so that past is past.
    bool up(const Outline& outline, const Span& arm, int first, int end, bool ends) {
        const Mask& mask = blocks_[now_].mask;
        for (int i = mask.next_clear(first, end); i < end; i = mask.next_clear(i + 1, end)) {
            const AgainstArm found =
                against_arm(outline, directions()[static_cast<std::size_t>(i)], arm.from, arm.to, arm.half);
            if (found == AgainstArm::met)
                set(i);
            else if (ends && found == AgainstArm::behind)
                return false;
        }
        return true;
    }
    bool down(const Outline& outline, const Span& arm, int first, int end, bool ends) {
        const Mask& mask = blocks_[now_].mask;
        for (int i = mask.last_clear(first, end); i >= first; i = mask.last_clear(first, i)) {
            const AgainstArm found =
                against_arm(outline, directions()[static_cast<std::size_t>(i)], arm.from, arm.to, arm.half);
            if (found == AgainstArm::met)
                set(i);
            else if (ends && found == AgainstArm::ahead)
                return false;
        }
        return true;
    }

    const std::vector<std::int32_t>& under_;
    std::vector<Span> spans_;
    double low_ = 1e300, high_ = -1e300, far_squared_ = 0;
    std::vector<Blocks> blocks_;
    std::size_t now_ = 0; ///< of blocks_, the body that is looked at
    bool run_ = false;    ///< its run, as two directions
    glm::dvec2 from_{1, 0}, to_{1, 0};
};

glm::dvec3 wide(const glm::dmat4& m, const glm::dvec3& half) {
    glm::dvec3 result;
    for (int row = 0; row < 3; ++row)
        result[row] = std::abs(m[0][row]) * half.x + std::abs(m[1][row]) * half.y + std::abs(m[2][row]) * half.z;
    return result;
}

/// The box in other axes round a node's.
Cuboid box_in(const glm::dmat4& axes, const BoxTree::Node& node) {
    const glm::dvec3 centre = 0.5 * (glm::dvec3(node.low) + glm::dvec3(node.high));
    const glm::dvec3 half = 0.5 * (glm::dvec3(node.high) - glm::dvec3(node.low));
    return {glm::dvec3(axes * glm::dvec4(centre, 1.0)), wide(axes, half)};
}

template <typename Visitor>
void visit_placement(const Solids& solids, const Placement& placement, const glm::dmat4& into, Visitor& visitor) {
    const Tree& tree = *solids.meshes[static_cast<std::size_t>(placement.mesh)];
    const glm::dmat4 local = into * placement.world;
    const auto wanted = [&](const BoxTree::Node& node) { return visitor.wants(box_in(local, node)); };
    const auto meet = [&](std::size_t i) {
        const Tree::Corners t = tree.triangle(i);
        const auto at = [&](const glm::vec3& p) { return glm::dvec3(local * glm::dvec4(p, 1.0)); };
        visitor.meet({at(t.a), at(t.b), at(t.c)});
    };
    if (!wanted(tree.boxes.nodes[0]))
        return;
    // Neighbours block nearly the same directions. So a few from all over come first, and of the others most add
    // nothing.
    if constexpr (constexpr std::size_t some = Visitor::scattered; some > 0)
        for (std::size_t k = 0; k < some && tree.size() >= 4 * some; ++k)
            meet((2 * k + 1) * tree.size() / (2 * some));
    each_leaf_where(tree.boxes, wanted, [&](std::uint32_t first, std::uint32_t count) {
        for (std::uint32_t i = first; i < first + count; ++i)
            meet(i);
    });
}

template <typename Visitor>
void visit(const Solids& solids, const Frame& frame, const std::vector<std::int32_t>& ignored, Visitor& visitor) {
    const auto take = [&](std::int32_t index) {
        const Placement& placement = solids.placements[static_cast<std::size_t>(index)];
        if (std::binary_search(ignored.begin(), ignored.end(), placement.body) || !visitor.begin(placement.body))
            return;
        const bool turns = frame.turning && (*frame.turning)[static_cast<std::size_t>(placement.body)];
        visit_placement(solids, placement, turns ? frame.of_turning : frame.of_rest, visitor);
    };
    if (frame.turning) { // the tree over placements has what turns where it lies at rest: each is looked at
        for (std::size_t i = 0; i < solids.placements.size(); ++i)
            take(static_cast<std::int32_t>(i));
        return;
    }
    const auto wanted = [&](const BoxTree::Node& node) { return visitor.room(box_in(frame.of_rest, node)); };
    for (const std::int32_t index : placements_where(solids, wanted))
        take(index);
}

/// What stands wholly within the bore: from where to where, triangle by triangle.
struct InBore {
    static constexpr std::size_t scattered = 0; // each is kept, and once
    double inner, low, high;
    std::vector<std::pair<double, double>> spans;
    static bool begin(std::int32_t) { return true; }
    bool room(const Cuboid& box) const {
        return box.near_squared() <= inner * inner && box.high() >= low && box.low() <= high;
    }
    bool wants(const Cuboid& box) const { return room(box); }
    void meet(const Corners& t) {
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
    Rings rings(shape, margin, out.under);
    visit(solids, frame, ignored, rings);
    std::sort(out.under.begin(), out.under.end());
    Arms arms(shape, margin, out.under);
    visit(solids, frame, ignored, arms);
    arms.finish(out.arm);
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
