// Accessors in every layout that glTF allows, and node transforms.

#include <cmath>
#include <limits>

#include "tests/map/tiny.hpp"

using namespace boltwalk;
using namespace tiny;

namespace {

struct Parts {
    std::string buffer;           ///< bytes
    std::string views, accessors; ///< JSON, without brackets
    std::string primitive;        ///< JSON object
    std::string node = R"({"mesh":0})";
};

std::string file_of(const Parts& parts) {
    return fmt::format(R"({{"asset":{{"version":"2.0"}},"nodes":[{}],"meshes":[{{"name":"m","primitives":[{}]}}],)"
                       R"("accessors":[{}],"bufferViews":[{}],"buffers":[{{"byteLength":{},"uri":"{}"}}]}})",
                       parts.node, parts.primitive, parts.accessors, parts.views, parts.buffer.size(),
                       data_uri(parts.buffer));
}

std::string view(std::size_t offset, std::size_t length, std::size_t stride = 0) {
    return fmt::format(R"({{"buffer":0,"byteOffset":{},"byteLength":{}{}}})", offset, length,
                       stride == 0 ? std::string() : fmt::format(R"(,"byteStride":{})", stride));
}

std::string accessor(int view_index, int component, std::size_t count, const std::string& type,
                     const std::string& more = "") {
    return fmt::format(R"({{"bufferView":{},"componentType":{},"count":{},"type":"{}"{}}})", view_index, component,
                       count, type, more.empty() ? std::string() : "," + more);
}

/// Four corners of a square, in the order of a strip.
const std::string square = bytes_of<float>({0, 0, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0});

std::vector<std::uint32_t> corners(const Primitive& primitive) {
    std::vector<std::uint32_t> out;
    for (std::size_t i = 0; i < primitive.index_count; ++i) {
        out.push_back(primitive.index(i));
    }
    return out;
}

} // namespace

TEST_CASE("positions without indices are counted out") {
    const Map map = map_of(gltf(R"({"mesh":0})"));
    REQUIRE(map.meshes.size() == 1);
    REQUIRE(map.meshes[0].primitives.size() == 1);
    const Primitive& primitive = map.meshes[0].primitives[0];
    CHECK(corners(primitive) == std::vector<std::uint32_t>{0, 1, 2});
    CHECK(map.meshes[0].triangle_count == 1);
    CHECK(map.meshes[0].low == std::array<float, 3>{0, 0, 0});
    CHECK(map.meshes[0].high == std::array<float, 3>{1, 1, 0});
    CHECK(primitive.positions[1].x == 1.0F);
    CHECK(primitive.normals.count == 0);
}

TEST_CASE("strips and fans become lists with the winding of the specification") {
    Parts parts{square, view(0, 48), accessor(0, 5126, 4, "VEC3"), R"({"attributes":{"POSITION":0},"mode":5})"};
    CHECK(corners(map_of(file_of(parts)).meshes[0].primitives[0]) == std::vector<std::uint32_t>{0, 1, 2, 1, 3, 2});
    parts.primitive = R"({"attributes":{"POSITION":0},"mode":6})";
    CHECK(corners(map_of(file_of(parts)).meshes[0].primitives[0]) == std::vector<std::uint32_t>{1, 2, 0, 2, 3, 0});
    // Two corners make no triangle.
    parts.accessors = accessor(0, 5126, 2, "VEC3");
    const Map map = map_of(file_of(parts));
    CHECK(map.meshes[0].triangle_count == 0);
    CHECK(map.meshes[0].low[0] > map.meshes[0].high[0]);
}

TEST_CASE("an indexed strip, of bytes") {
    const Parts parts{square + bytes_of<std::uint8_t>({3, 2, 1, 0}), view(0, 48) + "," + view(48, 4),
                      accessor(0, 5126, 4, "VEC3") + "," + accessor(1, 5121, 4, "SCALAR"),
                      R"({"attributes":{"POSITION":0},"indices":1,"mode":5})"};
    CHECK(corners(map_of(file_of(parts)).meshes[0].primitives[0]) == std::vector<std::uint32_t>{3, 2, 1, 2, 0, 1});
}

