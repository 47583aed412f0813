// The torque wrench: its setting with an adapter, and its range.
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "core/standards/standards.hpp"

namespace boltwalk {

namespace {

/// Of degrees, by sums and products only: whether a wrench will do hangs on it, and the library's cosine differs from
/// machine to machine. Error below 1e-15; exact at quarter turns.
double cosine_of(double degrees) {
    double a = std::fabs(std::fmod(degrees, 360.0));
    a = a > 180 ? 360 - a : a;
    const double sign = a > 90 ? -1 : 1;
    a = a > 90 ? 180 - a : a;
    const bool as_sine = a > 45;
    const double x = (as_sine ? 90 - a : a) * std::numbers::pi / 180.0;
    double term = as_sine ? x : 1;
    double sum = term;
    for (int k = as_sine ? 2 : 1; k < 20; k += 2) {
        term *= -x * x / (k * (k + 1.0));
        sum += term;
    }
    return sign * sum;
}

} // namespace

Reading<double> wrench_setting_nm(double torque_nm, double wrench_mm, double adapter_mm, double angle_deg) {
    if (!(wrench_mm > 0) || !(adapter_mm >= 0) || !std::isfinite(wrench_mm + adapter_mm + angle_deg))
        return tl::unexpected(Mistake{"A wrench or an adapter has no such length.",
                                      "Give millimetres: from the middle of the grip to the square, and from the "
                                      "square to the middle of the fastener."});
    // US Army TM 9-254 figures 4-5 and 4-6; in line the whole adapter adds to the lever, square to it nothing does.
    const double lever = wrench_mm + adapter_mm * cosine_of(angle_deg);
    if (!(lever > 0))
        return tl::unexpected(Mistake{fmt::format("An adapter of {} mm folded back by {}° leaves no lever.",
                                                  print_number(adapter_mm), print_number(angle_deg)),
                                      "Set it square to the wrench: then no correction is needed."});
    return torque_nm * wrench_mm / lever;
}

WrenchFit wrench_fit(double setting_nm, double low_nm, double high_nm) {
    // A converted figure at the very end of a scale is not outside it.
    constexpr double rounding = 1e-9;
    if (setting_nm > high_nm * (1 + rounding))
        return WrenchFit::above;
    // ISO 6789:2003 as a wrench's manual reviews it: tested at 20, 60 and 100 %, not to be used below 20 %; the 2017
    // edition (a maker's article): the range begins at the lowest mark.
    if (setting_nm < low_nm * (1 - rounding))
        return WrenchFit::below_marks;
    return setting_nm < wrench_least_share * high_nm * (1 - rounding) ? WrenchFit::below_fifth : WrenchFit::usable;
}

double wrench_error_percent(double high_nm) {
    // ISO 6789:2003, type II class A, as the same manual prints it.
    return high_nm > 10 ? 4 : 6;
}

} // namespace boltwalk
