// Lines as a person or a script writes them.
#include <doctest/doctest.h>

#include "core/log/ledger.hpp"
#include "core/log/lines.hpp"
#include "tests/log/small.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

class Desk {
public:
    explicit Desk(const Build& b)
        : job(prepare(b.map)), strip(plan_strip(job)), refit(plan_refit(job, strip)), now(fold(job, {})) {}

    /// The lines that entries of ours print as; or what is wrong.
    std::vector<std::string> take(const std::string& text) {
        const auto read = read_line({job, strip, refit, entries, now}, text);
        if (!read)
            return {"! " + read.error().what};
        std::vector<std::string> out;
        for (Entry e : *read) {
            e.number = static_cast<std::int64_t>(entries.size()) + 1;
            e.key = "k" + std::to_string(entries.size());
            entries.push_back(e);
            out.push_back(print_entry(e).substr(27));
        }
        fold_further(job, now, entries);
        return out;
    }
    Job job;
    Plan strip, refit;
    std::vector<Entry> entries;
    JobNow now;
};

using Lines = std::vector<std::string>;

std::size_t step_of(const Plan& plan, const Map& map, const char* item, Verb verb) {
    for (std::size_t i = 0; i < plan.steps.size(); ++i)
        for (const ItemId id : plan.steps[i].items)
            if (map[id].name == item && plan.steps[i].verb == verb)
                return i + 1;
    return 0;
}

} // namespace

TEST_CASE("items: by verb, and what comes next without one") {
    Build b = lid_and_body();
    b.group("bolts", {"bolt_1", "bolt_2", "bolt_3", "bolt_4"});
    Desk desk(b);
    CHECK(desk.take("did take-out pin") == Lines{"did take-out pin"});
    CHECK(desk.take("did nut") == Lines{"did take-out nut"});
    CHECK(desk.take("did bolt_1: a little rusty") == Lines{"did take-out bolt_1: a little rusty"});
    CHECK(desk.take("did bolts") == Lines{"did take-out bolt_2", "did take-out bolt_3", "did take-out bolt_4"});
    CHECK(desk.take("did bolts") == Lines{"! bolts: by the log, nothing comes next for it."});
    CHECK(desk.take("did lid") == Lines{"did take-off lid"});
    CHECK(desk.take("way-back") == Lines{"way-back"});
    CHECK(desk.take("did lid") == Lines{"did fit lid"});
    CHECK(desk.take("did bolt_1 with bolt_3") == Lines{"did start bolt_1 with bolt_3"});
    CHECK(desk.take("did bolt_2 with new") == Lines{"did start bolt_2 with a new one"});
    CHECK(desk.take("did bolt_2 at 11 N·m pass 1 of 2") == Lines{"did tighten bolt_2 at 11 N·m pass 1 of 2"});
    CHECK(desk.take("did set-vehicle stands; chocked") == Lines{"did set-vehicle stands; chocked"});
    CHECK(desk.now.sites[0].piece == 2);
}

TEST_CASE("steps: all but some; what is so already is left out; the first one back turns the walk round") {
    const Build b = lid_and_body();
    Desk desk(b);
    const std::size_t out = step_of(desk.strip, b.map, "bolt_1", Verb::take_out);
    REQUIRE(out > 0);
    desk.take("did bolt_2");
    const std::string step = "out " + std::to_string(out);
    const Lines taken = desk.take("did " + step + " but bolt_1: tight ones");
    for (const std::string& line : taken) {
        CHECK(line.find("bolt_1") == std::string::npos);
        CHECK(line.find("bolt_2") == std::string::npos);
        CHECK(line.ends_with("(" + step + "): tight ones"));
    }
    CHECK(desk.take("did " + step) == Lines{"did take-out bolt_1 (" + step + ")"});
    CHECK(desk.take("did " + step) == Lines{"! All of " + step + " was entered already."});
    CHECK_FALSE(desk.now.state.refit);
    const Lines back = desk.take("did back 1");
    CHECK(back.front() == "way-back");
    CHECK(back.size() > 1);
    CHECK(desk.now.state.refit);
    CHECK(desk.take("did out 999").front().find("is no step of the order down") != std::string::npos);
}

