#include "core/job/ways.hpp"

#include <algorithm>
#include <cmath>

#include "core/job/inside.hpp"
#include "core/job/shapes.hpp"

namespace boltwalk {

using inside::slot;

namespace {

bool moves_shapes(Verb verb) {
    return verb == Verb::take_off || verb == Verb::set_aside || verb == Verb::let_down || verb == Verb::take_out ||
           verb == Verb::loosen;
}

std::vector<glm::dvec3> legs_of(const Part& part, Verb verb) {
    if (verb == Verb::let_down)
        return {glm::dvec3(0, -part.lower_mm.value_or(0) / 1000, 0)};
    if (verb == Verb::set_aside) {
        Part aside;
        aside.way = part.aside_legs;
        return stated_legs(aside);
    }
    return stated_legs(part);
}

} // namespace

Leaving leaving_at(const Job& job, const Solids& solids, const State& state, ItemId item, Verb verb) {
    const Map& map = *job.map;
    Leaving leaving;
    leaving.verb = verb;
    const ItemId unit = unit_on_bench(map, state, item);
    leaving.bench = static_cast<bool>(unit);
    leaving.state = arrange_about(job, solids, state, item);
    if (map.is_fastener(item)) {
        leaving.asked = drawn(solids, item);
        leaving.comes_with = map.fastener(item).leaves_with;
        return leaving;
    }
    State later = state;
    apply(job, later, {verb, item, {}});
    const Arrangement after = unit ? arrange_on_bench(map, solids, later, unit) : arrange(job, solids, later);
    leaving.asked.item = item;
    leaving.asked.legs = legs_of(map.part(item), verb);
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        if (leaving.state.there[b] && (!after.there[b] || after.shift[b] != leaving.state.shift[b] ||
                                       static_cast<std::int32_t>(b) == solids.body_of[at(item.index)]))
            leaving.asked.moving.push_back(static_cast<std::int32_t>(b));
    return leaving;
}

std::vector<Leaving> leavings(const Job& job, const Solids& solids, const Plan& strip) {
    const Map& map = *job.map;
    std::vector<Leaving> list;
    State state = as_found(job);
    for (std::size_t s = 0; s < strip.steps.size(); ++s) {
        const Step& step = strip.steps[s];
        if (!moves_shapes(step.verb)) {
            apply_step(job, state, step);
            continue;
        }
        for (const ItemId item : step.items) {
            // A fastener that only comes loose stays where it is, unless it is stated that it cannot be drawn: then
            // the shapes should say so, too. What has no shape has no way.
            const bool stays = step.verb == Verb::loosen && !(map.is_fastener(item) && map.fastener(item).leaves_with);
            const std::int32_t body = solids.body_of[at(item.index)];
            if (body >= 0 && !stays) {
                Leaving leaving = leaving_at(job, solids, state, item, step.verb);
                leaving.step = static_cast<std::int32_t>(s);
                if (leaving.state.there[at(body)])
                    list.push_back(std::move(leaving));
            }
            apply(job, state, {step.verb, item, {}});
        }
        for (Leaving& leaving : list)
            if (leaving.comes_with && leaving.comes_step < 0 &&
                state.parts[slot(map, leaving.comes_with)] == PartState::off)
                leaving.comes_step = static_cast<std::int32_t>(s);
    }
    return list;
}

Agreement agreement_of(const Leaving& leaving, const WayFound& found) {
    if (!found.has_stated)
        return Agreement::not_stated;
    if (found.stated.verdict == Verdict::undecided)
        return Agreement::undecided;
    return (found.stated.verdict == Verdict::free) != static_cast<bool>(leaving.comes_with) ? Agreement::agreed
                                                                                            : Agreement::disagreed;
}

std::vector<WayFound> ways_of(const Job& job, const Solids& solids, const std::vector<Leaving>& list, int queries,
                              const Effort& effort, const std::vector<Obstacle>& obstacles) {
    const Map& map = *job.map;
    std::vector<WayAsked> asked;
    asked.reserve(list.size());
    for (const Leaving& leaving : list)
        asked.push_back(leaving.asked);
    const WaySpace base = make_way_space(solids, asked, obstacles, effort);
    // One set of moved solids for each arrangement that differs in where the bodies are.
    std::vector<Solids> places;
    std::vector<std::size_t> place(list.size());
    std::vector<const std::vector<glm::dvec3>*> known;
    for (std::size_t i = 0; i < list.size(); ++i) {
        const auto& shift = list[i].state.shift;
        std::size_t k = 0;
        while (k < known.size() && *known[k] != shift)
            ++k;
        if (k == known.size())
            known.push_back(&shift);
        place[i] = k;
    }
    places.reserve(known.size());
    for (const auto* shift : known)
        places.push_back(moved(solids, *shift));
    std::vector<WayFound> found(list.size());
    in_parallel(list.size(), effort, [&](std::size_t i) {
        const WaySpace space = in_place_of(base, places[place[i]]);
        WayFound& one = found[i];
        // Where something hangs moved, what is gone by then would lie in it.
        const auto& state = list[i].state;
        const bool unmoved = std::all_of(state.shift.begin(), state.shift.end(),
                                         [](const glm::dvec3& shift) { return shift == glm::dvec3(0.0); });
        const bool any_state = unmoved && !list[i].bench;
        one.out = sweep_way(space, list[i].asked, any_state ? std::span<const std::uint8_t>{} : state.there);
        one.has_stated = !one.out.ways.empty();
        if (one.has_stated)
            one.stated = judge(one.out.ways[0], list[i].state.there);
        const bool wanted = map.is_part(list[i].asked.item) && list[i].verb == Verb::take_off &&
                            (!one.has_stated || one.stated.verdict != Verdict::free);
        if (wanted && queries > 0)
            find_way(space, list[i].asked, {queries, list[i].state.there, any_state}, one.out);
        one.best = best_way(one.out, list[i].state.there);
    });
    return found;
}

namespace {

/// The held part that lies under the head, or under the nut: along the axis inwards, beside the shank.
ItemId under_head(const Solids& solids, const Map& map, ItemId id) {
    const Fastener& fastener = map.fastener(id);
    const std::int32_t body = solids.body_of[at(id.index)];
    const glm::dvec3 axis = axis_of(map, id);
    const Bounds& box = solids.bodies[at(body)].bounds;
    const glm::dvec3 middle = box.centre();
    double top = -1e30;
    double wide = 0;
    each_triangle_of(solids, body, [&](const Triangle& t) {
        for (const glm::dvec3& p : {t.a, t.b, t.c}) {
            const glm::dvec3 from = p - middle;
            const double along = glm::dot(from, axis);
            top = std::max(top, along);
            wide = std::max(wide, glm::length(from - axis * along));
        }
    });
    const glm::dvec3 across =
        glm::normalize(glm::cross(axis, std::abs(axis.y) < 0.7 ? glm::dvec3(0, 1, 0) : glm::dvec3(1, 0, 0)));
    const glm::dvec3 third = glm::cross(axis, across);
    std::vector<int> votes(fastener.holds.size(), 0);
    std::vector<RayHit> hits;
    // On the head's rim, well outside the shank.
    constexpr double rim = 0.85;
    for (const glm::dvec3& side : {across, -across, third, -third}) {
        all_hits(solids, {middle + axis * top + side * (rim * wide), -axis}, 0.5, hits);
        double nearest = 1e30;
        std::size_t under = votes.size();
        for (const RayHit& hit : hits)
            for (std::size_t h = 0; h < fastener.holds.size(); ++h)
                if (solids.bodies[at(hit.body)].item == fastener.holds[h] && hit.distance < nearest) {
                    nearest = hit.distance;
                    under = h;
                }
        if (under < votes.size())
            ++votes[under];
    }
    if (votes.empty())
        return {};
    return fastener.holds[static_cast<std::size_t>(std::max_element(votes.begin(), votes.end()) - votes.begin())];
}

/// The legs one after the other, each as far as is needed; then the six axes.
std::vector<ApartWay> ways_along(const std::vector<glm::dvec3>& legs) {
    std::vector<ApartWay> ways;
    glm::dvec3 before(0.0);
    for (const glm::dvec3& leg : legs) {
        ways.push_back({leg, before});
        before += leg;
    }
    for (const glm::dvec3& way : {glm::dvec3(0, -1, 0), glm::dvec3(0, 0, -1), glm::dvec3(0, 0, 1), glm::dvec3(1, 0, 0),
                                  glm::dvec3(-1, 0, 0), glm::dvec3(0, 1, 0)})
        ways.push_back({way, glm::dvec3(0.0)});
    return ways;
}

} // namespace

std::vector<Apart> apart_of(const Job& job, const Solids& solids, const Plan& strip) {
    const Map& map = *job.map;
    std::vector<Apart> list;
    std::vector<std::int32_t> place(map.items.size(), -1);
    std::vector<ItemId> unit(map.items.size());
    const auto add = [&](ItemId item, std::vector<ApartWay> ways, std::size_t stated) {
        const std::int32_t body = solids.body_of[at(item.index)];
        if (body < 0 || place[at(item.index)] >= 0)
            return;
        place[at(item.index)] = static_cast<std::int32_t>(list.size());
        Apart one;
        one.item = item;
        one.bodies = {body};
        one.ways = std::move(ways);
        one.stated = stated;
        one.fastener = map.is_fastener(item);
        list.push_back(std::move(one));
    };
    State state = as_found(job);
    for (const Step& step : strip.steps) {
        if (moves_shapes(step.verb) && step.verb != Verb::let_down)
            for (const ItemId item : step.items) {
                if (map.is_fastener(item)) {
                    add(item, {{axis_of(map, item), {}}}, 1);
                    continue;
                }
                unit[at(item.index)] = unit_on_bench(map, state, item);
                const std::vector<glm::dvec3> legs = legs_of(map.part(item), step.verb);
                add(item, ways_along(legs), legs.size());
            }
        apply_step(job, state, step);
    }
    for (const Part& part : map.parts)
        if (!part.fixed && place[at(part.item.index)] < 0 && state.parts[slot(map, part.item)] == PartState::off) {
            // Left with its unit, and nobody takes it off that: it stays on it.
            const ItemId led = off_with(map, state, part.item);
            const std::int32_t body = solids.body_of[at(part.item.index)];
            if (led != part.item && body >= 0 && place[at(led.index)] >= 0)
                list[at(place[at(led.index)])].bodies.push_back(body);
        }
    for (const Fastener& fastener : map.fasteners)
        add(fastener.item, {{axis_of(map, fastener.item), {}}}, 1);
    for (Apart& one : list) {
        if (!one.fastener) {
            if (const ItemId led = unit[at(one.item.index)]; led && led != one.item)
                one.on = place[at(led.index)];
            continue;
        }
        // A pin goes with what it locks.
        ItemId of = one.item;
        for (int k = 0; k < 4 && map.fastener(of).holds.empty() && !map.fastener(of).secures.empty(); ++k)
            of = map.fastener(of).secures[0];
        if (solids.body_of[at(of.index)] < 0)
            continue;
        const ItemId under = under_head(solids, map, of);
        if (under)
            one.on = place[at(under.index)];
    }
    return list;
}

} // namespace boltwalk
