// The fewest items that free a part.
//
// What is to be done to free it is a set: nearly all of it has no alternative (what `after` names, a pin before its
// nut), some has (unbolt a bracket from what stays, or the part from the bracket, which then leaves along). In the
// lower view of the rules (course.hpp) whatever cannot be left out is found by leaving it out, each in turn. So many it
// takes at least. Where leaving all else out still frees the part, that is the answer; where not, one thing that could
// be done or left undone is tried both ways (branch and bound: Land and Doig 1960), the least promising bound first.
//
// What comes out is put in order by the rules themselves, which know more than the lower view. Where they will not have
// it, the next set is tried, and the bound stands as far as it is proven.
#include <algorithm>
#include <queue>
#include <set>

#include "core/job/course.hpp"
#include "core/job/least.hpp"

namespace boltwalk {

using namespace inside;

namespace {

/// All that could have to do with a part's coming off, tasks of the map before what the rules would do without them.
class Relevant {
public:
    explicit Relevant(const Job& job) : job_(job), map_(*job.map), seen_(map_.items.size(), 0) {}

    std::vector<Action> find(ItemId part, const Action& goal) {
        deeds_.push_back(goal);
        look_at(part);
        for (std::size_t i = 0; i < queue_.size(); ++i)
            expand(queue_[i]);
        std::sort(deeds_.begin() + 1, deeds_.end(), [](const Action& a, const Action& b) {
            return std::pair(a.item, a.verb) < std::pair(b.item, b.verb);
        });
        return std::move(deeds_);
    }

private:
    void look_at(ItemId item) {
        if (seen_[at(item.index)] == 0) {
            seen_[at(item.index)] = 1;
            queue_.push_back(item);
        }
    }

    void prepare(ItemId item, TaskDoes does, Verb verb) {
        for (const ItemId id : job_.tasks_for[at(item.index)])
            if (map_.task(id).does == does && map_.task(id).when != TaskWhen::refit)
                return look_at(id);
        deeds_.push_back({verb, item, {}});
    }

    void expand(ItemId id) {
        if (const auto deed = strip_goal(job_, id); deed && id != deeds_.front().item)
            deeds_.push_back(*deed);
        for (const ItemId earlier : map_[id].after)
            look_at(earlier);
        if (fact(job_, id).estimated)
            expand_estimates(id);
        if (map_.is_part(id))
            expand_part(map_.part(id));
        else if (map_.is_fastener(id))
            expand_fastener(map_.fastener(id));
        else
            for (const ItemId to : map_.task(id).to)
                if (map_.task(id).does == TaskDoes::prove || map_.task(id).does == TaskDoes::drain)
                    look_at(to);
    }

    /// What the shapes put in its way, and what that leaves with.
    void expand_estimates(ItemId id) {
        for (const std::int32_t index : job_.estimates.of_item[at(id.index)])
            for (const Alternative& alternative : job_.estimates.list[at(index)].alternatives)
                for (const auto* list : {&alternative.gone, &alternative.lowered})
                    for (const ItemId by : *list) {
                        look_at(by);
                        if (map_.is_fastener(by))
                            for (const ItemId part : map_.fastener(by).holds)
                                if (!map_.part(part).fixed)
                                    look_at(part);
                    }
    }

    void expand_part(const Part& part) {
        if (part.fixed) {
            if (!part.fluid.empty())
                prepare_drain(part);
            return;
        }
        // Whatever it is joined to may hold it, or leave along.
        for (const ItemId id : job_.held_by[slot(job_, part.item)])
            look_at(id);
        for (const ItemId line : part.tether)
            look_at(line);
        for (const ItemId opened : part.opens)
            look_at(opened);
        if (part.adjust)
            prepare(part.item, TaskDoes::mark, Verb::mark);
        if (!part.loaded.empty())
            prepare(part.item, TaskDoes::unload, Verb::unload);
        if (!part.support.empty())
            prepare(part.item, TaskDoes::prop, Verb::prop);
        if (!part.fluid.empty())
            prepare_drain(part);
    }