TEST_CASE("what is found, moved, settled, ticked, noted, struck, closed") {
    const Build b = lid_and_body();
    Desk desk(b);
    CHECK(desk.take("found sheared bolt_1: the head came off: clean") ==
          Lines{"found sheared bolt_1: the head came off: clean"});
    CHECK(desk.take("found substitute bolt_2 as M8 x 30, hex, 10.9") ==
          Lines{"found substitute bolt_2 as bolt M8 × 30, hex, 10.9"});
    CHECK(desk.take("moved bolt_2 to scrapped") == Lines{"moved bolt_2 to scrapped"});
    CHECK(desk.take("in-the-way: a cable tie") == Lines{"in-the-way: a cable tie"});
    CHECK(desk.take("in-the-way lid: two of them") == Lines{"in-the-way lid: two of them"});
    CHECK(desk.take("settled 4 put-back") == Lines{"settled put-back"});
    CHECK(desk.now.extras[0].back);
    CHECK_FALSE(desk.now.extras[1].back);
    CHECK(desk.take("ticked tool: hex 13") == Lines{"ticked: tool: hex 13"});
    CHECK(desk.now.ticked == Lines{"tool: hex 13"});
    CHECK(desk.take("noted lid: a scratch") == Lines{"noted lid: a scratch"});
    CHECK(desk.take("noted: rain") == Lines{"noted: rain"});
    CHECK(desk.take("struck 1: it was bolt_2") == Lines{"struck: it was bolt_2"});
    CHECK(desk.now.struck[0] == 1);
    CHECK(desk.take("closed: enough") == Lines{"closed: enough"});
    CHECK(desk.take("") == Lines{});
    CHECK(desk.take("  # a remark") == Lines{});
}

TEST_CASE("names with spaces, colons and odd words") {
    Build b = lid_and_body();
    b["bolt_1"].name = "bolt one";
    b["bolt_2"].name = "a:b";
    b["bolt_3"].name = "with";
    for (std::size_t i = 0; i < b.map.items.size(); ++i)
        b.map.nodes[i].name = b.map.items[i].name;
    Desk desk(b);
    CHECK(desk.take("did take-out \"bolt one\"") == Lines{"did take-out bolt one"});
    CHECK(desk.take("did start bolt one") == Lines{"did start bolt one"});
    CHECK(desk.take("did take-out a:b: words") == Lines{"did take-out a:b: words"});
    CHECK(desk.take("did take-out \"with\"") == Lines{"did take-out with"});
}

TEST_CASE("lines that cannot be read say what is wrong, and enter nothing") {
    const Build b = lid_and_body();
    Desk desk(b);
    for (const char* text : {"dit bolt_1",
                             "did",
                             "did nothing_here",
                             "did take-out",
                             "did take-out bolt_1 with",
                             "did start bolt_1 with lid",
                             "did tighten bolt_1 at 22",
                             "did tighten bolt_1 pass 3 of 2",
                             "did tighten bolt_1 pass x",
                             "found",
                             "found rust bolt_1",
                             "found lost",
                             "found substitute bolt_1 as thick",
                             "in-the-way",
                             "in-the-way nobody: x",
                             "moved bolt_1",
                             "moved bolt_1 to never",
                             "moved lid to tray",
                             "settled",
                             "settled 7",
                             "struck x",
                             "struck 1",
                             "did \"bolt_1",
                             "did out",
                             "did back x",
                             "did out 1 but bolt_9",
                             "noted nobody: x",
                             "closed now",
                             "did set-vehicle upside down"}) {
        CAPTURE(text);
        const Lines lines = desk.take(text);
        REQUIRE(lines.size() == 1);
        CHECK(lines[0].starts_with("! "));
    }
    CHECK(desk.entries.empty());
}
