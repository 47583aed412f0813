// The rules on the way back.
#include <algorithm>

#include "core/job/court.hpp"

namespace boltwalk::inside {

void ask_refit_order(Court& c, ItemId item) {
    const Facts& facts = fact(c.job, item);
    if (facts.refit_after) {
        std::vector<ItemId> by;
        for (const ItemId other : c.map[item].refit_after)
            if (other != item && !is_back(c.job, c.state, other))
                by.push_back(other);
        c.object(Rule::refit_after, std::move(by));
    }
    std::vector<ItemId> mirrored;
    for (const ItemId later : c.job.before[at(item.index)]) {
        if (later == item || is_back(c.job, c.state, later))
            continue;
        const Facts& its = fact(c.job, later);
        if ((its.refit_free && names(c.map[later].refit_free, item)) ||
            (facts.refit_free && names(c.map[item].refit_free, later)) ||
            (its.refit_after && names(c.map[later].refit_after, item)))
            continue; // stated for the way back: it wins over the mirror image
        if (is_part(c.job, later) && c.state.went_with[slot(c.job, later)])
            continue; // comes with what it left with
        mirrored.push_back(later);
    }
    c.object(Rule::mirror, std::move(mirrored));
}

namespace {

/// Everything that it holds is off, and together.
bool on_one_bench(const Court& c, std::span<const ItemId> holds) {
    ItemId root;
    for (const ItemId part : holds) {
        const std::size_t p = slot(c.job, part);
        if (c.state.parts[p] != PartState::off)
            return false;
        const ItemId its = root_of(c.state, p, part);
        if (root && its != root)
            return false;
        root = its;
    }
    return static_cast<bool>(root);
}

/// Everything that it holds must be there, and hang at the same height.
void ask_there(Court& c, ItemId fastener) {
    const auto holds = c.job.holds[slot(c.job, fastener)];
    if (on_one_bench(c, holds))
        return;
    ItemId lowered;
    bool some_on = false;
    std::vector<ItemId> by;
    for (const ItemId part : holds)
        if (const std::size_t p = slot(c.job, part); c.state.parts[p] == PartState::off && c.state.bench_from[p])
            by.push_back(part); // it goes back on the bench first, and comes along with the rest
    if (!by.empty())
        return c.object(Rule::not_there, std::move(by));
    for (const ItemId part : holds) {
        const std::size_t p = slot(c.job, part);
        switch (c.state.parts[p]) {
        case PartState::off:
        case PartState::aside:
            by.push_back(c.state.went_with[p] ? c.state.went_with[p] : part);
            break;
        case PartState::lowered:
            lowered = c.state.went_with[p] ? c.state.went_with[p] : part;
            break;
        case PartState::on:
            some_on = some_on || !fact(c.job, part).flexible;
            break;
        }
    }
    if (lowered && some_on && !names(c.job.after[at(fastener.index)], lowered))
        by.push_back(lowered);
    c.object(Rule::not_there, std::move(by));
}

void ask_joint_in(Court& c, ItemId item) {
    const auto joint = c.job.joint[slot(c.job, item)];
    std::vector<ItemId> by;
    const Fastener& fastener = c.map.fastener(item);
    const bool has_nut = std::any_of(joint.begin(), joint.end(), [&](ItemId id) { return is_nut(kind_of(c.job, id)); });
    for (const ItemId id : joint) {
        const Fastener& other = c.map.fastener(id);
        if (id == item || is_lock(other.kind) || state_of(c, id) != FastenerState::out)
            continue;
        const bool lies_under = fastener.stack && other.stack && *other.stack < *fastener.stack;
        bool first = false;
        if (is_nut(fastener.kind))
            first = !is_nut(other.kind) || lies_under;
        else if (!has_nut) // washer or ring onto its bolt or plug, then in together
            first = is_loose_piece(other.kind) && (!is_loose_piece(fastener.kind) || lies_under);
        else if (is_loose_piece(fastener.kind))
            first = !is_nut(other.kind) && (!is_loose_piece(other.kind) || lies_under);
        if (first)
            by.push_back(id);
    }
    c.object(Rule::joint_order, std::move(by));
}

} // namespace

void judge_start(Court& c, const Action& action) {
    const FastenerState is = state_of(c, action.item);
    if (action.verb == Verb::start && is != FastenerState::out && is != FastenerState::slack)
        return c.already(action.item);
    ask_refit_order(c, action.item);
    ask_there(c, action.item);
    if (fact(c.job, action.item).jointed)
        ask_joint_in(c, action.item);
    if (!fact(c.job, action.item).secures)
        return;
    std::vector<ItemId> by;
    for (const ItemId locked : c.map.fastener(action.item).secures)
        if (!is_back(c.job, c.state, locked))
            by.push_back(locked);
    c.object(Rule::secured, std::move(by));
}

namespace {

/// Whatever else joins the same parts (one flange, whichever groups) and still lies beside the car, but for what by its
/// own conditions comes only after this one.
void ask_all_started(Court& c, ItemId item) {
    const Facts& facts = fact(c.job, item);
    if (facts.pushed || is_plug(facts.fastener))
        return; // a plug closes its own hole only
    std::vector<ItemId> by;
    if (facts.jointed)
        for (const ItemId id : c.job.joint[at(facts.slot)])
            if (id != item && state_of(c, id) == FastenerState::out && !is_lock(kind_of(c.job, id)))
                by.push_back(id);
    for (const ItemId id : c.job.mates[at(facts.slot)]) {
        const Facts& mate = fact(c.job, id);
        const FastenerState is = state_of(c, id);
        const bool away = is == FastenerState::out || is == FastenerState::slack;
        if (id == item || !away || mate.pushed || is_plug(mate.fastener) || !mate.joins)
            continue;
        if (names(c.job.after[at(item.index)], id) || (mate.refit_after && names(c.map[id].refit_after, item)))
            continue;
        by.push_back(id);
    }
    c.object(Rule::not_all_started, std::move(by));
}

} // namespace

void judge_tighten(Court& c, const Action& action) {
    const Facts& facts = fact(c.job, action.item);
    const FastenerState is = state_of(c, action.item);
    if (is == FastenerState::torqued || is == FastenerState::tight ||
        (action.verb == Verb::seat && is == FastenerState::seated))
        return c.already(action.item);
    if (is == FastenerState::out || is == FastenerState::slack) {
        if (facts.pushed)
            judge_start(c, action);
        else
            c.object(Rule::not_all_started, action.item);
    }
    ask_all_started(c, action.item);
    if (const ItemId turned = c.job.turned[slot(c.job, action.item)]; turned != action.item)
        return c.object(Rule::joint_order, turned); // its other end is torqued, and this one held
    if (facts.joins)
        for (const ItemId part : c.job.holds[at(facts.slot)])
            if (c.state.unmated[slot(c.job, part)] != 0)
                c.object(Rule::not_mated, part);
    if (action.verb == Verb::tighten) {
        if (facts.torque_waits) {
            std::vector<ItemId> by;
            for (const ItemId other : c.map.fastener(action.item).torque_after)
                if (other != action.item && !is_back(c.job, c.state, other))
                    by.push_back(other);
            c.object(Rule::torque_waits, std::move(by));
        }
        if (facts.fastener == FastenerKind::fill_plug || facts.fastener == FastenerKind::level_plug)
            for (const ItemId part : c.job.holds[at(facts.slot)]) {
                const std::size_t p = slot(c.job, part);
                if (c.state.drained[p] != 0 && c.state.filled[p] == 0)
                    c.object(Rule::not_filled, part);
                for (const ItemId id : c.job.tasks_for[at(part.index)]) {
                    const Task& task = c.map.task(id);
                    const bool open = task.when != TaskWhen::strip && c.state.done[slot(c.job, id)] == 0;
                    if (c.state.drained[p] != 0 && task.does == TaskDoes::level && open &&
                        !names(c.map[id].refit_after, action.item))
                        c.object(Rule::not_filled, id); // level first, then closed
                }
            }
        ask_hold(c, action.item);
    }
    if (c.settled())
        return;
    VehicleAsk needs = needs_of(c.job, action);
    if (action.verb == Verb::tighten && facts.torque_waits)
        needs = merged(needs, torque_needs(c.job, action.item));
    const VehicleAsk lacks = missing(needs, c.state.vehicle);
    if (asks_anything(lacks))
        c.objections.push_back({Rule::vehicle, {}, lacks});
}

void judge_return(Court& c, const Action& action) {
    if (is_back(c.job, c.state, action.item))
        return c.already(action.item);
    const std::size_t p = slot(c.job, action.item);
    if (c.state.went_with[p])
        c.object(Rule::not_there, c.state.went_with[p]);
    else if (c.state.bench_from[p] && c.state.parts[slot(c.job, c.state.bench_from[p])] == PartState::off)
        return ask_refit_order(c, action.item); // on the bench
    ask_refit_order(c, action.item);
    if (action.verb == Verb::fit) {
        if (fact(c.job, action.item).supported && c.state.propped[p] == 0)
            c.object(Rule::not_propped, action.item);
        std::vector<ItemId> by;
        for (const ItemId part : c.job.transfers) {
            const std::size_t t = slot(c.job, part);
            if (c.state.went_with[t] == action.item && c.state.transferred[t] == 0 && !c.state.bench_from[t])
                by.push_back(part);
        }
        c.object(Rule::not_transferred, std::move(by));
    }
    c.ask_vehicle(action);
}

void judge_fill(Court& c, const Action& action) {
    const std::size_t p = slot(c.job, action.item);
    if (c.state.filled[p] != 0 || c.state.drained[p] == 0)
        return c.already(action.item);
    std::vector<ItemId> by;
    if (!is_back(c.job, c.state, action.item))
        by.push_back(action.item);
    for (const ItemId part : c.job.opened_by[p])
        if (!is_back(c.job, c.state, part))
            by.push_back(part);
    for (const ItemId plug : c.job.drain_plugs[p])
        if (!is_back(c.job, c.state, plug))
            by.push_back(plug);
    c.object(Rule::not_there, std::move(by));
    c.ask_vehicle(action);
}

namespace {

/// Tight; or run down to its seat where its torque waits for the wheels, which cannot come down on a prop.
bool carries_again(const Court& c, ItemId id) {
    if (!is_fastener(c.job, id))
        return is_back(c.job, c.state, id);
    switch (state_of(c, id)) {
    case FastenerState::tight:
    case FastenerState::cracked:
    case FastenerState::torqued:
        return true;
    case FastenerState::seated:
        return torque_needs(c.job, id).stands == Ask::no;
    default:
        return is_loose_piece(kind_of(c.job, id)) && is_back(c.job, c.state, id);
    }
}

} // namespace

void judge_unprop(Court& c, const Action& action) {
    const std::size_t p = slot(c.job, action.item);
    if (c.state.propped[p] == 0)
        return c.already(action.item);
    std::vector<ItemId> by;
    if (c.state.parts[p] != PartState::off)
        for (const ItemId id : c.job.carriers[p])
            if (!carries_again(c, id))
                by.push_back(id);
    c.object(Rule::still_carried, std::move(by));
    c.ask_vehicle(action);
}

} // namespace boltwalk::inside
