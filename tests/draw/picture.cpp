// Small scenes drawn offscreen, their pixels read.
#include <cstdlib>
#include <fstream>

#include <doctest/doctest.h>

#include "tests/shared/shapes.hpp"
#include "viewer/draw/draw.hpp"
#include "viewer/draw/letters.hpp"
#include "viewer/draw/shapes.hpp"

using namespace boltwalk;
using testing::at;
using testing::Model;

namespace {

/// One context for all of them: it outlives every drawing.
Offscreen* context() {
    static const auto opened = open_offscreen();
    if (!opened)
        FAIL(opened.error());
    return opened->get();
}

struct Colour3 {
    int r, g, b;
};

Colour3 pixel(const Pixels& pixels, int x, int y) {
    const std::size_t i =
        (static_cast<std::size_t>(y) * static_cast<std::size_t>(pixels.width) + static_cast<std::size_t>(x)) * 3;
    return {pixels.rgb[i], pixels.rgb[i + 1], pixels.rgb[i + 2]};
}

bool is_accent(Colour3 c) {
    return c.r > 150 && c.r > 2 * c.g && c.r > 2 * c.b;
}
int brightness(Colour3 c) {
    return c.r + c.g + c.b;
}

int count(const Pixels& pixels, const Rect& within, bool (*is)(Colour3)) {
    int found = 0;
    for (int y = std::max(0, static_cast<int>(within.y)); y < std::min<double>(pixels.height, within.bottom()); ++y)
        for (int x = std::max(0, static_cast<int>(within.x)); x < std::min<double>(pixels.width, within.right()); ++x)
            found += is(pixel(pixels, x, y)) ? 1 : 0;
    return found;
}

/// A bolt on a block, and a plate that hides it from the front.
struct Still : Model {
    ItemId block, bolt, plate;
    Stage stage;
    DrawingHandle drawing;
    explicit Still(bool with_plate) {
        context();
        block = part("block", box({0.3F, 0.3F, 0.1F}), {0, 0, -0.05}, true);
        const glm::dmat4 forward = glm::rotate(glm::dmat4(1.0), glm::radians(90.0), glm::dvec3(1, 0, 0));
        bolt = fastener("bolt", rods({{0.02F, 0.02F}, {0.04F, 0.03F}}, 24), forward, {block});
        if (with_plate)
            plate = part("plate", box({0.2F, 0.2F, 0.01F}), {0, 0, 0.2});
        stage = make_stage(map);
        auto made = make_drawing(stage);
        if (!made)
            FAIL(made.error());
        drawing = std::move(*made);
    }
    Frame frame() const {
        Frame f;
        f.width_px = 320;
        f.height_px = 200;
        f.scale = 0.5;
        f.camera.yaw_deg = 0;
        f.camera.pitch_deg = 0;
        f.camera.distance_m = 0.9;
        f.gnomon = false;
        return f;
    }
    Pixels taken(const Frame& f) {
        auto pixels = render(*drawing, f);
        if (!pixels)
            FAIL(pixels.error());
        return *pixels;
    }
};

/// Everything of it lies on its plate, and none of its letters on another.
void check_gnomon(const Frame& frame) {
    const Rect plate = gnomon_rect(frame);
    Atlas atlas;
    Shapes shapes;
    shapes.atlas = &atlas;
    add_gnomon(shapes, frame);
    std::vector<Rect> letters;
    for (std::size_t i = 0; i < shapes.corners.size(); i += 4) {
        const auto& low = shapes.corners[i];
        const auto& high = shapes.corners[i + 3];
        for (const auto* corner : {&low, &high}) {
            CHECK(corner->place[0] >= plate.x - 1.01);
            CHECK(corner->place[0] <= plate.right() + 1.01);
            CHECK(corner->place[1] >= plate.y - 1.01);
            CHECK(corner->place[1] <= plate.bottom() + 1.01);
        }
        if (low.third[2] == 0) // kind 0: a letter; a pixel less all round, since neighbours share their rims
            letters.push_back({low.place[0] + 1.0, low.place[1] + 1.0, high.place[0] - low.place[0] - 2.0,
                               high.place[1] - low.place[1] - 2.0});
    }
    REQUIRE(letters.size() == 11); // FRONT, UP, LEFT
    for (std::size_t i = 0; i < letters.size(); ++i)
        for (std::size_t k = i + 1; k < letters.size(); ++k)
            CHECK(!overlap(letters[i], letters[k]));
}

void check_gnomon_all_round(Frame frame, double step_deg) {
    for (double pitch = -90; pitch <= 90; pitch += step_deg)
        for (double yaw = 0; yaw < 360; yaw += step_deg) {
            frame.camera.yaw_deg = yaw;
            frame.camera.pitch_deg = pitch;
            CAPTURE(yaw);
            CAPTURE(pitch);
            check_gnomon(frame);
        }
}

const Rect MIDDLE{140, 80, 40, 40};
const Rect ALL{0, 0, 320, 200};

} // namespace

