// How far a walk is by its log: steps, rounds, what Undo strikes out, what stood open.
#include <doctest/doctest.h>

#include <algorithm>

#include "core/log/ledger.hpp"
#include "core/log/lines.hpp"
#include "core/log/progress.hpp"
#include "tests/log/small.hpp"
#include "tests/shared/folder.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// A walk by entries alone, as a log would hold them.
struct Told {
    explicit Told(const Build& built)
        : b(built), job(prepare(b.map)), strip(plan_strip(job)), refit(plan_refit(job, strip)), now(fold(job, {})) {}
    void add(std::vector<Entry> facts) {
        ++at_ms;
        for (Entry& e : facts) {
            e.key = "k" + std::to_string(entries.size() + 1);
            e.at_ms = at_ms;
            entries.push_back(std::move(e));
        }
        now = fold(job, entries);
    }
    void step(const Plan& plan, std::size_t index) { add(entries_of_step(job, now, plan, index, {}, {})); }
    void all_out() {
        for (std::size_t i = 0; i < strip.steps.size(); ++i)
            step(strip, i);
    }
    /// Of the way back, all that comes before anything is tightened.
    void back_to_tightening() {
        for (std::size_t i = 0; i < refit.steps.size() && refit.steps[i].verb != Verb::tighten; ++i)
            step(refit, i);
    }
    /// The one of four bolts.
    Tightening four() const {
        for (const Tightening& one : tightenings(job, refit))
            if (one.items.size() == 4)
                return one;
        return {};
    }
    Progress out() const { return progress_of(job, strip, now, entries); }
    Progress back() const { return progress_of(job, refit, now, entries); }

    const Build& b;
    Job job;
    Plan strip, refit;
    std::vector<Entry> entries;
    JobNow now;
    std::int64_t at_ms = 1000;
};

std::size_t step_with(const Plan& plan, const Build& b, const std::string& name, Verb verb) {
    for (std::size_t i = 0; i < plan.steps.size(); ++i)
        if (plan.steps[i].verb == verb &&
            std::count(plan.steps[i].items.begin(), plan.steps[i].items.end(), b.at(name)))
            return i;
    return plan.steps.size();
}

} // namespace

TEST_CASE("progress: nothing, a step, an exception, what is left for later") {
    const Build b = lid_and_body();
    Told walk(b);
    CHECK(walk.out().next == 0);
    CHECK(walk.out().reached == 0);
    const std::size_t bolts = step_with(walk.strip, b, "bolt_1", Verb::take_out);
    REQUIRE(bolts < walk.strip.steps.size());
    walk.step(walk.strip, bolts);
    Progress progress = walk.out();
    CHECK(progress.steps[bolts].open == 0);
    CHECK(progress.reached == bolts + 1);
    CHECK((bolts == 0 || progress.next < bolts)); // steps before it are open still
    Entry strike;
    strike.deed = Deed::struck;
    strike.about = entry_behind(walk.entries, walk.now, b.at("bolt_1"), Verb::take_out)->key;
    walk.add({strike});
    CHECK(walk.out().steps[bolts].open == 1);
    CHECK(entry_behind(walk.entries, walk.now, b.at("bolt_1"), Verb::take_out) == nullptr);
    walk.add({found(b, Mishap::stuck, "bolt_1")});
    CHECK(walk.out().steps[bolts].open == 0);
    CHECK(walk.out().steps[bolts].left == 1);
    walk.add({did(b, Verb::take_out, "bolt_1")});
    CHECK(walk.out().steps[bolts].left == 0);
    CHECK(walk.out().steps[bolts].done == int(walk.strip.steps[bolts].items.size()));
}

TEST_CASE("progress: what leaves no trace in the state was done when an entry says so, on this stretch of the way") {
    Build b = lid_and_body();
    b.f("bolt_1").soak_min = 10;
    Told walk(b);
    for (std::size_t i = 0; i < walk.strip.steps.size(); ++i) {
        CHECK(walk.out().next == i);
        walk.step(walk.strip, i);
    }
    CHECK(walk.out().next == walk.strip.steps.size());
    for (std::size_t i = 0; i < walk.refit.steps.size(); ++i) {
        CHECK(walk.back().next == i);
        walk.step(walk.refit, i);
    }
    CHECK(walk.back().next == walk.refit.steps.size());
    CHECK(walk.now.state.refit);
    // The way down stays told as done.
    CHECK(walk.out().next == walk.strip.steps.size());
}

TEST_CASE("turns: pass by pass in the order of the star; only the last pass is the final torque") {
    Build b = lid_and_body();
    for (int i = 1; i <= 4; ++i)
        b.f("bolt_" + std::to_string(i)).passes = "3";
    Told walk(b);
    walk.all_out();
    const Tightening four = walk.four();
    REQUIRE(four.items.size() == 4);
    REQUIRE(rounds_of(four) == 3);
    CHECK_FALSE(turn_of(walk.job, walk.now, four).next); // none is in its place
    walk.back_to_tightening();
    for (int round = 0; round < 3; ++round)
        for (const ItemId item : four.items) {
            const RoundNow turn = turn_of(walk.job, walk.now, four);
            CHECK(turn.round == round);
            CHECK(turn.next == item);
            CHECK(turn.in_place == 4);
            const auto f = std::size_t(b.map[item].detail);
            CHECK_FALSE(walk.now.sites[f].final_torque);
            const Entry e = turn_entry(walk.job, four, item, turn.round, TorqueUnit::newton_metre);
            CHECK(e.pass == round + 1);
            CHECK(e.passes == 3);
            walk.add({e});
            CHECK(walk.now.sites[f].final_torque == (round == 2));
        }
    CHECK(turn_of(walk.job, walk.now, four).round == 3);
    CHECK_FALSE(turn_of(walk.job, walk.now, four).next);
    // 30, 60 and 100 % of 22 N·m, as pass_shares() has them.
    CHECK(round_torque(four, 0, TorqueUnit::newton_metre) == "6.6 N·m");
    CHECK(round_torque(four, 2, TorqueUnit::newton_metre) == "22 N·m");
}

