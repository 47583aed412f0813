// What a file may cost: memory is bounded against its bytes, time grows no faster than them. Every file here is made to
// cost as much as it can.

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <ctime>
#include <malloc.h>
#include <new>

#include "tests/map/tiny.hpp"

namespace {

std::atomic<std::size_t> held{0};
std::atomic<std::size_t> most{0};

void* take_or_null(std::size_t size) noexcept {
    void* memory = std::malloc(size == 0 ? 1 : size);
    const std::size_t now = held += memory == nullptr ? 0 : malloc_usable_size(memory);
    if (now > most) {
        most = now;
    }
    return memory;
}

void* take(std::size_t size) {
    void* memory = take_or_null(size);
    if (memory == nullptr) {
        throw std::bad_alloc();
    }
    return memory;
}

void give(void* memory) noexcept {
    if (memory != nullptr) {
        held -= malloc_usable_size(memory);
        std::free(memory);
    }
}

} // namespace

// The whole test program counts what it holds.
void* operator new(std::size_t size) {
    return take(size);
}
void* operator new[](std::size_t size) {
    return take(size);
}
void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
    return take_or_null(size);
}
void* operator new[](std::size_t size, const std::nothrow_t&) noexcept {
    return take_or_null(size);
}
void operator delete(void* memory) noexcept {
    give(memory);
}
void operator delete[](void* memory) noexcept {
    give(memory);
}
void operator delete(void* memory, std::size_t) noexcept {
    give(memory);
}
void operator delete[](void* memory, std::size_t) noexcept {
    give(memory);
}

using namespace boltwalk;
using namespace tiny;

namespace {

/// Stated in map.hpp.
constexpr std::size_t floor_bytes = std::size_t{64} << 20;
constexpr std::size_t per_byte = 48;
/// Far above what any of them takes, far below what a second power of their size would.
constexpr double most_seconds = 10;

void check_cost(const std::string& what, const std::string& file) {
    const std::size_t before = held;
    most = before;
    const std::clock_t begin = std::clock(); // of this process, so that a busy machine does not count
    bool good = false;
    std::size_t findings = 0;
    {
        const auto map = read(file);
        good = map.has_value();
        findings = good ? map->findings.size() : 0;
    }
    const double seconds = static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
    const std::size_t peak = most - before;
    MESSAGE(fmt::format("{}: {} bytes, {:.1f} times that at most, {:.2f} s, {}", what, file.size(),
                        static_cast<double>(peak) / static_cast<double>(file.size()), seconds,
                        good ? fmt::format("read, {} findings", findings) : std::string("refused")));
    CHECK(peak <= floor_bytes + per_byte * file.size());
    CHECK(seconds < most_seconds);
}

std::string many(std::size_t count, const std::string& first, const std::string& again) {
    std::string out = first;
    for (std::size_t i = 1; i < count; ++i) {
        out += ",";
        out += again;
    }
    return out;
}

std::string many(std::size_t count, const std::string& piece) {
    return many(count, piece, piece);
}

const std::string one_accessor = R"({"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"})";
const std::string primitive = R"({"attributes":{"POSITION":0}})";

std::string file(const std::string& meshes, const std::string& accessors, std::size_t view_bytes,
                 const std::string& bytes, const std::string& nodes = R"({"mesh":0})") {
    return fmt::format(R"({{"asset":{{"version":"2.0"}},"nodes":[{}],"meshes":[{}],"accessors":[{}],)"
                       R"("bufferViews":[{{"buffer":0,"byteLength":{}}}],"buffers":[{{"byteLength":{},"uri":"{}"}}]}})",
                       nodes, meshes, accessors, view_bytes, bytes.size(), data_uri(bytes));
}

/// The file with its only buffer replaced by others.
std::string replace_buffers(const std::string& text, const std::string& buffers) {
    const std::size_t at = text.rfind("\"buffers\":[");
    return text.substr(0, at) + "\"buffers\":[" + buffers + "]}";
}

std::string mesh(const std::string& primitives) {
    return R"({"primitives":[)" + primitives + "]}";
}

} // namespace

TEST_CASE("cost: nodes and arrays of next to nothing") {
    check_cost("empty nodes", gltf(many(600000, "{}")));
    check_cost("nodes of sixteen bytes", gltf(many(120000, R"({"extras":{} })")));
    check_cost("an array of zeros", gltf(R"({"extras":[)" + many(1000000, "0") + "]}"));
    check_cost("keys that are none", gltf(R"({"extras":{)" + many(300000, R"("abcd":0)") + "}}"));
    std::string keys;
    for (int i = 0; i < 150000; ++i) {
        keys += fmt::format("{}\"torq{}\":1", i == 0 ? "" : ",", i);
    }
    check_cost("keys that might be misspelt", gltf(R"({"extras":{"part":"x",)" + keys + "}}"));
}

TEST_CASE("cost: annotation that is wrong everywhere") {
    check_cost("faults", gltf(many(40000, R"({"name":"b","extras":{"fastener":"x","torque":1,"holds":"y;z"}})")));
    std::string unknown;
    for (int i = 0; i < 40000; ++i) {
        unknown +=
            fmt::format(R"({}{{"name":"bolt number {}","extras":{{"fastener":"bolt","holds":"bolt numer {}"}}}})",
                        i == 0 ? "" : ",", i, i);
    }
    check_cost("names that are nearly right", gltf(unknown));
    check_cost("one name again and again",
               gltf(R"({"name":"p","extras":{"part":"p"}},{"name":"b","extras":{"fastener":"bolt","holds":")" +
                    std::string(4000, ';') + "\"}}," +
                    many(20000, R"({"name":"c","extras":{"fastener":"bolt","holds":"p;p;p;p;p;p;p;p;p;p;p;p;p;p"}})")));
}

