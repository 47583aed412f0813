// The rules: what stands in the way of an action. This is their one place; orders, checks, the viewer and later the log
// ask here.
#include <algorithm>

#include "core/job/court.hpp"

namespace boltwalk {

using namespace inside;

std::string_view name_of(Rule rule) {
    switch (rule) {
    case Rule::so_already:
        return "so-already";
    case Rule::after:
        return "after";
    case Rule::secured:
        return "secured";
    case Rule::joint_order:
        return "joint-order";
    case Rule::cannot_be_drawn:
        return "cannot-be-drawn";
    case Rule::joined:
        return "joined";
    case Rule::not_propped:
        return "prop-late";
    case Rule::loaded:
        return "loaded";
    case Rule::vehicle:
        return "vehicle";
    case Rule::hold_lost:
        return "hold-lost";
    case Rule::not_drained:
        return "not-drained";
    case Rule::fill_not_proven:
        return "fill-not-proven";
    case Rule::not_soaked:
        return "soak-late";
    case Rule::not_marked:
        return "mark-late";
    case Rule::refit_after:
        return "refit-after";
    case Rule::mirror:
        return "mirror";
    case Rule::not_there:
        return "not-there";
    case Rule::not_all_started:
        return "start-all";
    case Rule::torque_waits:
        return "torque-after";
    case Rule::still_carried:
        return "prop-early";
    case Rule::not_filled:
        return "not-filled";
    case Rule::held_up:
        return "held-up";
    case Rule::not_transferred:
        return "transfer-first";
    case Rule::out_of_reach:
        return "out-of-reach";
    case Rule::in_the_way:
        return "in-the-way";
    case Rule::step:
        return "step";
    case Rule::not_mated:
        return "drawn-in";
    }
    return "";
}

bool is_estimated(Rule rule) {
    return rule == Rule::out_of_reach || rule == Rule::in_the_way;
}

namespace {

/// Chocks where it could roll; and neither up nor down over what stands on a prop, or hangs lowered.
void ask_vehicle_change(Court& c, const VehicleAsk& ask) {
    if (!asks_anything(ask) || c.settled())
        return;
    const VehicleAsk then = merged(c.state.vehicle, ask);
    if (needs_chocks(then) && then.chocked != Ask::yes)
        c.objections.push_back({Rule::vehicle, {}, {.chocked = Ask::yes}});
    if (then.stands == c.state.vehicle.stands)
        return;
    std::vector<ItemId> by;
    for (std::size_t p = 0; p < c.state.parts.size(); ++p) {
        const bool lowered = c.state.parts[p] == PartState::lowered && !c.state.went_with[p];
        if (lowered || (c.state.propped[p] != 0 && c.state.parts[p] != PartState::off))
            by.push_back(c.map.parts[p].item);
    }
    c.object(Rule::held_up, std::move(by));
}

void judge_task(Court& c, const Action& action) {
    const Task& task = c.map.task(action.item);
    if (c.state.done[slot(c.job, action.item)] != 0)
        return c.already(action.item);
    if (c.state.refit) {
        ask_refit_order(c, action.item);
    } else {
        ask_after(c, action.item);
        if (task.does == TaskDoes::drain)
            for (const ItemId part : task.to)
                if (is_part(c.job, part))
                    for (const ItemId plug : c.job.fill_plugs[slot(c.job, part)])
                        if (state_of(c, plug) == FastenerState::tight)
                            c.object(Rule::fill_not_proven, plug);
        if (task.does == TaskDoes::prove)
            for (const ItemId plug : task.to)
                ask_after(c, plug);
    }
    for (const ItemId part : task.to) {
        if (!is_part(c.job, part))
            continue;
        const bool empty = c.state.drained[slot(c.job, part)] != 0 && c.state.filled[slot(c.job, part)] == 0;
        if (empty && task.does == TaskDoes::fill)
            judge_fill(c, {Verb::fill, part, {}});
        if (empty && task.does == TaskDoes::level)
            c.object(Rule::not_filled, part);
    }
    c.ask_vehicle(action);
    ask_vehicle_change(c, task.sets);
}

void judge_prepare(Court& c, const Action& action) {
    const std::size_t i = slot(c.job, action.item);
    bool so = false;
    switch (action.verb) {
    case Verb::soak:
        so = c.state.soaked[i] != 0;
        break;
    case Verb::mark:
        so = c.state.marked[i] != 0;
        break;
    case Verb::unload:
        so = c.state.unloaded[i] != 0;
        break;
    case Verb::prop:
        so = c.state.propped[i] != 0;
        break;
    case Verb::drain:
        so = c.state.drained[i] != 0;
        break;
    case Verb::prove:
        so = c.state.fasteners[i] != FastenerState::tight;
        break;
    case Verb::transfer:
        so = c.state.transferred[i] != 0;
        break;
    case Verb::mate:
        so = c.state.unmated[i] == 0;
        break;
    default:
        break;
    }
    if (so)
        return c.already(action.item);
    if (action.verb == Verb::prove || action.verb == Verb::soak)
        ask_after(c, action.item); // it must be reached
    if (action.verb == Verb::prove)
        ask_shapes(c, action);
    if (action.verb == Verb::drain)
        for (const ItemId plug : c.job.fill_plugs[i])
            if (state_of(c, plug) == FastenerState::tight)
                c.object(Rule::fill_not_proven, plug);
    c.ask_vehicle(action);
}

std::vector<Objection> hear(const Job& job, const State& state, const Action& action, bool first_only, bool at_first,
                            bool stated_only = false) {
    Court c(job, state, first_only, at_first, stated_only);
    switch (action.verb) {
    case Verb::set_vehicle:
        if (!asks_anything(missing(action.vehicle, state.vehicle)))
            c.objections.push_back({Rule::so_already, {}, {}});
        else
            ask_vehicle_change(c, action.vehicle);
        break;
    case Verb::do_task:
        judge_task(c, action);
        break;
    case Verb::loosen:
    case Verb::take_out:
        judge_undo(c, action);
        break;
    case Verb::let_down:
    case Verb::set_aside:
    case Verb::take_off:
        judge_leave(c, action);
        break;
    case Verb::fit:
    case Verb::put_back:
    case Verb::raise:
        judge_return(c, action);
        break;
    case Verb::start:
        judge_start(c, action);
        c.ask_vehicle(action);
        break;
    case Verb::seat:
    case Verb::tighten:
        judge_tighten(c, action);
        break;
    case Verb::fill:
        judge_fill(c, action);
        break;
    case Verb::unprop:
        judge_unprop(c, action);
        break;
    case Verb::soak:
    case Verb::mark:
    case Verb::unload:
    case Verb::prop:
    case Verb::prove:
    case Verb::drain:
    case Verb::transfer:
    case Verb::mate:
        judge_prepare(c, action);
        break;
    }
    return std::move(c.objections);
}

} // namespace

std::vector<Objection> judge(const Job& job, const State& state, const Action& action) {
    return hear(job, state, action, false, false);
}

std::vector<Objection> judge_first(const Job& job, const State& state, const Action& action) {
    return hear(job, state, action, true, false);
}

std::vector<Objection> inside::judge_stated(const Job& job, const State& state, const Action& action) {
    return hear(job, state, action, false, false, true);
}

std::vector<Objection> inside::judge_at_first(const Job& job, const State& state, const Action& action,
                                              bool first_only) {
    return hear(job, state, action, first_only, true);
}

std::vector<Held> what_holds(const Job& job, const State& state, ItemId item) {
    std::vector<Held> held;
    const std::optional<Action> goal = strip_goal(job, item);
    if (!goal)
        return held;
    for (const Objection& objection : judge(job, state, *goal)) {
        if (objection.rule == Rule::so_already)
            return {};
        for (const ItemId by : objection.by)
            if (objection.rule != Rule::not_propped || by != item)
                held.push_back({by, objection.rule});
    }
    return held;
}

std::string sentence_of(const Job& job, const Action& action, const Objection& objection) {
    return inside::in_words(job, action, objection, -1).what;
}

} // namespace boltwalk
