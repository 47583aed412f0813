// The ledger balances at every moment, whatever was entered; what happened has its consequences.
#include <algorithm>

#include <doctest/doctest.h>

#include "core/log/ledger.hpp"
#include "tests/log/small.hpp"
#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// Entries with keys, as a log would have them.
class Story {
public:
    explicit Story(const Build& b) : build(b), job(prepare(b.map)) {}
    Story& add(Entry e) {
        e.key = "k" + std::to_string(entries.size());
        e.number = static_cast<std::int64_t>(entries.size()) + 1;
        entries.push_back(std::move(e));
        return *this;
    }
    Story& done(Verb verb, const char* name) { return add(did(build, verb, name)); }
    Story& happened(Mishap mishap, const char* name) { return add(found(build, mishap, name)); }
    Story& back() {
        Entry e;
        e.deed = Deed::way_back;
        return add(e);
    }
    JobNow now() const { return fold(job, entries); }
    std::size_t slot(const char* name) const { return static_cast<std::size_t>(build.map[build.at(name)].detail); }
    const Build& build;
    Job job;
    std::vector<Entry> entries;
};

const Count* count_of(const std::vector<Count>& ledger, FastenerKind what, double length_mm = 0) {
    for (const Count& count : ledger)
        if (count.kind.what == what && count.kind.length_mm == length_mm)
            return &count;
    return nullptr;
}

/// Empty: all is well.
std::string unbalanced(const Job& job, const JobNow& now) {
    const Map& map = *job.map;
    int elsewhere = 0, strangers = 0;
    for (const Count& c : ledger_of(job, now)) {
        if (c.came_out != c.in_tray + c.refitted + c.elsewhere + c.scrapped + c.missing)
            return "pieces of " + print_kind(c.kind);
        if (c.places != c.refitted + c.strangers + c.fresh + c.empty)
            return "places of " + print_kind(c.kind);
        if (std::min({c.in_tray, c.refitted, c.elsewhere, c.scrapped, c.missing, c.strangers, c.fresh, c.empty}) < 0)
            return "less than nothing";
        elsewhere += c.elsewhere;
        strangers += c.strangers;
    }
    std::vector<int> seen(now.pieces.size(), 0);
    for (std::size_t f = 0; f < now.sites.size(); ++f) {
        const std::int32_t piece = now.sites[f].piece;
        if ((piece < 0) != (now.state.fasteners[f] == FastenerState::out))
            return "out and empty differ";
        if (piece < 0)
            continue;
        const auto i = static_cast<std::size_t>(piece);
        if (++seen[i] > 1)
            return "one piece in two places";
        if (now.pieces[i].whereabouts != Whereabouts::in_place || now.pieces[i].site != map.fasteners[f].item)
            return "a piece does not know its place";
    }
    for (std::size_t i = 0; i < now.pieces.size(); ++i) {
        if ((now.pieces[i].whereabouts == Whereabouts::in_place) != (seen[i] == 1))
            return "a piece in no place";
        const bool as_found = i < now.sites.size();
        if (as_found && !now.pieces[i].from)
            return "a piece as found was lost count of";
    }
    // What is elsewhere is a stranger where it is; a substitute is a stranger that never was anywhere else.
    int substitutes = 0;
    for (const HardwarePiece& piece : now.pieces)
        if (piece.whereabouts == Whereabouts::in_place && !piece.came_out &&
            now.sites[static_cast<std::size_t>(map[piece.site].detail)].opened && !belongs(map, piece, piece.site))
            ++substitutes;
    return elsewhere + substitutes == strangers ? "" : "strangers do not add up";
}

