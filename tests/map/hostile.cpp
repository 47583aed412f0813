// Files that are broken or made to hurt: each is refused with a sentence, none crashes, hangs or eats the machine.

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <limits>
#include <unistd.h>

#include "tests/map/tiny.hpp"
#include "tests/shared/folder.hpp"

using namespace boltwalk;
using namespace tiny;
namespace fs = std::filesystem;
using testing::Folder;

namespace {

std::string glb(std::string json, const std::string& data) {
    json.append((4 - json.size() % 4) % 4, ' ');
    std::string out = std::string("glTF") + u32(2) + u32(static_cast<std::uint32_t>(28 + json.size() + data.size()));
    out += u32(static_cast<std::uint32_t>(json.size())) + "JSON" + json;
    return out + u32(static_cast<std::uint32_t>(data.size())) + std::string("BIN\0", 4) + data;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}

const std::string glb_json =
    R"({"asset":{"version":"2.0"},"nodes":[{"mesh":0}],"meshes":[{"name":"m","primitives":[{"attributes":{"POSITION":0}}]}],)"
    R"("accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}],)"
    R"("bufferViews":[{"buffer":0,"byteLength":36}],"buffers":[{"byteLength":36}]})";

std::string with_buffer(const std::string& uri) {
    return replaced(gltf(R"({"mesh":0})"), data_uri(triangle()), uri);
}

} // namespace

TEST_CASE("neither .glb nor .gltf") {
    CHECK(contains(refusal_of(""), "empty"));
    CHECK(contains(refusal_of("PK\x03\x04"), "neither"));
    CHECK(contains(refusal_of("   "), "neither"));
    CHECK(contains(refusal_of("[1]"), "neither"));
    CHECK(contains(refusal_of("{}"), "version"));
    CHECK(contains(refusal_of(R"({"asset":{"version":"1.0"}})"), "glTF 1.0"));
    CHECK(contains(refusal_of(R"({"asset":{"version":2}})"), "version"));
    CHECK(contains(refusal_of("\xff\xfe{\0"), "neither"));
}

TEST_CASE("told apart by content: a binary file by any name, a byte order mark before the text") {
    CHECK(read_map_bytes(span_of(glb(glb_json, triangle())), "map.gltf", "").has_value());
    CHECK(read("\xef\xbb\xbf" + gltf(R"({"mesh":0})")).has_value());
}

TEST_CASE("a .glb cut off anywhere is refused") {
    const std::string whole = glb(glb_json, triangle());
    REQUIRE(read(whole).has_value());
    for (std::size_t size = 0; size < whole.size(); ++size) {
        CAPTURE(size);
        CHECK_FALSE(read(whole.substr(0, size)).has_value());
    }
}

TEST_CASE("a .gltf cut off anywhere is refused") {
    const std::string whole = gltf(R"({"mesh":0})");
    for (std::size_t size = 0; size < whole.size(); ++size) {
        CAPTURE(size);
        CHECK_FALSE(read(whole.substr(0, size)).has_value());
    }
}

TEST_CASE("a .glb with lengths that lie") {
    const std::string whole = glb(glb_json, triangle());
    std::string bad = whole;
    bad.replace(8, 4, u32(0xffffffffU));
    CHECK(contains(refusal_of(bad), "cut off"));
    bad = whole;
    bad.replace(12, 4, u32(0xfffffff0U));
    CHECK(contains(refusal_of(bad), "promises"));
    bad = whole;
    bad.replace(4, 4, u32(1));
    CHECK(contains(refusal_of(bad), "version 1"));
    bad = whole;
    bad.replace(16, 4, std::string("BIN\0", 4));
    CHECK(contains(refusal_of(bad), "first chunk"));
}

TEST_CASE("a .glb whose binary chunk is shorter than the buffer says") {
    CHECK(contains(
        refusal_of(glb(replaced(glb_json, R"("byteLength":36}]})", R"("byteLength":4000000000}]})"), triangle())),
        "promised"));
}

