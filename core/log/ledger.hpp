// The ledger: how many of each kind came out, where they are, and what is still open. Worked out from a JobNow, so it
// holds at every moment, whatever was entered.
#pragma once

#include <string>
#include <vector>

#include "core/log/log.hpp"

namespace boltwalk {

/// One kind of fastener. Both lines balance always:
///   came_out = in_tray + refitted + elsewhere + scrapped + missing
///   places   = refitted + strangers + fresh + empty
/// With no piece in a place of another kind, `elsewhere` and `strangers` are 0.
struct Count {
    PieceKind kind;
    std::string of; ///< where no size is stated, the title of what it is for: such are counted apart
    // pieces of this kind
    int came_out = 0; ///< left a place at least once
    int in_tray = 0;
    int refitted = 0;  ///< back in a place that wants this kind
    int elsewhere = 0; ///< in a place that wants another
    int scrapped = 0;
    int missing = 0;
    // places that want this kind and were opened (or found empty)
    int places = 0;
    int strangers = 0; ///< filled with a piece of another kind
    int fresh = 0;     ///< filled with one of this kind that never left a place: new
    int empty = 0;
    int rests = 0;                        ///< of `empty`: the rest of a sheared one is still in the hole
    std::vector<std::size_t> look_alikes; ///< other counts that differ in length or grade only
    std::vector<ItemId> tray;             ///< where those in the tray were found; new ones have none
};

/// "bolt M8 × 25, hex_flange, 8.8", "washer, size not stated: Plugs of the transfer box"
std::string print_kind(const Count&);
/// "M8 × 25", "washer: Plugs of the transfer box": where there is little room. Two kinds of a ledger may have the same.
std::string print_kind_briefly(const Count&);
/// Counts what that fastener is, and what belongs in its place.
bool counts_those_of(const Map&, const Count&, ItemId fastener);

/// By first fastener in file order; kinds that are only found or bought come last. Only kinds with a piece that came
/// out or a place that was opened.
std::vector<Count> ledger_of(const Job&, const JobNow&);
/// All of a ledger's figures added up; it has no kind.
Count total_of(const std::vector<Count>&);
/// "14 out = 12 in tray + 1 refitted + 1 scrapped + 0 missing"; `short_words`: without what is 0.
std::string print_balance(const Count&, bool short_words);
/// "12 in tray + 1 refitted + 1 scrapped": the same without its sum, and without what is 0. Empty: none came out.
std::string print_whereabouts(const Count&);
/// "14 places = 1 refitted + 1 new + 12 empty"; what is in one of another kind, and the rest of a sheared one, where
/// there is any. `short_words` as above.
std::string print_places(const Count&, bool short_words);

/// Of the same thread and head: length or grade alone tells them apart.
bool look_alike(const PieceKind&, const PieceKind&);

/// What lies in the tray and could go into a place by mistake: its thread is as thick, yet it is not the one that
/// belongs there.
struct Mistaken {
    ItemId from;         ///< one of them: found there
    int count = 0;       ///< of that kind
    PieceKind kind;      ///< as `from` is
    bool alike = false;  ///< looks like the right one: length, grade or place is all that tells them apart
    std::string differs; ///< "35 mm shorter", "another grade: 8.8, not 10.9", "of another place"
};
/// By kind, look-alikes first, then in file order. New ones are not among them: they were got for a place of their own.
std::vector<Mistaken> mistaken_for(const Job&, const JobNow&, ItemId site);

/// Why the job cannot be closed: every piece unaccounted for, place empty, torque not logged, duty open, thing away.
/// A person may close it over these by writing why (Deed::closed with `words`).
std::vector<Finding> against_closing(const Job&, const JobNow&);

/// Without a paint stroke: what was undone, or taken out, and whose final torque was not logged since. In file order,
/// only ends that are turned; where neither a torque is stated nor a reading was logged, tightening makes no stroke.
struct Untorqued {
    ItemId item;
    std::string standing;     ///< "in the tray", "started by hand", "tightened, and to what was not logged"
    bool none_stated = false; ///< tight, and the map states no torque for it: a stroke it gets by a reading only
};
std::vector<Untorqued> untorqued_of(const Job&, const JobNow&);

enum class NeedKind : std::uint8_t { tool, part, fluid };
/// What has to be there before the first bolt: tools by drive, torque wrench and angle gauge where torques and angles
/// are stated, single-use hardware, gaskets, fluids. What the map does not state is not in it.
struct Need {
    NeedKind kind = NeedKind::tool;
    std::string name; ///< what Deed::ticked says: "tool: hex 14", "tool: torque wrench for 22..40 N·m", "part: nut
                      ///< M10x1.25, 10", "fluid: gear oil"
    int count = 0;    ///< how many fasteners; parts to buy
    double amount_l = 0;
    bool ticked = false;
    std::string note; ///< may be empty. Of torques too far apart for one wrench: "more than one: none is checked ..."
};
std::string need_of_part(const Map&, const Fastener&); ///< Need::name of a new one of it
std::string name_without_kind(const Need&);            ///< "hex 14", "gear oil"
/// With its note: "for 4 fasteners", "3 ×", "1.5 l", "amount not stated".
std::string amount_in_words(const Need&);
/// Tools are those of the fasteners that the orders down and back work on, where `now` was folded with them.
/// With `now`, what was ticked off, and what followed from what happened (Duty::buy).
std::vector<Need> needs_of(const Job&, const JobNow& now);

} // namespace boltwalk
