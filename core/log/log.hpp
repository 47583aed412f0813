// The log of a job: what was done, when, to which item, by which step; kept on disk so that nothing acknowledged is
// lost.
//
//   Entry          one fact. Entries are only ever added: what was entered wrongly is struck out by a later entry.
//   fold()         how everything stands after a list of entries. It refuses none: rules bind the plan, not the hands.
//                  What deviates from the rules is applied all the same, and listed.
//   Log            the entries on disk, in SQLite, beside the map
//   snapshot_of()  a map's facts as the log keeps them; match() finds the items again in a map that was changed
//   export_*()     the entries as JSON and CSV, and back
//   ledger.hpp     how many came out, lie in the tray, are back; what follows from what happened; what is open
//   lines.hpp      entries as a person or a script writes them: "did out 12", "found sheared skid_bolt_3: head off"
//
// A site is a place for a fastener: a hole or a stud, and what the manual wants there. A piece is the hardware in it,
// in the tray, scrapped or missing. On the map they are one item; here they are two, so that a swap, a loss and a
// renewal can be said. Nothing here needs a clock, a screen or a network; nothing leaves the machine.
#pragma once

#include <compare>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/job/job.hpp"
#include "core/map/map.hpp"

namespace boltwalk {

/// Which set of rules flagged the deviations when an entry was made. Raise it when judge() changes its answers.
inline constexpr int rules_version = 4;

// ---- entries

enum class Deed : std::uint8_t {
    did,        ///< `verb` was done to `item`; the verb set_vehicle has no item and says `vehicle`
    found,      ///< `mishap` was found on `item`, or happened to it
    in_the_way, ///< what the manual did not foresee was taken away: `item` or `named` from the model, or `words`
    moved,      ///< the piece found in site `item` is now at `where`: found again, thrown away
    settled,    ///< what followed from entry `about` is done (`duty`), or what was in the way is back
    ticked,     ///< `words` names a tool that is there or a part that was bought (Need::name)
    way_back,   ///< the way back begins
    way_out,    ///< out again: more must come off
    noted,      ///< `words`, about `item` or nothing
    closed,     ///< the job is closed; `words` says why, where something is still open
    struck,     ///< entry `about` was wrong: it counts as never made. Putting a thing back is no striking out
    unknown,    ///< of a later program; kept, and not understood
};

enum class Mishap : std::uint8_t {
    absent,         ///< nothing was there
    wrong_piece,    ///< another one than the manual's; `as` says what
    sheared,        ///< head or end off, the rest still in the hole
    stripped,       ///< its thread, or the hole's
    rounded,        ///< no tool grips it
    stuck,          ///< left for later
    cut_off,        ///<
    stud_came,      ///< stud and nut came as one
    recut,          ///< the thread was cut again
    insert_fitted,  ///< a thread insert
    substitute,     ///< another piece was put in; `as` says what
    lost,           ///< nobody knows where it is
    back_for_night, ///< put back by hand for now
};

/// Hardware as it is told apart: two that agree in all of these may change places. Empty, or 0: not stated.
struct PieceKind {
    FastenerKind what = FastenerKind::bolt;
    std::string thread, head, grade;
    double length_mm = 0;
    std::partial_ordering operator<=>(const PieceKind&) const = default;
    bool operator==(const PieceKind&) const = default;
};
PieceKind kind_of(const Fastener&);
/// For people: "drain plug M10x1.25 × 35, hex flange, 10.9"; what is not stated is left out, nothing stated says so.
std::string print_kind(const PieceKind&);
std::string spoken_head(std::string_view head); ///< "hex_flange" is "hex flange"
/// The same in the annotation's words, as it stands on disk: "drain_plug M10x1.25 × 35, hex_flange, 10.9".
std::string word_of(const PieceKind&);
/// Either of them back; a kind that is left out is `fallback`'s.
Reading<PieceKind> read_kind(std::string_view text, FastenerKind fallback);

enum class Whereabouts : std::uint8_t {
    in_place, ///< in HardwarePiece::site
    tray,
    scrapped,
    missing,
    never, ///< the manual wants it, nothing was there
};

/// What follows from something that happened.
enum class Duty : std::uint8_t {
    none,
    buy,          ///< a part
    repair_hole,  ///< before anything goes in
    chase_thread, ///< a thread that stays: hole, captive nut, stud
    clear_hole,   ///< of oil and chips, where it is blind
    come_back,    ///< left for later
    undo_night,   ///< put back for the night only
    put_back,     ///< what was in the way
    remember,     ///< for the record; nothing to do
};

/// What goes into a site. `usual`: the one that came out of it; one of its kind from the tray, where that is in another
/// place; a new one, where the manual says so or it is damaged or lost.
enum class PieceFrom : std::uint8_t { usual, fresh, of_site };

/// One fact. Fields that its deed does not name are empty. Texts are UTF-8; what is not becomes U+FFFD when it is kept.
struct Entry {
    std::int64_t number = 0; ///< its place in the log, from 1; 0: not on disk
    std::string key;         ///< its own for ever, in every copy of the log
    std::int64_t at_ms = 0;  ///< since 1970-01-01 UTC
    Deed deed = Deed::did;
    ItemId item;               ///< in the present map; none where it has no such item
    std::string named;         ///< the node's name at the time
    std::int32_t item_no = -1; ///< index into the log's own Snapshot::items; filled in when it is kept
    std::string step;          ///< as the person saw it: "out 12", "back 3"; or empty
    Verb verb = Verb::do_task;
    VehicleAsk vehicle;
    Mishap mishap = Mishap::absent;
    PieceFrom piece = PieceFrom::usual;
    ItemId piece_of; ///< PieceFrom::of_site: the one found in that site
    std::string piece_named;
    std::int32_t piece_no = -1;
    Whereabouts whereabouts = Whereabouts::tray;
    std::optional<PieceKind> as;
    std::string torque; ///< the reading as written: "64 N·m"; or empty
    int pass = 0;       ///< 1 of `passes`, ...; 0: all of it. Only the last pass is the final torque
    int passes = 0;
    Duty duty = Duty::none;
    std::string about; ///< the key of another entry
    std::string words;
    std::string unread; ///< of Deed::unknown: the word that stands for the deed
};

/// Words on disk and on the command line; they never change, for old logs hold them.
std::string_view word_of(Deed);
std::string_view word_of(Verb);
std::string_view word_of(Mishap);
std::string_view word_of(Whereabouts);
std::string_view word_of(Duty);
std::optional<Deed> read_deed(std::string_view);
std::optional<Verb> read_verb(std::string_view);
std::optional<Mishap> read_mishap(std::string_view);
std::optional<Whereabouts> read_whereabouts(std::string_view);
std::optional<Duty> read_duty(std::string_view);

/// For people: "Sheared", "Stuck, left for later".
std::string_view spoken(Mishap);

/// "2026-03-07T18:04:05.250Z" and back (nothing: no such time).
std::string print_time(std::int64_t at_ms);
std::optional<std::int64_t> read_time(std::string_view);

/// One line for a person: "14  2026-03-07 18:04:05  did take-out skid_bolt_1 (out 12)".
std::string print_entry(const Entry&);

// ---- how everything stands

struct HardwarePiece {
    PieceKind kind;
    ItemId from;      ///< the site it was found in; none: new
    ItemId meant_for; ///< of a new one: the site that it was got for
    ItemId site;      ///< for Whereabouts::in_place
    Whereabouts whereabouts = Whereabouts::in_place;
    bool came_out = false; ///< left a place at least once
    bool damaged = false;  ///< not to be used again
};

/// Whether a piece is of the kind that a site wants. Where no size is stated, only one of the same title is: a washer
/// of the drain plug is none of the mount's.
bool belongs(const Map&, const HardwarePiece&, ItemId site);

enum class Hole : std::uint8_t { sound, to_repair, recut, insert };

struct Site {
    std::int32_t piece = -1; ///< index into JobNow::pieces, or -1: empty
    bool opened = false;     ///< its piece left it, or none was there
    Hole hole = Hole::sound;
    bool rest = false;         ///< of a sheared one the rest still sits in the hole, though its piece counts as gone
    bool final_torque = false; ///< logged, and not undone since: the paint stroke
    std::string torque;        ///< the last reading, or empty
    int pass = 0;              ///< the last pass of several, 0: none
};

/// Something taken away that the plan did not know.
struct Extra {
    std::string key; ///< of its entry
    std::string name;
    bool back = false;
};

struct OpenDuty {
    Duty duty = Duty::none;
    ItemId item;      ///< or none
    std::string key;  ///< of the entry that it follows from
    std::string what; ///< a sentence
    bool settled = false;
};

/// Whereabouts an entry is against the rules, or cannot be understood. It was applied all the same, as far as it can
/// be.
struct Deviation {
    std::size_t entry = 0; ///< index into the entries
    std::vector<Objection> objections;
    std::string what; ///< a sentence
};

/// What must be confirmed (Task::gate) and which steps come after it, in the orders that the person sees.
struct Gates {
    struct Gate {
        ItemId task;
        bool refit = false;
        std::size_t step = 0;
    };
    struct Place { ///< of what is done in a step; of what comes twice, the first time
        bool refit = false;
        Verb verb = Verb::do_task;
        ItemId item;
        VehicleAsk vehicle;
        std::size_t step = 0;
    };
    std::vector<Gate> all;
    std::vector<Place> places;
};
Gates gates_of(const Map&, const Plan& strip, const Plan& refit);

/// A fastener's state is `out` exactly when its site is empty.
struct JobNow {
    State state;
    std::vector<Site> sites;           ///< by fastener
    std::vector<HardwarePiece> pieces; ///< the one found in site f is piece f; then new ones, as they were fitted
    std::vector<Extra> extras;
    std::vector<OpenDuty> duties;
    std::vector<Deviation> deviations;
    std::vector<std::string> ticked;  ///< names of tools and parts, in order, each once
    std::vector<std::uint8_t> struck; ///< by entry: it was struck out
    Gates gates;                      ///< that it was folded with
    std::vector<std::uint8_t> passed; ///< by gate: passed over, and that was said
    bool begun = false;               ///< anything was undone or taken off
    bool closed = false;
    std::string closed_why;
};

/// Refuses none. An entry whose item the map no longer has changes nothing, and is listed as a deviation; so is the
/// first step that passes over a gate. Without `gates` nobody knows of any.
JobNow fold(const Job&, const std::vector<Entry>&, Gates gates = {});
/// The same, and with the same gates, by what came since: `now` is the fold of the first entries of this list. Cheaper,
/// unless one is struck out.
void fold_further(const Job&, JobNow& now, const std::vector<Entry>&);

/// What would deviate if this were entered now: the rules' objections and the log's own (a hole not repaired, a piece
/// that does not belong there). `what` is a sentence each; empty: nothing.
std::vector<Deviation> deviations_of(const Job&, const JobNow&, const Entry&);

/// Some of a fold's deviations, for people: one sentence for what the same rule says of one step, verb and way. It
/// names at most four items; `entry` is the first one's. The others stay as they are.
std::vector<Deviation> gathered(const std::vector<Entry>&, std::span<const Deviation>);

// ---- the map at the time

/// What the log keeps of an item. `facts` is canonical JSON of what matters to the job (thread, length, torque, what it
/// holds, ...), `shape` a fingerprint of its triangles in its own axes: the same for congruent shapes, however the
/// triangles are ordered; equal to that of no other by chance (128 bits, of whole hundredths of a millimetre).
struct ItemFacts {
    std::string id, name, kind, facts, shape;
    bool operator==(const ItemFacts&) const = default;
};
struct Snapshot {
    int rules = rules_version;
    std::string map, job; ///< file name without folder, title
    std::vector<ItemFacts> items;
    bool operator==(const Snapshot&) const = default;
};
Snapshot snapshot_of(const Map&);

/// How the items of a snapshot are found in a map: by id, then by name and congruent shape.
struct Match {
    std::vector<ItemId> items; ///< by item of the snapshot: none where nothing matches
    /// Sentences about what differs: not found again, new, of another shape, with other facts. Empty: the same map.
    std::vector<std::string> differs;
    std::vector<std::string> lost; ///< names of items that are not found again
};
Match match(const Snapshot& then, const Snapshot& now);

// ---- on disk

struct LogSettings {
    std::function<std::int64_t()> now_ms; ///< empty: the system's clock
    std::string vfs;                      ///< SQLite's way to the disk; empty: its own
    int busy_ms = 3000;                   ///< how long another window may keep us waiting
};

/// "transfer_box.glb" → "transfer_box.glb.log.sqlite"
std::string log_path_of(const std::string& map_path);

/// When the next facts are, of all together: what belongs together was at one moment and nothing before it, and so it
/// is found together again, however quickly one thing follows another.
std::int64_t moment_after(const std::vector<Entry>&, std::int64_t now_ms);

/// The log of one map. Opening never fails: what is wrong is said in warning(), and the walk goes on in memory. No file
/// is made before the first entry. Not for several threads; several windows and programs may each have one.
class Log {
public:
    Log(const Map&, std::string path, LogSettings = {});
    ~Log();
    Log(Log&&) noexcept;
    Log& operator=(Log&&) noexcept;

