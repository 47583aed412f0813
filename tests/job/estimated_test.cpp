// Estimated precedence beside what is stated: estimates written by hand, and hundreds of random assemblies by
// brute force. From shapes: estimated_shapes_test.cpp.
#include <map>
#include <set>

#include <doctest/doctest.h>

#include "core/job/estimated.hpp"
#include "tests/shared/locks.hpp"
#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// What is in the way of an item in each alternative.
using Ways = std::vector<std::vector<const char*>>;

Estimate estimate(const Build& b, const char* item, Question question, const Ways& ways) {
    Estimate one;
    one.item = b.at(item);
    one.question = question;
    for (const auto& way : ways) {
        Alternative alternative;
        for (const char* name : way) {
            const ItemId id = b.at(name);
            const bool stays = b.map.is_part(id) && b.map.part(id).fixed;
            (stays ? alternative.stays : alternative.gone).push_back(id);
        }
        std::sort(alternative.gone.begin(), alternative.gone.end());
        alternative.never = !alternative.stays.empty();
        alternative.how = "by hand";
        one.alternatives.push_back(alternative);
    }
    return one;
}

Job with(const Map& map, std::vector<Estimate> list) {
    Job job = prepare(map);
    Estimates estimates;
    estimates.list = std::move(list);
    reckon_with(job, std::move(estimates));
    return job;
}

Names pairs_of(const Job& job) {
    Names names;
    for (const Dropped& pair : job.dropped)
        names.push_back((*job.map)[pair.item].name + " past " + (pair.by ? (*job.map)[pair.by].name : "scenery"));
    return names;
}

/// Two lids on a body, each with a bolt.
Build two_lids_bolted() {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.part("cover");
    b.fastener("lid_bolt", {"lid", "body"});
    b.fastener("cover_bolt", {"cover", "body"});
    b["cover_bolt"].from = Place::front;
    return b;
}

/// Is every action legal in its turn, with the estimates that were kept?
bool is_legal(const Job& job, const Plan& plan) {
    State state = as_found(job);
    for (const Step& step : plan.steps) {
        if (step.items.empty())
            apply_step(job, state, step);
        for (const ItemId item : step.items) {
            if (!judge(job, state, {step.verb, item, {}}).empty())
                return false;
            apply(job, state, {step.verb, item, {}});
        }
    }
    return true;
}

} // namespace

TEST_CASE("what is in the way of a tool comes off first, and the step says that this is estimated") {
    const Build b = two_lids_bolted();
    CHECK(comes_before(b.map, plan_strip(prepare(b.map)), "lid_bolt", "cover"));
    const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}})});
    const Plan plan = plan_strip(job);
    CHECK(plan.findings.empty());
    CHECK(job.dropped.empty());
    CHECK(comes_before(b.map, plan, "cover", "lid_bolt"));
    CHECK(is_legal(job, plan));
    bool told = false;
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const StepCard card = card_of(job, plan, s);
        if (plan.steps[s].items[0] == b.at("cover")) {
            told = true;
            CHECK(plan.steps[s].why_rule == Rule::out_of_reach);
            CHECK(card.estimated);
            CHECK(card.why.find("lid_bolt") != std::string::npos);
        } else {
            CHECK_FALSE(card.estimated);
        }
    }
    CHECK(told);
    CHECK(what_holds(job, as_found(job), b.at("lid_bolt")).at(0).rule == Rule::out_of_reach);
}

TEST_CASE("what blocks is asked of a state: one alternative is enough") {
    Build b = two_lids_bolted();
    b.part("flap");
    b.fastener("flap_bolt", {"flap", "body"});
    const Job job = with(b.map, {estimate(b, "lid", Question::way, {{"cover", "flap"}, {"flap_bolt"}})});
    State state = as_found(job);
    apply(job, state, {Verb::take_out, b.at("lid_bolt"), {}});
    const Action off{Verb::take_off, b.at("lid"), {}};
    REQUIRE(judge(job, state, off).size() == 1);
    CHECK(judge(job, state, off)[0].rule == Rule::in_the_way);
    CHECK(judge(job, state, off)[0].by == std::vector<ItemId>{b.at("flap_bolt")});
    apply(job, state, {Verb::take_out, b.at("flap_bolt"), {}});
    CHECK(judge(job, state, off).empty());
}

