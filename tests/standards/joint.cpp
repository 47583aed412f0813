#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

#include "core/standards/standards.hpp"

using namespace boltwalk;

TEST_CASE("an adapter: full correction in line, none square to the wrench, more when folded back") {
    CHECK(*wrench_setting_nm(100, 400, 100, 0) == 80);
    CHECK(*wrench_setting_nm(100, 400, 100, 90) == 100);
    CHECK(*wrench_setting_nm(100, 400, 100, -90) == 100);
    CHECK(*wrench_setting_nm(100, 400, 100, 270) == 100);
    CHECK(*wrench_setting_nm(100, 400, 100, 180) == doctest::Approx(400.0 / 3));
    CHECK(*wrench_setting_nm(100, 400, 0, 0) == 100);
}

TEST_CASE("an angled adapter against the library's cosine") {
    for (int angle = -720; angle <= 720; ++angle) {
        CAPTURE(angle);
        CHECK(*wrench_setting_nm(100, 400, 90, angle) ==
              doctest::Approx(100 * 400 / (400 + 90 * std::cos(angle * std::numbers::pi / 180))).epsilon(1e-14));
    }
}

TEST_CASE("no wrench, no adapter, no lever left") {
    CHECK(!wrench_setting_nm(100, 0, 10, 0));
    CHECK(!wrench_setting_nm(100, 400, -10, 0));
    CHECK(!wrench_setting_nm(100, 400, 400, 180));
    CHECK(!wrench_setting_nm(100, 400, std::nan(""), 0));
    CHECK(!wrench_setting_nm(100, 400, 10, INFINITY));
}

TEST_CASE("a wrench at the ends of its scale is not outside it") {
    const double top = torque_to_nm(TorqueUnit::pound_force_foot, 150);
    CHECK(wrench_fit(top, torque_to_nm(TorqueUnit::pound_force_foot, 30), top) == WrenchFit::usable);
    CHECK(wrench_fit(top / 5, 1, top) == WrenchFit::usable);
}

TEST_CASE("classes and grades as they are written") {
    const Thread metric = *read_thread("M10"), thick = *read_thread("M20"), inch = *read_thread("3/8-16");
    CHECK(strength_of_bolt("8.8", metric)->yield_mpa == 640);
    CHECK(strength_of_bolt("class 8.8", thick)->yield_mpa == 660);
    CHECK(strength_of_bolt("10,9", metric)->name == "10.9");
    CHECK(strength_of_bolt("Grade 5", inch)->name == "SAE grade 5");
    CHECK(!strength_of_bolt("5", metric)); // an inch grade says nothing of a metric bolt
    CHECK(!strength_of_bolt("8.8", inch));
    CHECK(!strength_of_bolt("A2-70", metric));
    CHECK(!strength_of_bolt("9.8", thick)); // made up to M16 only
    CHECK(!strength_of_bolt("", metric));
    CHECK(!strength_of_bolt("8.8", *read_thread("G 1/2")));
    CHECK(strength_of_nut("10", metric)->name == "10.9");
    CHECK(strength_of_nut("8", metric)->name == "8.8");
    CHECK(!strength_of_nut("04", metric)); // a thin nut strips first
}

// Names from memory of ISO 898-1, ISO 898-2, ISO 898-5, ISO 3506, SAE J429 and ASTM.
TEST_CASE("what is called a class or grade, and what is not") {
    for (const char* grade : {"8.8",
                              "8,8",
                              "10.9",
                              "class 8.8",
                              "12.9U",
                              "08.8",
                              "04",
                              "8",
                              "10",
                              "45H",
                              "A2-70",
                              "a4-80",
                              "A2",
                              "A1-025",
                              "grade 5",
                              "SAE 8",
                              "5.2",
                              "ASTM A325",
                              "B7",
                              "200 HV",
                              "CU2",
                              "8.8 zinc plated",
                              "10.9 (phosphated)"})
        CHECK_MESSAGE(is_grade(grade), grade);
    for (const char* grade : {"", " ", "banana", "8.9", "88", "45512", "08. Aug", "8 Aug", "8-Aug-26", "A2-71", "9.10",
                              "-", "8.8.2026", "banana 8.8", "8.8 10.9", "A", "HV"})
        CHECK_MESSAGE(!is_grade(grade), grade);
    // Whatever class the tables can reckon with is one.
    for (const char* grade : {"4.6", "4.8", "5.6", "5.8", "6.8", "9.8", "12.9"})
        CHECK_MESSAGE((is_grade(grade) && strength_of_bolt(grade, *read_thread("M10"))), grade);
}

TEST_CASE("a class that a spreadsheet took for a day of the year") {
    for (const std::pair<const char*, const char*>& one :
         {std::pair("08. Aug", "8.8"), std::pair("8-Aug-26", "8.8"), std::pair("Aug 08", "8.8"),
          std::pair("10. Sep", "10.9"), std::pair("12.09.2026", "12.9"), std::pair("2026-08-09", "9.8"),
          std::pair("08/08/2026", "8.8"), std::pair("08.08", "8.8"), std::pair("04. Jun", "4.6"),
          std::pair("07. M\xC3\xA4rz", ""), std::pair("Sep-98", ""), std::pair("Oct-09", "10.9"),
          std::pair("8.8.", "8.8"), std::pair("12/9", "12.9")})
        CHECK_MESSAGE(grade_of_date(one.first).value_or("no date") == one.second, one.first);
    // Python's datetime: date(1899, 12, 30) + timedelta(45512) is 8 August 2024, and 45545 is 10 September.
    CHECK(grade_of_date("45512") == "8.8");
    CHECK(grade_of_date("45545") == "10.9");
    for (const char* grade : {"8.8", "8.9", "9.10", "10.9", "A2-70", "banana", "123", "99999", "400. Aug", "8.8.8.8",
                              "Augenbolzen", "8.8 or August", ""})
        CHECK_MESSAGE(!grade_of_date(grade), grade);
}

TEST_CASE("a size without a row of its own lies near those that have one") {
    Thread odd = *read_thread("M10");
    odd.diameter_mm = 10.001;
    CHECK(bearing_diameter_mm(odd) == doctest::Approx(bearing_diameter_mm(*read_thread("M10"))).epsilon(0.05));
    for (const char* size : {"M4", "M5", "M6", "M8", "M12", "M14", "M16", "M18", "M20", "M22", "M24"}) {
        const Thread thread = *read_thread(size);
        CHECK(bearing_diameter_mm(thread) / thread.diameter_mm == doctest::Approx(1.28).epsilon(0.05));
    }
}

TEST_CASE("more friction, less clamp load of one torque, and never more than the torque alone gives") {
    const Thread thread = *read_thread("M8");
    CHECK(clamp_for_torque_n(thread, 22, low_friction) > clamp_for_torque_n(thread, 22, high_friction));
    CHECK(clamp_for_torque_n(thread, 22, 0) == doctest::Approx(22000 * 2 * std::numbers::pi / 1.25).epsilon(0.006));
}
