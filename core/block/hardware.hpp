// Bolts, screws, studs, nuts and washers as shells. For core/block only. Millimetres; +Y from shank to head, 0 at the
// bearing face (at the top of what is countersunk or has no head, for their length is measured from there).
//
// Threads are plain shanks of the nominal diameter with a chamfered end. 24 points round: corners of a hexagon at every
// fourth, so that flats are true.
#pragma once

#include <tuple>

#include "core/block/shell.hpp"
#include "core/standards/standards.hpp"

namespace boltwalk::recipe {

struct HardwareForm {
    HardwareShape shape = HardwareShape::hex_bolt;
    bool stud = false;      ///< a rod: `rooted_mm` of it below 0
    double diameter_mm = 0; ///< of the thread; of a washer that of its bolt
    double length_mm = 0;   ///< of what has a shank
    double rooted_mm = 0;
    HardwareSize size; ///< with the drive that is drawn
    auto operator<=>(const HardwareForm& o) const {
        const auto all = [](const HardwareForm& f) {
            return std::tuple(f.shape, f.stud, f.diameter_mm, f.length_mm, f.rooted_mm, f.size.width_mm,
                              f.size.height_mm, f.size.detail_mm, f.size.drive ? f.size.drive->kind : DriveKind::none,
                              f.size.drive ? f.size.drive->size : 0.0);
        };
        return all(*this) <=> all(o);
    }
};

Shell drawn(const HardwareForm&);

/// Where no standard's table has the size: by proportion, from ISO 4014, 4032, 7089 and their like at M8 to M12. An
/// estimate; the drive only if stated.
HardwareSize by_proportion(HardwareShape, double diameter_mm);

} // namespace boltwalk::recipe
