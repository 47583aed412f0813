// Threads and drives against the world. The standards' own texts were not opened; each table says where its figures
// were seen. "CAD data" are the open fastener data sets of FreeCAD's Fasteners workbench, BOLTS and cq_warehouse, which
// may share ancestry. What public tables are known to give wrongly or dispute is not asserted: M12 of EN 1662 and ISO
// 4162 (16 or 15), M22 of the older DIN 935 (32 or 34).
#include <cmath>
#include <doctest/doctest.h>
#include <numbers>
#include <string>
#include <vector>

#include "core/standards/standards.hpp"

using namespace boltwalk;

namespace {

Thread thread_of(const std::string& text) {
    CAPTURE(text);
    const auto thread = read_thread(text);
    REQUIRE(thread.has_value());
    return *thread;
}

// ISO 898-1 table 4 and 5, web tables of two bearing and bolt suppliers; d2, D1, d3: ISO 724, a tap catalogue of 2016
// and web tables of JIS B 0205, else the formula of ISO 724.
constexpr const char* seen = "ISO 898-1 tables 4 and 5, as two web tables print them";
constexpr const char* remembered = "ISO 898-1 tables 6 and 7 from memory, and the formula of 9.1.6.1";
constexpr const char* computed = "formula of ISO 898-1 9.1.6.1 alone";

struct MetricCheck {
    const char* thread;
    double pitch, d2, d1, d3, area, half_digit;
    const char* area_source;
};

constexpr MetricCheck metric[] = {
    {"M3", 0.5, 2.675, 2.459, 2.387, 5.03, 0.005, seen},
    {"M4", 0.7, 3.545, 3.242, 3.141, 8.78, 0.005, seen},
    {"M5", 0.8, 4.480, 4.134, 4.019, 14.2, 0.05, seen},
    {"M6", 1, 5.350, 4.917, 4.773, 20.1, 0.05, seen},
    {"M8", 1.25, 7.188, 6.647, 6.466, 36.6, 0.05, seen},
    {"M10", 1.5, 9.026, 8.376, 8.160, 58.0, 0.05, seen},
    {"M12", 1.75, 10.863, 10.106, 9.853, 84.3, 0.05, seen},
    {"M14", 2, 12.701, 11.835, 11.546, 115, 0.5, seen},
    {"M16", 2, 14.701, 13.835, 13.546, 157, 0.5, seen},
    {"M18", 2.5, 16.376, 15.294, 14.933, 192, 0.5, seen},
    {"M20", 2.5, 18.376, 17.294, 16.933, 245, 0.5, seen},
    {"M22", 2.5, 20.376, 19.294, 18.933, 303, 0.5, seen},
    {"M24", 3, 22.051, 20.752, 20.319, 353, 0.5, seen},
    {"M8x1", 1, 7.350, 6.917, 6.773, 39.2, 0.05, remembered},
    {"M10x1.25", 1.25, 9.188, 8.647, 8.466, 61.2, 0.05, remembered},
    {"M10x1", 1, 9.350, 8.917, 8.773, 64.5, 0.05, remembered},
    {"M12x1.5", 1.5, 11.026, 10.376, 10.160, 88.1, 0.05, remembered},
    {"M12x1.25", 1.25, 11.188, 10.647, 10.466, 92.1, 0.05, remembered},
    {"M14x1.5", 1.5, 13.026, 12.376, 12.160, 125, 0.5, remembered},
    {"M16x1.5", 1.5, 15.026, 14.376, 14.160, 167, 0.5, remembered},
    {"M18x1.5", 1.5, 17.026, 16.376, 16.160, 216, 0.5, remembered},
    {"M18x2", 2, 16.701, 15.835, 15.546, 204.2, 0.05, computed},
    {"M20x1.5", 1.5, 19.026, 18.376, 18.160, 272, 0.5, remembered},
    {"M20x2", 2, 18.701, 17.835, 17.546, 258.0, 0.05, computed},
    {"M22x1.5", 1.5, 21.026, 20.376, 20.160, 333, 0.5, remembered},
    {"M22x2", 2, 20.701, 19.835, 19.546, 318.1, 0.05, computed},
    {"M24x2", 2, 22.701, 21.835, 21.546, 384, 0.5, remembered},
};

// ISO 262: the coarse pitch and the fine ones that it selects, as two public pages print the list.
struct SelectedSize {
    double diameter, coarse;
    std::vector<double> fine;
};
const SelectedSize selected[] = {
    {1.6, 0.35, {}},
    {1.8, 0.35, {}},
    {2, 0.4, {}},
    {2.5, 0.45, {}},
    {3, 0.5, {}},
    {3.5, 0.6, {}},
    {4, 0.7, {}},
    {5, 0.8, {}},
    {6, 1, {}},
    {7, 1, {}},
    {8, 1.25, {1}},
    {10, 1.5, {1.25, 1}},
    {12, 1.75, {1.5, 1.25}},
    {14, 2, {1.5}},
    {16, 2, {1.5}},
    {18, 2.5, {2, 1.5}},
    {20, 2.5, {2, 1.5}},
    {22, 2.5, {2, 1.5}},
    {24, 3, {2}},
    {27, 3, {2}},
    {30, 3.5, {2}},
    {33, 3.5, {2}},
    {36, 4, {3}},
    {39, 4, {3}},
    {42, 4.5, {3}},
    {45, 4.5, {3}},
    {48, 5, {3}},
    {52, 5, {4}},
    {56, 5.5, {4}},
    {60, 5.5, {4}},
    {64, 6, {4}},
};

struct UnifiedCheck {
    const char* thread;
    double area_in2, half_digit;
    const char* source;
};
constexpr const char* two_sources = "scan of SAE J429's table and the formula of ASME B1.1";
constexpr const char* clamp_table = "a torque table's clamp loads (0.75 x 55 ksi x At) and the formula of ASME B1.1";
constexpr UnifiedCheck unified[] = {
    {"1/4-20", 0.0318, 5e-5, two_sources},  {"1/4-28", 0.0364, 5e-5, two_sources},
    {"5/16-18", 0.0524, 5e-5, two_sources}, {"5/16-24", 0.0581, 5e-5, clamp_table},
    {"3/8-16", 0.0775, 5e-5, two_sources},  {"3/8-24", 0.0878, 5e-5, two_sources},
    {"7/16-14", 0.1063, 5e-5, two_sources}, {"7/16-20", 0.1187, 5e-5, clamp_table},
    {"1/2-13", 0.1419, 5e-5, clamp_table},  {"1/2-20", 0.160, 5e-4, clamp_table},
    {"9/16-12", 0.182, 5e-4, two_sources},  {"9/16-18", 0.203, 5e-4, clamp_table},
    {"5/8-11", 0.226, 5e-4, two_sources},   {"5/8-18", 0.256, 5e-4, clamp_table},
    {"3/4-10", 0.334, 5e-4, two_sources},   {"3/4-16", 0.373, 5e-4, clamp_table},
};

struct DriveCheck {
    const char *thread, *drive;
};
struct SeriesCheck {
    const char* name; ///< as is_sold prints it
    FastenerForm form;
    const char* head;
    const char* source;
    std::vector<DriveCheck> sizes;
};

const SeriesCheck series_checks[] = {
    {"ISO 4014/4017/4032",
     FastenerForm::bolt,
     "hex",
     "ISO 272:1982: CAD data for ISO 4014 and 4032, two web tables of wrench sizes; M14 21 and M22 34 (some of the CAD "
     "data mix in DIN's 22 and 32)",
     {{"M3", "hex 5.5"},
      {"M4", "hex 7"},
      {"M5", "hex 8"},
      {"M6", "hex 10"},
      {"M8", "hex 13"},
      {"M10", "hex 16"},
      {"M12", "hex 18"},
      {"M14", "hex 21"},
      {"M16", "hex 24"},
      {"M18", "hex 27"},
      {"M20", "hex 30"},
      {"M22", "hex 34"},
      {"M24", "hex 36"}}},
    {"DIN 931/933/934",
     FastenerForm::nut,
     "",
     "DIN 931, 933, 934: CAD data; from M8 also a web table of JIS B 1180's annex",
     {{"M3", "hex 5.5"},
      {"M4", "hex 7"},
      {"M5", "hex 8"},
      {"M6", "hex 10"},
      {"M8", "hex 13"},
      {"M10", "hex 17"},
      {"M12", "hex 19"},
      {"M14", "hex 22"},
      {"M16", "hex 24"},
      {"M18", "hex 27"},
      {"M20", "hex 30"},
      {"M22", "hex 32"},
      {"M24", "hex 36"}}},
    {"JIS B 1180 small",
     FastenerForm::bolt,
     "hex_flange",
     "JIS B 1180, annex: a web table; M8 to M12 in a second one",
     {{"M8", "hex 12"},
      {"M10", "hex 14"},
      {"M12", "hex 17"},
      {"M14", "hex 19"},
      {"M16", "hex 22"},
      {"M18", "hex 24"},
      {"M20", "hex 27"},
      {"M22", "hex 30"},
      {"M24", "hex 32"}}},
    {"EN 1662",
     FastenerForm::bolt,
     "hex_flange",
     "EN 1662 and ISO 4162, small series: CAD data",
     {{"M5", "hex 7"}, {"M6", "hex 8"}, {"M8", "hex 10"}, {"M10", "hex 13"}, {"M14", "hex 18"}, {"M16", "hex 21"}}},
    {"EN 1665",
     FastenerForm::bolt,
     "hex_flange",
     "EN 1665, heavy series: CAD data",
     {{"M5", "hex 8"},
      {"M6", "hex 10"},
      {"M8", "hex 13"},
      {"M10", "hex 16"},
      {"M12", "hex 18"},
      {"M14", "hex 21"},
      {"M16", "hex 24"},
      {"M20", "hex 30"}}},
    {"ISO 4161 nut",
     FastenerForm::nut,
     "",
     "ISO 4161 (DIN 6923): CAD data",
     {{"M5", "hex 8"},
      {"M6", "hex 10"},
      {"M8", "hex 13"},
      {"M10", "hex 15"},
      {"M12", "hex 18"},
      {"M14", "hex 21"},
      {"M16", "hex 24"},
      {"M20", "hex 30"}}},
    {"DIN 935",
     FastenerForm::castle_nut,
     "",
     "DIN 935-1:2013: three suppliers' web tables",
     {{"M6", "hex 10"},
      {"M8", "hex 13"},
      {"M10", "hex 16"},
      {"M12", "hex 18"},
      {"M14", "hex 21"},
      {"M16", "hex 24"},
      {"M18", "hex 27"},
      {"M20", "hex 30"},
      {"M22", "hex 34"},
      {"M24", "hex 36"}}},
    {"DIN 935, older edition",
     FastenerForm::castle_nut,
     "",
     "DIN 935, before 2013: a supplier's web table and CAD data",
     {{"M10", "hex 17"}, {"M12", "hex 19"}, {"M14", "hex 22"}}},
    {"ASME B18.2.1",
     FastenerForm::bolt,
     "hex",
     "ASME B18.2.1 hex cap screw: two web tables of wrench sizes; CAD data but for 9/16",
     {{"1/4-20", "hex 7/16 in"},
      {"5/16-18", "hex 1/2 in"},
      {"3/8-16", "hex 9/16 in"},
      {"7/16-14", "hex 5/8 in"},
      {"1/2-13", "hex 3/4 in"},
      {"9/16-12", "hex 13/16 in"},
      {"5/8-11", "hex 15/16 in"},
      {"3/4-10", "hex 1-1/8 in"}}},
    {"ASME B18.2.2 nut",
     FastenerForm::nut,
     "",
     "ASME B18.2.2 hex nut: CAD data; 7/16 and 9/16 differ from the bolt's head",
     {{"1/4-20", "hex 7/16 in"},
      {"5/16-18", "hex 1/2 in"},
      {"3/8-16", "hex 9/16 in"},
      {"7/16-14", "hex 11/16 in"},
      {"1/2-13", "hex 3/4 in"},
      {"9/16-12", "hex 7/8 in"},
      {"5/8-11", "hex 15/16 in"},
      {"3/4-10", "hex 1-1/8 in"}}},
    {"ISO 4762",
     FastenerForm::bolt,
     "cap",
     "ISO 4762: CAD data, a web table of JIS B 1176",
     {{"M3", "socket 2.5"},
      {"M4", "socket 3"},
      {"M5", "socket 4"},
      {"M6", "socket 5"},
      {"M8", "socket 6"},
      {"M10", "socket 8"},
      {"M12", "socket 10"},
      {"M14", "socket 12"},
      {"M16", "socket 14"},
      {"M18", "socket 14"},
      {"M20", "socket 17"},
      {"M22", "socket 17"},
      {"M24", "socket 19"}}},
    {"ISO 10642",
     FastenerForm::bolt,
     "countersunk",
     "ISO 10642 (DIN 7991): CAD data",
     {{"M3", "socket 2"},
      {"M4", "socket 2.5"},
      {"M5", "socket 3"},
      {"M6", "socket 4"},
      {"M8", "socket 5"},
      {"M10", "socket 6"},
      {"M12", "socket 8"},
      {"M14", "socket 10"},
      {"M16", "socket 10"},
      {"M20", "socket 12"}}},
    {"ISO 7380-1",
     FastenerForm::bolt,
     "button",
     "ISO 7380-1: CAD data",
     {{"M3", "socket 2"},
      {"M4", "socket 2.5"},
      {"M5", "socket 3"},
      {"M6", "socket 4"},
      {"M8", "socket 5"},
      {"M10", "socket 6"},
      {"M12", "socket 8"},
      {"M16", "socket 10"}}},
    {"ISO 14579",
     FastenerForm::bolt,
     "cap",
     "ISO 14579: one set of CAD data",
     {{"M2", "hexalobular 6"},
      {"M2.5", "hexalobular 8"},
      {"M3", "hexalobular 10"},
      {"M4", "hexalobular 20"},
      {"M5", "hexalobular 25"},
      {"M6", "hexalobular 30"},
      {"M8", "hexalobular 45"},
      {"M10", "hexalobular 50"},
      {"M12", "hexalobular 55"},
      {"M14", "hexalobular 60"},
      {"M16", "hexalobular 70"},
      {"M18", "hexalobular 80"},
      {"M20", "hexalobular 90"}}},
};

/// Whether `name` is one of the names in "A, B, C". ("DIN 935, older edition" holds a comma, so this looks for whole
/// runs.)
bool names(const std::string& list, const std::string& name) {
    const std::string within = ", " + list + ", ";
    return within.find(", " + name + ", ") != std::string::npos ||
           within.find(", " + name + " (from memory), ") != std::string::npos;
}

} // namespace