TEST_CASE("against the author's steps, a rule, or `after`, an estimate is dropped by pair and reported once") {
    SUBCASE("steps") {
        Build b = two_lids_bolted();
        for (const char* name : {"lid_bolt", "lid"})
            b.step(name, 1);
        for (const char* name : {"cover_bolt", "cover"})
            b.step(name, 2);
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}})});
        CHECK(pairs_of(job) == Names{"lid_bolt past cover"});
        CHECK(leaving(b.map, plan_strip(job)) == leaving(b.map, plan_strip(prepare(b.map))));
        const auto findings = findings_of(job, job.dropped);
        REQUIRE(findings.size() == 1);
        CHECK(findings[0].weight == Weight::doubt);
        CHECK(findings[0].rule == "out-of-reach");
        CHECK(findings[0].nodes == Names{"lid_bolt", "cover"});
        CHECK(findings[0].why.find("by hand") != std::string::npos);
        CHECK(findings[0].remedy.find("Mend the shapes") != std::string::npos);
        CHECK(findings[0].remedy.find("`not_in_way` = cover on lid_bolt") != std::string::npos);
        // Of the whole check the only thing besides notes.
        CHECK(rules_of(check(job)) == Names{"out-of-reach"});
        CHECK(rules_of(check(prepare(b.map))).empty());
    }
    SUBCASE("what has no step is brought forward for an earlier one") {
        Build b = two_lids_bolted();
        b.step("lid_bolt", 1);
        b.step("lid", 1);
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}})});
        CHECK(job.dropped.empty());
        const Plan plan = plan_strip(job);
        CHECK(plan.findings.empty());
        CHECK(comes_before(b.map, plan, "cover", "lid_bolt"));
    }
    SUBCASE("a bolt under the very part that it holds") {
        const Build b = two_lids_bolted();
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"lid"}})});
        CHECK(pairs_of(job) == Names{"lid_bolt past lid"});
        CHECK(rules_of(plan_strip(job).findings).empty());
    }
    SUBCASE("`after`, through a ring of both") {
        Build b = two_lids_bolted();
        b.after("cover_bolt", {"lid"});
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}})});
        CHECK(pairs_of(job) == Names{"lid_bolt past cover"});
        const Plan plan = plan_strip(job);
        CHECK(plan.findings.empty());
        CHECK(leaving(b.map, plan).size() == 4);
    }
    SUBCASE("of two things in the way the one that can go first still does") {
        Build b = two_lids_bolted();
        b.part("flap");
        b.fastener("flap_bolt", {"flap", "body"});
        b.after("cover_bolt", {"lid"});
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover", "flap"}})});
        CHECK(pairs_of(job) == Names{"lid_bolt past cover"});
        CHECK(comes_before(b.map, plan_strip(job), "flap", "lid_bolt"));
    }
}

TEST_CASE("four bolts of one group with one thing in the way are one finding") {
    Build b = two_lids_bolted();
    b.fastener("lid_bolt_2", {"lid", "body"});
    b.group("lid_bolts", {"lid_bolt", "lid_bolt_2"});
    b.after("cover_bolt", {"lid"});
    const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}}),
                                 estimate(b, "lid_bolt_2", Question::reach, {{"cover"}})});
    const auto findings = findings_of(job, job.dropped);
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].nodes == Names{"lid_bolt", "lid_bolt_2", "cover"});
}

TEST_CASE("of many alike four are named in words, and all of them as nodes") {
    Build b = two_lids_bolted();
    const auto bolts = {"lid_bolt", "lid_bolt_2", "lid_bolt_3", "lid_bolt_4", "lid_bolt_5", "lid_bolt_6", "lid_bolt_7"};
    for (const char* bolt : bolts)
        if (bolt != std::string("lid_bolt"))
            b.fastener(bolt, {"lid", "body"});
    b.group("lid_bolts", bolts);
    b.after("cover_bolt", {"lid"});
    std::vector<Estimate> list;
    for (const char* bolt : bolts)
        list.push_back(estimate(b, bolt, Question::reach, {{"cover"}}));
    const Job job = with(b.map, std::move(list));
    const auto findings = findings_of(job, job.dropped);
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].nodes.size() == 8);
    CHECK(findings[0].what.find("lid_bolt, lid_bolt_2, lid_bolt_3, lid_bolt_4 and 3 more") != std::string::npos);
    for (const std::string& text : {findings[0].what, findings[0].remedy})
        CHECK(text.find("lid_bolt_5") == std::string::npos);
}

