// What classes and grades promise.
#include <fmt/format.h>

#include "core/standards/reading.hpp"
#include "core/standards/standards.hpp"

namespace boltwalk {

namespace {

struct ClassRow {
    std::string_view name;
    double above_mm, up_to_mm; ///< nominal diameters
    double tensile, yield, proof;
};

// ISO 898-1 table 3, as web tables of its loads print them for 8.8, 10.9 and 12.9 (a load divided by the stress area
// gives tensile strength and proof stress; tests/outside/joint.cpp); those below, and 9.8, from memory. Proof stresses
// at 0.2 % of 8.8 to 12.9 from memory, confirmed by the torque table that they reproduce.
constexpr ClassRow iso_classes[] = {
    {"4.6", 0, 39, 400, 240, 225},    {"4.8", 0, 39, 420, 340, 310}, {"5.6", 0, 39, 500, 300, 280},
    {"5.8", 0, 39, 520, 420, 380},    {"6.8", 0, 39, 600, 480, 440}, {"8.8", 0, 16, 800, 640, 580},
    {"8.8", 16, 39, 830, 660, 600},   {"9.8", 0, 16, 900, 720, 650}, {"10.9", 0, 39, 1040, 940, 830},
    {"12.9", 0, 39, 1220, 1100, 970},
};

constexpr double ksi = 6.894757293168; ///< MPa; NIST SP 811
constexpr double inch = 25.4;

// SAE J429: proof and tensile strength of grades 5 and 8 up to 1 in as a scan of the table prints the loads, the proof
// stress of grade 2 as a torque table quotes it; yield strengths, grade 2's tensile strength and sizes above from
// memory.
constexpr ClassRow sae_grades[] = {
    {"2", 0, 0.75 * inch, 74 * ksi, 57 * ksi, 55 * ksi},   {"2", 0.75 * inch, 1.5 * inch, 60 * ksi, 36 * ksi, 33 * ksi},
    {"5", 0, 1.0 * inch, 120 * ksi, 92 * ksi, 85 * ksi},   {"5", 1.0 * inch, 1.5 * inch, 105 * ksi, 81 * ksi, 74 * ksi},
    {"8", 0, 1.5 * inch, 150 * ksi, 130 * ksi, 120 * ksi},
};

std::optional<Strength> find(std::span<const ClassRow> rows, const std::string& name, double diameter_mm,
                             std::string_view before) {
    for (const ClassRow& row : rows)
        if (row.name == name && diameter_mm > row.above_mm && diameter_mm <= row.up_to_mm)
            return Strength{fmt::format("{}{}", before, name), row.tensile, row.yield, row.proof};
    return std::nullopt;
}

} // namespace

std::optional<Strength> strength_of_bolt(std::string_view grade, const Thread& thread) {
    if (thread.form == ThreadForm::metric)
        return find(iso_classes, plain_grade(grade), thread.diameter_mm, "");
    if (thread.form == ThreadForm::unified)
        return find(sae_grades, plain_grade(grade), thread.diameter_mm, "SAE grade ");
    return std::nullopt;
}

std::optional<Strength> strength_of_nut(std::string_view grade, const Thread& thread) {
    // ISO 898-2 (from memory): the figure is a hundredth of the tensile strength of the strongest bolt for it. SAE J995
    // (from memory) likewise goes by the bolt's grade.
    struct Pair {
        std::string_view nut, bolt;
    };
    constexpr Pair pairs[] = {{"5", "5.8"}, {"6", "6.8"}, {"8", "8.8"}, {"9", "9.8"}, {"10", "10.9"}, {"12", "12.9"}};
    const std::string name = plain_grade(grade);
    if (thread.form == ThreadForm::unified)
        return strength_of_bolt(name, thread);
    for (const Pair& pair : pairs)
        if (pair.nut == name)
            return strength_of_bolt(pair.bolt, thread);
    return std::nullopt;
}

} // namespace boltwalk
