// The paint-pen stroke: a ribbon over the head's top, down its side and out onto the part, drawn twice, the rim first.
#include <algorithm>
#include <cmath>

#include "viewer/draw/drawing.hpp"

namespace boltwalk {

namespace {

constexpr double WIDTH = 0.42;       ///< of the head's radius
constexpr double RIM = 0.14;         ///< on each side, of the head's radius
constexpr double FROM_MIDDLE = 0.55; ///< it starts so far on the other side of the middle
constexpr double TO_OUTSIDE = 1.75;  ///< and ends so far out on the part
constexpr double LEAST_PX = 5;       ///< a head smaller than this gets no stroke

struct Bend {
    double out, up; ///< from the head's base on the axis, in metres
};

void add_ribbon(std::vector<StrokeCorner>& corners, const std::vector<Bend>& bends, const glm::dvec3& base,
                const glm::dvec3& out, const glm::dvec3& up, double half, double nearer, const Projection& projection,
                Colour tint) {
    const glm::dvec3 across = glm::cross(up, out);
    const auto place = [&](const Bend& bend, double side) {
        const glm::dvec3 world = base + out * bend.out + up * bend.up + across * (side * half);
        const glm::dvec3 in_view(projection.view * glm::dvec4(world, 1.0));
        return StrokeCorner{glm::vec3(in_view * (1.0 - nearer)), tint};
    };
    for (std::size_t i = 0; i + 1 < bends.size(); ++i) {
        const StrokeCorner a = place(bends[i], -1);
        const StrokeCorner b = place(bends[i], 1);
        const StrokeCorner c = place(bends[i + 1], -1);
        const StrokeCorner d = place(bends[i + 1], 1);
        corners.insert(corners.end(), {a, b, c, c, b, d});
    }
}

} // namespace

std::vector<StrokeCorner> strokes_of(const Stage& stage, const Frame& frame, const Projection& projection) {
    std::vector<StrokeCorner> corners;
    if (frame.painted.empty())
        return corners;
    const Theme& theme = theme_of(frame.night);
    for (std::size_t i = 0; i < stage.map->fasteners.size(); ++i) {
        const auto item = static_cast<std::size_t>(stage.map->fasteners[i].item.index);
        const Pose pose = item < frame.poses.size() ? frame.poses[item] : Pose{};
        if (item >= frame.painted.size() || frame.painted[item] == 0 || pose.presence < 1)
            continue;
        const HeadShape& head = stage.heads[i];
        const auto mark = mark_of(stage, frame.poses, stage.map->fasteners[i].item, projection, 0);
        if (!mark || mark->radius_px < LEAST_PX * frame.scale || head.radius <= 0)
            continue;
        const glm::dvec3 up = stage.axes[i];
        const glm::dvec3 base = head.base + pose.shift_m;
        // Across the head as the eye sees it from the side: the same for a head whatever way its bolt was turned.
        const glm::dvec3 helper = std::abs(up.y) < 0.9 ? glm::dvec3(0, 1, 0) : glm::dvec3(0, 0, 1);
        const glm::dvec3 first = glm::normalize(glm::cross(helper, up));
        const glm::dvec3 out = glm::normalize(first + 0.6 * glm::cross(up, first));
        const double height = glm::dot(head.top - head.base, up);
        const double r = head.radius;
        const double lift = 0.02 * r;
        const auto ribbon = [&](double more) {
            return std::vector<Bend>{{-FROM_MIDDLE * r - more, height + lift},
                                     {0.93 * r, height + lift},
                                     {1.02 * r, height * 0.8},
                                     {1.02 * r, lift},
                                     {TO_OUTSIDE * r + more, lift}};
        };
        add_ribbon(corners, ribbon(RIM * r), base, out, up, (WIDTH / 2 + RIM) * r, 0.0010, projection,
                   theme.paint_edge);
        add_ribbon(corners, ribbon(0), base, out, up, WIDTH / 2 * r, 0.0016, projection, theme.paint);
    }
    return corners;
}

} // namespace boltwalk