Entry random_entry(const Build& b, Lots& dice, const std::vector<Entry>& before) {
    Entry e;
    const auto item = [&] { return ItemId{dice.below(static_cast<int>(b.map.items.size()) + 1) - 1}; };
    e.deed = dice.chance(60) ? Deed::did : static_cast<Deed>(dice.below(static_cast<int>(Deed::unknown) + 1));
    e.item = item();
    e.named = e.item ? b.map[e.item].name : "no such thing";
    e.verb = static_cast<Verb>(dice.below(static_cast<int>(Verb::mate) + 1));
    e.mishap = static_cast<Mishap>(dice.below(static_cast<int>(Mishap::back_for_night) + 1));
    e.piece = static_cast<PieceFrom>(dice.chance(60) ? 0 : dice.below(3));
    e.piece_of = item();
    e.whereabouts = static_cast<Whereabouts>(dice.below(5));
    e.duty = static_cast<Duty>(dice.below(9));
    e.vehicle.stands = static_cast<Ask>(dice.below(3));
    if (dice.chance(20))
        e.as = PieceKind{static_cast<FastenerKind>(dice.below(6)), dice.chance(50) ? "M8" : "M10", "hex", "8.8",
                         static_cast<double>(25 + 5 * dice.below(4))};
    e.pass = dice.below(4);
    e.passes = dice.below(4);
    if (!before.empty() && dice.chance(80))
        e.about = before[static_cast<std::size_t>(dice.below(static_cast<int>(before.size())))].key;
    return e;
}

bool same_now(const JobNow& a, const JobNow& b) {
    const auto sites = [](const Site& x, const Site& y) {
        return x.piece == y.piece && x.opened == y.opened && x.hole == y.hole && x.final_torque == y.final_torque &&
               x.torque == y.torque && x.pass == y.pass;
    };
    const auto pieces = [](const HardwarePiece& x, const HardwarePiece& y) {
        return x.kind == y.kind && x.from == y.from && x.site == y.site && x.whereabouts == y.whereabouts &&
               x.came_out == y.came_out && x.damaged == y.damaged;
    };
    return a.state.fasteners == b.state.fasteners && a.state.parts == b.state.parts && a.state.done == b.state.done &&
           a.state.vehicle == b.state.vehicle && a.state.refit == b.state.refit &&
           std::equal(a.sites.begin(), a.sites.end(), b.sites.begin(), b.sites.end(), sites) &&
           std::equal(a.pieces.begin(), a.pieces.end(), b.pieces.begin(), b.pieces.end(), pieces) &&
           a.extras.size() == b.extras.size() && a.duties.size() == b.duties.size() && a.closed == b.closed;
}

} // namespace

TEST_CASE("both lines of the ledger balance after every entry of any sequence, nonsense and strikes included") {
    std::size_t checked = 0, uneven = 0;
    for (std::uint64_t seed = 0; seed < 120; ++seed) {
        const Build b = seed % 2 == 0 ? lid_and_body() : random_assembly(seed, {.parts = 5, .nested = true});
        Story story(b);
        Lots dice(seed);
        for (int i = 0; i < 60; ++i) {
            story.add(random_entry(b, dice, story.entries));
            const JobNow now = story.now();
            CAPTURE(seed);
            CAPTURE(i);
            REQUIRE(unbalanced(story.job, now) == "");
            against_closing(story.job, now);
            needs_of(story.job, now);
            for (const Count& count : ledger_of(story.job, now))
                uneven += count.elsewhere > 0 || count.missing > 0 || count.scrapped > 0 || count.fresh > 0 ? 1 : 0;
            ++checked;
        }
    }
    CHECK(uneven > checked / 4); // the walks did go through those columns
    MESSAGE(checked, " moments");
}

TEST_CASE("what was struck out counts as never made; a strike can be struck out") {
    for (std::uint64_t seed = 0; seed < 60; ++seed) {
        const Build b = lid_and_body();
        Story story(b);
        Lots dice(seed + 1000);
        for (int i = 0; i < 60; ++i)
            story.add(random_entry(b, dice, story.entries));
        const JobNow now = story.now();
        Story without(b);
        for (std::size_t i = 0; i < story.entries.size(); ++i)
            if (now.struck[i] == 0 && story.entries[i].deed != Deed::struck)
                without.entries.push_back(story.entries[i]);
        CAPTURE(seed);
        CHECK(same_now(now, without.now()));
    }
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "bolt_1").add(about(Deed::struck, "k0"));
    CHECK(story.now().state.fasteners[0] == FastenerState::tight);
    story.add(about(Deed::struck, "k1"));
    CHECK(story.now().state.fasteners[0] == FastenerState::out);
}

