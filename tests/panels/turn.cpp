// Whose turn it is: on which bolt the tool is drawn, and of which marks the numbers say an order.
#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <string>
#include <thread>

#include "tests/panels/walked.hpp"

using namespace boltwalk;

namespace {

void let_rest(View& view) {
    for (int i = 0; i < 1000 && is_moving(view); ++i)
        advance(view, 0.02);
}

} // namespace

TEST_CASE("the tool is drawn on the bolt whose turn it is, first on the first in the joint's order") {
    View view = opened(copied("tool_in_turn"));
    while (!view.study->finished())
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    walk_back(view);
    walk_to(view, "Tighten: 5 bolts, Pump bolts");
    REQUIRE_FALSE(at_end(view));
    const std::size_t at = view.at;
    // A tool gets at each of the five, so there is one to be drawn wrongly.
    REQUIRE((*view.study->overlays(true))[at + 1].tools.size() == 5);
    const std::vector<ItemId> order = plan_of(view).steps[at].items;
    std::size_t turn = 0;
    for (; view.at == at && turn < 20; ++turn) {
        let_rest(view);
        const Ticks ticks = ticks_of(view);
        REQUIRE(ticks.turning != nullptr);
        CHECK(ticks.turn.next == order[turn % order.size()]);
        const auto tools = overlays_now(view).tools;
        REQUIRE(tools.size() == 1);
        CHECK(tools.front().fastener == ticks.turn.next);
        enter_step(view);
    }
    CHECK(turn % order.size() == 0); // every pass went all round
}

TEST_CASE("the tool is drawn on no bolt that is out already") {
    View view = opened(copied("tool_on_open"));
    while (!view.study->finished())
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    walk_to(view, "Take out: 5 bolts, Pump bolts");
    let_rest(view);
    REQUIRE(overlays_now(view).tools.size() == 5);
    const ItemId first = plan_of(view).steps[view.at].items.front();
    tap(view, first);
    let_rest(view);
    const auto tools = overlays_now(view).tools;
    CHECK(tools.size() == 4);
    CHECK(std::none_of(tools.begin(), tools.end(), [&](const ToolDrawn& tool) { return tool.fastener == first; }));
}

TEST_CASE("the numbers are called an order of tightening only of what is tightened") {
    const auto item = [](int i) { return ItemId{i}; };
    const auto marks = [&](int count) {
        std::vector<Tick> all;
        for (int i = 1; i <= count; ++i)
            all.push_back({item(i), i, Tick::Is::open});
        return all;
    };
    Tightening joint, plug;
    joint.items = {item(1), item(2), item(4)};
    plug.items = {item(3)};
    const auto said = [&](int count, const std::vector<Tightening>& turns) {
        return numbered_for_later(Verb::take_out, marks(count), turns);
    };
    CHECK(said(2, {joint}) == "Numbered as they will be tightened.");
    CHECK(said(4, {joint, plug}) == "Numbered as they will be tightened.");
    CHECK(said(6, {joint, plug}) == "Numbers 1..4: as they will be tightened.");
    CHECK(said(6, {joint}) == "Numbers 1..2, 4: as they will be tightened."); // 3, 5 and 6 are pins
    std::vector<Tick> late = marks(6);
    late.erase(late.begin(), late.begin() + 3);
    CHECK(numbered_for_later(Verb::start, late, {joint}).empty()); // one alone comes after nothing here
    CHECK(said(6, {plug}).empty());                                // alone it has no order
    CHECK(said(6, {}).empty());
    CHECK(numbered_for_later(Verb::tighten, marks(2), {joint}).empty());
}