TEST_CASE("a picture shows the model on paper") {
    Still scene(false);
    const Pixels pixels = scene.taken(scene.frame());
    const Colour3 corner = pixel(pixels, 2, 2);
    CHECK(std::abs(corner.r - DAYLIGHT.paper.r) < 12);
    CHECK(std::abs(corner.b - DAYLIGHT.paper.b) < 14);
    CHECK(brightness(pixel(pixels, 130, 100)) < brightness(corner));
    CHECK(count(pixels, ALL, is_accent) == 0);
}

TEST_CASE("night is dark with light lines") {
    Still scene(false);
    Frame frame = scene.frame();
    frame.night = true;
    const Pixels pixels = scene.taken(frame);
    CHECK(brightness(pixel(pixels, 2, 2)) < 120);
    CHECK(count(pixels, ALL, [](Colour3 c) { return brightness(c) > 480; }) > 100);
}

TEST_CASE("what is next has the accent and a ring") {
    Still scene(false);
    Frame frame = scene.frame();
    frame.next = {scene.bolt};
    const Pixels pixels = scene.taken(frame);
    CHECK(is_accent(pixel(pixels, 160, 102)));
    CHECK(count(pixels, ALL, is_accent) > 250);
    // A ring: going out from the head there is a gap without the accent, and then the accent again.
    bool gap = false;
    bool ring = false;
    for (int x = 160; x < 220; ++x) {
        const bool here = is_accent(pixel(pixels, x, 100));
        gap = gap || !here;
        ring = ring || (gap && here);
    }
    CHECK(ring);
}

TEST_CASE("a part that something is done to as a whole is outlined in the accent, and not filled with it") {
    Still scene(false);
    Frame frame = scene.frame();
    CHECK(count(scene.taken(frame), ALL, is_accent) == 0);
    frame.next = {scene.block};
    const int filled = count(scene.taken(frame), ALL, is_accent);
    frame.whole = {scene.block};
    const Pixels pixels = scene.taken(frame);
    const int outlined = count(pixels, ALL, is_accent);
    CHECK(outlined > 100);
    CHECK(outlined * 5 < filled);
    CHECK(!is_accent(pixel(pixels, 128, 74))); // on the block, beside the bolt
}

TEST_CASE("a part of several nodes is outlined as one thing, and not node by node") {
    Still scene(false);
    // A boss on its face, and an arm that stands out beside it.
    scene.node("boss", scene.box({0.1F, 0.1F, 0.1F}), glm::translate(glm::dmat4(1.0), {0, 0, 0.02}), scene.block);
    scene.node("arm", scene.box({0.2F, 0.05F, 0.05F}), glm::translate(glm::dmat4(1.0), {0.2, 0, -0.05}), scene.block);
    scene.stage = make_stage(scene.map);
    auto made = make_drawing(scene.stage);
    REQUIRE(made.has_value());
    scene.drawing = std::move(*made);
    Frame frame = scene.frame();
    const Rect face{128, 68, 64, 64}; // of the block, with all of the boss in it
    const auto is_line = [](Colour3 c) { return brightness(c) < 250; };
    const int lines = count(scene.taken(frame), face, is_line);
    CHECK(lines > 50);
    frame.next = {scene.block};
    frame.whole = {scene.block};
    const Pixels pixels = scene.taken(frame);
    CHECK(count(pixels, face, is_accent) == 0);
    CHECK(count(pixels, face, is_line) == lines); // the boss keeps the edges that it has
    CHECK(count(pixels, ALL, is_accent) > 100);
    CHECK(count(pixels, {208, 80, 60, 40}, is_accent) > 20); // round the arm as round the block
}

