// An order down: the author's own, replayed and completed, or one worked out from the rules.
#include <algorithm>
#include <deque>
#include <map>
#include <set>

#include <fmt/format.h>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

namespace {

// ------------------------------------------------------------------------------------------- an order from the rules

/// Works an order out. Each thing to do is asked once what stands in its way; it then waits for one of those and is
/// asked again only when that is done, so that the work grows with the number of relations and not with its square.
class Search {
public:
    explicit Search(const Job& job) : job_(job), map_(*job.map), state_(as_found(job)) {}

    void want(const Action& action) { goal_of(action); }

    void run() {
        consider_all();
        for (;;) {
            if (const std::int32_t next = choose(); next >= 0) {
                carry_out(next);
            } else if (!waiting_for_vehicle_.empty() && vehicle_changes_ < 4) {
                ++vehicle_changes_;
                change_vehicle();
            } else if (!waiting_for_vehicle_.empty()) {
                give_up_on_vehicle(false);
            } else {
                break;
            }
            consider_all();
        }
        report_locks();
    }

    std::vector<Done> done;
    std::vector<Finding> findings;
    const State& state() const { return state_; }

private:
    enum class Phase : std::uint8_t { new_one, waits, waits_for_vehicle, ready, done, stuck };

    struct Goal {
        Action action;
        Phase phase = Phase::new_one;
        std::vector<std::int32_t> waits_for;
        std::int32_t still_to_come = 0; ///< how many of them
        std::vector<std::int32_t> waited_for_by;
    };

    // Ready goals lie in the order in which they would be taken from one place with one tool: place, tool, group, file.
    using Key = std::tuple<int, std::string, std::int32_t, std::int32_t>;

    std::int32_t goal_of(const Action& action) {
        const auto key = std::make_pair(static_cast<int>(action.verb), action.item.index);
        const auto found = goal_index_.find(key);
        if (found != goal_index_.end())
            return found->second;
        const auto index = static_cast<std::int32_t>(goals_.size());
        goal_index_.emplace(key, index);
        goals_.push_back({action, Phase::new_one, {}, 0, {}});
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
        const std::vector<Objection> objections = judge_first(job_, state_, goal.action);
        if (objections.empty())
            return make_ready(index);
        const Objection& objection = objections.front();
        if (objection.rule == Rule::so_already)
            return finish(index);
        const std::vector<Action> first = mends(job_, state_, goal.action, objection);
        if (first.empty()) {
            goal.phase = Phase::stuck;
            findings.push_back(in_words(job_, goal.action, objection, -1));
            return;
        }
        if (objection.rule == Rule::vehicle && first.back().verb == Verb::set_vehicle && first.size() == 1) {
            goal.phase = Phase::waits_for_vehicle;
            waiting_for_vehicle_.insert(index);
            return;
        }
        std::int32_t count = 0;
        goals_[at(index)].waits_for.clear();
        for (const Action& action : first) {
            if (action.verb == Verb::set_vehicle)
                continue;
            const std::int32_t other = goal_of(action); // invalidates `goal`
            if (goals_[at(other)].phase == Phase::done)
                continue;
            goals_[at(other)].waited_for_by.push_back(index);
            goals_[at(index)].waits_for.push_back(other);
            ++count;
        }
        goals_[at(index)].phase = count > 0 ? Phase::waits : Phase::stuck;
        goals_[at(index)].still_to_come = count;
    }

    Key key_of(std::int32_t index) const {
        const Action& action = goals_[at(index)].action;
        const Item& item = map_[action.item];
        std::string tool;
        if (item.kind == ItemKind::fastener && map_.fastener(action.item).drive)
            tool = map_.fastener(action.item).drive->name;
        return {static_cast<int>(item.from), tool, item.group, action.item.index};
    }

    void make_ready(std::int32_t index) {
        goals_[at(index)].phase = Phase::ready;
        const Verb verb = goals_[at(index)].action.verb;
        if (verb == Verb::soak)
            first_.insert(index);
        else if (leaves(verb))
            moves_.insert(index); // nothing holds it any more: it comes before anything else is touched
        else if (verb == Verb::take_out || verb == Verb::loosen)
            undo_.insert({key_of(index), index});
        else if (verb == Verb::do_task)
            tasks_.insert(index);
        else
            prepare_.insert(index);
    }

