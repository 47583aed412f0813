// A map that was changed since the log began.
#include <algorithm>
#include <deque>

#include <doctest/doctest.h>
#include <glm/glm.hpp>
#include <glm/gtc/matrix_transform.hpp>
#include <glm/gtc/type_ptr.hpp>

#include "tests/log/small.hpp"
#include "tests/shared/folder.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

std::string joined(const std::vector<std::string>& list) {
    std::string out;
    for (const std::string& one : list)
        out += one + "\n";
    return out;
}

/// Fasteners with triangles. Metres; the map points into the lists, so it stays where it was made.
class Shapes {
public:
    Map map;
    Shapes() = default;
    Shapes(const Shapes&) = delete;
    Shapes& operator=(const Shapes&) = delete;

    /// Three corners a triangle.
    std::int32_t mesh(const std::vector<Vec3>& corners) {
        const auto& kept = corners_.emplace_back(corners);
        auto& order = orders_.emplace_back();
        for (std::uint32_t i = 0; i < kept.size(); ++i)
            order.push_back(i);
        Primitive primitive;
        primitive.positions = {reinterpret_cast<const std::byte*>(kept.data()), kept.size(), sizeof(Vec3)};
        primitive.indices = reinterpret_cast<const std::byte*>(order.data());
        primitive.index_count = order.size();
        map.meshes.emplace_back();
        map.meshes.back().primitives.push_back(primitive);
        return static_cast<std::int32_t>(map.meshes.size() - 1);
    }
    void fastener(const std::string& name, std::int32_t mesh_index, const glm::dmat4& world) {
        Item item;
        item.kind = ItemKind::fastener;
        item.name = name;
        item.detail = static_cast<std::int32_t>(map.fasteners.size());
        item.node = static_cast<std::int32_t>(map.nodes.size());
        map.items.push_back(item);
        map.fasteners.emplace_back();
        node(mesh_index, world);
    }
    /// Of the last fastener.
    void node(std::int32_t mesh_index, const glm::dmat4& world) {
        Node node;
        node.mesh = mesh_index;
        node.item = {static_cast<std::int32_t>(map.items.size() - 1)};
        node.in_scene = true;
        std::copy_n(glm::value_ptr(world), 16, node.world.begin());
        map.nodes.push_back(node);
    }

private:
    std::deque<std::vector<Vec3>> corners_;
    std::deque<std::vector<std::uint32_t>> orders_;
};

/// A wedge, unlike itself in every direction.
std::vector<Vec3> wedge(float x, float y, float z) {
    const Vec3 o{0, 0, 0}, a{x, 0, 0}, b{0, y, 0}, c{0, 0, z};
    return {o, b, a, o, c, b, o, a, c, a, b, c};
}

glm::dmat4 at(double x, double y, double z) {
    return glm::translate(glm::dmat4(1.0), glm::dvec3(x, y, z));
}

} // namespace

TEST_CASE("the same shape wherever it stands, however its triangles are ordered; another shape is another") {
    Shapes m;
    std::vector<Vec3> corners = wedge(0.02F, 0.03F, 0.04F);
    const std::int32_t plain = m.mesh(corners);
    std::rotate(corners.begin(), corners.begin() + 6, corners.end()); // other triangles first
    for (auto first = corners.begin(); first != corners.end(); first += 3)
        std::rotate(first, first + 1, first + 3); // other corners first
    const std::int32_t shuffled = m.mesh(corners);
    std::vector<Vec3> turned = corners;
    for (std::size_t i = 0; i < turned.size(); i += 3)
        std::swap(turned[i], turned[i + 1]);
    const std::int32_t inside_out = m.mesh(turned);
    const std::int32_t longer = m.mesh(wedge(0.02F, 0.03F, 0.0401F));
    const glm::dmat4 turn = glm::rotate(at(1.234, -0.5, 0.77), 0.7, glm::dvec3(1, 2, 3));
    m.fastener("a", plain, glm::dmat4(1.0));
    m.fastener("b", plain, turn);
    m.fastener("c", shuffled, at(3, 2, 1));
    m.fastener("d", inside_out, glm::dmat4(1.0));
    m.fastener("e", longer, glm::dmat4(1.0));
    m.fastener("twice", plain, glm::scale(glm::dmat4(1.0), glm::dvec3(2.0)));
    m.fastener("mirrored", plain, glm::scale(glm::dmat4(1.0), glm::dvec3(-1, 1, 1)));
    const auto items = snapshot_of(m.map).items;
    CHECK(items[0].shape.size() == 32);
    CHECK(items[1].shape == items[0].shape);
    CHECK(items[2].shape == items[0].shape);
    CHECK(items[3].shape != items[0].shape);
    CHECK(items[4].shape != items[0].shape);
    CHECK(items[5].shape != items[0].shape);
    CHECK(items[6].shape != items[0].shape);
}

