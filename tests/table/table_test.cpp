// The table in and out, by a file made here: a group of two bolts, a nut of its own.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include "core/table/table.hpp"

using namespace boltwalk;

namespace {

const std::string file = R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0,1,2,5]}],"nodes":[
{"name":"frame","extras":{"part":"Frame","fixed":true}},
{"name":"plate","extras":{"part":"Plate"}},
{"name":"plate_bolts","children":[3,4],"extras":{"group":"Plate bolts","count":2,"fastener":"bolt","holds":"plate; frame","thread":"M8","torque":"22 N\u00b7m"}},
{"name":"plate_bolt_1","extras":{"fastener":"bolt","length_mm":25}},
{"name":"plate_bolt_2","extras":{"fastener":"bolt","length_mm":40.5,"note":"=2+2, \"long\""}},
{"name":"cover_nut","extras":{"fastener":"nut","holds":"plate; frame","thread":"M10x1.25","renew":true}}]})";

std::span<const std::byte> bytes(const std::string& text) {
    return std::as_bytes(std::span(text.data(), text.size()));
}

Map read(const std::string& text) {
    auto map = read_map_bytes(bytes(text), "map.gltf", "");
    REQUIRE(map);
    return std::move(*map);
}

struct Compared {
    Map map;
    TableChanges changes;
    explicit Compared(const std::string& csv) : map(read(file)) {
        const auto table = read_table(csv);
        REQUIRE_MESSAGE(table, table.error());
        changes = changes_of(map, bytes(file), *table);
    }
    /// The value that a change gives, as JSON; "unchanged".
    std::string value(const std::string& node, const std::string& key) const {
        for (const Change& change : changes.changes)
            if (map.nodes[static_cast<std::size_t>(change.node)].name == node && change.key == key)
                return change.json;
        return "unchanged";
    }
};

} // namespace

TEST_CASE("a table holds what each node states itself, and a round trip changes nothing") {
    const Map map = read(file);
    const std::string csv = table_of(map, bytes(file));
    CHECK(csv.find("plate_bolts,group: Plate bolts,") != std::string::npos);
    CHECK(csv.find("'=2+2") != std::string::npos); // never a formula
    const Compared same(csv);
    CHECK(same.changes.changes.empty());
    CHECK(same.changes.wrong.empty());
    CHECK(same.changes.rows_without_node.empty());
    CHECK(same.changes.nodes_without_row.empty());
}

TEST_CASE("comma, semicolon, tab; decimal comma; UTF-8 with its mark; Latin-1; CR LF, LF and CR") {
    for (const std::string& csv : {
             std::string("name,length_mm,note\r\nplate_bolt_1,30.5,f\xC3\xBCr\r\n"),
             std::string("name;length_mm;note\nplate_bolt_1;30,5;f\xC3\xBCr\n"),
             std::string("\xEF\xBB\xBFname\tlength_mm\tnote\nplate_bolt_1\t30,5\tf\xC3\xBCr"),
             std::string("sep=;\r\nname;length_mm;note\r\nplate_bolt_1;\"30,5\";f\xFCr\r\n"),
             std::string("name;length_mm;note\rplate_bolt_1;30,5;f\xFCr\r"),
         }) {
        const Compared to(csv);
        CHECK(to.value("plate_bolt_1", "length_mm") == "30.5");
        CHECK(to.value("plate_bolt_1", "note") == "\"f\xC3\xBCr\"");
        CHECK(to.changes.wrong.empty());
        CHECK(to.changes.nodes_without_row == std::vector<std::string>{"plate_bolt_2", "cover_nut"});
    }
}

TEST_CASE("units in the cells or in the heading") {
    const Compared to("name;torque (lbf\xC2\xB7"
                      "ft);length [in]\nplate_bolts;16;\nplate_bolt_1;;1-1/2\ncover_nut;40 N\xC2\xB7m + 90\xC2\xB0;\n");
    CHECK(to.value("plate_bolts", "torque") == "\"16 lbf\xC2\xB7"
                                               "ft\"");
    CHECK(to.value("plate_bolt_1", "length_mm") == "38.1"); // 1 in = 25.4 mm exactly (NIST SP 811)
    CHECK(to.value("cover_nut", "torque") == "\"40 N\xC2\xB7m + 90\xC2\xB0\"");
    CHECK(to.changes.wrong.empty());
    const Compared range("name,torque [N\xC2\xB7m]\ncover_nut,30-35; 40 + 90\xC2\xB0\n");
    CHECK(range.value("cover_nut", "torque") == "\"30-35 N\xC2\xB7m; 40 N\xC2\xB7m + 90\xC2\xB0\"");
}

