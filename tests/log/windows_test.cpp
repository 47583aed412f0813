// Two windows on one log; a log that is no log; a file that goes away; a map that was changed.
#include <unistd.h>

#include <doctest/doctest.h>
#include <sqlite3.h>

#include "tests/log/small.hpp"
#include "tests/shared/folder.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

std::string path_in(const Folder& folder) {
    return log_path_of(folder.path / "lid.glb");
}

std::vector<std::string> names(const Log& log) {
    std::vector<std::string> out;
    for (const Entry& e : log.entries())
        out.push_back(e.named);
    return out;
}

void run(const std::string& path, const char* sql) {
    sqlite3* db = nullptr;
    sqlite3_open(path.c_str(), &db);
    char* error = nullptr;
    sqlite3_exec(db, sql, nullptr, nullptr, &error);
    INFO(sql);
    CHECK_MESSAGE(error == nullptr, error);
    sqlite3_free(error);
    sqlite3_close(db);
}

} // namespace

TEST_CASE("no file before the first entry, one file after it") {
    const Folder folder;
    const Build b = lid_and_body();
    Log log(b.map, path_in(folder));
    CHECK(log.entries().empty());
    CHECK(log.warning() == "");
    CHECK(std::filesystem::is_empty(folder.path));
    CHECK(log.add({did(b, Verb::take_out, "pin")}));
    CHECK(std::distance(std::filesystem::directory_iterator(folder.path), {}) == 1);
}

TEST_CASE("two windows: each sees the other's entries, none is lost, order is one") {
    const Folder folder;
    const Build b = lid_and_body();
    Log one(b.map, path_in(folder)), two(b.map, path_in(folder));
    CHECK(one.add({did(b, Verb::take_out, "pin")}));
    CHECK(two.add({did(b, Verb::take_out, "nut")})); // the second writer reads the first's first
    CHECK(names(two) == std::vector<std::string>{"pin", "nut"});
    CHECK(one.refresh());
    CHECK_FALSE(one.refresh());
    CHECK(names(one) == std::vector<std::string>{"pin", "nut"});
    for (int i = 0; i < 20; ++i) {
        CHECK(one.add({did(b, Verb::take_out, "bolt_1")}));
        CHECK(two.add({did(b, Verb::start, "bolt_1")}));
    }
    one.refresh();
    REQUIRE(one.entries().size() == 42);
    for (std::size_t i = 0; i < 42; ++i)
        CHECK(one.entries()[i].key == two.entries()[i].key);
}

TEST_CASE("two windows: while one holds the file, the other says so and keeps its entries") {
    const Folder folder;
    const Build b = lid_and_body();
    LogSettings quick;
    quick.busy_ms = 20;
    Log log(b.map, path_in(folder), quick);
    CHECK(log.add({did(b, Verb::take_out, "pin")}));
    sqlite3* other = nullptr;
    sqlite3_open(path_in(folder).c_str(), &other);
    sqlite3_exec(other, "BEGIN EXCLUSIVE", nullptr, nullptr, nullptr);
    CHECK_FALSE(log.add({did(b, Verb::take_out, "nut")}));
    CHECK(log.warning().find("another window") != std::string::npos);
    CHECK(log.unwritten() == 1);
    sqlite3_exec(other, "COMMIT", nullptr, nullptr, nullptr);
    sqlite3_close(other);
    CHECK(log.refresh());
    CHECK(log.warning() == "");
    CHECK(log.unwritten() == 0);
}

TEST_CASE("the file is deleted or moved under a running window: everything is written anew") {
    const Folder folder;
    const Build b = lid_and_body();
    Log log(b.map, path_in(folder));
    CHECK(log.add({did(b, Verb::take_out, "pin"), did(b, Verb::take_out, "nut")}));
    std::filesystem::rename(path_in(folder), folder.path / "elsewhere");
    CHECK(log.add({did(b, Verb::take_out, "bolt_1")}));
    Log again(b.map, path_in(folder));
    CHECK(names(again) == std::vector<std::string>{"pin", "nut", "bolt_1"});
    CHECK(again.entries()[0].key == log.entries()[0].key);
    CHECK(again.entries()[0].item == b.at("pin"));
}

