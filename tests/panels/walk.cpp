#include "viewer/panels/walk.hpp"
#include "viewer/panels/bookmark.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <iterator>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "tests/panels/walked.hpp"

using namespace boltwalk;

namespace {

namespace files = std::filesystem;

std::size_t open_ticks(const Ticks& ticks) {
    return std::size_t(
        std::count_if(ticks.all.begin(), ticks.all.end(), [](const Tick& tick) { return tick.is != Tick::Is::done; }));
}

} // namespace

TEST_CASE("a bolt has one number, out, started and tightened, and the row stands by it") {
    View view = opened(copied("numbers"));
    const auto numbers = [&] {
        std::vector<std::pair<ItemId, int>> all;
        const Ticks ticks = ticks_of(view);
        for (const Tick& tick : ticks.all)
            all.emplace_back(tick.item, tick.number);
        for (std::size_t i = 0; i < all.size(); ++i)
            CHECK(all[i].second == int(i) + 1);
        return all;
    };
    walk_to(view, "Take out: 5 bolts, Pump bolts");
    const auto out = numbers();
    REQUIRE(out.size() == 5);
    walk_back(view);
    walk_to(view, "Start by hand: 5 bolts, Pump bolts");
    CHECK(numbers() == out);
    walk_to(view, "Tighten: 5 bolts, Pump bolts");
    CHECK(numbers() == out);
    REQUIRE(ticks_of(view).turning != nullptr);
    CHECK(out.front().first == ticks_of(view).turn.next);
}

TEST_CASE("a step is one press, is stored, and the exception is struck out by its own mark") {
    const std::string path = copied("one_press");
    View view = opened(path);
    CHECK_FALSE(files::exists(log_path_of(path)));
    walk_to(view, "Take out: 5 bolts");
    REQUIRE_FALSE(at_end(view));
    const std::size_t at = view.at, before = view.keeper->entries().size();
    CHECK(entering(view, ticks_of(view)).words == "All 5 out");
    enter_step(view);
    CHECK(view.done.stored);
    CHECK(view.at == at + 1);
    CHECK(view.keeper->entries().size() == before + 5);
    step_back(view);
    CHECK(entering(view, ticks_of(view)).words.empty());
    const ItemId bolt = ticks_of(view).all[1].item;
    tap(view, bolt);
    CHECK(view.keeper->entries().size() == before + 6); // struck out, nothing deleted
    CHECK(view.keeper->entries().back().deed == Deed::struck);
    CHECK(open_ticks(ticks_of(view)) == 1);
    CHECK(view.done.now.state.fasteners[std::size_t(view.session->map[bolt].detail)] != FastenerState::out);
    tap(view, bolt);
    CHECK(open_ticks(ticks_of(view)) == 0);
    undo(view);
    CHECK(open_ticks(ticks_of(view)) == 1);
    CHECK(view.at == at);
}

TEST_CASE("undo with nothing to undo leaves everything as it is") {
    View view = opened(copied("nothing_to_undo"));
    undo(view);
    CHECK(view.keeper->entries().empty());
    CHECK(view.done.said.empty());
}

TEST_CASE("what was stuck is left, and the walk goes on past it") {
    View view = opened(copied("stuck"));
    walk_to(view, "Take out: 5 bolts");
    const std::size_t at = view.at;
    const ItemId bolt = ticks_of(view).all[0].item;
    enter_found(view, bolt, Mishap::stuck);
    CHECK(entering(view, ticks_of(view)).words == "The other 4 out");
    CHECK(ticks_of(view).all[0].is == Tick::Is::left);
    enter_step(view);
    CHECK(view.at == at + 1);
    CHECK(progress_now(view).next == at + 1);
    CHECK(open_before(view) == std::string::npos);
}

