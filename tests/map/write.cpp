// Writing: what changes changes, everything else stays byte for byte.

#include <algorithm>

#include "core/map/scan.hpp"
#include "tests/map/tiny.hpp"

using namespace boltwalk;
using namespace tiny;

namespace {

std::string written(const std::string& file, const std::vector<Change>& changes) {
    const auto out = write_changes(span_of(file), changes);
    if (!out) {
        FAIL(out.error().text);
    }
    return *out;
}

std::string refused(const std::string& file, const std::vector<Change>& changes) {
    const auto out = write_changes(span_of(file), changes);
    REQUIRE_FALSE(out.has_value());
    return out.error().text;
}

const std::string head = R"({"asset":{"version":"2.0"},)";

std::string nodes(const std::string& text) {
    return head + R"("nodes":[)" + text + "]}";
}

} // namespace

TEST_CASE("no changes: the file as it was") {
    const std::string file = std::string("\xef\xbb\xbf ") + nodes(R"({ "name" : "a" })") + "\n\n";
    CHECK(written(file, {}) == file);
}

TEST_CASE("a value is replaced where it stands, the rest keeps its spelling") {
    const std::string file =
        nodes("{ \"extras\" : { \"torque\" : \"20 N·m\" ,\t\"other\":1.50e+01, \"big\":123456789012345678901234567890,"
              "\"nothing\":null, \"deep\":{\"a\":[1,{}]}, \"sm\\u0061ll\":true } }");
    const auto with = [&](const std::string& from, const std::string& to) {
        const std::size_t at = file.find(from);
        return fmt::format("{}{}{}", file.substr(0, at), to, file.substr(at + from.size()));
    };
    CHECK(written(file, {{0, "torque", "\"30 N·m\""}}) == with("\"20 N·m\"", "\"30 N·m\""));
    // A key spelt with an escape is the same key.
    CHECK(written(file, {{0, "small", "2"}}) == with("true", "2"));
}

TEST_CASE("keys are added behind the others") {
    CHECK(written(nodes(R"({"extras":{"a":1}})"), {{0, "b", "2"}, {0, "c", "\"x\""}}) ==
          nodes(R"({"extras":{"a":1,"b":2,"c":"x"}})"));
    CHECK(written(nodes(R"({"extras":{ }})"), {{0, "b", "2"}}) == nodes(R"({"extras":{"b":2 }})"));
    CHECK(written(nodes(R"({})"), {{0, "b", "2"}}) == nodes(R"({"extras":{"b":2}})"));
    CHECK(written(nodes(R"({"name":"a"})"), {{0, "b", "2"}}) == nodes(R"({"extras":{"b":2},"name":"a"})"));
}

TEST_CASE("keys are removed: the first, the middle, the last, all, none") {
    const std::string file = nodes("{\"extras\":{ \"a\":1,\n \"b\":2,\n \"c\":3\n}}");
    CHECK(written(file, {{0, "a", ""}}) == nodes("{\"extras\":{\n \"b\":2,\n \"c\":3\n}}"));
    CHECK(written(file, {{0, "b", ""}}) == nodes("{\"extras\":{ \"a\":1,\n \"c\":3\n}}"));
    CHECK(written(file, {{0, "c", ""}}) == nodes("{\"extras\":{ \"a\":1,\n \"b\":2\n}}"));
    CHECK(written(file, {{0, "a", ""}, {0, "b", ""}, {0, "c", ""}}) == nodes("{\"extras\":{\n}}"));
    CHECK(written(file, {{0, "x", ""}}) == file);
    CHECK(written(nodes("{}"), {{0, "x", ""}}) == nodes("{}"));
    CHECK(written(file, {{0, "a", ""}, {0, "d", "4"}}) == nodes("{\"extras\":{\n \"b\":2,\n \"c\":3,\"d\":4\n}}"));
    CHECK(written(nodes(R"({"extras":{"a":1}})"), {{0, "a", ""}, {0, "b", "2"}}) == nodes(R"({"extras":{"b":2}})"));
}

TEST_CASE("of several changes to one key the last counts") {
    CHECK(written(nodes("{}"), {{0, "a", "1"}, {0, "b", "2"}, {0, "a", "3"}}) == nodes(R"({"extras":{"b":2,"a":3}})"));
    CHECK(written(nodes("{}"), {{0, "a", "1"}, {0, "a", ""}}) == nodes("{}"));
}

TEST_CASE("changes to several nodes and to the scene, in any order") {
    const std::string file =
        head +
        R"("scene":1,"scenes":[{},{"nodes":[0,1],"extras":{"job":"x"}}],"nodes":[{"name":"a"},{"name":"b","extras":{}}]})";
    CHECK(
        written(file, {{1, "k", "1"}, {-1, "job", "\"y\""}, {0, "k", "2"}}) ==
        head +
            R"("scene":1,"scenes":[{},{"nodes":[0,1],"extras":{"job":"y"}}],"nodes":[{"extras":{"k":2},"name":"a"},{"name":"b","extras":{"k":1}}]})");
}

TEST_CASE("a key's characters are escaped; the value is written as given") {
    CHECK(written(nodes("{}"), {{0, "a\"b\\", "\"\\u00e9\""}}) == nodes("{\"extras\":{\"a\\\"b\\\\\":\"\\u00e9\"}}"));
}

