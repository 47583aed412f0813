// What an action asks of the vehicle, and what it lacks.
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

bool torque_waits(const Fastener& fastener) {
    return !fastener.torque_after.empty() || asks_anything(fastener.torque_after_vehicle);
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
    const Map& map = *job.map;
    const Item& item = map[action.item];
    VehicleAsk needs = item.needs;
    VehicleAsk made;
    if (item.kind == ItemKind::task)
        made = map.task(action.item).sets;
    if (item.from == Place::under && needs.stands == Ask::nothing && made.stands == Ask::nothing)
        needs.stands = Ask::yes;
    switch (action.verb) {
    case Verb::soak:
    case Verb::mark:
    case Verb::unload:
    case Verb::prop:
    case Verb::prove:
    case Verb::drain:
    case Verb::fill:
    case Verb::unprop:
        // Preparing an item asks only that one can be where it is.
        return {.stands = needs.stands, .chocked = needs.chocked};
    case Verb::transfer: // on the bench
        return {};
    case Verb::start: // by hand, wherever the shaft stands
        needs.brake = needs.gear = Ask::nothing;
        return needs;
    default:
        break;
    }
    if (item.kind == ItemKind::fastener) {
        const Fastener& fastener = map.fastener(action.item);
        if (fastener.counter == "brake" && needs.brake == Ask::nothing)
            needs.brake = Ask::yes;
        if (fastener.counter == "gear" && needs.gear == Ask::nothing)
            needs.gear = Ask::yes;
    }
    return needs;
}

} // namespace boltwalk::inside
