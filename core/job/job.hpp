// The job: one assembly, its states, and the one set of rules that says which change of state is legal.
//
//   prepare()      what follows from a map once and for all (who holds whom, who carries whom)
//   judge()        is this action legal in this state, and if not, what stands in its way
//   apply()        the state after an action, whether it was legal or not: what was really done is never refused
//   plan_strip()   an order down: the author's own, replayed and completed, or one worked out
//   plan_refit()   the way back, by the same rules and the refit's own
//   check()        every finding of a map: of reading, of the order down, of the way back
//   what_holds()   what still holds this part, in a state
//   card_of()      a step as words and figures, the same for terminal, window and paper
//   tightening.hpp in which order, in how many passes, to what and with which wrench a joint is tightened; what speaks
//                  against a torque; what to look at after the first drive
//
// Nothing here measures geometry. The rules rest on what the author stated, and, where a job is handed estimates
// (estimated.hpp), on those beside it: never over it. Everything is deterministic, ties go by file order, and budgets
// are counted, never timed. Nothing throws on what a file may hold.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "core/geometry/estimate.hpp"
#include "core/map/map.hpp"

namespace boltwalk {

// ---- state

enum class FastenerState : std::uint8_t {
    tight,   ///< as found
    cracked, ///< broken loose and nipped again
    slack,   ///< undone but still there (captive, slotted bracket, leaves with its part)
    out,
    started, ///< refit: turned in by hand
    seated,  ///< refit: run down, its torque waits for something
    torqued, ///< refit: final torque
};

/// Propped is told apart (State::propped), because what is lowered stands on its prop too.
enum class PartState : std::uint8_t { on, lowered, aside, off };

/// How everything is. Vectors run parallel to Map::fasteners, ::parts and ::tasks.
struct State {
    VehicleAsk vehicle; ///< every field yes or no, but `straight`, which is unknown (nothing) until someone sets it
    std::vector<FastenerState> fasteners;
    std::vector<PartState> parts;
    std::vector<ItemId> went_with;  ///< the part in whose company this one left (or hangs lowered), or none
    std::vector<ItemId> bench_from; ///< taken off on the bench from this part, which was off already; none otherwise
    std::vector<std::uint8_t> propped, unloaded, marked, drained, filled, transferred; ///< by part
    std::vector<std::uint8_t> unmated; ///< by part: fitted, and nobody has yet said that its faces meet
    std::vector<std::uint8_t> soaked;  ///< by fastener
    std::vector<std::uint8_t> done;    ///< by task, on the present way
    bool refit = false;                ///< on the way back
};

// ---- actions

enum class Verb : std::uint8_t {
    set_vehicle, ///< no item; Action::vehicle says how it is to be
    do_task,
    // on the way out
    soak,      ///< a fastener, with penetrating oil
    mark,      ///< a part's adjusted position
    unload,    ///< a part under spring, twist, weight or pressure
    prop,      ///< a part
    prove,     ///< a plug: shown to come loose, nipped again
    drain,     ///< a part's fluid, where no drain plug is on the map
    loosen,    ///< a fastener: undone, it stays where it is
    take_out,  ///< a fastener
    let_down,  ///< a part: lowered
    set_aside, ///< a part: moved clear, still tethered
    take_off,  ///< a part, and what hangs on it alone
    // on the way back
    transfer, ///< a part that left with the unit: over to its replacement
    fit,      ///< a part: off to on
    put_back, ///< a part: aside to on
    raise,    ///< a part: lowered to on
    start,    ///< a fastener: by hand
    seat,     ///< a fastener: run down; its torque waits
    tighten,  ///< a fastener: final torque; a clip or connector: home
    fill,     ///< a part's fluid, to its level
    unprop,   ///< a part: the prop goes
    mate,     ///< a heavy part that was fitted: dowels, splines, faces meeting by hand all round
};

struct Action {
    Verb verb = Verb::do_task;
    ItemId item;
    VehicleAsk vehicle; ///< for set_vehicle
};

/// The rules, each a reason why an action is not legal (yet). The word in quotes is the finding's `rule`.
enum class Rule : std::uint8_t {
    so_already,      ///< "so-already": nothing to do
    after,           ///< "after": stated: that must be off, out or done first
    secured,         ///< "secured": a pin, wire or tab locks it
    joint_order,     ///< "joint-order": the nut, or what lies over it in the joint, comes first
    cannot_be_drawn, ///< "cannot-be-drawn": leaves with its part
    joined,          ///< "joined": still joined to what stays
    not_propped,     ///< "prop-late": support before the first fastener that carries it
    loaded,          ///< "loaded": under load and not gated
    vehicle,         ///< "vehicle": the vehicle is not as it must be
    hold_lost,       ///< "hold-lost": brake or gear cannot hold it, what it is held through is off
    not_drained,     ///< "not-drained"
    fill_not_proven, ///< "fill-not-proven": never empty what cannot be filled
    not_soaked,      ///< "soak-late"
    not_marked,      ///< "mark-late"
    refit_after,     ///< "refit-after": stated: that must be back first
    mirror,          ///< "mirror": came off after it, so it goes back before it
    not_there,       ///< "not-there": what it holds is not back yet
    not_all_started, ///< "start-all": every one of the group by hand before any is tightened
    torque_waits,    ///< "torque-after"
    still_carried,   ///< "prop-early": the prop goes when the load is carried again
    not_filled,      ///< "not-filled"
    held_up,         ///< "held-up": the vehicle is not raised or let down over what stands on a prop or hangs lowered
    not_transferred, ///< "transfer-first": goes over to the replacement before that is fitted
    out_of_reach,    ///< "out-of-reach": estimated: no tool gets on it while that is there
    in_the_way,      ///< "in-the-way": estimated: it does not come out past that
    step,            ///< "step": the author's step comes later; of a lock only, no action is refused for it
    not_mated,       ///< "drawn-in": bolts tighten what meets by hand all round, and never draw it in
};
std::string_view name_of(Rule);
/// From the shapes, or from what is stated and from how things are in general?
bool is_estimated(Rule);

/// One thing that stands in the way of an action: `by` are the items whose state must change first.
struct Objection {
    Rule rule = Rule::after;
    std::vector<ItemId> by;
    VehicleAsk vehicle; ///< for Rule::vehicle: what is missing
};

// ---- estimates

/// A pair of an estimate that is asked no more, for it cannot hold beside what is stated.
struct Dropped {
    ItemId item;
    Question question = Question::way;
    ItemId by;                 ///< what the shapes put in its way; none: scenery
    std::int32_t scenery = -1; ///< its node
    bool stays = false;        ///< what is in the way never goes, so that no order would help
    std::string how;           ///< the handiest that was tried: "ratchet 250 mm, socket 16", "down 600 mm"
};

// ---- job

/// A list of items for each of many things, end to end in one block: read in file order, it stays in the cache.
class Lists {
public:
    std::span<const ItemId> operator[](std::size_t i) const {
        return {items_.data() + ranges_[i].first, items_.data() + ranges_[i].second};
    }
    using Pairs = std::vector<std::pair<std::size_t, ItemId>>;
    /// For `count` things; each pair is a thing and an item of its list, and pairs of one thing keep their order.
    static Lists of(std::size_t count, const Pairs& pairs);
    /// Every member's list is its whole class, itself too; a class of -1 is none.
    static Lists shared(std::span<const std::int32_t> class_of, std::size_t classes, std::span<const ItemId> members);

private:
    std::vector<std::pair<std::uint32_t, std::uint32_t>> ranges_;
    std::vector<ItemId> items_;
};

/// What every question asks of an item, side by side: an Item with its Fastener takes a kilobyte, and of 100,000 bolts
/// no cache holds that. Texts, figures and whatever is rare stay with the map; a bit here says whether to look there.
struct Facts {
    std::int32_t slot = -1; ///< Item::detail
    std::int32_t group = -1;
    std::int32_t step = -1;  ///< the author's, or -1
    std::int32_t people = 1; ///< at least: stated, or a helper that holds it up
    std::int32_t thread = 0; ///< of a fastener: a number for each name; 0: not stated
    std::int32_t tool = 0;   ///< of a fastener: its drive likewise, in the order of their names
    VehicleAsk needs;        ///< stated, and what follows: stands to work from under, the brake that counters a bolt
    ItemKind kind = ItemKind::part;
    FastenerKind fastener = FastenerKind::bolt;
    std::uint8_t from = 0; ///< a Place

