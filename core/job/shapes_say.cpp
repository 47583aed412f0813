// What the shapes put in whose way, asked of a state. An estimate, beside what is stated: reckon.cpp sees to it that
// none is asked that contradicts it.
#include <algorithm>

#include "core/job/court.hpp"

namespace boltwalk::inside {

namespace {

/// Where a thing is, as far as it can be in another's way.
struct Whereabouts {
    enum At : std::uint8_t { vehicle, bench, clear } at = vehicle;
    bool moved = false; ///< lowered, or aside: on the vehicle, but not in its place
    ItemId unit;        ///< on the bench: of which
    bool operator==(const Whereabouts&) const = default;
};

Whereabouts of_part(const Job& job, const State& state, ItemId part) {
    const std::size_t p = slot(job, part);
    switch (state.parts[p]) {
    case PartState::on:
        return {};
    case PartState::lowered:
    case PartState::aside:
        return {Whereabouts::vehicle, true, {}};
    case PartState::off:
        break;
    }
    return {Whereabouts::bench, false, root_of(state, p, part)};
}

/// Where the parts that it holds agree, a fastener is with them; where they part company, with what stayed.
Whereabouts of_fastener(const Job& job, const State& state, ItemId id, int links) {
    const std::size_t f = slot(job, id);
    if (state.fasteners[f] == FastenerState::out)
        return {Whereabouts::clear, false, {}};
    const Fastener& fastener = job.map->fasteners[f];
    for (const ItemId keeper : {fastener.leaves_with, fastener.captive_in})
        if (keeper)
            return of_part(job, state, keeper);
    const auto holds = job.holds[f];
    if (holds.empty()) // a pin is where what it locks is
        return fastener.secures.empty() || links == 0 ? Whereabouts{}
                                                      : of_fastener(job, state, fastener.secures[0], links - 1);
    const Whereabouts first = of_part(job, state, holds[0]);
    for (const ItemId part : holds)
        if (!(of_part(job, state, part) == first))
            return {};
    return first;
}

Whereabouts whereabouts(const Job& job, const State& state, ItemId item) {
    constexpr int links = 4; // a pin on a pin on a bolt; rings of pins are the map's own fault
    return is_part(job, item)       ? of_part(job, state, item)
           : is_fastener(job, item) ? of_fastener(job, state, item, links)
                                    : Whereabouts{};
}

/// What is asked about one item in one state, against one estimate.
class Asked {
public:
    Asked(const Job& job, const State& state, const Action& action, const Estimate& estimate)
        : job_(job), state_(state), action_(action), estimate_(estimate), own_(whereabouts(job, state, action.item)) {}

    /// Do the shapes say anything, in this state?
    bool is_about_this() const {
        if (own_.at == Whereabouts::clear || (own_.at == Whereabouts::bench) != estimate_.on_bench)
            return false;
        for (const ItemId part : estimate_.moved)
            if (!of_part(job_, state_, part).moved)
                return false;
        return !own_.moved || estimate_.question != Question::way || !estimate_.moved.empty();
    }

    std::vector<ItemId> in_way_of(const Alternative& alternative) {
        std::vector<ItemId> by;
        for (const ItemId part : alternative.lowered) // lowered or gone altogether: there is room
            if (state_.parts[slot(job_, part)] == PartState::on)
                by.push_back(part);
        for (const ItemId id : alternative.gone)
            if (id != action_.item && !still_holds_it(id) && is_there(id, !alternative.lowered.empty()))
                by.push_back(id);
        return by;
    }

private:
    /// That it must be undone is stated already.
    bool still_holds_it(ItemId id) const {
        return is_part(job_, action_.item) && is_fastener(job_, id) && !is_freed(job_, state_, id) &&
               names(job_.held_by[slot(job_, action_.item)], id);
    }

    bool is_there(ItemId id, bool in_lowered_case) {
        const Whereabouts its = whereabouts(job_, state_, id);
        if (its.at != own_.at || !(its.unit == own_.unit))
            return false;
        if (its.moved && !in_lowered_case && !is_measured_moved(id))
            return false; // where it is now, nobody measured it
        return !comes_along(id);
    }

    /// Moved, but measured where it is.
    bool is_measured_moved(ItemId id) const {
        if (names(estimate_.moved, id))
            return true;
        if (is_fastener(job_, id)) {
            const auto holds = job_.holds[slot(job_, id)];
            return std::any_of(holds.begin(), holds.end(), [&](ItemId part) { return is_measured_moved(part); });
        }
        return names(estimate_.measured_low, id) && state_.parts[slot(job_, id)] == PartState::lowered;
    }

