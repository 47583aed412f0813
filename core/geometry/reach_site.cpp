// Where a tool goes on: the axis, the head's height, what stands out of it; and about what a part turns.
#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>

#include <glm/gtc/type_ptr.hpp>

#include "core/geometry/reach_sweep.hpp"

namespace boltwalk::reaching {

namespace {

// Distances from the axis in widths across flats. A hexagon's flats lie at 0.5, its corners at 0.577; a chamfer takes
// the top's rim in to about 0.475, a shank is below 0.4 (M14 under hex 19: 0.37), a flange above 0.64.
constexpr double gripped_from = 0.42;
constexpr double gripped_to = 0.62;
constexpr double flange_from = 0.64;
/// Heads and nuts are not higher than this many widths across flats (ISO 4032: 0.55, castle nuts 0.85, cap nuts 1.0).
constexpr double highest_head = 1.2;
/// Where no corner of the mesh tells: ISO 4014 heads are 0.38 to 0.42 of the width across flats, nuts 0.5.
constexpr double usual_head = 0.45;
/// As far above a nut a stud's end is looked for.
constexpr double longest_end_m = 0.08;
/// Fasteners whose axes differ by less than this (cosine) point the same way.
constexpr double same_way = 0.999;

struct Profile {
    double z = 0, r = 0;
};

bool is_finite(const glm::dvec3& v) {
    return std::isfinite(v.x) && std::isfinite(v.y) && std::isfinite(v.z);
}

glm::dvec3 unit_or(const glm::dvec3& v, const glm::dvec3& otherwise) {
    const double length = glm::length(v);
    return length > 1e-12 && std::isfinite(length) ? v / length : otherwise;
}

/// The middle of a fastener about its axis: its node's origin where that lies within it, as modelling tools put it;
/// else the middle of its box.
glm::dvec3 middle_of(const Solids& solids, const Body& body, const glm::dvec3& axis) {
    const Placement& first = solids.placements[at(body.placements[0])];
    const glm::dvec3 origin(first.world[3]);
    const glm::dvec3 off = origin - body.bounds.centre();
    const glm::dvec3 aside = off - axis * glm::dot(off, axis);
    const glm::dvec3 half = 0.5 * body.bounds.size();
    const bool within = std::abs(aside.x) <= half.x && std::abs(aside.y) <= half.y && std::abs(aside.z) <= half.z;
    return within ? origin : body.bounds.centre();
}

glm::dvec3 read_turns(const std::string& text) {
    static constexpr std::array<const char*, 3> names{"x", "y", "z"};
    for (int i = 0; i < 3; ++i)
        for (const double sign : {1.0, -1.0}) {
            const std::string word = (sign > 0 ? "+" : "-") + std::string(names[static_cast<std::size_t>(i)]);
            if (text == word || (sign > 0 && text == names[static_cast<std::size_t>(i)])) {
                glm::dvec3 axis(0.0);
                axis[i] = sign;
                return axis;
            }
        }
    std::istringstream in(text);
    std::string word;
    glm::dvec3 axis(0.0);
    for (int i = 0; i < 3; ++i) {
        if (!(in >> word))
            return glm::dvec3(0.0);
        const bool minus = word.starts_with('-');
        const Reading<double> number = read_number(minus ? word.substr(1) : word);
        axis[i] = number ? (minus ? -*number : *number) : 0.0;
    }
    return axis;
}

glm::dvec3 in_world(const Map& map, std::int32_t node, const glm::dvec3& direction) {
    const glm::dmat4 world = glm::make_mat4(map.nodes[at(node)].world.data());
    return glm::dmat3(world) * direction;
}

} // namespace

glm::dvec3 axis_in_world(const Map& map, ItemId fastener) {
    const Item& item = map[fastener];
    const auto& own = map.fastener(fastener).axis;
    if (item.node < 0 || at(item.node) >= map.nodes.size())
        return {0, 1, 0};
    return unit_or(in_world(map, item.node, {own[0], own[1], own[2]}), {0, 1, 0});
}

bool find_site(const Solids& solids, ItemId fastener, double flats_mm, bool far_end, Site& out) {
    const std::int32_t index = solids.body_of[at(fastener.index)];
    if (index < 0)
        return false;
    const Body& body = solids.bodies[at(index)];
    out.axis = axis_in_world(*solids.map, fastener) * (far_end ? -1.0 : 1.0);
    out.zero = square_to(out.axis);
    const glm::dvec3 middle = middle_of(solids, body, out.axis);
    if (!is_finite(middle))
        return false;
    const glm::dmat4 into = into_axes(middle, out.axis, out.zero);
    std::vector<Profile> profile;
    each_triangle_of(solids, index, [&](const Triangle& t) {
        for (const glm::dvec3& p : {t.a, t.b, t.c}) {
            const glm::dvec3 local(into * glm::dvec4(p, 1.0));
            profile.push_back({local.z, std::sqrt(local.x * local.x + local.y * local.y)});
        }
    });
    if (profile.empty())
        return false;
    double top = -1e300;
    double bottom = 1e300;
    for (const Profile& p : profile) {
        top = std::max(top, p.z);
        bottom = std::min(bottom, p.z);
        out.radius = std::max(out.radius, p.r);
    }
    const double flats = flats_mm / 1000;
    double foot = top;
    if (flats > 0) {
        double head_top = -1e300;
        const auto gripped = [&](const Profile& p) { return p.r >= gripped_from * flats && p.r <= gripped_to * flats; };
        for (const Profile& p : profile)
            if (gripped(p))
                head_top = std::max(head_top, p.z);
        if (head_top > -1e300)
            top = head_top;
        foot = top;
        for (const Profile& p : profile)
            if (gripped(p) && p.z >= top - highest_head * flats)
                foot = std::min(foot, p.z);
        for (const Profile& p : profile) // a flange stands out beyond the corners: the tool sits on it
            if (p.r > flange_from * flats && p.z > foot && p.z < top - 0.3 * flats)
                foot = p.z;
        if (top - foot < 0.2 * flats)
            foot = std::max(top - usual_head * flats, bottom);
    }
    out.foot = middle + out.axis * foot;
    out.head = top - foot;
    out.proud = out.head;
    if (flats > 0) {
        Frame frame;
        frame.of_rest = into_axes(out.foot, out.axis, out.zero);
        out.proud =
            std::max(out.head, proud(solids, frame, gripped_from * flats, out.head, out.head + longest_end_m, {}));
    }
    return true;
}

bool turning_axis(const Solids& solids, const Fastener& fastener, glm::dvec3& through, glm::dvec3& axis, ItemId& part) {
    const Map& map = *solids.map;
    part = {};
    for (const ItemId held : fastener.holds)
        if (map.is_part(held) && !map.part(held).turns.empty() && !part)
            part = held;
    if (!part || solids.body_of[at(part.index)] < 0)
        return false;
    axis = unit_or(in_world(map, map[part].node, read_turns(map.part(part).turns)), glm::dvec3(0.0));
    if (axis == glm::dvec3(0.0))
        return false;
    const glm::dvec3 own = axis_in_world(map, fastener.item);
    Bounds box;
    int count = 0;
    for (const Fastener& other : map.fasteners) {
        const std::int32_t body = solids.body_of[at(other.item.index)];
        if (body < 0 || other.holds != fastener.holds || other.kind != fastener.kind ||
            glm::dot(axis_in_world(map, other.item), own) < same_way)
            continue;
        box.add(solids.bodies[at(body)].bounds.centre());
        ++count;
    }
    through = count >= 2 ? box.centre() : solids.bodies[at(solids.body_of[at(part.index)])].bounds.centre();
    return true;
}

} // namespace boltwalk::reaching
