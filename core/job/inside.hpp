// What the sources of core/job share among themselves; no other module includes this.
#pragma once

#include <algorithm>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/job/job.hpp"

namespace boltwalk::inside {

/// All that a vehicle can be asked to be.
using AskOf = Ask(VehicleAsk::*);
inline constexpr AskOf vehicle_asks[] = {&VehicleAsk::stands, &VehicleAsk::chocked, &VehicleAsk::brake,
                                         &VehicleAsk::gear,   &VehicleAsk::battery, &VehicleAsk::straight};

// By the index that State and Job run by.
inline std::size_t slot(const Map& map, ItemId id) {
    return at(map[id].detail);
}
inline std::size_t slot(const Job& job, ItemId id) {
    return at(job.facts[at(id.index)].slot);
}
inline const Facts& fact(const Job& job, ItemId id) {
    return job.facts[at(id.index)];
}
inline bool is_part(const Job& job, ItemId id) {
    return fact(job, id).kind == ItemKind::part;
}
inline bool is_fastener(const Job& job, ItemId id) {
    return fact(job, id).kind == ItemKind::fastener;
}
inline bool is_task(const Job& job, ItemId id) {
    return fact(job, id).kind == ItemKind::task;
}
/// Which fastener it is; of a fastener.
inline FastenerKind kind_of(const Job& job, ItemId id) {
    return fact(job, id).fastener;
}

template <typename List, typename Name>
bool names(const List& list, const Name& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
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
inline bool is_loose_piece(FastenerKind kind) {
    return kind == FastenerKind::washer || kind == FastenerKind::spacer || kind == FastenerKind::shim;
}
/// Split pins, wires, tabs: they lock, and hold nothing by themselves.
inline bool is_lock(FastenerKind kind) {
    return kind == FastenerKind::split_pin || kind == FastenerKind::lock_wire || kind == FastenerKind::tab;
}
inline bool is_plug(FastenerKind kind) {
    return kind == FastenerKind::plug || kind == FastenerKind::drain_plug || kind == FastenerKind::fill_plug ||
           kind == FastenerKind::level_plug;
}
/// Says so in its `lock`: "self-locking" is one of the words between its commas and semicolons.
bool is_self_locking(const Fastener&);
/// An angle comes into its torque.
bool turns_by_angle(const Fastener&);
/// Goes home with a push: no thread to start by hand before it is tightened.
bool is_pushed(const Fastener&);
/// Joins what it holds: neither a loose piece, nor a lock, nor a plug.
bool joins(const Fastener&);

/// Every part with a support, by its slot, with what carries it: as stated, else every fastener on a path to the
/// ground.
Lists::Pairs find_carriers(const Job&);
/// Job::joined_at_first.
Lists::Pairs find_first_joints(const Job&);

/// Off, aside, let down, out, done: what an item's `after` asks for.
bool is_clear(const Job&, const State&, ItemId);
/// Back where it belongs: on, torqued (or seated while its torque waits), done.
bool is_back(const Job&, const State&, ItemId);

/// The action by which an item leaves; none for what stays (a fixed part, a stud that only its nut frees, a task of the
/// way back).
std::optional<Action> strip_goal(const Job&, ItemId);

/// The part in whose company a part is off the vehicle: another's, or its own. For a part that is off.
ItemId root_of(const State&, std::size_t part_slot, ItemId part);

/// What an action asks of the vehicle: stated, and what follows (work from under wants stands, a brake as counter-hold
/// wants the brake on).
VehicleAsk needs_of(const Job&, const Action&);
/// The same in a state: what hangs on this fastener and its like alone is not undone by half on the wheels, where the
/// others need it raised.
VehicleAsk needs_now(const Job&, const State&, const Action&);
/// The parts that hang on part of the fasteners which carry them, the others being undone, or about to be (`undoing`):
/// on no prop, and by no whole joint. What gives way hangs on nothing.
std::vector<ItemId> half_undone(const Job&, const State&, ItemId undoing = {});
/// The fastener counts where a joint is whole or not: it holds by itself, and is turned.
bool makes_whole(const Job&, ItemId fastener);
/// The fields of `ask` that `is` does not meet; nothing in all fields when it is met.
VehicleAsk missing(const VehicleAsk& ask, const VehicleAsk& is);
/// On stands, or held by neither brake nor gear: only with chocks under the wheels that stay down.
bool needs_chocks(const VehicleAsk&);
/// Seated in its turn, tightened only when something else is back or so.
bool torque_waits(const Fastener&);
/// What of the vehicle its torque waits for: stated, and the ground for what holds a road wheel.
VehicleAsk torque_needs(const Job&, ItemId fastener);
/// `ask` written over `is`.
VehicleAsk merged(const VehicleAsk& is, const VehicleAsk& ask);
bool asks_anything(const VehicleAsk&);

/// Fasteners not freed between what hangs on `part` alone and the rest. With `rigid_only`, what is flexible joins
/// nothing.
std::vector<ItemId> boundary(const Job&, const State&, ItemId part, bool rigid_only);

/// What an estimate objects to, and by which of its alternatives.
struct InTheWay {
    std::int32_t estimate = -1; ///< of Job::estimates
    std::vector<ItemId> by;     ///< empty: nothing
};
/// The first estimate of an item that is not free for this action: its alternative with the fewest still in the way,
/// what never goes least of all; ties to the handier. Nothing where the shapes do not say.
std::optional<InTheWay> in_the_way(const Job&, const State&, const Action&, Question);
/// By what this is got out of the way, in this state; nothing where nothing is known to.
std::vector<Action> gets_out_of_the_way(const Job&, const State&, ItemId);

/// What such an objection to an action rests on is taken out of the job: each pair, or only those with `by`.
std::vector<Dropped> drop_pairs(Job&, const State&, const Action&, Rule, ItemId by);
/// Where the shapes do say something, but in every alternative something is in the way that never goes: the alternative
/// with the least of that. Else null.
const Alternative* never_free(const Job&, const State&, const Action&, Question);

/// judge() by what is stated alone.
std::vector<Objection> judge_stated(const Job&, const State&, const Action&);

/// judge() in the state as found, as far as fasteners and parts go: what joins a part is known for all of them then,
/// and need not be searched for.
std::vector<Objection> judge_at_first(const Job&, const State&, const Action&, bool first_only);

/// The part on the bench that this one would be taken from; none while it is on the vehicle.
ItemId bench_of(const Job&, const State&, ItemId part);
/// As hangs_on(); with `rigid_only`, what is flexible joins nothing.
std::vector<ItemId> hanging_on(const Job&, const State&, ItemId part, bool rigid_only);
/// A part and what is away in its company: bolted to it, straight or through others that are.
std::vector<ItemId> company_of(const Job&, const State&, ItemId part);
/// What goes down along with a part: everything rigidly joined to it, where none of that stays; else itself alone.
std::vector<ItemId> moving_with(const Job&, const State&, ItemId part);

/// Does anything rigid lead from a part to the body that stays, props left out of account?
bool rigidly_held(const Job&, const State&, ItemId part);

/// What holds the other side while one end of a joint is turned, and from where: as stated at either end. `by` is empty
/// where nobody says with what.
struct Hold {
    std::string by;
    Place from = Place::not_stated;
};
bool states_hold(const Fastener&);
std::optional<Hold> hold_of(const Job&, Verb, ItemId fastener);
/// How many it takes: as stated, one to hold it up, one at the other side of a bolt.
int people_for(const Job&, Verb, ItemId);

/// The actions that would meet an objection, in order; empty when nothing on the map can.
std::vector<Action> mends(const Job&, const State&, const Action&, const Objection&);

/// One action as it was put into an order.
struct Done {
    Action action;
    std::int32_t author_step = -1;
    bool by_rules = false;
};

/// Actions one after the other, what was found on the way, and where it led.
struct Order {
    std::vector<Done> done;
    std::vector<Finding> findings;
    State end;
    std::vector<Dropped> dropped;
};

/// An order down, from the rules alone. `goal` as for plan_strip(). Worked out twice where it needs penetrating oil:
/// the second time with the oil, which the first has shown to be needed, before anything else.
Order work_out(const Job&, ItemId goal);

/// The same for every item of the map, in no particular place: what can come off at all.
Order work_out_everything(const Job&);

/// An order's actions gathered into steps, with what each frees and why it comes when it does; its findings, and on the
/// way out those that only a whole order gives: what hangs on nothing, oil with no time to soak. `begin` is the state
/// before the first.
void gather(const Job&, const State& begin, Order, Plan&);
/// What is shaken by half, on both ways.
void find_half_undone(const Job&, State begin, Plan&);
void judge_order(const Job&, const State& begin, const std::vector<Done>&, Plan&);

/// An objection to an action of an order, in words. `author_step` is -1 where the author states none.
Finding in_words(const Job&, const Action&, const Objection&, std::int32_t author_step);

/// Carries actions out one after the other, bringing about first whatever stands in their way and can be mended, and
/// reporting what cannot. Used to replay an author's order and for the way back.
struct Lock;
class Walk {
public:
    Walk(const Job& job, State state) : job_(&job), order_{{}, {}, std::move(state), {}}, open_(job.facts.size(), 0) {}

    /// Author's steps later than this may not be brought forward to mend anything.
    void allow_steps_to(std::int32_t step) { latest_step_ = step; }
    std::int32_t latest_step() const { return latest_step_; }
    /// The shapes are not asked any more.
    void go_by_what_is_stated() { stated_only_ = true; }
    void bring(const Action&);
    /// By what is stated alone, and without a fault: no estimate is worth one.
    bool comes_of_itself(const Action&) const;
    /// This lock is a finding, and its links are none of their own.
    void explain(const Lock&);
    std::size_t found() const { return order_.findings.size(); }

    const State& state() const { return order_.end; }
    /// What was done, found and reached; the walk is over.
    Order order() { return std::move(order_); }

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
    void drop_what_is_left(const Action&);

    const Job* job_;
    std::shared_ptr<Job> own_; ///< once an estimate had to be dropped: the job without it
    bool stated_only_ = false;
    Order order_;
    std::int32_t latest_step_ = INT32_MAX;
    std::vector<std::uint32_t> open_; ///< item: a bit for each verb that is being brought about
    std::map<std::pair<Rule, std::vector<std::int32_t>>, std::size_t> reported_;
    std::set<std::pair<ItemId, ItemId>> explained_; ///< the one waits for the other, in a lock that was named
};

} // namespace boltwalk::inside
