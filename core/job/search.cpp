// An order worked out from the rules.
#include <algorithm>
#include <deque>
#include <numeric>
#include <queue>

#include "core/job/locks.hpp"
#include "core/job/ranks.hpp"

namespace boltwalk::inside {

namespace {

/// Works an order out. Each thing to do is asked once what stands in its way; it then waits for one of those and is
/// asked again only when that is done, so that the work grows with the number of relations and not with its square.
class Search {
public:
    Search(const Job& job, const Turns& turns)
        : job_(&job), turns_(turns), state_(as_found(job)), first_goal_(job.facts.size(), none), ready_(turns.count()),
          ready_goal_(turns.count(), none), uncovered_(job.map->parts.size(), 0) {}

    void want(const Action& action) { goal_of(action); }

    Order run() {
        consider_all();
        for (;;) {
            if (const std::int32_t next = choose(); next >= 0) {
                carry_out(next);
            } else if (!waiting_for_vehicle_.empty() && vehicle_changes_ < 4) {
                ++vehicle_changes_;
                change_vehicle();
            } else if (look_again()) {
            } else if (!waiting_for_vehicle_.empty()) {
                give_up_on_vehicle(false);
            } else {
                break;
            }
            consider_all();
        }
        report_locks();
        return {std::move(done_), std::move(findings_), std::move(state_), std::move(dropped_)};
    }

private:
    static constexpr std::int32_t none = -1;
    enum class Phase : std::uint8_t { new_one, waits, waits_for_vehicle, ready, done, stuck };

    struct Goal {
        Action action;
        Phase phase = Phase::new_one;
        std::int32_t next_of_item = none;                     ///< another goal with this item
        std::int32_t next_ready = none;                       ///< another ready goal with this fastener
        std::int32_t waits_begin = 0, waits_end = 0;          ///< in waits_
        std::int32_t still_to_come = 0;                       ///< how many of them
        std::int32_t first_waiter = none, last_waiter = none; ///< in waiters_
        std::size_t asked_at = 0; ///< how much was done when it was last found to be ready, or to wait
        bool by_estimate = false; ///< what it waits for is estimated
    };
    struct Waiter {
        std::int32_t goal, next;
    };
    using Earliest = std::priority_queue<std::int32_t, std::vector<std::int32_t>, std::greater<>>;

    std::int32_t goal_of(const Action& action) {
        std::int32_t& first = first_goal_[at(action.item.index)];
        for (std::int32_t known = first; known != none; known = goals_[at(known)].next_of_item)
            if (goals_[at(known)].action.verb == action.verb)
                return known;
        const auto index = static_cast<std::int32_t>(goals_.size());
        Goal& goal = goals_.emplace_back();
        goal.action = action;
        goal.next_of_item = first;
        first = index;
        to_consider_.push_back(index);
        return index;
    }

    void consider_all() {
        while (!to_consider_.empty()) {
            const std::int32_t index = to_consider_.front();
            to_consider_.pop_front();
            consider(index);
        }
    }

    void consider(std::int32_t index) {
        Goal& goal = goals_[at(index)];
        if (goal.phase == Phase::done || goal.phase == Phase::ready || goal.phase == Phase::stuck)
            return;
        const std::vector<Objection> objections =
            at_first_ ? judge_at_first(*job_, state_, goal.action, true) : judge_first(*job_, state_, goal.action);
        if (objections.empty())
            return make_ready(index);
        const Objection& objection = objections.front();
        if (objection.rule == Rule::so_already)
            return finish(index);
        goal.asked_at = done_.size();
        goal.by_estimate = is_estimated(objection.rule);
        if (goal.by_estimate)
            return wait_by_estimate(index, objection);
        const std::vector<Action> first = mends(*job_, state_, goal.action, objection);
        if (first.empty()) {
            goal.phase = Phase::stuck;
            findings_.push_back(in_words(*job_, goal.action, objection, -1));
            return;
        }
        if (objection.rule == Rule::vehicle && first.back().verb == Verb::set_vehicle && first.size() == 1) {
            goal.phase = Phase::waits_for_vehicle;
            waiting_for_vehicle_.push_back(index);
            return;
        }
        wait_for(index, first);
    }

    /// What nothing gets out of the way would be waited for in vain.
    void wait_by_estimate(std::int32_t index, const Objection& objection) {
        const Action action = goals_[at(index)].action;
        for (const ItemId by : objection.by)
            if (gets_out_of_the_way(*job_, state_, by).empty()) {
                drop_estimate(index, objection.rule, by);
                return;
            }
        wait_for(index, mends(*job_, state_, action, objection));
        if (goals_[at(index)].phase == Phase::stuck)
            drop_estimate(index, objection.rule, {});
    }

