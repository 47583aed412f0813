#include "core/measure/measure.hpp"

#include <doctest/doctest.h>
#include <initializer_list>

using namespace boltwalk;

namespace {

/// The text is a torque of one stage from `low` to `high` in its own unit.
void check_stage(std::string_view text, TorqueUnit unit, double low, double high) {
    CAPTURE(text);
    const auto spec = read_torque(text);
    REQUIRE_MESSAGE(spec.has_value(), spec.error().what);
    REQUIRE(spec->stages.size() == 1);
    CHECK(spec->unit == unit);
    CHECK(spec->stages[0].has_torque);
    CHECK(torque_in(unit, spec->stages[0].low_nm) == doctest::Approx(low).epsilon(1e-12));
    CHECK(torque_in(unit, spec->stages[0].high_nm) == doctest::Approx(high).epsilon(1e-12));
}

/// The text is refused, and what it says holds `what`, the remedy `remedy`.
void check_refused(std::string_view text, std::string_view what, std::string_view remedy) {
    CAPTURE(text);
    const auto spec = read_torque(text);
    REQUIRE_FALSE(spec.has_value());
    CHECK_MESSAGE(spec.error().what.find(what) != std::string::npos, spec.error().what);
    CHECK_MESSAGE(spec.error().remedy.find(remedy) != std::string::npos, spec.error().remedy);
}

} // namespace

TEST_CASE("newton metres in every spelling") {
    for (const char* text : {"64 N·m",
                             "64 N\u22c5m",
                             "64 N\u2219m",
                             "64 N.m",
                             "64 Nm",
                             "64 N m",
                             "64 nm",
                             "64 NM",
                             "64N·m",
                             "64Nm",
                             " 64 N-m ",
                             "64 N*m",
                             "64\u00a0N·m",
                             "64,0 N·m",
                             "064 Nm",
                             "64.00 Nm",
                             "64 Nm.",
                             "64 newton metres",
                             "64 Newton-meters",
                             "\t64 N·m\n"}) {
        check_stage(text, TorqueUnit::newton_metre, 64, 64);
    }
}

TEST_CASE("pounds and feet in the trade's spellings") {
    for (const char* text : {"47 lbf·ft", "47 lb-ft", "47 lb·ft", "47 ft-lb", "47 ft lbs", "47 lbf.ft", "47 lb ft",
                             "47 LB-FT", "47 Ft.Lbs.", "47 ft·lbf", "47 lbs-ft", "47 lbft", "47 foot-pounds"}) {
        check_stage(text, TorqueUnit::pound_force_foot, 47, 47);
    }
    for (const char* text : {"96 lbf·in", "96 lb-in", "96 in-lb", "96 in lbs", "96 in.lb", "96 inch-pounds"}) {
        check_stage(text, TorqueUnit::pound_force_inch, 96, 96);
    }
}

TEST_CASE("kilograms of force in the trade's spellings") {
    for (const char* text :
         {"6,5 kgf·m", "6.5 kg·m", "6.5 kgf.m", "6.5 kgm", "6.5 mkg", "6.5 kg-m", "6.5 m·kg", "6.5 kp·m"}) {
        check_stage(text, TorqueUnit::kilogram_force_metre, 6.5, 6.5);
    }
    for (const char* text : {"120 kgf·cm", "120 kg-cm", "120 kgcm", "120 kg·cm"}) {
        check_stage(text, TorqueUnit::kilogram_force_centimetre, 120, 120);
    }
}

TEST_CASE("ranges, by dots, dashes and words") {
    for (const char* text :
         {"69..78 N·m", "69 .. 78 N·m", "69...78 Nm", "69\u202678 Nm", "69–78 N·m", "69 — 78 N·m", "69-78 Nm",
          "69 - 78 Nm", "69 to 78 N·m", "69to78 N·m", "69 N·m to 78 N·m", "69 N·m - 78 N·m", "69 N·m..78 N·m"}) {
        check_stage(text, TorqueUnit::newton_metre, 69, 78);
    }
    check_stage("0.5..1.5 N·m", TorqueUnit::newton_metre, 0.5, 1.5);
    check_stage("0,5-1,5 N·m", TorqueUnit::newton_metre, 0.5, 1.5);
    check_stage("34-41 lb-ft", TorqueUnit::pound_force_foot, 34, 41);
    check_stage("64..64 N·m", TorqueUnit::newton_metre, 64, 64);
}