TEST_CASE("a bolt that would come out through what it holds and what stays may be drawn upside down") {
    const auto doubt = [](const Build& b, const char* by) {
        for (const Finding& f : check(with(b.map, {estimate(b, "lid_bolt", Question::way, {{by}})})))
            if (f.rule == "in-the-way")
                return f;
        return Finding{};
    };
    Build b = two_lids_bolted();
    b.part("pillar", true);
    CHECK(doubt(b, "body").key == "axis");
    CHECK(doubt(b, "body").remedy.starts_with("If it goes the other way: `axis` = `-y`. "));
    CHECK(doubt(b, "body").remedy.find("`not_in_way` = body on lid_bolt") != std::string::npos);
    b.f("lid_bolt").axis = {0, 0.6, -0.8};
    CHECK(doubt(b, "body").remedy.starts_with("If it goes the other way: `axis` = `0 -0.6 0.8`. "));
    CHECK(doubt(b, "pillar").key == "not_in_way");
    CHECK(doubt(b, "pillar").remedy.find("axis") == std::string::npos);
}

TEST_CASE("an overruled pair is never asked") {
    Build b = two_lids_bolted();
    b["lid_bolt"].not_in_way = {b.at("cover")};
    SUBCASE("nothing else changes") {
        b.after("cover_bolt", {"lid"});
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}})});
        CHECK(job.dropped.empty());
        CHECK(rules_of(check(job)).empty());
    }
    SUBCASE("it says nothing of another item") {
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}}),
                                     estimate(b, "lid", Question::way, {{"cover"}})});
        CHECK(comes_before(b.map, plan_strip(job), "cover", "lid"));
    }
    SUBCASE("a part that stays can be overruled too") {
        b["lid_bolt"].not_in_way = {b.at("body")};
        const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"body"}})});
        CHECK(job.dropped.empty());
    }
}

TEST_CASE("a ring of estimates only: one link is dropped, and all comes off") {
    const Build b = two_lids_bolted();
    const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}}),
                                 estimate(b, "cover_bolt", Question::reach, {{"lid"}})});
    CHECK(pairs_of(job) == Names{"lid_bolt past cover"}); // the first by file
    const Plan plan = plan_strip(job);
    CHECK(plan.findings.empty());
    CHECK(leaving(b.map, plan).size() == 4);
    CHECK(comes_before(b.map, plan, "lid", "cover_bolt"));
}

TEST_CASE("an alternative that leads into a ring is left for one that does not, and nothing is dropped") {
    Build b = two_lids_bolted();
    b.part("flap");
    b.part("panel");
    b.fastener("flap_bolt", {"flap", "body"});
    b.fastener("panel_bolt", {"panel", "body"});
    b.after("cover_bolt", {"lid"});
    // By the cover would be less, but that waits for the lid.
    const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"cover"}, {"flap", "panel"}})});
    CHECK(job.dropped.empty());
    const Plan plan = plan_strip(job);
    CHECK(plan.findings.empty());
    CHECK(comes_before(b.map, plan, "flap", "lid_bolt"));
    CHECK(comes_before(b.map, plan, "panel", "lid_bolt"));
}

TEST_CASE("what never goes stops no order, and is told") {
    const Build b = two_lids_bolted();
    const Job job = with(b.map, {estimate(b, "lid_bolt", Question::reach, {{"body", "cover"}})});
    CHECK(pairs_of(job) == Names{"lid_bolt past body"});
    CHECK(job.dropped[0].stays);
    CHECK(plan_strip(job).findings.empty());
    const auto findings = findings_of(job, job.dropped);
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].weight == Weight::doubt);
    CHECK(findings[0].what.find("whatever comes off before") != std::string::npos);
}

TEST_CASE("only stated contradictions mean that there is no order") {
    Build b = two_lids_bolted();
    b.after("lid_bolt", {"cover"});
    b.after("cover_bolt", {"lid"});
    b.part("flap");
    b.fastener("flap_bolt", {"flap", "body"});
    const Job job = with(b.map, {estimate(b, "flap_bolt", Question::reach, {{"cover"}})});
    const Plan plan = plan_strip(job);
    CHECK(rules_of(plan.findings) == Names{"lock"});
    // Of what is locked nothing comes off; what only an estimate put behind it does.
    CHECK(leaving(b.map, plan) == Names{"flap_bolt", "flap"});
    CHECK(pairs_of(job) == Names{"flap_bolt past cover"});
}

