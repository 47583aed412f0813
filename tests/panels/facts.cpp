#include "viewer/panels/facts.hpp"

#include <doctest/doctest.h>

using namespace boltwalk;

TEST_CASE("what is to be fetched in a line: a tool once, behind all that it is for; how tight where it is asked for") {
    const auto kind = [](int count, const char* size, const char* tool, const char* torque = "") {
        Hardware h;
        h.count = count;
        h.kind = "split pin";
        h.size = size;
        h.tool = tool;
        h.torque = torque;
        return h;
    };
    // A blank at which a line may break stands for one; "_" here for one at which none does.
    const auto brief = [](const std::vector<Hardware>& hardware, bool with_torque) {
        std::string text = hardware_in_brief(hardware, with_torque);
        for (std::size_t at = 0; (at = text.find("\u00a0", at)) != std::string::npos;)
            text.replace(at, 2, "_");
        return text;
    };
    CHECK(brief({kind(5, "M8 × 25", "hex 13", "22 N·m")}, false) == "5_×_M8_×_25 · hex_13");
    CHECK(brief({kind(5, "M8 × 25", "hex 13", "22 N·m")}, true) == "5_×_M8_×_25 · hex_13 · 22_N·m");
    const std::vector<Hardware> several{kind(2, "M8 × 60", "hex 13", "22 N·m"), kind(1, "", ""),
                                        kind(1, "M8 × 40", "hex 13", "18 N·m"), kind(4, "M6 × 16", "hex 10", "9 N·m")};
    CHECK(brief(several, false) == "2_×_M8_×_60, 1_×_M8_×_40 · hex_13; 1_×_split_pin; 4_×_M6_×_16 · hex_10");
    CHECK(brief(several, true) ==
          "2_×_M8_×_60 · hex_13 · 22_N·m; 1_×_split_pin; 1_×_M8_×_40 · hex_13 · 18_N·m; 4_×_M6_×_16 · hex_10 · 9_N·m");
    // Of one size, though more is said of some of them.
    CHECK(brief({kind(5, "M10 × 40", "hex 16"), kind(2, "", ""), kind(1, "M10 × 40", "hex 16"), kind(1, "", "")},
                false) == "6_×_M10_×_40 · hex_16; 3_×_split_pin");
    CHECK(brief({}, true).empty());
}