TEST_CASE("cost: groups that pass on long texts and long lists") {
    std::string children;
    for (int i = 0; i < 30000; ++i) {
        children += fmt::format("{}{}", i == 0 ? "" : ",", i + 1);
    }
    const std::string members = many(30000, R"({"name":"m","mesh":0})");
    check_cost("text inherited",
               gltf(R"({"name":"g","children":[)" + children + R"(],"extras":{"group":"g","fastener":"bolt","note":")" +
                    std::string(4000, 'x') + R"("}},)" + members));
    check_cost("names inherited", gltf(R"({"name":"g","children":[)" + children +
                                       R"(],"extras":{"group":"g","fastener":"bolt","after":"g"}},)" + members));
    check_cost("misspelt by a group",
               gltf(R"({"name":"g","children":[)" + children +
                    R"(],"extras":{"group":"g","fastener":"bolt","torque":"x","holds":"nothing","drive":"y"}},)" +
                    members));
}

TEST_CASE("cost: the same bytes named over and over") {
    const std::string bytes(900000, '\0');
    check_cost("one large buffer, many accessors",
               file(mesh([&] {
                        std::string out;
                        for (int i = 0; i < 4000; ++i) {
                            out += fmt::format(R"({}{{"attributes":{{"POSITION":{}}}}})", i == 0 ? "" : ",", i);
                        }
                        return out;
                    }()),
                    many(4000, R"({"bufferView":0,"componentType":5126,"count":75000,"type":"VEC3"})"), bytes.size(),
                    bytes));
    check_cost("one large one_accessor, many primitives",
               file(mesh(many(20000, primitive)),
                    R"({"bufferView":0,"componentType":5126,"count":75000,"type":"VEC3"})", bytes.size(), bytes));
    check_cost(
        "strips of bytes, decoded again each time",
        file(
            mesh(many(5000, R"({"attributes":{"POSITION":0},"indices":1,"mode":5})")),
            R"({"bufferView":0,"componentType":5126,"count":300,"type":"VEC3"},{"bufferView":0,"componentType":5121,"count":900000,"type":"SCALAR"})",
            bytes.size(), bytes));
    check_cost("bytes as positions",
               file(mesh(many(3000, primitive)),
                    R"({"bufferView":0,"componentType":5121,"count":300000,"type":"VEC3"})", bytes.size(), bytes));
    std::string buffers = many(1000, R"({"byteLength":36,"uri":")" + data_uri(triangle()) + "\"}");
    check_cost("a thousand small buffers", replace_buffers(gltf(R"({"mesh":0})"), buffers));
}

TEST_CASE("cost: a sparse one_accessor on nothing, of four billion zeros") {
    const std::string sparse =
        R"({"componentType":5126,"count":4294967294,"type":"VEC3","sparse":{"count":0,"indices":{"bufferView":0,"componentType":5123},"values":{"bufferView":0}}})";
    const std::string text = file(mesh(primitive), sparse, 36, triangle());
    CHECK(contains(refusal_of(text), "larger than the file"));
    check_cost("zeros", text);
}

TEST_CASE("cost: many meshes, primitives, materials of next to nothing") {
    check_cost("meshes", file(many(150000, R"({"primitives":[]})"), one_accessor, 36, triangle()));
    check_cost("primitives", file(mesh(many(80000, primitive)), one_accessor, 36, triangle()));
    std::string materials = gltf(R"({"mesh":0})");
    materials.insert(materials.size() - 1, ",\"materials\":[" + many(400000, "{}") + "]");
    check_cost("materials", materials);
    check_cost("accessors", file(mesh(primitive), one_accessor + "," + many(400000, "{}"), 36, triangle()));
}

TEST_CASE("cost: just as many objects as a file may have, each as large in memory as its bytes allow") {
    check_cost("nodes", gltf(many(400000, R"({"children":[],"x":"yz"})")));
    check_cost("nodes that list nodes", gltf(many(4000, R"({"children":[)" + many(1500, "0") + "]}")));
    check_cost("extensions of extensions",
               gltf(many(100000, R"({"extensions":{"extensions":{"values":{},"sparse":{"children":[0,0,0]}}}})")));
    std::string materials = gltf(R"({"mesh":0})");
    const std::string gloss =
        R"({"extensions":{"KHR_materials_pbrSpecularGlossiness":{"diffuseFactor":[1,1,1,1]}},"name":")" +
        std::string(48, 'n') + "\"}";
    materials.insert(materials.size() - 1, ",\"materials\":[" + many(60000, gloss) + "]");
    check_cost("materials that shine", materials);
    const std::string fit = R"({"attributes":{"POSITION":0},"mode":0,"x":"y"} )";
    check_cost("primitives in one mesh", file(mesh(many(140000, fit)), one_accessor, 36, triangle()));
    check_cost("primitives in many",
               file(many(90000, R"({"primitives":[)" + fit + "]}"), one_accessor, 36, triangle()));
    check_cost("accessors that are broken",
               file(mesh(primitive),
                    one_accessor + "," + many(130000, R"({"name":"an one_accessor of no use","count":"x"}           )"),
                    36, triangle()));
    check_cost("accessors of one text",
               file(mesh(primitive), one_accessor + "," + many(100000, one_accessor), 36, triangle()));
}
