// A bolt has one number in every step, and those of a tightening are its order.
#include <algorithm>
#include <set>
#include <string>

#include <doctest/doctest.h>

#include "core/job/step_numbers.hpp"

using namespace boltwalk;

TEST_CASE("no two items of a step have one number, and a joint's numbers rise as it is tightened") {
    for (const char* name : {"transfer_box.glb", "water_pump.glb"}) {
        CAPTURE(name);
        const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/" + name);
        REQUIRE(map);
        const Job job = prepare(*map);
        const Plan strip = plan_strip(job);
        const Plan refit = plan_refit(job, strip);
        const auto turns = tightenings(job, refit);
        const std::vector<int> numbers = step_numbers(job, strip, refit, turns);
        REQUIRE(numbers.size() == map->items.size());
        const auto number = [&](ItemId item) { return numbers[static_cast<std::size_t>(item.index)]; };
        int several = 0;
        for (const Plan* plan : {&strip, &refit})
            for (const Step& step : plan->steps) {
                std::set<int> met;
                for (const ItemId item : step.items) {
                    CHECK(number(item) > 0);
                    CHECK(met.insert(number(item)).second);
                }
                several += step.items.size() > 1 ? 1 : 0;
            }
        CHECK(several > 3);
        for (const Tightening& one : turns)
            CHECK(std::is_sorted(one.items.begin(), one.items.end(),
                                 [&](ItemId a, ItemId b) { return number(a) < number(b); }));
    }
}

TEST_CASE("what comes into no step has no number; what shares no step and no joint is numbered for itself") {
    const auto map = read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/water_pump.glb");
    REQUIRE(map);
    const Job job = prepare(*map);
    Plan strip;
    strip.steps.resize(2);
    const auto item = [&](const char* name) {
        const ItemId found = find_item(*map, name);
        REQUIRE(found);
        return found;
    };
    strip.steps[0].items = {item("pulley_bolt_2"), item("pulley_bolt_1")};
    strip.steps[1].items = {item("pump_bolt_short_2")};
    // Two of three are tightened, the last of the file first; the third shares a step with one of them.
    Plan refit;
    refit.refit = true;
    refit.steps.resize(1);
    refit.steps[0].items = {item("pulley_bolt_1"), item("pulley_bolt_3")};
    Tightening turn;
    turn.items = {item("pulley_bolt_3"), item("pulley_bolt_2")};
    const std::vector<int> numbers = step_numbers(job, strip, refit, {turn});
    const auto number = [&](const char* name) { return numbers[static_cast<std::size_t>(item(name).index)]; };
    CHECK(number("pulley_bolt_3") == 1);
    CHECK(number("pulley_bolt_2") == 2);
    CHECK(number("pulley_bolt_1") == 3);
    CHECK(number("pump_bolt_short_2") == 1);
    CHECK(number("pulley_bolt_4") == 0);
}