    template <typename Set>
    static std::int32_t take(Set& set) {
        const auto index = *set.begin();
        set.erase(set.begin());
        return index;
    }

    std::int32_t choose() {
        if (!moves_.empty())
            return take(moves_);
        if (!first_.empty())
            return take(first_);
        if (!tasks_.empty())
            return take(tasks_);
        if (!undo_.empty())
            return choose_undo();
        if (!prepare_.empty())
            return take(prepare_);
        return -1;
    }

    /// The next fastener: same place, tool and group as the last where there is one; else same place and tool; else
    /// same place; else the place with the most to do.
    std::int32_t choose_undo() {
        const auto same_place = [&](auto it) { return it != undo_.end() && std::get<0>(it->first) == last_place_; };
        auto it = undo_.lower_bound({Key{last_place_, last_tool_, last_group_, -1}, -1});
        const auto same_tool = [&](auto found) { return same_place(found) && std::get<1>(found->first) == last_tool_; };
        if (!(same_tool(it) && std::get<2>(it->first) == last_group_)) {
            it = undo_.lower_bound({Key{last_place_, last_tool_, -1, -1}, -1});
            if (!same_tool(it))
                it = undo_.lower_bound({Key{last_place_, "", -1, -1}, -1});
            if (!same_place(it))
                it = undo_.lower_bound({Key{busiest_place(), "", -1, -1}, -1});
        }
        const std::int32_t index = it->second;
        last_place_ = std::get<0>(it->first);
        last_tool_ = std::get<1>(it->first);
        last_group_ = std::get<2>(it->first);
        undo_.erase(it);
        return index;
    }

    int busiest_place() const {
        int best = std::get<0>(undo_.begin()->first);
        std::ptrdiff_t most = 0;
        for (int place = 0; place <= static_cast<int>(Place::inside); ++place) {
            const auto from = undo_.lower_bound({Key{place, "", -1, -1}, -1});
            const auto to = undo_.lower_bound({Key{place + 1, "", -1, -1}, -1});
            const auto count = std::distance(from, to);
            if (count > most) {
                most = count;
                best = place;
            }
        }
        return best;
    }

    void carry_out(std::int32_t index) {
        const Action action = goals_[at(index)].action;
        // Ready once, but the vehicle may have been changed for something else since.
        const std::vector<Objection> objections = judge_first(job_, state_, action);
        if (!objections.empty()) {
            goals_[at(index)].phase = Phase::new_one;
            to_consider_.push_back(index);
            return;
        }
        done.push_back({action, -1, !is_own_doing(action.verb)});
        apply(job_, state_, action);
        vehicle_changes_ = 0;
        finish(index);
        want_what_it_uncovers(action);
    }

    /// Changed again and again, and nothing came of it: these ask for what cannot be at once.
    void give_up_on_vehicle(bool told) {
        for (const std::int32_t index : waiting_for_vehicle_) {
            const Action& action = goals_[at(index)].action;
            goals_[at(index)].phase = Phase::stuck;
            const auto objections = judge_first(job_, state_, action);
            if (objections.empty() || told)
                continue;
            Finding finding = in_words(job_, action, objections.front(), -1);
            finding.remedy =
                "Its `needs` contradict each other, or the chocks that go with stands and with neither brake nor gear.";
            findings.push_back(std::move(finding));
        }
        waiting_for_vehicle_.clear();
        vehicle_changes_ = 0;
    }