TEST_CASE("what no tool grips is not taken to have come out with the others") {
    View view = opened(copied("rounded"));
    walk_to(view, "Take out: 5 bolts");
    const std::size_t at = view.at;
    const ItemId bolt = ticks_of(view).all[0].item;
    enter_found(view, bolt, Mishap::rounded);
    CHECK(entering(view, ticks_of(view)).words == "The other 4 out");
    enter_step(view);
    CHECK(view.at == at); // it is open still, and asked for by itself
    CHECK(entering(view, ticks_of(view)).words == "Out: the one left");
    CHECK(view.done.now.state.fasteners[std::size_t(view.session->map[bolt].detail)] == FastenerState::tight);
    enter_step(view);
    CHECK(view.at == at + 1);
    CHECK(view.done.now.state.fasteners[std::size_t(view.session->map[bolt].detail)] == FastenerState::out);
}

TEST_CASE("what was ticked off as bought is wanted again when one more is damaged") {
    View view = opened(copied("bought_twice"));
    walk_to(view, "Take out: 4 bolts, Pulley");
    const Ticks ticks = ticks_of(view);
    const Map& map = view.session->map;
    const std::string need = need_of_part(map, map.fastener(ticks.all[0].item));
    const auto is_ticked = [&] {
        const auto& all = view.done.now.ticked;
        return std::find(all.begin(), all.end(), need) != all.end();
    };
    enter_found(view, ticks.all[0].item, Mishap::rounded);
    enter_tick(view, need);
    CHECK(is_ticked());
    enter_found(view, ticks.all[0].item, Mishap::rounded); // the same one
    CHECK(is_ticked());
    enter_found(view, ticks.all[2].item, Mishap::rounded);
    CHECK_FALSE(is_ticked());
}

TEST_CASE("where something was entered since a bookmark was kept the walk stands where its log says") {
    const std::string path = copied("bookmark");
    View view = opened(path);
    const std::string early = bookmark_of(view);
    walk_to(view, "Take out: 4 bolts, Pulley");
    const std::size_t at = view.at;
    REQUIRE(at > 0);
    View again = opened(path);
    CHECK(take_bookmark(again, early));
    CHECK(again.at == at);
    go_to(again, 1); // looked back, nothing entered since: the bookmark holds
    View third = opened(path);
    CHECK(take_bookmark(third, bookmark_of(again)));
    CHECK(third.at == 1);
}

TEST_CASE("a walk that broke off is taken up where it was, with the same entries") {
    const std::string path = copied("resumed");
    std::size_t at = 0, entries = 0;
    {
        View view = opened(path);
        CHECK_FALSE(view.done.resumed);
        walk_to(view, "Take off: Coolant hose");
        at = view.at;
        entries = view.keeper->entries().size();
    }
    View view = opened(path);
    CHECK(view.done.resumed);
    CHECK(view.at == at);
    CHECK(view.keeper->entries().size() == entries);
    CHECK(view.shot.before.fasteners == view.done.now.state.fasteners);
}

TEST_CASE("tightening: a press a bolt, in the star's order; the last one leads on, and has its stroke") {
    View view = opened(copied("turn"));
    walk_back(view);
    walk_to(view, "Tighten: 4 bolts, Pulley");
    REQUIRE_FALSE(at_end(view));
    const std::size_t at = view.at;
    Ticks ticks = ticks_of(view);
    REQUIRE(ticks.turning != nullptr);
    REQUIRE(ticks.all.size() == 4);
    CHECK(round_torque(*ticks.turning, 0, TorqueUnit::newton_metre) == "9 N·m");
    CHECK(entering(view, ticks).words == "1 of 4: 9 N·m");
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(view.at == at);
        ticks = ticks_of(view);
        CHECK(ticks.all[i].item == ticks.turning->items[i]);
        CHECK(ticks.all[i].is == Tick::Is::next);
        const ItemId bolt = ticks.turn.next;
        CHECK_FALSE(view.done.now.sites[std::size_t(view.session->map[bolt].detail)].final_torque);
        enter_step(view);
        CHECK(view.done.now.sites[std::size_t(view.session->map[bolt].detail)].final_torque);
        CHECK(view.keeper->entries().back().torque == "9 N·m");
    }
    CHECK(view.at == at + 1);
}

