// A real model that nobody here made: the 67-part engine of Debian's assimp-testmodels. It is in millimetres, its nodes
// are unnamed, and some of its parts lie in one another. Taken apart by the search for ways alone, round by round: what
// finds a way past what is still there comes out.
#include <filesystem>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "core/geometry/way.hpp"
#include "tests/outside/engine.hpp"
#include "tests/shared/sanitized.hpp"

using namespace boltwalk;

namespace {

struct Taken {
    std::size_t bodies = 0;
    std::vector<std::size_t> rounds; ///< how many come out in each
    std::vector<std::string> ways;   ///< by body, empty where it stays
};

Taken take_apart(const Map& map, int queries, int threads) {
    const Solids solids = make_solids(map);
    Taken taken;
    taken.bodies = solids.bodies.size();
    taken.ways.resize(taken.bodies);
    std::vector<WayAsked> asked;
    for (std::size_t b = 0; b < taken.bodies; ++b)
        asked.push_back({{}, {static_cast<std::int32_t>(b)}, {}});
    Effort effort;
    effort.threads = threads;
    const WaySpace space = make_way_space(solids, asked, {}, effort);
    std::vector<std::uint8_t> there(taken.bodies, 1);
    for (;;) {
        std::vector<std::string> found(taken.bodies);
        in_parallel(taken.bodies, effort, [&](std::size_t b) {
            if (!there[b])
                return;
            WaysOut out;
            WaySearch search;
            search.queries = queries;
            search.there = there;
            search.any_state = false;
            if (find_way(space, asked[b], search, out))
                found[b] = words_of(out.ways.back());
        });
        std::size_t out = 0;
        for (std::size_t b = 0; b < taken.bodies; ++b)
            if (!found[b].empty()) {
                there[b] = 0;
                taken.ways[b] = found[b];
                ++out;
            }
        if (out == 0)
            return taken;
        taken.rounds.push_back(out);
    }
}

} // namespace

// Minutes under the sanitizers; the shorter case below runs the same code there.
TEST_CASE("the engine of 67 parts comes apart as far as its shapes allow, alike on one thread and on two" *
          doctest::skip(testing::sanitized)) {
    const Map map = testing::read_engine();
    const Taken taken = take_apart(map, 24, 1);
    CHECK(taken.bodies == 67);
    std::size_t out = 0;
    for (const std::size_t round : taken.rounds)
        out += round;
    MESSAGE(out << " of " << taken.bodies << " come out, in " << taken.rounds.size() << " rounds; "
                << taken.rounds.front() << " straight away");
    // Plugs, covers, heads, cylinders; crank, rods and the case, which is one piece about them, stay.
    CHECK(out >= 40);
    CHECK(out < 67);
    CHECK(take_apart(map, 24, 2).ways == taken.ways);
}

TEST_CASE("the engine in millimetres gives an answer, too") {
    const auto map = read_map(testing::engine_path);
    REQUIRE(map.has_value());
    CHECK_FALSE(take_apart(*map, 6, 0).rounds.empty());
}