    /// And asks again, without it.
    void drop_estimate(std::int32_t index, Rule rule, ItemId by) {
        if (!own_)
            own_ = std::make_shared<Job>(*job_);
        job_ = own_.get();
        for (Dropped& pair : drop_pairs(*own_, state_, goals_[at(index)].action, rule, by))
            dropped_.push_back(std::move(pair));
        ask_again(index);
    }

    void ask_again(std::int32_t index) {
        goals_[at(index)].phase = Phase::new_one;
        to_consider_.push_back(index);
    }

    /// What is not free by what is stated, either, does that first: perhaps it never is, and then the estimate is no
    /// matter. Whether there is anything.
    bool wait_by_what_is_stated(std::int32_t index) {
        const Action action = goals_[at(index)].action;
        std::vector<Objection> objections = judge_stated(*job_, state_, action);
        std::erase_if(objections, [](const Objection& objection) { return objection.rule == Rule::vehicle; });
        if (objections.empty())
            return false;
        goals_[at(index)].by_estimate = false;
        const std::vector<Action> first = mends(*job_, state_, action, objections.front());
        if (first.empty()) {
            goals_[at(index)].phase = Phase::stuck;
            findings_.push_back(in_words(*job_, action, objections.front(), -1));
        } else {
            wait_for(index, first);
        }
        return true;
    }

    /// Nothing can be done: whatever waits is asked again, for it may be free by now without what it waits for (another
    /// alternative of an estimate is, or what joined it left along with something else); then a ring is opened at a
    /// link that is estimated; and what waits by an estimate for what never comes need not. So no estimate ever stands
    /// in the way of an order.
    bool look_again() {
        std::int32_t first = none;
        bool again = false;
        for (std::size_t i = 0; i < goals_.size(); ++i) {
            if (goals_[i].phase != Phase::waits)
                continue;
            const auto index = static_cast<std::int32_t>(i);
            if (goals_[i].asked_at != done_.size()) {
                ask_again(index);
                again = true;
            } else if (!goals_[i].by_estimate) {
                continue;
            } else if (wait_by_what_is_stated(index)) {
                again = true;
            } else if (first == none || goals_[i].action.item < goals_[at(first)].action.item) {
                first = index;
            }
        }
        if (again)
            return true;
        if (first == none)
            return false;
        std::int32_t link = none;
        each_ring([&](const std::vector<std::int32_t>& ring) {
            for (const std::int32_t index : ring)
                if (goals_[at(index)].by_estimate &&
                    (link == none || goals_[at(index)].action.item < goals_[at(link)].action.item))
                    link = index;
        });
        const std::int32_t index = link == none ? first : link;
        const Action& action = goals_[at(index)].action;
        const std::vector<Objection> objections = judge_first(*job_, state_, action);
        if (objections.empty() || !is_estimated(objections.front().rule)) {
            ask_again(index);
            return true;
        }
        // Of several things in its way only the one that waits for it, in turn.
        const std::int32_t waits_for = what_still_blocks(index);
        ItemId by;
        if (link != none)
            for (const ItemId id : objections.front().by)
                for (const Action& mend : gets_out_of_the_way(*job_, state_, id))
                    if (waits_for != none && mend.item == goals_[at(waits_for)].action.item)
                        by = id;
        drop_estimate(index, objections.front().rule, by);
        return true;
    }

    void wait_for(std::int32_t index, const std::vector<Action>& first) {
        const auto begin = static_cast<std::int32_t>(waits_.size());
        for (const Action& action : first) {
            if (action.verb == Verb::set_vehicle)
                continue;
            const std::int32_t other = goal_of(action);
            Goal& earlier = goals_[at(other)];
            if (earlier.phase == Phase::done)
                continue;
            const auto waiter = static_cast<std::int32_t>(waiters_.size());
            waiters_.push_back({index, none});
            (earlier.last_waiter == none ? earlier.first_waiter : waiters_[at(earlier.last_waiter)].next) = waiter;
            earlier.last_waiter = waiter;
            waits_.push_back(other);
        }
        Goal& goal = goals_[at(index)];
        goal.waits_begin = begin;
        goal.waits_end = static_cast<std::int32_t>(waits_.size());
        goal.still_to_come = goal.waits_end - begin;
        goal.phase = goal.still_to_come > 0 ? Phase::waits : Phase::stuck;
    }