TEST_CASE("points and lines are left out, with a note") {
    for (const int mode : {0, 1, 2, 3}) {
        const Parts parts{square, view(0, 48), accessor(0, 5126, 4, "VEC3"),
                          fmt::format(R"({{"attributes":{{"POSITION":0}},"mode":{}}})", mode)};
        const Map map = map_of(file_of(parts));
        CHECK(map.meshes[0].primitives.empty());
        CHECK(findings_of(map, "no-triangles").size() == 1);
    }
}

TEST_CASE("indices of bytes, shorts and whole numbers") {
    for (const auto& [component, bytes] : {std::pair{5121, bytes_of<std::uint8_t>({2, 1, 0, 0})},
                                           {5123, bytes_of<std::uint16_t>({2, 1, 0, 0})},
                                           {5125, bytes_of<std::uint32_t>({2, 1, 0, 0})}}) {
        const Parts parts{square + bytes, view(0, 48) + "," + view(48, bytes.size()),
                          accessor(0, 5126, 4, "VEC3") + "," + accessor(1, component, 3, "SCALAR"),
                          R"({"attributes":{"POSITION":0},"indices":1})"};
        CHECK(corners(map_of(file_of(parts)).meshes[0].primitives[0]) == std::vector<std::uint32_t>{2, 1, 0});
    }
}

TEST_CASE("a number of indices that three does not divide: the rest is dropped") {
    const Parts parts{square + bytes_of<std::uint16_t>({0, 1, 2, 3}), view(0, 48) + "," + view(48, 8),
                      accessor(0, 5126, 4, "VEC3") + "," + accessor(1, 5123, 4, "SCALAR"),
                      R"({"attributes":{"POSITION":0},"indices":1})"};
    CHECK(map_of(file_of(parts)).meshes[0].triangle_count == 1);
}

TEST_CASE("interleaved positions and normals are read by their stride") {
    const std::string bytes = bytes_of<float>({0, 0, 0, 0, 0, 1, 2, 0, 0, 0, 0, 1, 0, 2, 0, 0, 0, 1});
    const Parts parts{bytes, view(0, 72, 24),
                      accessor(0, 5126, 3, "VEC3") + "," + accessor(0, 5126, 3, "VEC3", R"("byteOffset":12)"),
                      R"({"attributes":{"POSITION":0,"NORMAL":1}})"};
    const Map map = map_of(file_of(parts));
    const Primitive& primitive = map.meshes[0].primitives[0];
    CHECK(primitive.positions.stride == 24);
    CHECK(primitive.positions[2].y == 2.0F);
    REQUIRE(primitive.normals.count == 3);
    CHECK(primitive.normals[2].z == 1.0F);
    CHECK(map.meshes[0].high == std::array<float, 3>{2, 2, 0});
}

TEST_CASE("whole-number positions, as KHR_mesh_quantization has them") {
    // Normalised shorts: 32767 is 1, -32768 is -1 too; plain bytes are themselves.
    const Parts normal{bytes_of<std::int16_t>({32767, 0, 0, 0, 0, 32767, 0, 0, -32768, -32767, 0, 0}), view(0, 24, 8),
                       accessor(0, 5122, 3, "VEC3", R"("normalized":true)"), R"({"attributes":{"POSITION":0}})"};
    const Map map = map_of(file_of(normal));
    CHECK(map.meshes[0].primitives[0].positions[0].x == 1.0F);
    CHECK(map.meshes[0].low == std::array<float, 3>{-1, -1, 0});
    const Parts plain{bytes_of<std::uint8_t>({200, 0, 3, 0, 0, 100, 0, 0, 0, 0, 7, 0}), view(0, 12, 4),
                      accessor(0, 5121, 3, "VEC3"), R"({"attributes":{"POSITION":0}})"};
    CHECK(map_of(file_of(plain)).meshes[0].high == std::array<float, 3>{200, 100, 7});
}

TEST_CASE("positions that do not start at a multiple of four are copied, not refused") {
    const Parts parts{"x" + triangle(), view(1, 36), accessor(0, 5126, 3, "VEC3"), R"({"attributes":{"POSITION":0}})"};
    const Map map = map_of(file_of(parts));
    const Primitive& primitive = map.meshes[0].primitives[0];
    CHECK(primitive.positions[1].x == 1.0F);
    CHECK(reinterpret_cast<std::uintptr_t>(primitive.positions.data) % 4 == 0);
}