TEST_CASE("out, into the tray, back: the plain case") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "bolt_1").done(Verb::take_out, "bolt_2").done(Verb::take_out, "bolt_3");
    auto ledger = ledger_of(story.job, story.now());
    REQUIRE(ledger.size() == 2);
    CHECK(ledger[0].came_out == 2);
    CHECK(ledger[0].in_tray == 2);
    CHECK(ledger[0].empty == 2);
    CHECK(ledger[0].look_alikes == std::vector<std::size_t>{1}); // M8 × 25 and M8 × 40
    CHECK(ledger[0].tray == std::vector<ItemId>{b.at("bolt_1"), b.at("bolt_2")});
    story.back().done(Verb::start, "bolt_1").done(Verb::tighten, "bolt_1");
    ledger = ledger_of(story.job, story.now());
    CHECK(ledger[0].refitted == 1);
    CHECK(ledger[0].in_tray == 1);
    CHECK(ledger[0].empty == 1);
    CHECK(story.now().sites[0].final_torque);
    CHECK_FALSE(story.now().sites[1].final_torque);
}

TEST_CASE("two lengths changed over: both lines still balance, and both places say so") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "bolt_1").done(Verb::take_out, "bolt_3").back();
    Entry swap = did(b, Verb::start, "bolt_1");
    swap.piece = PieceFrom::of_site;
    swap.piece_of = b.at("bolt_3");
    const auto proposed = deviations_of(story.job, story.now(), swap);
    CHECK(std::any_of(proposed.begin(), proposed.end(), [](const Deviation& d) {
        return d.what.find("the manual wants bolt M8 × 25") != std::string::npos;
    }));
    story.add(swap);
    JobNow now = story.now();
    CHECK(unbalanced(story.job, now) == "");
    const auto ledger = ledger_of(story.job, now);
    CHECK(count_of(ledger, FastenerKind::bolt, 25)->strangers == 1);
    CHECK(count_of(ledger, FastenerKind::bolt, 25)->in_tray == 1);
    CHECK(print_places(*count_of(ledger, FastenerKind::bolt, 25), false) ==
          "1 place = 0 refitted + 1 of another kind + 0 new + 0 empty");
    CHECK(print_places(*count_of(ledger, FastenerKind::bolt, 25), true) == "1 place = 1 of another kind");
    CHECK(count_of(ledger, FastenerKind::bolt, 40)->elsewhere == 1);
    CHECK(count_of(ledger, FastenerKind::bolt, 40)->empty == 1);
    const auto open = against_closing(story.job, now);
    CHECK(std::any_of(open.begin(), open.end(), [](const Finding& f) { return f.rule == "wrong-piece"; }));
    // Put right: the long one comes out again, each goes to its own.
    story.done(Verb::take_out, "bolt_1").done(Verb::start, "bolt_1").done(Verb::start, "bolt_3");
    now = story.now();
    CHECK(now.sites[0].piece == 0);
    CHECK(now.sites[2].piece == 2);
    CHECK(count_of(ledger_of(story.job, now), FastenerKind::bolt, 25)->refitted == 1);
}

TEST_CASE("what could go in by mistake: look-alikes first, by kind, with what differs") {
    Build b = lid_and_body();
    b.f("bolt_4").grade = "10.9";
    Fastener& screw = b.fastener("screw", {"lid", "body"}, FastenerKind::screw);
    screw.thread = *read_thread("M8x1");
    screw.length_mm = 25;
    Story story(b);
    for (const char* name : {"bolt_1", "bolt_2", "bolt_3", "bolt_4", "screw", "pin", "nut"})
        story.done(Verb::take_out, name);
    const auto others = mistaken_for(story.job, story.now(), b.at("bolt_1"));
    REQUIRE(others.size() == 3); // not bolt_2, its like, nor what is of another thickness
    CHECK(others[0].from == b.at("bolt_3"));
    CHECK(others[0].alike);
    CHECK(others[0].differs == "15 mm longer");
    CHECK(others[1].differs == "15 mm longer; another grade: 10.9, not 8.8");
    CHECK(others[2].from == b.at("screw"));
    CHECK_FALSE(others[2].alike);
    CHECK(others[2].differs == "another kind: screw, not bolt; another thread: M8x1, not M8; another head: not stated, "
                               "not hex; another grade: not stated, not 8.8");
    const auto from_long = mistaken_for(story.job, story.now(), b.at("bolt_3"));
    REQUIRE(from_long.size() == 3);
    CHECK(from_long[0].from == b.at("bolt_1"));
    CHECK(from_long[0].count == 2);
    CHECK(from_long[0].differs == "15 mm shorter");
    // Each in its own hole: then its like is a mistake, too.
    b.f("bolt_1").own_place = true;
    const auto own = mistaken_for(story.job, story.now(), b.at("bolt_1"));
    REQUIRE(own.size() == 4);
    CHECK(own[0].from == b.at("bolt_2"));
    CHECK(own[0].alike);
    CHECK(own[0].differs == "the same kind, of another place");
    CHECK(mistaken_for(story.job, story.now(), b.at("pin")).empty()); // no size is stated
}