    /// Adds one fact, or several that belong together (a step): all of them or none. Fills in `key`, `at_ms` (where 0;
    /// moment_after() those that are here) and `number`. True: they are on disk, and will be there after any crash:
    /// acknowledge them now. False: they are in entries(), in memory only, and warning() says why; every later call
    /// tries to write them out first. Entries made in other windows since are read first: entries() has them before
    /// these.
    bool add(std::vector<Entry>);

    /// Reads what other windows have added, and writes out what is in memory only. True: entries() changed.
    bool refresh();

    /// In order; those that are in memory only come last and have the number 0.
    const std::vector<Entry>& entries() const;
    std::size_t unwritten() const;
    /// Stands as long as something acknowledged by nobody would be lost; empty: all is on disk. For people, to be shown
    /// until it goes.
    const std::string& warning() const;
    /// Of the map as it was when the log last took it in, and as it is.
    const Match& map_match() const;
    /// The log's own list of items, those that a changed map has lost included, each as it was last.
    const Snapshot& snapshot() const;
    const std::string& path() const;

private:
    struct Inside;
    std::unique_ptr<Inside> inside_;
};

// ---- to take along

/// Everything of a log as JSON, the items' facts included; ASCII only.
std::string export_json(const Snapshot&, const std::vector<Entry>&);
/// The entries as CSV (RFC 4180: CRLF, quotes doubled). A text that a spreadsheet would run as a formula gets an
/// apostrophe in front, as does one that begins with an apostrophe; reading takes one away.
std::string export_csv(const Snapshot&, const std::vector<Entry>&);

struct Import {
    std::vector<Entry> entries; ///< with the keys and times that they had; items found in the present map
    std::vector<std::string> differs;
};
/// Either format, told apart by content. Add them with Log::add, which keeps what it has already once.
Reading<Import> import_log(const Map&, std::string_view text);

} // namespace boltwalk