TEST_CASE("sparse accessors: on a base, and on nothing") {
    const std::string bytes = triangle() + bytes_of<std::uint16_t>({1, 0}) + bytes_of<float>({5, 6, 7});
    const std::string sparse = R"("sparse":{"count":1,"indices":{"bufferView":1,"componentType":5123},)"
                               R"("values":{"bufferView":2}})";
    const std::string views = view(0, 36) + "," + view(36, 4) + "," + view(40, 12);
    Parts parts{bytes, views, accessor(0, 5126, 3, "VEC3", sparse), R"({"attributes":{"POSITION":0}})"};
    const Map on_base = map_of(file_of(parts));
    CHECK(on_base.meshes[0].primitives[0].positions[1].z == 7.0F);
    CHECK(on_base.meshes[0].primitives[0].positions[2].y == 1.0F);
    parts.accessors = R"({"componentType":5126,"count":3,"type":"VEC3",)" + sparse + "}";
    const Map on_nothing = map_of(file_of(parts));
    CHECK(on_nothing.meshes[0].primitives[0].positions[1].x == 5.0F);
    CHECK(on_nothing.meshes[0].primitives[0].positions[2].y == 0.0F);
    // A place beyond the count.
    parts.buffer = triangle() + bytes_of<std::uint16_t>({3, 0}) + bytes_of<float>({5, 6, 7});
    CHECK(contains(refusal_of(file_of(parts)), "sparse"));
}

TEST_CASE("sparse indices on nothing") {
    const std::string bytes = triangle() + bytes_of<std::uint8_t>({1, 2, 0, 0}) + bytes_of<std::uint16_t>({1, 2});
    const Parts parts{
        bytes, view(0, 36) + "," + view(36, 4) + "," + view(40, 4),
        accessor(0, 5126, 3, "VEC3") +
            R"(,{"componentType":5123,"count":3,"type":"SCALAR","sparse":{"count":2,"indices":{"bufferView":1,"componentType":5121},"values":{"bufferView":2}}})",
        R"({"attributes":{"POSITION":0},"indices":1})"};
    CHECK(corners(map_of(file_of(parts)).meshes[0].primitives[0]) == std::vector<std::uint32_t>{0, 1, 2});
}

TEST_CASE("normals that are too few or not finite are dropped, with a note") {
    const float nan = std::numeric_limits<float>::quiet_NaN();
    const std::string bytes = triangle() + bytes_of<float>({0, 0, 1, 0, nan, 1, 0, 0, 1});
    Parts parts{bytes, view(0, 36) + "," + view(36, 36),
                accessor(0, 5126, 3, "VEC3") + "," + accessor(1, 5126, 3, "VEC3"),
                R"({"attributes":{"POSITION":0,"NORMAL":1}})"};
    const Map map = map_of(file_of(parts));
    CHECK(map.meshes[0].primitives[0].normals.count == 0);
    CHECK(findings_of(map, "normals").size() == 1);
    parts.accessors = accessor(0, 5126, 3, "VEC3") + "," + accessor(1, 5126, 1, "VEC3");
    CHECK(map_of(file_of(parts)).meshes[0].primitives[0].normals.count == 0);
}

TEST_CASE("bounds take in only what triangles use") {
    const std::string bytes =
        bytes_of<float>({0, 0, 0, 1, 0, 0, 0, 1, 0, 99, 99, 99}) + bytes_of<std::uint16_t>({0, 1, 2, 0});
    const Parts parts{bytes, view(0, 48) + "," + view(48, 6),
                      accessor(0, 5126, 4, "VEC3") + "," + accessor(1, 5123, 3, "SCALAR"),
                      R"({"attributes":{"POSITION":0},"indices":1})"};
    CHECK(map_of(file_of(parts)).meshes[0].high == std::array<float, 3>{1, 1, 0});
}

TEST_CASE("transforms: parents first, translation after rotation after scale") {
    // A quarter turn about +Z and a scale of 2: the child's x runs along the parent's y.
    const Map map = map_of(gltf(
        R"({"name":"root","translation":[10,0,0],"rotation":[0,0,0.7071067811865476,0.7071067811865476],"scale":[2,2,2],"children":[1]},)"
        R"({"name":"child","translation":[1,0,0],"mesh":0})"));
    REQUIRE(map.nodes.size() == 2);
    CHECK(map.nodes[1].parent == 0);
    CHECK(map.nodes[1].world[12] == doctest::Approx(10));
    CHECK(map.nodes[1].world[13] == doctest::Approx(2));
    CHECK(map.nodes[1].world[0] == doctest::Approx(0));
    CHECK(map.nodes[1].world[1] == doctest::Approx(2));
}