TEST_CASE("which one it is, said of a place that is full already, is no second start") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "bolt_1").done(Verb::take_out, "bolt_3").back().done(Verb::start, "bolt_1");
    Entry swap = did(b, Verb::start, "bolt_1");
    swap.piece = PieceFrom::of_site;
    swap.piece_of = b.at("bolt_3");
    const auto told = deviations_of(story.job, story.now(), swap);
    REQUIRE(told.size() == 1);
    CHECK(told[0].what == "bolt_1: the manual wants bolt M8 × 25, hex, 8.8 here; the one of bolt_3 is bolt M8 × 40, "
                          "hex, 8.8.");
}

TEST_CASE("single-use: a new one goes in, the old one is scrapped, and is told when it goes back") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "pin").done(Verb::take_out, "nut").back().done(Verb::start, "nut");
    JobNow now = story.now();
    const Count* nuts = count_of(ledger_of(story.job, now), FastenerKind::nut);
    const std::vector<Count> kept = ledger_of(story.job, now);
    nuts = count_of(kept, FastenerKind::nut);
    REQUIRE(nuts != nullptr);
    CHECK(nuts->scrapped == 1);
    CHECK(nuts->fresh == 1);
    Entry old = did(b, Verb::start, "pin");
    old.piece = PieceFrom::of_site;
    old.piece_of = b.at("pin");
    const auto told = deviations_of(story.job, now, old);
    CHECK(std::any_of(told.begin(), told.end(),
                      [](const Deviation& d) { return d.what.find("to be renewed") != std::string::npos; }));
    story.add(old);
    const auto open = against_closing(story.job, story.now());
    CHECK(std::any_of(open.begin(), open.end(), [](const Finding& f) { return f.rule == "used-again"; }));
}

TEST_CASE("several passes: only the last is the final torque") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "bolt_1").back().done(Verb::start, "bolt_1");
    Entry pass = did(b, Verb::tighten, "bolt_1");
    pass.torque = "11 N·m";
    pass.pass = 1;
    pass.passes = 2;
    story.add(pass);
    CHECK(story.now().state.fasteners[0] == FastenerState::seated);
    CHECK_FALSE(story.now().sites[0].final_torque);
    pass.torque = "22 N·m";
    pass.pass = 2;
    story.add(pass);
    CHECK(story.now().state.fasteners[0] == FastenerState::torqued);
    CHECK(story.now().sites[0].final_torque);
    CHECK(story.now().sites[0].torque == "22 N·m");
    story.done(Verb::loosen, "bolt_1");
    CHECK_FALSE(story.now().sites[0].final_torque); // the paint stroke goes
}

