// The walk by its log: what a person says was done is entered first, and shown as done when it is stored. No Dear
// ImGui. What may be done, what follows from it and what is open is asked of core; here is only what a press means.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/log/ledger.hpp"
#include "viewer/panels/view.hpp"

namespace boltwalk {

/// Reads the log of the map that was just opened, and goes to where the walk stands.
void take_up_log(View&);
/// Other windows and programs may have added something. True: they had.
bool look_into_log(View&);
/// What was entered has been stored since, or refused.
void take_stored(View&);
const Progress& progress_now(const View&); ///< of the way shown

// ---- the step shown

/// Its picture is how everything is by the log: not for a step that is looked at ahead of the walk.
bool is_as_logged(const View&);
void draw_as_logged(View&);
/// What the rules say of the step, before it is entered.
void judge_step(View&);
/// A step before it is open: what is shown is looked at ahead. That step; none: npos.
std::size_t open_before(const View&);

/// A mark: one fastener, part or task of the step, or of the joint that is tightened in it.
struct Tick {
    enum class Is : std::uint8_t { open, next, done, left };
    ItemId item;    ///< none: the vehicle
    int number = 0; ///< of the step's items, from 1; the same in every step (core/job/step_numbers.hpp)
    Is is = Is::open;
};
struct Ticks {
    std::vector<Tick> all;               ///< by their numbers
    const Tightening* turning = nullptr; ///< whose turn it is; null: nothing is tightened in turn here
    RoundNow turn;
    int open = 0; ///< of this round
};
Ticks ticks_of(const View&);
const Tick* tick_of(const Ticks&, ItemId); ///< null: that has no mark in this step
/// In a step where nothing is tightened: that the marks' numbers are the order in which they will be, or of which of
/// them that is true. Empty: of none.
std::string numbered_for_later(Verb, const std::vector<Tick>&, const std::vector<Tightening>&);

/// What the main action enters. Empty: nothing is open here.
struct Entering {
    std::string words; ///< "All 6 out", "3 of 5: 22 N·m"
    std::string brief; ///< what has room from 3 m: "All 6", "3: 22 N·m"
};
Entering entering(const View&, const Ticks&);
/// Enters it, and goes on where nothing is open any more.
void enter_step(View&);
/// Whose turn it is, a castle nut, stands in its slot at this torque.
void enter_slot(View&, const std::string& torque);
/// The rest of a round in one go.
void enter_round(View&);
/// Enters one, or strikes out what says that it was done.
void tap(View&, ItemId);
/// Still in its place, and no tool grips it or its thread is gone: nobody can know that it came out with the others.
bool is_damaged_in_place(const View&, ItemId);
bool can_strike(const View&, ItemId); ///< an entry says that it was done, in the step shown

/// A kind of fastener that matters in the step shown: of the step itself, or like one of those.
struct KindNow {
    std::size_t count = 0; ///< index into Done::ledger
    bool like = false;     ///< only like one of the step's: not to be taken for it
    bool alike = false;    ///< looks like another one
};
/// The step's own first, in the order of its items; none that is not in the ledger yet.
std::vector<KindNow> kinds_now(const View&);

/// Which of the person's wrenches for the round whose turn it is; none: nobody said which there are, or no torque is
/// stated.
std::optional<WrenchChoice> wrench_now(const View&, const Ticks&);
/// How many of them are tight with no torque stated.
std::size_t none_stated(const std::vector<Untorqued>&);

// ---- beside the plan

/// Strikes out what was entered last.
void undo(View&);
bool can_undo(const View&);
void enter_found(View&, ItemId, Mishap, const std::string& words = {});
/// The one that was found in site `from` went in there; rules flag what does not belong.
void enter_piece(View&, ItemId site, ItemId from);
/// On the way back: out again, after it was put in. No striking out: it was in.
void enter_out_again(View&, ItemId);
void enter_in_way(View&, ItemId, const std::string& words); ///< `words`: in plain text
void enter_scenery_in_way(View&, const std::string& node);
void enter_note(View&, ItemId, const std::string& words);
void enter_settled(View&, const OpenDuty&);
void enter_reading(View&, ItemId, const std::string& torque);
/// Of pieces: thrown away, lost, found again.
void enter_moved(View&, ItemId, Whereabouts);
void enter_tick(View&, const std::string& need);
void strike_out(View&, std::size_t entry);

// ---- the end

/// Nothing is entered where something is open and nobody wrote why.
void close_job(View&);
bool is_closed(const View&);

// ---- words

/// "All 6 out"; `count` of `all`.
Entering done_words(const Step&, int count, int all);
/// "Pump bolts (5), Drive belt and 2 more": what has one title is counted.
std::string few_items(const Map&, const std::vector<ItemId>&, std::size_t most);

} // namespace boltwalk