TEST_CASE("a child written before its parent") {
    const Map map = map_of(gltf(
        R"({"name":"child","translation":[0,1,0],"mesh":0},{"name":"root","translation":[0,2,0],"children":[0]})"));
    CHECK(map.nodes[0].world[13] == doctest::Approx(3));
    CHECK(map.nodes[0].in_scene);
}

TEST_CASE("a matrix, column by column") {
    const Map map = map_of(gltf(R"({"matrix":[1,0,0,0,0,1,0,0,0,0,1,0,4,5,6,1],"mesh":0})"));
    CHECK(map.nodes[0].world[14] == 6);
    const Map bent = map_of(gltf(R"({"name":"n","matrix":[1,0,0,1,0,1,0,0,0,0,1,0,4,5,6,1],"mesh":0})"));
    CHECK(findings_of(bent, "matrix").size() == 1);
    CHECK(bent.nodes[0].world[3] == 0);
}

TEST_CASE("rotations that are no unit quaternion") {
    const Map longer = map_of(gltf(R"({"rotation":[0,0,2,2],"mesh":0})"));
    CHECK(longer.nodes[0].world[1] == doctest::Approx(1));
    const Map none = map_of(gltf(R"({"name":"n","rotation":[0,0,0,0],"mesh":0})"));
    CHECK(none.nodes[0].world[0] == 1);
    CHECK(findings_of(none, "rotation").size() == 1);
}

TEST_CASE("only what the scene lists is shown; without scenes every root is") {
    const Map map = map_of(gltf(R"({"name":"a","children":[1]},{"name":"b"},{"name":"c"})", R"({"nodes":[0]})"));
    CHECK(map.nodes[0].in_scene);
    CHECK(map.nodes[1].in_scene);
    CHECK_FALSE(map.nodes[2].in_scene);
    CHECK(map_of(gltf(R"({"name":"a"},{"name":"c"})")).nodes[1].in_scene);
    // A scene that lists a child.
    const Map child = map_of(gltf(R"({"name":"a","children":[1]},{"name":"b"})", R"({"nodes":[1]})"));
    CHECK(findings_of(child, "scene-root").size() == 1);
    CHECK_FALSE(child.nodes[0].in_scene);
}

TEST_CASE("unnamed nodes get a name to speak of them by") {
    const Map map = map_of(gltf(R"({"mesh":0},{"name":"","mesh":0},{"name":"x"})"));
    CHECK(map.nodes[0].name == "node 0");
    CHECK(map.nodes[1].name == "node 1");
    CHECK(map.nodes[2].name == "x");
}

TEST_CASE("materials") {
    std::string text = gltf(R"({"mesh":0})");
    text.insert(text.size() - 1,
                R"(,"materials":[{"pbrMetallicRoughness":{"baseColorFactor":[0.5,2,-1,0.25],"metallicFactor":0.3},)"
                R"("doubleSided":true},{},{"pbrMetallicRoughness":{}},)"
                R"({"extensions":{"KHR_materials_pbrSpecularGlossiness":{"diffuseFactor":[0.1,0.2,0.3,1]}}}])");
    const Map map = map_of(text);
    REQUIRE(map.materials.size() == 4);
    CHECK(map.materials[0].colour == std::array<float, 4>{0.5F, 1.0F, 0.0F, 0.25F});
    CHECK(map.materials[0].metallic == 0.3F);
    CHECK(map.materials[0].double_sided);
    CHECK(map.materials[1].colour[0] == 0.8F);
    CHECK(map.materials[2].colour[0] == 1.0F);
    CHECK(map.materials[3].colour[1] == 0.2F);
}

TEST_CASE("a model a thousand kilometres out is doubted once") {
    const Map map = map_of(gltf(
        R"({"name":"far","mesh":0,"translation":[0,2e6,0]},{"name":"further","mesh":0,"translation":[0,0,-3e9]})"));
    only(map, "absurd-size", Weight::doubt, "", "far");
}
