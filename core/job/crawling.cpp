// The least crawling: among the legal orders that do the same things, the fewest changes of place, then of tool.
//
// A search (A*: Hart, Nilsson and Raphael 1968) over what is done, where one is, which tool is in hand and how the
// vehicle is. Whatever can be done from here, with this tool, and takes no freedom from anything else, is done at once:
// an order that does it later can be changed into one that does it now and goes nowhere else for it. What does take
// freedom is a choice: a vehicle changed against what others need, a prop that keeps the vehicle from being raised, the
// last bolt of what can then be carried away only from elsewhere.
//
// The search knows the rules only by what must come before what (course.hpp), so that its answer is a bound. The order
// that it finds is put to the rules themselves; where they agree, the bound is met, and proven.
#include "core/job/crawling.hpp"

#include <algorithm>

namespace boltwalk {

using namespace inside;

namespace {

class Count {
public:
    explicit Count(const Map& map) : map_(map) {}

    void add(const Action& action) {
        if (!action.item)
            return;
        const Place from = map_[action.item].from;
        if (from != Place::not_stated) {
            changes.place += place_ != Place::not_stated && place_ != from ? 1 : 0;
            place_ = from;
        }
        const std::string tool = tool_of(map_, action);
        if (!tool.empty()) {
            changes.tool += !tool_.empty() && tool_ != tool ? 1 : 0;
            tool_ = tool;
        }
    }

