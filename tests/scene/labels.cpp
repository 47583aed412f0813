// Labels never overlap: each other, any target, what is reserved, the rim.
#include <algorithm>

#include <doctest/doctest.h>

#include "tests/shared/shapes.hpp"
#include "viewer/scene/overlays.hpp"

using namespace boltwalk;
using testing::at;
using testing::Dice;
using testing::Model;

namespace {

bool touches(const Rect& box, const LabelTarget& target) {
    const double x = std::clamp(target.at.x, box.x, box.right());
    const double y = std::clamp(target.at.y, box.y, box.bottom());
    return glm::length(glm::dvec2(x, y) - target.at) < target.radius_px;
}

} // namespace

TEST_CASE("over a thousand random cameras no label overlaps anything") {
    Dice dice(11);
    Model model;
    const std::int32_t bolt = model.rods({{0.005F, 0.03F}, {0.009F, 0.008F}}, 8);
    std::vector<std::vector<ItemId>> groups;
    for (int group = 0; group < 9; ++group) {
        groups.emplace_back();
        for (int i = 0; i < 1 + group; ++i)
            groups.back().push_back(model.fastener(
                "bolt", bolt, at(dice.between(-0.5, 0.5), dice.between(-0.3, 0.3), dice.between(-0.5, 0.5)), {}));
    }
    const Stage stage = make_stage(model.map);
    const glm::dvec2 size{1280, 800};
    const Rect area{10, 10, 1260, 780};
    const std::vector<Rect> reserved{{10, 10, 400, 90}, {10, 640, 150, 150}, {1000, 560, 270, 230}};
    std::size_t placed = 0;
    std::size_t left_out = 0;
    LabelLayout last;
    for (int round = 0; round < 1000; ++round) {
        Camera camera;
        camera.yaw_deg = dice.between(0, 360);
        camera.pitch_deg = dice.between(-90, 90);
        camera.distance_m = dice.between(0.3, 4);
        const Projection projection = project(camera, size, stage.bounds);
        std::vector<glm::dvec2> sizes;
        std::vector<std::vector<LabelTarget>> targets;
        for (const auto& group : groups) {
            sizes.emplace_back(dice.between(60, 330), dice.between(30, 60));
            targets.emplace_back();
            for (const ItemId item : group)
                if (const auto mark = mark_of(stage, {}, item, projection, 9))
                    targets.back().push_back(*mark);
        }
        const double gap = 8;
        const LabelLayout layout = lay_out(sizes, targets, {area, reserved, gap, {}}, round % 2 == 0 ? nullptr : &last);
        CHECK(layout.boxes.size() + layout.left_out.size() == groups.size());
        for (std::size_t i = 0; i < layout.boxes.size(); ++i) {
            const Rect& box = layout.boxes[i].box;
            const auto wish = static_cast<std::size_t>(layout.boxes[i].wish);
            CHECK(box.width == sizes[wish].x);
            CHECK(box.x >= area.x);
            CHECK(box.y >= area.y);
            CHECK(box.right() <= area.right());
            CHECK(box.bottom() <= area.bottom());
            CHECK(!layout.boxes[i].leaders.empty());
            for (const Rect& taken : reserved)
                CHECK(!overlap(box, taken));
            for (std::size_t k = i + 1; k < layout.boxes.size(); ++k)
                CHECK(!overlap(box, layout.boxes[k].box));
            for (const LabelBox& other : layout.boxes)
                for (const glm::dvec2& point : other.leaders)
                    CHECK((&other == &layout.boxes[i] || !runs_through({other.foot, point}, box)));
            for (const auto& group : targets)
                for (const LabelTarget& target : group)
                    CHECK(!touches(box, target));
        }
        placed += layout.boxes.size();
        left_out += layout.left_out.size();
        last = layout;
    }
    CHECK(placed > 4 * left_out); // a layout that gives up is no layout
    MESSAGE(placed << " labels placed, " << left_out << " left out (no room, or out of the picture)");
}

TEST_CASE("a label that has no room is left out and named") {
    const std::vector<glm::dvec2> sizes{{50, 20}, {500, 20}, {50, 20}};
    const std::vector<std::vector<LabelTarget>> targets{{{{100, 100}, 10, 10}}, {{{50, 50}, 10, 10}}, {}};
    const LabelLayout layout = lay_out(sizes, targets, {{0, 0, 200, 200}, {}, 4, {}});
    REQUIRE(layout.boxes.size() == 1);
    CHECK(layout.boxes[0].wish == 0);
    CHECK(layout.left_out == std::vector<std::int32_t>{1, 2});
    CHECK(lay_out({}, {}, {{0, 0, 10, 10}, {}, 4, {}}).boxes.empty());
}

