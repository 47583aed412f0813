// What a card says, and when.
#include <doctest/doctest.h>

#include <string_view>

#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

std::vector<StepCard> cards_of(const Job& job, const Plan& plan) {
    std::vector<StepCard> cards;
    for (std::size_t i = 0; i < plan.steps.size(); ++i)
        cards.push_back(card_of(job, plan, i));
    return cards;
}

const StepCard& card_named(const std::vector<StepCard>& cards, std::string_view headline) {
    for (const StepCard& card : cards)
        if (card.headline == headline)
            return card;
    FAIL("no card ", std::string(headline));
    return cards.front();
}

/// A bracket bolted from under, its nut inside the cab; the bolt says what holds the nut.
Build through_the_floor() {
    Build b;
    b.part("floor", true);
    b.part("bracket");
    Fastener& bolt = b.fastener("bolt", {"bracket", "floor"});
    bolt.joint = "j";
    bolt.drive = Drive{DriveKind::hex, 13, "hex 13"};
    bolt.counter = "hex 15";
    bolt.counter_from = Place::inside;
    bolt.torque = TorqueSpec{};
    Fastener& nut = b.fastener("nut", {"bracket", "floor"}, FastenerKind::nut);
    nut.joint = "j";
    nut.drive = Drive{DriveKind::hex, 15, "hex 15"};
    b["bolt"].from = Place::under;
    b["nut"].from = Place::inside;
    return b;
}

} // namespace

TEST_CASE("the bolt is held, from where it is, while its nut comes off, and needs nobody once that is away") {
    const Build b = through_the_floor();
    const Job job = prepare(b.map);
    const auto cards = cards_of(job, plan_strip(job));
    const StepCard& nut = card_named(cards, "Take out: 1 nut, nut");
    CHECK(nut.hardware.front().extra == "hold the other side: hex 13 from under");
    CHECK(nut.people == 2);
    const StepCard& bolt = card_named(cards, "Take out: 1 bolt, bolt");
    CHECK(bolt.hardware.front().extra.empty());
    CHECK(bolt.people == 1);
}

TEST_CASE("on the way back the nut is held where the bolt is tightened, not where either is started by hand") {
    const Build b = through_the_floor();
    const Job job = prepare(b.map);
    const auto cards = cards_of(job, plan_refit(job, plan_strip(job)));
    const StepCard& tight = card_named(cards, "Tighten: 1 bolt, bolt");
    CHECK(tight.hardware.front().extra == "hold the other side: hex 15 from inside");
    CHECK(tight.people == 2);
    for (const char* headline : {"Start by hand: 1 bolt, bolt", "Start by hand: 1 nut, nut"}) {
        CHECK(card_named(cards, headline).hardware.front().extra.empty());
        CHECK(card_named(cards, headline).people == 1);
    }
}

TEST_CASE("neither end says that it must be held: nothing is made up") {
    Build b = through_the_floor();
    b.f("bolt").counter.clear();
    b.f("bolt").counter_from = Place::not_stated;
    const Job job = prepare(b.map);
    for (const StepCard& card : cards_of(job, plan_strip(job)))
        for (const Hardware& line : card.hardware)
            CHECK(line.extra.empty());
}

TEST_CASE("a plug and its ring are counted as what they are") {
    Build b;
    b.part("pump", true);
    b.fastener("plug", {"pump"}, FastenerKind::drain_plug).joint = "p";
    b.fastener("ring", {"pump"}, FastenerKind::washer).joint = "p";
    b.group("plug and ring", {"plug", "ring"});
    const Job job = prepare(b.map);
    CHECK(card_of(job, plan_strip(job), 0).headline == "Take out: 1 drain plug and 1 washer, plug");
}

TEST_CASE("a caution is shown on both ways unless the way back has its own, or says that it needs none") {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.fastener("bolt", {"lid", "body"});
    b["bolt"].caution = "rust falls";
    const auto cautions = [&](bool refit) {
        const Job job = prepare(b.map);
        const Plan strip = plan_strip(job);
        const auto cards = cards_of(job, refit ? plan_refit(job, strip) : strip);
        return card_named(cards, refit ? "Tighten: 1 bolt, bolt" : "Take out: 1 bolt, bolt").cautions;
    };
    CHECK(cautions(false).front() == "rust falls");
    CHECK(cautions(true) == Names{"rust falls"});
    b["bolt"].refit_caution = "hold the lid";
    CHECK(cautions(false).front() == "rust falls");
    CHECK(cautions(true) == Names{"hold the lid"});
    b["bolt"].refit_caution = "none";
    CHECK(cautions(true).empty());
}

TEST_CASE("a standing caution gives way only to one of the map's that says all of it") {
    Map map;
    CHECK(standing_cautions(map) == standing_cautions());
    map.cautions = {"A jack alone is never enough"};
    CHECK(standing_cautions(map) == standing_cautions());
    map.cautions = {"Never under a vehicle that stands on a jack alone: axle stands, wheels chocked"};
    const auto left = standing_cautions(map);
    CHECK(left.size() == standing_cautions().size() - 1);
    for (const std::string& text : left)
        CHECK(text.find("jack") == std::string::npos);
}

TEST_CASE("a torque in the person's unit has the author's own beside it") {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.fastener("bolt", {"lid", "body"}).torque = *read_torque("47 lbf·ft");
    const Job job = prepare(b.map);
    const Plan back = plan_refit(job, plan_strip(job));
    for (std::size_t i = 0; i < back.steps.size(); ++i)
        if (back.steps[i].verb == Verb::tighten) {
            CHECK(card_of(job, back, i).hardware[0].torque == "64 N·m (stated: 47 lbf·ft)");
            CHECK(card_of(job, back, i, TorqueUnit::pound_force_foot).hardware[0].torque == "47 lbf·ft");
        }
}

TEST_CASE("a card tells the tool for a hexagon socket as a key, on both ways, and as what holds the other side") {
    Build b;
    b.part("body", true);
    b.part("lid");
    Fastener& screw = b.fastener("screw", {"lid", "body"});
    screw.drive = *read_drive("socket 10");
    screw.counter = "socket 8";
    b.map.target = b.at("lid");
    const Job job = prepare(b.map);
    const Plan strip = plan_strip(job);
    for (const Plan& plan : {strip, plan_refit(job, strip)}) {
        int told = 0;
        for (std::size_t s = 0; s < plan.steps.size(); ++s)
            for (const Hardware& line : card_of(job, plan, s).hardware) {
                CHECK(line.drive == "socket 10");
                CHECK(line.tool == "hexagon key 10");
                CHECK(line.extra.find("socket") == std::string::npos);
                told += line.extra.find("hexagon key 8") != std::string::npos ? 1 : 0;
            }
        CHECK(told == 1);
    }
}
