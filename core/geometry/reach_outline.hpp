// Triangles seen along a tool's axis: cut to a height, and held against an arm that points along a direction of the
// table. For reach_sweep.cpp only.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>

#include "core/geometry/reach.hpp"

namespace boltwalk::reaching {

constexpr int quarter = reach_directions / 4;

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
inline Outline cut_out(const Corners& t, double low, double high) {
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
inline bool holds_axis(const Outline& outline) {
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
inline double least_squared(const Outline& outline) {
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

inline double most_squared(const Outline& outline) {
    double most = 0;
    for (int i = 0; i < outline.count; ++i) {
        const glm::dvec2& p = outline.corner[static_cast<std::size_t>(i)];
        most = std::max(most, glm::dot(p, p));
    }
    return most;
}

/// Against an arm: met, or all of it lies beside the arm's line (counter-clockwise or clockwise of it), or neither.
enum class AgainstArm : std::uint8_t { met, ahead, behind, clear };

/// Does the outline meet the arm that points along `way`: the rectangle from..to, half_width to both sides? Cut to the
/// arm's width, the outline is convex and in one piece, so its reach along the arm decides.
inline AgainstArm against_arm(const Outline& outline, const glm::dvec2& way, double from, double to,
                              double half_width) {
    std::array<glm::dvec2, 10> in;
    std::array<glm::dvec2, 10> next;
    int count = outline.count;
    glm::dvec2 least(1e300);
    glm::dvec2 most(-1e300);
    for (int i = 0; i < count; ++i) {
        const glm::dvec2& p = outline.corner[static_cast<std::size_t>(i)];
        const glm::dvec2 turned(p.x * way.x + p.y * way.y, p.y * way.x - p.x * way.y);
        in[static_cast<std::size_t>(i)] = turned;
        least = glm::min(least, turned);
        most = glm::max(most, turned);
    }
    if (least.y > half_width)
        return AgainstArm::ahead;
    if (most.y < -half_width)
        return AgainstArm::behind;
    if (least.x > to || most.x < from)
        return AgainstArm::clear;
    if (least.y >= -half_width && most.y <= half_width)
        return AgainstArm::met;
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
            return AgainstArm::clear;
    }
    double low = 1e300;
    double high = -1e300;
    for (int i = 0; i < count; ++i) {
        low = std::min(low, in[static_cast<std::size_t>(i)].x);
        high = std::max(high, in[static_cast<std::size_t>(i)].x);
    }
    return high >= from && low <= to ? AgainstArm::met : AgainstArm::clear;
}

/// Number of the direction of the table near the direction of `p`, out by one at most: atan t = t (pi / 4 + 0.273 (1 -
/// t)) within 0.22 degrees for t from 0 to 1 (Rajan and others, "Efficient approximations for the arctangent function",
/// 2006). It only says where to look.
inline int number_near(const glm::dvec2& p) {
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
inline int steps_aside(double half_width, double distance) {
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
    /// The last direction before `end`, from `number` on, that is not set, or number - 1.
    int last_clear(int number, int end) const {
        while (end > number) {
            const int place = (end - 1) % 64;
            const std::uint64_t clear = ~words[static_cast<std::size_t>(end - 1) / 64] << (63 - place);
            if (clear != 0)
                return std::max(end - 1 - std::countl_zero(clear), number - 1);
            end -= place + 1;
        }
        return number - 1;
    }
};

} // namespace boltwalk::reaching
