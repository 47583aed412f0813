// Estimated precedence from real shapes: what lies over what, measured and handed to the rules.
#include <doctest/doctest.h>

#include "core/job/estimated.hpp"
#include "core/map/values.hpp"
#include "tests/shared/build.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// A block on a body under a lid, both held by a screw each: the block's way is up.
struct Boxes {
    Model model;
    ItemId body, block, lid, block_bolt, lid_bolt;
    Boxes() {
        body = model.part("body", model.box({0.6F, 0.02F, 0.6F}), {0, -0.01, 0}, true);
        block = model.part("block", model.box({0.05F, 0.05F, 0.05F}), {0, 0.026, 0});
        lid = model.part("lid", model.box({0.2F, 0.01F, 0.2F}), {0, 0.08, 0});
        const auto bolt = model.rods({{0.003F, 0.02F}, {0.0065F, 0.005F}}, 24);
        // The block's screw beside it, under the lid; the lid's own beyond its edge.
        block_bolt = model.fastener("block_bolt", bolt, testing::at(0.06, -0.02, 0), {block, body});
        lid_bolt = model.fastener("lid_bolt", bolt, testing::at(0.25, -0.02, 0), {lid, body});
        for (Fastener& fastener : model.map.fasteners)
            fastener.drive = *read_drive("hex 10");
        set_way(block, "up 200 mm");
        set_way(lid, "up 200 mm");
        model.map.target = block;
    }
    void set_way(ItemId part, const char* way) {
        model.map.parts[static_cast<std::size_t>(model.map[part].detail)].way = *read_legs(way);
    }
    Job job() const {
        Job made = prepare(model.map);
        const Solids solids = make_solids(model.map);
        reckon_with(made, find_estimates(made, solids, home_box()));
        return made;
    }
};

} // namespace

TEST_CASE("from shapes: a lid over a block and its screw comes off first") {
    const Boxes boxes;
    CHECK(leaving(boxes.model.map, plan_strip(prepare(boxes.model.map))) ==
          std::vector<std::string>{"block_bolt", "block"});
    const Job job = boxes.job();
    CHECK(job.dropped.empty());
    const Plan plan = plan_strip(job);
    CHECK(plan.findings.empty());
    // The screw is reached beneath the lid; the block would hang there without it, so it comes when the way is clear.
    CHECK(leaving(boxes.model.map, plan) == std::vector<std::string>{"lid_bolt", "lid", "block_bolt", "block"});
}

TEST_CASE("from shapes: stated the other way round, it is dropped; overruled, nothing is said") {
    Boxes boxes;
    boxes.model.map.items[static_cast<std::size_t>(boxes.lid_bolt.index)].after = {boxes.block};
    boxes.model.map.target = {};
    const Job job = boxes.job();
    CHECK_FALSE(job.dropped.empty());
    for (const Dropped& pair : job.dropped)
        CHECK(pair.by == boxes.lid);
    const Plan plan = plan_strip(job);
    CHECK(plan.findings.empty());
    CHECK(comes_before(boxes.model.map, plan, "block", "lid"));
    for (const ItemId id : {boxes.block, boxes.block_bolt})
        boxes.model.map.items[static_cast<std::size_t>(id.index)].not_in_way = {boxes.lid};
    CHECK(boxes.job().dropped.empty());
}