TEST_CASE("pitch, minor and root diameters against ISO 724, stress areas against ISO 898-1") {
    for (const MetricCheck& check : metric) {
        CAPTURE(check.thread);
        CAPTURE(check.area_source);
        const Thread thread = thread_of(check.thread);
        CHECK(thread.pitch_mm == check.pitch);
        // ISO 724 prints three decimals
        CHECK(std::abs(pitch_diameter_mm(thread) - check.d2) < 0.00055);
        CHECK(std::abs(minor_diameter_mm(thread) - check.d1) < 0.00055);
        CHECK(std::abs(root_diameter_mm(thread) - check.d3) < 0.00055);
        CHECK(std::abs(stress_area_mm2(thread) - check.area) <= check.half_digit);
        // ISO 898-1 9.1.6.1 gives the same area as pi/4 (d - 0.9382 P)^2
        const double mean = thread.diameter_mm - 0.9382 * thread.pitch_mm;
        CHECK(stress_area_mm2(thread) == doctest::Approx(std::numbers::pi / 4 * mean * mean).epsilon(2e-5));
    }
}

TEST_CASE("coarse and fine pitches against ISO 262") {
    for (const SelectedSize& size : selected) {
        const std::string d = print_number(size.diameter);
        CAPTURE(d);
        const Thread coarse = thread_of("M" + d);
        CHECK(coarse.pitch_mm == size.coarse);
        CHECK(coarse.series == ThreadSeries::iso_coarse);
        CHECK(thread_of("M" + d + "x" + print_number(size.coarse)).name == coarse.name);
        for (const double pitch : size.fine) {
            CHECK(thread_of("M" + d + "x" + print_number(pitch)).series == ThreadSeries::iso_fine);
        }
    }
}

