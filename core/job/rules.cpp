// The rules: what stands in the way of an action. This is their one place; orders, checks, the viewer and later the log
// ask here.
#include <algorithm>

#include "core/job/inside.hpp"

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
    case Rule::not_transferred:
        return "transfer-first";
    }
    return "";
}

namespace inside {

bool asks_anything(const VehicleAsk& ask) {
    return !(ask == VehicleAsk{});
}

VehicleAsk missing(const VehicleAsk& ask, const VehicleAsk& is) {
    VehicleAsk left;
    const auto each = [](Ask want, Ask have, Ask& out) {
        out = want == Ask::nothing || want == have ? Ask::nothing : want;
    };
    each(ask.stands, is.stands, left.stands);
    each(ask.chocked, is.chocked, left.chocked);
    each(ask.brake, is.brake, left.brake);
    each(ask.gear, is.gear, left.gear);
    each(ask.battery, is.battery, left.battery);
    each(ask.straight, is.straight, left.straight);
    return left;
}

VehicleAsk merged(const VehicleAsk& is, const VehicleAsk& ask) {
    VehicleAsk out = is;
    const auto each = [](Ask want, Ask& have) {
        if (want != Ask::nothing)
            have = want;
    };
    each(ask.stands, out.stands);
    each(ask.chocked, out.chocked);
    each(ask.brake, out.brake);
    each(ask.gear, out.gear);
    each(ask.battery, out.battery);
    each(ask.straight, out.straight);
    return out;
}

VehicleAsk needs_of(const Job& job, const Action& action) {
    if (!action.item)
        return {};
    const Map& map = *job.map;
    const Item& item = map[action.item];
    VehicleAsk needs = item.needs;
    VehicleAsk made;
    if (item.kind == ItemKind::task)
        made = map.task(action.item).sets;
    if (item.from == Place::under && needs.stands == Ask::nothing && made.stands == Ask::nothing)
        needs.stands = Ask::yes;
    switch (action.verb) {
    case Verb::soak:
    case Verb::mark:
    case Verb::unload:
    case Verb::prop:
    case Verb::prove:
    case Verb::drain:
    case Verb::fill:
    case Verb::unprop:
        // Preparing an item asks only that one can be where it is.
        return {.stands = needs.stands, .chocked = needs.chocked};
    case Verb::transfer: // on the bench
        return {};
    case Verb::start: // by hand, wherever the shaft stands
        needs.brake = needs.gear = Ask::nothing;
        return needs;
    default:
        break;
    }
    if (item.kind == ItemKind::fastener) {
        const Fastener& fastener = map.fastener(action.item);
        if (fastener.counter == "brake" && needs.brake == Ask::nothing)
            needs.brake = Ask::yes;
        if (fastener.counter == "gear" && needs.gear == Ask::nothing)
            needs.gear = Ask::yes;
    }
    return needs;
}

} // namespace inside

namespace {

/// Collects objections, and stops asking when one is enough.
class Court {
public:
    Court(const Job& the_job, const State& the_state, bool first_only)
        : job(the_job), map(*the_job.map), state(the_state), first_only_(first_only) {}

    bool settled() const { return first_only_ && !objections.empty(); }

    void object(Rule rule, ItemId by) { object(rule, std::vector<ItemId>{by}); }

    void object(Rule rule, std::vector<ItemId> by) {
        if (settled() || by.empty())
            return;
        for (Objection& objection : objections)
            if (objection.rule == rule) {
                for (const ItemId id : by)
                    if (std::find(objection.by.begin(), objection.by.end(), id) == objection.by.end())
                        objection.by.push_back(id);
                return;
            }
        std::sort(by.begin(), by.end());
        by.erase(std::unique(by.begin(), by.end()), by.end());
        objections.push_back({rule, std::move(by), {}});
    }

    void already(ItemId item) { objections.push_back({Rule::so_already, {item}, {}}); }

    void ask_vehicle(const Action& action) {
        const VehicleAsk lacks = missing(needs_of(job, action), state.vehicle);
        if (asks_anything(lacks) && !settled())
            objections.push_back({Rule::vehicle, {}, lacks});
    }

