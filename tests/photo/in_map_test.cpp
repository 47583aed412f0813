// Photographs in a map's file: put in, found, changed, taken out; everything else as it was.
#include <cstring>
#include <fstream>

#include "core/job/job.hpp"
#include "core/map/files.hpp"
#include "core/photo/photo.hpp"
#include "tests/map/tiny.hpp"

using namespace boltwalk;
using tiny::span_of;

namespace {

/// Any bytes that begin as a JPEG does: the map does not look into them.
std::string print_of(char fill, std::size_t size) {
    return "\xff\xd8\xff" + std::string(size, fill) + "\xff\xd9";
}

std::string good(const tl::expected<std::string, ReadError>& written) {
    if (!written)
        FAIL(written.error().text);
    return *written;
}

std::string bytes_of_photo(const Map& map, const std::string& name) {
    for (const Photo& photo : map.photos)
        if (photo.name == name)
            return {reinterpret_cast<const char*>(photo.bytes.data()), photo.bytes.size()};
    return "";
}

/// Every corner of every triangle where it stands, so that bytes that moved are found out.
std::string shape_of(const Map& map) {
    std::string out;
    for (const Node& node : map.nodes) {
        if (node.mesh < 0)
            continue;
        for (const Primitive& primitive : map.meshes[std::size_t(node.mesh)].primitives)
            for (std::size_t i = 0; i < primitive.index_count; ++i) {
                const Vec3 at = primitive.positions[primitive.index(i)];
                out.append(reinterpret_cast<const char*>(&at), sizeof at);
            }
        out.append(reinterpret_cast<const char*>(node.world.data()), sizeof node.world);
    }
    return out;
}

Map map_from(const std::string& file) {
    auto map = read_map_bytes(span_of(file), "tiny", "");
    if (!map)
        FAIL(map.error().text);
    return std::move(*map);
}

std::string named(const std::string& file, std::int32_t node, const std::string& value) {
    const Change change{node, "photo", "\"" + value + "\"", false};
    return good(write_changes(span_of(file), {&change, 1}));
}

std::string asset(const std::string& name) {
    const auto bytes = bytes_if_readable(std::string(BOLTWALK_SOURCE_DIR) + "/assets/" + name);
    REQUIRE(bytes.has_value());
    return *bytes;
}

std::vector<Finding> of_rule(const Map& map, const std::string& rule) {
    std::vector<Finding> found;
    for (const Finding& finding : map.findings)
        if (finding.rule == rule)
            found.push_back(finding);
    return found;
}

} // namespace

TEST_CASE("into a .gltf and a .glb, with and without a binary chunk, and found again") {
    const std::string text = tiny::gltf(R"({"name":"a","mesh":0,"extras":{"part":"A","photo":"from_below; other"}})");
    const std::string glb = asset("water_pump.glb");
    const std::string bare = R"({"asset":{"version":"2.0"},"scenes":[{"nodes":[0]}],"scene":0,"nodes":[{"name":"t",)"
                             R"("extras":{"task":true,"photo":"from_below"}}]})";
    std::string small = "glTF" + tiny::bytes_of<std::uint32_t>({2, 0, 0}) + "JSON" + bare; // a .glb of JSON alone
    small.resize((small.size() + 3) / 4 * 4, ' ');
    const auto put = [&](std::size_t at, std::uint32_t value) { std::memcpy(small.data() + at, &value, 4); };
    put(8, std::uint32_t(small.size()));
    put(12, std::uint32_t(small.size() - 20));
    for (const std::string& file : {text, named(glb, map_from(glb).items.front().node, "from_below"), bare, small}) {
        const std::string one = print_of('1', 1001), two = print_of('2', 5000);
        const std::string with_one = good(write_photo(span_of(file), "", "from_below", one));
        const std::string with_two = good(write_photo(span_of(with_one), "", "second one", two));
        const Map before = map_from(file), map = map_from(with_two);
        CHECK(image_names(span_of(with_two)) == std::vector<std::string>{"from_below", "second one"});
        CHECK(bytes_of_photo(map, "from_below") == one);
        CHECK(bytes_of_photo(map, "second one") == ""); // nobody names it
        CHECK(map.photos.size() == 1);
        CHECK(map.items.front().photos == std::vector<std::int32_t>{0});
        CHECK(before.items.front().photos.empty());
        CHECK(shape_of(map) == shape_of(before));
        // The node that holds them is seen by nobody.
        REQUIRE(map.nodes.size() == before.nodes.size() + 1);
        CHECK_FALSE(map.nodes.back().in_scene);
        CHECK(map.nodes.back().mesh == -1);
        CHECK(map.items.size() == before.items.size());
        CHECK(of_rule(before, "no-photo").size() == 1);
        CHECK(of_rule(map, "no-photo").size() == (file == text ? 1 : 0)); // that of "other"
        const Map both = map_from(named(with_two, map.items.front().node, "second one;from_below"));
        CHECK(both.photos.size() == 2);
        CHECK(bytes_of_photo(both, "second one") == two);
    }
}

