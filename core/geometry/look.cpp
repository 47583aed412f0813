#include "core/geometry/look.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include "core/geometry/rays.hpp"

namespace boltwalk {

namespace {

constexpr int head_points = 24;
constexpr int part_points = 240;
constexpr std::size_t coarse_of = 4; ///< at first every fourth point is looked at
constexpr std::size_t refined = 6;   ///< then the best so many are judged by all
constexpr double distances[] = {1.5, 1.35, 1.2, 1.1,
                                1.0, 0.8,  0.6}; ///< the farthest first: of two as good, more is seen about
/// A head may be so much wider than enough: seen at 50 degrees from its axis it is then as large as enough.
constexpr double aslant = 1.25;
/// Heads thinner than this count as so thick when the eye comes near (a split pin), metres.
constexpr double thinnest_m = 0.006;

/// The directions that pictures of a place have always had (viewer/scene/camera.cpp, turned_to): a little aslant, so
/// that depth shows. Towards the eye.
glm::dvec3 usual_direction(Place place) {
    switch (place) {
    case Place::under:
        return {0.0462, -0.8480, 0.5279};
    case Place::over:
        return {-0.0487, 0.8290, -0.5571};
    case Place::left:
        return {0.8996, 0.2419, 0.3635};
    case Place::right:
        return {-0.8996, 0.2419, 0.3635};
    case Place::front:
        return {0.3601, 0.2756, 0.8913};
    case Place::rear:
        return {0.3601, 0.2756, -0.8913};
    case Place::inside:
        return {-0.2926, 0.6947, -0.6572};
    case Place::not_stated:
        break;
    }
    return {0.5624, 0.4067, 0.7199};
}

constexpr double cos_16th = 0.9238795325112867; ///< of a sixteenth of a turn
constexpr double sin_16th = 0.3826834323650898;

/// The usual direction first, then rings about the vertical axis.
std::vector<glm::dvec3> directions_of(Place place) {
    std::vector<glm::dvec3> list{glm::normalize(usual_direction(place))};
    std::vector<double> heights;
    switch (place) {
    case Place::under:
        heights = {-0.95, -0.85, -0.7};
        break;
    case Place::over:
    case Place::inside:
        heights = {0.95, 0.85, 0.7};
        break;
    case Place::not_stated:
        heights = {-0.35, 0.1, 0.4, 0.7};
        break;
    default:
        heights = {-0.15, 0.1, 0.25, 0.5};
    }
    glm::dvec2 round(1, 0);
    const double eighth = cos_16th * cos_16th - sin_16th * sin_16th - 1e-9; // within an eighth of a turn of the place
    for (int i = 0; i < 16; ++i) {
        const bool beside = place == Place::left    ? round.x >= eighth
                            : place == Place::right ? round.x <= -eighth
                            : place == Place::front ? round.y >= eighth
                            : place == Place::rear  ? round.y <= -eighth
                                                    : true;
        for (const double height : heights)
            if (beside) {
                const double level = std::sqrt(1 - height * height);
                list.emplace_back(level * round.x, height, level * round.y);
            }
        round = {round.x * cos_16th - round.y * sin_16th, round.x * sin_16th + round.y * cos_16th};
        round /= glm::length(round);
    }
    return list;
}

/// The tangent of half the field: half the picture's height at distance 1. By series, because the C libraries' own
/// tangents differ in the last place, and cameras would then differ between machines.
double half_height(const LookFrame& frame) {
    const double x = 0.5 * std::clamp(frame.field_deg, 1.0, 150.0) * 0.017453292519943295;
    double sine = 0;
    double cosine = 0;
    double term = 1;
    for (int n = 0; n < 24; ++n) {
        (n % 2 == 0 ? cosine : sine) += n % 4 < 2 ? term : -term;
        term *= x / (n + 1);
    }
    return sine / cosine;
}

LookCamera camera_at(const glm::dvec3& back, const glm::dvec3& target, double distance) {
    LookCamera camera;
    camera.target = target;
    camera.eye = target + distance * back;
    const glm::dvec3 up = glm::dvec3(0, 1, 0) - back.y * back;
    const double length = glm::length(up);
    camera.up = length > 1e-6 ? up / length : glm::dvec3(0, 0, back.y > 0 ? -1 : 1);
    return camera;
}

/// What of a wish can be looked at, in the places of its arrangement.
struct Thing {
    std::size_t item; ///< of the wish
    std::int32_t body;
    bool head;
    glm::dvec3 shift, middle;
    double radius;
    Bounds bounds;
    const std::vector<SurfacePoint>* points;
};

class Judge {
public:
    Judge(const Solids& solids, const LookSurfaces& surfaces, const LookWish& wish, const LookFrame& frame)
        : wish_(wish), frame_(frame), half_(half_height(frame)) {
        const auto& shift = wish.arrangement.shift;
        const bool moves =
            std::any_of(shift.begin(), shift.end(), [](const glm::dvec3& s) { return s != glm::dvec3(0.0); });
        if (moves)
            own_ = std::make_unique<Solids>(moved(solids, shift));
        solids_ = moves ? own_.get() : &solids;
        there_ = wish.arrangement.there;
        there_.resize(solids.bodies.size(), 1);
        for (std::size_t i = 0; i < wish.items.size(); ++i) {
            const ItemId item = wish.items[i];
            const std::int32_t body = item ? solids.body_of[at(item.index)] : -1;
            if (body < 0 || surfaces.points[at(body)].empty())
                continue;
            const glm::dvec3 by = at(body) < shift.size() ? shift[at(body)] : glm::dvec3(0.0);
            Bounds box = surfaces.bounds[at(body)];
            box.low += by;
            box.high += by;
            things_.push_back({i, body, solids.map->is_fastener(item), by, surfaces.middle[at(body)] + by,
                               surfaces.radius[at(body)], box, &surfaces.points[at(body)]});
            there_[at(body)] = 1;
        }
    }

