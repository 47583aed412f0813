// The power goes at any moment: whatever was acknowledged is there afterwards, and the file is sound.
#include <doctest/doctest.h>
#include <sqlite3.h>

#include "tests/log/disk.hpp"
#include "tests/log/small.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

constexpr const char* disk_path = "/disk/lid.glb.log.sqlite";

LogSettings settings_on(const Disk& disk) {
    LogSettings settings;
    settings.vfs = disk.name();
    settings.now_ms = [t = std::int64_t{1000}]() mutable { return t += 1000; };
    settings.busy_ms = 0;
    return settings;
}

std::string soundness(const Disk& disk) {
    if (disk.now().count(disk_path) == 0 || disk.now()[disk_path].empty())
        return "ok";
    sqlite3* db = nullptr;
    std::string answer = "no answer";
    sqlite3_open_v2(disk_path, &db, SQLITE_OPEN_READWRITE, disk.name().c_str());
    sqlite3_exec(
        db, "PRAGMA integrity_check",
        [](void* out, int, char** cells, char**) {
            *static_cast<std::string*>(out) = cells[0];
            return 0;
        },
        &answer, nullptr);
    sqlite3_close(db);
    return answer;
}

struct Walk {
    std::vector<std::string> keys;  ///< of the entries, in order
    std::vector<std::size_t> acked; ///< operations of the disk when each was acknowledged
};

/// The lid comes off and goes back: single entries, whole steps, a strike, long words that take pages of their own.
Walk walk(const Build& b, Disk& disk) {
    Log log(b.map, disk_path, settings_on(disk));
    Walk out;
    const auto add = [&](std::vector<Entry> entries) {
        REQUIRE(log.add(std::move(entries)));
        while (out.keys.size() < log.entries().size()) {
            out.keys.push_back(log.entries()[out.keys.size()].key);
            out.acked.push_back(disk.history());
        }
    };
    add({did(b, Verb::take_out, "pin")});
    add({did(b, Verb::take_out, "nut")});
    for (const char* bolt : {"bolt_1", "bolt_2", "bolt_3"})
        add({did(b, Verb::take_out, bolt)});
    add({found(b, Mishap::sheared, "bolt_4", std::string(9000, 'x'))});
    add({did(b, Verb::take_off, "lid")});
    add({about(Deed::struck, out.keys[2], "the wrong one ticked")});
    add({did(b, Verb::take_out, "bolt_1")});
    Entry back;
    back.deed = Deed::way_back;
    add({back});
    add({did(b, Verb::fit, "lid")});
    add({did(b, Verb::start, "bolt_1"), did(b, Verb::start, "bolt_2"), did(b, Verb::start, "bolt_3")});
    for (int i = 1; i <= 3; ++i) {
        Entry tight = did(b, Verb::tighten, "bolt_" + std::to_string(i));
        tight.torque = "22 N·m";
        tight.words = std::string(static_cast<std::size_t>(i) * 1500, 'w');
        add({tight});
    }
    return out;
}

std::size_t acknowledged(const Walk& walked, std::size_t operations) {
    return static_cast<std::size_t>(
        std::count_if(walked.acked.begin(), walked.acked.end(), [&](std::size_t when) { return when <= operations; }));
}

/// Opens what the cut left. Empty: all is well.
std::string after(const Build& b, Disk& disk, const Walk& walked, std::size_t at_least) {
    {
        Log log(b.map, disk_path, settings_on(disk));
        if (!log.warning().empty())
            return log.warning();
        if (log.entries().size() < at_least)
            return "only " + std::to_string(log.entries().size()) + " of " + std::to_string(at_least);
        for (std::size_t i = 0; i < log.entries().size(); ++i)
            if (i >= walked.keys.size() || log.entries()[i].key != walked.keys[i])
                return "another entry at " + std::to_string(i);
        Entry next;
        next.deed = Deed::noted;
        next.words = "after the cut";
        if (!log.add({next}))
            return "nothing can be added: " + log.warning();
    }
    const std::string sound = soundness(disk);
    return sound == "ok" ? "" : sound;
}

} // namespace

TEST_CASE("power cut at every operation of a walk, what is not synced dropped, kept and torn") {
    const Build b = lid_and_body();
    std::size_t cuts = 0;
    for (const int sector : {512, 4096}) {
        Disk disk("walked", sector);
        const Walk walked = walk(b, disk);
        REQUIRE(walked.keys.size() == 17);
        Disk left("left", sector);
        for (std::size_t operations = 0; operations <= disk.history(); ++operations) {
            const std::size_t acked = acknowledged(walked, operations);
            for (int seed = 0; seed < 8; ++seed) {
                Lots dice(static_cast<std::uint64_t>(seed) * 1000003 + operations);
                const Fate fate = seed == 0 ? Fate::dropped : seed == 1 ? Fate::kept : Fate::torn;
                left.load(disk.after_cut(operations, fate, dice));
                CAPTURE(sector);
                CAPTURE(operations);
                CAPTURE(seed);
                REQUIRE(after(b, left, walked, acked) == "");
                ++cuts;
            }
        }
    }
    MESSAGE("power cuts: ", cuts);
}

