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
constexpr double LEAST_BOX = 1.0 / 8;    ///< of the stage's radius: a mesh is boxed in pieces of no less
constexpr std::size_t MOST_BOXES = 8;    ///< along an axis
constexpr std::size_t MOST_SHEETS = 8192;
constexpr double CELL_PX = 2;        ///< at scale 1; what shows through a gap narrower than this may be left out
constexpr float SURELY = 1.0005F;    ///< times as near counts as nearer
constexpr float LONGEST_LINE = 4096; ///< cells: what is longer is not walked along
constexpr float FLAT_CELLS = 0.01F;  ///< twice the area of a triangle that is seen from its edge

struct Large {
    float area;
    std::size_t mesh;
    bool both_sides;
    std::array<glm::vec3, 3> corners;
};

/// A mesh's own box in a few along each axis; each triangle makes that one wider in which its middle is.
class Boxes {
public:
    Boxes(const Mesh& mesh, double least) : low_(mesh.low[0], mesh.low[1], mesh.low[2]) {
        const glm::vec3 size = glm::vec3(mesh.high[0], mesh.high[1], mesh.high[2]) - low_;
        std::size_t all = 1;
        for (int axis = 0; axis < 3; ++axis) {
            const double wanted = std::clamp(std::floor(size[axis] / least), 1.0, static_cast<double>(MOST_BOXES));
            along_[static_cast<std::size_t>(axis)] = static_cast<std::size_t>(wanted);
            a_metre_[axis] = size[axis] > 0 ? static_cast<float>(wanted) / size[axis] : 0.0F;
            all *= static_cast<std::size_t>(wanted);
        }
        boxes_.resize(all);
    }
    void add(const std::array<glm::vec3, 3>& corners) {
        const glm::vec3 middle = ((corners[0] + corners[1] + corners[2]) / 3.0F - low_) * a_metre_;
        const auto place = [&](int axis) {
            const auto most = static_cast<float>(along_[static_cast<std::size_t>(axis)] - 1);
            return static_cast<std::size_t>(std::clamp(middle[axis], 0.0F, most));
        };
        auto& [low, high, any] = boxes_[(place(0) * along_[1] + place(1)) * along_[2] + place(2)];
        for (const glm::vec3& corner : corners) {
            low = any ? glm::min(low, corner) : corner;
            high = any ? glm::max(high, corner) : corner;
            any = true;
        }
    }
    std::vector<Bounds> filled() const {
        std::vector<Bounds> result;
        for (const Box& box : boxes_)
            if (box.any)
                result.push_back({box.low, box.high});
        return result;
    }

private:
    struct Box {
        glm::vec3 low{0.0F}, high{0.0F};
        bool any = false;
    };
    glm::vec3 low_, a_metre_{0.0F};
    std::array<std::size_t, 3> along_{};
    std::vector<Box> boxes_;
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
    std::vector<Sheets> result(map.meshes.size());
    for (std::size_t m = 0; m < map.meshes.size(); ++m) {
        if (!(scale[m] > 0))
            continue;
        Boxes boxes(map.meshes[m], LEAST_BOX * stage.bounds.radius() / scale[m]);
        for (const Primitive& primitive : map.meshes[m].primitives) {
            const bool both = primitive.material >= 0 &&
                              static_cast<std::size_t>(primitive.material) < map.materials.size() &&
                              map.materials[static_cast<std::size_t>(primitive.material)].double_sided;
            for (std::size_t i = 0; i + 2 < primitive.index_count; i += 3) {
                const std::array<glm::vec3, 3> corners{vector_at(primitive.positions, index_at(primitive, i)),
                                                       vector_at(primitive.positions, index_at(primitive, i + 1)),
                                                       vector_at(primitive.positions, index_at(primitive, i + 2))};
                boxes.add(corners);
                const float area =
                    glm::length(glm::cross(corners[1] - corners[0], corners[2] - corners[0])) / 2 * scale[m] * scale[m];
                if (area > least)
                    large.push_back({area, m, both && !stage.edges[m].closed, corners});
            }
        }
        result[m].boxes = boxes.filled();
    }
    if (large.size() > MOST_SHEETS) {
        std::stable_sort(large.begin(), large.end(), [](const Large& a, const Large& b) { return a.area > b.area; });
        large.resize(MOST_SHEETS);
    }
    for (const Large& sheet : large) {
        auto& into = sheet.both_sides ? result[sheet.mesh].from_both : result[sheet.mesh].from_outside;
        into.insert(into.end(), sheet.corners.begin(), sheet.corners.end());
    }
    return result;
}