TEST_CASE("each mishap: what becomes of piece and place, and what follows") {
    const Build b = lid_and_body();
    struct Case {
        Mishap mishap;
        const char* item;
        Whereabouts piece;
        bool empty;
        std::vector<Duty> duties;
    };
    using enum Duty;
    const Case cases[] = {
        {Mishap::absent, "bolt_1", Whereabouts::never, true, {buy}},
        {Mishap::wrong_piece, "bolt_1", Whereabouts::in_place, false, {buy}},
        {Mishap::sheared, "bolt_1", Whereabouts::scrapped, true, {buy, repair_hole}},
        {Mishap::sheared, "nut", Whereabouts::scrapped, true, {buy, chase_thread}},
        {Mishap::stripped, "plug", Whereabouts::in_place, false, {buy, repair_hole}},
        {Mishap::rounded, "bolt_1", Whereabouts::in_place, false, {buy}},
        {Mishap::stuck, "bolt_1", Whereabouts::in_place, false, {come_back}},
        {Mishap::cut_off, "nut", Whereabouts::scrapped, true, {buy, chase_thread}},
        {Mishap::stud_came, "stud", Whereabouts::tray, true, {chase_thread, remember}},
        {Mishap::recut, "bolt_1", Whereabouts::in_place, false, {clear_hole, remember}},
        {Mishap::insert_fitted, "bolt_1", Whereabouts::in_place, false, {clear_hole, remember}},
        {Mishap::substitute, "bolt_1", Whereabouts::tray, false, {remember}},
        {Mishap::lost, "bolt_1", Whereabouts::missing, true, {buy}},
        {Mishap::back_for_night, "bolt_1", Whereabouts::in_place, false, {undo_night}},
    };
    for (const Case& c : cases) {
        Story story(b);
        story.happened(c.mishap, c.item);
        const JobNow now = story.now();
        CAPTURE(word_of(c.mishap));
        CAPTURE(c.item);
        const std::size_t f = story.slot(c.item);
        CHECK(now.pieces[f].whereabouts == c.piece);
        CHECK((now.sites[f].piece < 0) == c.empty);
        std::vector<Duty> duties;
        for (const OpenDuty& open : now.duties)
            duties.push_back(open.duty);
        CHECK(duties == c.duties);
        CHECK(unbalanced(story.job, now) == "");
    }
}

TEST_CASE("what gives way leaves a hole to repair, a thread to chase, or neither") {
    Build b = lid_and_body();
    b.fastener("through", {"lid", "body"}).joint = "t";
    b.fastener("its_nut", {"lid", "body"}, FastenerKind::nut).joint = "t";
    b.fastener("clip", {"lid", "body"}, FastenerKind::clip);
    const auto duties_of = [&](Mishap mishap, const char* item) {
        Story story(b);
        story.happened(mishap, item);
        std::vector<Duty> duties;
        for (const OpenDuty& open : story.now().duties)
            duties.push_back(open.duty);
        return duties;
    };
    using enum Duty;
    CHECK(duties_of(Mishap::sheared, "bolt_1") == std::vector{buy, repair_hole});
    CHECK(duties_of(Mishap::sheared, "through") == std::vector{buy, chase_thread});
    CHECK(duties_of(Mishap::stripped, "its_nut") == std::vector{buy, chase_thread});
    CHECK(duties_of(Mishap::sheared, "clip") == std::vector{buy});
    CHECK(duties_of(Mishap::cut_off, "clip") == std::vector{buy});
}

TEST_CASE("stud and nut come as one: both places are empty") {
    const Build b = lid_and_body();
    Story story(b);
    story.happened(Mishap::stud_came, "nut");
    const JobNow now = story.now();
    CHECK(now.sites[story.slot("stud")].piece < 0);
    CHECK(now.sites[story.slot("nut")].piece < 0);
    CHECK(now.duties[0].what.find("M10x1.25") != std::string::npos);
}

TEST_CASE("a sheared bolt: its hole is repaired with its own tap before anything goes in") {
    const Build b = lid_and_body();
    Story story(b);
    story.happened(Mishap::sheared, "bolt_1").back();
    const JobNow broken = story.now();
    CHECK(broken.duties[1].what.find("its own tap (M8)") != std::string::npos);
    CHECK(broken.duties[1].what.find("never those of the nominal size") != std::string::npos);
    const auto told = deviations_of(story.job, broken, did(b, Verb::start, "bolt_1"));
    CHECK(std::any_of(told.begin(), told.end(),
                      [](const Deviation& d) { return d.what.find("to be repaired") != std::string::npos; }));
    story.happened(Mishap::insert_fitted, "bolt_1");
    CHECK(story.now().duties[1].settled);
    const auto after = deviations_of(story.job, story.now(), did(b, Verb::start, "bolt_1"));
    CHECK(std::none_of(after.begin(), after.end(),
                       [](const Deviation& d) { return d.what.find("to be repaired") != std::string::npos; }));
    story.done(Verb::start, "bolt_1");
    const JobNow mended = story.now();
    CHECK(mended.duties[0].settled); // bought: a new one is in
    const auto ledger = ledger_of(story.job, mended);
    CHECK(ledger[0].scrapped == 1);
    CHECK(ledger[0].fresh == 1);
    CHECK(ledger[0].empty == 0);
    // Whether the hole was cleared of chips, only a person can say.
    CHECK_FALSE(mended.duties[2].settled);
    Entry cleared = about(Deed::settled, "k2");
    cleared.duty = Duty::clear_hole;
    story.add(cleared);
    CHECK(story.now().duties[2].settled);
}