TEST_CASE("a tolerance becomes a range") {
    for (const char* text : {"64 ± 5 N·m", "64±5 N·m", "64 +/- 5 N·m", "64 N·m ± 5 N·m", "64 N·m ± 5", "64 +- 5 Nm"}) {
        check_stage(text, TorqueUnit::newton_metre, 59, 69);
    }
    check_stage("50 N·m ± 10 %", TorqueUnit::newton_metre, 45, 55);
    check_stage("50 ± 10% N·m", TorqueUnit::newton_metre, 45, 55);
}

TEST_CASE("torque and angle, in every spelling of the degree") {
    for (const char* text : {"40 N·m + 90°", "40 Nm+90°", "40 N·m + 90 deg", "40 N·m + 90 degrees", "40 N·m +90 º",
                             "40 N·m plus 90°", "40 N·m then 90°"}) {
        CAPTURE(text);
        const auto spec = read_torque(text);
        REQUIRE(spec.has_value());
        REQUIRE(spec->stages.size() == 1);
        CHECK(spec->stages[0].has_torque);
        CHECK(spec->stages[0].low_nm == 40);
        CHECK(spec->stages[0].has_angle);
        CHECK(spec->stages[0].angle_deg == 90);
    }
}

TEST_CASE("stages keep their order") {
    const auto spec = read_torque("20 N·m; 40..45 N·m ;+ 90°;90 deg");
    REQUIRE(spec.has_value());
    REQUIRE(spec->stages.size() == 4);
    CHECK(spec->stages[0].low_nm == 20);
    CHECK(spec->stages[1].high_nm == 45);
    CHECK_FALSE(spec->stages[2].has_torque);
    CHECK(spec->stages[2].angle_deg == 90);
    CHECK(spec->stages[3].angle_deg == 90);
    CHECK(print_torque(*spec) == "20 N·m; 40..45 N·m; + 90°; + 90°");
}

TEST_CASE("two angles after one torque are two stages") {
    const auto spec = read_torque("40 N·m + 90° + 60°");
    REQUIRE(spec.has_value());
    REQUIRE(spec->stages.size() == 2);
    CHECK(spec->stages[0].low_nm == 40);
    CHECK(spec->stages[0].angle_deg == 90);
    CHECK_FALSE(spec->stages[1].has_torque);
    CHECK(spec->stages[1].angle_deg == 60);
}

TEST_CASE("an angle alone") {
    for (const char* text : {"+ 90°", "90°", "90 degrees"}) {
        const auto spec = read_torque(text);
        REQUIRE(spec.has_value());
        REQUIRE(spec->stages.size() == 1);
        CHECK_FALSE(spec->stages[0].has_torque);
        CHECK(spec->stages[0].angle_deg == 90);
    }
}

TEST_CASE("the author's words are kept") {
    const auto spec = read_torque("  47 ft-lb \n");
    REQUIRE(spec.has_value());
    CHECK(spec->text == "47 ft-lb");
    CHECK(spec->unit == TorqueUnit::pound_force_foot);
}

TEST_CASE("a torque without a unit, or with another quantity's") {
    check_refused("64", "no unit", "64 N·m");
    check_refused("69..78", "no unit", "N·m");
    check_refused("64 N", "a force", "N·m");
    check_refused("64 lb", "a weight", "lbf·ft");
    check_refused("64 kg", "a mass", "N·m");
    check_refused("64 N/m", "a stiffness", "N·m");
    check_refused("64 MPa", "a pressure", "N·m");
    check_refused("64 mm", "a length", "N·m");
    check_refused("64 ft", "a length", "lbf·ft");
    check_refused("64 J", "an energy", "N·m");
    check_refused("64 lb/ft", "divided", "times");
    check_refused("64 daN·m", "daN·m", "10 N·m");
    check_refused("64 mN·m", "no unit of torque", "N·m");
    check_refused("64 kN·m", "no unit of torque", "N·m");
    check_refused("64 Н·м", "no unit of torque", "N·m"); // Cyrillic
    check_refused("64 furlongs", "no unit of torque", "kgf·cm");
    check_refused("20 N·m; 30 lbf·ft", "stages", "one unit");
    check_refused("69 N·m..78 lbf·ft", "two figures", "one unit");
    check_refused("20; 40 N·m", "no unit", "N·m");
}

