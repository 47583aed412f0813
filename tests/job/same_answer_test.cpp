// The same file gives the same order on every machine, compiler and run: both demo maps against the orders kept beside
// this test, which g++ and clang, 12 and 13, plain and sanitized, all have to reproduce. An order that is meant to
// change is written anew by BOLTWALK_WRITE_ORDERS=1 test_job, and its difference read before it is committed.
#include <cstdlib>
#include <fstream>

#include <doctest/doctest.h>

#include "tests/shared/build.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

std::string lines_of(const Map& map, const Plan& plan) {
    std::string out;
    for (const Step& step : plan.steps) {
        out += std::to_string(static_cast<int>(step.verb)) + " " + print_vehicle(step.vehicle);
        for (const ItemId id : step.items)
            out += " " + map[id].name;
        out += '\n';
    }
    return out;
}

std::string orders_of(Map map) {
    std::string out;
    for (const char* title : {"# as the author has it\n", "# with no step stated\n"}) {
        const Job job = prepare(map);
        const Plan strip = plan_strip(job);
        out += title + lines_of(map, strip) + "# back\n" + lines_of(map, plan_refit(job, strip));
        for (Item& item : map.items)
            item.step.reset();
    }
    return out;
}

std::string text_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

} // namespace

TEST_CASE("the same file gives the same order everywhere") {
    for (const std::string name : {"transfer_box", "water_pump"}) {
        CAPTURE(name);
        const auto map = read_map(BOLTWALK_SOURCE_DIR "/assets/" + name + ".glb");
        REQUIRE(map);
        const std::string orders = orders_of(*map);
        CHECK(orders == orders_of(*map));
        const std::string path = BOLTWALK_SOURCE_DIR "/tests/job/orders/" + name + ".txt";
        if (std::getenv("BOLTWALK_WRITE_ORDERS") != nullptr)
            std::ofstream(path, std::ios::binary) << orders;
        const std::string kept = text_of(path);
        REQUIRE(!kept.empty());
        CHECK(orders == kept);
    }
}

TEST_CASE("with every step of the big map taken away, the rules alone find an order, and a way back") {
    auto map = read_map(BOLTWALK_SOURCE_DIR "/assets/transfer_box.glb");
    REQUIRE(map);
    for (Item& item : map->items)
        item.step.reset();
    const Job job = prepare(*map);
    const Plan strip = plan_strip(job);
    CHECK(rules_of(strip.findings).empty());
    CHECK(strip.end.parts[static_cast<std::size_t>((*map)[map->target].detail)] == PartState::off);
    const Plan refit = plan_refit(job, strip);
    CHECK(rules_of(refit.findings).empty());
}
