// Whatever text stands in a map, the readers of quantities, threads and drives answer with a value that is finite and
// can be printed and read again, or with a mistake that says what and what to write.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "core/standards/standards.hpp"

using namespace boltwalk;

namespace {

void must(bool condition) {
    if (!condition) {
        std::abort();
    }
}

template <typename T>
bool is_read(const Reading<T>& reading) {
    if (!reading) {
        must(!reading.error().what.empty() && !reading.error().remedy.empty());
        must(reading.error().what.size() + reading.error().remedy.size() < 1000);
    }
    return reading.has_value();
}

void torque(std::string_view text) {
    const auto spec = read_torque(text);
    if (!is_read(spec)) {
        return;
    }
    must(!spec->stages.empty());
    for (const TorqueStage& stage : spec->stages) {
        must(stage.has_torque || stage.has_angle);
        must(!stage.has_torque || (stage.low_nm > 0 && stage.low_nm <= stage.high_nm && std::isfinite(stage.high_nm)));
        must(!stage.has_angle || (stage.angle_deg > 0 && std::isfinite(stage.angle_deg)));
    }
    // Rounded to a wrench's figures, by 2.5 % at most, what is at the rim may fall beyond what is read at all.
    const bool at_rim = std::any_of(spec->stages.begin(), spec->stages.end(), [](const TorqueStage& stage) {
        return stage.has_torque && (stage.low_nm < 0.00103 || stage.high_nm > 0.97e6);
    });
    const auto again = read_torque(print_torque(*spec, spec->unit)); // the author's own figures are kept
    must(at_rim || again.has_value());
    must(at_rim || read_torque(print_torque(*spec, TorqueUnit::pound_force_inch)).has_value()); // no figure became zero
    if (!again) {
        return;
    }
    must(again->stages.size() == spec->stages.size());
    for (std::size_t i = 0; i < spec->stages.size(); ++i) {
        const TorqueStage& stage = spec->stages[i];
        const TorqueStage& read = again->stages[i];
        must(read.has_torque == stage.has_torque && read.has_angle == stage.has_angle);
        must(std::abs(read.low_nm - stage.low_nm) <= 1e-3 * stage.low_nm);
        must(std::abs(read.high_nm - stage.high_nm) <= 1e-3 * stage.high_nm);
        must(std::abs(read.angle_deg - stage.angle_deg) <= 1e-3 * stage.angle_deg);
    }
}

void thread_and_drive(std::string_view text) {
    const auto thread = read_thread(text);
    if (is_read(thread)) {
        must(thread->diameter_mm > 0 && thread->pitch_mm > 0);
        must(thread->form == ThreadForm::pipe || std::isfinite(stress_area_mm2(*thread)));
        const auto again = read_thread(thread->name);
        must(again.has_value() && again->name == thread->name && again->series == thread->series);
        must(std::abs(again->pitch_mm - thread->pitch_mm) < 1e-5);
    }
    const auto drive = read_drive(text);
    if (is_read(drive)) {
        must(drive->size >= 0 && std::isfinite(drive->size) && !drive->name.empty());
        const auto again = read_drive(drive->name);
        must(again.has_value() && again->name == drive->name && std::abs(again->size - drive->size) < 1e-4);
        std::string series;
        const Thread m10 = read_thread("M10").value();
        for (const char* head : {"", "cap", "button"}) {
            must(is_sold(m10, *drive, FastenerForm::bolt, head, &series) == Sold::unknown || !series.empty());
        }
    }
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    torque(text);
    thread_and_drive(text);
    (void)is_read(read_number(text));
    (void)is_read(read_length_mm(text));
    (void)is_read(read_mass_kg(text));
    return 0;
}
