// What a part rests against: points spread over it, and what lies just in front of them.
#include <algorithm>

#include "core/geometry/head.hpp"
#include "core/propose/propose.hpp"

namespace boltwalk {

std::vector<Touching> touched_by(const Solids& solids, std::int32_t body) {
    constexpr int points = 400;
    const std::vector<SurfacePoint> sample = points_on(solids, body, points);
    std::vector<std::int32_t> met;
    std::vector<RayHit> hits;
    for (const SurfacePoint& point : sample) {
        all_hits(solids, {point.at - touching_m * point.normal, point.normal}, 2 * touching_m, hits);
        std::vector<std::int32_t> here;
        for (const RayHit& hit : hits)
            if (hit.body != body && std::find(here.begin(), here.end(), hit.body) == here.end())
                here.push_back(hit.body);
        met.insert(met.end(), here.begin(), here.end());
    }
    std::sort(met.begin(), met.end());
    std::vector<Touching> touches;
    for (const std::int32_t one : met) {
        if (touches.empty() || touches.back().body != one)
            touches.push_back({one, 0});
        touches.back().share += 1.0 / static_cast<double>(sample.size());
    }
    std::stable_sort(touches.begin(), touches.end(),
                     [](const Touching& a, const Touching& b) { return a.share > b.share; });
    return touches;
}

} // namespace boltwalk