TEST_CASE("a whole walk out and back closes with nothing open; over something open only by writing why") {
    View view = opened(copied("whole"));
    walk_to(view, "no such step");
    CHECK(at_end(view));
    take_way(view, true);
    enter_in_way(view, {}, "a cable tie");
    walk_to(view, "no such step");
    CHECK(at_end(view));
    const auto open = view.done.open;
    REQUIRE(open.size() == 1);
    close_job(view);
    CHECK_FALSE(is_closed(view));
    view.why = "left off on purpose";
    close_job(view);
    CHECK(is_closed(view));
    CHECK(view.done.now.closed_why == "left off on purpose");
    undo(view);
    CHECK_FALSE(is_closed(view));
    OpenDuty duty;
    duty.duty = Duty::put_back;
    duty.key = view.done.now.extras.front().key;
    enter_settled(view, duty);
    CHECK(view.done.open.empty());
    close_job(view);
    CHECK(is_closed(view));
}

TEST_CASE("looking back and on enters nothing; a step ahead of the walk says which one is open") {
    View view = opened(copied("look"));
    step_on(view);
    step_on(view);
    CHECK(view.at == 2);
    CHECK(view.keeper->entries().empty());
    CHECK(open_before(view) == 0);
    step_back(view);
    CHECK(view.keeper->entries().empty());
}

TEST_CASE("where nothing can be kept the walk goes on in memory, and says so all the time") {
    const std::string path = copied("memory");
    files::create_directories(log_path_of(path)); // a folder where the log should be
    View view = opened(path);
    enter_step(view);
    CHECK_FALSE(view.done.stored);
    CHECK(view.at == 1);
    CHECK_FALSE(view.keeper->warning().empty());
    View bare;
    bare.drawing_px = {800, 600};
    open(bare, path);
    while (bare.opening)
        take_opened(bare);
    bare.start_read = true;
    CHECK_FALSE(bare.keeper->warning().empty());
    enter_step(bare);
    CHECK(bare.at == 1);
    CHECK(bare.keeper->entries().size() == 1);
}

TEST_CASE("what is on its way to where it is kept is not called stored before it is there") {
    class Slow : public Keeper {
    public:
        bool add(std::vector<Entry> entries) override {
            std::move(entries.begin(), entries.end(), std::back_inserter(entries_));
            return false;
        }
        bool refresh() override { return false; }
        const std::vector<Entry>& entries() const override { return entries_; }
        std::size_t unstored() const override { return there ? 0 : entries_.size(); }
        bool is_storing() const override { return !there; }
        std::string warning() const override { return {}; }
        std::string where() const override { return "slow"; }
        std::vector<std::string> differs() const override { return {}; }
        bool there = false;

    private:
        std::vector<Entry> entries_;
    };
    View view = opened(copied("slow"));
    auto slow = std::make_unique<Slow>();
    Slow& keeper = *slow;
    view.keeper = std::move(slow);
    take_stored(view);
    CHECK_FALSE(view.done.stored); // nothing was entered
    enter_step(view);
    REQUIRE_FALSE(view.done.said.empty());
    CHECK_FALSE(view.done.stored);
    take_stored(view); // an answer to something else
    CHECK_FALSE(view.done.stored);
    keeper.there = true;
    take_stored(view);
    CHECK(view.done.stored);
}

TEST_CASE("a person's unit stands first, the manual's own beside it") {
    View view = opened(copied("unit"));
    take_unit(view, TorqueUnit::pound_force_foot);
    bool seen = false;
    for (const StepCard& card : view.session->refit_cards)
        for (const Hardware& line : card.hardware)
            if (!line.torque.empty() && line.torque != "torque not stated") {
                seen = true;
                CHECK(line.torque.find("lbf·ft (stated: ") != std::string::npos);
            }
    CHECK(seen);
}