TEST_CASE("what is no log is left alone") {
    const Folder folder;
    const Build b = lid_and_body();
    const auto left_alone = [&](const std::string& because) {
        const auto size = std::filesystem::file_size(path_in(folder));
        Log log(b.map, path_in(folder));
        CHECK(log.warning().find(because) != std::string::npos);
        CHECK_FALSE(log.add({did(b, Verb::take_out, "pin")}));
        CHECK(log.entries().size() == 1);
        CHECK(log.warning().find("in memory only") != std::string::npos);
        CHECK(std::filesystem::file_size(path_in(folder)) == size);
    };
    folder.write("lid.glb.log.sqlite", std::string(5000, 'x'));
    left_alone("no log of this program");
    std::filesystem::remove(path_in(folder));
    run(path_in(folder), "CREATE TABLE other (a)");
    left_alone("no log of this program");
    std::filesystem::remove(path_in(folder));
    {
        Log log(b.map, path_in(folder));
        log.add({did(b, Verb::take_out, "pin")});
    }
    // Ours, but with something under our names that could run for ever.
    run(path_in(folder),
        "DROP TABLE item; CREATE VIEW item AS WITH RECURSIVE n(snapshot, place, number, id, name, kind, "
        "facts, shape) AS (SELECT 1,1,1,'','','','','' UNION ALL SELECT snapshot, place + 1, 1, "
        "'','','','','' FROM n) SELECT * FROM n");
    left_alone("no log of this program");
    std::filesystem::remove(path_in(folder));
    {
        Log log(b.map, path_in(folder));
        log.add({did(b, Verb::take_out, "pin")});
    }
    run(path_in(folder), "PRAGMA user_version = 7");
    left_alone("another version");
}

TEST_CASE("nothing is deleted or changed in a log, by whatever program") {
    const Folder folder;
    const Build b = lid_and_body();
    Log log(b.map, path_in(folder));
    log.add({did(b, Verb::take_out, "pin")});
    sqlite3* db = nullptr;
    sqlite3_open(path_in(folder).c_str(), &db);
    CHECK(sqlite3_exec(db, "DELETE FROM entry", nullptr, nullptr, nullptr) == SQLITE_CONSTRAINT);
    CHECK(sqlite3_exec(db, "UPDATE entry SET words = 'x'", nullptr, nullptr, nullptr) == SQLITE_CONSTRAINT);
    sqlite3_close(db);
}

TEST_CASE("no folder, and permission denied: said, kept in memory, written later") {
    const Folder folder;
    const Build b = lid_and_body();
    const std::string path = (folder.path / "no_such" / "lid.glb.log.sqlite").string();
    Log log(b.map, path);
    CHECK(log.warning().find("may only be read") != std::string::npos);
    CHECK_FALSE(log.add({did(b, Verb::take_out, "pin")}));
    CHECK(log.warning().find("cannot be opened or made there") != std::string::npos);
    std::filesystem::create_directory(folder.path / "no_such");
    if (geteuid() != 0) { // nothing is denied to root; tests/log/power_test.cpp denies it below SQLite
        std::filesystem::permissions(folder.path / "no_such",
                                     std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec);
        CHECK_FALSE(log.add({did(b, Verb::take_out, "nut")}));
        CHECK(log.warning() != "");
        std::filesystem::permissions(folder.path / "no_such", std::filesystem::perms::owner_all);
    }
    CHECK(log.refresh());
    CHECK(log.warning() == "");
    Log again(b.map, path);
    CHECK(again.entries().size() == log.entries().size());
}

TEST_CASE("a later program's deed is kept and not understood") {
    const Folder folder;
    const Build b = lid_and_body();
    {
        Log log(b.map, path_in(folder));
        log.add({did(b, Verb::take_out, "pin")});
    }
    run(path_in(folder),
        "INSERT INTO entry SELECT number + 1, item_no, piece_no, 'later-1', at, 'polished', verb, item, step, vehicle, "
        "mishap, piece, piece_of, moved_to, kind, torque, pass, passes, duty, about, words FROM entry");
    Log log(b.map, path_in(folder));
    REQUIRE(log.entries().size() == 2);
    CHECK(log.entries()[1].deed == Deed::unknown);
    CHECK(log.entries()[1].unread == "polished");
    const Job job = prepare(b.map);
    const JobNow now = fold(job, log.entries());
    REQUIRE(now.deviations.size() == 1);
    CHECK(now.deviations[0].what.find("polished") != std::string::npos);
}

TEST_CASE("text that is no text, and clocks that run wild") {
    const Folder folder;
    const Build b = lid_and_body();
    Log log(b.map, path_in(folder));
    Entry e = did(b, Verb::take_out, "pin");
    e.words = std::string("a\0b\xff\xc3(", 6);
    e.at_ms = INT64_MAX;
    CHECK(log.add({e}));
    e.at_ms = -5;
    CHECK(log.add({e}));
    Log again(b.map, path_in(folder));
    CHECK(again.entries()[0].words == "a\uFFFDb\uFFFD\uFFFD(");
    CHECK(again.entries()[0].words == log.entries()[0].words);
    CHECK(print_time(again.entries()[0].at_ms) == "9999-12-31T23:59:59.999Z");
    CHECK(again.entries()[1].at_ms == 0);
}