    void make_ready(std::int32_t index) {
        Goal& goal = goals_[at(index)];
        goal.phase = Phase::ready;
        goal.asked_at = done_.size();
        const Verb verb = goal.action.verb;
        if (verb == Verb::soak)
            first_.push(index);
        else if (leaves(verb))
            moves_.push(index); // nothing holds it any more: it comes before anything else is touched
        else if (verb == Verb::take_out || verb == Verb::loosen)
            make_undo_ready(index);
        else if (verb == Verb::do_task)
            tasks_.push(index);
        else
            prepare_.push(index);
    }

    void make_undo_ready(std::int32_t index) {
        const std::int32_t rank = turns_.rank_of(slot(*job_, goals_[at(index)].action.item));
        // Two goals with one fastener, undone and taken out: the one that was wanted first.
        std::int32_t* link = &ready_goal_[at(rank)];
        while (*link != none && *link < index)
            link = &goals_[at(*link)].next_ready;
        goals_[at(index)].next_ready = *link;
        *link = index;
        ready_.insert(rank);
        ++ready_at_[turns_[rank].place];
    }

    static std::int32_t take(Earliest& queue) {
        const std::int32_t index = queue.top();
        queue.pop();
        return index;
    }

    std::int32_t choose() {
        for (Earliest* queue : {&moves_, &first_, &tasks_})
            if (!queue->empty())
                return take(*queue);
        if (const std::int32_t first = ready_.next(0); first != none)
            return choose_undo(first);
        return prepare_.empty() ? none : take(prepare_);
    }

    /// The next fastener: same place, tool and group as the last where there is one; else same place and tool; else
    /// same place; else the place with the most to do.
    std::int32_t choose_undo(std::int32_t first) {
        const auto same_place = [&](std::int32_t rank) { return rank != none && turns_[rank].place == last_.place; };
        const auto same_tool = [&](std::int32_t rank) { return same_place(rank) && turns_[rank].tool == last_.tool; };
        std::int32_t rank = ready_.next(last_.group_begin);
        if (!(same_tool(rank) && turns_[rank].group == last_.group)) {
            rank = ready_.next(last_.tool_begin);
            if (!same_tool(rank))
                rank = ready_.next(turns_.place_begin(last_.place));
            if (!same_place(rank))
                rank = ready_.next(turns_.place_begin(busiest_place(turns_[first].place)));
        }
        last_ = turns_[rank];
        --ready_at_[last_.place];
        const std::int32_t index = ready_goal_[at(rank)];
        ready_goal_[at(rank)] = goals_[at(index)].next_ready;
        if (ready_goal_[at(rank)] == none)
            ready_.erase(rank);
        return index;
    }

    std::size_t busiest_place(std::size_t best) const {
        std::int32_t most = 0;
        for (std::size_t place = 0; place < Turns::places; ++place)
            if (ready_at_[place] > most) {
                most = ready_at_[place];
                best = place;
            }
        return best;
    }

    void carry_out(std::int32_t index) {
        const Action action = goals_[at(index)].action;
        // Ready once, but the vehicle may have been changed for something else since.
        if (goals_[at(index)].asked_at != done_.size() && !judge_first(*job_, state_, action).empty()) {
            goals_[at(index)].phase = Phase::new_one;
            to_consider_.push_back(index);
            return;
        }
        done_.push_back({action, -1, !is_own_doing(action.verb)});
        at_first_ = at_first_ && !leaves(action.verb) && action.verb != Verb::take_out && action.verb != Verb::loosen;
        apply(*job_, state_, action);
        vehicle_changes_ = 0;
        finish(index);
        want_what_it_uncovers(action);
    }

    /// Changed again and again, and nothing came of it: these ask for what cannot be at once.
    void give_up_on_vehicle(bool told) {
        for (const std::int32_t index : in_turn(waiting_for_vehicle_)) {
            const Action& action = goals_[at(index)].action;
            goals_[at(index)].phase = Phase::stuck;
            const auto objections = judge_first(*job_, state_, action);
            if (objections.empty() || told)
                continue;
            Finding finding = in_words(*job_, action, objections.front(), -1);
            finding.remedy =
                "Its `needs` contradict each other, or the chocks that go with stands and with neither brake nor gear.";
            findings_.push_back(std::move(finding));
        }
        waiting_for_vehicle_.clear();
        vehicle_changes_ = 0;
    }

