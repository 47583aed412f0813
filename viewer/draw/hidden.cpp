// Which nodes nobody can see, since large triangles before them hide them whole: found before anything is drawn, from
// the very frame, so that equal frames stay equal pictures. A grid of cells holds how near the nearest large triangle
// is; a node is hidden when each cell that its box touches, and each beside those, is nearer than the box. On the
// software renderer what is hidden costs as much as what is seen, but for its shading.
#include <algorithm>
#include <cmath>
#include <utility>

#include "viewer/draw/drawing.hpp"
#include "viewer/scene/triangles.hpp"

namespace boltwalk {

namespace {

constexpr double LEAST_SHEET = 1.0 / 64; ///< of the stage's radius: half a square of that side is a large triangle
constexpr std::size_t MOST_SHEETS = 8192;
constexpr float CELL_PX = 2;        ///< a gap narrower than this may go unseen, and what shows through it is left out
constexpr float SURELY = 1.0005F;   ///< times as near counts as nearer
constexpr float FLAT_CELLS = 0.01F; ///< twice the area of a triangle that is seen from its edge

struct Large {
    float area;
    std::size_t mesh;
    bool both_sides;
    std::array<glm::vec3, 3> corners;
};

} // namespace

std::vector<Sheets> sheets_of(const Stage& stage) {
    const Map& map = *stage.map;
    std::vector<float> scale(map.meshes.size(), 0); // of the largest node that shows it
    for (const std::int32_t node : stage.shown) {
        const Node& shown = map.nodes[static_cast<std::size_t>(node)];
        const double volume = std::abs(glm::determinant(glm::dmat3(world_of(shown))));
        float& most = scale[static_cast<std::size_t>(shown.mesh)];
        most = std::max(most, static_cast<float>(std::cbrt(volume)));
    }
    const auto least = static_cast<float>(std::pow(LEAST_SHEET * stage.bounds.radius(), 2) / 2);
    std::vector<Large> large;
    for (std::size_t m = 0; m < map.meshes.size(); ++m) {
        if (!(scale[m] > 0))
            continue;
        for (const Primitive& primitive : map.meshes[m].primitives) {
            const bool both = primitive.material >= 0 &&
                              static_cast<std::size_t>(primitive.material) < map.materials.size() &&
                              map.materials[static_cast<std::size_t>(primitive.material)].double_sided;
            for (std::size_t i = 0; i + 2 < primitive.index_count; i += 3) {
                const std::array<glm::vec3, 3> corners{vector_at(primitive.positions, index_at(primitive, i)),
                                                       vector_at(primitive.positions, index_at(primitive, i + 1)),
                                                       vector_at(primitive.positions, index_at(primitive, i + 2))};
                const float area =
                    glm::length(glm::cross(corners[1] - corners[0], corners[2] - corners[0])) / 2 * scale[m] * scale[m];
                if (area > least)
                    large.push_back({area, m, both && !stage.edges[m].closed, corners});
            }
        }
    }
    if (large.size() > MOST_SHEETS) {
        std::stable_sort(large.begin(), large.end(), [](const Large& a, const Large& b) { return a.area > b.area; });
        large.resize(MOST_SHEETS);
    }
    std::vector<Sheets> result(map.meshes.size());
    for (const Large& sheet : large) {
        auto& into = sheet.both_sides ? result[sheet.mesh].from_both : result[sheet.mesh].from_outside;
        into.insert(into.end(), sheet.corners.begin(), sheet.corners.end());
    }
    return result;
}

Veil::Veil(const Projection& projection)
    : view_(projection.view), near_(static_cast<float>(projection.near_m)),
      width_(static_cast<int>(std::ceil(projection.size_px.x / CELL_PX))),
      height_(static_cast<int>(std::ceil(projection.size_px.y / CELL_PX))),
      zoom_(
          glm::vec2(static_cast<float>(projection.projection[0][0]), static_cast<float>(projection.projection[1][1])) *
          glm::vec2(projection.size_px) / (2 * CELL_PX)),
      middle_(glm::vec2(projection.size_px) / (2 * CELL_PX)),
      nearness_(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_), 0.0F) {}

/// Cells from the lower left, and the inverse of the distance, which is flat on the screen where the triangle is flat.
glm::vec3 Veil::on_grid(const glm::vec3& in_view) const {
    const float nearness = -1 / in_view.z;
    return {glm::vec2(in_view) * nearness * zoom_ + middle_, nearness};
}