    /// What lay under it or on it: a gasket whose joint is open, the ring of a plug, the washers of a bolt. They would
    /// be lost, or used twice.
    void want_what_it_uncovers(const Action& action) {
        const auto want_if_leaves = [&](ItemId id) {
            if (const auto goal = strip_goal(job_, id))
                want(*goal);
        };
        if (map_.is_fastener(action.item)) {
            for (const ItemId mate : job_.joint[slot(map_, action.item)])
                if (is_loose_piece(map_.fastener(mate).kind))
                    want_if_leaves(mate);
            for (const ItemId part : map_.fastener(action.item).holds)
                if (map_.part(part).renew && map_.part(part).flexible == false)
                    uncovered_.insert(part);
        }
        if (!leaves(action.verb))
            return;
        for (const ItemId later : job_.before[at(action.item.index)])
            if (map_.is_part(later) && map_.part(later).renew)
                want_if_leaves(later);
        // A gasket in a joint that has been opened, once one of its neighbours is away.
        for (const ItemId id : job_.held_by[slot(map_, action.item)])
            for (const ItemId part : map_.fastener(id).holds)
                if (uncovered_.count(part) != 0 && is_freed(job_, state_, id))
                    want_if_leaves(part);
    }

    void finish(std::int32_t index) {
        goals_[at(index)].phase = Phase::done;
        std::vector<std::int32_t> waiting = std::move(goals_[at(index)].waited_for_by);
        goals_[at(index)].waited_for_by.clear();
        for (const std::int32_t other : waiting)
            if (goals_[at(other)].phase == Phase::waits && --goals_[at(other)].still_to_come == 0) {
                goals_[at(other)].phase = Phase::new_one;
                to_consider_.push_back(other);
            }
    }

    /// To the state that most of what waits asks for; ties by what was wanted first.
    void change_vehicle() {
        std::vector<std::pair<VehicleAsk, std::size_t>> asks;
        for (const std::int32_t index : waiting_for_vehicle_) {
            const Action& action = goals_[at(index)].action;
            const auto objections = judge_first(job_, state_, action);
            if (objections.empty() || objections.front().rule != Rule::vehicle) {
                asks.emplace_back(VehicleAsk{}, 0);
                continue;
            }
            const Action mend = mends(job_, state_, action, objections.front()).back();
            if (mend.verb != Verb::set_vehicle)
                continue; // a task of the map's own sees to it
            const VehicleAsk ask = mend.vehicle;
            const auto same = std::find_if(asks.begin(), asks.end(), [&](const auto& a) { return a.first == ask; });
            if (same != asks.end())
                ++same->second;
            else
                asks.emplace_back(ask, 1);
        }
        const auto best = std::max_element(asks.begin(), asks.end(),
                                           [](const auto& a, const auto& b) { return a.second < b.second; });
        if (best != asks.end() && best->second > 0) {
            const auto objections = judge(job_, state_, {Verb::set_vehicle, {}, best->first});
            if (!objections.empty() && objections.front().rule == Rule::held_up) {
                findings.push_back(in_words(job_, {Verb::set_vehicle, {}, best->first}, objections.front(), -1));
                return give_up_on_vehicle(true);
            }
            const Action action{Verb::set_vehicle, {}, best->first};
            done.push_back({action, -1, true});
            apply(job_, state_, action);
        }
        for (const std::int32_t index : waiting_for_vehicle_) {
            goals_[at(index)].phase = Phase::new_one;
            to_consider_.push_back(index);
        }
        waiting_for_vehicle_.clear();
    }

    std::int32_t what_still_blocks(std::int32_t index) const {
        for (const std::int32_t other : goals_[at(index)].waits_for)
            if (goals_[at(other)].phase == Phase::waits)
                return other;
        return -1;
    }

    /// What is left waits for itself, in a ring. Each ring is told once, with its members.
    void report_locks() {
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
            if (ring == path.end())
                continue; // leads into what was told already, or into what is stuck
            report_ring({ring, path.end()});
        }
    }

    void report_ring(const std::vector<std::int32_t>& ring) {
        Finding finding;
        finding.weight = Weight::fault;
        finding.rule = "lock";
        std::string names;
        for (const std::int32_t index : ring) {
            const Action& action = goals_[at(index)].action;
            const std::string& name = map_[action.item].name;
            if (std::find(finding.nodes.begin(), finding.nodes.end(), name) == finding.nodes.end())
                finding.nodes.push_back(name);
            const auto objections = judge_first(job_, state_, action);
            const std::string_view rule = objections.empty() ? "" : name_of(objections.front().rule);
            names += fmt::format("{}{} ({})", names.empty() ? "" : " waits for ", name, rule);
        }
        finding.key = "after";
        finding.what =
            fmt::format("There is no order: {} waits for {}.", names, map_[goals_[at(ring.front())].action.item].name);
        finding.why = "Each of these has to wait for the next, and the last for the first.";
        finding.remedy = "Take one name out of one of their `after`, `holds` or `secures`.";
        findings.push_back(std::move(finding));
    }

