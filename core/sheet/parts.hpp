// The chapters of a sheet; each begins where the pen is.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "core/job/tightening.hpp"
#include "core/sheet/pages.hpp"

namespace boltwalk::inside {

/// What all chapters draw from.
struct Printed {
    const Job& job;
    const Plan& strip;
    const Plan& refit;
    const SheetSettings& settings;
    std::vector<int> number_of;      ///< by Map::fasteners: its number on the bolt board, from 1; 0: not on it
    std::vector<ItemId> boarded;     ///< in that order
    std::vector<std::size_t> out_at; ///< by Map::fasteners: the step of the way out that takes it out, from 1; 0: none
    std::vector<std::size_t> back_at;
    std::vector<Tightening> tightenings;          ///< of the way back
    std::vector<int> turns;                       ///< by item: its number on the screen (core/job/step_numbers.hpp)
    std::vector<std::optional<Outline>> outlines; ///< of the boarded; empty where no board is printed
    /// By step, of the way out and of the way back; empty where none are printed.
    std::array<std::vector<std::optional<SheetPicture>>, 2> pictures;
    /// By Map::photos; empty: it cannot be shown.
    std::vector<std::optional<SheetPicture>> photos;
};
/// All that pages are laid out from, made once: they are laid out twice, first to be counted.
Printed gather(const Job&, const Plan& strip, const Plan& refit, const SheetSettings&);

/// The job's own, else the file's name: a folder is nobody's business.
std::string title_of_job(const Map&);

void print_front(Pages&, const Printed&);
void print_way(Pages&, const Printed&, bool refit);
void print_board(Pages&, const Printed&);
void print_labels(Pages&, const Printed&);

/// A paragraph behind a bar, for what must not be missed: told by its shape, not by a colour.
void print_caution(Pages&, const std::string&, double x, double width);

} // namespace boltwalk::inside
