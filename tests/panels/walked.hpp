// A walk over a demo map, logged in a folder of its own, as tests take it.
#pragma once

#include <doctest/doctest.h>

#include <chrono>
#include <filesystem>
#include <string>
#include <thread>

#include "viewer/panels/walk.hpp"

namespace boltwalk {

/// A copy of a map in a folder of its own, with no log beside it.
inline std::string copied(const char* test, const std::string& map = "water_pump.glb") {
    namespace files = std::filesystem;
    const files::path folder = files::path(BOLTWALK_BUILD_DIR) / "panels_walk" / test;
    files::remove_all(folder);
    files::create_directories(folder);
    files::copy_file(files::path(BOLTWALK_SOURCE_DIR) / "assets" / map, folder / map);
    return (folder / map).string();
}

/// Cameras are worked out for a drawing of that size.
inline View opened(const std::string& path, glm::dvec2 drawing_px = {800, 600}) {
    View view;
    view.drawing_px = drawing_px;
    view.keeper_for = keep_beside;
    open(view, path);
    while (view.opening) {
        take_opened(view);
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
    view.start_read = true;
    REQUIRE(view.session);
    REQUIRE(view.keeper);
    return view;
}

/// Goes on until the step's headline begins so.
inline void walk_to(View& view, const std::string& headline) {
    for (int press = 0; press < 400 && !at_end(view); ++press) {
        const auto& cards = view.back ? view.session->refit_cards : view.session->strip_cards;
        if (cards[view.at].headline.starts_with(headline))
            return;
        enter_step(view);
    }
}

/// To the end of the way out, and onto the way back.
inline void walk_back(View& view) {
    walk_to(view, "no such step");
    take_way(view, true);
}

} // namespace boltwalk
