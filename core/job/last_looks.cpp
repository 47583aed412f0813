// The last card: what to look at when the job is done, and when.
#include <algorithm>

#include <fmt/format.h>

#include "core/job/card_words.hpp"
#include "core/job/tightening.hpp"

namespace boltwalk {

using namespace inside;

namespace {

// Common practice, no source, all of it; the manual's own intervals come first.
constexpr const char* first_hot = "after the first drive, hot";
constexpr const char* first_cold = "the next morning, cold";
constexpr const char* after_a_while = "after 50 to 100 km";

void add(std::vector<LastLook>& looks, const char* when, std::string what, std::vector<ItemId> items) {
    if (!items.empty())
        looks.push_back({when, std::move(what), std::move(items)});
}

/// What was opened and can leak: parts that hold a fluid and were filled, or whose plugs were out.
std::vector<ItemId> leak_places(const Job& job, const Plan& refit) {
    std::vector<ItemId> places;
    const auto note = [&](ItemId part) {
        if (fact(job, part).fluid && !names(places, part))
            places.push_back(part);
    };
    for (const Step& step : refit.steps)
        for (const ItemId id : step.items) {
            if (is_part(job, id)) {
                note(id);
                for (const ItemId opened : job.map->part(id).opens)
                    note(opened);
            } else if (is_fastener(job, id) && step.verb == Verb::tighten && is_plug(kind_of(job, id))) {
                for (const ItemId part : job.holds[slot(job, id)])
                    note(part);
            } else if (is_task(job, id)) {
                for (const ItemId part : job.map->task(id).to)
                    if (is_part(job, part))
                        note(part);
            }
        }
    std::sort(places.begin(), places.end());
    return places;
}

} // namespace

std::vector<LastLook> last_looks(const Job& job, const Plan& refit) {
    const Map& map = *job.map;
    std::vector<ItemId> strokes, wheels, never;
    for (const Step& step : refit.steps)
        if (step.verb == Verb::tighten)
            for (const ItemId id : step.items) {
                const Fastener& fastener = map.fastener(id);
                if (fact(job, id).pushed || fastener.kind == FastenerKind::stud)
                    continue;
                const bool locked = !fastener.lock.empty() && !is_self_locking(fastener);
                if (turns_by_angle(fastener) || locked)
                    never.push_back(id);
                else if (fact(job, id).on_ground)
                    wheels.push_back(id);
                else if (fastener.torque)
                    strokes.push_back(id);
            }
    const std::vector<ItemId> wet = leak_places(job, refit);
    std::vector<LastLook> looks;
    add(looks, first_hot, "Leaks, with the engine off and nothing hot touched; the level by its own hole or mark.",
        wet);
    add(looks, first_hot, "Paint strokes across head and part still one line. One that is not: find out why first.",
        strokes);
    add(looks, first_cold, "Leaks once more, and drops on the ground: what seals hot may weep cold.", wet);
    add(looks, after_a_while, "Wheel nuts and bolts: torqued again, on the ground, to the stated torque.", wheels);
    add(looks, after_a_while, "Strokes once more; no torque again unless the manual says so.", strokes);
    add(looks, after_a_while,
        "Tightened by an angle, or with threadlocker: never torqued again. Their strokes are looked at; one that has "
        "moved is taken out and done anew as the manual says.",
        never);
    return looks;
}

} // namespace boltwalk
