// What the picture of a step is about: what leaves, or the place at which something is done to what stays.
#include <algorithm>
#include <string>

#include <doctest/doctest.h>

#include "viewer/scene/scene.hpp"

using namespace boltwalk;

namespace {

struct Walk {
    Map map;
    Job job;
    Plan plan;
    std::vector<Shot> shots;
    Walk(const std::string& name, bool back)
        : map(*read_map(std::string(BOLTWALK_SOURCE_DIR) + "/assets/" + name)), job(prepare(map)) {
        const Plan strip = plan_strip(job);
        plan = back ? plan_refit(job, strip) : strip;
        shots = shots_of(job, plan, back ? refit_begin(strip) : as_found(job));
    }
    /// The picture of the step that does that task; null: no step does.
    const Shot* of_task(const std::string& name) const {
        const ItemId task = find_item(map, name);
        for (std::size_t i = 0; i < plan.steps.size(); ++i)
            if (const auto& items = plan.steps[i].items; std::find(items.begin(), items.end(), task) != items.end())
                return &shots[i + 1];
        return nullptr;
    }
};

bool has(const std::vector<ItemId>& items, ItemId item) {
    return std::find(items.begin(), items.end(), item) != items.end();
}

struct Fluid {
    const char* map;
    bool back;
    const char* task;
    const char* unit;
    const char* plug; ///< as the map states: of that kind, and it holds the unit
};

} // namespace

TEST_CASE("what is drained, filled or levelled is shown at its plug, and its unit as a whole") {
    for (const Fluid& fluid : {Fluid{"transfer_box.glb", false, "drain_box", "transfer_box", "drain_plug"},
                               {"transfer_box.glb", true, "fill_oil", "transfer_box", "fill_plug"},
                               {"transfer_box.glb", true, "level_oil", "transfer_box", "level_plug"},
                               {"water_pump.glb", false, "drain_coolant", "engine_block", "drain_plug"},
                               {"water_pump.glb", true, "fill_coolant", "engine_block", "filler_cap"},
                               // no level plug is on that map: the task names the cap
                               {"water_pump.glb", true, "level_coolant", "engine_block", "filler_cap"}}) {
        const Walk walk(fluid.map, fluid.back);
        CAPTURE(fluid.map);
        CAPTURE(fluid.task);
        const Shot* shot = walk.of_task(fluid.task);
        REQUIRE(shot != nullptr);
        const ItemId plug = find_item(walk.map, fluid.plug);
        CHECK(shot->whole == std::vector<ItemId>{find_item(walk.map, fluid.unit)});
        const bool out = shot->before.fasteners[std::size_t(walk.map[plug].detail)] == FastenerState::out;
        CHECK(has(shot->holes, plug) == out);
        CHECK(has(shot->next, plug) == !out);
        CHECK(std::any_of(shot->labels.begin(), shot->labels.end(),
                          [&](const LabelWish& wish) { return has(wish.items, plug); }));
    }
}

TEST_CASE("what is outlined as a whole is a part of the step that moves nowhere in it") {
    for (const char* name : {"transfer_box.glb", "water_pump.glb"})
        for (const bool back : {false, true}) {
            const Walk walk(name, back);
            std::size_t whole = 0;
            for (std::size_t i = 0; i < walk.shots.size(); ++i) {
                const Shot& shot = walk.shots[i];
                CAPTURE(name);
                CAPTURE(i);
                whole += shot.whole.size();
                for (const ItemId part : shot.whole) {
                    CHECK(walk.map.is_part(part));
                    CHECK(has(shot.next, part));
                    CHECK(!has(shot.moves, part));
                }
                for (const ItemId plug : shot.holes)
                    CHECK(!has(shot.next, plug));
            }
            CHECK(whole > 0);
        }
}

TEST_CASE("a task to a fastener lights that fastener and no unit") {
    const Walk walk("transfer_box.glb", false);
    const Shot* shot = walk.of_task("prove_fill_plug");
    REQUIRE(shot != nullptr);
    CHECK(shot->next == std::vector<ItemId>{find_item(walk.map, "fill_plug")});
    CHECK(shot->whole.empty());
}