TEST_CASE("numbers out of their range: indices, offsets, counts") {
    const std::string text = gltf(R"({"mesh":0})");
    for (
        const auto& change : std::initializer_list<std::pair<const char*, const char*>>{
            {R"("mesh":0)", R"("mesh":1)"},
            {R"("mesh":0)", R"("mesh":-1)"},
            {R"("mesh":0)", R"("mesh":0.5)"},
            {R"("mesh":0)", R"("mesh":"0")"},
            {R"("mesh":0)", R"("mesh":4294967296)"},
            {R"("POSITION":0)", R"("POSITION":7)"},
            {R"("POSITION":0)", R"("POSITION":-1)"},
            {R"("count":3)", R"("count":4)"},
            {R"("count":3)", R"("count":4294967295)"},
            {R"("count":3)", R"("count":9007199254740992)"},
            {R"("count":3)", R"("count":1e300)"},
            {R"("count":3)", R"("count":-3)"},
            {R"("count":3)", R"("count":3,"byteOffset":1)"},
            {R"("count":3)", R"("count":3,"byteOffset":9007199254740991)"},
            {R"("bufferView":0)", R"("bufferView":1)"},
            {R"("buffer":0,"byteLength":36)", R"("buffer":0,"byteLength":37)"},
            {R"("buffer":0,"byteLength":36)",
             R"("buffer":0,"byteOffset":9007199254740992,"byteLength":9007199254740992)"},
            {R"("buffer":0,"byteLength":36)", R"("buffer":3,"byteLength":36)"},
            {R"("buffer":0,"byteLength":36)", R"("buffer":0,"byteLength":36,"byteStride":4)"},
            {R"("buffer":0,"byteLength":36)", R"("buffer":0,"byteLength":36,"byteStride":9007199254740992)"},
            {R"("componentType":5126)", R"("componentType":5127)"},
            {R"("componentType":5126)", R"("componentType":5125)"},
            {R"("type":"VEC3")", R"("type":"VEC2")"},
            {R"("type":"VEC3")", R"("type":"MAT4")"},
            {R"("attributes":{"POSITION":0})", R"("attributes":[0])"},
            {R"("primitives":[)", R"("primitives":7,"x":[)"},
            {R"("POSITION":0}})", R"("POSITION":0},"indices":{}})"},
            {R"("POSITION":0}})", R"("POSITION":0},"indices":"0"})"},
            {R"("POSITION":0}})", R"("POSITION":0},"indices":4294967296})"},
            {R"("POSITION":0}})", R"("POSITION":0},"material":-4294967296})"},
            {R"("POSITION":0}})", R"("POSITION":0},"mode":4294967300})"},
            {R"("buffer":0,"byteLength":36)", R"("buffer":0,"byteLength":36,"byteStride":14)"},
            {R"("count":3)", R"("count":3,"sparse":7)"},
            {R"("count":3)", R"("count":3,"sparse":{"count":1})"},
            {R"("count":3)",
             R"("count":3,"sparse":{"count":4294967296,"indices":{"bufferView":0,"componentType":5121},"values":{"bufferView":0}})"},
            {R"("count":3)",
             R"("count":3,"sparse":{"count":1,"indices":{"bufferView":0,"byteOffset":4294967296,"componentType":5121},"values":{"bufferView":0}})"},
            {R"("byteLength":36,"uri")", R"("byteLength":37,"uri")"}}) {
        CHECK_FALSE_MESSAGE(read(replaced(text, change.first, change.second)).has_value(), change.second);
    }
}

TEST_CASE("whole numbers by any spelling") {
    const std::string text = gltf(R"({"mesh":0})");
    for (const auto& change : std::initializer_list<std::pair<const char*, const char*>>{
             {R"("mesh":0)", R"("mesh":0.0)"},
             {R"("mesh":0)", R"("mesh":-0)"},
             {R"("count":3)", R"("count":3.0)"},
             {R"("count":3)", R"("count":0.3e1)"},
             {R"("componentType":5126)", R"("componentType":5126.0)"},
             {R"("buffer":0,"byteLength":36)", R"("buffer":0e5,"byteLength":3.6E+1)"}}) {
        const Map map = map_of(replaced(text, change.first, change.second));
        CHECK_MESSAGE(map.nodes[0].mesh == 0, change.second);
        CHECK_MESSAGE(map.meshes[0].triangle_count == 1, change.second);
    }
}

