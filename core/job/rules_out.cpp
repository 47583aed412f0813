// The rules on the way out.
#include <algorithm>

#include "core/job/court.hpp"

namespace boltwalk::inside {

void ask_after(Court& c, ItemId item) {
    if (!fact(c.job, item).after)
        return;
    std::vector<ItemId> by;
    for (const ItemId earlier : c.job.after[at(item.index)])
        if (earlier != item && !is_clear(c.job, c.state, earlier))
            by.push_back(earlier);
    c.object(Rule::after, std::move(by));
}

namespace {

/// Within a joint the nut comes first (the outermost, where there are several), then what lies on its side; on a stud
/// everything from the outside inwards.
void ask_joint_out(Court& c, ItemId item) {
    const auto joint = c.job.joint[slot(c.job, item)];
    const Fastener& fastener = c.map.fastener(item);
    bool has_nut = false, on_stud = false;
    for (const ItemId id : joint) {
        has_nut = has_nut || is_nut(kind_of(c.job, id));
        on_stud = on_stud || kind_of(c.job, id) == FastenerKind::stud;
    }
    std::vector<ItemId> by;
    for (const ItemId id : joint) {
        const Fastener& other = c.map.fastener(id);
        if (id == item || is_lock(other.kind) || is_clear(c.job, c.state, id))
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
    for (const ItemId part : c.job.carries[slot(c.job, fastener)]) {
        const std::size_t p = slot(c.job, part);
        if (c.state.parts[p] != PartState::off && c.state.parts[p] != PartState::aside && c.state.propped[p] == 0)
            by.push_back(part);
    }
    c.object(Rule::not_propped, std::move(by));
}

void ask_held_parts(Court& c, ItemId fastener) {
    if (!fact(c.job, fastener).joins)
        return;
    for (const ItemId part : c.job.holds[slot(c.job, fastener)]) {
        const Facts& held = fact(c.job, part);
        const std::size_t p = at(held.slot);
        if (c.state.parts[p] == PartState::off)
            continue;
        if (held.loaded && c.state.unloaded[p] == 0)
            c.object(Rule::loaded, part);
        if (held.adjust && c.state.marked[p] == 0)
            c.object(Rule::not_marked, part);
    }
}

} // namespace

void ask_hold(Court& c, ItemId fastener) {
    if (!fact(c.job, fastener).held_through)
        return;
    std::vector<ItemId> by;
    const std::int32_t own = c.job.kin[slot(c.job, fastener)];
    for (const ItemId part : c.map.fastener(fastener).held_through) {
        // It must still be there, and still be joined to something beside what is being undone or tightened.
        const auto joints = c.job.held_by[slot(c.job, part)];
        const bool joined = std::any_of(joints.begin(), joints.end(), [&](ItemId id) {
            return c.job.kin[slot(c.job, id)] != own && !is_freed(c.job, c.state, id);
        });
        const bool gone = part_state(c, part) == PartState::off || part_state(c, part) == PartState::aside;
        if (gone || (!joined && !joints.empty() && !fact(c.job, part).fixed))
            by.push_back(part);
    }
    c.object(Rule::hold_lost, std::move(by));
}

void judge_undo(Court& c, const Action& action) {
    const Facts& facts = fact(c.job, action.item);
    const std::size_t f = at(facts.slot);
    const FastenerState is = c.state.fasteners[f];
    if (is == FastenerState::out || (action.verb == Verb::loosen && is == FastenerState::slack))
        return c.already(action.item);
    ask_after(c, action.item);
    if (facts.pinned) {
        std::vector<ItemId> pins;
        for (const ItemId pin : c.job.secured_by[f])
            if (!is_clear(c.job, c.state, pin))
                pins.push_back(pin);
        c.object(Rule::secured, std::move(pins));
    }
    if (facts.jointed)
        ask_joint_out(c, action.item);
    if (action.verb == Verb::take_out && facts.drawn_late)
        for (const ItemId part : {c.map.fasteners[f].leaves_with, c.map.fasteners[f].captive_in})
            if (part && part_state(c, part) != PartState::off)
                c.object(Rule::cannot_be_drawn, part);
    if (facts.soaks && c.state.soaked[f] == 0)
        c.object(Rule::not_soaked, action.item);
    ask_held_parts(c, action.item);
    if (facts.fastener == FastenerKind::drain_plug)
        for (const ItemId part : c.job.holds[f])
            for (const ItemId plug : c.job.fill_plugs[slot(c.job, part)])
                if (state_of(c, plug) == FastenerState::tight)
                    c.object(Rule::fill_not_proven, plug);
    ask_hold(c, action.item);
    if (facts.carries && !is_lock(facts.fastener) && !is_loose_piece(facts.fastener))
        ask_supports(c, action.item);
    ask_shapes(c, action);
    c.ask_vehicle(action);
}

namespace {

/// What has to be out before a fluid is lost: the drain plugs, or, where there is none, the part's own draining.
void ask_drained(Court& c, ItemId part) {
    const std::size_t p = slot(c.job, part);
    if (!fact(c.job, part).fluid || c.state.drained[p] != 0)
        return;
    const auto plugs = c.job.drain_plugs[p];
    c.object(Rule::not_drained, plugs.empty() ? std::vector<ItemId>{part} : std::vector(plugs.begin(), plugs.end()));
}

} // namespace

namespace {

std::vector<ItemId> joined_by(const Court& c, const Action& action) {
    const Facts& facts = fact(c.job, action.item);
    if (!c.at_first || action.verb != Verb::take_off || facts.fixed || facts.supported)
        return boundary(c.job, c.state, action.item, action.verb == Verb::set_aside);
    const auto known = c.job.joined_at_first[at(facts.slot)];
    return {known.begin(), known.end()};
}

} // namespace

void judge_leave(Court& c, const Action& action) {
    const std::size_t p = slot(c.job, action.item);
    const Facts& facts = fact(c.job, action.item);
    const PartState is = c.state.parts[p];
    // What left in another's company can still be taken off that, on the bench.
    const bool on_bench = is == PartState::off && c.state.went_with[p];
    if ((is == PartState::off && !on_bench) || (action.verb == Verb::set_aside && is == PartState::aside) ||
        (action.verb == Verb::let_down && is == PartState::lowered))
        return c.already(action.item);
    ask_after(c, action.item);
    ask_shapes(c, action); // before what holds it is undone: else it hangs there, and cannot come
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
        std::vector<ItemId> by = joined_by(c, action);
        if (action.verb == Verb::take_off && facts.tethered)
            for (const ItemId line :
                 c.map.parts[p].tether) // a hose or cable that is still on, whatever holds its other end
                if (line != action.item && part_state(c, line) == PartState::on)
                    by.push_back(line);
        c.object(Rule::joined, std::move(by));
    }
    // Washers and spacers that its nuts and bolts have left behind would fall, uncounted. What holds other parts only
    // lies behind it, on a stud that stays.
    const auto comes_along = [&](ItemId piece) {
        const std::span<const ItemId> holds = c.job.holds[slot(c.job, piece)];
        return holds.empty() || std::find(holds.begin(), holds.end(), action.item) != holds.end();
    };
    std::vector<ItemId> pieces;
    for (const ItemId id : c.job.held_by[p])
        if (is_freed(c.job, c.state, id))
            for (const ItemId piece : c.job.joint[slot(c.job, id)])
                if (is_loose_piece(kind_of(c.job, piece)) && !is_clear(c.job, c.state, piece) && comes_along(piece))
                    pieces.push_back(piece);
    c.object(Rule::joint_order, std::move(pieces));
    if (on_bench || c.settled())
        return; // nothing of the vehicle's is at stake there
    // Fluid runs out of whatever tilts or leaves along with it, too.
    const bool full = std::any_of(c.job.fluids.begin(), c.job.fluids.end(),
                                  [&](ItemId id) { return c.state.drained[slot(c.job, id)] == 0; });
    if (full && action.verb == Verb::take_off)
        for (const ItemId member : hanging_on(c.job, c.state, action.item, false))
            ask_drained(c, member);
    if (full && action.verb == Verb::let_down)
        for (const ItemId member : moving_with(c.job, c.state, action.item))
            ask_drained(c, member);
    if (facts.opens)
        for (const ItemId opened : c.map.parts[p].opens)
            if (part_state(c, opened) != PartState::off)
                ask_drained(c, opened);
    if (facts.loaded && c.state.unloaded[p] == 0)
        c.object(Rule::loaded, action.item);
    if (facts.adjust && c.state.marked[p] == 0)
        c.object(Rule::not_marked, action.item);
    if (facts.supported && c.state.propped[p] == 0 && is != PartState::aside)
        c.object(Rule::not_propped, action.item);
    c.ask_vehicle(action);
}

} // namespace boltwalk::inside