    const Job& job;
    const Map& map;
    const State& state;
    std::vector<Objection> objections;

private:
    bool first_only_;
};

FastenerState state_of(const Court& c, ItemId fastener) {
    return c.state.fasteners[slot(c.map, fastener)];
}
PartState part_state(const Court& c, ItemId part) {
    return c.state.parts[slot(c.map, part)];
}

// ------------------------------------------------------------------------------------------------------ on the way out

void ask_after(Court& c, ItemId item) {
    std::vector<ItemId> by;
    for (const ItemId earlier : c.map[item].after)
        if (earlier != item && !is_clear(c.job, c.state, earlier))
            by.push_back(earlier);
    c.object(Rule::after, std::move(by));
}

/// Within a joint the nut comes first (the outermost, where there are several), then what lies on its side; on a stud
/// everything from the outside inwards.
void ask_joint_out(Court& c, const Fastener& fastener) {
    const auto& others = c.job.joint[slot(c.map, fastener.item)];
    if (others.empty())
        return;
    bool has_nut = is_nut(fastener.kind), on_stud = fastener.kind == FastenerKind::stud;
    for (const ItemId id : others) {
        has_nut = has_nut || is_nut(c.map.fastener(id).kind);
        on_stud = on_stud || c.map.fastener(id).kind == FastenerKind::stud;
    }
    std::vector<ItemId> by;
    for (const ItemId id : others) {
        const Fastener& other = c.map.fastener(id);
        if (is_lock(other.kind) || is_clear(c.job, c.state, id))
            continue;
        const bool lies_over = fastener.stack && other.stack && *other.stack > *fastener.stack;
        bool first = false;
        if (is_nut(other.kind))
            first = !is_nut(fastener.kind) || lies_over;
        else if (is_loose_piece(other.kind))
            first = on_stud && (fastener.kind == FastenerKind::stud || lies_over);
        else
            first = is_loose_piece(fastener.kind) && !has_nut; // a washer comes off with its bolt, not before
        if (first)
            by.push_back(id);
    }
    c.object(Rule::joint_order, std::move(by));
}

void ask_supports(Court& c, ItemId fastener) {
    std::vector<ItemId> by;
    for (const ItemId part : c.job.carries[slot(c.map, fastener)]) {
        const std::size_t p = slot(c.map, part);
        if (c.state.parts[p] != PartState::off && c.state.parts[p] != PartState::aside && c.state.propped[p] == 0)
            by.push_back(part);
    }
    c.object(Rule::not_propped, std::move(by));
}

void ask_held_parts(Court& c, const Fastener& fastener) {
    for (const ItemId part : fastener.holds) {
        const std::size_t p = slot(c.map, part);
        if (c.state.parts[p] != PartState::on || !joins(fastener))
            continue;
        const Part& held = c.map.parts[p];
        if (!held.loaded.empty() && c.state.unloaded[p] == 0)
            c.object(Rule::loaded, part);
        if (held.adjust && c.state.marked[p] == 0)
            c.object(Rule::not_marked, part);
    }
}

void ask_hold(Court& c, const Fastener& fastener) {
    std::vector<ItemId> by;
    for (const ItemId part : fastener.held_through)
        if (part_state(c, part) == PartState::off || part_state(c, part) == PartState::aside)
            by.push_back(part);
    c.object(Rule::hold_lost, std::move(by));
}

void judge_undo(Court& c, const Action& action) {
    const Fastener& fastener = c.map.fastener(action.item);
    const FastenerState is = state_of(c, action.item);
    if (is == FastenerState::out || (action.verb == Verb::loosen && is == FastenerState::slack))
        return c.already(action.item);
    ask_after(c, action.item);
    std::vector<ItemId> pins;
    for (const ItemId pin : c.job.secured_by[slot(c.map, action.item)])
        if (!is_clear(c.job, c.state, pin))
            pins.push_back(pin);
    c.object(Rule::secured, std::move(pins));
    ask_joint_out(c, fastener);
    if (action.verb == Verb::take_out)
        for (const ItemId part : {fastener.leaves_with, fastener.captive_in})
            if (part && part_state(c, part) != PartState::off)
                c.object(Rule::cannot_be_drawn, part);
    if (fastener.soak_min && *fastener.soak_min > 0 && c.state.soaked[slot(c.map, action.item)] == 0)
        c.object(Rule::not_soaked, action.item);
    ask_held_parts(c, fastener);
    if (fastener.kind == FastenerKind::drain_plug)
        for (const ItemId part : fastener.holds)
            for (const ItemId plug : c.job.fill_plugs[slot(c.map, part)])
                if (state_of(c, plug) == FastenerState::tight)
                    c.object(Rule::fill_not_proven, plug);
    ask_hold(c, fastener);
    if (!is_lock(fastener.kind) && !is_loose_piece(fastener.kind))
        ask_supports(c, action.item);
    c.ask_vehicle(action);
}

/// What has to be out before a fluid is lost: the drain plugs, or, where there is none, the part's own draining.
void ask_drained(Court& c, ItemId part) {
    const std::size_t p = slot(c.map, part);
    if (c.map.parts[p].fluid.empty() || c.state.drained[p] != 0)
        return;
    c.object(Rule::not_drained, c.job.drain_plugs[p].empty() ? std::vector<ItemId>{part} : c.job.drain_plugs[p]);
}

void judge_leave(Court& c, const Action& action) {
    const std::size_t p = slot(c.map, action.item);
    const Part& part = c.map.parts[p];
    const PartState is = c.state.parts[p];
    // What left in another's company can still be taken off that, on the bench.
    const bool on_bench = is == PartState::off && c.state.went_with[p];
    if ((is == PartState::off && !on_bench) || (action.verb == Verb::set_aside && is == PartState::aside) ||
        (action.verb == Verb::let_down && is == PartState::lowered))
        return c.already(action.item);
    ask_after(c, action.item);
    if (c.settled())
        return;
    if (action.verb == Verb::let_down) {
        std::vector<ItemId> by;
        for (const ItemId id : c.job.carriers[p])
            if (!is_freed(c.job, c.state, id))
                by.push_back(id);
        if (by.empty() && rigidly_held(c.job, c.state, action.item))
            by = boundary(c.job, c.state, action.item, true);
        c.object(Rule::joined, std::move(by));
    } else {
        c.object(Rule::joined, boundary(c.job, c.state, action.item, action.verb == Verb::set_aside));
    }
    // Washers and spacers that its nuts and bolts have left behind would fall, uncounted.
    std::vector<ItemId> pieces;
    for (const ItemId id : c.job.held_by[p])
        if (is_freed(c.job, c.state, id))
            for (const ItemId piece : c.job.joint[slot(c.map, id)])
                if (is_loose_piece(c.map.fastener(piece).kind) && !is_clear(c.job, c.state, piece))
                    pieces.push_back(piece);
    c.object(Rule::joint_order, std::move(pieces));
    if (on_bench)
        return; // nothing of the vehicle's is at stake there
    if (action.verb != Verb::set_aside)
        ask_drained(c, action.item);
    for (const ItemId opened : part.opens)
        if (part_state(c, opened) != PartState::off)
            ask_drained(c, opened);
    if (!part.loaded.empty() && c.state.unloaded[p] == 0)
        c.object(Rule::loaded, action.item);
    if (part.adjust && c.state.marked[p] == 0)
        c.object(Rule::not_marked, action.item);
    if (!part.support.empty() && c.state.propped[p] == 0 && is != PartState::aside)
        c.object(Rule::not_propped, action.item);
    c.ask_vehicle(action);
}

// ----------------------------------------------------------------------------------------------------- on the way back

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
    for (const ItemId id : c.job.joint[slot(c.map, fastener.item)]) {
        const Fastener& other = c.map.fastener(id);
        if (is_lock(other.kind) || state_of(c, id) != FastenerState::out)
            continue;
        const bool lies_under = fastener.stack && other.stack && *other.stack < *fastener.stack;
        bool first = false;
        if (is_nut(fastener.kind))
            first = !is_nut(other.kind) || lies_under;
        else if (is_loose_piece(fastener.kind))
            first = !is_nut(other.kind) && (!is_loose_piece(other.kind) || lies_under);
        if (first)
            by.push_back(id);
    }
    c.object(Rule::joint_order, std::move(by));
}

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