TEST_CASE("what hangs lowered makes room, where it was measured so") {
    Build b = two_lids_bolted();
    b.p("cover").lower_mm = 50;
    Estimate low = estimate(b, "lid_bolt", Question::reach, {{"cover"}, {}});
    low.alternatives[1].lowered = {b.at("cover")};
    low.measured_low = {b.at("cover")};
    const Job job = with(b.map, {low});
    CHECK(job.dropped.empty());
    const Plan plan = plan_strip(job);
    CHECK(plan.findings.empty());
    CHECK(comes_before(b.map, plan, "cover", "lid_bolt"));
    // And where it was found to be in the way there, too, it is.
    low.alternatives.resize(1);
    CHECK(pairs_of(with(b.map, {low})) == Names{"lid_bolt past cover"});
}

TEST_CASE("of a knot the smallest ring is named") {
    Build b;
    b.part("body", true);
    for (const char* name : {"a", "b", "c", "d"})
        b.part(name);
    b.after("a", {"b"});
    b.after("b", {"c", "d"});
    b.after("c", {"a"});
    b.after("d", {"b"});
    const Plan plan = plan_strip(prepare(b.map));
    REQUIRE(plan.findings.size() == 1);
    CHECK(plan.findings[0].rule == "lock");
    CHECK(plan.findings[0].nodes == Names{"b", "d"});
    CHECK(plan.findings[0].why.find("no fewer") != std::string::npos);
    CHECK(plan.findings[0].remedy == "Change what one of them states in `after`.");
}

TEST_CASE("of a long ring four are named in words; the remedy names the keys that are in it") {
    Build b;
    b.part("body", true);
    for (int i = 0; i < 7; ++i)
        b.part("p" + std::to_string(i));
    for (int i = 0; i < 7; ++i)
        b.after("p" + std::to_string(i), {("p" + std::to_string((i + 1) % 7)).c_str()});
    const Plan plan = plan_strip(prepare(b.map));
    REQUIRE(plan.findings.size() == 1);
    CHECK(plan.findings[0].nodes.size() == 7);
    CHECK(plan.findings[0].what ==
          "There is no order: p0 (after) waits for p1 (after) waits for p2 (after) waits for p3 (after) waits for 3 "
          "more, the last of which waits for p0.");
}

// ------------------------------------------------------------------------------------------------------ brute force

namespace {

/// Estimates on a random assembly: for some items one or two alternatives of one or two other items.
std::vector<Estimate> random_estimates(const Build& b, Lots& dice, int percent) {
    std::vector<Estimate> list;
    const int count = static_cast<int>(b.map.items.size());
    for (int i = 1; i < count; ++i) {
        if (!dice.chance(percent))
            continue;
        Estimate one;
        one.item = {i};
        one.question = b.map.is_part(one.item) ? Question::way : Question::reach;
        for (int a = 1 + dice.below(2); a > 0; --a) {
            Alternative alternative;
            for (int k = 1 + dice.below(2); k > 0; --k) {
                const ItemId other{1 + dice.below(count - 1)};
                if (other != one.item)
                    alternative.gone.push_back(other);
            }
            std::sort(alternative.gone.begin(), alternative.gone.end());
            alternative.gone.erase(std::unique(alternative.gone.begin(), alternative.gone.end()),
                                   alternative.gone.end());
            if (!alternative.gone.empty())
                one.alternatives.push_back(alternative);
        }
        if (!one.alternatives.empty())
            list.push_back(one);
    }
    return list;
}

/// All that comes off at all, in a flat assembly, by the plain facts and these estimates alone: no rule of ours in it.
/// What has to be gone only grows, so doing whatever can be done leaves out nothing.
std::set<std::int32_t> comes_off(const Map& map, const std::vector<Estimate>& list) {
    std::set<std::int32_t> gone;
    const auto all_gone = [&](const std::vector<ItemId>& ids) {
        return std::all_of(ids.begin(), ids.end(), [&](ItemId id) { return gone.count(id.index) != 0; });
    };
    for (bool again = true; again;) {
        again = false;
        for (std::size_t i = 1; i < map.items.size(); ++i) {
            const ItemId id{static_cast<std::int32_t>(i)};
            if (gone.count(id.index) != 0)
                continue;
            bool free = all_gone(map.items[i].after);
            for (const Fastener& fastener : map.fasteners) {
                const bool first = std::count(fastener.secures.begin(), fastener.secures.end(), id) != 0 ||
                                   std::count(fastener.holds.begin(), fastener.holds.end(), id) != 0;
                free = free && (!first || gone.count(fastener.item.index) != 0);
            }
            for (const Estimate& estimate : list)
                if (estimate.item == id)
                    free = free && std::any_of(estimate.alternatives.begin(), estimate.alternatives.end(),
                                               [&](const Alternative& one) { return all_gone(one.gone); });
            if (free) {
                gone.insert(id.index);
                again = true;
            }
        }
    }
    return gone;
}

void leave_out(std::vector<Estimate>& list, const Dropped& pair) {
    for (Estimate& estimate : list)
        if (estimate.item == pair.item && estimate.question == pair.question)
            for (Alternative& alternative : estimate.alternatives)
                std::erase(alternative.gone, pair.by);
}

} // namespace