TEST_CASE("figures that cannot be a torque") {
    check_refused("", "empty", "not stated");
    check_refused("   ", "empty", "not stated");
    check_refused("0 N·m", "zero", "Leave the key out");
    check_refused("0.0 Nm", "zero", "Leave the key out");
    check_refused("-5 N·m", "negative", "hand");
    check_refused("\u22125 N·m", "negative", "hand"); // the true minus sign
    check_refused("78..69 N·m", "upside down", "69..78");
    check_refused("64 ± 64 N·m", "down to zero", "source");
    check_refused("0..10 N·m", "zero", "Leave the key out");
    check_refused("inf N·m", "number", "figures");
    check_refused("nan N·m", "number", "figures");
    check_refused("0x40 N·m", "no unit of torque", "N·m");
    check_refused("1e3 N·m", "no unit of torque", "N·m");
    check_refused("99999999999999999999 N·m", "too large", "source");
    check_refused("tight", "number", "figures");
}

TEST_CASE("a comma before three figures is not guessed") {
    check_refused("1,500 N·m", "two ways", "1500");
    check_refused("1.500,5 N·m", "two decimal signs", "thousands");
    check_refused("1 500 N·m", "no unit", "N·m");
    check_stage("0,125 kgf·m", TorqueUnit::kilogram_force_metre, 0.125, 0.125);
    check_stage("1,5 kgf·m", TorqueUnit::kilogram_force_metre, 1.5, 1.5);
}

TEST_CASE("angles that are none") {
    check_refused("40 N·m + 90", "degree sign", "90°");
    check_refused("40 N·m + 0°", "zero", "Leave the angle out");
    check_refused("40 N·m + -90°", "negative", "zero");
    check_refused("40 N·m + 90..120°", "two figures", "note");
    check_refused("40 N·m + 90° ± 5°", "two figures", "note");
    check_refused("40 N·m + 60 N·m", "a torque follows", ";");
    check_refused("40 N·m +", "missing", "figures");
}

TEST_CASE("what is left over is not dropped") {
    check_refused("64 N·m (47 lbf·ft)", "not clear", "note");
    check_refused("64 N·m 2", "not clear", "note");
    check_refused("64 N·m;", "empty", "between stages");
    check_refused("; 64 N·m", "empty", "between stages");
    check_refused("64 N·m -", "missing", "figures");
    check_refused("max 64 N·m", "number", "figures");
}

TEST_CASE("a long or broken text gives a short mistake") {
    const std::string broken = std::string("64 ") + std::string(500, '\xff');
    const auto spec = read_torque(broken);
    REQUIRE_FALSE(spec.has_value());
    CHECK(spec.error().what.size() < 200);
    const auto umlauts =
        read_torque("64 \u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4"
                    "\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4\u00e4");
    REQUIRE_FALSE(umlauts.has_value());
    CHECK(umlauts.error().what.find("\u00e4...") != std::string::npos); // cut between characters
    CHECK_FALSE(read_torque(std::string_view("64 N\0m", 6)).has_value());
}

TEST_CASE("printed in its own unit a torque keeps the author's figures") {
    CHECK(print_torque(*read_torque("62.5 Nm")) == "62.5 N·m");
    CHECK(print_torque(*read_torque("0.0625 lbf·ft"), TorqueUnit::pound_force_foot) == "0.0625 lbf·ft");
    CHECK(print_torque(*read_torque("47 ft-lb"), TorqueUnit::pound_force_foot) == "47 lbf·ft");
    CHECK(print_torque(*read_torque("69-78 Nm")) == "69..78 N·m");
    CHECK(print_torque(*read_torque("40 Nm+90deg")) == "40 N·m + 90°");
    CHECK(print_torque(*read_torque("+90°")) == "+ 90°");
}

