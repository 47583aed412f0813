// What the picture of a step shows.
#include <algorithm>

#include <fmt/format.h>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

namespace {

constexpr double CONTEXT_SHARE = 0.2; ///< of the whole's radius that is shown about what is next
constexpr double OWN_SHARE = 0.25;    ///< and of the next's own radius

bool moves_part(Verb verb) {
    switch (verb) {
    case Verb::let_down:
    case Verb::set_aside:
    case Verb::take_off:
    case Verb::fit:
    case Verb::put_back:
    case Verb::raise:
        return true;
    default:
        return false;
    }
}

/// Done to a part that stays where it is.
bool is_in_place(Verb verb) {
    switch (verb) {
    case Verb::mark:
    case Verb::unload:
    case Verb::prop:
    case Verb::drain:
    case Verb::fill:
    case Verb::unprop:
        return true;
    default:
        return false;
    }
}

std::string with_times(std::string text) {
    for (std::size_t at = text.find(" x "); at != std::string::npos; at = text.find(" x ", at))
        text.replace(at, 3, " × ");
    return text;
}

/// What kind of thing has no size, so that saying it is not stated would only be noise.
bool is_sizeless(FastenerKind kind) {
    return kind == FastenerKind::clip || kind == FastenerKind::hanger || kind == FastenerKind::connector ||
           kind == FastenerKind::tab || kind == FastenerKind::clamp || kind == FastenerKind::washer ||
           kind == FastenerKind::spacer || kind == FastenerKind::shim || kind == FastenerKind::lock_wire;
}

LabelWish wish_of(const Map& map, const Hardware& hardware) {
    LabelWish wish;
    wish.items = hardware.items;
    const bool has_size = !hardware.size.empty() && hardware.size.find("not stated") == std::string::npos;
    const std::string what = has_size ? with_times(hardware.size) : hardware.kind;
    wish.headline = hardware.count > 1 ? fmt::format("{} × {}", hardware.count, what) : what;
    std::vector<std::string> details;
    if (!has_size && !hardware.items.empty() && map.is_fastener(hardware.items.front()) &&
        !is_sizeless(map.fastener(hardware.items.front()).kind))
        details.emplace_back("size not stated");
    for (const std::string& text : {hardware.tool, hardware.torque, hardware.extra})
        if (!text.empty() && text != "none")
            details.push_back(text);
    wish.detail = fmt::format("{}", fmt::join(details, " · "));
    if (!wish.detail.empty())
        wish.shorter.push_back(wish.headline);
    return wish;
}

/// The shortest of each: count and thread where no other label has that thread, else count and length where that tells
/// them apart. A label that would then be taken for another's stays as it is.
void add_shortest(const Map& map, std::vector<LabelWish>& labels) {
    std::vector<std::string> threads, lengths;
    for (const LabelWish& wish : labels) {
        const bool is_one = !wish.items.empty() && map.is_fastener(wish.items.front());
        const Fastener* fastener = is_one ? &map.fastener(wish.items.front()) : nullptr;
        threads.push_back(fastener != nullptr && fastener->thread ? fastener->thread->name : "");
        lengths.push_back(fastener != nullptr && fastener->length_mm ? print_number(*fastener->length_mm, 1) + " mm"
                                                                     : "");
    }
    const auto is_single = [](const std::vector<std::string>& all, std::size_t i) {
        return !all[i].empty() && std::count(all.begin(), all.end(), all[i]) == 1;
    };
    for (std::size_t i = 0; i < labels.size(); ++i) {
        if (threads[i].empty() || lengths[i].empty() || !(is_single(threads, i) || is_single(lengths, i)))
            continue;
        const std::string& what = is_single(threads, i) ? threads[i] : lengths[i];
        const std::size_t count = labels[i].items.size();
        labels[i].shorter.push_back(count > 1 ? fmt::format("{} × {}", count, what) : what);
    }
}

/// The plugs of that kind in a part: where it is drained, filled, or levelled.
void add_plugs(const Map& map, ItemId part, FastenerKind kind, Shot& shot) {
    for (std::size_t i = 0; i < map.fasteners.size(); ++i) {
        const Fastener& plug = map.fasteners[i];
        if (plug.kind != kind || std::find(plug.holds.begin(), plug.holds.end(), part) == plug.holds.end())
            continue;
        (shot.before.fasteners[i] == FastenerState::out ? shot.holes : shot.next).push_back(plug.item);
    }
}

/// A part that something is done to where it stands: its fluid at the plugs that are there for it, else nobody says
/// where on it. Whether a level without a plug of its own is looked at through the filler is not for us to say: a task
/// that names the plug says it.
void add_whole(const Map& map, ItemId part, TaskDoes does, Shot& shot) {
    shot.next.push_back(part);
    shot.whole.push_back(part);
    if (does == TaskDoes::drain)
        add_plugs(map, part, FastenerKind::drain_plug, shot);
    if (does == TaskDoes::level)
        add_plugs(map, part, FastenerKind::level_plug, shot);
    if (does == TaskDoes::fill)
        add_plugs(map, part, FastenerKind::fill_plug, shot);
}

/// What a step of the rules' own does, in a task's terms.
TaskDoes does_of(Verb verb) {
    return verb == Verb::drain ? TaskDoes::drain : verb == Verb::fill ? TaskDoes::fill : TaskDoes::nothing;
}

/// Items with something to see; a part that only went along is seen by its leader.
void fill_items(const Map& map, const Step& step, Shot& shot) {
    for (const ItemId item : step.items) {
        if (map.is_task(item)) {
            const Task& task = map.task(item);
            for (const ItemId to : task.to)
                if (map.is_part(to))
                    add_whole(map, to, task.does, shot);
                else if (!map.is_task(to))
                    shot.next.push_back(to);
        } else if (map.is_part(item) && is_in_place(step.verb)) {
            add_whole(map, item, does_of(step.verb), shot);
        } else {
            shot.next.push_back(item);
            if (map.is_part(item) && moves_part(step.verb))
                shot.moves.push_back(item);
        }
    }
}

/// Where plugs are out their holes have no hardware to be listed: alike ones under one label.
void label_holes(const Map& map, Shot& shot) {
    for (const ItemId plug : shot.holes) {
        const Fastener& fastener = map.fastener(plug);
        LabelWish wish;
        wish.headline = fmt::format("hole of the {}", spoken(fastener.kind));
        if (fastener.thread)
            wish.detail = fastener.thread->name;
        if (!wish.detail.empty())
            wish.shorter.push_back(wish.headline);
        wish.items = {plug};
        const auto alike = std::find_if(shot.labels.begin(), shot.labels.end(), [&](const LabelWish& other) {
            return other.headline == wish.headline && other.detail == wish.detail;
        });
        if (alike == shot.labels.end())
            shot.labels.push_back(std::move(wish));
        else
            alike->items.push_back(plug);
    }
}

/// Fasteners that the step's words do not list (a task says what to do to them): alike ones under one label.
void label_unlisted(const Map& map, Shot& shot) {
    const auto is_listed = [&](ItemId item) {
        return std::any_of(shot.labels.begin(), shot.labels.end(), [&](const LabelWish& wish) {
            return std::find(wish.items.begin(), wish.items.end(), item) != wish.items.end();
        });
    };
    std::vector<Hardware> found;
    for (const ItemId item : shot.next) {
        if (!map.is_fastener(item) || is_listed(item))
            continue;
        const Fastener& fastener = map.fastener(item);
        Hardware hardware;
        hardware.kind = spoken(fastener.kind);
        hardware.size = size_of(fastener);
        hardware.tool = tool_for(fastener.drive);
        auto alike = std::find_if(found.begin(), found.end(), [&](const Hardware& other) {
            return other.kind == hardware.kind && other.size == hardware.size && other.tool == hardware.tool;
        });
        if (alike == found.end())
            alike = found.insert(found.end(), hardware);
        ++alike->count;
        alike->items.push_back(item);
    }
    for (const Hardware& hardware : found)
        shot.labels.push_back(wish_of(map, hardware));
}

void label_parts(const Map& map, Shot& shot) {
    for (const ItemId item : shot.next) {
        if (!map.is_part(item))
            continue;
        LabelWish wish;
        wish.headline = map[item].title;
        if (map.part(item).mass_kg)
            wish.detail = fmt::format("{} kg", print_number(*map.part(item).mass_kg));
        if (!wish.detail.empty())
            wish.shorter.push_back(wish.headline);
        wish.items = {item};
        shot.labels.push_back(std::move(wish));
    }
}

Shot of_step(const Job& job, const Plan& plan, State before, std::size_t step) {
    const Map& map = *job.map;
    const Step& s = plan.steps[step - 1];
    Shot shot;
    shot.after = before;
    shot.before = std::move(before);
    apply_step(job, shot.after, s);
    shot.from = s.from;
    const StepCard card = card_of(job, plan, step - 1);
    shot.caption.count = fmt::format("{} {} of {}", plan.refit ? "Refit step" : "Step", step, plan.steps.size());
    shot.caption.headline = card.headline;
    shot.caption.from = seen_from(s.from);
    shot.caption.cautions = card.cautions;
    fill_items(map, s, shot);
    for (const Hardware& hardware : card.hardware)
        if (!hardware.items.empty() && map.is_fastener(hardware.items.front()))
            shot.labels.push_back(wish_of(map, hardware));
    label_unlisted(map, shot);
    add_shortest(map, shot.labels);
    label_holes(map, shot);
    label_parts(map, shot);
    if (!shot.moves.empty())
        shot.caption.footnote = "The way out is the author's, or drawn outwards where none is stated.";
    return shot;
}

Shot still(const Plan& plan, const State& state, bool at_end) {
    Shot shot;
    shot.before = state;
    shot.after = state;
    if (at_end)
        shot.caption.count = "At the end";
    else
        shot.caption.count = plan.refit ? "Before the refit" : "As found";
    return shot;
}

} // namespace

