// Where in the picture anything is drawn: what is worked out a pixel at a time (contact shade, its blur, glass, the
// picture's own pixels out of four samples each) is worked out there alone. Most of a picture is paper.
#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "viewer/draw/drawing.hpp"

namespace boltwalk {

namespace {

constexpr double BAND_PX = 16;
/// Beyond what is drawn: half the widest line at scale 1, and what contact shade's blur reads beside a pixel.
constexpr double LINES_PX = 4;
constexpr double BLUR_PX = 8;

/// Between which columns something stands, band by band.
class Reached {
public:
    Reached(glm::dvec2 size_px, double beyond_px)
        : size_(size_px), beyond_(beyond_px),
          ends_(static_cast<std::size_t>(std::ceil(size_px.y / BAND_PX)), {size_px.x, 0.0}) {}

    void add_all() { ends_.assign(ends_.size(), {0.0, size_.x}); }

    /// Everything between these places.
    void add(std::span<const glm::dvec2> hull) {
        glm::dvec2 low = hull[0];
        glm::dvec2 high = hull[0];
        for (const glm::dvec2& place : hull) {
            low = glm::min(low, place);
            high = glm::max(high, place);
        }
        low -= beyond_;
        high += beyond_;
        if (!(high.x >= 0 && high.y >= 0 && low.x <= size_.x && low.y <= size_.y))
            return;
        const std::size_t first = band_at(low.y);
        const std::size_t last = band_at(high.y);
        for (std::size_t band = first; band <= last; ++band) {
            glm::dvec2 ends(low.x, high.x);
            if (last - first > 2) {
                const double from = static_cast<double>(band) * BAND_PX - beyond_;
                ends = ends_between(hull, from, from + BAND_PX + 2 * beyond_);
            }
            ends_[band].x = std::min(ends_[band].x, std::max(ends.x, 0.0));
            ends_[band].y = std::max(ends_[band].y, std::min(ends.y, size_.x));
        }
    }

    Bands bands() const {
        Bands result;
        for (std::size_t band = 0; band < ends_.size(); ++band) {
            const double left = std::floor(ends_[band].x);
            const double right = std::ceil(ends_[band].y);
            const double foot = static_cast<double>(band) * BAND_PX;
            const double head = std::min(foot + BAND_PX, size_.y);
            if (right <= left)
                continue;
            result.rows.push_back({left, foot, right - left, head - foot});
            const Rect& all = result.all;
            const double low = std::min(left, result.rows.size() > 1 ? all.x : left);
            const double high = std::max(right, all.right());
            const double start = result.rows.front().y;
            result.all = {low, start, high - low, head - start};
        }
        return result;
    }

private:
    std::size_t band_at(double y) const {
        return static_cast<std::size_t>(std::clamp(y / BAND_PX, 0.0, static_cast<double>(ends_.size() - 1)));
    }

    /// Leftmost and rightmost of what stands between two heights.
    glm::dvec2 ends_between(std::span<const glm::dvec2> hull, double from, double to) const {
        glm::dvec2 ends(size_.x, 0.0);
        for (std::size_t i = 0; i < hull.size(); ++i)
            for (std::size_t k = i + 1; k < hull.size(); ++k) {
                const glm::dvec2& low = hull[i].y < hull[k].y ? hull[i] : hull[k];
                const glm::dvec2& high = hull[i].y < hull[k].y ? hull[k] : hull[i];
                if (high.y < from || low.y > to)
                    continue;
                const double rise = high.y - low.y;
                const double start = rise > 0 ? glm::mix(low.x, high.x, (std::max(from, low.y) - low.y) / rise) : low.x;
                const double end = rise > 0 ? glm::mix(low.x, high.x, (std::min(to, high.y) - low.y) / rise) : high.x;
                ends = {std::min(ends.x, std::min(start, end) - beyond_),
                        std::max(ends.y, std::max(start, end) + beyond_)};
            }
        return ends;
    }

    glm::dvec2 size_;
    double beyond_;
    std::vector<glm::dvec2> ends_; ///< left and right; the other way round where nothing stands
};

} // namespace

Bands bands_of(const std::vector<Sheets>& sheets, const Prepared& prepared, const Projection& projection,
               double scale) {
    const glm::dvec2 half = projection.size_px / 2.0;
    const glm::dvec2 zoom = half * glm::dvec2(projection.projection[0][0], projection.projection[1][1]);
    Reached reached(projection.size_px, LINES_PX * std::max(scale, 1.0) + BLUR_PX);
    /// From the foot up, as OpenGL counts; false when it lies behind the eye.
    const auto on_screen = [&](const glm::dvec3& in_view, glm::dvec2& place) {
        if (in_view.z > -projection.near_m)
            return false;
        place = glm::dvec2(in_view) / -in_view.z * zoom + half;
        return true;
    };
    std::array<glm::dvec2, 8> hull;
    for (const auto* batches : {&prepared.solid, &prepared.whole, &prepared.next, &prepared.hidden, &prepared.glass})
        for (const Batch& batch : *batches) {
            for (std::size_t i = batch.first; i < batch.first + batch.count; ++i)
                for (const Bounds& box : sheets[static_cast<std::size_t>(batch.mesh)].boxes) {
                    for (unsigned corner = 0; corner < 8; ++corner) {
                        if (!on_screen(in_view_of(prepared.instances[i], corner_of(box, corner)), hull[corner])) {
                            reached.add_all();
                            return reached.bands();
                        }
                    }
                    reached.add(hull);
                }
        }
    // A stroke of paint may end in the air beside its part.
    for (const StrokeCorner& corner : prepared.strokes) {
        glm::dvec2 place;
        if (on_screen(corner.place, place))
            reached.add(std::span(&place, 1));
    }
    return reached.bands();
}

} // namespace boltwalk
