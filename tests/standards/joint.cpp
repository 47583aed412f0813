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
