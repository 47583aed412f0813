// A set of deeds, put in a legal order that does them and nothing else.
#include <algorithm>

#include "core/job/course.hpp"

namespace boltwalk::inside {

namespace {

class Arranging {
public:
    Arranging(const Job& job, const std::vector<Action>& deeds, const std::vector<Action>& along)
        : job_(job), map_(*job.map), pending_(deeds), needed_(deeds.size()) {
        pending_.insert(pending_.end(), along.begin(), along.end());
        done_.assign(pending_.size(), 0);
        order.end = as_found(job);
    }

    Arranged run() {
        int changes = 0; // of the vehicle, since something was last done
        while (done_[0] == 0) {
            if (const std::int32_t next = choose(); next >= 0) {
                carry_out(pending_[at(next)]);
                done_[at(next)] = 1;
                changes = 0;
            } else if (changes < 8 && prepare()) {
                ++changes;
            } else {
                return outcome();
            }
        }
        return Arranged::in_order;
    }

    /// What stands in the way of what is left of the set, the vehicle aside.
    std::vector<ItemId> stuck_on() const {
        std::vector<ItemId> items;
        for (std::size_t i = 0; i < needed_; ++i)
            if (done_[i] == 0)
                for (const Objection& objection : judge(job_, order.end, pending_[i]))
                    for (const ItemId by : objection.by)
                        if (!names(items, by))
                            items.push_back(by);
        return items;
    }

    Order order;

private:
    Arranged outcome() const {
        for (std::size_t i = 1; i < needed_; ++i)
            if (done_[i] == 0 && is_counted(pending_[i].verb))
                return Arranged::stuck;
        for (const Objection& objection : judge(job_, order.end, pending_[0]))
            if (objection.rule != Rule::vehicle && objection.rule != Rule::held_up)
                return Arranged::refused;
        return Arranged::stuck;
    }

    /// Smaller comes first.
    using Turn = std::tuple<int, std::int32_t, bool, bool, bool, int, std::int32_t, std::int32_t>;

    Turn turn_of(const Action& action) const {
        const Item& item = map_[action.item];
        const int soon = action.verb == Verb::soak ? 0 : 1; // the oil needs time
        const std::string tool = tool_of(map_, action);
        // The goal has no turn before whatever the author puts before it.
        return {soon,
                is_own_doing(action.verb) ? item.step.value_or(-1) : -1,
                item.from != Place::not_stated && item.from != place_,
                !tool.empty() && tool != tool_,
                item.group < 0 || item.group != group_,
                static_cast<int>(item.from),
                item.group,
                action.item.index};
    }

    /// The one whose turn it is; what would leave something hanging only where there is nothing else to do.
    std::int32_t choose() {
        std::vector<Action> to_come;
        for (std::size_t i = 0; i < pending_.size(); ++i)
            if (done_[i] == 0 && leaves(pending_[i].verb))
                to_come.push_back(pending_[i]);
        const std::vector<Dropping> dropping = about_to_drop(job_, order.end, to_come);
        std::int32_t best = -1;
        int best_worry = 3;
        Turn best_turn;
        for (std::size_t i = 0; i < pending_.size(); ++i) {
            const Action& action = pending_[i];
            if (done_[i] != 0)
                continue;
            const std::vector<Objection> objections = judge_first(job_, order.end, action);
            if (!objections.empty()) {
                if (objections.front().rule == Rule::so_already)
                    done_[i] = 1;
                continue;
            }
            int worry = 0;
            if (action.verb == Verb::take_out || action.verb == Verb::loosen)
                worry = !is_about(map_, action.item, dropping)              ? 2
                        : would_hang(job_, order.end, action.item, to_come) ? 1
                                                                            : 0;
            const bool falls = std::any_of(dropping.begin(), dropping.end(), [&](const Dropping& one) {
                return one.by.verb == action.verb && one.by.item == action.item;
            });
            if (falls)
                return static_cast<std::int32_t>(i);
            const Turn turn = turn_of(action);
            if (best < 0 || worry < best_worry || (worry == best_worry && turn < best_turn)) {
                best = static_cast<std::int32_t>(i);
                best_worry = worry;
                best_turn = turn;
            }
        }
        return best;
    }