void Veil::add(const Sheets& sheets, const Instance& instance, bool mirrored) {
    const auto in_view = [&](const glm::vec3& p) {
        const auto along = [&](std::size_t row) {
            const auto& r = instance.rows[row];
            return r[0] * p.x + r[1] * p.y + r[2] * p.z + r[3];
        };
        return glm::vec3(along(0), along(1), along(2));
    };
    for (const auto* corners : {&sheets.from_outside, &sheets.from_both})
        for (std::size_t i = 0; i + 2 < corners->size(); i += 3) {
            const glm::vec3 a = in_view((*corners)[i]);
            const glm::vec3 b = in_view((*corners)[i + 1]);
            const glm::vec3 c = in_view((*corners)[i + 2]);
            if (std::max({a.z, b.z, c.z}) > -near_)
                continue;
            add_triangle(on_grid(a), on_grid(b), on_grid(c), corners == &sheets.from_both, mirrored);
        }
}

void Veil::add_triangle(const glm::vec3& a, const glm::vec3& b, const glm::vec3& c, bool both_sides, bool mirrored) {
    const glm::vec3 ab = b - a;
    const glm::vec3 ac = c - a;
    const float area = ab.x * ac.y - ab.y * ac.x;
    if (std::abs(area) < FLAT_CELLS || (!both_sides && (area > 0) == mirrored))
        return;
    const glm::vec2 slope((ab.z * ac.y - ac.z * ab.y) / area, (ac.z * ab.x - ab.z * ac.x) / area);
    // The farthest that it comes within a cell.
    const float farthest = -0.5F * (std::abs(slope.x) + std::abs(slope.y));
    const std::array<std::pair<const glm::vec3*, const glm::vec3*>, 3> sides{{{&a, &b}, {&b, &c}, {&c, &a}}};
    const auto cell = [](float place, int size) {
        return static_cast<int>(std::clamp(place, -1.0F, static_cast<float>(size)));
    };
    const int low = std::max(0, cell(std::ceil(std::min({a.y, b.y, c.y}) - 0.5F), height_));
    const int high = std::min(height_ - 1, cell(std::floor(std::max({a.y, b.y, c.y}) - 0.5F), height_));
    for (int row = low; row <= high; ++row) {
        const float y = static_cast<float>(row) + 0.5F;
        float left = static_cast<float>(width_);
        float right = -1;
        for (const auto& [from, to] : sides) {
            if ((from->y < y) == (to->y < y))
                continue;
            const float x = from->x + (to->x - from->x) * (y - from->y) / (to->y - from->y);
            left = std::min(left, x);
            right = std::max(right, x);
        }
        const int first = std::max(0, cell(std::ceil(left - 0.5F), width_));
        const int last = std::min(width_ - 1, cell(std::floor(right - 0.5F), width_));
        float* cells = nearness_.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(width_);
        const float start = a.z + farthest + slope.x * (0.5F - a.x) + slope.y * (y - a.y);
        for (int i = first; i <= last; ++i)
            cells[i] = std::max(cells[i], start + slope.x * static_cast<float>(i));
    }
}

bool Veil::hides(const Bounds& box) const {
    glm::vec3 low(1e9F);
    glm::vec3 high(-1e9F);
    for (unsigned i = 0; i < 8; ++i) {
        const glm::dvec3 corner((i & 1U) != 0 ? box.high.x : box.low.x, (i & 2U) != 0 ? box.high.y : box.low.y,
                                (i & 4U) != 0 ? box.high.z : box.low.z);
        const glm::vec3 in_view(view_ * glm::dvec4(corner, 1.0));
        if (in_view.z > -near_)
            return false;
        const glm::vec3 place = on_grid(in_view);
        low = glm::min(low, place);
        high = glm::max(high, place);
    }
    const auto cell = [](float place, int size) {
        return static_cast<int>(std::clamp(std::floor(place), 0.0F, static_cast<float>(size - 1)));
    };
    const int left = cell(low.x - 1, width_);
    const int right = cell(high.x + 1, width_);
    const int top = cell(high.y + 1, height_);
    const float needed = high.z * SURELY;
    for (int row = cell(low.y - 1, height_); row <= top; ++row) {
        const float* cells = nearness_.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(width_);
        for (int i = left; i <= right; ++i)
            if (cells[i] < needed)
                return false;
    }
    return true;
}

} // namespace boltwalk
