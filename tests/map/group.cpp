// A new node above others: where each stands stays as it was.

#include "tests/map/tiny.hpp"

using namespace boltwalk;
using namespace tiny;

namespace {

std::string grouped(const std::string& file, const std::vector<std::int32_t>& nodes) {
    const Map map = map_of(file);
    const auto out = write_group(span_of(file), map, "g", nodes);
    if (!out) {
        FAIL(out.error().text);
    }
    return *out;
}

void check_places(const std::string& before, const std::string& after) {
    const Map a = map_of(before);
    const Map b = map_of(after);
    REQUIRE(b.nodes.size() == a.nodes.size() + 1);
    for (std::size_t n = 0; n < a.nodes.size(); ++n) {
        CHECK(b.nodes[n].name == a.nodes[n].name);
        CHECK(b.nodes[n].in_scene == a.nodes[n].in_scene);
        for (std::size_t k = 0; k < 16; ++k) {
            CHECK(b.nodes[n].world[k] == doctest::Approx(a.nodes[n].world[k]));
        }
    }
}

std::vector<std::int32_t> parents(const Map& map) {
    std::vector<std::int32_t> out;
    for (const Node& node : map.nodes) {
        out.push_back(node.parent);
    }
    return out;
}

} // namespace

TEST_CASE("roots of the scene: the group takes the place of the first") {
    const std::string file =
        gltf(R"({"name":"a","mesh":0},{"name":"b","mesh":0,"translation":[1,2,3]},{"name":"c","mesh":0})",
             R"({"nodes":[0,1,2]})");
    const std::string after = grouped(file, {2, 1});
    check_places(file, after);
    CHECK(parents(map_of(after)) == std::vector<std::int32_t>{-1, 3, 3, -1});
    CHECK(after.find(R"("nodes":[0,3])") != std::string::npos);
    CHECK(after.find(R"({"name":"g","children":[1,2]})") != std::string::npos);
}

TEST_CASE("children of one node: the group stands below it") {
    const std::string file = gltf(
        R"({"name":"top","children":[1,2,3],"rotation":[0,0.6,0,0.8],"scale":[2,1,1]},{"name":"a","mesh":0,"translation":[1,0,0]},)"
        R"({"name":"b","mesh":0},{"name":"c","mesh":0})",
        R"({"nodes":[0]})");
    const std::string after = grouped(file, {1, 3});
    check_places(file, after);
    CHECK(parents(map_of(after)) == std::vector<std::int32_t>{-1, 4, 0, 4, 0});
}

TEST_CASE("of different parents: at the top, with a matrix where the parent was moved") {
    const std::string file = gltf(
        R"({"name":"p","children":[1],"translation":[0,5,0]},{"name":"a","mesh":0,"rotation":[0,0.6,0,0.8],"scale":[1,2,3],"translation":[1,0,0],"extras":{"x":1}},)"
        R"({"name":"q","children":[3]},{"name":"b","mesh":0,"scale":[2,2,2]},{"name":"c","mesh":0})",
        R"({"nodes":[0,2,4]})");
    const std::string after = grouped(file, {1, 3, 4});
    check_places(file, after);
    CHECK(parents(map_of(after)) == std::vector<std::int32_t>{-1, 5, -1, 5, 5, -1});
    CHECK(after.find("\"children\":[]") == std::string::npos);                          // glTF wants at least one
    CHECK(after.find(R"({"name":"b","mesh":0,"scale":[2,2,2]})") != std::string::npos); // its parent moved nothing
    CHECK(after.find(R"("extras":{"x":1},"matrix":[)") != std::string::npos);
    CHECK(after.find("rotation") == std::string::npos);
    std::string animated = file;
    animated.insert(1, R"("animations":[],)");
    const Map map = map_of(animated);
    CHECK_FALSE(write_group(span_of(animated), map, "g", std::vector<std::int32_t>{1, 3}).has_value());
}

TEST_CASE("of two nodes one below the other the lower one goes along; without a scene, too") {
    const std::string file =
        gltf(R"({"name":"a","mesh":0,"children":[1]},{"name":"b","mesh":0},{"name":"c","mesh":0})");
    const std::string after = grouped(file, {1, 0, 2});
    check_places(file, after);
    CHECK(parents(map_of(after)) == std::vector<std::int32_t>{3, 0, 3, -1});
}

TEST_CASE("a group of nothing, or of what is not there, is none") {
    const std::string file = gltf(R"({"name":"a","mesh":0})");
    const Map map = map_of(file);
    for (const std::vector<std::int32_t>& nodes : {std::vector<std::int32_t>{}, {-1}, {1}}) {
        CHECK_FALSE(write_group(span_of(file), map, "g", nodes).has_value());
    }
}