TEST_CASE("the hole of a plug that is out has two rings where the plug would be") {
    Still scene(false);
    Frame frame = scene.frame();
    frame.poses.resize(scene.map.items.size());
    frame.poses[std::size_t(scene.bolt.index)].presence = 0;
    CHECK(count(scene.taken(frame), ALL, is_accent) == 0);
    frame.holes = {scene.bolt};
    const Pixels pixels = scene.taken(frame);
    int rings = 0;
    bool on_ring = false;
    for (int x = 160; x < 220; ++x) {
        const bool here = is_accent(pixel(pixels, x, 100));
        rings += here && !on_ring ? 1 : 0;
        on_ring = here;
    }
    CHECK(rings == 2);
}

TEST_CASE("what is next shows through what covers it, and the cover still shows") {
    Still open(false);
    Still covered(true);
    Frame frame = covered.frame();
    const Pixels without = covered.taken(frame);
    CHECK(count(without, ALL, is_accent) == 0);
    frame.next = {covered.bolt};
    const Pixels through = covered.taken(frame);
    CHECK(count(through, MIDDLE, is_accent) > 60);
    // The plate is glass: beside the bolt it is neither as without it nor as solid.
    Frame same = open.frame();
    same.next = {open.bolt};
    const Colour3 bare = pixel(open.taken(same), 128, 74);
    const Colour3 glass = pixel(through, 128, 74);
    const Colour3 solid = pixel(without, 128, 74);
    CHECK(std::abs(brightness(glass) - brightness(bare)) > 2);
    CHECK(std::abs(brightness(glass) - brightness(solid)) > 2);
}

TEST_CASE("the order in which glass stands in the file makes no difference") {
    const auto taken = [](bool swapped) {
        context();
        Model model;
        const std::int32_t sheet = model.box({0.3F, 0.3F, 0.01F});
        const std::int32_t other = model.box({0.2F, 0.2F, 0.01F});
        model.part("near", swapped ? other : sheet, {0, 0, swapped ? 0.1 : 0.0});
        model.part("far", swapped ? sheet : other, {0, 0, swapped ? 0.0 : 0.1});
        const Stage stage = make_stage(model.map);
        auto drawing = make_drawing(stage);
        REQUIRE(drawing);
        Frame frame;
        frame.width_px = 160;
        frame.height_px = 100;
        frame.camera = Camera{{0, 0, 0}, 1.2, 20, 10, 30};
        frame.xray = true;
        frame.gnomon = false;
        frame.edges = false;
        return render(**drawing, frame).value().rgb;
    };
    CHECK(taken(false) == taken(true));
}

TEST_CASE("edges are there, and only where asked for") {
    Still scene(false);
    Frame frame = scene.frame();
    const auto dark = [](Colour3 c) { return brightness(c) < 260; };
    const int with = count(scene.taken(frame), ALL, dark);
    frame.edges = false;
    const int without = count(scene.taken(frame), ALL, dark);
    CHECK(with > without + 200);
}

TEST_CASE("a painted fastener carries a stroke, and no other does") {
    Still scene(false);
    Frame frame = scene.frame();
    const auto paint = [](Colour3 c) { return c.r > 220 && c.g > 180 && c.b < 130; };
    CHECK(count(scene.taken(frame), ALL, paint) == 0);
    frame.painted.assign(scene.map.items.size(), 0);
    frame.painted[static_cast<std::size_t>(scene.bolt.index)] = 1;
    CHECK(count(scene.taken(frame), ALL, paint) > 30);
}

TEST_CASE("what is off is not in the picture, and what moved is elsewhere") {
    Still scene(true);
    Frame frame = scene.frame();
    const Pixels before = scene.taken(frame);
    frame.poses.assign(scene.map.items.size(), Pose{});
    CHECK(scene.taken(frame).rgb == before.rgb);
    frame.poses[static_cast<std::size_t>(scene.plate.index)].presence = 0;
    const Pixels gone = scene.taken(frame);
    CHECK(gone.rgb != before.rgb);
    frame.poses[static_cast<std::size_t>(scene.plate.index)] = {{5, 0, 0}, 1};
    const Pixels away = scene.taken(frame);
    CHECK(std::abs(brightness(pixel(away, 160, 60)) - brightness(pixel(gone, 160, 60))) < 40);
}

