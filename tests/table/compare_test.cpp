#include <doctest/doctest.h>

#include "core/table/compare.hpp"

using namespace boltwalk;

namespace {

/// Plates over one another on a frame, each with a bolt; `nodes` come on top.
std::string file_with(const std::string& steps_a, const std::string& steps_b, const std::string& steps_c,
                      const std::string& nodes = "", const std::string& numbers = "") {
    return R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0,1,2,3,4,5,6)" + numbers +
           R"(],"extras":{"job":"Plates"}}],"nodes":[
{"name":"frame","extras":{"part":"Frame","fixed":true}},
{"name":"plate_a","extras":{"part":"Plate A"}},{"name":"plate_b","extras":{"part":"Plate B"}},
{"name":"plate_c","extras":{"part":"Plate C"}},
{"name":"bolt_a","extras":{"fastener":"bolt","holds":"plate_a; frame","step":)" +
           steps_a + R"(}},
{"name":"bolt_b","extras":{"fastener":"bolt","holds":"plate_b; frame","step":)" +
           steps_b + R"(}},
{"name":"bolt_c","extras":{"fastener":"bolt","holds":"plate_c; frame","step":)" +
           steps_c + "}}" + nodes + "]}";
}

std::vector<MapDifference> differences(const std::string& first, const std::string& second) {
    const auto bytes = [](const std::string& text) { return std::as_bytes(std::span(text.data(), text.size())); };
    const auto a = read_map_bytes(bytes(first), "a.gltf", ""), b = read_map_bytes(bytes(second), "b.gltf", "");
    REQUIRE(a);
    REQUIRE(b);
    return compare_maps(*a, bytes(first), *b, bytes(second));
}

std::vector<std::string> names(const std::vector<MapDifference>& all, Changed what) {
    std::vector<std::string> out;
    for (const MapDifference& d : all)
        if (d.what == what)
            out.insert(out.end(), d.names.begin(), d.names.end());
    return out;
}

} // namespace

TEST_CASE("equal maps differ in nothing") {
    CHECK(differences(file_with("1", "2", "3"), file_with("1", "2", "3")).empty());
}

TEST_CASE("only what left its place among the others has moved") {
    // a, b, c before; b, c, a after: a moved, though every step's number changed.
    const auto all = differences(file_with("1", "2", "3"), file_with("3", "1", "2"));
    CHECK(names(all, Changed::order) == std::vector<std::string>{"bolt_a"});
}

TEST_CASE("a bolt more, a bolt less") {
    const std::string more = R"(,{"name":"bolt_d","extras":{"fastener":"bolt","holds":"plate_a; frame","step":1}})";
    const auto all = differences(file_with("1", "2", "3"), file_with("1", "2", "3", more, ",7"));
    CHECK(names(all, Changed::added) == std::vector<std::string>{"bolt_d"});
    CHECK(names(all, Changed::order).empty());
    const auto back = differences(file_with("1", "2", "3", more, ",7"), file_with("1", "2", "3"));
    CHECK(names(back, Changed::gone) == std::vector<std::string>{"bolt_d"});
}

TEST_CASE("what a group states holds for its members, told once") {
    const auto group = [](const char* torque) {
        return std::string(R"(,{"name":"group","children":[8,9],"extras":{"group":"More","fastener":"bolt",)") +
               R"("holds":"plate_a; frame","torque":")" + torque +
               R"("}},{"name":"d1","extras":{"fastener":"bolt"}},)" + R"({"name":"d2","extras":{"fastener":"bolt"}})";
    };
    const auto all =
        differences(file_with("1", "2", "3", group("20 N·m"), ",7"), file_with("1", "2", "3", group("22 N·m"), ",7"));
    REQUIRE(all.size() == 1);
    CHECK(all[0].names == std::vector<std::string>{"d1", "d2"});
    CHECK(sentence_of(all[0]) == "More (d1, d2): torque: 22 N·m, was: 20 N·m");
}

TEST_CASE("figures without a source are known by their titles, unless the map states one for all") {
    const std::string text = file_with(
        "1", "2", "3", R"(,{"name":"e","extras":{"fastener":"bolt","holds":"plate_a; frame","thread":"M8"}})", ",7");
    auto map = read_map_bytes(std::as_bytes(std::span(text.data(), text.size())), "a.gltf", "").value();
    CHECK(figures_without_source(map) == std::vector<std::string>{"e"});
    map.source = "a manual";
    CHECK(figures_without_source(map).empty());
}
