// The rules on the way out.
#include <algorithm>

#include "core/job/court.hpp"

namespace boltwalk::inside {

void ask_after(Court& c, ItemId item) {
    std::vector<ItemId> by;
    for (const ItemId earlier : c.map[item].after)
        if (earlier != item && !is_clear(c.job, c.state, earlier))
            by.push_back(earlier);
    c.object(Rule::after, std::move(by));
}

namespace {

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
        if (c.state.parts[p] == PartState::off || !joins(fastener))
            continue;
        const Part& held = c.map.parts[p];
        if (!held.loaded.empty() && c.state.unloaded[p] == 0)
            c.object(Rule::loaded, part);
        if (held.adjust && c.state.marked[p] == 0)
            c.object(Rule::not_marked, part);
    }
}

} // namespace

void ask_hold(Court& c, const Fastener& fastener) {
    std::vector<ItemId> by;
    const std::int32_t own = c.job.kin[slot(c.map, fastener.item)];
    for (const ItemId part : fastener.held_through) {
        // It must still be there, and still be joined to something beside what is being undone or tightened.
        const auto& joints = c.job.held_by[slot(c.map, part)];
        const bool joined = std::any_of(joints.begin(), joints.end(), [&](ItemId id) {
            return c.job.kin[slot(c.map, id)] != own && !is_freed(c.job, c.state, id);
        });
        const bool gone = part_state(c, part) == PartState::off || part_state(c, part) == PartState::aside;
        if (gone || (!joined && !joints.empty() && !c.map.part(part).fixed))
            by.push_back(part);
    }
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

namespace {

/// What has to be out before a fluid is lost: the drain plugs, or, where there is none, the part's own draining.
void ask_drained(Court& c, ItemId part) {
    const std::size_t p = slot(c.map, part);
    if (c.map.parts[p].fluid.empty() || c.state.drained[p] != 0)
        return;
    c.object(Rule::not_drained, c.job.drain_plugs[p].empty() ? std::vector<ItemId>{part} : c.job.drain_plugs[p]);
}

} // namespace

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
        std::vector<ItemId> by = boundary(c.job, c.state, action.item, action.verb == Verb::set_aside);
        if (action.verb == Verb::take_off)
            for (const ItemId line : part.tether) // a hose or cable that is still on, whatever holds its other end
                if (line != action.item && part_state(c, line) == PartState::on)
                    by.push_back(line);
        c.object(Rule::joined, std::move(by));
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
    // Fluid runs out of whatever tilts or leaves along with it, too.
    if (action.verb == Verb::take_off)
        for (const ItemId member : hanging_on(c.job, c.state, action.item, false))
            ask_drained(c, member);
    if (action.verb == Verb::let_down)
        for (const ItemId member : moving_with(c.job, c.state, action.item))
            ask_drained(c, member);
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

} // namespace boltwalk::inside
