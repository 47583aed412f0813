// The order in which a person would count things that are alike.
#include <algorithm>
#include <cmath>

#include "core/geometry/about_axis.hpp"
#include "core/propose/propose.hpp"

namespace boltwalk {

namespace {

/// A circle or a row is one where everything lies within this share of its radius or length, or this many metres.
constexpr double off_circle = 0.02, off_row = 0.05, off_least = 0.001;

struct Placed {
    std::int32_t node = -1;
    glm::dvec3 at{0.0};
};

bool is_row(const std::vector<Placed>& list, glm::dvec3& along) {
    double longest = 0;
    for (const Placed& a : list)
        for (const Placed* b : {&list.front(), &list.back()})
            if (const double d = glm::length(a.at - b->at); d > longest * (1 + 1e-9)) {
                longest = d;
                along = (a.at - b->at) / d;
            }
    if (!(longest > 0))
        return false;
    for (const Placed& a : list) {
        const glm::dvec3 off = a.at - list.front().at;
        if (glm::length(off - glm::dot(off, along) * along) > std::max(off_least, off_row * longest))
            return false;
    }
    return true;
}

/// Least squares of x2 + y2 = 2 a x + 2 b y + c (I. Kasa, "A circle fitting procedure and its error analysis", 1976;
/// from memory): false where the points lie on no circle.
bool circle_through(const std::vector<glm::dvec2>& points, glm::dvec2& centre) {
    glm::dmat3 m(0.0);
    glm::dvec3 right(0.0);
    for (const glm::dvec2& p : points) {
        const glm::dvec3 row(p.x, p.y, 1);
        m += glm::outerProduct(row, row);
        right += row * glm::dot(p, p);
    }
    const double size = std::abs(m[0][0]) + std::abs(m[1][1]);
    if (!(std::abs(glm::determinant(m)) > 1e-9 * size * size * m[2][2]))
        return false;
    const glm::dvec3 answer = glm::inverse(m) * right;
    centre = 0.5 * glm::dvec2(answer);
    const double radius = std::sqrt(std::max(0.0, answer.z + glm::dot(centre, centre)));
    for (const glm::dvec2& p : points)
        if (std::abs(glm::length(p - centre) - radius) > std::max(off_least, off_circle * radius))
            return false;
    return true;
}

bool by_circle(std::vector<Placed>& list, const glm::dvec3& axis) {
    if (list.size() < 3 || !(glm::length(axis) > 0))
        return false;
    const glm::dvec3 a = glm::normalize(axis);
    glm::dvec3 middle(0.0);
    for (const Placed& one : list)
        middle += one.at / static_cast<double>(list.size());
    // Up as it is seen onto the heads; of heads that look up or down, the front.
    const glm::dvec3 up = std::abs(a.y) < 0.9 ? glm::dvec3(0, 1, 0) : glm::dvec3(0, 0, 1);
    const glm::dvec3 right = glm::normalize(glm::cross(up, a));
    const glm::dvec3 high = glm::cross(a, right);
    std::vector<glm::dvec2> points;
    points.reserve(list.size());
    for (const Placed& one : list)
        points.emplace_back(glm::dot(one.at - middle, right), glm::dot(one.at - middle, high));
    for (const Placed& one : list)
        if (std::abs(glm::dot(one.at - middle, a)) > 0.02)
            return false;
    glm::dvec2 centre;
    if (!circle_through(points, centre))
        return false;
    std::size_t first = 0;
    for (std::size_t i = 1; i < points.size(); ++i)
        if (points[i].y > points[first].y + 1e-5 ||
            (points[i].y > points[first].y - 1e-5 && points[i].x > points[first].x))
            first = i;
    const glm::dvec2 start = points[first] - centre;
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const glm::dvec2 d = points[i] - centre;
        // Clockwise from the first: the angle, turned back to it and the other way round.
        const glm::dvec2 turned(d.x * start.x + d.y * start.y, start.y * d.x - start.x * d.y);
        order.emplace_back(i == first ? -1 : around(turned), i);
    }
    std::stable_sort(order.begin(), order.end());
    std::vector<Placed> sorted;
    sorted.reserve(order.size());
    for (const auto& [angle, i] : order)
        sorted.push_back(list[i]);
    list = std::move(sorted);
    return true;
}

/// Rows across `k` first: a gap begins a new one.
void in_rows(std::vector<Placed>::iterator begin, std::vector<Placed>::iterator end, int level) {
    constexpr int order[] = {2, 0, 1}; // front to rear, left to right, from the top down
    if (level == 3 || end - begin < 2)
        return;
    const int k = order[level];
    std::stable_sort(begin, end, [&](const Placed& a, const Placed& b) { return a.at[k] > b.at[k]; });
    const double gap = std::max(0.005, 0.05 * (begin->at[k] - (end - 1)->at[k]));
    for (auto first = begin; first != end;) {
        auto last = first + 1;
        while (last != end && (last - 1)->at[k] - last->at[k] < gap)
            ++last;
        in_rows(first, last, level + 1);
        first = last;
    }
}

} // namespace

Numbered number_nodes(const Solids& solids, std::span<const std::int32_t> nodes, const glm::dvec3& axis) {
    std::vector<std::int32_t> wanted(nodes.begin(), nodes.end());
    std::sort(wanted.begin(), wanted.end());
    std::vector<Placed> list;
    for (const Placement& placement : solids.placements)
        if (std::binary_search(wanted.begin(), wanted.end(), placement.node))
            list.push_back({placement.node, placement.bounds.centre()});
    Numbered numbered;
    glm::dvec3 along(0.0);
    if (list.size() < 2) {
        numbered.layout = Spread::alone;
    } else if (is_row(list, along)) {
        numbered.layout = Spread::row;
        int k = 0;
        for (const int one : {0, 1})
            if (std::abs(along[one]) > std::abs(along[k]) + 1e-6)
                k = one;
        if (std::abs(along.z) >= std::abs(along[k]))
            k = 2;
        std::stable_sort(list.begin(), list.end(), [&](const Placed& a, const Placed& b) { return a.at[k] > b.at[k]; });
    } else if (by_circle(list, axis)) {
        numbered.layout = Spread::circle;
    } else {
        numbered.layout = Spread::scattered;
        in_rows(list.begin(), list.end(), 0);
    }
    for (const Placed& one : list)
        numbered.nodes.push_back(one.node);
    return numbered;
}

} // namespace boltwalk