    // Which of its lists, here or in the map, are not empty. Any item.
    bool after : 1 = false, refit_after : 1 = false, refit_free : 1 = false;
    bool estimated : 1 = false; ///< Job::estimates has any of it
    // A part.
    bool fixed : 1 = false, flexible : 1 = false, supported : 1 = false, loaded : 1 = false, adjust : 1 = false;
    bool fluid : 1 = false, renew : 1 = false, goes_aside : 1 = false, goes_down : 1 = false;
    bool tethered : 1 = false, opens : 1 = false;
    bool mating : 1 = false; ///< heavy: its meeting is a gate of its own, where the author has none
    // A fastener: of which sort it is, and which rules concern it at all.
    bool joins : 1 = false, pushed : 1 = false, nut_frees : 1 = false, slack_frees : 1 = false;
    bool drawn_late : 1 = false, soaks : 1 = false, torque : 1 = false, source : 1 = false;
    bool pinned : 1 = false, jointed : 1 = false, carries : 1 = false;
    bool countered : 1 = false; ///< or the other end of its joint: something holds the other side
    bool secures : 1 = false, torque_waits : 1 = false, held_through : 1 = false;
    bool on_ground : 1 = false; ///< holds a road wheel
    bool low_mate : 1 = false;  ///< says nothing of stands, but others that join the same parts ask for them
};

/// What follows from the map once, which must outlive it and not change under it. Vectors and lists run parallel to
/// Map::parts, ::fasteners or ::items as named.
struct Job {
    const Map* map = nullptr;
    std::vector<Facts> facts; ///< item
    Lists holds;              ///< fastener: Fastener::holds
    Lists held_by;            ///< part: fasteners that join it to another part
    /// Part: while everything is as found, the fasteners between what hangs on it alone and the rest. Not for parts
    /// that stay or have a support.
    Lists joined_at_first;
    Lists carriers;                ///< part with support: fasteners that carry it
    Lists carries;                 ///< fastener: parts with support that it carries
    Lists secured_by;              ///< fastener: pins on it
    Lists joint;                   ///< fastener: all of its joint, itself too; empty where it stands alone
    std::vector<std::int32_t> kin; ///< fastener: by which parts it joins; one number for one flange, one mount
    Lists mates;                   ///< fastener: all that join the very same parts, itself too
    std::vector<ItemId> turned;    ///< fastener: the one of its joint that is torqued (itself, where it stands alone)
    Lists after;                   ///< item: Item::after
    Lists before;                  ///< item: items that name it in their `after`
    Lists drain_plugs, fill_plugs; ///< part
    Lists opened_by;               ///< part with fluid: parts that open it
    Lists tasks_for;               ///< item: tasks with `does` whose `to` names it
    Lists comes_with;              ///< part: fasteners that leave with it or are captive in it
    std::vector<ItemId> transfers; ///< parts that go over to the replacement unit
    std::vector<ItemId> fluids;    ///< parts that hold one
    Estimates estimates;           ///< what the shapes put in whose way; empty until reckon_with() (estimated.hpp)
    std::vector<Dropped> dropped;  ///< what of them contradicts what is stated
    bool shapes_asked = false;     ///< by reckon_with(): what the shapes say beside any order is told too
};

Job prepare(const Map&);

/// Everything tight and on; the vehicle on its wheels, not chocked, brake on, in gear, battery connected.
State as_found(const Job&);

/// Everything that stands in the way, what the vehicle lacks last; empty when the action is legal.
std::vector<Objection> judge(const Job&, const State&, const Action&);
/// The same, but at most the first objection: cheaper.
std::vector<Objection> judge_first(const Job&, const State&, const Action&);

/// The parts that this action would shake, for it raises the vehicle or lets it down, while they hang on part of the
/// fasteners that carry them. No objection, for it can be done; a doubt of an order, a deviation in a log.
std::vector<ItemId> shaken_by_half(const Job&, const State&, const Action&);

/// An objection as a sentence: "bolt_1 is taken out before box is propped."
std::string sentence_of(const Job&, const Action&, const Objection&);

void apply(const Job&, State&, const Action&);

/// Does this fastener let go of what it holds, in this state?
bool is_freed(const Job&, const State&, ItemId fastener);

/// The parts that hang on this part alone, itself first: what leaves when it leaves.
std::vector<ItemId> hangs_on(const Job&, const State&, ItemId part);

/// What still holds a part: fasteners not freed that join it, and what hangs on it alone, to what stays.
/// For a fastener: what must come before it can (pins, nut, `after`).
struct Held {
    ItemId by;
    Rule rule = Rule::joined;
};
std::vector<Held> what_holds(const Job&, const State&, ItemId item);

// ---- plan

/// Actions that are done as one: same verb, same group, same place, same tool.
struct Step {
    Verb verb = Verb::do_task;
    std::vector<ItemId> items; ///< empty for set_vehicle
    VehicleAsk vehicle;        ///< for set_vehicle
    Place from = Place::not_stated;
    int people = 1;
    std::int32_t author_step = -1;    ///< the author's number, or -1
    bool by_rules = false;            ///< no item of the map asks for this step in words: the rules do
    std::vector<ItemId> opens;        ///< parts whose first fastener comes out here
    std::vector<ItemId> drops;        ///< parts whose last fastener comes out here: they come down with it
    std::vector<ItemId> frees;        ///< parts and fasteners that can come (or go back) once this is done
    Rule why_rule = Rule::so_already; ///< so_already: no later step depends on it
    std::vector<ItemId> why;          ///< the later items that depend on it most directly
};

struct Plan {
    bool refit = false;
    std::vector<Step> steps;
    std::vector<Finding> findings; ///< of this order: rules broken by the author's own, locks, what stays open
    std::vector<Dropped> dropped;  ///< estimates that proved to contradict what is stated only here
    bool by_author = false;        ///< the author's order was followed
    State end;
};

/// The order down. `goal` none: the whole job (the author's steps, else the target, else everything). `goal` a part:
/// only what must come off for it. Where items lock each other, the plan stops there and a finding names them.
Plan plan_strip(const Job&, ItemId goal = {});

/// The way back from where `strip` ended.
Plan plan_refit(const Job&, const Plan& strip);

/// The state in which the way back begins: where the order down ended, with nothing of the way back done yet.
State refit_begin(const Plan& strip);

void apply_step(const Job&, State&, const Step&);

/// All findings of a map, by weight, then as found: of reading, of the whole order down, of the way back, look-alikes.
std::vector<Finding> check(const Job&);

// ---- in words

/// A line of hardware in a step: how many of what.
struct Hardware {
    int count = 0;
    std::string kind;   ///< "bolt", "castle nut"
    std::string size;   ///< "M10x1.25 × 35" or "size not stated"
    std::string drive;  ///< what is gripped, as the annotation says it: "socket 5"; or empty
    std::string tool;   ///< what to take for that, for people: "hexagon key 5"; or empty
    std::string grade;  ///< or empty
    std::string torque; ///< on the way back: "64 N·m", "64 N·m (stated: 47 lbf·ft)", "torque not stated"
    std::string extra;  ///< "NEW", "threadlocker: medium", "left-hand thread", "hold: hex 17 from inside"
    std::vector<ItemId> items;
};

struct StepCard {
    std::string headline; ///< "Take out 6 bolts: skid plate bolts"
    std::vector<Hardware> hardware;
    std::string from; ///< "from under", or empty
    int people = 1;
    std::string vehicle; ///< what the vehicle must be: "stands; neutral", or empty
    std::vector<std::string> cautions, notes;
    std::vector<std::int32_t> photos; ///< indices into Map::photos, each once
    std::string why;                  ///< a sentence, or empty
    bool estimated = false;           ///< `why` rests on the shapes; else on what is stated
    std::string frees;                ///< "skid plate", or empty
    std::string source;               ///< or "source not stated" where a figure is shown without one
    bool gate = false;                ///< must be confirmed
    bool by_rules = false;
};
/// Torques in `unit`, with the author's own beside them where that is another.
StepCard card_of(const Job&, const Plan&, std::size_t step, TorqueUnit unit = TorqueUnit::newton_metre);
/// Its `why` and where that is from: "... (stated)", "... (estimated from the shapes)"; empty where it has none.
std::string why_in_words(const StepCard&);
/// "64 N·m"; "47 lbf·ft (stated: 64 N·m)".
std::string torque_in_words(const TorqueSpec&, TorqueUnit unit);

/// The cautions of the trade that every job shows before it starts, whatever the map says.
std::vector<std::string> standing_cautions();
/// Those of them that this map's own cautions do not say already, in words of theirs.
std::vector<std::string> standing_cautions(const Map&);

/// "M10x1.25 × 35", "M10", "35 mm" or "size not stated".
std::string size_of(const Fastener&);

} // namespace boltwalk
