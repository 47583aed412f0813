// A list of tools, read; and what is said of one that cannot be.
#include <algorithm>

#include <doctest/doctest.h>

#include "core/geometry/tools.hpp"

using namespace boltwalk;

namespace {

std::vector<std::string> names(const ToolBox& box) {
    std::vector<std::string> list;
    for (const Tool& tool : box.tools)
        list.push_back(name_of(tool));
    return list;
}

std::string error_of(const char* text) {
    const auto box = read_tools(text, "mine.txt");
    return box ? "" : box.error();
}

} // namespace

TEST_CASE("a list of tools: one a line, comments, spellings, inches") {
    const auto box = read_tools("# mine\n"
                                "socket 13\n"
                                "  Deep Socket 16 square 12.5   # long\n"
                                "\n"
                                "socket 9/16 in\r\n"
                                "ratchet 250 mm\n"
                                "extension 150 square 3/8 in\n"
                                "bar 60 cm\n"
                                "ring 17\n"
                                "spanner 10\n"
                                "hex key 6\n"
                                "hex bit 8 square 1/2 in\n"
                                "hexalobular bit 40\n"
                                "hexalobular key 25\n"
                                "square bit 10\n"
                                "external hexalobular socket 12\n"
                                "torque wrench 20..100 N·m\n"
                                "torque wrench 40..200 Nm square 12.5 length 520 mm\n"
                                "screwdriver cross 2\n"
                                "screwdriver slot 6\n"
                                "PLIERS",
                                "mine.txt");
    CAPTURE((box ? std::string() : box.error()));
    REQUIRE(box.has_value());
    CHECK(names(*box) == std::vector<std::string>{"socket 13",
                                                  "deep socket 16",
                                                  "socket 9/16 in",
                                                  "ratchet 250 mm",
                                                  "extension 150 mm",
                                                  "bar 600 mm",
                                                  "ring 17",
                                                  "ring 10",
                                                  "open 10",
                                                  "hexagon key 6",
                                                  "hexagon bit 8",
                                                  "hexalobular bit 40",
                                                  "hexalobular key 25",
                                                  "square bit 10",
                                                  "external hexalobular socket 12",
                                                  "torque wrench 20..100 N·m",
                                                  "torque wrench 40..200 N·m",
                                                  "screwdriver cross 2",
                                                  "screwdriver slot 6",
                                                  "pliers"});
    CHECK(box->tools[0].square_mm == 0);
    CHECK(box->tools[1].square_mm == 12.5);
    CHECK(box->tools[1].line == 3);
    CHECK(box->tools[2].drive.size == doctest::Approx(14.2875));
    CHECK(box->tools[4].square_mm == 10);
    CHECK(box->tools[16].length_mm == 520);
    CHECK(read_tools("", "empty").value().tools.empty());
}

TEST_CASE("a line that cannot be read: list, line, what and what to write") {
    CHECK(error_of("socket 13\nhammer\n") ==
          "mine.txt, line 2: \"hammer\" names no tool. Write one tool a line: socket 13, deep socket 13, hex bit 6, "
          "hexalobular bit 40, square bit 10, extension 150, ratchet 250 mm, bar 600 mm, torque wrench 20..100 N·m, "
          "ring 17, open 17, spanner 17, hex key 6, hexalobular key 40, screwdriver cross 2, screwdriver slot 6, "
          "pliers.");
    for (const char* text :
         {"socket", "socket x", "socket 13 square 11", "ratchet", "ratchet long", "extension 2 mm", "bar 9 m",
          "torque wrench 50 N·m", "torque wrench 20..100", "torque wrench 20 N·m + 90°", "screwdriver 2",
          "screwdriver hex 6", "pliers 3", "sockets 13", "torque wrench 20..100 N·m length 1"}) {
        CAPTURE(text);
        const std::string error = error_of(text);
        CHECK(error.starts_with("mine.txt, line 1: "));
        CHECK(error.find("rite") != std::string::npos); // a remedy
    }
}

TEST_CASE("the home box reads, has no tool twice, and has what turns a car's usual sizes") {
    const auto read = read_tools(home_box_text(), "home box");
    REQUIRE(read.has_value());
    const ToolBox box = home_box();
    CHECK(box.tools.size() == read->tools.size());
    for (std::size_t i = 0; i < box.tools.size(); ++i)
        for (std::size_t k = i + 1; k < box.tools.size(); ++k)
            CHECK((name_of(box.tools[i]) != name_of(box.tools[k]) || box.tools[i].square_mm != box.tools[k].square_mm));
    const auto list = names(box);
    for (const char* tool : {"socket 10", "socket 13", "socket 16", "socket 17", "socket 18", "socket 19", "ring 13",
                             "hexagon key 6", "pliers", "bar 600 mm"})
        CHECK(std::count(list.begin(), list.end(), tool) > 0);
}