TEST_CASE("the kinds of the step are in sight as soon as one is out, and what looks like them beside") {
    View view = opened(copied("kinds"));
    CHECK(kinds_now(view).empty());
    walk_to(view, "Take out: 5 bolts, Pump bolts");
    REQUIRE_FALSE(at_end(view));
    CHECK(kinds_now(view).empty()); // none of them is out yet
    const std::size_t at = view.at;
    enter_step(view);
    go_to(view, at);
    const auto said = [&] {
        std::vector<std::string> words;
        for (const KindNow& kind : kinds_now(view)) {
            const Count& count = view.done.ledger[kind.count];
            words.push_back((kind.like    ? "like "
                             : kind.alike ? "alike "
                                          : "") +
                            print_kind_briefly(count) + ": " + print_whereabouts(count));
        }
        return words;
    };
    CHECK(said() ==
          std::vector<std::string>{"alike M8 × 60: 2 in tray", "alike M8 × 80: 1 in tray", "alike M8 × 40: 2 in tray"});
    take_way(view, true);
    walk_to(view, "Start by hand: 4 bolts, Pulley");
    REQUIRE_FALSE(at_end(view));
    CHECK(said() == std::vector<std::string>{"M6 × 16: 4 in tray"});
    enter_step(view);
    CHECK(said() == std::vector<std::string>{"M6 × 16: 4 refitted"}); // tightened now
}

TEST_CASE("of the person's wrenches the smallest that takes it; without a list nothing is said") {
    View view = opened(copied("wrench"));
    walk_back(view);
    walk_to(view, "Tighten: 5 bolts, Pump");
    REQUIRE_FALSE(at_end(view));
    const Ticks ticks = ticks_of(view);
    CHECK_FALSE(wrench_now(view, ticks)); // the home box is nobody's own
    view.wrenches = *read_tools("torque wrench 5..25 N·m\ntorque wrench 20..110 N·m\n", "mine");
    auto choice = wrench_now(view, ticks);
    REQUIRE(choice);
    CHECK(choice->words == "torque wrench 5..25 N·m, set to 22 N·m");
    view.wrenches = *read_tools("torque wrench 40..200 N·m\n", "mine");
    choice = wrench_now(view, ticks);
    REQUIRE(choice);
    CHECK(choice->wrench == nullptr);
    CHECK(choice->words.starts_with("none of the wrenches takes it"));
    walk_to(view, "Tighten: 2 clamps");
    REQUIRE_FALSE(at_end(view));
    CHECK_FALSE(wrench_now(view, ticks_of(view))); // no torque is stated
}

TEST_CASE("at the end only what has no torque stated is without one, and that is told apart") {
    View view = opened(copied("none_stated"));
    walk_to(view, "no such step");
    CHECK(none_stated(view.done.untorqued) == 0);
    CHECK(view.done.untorqued.size() > 5);
    take_way(view, true);
    walk_to(view, "no such step");
    CHECK(view.done.open.empty());
    REQUIRE(view.done.untorqued.size() == 3); // filler cap and two hose clips
    CHECK(none_stated(view.done.untorqued) == 3);
    const ItemId clip = view.done.untorqued.back().item;
    enter_reading(view, clip, "4 N·m");
    CHECK(none_stated(view.done.untorqued) == 2);
    CHECK(view.done.now.sites[std::size_t(view.session->map[clip].detail)].final_torque);
}

