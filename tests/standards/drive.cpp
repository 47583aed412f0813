#include <doctest/doctest.h>
#include <initializer_list>

#include "core/standards/standards.hpp"

using namespace boltwalk;

namespace {

void check_drive(std::string_view text, DriveKind kind, double size, std::string_view name) {
    CAPTURE(text);
    const auto drive = read_drive(text);
    REQUIRE_MESSAGE(drive.has_value(), drive.error().what);
    CHECK(drive->kind == kind);
    CHECK(drive->size == doctest::Approx(size).epsilon(1e-12));
    CHECK(drive->name == name);
}

Sold sold(std::string_view thread, std::string_view drive, FastenerForm form, std::string_view head = {},
          std::string* series = nullptr) {
    const auto t = read_thread(thread);
    const auto d = read_drive(drive);
    REQUIRE(t.has_value());
    REQUIRE(d.has_value());
    return is_sold(*t, *d, form, head, series);
}

} // namespace

TEST_CASE("drives in every spelling") {
    for (const char* text :
         {"hex 14", "Hex 14", "hex14", "hex-14", "hexagon 14", "hex 14 mm", "hex 14mm", " hex  14 "}) {
        check_drive(text, DriveKind::hex, 14, "hex 14");
    }
    for (const char* text : {"hex 9/16 in", "hex 9/16", "hex 9/16\"", "hex 9/16 inch", "hex 0.5625 in"}) {
        check_drive(text, DriveKind::hex, 14.2875, "hex 9/16 in");
    }
    check_drive("hex 1-1/8 in", DriveKind::hex, 28.575, "hex 1-1/8 in");
    check_drive("hex 5,5", DriveKind::hex, 5.5, "hex 5.5");
    check_drive("socket 6", DriveKind::socket, 6, "socket 6");
    check_drive("hexagon socket 6", DriveKind::socket, 6, "socket 6");
    check_drive("hexalobular 40", DriveKind::hexalobular, 40, "hexalobular 40");
    check_drive("external hexalobular 12", DriveKind::external_hexalobular, 12, "external hexalobular 12");
    check_drive("bihex 12", DriveKind::bihex, 12, "bihex 12");
    check_drive("square 10", DriveKind::square, 10, "square 10");
    check_drive("square 3/8 in", DriveKind::square, 9.525, "square 3/8 in");
    check_drive("slot 6", DriveKind::slot, 6, "slot 6");
    check_drive("cross 2", DriveKind::cross, 2, "cross 2");
    check_drive("cross 0", DriveKind::cross, 0, "cross 0");
    check_drive("hand", DriveKind::hand, 0, "hand");
    check_drive("pliers", DriveKind::pliers, 0, "pliers");
    check_drive("none", DriveKind::none, 0, "none");
}

TEST_CASE("what is no drive says what to write") {
    struct Refused {
        const char *text, *remedy;
    };
    for (const Refused& refused : {Refused{"14", "hex 14"},
                                   {"14 mm", "socket 14"},
                                   {"T40", "\"hexalobular 40\""},
                                   {"E12", "\"external hexalobular 12\""},
                                   {"PH2", "\"cross 2\""},
                                   {"hex", "hex 12"},
                                   {"", "Write one of"},
                                   {"spanner 14", "Write one of"},
                                   {"hexx 14", "Write one of"},
                                   {"hex 0", "across flats"},
                                   {"hex 999", "across flats"},
                                   {"hex -14", "hex 14"},
                                   {"hex 14 kg", "millimetres"},
                                   {"hex M10", "figures"},
                                   {"hex 1/0", "3/8"},
                                   {"hex 1,500", "whichever is meant"},
                                   {"hexalobular 40.5", "number on the bit"},
                                   {"hexalobular 40 mm", "number on the bit"},
                                   {"hexalobular 0", "number on the bit"},
                                   {"cross 5", "number on the bit"},
                                   {"hand 5", "\"hand\" alone"},
                                   {"none at all", "\"none\" alone"}}) {
        CAPTURE(refused.text);
        const auto drive = read_drive(refused.text);
        REQUIRE_FALSE(drive.has_value());
        CHECK_FALSE(drive.error().what.empty());
        CHECK_MESSAGE(drive.error().remedy.find(refused.remedy) != std::string::npos, drive.error().remedy);
    }
}

TEST_CASE("one thread, five hexagons, all of them sold") {
    for (const char* drive : {"hex 16", "hex 17", "hex 14", "hex 13", "hex 15"}) {
        CAPTURE(drive);
        CHECK(sold("M10", drive, FastenerForm::bolt) == Sold::listed);
        CHECK(sold("M10x1.25", drive, FastenerForm::nut) == Sold::listed);
    }
    std::string series;
    CHECK(sold("M10", "hex 12", FastenerForm::bolt, "hex", &series) == Sold::not_listed);
    CHECK(series == "M10 is sold with hex 16 (ISO 4014/4017/4032, EN 1665), 17 (DIN 931/933/934), 14 (JIS B 1180 "
                    "small), 13 (EN 1662), 15 (ISO 4161 nut)");
    CHECK(sold("M10", "hex 14", FastenerForm::bolt, "hex", &series) == Sold::listed);
    CHECK(series == "JIS B 1180 small");
}

