// recipe.md and the README say what is so.
#include <algorithm>
#include <fstream>
#include <regex>
#include <sstream>

#include "core/job/job.hpp"
#include "core/map/keys.hpp"
#include "tests/block/made.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

std::string text_of(const std::string& path) {
    std::ifstream in(std::string(BOLTWALK_SOURCE_DIR) + "/" + path);
    REQUIRE_MESSAGE(in.good(), path);
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}

/// The cells of each row of the tables of words.
std::vector<std::vector<std::string>> rows_of(const std::string& page) {
    std::vector<std::vector<std::string>> rows;
    std::istringstream lines(page);
    for (std::string line; std::getline(lines, line);)
        if (line.starts_with("| `")) {
            std::vector<std::string> cells;
            std::size_t at = 1;
            for (std::size_t end = line.find(" |", at); end != std::string::npos; end = line.find(" |", at)) {
                cells.push_back(line.substr(at + 1, end - at - 1));
                at = end + 2;
            }
            rows.push_back(cells);
        }
    return rows;
}

bool is_clean(const std::vector<Finding>& findings) {
    return std::all_of(findings.begin(), findings.end(), [](const Finding& f) { return f.weight == Weight::note; });
}

std::string ticked(const std::string& cell) {
    return cell.size() > 2 ? cell.substr(1, cell.size() - 2) : cell;
}

} // namespace

TEST_CASE("recipe.md has every word once, with form, default, example and meaning") {
    std::vector<std::string> told;
    for (const auto& row : rows_of(text_of("core/block/recipe.md"))) {
        REQUIRE(row.size() == 5);
        told.push_back(ticked(row[0]));
        for (const std::string& cell : row)
            CHECK_MESSAGE(!cell.empty(), row[0]);
    }
    std::vector<std::string> words;
    for (const RecipeWord& word : recipe_words())
        words.emplace_back(word.word);
    std::sort(told.begin(), told.end());
    std::sort(words.begin(), words.end());
    CHECK(told == words);
    // No word of a recipe is a key: a key passes as it stands.
    for (const std::string& word : words)
        if (word != "slot")
            CHECK_MESSAGE(!find_key(word), word);
}

TEST_CASE("each example of recipe.md is taken") {
    for (const auto& row : rows_of(text_of("core/block/recipe.md"))) {
        const std::string word = ticked(row[0]);
        const std::string line = word + " = " + ticked(row[3]) + "\n";
        unsigned where = 0;
        for (const RecipeWord& one : recipe_words())
            if (one.word == word)
                where = one.where;
        const bool shape = line.find("[[") != std::string::npos || word == "box" || word == "plate" ||
                           word == "cylinder" || word == "tube" || word == "cone";
        std::string recipe =
            "[frame]\npart = true\nfixed = true\nplate = [400, 400, 60]\n"
            "[bracket]\npart = true\non = \"top of frame, 9 from rear\"\nfoot = { plate = [60, 40, 12] }\n"
            "cover = { plate = [40, 40, 12], on = \"top of foot\" }\n"
            "[cover]\npart = true\nbox = [60, 12, 60]\non = \"top of frame\"\n"
            "[skid_bolts]\ngroup = true\nfastener = \"bolt\"\nholds = \"cover; frame\"\n"
            "[thing_left]\n";
        if (where & in_hole)
            recipe = word == "on" || word == "move" ? "" : recipe;
        if (recipe.empty())
            continue; // on and move are tried in the tests of places
        if (where == in_hole) {
            const bool size =
                word == "d" || word == "clears" || word == "threaded" || word == "slot" || word == "window";
            recipe +=
                "part = true\nafter = \"cover\"\nat = [0, 500, 0]\nbox = [90, 40, 90]\nholes = [{ on = \"top\", " +
                (size                ? std::string()
                 : word == "towards" ? std::string("slot = [20, 9], ")
                                     : std::string("d = 9, ")) +
                line.substr(0, line.size() - 1) + " }]\n";
        } else if (where & in_part) {
            const bool own_shape = shape && where != 0 && word != "holes";
            recipe += "part = true\nafter = \"cover\"\n" +
                      std::string(word == "at" || word == "in" ? "" : "at = [0, 500, 0]\n") + line;
            if (!own_shape)
                recipe += word == "round"                       ? "plate = [90, 90, 9]\n"
                          : word == "sides" || word == "facing" ? "cylinder = [90, 90]\n"
                                                                : "box = [90, 40, 90]\n";
            if (word == "mirror")
                recipe.replace(recipe.find("length_mm = 30"), 14, "mass_kg = 3");
            if (word == "each")
                recipe += "row = { count = 2, step = 99, towards = \"up\" }\n";
            if (word == "corners")
                recipe.replace(recipe.find("at = [0, 500, 0]"), 16, "on = \"top of frame, 300 off\"");
            if (word == "in")
                continue; // a part in a group of bolts: tried in the tests of groups
        } else {
            recipe += word == "standard" ? "" : word == "rooted" ? "fastener = \"stud\"\n" : "fastener = \"bolt\"\n";
            recipe += word == "standard" || word == "draw" ? "" : "thread = \"M8\"\nlength_mm = 70\n";
            recipe += "holds = \"cover; frame\"\non = \"top of cover\"\n" + line;
        }
        const Blocked made = block_out(recipe);
        CHECK_MESSAGE(!made.glb.empty(), word << "\n" << recipe << "\n" << all_notes(made));
    }
}

TEST_CASE("the first map: forty lines, as the README shows them, clean, out and back") {
    const std::string recipe = text_of("assets/first.toml");
    std::istringstream lines(recipe);
    int written = 0;
    std::string shown;
    for (std::string line; std::getline(lines, line);) {
        written += line.empty() ? 0 : 1;
        shown += line + "\n";
    }
    CHECK(written <= 40);
    CHECK_MESSAGE(text_of("README.md").find("```toml\n" + shown + "```") != std::string::npos,
                  "README.md, \"From nothing\", shows other lines than assets/first.toml");
    const Blocked made = block_out(recipe);
    CHECK_MESSAGE(made.notes.empty(), all_notes(made));
    const Map map = read_back(made);
    CHECK(map.findings.empty());
    const Job job = prepare(map);
    // Most of its torques are not stated, which is a note; nothing weighs more.
    for (const Finding& finding : check(job))
        CHECK_MESSAGE(finding.weight == Weight::note, finding.what);
    const Plan out = plan_strip(job);
    CHECK(is_clean(out.findings));
    CHECK(out.steps.size() > 5);
    const Plan back = plan_refit(job, out);
    CHECK(is_clean(back.findings));
    CHECK(back.steps.size() > 5);
}