    bool empty() const { return things_.empty(); }
    std::size_t rays() const { return rays_; }

    double measure(const LookCamera& camera, std::size_t every) {
        if (things_.empty())
            return 0;
        double sum = 0;
        for (const Thing& thing : things_)
            sum += shown(thing, camera, every);
        return sum / static_cast<double>(things_.size()) * apart(camera);
    }

    /// As near as it may, all in the picture; `factor`: above 1 farther, below 1 nearer to heads.
    LookCamera framed(const glm::dvec3& back, double factor) const {
        LookCamera camera = camera_at(back, {}, 1);
        const glm::dvec3 right = glm::cross(camera.up, back);
        const double wide = half_ * frame_.aspect;
        const double mx = frame_.margin * (1 - frame_.left - frame_.right);
        const double my = frame_.margin * (1 - frame_.top - frame_.bottom);
        const glm::dvec2 least((2 * (frame_.left + mx) - 1) * wide, (2 * (frame_.bottom + my) - 1) * half_);
        const glm::dvec2 most((1 - 2 * (frame_.right + mx)) * wide, (1 - 2 * (frame_.top + my)) * half_);
        Bounds all;
        for (const Thing& thing : things_)
            all.add(thing.bounds);
        const glm::dvec3 middle = all.centre();
        // In the camera's axes about the middle the eye is (x, y, d); each corner lies between the rays through the
        // clear part's sides, which is linear in x, y and d.
        glm::dvec2 low(1e300);
        glm::dvec2 high(-1e300);
        double nearest = 0;
        double heads = 0;
        for (const Thing& thing : things_) {
            for (unsigned k = 0; k < 8; ++k) {
                const glm::dvec3 corner((k & 1U) ? thing.bounds.high.x : thing.bounds.low.x,
                                        (k & 2U) ? thing.bounds.high.y : thing.bounds.low.y,
                                        (k & 4U) ? thing.bounds.high.z : thing.bounds.low.z);
                const double depth = glm::dot(corner - middle, back);
                const glm::dvec2 flat(glm::dot(corner - middle, right), glm::dot(corner - middle, camera.up));
                low = glm::min(low, flat + least * depth);
                high = glm::max(high, flat + most * depth);
                nearest = std::max(nearest, depth + nearest_look_m);
            }
            if (thing.head)
                heads = std::max(heads, glm::dot(thing.middle - middle, back) +
                                            std::max(thing.radius, thinnest_m) / (aslant * head_enough * half_));
        }
        const glm::dvec2 needed = (high - low) / glm::max(most - least, glm::dvec2(1e-3));
        const double fits = std::max({nearest, needed.x, needed.y});
        const double distance = std::max(fits * std::max(1.0, factor), heads * factor);
        const glm::dvec2 eye = 0.5 * ((high - most * distance) + (low - least * distance));
        return camera_at(back, middle + eye.x * right + eye.y * camera.up, distance);
    }