TEST_CASE("what found no room among the others goes first, and they round it") {
    // The first has its mark at the right rim and its nearest place across the middle: then no half is free for the
    // wide one.
    const std::vector<glm::dvec2> sizes{{80, 40}, {190, 64}};
    const std::vector<std::vector<LabelTarget>> targets{{{{196, 68}, 2, 2, 0}}, {{{4, 68}, 2, 2, 1}}};
    const LabelLayout layout = lay_out(sizes, targets, {{0, 0, 200, 136}, {}, 1, {}}, nullptr);
    CHECK(layout.left_out.empty());
    REQUIRE(layout.boxes.size() == 2);
    CHECK_FALSE(overlap(layout.boxes[0].box, layout.boxes[1].box));
    // Alone the first would stand across it.
    const LabelLayout alone =
        lay_out(std::span(sizes).first(1), std::span(targets).first(1), {{0, 0, 200, 136}, {}, 1, {}}, nullptr);
    REQUIRE(alone.boxes.size() == 1);
    CHECK(alone.boxes[0].box.y < 64);
    CHECK(alone.boxes[0].box.bottom() > 72);
}

TEST_CASE("the same wish gives the same layout, and the last layout holds labels where they are") {
    const std::vector<glm::dvec2> sizes{{120, 40}, {90, 40}};
    std::vector<std::vector<LabelTarget>> targets{{{{400, 300}, 12, 12}, {{500, 320}, 12, 12}}, {{{420, 420}, 12, 12}}};
    const Rect area{0, 0, 800, 600};
    const LabelLayout first = lay_out(sizes, targets, {area, {}, 8, {}});
    CHECK(lay_out(sizes, targets, {area, {}, 8, {}}).boxes == first.boxes);
    for (auto& group : targets)
        for (LabelTarget& target : group)
            target.at += glm::dvec2(3, -2);
    const LabelLayout second = lay_out(sizes, targets, {area, {}, 8, {}}, &first);
    for (std::size_t i = 0; i < first.boxes.size(); ++i)
        CHECK(second.boxes[i].box == first.boxes[i].box);
}

TEST_CASE("a label keeps off drawn lines while there is room beside them") {
    const std::vector<glm::dvec2> sizes{{100, 40}};
    const std::vector<std::vector<LabelTarget>> targets{{{{400, 300}, 12, 12}}};
    LabelRoom room{{0, 0, 800, 600}, {}, 8, {}};
    const Rect plain = lay_out(sizes, targets, room).boxes.at(0).box;
    room.lines = {{{plain.x - 50, plain.y + 20}, {plain.right() + 50, plain.y + 20}}};
    const Rect beside = lay_out(sizes, targets, room).boxes.at(0).box;
    CHECK(runs_through(room.lines[0], plain));
    CHECK(!runs_through(room.lines[0], beside));
    // Where lines are everywhere it is written all the same.
    room.lines.clear();
    for (double y = 0; y < 600; y += 10)
        room.lines.push_back({{0, y}, {800, y}});
    CHECK(lay_out(sizes, targets, room).boxes.size() == 1);
}

TEST_CASE("a leader does not run along a drawn line while there is another way to go") {
    const std::vector<glm::dvec2> sizes{{100, 40}};
    // A plumb line, and the words about a point on it.
    const std::vector<std::vector<LabelTarget>> targets{{{{400, 300}, 8, 0}}};
    LabelRoom room{{0, 0, 800, 600}, {}, 8, {{{400, 160}, {400, 440}}}};
    // Room to the left and to the right is taken but for a far strip, and a gap too low for words on the way to it:
    // along the line it would be nearer.
    const std::vector<Rect> taken{
        {100, 100, 290, 185}, {100, 315, 290, 185}, {410, 100, 290, 185}, {410, 315, 290, 185}};
    room.reserved = taken;
    const LabelLayout layout = lay_out(sizes, targets, room);
    REQUIRE(layout.boxes.size() == 1);
    const LabelBox& label = layout.boxes[0];
    const glm::dvec2 middle = 0.5 * (label.foot + label.leaders[0]);
    CHECK(std::abs(middle.x - 400) > 0.05 * glm::length(label.foot - label.leaders[0]));
    CHECK(!runs_through(room.lines[0], label.box));
}