TEST_CASE("the gnomon has its three names on its plate, none over another, whatever the camera") {
    check_gnomon_all_round({}, 7.5);
}

TEST_CASE("the gnomon's capitals are as high as asked for, at any camera and in any picture with room for them") {
    struct Asked {
        int width, height;
        double capital_px;
    };
    for (const Asked& asked : {Asked{1280, 800, 12.1},
                               {800, 500, 12.1},
                               {500, 300, 12.1},
                               {700, 700, 24.2},
                               {600, 420, 24.2},
                               {1400, 900, 72.6}}) {
        Frame frame;
        frame.width_px = asked.width;
        frame.height_px = asked.height;
        frame.scale = asked.height / 800.0;
        frame.capital_px = asked.capital_px;
        CAPTURE(asked.width);
        CAPTURE(asked.capital_px);
        const Gnomon gnomon = gnomon_of(frame);
        CHECK(capital_height_px(Face::strong, gnomon.text_px) > asked.capital_px - 0.01);
        CHECK(gnomon.plate.right() < asked.width);
        CHECK(gnomon.plate.y > 0);
        check_gnomon_all_round(frame, 10);
    }
    // With no room for them they are as high as there is room for, and still whole.
    Frame small;
    small.width_px = 300;
    small.height_px = 200;
    small.scale = 0.25;
    small.capital_px = 72.6;
    CHECK(gnomon_of(small).plate.width <= 151);
    CHECK(gnomon_of(small).plate.height <= 101);
    check_gnomon(small);
}

TEST_CASE("the gnomon stands where it hides no fastener of the step, at the left of the foot where it can") {
    Still scene(false);
    Frame frame = scene.frame();
    frame.gnomon = true;
    CHECK(best_for_gnomon(scene.stage, {}, frame) == Corner::foot_left);
    frame.next = {scene.bolt};
    CHECK(best_for_gnomon(scene.stage, {}, frame) == Corner::foot_left); // the bolt is in the middle
    const auto standing = [&](Corner corner) {
        frame.gnomon_at = corner;
        return gnomon_rect(frame);
    };
    const Rect at_foot = standing(Corner::foot_left), on_top = standing(Corner::top_right);
    CHECK(at_foot.y > frame.height_px / 2);
    CHECK(on_top.right() > frame.width_px - at_foot.x - 1.01);
    CHECK(on_top.right() <= frame.width_px);
    CHECK(on_top.bottom() < frame.height_px / 2.0);
    // With the bolt under the plate's middle it goes along the foot; with others there, too, to the top.
    const auto put_at = [&](const Rect& plate) {
        const double metres_a_pixel =
            2 * frame.camera.distance_m /
            project(frame.camera, {320, 200}, bounds_of(scene.stage, frame.poses)).projection[1][1] / 200;
        Pose pose;
        pose.shift_m = {(plate.x + plate.width / 2 - 160) * metres_a_pixel,
                        (100 - plate.y - plate.height / 2) * metres_a_pixel, 0};
        return pose;
    };
    frame.poses.assign(scene.map.items.size(), {});
    frame.poses[std::size_t(scene.bolt.index)] = put_at(at_foot);
    CHECK(best_for_gnomon(scene.stage, {}, frame) == Corner::foot_right);
    const std::vector<Rect> number{standing(Corner::foot_right)};
    CHECK(best_for_gnomon(scene.stage, number, frame) == Corner::top_right);
    frame.poses[std::size_t(scene.bolt.index)] = put_at(standing(Corner::foot_right));
    CHECK(best_for_gnomon(scene.stage, {}, frame) == Corner::foot_left);
}

TEST_CASE("paper beside the model is paper, whatever was drawn before") {
    Still scene(true);
    Frame frame = scene.frame();
    frame.camera.distance_m = 0.3; // the model all over it
    scene.taken(frame);
    frame.camera.distance_m = 3;
    const Pixels pixels = scene.taken(frame);
    const Colour3 paper = pixel(pixels, 2, 2);
    int other = 0;
    for (int y = 0; y < 200; ++y)
        for (int x = 0; x < 320; ++x)
            if (x < 130 || x > 190 || y < 70 || y > 130) {
                const Colour3 here = pixel(pixels, x, y);
                other += here.r != paper.r || here.g != paper.g || here.b != paper.b;
            }
    CHECK(other == 0);
    CHECK(brightness(pixel(pixels, 160, 100)) < brightness(paper));
}