std::string seen_from(Place place) {
    switch (place) {
    case Place::not_stated:
        return {};
    case Place::under:
        return "Seen from under";
    case Place::over:
        return "Seen from over";
    case Place::inside:
        return "Seen from inside";
    default:
        return fmt::format("Seen from the {}", name_of(place));
    }
}

std::vector<Shot> shots_of(const Job& job, const Plan& plan, const State& start) {
    std::vector<Shot> shots{still(plan, start, false)};
    shots.front().caption.headline = job.map->job;
    State state = start;
    for (std::size_t step = 1; step <= plan.steps.size(); ++step) {
        shots.push_back(of_step(job, plan, state, step));
        state = shots.back().after;
    }
    return shots;
}

Shot shot_of(const Job& job, const Plan& plan, const State& start, std::size_t step) {
    State state = start;
    for (std::size_t i = 1; i < step && i <= plan.steps.size(); ++i)
        apply_step(job, state, plan.steps[i - 1]);
    Shot shot = step >= 1 && step <= plan.steps.size() ? of_step(job, plan, std::move(state), step)
                                                       : still(plan, state, step > 0);
    if (step == 0)
        shot.caption.headline = job.map->job;
    return shot;
}

Camera camera_for(const Stage& stage, std::span<const Pose> poses, const Shot& shot, glm::dvec2 size_px,
                  const Rect& clear) {
    const Camera turned = turned_to(Camera{}, shot.from);
    std::vector<Bounds> boxes;
    Bounds all;
    for (const std::int32_t node : stage.shown) {
        const ItemId item = stage.map->nodes[static_cast<std::size_t>(node)].item;
        const auto index = static_cast<std::size_t>(item.index);
        const Pose pose = item && index < poses.size() ? poses[index] : Pose{};
        if (pose.presence <= 0)
            continue;
        boxes.push_back(moved(stage.node_bounds[static_cast<std::size_t>(node)], pose.shift_m));
        all.add(boxes.back());
    }
    const Bounds next = bounds_of(stage, poses, shot.next);
    if (next.empty())
        return fitted(turned, boxes, size_px, clear);
    const double context = CONTEXT_SHARE * all.radius() + OWN_SHARE * next.radius();
    const Bounds wanted{next.low - context, next.high + context};
    // No farther out than everything: a large part in a small whole.
    const Camera near = fitted(turned, wanted, size_px, clear);
    const Camera far = fitted(turned, boxes, size_px, clear);
    return near.distance_m < far.distance_m ? near : far;
}

std::vector<std::uint8_t> painted_in(const Job& job, const State& state) {
    std::vector<std::uint8_t> painted(job.map->items.size(), 0);
    for (std::size_t i = 0; i < job.map->fasteners.size(); ++i)
        if (state.fasteners[i] == FastenerState::torqued)
            painted[static_cast<std::size_t>(job.map->fasteners[i].item.index)] = 1;
    return painted;
}

} // namespace boltwalk
