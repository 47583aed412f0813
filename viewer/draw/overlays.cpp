// Estimates over the picture: ways out, a tool in its place, the centre of what leaves. All of it thin and quiet, but
// for the ways, which are what is next.
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "core/geometry/about_axis.hpp"
#include "viewer/draw/shapes.hpp"

namespace boltwalk {

namespace {

constexpr double TRACK_WIDTH = 3.2; ///< pixels at scale 1, as all that follow
constexpr double TRACK_DASH = 13, TRACK_GAP = 9;
constexpr double TRACK_LEAST = 30; ///< a shorter one on the screen says nothing: a mark stands there instead
constexpr double TOOL_WIDTH = 1.7;
constexpr double HALO = 1.3; ///< of the paper's colour on both sides
constexpr int ROUND = 28;    ///< corners of a circle

using Path = std::vector<glm::dvec2>;

/// Marks along a path: lengths that are drawn and left out in turn; a length of 0 is a dot. Empty: one whole line.
void add_path(Shapes& shapes, const Path& path, double width, Colour colour, const std::vector<double>& rhythm) {
    std::size_t beat = 0;
    double left = rhythm.empty() ? 0 : rhythm[0];
    for (std::size_t i = 1; i < path.size(); ++i) {
        const double length = glm::length(path[i] - path[i - 1]);
        if (length <= 0)
            continue;
        if (rhythm.empty()) {
            add_line(shapes, path[i - 1], path[i], width, colour);
            continue;
        }
        const glm::dvec2 unit = (path[i] - path[i - 1]) / length;
        double done = 0;
        while (done < length) {
            const double step = std::min(left, length - done);
            if (beat % 2 == 0)
                add_line(shapes, path[i - 1] + unit * done, path[i - 1] + unit * (done + step), width, colour);
            done += step;
            left -= step;
            if (left <= 0) {
                beat = (beat + 1) % rhythm.size();
                left = std::max(rhythm[beat], 0.01);
            }
        }
    }
}

double length_of(const Path& path) {
    double length = 0;
    for (std::size_t i = 1; i < path.size(); ++i)
        length += glm::length(path[i] - path[i - 1]);
    return length;
}

bool add_track(Shapes& shapes, const Theme& theme, const Frame& frame, const Projection& projection,
               const Track& track) {
    const double s = frame.scale;
    Path path = on_picture(track, projection, WAY_RIM * s);
    if (path.size() < 2 || length_of(path) < TRACK_LEAST * s)
        return false;
    const double width = TRACK_WIDTH * s;
    const double head = 4.2 * width;
    const glm::dvec2 tip = path.back();
    // The arrow points as the last of the line runs, however short its last leg is on the screen.
    while (path.size() > 2 && glm::length(tip - path[path.size() - 2]) < head)
        path.erase(path.end() - 2);
    const glm::dvec2 from = path[path.size() - 2];
    const double last = glm::length(tip - from);
    if (last < 1)
        return false;
    const glm::dvec2 along = (tip - from) / last;
    const glm::dvec2 across(-along.y, along.x);
    path.back() = tip - along * std::min(head * 0.8, last);
    const std::vector<double> rhythm =
        track.estimated ? std::vector<double>{TRACK_DASH * s, TRACK_GAP * s} : std::vector<double>{};
    const auto add_head = [&](double more, Colour colour) {
        const glm::dvec2 neck = tip - along * (head + more);
        const double half = 0.42 * head + more;
        add_triangle(shapes, tip + along * more, neck + across * half, neck - across * half, colour);
    };
    add_path(shapes, path, width + 2 * HALO * s, faded(theme.paper, 0.9), rhythm);
    add_head(1.6 * s, theme.paper);
    add_disc(shapes, path.front(), 1.5 * width, theme.paper);
    add_path(shapes, path, width, theme.accent, rhythm);
    add_head(0, theme.accent);
    add_disc(shapes, path.front(), 1.1 * width, theme.accent);
    return true;
}

// ---- tools

double turn(glm::dvec2 a, glm::dvec2 b, glm::dvec2 c) {
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

/// The outline about points (A. M. Andrew, "Another efficient algorithm for convex hulls in two dimensions", 1979),
/// closed.
Path outline_of(Path points) {
    std::sort(points.begin(), points.end(),
              [](glm::dvec2 a, glm::dvec2 b) { return a.x != b.x ? a.x < b.x : a.y < b.y; });
    if (points.size() < 3)
        return points;
    Path hull;
    for (int side = 0; side < 2; ++side) {
        const std::size_t first = hull.size();
        for (const glm::dvec2& point : points) {
            while (hull.size() >= first + 2 && turn(hull[hull.size() - 2], hull.back(), point) <= 0)
                hull.pop_back();
            hull.push_back(point);
        }
        hull.pop_back();
        std::reverse(points.begin(), points.end());
    }
    hull.push_back(hull.front());
    return hull;
}

/// A circle about an axis on the screen; empty when a part of it is behind the eye.
Path circle_of(const Projection& projection, const glm::dvec3& middle, const glm::dvec3& axis, double radius) {
    const auto [u, v] = across_of(axis);
    Path path;
    for (int i = 0; i <= ROUND; ++i) {
        const double angle = 2 * std::numbers::pi * i / ROUND;
        const auto seen = to_screen(projection, middle + radius * (std::cos(angle) * u + std::sin(angle) * v));
        if (!seen)
            return {};
        path.emplace_back(seen->x, seen->y);
    }
    return path;
}

void add_rod(std::vector<Path>& paths, const Projection& projection, const ToolRod& rod) {
    const glm::dvec3 way = rod.to - rod.from;
    if (glm::length(way) <= 0 || rod.radius <= 0)
        return;
    const glm::dvec3 axis = glm::normalize(way);
    Path both;
    const glm::dvec3 to_eye = projection.eye - 0.5 * (rod.from + rod.to);
    for (const glm::dvec3& end : {rod.from, rod.to}) {
        // A round end is a ball: from everywhere a circle that faces the eye.
        const glm::dvec3 facing = rod.round_ends ? glm::normalize(projection.eye - end) : axis;
        Path circle = circle_of(projection, end, facing, rod.radius);
        if (circle.empty())
            return;
        both.insert(both.end(), circle.begin(), circle.end());
        const bool near = (glm::dot(to_eye, axis) > 0) == (end == rod.to);
        if (!rod.round_ends && near)
            paths.push_back(std::move(circle));
    }
    paths.push_back(outline_of(std::move(both)));
}

void add_tool(Shapes& shapes, const Theme& theme, double s, const Projection& projection, const ToolDrawn& tool) {
    std::vector<Path> paths;
    for (const ToolRod& rod : tool.rods)
        add_rod(paths, projection, rod);
    Path arc;
    for (const glm::dvec3& point : tool.arc) {
        const auto seen = to_screen(projection, point);
        if (!seen)
            break;
        arc.emplace_back(seen->x, seen->y);
    }
    const auto pivot = to_screen(projection, tool.pivot);
    for (const bool halo : {true, false}) {
        const double width = (TOOL_WIDTH + (halo ? 2 * HALO : 0)) * s;
        const Colour colour = halo ? faded(theme.paper, 0.75) : theme.note;
        for (const Path& path : paths)
            add_path(shapes, path, width, colour, {});
        if (arc.size() < 2)
            continue;
        add_path(shapes, arc, width, colour, {});
        // Where the handle comes to at the end of the swing.
        if (pivot)
            add_path(shapes, {{pivot->x, pivot->y}, arc.back()}, width, colour, {3 * s, 5 * s});
        const glm::dvec2 before = arc[arc.size() - 2];
        const double length = glm::length(arc.back() - before);
        if (length < 0.5)
            continue;
        const glm::dvec2 along = (arc.back() - before) / length;
        const glm::dvec2 across(-along.y, along.x);
        const double head = 9 * s;
        const double more = halo ? HALO * s : 0;
        add_triangle(shapes, arc.back() + along * more,
                     arc.back() - along * (head + more) + across * (0.4 * head + more),
                     arc.back() - along * (head + more) - across * (0.4 * head + more), colour);
    }
}

// ---- the centre of what leaves

void add_plumb(Shapes& shapes, const Theme& theme, double s, const Projection& projection, const Plumb& plumb) {
    const auto centre = to_screen(projection, plumb.centre);
    const auto low = to_screen(projection, {plumb.centre.x, plumb.low_m, plumb.centre.z});
    const auto high = to_screen(projection, {plumb.centre.x, plumb.high_m, plumb.centre.z});
    if (!centre || !low || !high)
        return;
    const glm::dvec2 middle(centre->x, centre->y);
    const Path line{{high->x, high->y}, {low->x, low->y}};
    const std::vector<double> rhythm{16 * s, 5 * s, 2 * s, 5 * s};
    add_path(shapes, line, (TOOL_WIDTH + 2 * HALO) * s, faded(theme.paper, 0.75), rhythm);
    add_path(shapes, line, TOOL_WIDTH * s, theme.text, rhythm);
    add_disc(shapes, middle, 7.5 * s, theme.paper);
    add_ring(shapes, middle, 6 * s, 1.8 * s, theme.text);
    add_disc(shapes, middle, 2 * s, theme.text);
}

} // namespace

std::vector<ItemId> add_overlays(Shapes& shapes, const Stage& stage, const Frame& frame, const Projection& projection) {
    const Theme& theme = theme_of(frame.night);
    for (std::size_t i = 0; i < frame.over.plumbs.size(); ++i)
        if (is_labelled(frame, frame.labels.size() + i))
            add_plumb(shapes, theme, frame.scale, projection, frame.over.plumbs[i]);
    if (const ToolDrawn* tool = tool_of(frame))
        add_tool(shapes, theme, frame.scale, projection, *tool);
    std::vector<ItemId> drawn;
    for (const Track& track : frame.over.tracks)
        if (stage.map->is_part(track.part) && (!track.estimated || is_told(frame, track.part)) &&
            add_track(shapes, theme, frame, projection, track))
            drawn.push_back(track.part);
    return drawn;
}

} // namespace boltwalk
