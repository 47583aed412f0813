// The turntable camera and the way between world and screen.
#include <algorithm>
#include <array>
#include <cmath>

#include <glm/gtc/matrix_transform.hpp>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

namespace {

constexpr double NEAREST_M = 1e-3;       ///< the near plane never comes closer: depth precision ends
constexpr double SHORTEST_M = 5e-3;      ///< nor does the eye to its target
constexpr double FARTHEST_M = 1e5;       ///< a camera that a stuck key drove away can still be brought back
constexpr double FLATTEST_RADIUS = 0.01; ///< what is fitted is at least so large (metres): one point is no picture

double radians(double degrees) {
    return glm::radians(degrees);
}

double half_height(const Camera& camera) {
    return std::tan(0.5 * radians(camera.field_deg));
}

double wrapped(double degrees) {
    const double turn = std::fmod(degrees, 360.0);
    return turn < 0 ? turn + 360.0 : turn;
}

std::array<glm::dvec3, 8> corners(const Bounds& box) {
    std::array<glm::dvec3, 8> points;
    for (std::size_t i = 0; i < 8; ++i)
        points[i] = {(i & 1U) ? box.high.x : box.low.x, (i & 2U) ? box.high.y : box.low.y,
                     (i & 4U) ? box.high.z : box.low.z};
    return points;
}

} // namespace

Bounds moved(const Bounds& box, const glm::dvec3& shift) {
    Bounds result = box;
    if (!box.empty()) {
        result.low += shift;
        result.high += shift;
    }
    return result;
}

bool overlap(const Rect& a, const Rect& b) {
    return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom();
}

Rect grown(const Rect& box, double by) {
    return {box.x - by, box.y - by, box.width + 2 * by, box.height + 2 * by};
}

glm::dvec3 backward_of(const Camera& camera) {
    const double yaw = radians(camera.yaw_deg);
    const double pitch = radians(camera.pitch_deg);
    return {std::cos(pitch) * std::sin(yaw), std::sin(pitch), std::cos(pitch) * std::cos(yaw)};
}

glm::dvec3 upright_of(const Camera& camera) {
    const double yaw = radians(camera.yaw_deg);
    const double pitch = radians(camera.pitch_deg);
    const glm::dvec3 up{-std::sin(pitch) * std::sin(yaw), std::cos(pitch), -std::sin(pitch) * std::cos(yaw)};
    return camera.turned ? -up : up;
}

glm::dvec3 rightward_of(const Camera& camera) {
    const double yaw = radians(camera.yaw_deg);
    const glm::dvec3 right{std::cos(yaw), 0.0, -std::sin(yaw)};
    return camera.turned ? -right : right;
}

glm::dvec3 eye_of(const Camera& camera) {
    return camera.target + camera.distance_m * backward_of(camera);
}

Projection project(const Camera& camera, glm::dvec2 size_px, const Bounds& scene) {
    Projection result;
    result.size_px = glm::max(size_px, glm::dvec2(1.0));
    result.eye = eye_of(camera);
    const glm::dvec3 back = backward_of(camera);
    const glm::dvec3 up = upright_of(camera);
    const glm::dvec3 right = rightward_of(camera);
    const auto row = [&](int i, const glm::dvec3& axis) {
        result.view[0][i] = axis.x;
        result.view[1][i] = axis.y;
        result.view[2][i] = axis.z;
        result.view[3][i] = -glm::dot(axis, result.eye);
    };
    row(0, right);
    row(1, up);
    row(2, back);
    const double radius = scene.empty() ? camera.distance_m : std::max(scene.radius() * 1.01, NEAREST_M);
    const double depth = scene.empty() ? camera.distance_m : glm::dot(result.eye - scene.centre(), back);
    result.near_m = std::max({depth - radius, 0.01 * camera.distance_m, NEAREST_M});
    result.far_m = std::max(depth + radius, result.near_m * 1.5);
    result.projection =
        glm::perspective(radians(camera.field_deg), result.size_px.x / result.size_px.y, result.near_m, result.far_m);
    result.both = result.projection * result.view;
    return result;
}