    /// It hangs on what moves, and moves with it.
    bool comes_along(ItemId id) {
        if (estimate_.question != Question::way || !is_part(job_, action_.item))
            return false;
        if (company_.empty())
            company_ = action_.verb == Verb::let_down
                           ? moving_with(job_, state_, action_.item)
                           : hanging_on(job_, state_, action_.item, action_.verb == Verb::set_aside);
        if (is_part(job_, id))
            return names(company_, id);
        if (!is_fastener(job_, id))
            return false;
        const Fastener& fastener = job_.map->fastener(id);
        for (const ItemId keeper : {fastener.leaves_with, fastener.captive_in})
            if (keeper)
                return names(company_, keeper);
        return !fastener.holds.empty() && std::all_of(fastener.holds.begin(), fastener.holds.end(),
                                                      [&](ItemId part) { return names(company_, part); });
    }

    const Job& job_;
    const State& state_;
    const Action& action_;
    const Estimate& estimate_;
    const Whereabouts own_;
    std::vector<ItemId> company_;
};

} // namespace

std::vector<Action> gets_out_of_the_way(const Job& job, const State& state, ItemId id) {
    std::vector<Action> out;
    const auto leave = [&](ItemId part) {
        const auto goal = strip_goal(job, part);
        const PartState is = state.parts[slot(job, part)];
        if (goal && (is == PartState::on || (is == PartState::lowered && goal->verb == Verb::take_off)))
            out.push_back(*goal);
    };
    if (is_part(job, id)) {
        leave(id);
        return out;
    }
    if (!is_fastener(job, id))
        return out;
    const Fastener& fastener = job.map->fastener(id);
    for (const ItemId keeper : {fastener.leaves_with, fastener.captive_in})
        if (keeper) {
            leave(keeper);
            return out;
        }
    if (const auto goal = strip_goal(job, id); goal && goal->verb == Verb::take_out)
        return {*goal};
    // It stays in what it holds: gone with all of that, or not at all.
    for (const ItemId part : fastener.holds) {
        if (fact(job, part).fixed)
            return {};
        leave(part);
    }
    return out;
}

std::optional<InTheWay> in_the_way(const Job& job, const State& state, const Action& action, Question question) {
    for (const std::int32_t index : job.estimates.of_item[at(action.item.index)]) {
        const Estimate& estimate = job.estimates.list[at(index)];
        if (estimate.question != question)
            continue;
        Asked asked(job, state, action, estimate);
        if (!asked.is_about_this())
            continue;
        constexpr std::size_t unmovable = 1000;
        std::optional<std::size_t> least;
        InTheWay found;
        for (const Alternative& alternative : estimate.alternatives) {
            if (alternative.never)
                continue;
            std::vector<ItemId> by = asked.in_way_of(alternative);
            std::size_t cost = 0;
            for (const ItemId id : by)
                cost += gets_out_of_the_way(job, state, id).empty() ? unmovable : 1;
            if (alternative.tried)
                cost += unmovable / 2;
            if (by.empty())
                cost = 0;
            if (least && cost >= *least)
                continue;
            least = cost;
            found = {index, std::move(by)};
        }
        if (least && !found.by.empty())
            return found;
    }
    return std::nullopt;
}

const Alternative* never_free(const Job& job, const State& state, const Action& action, Question question) {
    for (const std::int32_t index : job.estimates.of_item[at(action.item.index)]) {
        const Estimate& estimate = job.estimates.list[at(index)];
        if (estimate.question != question || !Asked(job, state, action, estimate).is_about_this())
            continue;
        const Alternative* least = nullptr;
        const auto count = [](const Alternative& one) { return one.stays.size() + one.scenery.size(); };
        for (const Alternative& alternative : estimate.alternatives) {
            if (!alternative.never)
                return nullptr;
            if (least == nullptr || count(alternative) < count(*least))
                least = &alternative;
        }
        if (least != nullptr)
            return least;
    }
    return nullptr;
}

void ask_shapes(Court& c, const Action& action) {
    if (c.stated_only || c.settled() || !fact(c.job, action.item).estimated)
        return;
    if (is_fastener(c.job, action.item))
        for (const Question question : {Question::reach, Question::counter})
            if (auto found = in_the_way(c.job, c.state, action, question))
                c.object(Rule::out_of_reach, std::move(found->by));
    // What only comes loose stays where it is, and has no way to go.
    const bool goes = leaves(action.verb) || action.verb == Verb::take_out;
    const auto usual = strip_goal(c.job, action.item);
    if (goes && usual && usual->verb == action.verb)
        if (auto found = in_the_way(c.job, c.state, action, Question::way))
            c.object(Rule::in_the_way, std::move(found->by));
}

} // namespace boltwalk::inside