TEST_CASE("turns: a bolt ahead of its pass is not asked for again before its next") {
    Build b = lid_and_body();
    for (int i = 1; i <= 4; ++i)
        b.f("bolt_" + std::to_string(i)).passes = "2";
    Told walk(b);
    walk.all_out();
    walk.back_to_tightening();
    const Tightening four = walk.four();
    REQUIRE(four.items.size() == 4);
    walk.add({turn_entry(walk.job, four, four.items[1], 0, TorqueUnit::newton_metre)});
    CHECK(turn_of(walk.job, walk.now, four).next == four.items[0]);
    walk.add({turn_entry(walk.job, four, four.items[0], 0, TorqueUnit::newton_metre)});
    CHECK(turn_of(walk.job, walk.now, four).next == four.items[2]);
}

TEST_CASE("turns: what is stated for a castle nut is not taken for what was read in its slot") {
    Build b = lid_and_body();
    for (int i = 1; i <= 4; ++i) {
        b.f("bolt_" + std::to_string(i)).passes = "2";
        b.f("bolt_" + std::to_string(i)).kind = FastenerKind::castle_nut;
    }
    const Told walk(b);
    const Tightening four = walk.four();
    REQUIRE(rounds_of(four) == 2);
    const ItemId nut = four.items[0];
    CHECK(turn_entry(walk.job, four, nut, 0, TorqueUnit::newton_metre).words.empty()); // not its last pass yet
    CHECK(turn_entry(walk.job, four, nut, 1, TorqueUnit::newton_metre).words.find("not read") != std::string::npos);
}

TEST_CASE("what was entered in two goes is undone in two, however quickly they came") {
    const Build b = lid_and_body();
    const Job job = prepare(b.map);
    LogSettings settings;
    settings.now_ms = [] { return std::int64_t{1000}; }; // within one millisecond
    const Folder folder;
    Log log(b.map, (folder.path / "lid.glb.log.sqlite").string(), settings);
    REQUIRE(log.add({did(b, Verb::take_out, "pin")}));
    REQUIRE(log.add({did(b, Verb::take_out, "bolt_1"), did(b, Verb::take_out, "bolt_2")}));
    REQUIRE(log.add({did(b, Verb::take_out, "bolt_3")}));
    std::vector<std::int64_t> moments;
    for (const Entry& e : log.entries())
        moments.push_back(e.at_ms);
    CHECK(moments == std::vector<std::int64_t>{1000, 1001, 1001, 1002});
    CHECK(moment_after(log.entries(), 5000) == 5000);
    CHECK(moment_after(log.entries(), 900) == 1003);
    CHECK(moment_after(log.entries(), -500000) == -500000); // a clock set back
    for (const std::size_t together : {1U, 2U, 1U}) {
        const auto strikes = undo_of(log.entries(), fold(job, log.entries()));
        REQUIRE(strikes.size() == together);
        REQUIRE(log.add(strikes));
    }
    CHECK(undo_of(log.entries(), fold(job, log.entries())).empty());
}

TEST_CASE("undo strikes out what was entered in one go, and only what still counts") {
    const Build b = lid_and_body();
    Told walk(b);
    CHECK(undo_of(walk.entries, walk.now).empty());
    walk.add({did(b, Verb::take_out, "pin")});
    walk.add({did(b, Verb::take_out, "bolt_1"), did(b, Verb::take_out, "bolt_2")});
    auto strikes = undo_of(walk.entries, walk.now);
    CHECK(strikes.size() == 2);
    walk.add(strikes);
    CHECK(walk.now.state.fasteners[0] == FastenerState::tight);
    strikes = undo_of(walk.entries, walk.now);
    REQUIRE(strikes.size() == 1);
    CHECK(strikes.front().named == "pin");
    walk.add(strikes);
    CHECK(undo_of(walk.entries, walk.now).empty());
    CHECK(walk.entries.size() == 6); // nothing is deleted
}

TEST_CASE("standing: what is loose, propped, hanging when the walk is taken up again") {
    Build b = lid_and_body();
    b.map.parts[1].support = "jack";
    Told walk(b);
    CHECK(broken_off(walk.job, walk.now).loose.empty());
    walk.add({did(b, Verb::prop, "lid"), did(b, Verb::loosen, "bolt_1"), did(b, Verb::take_out, "bolt_2")});
    const BrokenOff standing = broken_off(walk.job, walk.now);
    CHECK(standing.loose == std::vector<ItemId>{b.at("bolt_1")});
    CHECK(standing.propped == std::vector<ItemId>{b.at("lid")});
    CHECK(standing.hanging.empty());
}

TEST_CASE("the ledger in one line balances, and its short form leaves out what is 0") {
    const Build b = lid_and_body();
    Told walk(b);
    walk.add({did(b, Verb::take_out, "bolt_1"), did(b, Verb::take_out, "bolt_2"), did(b, Verb::take_out, "bolt_3")});
    walk.add({found(b, Mishap::lost, "bolt_3")});
    const Count total = total_of(ledger_of(walk.job, walk.now));
    CHECK(print_balance(total, false) == "3 out = 2 in tray + 0 refitted + 0 scrapped + 1 missing");
    CHECK(print_balance(total, true) == "3 out = 2 in tray + 1 missing");
    CHECK(print_balance({}, true) == "0 out");
}