    const Job& job_;
    const Map& map_;
    State state_;
    std::vector<Goal> goals_;
    std::map<std::pair<int, std::int32_t>, std::int32_t> goal_index_;
    std::deque<std::int32_t> to_consider_;
    std::set<std::int32_t> first_, moves_, tasks_, prepare_, waiting_for_vehicle_;
    std::set<std::pair<Key, std::int32_t>> undo_;
    std::set<ItemId> uncovered_; ///< single-use parts of which a fastener is out
    int vehicle_changes_ = 0;    ///< since something was last done
    int last_place_ = 0;
    std::string last_tool_;
    std::int32_t last_group_ = -1;
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
    for (std::size_t i = 0; i < map.items.size(); ++i)
        if (map.items[i].kind != ItemKind::task)
            if (const auto goal = strip_goal(job, {static_cast<std::int32_t>(i)}))
                search.want(*goal);
}

/// Twice: the second time with the penetrating oil, which the first has shown to be needed, before anything else.
Search search_for(const Job& job, ItemId goal) {
    std::vector<Action> soaks;
    for (int round = 0;; ++round) {
        Search search(job);
        for (const Action& soak : soaks)
            search.want(soak);
        if (goal)
            search.want(strip_goal(job, goal).value_or(Action{Verb::take_off, goal, {}}));
        else
            want_everything(job, search);
        search.run();
        if (round == 1)
            return search;
        for (const Done& done : search.done)
            if (done.action.verb == Verb::soak)
                soaks.push_back(done.action);
        if (soaks.empty())
            return search;
    }
}

// ------------------------------------------------------------------------------------------------- the author's order

struct Commitment {
    std::int32_t step;
    int kind; ///< tasks, then fasteners, then parts
    std::int32_t group;
    ItemId item;
    auto operator<=>(const Commitment&) const = default;
};

std::vector<Commitment> commitments(const Map& map, const std::set<ItemId>* only) {
    std::vector<Commitment> list;
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const Item& item = map.items[i];
        const ItemId id{static_cast<std::int32_t>(i)};
        if (!item.step || (only != nullptr && only->count(id) == 0))
            continue;
        const int kind = item.kind == ItemKind::task ? 0 : item.kind == ItemKind::fastener ? 1 : 2;
        list.push_back({*item.step, kind, item.group, id});
    }
    std::sort(list.begin(), list.end());
    return list;
}

/// Everything of one author's step: first what is legal as it stands (all nuts, then all bolts, rather than nut, bolt,
/// nut, bolt), and only when nothing is, the next with whatever must come before it.
void take_one_step(const Job& job, std::vector<Commitment> left, Walk& walk) {
    // A joint's own order settles in three rounds; a long chain within one step is brought link by link instead.
    for (int round = 0; round < 8 && !left.empty(); ++round) {
        std::vector<Commitment> later;
        for (const Commitment& commitment : left) {
            const auto action = strip_goal(job, commitment.item);
            if (action && judge_first(job, walk.state(), *action).empty())
                walk.bring(*action);
            else if (action)
                later.push_back(commitment);
        }
        if (later.size() == left.size()) {
            walk.bring(*strip_goal(job, later.front().item));
            later.erase(later.begin());
        }
        left = std::move(later);
    }
    for (const Commitment& commitment : left)
        walk.bring(*strip_goal(job, commitment.item));
}

/// A gate of the author's is not left out because the part wanted would come off without it.
void keep_gates(const Map& map, std::set<ItemId>& needed) {
    std::int32_t last = -1;
    for (const ItemId id : needed)
        last = std::max(last, map[id].step.value_or(-1));
    for (const Task& task : map.tasks) {
        const Item& item = map[task.item];
        const auto& after = item.after;
        const bool before_last = item.step && *item.step < last;
        const bool named = std::any_of(after.begin(), after.end(), [&](ItemId id) { return needed.count(id) != 0; });
        const bool all_kept = std::all_of(after.begin(), after.end(), [&](ItemId id) { return needed.count(id) != 0; });
        if (task.gate && task.when != TaskWhen::refit && all_kept && (before_last || named))
            needed.insert(task.item);
    }
}