TEST_CASE("what is broken and not used is no matter") {
    const std::string text = gltf(R"({"mesh":0})");
    for (const char* view : {R"({})", R"({"buffer":9,"byteLength":1})", R"({"buffer":0,"byteLength":"x"})",
                             R"({"buffer":0,"byteLength":1,"byteStride":3})"}) {
        const Map map = map_of(replaced(text, R"("bufferViews":[{"buffer":0,"byteLength":36})",
                                        fmt::format(R"("bufferViews":[{{"buffer":0,"byteLength":36}},{})", view)));
        CHECK_MESSAGE(map.meshes[0].triangle_count == 1, view);
    }
    for (const char* accessor : {R"({})", R"({"componentType":1,"count":1,"type":"VEC3"})",
                                 R"({"componentType":5126,"count":-1,"type":"VEC3"})",
                                 R"({"componentType":5126,"count":1,"type":"VEC3","sparse":{}})"}) {
        const Map map = map_of(replaced(text, R"("accessors":[)", fmt::format(R"("accessors":[{},)", accessor))
                                   .replace(text.find(R"("POSITION":0)"), 12, R"("POSITION":1)"));
        CHECK_MESSAGE(map.meshes[0].triangle_count == 1, accessor);
    }
}

TEST_CASE("members that glTF does not know are no matter, whatever they are called") {
    const Map map =
        map_of(gltf(R"({"mesh":0,"count":"x","bufferView":9,"nodes":7,"values":{"buffer":-1},"indices":{}})"));
    CHECK(map.meshes[0].triangle_count == 1);
}

TEST_CASE("an index beyond the positions names mesh and accessor") {
    const std::string text =
        R"({"asset":{"version":"2.0"},"meshes":[{"name":"cover plate","primitives":[{"attributes":{"POSITION":0},"indices":1}]}],)"
        R"("accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"},{"bufferView":1,"componentType":5123,"count":3,"type":"SCALAR"}],)"
        R"("bufferViews":[{"buffer":0,"byteLength":36},{"buffer":0,"byteOffset":36,"byteLength":6}],)"
        R"("buffers":[{"byteLength":42,"uri":")" +
        data_uri(triangle() + bytes_of<std::uint16_t>({0, 1, 3})) + R"("}]})";
    const std::string why = refusal_of(text);
    CHECK(contains(why, "cover plate"));
    CHECK(contains(why, "accessor 1"));
    CHECK(contains(why, "index 3"));
}

TEST_CASE("positions that are infinite or no numbers") {
    for (const float bad : {std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity(),
                            std::numeric_limits<float>::quiet_NaN()}) {
        const std::string bytes = bytes_of<float>({0, 0, 0, 1, 0, 0, 0, 1, bad});
        CHECK(contains(refusal_of(with_buffer(data_uri(bytes))), "infinite"));
    }
}

TEST_CASE("transforms that are infinite, in the file or once multiplied") {
    CHECK_FALSE(read(gltf(R"({"translation":[0,1e999,0],"mesh":0})")).has_value());
    CHECK_FALSE(read(gltf(R"({"translation":[0,NaN,0],"mesh":0})")).has_value());
    const std::string why = refusal_of(gltf(
        R"({"name":"outer","scale":[1e200,1e200,1e200],"children":[1]},{"name":"inner","scale":[1e200,1e200,1e200],"mesh":0})"));
    CHECK(contains(why, "inner"));
    CHECK(contains(why, "finite"));
    CHECK_FALSE(read(gltf(R"({"translation":[0,1],"mesh":0})")).has_value());
    CHECK_FALSE(read(gltf(R"({"matrix":[1,0,0,0],"mesh":0})")).has_value());
    CHECK_FALSE(read(gltf(R"({"scale":[1,"1",1],"mesh":0})")).has_value());
}

TEST_CASE("nodes that stand below themselves, or below two others") {
    CHECK(contains(refusal_of(gltf(R"({"name":"a","children":[0]})")), "below itself"));
    CHECK(contains(refusal_of(gltf(R"({"children":[1]},{"children":[2]},{"children":[0]})")), "below itself"));
    CHECK(contains(refusal_of(gltf(R"({"name":"p","children":[2]},{"name":"q","children":[2]},{"name":"c"})")),
                   "one parent"));
    CHECK(contains(refusal_of(gltf(R"({"children":[1,1]},{})")), "one parent"));
    CHECK(contains(refusal_of(gltf(R"({"children":[9]})")), "child"));
    CHECK(contains(refusal_of(gltf(R"({"children":7})")), "array"));
    // A ring with a tail: the ring is named, not the tail.
    CHECK(contains(
        refusal_of(gltf(R"({"name":"tail"},{"name":"ring","children":[2,0]},{"name":"ring too","children":[1]})")),
        "ring"));
}