    void prepare_drain(const Part& part) {
        const std::size_t p = slot(job_, part.item);
        if (job_.drain_plugs[p].empty())
            prepare(part.item, TaskDoes::drain, Verb::drain);
        for (const ItemId plug : job_.drain_plugs[p])
            look_at(plug);
        for (const ItemId plug : job_.fill_plugs[p])
            prepare(plug, TaskDoes::prove, Verb::prove);
        for (const ItemId id : job_.tasks_for[at(part.item.index)])
            if (map_.task(id).does == TaskDoes::drain && map_.task(id).when != TaskWhen::refit)
                look_at(id);
    }

    void expand_fastener(const Fastener& fastener) {
        const std::size_t f = slot(job_, fastener.item);
        for (const ItemId part : fastener.holds)
            if (!map_.part(part).fixed || !map_.part(part).fluid.empty())
                look_at(part);
        for (const ItemId mate : job_.joint[f])
            look_at(mate);
        for (const ItemId pin : job_.secured_by[f])
            look_at(pin);
        for (const ItemId part : job_.carries[f])
            look_at(part);
        for (const ItemId part : {fastener.leaves_with, fastener.captive_in})
            if (part)
                look_at(part);
        if (fastener.soak_min)
            prepare(fastener.item, TaskDoes::soak, Verb::soak);
    }

    const Job& job_;
    const Map& map_;
    std::vector<std::uint8_t> seen_;
    std::vector<ItemId> queue_;
    std::vector<Action> deeds_; ///< the goal first
};

// ------------------------------------------------------------------------------------------------------- which set

class Choice {
public:
    Choice(const Job& job, std::vector<Action> deeds, std::int64_t budget)
        : job_(job), flood_(job, std::move(deeds)), budget_(budget) {
        for (std::size_t i = 0; i < flood_.deeds().size(); ++i) {
            all_.add(i);
            if (i > 0 && is_counted(flood_.deeds()[i].verb))
                counted_.add(i);
        }
        goal_.add(0);
    }

    void run(const std::vector<Action>& along) {
        narrow_company(job_, flood_);
        open(goal_, {}, goal_, nullptr);
        std::size_t unsettled =
            SIZE_MAX; // the least that a set takes for which no order was found, nor proven not to be
        for (;;) {
            at_least = std::min(unsettled, branches_.empty() ? SIZE_MAX : branches_.top().least);
            if (found && at_least >= best) {
                at_least = best;
                proven = true;
                break;
            }
            if (branches_.empty() || flood_.asked >= budget_)
                break;
            const Branch branch = branches_.top();
            branches_.pop();
            std::int32_t on = first_of(branch.set, branch.needed);
            if (count(branch.set) < best) {
                std::int32_t hint = -1;
                const Arranged arranged = try_out(branch, along, hint);
                if (on < 0 && arranged == Arranged::in_order)
                    continue; // no set of this branch takes less
                if (on < 0 && arranged == Arranged::stuck)
                    unsettled = std::min(unsettled, branch.least);
                on = on < 0 ? hint : on;
            } else if (branch.least >= best) {
                continue;
            }
            if (on < 0)
                on = first_of(all_, branch.needed, branch.forbidden);
            if (on >= 0)
                split(branch, at(on));
        }
        if (at_least == SIZE_MAX)
            at_least = 0; // there is no order at all
        asked = flood_.asked;
    }

    bool found = false, proven = false;
    std::size_t best = SIZE_MAX; ///< items of `order`, the goal left out
    std::size_t at_least = 0;
    std::int64_t asked = 0;
    Order order;

private:
    struct Branch {
        std::size_t least = 0; ///< items of `needed`
        std::size_t number = 0;
        Bits forced, forbidden;
        Bits needed; ///< nothing of these can be left out here
        Bits set;    ///< one that does
        bool operator<(const Branch& other) const {
            return least != other.least ? least > other.least : number > other.number;
        }
    };