    void explain(Look& look) {
        look.in_sight.assign(wish_.items.size(), 0);
        std::vector<Hider> by(there_.size());
        double whole = 0;
        for (const Thing& thing : things_) {
            double facing = 0;
            double seen = 0;
            for (const SurfacePoint& point : *thing.points) {
                const double weight = weight_of(thing, point, look.camera);
                if (!(weight > 0))
                    continue;
                facing += weight;
                met_.clear();
                covering(thing, point, look.camera, false);
                seen += met_.empty() ? weight : 0;
                std::erase_if(met_, [&](std::int32_t body) { return is_item(body); });
                for (const std::int32_t body : met_) {
                    by[at(body)].share += weight / static_cast<double>(met_.size()) / enough(thing);
                    by[at(body)].alone += met_.size() == 1 ? weight / enough(thing) : 0;
                }
            }
            look.in_sight[thing.item] = facing > 0 ? seen / facing : 0;
            whole += facing / enough(thing);
        }
        for (std::size_t b = 0; b < by.size(); ++b)
            if (by[b].share > 0)
                look.covered_by.push_back({static_cast<std::int32_t>(b), by[b].share / whole, by[b].alone / whole});
        std::stable_sort(look.covered_by.begin(), look.covered_by.end(),
                         [](const Hider& a, const Hider& b) { return a.share > b.share; });
    }

private:
    bool is_item(std::int32_t body) const {
        return std::any_of(things_.begin(), things_.end(), [&](const Thing& thing) { return thing.body == body; });
    }

    double enough(const Thing& thing) const {
        return thing.head ? 0.7853981633974483 * head_enough * head_enough / frame_.aspect : part_enough;
    }

    /// Share of the picture that a point's surface takes; 0 where it faces away or lies outside. A small surface dA
    /// with its normal at an angle a to the line of sight, r away and z deep, takes dA cos a r / z^3 of the plane at
    /// depth 1.
    double weight_of(const Thing& thing, const SurfacePoint& point, const LookCamera& camera) const {
        const glm::dvec3 back = glm::normalize(camera.eye - camera.target);
        const glm::dvec3 to = camera.eye - (point.at + thing.shift);
        const double depth = glm::dot(to, back);
        const double facing = glm::dot(point.normal, to);
        if (!(facing > 0) || !(depth > 1e-3))
            return 0;
        const glm::dvec3 right = glm::cross(camera.up, back);
        const double x = -glm::dot(to, right) / (depth * half_ * frame_.aspect);
        const double y = -glm::dot(to, camera.up) / (depth * half_);
        if (x < -1 + 2 * frame_.left || x > 1 - 2 * frame_.right || y < -1 + 2 * frame_.bottom ||
            y > 1 - 2 * frame_.top)
            return 0;
        return point.area * facing / (depth * depth * depth) / (4 * half_ * half_ * frame_.aspect);
    }

    /// Bodies between a point and the eye; the first one found is enough where only that counts.
    void covering(const Thing& thing, const SurfacePoint& point, const LookCamera& camera, bool any) {
        ++rays_;
        const glm::dvec3 from = point.at + thing.shift + off_surface_m * point.normal;
        const Ray ray{from, camera.eye - from};
        each_placement(*solids_, ray, 1, [&](std::int32_t i) {
            const std::int32_t body = solids_->placements[at(i)].body;
            if (!there_[at(body)] || (any && !met_.empty()) || std::find(met_.begin(), met_.end(), body) != met_.end())
                return;
            if (meets(*solids_, i, ray, 1))
                met_.push_back(body);
        });
        std::sort(met_.begin(), met_.end());
    }

    /// What an item counts for, from 0 to 1.
    double shown(const Thing& thing, const LookCamera& camera, std::size_t every) {
        double open = 0;
        double covered = 0;
        for (std::size_t i = every / 2; i < thing.points->size(); i += every) {
            const SurfacePoint& point = (*thing.points)[i];
            const double weight = weight_of(thing, point, camera);
            if (!(weight > 0))
                continue;
            met_.clear();
            covering(thing, point, camera, true);
            (met_.empty() ? open : covered) += weight;
        }
        const double scale = static_cast<double>(every) / enough(thing);
        open = std::min(1.0, open * scale);
        return open + covered_worth * std::min(1 - open, covered * scale);
    }