TEST_CASE("a heading's unit that the key does not have is told, and nothing of its column is taken") {
    for (const char* heading : {"length (inches of stock)", "soak_min (h)", "grade [N]"}) {
        const Compared to(std::string("name;") + heading + "\ncover_nut;2\n");
        CHECK(to.changes.wrong.size() == 1);
        CHECK(to.changes.changes.empty());
    }
}

TEST_CASE("a length left as it was under a heading of another unit: nothing of the column is taken") {
    const Compared to("name;Length [cm];thread\nplate_bolt_1;3,5;\nplate_bolt_2;40.5;\ncover_nut;;M10\n");
    REQUIRE(to.changes.wrong.size() == 1);
    const TableNote& wrong = to.changes.wrong.front();
    CHECK(wrong.line == 3);
    CHECK(wrong.column == "Length [cm]");
    CHECK(wrong.name == "plate_bolt_2");
    CHECK(wrong.what.find("405 mm") != std::string::npos);
    CHECK(wrong.remedy.find("40.5 mm") != std::string::npos);
    CHECK(to.value("plate_bolt_1", "length_mm") == "unchanged");
    CHECK(to.value("cover_nut", "thread") == "\"M10\"");
    // With its unit behind each, a figure says what it says; all of them changed, the heading is meant.
    const Compared units("name;Length [cm]\nplate_bolt_1;3,5\nplate_bolt_2;40.5 mm\n");
    CHECK(units.changes.wrong.empty());
    CHECK(units.value("plate_bolt_1", "length_mm") == "35");
    CHECK(units.value("plate_bolt_2", "length_mm") == "unchanged");
    CHECK(Compared("name;Length [cm]\nplate_bolt_1;2,5\nplate_bolt_2;4\n").value("plate_bolt_2", "length_mm") == "40");
    // The unit that the map has contradicts nothing.
    CHECK(Compared("name;Length [mm]\nplate_bolt_1;25\nplate_bolt_2;40.5\n").changes.wrong.empty());
}

TEST_CASE("what is changed is told: from what to what") {
    const Compared to("name;torque;length;renew;grade\nplate_bolts;24 N\xC2\xB7m;;;8.8\nplate_bolt_1;;30;;\n"
                      "cover_nut;;;(none);\n");
    REQUIRE(to.changes.told.size() == to.changes.changes.size());
    std::string told;
    for (const TableChanged& one : to.changes.told)
        told += one.name + " " + one.key + ": " + one.from + " to " + one.to + "\n";
    CHECK(told == "plate_bolts torque: 22 N\xC2\xB7m to 24 N\xC2\xB7m\nplate_bolts grade:  to 8.8\n"
                  "plate_bolt_1 length_mm: 25 to 30\ncover_nut renew: true to \n");
}

TEST_CASE("a heading of no key is offered one by its unit or its spelling, or the usual ones") {
    const auto remedy = [](const char* heading) {
        const Compared to(std::string("name;") + heading + "\ncover_nut;2\n");
        REQUIRE(to.changes.wrong.size() == 1);
        CHECK(to.changes.changes.empty());
        return to.changes.wrong.front().remedy;
    };
    CHECK(remedy("Drehmoment [Nm]").find("write torque [Nm]") != std::string::npos);
    CHECK(remedy("L\xC3\xA4nge (mm)").find("write length_mm [mm]") != std::string::npos);
    CHECK(remedy("Gewinde").find("thread, length_mm, head") != std::string::npos);
    CHECK(remedy("torqe [furlong]") == "Perhaps torque?");
}

TEST_CASE("a row that is out of step with the heading is told once, and what follows from it is not") {
    const std::string heading = "name,what,fastener,holds,thread,length_mm,head,drive,grade,torque,renew,source\n";
    // Its `holds` holds a comma and no quotes: all behind it stands one column too far.
    for (const char* row : {"plate_bolts,,bolt,plate,frame,M8,25,hex,hex 13,8.8,22 N\xC2\xB7m,true,manual\n",
                            "plate_bolts,,bolt,plate,frame,M8,25,hex,hex 13,8.8,22 N\xC2\xB7m,true,\n",
                            "plate_bolts,,bolt,plate,frame,M8,25,hex,hex 13,8.8,22 N\xC2\xB7m\n"}) {
        const Compared to(heading + row + "cover_nut,,nut,,,,,,8,,,\n");
        std::string told;
        for (const TableNote& note : to.changes.wrong)
            told += note.what + "\n";
        CAPTURE(told);
        REQUIRE(to.changes.wrong.size() == 1);
        CHECK(to.changes.wrong.front().line == 2);
        CHECK(to.changes.wrong.front().remedy.find("quotes") != std::string::npos);
        CHECK(to.changes.doubts.empty());
        CHECK(to.changes.changes.size() == 1); // the nut's
    }
    // An empty cell too many is no mistake by itself.
    CHECK(Compared("name,grade\ncover_nut,8,\n").changes.wrong.empty());
}