TEST_CASE("what cannot be written is refused") {
    const std::string file = nodes(R"({"name":"a"},{"extras":[1,2]},{"extras":"text"},{"extras":null})");
    CHECK(contains(refused(file, {{7, "k", "1"}}), "node 7"));
    CHECK(contains(refused(file, {{-2, "k", "1"}}), "node -2"));
    CHECK(contains(refused(file, {{-1, "k", "1"}}), "scene"));
    CHECK(written(file, {{3, "k", "1"}}) ==
          nodes(R"({"name":"a"},{"extras":[1,2]},{"extras":"text"},{"extras":{"k":1}})"));
    CHECK(written(file, {{3, "k", ""}}) == file);
    for (const int node : {1, 2}) {
        CHECK(contains(refused(file, {{node, "k", "1"}}), "extras"));
    }
    for (const char* json : {"64 N·m", "{", "1,2", "NaN", "1e999", "\"", "\"a\"}", "\"\xff\"", " "}) {
        CAPTURE(json);
        CHECK_FALSE(write_changes(span_of(file), std::vector<Change>{{0, "k", json}}).has_value());
    }
    CHECK_FALSE(write_changes(span_of(file), std::vector<Change>{{0, "", "1"}}).has_value());
    CHECK_FALSE(write_changes(span_of(file), std::vector<Change>{{0, "\xff", "1"}}).has_value());
    CHECK_FALSE(write_changes(span_of("no file"), std::vector<Change>{{0, "k", "1"}}).has_value());
    CHECK_FALSE(write_changes(span_of("{\"nodes\":[,]}"), std::vector<Change>{}).has_value());
    CHECK_FALSE(write_changes(span_of(R"({"nodes":[7]})"), std::vector<Change>{{0, "k", "1"}}).has_value());
}

TEST_CASE("a value that would nest the file too deep is refused") {
    const std::string deep = std::string(62, '[') + std::string(62, ']');
    CHECK_FALSE(write_changes(span_of(nodes("{}")), std::vector<Change>{{0, "k", deep}}).has_value());
}

TEST_CASE("a .glb: padded anew, lengths rewritten, every other chunk byte for byte") {
    for (const char* value : {"1", "12", "123", "1234", "12345"}) {
        CAPTURE(value);
        std::string json = gltf(R"({"name":"a","mesh":0})");
        json.append((4 - json.size() % 4) % 4, ' ');
        const std::string data = triangle();
        const std::string odd = u32(8) + "ODD!" + "whatever";
        const std::string behind = "bytes behind the end";
        std::string file =
            "glTF" + u32(2) + u32(static_cast<std::uint32_t>(12 + 8 + json.size() + 8 + data.size() + odd.size()));
        file += u32(static_cast<std::uint32_t>(json.size())) + "JSON" + json;
        file += u32(static_cast<std::uint32_t>(data.size())) + std::string("BIN\0", 4) + data + odd + behind;
        const std::string out = written(file, {{0, "k", value}});
        CHECK(out.ends_with(data + odd + behind));
        CHECK((out.size() - behind.size()) % 4 == 0);
        CHECK(out.substr(8, 4) == u32(static_cast<std::uint32_t>(out.size() - behind.size())));
        CHECK(contains(out, fmt::format(R"("extras":{{"k":{}}})", value)));
        const Map map = map_of(out);
        CHECK(map.meshes[0].triangle_count == 1);
        // And back: the key taken away again leaves an empty object, no more.
        const std::string back = written(out, {{0, "k", ""}});
        CHECK(contains(back, R"("extras":{})"));
        CHECK(back.ends_with(data + odd + behind));
    }
}

TEST_CASE("what was written reads back the same") {
    const std::string file = with_bolt(R"("thread":"M8")");
    const std::string out = written(file, {{3, "torque", "\"22 N·m\""}, {3, "thread", "\"M10\""}, {1, "mass_kg", "4"}});
    const Map map = map_of(out);
    CHECK(fastener(map, "b").torque->text == "22 N·m");
    CHECK(fastener(map, "b").thread->name == "M10");
    CHECK(part(map, "cover").mass_kg == 4.0);
}

TEST_CASE("ids: short, unique, the same every time, taken ones left alone") {
    const std::string file = gltf(
        R"({"name":"Cover Bolt #1","extras":{"fastener":"bolt"}},{"name":"cover-bolt-1","extras":{"fastener":"bolt"}},)"
        R"({"name":"x","extras":{"fastener":"bolt","id":"cover-bolt-1-2"}},{"name":"漢字","extras":{"part":"p"}},)"
        R"({"name":"y","extras":{"fastener":"bolt","id":"cover-bolt-1-2"}},{"name":"a very long name that goes on and on","extras":{"part":"q"}})");
    const Map map = map_of(file);
    const std::vector<Change> changes = missing_ids(map);
    REQUIRE(changes.size() == 5);
    CHECK(changes[0].json == "\"cover-bolt-1\"");
    CHECK(changes[1].json == "\"cover-bolt-1-3\""); // -2 is taken
    CHECK(changes[2].json == "\"item\"");
    CHECK(changes[3].node == 4); // the second of two that have one id
    CHECK(changes[3].json == "\"y\"");
    CHECK(changes[4].json == "\"a-very-long-name-that-go\"");
    const Map again = map_of(written(file, changes));
    CHECK(missing_ids(again).empty());
    CHECK(findings_of(again, "two-of-one-id").empty());
    for (const Item& one : again.items) {
        CHECK_FALSE(one.id.empty());
    }
}

TEST_CASE("ids of a thousand items of one name") {
    std::string text;
    for (int i = 0; i < 1000; ++i) {
        text += fmt::format(R"({}{{"name":"bolt","extras":{{"fastener":"bolt"}}}})", i == 0 ? "" : ",");
    }
    const std::vector<Change> changes = missing_ids(map_of(gltf(text)));
    std::vector<std::string> ids;
    for (const Change& change : changes) {
        ids.push_back(change.json);
    }
    std::sort(ids.begin(), ids.end());
    CHECK(ids.size() == 1000);
    CHECK(std::adjacent_find(ids.begin(), ids.end()) == ids.end());
}