TEST_CASE("the wrong one went in: offered with what is wrong with it, entered, flagged, and out again") {
    View view = opened(copied("went_in"));
    walk_back(view);
    const Map& map = view.session->map;
    ItemId site;
    for (int press = 0; press < 400 && !site && !at_end(view); ++press) {
        for (const Tick& tick : ticks_of(view).all)
            if (plan_of(view).steps[view.at].verb == Verb::start && tick.item && map.is_fastener(tick.item) &&
                !mistaken_for(view.session->job, view.done.now, tick.item).empty())
                site = tick.item;
        if (!site)
            enter_step(view);
    }
    REQUIRE(site);
    const auto f = std::size_t(map[site].detail);
    const Mistaken other = mistaken_for(view.session->job, view.done.now, site).front();
    CHECK(other.alike);
    CHECK(other.differs.find("mm") != std::string::npos);
    const std::size_t at = view.at, before = view.keeper->entries().size();
    enter_piece(view, site, other.from);
    CHECK(view.at == at);
    CHECK(view.done.stored);
    CHECK(view.keeper->entries().size() == before + 1);
    REQUIRE_FALSE(view.done.deviates.empty());
    CHECK(view.done.deviates.front().find("the manual wants") != std::string::npos);
    CHECK(total_of(view.done.ledger).strangers == 1);
    CHECK(total_of(view.done.ledger).elsewhere == 1);
    const Ticks ticks = ticks_of(view);
    const auto mark =
        std::find_if(ticks.all.begin(), ticks.all.end(), [&](const Tick& one) { return one.item == site; });
    REQUIRE(mark != ticks.all.end());
    CHECK(mark->is == Tick::Is::left); // no tick for what is wrong
    enter_out_again(view, site);
    CHECK(view.keeper->entries().size() == before + 2); // nothing is struck out: it was in
    CHECK(total_of(view.done.ledger).strangers == 0);
    CHECK(view.done.now.state.fasteners[f] == FastenerState::out);
    enter_step(view);
    CHECK(view.done.now.sites[f].piece == std::int32_t(f)); // its own, after all
}

TEST_CASE("what was fitted instead: a size in the words is kept as its kind, anything else as a word on it") {
    View view = opened(copied("substitute"));
    walk_to(view, "Take out: 5 bolts");
    const ItemId bolt = ticks_of(view).all[0].item;
    enter_found(view, bolt, Mishap::substitute, "M8 × 30, hex flange, 8.8");
    REQUIRE(view.keeper->entries().back().as);
    CHECK(view.keeper->entries().back().as->length_mm == 30);
    CHECK(view.keeper->entries().back().as->head == "hex_flange");
    CHECK(view.keeper->entries().back().words.empty());
    enter_found(view, bolt, Mishap::substitute, "from the drawer");
    CHECK_FALSE(view.keeper->entries().back().as);
    CHECK(view.keeper->entries().back().words == "from the drawer");
}

TEST_CASE("what has room from 3 m is made with the words that it stands for") {
    View view = opened(copied("brief"));
    walk_to(view, "Take out: 5 bolts");
    CHECK(entering(view, ticks_of(view)).brief == "All 5");
    tap(view, ticks_of(view).all[0].item);
    CHECK(entering(view, ticks_of(view)).brief == "Other 4");
    for (int i = 1; i < 4; ++i)
        tap(view, ticks_of(view).all[std::size_t(i)].item);
    CHECK(entering(view, ticks_of(view)).words == "The other one out");
    CHECK(entering(view, ticks_of(view)).brief == "Other one");
    walk_back(view);
    walk_to(view, "Tighten: 4 bolts, Pulley");
    CHECK(entering(view, ticks_of(view)).brief == "1: 9 N·m");
}

TEST_CASE("a gate that is passed over is said, and entered all the same") {
    View view = opened(copied("gate"));
    const auto& cards = view.session->strip_cards;
    while (!cards[view.at].gate)
        enter_step(view);
    step_on(view);
    const std::size_t before = view.keeper->entries().size();
    enter_step(view);
    CHECK(view.keeper->entries().size() > before);
    CHECK(std::any_of(view.done.deviates.begin(), view.done.deviates.end(),
                      [](const std::string& what) { return what.find("Engine stopped") != std::string::npos; }));
}