TEST_CASE("a leader does not run under what is drawn over it while there is another way to go") {
    const std::vector<glm::dvec2> sizes{{100, 40}};
    const std::vector<std::vector<LabelTarget>> targets{{{{400, 300}, 12, 12}}};
    LabelRoom room{{0, 0, 800, 600}, {}, 8, {}};
    // All round is taken but for a strip at the left and, farther away, one at the right that a gap leads to.
    std::vector<Rect> taken{{200, 0, 450, 285}, {200, 315, 450, 285}, {200, 285, 150, 30}};
    room.reserved = taken;
    LabelLayout layout = lay_out(sizes, targets, room);
    REQUIRE(layout.boxes.size() == 1);
    const auto is_under = [&] {
        const Segment leader{layout.boxes[0].foot, layout.boxes[0].leaders.at(0)};
        return std::any_of(taken.begin(), taken.end(), [&](const Rect& rect) { return runs_through(leader, rect); });
    };
    CHECK_FALSE(is_under());
    // Where there is none it leads there all the same.
    taken.push_back({450, 285, 200, 30});
    room.reserved = taken;
    layout = lay_out(sizes, targets, room);
    REQUIRE(layout.boxes.size() == 1);
    CHECK(is_under());
}

TEST_CASE("one more label moves none of those that are there") {
    std::vector<glm::dvec2> sizes{{120, 40}, {90, 40}};
    std::vector<std::vector<LabelTarget>> targets{{{{400, 300}, 12, 12}}, {{{420, 420}, 12, 12}}};
    const LabelRoom room{{0, 0, 800, 600}, {}, 8, {}};
    const LabelLayout before = lay_out(sizes, targets, room);
    LabelLayout laid = before;
    sizes.emplace_back(200, 40);
    targets.push_back({{{600, 200}, 8, 0}}); // no label lies there: its leader crosses none
    REQUIRE(lay_out_one_more(sizes, targets, room, nullptr, laid, 2));
    REQUIRE(laid.boxes.size() == 3);
    for (std::size_t i = 0; i < 2; ++i) {
        CHECK(laid.boxes[i] == before.boxes[i]);
        CHECK(!overlap(laid.boxes[i].box, laid.boxes[2].box));
    }
    CHECK(laid.boxes[2].wish == 2);
    sizes.back() = {900, 40};
    LabelLayout same = before;
    CHECK(!lay_out_one_more(sizes, targets, room, nullptr, same, 2));
    CHECK(same.boxes == before.boxes);
}

TEST_CASE("of tools the one that shows most, and where it shows") {
    Camera camera;
    camera.yaw_deg = 0;
    camera.pitch_deg = 0;
    camera.distance_m = 2;
    Bounds all;
    all.add({-1, -1, -1});
    all.add({1, 1, 1});
    const Projection projection = project(camera, {1280, 800}, all);
    const auto handle = [](double from, double to) {
        ToolDrawn tool;
        tool.rods.push_back({{from, 0, 0}, {to, 0, 0}, 0.01, true});
        return tool;
    };
    const Rect area{0, 0, 1280, 800};
    const double half = 640 / (0.5 * 800 * projection.projection[1][1] / 2); // metres from the middle to the rim
    const ToolShown whole = shown_of(handle(-0.25 * half, 0.25 * half), projection, area, {});
    CHECK(whole.share == doctest::Approx(1));
    CHECK(whole.shown_px == doctest::Approx(320));
    const ToolShown cut = shown_of(handle(0.5 * half, 1.5 * half), projection, area, {});
    CHECK(cut.share == doctest::Approx(0.5).epsilon(0.05));
    CHECK(cut.at.x == doctest::Approx(1120).epsilon(0.03)); // the middle of what shows
    const ToolShown none = shown_of(handle(2 * half, 3 * half), projection, area, {});
    CHECK(none.lines.empty());
    const std::vector<Rect> caption{{0, 300, 1280, 200}};
    CHECK(shown_of(handle(-0.25 * half, 0.25 * half), projection, area, caption).lines.empty());

    std::vector<ToolDrawn> tools(3);
    for (int i = 0; i < 3; ++i)
        tools[static_cast<std::size_t>(i)].fastener = ItemId{i};
    const std::vector<ToolShown> shown{cut, whole, none};
    CHECK(by_show(shown, tools, {}, 20) == std::vector<std::size_t>{1, 0});
    CHECK(by_show(shown, tools, ItemId{0}, 20) == std::vector<std::size_t>{1, 0}); // shows much less
    const std::vector<ToolShown> alike{whole, whole, none};
    CHECK(by_show(alike, tools, {}, 20) == std::vector<std::size_t>{0, 1});
    CHECK(by_show(alike, tools, ItemId{1}, 20) == std::vector<std::size_t>{1, 0}); // the one of the picture before
}