    void carry_out(const Action& action) {
        const bool from_map = action.item && is_own_doing(action.verb);
        order.done.push_back({action, from_map ? map_[action.item].step.value_or(-1) : -1, !from_map});
        apply(job_, order.end, action);
        if (!action.item)
            return;
        if (const Place from = map_[action.item].from; from != Place::not_stated)
            place_ = from;
        if (std::string tool = tool_of(map_, action); !tool.empty())
            tool_ = std::move(tool);
        group_ = map_[action.item].group;
    }

    /// What the first of those that wait asks for and nothing has to come off for: the map's own task before what the
    /// rules would do without.
    bool prepare() {
        std::vector<std::size_t> waiting;
        for (std::size_t i = 0; i < needed_; ++i)
            if (done_[i] == 0)
                waiting.push_back(i);
        std::stable_sort(waiting.begin(), waiting.end(),
                         [&](std::size_t a, std::size_t b) { return turn_of(pending_[a]) < turn_of(pending_[b]); });
        for (const std::size_t i : waiting) {
            const std::vector<Objection> objections = judge(job_, order.end, pending_[i]);
            // First what waits for nothing else.
            if (std::any_of(objections.begin(), objections.end(), [&](const Objection& o) { return takes_items(o); }))
                continue;
            for (const Objection& objection : objections)
                if (meet(pending_[i], objection))
                    return true;
        }
        return false;
    }

    /// Is it met only by what comes off?
    bool takes_items(const Objection& objection) const {
        switch (objection.rule) {
        case Rule::secured:
        case Rule::joint_order:
        case Rule::joined:
        case Rule::cannot_be_drawn:
        case Rule::hold_lost:
        case Rule::out_of_reach:
        case Rule::in_the_way:
            return true;
        case Rule::after:
            return std::any_of(objection.by.begin(), objection.by.end(), [&](ItemId id) { return !map_.is_task(id); });
        default:
            return false;
        }
    }

    bool meet(const Action& action, const Objection& objection) {
        for (const Action& mend : mends(job_, order.end, action, objection))
            if (bring(mend, 0))
                return true;
        if (objection.rule != Rule::vehicle)
            return false;
        VehicleAsk ask = objection.vehicle;
        for (const Ask chocks : {ask.chocked, Ask::yes}) {
            ask.chocked = chocks;
            const Action change{Verb::set_vehicle, {}, ask};
            if (judge_first(job_, order.end, change).empty()) {
                carry_out(change);
                return true;
            }
        }
        return false;
    }

    /// With whatever comes before it, where nothing of that comes off.
    bool bring(const Action& action, int depth) {
        if (depth > 32 || is_counted(action.verb))
            return false;
        for (int round = 0; round < 32; ++round) {
            const std::vector<Objection> objections = judge(job_, order.end, action);
            if (objections.empty()) {
                carry_out(action);
                for (std::size_t i = 0; i < pending_.size(); ++i)
                    if (pending_[i].verb == action.verb && pending_[i].item == action.item)
                        done_[i] = 1;
                return true;
            }
            if (objections.front().rule == Rule::so_already)
                return depth > 0;
            bool any = false;
            for (const Action& mend : mends(job_, order.end, action, objections.front()))
                any = bring(mend, depth + 1) || any;
            if (!any)
                return false;
        }
        return false;
    }

    const Job& job_;
    const Map& map_;
    std::vector<Action> pending_;
    std::size_t needed_;
    std::vector<std::uint8_t> done_;
    Place place_ = Place::not_stated;
    std::string tool_;
    std::int32_t group_ = -1;
};

} // namespace

Arranged put_in_order(const Job& job, const std::vector<Action>& deeds, const std::vector<Action>& along, Order& order,
                      std::vector<ItemId>& stuck_on) {
    Arranging arranging(job, deeds, along);
    const Arranged arranged = arranging.run();
    if (arranged != Arranged::in_order)
        stuck_on = arranging.stuck_on();
    order = std::move(arranging.order);
    return arranged;
}

} // namespace boltwalk::inside
