// Widths across flats depend on the series: no row here says "this thread has that hexagon", only "this series has".
// The standards' own texts were not opened; "seen" means at least two public tables of that standard agreed, unless the
// comment says otherwise.
#include "core/standards/drive_tables.hpp"
#include "core/standards/reading.hpp"

namespace boltwalk {
namespace {

// ISO 272:1982, as ISO 4014, 4017, 8765 (bolts) and 4032 (nuts) have it. Seen. Public tables that give M14 22 or M22 32
// here mix in the DIN series.
constexpr SizeRow iso_hex[] = {
    {3, 5.5}, {4, 7},   {5, 8},   {6, 10},  {8, 13},  {10, 16}, {12, 18},
    {14, 21}, {16, 24}, {18, 27}, {20, 30}, {22, 34}, {24, 36},
};
constexpr SizeRow iso_hex_rest[] = {
    {1.6, 3.2}, {2, 4},   {2.5, 5}, {7, 11},  {27, 41}, {30, 46}, {33, 50}, {36, 55},
    {39, 60},   {42, 65}, {45, 70}, {48, 75}, {52, 80}, {56, 85}, {60, 90}, {64, 95},
};

// DIN 931, 933 (bolts), 934 (nuts), withdrawn and still everywhere; JIS B 1180's annex has the same. Seen.
constexpr SizeRow din_hex[] = {
    {3, 5.5}, {4, 7},   {5, 8},   {6, 10},  {8, 13},  {10, 17}, {12, 19},
    {14, 22}, {16, 24}, {18, 27}, {20, 30}, {22, 32}, {24, 36},
};

// JIS B 1180, annex: small hexagons. M8 to M12 seen, M14 upwards in one place only.
constexpr SizeRow jis_small_hex[] = {
    {8, 12}, {10, 14}, {12, 17}, {14, 19}, {16, 22}, {18, 24}, {20, 27}, {22, 30}, {24, 32},
};

// EN 1662, ISO 4162: flange bolts, small series. Seen. M12 is 16 in tables of EN 1662 and 15 in one of ISO 4162.
constexpr SizeRow small_flange[] = {{5, 7}, {6, 8}, {8, 10}, {10, 13}, {12, 16}, {14, 18}, {16, 21}};
constexpr SizeRow small_flange_iso[] = {{12, 15}};

// EN 1665: flange bolts, heavy series. Seen.
constexpr SizeRow heavy_flange[] = {{5, 8}, {6, 10}, {8, 13}, {10, 16}, {12, 18}, {14, 21}, {16, 24}, {20, 30}};

// ISO 4161 (DIN 6923): flange nuts. Seen.
constexpr SizeRow flange_nut[] = {{5, 8}, {6, 10}, {8, 13}, {10, 15}, {12, 18}, {14, 21}, {16, 24}, {20, 30}};

constexpr SizeRow din_6921[] = {{5, 8}, {6, 10}, {8, 13}, {10, 15}, {12, 18}, {14, 21}, {16, 24}, {20, 30}};

// DIN 935-1:2013, and the sizes in which its older edition differed (M22 in one place only). Seen.
constexpr SizeRow castle_rows[] = {
    {6, 10}, {8, 13}, {10, 16}, {12, 18}, {14, 21}, {16, 24}, {18, 27}, {20, 30}, {22, 34}, {24, 36},
};
constexpr SizeRow castle_old[] = {{10, 17}, {12, 19}, {14, 22}, {22, 32}};

// ASME B18.2.1 hex cap screws, ASME B18.2.2 hex nuts. Seen up to 3/4 in.
constexpr SizeRow cap_screw_hex[] = {
    {in(0.25), in(0.4375)}, {in(0.3125), in(0.5)},    {in(0.375), in(0.5625)}, {in(0.4375), in(0.625)},
    {in(0.5), in(0.75)},    {in(0.5625), in(0.8125)}, {in(0.625), in(0.9375)}, {in(0.75), in(1.125)},
};
constexpr SizeRow inch_nut_hex[] = {
    {in(0.25), in(0.4375)}, {in(0.3125), in(0.5)},   {in(0.375), in(0.5625)}, {in(0.4375), in(0.6875)},
    {in(0.5), in(0.75)},    {in(0.5625), in(0.875)}, {in(0.625), in(0.9375)}, {in(0.75), in(1.125)},
};
constexpr SizeRow inch_hex_rest[] = {
    {in(0.875), in(1.3125)}, {in(1.0), in(1.5)}, {in(1.125), in(1.6875)}, {in(1.25), in(1.875)}, {in(1.5), in(2.25)},
};

// ISO 4762 (JIS B 1176): cap screws. Seen.
constexpr SizeRow cap_key[] = {
    {3, 2.5}, {4, 3},   {5, 4},   {6, 5},   {8, 6},   {10, 8},  {12, 10},
    {14, 12}, {16, 14}, {18, 14}, {20, 17}, {22, 17}, {24, 19},
};
constexpr SizeRow cap_key_rest[] = {
    {1.6, 1.5}, {2, 1.5}, {2.5, 2}, {27, 19}, {30, 22}, {36, 27}, {42, 32}, {48, 36},
};
constexpr SizeRow low_cap_key[] = {
    {3, 2}, {4, 2.5}, {5, 3}, {6, 4}, {8, 5}, {10, 7}, {12, 8}, {14, 10}, {16, 12}, {18, 12}, {20, 14}, {24, 17},
};

// ISO 10642: countersunk. Seen.
constexpr SizeRow countersunk_key[] = {
    {3, 2}, {4, 2.5}, {5, 3}, {6, 4}, {8, 5}, {10, 6}, {12, 8}, {14, 10}, {16, 10}, {20, 12},
};

// ISO 7380-1: button head. Seen.
constexpr SizeRow button_key[] = {{3, 2}, {4, 2.5}, {5, 3}, {6, 4}, {8, 5}, {10, 6}, {12, 8}, {16, 10}};

constexpr SizeRow set_screw_key[] = {
    {3, 1.5}, {4, 2}, {5, 2.5}, {6, 3}, {8, 4}, {10, 5}, {12, 6}, {16, 8}, {20, 10}, {24, 12},
};

constexpr SizeRow inch_cap_key[] = {
    {in(0.190), in(0.15625)}, {in(0.25), in(0.1875)}, {in(0.3125), in(0.25)}, {in(0.375), in(0.3125)},
    {in(0.4375), in(0.375)},  {in(0.5), in(0.375)},   {in(0.625), in(0.5)},   {in(0.75), in(0.625)},
};

// ISO 14579: cap screws with the hexalobular socket of ISO 10664. In one place only.
constexpr SizeRow cap_lobular[] = {
    {2, 6},   {2.5, 8}, {3, 10},  {4, 20},  {5, 25},  {6, 30},  {8, 45},
    {10, 50}, {12, 55}, {14, 60}, {16, 70}, {18, 80}, {20, 90},
};
// ISO 14580 (low cap), 14581 (countersunk), 14583 (pan), and the smaller ones that the trade sells beside them.
constexpr SizeRow other_lobular[] = {
    {2, 6},  {2.5, 8}, {3, 10}, {3.5, 15}, {4, 15},  {4, 20},  {5, 20},  {5, 25},  {5, 27},  {6, 25},
    {6, 27}, {6, 30},  {8, 40}, {8, 45},   {10, 45}, {10, 50}, {12, 50}, {12, 55}, {14, 60}, {16, 70},
};

constexpr SizeRow outer_lobular[] = {
    {3, 4},   {4, 5},   {5, 6},   {6, 8},   {7, 10},  {8, 10},  {8, 12},  {10, 12},
    {10, 14}, {12, 14}, {12, 16}, {12, 18}, {14, 18}, {16, 20}, {18, 24}, {20, 24},
};

constexpr DriveSeries all_series[] = {
    {"ISO 4014/4017/4032", DriveKind::hex, ThreadForm::metric, "", false, false, iso_hex},
    {"ISO 4014/4017/4032", DriveKind::hex, ThreadForm::metric, "", false, true, iso_hex_rest},
    {"DIN 931/933/934", DriveKind::hex, ThreadForm::metric, "", false, false, din_hex},
    {"JIS B 1180 small", DriveKind::hex, ThreadForm::metric, "", false, false, jis_small_hex},
    {"EN 1662", DriveKind::hex, ThreadForm::metric, "", false, false, small_flange},
    {"ISO 4162", DriveKind::hex, ThreadForm::metric, "", false, false, small_flange_iso},
    {"EN 1665", DriveKind::hex, ThreadForm::metric, "", false, false, heavy_flange},
    {"ISO 4161 nut", DriveKind::hex, ThreadForm::metric, "", false, false, flange_nut},
    {"DIN 6921", DriveKind::hex, ThreadForm::metric, "", false, true, din_6921},
    {"DIN 935", DriveKind::hex, ThreadForm::metric, "", true, false, castle_rows},
    {"DIN 935, older edition", DriveKind::hex, ThreadForm::metric, "", true, false, castle_old},
    {"JIS B 1170 small", DriveKind::hex, ThreadForm::metric, "", true, true, jis_small_hex},
    {"ASME B18.2.1", DriveKind::hex, ThreadForm::unified, "", false, false, cap_screw_hex},
    {"ASME B18.2.2 nut", DriveKind::hex, ThreadForm::unified, "", false, false, inch_nut_hex},
    {"ASME B18.2.1", DriveKind::hex, ThreadForm::unified, "", false, true, inch_hex_rest},
    {"ISO 4762", DriveKind::socket, ThreadForm::metric, "cap", false, false, cap_key},
    {"ISO 4762", DriveKind::socket, ThreadForm::metric, "cap", false, true, cap_key_rest},
    {"DIN 7984", DriveKind::socket, ThreadForm::metric, "cap", false, true, low_cap_key},
    {"ISO 10642", DriveKind::socket, ThreadForm::metric, "countersunk", false, false, countersunk_key},
    {"ISO 7380-1", DriveKind::socket, ThreadForm::metric, "button", false, false, button_key},
    {"ISO 4026", DriveKind::socket, ThreadForm::metric, "none", false, true, set_screw_key},
    {"ASME B18.3", DriveKind::socket, ThreadForm::unified, "cap", false, true, inch_cap_key},
    {"ISO 14579", DriveKind::hexalobular, ThreadForm::metric, "cap", false, false, cap_lobular},
    {"ISO 14580", DriveKind::hexalobular, ThreadForm::metric, "cap", false, true, other_lobular},
    {"ISO 14581", DriveKind::hexalobular, ThreadForm::metric, "countersunk", false, true, other_lobular},
    {"ISO 14583", DriveKind::hexalobular, ThreadForm::metric, "pan", false, true, other_lobular},
    {"the trade's button heads", DriveKind::hexalobular, ThreadForm::metric, "button", false, true, other_lobular},
    {"DIN 34800", DriveKind::external_hexalobular, ThreadForm::metric, "", false, true, outer_lobular},
};

} // namespace

std::span<const DriveSeries> drive_series() {
    return all_series;
}

} // namespace boltwalk
