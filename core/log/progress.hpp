// How far a walk is by its log: which steps of a plan are done, whose turn it is in a tightening, what stood open when
// the walk was broken off. Worked out from a JobNow and its entries; for whatever shows the walk.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "core/job/tightening.hpp"
#include "core/log/log.hpp"

namespace boltwalk {

enum class Doneness : std::uint8_t {
    open,
    done,
    left, ///< stuck, and left for later (Duty::come_back)
};

struct StepProgress {
    std::vector<Doneness> items; ///< by Step::items; one for a step that has none
    int open = 0, done = 0, left = 0;
};

struct Progress {
    std::vector<StepProgress> steps; ///< by step of the plan
    std::size_t next = 0;            ///< the first with anything open; steps.size(): none
    std::size_t reached = 0;         ///< behind the last one that an entry was made for; 0: none was
};

/// "out 12", "back 3": what an entry calls a step of a plan. `index` from 0.
std::string step_name(const Plan&, std::size_t index);

/// Where an item has its place in the state, the state decides; what leaves no trace there (the vehicle was in neutral
/// for that step) was done when an entry says so.
Progress progress_of(const Job&, const Plan&, const JobNow&, const std::vector<Entry>&);

/// The entries by which a step is done, its turning of the way included; what is so already, and `left_out`, is not in
/// it. `like`: what each of them takes over (torque, piece, words). Empty: there is nothing to enter.
std::vector<Entry> entries_of_step(const Job&, const JobNow&, const Plan&, std::size_t index, const Entry& like,
                                   std::span<const ItemId> left_out);

/// Whose turn it is, going round the bolts of a tightening pass by pass.
struct RoundNow {
    std::vector<int> rounds; ///< done, by Tightening::items
    int round = 0;           ///< the first that is not through, from 0; how many there are: all are
    ItemId next;             ///< none: all are through, or what is left is not in its place
    int in_place = 0;        ///< of the items
};
int rounds_of(const Tightening&); ///< at least 1
RoundNow turn_of(const Job&, const JobNow&, const Tightening&);
/// One bolt, this round: what is entered when the wrench has come to its torque. The reading is the round's own torque
/// in `unit`, as the person who makes the entry says that it was reached; where none is stated it is empty.
Entry turn_entry(const Job&, const Tightening&, ItemId, int round, TorqueUnit unit);
/// The torque of a round, in `unit`; empty where none is stated.
std::string round_torque(const Tightening&, int round, TorqueUnit unit);

/// What strikes that entry out.
Entry strike_of(const Entry&);
/// What strikes out the entries that were made last in one go and still count. Empty: there are none.
std::vector<Entry> undo_of(const std::vector<Entry>&, const JobNow&);
/// The last entry that counts by which this was done to an item; null: none.
const Entry* entry_behind(const std::vector<Entry>&, const JobNow&, ItemId, Verb);

/// Looked at first when a walk is taken up again.
struct BrokenOff {
    std::vector<ItemId> loose;   ///< fasteners in their places and not tight
    std::vector<ItemId> propped; ///< parts on a jack, a helper, a strap
    std::vector<ItemId> hanging; ///< parts lowered or aside, and not propped
};
BrokenOff broken_off(const Job&, const JobNow&);

} // namespace boltwalk
