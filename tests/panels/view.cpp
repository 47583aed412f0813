#include "viewer/panels/view.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <string>
#include <thread>

#include "viewer/panels/aloud.hpp"
#include "viewer/panels/bookmark.hpp"
#include "viewer/panels/facts.hpp"

using namespace boltwalk;

/// What would have been said.
static std::vector<std::string> heard;
void boltwalk::say(const std::string& text) {
    heard.push_back(text);
}

namespace {

const std::string PUMP = std::string(BOLTWALK_SOURCE_DIR) + "/assets/water_pump.glb";

void wait_for_opening(View& view) {
    while (view.opening) {
        take_opened(view);
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
}

View opened(bool read = true) {
    View view;
    view.drawing_px = {800, 600};
    open(view, PUMP);
    wait_for_opening(view);
    view.start_read = read;
    return view;
}

void let_pass(View& view) {
    for (int i = 0; i < 1000 && is_moving(view); ++i)
        advance(view, 0.02);
    CHECK_FALSE(is_moving(view));
}

} // namespace

TEST_CASE("no step before the start card is read") {
    View view = opened(false);
    REQUIRE(view.session);
    step_on(view);
    CHECK(view.at == 0);
    view.start_read = true;
    step_on(view);
    CHECK(view.at == 1);
}

TEST_CASE("walking to the end and back shows the same states as replaying does") {
    View view = opened();
    const std::size_t steps = steps_of(view);
    REQUIRE(steps > 3);
    State state = start_of(*view.session, false);
    for (std::size_t i = 0; i < steps; ++i) {
        CHECK(view.shot.before.fasteners == state.fasteners);
        CHECK(view.shot.before.parts == state.parts);
        apply_step(view.session->job, state, view.session->strip.steps[i]);
        step_on(view);
    }
    CHECK(at_end(view));
    CHECK(view.shot.before.parts == state.parts);
    CHECK(view.shot.next.empty());
    step_on(view);
    CHECK(view.at == steps);
    for (std::size_t i = 0; i < steps; ++i)
        step_back(view);
    CHECK(view.at == 0);
    step_back(view);
    CHECK(view.at == 0);
    CHECK(view.shot.before.fasteners == as_found(view.session->job).fasteners);
}

TEST_CASE("the refit begins where the strip ended, and what goes back is drawn") {
    View view = opened();
    take_way(view, true);
    let_pass(view);
    CHECK(view.at == 0);
    const auto poses = poses_now(view);
    for (std::size_t i = 0; i < steps_of(view); ++i) {
        let_pass(view);
        const auto now = poses_now(view);
        for (const ItemId item : view.shot.next)
            if (!view.session->stage.item_bounds[std::size_t(item.index)].empty())
                CHECK_MESSAGE(now[std::size_t(item.index)].presence > 0, view.session->map[item].name);
        step_on(view);
    }
}

TEST_CASE("a view turned by hand is kept until the next step") {
    View view = opened();
    let_pass(view);
    const Camera by_hand = orbited(camera_now(view), 40, 10);
    turn_by_hand(view, by_hand);
    CHECK(view.by_hand);
    CHECK(camera_now(view) == by_hand);
    step_on(view);
    CHECK_FALSE(view.by_hand);
    let_pass(view);
    CHECK_FALSE(camera_now(view) == by_hand);
}

TEST_CASE("picking by key goes round the step's own items") {
    View view = opened();
    while (!at_end(view) && view.shot.next.size() < 3)
        step_on(view);
    REQUIRE(view.shot.next.size() >= 3);
    const auto first = view.shot.next.front();
    pick_next(view, 1);
    CHECK(view.picked == first);
    CHECK(view.panel == Panel::about);
    for (std::size_t i = 0; i < view.shot.next.size(); ++i)
        pick_next(view, 1);
    CHECK(view.picked == first);
    pick_next(view, -1);
    CHECK(view.picked == view.shot.next.back());
}

TEST_CASE("a node is gone to by its name, and one that is not there is said so") {
    View view = opened();
    const std::string name = view.session->map.items.front().name;
    CHECK(go_to_node(view, name));
    CHECK(view.picked == find_item(view.session->map, name));
    CHECK_FALSE(go_to_node(view, "no such node"));
}

TEST_CASE("a file that is no map leaves what is open, and says why") {
    View view = opened();
    open(view, std::string(BOLTWALK_SOURCE_DIR) + "/README.md");
    wait_for_opening(view);
    CHECK(view.session);
    CHECK(view.error.find("README.md") != std::string::npos);
}

TEST_CASE("a cancelled opening is no error") {
    View view;
    open(view, PUMP);
    view.opening->cancel();
    wait_for_opening(view);
    CHECK(view.error.empty());
}

TEST_CASE("a key in a finding's words stands between quotation marks on the screen") {
    CHECK(on_screen("Write `from` on them, or `target`.") == "Write “from” on them, or “target”.");
    CHECK(on_screen("`") == "`");
    CHECK(on_screen("`a` b`") == "“a” b`");
    CHECK(on_screen("plain") == "plain");
    CHECK(on_screen("\x1b`a`") == printable("\x1b“a”"));
    CHECK(on_screen("").empty());
}

TEST_CASE("facts: what is not stated says so") {
    const View view = opened();
    const Map& map = view.session->map;
    for (const Fastener& fastener : map.fasteners) {
        const auto facts = facts_of(map, fastener.item);
        const auto torque = std::find_if(facts.begin(), facts.end(), [](const Fact& f) { return f.name == "Torque"; });
        REQUIRE(torque != facts.end());
        CHECK(torque->stated == fastener.torque.has_value());
        CHECK(torque->value == (fastener.torque ? fastener.torque->text : "not stated"));
    }
}

TEST_CASE("estimates can be stopped, and go on with what is not there") {
    View view = opened();
    Study& study = *view.study;
    study.stop();
    while (!study.finished())
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    const bool had_all = study.whole(); // on a machine so quick there is nothing left to go on with
    const bool had_explosion = study.explosion() != nullptr;
    explode_to(view, 0.5);
    CHECK(view.explode_wanted == (had_explosion ? 0.5 : 0.0));
    CHECK(is_studying(view) == !had_all);
    for (int turn = 0; turn < 3; ++turn) { // stopped again and again, it comes to its end all the same
        study.resume();
        study.stop();
        while (!study.finished())
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
    study.resume();
    while (!study.finished())
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    CHECK(study.whole());
    CHECK_FALSE(is_studying(view));
    REQUIRE(study.out_of_sight());
    REQUIRE(study.overlays(false));
    REQUIRE(study.overlays(true));
    REQUIRE(study.in_the_way());
    // The same as in one go.
    View other = opened();
    while (!other.study->finished())
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    CHECK(*other.study->overlays(false) == *study.overlays(false));
    CHECK(*other.study->overlays(true) == *study.overlays(true));
    CHECK(other.study->out_of_sight()->size() == study.out_of_sight()->size());
    explode_to(view, 0.5);
    CHECK(view.explode_wanted == 0.5);
    let_pass(view);
    CHECK(overlays_now(view).tools.empty()); // nothing is where it was measured
}

TEST_CASE("a bookmark brings back the step, the way and the person's own view, and asks for the start card again") {
    View view = opened();
    take_way(view, true);
    for (int i = 0; i < 3; ++i)
        step_on(view);
    let_pass(view);
    view.see_through = true;
    turn_by_hand(view, orbited(camera_now(view), 40, 10));
    const std::string mark = bookmark_of(view);
    View again = opened(false);
    REQUIRE(take_bookmark(again, mark));
    CHECK(again.back);
    CHECK(again.at == 3);
    CHECK(again.see_through);
    CHECK_FALSE(again.start_read);
    CHECK_FALSE(is_moving(again));
    CHECK(camera_now(again) == camera_now(view));
    CHECK(again.shot.before.fasteners == view.shot.before.fasteners);
    again.start_read = true;
    CHECK(bookmark_of(again) == mark);
}

TEST_CASE("a dropped text is a list of tools; one that is wrong is told, and what was known still is") {
    View view = opened();
    const std::string good = "build_tools_good.txt", bad = "build_tools_bad.txt";
    std::ofstream(good) << "torque wrench 20..100 N·m square 12.5\nratchet 200\n";
    std::ofstream(bad) << "torque wrench 20..100 N·m\ntorque ranch 5\n";
    take_dropped(view, {good});
    REQUIRE(view.wrenches);
    CHECK(view.wrenches->tools.size() == 2);
    CHECK(view.panel == Panel::display);
    CHECK(view.error.empty());
    take_dropped(view, {bad});
    CHECK(view.error.find(bad) != std::string::npos);
    CHECK(view.wrenches->tools.size() == 2);
    take_dropped(view, {"none_there.txt"});
    CHECK(view.error.find("none_there.txt: cannot be read") != std::string::npos);
    std::remove(good.c_str());
    std::remove(bad.c_str());
}

TEST_CASE("a bookmark that is none, or is another plan's, moves nobody") {
    View view = opened();
    for (const char* text : {"", "{", "[]", "null", "{\"at\":3}", "\xff\xfe", "12"})
        CHECK_FALSE(take_bookmark(view, text));
    for (const char* text :
         {R"({"bookmark":1,"at":3,"of":9999})", R"({"bookmark":1,"at":-1,"of":9999})", R"({"bookmark":1,"at":1e300})",
          R"({"bookmark":1,"at":"3","of":true,"camera":{"x":1e99}})", R"({"bookmark":1,"camera":[]})"}) {
        CHECK(take_bookmark(view, text));
        CHECK(view.at == 0);
        CHECK_FALSE(view.by_hand);
    }
    CHECK(bookmark_of(View{}).empty());
}

TEST_CASE("settings come back with the ruler's correction, and only within what a display can be") {
    View view;
    Screen screen;
    bool corrected = false;
    view.night = true;
    view.reach = Distance::bench;
    View again;
    REQUIRE(take_settings(again, screen, corrected, settings_of(view, {7.5, false}, true)));
    CHECK(again.night);
    CHECK(again.reach == Distance::bench);
    CHECK(screen.px_per_mm == 7.5);
    CHECK(corrected);
    CHECK(take_settings(again, screen, corrected, R"({"settings":1,"px_per_mm":0,"reach":"moon"})"));
    CHECK(screen.px_per_mm == 7.5);
    CHECK(again.reach == Distance::bench);
}

TEST_CASE("a step is read aloud once, in words, and only when that was switched on") {
    View view = opened();
    heard.clear();
    Reader reader;
    reader.follow(view);
    step_on(view);
    reader.follow(view);
    CHECK(heard.empty()); // off by default
    view.aloud = true;
    reader.follow(view);
    reader.follow(view);
    REQUIRE(heard.size() == 1);
    CHECK(heard[0].starts_with("Step 2 of 15. "));
    bool cautioned = false;
    bool measured = false;
    for (const bool back : {false, true}) {
        take_way(view, back);
        for (std::size_t i = 0; i < steps_of(view); ++i) {
            go_to(view, i);
            const std::string words = step_aloud(view);
            cautioned = cautioned || words.find(" Caution: ") != std::string::npos;
            measured = measured || words.find(" newton metres") != std::string::npos;
            for (const char* sign : {"·", "×", "_", "°"})
                CHECK(words.find(sign) == std::string::npos);
        }
    }
    CHECK(cautioned);
    CHECK(measured);
    view.aloud = false;
    reader.follow(view);
    CHECK(heard.back().empty()); // hush
}

TEST_CASE("as one lies underneath the picture is turned, and nothing else") {
    View view = opened();
    look_from(view, Place::under);
    let_pass(view);
    const Camera seen = camera_now(view);
    const auto up = [&] { return upright_of(camera_now(view)).z; };
    // What is shown as chosen is what holds, also before anybody asked.
    CHECK(lying_shown(view) == (up() > 0 ? Lying::head_forward : Lying::head_rearward));
    lie(view, Lying::head_forward);
    CHECK(up() > 0);
    CHECK(lying_shown(view) == Lying::head_forward);
    turn_by_hand(view, orbited(camera_now(view), 180, 0)); // half round: now the rear is up
    CHECK(up() < 0);
    CHECK(lying_shown(view) == Lying::head_rearward);
    turn_by_hand(view, seen);
    lie(view, Lying::head_rearward);
    CHECK(up() < 0);
    CHECK(lying_shown(view) == Lying::head_rearward);
    const Camera turned = camera_now(view);
    CHECK(eye_of(turned) == eye_of(seen));
    const Projection before = project(seen, {800, 600}, view.session->stage.bounds);
    const Projection after = project(turned, {800, 600}, view.session->stage.bounds);
    const glm::dvec3 somewhere = view.session->stage.bounds.high;
    const auto was = to_screen(before, somewhere);
    const auto is = to_screen(after, somewhere);
    REQUIRE(was);
    REQUIRE(is);
    // Half a turn about the picture's middle, no mirror; the depth stays.
    CHECK(is->x == doctest::Approx(800 - was->x));
    CHECK(is->y == doctest::Approx(600 - was->y));
    CHECK(is->z == doctest::Approx(was->z));
    // From elsewhere than under the vehicle's up stays up.
    look_from(view, Place::front);
    let_pass(view);
    CHECK_FALSE(camera_now(view).turned);
    CHECK(upright_of(camera_now(view)).y > 0);
    CHECK(lying_shown(view) == Lying::as_seen);
    lie(view, Lying::head_forward); // kept for pictures from under; this one stays as it is
    CHECK(upright_of(camera_now(view)).y > 0);
    CHECK(lying_shown(view) == Lying::as_seen);
    lie(view, Lying::head_rearward);
    // What is dragged follows the pointer in either.
    const Camera dragged = orbited(turned, 10, 0), plain = orbited(seen, -10, 0);
    CHECK(dragged.yaw_deg == doctest::Approx(plain.yaw_deg));
}
