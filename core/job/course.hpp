// A fixed list of things to do, and what of it must come before what: shared by the searches for the fewest items and
// for the least crawling; no other source includes this.
//
// Two views of the same rules. The lower one (Flood) leaves out whatever can be undone again or depends on the order
// alone: the vehicle, what a shaft is held by, the fluid of what leaves along, what still joins two parts that have
// left together. What is left only ever grows freer, so doing all that can be done shows what cannot be done without
// what: a proof that holds for every legal order. The upper one is the rules themselves (judge), asked of every order
// before it is given out.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

/// A set of deeds. Longer courses are not searched.
constexpr std::size_t longest_course = 512;

struct Bits {
    std::array<std::uint64_t, longest_course / 64> words{};
    bool has(std::size_t i) const { return ((words[i / 64] >> (i % 64)) & 1U) != 0; }
    void add(std::size_t i) { words[i / 64] |= std::uint64_t{1} << (i % 64); }
    void drop(std::size_t i) { words[i / 64] &= ~(std::uint64_t{1} << (i % 64)); }
    bool within(const Bits& other) const {
        for (std::size_t w = 0; w < words.size(); ++w)
            if ((words[w] & ~other.words[w]) != 0)
                return false;
        return true;
    }
    bool meets(const Bits& other) const {
        for (std::size_t w = 0; w < words.size(); ++w)
            if ((words[w] & other.words[w]) != 0)
                return true;
        return false;
    }
    bool operator==(const Bits&) const = default;
    bool operator<(const Bits& other) const { return words < other.words; } // libc++ 14 has no <=> of vectors
};

/// Fasteners undone, parts that leave: what `Fewest` counts.
bool is_counted(Verb);

/// The tool that an action takes: its drive's name, or empty for what a hand does.
std::string tool_of(const Map&, const Action&);

/// The first objection of the lower view; none where it has none.
std::optional<Objection> first_objection(const Job&, const State&, const Action&);

/// With which parts' leaving each part may leave along. Undoing what joins it to them would keep it from that, so the
/// lower view lets it leave along even then, once nothing else holds it.
class Company {
public:
    Company(const Job&, const std::vector<Action>& deeds);

    /// Those that cannot be: it has left, or is joined to nothing else that leaves, before that other part does.
    void leave_out(const Job&, const std::vector<Action>& deeds, const std::vector<Bits>& before);
    /// What may have left along by now has. Returns whether anything did.
    bool follow(const Job&, State&) const;
    bool may_follow(ItemId part) const;

private:
    struct Follower {
        ItemId part;
        std::vector<ItemId> leaders;
    };
    std::vector<Follower> followers_;
};

/// Does all that can be done, in the lower view of the rules, but for some.
class Flood {
public:
    Flood(const Job& job, std::vector<Action> deeds);

    Company company;

    /// What gets done without `without`. Stops once all of `until` is done, where that is given.
    Bits run(const Bits& without, const Bits* until = nullptr);

    const std::vector<Action>& deeds() const { return deeds_; }
    /// Questions asked so far.
    std::int64_t asked = 0;

private:
    /// What keeps this deed from being done: nothing, or what it waits for.
    enum class Answer : std::uint8_t { may, so_already, waits };
    Answer ask(const State&, std::size_t deed, bool& wide, std::vector<ItemId>& for_any_of);
    bool leads_to_ground(const State&, ItemId fastener) const;

    const Job& job_;
    std::vector<Action> deeds_;
    std::vector<std::vector<ItemId>> on_part_; ///< part: all fasteners that hold it, loose pieces and plugs too
};

/// Leaves out of Flood::company what cannot be, by what must come before what.
void narrow_company(const Job&, Flood&);

/// What of a course must come before what, in every legal order of it.
struct Precedence {
    std::vector<Bits> before; ///< deed: those that no order does later
    bool whole = true;        ///< all of it can be done at all, in the lower view
};
/// Narrows down Flood::company on the way.
Precedence precedence_of(const Job&, Flood&);

/// Does a part hang on nothing, with all that is still joined to it? Neither on what stays, nor on a prop, a support
/// that is to be propped before it is let go, or a hook.
bool hangs_on_air(const Job&, const State&, ItemId part, std::vector<ItemId>& company);

/// Does this part matter when it drops? A gasket clings, and hurts nobody.
bool can_drop(const Map&, ItemId part);

/// What hangs on nothing and could come off now by one of these deeds does so before anything else is undone.
struct Dropping {
    Action by;
    std::vector<ItemId> company;
    bool operator==(const Dropping& other) const { return company == other.company; }
};
std::vector<Dropping> about_to_drop(const Job&, const State&, const std::vector<Action>& to_come);

/// May this fastener be undone while those are about to drop? It belongs to them, or holds nothing.
bool is_about(const Map&, ItemId fastener, const std::vector<Dropping>&);

/// Would undoing it leave something hanging on nothing that is to come off, but cannot yet?
bool would_hang(const Job&, State&, ItemId fastener, const std::vector<Action>& to_come);

enum class Arranged : std::uint8_t {
    in_order,
    refused, ///< with all the rest done, the rules refuse the first: no order of these does it
    stuck,   ///< none was found
};
/// The deeds of a set, in a legal order that ends with the first of them: the author's steps first, then as few changes
/// of place and tool as a look at the next one gives. `along` are done where their turn comes, if it does. What is only
/// prepared (props, marks, fluids, the vehicle) comes as it is needed. Where there is no order, `stuck_on` says what is
/// asked for.
Arranged put_in_order(const Job&, const std::vector<Action>& deeds, const std::vector<Action>& along, Order&,
                      std::vector<ItemId>& stuck_on);

/// Puts what an order lays bare (washers, rings, single-use gaskets) into it, each as soon as nothing holds it, and
/// says which that was.
std::vector<ItemId> take_what_is_uncovered(const Job&, Order&);

} // namespace boltwalk::inside