    std::size_t count(const Bits& set) const {
        std::size_t sum = 0;
        for (std::size_t w = 0; w < set.words.size(); ++w)
            sum += static_cast<std::size_t>(std::popcount(set.words[w] & counted_.words[w]));
        return sum;
    }

    /// The first that counts, of `set` and of neither of the others.
    std::int32_t first_of(const Bits& set, const Bits& but, const Bits& nor = {}) const {
        for (std::size_t i = 0; i < flood_.deeds().size(); ++i)
            if (set.has(i) && counted_.has(i) && !but.has(i) && !nor.has(i))
                return static_cast<std::int32_t>(i);
        return -1;
    }

    Bits left_out_of(const Bits& set) const {
        Bits out = all_;
        for (std::size_t w = 0; w < out.words.size(); ++w)
            out.words[w] &= ~set.words[w];
        return out;
    }

    bool does(const Bits& without, const Bits& all) { return all.within(flood_.run(without, &all)); }

    /// A branch in which these must and those must not be done. `set` is known to do, where one is.
    void open(const Bits& forced, const Bits& forbidden, const Bits& needed, const Bits* set) {
        Branch branch{0, ++number_, forced, forbidden, needed, {}};
        if (!branch.forced.within(left_out_of(forbidden)))
            return;
        if (set != nullptr) {
            branch.set = *set;
        } else {
            if (!does(forbidden, forced))
                return;
            branch.set = left_out_of(forbidden);
            std::vector<std::size_t> may_go;
            // Parts first: what needs no moving needs no undoing.
            for (const bool part : {true, false})
                for (std::size_t i = 0; i < flood_.deeds().size(); ++i)
                    if (leaves(flood_.deeds()[i].verb) == part && branch.set.has(i) && !needed.has(i))
                        may_go.push_back(i);
            thin_out(branch, may_go);
        }
        do
            find_needed(branch);
        while (part_from_what_leaves_first(branch));
        branch.least = count(branch.needed);
        branches_.push(branch);
    }

    void find_needed(Branch& branch) {
        for (std::size_t i = 0; i < flood_.deeds().size(); ++i) {
            if (!branch.set.has(i) || branch.needed.has(i))
                continue;
            Bits without = branch.forbidden;
            without.add(i);
            if (!does(without, branch.forced))
                branch.needed.add(i);
        }
    }

    /// What must be taken off before the goal is parted from it, there or on the bench. The lower view does not see
    /// that: it leaves out what joins two that have left together.
    bool part_from_what_leaves_first(Branch& branch) {
        const Map& map = *job_.map;
        const std::vector<Action>& deeds = flood_.deeds();
        bool any = false;
        for (std::size_t i = 1; i < deeds.size(); ++i) {
            if (branch.forced.has(i) || !(deeds[i].verb == Verb::take_out || deeds[i].verb == Verb::loosen))
                continue;
            const Fastener& fastener = map.fastener(deeds[i].item);
            if (!joins(fastener) || fastener.frees_when == FreesWhen::nut_off ||
                !names(fastener.holds, deeds[0].item) || deeds[0].verb != Verb::take_off)
                continue;
            for (std::size_t t = 1; t < deeds.size(); ++t)
                if (branch.needed.has(t) && deeds[t].verb == Verb::take_off && names(fastener.holds, deeds[t].item)) {
                    branch.forced.add(i);
                    branch.set.add(i);
                    any = true;
                }
        }
        return any;
    }

    /// Takes out of the set whatever it does without: halves of what is left, as long as that goes.
    void thin_out(Branch& branch, const std::vector<std::size_t>& may_go) {
        if (may_go.empty())
            return;
        Bits less = branch.set;
        for (const std::size_t i : may_go)
            less.drop(i);
        if (does(left_out_of(less), branch.forced)) {
            branch.set = less;
            return;
        }
        if (may_go.size() == 1)
            return;
        const auto middle = may_go.begin() + static_cast<std::ptrdiff_t>(may_go.size() / 2);
        thin_out(branch, {may_go.begin(), middle});
        thin_out(branch, {middle, may_go.end()});
    }

