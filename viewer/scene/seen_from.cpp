#include "viewer/scene/seen_from.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "core/job/shapes.hpp"

namespace boltwalk {

namespace {

/// Who hides less than this is not named, nor drawn as glass.
constexpr double worth_naming = 0.05;
constexpr double worth_glass = 0.02;
constexpr std::size_t most_named = 3;

LookFrame frame_of(const Room& room) {
    const glm::dvec2 size = glm::max(room.size_px, glm::dvec2(1.0));
    LookFrame frame;
    frame.aspect = size.x / size.y;
    frame.field_deg = Camera{}.field_deg;
    if (room.clear.width > 0 && room.clear.height > 0) {
        frame.left = std::max(0.0, room.clear.x / size.x);
        frame.top = std::max(0.0, room.clear.y / size.y);
        frame.right = std::max(0.0, 1 - room.clear.right() / size.x);
        frame.bottom = std::max(0.0, 1 - room.clear.bottom() / size.y);
    }
    return frame;
}

Camera as_turntable(const LookCamera& look) {
    Camera camera;
    camera.target = look.target;
    camera.distance_m = glm::length(look.eye - look.target);
    const glm::dvec3 back = (look.eye - look.target) / camera.distance_m;
    camera.yaw_deg = glm::degrees(std::atan2(back.x, back.z));
    camera.pitch_deg = glm::degrees(std::asin(std::clamp(back.y, -1.0, 1.0)));
    return camera;
}

StepView as_view(const Solids& solids, const Look& look) {
    StepView view;
    view.found = look.found;
    if (!look.found)
        return view;
    view.camera = as_turntable(look.camera);
    for (const Hider& hider : look.covered_by) {
        if (hider.share < worth_glass)
            continue;
        for (const std::int32_t placement : solids.bodies[at(hider.body)].placements)
            view.glass.push_back(solids.placements[at(placement)].node);
    }
    std::sort(view.glass.begin(), view.glass.end());
    view.glass.erase(std::unique(view.glass.begin(), view.glass.end()), view.glass.end());
    return view;
}

LookWish wish_of(const Job& job, const Stage& stage, const Solids& solids, const Shot& shot) {
    const State& state = shot.before.refit ? shot.after : shot.before;
    std::vector<Pose> poses = poses_of(job, stage, state);
    show_bench(job, state, shot.next, poses);
    std::vector<ItemId> items = shot.next;
    for (const ItemId plug : shot.holes) {
        put_in_its_hole(*job.map, plug, poses);
        items.push_back(plug);
    }
    return {items, shot.from, arrangement_of(solids, poses)};
}

/// Washers and the like lie under what is turned: who finds that has found them.
bool is_turned(const Fastener& fastener) {
    return fastener.kind != FastenerKind::washer && fastener.kind != FastenerKind::spacer &&
           fastener.kind != FastenerKind::shim && !(fastener.drive && fastener.drive->kind == DriveKind::none);
}

std::string names_of(const Solids& solids, const std::vector<Hider>& hiders) {
    std::vector<std::string> names;
    for (const Hider& hider : hiders) {
        if (names.size() == most_named || (!names.empty() && hider.share < worth_naming))
            break;
        const std::string name = name_of(solids, hider.body);
        if (std::find(names.begin(), names.end(), name) == names.end())
            names.push_back(name);
    }
    return names.empty() ? "nothing that is there: it is turned away" : fmt::format("{}", fmt::join(names, ", "));
}

std::string fate_of(const HiddenHead& one) {
    if (one.into_view >= 0)
        return fmt::format("shows after step {} (estimated)", one.into_view);
    if (one.gone >= 0)
        return fmt::format("never shows before step {} takes it out (estimated)", one.gone);
    return "does not show in this order (estimated)";
}

} // namespace

Eyes make_eyes(const Map& map, const Effort& effort) {
    Eyes eyes;
    eyes.solids = make_solids(map, effort);
    eyes.surfaces = make_surfaces(eyes.solids, effort);
    return eyes;
}

Camera in_room(const Camera& camera, const Room& made_for, const Room& now) {
    const auto share = [](const Room& room) {
        return room.clear.width > 0 ? room.clear.width / room.clear.height
                                    : room.size_px.x / std::max(room.size_px.y, 1.0);
    };
    Camera result = camera;
    result.distance_m *= std::max(1.0, share(made_for) / std::max(share(now), 0.05));
    return result;
}

Arrangement arrangement_of(const Solids& solids, std::span<const Pose> poses) {
    Arrangement arrangement;
    for (const Body& body : solids.bodies) {
        const Pose pose = body.item ? poses[at(body.item.index)] : Pose{};
        arrangement.there.push_back(pose.presence > 0 ? 1 : 0);
        arrangement.shift.push_back(pose.shift_m);
    }
    return arrangement;
}

std::vector<StepView> views_of(const Job& job, const Stage& stage, const Eyes& eyes, std::span<const Shot> shots,
                               const Room& room, const Effort& effort) {
    std::vector<LookWish> wishes;
    for (const Shot& shot : shots)
        wishes.push_back(shot.next.empty() ? LookWish{} : wish_of(job, stage, eyes.solids, shot));
    bool stopped = false;
    Effort watched = effort;
    if (effort.progress)
        watched.progress = [&](float share) {
            stopped = stopped || !effort.progress(share);
            return !stopped;
        };
    const std::vector<Look> looks = look(eyes.solids, eyes.surfaces, wishes, frame_of(room), watched);
    std::vector<StepView> views(shots.size());
    for (std::size_t i = 0; i < looks.size() && !stopped; ++i)
        if (!wishes[i].items.empty())
            views[i] = as_view(eyes.solids, looks[i]);
    return views;
}

StepView view_of(const Job& job, const Stage& stage, const Eyes& eyes, const Shot& shot, const Room& room) {
    if (shot.next.empty())
        return {};
    return as_view(eyes.solids,
                   look(eyes.solids, eyes.surfaces, wish_of(job, stage, eyes.solids, shot), frame_of(room)));
}

std::vector<OutOfSight> out_of_sight(const Job& job, const Stage& stage, const Eyes& eyes, const Plan& strip,
                                     const Room& room, const Effort& effort) {
    const Map& map = *job.map;
    const Sights sights = measure_sights(eyes.solids, lowered_cases(job, eyes.solids, strip), effort);
    State state = as_found(job);
    std::vector<Arrangement> states{arrange(job, eyes.solids, state)};
    for (const Step& step : strip.steps) {
        apply_step(job, state, step);
        states.push_back(arrange(job, eyes.solids, state));
    }
    std::vector<HiddenHead> heads = hidden_in(sights, eyes.solids, states, 0);
    std::erase_if(heads, [&](const HiddenHead& one) { return !is_turned(map.fasteners[one.fastener]); });
    std::stable_sort(heads.begin(), heads.end(),
                     [](const HiddenHead& a, const HiddenHead& b) { return a.share < b.share; });
    const Arrangement found = arrangement_of(eyes.solids, poses_of(job, stage, as_found(job)));
    std::vector<LookWish> wishes;
    wishes.reserve(heads.size());
    for (const HiddenHead& one : heads)
        wishes.push_back({{map.fasteners[one.fastener].item}, one.best, found});
    const std::vector<Look> looks = look(eyes.solids, eyes.surfaces, wishes, frame_of(room), effort);
    std::vector<OutOfSight> result;
    for (std::size_t i = 0; i < heads.size() && i < looks.size(); ++i)
        result.push_back({wishes[i].items.front(), heads[i].share, names_of(eyes.solids, heads[i].by),
                          fate_of(heads[i]), as_view(eyes.solids, looks[i])});
    return result;
}

Caption caption_of(const Map& map, const OutOfSight& one, std::size_t number, std::size_t count) {
    const Item& item = map[one.fastener];
    Caption caption;
    caption.count = fmt::format("Out of sight {} of {} (estimated)", number, count);
    caption.headline = item.title == item.name ? item.name : fmt::format("{}: {}", item.title, item.name);
    caption.from = one.view.found ? "drawn through what hides it" : "";
    caption.footnote = fmt::format("Hidden by {} · {}", one.hidden_by, one.seen_after);
    return caption;
}

} // namespace boltwalk
