// What an action asks of the vehicle, and what it lacks.
#include <algorithm>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

bool asks_anything(const VehicleAsk& ask) {
    return !(ask == VehicleAsk{});
}

VehicleAsk missing(const VehicleAsk& ask, const VehicleAsk& is) {
    VehicleAsk left;
    const auto each = [](Ask want, Ask have, Ask& out) {
        out = want == Ask::nothing || want == have ? Ask::nothing : want;
    };
    each(ask.stands, is.stands, left.stands);
    each(ask.chocked, is.chocked, left.chocked);
    each(ask.brake, is.brake, left.brake);
    each(ask.gear, is.gear, left.gear);
    each(ask.battery, is.battery, left.battery);
    each(ask.straight, is.straight, left.straight);
    return left;
}

bool needs_chocks(const VehicleAsk& is) {
    return is.stands == Ask::yes || (is.brake == Ask::no && is.gear == Ask::no);
}

VehicleAsk merged(const VehicleAsk& is, const VehicleAsk& ask) {
    VehicleAsk out = is;
    const auto each = [](Ask want, Ask& have) {
        if (want != Ask::nothing)
            have = want;
    };
    each(ask.stands, out.stands);
    each(ask.chocked, out.chocked);
    each(ask.brake, out.brake);
    each(ask.gear, out.gear);
    each(ask.battery, out.battery);
    each(ask.straight, out.straight);
    return out;
}

VehicleAsk needs_of(const Job& job, const Action& action) {
    if (!action.item)
        return {};
    VehicleAsk needs = fact(job, action.item).needs;
    switch (action.verb) {
    case Verb::prop:
        // It is not raised over the prop: what is raised for the fasteners that carry it is raised before.
        if (is_part(job, action.item) && needs.stands == Ask::nothing) {
            const auto carriers = job.carriers[slot(job, action.item)];
            if (std::any_of(carriers.begin(), carriers.end(),
                            [&](ItemId id) { return fact(job, id).needs.stands == Ask::yes; }))
                needs.stands = Ask::yes;
        }
        [[fallthrough]];
    case Verb::soak:
    case Verb::mark:
    case Verb::unload:
    case Verb::prove:
    case Verb::drain:
    case Verb::fill:
    case Verb::unprop:
    case Verb::mate:
        // Preparing an item asks only that one can be where it is.
        return {.stands = needs.stands, .chocked = needs.chocked};
    case Verb::transfer: // on the bench
        return {};
    case Verb::start: // by hand, wherever the shaft stands
        needs.brake = needs.gear = Ask::nothing;
        return needs;
    default:
        return needs;
    }
}

} // namespace boltwalk::inside

namespace boltwalk {

using namespace inside;

std::vector<ItemId> shaken_by_half(const Job& job, const State& state, const Action& action) {
    const bool task = action.verb == Verb::do_task && action.item && is_task(job, action.item);
    if (action.verb != Verb::set_vehicle && !task)
        return {};
    // Shafts are turned with part of their bolts out: that is how the bolts are got at, one by one.
    const VehicleAsk ask = task ? job.map->task(action.item).sets : action.vehicle;
    return ask.stands == Ask::nothing || ask.stands == state.vehicle.stands ? std::vector<ItemId>{}
                                                                            : half_undone(job, state);
}

} // namespace boltwalk

namespace boltwalk::inside {

VehicleAsk needs_now(const Job& job, const State& state, const Action& action) {
    VehicleAsk needs = needs_of(job, action);
    const bool undoes = action.verb == Verb::take_out || action.verb == Verb::loosen;
    if (!undoes || !fact(job, action.item).low_mate || state.vehicle.stands == Ask::yes)
        return needs;
    // Of those left, one at least must need it raised: else nobody raises it over the rest.
    const auto mates = job.mates[slot(job, action.item)];
    const bool raised_for = std::any_of(mates.begin(), mates.end(), [&](ItemId id) {
        return fact(job, id).needs.stands == Ask::yes && makes_whole(job, id) && !is_freed(job, state, id);
    });
    if (raised_for && !half_undone(job, state, action.item).empty())
        needs.stands = Ask::yes;
    return needs;
}

VehicleAsk torque_needs(const Job& job, ItemId fastener) {
    VehicleAsk needs = job.map->fastener(fastener).torque_after_vehicle;
    if (fact(job, fastener).on_ground && needs.stands == Ask::nothing)
        needs.stands = Ask::no;
    return needs;
}

} // namespace boltwalk::inside