TEST_CASE("what a spreadsheet on Windows saves keeps its dashes") {
    CHECK(Compared("name;note\ncover_nut;69 \x96 78\n").value("cover_nut", "note") == "\"69 \xE2\x80\x93 78\"");
}

TEST_CASE("a key is taken away only where that is said") {
    const Compared to("name,torque,renew\nplate_bolts,(none),\ncover_nut,,no\n");
    CHECK(to.value("plate_bolts", "torque").empty());
    CHECK(to.value("cover_nut", "torque") == "unchanged");
    CHECK(to.value("cover_nut", "renew") == "false");
}

TEST_CASE("rows without a node and nodes without a row are told, both ways") {
    const Compared to("name,thread\nplate_bolts,M8\nplate_bolt_9,M8\nplate,M8\n,M6\nplate_bolts,M8\n");
    CHECK(to.changes.rows_without_node == std::vector<std::string>{"plate_bolt_9", "plate", ""});
    CHECK(to.changes.nodes_without_row == std::vector<std::string>{"cover_nut"}); // its bolts are in their group's row
    REQUIRE(to.changes.wrong.size() == 4);
    CHECK(to.changes.wrong[0].line == 3);
    CHECK(to.changes.wrong[1].what == "It is a part, and a table speaks of fasteners.");
    CHECK(to.changes.wrong[3].what == "Line 2 speaks of it already.");
    // As a person writes it, or its title, or with a letter wrong: the node that was meant is named.
    for (const char* written : {"Plate bolts", "plate-bolts", "plate_blots", "plate_bolt"})
        CHECK_MESSAGE(
            Compared(fmt::format("name,thread\n{},M8\n", written)).changes.wrong.at(0).remedy.find("Is “plate_bolt") ==
                0,
            written);
    CHECK(Compared("name,thread\nflywheel,M8\n").changes.wrong.at(0).remedy ==
          "Correct the name, or take the row out.");
}

TEST_CASE("a value is judged as check judges it, and told by line and column; what is right stays right") {
    const Compared to("name,thread,torque\nplate_bolts,M8,22\ncover_nut,M10,45 N\xC2\xB7m\n");
    REQUIRE(to.changes.wrong.size() == 1);
    CHECK(to.changes.wrong[0].line == 2);
    CHECK(to.changes.wrong[0].column == "torque");
    CHECK(to.changes.wrong[0].name == "plate_bolts");
    CHECK_FALSE(to.changes.wrong[0].remedy.empty());
    CHECK(to.value("plate_bolts", "torque") == "unchanged");
    CHECK(to.value("cover_nut", "torque") == "\"45 N\xC2\xB7m\"");
    CHECK(to.value("cover_nut", "thread") == "\"M10\"");
}

TEST_CASE("columns that are no keys, twice the same, none called name") {
    const Compared to("name,torqe,thread,Thread\nplate_bolts,1,M8,M8\n");
    REQUIRE(to.changes.wrong.size() == 2);
    CHECK(to.changes.wrong[0].remedy == "Perhaps torque?");
    CHECK(to.changes.wrong[1].what == "A second column for thread.");
    CHECK(Compared("thread\nM8\n").changes.wrong.front().what == "There is no column called name.");
    CHECK(Compared("name,torque (kN)\ncover_nut,3\n").changes.wrong.size() == 1);
}

TEST_CASE("what is no table is said") {
    CHECK_FALSE(read_table(""));
    CHECK_FALSE(read_table("\n\n;;\n"));
    CHECK_FALSE(read_table("\xFF\xFEn\0a\0"));
    CHECK_FALSE(read_table(std::string_view("name\0x", 6)));
    CHECK_FALSE(read_table("name,note\nplate,\"open\n"));
    CHECK(read_table("name\nplate\n").value().rows.front().line == 2);
    CHECK(read_table("name,note\nplate,\"two\nlines\"\nframe,x\n").value().rows.back().line == 4);
}
