#include <numbers>

#include "core/standards/standards.hpp"

namespace boltwalk {
namespace {

/// Height of the fundamental triangle of the 60-degree thread (ISO 68-1): sqrt(3)/2 times the pitch.
double triangle_mm(const Thread& thread) {
    return 0.86602540378443864676 * thread.pitch_mm;
}

} // namespace

double pitch_diameter_mm(const Thread& thread) {
    return thread.form == ThreadForm::pipe ? 0 : thread.diameter_mm - 3.0 / 4.0 * triangle_mm(thread);
}

double minor_diameter_mm(const Thread& thread) {
    return thread.form == ThreadForm::pipe ? 0 : thread.diameter_mm - 5.0 / 4.0 * triangle_mm(thread);
}

double root_diameter_mm(const Thread& thread) {
    switch (thread.form) {
    case ThreadForm::metric: // ISO 898-1 9.1.6.1: d3 = d1 - H/6
        return minor_diameter_mm(thread) - triangle_mm(thread) / 6.0;
    case ThreadForm::unified: // ASME B1.1 (from memory): minor diameter of the UNR thread, 11/16 H deep
        return thread.diameter_mm - 11.0 / 8.0 * triangle_mm(thread);
    case ThreadForm::pipe:
        break;
    }
    return 0;
}

double stress_area_mm2(const Thread& thread) {
    double diameter = 0;
    switch (thread.form) {
    case ThreadForm::metric: // ISO 898-1 9.1.6.1: mean of pitch and root diameter
        diameter = (pitch_diameter_mm(thread) + root_diameter_mm(thread)) / 2.0;
        break;
    case ThreadForm::unified: // ASME B1.1: 0.9743 / n
        diameter = thread.diameter_mm - 0.9743 * thread.pitch_mm;
        break;
    case ThreadForm::pipe:
        break;
    }
    return std::numbers::pi / 4.0 * diameter * diameter;
}

} // namespace boltwalk
