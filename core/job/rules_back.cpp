// The rules on the way back.
#include <algorithm>

#include "core/job/court.hpp"

namespace boltwalk::inside {

void ask_refit_order(Court& c, ItemId item) {
    std::vector<ItemId> by;
    const auto& wanted = c.map[item].refit_after;
    for (const ItemId other : wanted)
        if (other != item && !is_back(c.job, c.state, other))
            by.push_back(other);
    c.object(Rule::refit_after, std::move(by));

    const auto names = [](const std::vector<ItemId>& list, ItemId id) {
        return std::find(list.begin(), list.end(), id) != list.end();
    };
    std::vector<ItemId> mirrored;
    for (const ItemId later : c.job.before[at(item.index)]) {
        if (later == item || is_back(c.job, c.state, later))
            continue;
        if (names(c.map[later].refit_free, item) || names(c.map[item].refit_free, later) ||
            names(c.map[later].refit_after, item))
            continue; // stated for the way back: it wins over the mirror image
        if (c.map.is_part(later) && c.state.went_with[slot(c.map, later)])
            continue; // comes with what it left with
        mirrored.push_back(later);
    }
    c.object(Rule::mirror, std::move(mirrored));
}

namespace {

/// Everything that it holds is off, and together.
bool on_one_bench(const Court& c, const Fastener& fastener) {
    ItemId root;
    for (const ItemId part : fastener.holds) {
        const std::size_t p = slot(c.map, part);
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
void ask_there(Court& c, const Fastener& fastener) {
    if (on_one_bench(c, fastener))
        return;
    ItemId lowered;
    bool some_on = false;
    std::vector<ItemId> by;
    for (const ItemId part : fastener.holds)
        if (const std::size_t p = slot(c.map, part); c.state.parts[p] == PartState::off && c.state.bench_from[p])
            by.push_back(part); // it goes back on the bench first, and comes along with the rest
    if (!by.empty())
        return c.object(Rule::not_there, std::move(by));
    for (const ItemId part : fastener.holds) {
        const std::size_t p = slot(c.map, part);
        switch (c.state.parts[p]) {
        case PartState::off:
        case PartState::aside:
            by.push_back(c.state.went_with[p] ? c.state.went_with[p] : part);
            break;
        case PartState::lowered:
            lowered = c.state.went_with[p] ? c.state.went_with[p] : part;
            break;
        case PartState::on:
            some_on = some_on || !c.map.parts[p].flexible;
            break;
        }
    }
    if (lowered && some_on) {
        const auto& after = c.map[fastener.item].after;
        if (std::find(after.begin(), after.end(), lowered) == after.end())
            by.push_back(lowered);
    }
    c.object(Rule::not_there, std::move(by));
}

void ask_joint_in(Court& c, const Fastener& fastener) {
    std::vector<ItemId> by;
    const auto& others = c.job.joint[slot(c.map, fastener.item)];
    const bool has_nut = is_nut(fastener.kind) || std::any_of(others.begin(), others.end(), [&](ItemId id) {
                             return is_nut(c.map.fastener(id).kind);
                         });
    for (const ItemId id : others) {
        const Fastener& other = c.map.fastener(id);
        if (is_lock(other.kind) || state_of(c, id) != FastenerState::out)
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
    const Fastener& fastener = c.map.fastener(action.item);
    const FastenerState is = state_of(c, action.item);
    if (action.verb == Verb::start && is != FastenerState::out && is != FastenerState::slack)
        return c.already(action.item);
    ask_refit_order(c, action.item);
    ask_there(c, fastener);
    ask_joint_in(c, fastener);
    std::vector<ItemId> by;
    for (const ItemId locked : fastener.secures)
        if (!is_back(c.job, c.state, locked))
            by.push_back(locked);
    c.object(Rule::secured, std::move(by));
}

namespace {

/// Whatever else joins the same parts (one flange, whichever groups) and still lies beside the car, but for what by its
/// own conditions comes only after this one.
void ask_all_started(Court& c, const Fastener& fastener) {
    if (is_pushed(fastener) || is_plug(fastener.kind))
        return; // a plug closes its own hole only
    std::vector<ItemId> by;
    for (const ItemId id : c.job.joint[slot(c.map, fastener.item)])
        if (state_of(c, id) == FastenerState::out && !is_lock(c.map.fastener(id).kind))
            by.push_back(id);
    const auto names = [](const std::vector<ItemId>& list, ItemId id) {
        return std::find(list.begin(), list.end(), id) != list.end();
    };
    for (const ItemId id : c.job.kinds[at(c.job.kin[slot(c.map, fastener.item)])]) {
        const Fastener& mate = c.map.fastener(id);
        const FastenerState is = state_of(c, id);
        const bool away = is == FastenerState::out || is == FastenerState::slack;
        if (id == fastener.item || !away || is_pushed(mate) || is_plug(mate.kind) || !joins(mate))
            continue;
        if (names(c.map[fastener.item].after, id) || names(c.map[id].refit_after, fastener.item))
            continue;
        by.push_back(id);
    }
    c.object(Rule::not_all_started, std::move(by));
}

} // namespace

void judge_tighten(Court& c, const Action& action) {
    const Fastener& fastener = c.map.fastener(action.item);
    const FastenerState is = state_of(c, action.item);
    if (is == FastenerState::torqued || is == FastenerState::tight ||
        (action.verb == Verb::seat && is == FastenerState::seated))
        return c.already(action.item);
    if (is == FastenerState::out || is == FastenerState::slack) {
        if (is_pushed(fastener))
            judge_start(c, action);
        else
            c.object(Rule::not_all_started, action.item);
    }
    ask_all_started(c, fastener);
    if (const ItemId turned = c.job.turned[slot(c.map, action.item)]; turned != action.item)
        return c.object(Rule::joint_order, turned); // its other end is torqued, and this one held
    if (action.verb == Verb::tighten) {
        std::vector<ItemId> by;
        for (const ItemId other : fastener.torque_after)
            if (other != action.item && !is_back(c.job, c.state, other))
                by.push_back(other);
        c.object(Rule::torque_waits, std::move(by));
        if (fastener.kind == FastenerKind::fill_plug || fastener.kind == FastenerKind::level_plug)
            for (const ItemId part : fastener.holds) {
                const std::size_t p = slot(c.map, part);
                if (c.state.drained[p] != 0 && c.state.filled[p] == 0)
                    c.object(Rule::not_filled, part);
                for (const ItemId id : c.job.tasks_for[at(part.index)]) {
                    const Task& task = c.map.task(id);
                    const bool open = task.when != TaskWhen::strip && c.state.done[slot(c.map, id)] == 0;
                    const auto& waits = c.map[id].refit_after;
                    if (c.state.drained[p] != 0 && task.does == TaskDoes::level && open &&
                        std::find(waits.begin(), waits.end(), action.item) == waits.end())
                        c.object(Rule::not_filled, id); // level first, then closed
                }
            }
        ask_hold(c, fastener);
    }
    if (c.settled())
        return;
    VehicleAsk needs = needs_of(c.job, action);
    if (action.verb == Verb::tighten)
        needs = merged(needs, fastener.torque_after_vehicle);
    const VehicleAsk lacks = missing(needs, c.state.vehicle);
    if (asks_anything(lacks))
        c.objections.push_back({Rule::vehicle, {}, lacks});
}

void judge_return(Court& c, const Action& action) {
    if (is_back(c.job, c.state, action.item))
        return c.already(action.item);
    const std::size_t p = slot(c.map, action.item);
    if (c.state.went_with[p])
        c.object(Rule::not_there, c.state.went_with[p]);
    else if (c.state.bench_from[p] && c.state.parts[slot(c.map, c.state.bench_from[p])] == PartState::off)
        return ask_refit_order(c, action.item); // on the bench
    ask_refit_order(c, action.item);
    if (action.verb == Verb::fit) {
        if (!c.map.parts[p].support.empty() && c.state.propped[p] == 0)
            c.object(Rule::not_propped, action.item);
        std::vector<ItemId> by;
        for (const ItemId part : c.job.transfers) {
            const std::size_t t = slot(c.map, part);
            if (c.state.went_with[t] == action.item && c.state.transferred[t] == 0 && !c.state.bench_from[t])
                by.push_back(part);
        }
        c.object(Rule::not_transferred, std::move(by));
    }
    c.ask_vehicle(action);
}

void judge_fill(Court& c, const Action& action) {
    const std::size_t p = slot(c.map, action.item);
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
    if (!c.map.is_fastener(id))
        return is_back(c.job, c.state, id);
    switch (state_of(c, id)) {
    case FastenerState::tight:
    case FastenerState::cracked:
    case FastenerState::torqued:
        return true;
    case FastenerState::seated:
        return c.map.fastener(id).torque_after_vehicle.stands == Ask::no;
    default:
        return is_loose_piece(c.map.fastener(id).kind) && is_back(c.job, c.state, id);
    }
}

} // namespace

void judge_unprop(Court& c, const Action& action) {
    const std::size_t p = slot(c.map, action.item);
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
