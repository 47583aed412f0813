// What a whole order shows that no single action does.
#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

/// Parts that nothing holds any more after a step, and that do not come off next.
class Drops {
public:
    Drops(const Job& job, State begin, Plan& plan)
        : job_(job), state_(std::move(begin)), plan_(plan), met_(job.map->parts.size(), 0),
          told_(job.map->parts.size(), 0), last_move_(job.map->parts.size(), 0), holder_(job.map->parts.size()) {
        for (std::size_t s = 0; s < plan.steps.size(); ++s)
            if (leaves(plan.steps[s].verb))
                last_move_[slot(job, plan.steps[s].items.front())] = s + 1;
    }

    void find() {
        for (std::size_t s = 0; s < plan_.steps.size(); ++s) {
            const Step& step = plan_.steps[s];
            // What comes off on the bench was away before: only who lies with whom changes, and nobody asks that here.
            if (step.verb != Verb::take_off || !bench_of(job_, state_, step.items.front()))
                apply_step(job_, state_, step);
            if (step.verb == Verb::take_out || step.verb == Verb::loosen || step.verb == Verb::take_off)
                look_after(s);
        }
    }

private:
    /// A fastener by which a part hangs, and on which part; none where that is the body that stays.
    struct Holder {
        ItemId by, part;
    };
    struct From {
        ItemId by;
        std::size_t index = 0; ///< in company_
    };

    void look_after(std::size_t s) {
        touched_.clear();
        for (const ItemId item : plan_.steps[s].items) {
            if (!is_fastener(job_, item))
                for (const ItemId id : job_.held_by[slot(job_, item)])
                    touch(id);
            else if (fact(job_, item).joins)
                touch(item);
        }
        std::sort(touched_.begin(), touched_.end());
        touched_.erase(std::unique(touched_.begin(), touched_.end()), touched_.end());
        for (const ItemId part : touched_) {
            if (told_[slot(job_, part)] != 0 || is_held(part))
                continue;
            const bool next = comes_next(s);
            for (const ItemId id : company_)
                told_[slot(job_, id)] = 1;
            // A gasket clings, and hurts nobody.
            if (next || (fact(job_, part).renew && !job_.map->part(part).mass_kg))
                continue;
            const bool later = std::any_of(company_.begin(), company_.end(),
                                           [&](ItemId id) { return last_move_[slot(job_, id)] > s; });
            report(part, s, later);
        }
    }

    void touch(ItemId fastener) {
        const auto holds = job_.holds[slot(job_, fastener)];
        touched_.insert(touched_.end(), holds.begin(), holds.end());
    }

    /// It stays, is held up, or is away.
    bool rests(ItemId part) const {
        const std::size_t p = slot(job_, part);
        return fact(job_, part).fixed || state_.propped[p] != 0 || state_.parts[p] == PartState::aside ||
               state_.parts[p] == PartState::off;
    }

    /// Along the fasteners by which it was held when last asked: most hold still, and nothing has to be searched for.
    bool is_held_as_before(ItemId part) const {
        for (std::size_t links = 0; links <= holder_.size(); ++links) {
            if (rests(part))
                return true;
            const Holder& holder = holder_[slot(job_, part)];
            if (!holder.by || is_freed(job_, state_, holder.by))
                return false;
            if (!holder.part)
                return true; // straight to the body that stays
            if (state_.parts[slot(job_, holder.part)] == PartState::off)
                return false;
            part = holder.part;
        }
        return false;
    }

    /// Is it joined, straight or through others, to anything that rests? Else company_ is all that it is joined to.
    bool is_held(ItemId part) {
        if (is_held_as_before(part))
            return true;
        ++now_;
        company_ = {part};
        from_ = {{}};
        met_[slot(job_, part)] = now_;
        for (std::size_t i = 0; i < company_.size(); ++i)
            for (const ItemId id : job_.held_by[slot(job_, company_[i])]) {
                if (is_freed(job_, state_, id))
                    continue;
                const auto holds = job_.holds[slot(job_, id)];
                if (holds.size() == 1) {
                    keep_path(i, {id, ItemId{}});
                    return true;
                }
                for (const ItemId other : holds) {
                    const std::size_t p = slot(job_, other);
                    if (state_.parts[p] == PartState::off || met_[p] == now_)
                        continue;
                    if (rests(other)) {
                        keep_path(i, {id, other});
                        return true;
                    }
                    met_[p] = now_;
                    company_.push_back(other);
                    from_.push_back({id, i});
                }
            }
        return false;
    }

    /// The search went from company_[0] and found a hold at company_[last].
    void keep_path(std::size_t last, Holder holder) {
        for (std::size_t i = 1; i < company_.size(); ++i) // whatever it met hangs by whence it was met
            holder_[slot(job_, company_[i])] = {from_[i].by, company_[from_[i].index]};
        for (std::size_t i = last;; i = from_[i].index) { // but for what lies on the path: that hangs the other way
            holder_[slot(job_, company_[i])] = holder;
            if (i == 0)
                return;
            holder = {from_[i].by, company_[i]};
        }
    }

    bool in_company(ItemId part) const { return met_[slot(job_, part)] == now_; }

    /// It may come off next, along with the small things that only it still carries.
    bool comes_next(std::size_t s) const {
        for (std::size_t next = s + 1; next < plan_.steps.size(); ++next) {
            const Step& later = plan_.steps[next];
            if (leaves(later.verb)) {
                if (in_company(later.items.front()))
                    return true;
            } else if (later.verb == Verb::take_out || later.verb == Verb::loosen) {
                const auto holds = job_.holds[slot(job_, later.items.front())];
                if (!holds.empty() &&
                    std::none_of(holds.begin(), holds.end(), [&](ItemId id) { return in_company(id); }))
                    return false;
            } // else a look, a mark, a prop
        }
        return false;
    }

