// What lies under the pointer in the drawing.
#include <algorithm>
#include <optional>

#include "viewer/panels/view.hpp"

namespace boltwalk {

namespace {

constexpr double LEAST_MARK_PX = 9; // a target smaller than this cannot be hit by hand

std::optional<Hit> hit_under(const View& view, glm::dvec2 px) {
    const Stage& stage = view.session->stage;
    return pick(stage, poses_now(view), ray_through(project(camera_now(view), view.drawing_px, stage.bounds), px));
}

} // namespace

ItemId next_under(const View& view, glm::dvec2 px, double least_px) {
    const Session& session = *view.session;
    const std::vector<Pose> poses = poses_now(view);
    const Projection projection = project(camera_now(view), view.drawing_px, session.stage.bounds);
    const auto is_next = [&](ItemId item) {
        return std::find(view.shot.next.begin(), view.shot.next.end(), item) != view.shot.next.end();
    };
    const auto hit = pick(session.stage, poses, ray_through(projection, px));
    if (hit && hit->item && is_next(hit->item) && session.map.is_fastener(hit->item))
        return hit->item;
    ItemId nearest;
    double best = 0;
    for (const ItemId item : view.shot.next) {
        if (!session.map.is_fastener(item))
            continue;
        const auto mark = mark_of(session.stage, poses, item, projection, least_px);
        if (!mark)
            continue;
        const double away = glm::length(mark->at - px);
        if (away <= mark->radius_px && (!nearest || away < best)) {
            nearest = item;
            best = away;
        }
    }
    return nearest;
}

ItemId item_under(const View& view, glm::dvec2 px) {
    if (const ItemId next = next_under(view, px, LEAST_MARK_PX))
        return next;
    const auto hit = hit_under(view, px);
    return hit ? hit->item : ItemId{};
}

std::string scenery_under(const View& view, glm::dvec2 px) {
    const auto hit = hit_under(view, px);
    return hit && !hit->item && hit->node >= 0 ? view.session->map.nodes[std::size_t(hit->node)].name : std::string();
}

} // namespace boltwalk
