// Labels never overlap: each other, any target, what is reserved, the rim.
#include <algorithm>

#include <doctest/doctest.h>

#include "tests/shared/shapes.hpp"
#include "viewer/scene/scene.hpp"

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
        const LabelLayout layout = lay_out(sizes, targets, area, reserved, gap, round % 2 == 0 ? nullptr : &last);
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
    const LabelLayout layout = lay_out(sizes, targets, {0, 0, 200, 200}, {}, 4);
    REQUIRE(layout.boxes.size() == 1);
    CHECK(layout.boxes[0].wish == 0);
    CHECK(layout.left_out == std::vector<std::int32_t>{1, 2});
    CHECK(lay_out({}, {}, {0, 0, 10, 10}, {}, 4).boxes.empty());
}

TEST_CASE("the same wish gives the same layout, and the last layout holds labels where they are") {
    const std::vector<glm::dvec2> sizes{{120, 40}, {90, 40}};
    std::vector<std::vector<LabelTarget>> targets{{{{400, 300}, 12, 12}, {{500, 320}, 12, 12}}, {{{420, 420}, 12, 12}}};
    const Rect area{0, 0, 800, 600};
    const LabelLayout first = lay_out(sizes, targets, area, {}, 8);
    CHECK(lay_out(sizes, targets, area, {}, 8).boxes == first.boxes);
    for (auto& group : targets)
        for (LabelTarget& target : group)
            target.at += glm::dvec2(3, -2);
    const LabelLayout second = lay_out(sizes, targets, area, {}, 8, &first);
    for (std::size_t i = 0; i < first.boxes.size(); ++i)
        CHECK(second.boxes[i].box == first.boxes[i].box);
}
