// The program is killed at any moment, a thousand times: whatever it acknowledged is there, and the file is sound.
#include <csignal>
#include <cstdlib>
#include <ctime>

#include <doctest/doctest.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/log/small.hpp"
#include "tests/shared/folder.hpp"
#include "tests/shared/random_assembly.hpp"
#include "tests/shared/sanitized.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

constexpr int usual_kills = sanitized ? 200 : 1000; // the sanitizers' tree has a share of the same test

/// Adds entries for ever, single ones and steps, and says after each which number is safe.
[[noreturn]] void work(const Build& b, const std::string& path, int pipe, std::uint64_t seed) {
    Lots dice(seed);
    Log log(b.map, path);
    for (;;) {
        std::vector<Entry> step;
        for (int i = 1 + dice.below(3); i > 0; --i) {
            step.push_back(did(b, dice.chance(50) ? Verb::take_out : Verb::start, "bolt_1"));
            step.back().words = std::string(static_cast<std::size_t>(dice.below(3) * 2000), 'w');
        }
        if (!log.add(std::move(step)))
            _exit(2);
        const std::int64_t safe = log.entries().back().number;
        if (write(pipe, &safe, sizeof safe) != static_cast<ssize_t>(sizeof safe))
            _exit(3);
    }
}

/// The last number that the child acknowledged before it was killed.
std::int64_t kill_one(const Build& b, const std::string& path, Lots& dice) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const std::uint64_t seed = dice.next();
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        close(ends[0]);
        work(b, path, ends[1], seed);
    }
    close(ends[1]);
    std::int64_t safe = 0, read_one = 0;
    // Half of them from the start, which is where files are made; half some acknowledgements later.
    const int first = dice.chance(50) ? 0 : dice.below(6);
    for (int i = 0; i < first && read(ends[0], &read_one, sizeof read_one) == static_cast<ssize_t>(sizeof read_one);
         ++i)
        safe = read_one;
    const timespec pause{0, 1000L * dice.below(3000)};
    nanosleep(&pause, nullptr);
    kill(child, SIGKILL);
    while (read(ends[0], &read_one, sizeof read_one) == static_cast<ssize_t>(sizeof read_one))
        safe = read_one;
    close(ends[0]);
    int status = 0;
    waitpid(child, &status, 0);
    CHECK(WIFSIGNALED(status)); // not ended by itself: nothing went wrong in it
    return safe;
}

std::string soundness(const std::string& path) {
    sqlite3* db = nullptr;
    std::string answer = "no answer";
    sqlite3_open_v2(path.c_str(), &db, SQLITE_OPEN_READWRITE, nullptr);
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

} // namespace

TEST_CASE("killed at random points: nothing acknowledged is lost") {
    const char* asked = std::getenv("BOLTWALK_KILLS");
    const int kills = asked == nullptr ? usual_kills : std::atoi(asked);
    const Build b = lid_and_body();
    Lots dice(20);
    int hot = 0, unanswered = 0;
    std::int64_t acknowledged = 0;
    for (int done = 0; done < kills;) {
        const Folder folder;
        const std::string path = log_path_of(folder.path / "lid.glb");
        std::int64_t safe = 0;
        for (int i = 0; i < 40 && done < kills; ++i, ++done) {
            CAPTURE(done);
            safe = std::max(safe, kill_one(b, path, dice));
            hot += std::filesystem::exists(path + "-journal") ? 1 : 0;
            Log log(b.map, path);
            REQUIRE(log.warning() == "");
            const auto there = static_cast<std::int64_t>(log.entries().size());
            REQUIRE(there >= safe);
            unanswered += there > safe ? 1 : 0;
            for (std::size_t k = 0; k < log.entries().size(); ++k)
                REQUIRE(log.entries()[k].number == static_cast<std::int64_t>(k) + 1);
            safe = there; // read once, it must stay
            if (there > 0)
                REQUIRE(soundness(path) == "ok");
        }
        acknowledged += safe;
    }
    // It must have been hit in the middle of things, or this proves nothing.
    MESSAGE(kills, " kills, ", acknowledged, " entries, ", hot, " with a journal left, ", unanswered,
            " between commit and answer");
    CHECK(hot * 20 > kills);
}