    /// What lay under it or on it: a gasket whose joint is open, the ring of a plug, the washers of a bolt. They would
    /// be lost, or used twice.
    void want_what_it_uncovers(const Action& action) {
        const auto want_if_leaves = [&](ItemId id) {
            if (const auto goal = strip_goal(*job_, id))
                want(*goal);
        };
        const std::size_t i = slot(*job_, action.item);
        if (is_fastener(*job_, action.item)) {
            for (const ItemId mate : job_->joint[i])
                if (mate != action.item && is_loose_piece(kind_of(*job_, mate)))
                    want_if_leaves(mate);
            for (const ItemId part : job_->holds[i])
                if (fact(*job_, part).renew && !fact(*job_, part).flexible)
                    uncovered_[slot(*job_, part)] = 1;
        }
        if (!leaves(action.verb))
            return;
        for (const ItemId later : job_->before[at(action.item.index)])
            if (is_part(*job_, later) && fact(*job_, later).renew)
                want_if_leaves(later);
        // A gasket in a joint that has been opened, once one of its neighbours is away.
        for (const ItemId id : job_->held_by[i])
            for (const ItemId part : job_->holds[slot(*job_, id)])
                if (uncovered_[slot(*job_, part)] != 0 && is_freed(*job_, state_, id))
                    want_if_leaves(part);
    }

    void finish(std::int32_t index) {
        goals_[at(index)].phase = Phase::done;
        std::int32_t waiter = goals_[at(index)].first_waiter;
        goals_[at(index)].first_waiter = goals_[at(index)].last_waiter = none;
        for (; waiter != none; waiter = waiters_[at(waiter)].next) {
            const std::int32_t other = waiters_[at(waiter)].goal;
            if (goals_[at(other)].phase == Phase::waits && --goals_[at(other)].still_to_come == 0) {
                goals_[at(other)].phase = Phase::new_one;
                to_consider_.push_back(other);
            }
        }
    }

    static std::vector<std::int32_t> in_turn(std::vector<std::int32_t> goals) {
        std::sort(goals.begin(), goals.end());
        return goals;
    }

    /// To the state that most of what waits asks for; ties by what was wanted first.
    void change_vehicle() {
        const std::vector<std::int32_t> waiting = in_turn(std::move(waiting_for_vehicle_));
        waiting_for_vehicle_.clear();
        std::vector<std::pair<VehicleAsk, std::size_t>> asks;
        for (const std::int32_t index : waiting) {
            const Action& action = goals_[at(index)].action;
            const auto objections = judge_first(*job_, state_, action);
            if (objections.empty() || objections.front().rule != Rule::vehicle)
                continue;
            const std::vector<Action> mend = mends(*job_, state_, action, objections.front());
            if (mend.empty() || mend.back().verb != Verb::set_vehicle)
                continue; // a task of the map's own sees to it, perhaps this very one
            const VehicleAsk ask = mend.back().vehicle;
            const auto same = std::find_if(asks.begin(), asks.end(), [&](const auto& a) { return a.first == ask; });
            if (same != asks.end())
                ++same->second;
            else
                asks.emplace_back(ask, 1);
        }
        const auto best = std::max_element(asks.begin(), asks.end(),
                                           [](const auto& a, const auto& b) { return a.second < b.second; });
        if (best != asks.end()) {
            const Action action{Verb::set_vehicle, {}, best->first};
            const auto objections = judge(*job_, state_, action);
            if (!objections.empty() && objections.front().rule == Rule::held_up) {
                findings_.push_back(in_words(*job_, action, objections.front(), -1));
                waiting_for_vehicle_ = waiting;
                return give_up_on_vehicle(true);
            }
            done_.push_back({action, -1, true});
            apply(*job_, state_, action);
        }
        for (const std::int32_t index : waiting) {
            goals_[at(index)].phase = Phase::new_one;
            to_consider_.push_back(index);
        }
    }

    std::int32_t what_still_blocks(std::int32_t index) const {
        for (std::int32_t i = goals_[at(index)].waits_begin; i < goals_[at(index)].waits_end; ++i)
            if (goals_[at(waits_[at(i)])].phase == Phase::waits)
                return waits_[at(i)];
        return none;
    }

