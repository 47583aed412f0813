// The tables behind is_sold. For core/standards only.
#pragma once

#include <span>
#include <string_view>

#include "core/standards/standards.hpp"

namespace boltwalk {

/// One size of a series: the thread's nominal diameter, and the drive as Drive::size has it.
struct SizeRow {
    double diameter_mm;
    double drive;
};

/// A series of heads or nuts.
struct DriveSeries {
    std::string_view name; ///< as printed: "EN 1662"
    DriveKind kind;
    ThreadForm form;
    std::string_view head; ///< the annotation's word for the one head that the series has; empty for hexagons
    bool castle;           ///< a series of castle nuts
    bool from_memory;      ///< the figures were not seen in print
    std::span<const SizeRow> rows;
};
std::span<const DriveSeries> drive_series();

} // namespace boltwalk