    void report(ItemId part, std::size_t s, bool comes_later) {
        const Map& map = *job_.map;
        const Step& cause = plan_.steps[s];
        Finding finding;
        finding.weight = comes_later ? Weight::doubt : Weight::fault;
        finding.rule = "hangs-on-nothing";
        finding.nodes = {map[part].name, map[cause.items.back()].name};
        finding.key = "support";
        finding.value = map.part(part).support;
        finding.what =
            fmt::format("After step {} nothing on the map holds {} any more{}.", s + 1, map[part].name,
                        comes_later ? ", and other things are done before it comes off" : ", and it never comes off");
        finding.why = "What nothing holds can drop on whoever lies below.";
        finding.remedy = comes_later ? "Let it come off directly after its last fastener, or state its `support`."
                                     : "State its `support` (jack, helper, strap, stand), or what else holds it.";
        plan_.findings.push_back(std::move(finding));
    }

    const Job& job_;
    State state_;
    Plan& plan_;
    std::vector<std::uint32_t> met_; ///< part: by which search last
    std::uint32_t now_ = 0;
    std::vector<std::uint8_t> told_;     ///< part
    std::vector<std::size_t> last_move_; ///< part: the number of the step that last moves it, from 1; 0: none
    std::vector<ItemId> touched_, company_;
    std::vector<From> from_;     ///< by which fastener, and from which of them, each of company_ was met
    std::vector<Holder> holder_; ///< part
};

void find_hasty_soaks(const Job& job, const std::vector<Done>& done, Plan& plan) {
    const Map& map = *job.map;
    std::map<std::int32_t, std::size_t> soaked_at;
    std::vector<std::size_t> work_before(done.size() + 1, 0); // actions that take time
    for (std::size_t i = 0; i < done.size(); ++i) {
        const Action& action = done[i].action;
        const bool works = action.verb != Verb::soak &&
                           !(action.verb == Verb::do_task && map.task(action.item).does == TaskDoes::soak);
        work_before[i + 1] = work_before[i] + (works ? 1 : 0);
        if (action.verb == Verb::soak)
            soaked_at.emplace(action.item.index, i);
        if (action.verb == Verb::do_task && map.task(action.item).does == TaskDoes::soak)
            for (const ItemId to : map.task(action.item).to)
                soaked_at.emplace(to.index, i);
    }
    if (soaked_at.empty())
        return;
    Finding finding;
    for (std::size_t i = 0; i < done.size(); ++i) {
        const Action& action = done[i].action;
        if ((action.verb != Verb::take_out && action.verb != Verb::loosen) || !map.fastener(action.item).soak_min)
            continue;
        const auto soaked = soaked_at.find(action.item.index);
        if (soaked == soaked_at.end() || soaked->second > i)
            continue;
        // Its own group's fasteners are no time for the oil to work in.
        bool other_work = false;
        for (std::size_t j = soaked->second + 1; j < i && !other_work; ++j) {
            const Action& between = done[j].action;
            other_work = work_before[j + 1] > work_before[j] &&
                         !(between.item && !map.is_task(between.item) &&
                           map[between.item].group == map[action.item].group && map[between.item].group >= 0);
        }
        if (!other_work)
            finding.nodes.push_back(map[action.item].name);
    }
    if (finding.nodes.empty())
        return;
    finding.weight = Weight::doubt;
    finding.rule = "soak-late";
    finding.key = "soak_min";
    finding.what = "Penetrating oil goes on right before these are undone.";
    finding.why = "It needs the stated minutes to creep in.";
    finding.remedy = "Soak them earlier: give the task that `does: soak` an earlier step, or none at all.";
    plan.findings.push_back(std::move(finding));
}

} // namespace

void find_half_undone(const Job& job, State state, Plan& plan) {
    const Map& map = *job.map;
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const Step& step = plan.steps[s];
        const Action action{step.verb, step.items.empty() ? ItemId{} : step.items.front(), step.vehicle};
        const std::vector<ItemId> parts = shaken_by_half(job, state, action);
        apply_step(job, state, step);
        if (parts.empty())
            continue;
        Finding finding;
        finding.weight = Weight::doubt;
        finding.rule = "half-undone";
        for (const ItemId part : parts)
            finding.nodes.push_back(map[part].name);
        const std::string names = few_of(finding.nodes);
        if (action.item)
            finding.nodes.push_back(map[action.item].name);
        finding.key = "step";
        finding.what = fmt::format("{}step {} {} the vehicle while {} {} on part of the fasteners that carry {}.",
                                   plan.refit ? "On the way back " : "", s + 1,
                                   state.vehicle.stands == Ask::yes ? "raises" : "lets down", names,
                                   parts.size() == 1 ? "hangs" : "hang", parts.size() == 1 ? "it" : "them");
        if (!plan.refit)
            finding.what[0] = 'S';
        finding.why = "What is left of a joint bends, or lets go, when the vehicle is shaken.";
        finding.remedy =
            "Raise it before the first of them is undone, or undo them all first; on the way back get them "
            "all in first.";
        plan.findings.push_back(std::move(finding));
    }
}

void judge_order(const Job& job, const State& begin, const std::vector<Done>& done, Plan& plan) {
    Drops(job, begin, plan).find();
    find_hasty_soaks(job, done, plan);
}

} // namespace boltwalk::inside