    /// Rings of goals, each of which waits for the next: one for each set of them, by following each one's first.
    template <typename See>
    void each_ring(See&& see) const {
        std::vector<std::uint8_t> told(goals_.size(), 0);
        for (std::size_t start = 0; start < goals_.size(); ++start) {
            if (goals_[start].phase != Phase::waits)
                continue;
            std::vector<std::int32_t> path;
            auto here = static_cast<std::int32_t>(start);
            while (here >= 0 && goals_[at(here)].phase == Phase::waits && told[at(here)] == 0) {
                told[at(here)] = 1;
                path.push_back(here);
                here = what_still_blocks(here);
            }
            const auto ring = std::find(path.begin(), path.end(), here);
            if (ring != path.end()) // else it leads into what was seen already, or into what is stuck
                see(std::vector<std::int32_t>(ring, path.end()));
        }
    }

    /// What is left waits for itself: of each such knot the fewest items that lock each other.
    void report_locks() {
        std::vector<std::int32_t> waiting;
        std::vector<std::int32_t> place(goals_.size(), none);
        for (std::size_t i = 0; i < goals_.size(); ++i)
            if (goals_[i].phase == Phase::waits) {
                place[i] = static_cast<std::int32_t>(waiting.size());
                waiting.push_back(static_cast<std::int32_t>(i));
            }
        if (waiting.empty())
            return;
        std::vector<Waits> waits(waiting.size());
        for (std::size_t w = 0; w < waiting.size(); ++w) {
            const Action& action = goals_[at(waiting[w])].action;
            waits[w].item = action.item;
            for (const Objection& objection : judge(*job_, state_, action))
                for (const Action& mend : mends(*job_, state_, action, objection))
                    if (const std::int32_t other = known_goal(mend); other != none && place[at(other)] != none)
                        waits[w].links.push_back({place[at(other)], objection.rule});
        }
        for (const Lock& lock : smallest_locks(waits))
            findings_.push_back(in_words(*job_, lock));
    }

    std::int32_t known_goal(const Action& action) const {
        if (!action.item)
            return none;
        for (std::int32_t known = first_goal_[at(action.item.index)]; known != none;
             known = goals_[at(known)].next_of_item)
            if (goals_[at(known)].action.verb == action.verb)
                return known;
        return none;
    }

    const Job* job_;
    std::shared_ptr<Job> own_; ///< once an estimate had to be dropped: the job without it
    std::vector<Dropped> dropped_;
    const Turns& turns_;
    State state_;
    std::vector<Done> done_;
    std::vector<Finding> findings_;
    std::vector<Goal> goals_;
    std::vector<std::int32_t> first_goal_; ///< item
    std::vector<std::int32_t> waits_;
    std::vector<Waiter> waiters_;
    std::deque<std::int32_t> to_consider_;
    Earliest first_, moves_, tasks_, prepare_;
    std::vector<std::int32_t> waiting_for_vehicle_;
    RankSet ready_;                        ///< fasteners to undo, by their turn
    std::vector<std::int32_t> ready_goal_; ///< by their turn
    std::array<std::int32_t, Turns::places> ready_at_{};
    Turn last_;
    std::vector<std::uint8_t> uncovered_; ///< single-use parts of which a fastener is out
    bool at_first_ = true;                ///< no fastener is undone and no part moved
    int vehicle_changes_ = 0;             ///< since something was last done
};

void want_everything(const Job& job, Search& search) {
    const Map& map = *job.map;
    for (const Task& task : map.tasks)
        if (const auto goal = strip_goal(job, task.item))
            search.want(*goal);
    if (map.target) {
        search.want({Verb::take_off, map.target, {}});
        return;
    }
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const ItemId id{static_cast<std::int32_t>(i)};
        if (is_task(job, id))
            continue;
        if (const auto goal = strip_goal(job, id))
            search.want(*goal);
    }
}

} // namespace

Order work_out_everything(const Job& job) {
    const Turns turns(job);
    Search search(job, turns);
    for (std::size_t i = 0; i < job.facts.size(); ++i)
        if (const auto goal = strip_goal(job, {static_cast<std::int32_t>(i)}))
            search.want(*goal);
    return search.run();
}

Order work_out(const Job& job, ItemId goal) {
    const Turns turns(job);
    std::vector<Action> soaks;
    for (int round = 0;; ++round) {
        Search search(job, turns);
        for (const Action& soak : soaks)
            search.want(soak);
        if (goal)
            search.want(strip_goal(job, goal).value_or(Action{Verb::take_off, goal, {}}));
        else
            want_everything(job, search);
        Order order = search.run();
        if (round == 1)
            return order;
        for (const Done& done : order.done)
            if (done.action.verb == Verb::soak)
                soaks.push_back(done.action);
        if (soaks.empty())
            return order;
    }
}

} // namespace boltwalk::inside