void replay(const Job& job, const std::vector<Commitment>& list, ItemId goal, Walk& walk) {
    const Map& map = *job.map;
    // What no step and no other item mentions has no better place than the start.
    if (!goal)
        for (const Task& task : map.tasks)
            if (task.when != TaskWhen::refit && !map[task.item].step && job.before[at(task.item.index)].empty() &&
                task.does == TaskDoes::nothing && map[task.item].after.empty() && !asks_anything(task.sets)) {
                walk.allow_steps_to(-1);
                walk.bring({Verb::do_task, task.item, {}});
            }
    // Oil needs time: every thread that wants it is soaked as soon as it can be reached, unless a task of the author's
    // does it in its own time.
    if (!list.empty())
        walk.allow_steps_to(list.front().step);
    for (const Commitment& commitment : list) {
        if (!map.is_fastener(commitment.item))
            continue;
        const Fastener& fastener = map.fastener(commitment.item);
        if (!fastener.soak_min || !map[commitment.item].after.empty())
            continue;
        const auto& tasks = job.tasks_for[at(commitment.item.index)];
        if (std::none_of(tasks.begin(), tasks.end(), [&](ItemId t) { return map.task(t).does == TaskDoes::soak; }))
            walk.bring({Verb::soak, commitment.item, {}});
    }
    for (std::size_t from = 0; from < list.size();) {
        std::size_t to = from;
        while (to < list.size() && list[to].step == list[from].step)
            ++to;
        walk.allow_steps_to(list[from].step);
        take_one_step(
            job, {list.begin() + static_cast<std::ptrdiff_t>(from), list.begin() + static_cast<std::ptrdiff_t>(to)},
            walk);
        from = to;
    }
    walk.allow_steps_to(INT32_MAX);
    if (goal)
        walk.bring(strip_goal(job, goal).value_or(Action{Verb::take_off, goal, {}}));
    else if (map.target && !map.part(map.target).fixed)
        walk.bring({Verb::take_off, map.target, {}});
    if (!goal)
        for (const Task& task : map.tasks)
            if (task.when != TaskWhen::refit && (!map[task.item].step || walk.state().done[slot(map, task.item)] == 0))
                walk.bring({Verb::do_task, task.item, {}});
}

} // namespace

Plan plan_strip(const Job& job, ItemId goal) {
    const Map& map = *job.map;
    Plan plan;
    const State begin = as_found(job);
    if (goal && (!map.is_part(goal) || map.part(goal).fixed)) {
        Finding finding;
        finding.weight = Weight::fault;
        finding.rule = "cannot-come-off";
        finding.nodes = {map[goal].name};
        finding.key = map.is_part(goal) ? "fixed" : "part";
        finding.what = map.is_part(goal) ? "This part is marked as the body that stays." : "This is no part.";
        finding.remedy = "Name a part that can come off.";
        plan.findings.push_back(std::move(finding));
        plan.end = begin;
        return plan;
    }
    const bool has_steps =
        std::any_of(map.items.begin(), map.items.end(), [](const Item& item) { return item.step.has_value(); });

    std::vector<Done> done;
    if (has_steps) {
        std::set<ItemId> needed;
        if (goal) {
            const Search search = search_for(job, goal);
            for (const Done& one : search.done)
                if (one.action.item)
                    needed.insert(one.action.item);
            keep_gates(map, needed);
        }
        Walk walk(job, begin);
        replay(job, commitments(map, goal ? &needed : nullptr), goal, walk);
        done = std::move(walk.done);
        plan.findings = std::move(walk.findings);
        plan.by_author = true;
    } else {
        Search search = search_for(job, goal);
        done = std::move(search.done);
        plan.findings = std::move(search.findings);
    }
    gather(job, begin, done, plan);
    judge_order(job, begin, done, plan);
    return plan;
}

} // namespace boltwalk