TEST_CASE("a mesh on a node below the item counts in the item's own axes") {
    const auto shape = [](const glm::dmat4& place, double head_at) {
        Shapes m;
        m.fastener("a", m.mesh(wedge(0.02F, 0.02F, 0.02F)), place);
        m.node(m.mesh(wedge(0.03F, 0.01F, 0.03F)), place * at(0, head_at, 0));
        return snapshot_of(m.map).items[0].shape;
    };
    const glm::dmat4 here = glm::rotate(at(0.3, 0.2, 0.1), 0.4, glm::dvec3(0, 1, 1));
    const glm::dmat4 there = glm::rotate(at(0.3, 0.2, 2.1), 1.1, glm::dvec3(1, 1, 0));
    CHECK(shape(here, 0.0151) == shape(there, 0.0151));
    CHECK(shape(here, 0.0151) != shape(here, 0.0161));
}

TEST_CASE("found again by id, then by name and congruent shape; the rest is listed") {
    Snapshot then, now;
    then.items = {{"id-a", "a", "fastener", "{}", "s1"}, {"", "b", "fastener", "{}", "s2"},
                  {"", "c", "fastener", "{}", "s3"},     {"id-d", "d", "part", "{}", "s4"},
                  {"", "gone", "part", "{}", "s5"},      {"id-f", "f", "fastener", "{}", "s6"}};
    now.items = {{"", "new", "part", "{}", "s9"},        {"", "b", "fastener", "{\"x\":1}", "s2"},
                 {"id-a", "A", "fastener", "{}", "s1b"}, {"", "c", "fastener", "{}", "other"},
                 {"id-d", "d", "fastener", "{}", "s4"},  {"other", "f", "fastener", "{}", "s6"}};
    const Match found = match(then, now);
    CHECK(found.items[0] == ItemId{2}); // by id, though renamed and reshaped
    CHECK(found.items[1] == ItemId{1}); // by name and shape
    CHECK_FALSE(found.items[2]);        // same name, another shape
    CHECK_FALSE(found.items[3]);        // same id, another kind
    CHECK_FALSE(found.items[4]);
    CHECK_FALSE(found.items[5]); // same name and shape, but an id of its own says that it is another
    const std::string said = joined(found.differs);
    for (const char* sentence :
         {"a is named A now.", "A has another shape now.", "b: other facts are stated now.", "c is not found again",
          "d is not found again", "gone is not on this map any more.", "new is new.", "c is new."})
        CHECK_MESSAGE(said.find(sentence) != std::string::npos, sentence, " in\n", said);
    CHECK(match(then, then).differs.empty());
}

TEST_CASE("a changed map under a log: entries find their items, the change is noted, an old item comes back") {
    const Folder folder;
    const std::string path = log_path_of(folder.path / "lid.glb");
    Build before = lid_and_body();
    for (std::size_t i = 0; i < before.map.items.size(); ++i)
        if (i % 2 == 0)
            before.map.items[i].id = "id-" + std::to_string(i);
    {
        Log log(before.map, path);
        CHECK(log.map_match().differs.empty());
        REQUIRE(log.add({did(before, Verb::take_out, "bolt_1"), did(before, Verb::take_out, "bolt_2"),
                         did(before, Verb::take_out, "bolt_3")}));
        CHECK(log.map_match().differs.empty());
    }
    // bolt_1 keeps its id under another name; bolt_2 has another name and no id; an item comes before all others.
    Build after = before;
    const auto rename = [&](const char* from, const char* to) { after[from].name = to; };
    REQUIRE(after["bolt_1"].id != after["bolt_2"].id);
    const bool first_has_id = !after["bolt_1"].id.empty();
    rename(first_has_id ? "bolt_1" : "bolt_2", "renamed");
    rename(first_has_id ? "bolt_2" : "bolt_1", "unknown_now");
    after.part("later_part");
    {
        Log log(after.map, path);
        CHECK(log.map_match().lost == std::vector<std::string>{first_has_id ? "bolt_2" : "bolt_1"});
        const auto& entries = log.entries();
        CHECK(entries[first_has_id ? 0 : 1].item == after.at("renamed"));
        CHECK_FALSE(entries[first_has_id ? 1 : 0].item);
        CHECK(entries[2].item == after.at("bolt_3"));
        const Job job = prepare(after.map);
        const JobNow now = fold(job, entries); // what is lost is listed, not refused
        CHECK(now.deviations.size() >= 1);
        REQUIRE(log.add({did(after, Verb::take_out, "bolt_4")}));
        REQUIRE(log.entries().size() == 5);
        CHECK(log.entries()[3].deed == Deed::noted);
        CHECK(log.entries()[3].words.find("is not on this map any more") != std::string::npos);
        REQUIRE(log.add({did(after, Verb::take_out, "plug")}));
        CHECK(log.entries().size() == 6); // noted once
    }
    // With the first map again, what was lost is there again.
    Log log(before.map, path);
    REQUIRE(log.entries().size() == 6);
    CHECK(log.entries()[0].item == before.at("bolt_1"));
    CHECK(log.entries()[1].item == before.at("bolt_2"));
    CHECK(log.entries()[4].item == before.at("bolt_4"));
}