Veil::Veil(const Projection& projection, double scale)
    : near_(static_cast<float>(projection.near_m)), cell_px_(static_cast<float>(CELL_PX * std::max(scale, 1.0))),
      width_(static_cast<int>(std::ceil(projection.size_px.x / cell_px_))),
      height_(static_cast<int>(std::ceil(projection.size_px.y / cell_px_))),
      zoom_(
          glm::vec2(static_cast<float>(projection.projection[0][0]), static_cast<float>(projection.projection[1][1])) *
          glm::vec2(projection.size_px) / (2 * cell_px_)),
      middle_(glm::vec2(projection.size_px) / (2 * cell_px_)),
      nearness_(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_), 0.0F) {}

/// Cells from the lower left, and the inverse of the distance, which is flat on the screen where the triangle is flat.
glm::vec3 Veil::on_grid(const glm::vec3& in_view) const {
    const float nearness = -1 / in_view.z;
    return {glm::vec2(in_view) * nearness * zoom_ + middle_, nearness};
}

void Veil::add(const Sheets& sheets, const Instance& instance, bool mirrored) {
    const auto in_view = [&](const glm::vec3& p) { return glm::vec3(in_view_of(instance, p)); };
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

void Veil::close() {
    const auto least = [](float a, float b, float c) { return std::min(a, std::min(b, c)); };
    const auto width = static_cast<std::size_t>(width_);
    const auto height = static_cast<std::size_t>(height_);
    std::vector<float> across(nearness_.size());
    for (std::size_t y = 0; y < height; ++y) {
        const float* from = nearness_.data() + y * width;
        float* to = across.data() + y * width;
        to[0] = std::min(from[0], from[std::min<std::size_t>(1, width - 1)]);
        for (std::size_t x = 1; x + 1 < width; ++x)
            to[x] = least(from[x - 1], from[x], from[x + 1]);
        to[width - 1] = std::min(from[width - 1], from[width > 1 ? width - 2 : 0]);
    }
    around_.resize(nearness_.size());
    for (std::size_t y = 0; y < height; ++y) {
        const float* above = across.data() + (y > 0 ? y - 1 : y) * width;
        const float* here = across.data() + y * width;
        const float* below = across.data() + std::min(y + 1, height - 1) * width;
        for (std::size_t x = 0; x < width; ++x)
            around_[y * width + x] = least(above[x], here[x], below[x]);
    }
}

bool Veil::hides(const Sheets& sheets, const Instance& instance) const {
    return !sheets.boxes.empty() && std::all_of(sheets.boxes.begin(), sheets.boxes.end(),
                                                [&](const Bounds& box) { return hides(box, instance); });
}

bool Veil::hides(const Bounds& box, const Instance& instance) const {
    glm::vec3 low(1e9F);
    glm::vec3 high(-1e9F);
    for (unsigned i = 0; i < 8; ++i) {
        const glm::vec3 in_view = in_view_of(instance, corner_of(box, i));
        if (in_view.z > -near_)
            return false;
        const glm::vec3 place = on_grid(in_view);
        low = glm::min(low, place);
        high = glm::max(high, place);
    }
    const auto cell = [](float place, int size) {
        return static_cast<int>(std::clamp(std::floor(place), 0.0F, static_cast<float>(size - 1)));
    };
    const int left = cell(low.x, width_);
    const int right = cell(high.x, width_);
    const int top = cell(high.y, height_);
    const float needed = high.z * SURELY;
    for (int row = cell(low.y, height_); row <= top; ++row) {
        const float* cells = around_.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(width_);
        for (int i = left; i <= right; ++i)
            if (cells[i] < needed)
                return false;
    }
    return true;
}

bool Veil::hides(const glm::vec3& from, const glm::vec3& to, float width_px) const {
    const glm::vec3 start = on_grid(from);
    const glm::vec3 way = on_grid(to) - start;
    const float longest = std::max(std::abs(way.x), std::abs(way.y));
    if (!(longest < LONGEST_LINE))
        return false;
    const int steps = std::max(1, static_cast<int>(std::ceil(longest)));
    const auto beside = static_cast<int>(width_px / (2 * cell_px_)); // of cells that stand for three by three
    for (int i = 0; i <= steps; ++i) {
        const glm::vec3 place = start + way * (static_cast<float>(i) / static_cast<float>(steps));
        // The nearest that it comes on its way to the next place.
        const float needed = (place.z + std::abs(way.z) / static_cast<float>(steps)) * SURELY;
        const int x = static_cast<int>(std::floor(place.x));
        const int y = static_cast<int>(std::floor(place.y));
        for (int row = y - beside; row <= y + beside; row += 2)
            for (int column = x - beside; column <= x + beside; column += 2)
                if (around_[static_cast<std::size_t>(std::clamp(row, 0, height_ - 1)) *
                                static_cast<std::size_t>(width_) +
                            static_cast<std::size_t>(std::clamp(column, 0, width_ - 1))] < needed)
                    return false;
    }
    return true;
}

} // namespace boltwalk
