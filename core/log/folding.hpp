// The fold at work. Not for others.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "core/log/log.hpp"

namespace boltwalk::log_fold {

/// Of a fastener's, part's or task's item: its place among those of its kind.
inline std::size_t slot(const Map& map, ItemId id) {
    return static_cast<std::size_t>(map[id].detail);
}

/// Where no size is stated, hardware is told apart by what it is for. Empty: a size is stated.
std::string title_where_unsized(const Map&, const PieceKind&, ItemId);

/// Whether a verb can be done to that kind of item at all.
bool fits(const Map&, Verb, ItemId);
bool puts_in(Verb);
/// What an entry is to the rules: a tightening short of the last pass only seats.
Action action_of(const Entry&);
std::vector<std::uint8_t> struck_out(const std::vector<Entry>&);
/// The gates that this step passes over, and nobody has said so yet: indices into Gates::all.
std::vector<std::size_t> passed_over(const JobNow&, const Map&, const Entry&);
/// deviations_of(), for whoever knows already which gates are `passed`.
std::vector<Deviation> deviations_with(const Job&, const JobNow&, const Entry&, std::span<const std::size_t> passed);

class Folding {
public:
    explicit Folding(const Job&); ///< from as found
    Folding(const Job&, JobNow from);
    void take(const Entry&);

    const Job& job;
    const Map& map;
    JobNow now;
    std::size_t entry = 0; ///< the one that is being taken

private:
    std::size_t slot(ItemId id) const { return log_fold::slot(map, id); }

    // Sites and pieces (fold.cpp)
    HardwarePiece* piece_in(std::size_t f);
    void empty(std::size_t f, Whereabouts to);
    void put_in(std::size_t f, std::int32_t piece);
    std::int32_t make_new(const PieceKind&, std::size_t for_site);
    std::int32_t usual_piece(std::size_t f);
    void discard_replaced(std::size_t f);
    void fill(std::size_t f, const Entry&);
    void even_out(const std::vector<FastenerState>& before, const Entry&);
    void did(const Entry&);
    void moved(const Entry&);
    void deviate(std::vector<Objection>, std::string what);

    // What follows (follows.cpp)
    void found(const Entry&);
    void settled(const Entry&);
    void after_soak(ItemId, const std::string& key);
    void settle_by_doing(const Entry&);
    void owe(Duty, ItemId, const std::string& key, std::string what);
    void settle(Duty, ItemId);
    bool owes(Duty, ItemId) const;
    void spoil(std::size_t f, Whereabouts to);
    void found_on(std::size_t f, const Entry&);
    void stud_came(std::size_t f, const Entry&);
    std::string own_tap(std::size_t f) const;
    bool goes_in_a_hole(std::size_t f) const;
};

} // namespace boltwalk::log_fold