TEST_CASE("in a small drawing the gnomon's plate is smaller, and never too small to read") {
    Frame frame;
    frame.width_px = 1280;
    frame.height_px = 800;
    const double whole = gnomon_rect(frame).width;
    frame.width_px = 600;
    frame.height_px = 440;
    CHECK(gnomon_rect(frame).width < 0.25 * 440);
    frame.height_px = 100;
    CHECK(gnomon_rect(frame).width > 0.55 * whole);
}

TEST_CASE("the gnomon is in the picture") {
    Still scene(false);
    Frame frame = scene.frame();
    frame.scale = 1;
    frame.gnomon = true;
    const Rect rect = gnomon_rect(frame);
    const Pixels pixels = scene.taken(frame);
    const auto ink = [](Colour3 c) { return brightness(c) < 300; };
    const Rect inside{rect.x + 3, rect.y + 3, rect.width - 6, rect.height - 6};
    CHECK(count(pixels, inside, ink) > 0.015 * inside.width * inside.height);
}

TEST_CASE("equal frames give equal pictures, and need no new one") {
    Still scene(true);
    Frame frame = scene.frame();
    frame.next = {scene.bolt};
    CHECK(needs_frame(*scene.drawing, frame));
    const Pixels first = scene.taken(frame);
    CHECK(!needs_frame(*scene.drawing, frame));
    CHECK(scene.taken(frame).rgb == first.rgb);
    frame.camera.yaw_deg += 1;
    CHECK(needs_frame(*scene.drawing, frame));
}

TEST_CASE("labels are laid off caption and gnomon, and are drawn") {
    Still scene(false);
    Frame frame = scene.frame();
    frame.width_px = 640;
    frame.height_px = 400;
    frame.gnomon = true;
    frame.next = {scene.bolt};
    frame.caption.headline = "Take out 1 bolt";
    frame.labels = {{"M10x1.25 × 35", "hex 14 · 64 N·m", {scene.bolt}, {}}};
    place_labels(scene.stage, {}, frame);
    REQUIRE(frame.layout.boxes.size() == 1);
    CHECK(!overlap(frame.layout.boxes[0].box, gnomon_rect(frame)));
    CHECK(!overlap(frame.layout.boxes[0].box, caption_rect(frame)));
    const Pixels pixels = scene.taken(frame);
    const auto ink = [](Colour3 c) { return brightness(c) < 200; };
    CHECK(count(pixels, frame.layout.boxes[0].box, ink) > 60);
    CHECK(count(pixels, caption_rect(frame), ink) > 60);
}

TEST_CASE("sizes that cannot be are an error in words") {
    Still scene(false);
    Frame frame = scene.frame();
    frame.width_px = 0;
    CHECK(!render(*scene.drawing, frame));
    frame.width_px = 10000000;
    const auto failed = render(*scene.drawing, frame);
    REQUIRE(!failed);
    CHECK(failed.error().find("10000000") != std::string::npos);
}

TEST_CASE("an empty map is an empty picture") {
    context();
    const Map map;
    const Stage stage = make_stage(map);
    auto drawing = make_drawing(stage);
    REQUIRE(drawing);
    Frame frame;
    frame.width_px = 100;
    frame.height_px = 80;
    const auto pixels = render(**drawing, frame);
    REQUIRE(pixels);
    CHECK(std::abs(pixel(*pixels, 90, 5).r - DAYLIGHT.paper.r) < 14);
}

TEST_CASE("a picture is written, and where it cannot be is said") {
    Pixels pixels{2, 1, {255, 0, 0, 0, 0, 255}};
    const std::string path = std::string(BOLTWALK_BUILD_DIR) + "/two_pixels.png";
    REQUIRE(write_png(pixels, path));
    std::ifstream file(path, std::ios::binary);
    std::string head(8, '\0');
    file.read(head.data(), 8);
    CHECK(head == "\x89PNG\r\n\x1a\n");
    const auto failed = write_png(pixels, "/no such folder/a.png");
    REQUIRE(!failed);
    CHECK(failed.error().find("/no such folder/a.png") != std::string::npos);
}
