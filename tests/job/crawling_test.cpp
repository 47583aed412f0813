// The least crawling: against every legal order of small assemblies, by brute force over the rules themselves.
#include <map>
#include <set>

#include <doctest/doctest.h>

#include "core/job/least.hpp"
#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

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

bool has(const std::vector<ItemId>& list, ItemId id) {
    return std::find(list.begin(), list.end(), id) != list.end();
}

bool is_leaving(Verb verb) {
    return verb == Verb::take_off || verb == Verb::set_aside || verb == Verb::let_down;
}

/// What hangs together with this part; empty when any of it stays, is held up, or is no longer there.
std::vector<ItemId> hanging(const Job& job, const State& state, ItemId part) {
    const Map& map = *job.map;
    std::vector<ItemId> together{part};
    for (std::size_t i = 0; i < together.size(); ++i) {
        const auto p = static_cast<std::size_t>(map[together[i]].detail);
        if (map.parts[p].fixed || state.propped[p] != 0 || state.parts[p] == PartState::aside ||
            state.parts[p] == PartState::off)
            return {};
        for (const Fastener& fastener : map.fasteners) {
            const bool pin = fastener.kind == FastenerKind::split_pin;
            if (pin || !has(fastener.holds, together[i]) || is_freed(job, state, fastener.item))
                continue;
            for (const ItemId other : fastener.holds)
                if (state.parts[static_cast<std::size_t>(map[other].detail)] != PartState::off && !has(together, other))
                    together.push_back(other);
        }
    }
    return together;
}

/// Everything that an order may do next, tried in every way: the fewest changes by Dijkstra over all that can be.
class BruteForce {
public:
    BruteForce(const Job& job, const Plan& plan, bool nothing_hangs) : job_(job), nothing_hangs_(nothing_hangs) {
        for (const Action& action : actions_of(plan))
            if (action.verb == Verb::set_vehicle)
                ++allowed_;
            else
                deeds_.push_back(action);
    }

    std::size_t count() const { return deeds_.size(); }

    bool may(const State& state, std::uint32_t done, const Action& action) const {
        if (!judge(job_, state, action).empty())
            return false;
        if (action.verb != Verb::take_out && action.verb != Verb::loosen)
            return true;
        const auto& holds = job_.map->fastener(action.item).holds;
        for (std::size_t t = 0; t < deeds_.size(); ++t) {
            if (!is_leaving(deeds_[t].verb) || ((done >> t) & 1U) != 0)
                continue;
            const auto together = hanging(job_, state, deeds_[t].item);
            const bool touches = holds.empty() || std::any_of(holds.begin(), holds.end(),
                                                              [&](ItemId part) { return has(together, part); });
            if (!together.empty() && !touches && judge(job_, state, deeds_[t]).empty())
                return false; // it comes off before anything else is undone
        }
        if (!nothing_hangs_)
            return true;
        State then = state;
        apply(job_, then, action);
        for (const ItemId part : holds) {
            const auto together = hanging(job_, then, part);
            bool to_come = false, can_come = false;
            for (std::size_t t = 0; t < deeds_.size(); ++t)
                if (is_leaving(deeds_[t].verb) && ((done >> t) & 1U) == 0 && has(together, deeds_[t].item)) {
                    to_come = true;
                    can_come = can_come || judge(job_, then, deeds_[t]).empty();
                }
            if (to_come && !can_come && job_.map->fastener(action.item).kind != FastenerKind::split_pin)
                return false;
        }
        return true;
    }

    bool is_legal(const Plan& plan) const {
        State state = as_found(job_);
        std::uint32_t done = 0;
        int changed = 0;
        for (const Action& action : actions_of(plan)) {
            if (!may(state, done, action))
                return false;
            apply(job_, state, action);
            if (action.verb == Verb::set_vehicle)
                ++changed;
            for (std::size_t i = 0; i < deeds_.size(); ++i)
                if (deeds_[i].verb == action.verb && deeds_[i].item == action.item)
                    done |= 1U << i;
        }
        return done + 1 == 1U << deeds_.size() && changed <= allowed_;
    }

    /// {-1, -1} when there is no order.
    Changes least() {
        State begin = as_found(job_);
        reach({0, 0}, {begin, 0, -1, -1, 0});
        while (!open_.empty()) {
            const auto [cost, at] = *open_.begin();
            open_.erase(open_.begin());
            const Spot spot = spots_[at];
            if (known_.at(key_of(spot)) < cost)
                continue;
            if (spot.done + 1 == 1U << deeds_.size())
                return cost;
            for (std::size_t i = 0; i < deeds_.size(); ++i)
                if (((spot.done >> i) & 1U) == 0)
                    step(cost, spot, i);
        }
        return {-1, -1};
    }

private:
    struct Spot {
        State state;
        std::uint32_t done;
        int place, tool, changed;
    };
    using Key = std::tuple<std::uint32_t, int, int, int, std::string, std::vector<PartState>, std::vector<ItemId>>;

