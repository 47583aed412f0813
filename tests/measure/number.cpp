#include <clocale>
#include <cmath>
#include <doctest/doctest.h>
#include <initializer_list>

#include "core/measure/measure.hpp"

using namespace boltwalk;

TEST_CASE("numbers with either decimal sign") {
    CHECK(*read_number("12") == 12);
    CHECK(*read_number("1.5") == 1.5);
    CHECK(*read_number("1,5") == 1.5);
    CHECK(*read_number("-1.5") == -1.5);
    CHECK(*read_number("\u22121.5") == -1.5);
    CHECK(*read_number(".5") == 0.5);
    CHECK(*read_number(" 0.1 ") == 0.1);
    CHECK(*read_number("1.000000000000000000000000001") == 1);
    CHECK(*read_number("000000000000012") == 12);
}

TEST_CASE("decimals of up to 15 digits are the nearest double") {
    // the compiler's own reading of the same literal
    CHECK(*read_number("0.3") == 0.3);
    CHECK(*read_number("123456.789012345") == 123456.789012345);
    CHECK(*read_number("0.000001") == 0.000001);
    CHECK(*read_number("999999999.999999") == 999999999.999999);
}

TEST_CASE("what is no finite decimal number") {
    for (const char* text :
         {"",      " ",   "inf", "nan", "-inf", "Infinity", "1e5", "0x10",       "1.",    "1.2.3",   "1,2,3",
          "12 mm", "--1", "- 1", "1 2", "ten",  ".",        "-",   "9999999999", "1,500", "1,500.5", "\u0661"}) {
        CAPTURE(text);
        const auto number = read_number(text);
        REQUIRE_FALSE(number.has_value());
        CHECK_FALSE(number.error().what.empty());
        CHECK_FALSE(number.error().remedy.empty());
    }
}

TEST_CASE("lengths") {
    CHECK(*read_length_mm("50 mm") == 50);
    CHECK(*read_length_mm("50mm") == 50);
    CHECK(*read_length_mm("50 MM") == 50);
    CHECK(*read_length_mm("5 cm") == 50);
    CHECK(*read_length_mm("0.05 m") == 50);
    CHECK(*read_length_mm("0,05 m") == 50);
    CHECK(*read_length_mm("2 in") == doctest::Approx(50.8));
    CHECK(*read_length_mm("2\"") == doctest::Approx(50.8));
    CHECK(*read_length_mm("1-1/2 in") == doctest::Approx(38.1));
    CHECK(*read_length_mm("1 1/2 in.") == doctest::Approx(38.1));
    CHECK(*read_length_mm("1½ in") == doctest::Approx(38.1));
    CHECK(*read_length_mm("50") == 50);
    CHECK(*read_length_mm("0") == 0);
}

TEST_CASE("lengths that are none") {
    for (const char* text :
         {"", "-5 mm", "50 kg", "50 N·m", "50 mm 3", "1/2", "1/0 in", "mm", "50 mmm", "5 ft", "50..60 mm"}) {
        CAPTURE(text);
        const auto length = read_length_mm(text);
        REQUIRE_FALSE(length.has_value());
        CHECK(length.error().remedy.find(text == std::string_view("1/0 in") ? "3/8" : "in") != std::string::npos);
    }
    CHECK(read_length_mm("50 kg").error().what.find("a mass") != std::string::npos);
}

TEST_CASE("masses") {
    CHECK(*read_mass_kg("43 kg") == 43);
    CHECK(*read_mass_kg("43") == 43);
    CHECK(*read_mass_kg("43,5 kg") == 43.5);
    CHECK(*read_mass_kg("850 g") == doctest::Approx(0.85));
    CHECK(*read_mass_kg("95 lb") == doctest::Approx(43.09127515));
    CHECK(*read_mass_kg("95 lbs") == doctest::Approx(43.09127515));
    CHECK(read_mass_kg("400 N").error().what.find("a force") != std::string::npos);
    CHECK_FALSE(read_mass_kg("-1 kg").has_value());
    CHECK_FALSE(read_mass_kg("43 stone").has_value());
}

TEST_CASE("printing drops what says nothing") {
    CHECK(print_number(64) == "64");
    CHECK(print_number(1.5) == "1.5");
    CHECK(print_number(1.25, 1) == "1.2"); // half to even: 1.25 is exact in binary
    CHECK(print_number(0.1 + 0.2) == "0.3");
    CHECK(print_number(100) == "100");
    CHECK(print_number(-0.0001) == "0");
    CHECK(print_number(-1.5) == "-1.5");
    CHECK(print_number(2.5, 0) == "2");
    CHECK(print_number(120, 0) == "120");
}

TEST_CASE("the C locale changes nothing") {
    // Debian's bare image has no locale with a decimal comma; where one is there, it must not matter.
    for (const char* name : {"de_DE.UTF-8", "fr_FR.UTF-8", "C.UTF-8"}) {
        if (std::setlocale(LC_ALL, name) == nullptr) {
            continue;
        }
        CHECK(*read_number("1.5") == 1.5);
        CHECK(print_number(1.5) == "1.5");
        CHECK(print_torque(*read_torque("12.5 N·m")) == "12.5 N·m");
    }
    std::setlocale(LC_ALL, "C");
}