std::optional<glm::dvec3> to_screen(const Projection& projection, const glm::dvec3& point) {
    const glm::dvec4 clip = projection.both * glm::dvec4(point, 1.0);
    if (clip.w < projection.near_m)
        return std::nullopt;
    const glm::dvec3 share = glm::dvec3(clip) / clip.w;
    return glm::dvec3{(0.5 + 0.5 * share.x) * projection.size_px.x, (0.5 - 0.5 * share.y) * projection.size_px.y,
                      0.5 + 0.5 * share.z};
}

std::optional<Rect> screen_box(const Projection& projection, const Bounds& box) {
    if (box.empty())
        return std::nullopt;
    Bounds seen;
    for (const glm::dvec3& corner : corners(box)) {
        const auto at = to_screen(projection, corner);
        if (!at)
            return std::nullopt;
        seen.add(*at);
    }
    return Rect{seen.low.x, seen.low.y, seen.high.x - seen.low.x, seen.high.y - seen.low.y};
}

Ray ray_through(const Projection& projection, glm::dvec2 point_px) {
    const glm::dvec2 share = 2.0 * point_px / projection.size_px - 1.0;
    const glm::dvec3 in_view{share.x / projection.projection[0][0], -share.y / projection.projection[1][1], -1.0};
    const glm::dmat3 turn(projection.view);
    return {projection.eye, glm::normalize(glm::transpose(turn) * in_view)};
}

Camera orbited(Camera camera, double yaw_deg, double pitch_deg) {
    const double way = camera.turned ? -1 : 1; // what is dragged follows the pointer
    camera.yaw_deg = wrapped(camera.yaw_deg + way * yaw_deg);
    camera.pitch_deg = std::clamp(camera.pitch_deg + way * pitch_deg, -90.0, 90.0);
    return camera;
}

Camera panned(Camera camera, glm::dvec2 by_px, double height_px) {
    const double metres = 2.0 * camera.distance_m * half_height(camera) / std::max(height_px, 1.0);
    camera.target += metres * (by_px.y * upright_of(camera) - by_px.x * rightward_of(camera));
    return camera;
}

Camera zoomed(Camera camera, double factor, glm::dvec2 at_px, glm::dvec2 size_px) {
    if (!(factor > 0))
        return camera;
    const double before = camera.distance_m;
    camera.distance_m = std::clamp(before / factor, SHORTEST_M, FARTHEST_M);
    if (at_px.x >= 0 && at_px.y >= 0) {
        const glm::dvec2 off = at_px - 0.5 * size_px;
        const double metres = 2.0 * (before - camera.distance_m) * half_height(camera) / std::max(size_px.y, 1.0);
        camera.target += metres * (off.x * rightward_of(camera) - off.y * upright_of(camera));
    }
    return camera;
}

