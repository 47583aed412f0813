#include "viewer/panels/facts.hpp"

#include <doctest/doctest.h>

using namespace boltwalk;

TEST_CASE("what is to be fetched in a line: a tool once, behind all that it is for") {
    const auto kind = [](int count, const char* size, const char* tool) {
        Hardware h;
        h.count = count;
        h.kind = "split pin";
        h.size = size;
        h.tool = tool;
        return h;
    };
    CHECK(hardware_in_brief({kind(5, "M8 × 25", "hex 13")}) == "5 × M8 × 25 · hex\u00a013");
    CHECK(hardware_in_brief({kind(2, "M8 × 60", "hex 13"), kind(1, "", ""), kind(1, "M8 × 40", "hex 13"),
                             kind(4, "M6 × 16", "hex 10")}) ==
          "2 × M8 × 60, 1 × M8 × 40 · hex\u00a013; 1 × split pin; 4 × M6 × 16 · hex\u00a010");
    CHECK(hardware_in_brief({}).empty());
}