TEST_CASE("a chain of nodes as deep as the file allows is no trouble") {
    std::string nodes;
    constexpr int deep = 50000;
    for (int i = 0; i < deep; ++i) {
        nodes +=
            fmt::format(R"({}{{"name":"link","translation":[0,0.001,0],"children":[{}]}})", i == 0 ? "" : ",", i + 1);
    }
    const Map map = map_of(gltf(nodes + R"(,{"mesh":0})"));
    CHECK(map.nodes.back().world[13] == doctest::Approx(50.0));
}

TEST_CASE("extras nested a hundred thousand deep") {
    std::string extras;
    for (int i = 0; i < 100000; ++i) {
        extras += "{\"a\":";
    }
    CHECK(contains(refusal_of(gltf(R"({"extras":)" + extras)), "nested"));
}

TEST_CASE("text that is no UTF-8") {
    CHECK(contains(refusal_of(gltf("{\"name\":\"\xff\"}")), "UTF-8"));
    CHECK(contains(refusal_of(gltf("{\"name\":\"\xc0\xaf\"}")), "UTF-8"));
}

TEST_CASE("the refusal says where, and what to do") {
    const std::string why = refusal_of("{\"asset\":{\"version\":\"2.0\"},\n \"nodes\":[,]}");
    CHECK(contains(why, "tiny.gltf"));
    CHECK(contains(why, "line 2, column 11"));
    CHECK(contains(why, "export"));
}

TEST_CASE("compressed geometry is named, with the remedy") {
    const std::string text = gltf(R"({"mesh":0})");
    CHECK(contains(
        refusal_of(replaced(text, R"("nodes")", R"("extensionsRequired":["KHR_draco_mesh_compression"],"nodes")")),
        "KHR_draco_mesh_compression"));
    CHECK(
        contains(refusal_of(replaced(replaced(text, R"("bufferView":0,)", ""), R"("attributes":{"POSITION":0})",
                                     R"("attributes":{"POSITION":0},"extensions":{"KHR_draco_mesh_compression":{}})")),
                 "without compression"));
    CHECK(contains(
        refusal_of(replaced(text, R"("buffer":0,)", R"("buffer":0,"extensions":{"EXT_meshopt_compression":{}},)")),
        "EXT_meshopt_compression"));
    // An extension that is not known, and one that does not matter here.
    const Map odd =
        map_of(replaced(text, R"("nodes")", R"("extensionsRequired":["ACME_odd","KHR_texture_transform"],"nodes")"));
    only(odd, "extension", Weight::doubt, "extensionsRequired", "");
}

TEST_CASE("buffers: only files of the map's own folder") {
    const Folder folder;
    folder.write("inside/map/box.bin", triangle());
    folder.write("inside/map/with space & ümlaut.bin", triangle());
    folder.write("inside/map/sub/box.bin", triangle());
    folder.write("inside/secret.bin", triangle());
    folder.write("inside/map-2/box.bin", triangle());
    const fs::path here = folder.path / "inside" / "map";
    fs::create_symlink(folder.path / "inside" / "secret.bin", here / "link.bin");
    fs::create_symlink(here / "box.bin", here / "own.bin");
    fs::create_directory_symlink(folder.path / "inside", here / "up");

    for (const char* uri : {"box.bin", "./box.bin", "sub/box.bin", "with%20space%20&%20%C3%BCmlaut.bin",
                            "with space & ümlaut.bin", "own.bin", "box%2ebin"}) {
        CAPTURE(uri);
        const auto map = read(with_buffer(uri), here.string());
        CHECK_MESSAGE(map.has_value(), (map ? std::string() : map.error().text));
    }
    for (const char* uri : {"../secret.bin",
                            "sub/../../secret.bin",
                            "..%2fsecret.bin",
                            "%2e%2e/secret.bin",
                            "%2E%2E%2Fsecret.bin",
                            "..\\\\secret.bin",
                            "/etc/passwd",
                            ".//etc/passwd",
                            "//etc/passwd",
                            "%2fetc%2fpasswd",
                            "file:///etc/passwd",
                            "file:box.bin",
                            "C:/box.bin",
                            "http://127.0.0.1/box.bin",
                            "link.bin",
                            "up/secret.bin",
                            "up/map/../secret.bin",
                            "../map-2/box.bin",
                            "sub",
                            "",
                            ".",
                            "box.bin%00.png",
                            "box.bin\\u0000",
                            "missing.bin",
                            "%252e%252e/secret.bin"}) {
        CAPTURE(uri);
        CHECK_FALSE(read(with_buffer(uri), here.string()).has_value());
    }
    // Without a folder no file at all may be named.
    CHECK(contains(refusal_of(with_buffer("box.bin")), "folder"));
    // By path: the folder is the file's own.
    folder.write("inside/map/map.gltf", with_buffer("box.bin"));
    CHECK(read_map((here / "map.gltf").string()).has_value());
    folder.write("inside/map/out.gltf", with_buffer("../secret.bin"));
    CHECK_FALSE(read_map((here / "out.gltf").string()).has_value());
}