TEST_CASE("stress areas of unified threads against ASME B1.1") {
    for (const UnifiedCheck& check : unified) {
        CAPTURE(check.thread);
        CAPTURE(check.source);
        const Thread thread = thread_of(check.thread);
        CHECK(thread.series == ThreadSeries::unified);
        CHECK(std::abs(stress_area_mm2(thread) / (25.4 * 25.4) - check.area_in2) <= check.half_digit);
    }
}

TEST_CASE("what is sold, series by series") {
    for (const SeriesCheck& check : series_checks) {
        CAPTURE(check.source);
        for (const DriveCheck& size : check.sizes) {
            CAPTURE(size.thread);
            const auto drive = read_drive(size.drive);
            REQUIRE(drive.has_value());
            std::string series;
            CHECK(is_sold(thread_of(size.thread), *drive, check.form, check.head, &series) == Sold::listed);
            CHECK_MESSAGE(names(series, check.name), size.drive << ": " << series);
        }
    }
}

TEST_CASE("a series does not have the size of its neighbour") {
    // The differences that the README of the check values warns of: ISO 272, DIN, JIS are never mixed up.
    struct Apart {
        const char *thread, *drive, *not_in;
    };
    for (const Apart& apart : {Apart{"M10", "hex 17", "ISO 4014/4017/4032"},
                               {"M10", "hex 16", "DIN 931/933/934"},
                               {"M14", "hex 22", "ISO 4014/4017/4032"},
                               {"M22", "hex 32", "ISO 4014/4017/4032"},
                               {"M22", "hex 34", "DIN 931/933/934"},
                               {"M12", "hex 17", "DIN 931/933/934"},
                               {"M10", "hex 15", "EN 1665"},
                               {"7/16-14", "hex 11/16 in", "ASME B18.2.1"}}) {
        CAPTURE(apart.thread);
        CAPTURE(apart.drive);
        std::string series;
        CHECK(is_sold(thread_of(apart.thread), *read_drive(apart.drive), FastenerForm::bolt, "", &series) ==
              Sold::listed);
        CHECK_FALSE(names(series, apart.not_in));
    }
}