TEST_CASE("power cut again while the log recovers from the first") {
    const Build b = lid_and_body();
    Disk disk("walked");
    const Walk walked = walk(b, disk);
    Disk first("first"), second("second");
    std::size_t cuts = 0;
    for (std::size_t operations = 0; operations <= disk.history(); operations += 3) {
        const std::size_t acked = acknowledged(walked, operations);
        Lots dice(operations);
        first.load(disk.after_cut(operations, Fate::torn, dice));
        REQUIRE(after(b, first, walked, acked) == "");
        for (std::size_t k = 0; k <= first.history(); k += 2) {
            second.load(first.after_cut(k, Fate::torn, dice));
            CAPTURE(operations);
            CAPTURE(k);
            Log log(b.map, disk_path, settings_on(second));
            REQUIRE(log.warning() == "");
            REQUIRE(log.entries().size() >= acked);
            for (std::size_t i = 0; i < acked; ++i)
                REQUIRE(log.entries()[i].key == walked.keys[i]);
            REQUIRE(soundness(second) == "ok");
            ++cuts;
        }
    }
    MESSAGE("second cuts: ", cuts);
}

// The test above could pass on a disk that never loses anything.
TEST_CASE("the disk does lose what was not synced") {
    const Build b = lid_and_body();
    Disk disk("walked");
    const Walk walked = walk(b, disk);
    Lots dice(1);
    std::size_t differ = 0;
    for (std::size_t operations = 0; operations <= disk.history(); ++operations)
        if (disk.after_cut(operations, Fate::dropped, dice) != disk.after_cut(operations, Fate::kept, dice))
            ++differ;
    CHECK(differ > disk.history() / 3);
}

TEST_CASE("disk full at any write: said, kept in memory, written out when there is room") {
    const Build b = lid_and_body();
    std::size_t failures = 0;
    for (std::size_t writes = 0; writes < 120; ++writes) {
        Disk disk("full");
        disk.write_limit = writes;
        CAPTURE(writes);
        Log log(b.map, disk_path, settings_on(disk));
        std::size_t acked = 0;
        for (int i = 0; i < 12; ++i) {
            const bool kept = log.add({did(b, Verb::take_out, "bolt_1")});
            CHECK(kept == log.warning().empty());
            CHECK(log.entries().size() == static_cast<std::size_t>(i) + 1);
            if (kept)
                acked = log.entries().size();
            else
                CHECK(log.warning().find("the disk is full") != std::string::npos);
            CHECK(log.unwritten() == log.entries().size() - acked);
        }
        failures += acked < 12 ? 1 : 0;
        // What another window sees now is what was acknowledged.
        disk.write_limit = SIZE_MAX;
        {
            Log other(b.map, disk_path, settings_on(disk));
            CHECK(other.entries().size() == acked);
        }
        log.refresh();
        CHECK(log.warning() == "");
        CHECK(log.unwritten() == 0);
        Log again(b.map, disk_path, settings_on(disk));
        REQUIRE(again.entries().size() == 12);
        for (std::size_t i = 0; i < 12; ++i)
            CHECK(again.entries()[i].key == log.entries()[i].key);
        CHECK(soundness(disk) == "ok");
    }
    CHECK(failures > 60);
}

TEST_CASE("errors of the disk, permission and a read-only disk") {
    const Build b = lid_and_body();
    Disk disk("faulty");
    Log log(b.map, disk_path, settings_on(disk));
    REQUIRE(log.add({did(b, Verb::take_out, "pin")}));

    disk.fail_writes = SQLITE_IOERR_WRITE;
    CHECK_FALSE(log.add({did(b, Verb::take_out, "nut")}));
    CHECK(log.warning().find("the disk gives an error") != std::string::npos);
    disk.fail_writes = 0;
    disk.fail_opens = SQLITE_CANTOPEN;
    CHECK_FALSE(log.add({did(b, Verb::take_out, "bolt_1")}));
    CHECK(log.warning().find("cannot be opened") != std::string::npos);
    CHECK(log.unwritten() == 2);
    disk.fail_opens = 0;
    disk.read_only = true;
    CHECK_FALSE(log.add({did(b, Verb::take_out, "bolt_2")}));
    CHECK(log.warning().find("may only be read") != std::string::npos);
    CHECK(log.unwritten() == 3);

    // A second window learns it before its first bolt.
    Log second(b.map, disk_path, settings_on(disk));
    CHECK(second.entries().size() == 1);
    CHECK(second.warning().find("may only be read") != std::string::npos);
    Log elsewhere(b.map, "/disk/other.sqlite", settings_on(disk));
    CHECK(elsewhere.warning().find("may only be read") != std::string::npos);

    disk.read_only = false;
    CHECK(log.add({did(b, Verb::take_out, "bolt_3")}));
    CHECK(log.warning() == "");
    Log again(b.map, disk_path, settings_on(disk));
    REQUIRE(again.entries().size() == 5);
    for (std::size_t i = 0; i < 5; ++i) {
        CHECK(again.entries()[i].key == log.entries()[i].key);
        CHECK(again.entries()[i].number == static_cast<std::int64_t>(i) + 1);
    }
}

TEST_CASE("committed although an error was answered: not entered twice") {
    const Build b = lid_and_body();
    Disk disk("late");
    Log log(b.map, disk_path, settings_on(disk));
    REQUIRE(log.add({did(b, Verb::take_out, "pin")}));
    disk.fail_deletes = SQLITE_IOERR_DIR_FSYNC;
    log.add({did(b, Verb::take_out, "nut")});
    disk.fail_deletes = 0;
    log.refresh();
    CHECK(log.warning() == "");
    CHECK(log.entries().size() == 2);
    Log again(b.map, disk_path, settings_on(disk));
    CHECK(again.entries().size() == 2);
}