TEST_CASE("brute force: 600 random assemblies with estimates") {
    int dropped_any = 0, kept_all = 0, locked = 0, dropped = 0;
    for (std::uint64_t seed = 0; seed < 600; ++seed) {
        CAPTURE(seed);
        RandomSettings settings;
        settings.parts = 3 + static_cast<int>(seed % 6);
        settings.forward_only = seed % 3 != 0;
        settings.after_percent = 30;
        Build b = random_assembly(seed, settings);
        Lots dice(seed + 5000);
        const std::vector<Estimate> made = random_estimates(b, dice, 20);
        const Job stated = prepare(b.map);
        const Job job = with(b.map, made);
        const Plan plan = plan_strip(job);
        const Plan plain = plan_strip(stated);
        // No estimate costs an item, or makes a fault.
        const auto can_come = comes_off(b.map, {});
        CHECK(leaving(b.map, plan).size() == can_come.size());
        CHECK(faults_of(plan) == faults_of(plain));
        CHECK(plan.dropped.empty());
        CHECK(is_legal(job, plan));
        // Nothing is dropped where nothing needs to be, by the plain facts.
        const bool fits = comes_off(b.map, made).size() == can_come.size();
        CHECK(job.dropped.empty() == fits);
        // What is kept goes with what is stated, and each dropped pair does not go with that.
        std::vector<Estimate> kept = made;
        for (const Dropped& pair : job.dropped)
            leave_out(kept, pair);
        CHECK(comes_off(b.map, kept).size() == can_come.size());
        for (const Dropped& pair : job.dropped) {
            std::vector<Estimate> again = made;
            for (const Dropped& other : job.dropped)
                if (!(other.item == pair.item && other.by == pair.by))
                    leave_out(again, other);
            CHECK(comes_off(b.map, again).size() < can_come.size());
            ++dropped;
        }
        // And is honoured: when an item comes, one of its alternatives is free.
        std::set<std::int32_t> gone;
        for (const Step& step : plan.steps)
            for (const ItemId item : step.items) {
                for (const Estimate& estimate : kept)
                    if (estimate.item == item)
                        CHECK(std::any_of(estimate.alternatives.begin(), estimate.alternatives.end(),
                                          [&](const Alternative& one) {
                                              return std::all_of(one.gone.begin(), one.gone.end(),
                                                                 [&](ItemId id) { return gone.count(id.index) != 0; });
                                          }));
                gone.insert(item.index);
            }
        dropped_any += job.dropped.empty() ? 0 : 1;
        kept_all += !made.empty() && job.dropped.empty() ? 1 : 0;
        locked += can_come.size() + 1 < b.map.items.size() ? 1 : 0;
    }
    // A generator of one sort of case would make this blind.
    CHECK(dropped > 100);
    CHECK(dropped_any > 60);
    CHECK(kept_all > 60);
    CHECK(locked > 40);
}

TEST_CASE("brute force: the ring that is named is the smallest that locks itself") {
    int several = 0, locked = 0;
    for (std::uint64_t seed = 0; seed < 400; ++seed) {
        CAPTURE(seed);
        RandomSettings settings;
        settings.parts = 3 + static_cast<int>(seed % 2);
        settings.after_percent = 50;
        const Build b = random_assembly(seed, settings);
        if (b.map.items.size() > 16)
            continue;
        const Plan plan = plan_strip(prepare(b.map));
        std::size_t named = no_lock;
        for (const Finding& finding : plan.findings)
            if (finding.rule == "lock")
                named = std::min(named, finding.nodes.size());
        CHECK(named == smallest_lock((1U << b.map.items.size()) - 1, all_waits(b.map)));
        locked += named <= b.map.items.size() ? 1 : 0;
        several += named <= b.map.items.size() && named > 2 ? 1 : 0;
    }
    CHECK(locked > 100);
    CHECK(several > 20);
}