TEST_CASE("taken out of the middle: its bytes are gone, what lies behind them is found where it went") {
    const std::string glb = asset("water_pump.glb");
    const std::int32_t node = map_from(glb).items.front().node;
    std::string file = named(glb, node, "a; b; c");
    const std::string a = print_of('a', 40001), b = print_of('b', 30002), c = print_of('c', 20003);
    file = good(write_photo(span_of(file), "", "a", a));
    file = good(write_photo(span_of(file), "", "b", b));
    file = good(write_photo(span_of(file), "", "c", c));
    const std::string out = good(write_without_photo(span_of(file), "b"));
    CHECK(file.find(std::string(30000, 'b')) != std::string::npos);
    CHECK(out.find(std::string(50, 'b')) == std::string::npos);
    CHECK(out.size() + 29000 < file.size());
    const Map map = map_from(out);
    CHECK(bytes_of_photo(map, "a") == a);
    CHECK(bytes_of_photo(map, "b") == "");
    CHECK(bytes_of_photo(map, "c") == c);
    CHECK(shape_of(map) == shape_of(map_from(glb)));
    const auto lost = of_rule(map, "no-photo");
    REQUIRE(lost.size() == 1);
    CHECK(lost.front().what.find("\"b\"") != std::string::npos);
    // The next one takes the place.
    const std::string d = print_of('d', 60005), again = good(write_photo(span_of(out), "", "d", d));
    CHECK(image_names(span_of(again)) == std::vector<std::string>{"a", "d", "c"});
    const Map last = map_from(named(again, node, "a;d;c"));
    CHECK(bytes_of_photo(last, "a") == a);
    CHECK(bytes_of_photo(last, "d") == d);
    CHECK(bytes_of_photo(last, "c") == c);
    CHECK(shape_of(last) == shape_of(map_from(glb)));
    // In a .gltf its bytes are a text of their own.
    std::string text = tiny::gltf(R"({"name":"a","mesh":0,"extras":{"part":"A","photo":"x"}})");
    text = good(write_photo(span_of(text), "", "x", a));
    text = good(write_without_photo(span_of(text), "x"));
    CHECK(text.find("YWFhYWFhYWFh") == std::string::npos); // "aaa..." in base64
    CHECK(text.size() < 4000);
}

TEST_CASE("other images of the file stay as they are, and so do the textures that use them") {
    const std::string file =
        R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"name":"a","mesh":0,"extras":{"part":"A"}}],)"
        R"("meshes":[{"primitives":[{"attributes":{"POSITION":0},"material":0}]}],"materials":[{"pbrMetallicRoughness":{)"
        R"("baseColorTexture":{"index":0}}}],"textures":[{"source":0}],"images":[{"uri":"elsewhere.png"}],)"
        R"("accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3","min":[0,0,0],"max":[1,1,0]}],)"
        R"("bufferViews":[{"buffer":0,"byteLength":36}],"buffers":[{"byteLength":36,"uri":")" +
        tiny::data_uri(tiny::triangle()) + R"("}]})";
    const std::string written = good(write_photo(span_of(file), "", "p", print_of('p', 10)));
    CHECK(image_names(span_of(written)) == std::vector<std::string>{"", "p"});
    CHECK(written.find(R"("images":[{"uri":"elsewhere.png"},{)") != std::string::npos);
    CHECK(written.find(R"("textures":[{"source":0},{"source":1}])") != std::string::npos);
    CHECK(written.find(R"("baseColorTexture":{"index":0})") != std::string::npos);
    CHECK(map_from(written).materials.size() == 2);
}