TEST_CASE("oil: a blind hole is to be cleared, a nut's stud has none") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::soak, "bolt_1").done(Verb::soak, "nut");
    const JobNow now = story.now();
    REQUIRE(now.duties.size() == 1);
    CHECK(now.duties[0].duty == Duty::clear_hole);
    CHECK(now.duties[0].item == b.at("bolt_1"));
    // The same by a task that soaks several.
    Build with_task = lid_and_body();
    with_task.task("oil", TaskDoes::soak, {"bolt_2", "nut", "plug"});
    Story other(with_task);
    other.done(Verb::do_task, "oil");
    std::vector<ItemId> items;
    for (const OpenDuty& open : other.now().duties)
        items.push_back(open.item);
    CHECK(items == std::vector<ItemId>{with_task.at("bolt_2"), with_task.at("plug")});
}

TEST_CASE("lost, bought, found again: the one found is thrown away or kept") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "bolt_1").happened(Mishap::lost, "bolt_1").back().done(Verb::start, "bolt_1");
    auto open = against_closing(story.job, story.now());
    CHECK(std::any_of(open.begin(), open.end(), [](const Finding& f) { return f.rule == "missing"; }));
    Entry thrown;
    thrown.deed = Deed::moved;
    thrown.item = b.at("bolt_1");
    thrown.whereabouts = Whereabouts::scrapped;
    story.add(thrown);
    open = against_closing(story.job, story.now());
    CHECK(std::none_of(open.begin(), open.end(), [](const Finding& f) { return f.rule == "missing"; }));
    CHECK(unbalanced(story.job, story.now()) == "");
}

TEST_CASE("in the way: it owes its own way back") {
    const Build b = lid_and_body();
    Story story(b);
    Entry e;
    e.deed = Deed::in_the_way;
    e.words = "a cable tie round the lid's hose";
    story.add(e);
    JobNow now = story.now();
    REQUIRE(now.extras.size() == 1);
    CHECK_FALSE(now.extras[0].back);
    auto open = against_closing(story.job, now);
    CHECK(std::any_of(open.begin(), open.end(),
                      [](const Finding& f) { return f.what.find("a cable tie") != std::string::npos; }));
    story.add(about(Deed::settled, "k0"));
    now = story.now();
    CHECK(now.extras[0].back);
    open = against_closing(story.job, now);
    CHECK(std::none_of(open.begin(), open.end(),
                       [](const Finding& f) { return f.what.find("a cable tie") != std::string::npos; }));
}

TEST_CASE("closing: nothing may be open, or somebody wrote why") {
    const Build b = lid_and_body();
    Story story(b);
    story.done(Verb::take_out, "bolt_1");
    Entry close;
    close.deed = Deed::closed;
    CHECK(deviations_of(story.job, story.now(), close).size() == 1);
    close.words = "the bolt lies in the box for the next owner";
    CHECK(deviations_of(story.job, story.now(), close).empty());
    story.add(close);
    CHECK(story.now().closed);
    CHECK(story.now().closed_why == close.words);
    story.done(Verb::start, "bolt_1");
    CHECK_FALSE(story.now().closed); // work goes on
}