    Changes changes;

private:
    const Map& map_;
    Place place_ = Place::not_stated;
    std::string tool_;
};

Changes changes_of(const Map& map, const std::vector<Action>& order) {
    Count count(map);
    for (const Action& action : order)
        count.add(action);
    return count.changes;
}

std::vector<Action> actions_of(const Errands& errands, const std::vector<Stop>& order) {
    std::vector<Action> actions;
    actions.reserve(order.size());
    for (const Stop& stop : order)
        actions.push_back(stop.deed >= 0 ? errands.list[at(stop.deed)].action
                                         : Action{Verb::set_vehicle, {}, stop.vehicle});
    return actions;
}

std::vector<Action> actions_of(const Plan& plan) {
    std::vector<Action> actions;
    for (const Step& step : plan.steps) {
        if (step.verb == Verb::set_vehicle)
            actions.push_back({step.verb, {}, step.vehicle});
        for (const ItemId item : step.items)
            actions.push_back({step.verb, item, {}});
    }
    return actions;
}

std::vector<Action> leaving_of(const Errands& errands) {
    std::vector<Action> leaving;
    for (const Errand& errand : errands.list)
        if (errand.leaves)
            leaving.push_back(errand.action);
    return leaving;
}

/// Do the rules themselves take this order?
bool is_legal(const Job& job, const Errands& errands, const std::vector<Action>& order) {
    std::vector<Action> to_come = leaving_of(errands);
    State state = as_found(job);
    for (const Action& action : order) {
        if (!judge_first(job, state, action).empty())
            return false;
        if (action.verb == Verb::take_out || action.verb == Verb::loosen) {
            if (!is_about(*job.map, action.item, about_to_drop(job, state, to_come)))
                return false;
            if (errands.nothing_hangs && would_hang(job, state, action.item, to_come))
                return false;
        }
        if (leaves(action.verb))
            std::erase_if(to_come, [&](const Action& one) { return one.item == action.item; });
        apply(job, state, action);
    }
    return true;
}

/// What states neither place nor tool (a look, a check) comes no earlier than it is asked for, or than the plan has it.
std::vector<Stop> in_its_own_time(const Errands& errands, const std::vector<Stop>& order) {
    std::vector<Stop> out;
    std::vector<std::size_t> kept; // in the order of the plan
    const auto floats = [&](std::size_t deed) {
        const Errand& errand = errands.list[deed];
        return errand.place < 0 && errand.tool < 0 && !asks_anything(errand.sets) &&
               errand.action.verb == Verb::do_task && !errand.holds_up;
    };
    const auto release = [&](auto&& due) {
        std::vector<std::size_t> still;
        for (const std::size_t deed : kept)
            if (due(deed))
                out.push_back({static_cast<std::int32_t>(deed), {}});
            else
                still.push_back(deed);
        kept = std::move(still);
    };
    std::vector<std::uint8_t> done(errands.list.size(), 0);
    for (const Stop& stop : order) {
        if (stop.deed >= 0 && floats(at(stop.deed))) {
            kept.push_back(at(stop.deed));
            std::sort(kept.begin(), kept.end());
            continue;
        }
        release([&](std::size_t deed) {
            const bool asked_for = stop.deed >= 0 && errands.before[at(stop.deed)].has(deed);
            bool in_turn = true;
            for (std::size_t i = 0; i < deed && in_turn; ++i)
                in_turn = done[i] != 0 || floats(i);
            return asked_for || in_turn;
        });
        out.push_back(stop);
        if (stop.deed >= 0)
            done[at(stop.deed)] = 1;
    }
    release([](std::size_t) { return true; });
    return out;
}

Plan plan_of(const Job& job, const std::vector<Action>& actions) {
    const State begin = as_found(job);
    Order order{{}, {}, begin, {}};
    for (const Action& action : actions) {
        order.done.push_back({action, -1, !action.item || !is_own_doing(action.verb)});
        apply(job, order.end, action);
    }
    Plan plan;
    gather(job, begin, std::move(order), plan);
    return plan;
}

/// The rules' own order, as the search found it, or as near as they allow.
bool order_from(const Job& job, const Errands& errands, const Found& found, std::vector<Action>& order) {
    if (!found.proven)
        return false;
    order = actions_of(errands, in_its_own_time(errands, found.order));
    if (is_legal(job, errands, order))
        return true;
    order = actions_of(errands, found.order);
    return is_legal(job, errands, order);
}

} // namespace

Changes changes_of(const Job& job, const Plan& plan) {
    Count count(*job.map);
    for (const Action& action : actions_of(plan))
        count.add(action);
    return count.changes;
}

LeastCrawling plan_least_crawling(const Job& job, const Plan& strip, const LeastCrawlingSettings& settings) {
    LeastCrawling result;
    result.plan = strip;
    result.changes = changes_of(job, strip);
    Errands errands = errands_of(job, strip);
    if (!errands.searchable)
        return result;
    const auto search = [&](Rules rules) {
        Found one = search_least_crawling(job, errands, rules, settings.budget);
        result.nodes += one.nodes;
        return one;
    };
    std::vector<Action> order;
    bool found = false;
    // The cheapest search first; the next only where what that proves is not met by what is legal.
    for (const Rules rules : {Rules::order, Rules::all, Rules::last}) {
        if (found && !(result.at_least < changes_of(*job.map, order)))
            break;
        const Found one = search(rules);
        if (rules != Rules::all)
            result.at_least = std::max(result.at_least, one.at_least);
        std::vector<Action> its;
        if (order_from(job, errands, one, its) && (!found || changes_of(*job.map, its) < changes_of(*job.map, order))) {
            order = std::move(its);
            found = true;
        }
        if (rules == Rules::last && one.exhausted && errands.nothing_hangs) {
            // What the map states leaves something hanging whatever the order: the least that can be said without that.
            errands.nothing_hangs = false;
            const Found loose = search(Rules::all);
            found = order_from(job, errands, loose, order);
            result.at_least = std::max(result.at_least, search(Rules::last).at_least);
        }
    }
    const Changes least = found ? changes_of(*job.map, order) : result.changes;
    if (found && (least < result.changes || !is_legal(job, errands, actions_of(strip)))) {
        result.plan = plan_of(job, order);
        result.changes = least;
    }
    // An order that breaks a rule may do with fewer than any legal one.
    const bool below = result.changes < result.at_least;
    result.at_least = std::min(result.at_least, result.changes);
    result.proven_place = errands.monotone && !below && result.changes.place == result.at_least.place;
    result.proven = errands.monotone && !below && result.changes == result.at_least;
    return result;
}

} // namespace boltwalk
