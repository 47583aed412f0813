// How large heads, nuts and washers are, beside the widths across flats that drive_tables.cpp holds. The standards' own
// texts were not opened. "Seen": the open data of the FreeCAD fasteners workbench (FsData, one file a standard) has
// these figures. The rest is from memory and says so.
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

#include "core/standards/drive_tables.hpp"
#include "core/standards/reading.hpp"

namespace boltwalk {

namespace {

/// width: head, flange or washer across, 0 where the flats are all. height: of the head, nut or washer. detail: what
/// the series says of it (HardwareSize). drive: 0 where drive_tables.cpp has it.
struct Row {
    double diameter_mm, width_mm, height_mm, detail_mm, drive;
};

// ISO 4014 (and 4017, 8765, 8676): k nominal. Seen.
constexpr Row hex_head[] = {
    {1.6, 0, 1.1, 0, 0}, {2, 0, 1.4, 0, 0}, {2.5, 0, 1.7, 0, 0}, {3, 0, 2, 0, 0},     {4, 0, 2.8, 0, 0},
    {5, 0, 3.5, 0, 0},   {6, 0, 4, 0, 0},   {8, 0, 5.3, 0, 0},   {10, 0, 6.4, 0, 0},  {12, 0, 7.5, 0, 0},
    {14, 0, 8.8, 0, 0},  {16, 0, 10, 0, 0}, {18, 0, 11.5, 0, 0}, {20, 0, 12.5, 0, 0}, {22, 0, 14, 0, 0},
    {24, 0, 15, 0, 0},   {27, 0, 17, 0, 0}, {30, 0, 18.7, 0, 0}, {33, 0, 21, 0, 0},   {36, 0, 22.5, 0, 0},
    {39, 0, 25, 0, 0},   {42, 0, 26, 0, 0}, {45, 0, 28, 0, 0},   {48, 0, 30, 0, 0},   {52, 0, 33, 0, 0},
    {56, 0, 35, 0, 0},   {60, 0, 38, 0, 0}, {64, 0, 40, 0, 0},
};

// ISO 4032: m max. Seen.
constexpr Row hex_nut[] = {
    {1.6, 0, 1.3, 0, 0}, {2, 0, 1.6, 0, 0},   {2.5, 0, 2, 0, 0},   {3, 0, 2.4, 0, 0},   {4, 0, 3.2, 0, 0},
    {5, 0, 4.7, 0, 0},   {6, 0, 5.2, 0, 0},   {8, 0, 6.8, 0, 0},   {10, 0, 8.4, 0, 0},  {12, 0, 10.8, 0, 0},
    {14, 0, 12.8, 0, 0}, {16, 0, 14.8, 0, 0}, {18, 0, 15.8, 0, 0}, {20, 0, 18, 0, 0},   {22, 0, 19.4, 0, 0},
    {24, 0, 21.5, 0, 0}, {27, 0, 23.8, 0, 0}, {30, 0, 25.6, 0, 0}, {33, 0, 28.7, 0, 0}, {36, 0, 31, 0, 0},
    {39, 0, 33.4, 0, 0}, {42, 0, 34, 0, 0},   {45, 0, 36, 0, 0},   {48, 0, 38, 0, 0},   {52, 0, 42, 0, 0},
    {56, 0, 45, 0, 0},   {60, 0, 48, 0, 0},   {64, 0, 51, 0, 0},
};

// DIN 934: m max. Seen.
constexpr Row din_nut[] = {
    {3, 0, 2.4, 0, 0}, {4, 0, 3.2, 0, 0}, {5, 0, 4, 0, 0},   {6, 0, 5, 0, 0},   {8, 0, 6.5, 0, 0},
    {10, 0, 8, 0, 0},  {12, 0, 10, 0, 0}, {14, 0, 11, 0, 0}, {16, 0, 13, 0, 0}, {18, 0, 15, 0, 0},
    {20, 0, 16, 0, 0}, {22, 0, 18, 0, 0}, {24, 0, 19, 0, 0},
};

// EN 1665 heavy series and EN 1662 small series: dc, k, edge c of the flange. Seen.
constexpr Row heavy_flange_head[] = {
    {5, 11.8, 5.8, 1, 0},     {6, 14.2, 6.6, 1.1, 0},   {8, 18, 8.1, 1.2, 0},   {10, 22.3, 10.4, 1.5, 0},
    {12, 26.6, 11.8, 1.8, 0}, {14, 30.5, 13.7, 2.1, 0}, {16, 35, 15.4, 2.4, 0}, {20, 43, 18.9, 3, 0},
};
constexpr Row small_flange_head[] = {
    {5, 11.4, 5.6, 1, 0},     {6, 13.6, 6.9, 1.1, 0},   {8, 17, 8.5, 1.2, 0},     {10, 20.8, 9.7, 1.5, 0},
    {12, 24.7, 12.1, 1.8, 0}, {14, 28.6, 12.9, 2.1, 0}, {16, 32.8, 15.2, 2.4, 0},
};

// ISO 4161: dc max, m max, c min. Seen.
constexpr Row flange_nut_size[] = {
    {5, 11.8, 5, 1, 0},   {6, 14.2, 6, 1.1, 0},   {8, 17.9, 8, 1.2, 0},   {10, 21.8, 10, 1.5, 0},
    {12, 26, 12, 1.8, 0}, {14, 29.9, 14, 2.1, 0}, {16, 34.5, 16, 2.4, 0}, {20, 42.8, 20, 3, 0},
};

// DIN 935: height m over all, height w up to the slots (nominal: three manufacturers' tables, as in assets/hardware.py,
// for M10 to M14; the others are the open data's minimum plus its tolerance, from memory).
constexpr Row castle_nut_size[] = {
    {6, 0, 7.5, 5, 0},  {8, 0, 9.5, 6.5, 0}, {10, 0, 12, 8, 0},  {12, 0, 15, 10, 0}, {14, 0, 16, 11, 0},
    {16, 0, 19, 13, 0}, {18, 0, 21, 15, 0},  {20, 0, 22, 16, 0}, {22, 0, 26, 18, 0}, {24, 0, 27, 19, 0},
};

// ISO 4762 (and 14579): dk max, k, depth t of the socket. Seen; M18, M22, M27 from memory.
constexpr Row cap_head[] = {
    {1.6, 3, 1.6, 0.7, 0}, {2, 3.8, 2, 1, 0},     {2.5, 4.5, 2.5, 1.1, 0}, {3, 5.5, 3, 1.3, 0}, {4, 7, 4, 2, 0},
    {5, 8.5, 5, 2.5, 0},   {6, 10, 6, 3, 0},      {8, 13, 8, 4, 0},        {10, 16, 10, 5, 0},  {12, 18, 12, 6, 0},
    {14, 21, 14, 7, 0},    {16, 24, 16, 8, 0},    {18, 27, 18, 9, 0},      {20, 30, 20, 10, 0}, {22, 33, 22, 11, 0},
    {24, 36, 24, 12, 0},   {27, 40, 27, 13.5, 0}, {30, 45, 30, 15.5, 0},   {36, 54, 36, 19, 0}, {42, 63, 42, 24, 0},
    {48, 72, 48, 28, 0},
};

// ISO 7380-1: dk max, k, t min. Seen.
constexpr Row button_head[] = {
    {3, 5.7, 1.65, 1.04, 0}, {4, 7.6, 2.2, 1.3, 0},    {5, 9.5, 2.75, 1.56, 0}, {6, 10.5, 3.3, 2.08, 0},
    {8, 14, 4.4, 2.6, 0},    {10, 17.5, 5.5, 3.12, 0}, {12, 21, 6.6, 4.16, 0},  {16, 28, 8.8, 5.2, 0},
};

// ISO 10642: dk theoretical, k, t. Seen.
constexpr Row countersunk_head[] = {
    {3, 6.72, 1.86, 1.1, 0}, {4, 8.96, 2.48, 1.5, 0},    {5, 11.2, 3.1, 1.9, 0},    {6, 13.44, 3.72, 2.2, 0},
    {8, 17.92, 4.96, 3, 0},  {10, 22.4, 6.2, 3.6, 0},    {12, 26.88, 7.44, 4.3, 0}, {14, 30.8, 8.4, 4.5, 0},
    {16, 33.6, 8.8, 4.8, 0}, {20, 40.32, 10.16, 5.6, 0},
};

// ISO 2009 slotted and ISO 7046 cross recessed: dk theoretical, k, slot t mean; the recess's number is ISO 7045's.
// Seen.
constexpr Row slotted_countersunk[] = {
    {1.6, 3.6, 1, 0.4, 0},  {2, 4.4, 1.2, 0.5, 0}, {2.5, 5.5, 1.5, 0.6, 0}, {3, 6.3, 1.65, 0.7, 1},
    {3.5, 8.2, 2.35, 1, 2}, {4, 9.4, 2.7, 1.1, 2}, {5, 10.4, 2.7, 1.2, 2},  {6, 12.6, 3.3, 1.4, 3},
    {8, 17.3, 4.65, 2, 4},  {10, 20, 5, 2.3, 4},
};

// ISO 1580 slotted: dk max, k, slot t mean. ISO 7045 cross recessed: dk max, k, recess as deep as ISO 1580's slot (an
// estimate), number of the recess. Seen.
constexpr Row slotted_pan[] = {
    {1.6, 3.2, 1, 0.4, 0}, {2, 4, 1.3, 0.5, 0}, {2.5, 5, 1.5, 0.6, 0}, {3, 5.6, 1.8, 0.7, 0}, {3.5, 7, 2.1, 0.8, 0},
    {4, 8, 2.4, 1, 0},     {5, 9.5, 3, 1.2, 0}, {6, 12, 3.6, 1.4, 0},  {8, 16, 4.8, 1.9, 0},  {10, 20, 6, 2.4, 0},
};
constexpr Row cross_pan[] = {
    {3, 5.6, 2.4, 0.7, 1}, {3.5, 7, 2.6, 0.8, 2}, {4, 8, 3.1, 1, 2},     {5, 9.5, 3.7, 1.2, 2},
    {6, 12, 4.6, 1.4, 3},  {8, 16, 6, 1.9, 4},    {10, 20, 7.5, 2.4, 4},
};

// ISO 4026: no head; the socket is half a diameter deep (an estimate).
constexpr Row set_screw[] = {
    {3, 0, 0, 1.5, 0}, {4, 0, 0, 2, 0},  {5, 0, 0, 2.5, 0}, {6, 0, 0, 3, 0},   {8, 0, 0, 4, 0},
    {10, 0, 0, 5, 0},  {12, 0, 0, 6, 0}, {16, 0, 0, 8, 0},  {20, 0, 0, 10, 0}, {24, 0, 0, 12, 0},
};

// ISO 7089: d2 max, h, d1 min. Seen; M14, M18, M22, M27 from memory.
constexpr Row washer_size[] = {
    {1.6, 4, 0.3, 1.7, 0}, {2, 5, 0.3, 2.2, 0},  {2.5, 6, 0.5, 2.7, 0}, {3, 7, 0.5, 3.2, 0},  {4, 9, 0.8, 4.3, 0},
    {5, 10, 1, 5.3, 0},    {6, 12, 1.6, 6.4, 0}, {8, 16, 1.6, 8.4, 0},  {10, 20, 2, 10.5, 0}, {12, 24, 2.5, 13, 0},
    {14, 28, 2.5, 15, 0},  {16, 30, 3, 17, 0},   {18, 34, 3, 19, 0},    {20, 37, 3, 21, 0},   {22, 39, 3, 23, 0},
    {24, 44, 4, 25, 0},    {27, 50, 4, 28, 0},   {30, 56, 4, 31, 0},    {36, 66, 5, 37, 0},   {42, 78, 8, 45, 0},
    {48, 92, 8, 52, 0},
};

// ASME B18.2.1 hex cap screws: head height H nominal (1/4 to 1 in in 1/64 in: 10, 13, 15, 18, 20, 23, 25, 30, 35, 39).
// From memory: the open data's k is the maximum, 1/64 to 1/16 in more.
constexpr Row inch_head[] = {
    {in(0.25), 0, in(0.15625), 0, 0},   {in(0.3125), 0, in(0.203125), 0, 0}, {in(0.375), 0, in(0.234375), 0, 0},
    {in(0.4375), 0, in(0.28125), 0, 0}, {in(0.5), 0, in(0.3125), 0, 0},      {in(0.5625), 0, in(0.359375), 0, 0},
    {in(0.625), 0, in(0.390625), 0, 0}, {in(0.75), 0, in(0.46875), 0, 0},    {in(0.875), 0, in(0.546875), 0, 0},
    {in(1.0), 0, in(0.609375), 0, 0},
};
// ASME B18.2.2 hex nuts: H. Seen; 9/16 in from memory.
constexpr Row inch_nut[] = {
    {in(0.25), 0, in(0.21875), 0, 0},   {in(0.3125), 0, in(0.265625), 0, 0}, {in(0.375), 0, in(0.328125), 0, 0},
    {in(0.4375), 0, in(0.375), 0, 0},   {in(0.5), 0, in(0.4375), 0, 0},      {in(0.5625), 0, in(0.484375), 0, 0},
    {in(0.625), 0, in(0.546875), 0, 0}, {in(0.75), 0, in(0.65625), 0, 0},    {in(0.875), 0, in(0.765625), 0, 0},
    {in(1.0), 0, in(0.875), 0, 0},
};

struct Series {
    HardwareStandard standard;
    std::string_view
        drives; ///< the first words of the hardware_list in drive_tables.cpp that have its drives; empty: the rows
    std::span<const Row> rows;
};

using enum HardwareShape;
constexpr auto metric = ThreadForm::metric;
constexpr auto unified = ThreadForm::unified;

constexpr std::array<Series, 26> all{{
    {{"ISO 4014", hex_bolt, "hex", DriveKind::hex, metric}, "ISO 4014/", hex_head},
    {{"ISO 4017", hex_bolt, "hex", DriveKind::hex, metric}, "ISO 4014/", hex_head},
    {{"ISO 8765", hex_bolt, "hex", DriveKind::hex, metric}, "ISO 4014/", hex_head},
    {{"ISO 8676", hex_bolt, "hex", DriveKind::hex, metric}, "ISO 4014/", hex_head},
    {{"DIN 931", hex_bolt, "hex", DriveKind::hex, metric}, "DIN 931/", hex_head},
    {{"DIN 933", hex_bolt, "hex", DriveKind::hex, metric}, "DIN 931/", hex_head},
    {{"EN 1665", flanged_bolt, "hex_flange", DriveKind::hex, metric}, "EN 1665", heavy_flange_head},
    {{"EN 1662", flanged_bolt, "hex_flange", DriveKind::hex, metric}, "EN 1662", small_flange_head},
    {{"ISO 4762", cap_screw, "cap", DriveKind::socket, metric}, "ISO 4762", cap_head},
    {{"ISO 14579", cap_screw, "cap", DriveKind::hexalobular, metric}, "ISO 14579", cap_head},
    {{"ISO 7380-1", button_screw, "button", DriveKind::socket, metric}, "ISO 7380-1", button_head},
    {{"ISO 10642", countersunk_screw, "countersunk", DriveKind::socket, metric}, "ISO 10642", countersunk_head},
    {{"ISO 2009", countersunk_screw, "countersunk", DriveKind::slot, metric}, "", slotted_countersunk},
    {{"ISO 7046", countersunk_screw, "countersunk", DriveKind::cross, metric}, "", slotted_countersunk},
    {{"ISO 1580", pan_screw, "pan", DriveKind::slot, metric}, "", slotted_pan},
    {{"ISO 7045", pan_screw, "pan", DriveKind::cross, metric}, "", cross_pan},
    {{"ISO 14583", pan_screw, "pan", DriveKind::hexalobular, metric}, "ISO 14579", cross_pan},
    {{"ISO 4026", headless_screw, "none", DriveKind::socket, metric}, "ISO 4026", set_screw},
    {{"ISO 4032", plain_nut, "", DriveKind::hex, metric}, "ISO 4014/", hex_nut},
    {{"ISO 8673", plain_nut, "", DriveKind::hex, metric}, "ISO 4014/", hex_nut},
    {{"DIN 934", plain_nut, "", DriveKind::hex, metric}, "DIN 931/", din_nut},
    {{"ISO 4161", flanged_nut, "", DriveKind::hex, metric}, "ISO 4161", flange_nut_size},
    {{"DIN 935", slotted_nut, "", DriveKind::hex, metric}, "DIN 935", castle_nut_size},
    {{"ISO 7089", flat_washer, "", DriveKind::none, metric}, "", washer_size},
    {{"ASME B18.2.1", hex_bolt, "hex", DriveKind::hex, unified}, "ASME B18.2.1", inch_head},
    {{"ASME B18.2.2", plain_nut, "", DriveKind::hex, unified}, "ASME B18.2.2", inch_nut},
}};

constexpr std::array<HardwareStandard, all.size()> hardware_list = [] {
    std::array<HardwareStandard, all.size()> list{};
    for (std::size_t i = 0; i < all.size(); ++i)
        list[i] = all[i].standard;
    return list;
}();

/// "iso 4017", "ISO4017": as a catalogue writes it.
std::string capitals_of(std::string_view name) {
    std::string out;
    for (const char c : name)
        if (c != ' ')
            out += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    return out;
}

/// "hex 13", "hex 1/2 in", "socket 6", "cross 2".
Drive drive_of(DriveKind kind, double size, ThreadForm form) {
    const std::string_view word = kind == DriveKind::socket        ? "socket"
                                  : kind == DriveKind::hexalobular ? "hexalobular"
                                  : kind == DriveKind::cross       ? "cross"
                                                                   : "hex";
    if (form != ThreadForm::unified)
        return {kind, size, fmt::format("{} {}", word, print_number(size))};
    // Sixteenths of an inch, in lowest terms.
    int over = static_cast<int>(std::lround(size / 25.4 * 16));
    int under = 16;
    while (over % 2 == 0 && under > 1) {
        over /= 2;
        under /= 2;
    }
    const std::string whole = over >= under ? fmt::format("{}", over / under) : "";
    const std::string part = over % under ? fmt::format("{}/{}", over % under, under) : "";
    return {kind, size, fmt::format("{} {}{}{} in", word, whole, !whole.empty() && !part.empty() ? "-" : "", part)};
}

} // namespace

std::span<const HardwareStandard> hardware_standards() {
    return hardware_list;
}

const HardwareStandard* find_hardware_standard(std::string_view name) {
    // Those that go by two hardware_list: the plain number is the part that everybody means.
    const std::string wanted = capitals_of(name) == "ISO7380" ? "ISO7380-1" : capitals_of(name);
    const auto it = std::find_if(hardware_list.begin(), hardware_list.end(),
                                 [&](const HardwareStandard& s) { return capitals_of(s.name) == wanted; });
    return it == hardware_list.end() ? nullptr : &*it;
}

const HardwareStandard* successor_of(std::string_view name) {
    // Common knowledge of the trade, from memory. Not all of their sizes are the same.
    struct Replaced {
        std::string_view old, by;
    };
    constexpr Replaced replaced[] = {
        {"DIN912", "ISO 4762"},  {"DIN931", "ISO 4014"}, {"DIN933", "ISO 4017"},  {"DIN960", "ISO 8765"},
        {"DIN961", "ISO 8676"},  {"DIN934", "ISO 4032"}, {"DIN125", "ISO 7089"},  {"DIN7991", "ISO 10642"},
        {"DIN913", "ISO 4026"},  {"DIN963", "ISO 2009"}, {"DIN965", "ISO 7046"},  {"DIN85", "ISO 1580"},
        {"DIN7985", "ISO 7045"}, {"DIN6921", "EN 1665"}, {"DIN6923", "ISO 4161"},
    };
    const std::string wanted = capitals_of(name);
    for (const Replaced& one : replaced)
        // "DIN 125-A", "DIN 125 A": a form of it.
        if (wanted.starts_with(one.old) &&
            (wanted.size() == one.old.size() || wanted[one.old.size()] < '0' || wanted[one.old.size()] > '9'))
            return find_hardware_standard(one.by);
    return nullptr;
}

std::optional<HardwareSize> hardware_size(const HardwareStandard& standard, double diameter_mm) {
    const auto series =
        std::find_if(all.begin(), all.end(), [&](const Series& s) { return s.standard.name == standard.name; });
    if (series == all.end())
        return std::nullopt;
    const auto row = std::find_if(series->rows.begin(), series->rows.end(),
                                  [&](const Row& r) { return same(r.diameter_mm, diameter_mm); });
    if (row == series->rows.end())
        return std::nullopt;
    HardwareSize size{row->width_mm, row->height_mm, row->detail_mm, {}};
    if (series->drives.empty()) {
        if (standard.drive == DriveKind::cross && row->drive > 0)
            size.drive = drive_of(standard.drive, row->drive, standard.form);
        return size;
    }
    for (const DriveSeries& drives : drive_series())
        if (drives.name.starts_with(series->drives) && drives.kind == standard.drive && drives.form == standard.form &&
            drives.castle == (standard.shape == slotted_nut) && !size.drive)
            for (const SizeRow& one : drives.rows)
                if (same(one.diameter_mm, diameter_mm))
                    size.drive = drive_of(standard.drive, one.drive, standard.form);
    if (!size.drive)
        return std::nullopt;
    return size;
}

double clearance_hole_mm(double diameter_mm) {
    // ISO 273, medium series. Seen in one public table up to M16; M18 and up from memory.
    struct Hole {
        double diameter, hole;
    };
    constexpr Hole medium[] = {
        {1.6, 1.8}, {2, 2.4}, {2.5, 2.9}, {3, 3.4},   {3.5, 3.9}, {4, 4.5},   {5, 5.5}, {6, 6.6},
        {7, 7.6},   {8, 9},   {10, 11},   {12, 13.5}, {14, 15.5}, {16, 17.5}, {18, 20}, {20, 22},
        {22, 24},   {24, 26}, {27, 30},   {30, 33},   {33, 36},   {36, 39},
    };
    for (const Hole& one : medium)
        if (same(one.diameter, diameter_mm))
            return one.hole;
    return 1.1 * diameter_mm; // no row: what the rows about it come to
}

} // namespace boltwalk
