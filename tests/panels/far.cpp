// The drawing as it is read from 3 m, with everything that stands over it: labels, numbers, gnomon.
#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <string>
#include <thread>

#include "tests/panels/walked.hpp"
#include "viewer/draw/shapes.hpp"
#include "viewer/panels/picture.hpp"

using namespace boltwalk;

namespace {

constexpr double A_FRAME_S = 0.1; ///< the longest that the window counts as motion
constexpr int FRAMES = 60;

/// Frame after frame until nothing moves, as the window has them.
void rest(View& view, double text_px, const Box& box, Picture& picture) {
    for (int i = 0; i < FRAMES; ++i) {
        const bool moved = is_moving(view);
        advance(view, A_FRAME_S);
        next_picture(view, text_px, 1, box, picture);
        if (i > 1 && !moved && !is_moving(view))
            return;
    }
    FAIL("it does not come to rest");
}

/// Labels that found no room though what they name is in the picture.
std::string missing_in(const View& view, const Frame& frame) {
    const Map& map = view.session->map;
    const Projection projection =
        project(frame.camera, {frame.width_px, frame.height_px}, bounds_of(view.session->stage, frame.poses));
    std::string words;
    for (const std::int32_t wish : frame.layout.left_out) {
        if (std::size_t(wish) >= frame.labels.size())
            continue;
        for (const ItemId item : frame.labels[std::size_t(wish)].items)
            if (map.is_fastener(item) ? fastener_mark(view.session->stage, frame, projection, item).has_value()
                                      : part_mark(view.session->stage, frame, projection, item).has_value()) {
                words += "\"" + frame.labels[std::size_t(wish)].headline + "\" ";
                break;
            }
    }
    return words;
}

} // namespace

TEST_CASE("from 3 m every step's own picture names all that is in it, with the numbers beside the heads") {
    for (const char* name : {"water_pump.glb", "transfer_box.glb"}) {
        for (const auto& [width, height, px_per_mm] : {std::tuple{800.0F, 1280.0F, 96 / 25.4},
                                                       {2000.0F, 1200.0F, 9.2},
                                                       {1200.0F, 2000.0F, 96 / 25.4},
                                                       {1200.0F, 2000.0F, 9.2}}) {
            const Screen screen{px_per_mm, true};
            const Sizes sizes = sizes_in(Distance::helper, screen, width, height);
            // Whoever presses stands at the screen: what is out is written for the hand.
            const Strips strips{sizes_for(Distance::hand, screen).target, 0};
            const Box box = lay_out(width, height, sizes, false, true, {}, strips).drawing;
            CAPTURE(name);
            CAPTURE(width);
            CAPTURE(px_per_mm);
            View view = opened(copied("far", name), {box.w, box.h});
            while (is_studying(view))
                std::this_thread::sleep_for(std::chrono::milliseconds(5));
            int labels = 0, numbers = 0, wishes = 0;
            Picture picture;
            for (const bool back : {false, true}) {
                take_way(view, back);
                go_to(view, 0);
                for (std::size_t at = 0; at < steps_of(view); ++at) {
                    rest(view, double(sizes.text), box, picture);
                    const Frame& frame = picture.frame;
                    const std::string missing = missing_in(view, frame);
                    CAPTURE(back);
                    CAPTURE(at);
                    CAPTURE(missing);
                    CHECK(missing.empty());
                    std::vector<Rect> taken = number_boxes(picture.numbers, 1);
                    taken.push_back(gnomon_rect(frame));
                    for (const LabelBox& label : frame.layout.boxes) {
                        CAPTURE(label.wish);
                        CHECK(label.opacity > 0.95);
                        CHECK(std::none_of(taken.begin(), taken.end(),
                                           [&](const Rect& other) { return overlap(label.box, other); }));
                    }
                    labels += int(frame.layout.boxes.size());
                    numbers += int(picture.numbers.size());
                    wishes += int(frame.labels.size());
                    go_to(view, at + 1);
                }
            }
            MESSAGE(std::string(name) << ", " << box.w << "x" << box.h << ": " << labels << " labels, " << numbers
                                      << " numbers");
            CHECK(wishes > 20);
            CHECK(labels >= wishes);
            CHECK(numbers > 30);
        }
    }
}