/// Those of its group that join the same parts and still lie beside the car.
void ask_all_started(Court& c, const Fastener& fastener) {
    if (is_pushed(fastener) || is_plug(fastener.kind))
        return; // a plug closes its own hole only
    std::vector<ItemId> by;
    for (const ItemId id : c.job.joint[slot(c.map, fastener.item)])
        if (state_of(c, id) == FastenerState::out && !is_lock(c.map.fastener(id).kind))
            by.push_back(id);
    const std::int32_t group = c.map[fastener.item].group;
    if (group < 0)
        return c.object(Rule::not_all_started, std::move(by));
    for (const ItemId id : c.map.groups[at(group)].members) {
        if (id == fastener.item || !c.map.is_fastener(id))
            continue;
        const Fastener& mate = c.map.fastener(id);
        const FastenerState is = state_of(c, id);
        if ((is == FastenerState::out || is == FastenerState::slack) && !is_pushed(mate) &&
            mate.holds == fastener.holds)
            by.push_back(id);
    }
    c.object(Rule::not_all_started, std::move(by));
}

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
        std::vector<ItemId> by;
        for (const Part& part : c.map.parts)
            if (part.transfer && c.state.went_with[slot(c.map, part.item)] == action.item &&
                c.state.transferred[slot(c.map, part.item)] == 0 && !c.state.bench_from[slot(c.map, part.item)])
                by.push_back(part.item);
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

