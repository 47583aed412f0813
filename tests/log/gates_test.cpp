// A gate that was passed over: said once, with what passed it, and never refused.
#include <algorithm>

#include <doctest/doctest.h>

#include "core/log/progress.hpp"
#include "tests/log/small.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// Look round first, then the bolts; on the way back a gate between the bolts' start and their torque's end.
struct Gated {
    Gated() {
        b.task("count_dowels").when = TaskWhen::refit;
        b.t("count_dowels").gate = true;
        b["count_dowels"].refit_after = {b.at("lid")};
        b.t("look_round").gate = true;
        b.step("look_round", 1);
        for (const char* name : {"bolt_1", "bolt_2", "bolt_3", "bolt_4", "lid"})
            b.step(name, 2);
        b.map.nodes.emplace_back();
        b.map.nodes.back().name = "count_dowels";
        b.map.nodes.back().item = b.at("count_dowels");
        job = prepare(b.map);
        strip = plan_strip(job);
        refit = plan_refit(job, strip);
        gates = gates_of(b.map, strip, refit);
    }
    void add(Entry e) {
        e.key = "k" + std::to_string(entries.size());
        entries.push_back(std::move(e));
    }
    void step(const Plan& plan, std::size_t index) {
        for (Entry& e : entries_of_step(job, now(), plan, index, {}, {}))
            add(std::move(e));
    }
    JobNow now() const { return fold(job, entries, gates); }
    std::vector<std::string> said() const {
        std::vector<std::string> out;
        for (const Deviation& one : now().deviations)
            if (one.what.find("to be confirmed") != std::string::npos)
                out.push_back(one.what);
        return out;
    }
    std::size_t step_with(const Plan& plan, const char* name) const {
        for (std::size_t i = 0; i < plan.steps.size(); ++i)
            if (std::count(plan.steps[i].items.begin(), plan.steps[i].items.end(), b.at(name)) != 0)
                return i;
        return plan.steps.size();
    }

    Build b = lid_and_body();
    Job job;
    Plan strip, refit;
    Gates gates;
    std::vector<Entry> entries;
};

} // namespace

TEST_CASE("a gate that is confirmed in its turn is no deviation, out and back") {
    Gated walk;
    REQUIRE(walk.gates.all.size() == 2);
    for (const Plan* plan : {&walk.strip, &walk.refit})
        for (std::size_t i = 0; i < plan->steps.size(); ++i)
            walk.step(*plan, i);
    CHECK(walk.said().empty());
}

TEST_CASE("a gate that is passed over is said once, with what passed it, and is applied all the same") {
    Gated walk;
    const std::size_t bolts = walk.step_with(walk.strip, "bolt_1");
    REQUIRE(walk.step_with(walk.strip, "look_round") < bolts);
    walk.add(did(walk.b, Verb::take_out, "bolt_1"));
    CHECK(walk.said() ==
          std::vector<std::string>{"bolt_1: it comes after what is to be confirmed, and was not: \"look_round\"."});
    CHECK(walk.now().state.fasteners[0] == FastenerState::out);
    walk.step(walk.strip, bolts);
    CHECK(walk.said().size() == 1); // not for each of the step
    // Struck out, and confirmed first: nothing is left of it.
    Entry strike;
    strike.deed = Deed::struck;
    strike.about = "k0";
    walk.entries.resize(1);
    walk.add(strike);
    CHECK(walk.said().empty());
    walk.add(did(walk.b, Verb::do_task, "look_round"));
    walk.add(did(walk.b, Verb::take_out, "bolt_1"));
    CHECK(walk.said().empty());
}

TEST_CASE("asked beforehand, a gate says the same; what the order does not know passes none") {
    Gated walk;
    const auto told = deviations_of(walk.job, walk.now(), did(walk.b, Verb::take_out, "bolt_1"));
    REQUIRE(told.size() == 1);
    CHECK(told[0].what.find("look_round") != std::string::npos);
    walk.add(did(walk.b, Verb::mark, "lid")); // no step of this order
    CHECK(walk.said().empty());
    CHECK(fold(walk.job, {did(walk.b, Verb::take_out, "bolt_1")}).deviations.empty()); // nobody told of any gate
}

TEST_CASE("the way back has gates of its own") {
    Gated walk;
    for (std::size_t i = 0; i < walk.strip.steps.size(); ++i)
        walk.step(walk.strip, i);
    const std::size_t gate = walk.step_with(walk.refit, "count_dowels");
    REQUIRE(gate + 1 < walk.refit.steps.size());
    for (std::size_t i = 0; i < gate; ++i)
        walk.step(walk.refit, i);
    CHECK(walk.said().empty());
    walk.step(walk.refit, gate + 1);
    REQUIRE(walk.said().size() == 1);
    CHECK(walk.said()[0].find("count_dowels") != std::string::npos);
    // Further entries read one by one come to the same as all at once.
    JobNow one_by_one = fold(walk.job, {}, walk.gates);
    std::vector<Entry> so_far;
    for (const Entry& e : walk.entries) {
        so_far.push_back(e);
        fold_further(walk.job, one_by_one, so_far);
    }
    CHECK(one_by_one.deviations.size() == walk.now().deviations.size());
}
