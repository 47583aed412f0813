// Orders against networkx (an independent graph library, Debian's python3-networkx): is there an order at all, is ours
// one, what must come before a part, and does what comes off really hang on nothing.
#include <cstdio>
#include <fstream>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "core/job/estimated.hpp"
#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;
using Json = nlohmann::json;

namespace {

Json names(const Map& map, const std::vector<ItemId>& ids) {
    Json list = Json::array();
    for (const ItemId id : ids)
        list.push_back(map[id].name);
    return list;
}

Json order_of(const Map& map, const Plan& plan) {
    Json list = Json::array();
    for (const Step& step : plan.steps)
        for (const ItemId id : step.items)
            list.push_back(map[id].name);
    return list;
}

bool is_locked(const Plan& plan) {
    const auto rules = rules_of(plan.findings);
    return std::find(rules.begin(), rules.end(), "lock") != rules.end();
}

/// The same with estimates: pairs of this, and that in its way; which of them were dropped, and the order by the rest.
Json mixed_of(const Build& b) {
    const Map& map = b.map;
    const int count = static_cast<int>(map.items.size());
    Lots dice(static_cast<std::uint64_t>(count) * 7919 + map.fasteners.size());
    Estimates estimates;
    Json mixed;
    mixed["pairs"] = mixed["dropped"] = Json::array();
    for (int i = 1; i < count; ++i) {
        const ItemId by{1 + dice.below(count - 1)};
        if (by.index == i || !dice.chance(25))
            continue;
        Estimate one;
        one.item = {i};
        one.question = map.is_part(one.item) ? Question::way : Question::reach;
        one.alternatives.emplace_back().gone = {by};
        estimates.list.push_back(one);
        mixed["pairs"].push_back({map[by].name, map[one.item].name});
    }
    Job job = prepare(map);
    reckon_with(job, std::move(estimates));
    for (const Dropped& pair : job.dropped)
        mixed["dropped"].push_back({map[pair.by].name, map[pair.item].name});
    mixed["order"] = order_of(map, plan_strip(job));
    return mixed;
}

/// The assembly as plain facts (no rule of ours in it), and what our planner made of it.
Json case_of(const Build& b, const RandomSettings& settings, ItemId goal) {
    const Map& map = b.map;
    const Job job = prepare(map);
    Json one;
    one["nested"] = settings.nested;
    for (const Item& item : map.items)
        one["items"].push_back({{"name", item.name}, {"after", names(map, item.after)}});
    for (const Fastener& fastener : map.fasteners)
        one["fasteners"].push_back({{"name", map[fastener.item].name},
                                    {"holds", names(map, fastener.holds)},
                                    {"secures", names(map, fastener.secures)}});
    const Plan plan = plan_strip(job);
    one["order"] = order_of(map, plan);
    one["locked"] = is_locked(plan);
    one["goal"] = map[goal].name;
    const Plan for_goal = plan_strip(job, goal);
    one["goal_order"] = order_of(map, for_goal);
    one["goal_locked"] = is_locked(for_goal);
    if (!settings.nested)
        one["mixed"] = mixed_of(b);
    return one;
}

} // namespace

TEST_CASE("orders of 600 random assemblies against networkx") {
    Json cases = Json::array();
    for (std::uint64_t seed = 0; seed < 600; ++seed) {
        RandomSettings settings;
        settings.parts = 3 + static_cast<int>(seed % 10);
        settings.nested = seed % 3 == 2;
        settings.forward_only = seed % 2 == 0;
        settings.after_percent = seed % 2 == 0 ? 60 : 35;
        const Build b = random_assembly(seed, settings);
        Lots dice(seed + 1000000);
        cases.push_back(case_of(b, settings, b.at("p" + std::to_string(dice.below(settings.parts)))));
    }
    const std::string file = std::string(BOLTWALK_BUILD_DIR) + "/orders_for_networkx.json";
    std::ofstream(file) << cases.dump();
    const std::string command =
        "/usr/bin/python3 " BOLTWALK_SOURCE_DIR "/tests/outside/order_networkx.py " + file + " 2>&1";
    std::FILE* pipe = ::popen(command.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::string said;
    char block[4096];
    while (std::fgets(block, sizeof block, pipe) != nullptr)
        said += block;
    const int status = ::pclose(pipe);
    INFO(said);
    CHECK(status == 0);
    // It says how many it judged, so that an empty run cannot pass for a good one.
    CHECK(said.find("600 assemblies") != std::string::npos);
}
