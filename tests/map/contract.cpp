// annotation.md is the contract: it documents exactly the table of keys, and exactly the rules that reading reports.

#include <algorithm>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include <doctest/doctest.h>

#include "core/map/keys.hpp"
#include "core/map/meaning.hpp"

using namespace boltwalk;

namespace {

std::string file_text(const std::string& path) {
    std::ifstream in(BOLTWALK_SOURCE_DIR + ("/" + path), std::ios::binary);
    REQUIRE(in.good());
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) {
        lines.push_back(line);
    }
    return lines;
}

/// What stands in backticks.
std::vector<std::string> quoted(const std::string& text) {
    std::vector<std::string> words;
    static const std::regex pattern("`([^`]*)`");
    for (std::sregex_iterator at(text.begin(), text.end(), pattern), end; at != end; ++at) {
        words.push_back((*at)[1]);
    }
    return words;
}

struct Row {
    std::vector<std::string> cells;
};

/// The rows of the table below a heading.
std::vector<Row> table_below(const std::string& heading) {
    std::vector<Row> rows;
    bool inside = false;
    for (const std::string& line : lines_of(file_text("core/map/annotation.md"))) {
        if (line.rfind("## ", 0) == 0) {
            inside = line == "## " + heading;
        } else if (inside && line.rfind("| ", 0) == 0 && line.rfind("| ---", 0) != 0) {
            Row row;
            std::istringstream in(line.substr(2));
            for (std::string cell; std::getline(in, cell, '|');) {
                row.cells.push_back(cell);
            }
            rows.push_back(row);
        }
    }
    REQUIRE_MESSAGE(rows.size() > 1, heading);
    rows.erase(rows.begin()); // the heading of the columns
    return rows;
}

const std::vector<std::pair<std::string, std::uint8_t>> sections{
    {"Keys of the scene", on_scene}, {"Keys of any item", on_part | on_fastener | on_task},
    {"Keys of a group", on_group},   {"Keys of a fastener", on_fastener},
    {"Keys of a part", on_part},     {"Keys of a task", on_task},
};

} // namespace

TEST_CASE("annotation.md documents every key where it may stand, and no other") {
    std::map<std::string, int> documented;
    for (const auto& [heading, on] : sections) {
        for (const Row& row : table_below(heading)) {
            REQUIRE(row.cells.size() >= 5);
            const std::vector<std::string> keys = quoted(row.cells[0]);
            REQUIRE(keys.size() == 1);
            CAPTURE(keys[0]);
            const auto key = find_key(keys[0]);
            REQUIRE(key.has_value());
            CHECK((key_of(*key).on & on) == on);
            documented[keys[0]] |= on;
            // Units, default, an example, a meaning.
            CHECK(row.cells[1].size() > 2);
            CHECK(row.cells[2].size() > 2);
            CHECK_FALSE(quoted(row.cells[3]).empty());
            CHECK(row.cells[4].size() > 4);
        }
    }
    for (const Key& key : all_keys()) {
        CAPTURE(key.name);
        CHECK(documented[std::string(key.name)] == key.on);
    }
}

TEST_CASE("what a key means is said in one line, out of its row") {
    for (const Key& key : all_keys()) {
        for (const auto& [heading, on] : sections) {
            for (const Row& row : table_below(heading)) {
                if (quoted(row.cells[0]) != std::vector<std::string>{std::string(key.name)}) {
                    continue;
                }
                CAPTURE(key.name);
                const std::string meaning = meaning_of(key.id, on);
                CHECK(meaning.size() >= 4);
                CHECK(meaning.size() <= 130);
                std::string cell = row.cells.at(4);
                cell.erase(std::remove(cell.begin(), cell.end(), '`'), cell.end());
                CHECK(cell.find(" " + meaning) == 0);
            }
        }
    }
    // The same key means something else elsewhere.
    CHECK(meaning_of(KeyId::renew, on_fastener) == "single use");
    CHECK(meaning_of(KeyId::renew, on_part) == "gasket, seal: replaced");
    CHECK(meaning_of(KeyId::holds, on_group) == meaning_of(KeyId::holds, on_fastener));
}

TEST_CASE("annotation.md lists every word that a key knows") {
    for (const auto& [heading, on] : sections) {
        for (const Row& row : table_below(heading)) {
            const Key& key = key_of(*find_key(quoted(row.cells[0])[0]));
            if (key.choices.empty() || key.id == KeyId::from || key.id == KeyId::counter_from) {
                continue; // places have a row of their own
            }
            CAPTURE(key.name);
            const std::vector<std::string> words = quoted(row.cells[1]);
            std::set<std::string> listed(words.begin(), words.end());
            listed.erase(";");
            std::set<std::string> known;
            for (const std::string_view choice : choices_of(key)) {
                known.emplace(choice);
            }
            CHECK(listed == known);
        }
    }
}

TEST_CASE("annotation.md says which keys a group does not pass on, and to whom") {
    std::string text = file_text("core/map/annotation.md");
    std::replace(text.begin(), text.end(), '\n', ' ');
    const auto words_between = [&](const std::string& from, const std::string& to) {
        const std::size_t begin = text.find(from);
        REQUIRE(begin != std::string::npos);
        const std::vector<std::string> words = quoted(text.substr(begin, text.find(to, begin) - begin));
        return std::set<std::string>(words.begin(), words.end());
    };
    std::set<std::string> own;
    std::set<std::string> turned;
    for (const Key& key : all_keys()) {
        if (!key.inherited && (key.on & ~on_scene) != 0) {
            own.emplace(key.name);
        }
        if (key.turned_only) {
            turned.emplace(key.name);
        }
    }
    CHECK(words_between("group or part, except", ". What an item") == own);
    CHECK(words_between("so it inherits none of", ". * A mesh") == turned);
}

TEST_CASE("annotation.md lists every rule that reading reports, with its weight") {
    std::map<std::string, std::string> documented;
    for (const Row& row : table_below("What reading finds")) {
        for (const std::string& rule : quoted(row.cells[0])) {
            documented[rule] = row.cells[1].substr(1, row.cells[1].size() - 2);
        }
    }
    std::map<std::string, std::string> reported;
    const std::regex by_weight("Weight::(fault|doubt|note),\\s*\"([a-z-]+)\"");
    const std::regex by_report("report\\(\"([a-z-]+)\",\\s*Weight::(fault|doubt)");
    const std::regex by_call("\\b(doubt|note)\\(gltf,\\s*\"([a-z-]+)\"");
    for (const char* name : {"annotate.cpp", "apply.cpp", "setting.hpp", "set_fastener.cpp", "set_part.cpp",
                             "links.cpp", "crosscheck.cpp", "nodes.cpp", "mesh.cpp", "read.cpp"}) {
        const std::string source = file_text(std::string("core/map/") + name);
        const auto collect = [&](const std::regex& pattern, int rule, int weight) {
            for (std::sregex_iterator at(source.begin(), source.end(), pattern), end; at != end; ++at) {
                reported[(*at)[static_cast<std::size_t>(rule)]] = (*at)[static_cast<std::size_t>(weight)];
            }
        };
        collect(by_weight, 2, 1);
        collect(by_report, 1, 2);
        collect(by_call, 2, 1);
    }
    CHECK(reported.size() > 30);
    for (const auto& rule : reported) {
        CHECK_MESSAGE(documented[rule.first] == rule.second, rule.first);
    }
    for (const auto& rule : documented) {
        CHECK_MESSAGE(reported[rule.first] == rule.second, rule.first);
    }
}
