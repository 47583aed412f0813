// No driver: a sentence, no crash. Run in a process of its own, since EGL looks for its drivers once.
#include <cstdlib>

#include <doctest/doctest.h>

#include "viewer/draw/draw.hpp"

using namespace boltwalk;

TEST_CASE("context: asked where no driver can be found" * doctest::skip()) {
    const auto context = open_offscreen();
    REQUIRE(!context);
    CHECK(context.error().find("no OpenGL to draw with") != std::string::npos);
    CHECK(context.error().find("libegl-mesa0") != std::string::npos); // what to install
}

TEST_CASE("where no driver can be found the error says what was tried and what to install") {
    // GL's vendor library (libglvnd) reads its drivers' descriptions from this folder instead of its own.
    const std::string self = BOLTWALK_BUILD_DIR "/test_draw";
    const std::string command = "__EGL_VENDOR_LIBRARY_DIRS=/nowhere '" + self +
                                "' --no-skip --test-case='context: asked where*' >/dev/null 2>&1";
    CHECK(std::system(command.c_str()) == 0); // NOLINT(concurrency-mt-unsafe)
}
