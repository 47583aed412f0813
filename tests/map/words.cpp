// The annotation's words, and texts that a terminal may see.

#include <doctest/doctest.h>

#include "core/map/keys.hpp"
#include "core/map/map.hpp"
#include "core/map/values.hpp"

using namespace boltwalk;

TEST_CASE("printable: what a terminal would act on becomes visible") {
    CHECK(printable("M8 bolt, 64 N·m") == "M8 bolt, 64 N·m");
    CHECK(printable("\x1b[2J\x07") == "\\x1b[2J\\x07");
    CHECK(printable("a\tb\n") == "a\\x09b\\x0a");
    CHECK(printable("\xe2\x80\xae"
                    "abc") == "\\u202eabc"); // right-to-left override
    CHECK(printable("\xe2\x81\xa6x\xe2\x81\xa9") == "\\u2066x\\u2069");
    CHECK(printable("\xd8\x9c\xe2\x80\x8f") == "\\u061c\\u200f");
    CHECK(printable("\xc2\x9b"
                    "31m") == "\\x9b31m"); // the eight-bit control sequence introducer
    CHECK(printable("\xef\xbb\xbf"
                    "\xe2\x80\x8b") == "\\ufeff\\u200b");
    CHECK(printable("\xf3\xa0\x81\x81") == "\\ue0041"); // a tag character
    CHECK(printable("\xff\xc3(") == "\\xff\\xc3(");
    CHECK(printable(std::string("a\0b", 3)) == "a\\x00b");
    CHECK(printable("ß 漢 😀 العربية") == "ß 漢 😀 العربية");
}

TEST_CASE("the vehicle's state, both ways") {
    const auto ask = read_vehicle(" Stands ;neutral;  brake off ");
    REQUIRE(ask.has_value());
    CHECK(ask->stands == Ask::yes);
    CHECK(ask->gear == Ask::no);
    CHECK(ask->brake == Ask::no);
    CHECK(ask->battery == Ask::nothing);
    CHECK(print_vehicle(*ask) == "stands; brake off; neutral");
    CHECK(read_vehicle(print_vehicle(*ask)) == *ask);
    CHECK(print_vehicle({}) == "");
    for (const Ask value : {Ask::yes, Ask::no}) {
        const VehicleAsk all{value, value, value, value, value, value};
        const auto again = read_vehicle(print_vehicle(all));
        REQUIRE(again.has_value());
        CHECK(*again == all);
    }
}

TEST_CASE("the vehicle's state: words that are none, and contradictions") {
    const auto near = read_vehicle("brake of");
    REQUIRE_FALSE(near.has_value());
    CHECK(near.error().remedy.find("brake o") != std::string::npos);
    CHECK_FALSE(read_vehicle("").has_value());
    CHECK_FALSE(read_vehicle(" ; ").has_value());
    CHECK_FALSE(read_vehicle("on a lift").has_value());
    CHECK_FALSE(read_vehicle("stands; wheels down").has_value());
    CHECK(read_vehicle("stands; stands").has_value());
}

TEST_CASE("legs") {
    const auto legs = read_legs("front 40 mm; down 600 mm");
    REQUIRE(legs.has_value());
    REQUIRE(legs->size() == 2);
    CHECK((*legs)[0].way == Way::front);
    CHECK((*legs)[0].length_mm == doctest::Approx(40));
    CHECK((*legs)[1].way == Way::down);
    CHECK((*legs)[1].length_mm == doctest::Approx(600));
    CHECK(read_legs("up 2 in").value()[0].length_mm == doctest::Approx(50.8));
    for (const char* text :
         {"", "down", "down -5 mm", "down 0", "sideways 5 mm", "5 mm down", "down 5 kg", "down 900 m"}) {
        CAPTURE(text);
        CHECK_FALSE(read_legs(text).has_value());
    }
}

TEST_CASE("axes") {
    CHECK(read_axis("+x").value() == std::array<double, 3>{1, 0, 0});
    CHECK(read_axis("-Y").value() == std::array<double, 3>{0, -1, 0});
    CHECK(read_axis("z").value() == std::array<double, 3>{0, 0, 1});
    CHECK(read_axis("0, 3, 4").value()[2] == doctest::Approx(0.8));
    for (const char* text : {"", "+", "w", "0 0 0", "1 2", "1 2 3 4", "+xy", "1e30 0 0", "a b c"}) {
        CAPTURE(text);
        CHECK_FALSE(read_axis(text).has_value());
    }
}

TEST_CASE("every fastener has a word and a spoken name") {
    for (int i = 0; i <= static_cast<int>(FastenerKind::connector); ++i) {
        const auto kind = static_cast<FastenerKind>(i);
        CHECK_FALSE(name_of(kind).empty());
        CHECK(spoken(kind).find('_') == std::string_view::npos);
    }
    CHECK(name_of(FastenerKind::connector) == "connector");
    CHECK(name_of(FastenerKind::lock_wire) == "lock_wire");
    CHECK(spoken(FastenerKind::level_plug) == "level plug");
    CHECK(choices_of(key_of(KeyId::fastener)).size() == static_cast<std::size_t>(FastenerKind::connector) + 1);
    CHECK(choices_of(key_of(KeyId::does)).size() == static_cast<std::size_t>(TaskDoes::level));
    CHECK(name_of(Place::inside) == "inside");
    CHECK(name_of(Place::not_stated) == "");
    CHECK(direction_of(Way::left) == std::array<double, 3>{1, 0, 0}); // the vehicle's left is +X
    CHECK(direction_of(Way::front) == std::array<double, 3>{0, 0, 1});
}

TEST_CASE("misspelt keys: near ones and strangers") {
    const auto near = [](const char* word) {
        const auto key = near_key(word);
        return key ? key_of(*key).name : std::string_view("-");
    };
    CHECK(near("torqe") == "torque");
    CHECK(near("toruqe") == "torque");
    CHECK(near("Torque") == "torque");
    CHECK(near("fastner") == "fastener");
    CHECK(near("hold") == "holds");
    CHECK(near("tread") == "thread");
    CHECK(near("lenght_mm") == "length_mm");
    CHECK(near("length") == "length_mm");
    CHECK(near("mass") == "mass_kg");
    CHECK(near("Refit After") == "refit_after");
    CHECK(near("leaves-with") == "leaves_with");
    for (const char* word : {"course", "type", "cycles", "glTF2ExportSettings", "a", "", "colour", "xy", "prop", "tow",
                             "ids", "_RNA_UI"}) {
        CAPTURE(word);
        CHECK(near(word) == "-");
    }
}

TEST_CASE("distance between words") {
    CHECK(edit_distance("torque", "torque", 2) == 0);
    CHECK(edit_distance("torque", "toruqe", 2) == 1); // neighbours swapped
    CHECK(edit_distance("abcdef", "ghijkl", 2) == 3); // no more than limit + 1
    CHECK(edit_distance("", "ab", 2) == 2);
    CHECK(edit_distance("abc", "", 5) == 3);
}