TEST_CASE("nothing open after a whole walk out and back") {
    const Build b = lid_and_body();
    Story story(b);
    CHECK(against_closing(story.job, story.now()).empty());
    const Plan strip = plan_strip(story.job), refit = plan_refit(story.job, strip);
    const auto walk = [&](const Plan& plan) {
        for (const Step& step : plan.steps) {
            if (step.verb == Verb::set_vehicle) {
                Entry e;
                e.verb = step.verb;
                e.vehicle = step.vehicle;
                story.add(e);
            }
            for (const ItemId id : step.items)
                story.add(did(b, step.verb, b.map[id].name));
        }
    };
    walk(strip);
    CHECK(!against_closing(story.job, story.now()).empty());
    story.back();
    walk(refit);
    const JobNow now = story.now();
    for (const Finding& f : against_closing(story.job, now))
        FAIL_CHECK(f.rule, ": ", f.what);
    for (const Deviation& d : now.deviations)
        FAIL_CHECK(d.what);
    const auto ledger = ledger_of(story.job, now);
    for (const Count& count : ledger) {
        CHECK(count.in_tray == 0);
        CHECK(count.empty == 0);
    }
}

TEST_CASE("what has to be there before the first bolt, and what was ticked off") {
    const Build b = lid_and_body();
    Story story(b);
    const auto names = [&] {
        std::vector<std::string> out;
        for (const Need& need : needs_of(story.job, story.now()))
            if (!need.ticked)
                out.push_back(need.name + " " + std::to_string(need.count));
        return out;
    };
    CHECK(names() == std::vector<std::string>{"tool: hex 13 4", "tool: hex 16 1",
                                              "tool: torque wrench for 22..40 N·m 5", "part: nut M10x1.25 1",
                                              "part: split pin, size not stated: pin 1", "part: seal 1"});
    Entry tick;
    tick.deed = Deed::ticked;
    tick.words = "tool: hex 13";
    story.add(tick);
    CHECK(names().size() == 5);
    story.add(about(Deed::struck, "k0")).happened(Mishap::rounded, "bolt_4");
    CHECK(names().size() == 7); // the tick is struck out, a bolt is to be bought
}

TEST_CASE("without a paint stroke: what was undone, until its last pass is logged") {
    const Build b = lid_and_body();
    Story story(b);
    const auto names = [&] {
        std::vector<std::string> list;
        for (const Untorqued& one : untorqued_of(story.job, story.now()))
            list.push_back(b.map[one.item].name + ": " + one.standing);
        return list;
    };
    CHECK(names().empty());
    story.done(Verb::take_out, "bolt_1").done(Verb::take_out, "plug");
    CHECK(names() == std::vector<std::string>{"bolt_1: out", "plug: out"});
    story.back().done(Verb::start, "bolt_1").done(Verb::start, "plug").done(Verb::tighten, "plug");
    Entry pass = did(b, Verb::tighten, "bolt_1");
    pass.pass = 1;
    pass.passes = 2;
    story.add(pass);
    CHECK(names() ==
          std::vector<std::string>{"bolt_1: seated, pass 1 logged", "plug: tightened, and to what was not logged"});
    pass.pass = 2;
    story.add(pass);
    Entry reading = did(b, Verb::tighten, "plug");
    reading.torque = "35 N·m";
    story.add(reading);
    CHECK(names().empty());
    story.done(Verb::loosen, "bolt_1");
    CHECK(names() == std::vector<std::string>{"bolt_1: undone, still in place"});
}

TEST_CASE("no tool is asked for a fastener that neither order works on") {
    Build b = lid_and_body();
    b.part("horn");
    b.fastener("horn_bolt", {"horn", "body"}).drive = *read_drive("hex 19");
    b.f("horn_bolt").counter = "hex 17";
    b.map.target = b.at("lid");
    const Job job = prepare(b.map);
    const Plan strip = plan_strip(job);
    const auto tools = [&](const JobNow& now) {
        std::vector<std::string> out;
        for (const Need& need : needs_of(job, now))
            if (need.kind == NeedKind::tool)
                out.push_back(need.name + " " + std::to_string(need.count));
        return out;
    };
    CHECK(tools(fold(job, {}, gates_of(b.map, strip, plan_refit(job, strip)))) ==
          std::vector<std::string>{"tool: hex 13 4", "tool: hex 16 1", "tool: torque wrench for 22..40 N·m 5"});
    // Where no order is known, nobody knows what is left alone.
    CHECK(tools(fold(job, {})).size() == 5);
}