void judge_unprop(Court& c, const Action& action) {
    const std::size_t p = slot(c.map, action.item);
    if (c.state.propped[p] == 0)
        return c.already(action.item);
    std::vector<ItemId> by;
    if (c.state.parts[p] != PartState::off)
        for (const ItemId id : c.job.carriers[p])
            if (!is_back(c.job, c.state, id) && !(c.map.is_fastener(id) && state_of(c, id) == FastenerState::cracked))
                by.push_back(id);
    c.object(Rule::still_carried, std::move(by));
    c.ask_vehicle(action);
}

void judge_task(Court& c, const Action& action) {
    const Task& task = c.map.task(action.item);
    if (c.state.done[slot(c.map, action.item)] != 0)
        return c.already(action.item);
    if (c.state.refit) {
        ask_refit_order(c, action.item);
    } else {
        ask_after(c, action.item);
        if (task.does == TaskDoes::drain)
            for (const ItemId part : task.to)
                if (c.map.is_part(part))
                    for (const ItemId plug : c.job.fill_plugs[slot(c.map, part)])
                        if (state_of(c, plug) == FastenerState::tight)
                            c.object(Rule::fill_not_proven, plug);
        if (task.does == TaskDoes::prove)
            for (const ItemId plug : task.to)
                ask_after(c, plug);
    }
    for (const ItemId part : task.to) {
        if (!c.map.is_part(part))
            continue;
        const bool empty = c.state.drained[slot(c.map, part)] != 0 && c.state.filled[slot(c.map, part)] == 0;
        if (empty && task.does == TaskDoes::fill)
            judge_fill(c, {Verb::fill, part, {}});
        if (empty && task.does == TaskDoes::level)
            c.object(Rule::not_filled, part);
    }
    c.ask_vehicle(action);
    // On stands, or rolling free: only with chocks under the wheels that stay down.
    if ((task.sets.stands == Ask::yes) && merged(c.state.vehicle, task.sets).chocked != Ask::yes && !c.settled())
        c.objections.push_back({Rule::vehicle, {}, {.chocked = Ask::yes}});
}

void judge_prepare(Court& c, const Action& action) {
    const std::size_t i = slot(c.map, action.item);
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
    default:
        break;
    }
    if (so)
        return c.already(action.item);
    if (action.verb == Verb::prove || action.verb == Verb::soak)
        ask_after(c, action.item); // it must be reached
    if (action.verb == Verb::drain)
        for (const ItemId plug : c.job.fill_plugs[i])
            if (state_of(c, plug) == FastenerState::tight)
                c.object(Rule::fill_not_proven, plug);
    c.ask_vehicle(action);
}

std::vector<Objection> hear(const Job& job, const State& state, const Action& action, bool first_only) {
    Court c(job, state, first_only);
    switch (action.verb) {
    case Verb::set_vehicle:
        if (!asks_anything(missing(action.vehicle, state.vehicle)))
            c.objections.push_back({Rule::so_already, {}, {}});
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
        judge_prepare(c, action);
        break;
    }
    return std::move(c.objections);
}

} // namespace

std::vector<Objection> judge(const Job& job, const State& state, const Action& action) {
    return hear(job, state, action, false);
}

std::vector<Objection> judge_first(const Job& job, const State& state, const Action& action) {
    return hear(job, state, action, true);
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

} // namespace boltwalk