TEST_CASE("the head that is stated decides which key is sold") {
    std::string series;
    CHECK(sold("M6", "socket 5", FastenerForm::bolt) == Sold::listed);
    CHECK(sold("M6", "socket 5", FastenerForm::bolt, "cap") == Sold::listed);
    CHECK(sold("M6", "socket 5", FastenerForm::bolt, "button", &series) == Sold::not_listed);
    CHECK(series == "M6 with a button head is sold with socket 4 (ISO 7380-1)");
    CHECK(sold("M6", "socket 4", FastenerForm::bolt, "countersunk") == Sold::listed);
    CHECK(sold("M6", "socket 9", FastenerForm::bolt) == Sold::not_listed);
}

TEST_CASE("castle nuts keep to their own series") {
    std::string series;
    CHECK(sold("M12x1.25", "hex 18", FastenerForm::castle_nut) == Sold::listed);
    CHECK(sold("M12x1.25", "hex 19", FastenerForm::castle_nut, "", &series) == Sold::listed);
    CHECK(series == "DIN 935, older edition");
    CHECK(sold("M10", "hex 15", FastenerForm::castle_nut, "", &series) == Sold::not_listed);
    CHECK(series == "M10 as a castle nut is sold with hex 16 (DIN 935), 17 (DIN 935, older edition)");
}

TEST_CASE("inch heads and nuts") {
    std::string series;
    CHECK(sold("3/8-16", "hex 9/16 in", FastenerForm::bolt) == Sold::listed);
    CHECK(sold("7/16-14", "hex 5/8 in", FastenerForm::bolt) == Sold::listed);
    CHECK(sold("7/16-14", "hex 11/16 in", FastenerForm::nut) == Sold::listed);
    CHECK(sold("3/8-16", "hex 14", FastenerForm::bolt, "", &series) == Sold::not_listed); // 9/16 in is 14.29 mm
    CHECK(series == "3/8-16 UNC is sold with hex 9/16 in (ASME B18.2.1, ASME B18.2.2 nut)");
}

TEST_CASE("where no table has a say nothing is said") {
    std::string series = "left over";
    CHECK(sold("M10", "hex 99", FastenerForm::plug, "", &series) == Sold::unknown);
    CHECK(series.empty());
    CHECK(sold("M10", "hex 99", FastenerForm::stud) == Sold::unknown);
    CHECK(sold("M10", "hex 99", FastenerForm::other) == Sold::unknown);
    CHECK(sold("M10x1.1", "hex 99", FastenerForm::bolt) == Sold::unknown);
    CHECK(sold("M26x1.5", "hex 99", FastenerForm::nut) == Sold::unknown);
    CHECK(sold("G 3/8", "hex 99", FastenerForm::bolt) == Sold::unknown);
    CHECK(sold("M10", "slot 6", FastenerForm::bolt) == Sold::unknown);
    CHECK(sold("M10", "hand", FastenerForm::bolt) == Sold::unknown);
    CHECK(sold("M10", "socket 8", FastenerForm::nut) == Sold::unknown);
    CHECK(sold("M10", "hex 12", FastenerForm::bolt, "") == Sold::not_listed); // a null pointer is no matter
}

TEST_CASE("a bihexagon and a table from memory only ever confirm") {
    std::string series;
    CHECK(sold("M10", "bihex 16", FastenerForm::bolt) == Sold::listed);
    CHECK(sold("M10", "bihex 12", FastenerForm::bolt) == Sold::unknown);
    CHECK(sold("M10", "external hexalobular 12", FastenerForm::bolt, "", &series) == Sold::listed);
    CHECK(series == "DIN 34800 (from memory)");
    CHECK(sold("M10", "external hexalobular 4", FastenerForm::bolt) == Sold::unknown);
    CHECK(sold("M27", "hex 41", FastenerForm::bolt, "", &series) == Sold::listed);
    CHECK(series == "ISO 4014/4017/4032 (from memory)");
    CHECK(sold("M27", "hex 40", FastenerForm::bolt) == Sold::unknown);
}

TEST_CASE("a tool is called what one asks for: a drive says what is gripped") {
    const auto tool = [](const char* text) { return tool_for(*read_drive(text)); };
    CHECK(tool("socket 10") == "hexagon key 10");
    CHECK(tool("hexagon socket 3/16 in") == "hexagon key 3/16 in");
    CHECK(tool("hexalobular 40") == "hexalobular key 40");
    CHECK(tool("external hexalobular 12") == "external hexalobular 12");
    CHECK(tool("hex 14") == "hex 14");
    CHECK(tool("cross 2") == "screwdriver cross 2");
    CHECK(tool("slot 6") == "screwdriver slot 6");
    CHECK(tool("pliers") == "pliers");
    CHECK(tool("hand") == "by hand");
    CHECK(tool("none").empty());
}

TEST_CASE("what a text that names no drive was meant to be is guessed from a size that a tool may have, else not") {
    CHECK(read_drive("13 mm").error().remedy ==
          "Say what the tool grips: \"hex 13\" for a spanner, \"socket 13\" for a hexagon key.");
    CHECK(read_drive("T40").error().remedy == "Write \"hexalobular 40\".");
    for (const std::string& text : {std::string(450, '0') + ".61..", std::string("1..2"), std::string("T1,2,3")}) {
        const Mistake mistake = read_drive(text).error();
        CHECK(mistake.remedy.starts_with("Write one of: hex, socket,"));
        CHECK(mistake.what.size() < 100);
    }
}