TEST_CASE("a missing buffer is named, with the remedy") {
    const Folder folder;
    const std::string why = refusal_of(with_buffer("engine_part.bin"), folder.path.string());
    CHECK(contains(why, "engine_part.bin"));
    CHECK(contains(why, "missing"));
    CHECK(contains(why, ".glb"));
}

TEST_CASE("data: URIs that are broken") {
    for (const char* uri : {"data:", "data:,abc", "data:application/octet-stream;base64,****",
                            "data:application/octet-stream;base64,AAAAA", "data:;base64,"}) {
        CAPTURE(uri);
        CHECK_FALSE(read(with_buffer(uri)).has_value());
    }
    // Slashes escaped as some writers do it.
    std::string escaped = data_uri(triangle());
    for (std::size_t at = 0; (at = escaped.find('/', at)) != std::string::npos; at += 2) {
        escaped.replace(at, 1, "\\/");
    }
    CHECK(read(with_buffer(escaped)).has_value());
}

TEST_CASE("paths that are no file to read") {
    const Folder folder;
    CHECK(contains(read_map((folder.path / "none.glb").string()).error().text, "no such file"));
    CHECK(contains(read_map(folder.path.string()).error().text, "folder"));
    CHECK_FALSE(read_map("/dev/zero").has_value());
    CHECK_FALSE(read_map("").has_value());
}

TEST_CASE("the byte limit holds for the file and for its buffers together") {
    const Folder folder;
    folder.write("box.bin", triangle() + std::string(100000, 'x'));
    folder.write("map.gltf", with_buffer("box.bin"));
    ReadOptions options;
    options.byte_limit = 50000;
    CHECK(contains(read_map((folder.path / "map.gltf").string(), options).error().text, "allowed"));
    options.byte_limit = 300;
    CHECK(contains(read_map((folder.path / "map.gltf").string(), options).error().text, "allowed"));
    options.byte_limit = 200000;
    CHECK(read_map((folder.path / "map.gltf").string(), options).has_value());
}

TEST_CASE("one buffer named a thousand times is fetched once") {
    const Folder folder;
    folder.write("box.bin", triangle() + std::string(1000000, 'x'));
    std::string buffers;
    std::string views;
    std::string accessors;
    std::string primitives;
    for (int i = 0; i < 1000; ++i) {
        const char* comma = i == 0 ? "" : ",";
        buffers += fmt::format(R"({}{{"byteLength":1000036,"uri":"{}box.bin"}})", comma, i % 2 == 0 ? "./" : "");
        views += fmt::format(R"({}{{"buffer":{},"byteLength":36}})", comma, i);
        accessors += fmt::format(R"({}{{"bufferView":{},"componentType":5126,"count":3,"type":"VEC3"}})", comma, i);
        primitives += fmt::format(R"({}{{"attributes":{{"POSITION":{}}}}})", comma, i);
    }
    const std::string text = fmt::format(
        R"({{"asset":{{"version":"2.0"}},"nodes":[{{"mesh":0}}],"meshes":[{{"primitives":[{}]}}],"accessors":[{}],"bufferViews":[{}],"buffers":[{}]}})",
        primitives, accessors, views, buffers);
    ReadOptions options;
    options.byte_limit = 2000000; // a thousand of them would be a thousand million
    const auto map = read_map_bytes(span_of(text), "tiny.gltf", folder.path.string(), options);
    REQUIRE_MESSAGE(map.has_value(), map.error().text);
    CHECK(map->meshes[0].triangle_count == 1000);
}

TEST_CASE("reading can be stopped") {
    const Folder folder;
    folder.write("map.glb", glb(glb_json, triangle()));
    ReadOptions options;
    int calls = 0;
    options.progress = [&](float share) {
        CHECK(share >= 0.0F);
        CHECK(share <= 1.0F);
        return ++calls < 2;
    };
    const auto map = read_map((folder.path / "map.glb").string(), options);
    REQUIRE_FALSE(map.has_value());
    CHECK(contains(map.error().text, "stopped"));
    CHECK(calls == 2);
}
