// What an order lays bare and nobody should leave: the washers of a bolt that is out, the ring of a plug, a gasket
// whose joint is open. They would be lost, or used twice.
#include "core/job/course.hpp"

namespace boltwalk::inside {

namespace {

class Gathering {
public:
    Gathering(const Job& job, Order& order)
        : job_(job), order_(order), state_(as_found(job)), open_(job.map->parts.size(), 0) {}

    std::vector<ItemId> run() {
        std::vector<Done> given = std::move(order_.done);
        order_.done.clear();
        for (const Done& done : given)
            planned_.push_back(done.action);
        for (const Done& done : given) {
            order_.done.push_back(done);
            apply(job_, state_, done.action);
            if (done.action.item)
                look_at(done.action);
            take_what_is_free();
        }
        order_.end = std::move(state_);
        return std::move(taken_);
    }

private:
    void want(ItemId id) {
        const auto action = strip_goal(job_, id);
        if (action && !names(wanted_, id) && !names(taken_, id) &&
            std::none_of(planned_.begin(), planned_.end(),
                         [&](const Action& one) { return one.verb == action->verb && one.item == id; }))
            wanted_.push_back(id);
    }

    void look_at(const Action& action) {
        const std::size_t i = slot(job_, action.item);
        if (action.verb == Verb::take_out || action.verb == Verb::loosen) {
            for (const ItemId mate : job_.joint[i])
                if (mate != action.item && is_loose_piece(kind_of(job_, mate)))
                    want(mate);
            for (const ItemId part : job_.holds[i])
                if (fact(job_, part).renew && !fact(job_, part).flexible)
                    open_[slot(job_, part)] = 1;
        }
        if (!leaves(action.verb))
            return;
        for (const ItemId later : job_.before[at(action.item.index)])
            if (is_part(job_, later) && fact(job_, later).renew)
                want(later);
        for (const ItemId id : job_.held_by[i])
            for (const ItemId part : job_.holds[slot(job_, id)])
                if (open_[slot(job_, part)] != 0 && is_freed(job_, state_, id))
                    want(part);
    }

    void take_what_is_free() {
        for (bool again = true; again;) {
            again = false;
            for (std::size_t i = 0; i < wanted_.size() && !again; ++i) {
                const ItemId id = wanted_[i];
                const Action action = *strip_goal(job_, id);
                if (!judge_first(job_, state_, action).empty() ||
                    (is_part(job_, id) && hangs_on(job_, state_, id).size() > 1))
                    continue; // nothing else leaves for its sake
                wanted_.erase(wanted_.begin() + static_cast<std::ptrdiff_t>(i));
                taken_.push_back(id);
                order_.done.push_back({action, (*job_.map)[id].step.value_or(-1), false});
                apply(job_, state_, action);
                again = true;
            }
        }
    }

    const Job& job_;
    Order& order_;
    State state_;
    std::vector<std::uint8_t> open_; ///< part: a fastener of it is out
    std::vector<Action> planned_;
    std::vector<ItemId> wanted_, taken_;
};

} // namespace

std::vector<ItemId> take_what_is_uncovered(const Job& job, Order& order) {
    return Gathering(job, order).run();
}

} // namespace boltwalk::inside