    void split(const Branch& branch, std::size_t on) {
        Bits forbidden = branch.forbidden;
        forbidden.add(on);
        open(branch.forced, forbidden, branch.needed, nullptr);
        Bits forced = branch.forced;
        forced.add(on);
        Bits needed = branch.needed;
        needed.add(on);
        open(forced, branch.forbidden, needed, branch.set.has(on) ? &branch.set : nullptr);
    }

    /// Asks the rules themselves. `hint`: what could be added where they object.
    Arranged try_out(const Branch& branch, const std::vector<Action>& along, std::int32_t& hint) {
        std::vector<Action> deeds;
        for (std::size_t i = 0; i < flood_.deeds().size(); ++i)
            if (branch.set.has(i))
                deeds.push_back(flood_.deeds()[i]);
        Order its;
        std::vector<ItemId> stuck_on;
        const Arranged arranged = put_in_order(job_, deeds, along, its, stuck_on);
        if (arranged == Arranged::in_order) {
            std::size_t items = 0;
            for (const Done& done : its.done)
                items += is_counted(done.action.verb) ? std::size_t{1} : 0;
            if (items - 1 < best) {
                best = items - 1;
                order = std::move(its);
                found = true;
            }
            return arranged;
        }
        for (std::size_t i = 0; i < flood_.deeds().size(); ++i)
            if (counted_.has(i) && !branch.set.has(i) && !branch.forbidden.has(i) &&
                names(stuck_on, flood_.deeds()[i].item)) {
                hint = static_cast<std::int32_t>(i);
                break;
            }
        return arranged;
    }

    const Job& job_;
    Flood flood_;
    std::int64_t budget_;
    Bits all_, counted_, goal_;
    std::size_t number_ = 0;
    std::priority_queue<Branch> branches_;
};

/// The author's gates that need nothing more than is done anyway.
std::vector<Action> gates_along(const Map& map, const std::vector<Action>& deeds) {
    std::set<ItemId> relevant;
    for (const Action& deed : deeds)
        relevant.insert(deed.item);
    std::vector<Action> gates;
    for (const Task& task : map.tasks) {
        const auto& after = map[task.item].after;
        if (task.gate && task.when != TaskWhen::refit && map[task.item].step && relevant.count(task.item) == 0 &&
            std::all_of(after.begin(), after.end(),
                        [&](ItemId id) { return map.is_task(id) || relevant.count(id) != 0; }))
            gates.push_back({Verb::do_task, task.item, {}});
    }
    return gates;
}

} // namespace

Fewest plan_fewest(const Job& job, ItemId part, const FewestSettings& settings) {
    const Map& map = *job.map;
    Fewest result;
    if (!part || !map.is_part(part) || map.part(part).fixed) {
        result.plan = plan_strip(job, part);
        return result;
    }
    const Action goal = strip_goal(job, part).value_or(Action{Verb::take_off, part, {}});
    const std::vector<Action> deeds = Relevant(job).find(part, goal);
    if (deeds.size() > longest_course) {
        result.plan = plan_strip(job, part);
    } else {
        Choice choice(job, deeds, settings.budget);
        choice.run(gates_along(map, deeds));
        result.at_least = choice.at_least;
        result.proven = choice.proven;
        result.asked = choice.asked;
        if (choice.found) {
            result.plan.by_author =
                std::any_of(map.items.begin(), map.items.end(), [](const Item& item) { return item.step.has_value(); });
            result.also = take_what_is_uncovered(job, choice.order);
            gather(job, as_found(job), std::move(choice.order), result.plan);
        } else {
            result.plan = plan_strip(job, part);
        }
    }
    for (const Step& step : result.plan.steps)
        if (is_counted(step.verb))
            for (const ItemId item : step.items)
                if (item != part && !names(result.also, item))
                    result.items.push_back(item);
    return result;
}

} // namespace boltwalk
