// In which order fasteners are taken that are all ready at once; only search.cpp includes this.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <numeric>
#include <tuple>
#include <vector>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

/// A set of small numbers that finds the next one from any of them: a bit each, and a bit for each 64 of those that is
/// not empty, and so on up.
class RankSet {
public:
    explicit RankSet(std::size_t count) {
        do {
            count = (count + 63) / 64;
            levels_.emplace_back(count, 0);
        } while (count > 1);
    }

    void insert(std::int32_t rank) {
        std::size_t i = at(rank);
        for (auto& level : levels_) {
            level[i / 64] |= bit(i);
            i /= 64;
        }
    }

    void erase(std::int32_t rank) {
        std::size_t i = at(rank);
        for (auto& level : levels_) {
            level[i / 64] &= ~bit(i);
            if (level[i / 64] != 0)
                return;
            i /= 64;
        }
    }

    /// The first that is `from` or more; -1 when there is none.
    std::int32_t next(std::int32_t from) const {
        std::size_t i = at(from);
        for (std::size_t l = 0; l < levels_.size(); ++l) {
            const std::uint64_t rest = i / 64 < levels_[l].size() ? levels_[l][i / 64] & ~(bit(i) - 1) : 0;
            if (rest == 0) {
                i = i / 64 + 1;
                continue;
            }
            i = i / 64 * 64 + static_cast<std::size_t>(std::countr_zero(rest));
            for (; l > 0; --l)
                i = i * 64 + static_cast<std::size_t>(std::countr_zero(levels_[l - 1][i]));
            return static_cast<std::int32_t>(i);
        }
        return -1;
    }

private:
    static std::uint64_t bit(std::size_t i) { return std::uint64_t{1} << (i % 64); }
    std::vector<std::vector<std::uint64_t>> levels_;
};

/// Where and with what a fastener is undone, and with which turn those begin that share it.
struct Turn {
    std::size_t place = 0;
    std::int32_t tool = 0, group = -1;
    std::int32_t tool_begin = 0, group_begin = 0;
};

/// Every fastener's turn: by place, tool, group and file. Tools count by their name, so that the same file gives the
/// same order; no tool stated comes first.
class Turns {
public:
    static constexpr std::size_t places = static_cast<std::size_t>(Place::inside) + 1;

    explicit Turns(const Job& job) : turns_(job.map->fasteners.size()), rank_(turns_.size()) {
        std::vector<std::tuple<std::uint8_t, std::int32_t, std::int32_t, std::size_t>> order;
        order.reserve(turns_.size());
        for (const Facts& facts : job.facts)
            if (facts.kind == ItemKind::fastener)
                order.emplace_back(facts.from, facts.tool, facts.group, at(facts.slot));
        std::sort(order.begin(), order.end());
        for (std::size_t rank = 0; rank < order.size(); ++rank) {
            const auto& [place, tool, group, f] = order[rank];
            const auto here = static_cast<std::int32_t>(rank);
            Turn turn{place, tool, group, here, here};
            if (rank > 0 && turns_[rank - 1].place == place && turns_[rank - 1].tool == tool) {
                turn.tool_begin = turns_[rank - 1].tool_begin;
                if (turns_[rank - 1].group == group)
                    turn.group_begin = turns_[rank - 1].group_begin;
            }
            turns_[rank] = turn;
            rank_[f] = here;
            ++place_begin_[place + 1];
        }
        std::partial_sum(place_begin_.begin(), place_begin_.end(), place_begin_.begin());
    }

    std::size_t count() const { return turns_.size(); }
    std::int32_t rank_of(std::size_t fastener_slot) const { return rank_[fastener_slot]; }
    std::int32_t place_begin(std::size_t place) const { return place_begin_[place]; }
    const Turn& operator[](std::int32_t rank) const { return turns_[at(rank)]; }

private:
    std::vector<Turn> turns_;
    std::vector<std::int32_t> rank_; ///< fastener
    std::array<std::int32_t, places + 1> place_begin_{};
};

} // namespace boltwalk::inside