// In the camera's axes about the box's centre the eye is (x, y, d). Each corner must lie between the rays through the
// rectangle's sides, which is linear in x, y and d: the least d for which an x and a y are left, and the middle of
// those.
Camera fitted(Camera camera, std::span<const Bounds> boxes, glm::dvec2 size_px, const Rect& inside) {
    Bounds bounds;
    for (const Bounds& box : boxes)
        bounds.add(box);
    if (bounds.empty() || inside.width <= 0 || inside.height <= 0)
        return camera;
    const glm::dvec3 centre = bounds.centre();
    Bounds smallest;
    smallest.add(centre - FLATTEST_RADIUS);
    smallest.add(centre + FLATTEST_RADIUS);
    const glm::dvec3 right = rightward_of(camera);
    const glm::dvec3 up = upright_of(camera);
    const glm::dvec3 back = backward_of(camera);
    const double tall = half_height(camera);
    const double wide = tall * size_px.x / size_px.y;
    const glm::dvec2 least{(2 * inside.x / size_px.x - 1) * wide, (1 - 2 * inside.bottom() / size_px.y) * tall};
    const glm::dvec2 most{(2 * inside.right() / size_px.x - 1) * wide, (1 - 2 * inside.y / size_px.y) * tall};
    glm::dvec2 lowest(std::numeric_limits<double>::infinity());
    glm::dvec2 highest(-std::numeric_limits<double>::infinity());
    double nearest = -std::numeric_limits<double>::infinity();
    const auto hold = [&](const glm::dvec3& corner) {
        const glm::dvec3 from = corner - centre;
        const glm::dvec2 flat{glm::dot(from, right), glm::dot(from, up)};
        const double depth = glm::dot(from, back);
        lowest = glm::min(lowest, flat + least * depth);
        highest = glm::max(highest, flat + most * depth);
        nearest = std::max(nearest, depth);
    };
    for (const glm::dvec3& corner : corners(smallest))
        hold(corner);
    for (const Bounds& box : boxes)
        if (!box.empty())
            for (const glm::dvec3& corner : corners(box))
                hold(corner);
    const glm::dvec2 needed = (highest - lowest) / (most - least);
    const double distance = std::max({needed.x, needed.y, nearest + SHORTEST_M});
    const glm::dvec2 eye = 0.5 * ((highest - most * distance) + (lowest - least * distance));
    camera.distance_m = std::clamp(distance, SHORTEST_M, FARTHEST_M);
    camera.target = centre + eye.x * right + eye.y * up;
    return camera;
}

Camera fitted(Camera camera, const Bounds& bounds, glm::dvec2 size_px, const Rect& inside) {
    return fitted(camera, std::span(&bounds, 1), size_px, inside);
}

Camera fitted(Camera camera, const Bounds& bounds, glm::dvec2 size_px, double margin) {
    const double edge = margin * std::min(size_px.x, size_px.y);
    return fitted(camera, bounds, size_px, Rect{edge, edge, size_px.x - 2 * edge, size_px.y - 2 * edge});
}

Camera turned_to(Camera camera, Place place) {
    struct Direction {
        double yaw_deg, pitch_deg;
    };
    const Direction direction = [&]() -> Direction {
        switch (place) {
        case Place::under:
            return {5, -58};
        case Place::over:
            return {185, 56};
        case Place::left:
            return {68, 14};
        case Place::right:
            return {292, 14};
        case Place::front:
            return {22, 16};
        case Place::rear:
            return {158, 16};
        case Place::inside:
            return {204, 44};
        case Place::not_stated:
            break;
        }
        return {38, 24};
    }();
    camera.yaw_deg = direction.yaw_deg;
    camera.pitch_deg = direction.pitch_deg;
    return camera;
}

Camera as_lying(Camera camera, Lying lying) {
    camera.turned = false;
    if (lying != Lying::as_seen)
        camera.turned = (upright_of(camera).z < 0) == (lying == Lying::head_forward);
    return camera;
}

double eased(double t) {
    t = std::clamp(t, 0.0, 1.0);
    return t * t * (3.0 - 2.0 * t);
}

Camera between(const Camera& a, const Camera& b, double t) {
    if (t <= 0)
        return a;
    if (t >= 1)
        return b;
    const double s = eased(t);
    const double turn = wrapped(b.yaw_deg - a.yaw_deg + 180.0) - 180.0;
    Camera camera;
    camera.target = glm::mix(a.target, b.target, s);
    camera.distance_m = a.distance_m * std::pow(b.distance_m / a.distance_m, s);
    camera.yaw_deg = wrapped(a.yaw_deg + s * turn);
    camera.pitch_deg = glm::mix(a.pitch_deg, b.pitch_deg, s);
    camera.field_deg = glm::mix(a.field_deg, b.field_deg, s);
    camera.turned = b.turned;
    return camera;
}

} // namespace boltwalk