TEST_CASE("a photograph that cannot be shown is a doubt with node, key and remedy") {
    const auto file = [](const std::string& images) {
        return R"({"asset":{"version":"2.0"},"nodes":[{"name":"t","extras":{"task":true,"photo":"p"}}],"images":)" +
               images + R"(,"buffers":[{"byteLength":36,"uri":")" + tiny::data_uri(tiny::triangle()) +
               R"("}],"bufferViews":[{"buffer":0,"byteLength":36},{"buffer":0,"byteOffset":30,"byteLength":36},{"buffer":9,"byteLength":1}]})";
    };
    const std::vector<std::pair<std::string, std::string>> cases{
        {"[]", "no image of that name"},
        {R"([{"name":"P","bufferView":0}])", "no image of that name"},
        {R"([{"name":"p"}])", "no bytes"},
        {R"([{"name":"p","uri":"/etc/passwd"}])", "one .glb"},
        {R"([{"name":"p","bufferView":0}])", "neither JPEG nor PNG"},
        {R"([{"name":"p","bufferView":1}])", "has 36"},
        {R"([{"name":"p","bufferView":2}])", ""},
        {R"([{"name":"p","bufferView":7}])", "not there"},
        {R"([{"name":"p","bufferView":"x"}])", "not there"},
    };
    for (const auto& one : cases) {
        const std::string &images = one.first, &why = one.second;
        INFO(images);
        const Map map = map_from(file(images));
        const auto found = of_rule(map, "no-photo");
        REQUIRE(found.size() == 1);
        CHECK(found.front().weight == Weight::doubt);
        CHECK(found.front().nodes == std::vector<std::string>{"t"});
        CHECK(found.front().key == "photo");
        CHECK(found.front().what.find(why) != std::string::npos);
        CHECK(found.front().remedy.find("boltwalk photo") != std::string::npos);
        CHECK(map.items.front().photos.empty());
    }
}

TEST_CASE("a group's photograph is its members', once a step, and reported once") {
    const std::string file =
        R"({"asset":{"version":"2.0"},"nodes":[{"name":"frame","extras":{"part":"Frame","fixed":true}},)"
        R"({"name":"plate","extras":{"part":"Plate"}},{"name":"bolts","children":[3,4],)"
        R"("extras":{"group":"Bolts","fastener":"bolt","holds":"plate; frame","photo":"below; gone"}},)"
        R"({"name":"b1","extras":{"fastener":"bolt"}},{"name":"b2","extras":{"fastener":"bolt"}}]})";
    const Map map = map_from(good(write_photo(span_of(file), "", "below", print_of('x', 9))));
    CHECK(of_rule(map, "no-photo").size() == 1);
    CHECK(map[find_item(map, "b2")].photos == std::vector<std::int32_t>{0});
    CHECK(map[find_item(map, "plate")].photos.empty());
    const Job job = prepare(map);
    const Plan plan = plan_strip(job);
    std::size_t shown = 0;
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
        const StepCard card = card_of(job, plan, s);
        shown += card.photos.size();
        if (!card.photos.empty())
            CHECK(plan.steps[s].items.size() == 2);
    }
    CHECK(shown == 1);
}

TEST_CASE("names: what a list and a modelling tool keep as they are, and none twice") {
    const std::string file = tiny::gltf(R"({"name":"a","mesh":0})");
    CHECK(photo_name_for(span_of(file), "pictures/me/IMG 20240517;(1).final.JPG") == "IMG_20240517_1");
    CHECK(photo_name_for(span_of(file), "C:\\Bilder\\unten.jpeg") == "unten");
    CHECK(photo_name_for(span_of(file), "\xc3\xa9\xc3\xa9.jpg") == "photo");
    CHECK(photo_name_for(span_of(file), std::string(300, 'x')) == std::string(40, 'x'));
    const std::string with_one = good(write_photo(span_of(file), "", "unten", print_of('x', 9)));
    CHECK(photo_name_for(span_of(with_one), "unten.jpg") == "unten_2");
    CHECK(photo_added("", "a") == "a");
    CHECK(photo_added("a;b", "c") == "a; b; c");
    CHECK(photo_added("a; b", "b") == "a; b");
    CHECK(photo_dropped("a; b;c", "b") == "a; c");
    CHECK(photo_dropped("b", "b") == "");
}

TEST_CASE("what cannot be written is said") {
    const std::string file = tiny::gltf(R"({"name":"a","mesh":0})");
    CHECK_FALSE(write_without_photo(span_of(file), "p").has_value());
    CHECK_FALSE(write_photo(span_of(std::string("no map")), "", "p", print_of('x', 9)).has_value());
    // An image that shares its bytes with a mesh, and one in a file of its own.
    std::string shared = file;
    shared.insert(1, R"("images":[{"name":"p","bufferView":0},{"name":"q","uri":"q.jpg"}],)");
    const auto why = write_without_photo(span_of(shared), "q");
    REQUIRE_FALSE(why.has_value());
    CHECK(why.error().text.find("not inside the file") != std::string::npos);
}