TEST_CASE("converted it gets the figures of a torque wrench") {
    CHECK(print_torque(*read_torque("47 lbf·ft")) == "64 N·m");
    CHECK(print_torque(*read_torque("64 N·m"), TorqueUnit::pound_force_foot) == "47 lbf·ft");
    CHECK(print_torque(*read_torque("69..78 N·m"), TorqueUnit::pound_force_foot) == "51..58 lbf·ft");
    CHECK(print_torque(*read_torque("96 lbf·in")) == "10.8 N·m");
    CHECK(print_torque(*read_torque("10 N·m"), TorqueUnit::kilogram_force_metre) == "1.02 kgf·m");
    CHECK(print_torque(*read_torque("0.5 N·m"), TorqueUnit::kilogram_force_metre) == "0.051 kgf·m");
    // 10.0 and 10.04 lbf·ft are one setting of a wrench
    CHECK(print_torque(*read_torque("10..10.04 lbf·ft")) == "13.6 N·m");
    CHECK(print_torque(*read_torque("40 lbf·ft + 90°")) == "54 N·m + 90°");
}

TEST_CASE("rounding moves a converted figure by no more than 2.5 %") {
    for (double nm = 0.002; nm < 300; nm *= 1.003) {
        TorqueSpec spec = *read_torque("1 lbf·in");
        spec.stages[0].low_nm = spec.stages[0].high_nm = nm;
        const auto printed = read_torque(print_torque(spec));
        REQUIRE(printed.has_value());
        REQUIRE(printed->stages[0].low_nm == doctest::Approx(nm).epsilon(0.0251));
    }
}

TEST_CASE("what is printed is read back the same") {
    for (const char* text : {"64 N·m", "69..78 N·m", "40 N·m + 90°", "20 N·m; 40 N·m; + 90°", "12.5..13.5 lbf·in",
                             "6.5 kgf·m", "40 N·m + 90° + 90°"}) {
        const auto spec = read_torque(text);
        REQUIRE(spec.has_value());
        const std::string once = print_torque(*spec, spec->unit);
        const auto again = read_torque(once);
        REQUIRE(again.has_value());
        CHECK(print_torque(*again, again->unit) == once);
        CHECK(again->stages.size() == spec->stages.size());
    }
}

TEST_CASE("no figure is printed as zero, however large its unit") {
    CHECK(print_torque(*read_torque("0.0001125 kgf·m"), TorqueUnit::kilogram_force_metre) == "0.0001125 kgf·m");
    CHECK(print_torque(*read_torque("20 N·m; 0.0125 N·m"), TorqueUnit::kilogram_force_metre) ==
          "2 kgf·m; 0.00127 kgf·m");
}

TEST_CASE("less or more than any fastener is tightened to is a mistake, and so is an angle that nobody can turn to") {
    for (const char* text : {"200001125 kgf·m", "90..1000001 N·m"}) {
        CAPTURE(text);
        const auto spec = read_torque(text);
        REQUIRE(!spec.has_value());
        CHECK(spec.error().what.ends_with("is more than any fastener is tightened to."));
    }
    CHECK(read_torque("1000000 N·m").has_value());
    for (const char* text : {"0.0009 N·m", "20 N·m; 0.0000001 N·m", "0.00001 kgf·m", "0.001±0.0005 N·m"}) {
        CAPTURE(text);
        const auto spec = read_torque(text);
        REQUIRE(!spec.has_value());
        CHECK(spec.error().what.ends_with("is less than any fastener is tightened to."));
    }
    for (const char* text : {"40 N·m + 0.0000001°", "+ 0.05°", "40 N·m + 90° + .0000002 deg"}) {
        CAPTURE(text);
        const auto spec = read_torque(text);
        REQUIRE(!spec.has_value());
        CHECK(spec.error().what.ends_with("gives an angle that nobody can turn to."));
    }
    CHECK(read_torque("0.001 N·m").has_value());
    CHECK(read_torque("+ 0.1°").has_value());
}

TEST_CASE("a unit alone, in any spelling of the trade") {
    for (const char* text : {"N·m", "nm", "N.m", "Newton metres"})
        CHECK(read_torque_unit(text) == TorqueUnit::newton_metre);
    for (const char* text : {"lbf·ft", "ft-lb", "LB-FT", "ft lbs"})
        CHECK(read_torque_unit(text) == TorqueUnit::pound_force_foot);
    CHECK(read_torque_unit("in-lb") == TorqueUnit::pound_force_inch);
    CHECK(read_torque_unit("mkg") == TorqueUnit::kilogram_force_metre);
    for (const char* text : {"", "N", "lb/ft", "stone", "22 N·m"})
        CHECK(!read_torque_unit(text));
}
