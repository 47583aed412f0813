// What the sources of core/job share among themselves; no other module includes this.
#pragma once

#include <optional>
#include <vector>

#include "core/job/job.hpp"

namespace boltwalk::inside {

inline std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

// By the index that State and Job run by.
inline std::size_t slot(const Map& map, ItemId id) {
    return at(map[id].detail);
}

/// From which mass on a part is no load for one person's arms: the figure for men of the lifting filter in HSE INDG143,
/// for a load held close at knuckle height (16 kg for women, less in every other posture). From memory; the leaflet was
/// not seen.
constexpr double heavy_kg = 25;

/// A part leaves its place.
bool leaves(Verb);
/// What an item's own `step` is about; preparing it (oil, marks, props) has no step of its own.
bool is_own_doing(Verb);

/// Washers, spacers, shims: they lie in a joint and hold nothing by themselves.
bool is_loose_piece(FastenerKind);
/// Split pins, wires, tabs: they lock, and hold nothing by themselves.
bool is_lock(FastenerKind);
bool is_plug(FastenerKind);
bool is_nut(FastenerKind);
/// Goes home with a push: no thread to start by hand before it is tightened.
bool is_pushed(const Fastener&);
/// Joins what it holds: neither a loose piece, nor a lock, nor a plug.
bool joins(const Fastener&);

/// Off, aside, let down, out, done: what an item's `after` asks for.
bool is_clear(const Job&, const State&, ItemId);
/// Back where it belongs: on, torqued (or seated while its torque waits), done.
bool is_back(const Job&, const State&, ItemId);
/// On the way back: does this item have to do anything at all?
bool is_untouched(const Job&, const State&, ItemId);

/// The action by which an item leaves; none for what stays (a fixed part, a stud that only its nut frees, a task of the
/// way back).
std::optional<Action> strip_goal(const Job&, ItemId);

/// The part in whose company a part is off the vehicle: another's, or its own. For a part that is off.
ItemId root_of(const State&, std::size_t part_slot, ItemId part);

/// What an action asks of the vehicle: stated, and what follows (work from under wants stands, a brake as counter-hold
/// wants the brake on).
VehicleAsk needs_of(const Job&, const Action&);
/// The fields of `ask` that `is` does not meet; nothing in all fields when it is met.
VehicleAsk missing(const VehicleAsk& ask, const VehicleAsk& is);
/// On stands, or held by neither brake nor gear: only with chocks under the wheels that stay down.
bool needs_chocks(const VehicleAsk&);
/// Seated in its turn, tightened only when something else is back or so.
bool torque_waits(const Fastener&);
/// `ask` written over `is`.
VehicleAsk merged(const VehicleAsk& is, const VehicleAsk& ask);
bool asks_anything(const VehicleAsk&);

/// Fasteners not freed between what hangs on `part` alone and the rest. With `rigid_only`, what is flexible joins
/// nothing.
std::vector<ItemId> boundary(const Job&, const State&, ItemId part, bool rigid_only);

/// The part on the bench that this one would be taken from; none while it is on the vehicle.
ItemId bench_of(const Job&, const State&, ItemId part);
/// As hangs_on(); with `rigid_only`, what is flexible joins nothing.
std::vector<ItemId> hanging_on(const Job&, const State&, ItemId part, bool rigid_only);
/// What goes down along with a part: everything rigidly joined to it, where none of that stays; else itself alone.
std::vector<ItemId> moving_with(const Job&, const State&, ItemId part);

/// Does anything rigid lead from a part to the body that stays, props left out of account?
bool rigidly_held(const Job&, const State&, ItemId part);

/// The actions that would meet an objection, in order; empty when nothing on the map can.
std::vector<Action> mends(const Job&, const State&, const Action&, const Objection&);

/// One action as it was put into an order.
struct Done {
    Action action;
    std::int32_t author_step = -1;
    bool by_rules = false;
};

/// Actions gathered into steps, with what each frees and why it comes when it does. `begin` is the state before the
/// first.
void gather(const Job&, const State& begin, const std::vector<Done>&, Plan&);

/// Findings that a whole order gives: what hangs on nothing, oil with no time to soak, what stays open.
void judge_order(const Job&, const State& begin, const std::vector<Done>&, Plan&);

/// An objection to an action of an order, in words. `author_step` is -1 where the author states none.
Finding in_words(const Job&, const Action&, const Objection&, std::int32_t author_step);

/// Carries actions out one after the other, bringing about first whatever stands in their way and can be mended, and
/// reporting what cannot. Used to replay an author's order and for the way back.
class Walk {
public:
    Walk(const Job& job, State state) : job_(job), state_(std::move(state)) {}

    /// Author's steps later than this may not be brought forward to mend anything.
    void allow_steps_to(std::int32_t step) { latest_step_ = step; }
    void bring(const Action&);

    const State& state() const { return state_; }
    std::vector<Done> done;
    std::vector<Finding> findings;

private:
    struct Frame {
        Action action;
        std::vector<Action> todo;
        std::size_t next = 0;
        int rounds = 0;
    };
    bool may_bring(const Action&) const;
    void report(const Action&, const Objection&);
    void carry_out(const Action&);

    const Job& job_;
    State state_;
    std::int32_t latest_step_ = INT32_MAX;
    std::vector<std::pair<std::pair<Rule, std::vector<std::int32_t>>, std::size_t>> reported_;
};

} // namespace boltwalk::inside
