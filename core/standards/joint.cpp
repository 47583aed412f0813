// Torque and clamp load. All of it is estimate: friction is known to a factor of two at best.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/standards/standards.hpp"

namespace boltwalk {

namespace {

// By surface, each one figure; standards.hpp's low and high nut factor are of the ordinary joint, and no rows of these.
// Shigley's Mechanical Engineering Design, 9th edition, table 8-15, as two public texts quote it; the last row's name
// and figure rest on one of them, and on memory.
constexpr NutFactor factors[] = {
    {"not plated, black", 0.30}, {"zinc plated", 0.20},      {"lubricated", 0.18},
    {"cadmium plated", 0.16},    {"anti-seize paste", 0.12},
};

struct BearingRow {
    double diameter_mm, washer_face_mm, hole_mm;
};
// Washer faces of ISO 4014, grade A (least dw), and holes of ISO 273, medium series: from memory. With them the formula
// below gives the torques of VDI 2230's tables (tests/outside/joint.cpp).
constexpr BearingRow bearings[] = {
    {4, 5.88, 4.5},    {5, 6.88, 5.5},    {6, 8.88, 6.6},  {8, 11.63, 9},   {10, 14.63, 11}, {12, 16.63, 13.5},
    {14, 19.64, 15.5}, {16, 22.49, 17.5}, {18, 25.34, 20}, {20, 28.19, 22}, {22, 31.71, 24}, {24, 33.61, 26},
};
/// For sizes without a row: within 5 % of every one of them.
constexpr double bearing_for_diameter = 1.28;

/// What a newton of clamp load takes in torque, in millimetres: pitch, friction in the thread, friction under the head.
double lever_mm(const Thread& thread, double friction) {
    // VDI 2230, in its own rounded figures, as two public texts print them: 0.16 for 1 / (2 pi), 0.58 for flanks of 60
    // degrees, 1 / (2 cos 30).
    return 0.16 * thread.pitch_mm + 0.58 * pitch_diameter_mm(thread) * friction +
           bearing_diameter_mm(thread) / 2.0 * friction;
}

/// Torsion in the thread, as a multiple of the tension, squared and weighted by von Mises.
double torsion_term(const Thread& thread, double friction) {
    const double d2 = pitch_diameter_mm(thread);
    const double d0 = (d2 + root_diameter_mm(thread)) / 2.0;
    const double ratio = 1.5 * d2 / d0 * (thread.pitch_mm / (std::numbers::pi * d2) + 1.155 * friction);
    return 1.0 + 3.0 * ratio * ratio;
}

} // namespace

std::span<const NutFactor> nut_factors() {
    return factors;
}

double torque_by_nut_factor_nm(double k, double diameter_mm, double clamp_n) {
    return k * diameter_mm * clamp_n / 1000.0;
}

double clamp_by_nut_factor_n(double k, double diameter_mm, double torque_nm) {
    return torque_nm * 1000.0 / (k * diameter_mm);
}

double bearing_diameter_mm(const Thread& thread) {
    for (const BearingRow& row : bearings)
        if (row.diameter_mm == thread.diameter_mm)
            return (row.washer_face_mm + row.hole_mm) / 2.0;
    return bearing_for_diameter * thread.diameter_mm;
}

double utilisation(const Thread& thread, double yield_mpa, double clamp_n, double friction) {
    const double most = clamp_at_share_n(thread, yield_mpa, 1.0, friction);
    return most > 0 ? clamp_n / most : 0;
}

double clamp_at_share_n(const Thread& thread, double yield_mpa, double share, double friction) {
    return stress_area_mm2(thread) * share * yield_mpa / std::sqrt(torsion_term(thread, friction));
}

double torque_for_clamp_nm(const Thread& thread, double clamp_n, double friction) {
    return clamp_n * lever_mm(thread, friction) / 1000.0;
}

double clamp_for_torque_n(const Thread& thread, double torque_nm, double friction) {
    return torque_nm * 1000.0 / lever_mm(thread, friction);
}

} // namespace boltwalk