    /// From 1/2 to 1, by the narrowest gap between two items on the picture.
    double apart(const LookCamera& camera) const {
        const glm::dvec3 back = glm::normalize(camera.eye - camera.target);
        const glm::dvec3 right = glm::cross(camera.up, back);
        double least = gap_enough;
        for (std::size_t i = 0; i < things_.size(); ++i)
            for (std::size_t k = i + 1; k < things_.size(); ++k) {
                const auto place = [&](const Thing& thing) {
                    const glm::dvec3 to = thing.middle - camera.eye;
                    const double depth = std::max(-glm::dot(to, back), 1e-3) * 2 * half_;
                    return glm::dvec3(glm::dot(to, right) / depth, glm::dot(to, camera.up) / depth,
                                      thing.radius / depth);
                };
                const glm::dvec3 a = place(things_[i]);
                const glm::dvec3 b = place(things_[k]);
                least = std::min(least, glm::length(glm::dvec2(a) - glm::dvec2(b)) - a.z - b.z);
            }
        return 0.5 + 0.5 * std::max(0.0, least) / gap_enough;
    }

    const LookWish& wish_;
    const LookFrame& frame_;
    double half_;
    std::unique_ptr<Solids> own_;
    const Solids* solids_ = nullptr;
    std::vector<std::uint8_t> there_;
    std::vector<Thing> things_;
    std::vector<std::int32_t> met_;
    std::size_t rays_ = 0;
};

} // namespace

LookSurfaces make_surfaces(const Solids& solids, const Effort& effort) {
    LookSurfaces surfaces;
    const std::size_t count = solids.bodies.size();
    surfaces.points.resize(count);
    surfaces.middle.resize(count);
    surfaces.radius.resize(count);
    surfaces.bounds.resize(count);
    const Map& map = *solids.map;
    const std::vector<Head> heads = heads_of(solids);
    in_parallel(count, effort, [&](std::size_t b) {
        const Body& body = solids.bodies[b];
        if (!body.item)
            return;
        const bool is_head = map.is_fastener(body.item);
        const Head* head = is_head ? &heads[at(map[body.item].detail)] : nullptr;
        const auto index = static_cast<std::int32_t>(b);
        surfaces.points[b] =
            head ? points_on(facets_of(solids, *head), head->axis, head_points) : points_on(solids, index, part_points);
        surfaces.middle[b] = head ? 0.5 * (head->base + head->top) : body.bounds.centre();
        surfaces.radius[b] = head ? head->radius : body.bounds.radius();
        surfaces.bounds[b] = body.bounds;
        if (head)
            surfaces.bounds[b] = {surfaces.middle[b] - head->radius, surfaces.middle[b] + head->radius};
    });
    return surfaces;
}

double measure_of(const Solids& solids, const LookSurfaces& surfaces, const LookWish& wish, const LookCamera& camera,
                  const LookFrame& frame) {
    return Judge(solids, surfaces, wish, frame).measure(camera, 1);
}

Look look(const Solids& solids, const LookSurfaces& surfaces, const LookWish& wish, const LookFrame& frame) {
    Look best;
    Judge judge(solids, surfaces, wish, frame);
    if (judge.empty())
        return best;
    const std::vector<glm::dvec3> directions = directions_of(wish.from);
    const auto worth = [&](double measure, const glm::dvec3& direction) {
        return measure * (1 - turn_cost * 0.5 * (1 - glm::dot(direction, directions[0])));
    };
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t i = 0; i < directions.size(); ++i)
        order.emplace_back(worth(judge.measure(judge.framed(directions[i], 1), coarse_of), directions[i]), i);
    // The usual direction is always among those looked at closely.
    std::stable_sort(order.begin() + 1, order.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    double most = -1;
    for (std::size_t k = 0; k < std::min(refined + 1, order.size()); ++k)
        for (const double factor : distances) {
            const glm::dvec3& direction = directions[order[k].second];
            const LookCamera camera = judge.framed(direction, factor);
            const double measure = judge.measure(camera, 1);
            if (worth(measure, direction) > most) {
                most = worth(measure, direction);
                best.camera = camera;
                best.measure = measure;
            }
        }
    best.found = true;
    judge.explain(best);
    best.rays = judge.rays();
    return best;
}

std::vector<Look> look(const Solids& solids, const LookSurfaces& surfaces, std::span<const LookWish> wishes,
                       const LookFrame& frame, const Effort& effort) {
    std::vector<Look> looks(wishes.size());
    in_parallel(wishes.size(), effort, [&](std::size_t i) { looks[i] = look(solids, surfaces, wishes[i], frame); });
    return looks;
}

} // namespace boltwalk
