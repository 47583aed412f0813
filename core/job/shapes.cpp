#include "core/job/shapes.hpp"

#include <algorithm>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

namespace {

glm::dvec3 along(const std::vector<Leg>& legs) {
    glm::dvec3 sum(0.0);
    for (const Leg& leg : legs) {
        const auto way = direction_of(leg.way);
        sum += glm::dvec3(way[0], way[1], way[2]) * (leg.length_mm / 1000);
    }
    return sum;
}

struct Placed {
    bool there = true;
    glm::dvec3 shift{0.0};
};

Placed place_of_part(const Map& map, const State& state, std::size_t p) {
    const PartState is = state.parts[p];
    if (is == PartState::on)
        return {};
    const ItemId leader = state.went_with[p] ? state.went_with[p] : map.parts[p].item;
    const Part& led_by = map.part(leader);
    switch (is) {
    case PartState::lowered:
        return {true, {0, -led_by.lower_mm.value_or(0) / 1000, 0}};
    case PartState::aside:
        return {!led_by.aside_legs.empty(), along(led_by.aside_legs)};
    default:
        return {false, {}};
    }
}

/// Where the parts that it holds agree, a fastener goes with them; where they part company, it stays with what stayed.
Placed place_of_fastener(const std::vector<Placed>& parts, const Map& map, const State& state, std::size_t f) {
    const Fastener& fastener = map.fasteners[f];
    if (state.fasteners[f] == FastenerState::out)
        return {false, {}};
    for (const ItemId with : {fastener.leaves_with, fastener.captive_in})
        if (with)
            return parts[slot(map, with)];
    if (fastener.holds.empty())
        return {};
    const Placed& first = parts[slot(map, fastener.holds[0])];
    for (const ItemId held : fastener.holds) {
        const Placed& placed = parts[slot(map, held)];
        if (placed.there != first.there || placed.shift != first.shift)
            return {};
    }
    return first;
}

} // namespace

Arrangement arrange(const Job& job, const Solids& solids, const State& state) {
    const Map& map = *job.map;
    std::vector<Placed> parts(map.parts.size());
    for (std::size_t p = 0; p < parts.size(); ++p)
        parts[p] = place_of_part(map, state, p);
    Arrangement result;
    result.there.assign(solids.bodies.size(), 1);
    result.shift.assign(solids.bodies.size(), glm::dvec3(0.0));
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        const ItemId item = solids.bodies[b].item;
        if (!item || map.is_task(item))
            continue;
        const Placed placed =
            map.is_part(item) ? parts[slot(map, item)] : place_of_fastener(parts, map, state, slot(map, item));
        result.there[b] = placed.there ? 1 : 0;
        result.shift[b] = placed.there ? placed.shift : glm::dvec3(0.0);
    }
    return result;
}

ItemId off_with(const Map& map, const State& state, ItemId part) {
    const ItemId led = state.went_with[slot(map, part)];
    return led ? led : part;
}

Arrangement arrange_on_bench(const Map& map, const Solids& solids, const State& state, ItemId unit) {
    std::vector<std::uint8_t> with(map.parts.size(), 0);
    for (std::size_t p = 0; p < map.parts.size(); ++p)
        with[p] =
            state.parts[p] == PartState::off && !state.bench_from[p] && off_with(map, state, map.parts[p].item) == unit;
    Arrangement result;
    result.there.assign(solids.bodies.size(), 0);
    result.shift.assign(solids.bodies.size(), glm::dvec3(0.0));
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        const ItemId item = solids.bodies[b].item;
        if (!item || map.is_task(item))
            continue;
        if (map.is_part(item)) {
            result.there[b] = with[slot(map, item)];
            continue;
        }
        const Fastener& fastener = map.fastener(item);
        if (state.fasteners[slot(map, item)] == FastenerState::out)
            continue;
        const ItemId keeper = fastener.captive_in ? fastener.captive_in : fastener.leaves_with;
        const auto on_it = [&](ItemId part) { return with[slot(map, part)] != 0; };
        result.there[b] =
            keeper ? on_it(keeper)
                   : !fastener.holds.empty() && std::all_of(fastener.holds.begin(), fastener.holds.end(), on_it);
    }
    return result;
}

ItemId unit_on_bench(const Map& map, const State& state, ItemId item) {
    const auto off = [&](ItemId part) { return part && state.parts[slot(map, part)] == PartState::off; };
    if (map.is_part(item))
        return off(item) ? off_with(map, state, item) : ItemId{};
    const Fastener& fastener = map.fastener(item);
    for (const ItemId part : fastener.holds)
        if (!off(part))
            return {};
    for (const ItemId part : {fastener.captive_in, fastener.leaves_with})
        if (off(part))
            return off_with(map, state, part);
    return fastener.holds.empty() ? ItemId{} : off_with(map, state, fastener.holds[0]);
}

Arrangement arrange_about(const Job& job, const Solids& solids, const State& state, ItemId item) {
    const ItemId unit = unit_on_bench(*job.map, state, item);
    return unit ? arrange_on_bench(*job.map, solids, state, unit) : arrange(job, solids, state);
}

std::vector<LoweredCase> lowered_cases(const Job& job, const Solids& solids, const Plan& strip) {
    const Map& map = *job.map;
    std::vector<LoweredCase> cases;
    State state = as_found(job);
    for (const Step& step : strip.steps) {
        apply_step(job, state, step);
        LoweredCase now;
        for (const Part& part : map.parts)
            if (state.parts[slot(map, part.item)] == PartState::lowered && !state.went_with[slot(map, part.item)])
                now.parts.push_back(part.item);
        const bool known =
            std::any_of(cases.begin(), cases.end(), [&](const LoweredCase& c) { return c.parts == now.parts; });
        if (now.parts.empty() || known)
            continue;
        now.shift = arrange(job, solids, state).shift;
        cases.push_back(std::move(now));
    }
    return cases;
}

} // namespace boltwalk