    static Key key_of(const Spot& s) {
        return {s.done, s.place, s.tool, s.changed, print_vehicle(s.state.vehicle), s.state.parts, s.state.went_with};
    }

    void reach(Changes cost, const Spot& spot) {
        const auto [it, fresh] = known_.emplace(key_of(spot), cost);
        if (!fresh && !(cost < it->second))
            return;
        it->second = cost;
        open_.emplace(cost, spots_.size());
        spots_.push_back(spot);
    }

    void step(Changes cost, const Spot& spot, std::size_t i) {
        const Action& action = deeds_[i];
        const Map& map = *job_.map;
        if (may(spot.state, spot.done, action)) {
            Spot next = spot;
            apply(job_, next.state, action);
            next.done |= 1U << i;
            if (const Place from = map[action.item].from; from != Place::not_stated) {
                cost.place += spot.place >= 0 && spot.place != static_cast<int>(from) ? 1 : 0;
                next.place = static_cast<int>(from);
            }
            if (map.is_fastener(action.item) && map.fastener(action.item).drive && action.verb == Verb::take_out) {
                const int tool = static_cast<int>(map.fastener(action.item).drive->size);
                cost.tool += spot.tool >= 0 && spot.tool != tool ? 1 : 0;
                next.tool = tool;
            }
            reach(cost, next);
            return;
        }
        const auto objections = judge(job_, spot.state, action);
        if (spot.changed == allowed_ || objections.empty() || objections.back().rule != Rule::vehicle)
            return;
        VehicleAsk ask = objections.back().vehicle;
        for (const Ask chocks : {Ask::nothing, Ask::yes}) {
            if (chocks == Ask::yes)
                ask.chocked = Ask::yes;
            const Action change{Verb::set_vehicle, {}, ask};
            if (!judge(job_, spot.state, change).empty())
                continue;
            Spot next = spot;
            apply(job_, next.state, change);
            ++next.changed;
            reach(cost, next);
            return;
        }
    }

    const Job& job_;
    bool nothing_hangs_;
    int allowed_ = 0;
    std::vector<Action> deeds_;
    std::vector<Spot> spots_;
    std::map<Key, Changes> known_;
    std::set<std::pair<Changes, std::size_t>> open_;
};

Build with_tools(std::uint64_t seed, const RandomSettings& settings) {
    Build b = random_assembly(seed, settings);
    Lots dice(seed + 77);
    for (Fastener& fastener : b.map.fasteners)
        if (fastener.kind == FastenerKind::bolt)
            fastener.drive =
                *read_drive(std::array{"hex 10", "hex 13", "hex 17"}[static_cast<std::size_t>(dice.below(3))]);
    for (Part& part : b.map.parts) {
        Item& item = b.map.items[static_cast<std::size_t>(part.item.index)];
        if (dice.chance(40))
            item.from = static_cast<Place>(1 + dice.below(4));
        if (dice.chance(15) && !part.fixed)
            part.support = "jack";
        if (dice.chance(15))
            item.needs.brake = Ask::no;
    }
    for (Fastener& fastener : b.map.fasteners)
        if (dice.chance(12)) {
            b.map.items[static_cast<std::size_t>(fastener.item.index)].needs.brake = Ask::yes;
            fastener.held_through = {b.map.parts.back().item};
        }
    return b;
}

} // namespace

TEST_CASE("least crawling of small random assemblies against every legal order") {
    int judged = 0, proven = 0, better = 0;
    for (std::uint64_t seed = 0; seed < 2500; ++seed) {
        RandomSettings settings;
        settings.parts = 2 + static_cast<int>(seed % 3);
        settings.nested = seed % 2 == 1;
        settings.forward_only = seed % 5 != 0;
        settings.after_percent = 15 + 15 * static_cast<int>(seed % 4);
        const Build b = with_tools(seed, settings);
        const Job job = prepare(b.map);
        const Plan strip = plan_strip(job);
        if (!rules_of(strip.findings).empty() && rules_of(strip.findings)[0] != "hangs-on-nothing")
            continue;
        BruteForce brute(job, strip, true);
        if (brute.count() > 11)
            continue;
        CAPTURE(seed);
        Changes least = brute.least();
        BruteForce loose(job, strip, false);
        const bool can_be_helped = least.place >= 0;
        if (!can_be_helped)
            least = loose.least();
        if (least.place < 0)
            continue;
        const LeastCrawling found = plan_least_crawling(job, strip);
        CHECK(changes_of(job, found.plan) == found.changes);
        CHECK(found.at_least <= least);
        if (found.proven && can_be_helped) {
            CHECK(brute.is_legal(found.plan));
            CHECK(found.changes == least);
        }
        if (found.proven_place)
            CHECK(found.changes.place == least.place);
        ++judged;
        proven += found.proven ? 1 : 0;
        better += found.changes < changes_of(job, strip) ? 1 : 0;
    }
    MESSAGE(judged << " judged, " << proven << " proven, " << better << " better than the order from the rules");
    CHECK(judged > 200);
    CHECK(proven * 10 > judged * 8);
}
