// How large hand tools are: each table with its source.
#include <algorithm>
#include <iterator>

#include "core/geometry/tools.hpp"

namespace boltwalk {

namespace {

struct SquareRow {
    double square, outside, length, deep, reach, bit_length, extension, head, height, handle, ratchet;
};
// square    ISO 1174-1 nominal
// outside   of the socket at its driven end, the least for small sizes: ISO 2725-1, from memory
// length    of an ordinary socket: ISO 2725-1 series A maximum, from memory; deep: common practice, no source
// reach     length of the male square, ISO 1174-1 maximum as GOST 24372-80, table 1 has it (shared check values)
// bit       total length of a bit socket; extension: diameter over its ends; head, height (without square), handle,
//           ratchet: common practice, no source (ISO 3315 allows larger ones; from memory)
constexpr SquareRow squares[] = {
    {6.3, 13, 25, 50, 7.5, 37, 13, 26, 22, 16, 150},
    {10, 20, 32, 63, 11, 50, 17, 34, 28, 22, 200},
    {12.5, 24, 40, 78, 15.5, 60, 22, 44, 36, 26, 250},
};

/// The next larger one that has a row; of a square that is not stated the largest.
const SquareRow& row_of(double square_mm) {
    for (const SquareRow& row : squares)
        if (square_mm > 0 && square_mm <= row.square)
            return row;
    return squares[2];
}

struct KeyRow {
    double flats, longer, shorter;
};
// JIS B 4648:2008, standard lengths l1 and short arm l2, as quoted by a maker of couplings' public technical data;
// ISO 2936 has the same standard series, from memory.
constexpr KeyRow keys[] = {
    {0.7, 33, 7},  {0.9, 33, 11}, {1.3, 41, 13}, {1.5, 46.5, 15.5}, {2, 52, 18},    {2.5, 58.5, 20.5},
    {3, 66, 23},   {4, 74, 29},   {5, 85, 33},   {6, 96, 38},       {8, 108, 44},   {10, 122, 50},
    {12, 137, 57}, {14, 154, 70}, {17, 177, 80}, {19, 199, 89},     {22, 222, 102}, {24, 248, 114},
};

struct LobularRow {
    double number, diameter;
};
// ISO 10664, nominal A of the socket. From memory.
constexpr LobularRow lobular[] = {
    {6, 1.75},  {8, 2.4},   {10, 2.8},  {15, 3.35},  {20, 3.95},  {25, 4.5},  {27, 5.1},   {30, 5.6},
    {40, 6.75}, {45, 7.93}, {50, 8.95}, {55, 11.35}, {60, 13.45}, {70, 15.7}, {80, 17.75},
};

/// The flats of a hexagon key as thick as this one.
double key_flats(const Drive& drive) {
    if (drive.kind != DriveKind::hexalobular)
        return drive.size;
    for (const LobularRow& row : lobular)
        if (drive.size <= row.number)
            return row.diameter;
    return drive.size * 0.22;
}

const KeyRow& key_row(const Drive& drive) {
    const double flats = key_flats(drive);
    for (const KeyRow& row : keys)
        if (flats <= row.flats * 1.02)
            return row;
    return keys[std::size(keys) - 1];
}

constexpr double corners_by_flats = 1.1547005383792515; ///< of a hexagon, 2 / sqrt 3

} // namespace

double socket_outside_mm(double flats_mm, double square_mm) {
    // ISO 2725-1 (DIN 3124), maximum d1: 1.25 s + 2.2 mm for squares 6.3 and 10, 1.25 s + 3 mm for 12.5; from memory.
    // Sockets measured (shared check values) are 0 to 2 mm smaller.
    const SquareRow& row = row_of(square_mm);
    const double nut_end = 1.25 * flats_mm + (row.square > 10 ? 3.0 : 2.2);
    return std::max(nut_end, row.outside);
}
double socket_length_mm(double square_mm, bool deep) {
    return deep ? row_of(square_mm).deep : row_of(square_mm).length;
}
double square_length_mm(double square_mm) {
    return row_of(square_mm).reach;
}
double bit_outside_mm(double square_mm) {
    return row_of(square_mm).outside;
}
double bit_length_mm(double square_mm) {
    return row_of(square_mm).bit_length;
}
double extension_outside_mm(double square_mm) {
    return row_of(square_mm).extension;
}
double ratchet_head_mm(double square_mm) {
    return row_of(square_mm).head;
}
double ratchet_height_mm(double square_mm) {
    return row_of(square_mm).height;
}
double handle_width_mm(double square_mm) {
    return row_of(square_mm).handle;
}
double ratchet_length_mm(double square_mm) {
    return row_of(square_mm).ratchet;
}
double torque_wrench_length_mm(double high_nm) {
    // Click wrenches by their upper end: common practice, no source.
    return high_nm <= 30 ? 280 : high_nm <= 120 ? 390 : high_nm <= 220 ? 500 : 640;
}
double ring_outside_mm(double flats_mm) {
    // A line through the maximum outside diameters of box ends in U.S. CID A-A-1346A, 3.2 (7/16 to 3/4 in: 0.695,
    // 0.775, 0.868, 0.946, 1.125 in); out by 0.25 mm at most. ISO 3318 allows 1.5 s + 4 mm, from memory.
    return 1.376 * flats_mm + 2.4;
}
double ring_height_mm(double flats_mm) {
    return 0.5 * flats_mm + 2; // common practice, no source
}
double open_width_mm(double flats_mm) {
    // Between twice the room from axis to wall in GOST 13682-80 (E1 of the shared check values, 1.75 to 2.1 s; what the
    // letter means is inferred) and ISO 3318's maximum b1 = 2.1 s + 7 (from memory).
    return 1.9 * flats_mm + 2;
}
double open_height_mm(double flats_mm) {
    return 0.35 * flats_mm + 2; // common practice, no source
}
double spanner_length_mm(double flats_mm) {
    return 11 * flats_mm + 25; // DIN 3113 combination spanners are close to it; from memory
}
double spanner_width_mm(double flats_mm) {
    return 0.75 * flats_mm; // common practice, no source
}
double key_long_mm(const Drive& drive) {
    return key_row(drive).longer;
}
double key_short_mm(const Drive& drive) {
    return key_row(drive).shorter;
}
double key_thickness_mm(const Drive& drive) {
    return key_flats(drive) * corners_by_flats;
}
double gripped_mm(const Drive& drive) {
    switch (drive.kind) {
    case DriveKind::hex:
    case DriveKind::bihex:
        return drive.size;
    case DriveKind::external_hexalobular:
        return 0.93 * drive.size; // ISO 10664's outer diameters, a line through them; from memory
    default:
        return 0;
    }
}

} // namespace boltwalk
