// A model being marked up: deeds, what follows from them, and what is kept beside the file.
#include "viewer/panels/marking.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>

#include "tests/shared/folder.hpp"

using namespace boltwalk;

namespace {

std::string bytes_at(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}

/// The small demo map in a folder of its own, every key taken away.
std::string bare_map(const testing::Folder& folder) {
    const std::string file = bytes_at(std::string(BOLTWALK_SOURCE_DIR) + "/assets/water_pump.glb");
    const auto span = std::as_bytes(std::span(file.data(), file.size()));
    const auto map = read_map_bytes(span, "map", "");
    REQUIRE(map.has_value());
    std::vector<Change> changes;
    for (std::size_t n = 0; n < map->nodes.size(); ++n)
        for (const Key& key : all_keys())
            changes.push_back({std::int32_t(n), std::string(key.name), "", false});
    for (const Key& key : all_keys())
        changes.push_back({-1, std::string(key.name), "", false});
    const auto bare = write_changes(span, changes);
    REQUIRE(bare.has_value());
    const std::string path = (folder.path / "bare.glb").string();
    std::ofstream(path, std::ios::binary) << *bare;
    return path;
}

std::int32_t node_of(const Marking& marking, const std::string& name) {
    for (std::size_t n = 0; n < marking.map.nodes.size(); ++n)
        if (marking.map.nodes[n].name == name)
            return std::int32_t(n);
    FAIL(name);
    return -1;
}

std::shared_ptr<Marking> marked_up(const std::string& path) {
    auto marking = open_marking(path);
    REQUIRE_MESSAGE(marking.has_value(), marking.error());
    return *marking;
}

} // namespace

TEST_CASE("taking, refusing, undoing, doing again") {
    const testing::Folder folder;
    const auto marking = marked_up(bare_map(folder));
    const std::vector<std::size_t> open = open_proposals(*marking);
    REQUIRE(open.size() == 12);
    CHECK_FALSE(asks_scale(*marking));
    REQUIRE(take_proposals(*marking, alike_open(*marking, open[4])));
    CHECK(marking->map.fasteners.size() == 4);
    CHECK(open_proposals(*marking).size() == 8);
    REQUIRE(refuse_proposal(*marking, open_proposals(*marking).front()));
    CHECK(open_proposals(*marking).size() == 7);
    undo(*marking);
    CHECK(open_proposals(*marking).size() == 8);
    undo(*marking);
    CHECK(marking->map.fasteners.empty());
    CHECK(marking->bytes == marking->original);
    undo(*marking); // nothing is left
    redo(*marking);
    CHECK(marking->map.fasteners.size() == 4);
    // Something else is said: what was undone is gone.
    pick_node(*marking, node_of(*marking, "hose"), false);
    REQUIRE(mark_as(*marking, MarkKind::part));
    CHECK(marking->deeds.size() == 2);
}

TEST_CASE("values as they are typed, their mistakes, and what is offered") {
    const testing::Folder folder;
    const auto marking = marked_up(bare_map(folder));
    pick_node(*marking, node_of(*marking, "pulley_bolt_1"), false);
    CHECK(keys_for(*marking).empty()); // scenery has no key
    REQUIRE(mark_as(*marking, MarkKind::fastener));
    try_value(*marking, KeyId::torque, "64 Nmm");
    REQUIRE(marking->typed.size() == 1);
    CHECK(marking->typed[0].weight == Weight::fault);
    CHECK_FALSE(marking->typed[0].remedy.empty());
    try_value(*marking, KeyId::torque, "47 lbf·ft");
    CHECK(marking->typed.empty());
    REQUIRE(set_value(*marking, KeyId::torque, "47 lbf·ft"));
    CHECK(value_of(*marking, KeyId::torque) == "47 lbf·ft");
    const auto threads = offers_for(*marking, KeyId::thread);
    CHECK(threads == std::vector<std::string>{"M6", "M6x0.75"}); // ISO 261: fine pitch of M6
    CHECK(offers_for(*marking, KeyId::drive).front() == "hex 10");
    // All like it, in one go.
    pick_alike(*marking);
    CHECK(marking->picked.size() == 4);
    REQUIRE(mark_as(*marking, MarkKind::fastener));
    REQUIRE(set_value(*marking, KeyId::thread, "M6"));
    CHECK(marking->map.fasteners.size() == 4);
    CHECK(std::all_of(marking->map.fasteners.begin(), marking->map.fasteners.end(),
                      [](const Fastener& f) { return f.thread && f.thread->name == "M6"; }));
    // Scenery again: no key is left.
    REQUIRE(mark_as(*marking, MarkKind::scenery));
    CHECK(marking->map.fasteners.empty());
    CHECK(marking->extras[std::size_t(node_of(*marking, "pulley_bolt_1"))].empty());
    // The whole job.
    marking->picked.clear();
    REQUIRE(set_value(*marking, KeyId::job, "A trial"));
    CHECK(marking->map.job == "A trial");
}

TEST_CASE("kept beside the file, taken up again, gone once saved") {
    const testing::Folder folder;
    const std::string path = bare_map(folder);
    {
        const auto marking = marked_up(path);
        pick_node(*marking, node_of(*marking, "hose"), false);
        REQUIRE(mark_as(*marking, MarkKind::part));
        REQUIRE(set_value(*marking, KeyId::part, "Hose \"A\" · 3/8"));
    } // no saving: as after a crash
    REQUIRE(std::filesystem::exists(autosave_path(path)));
    const auto marking = marked_up(path);
    CHECK(marking->recovered);
    CHECK(marking->done == 2);
    CHECK(is_unsaved(*marking));
    CHECK(marking->map.items.size() == 1);
    CHECK(marking->map.items[0].title == "Hose \"A\" · 3/8");
    REQUIRE(save(*marking));
    CHECK_FALSE(is_unsaved(*marking));
    CHECK_FALSE(std::filesystem::exists(autosave_path(path)));
    const auto saved = read_map(marking->save_to);
    REQUIRE(saved.has_value());
    CHECK(saved->items.size() == 1);
    CHECK_FALSE(saved->items[0].id.empty());
    // What is beside another version of the file, or no JSON, is left alone.
    {
        std::ofstream(autosave_path(path)) << R"({"boltwalk_marking":1,"bytes":1,"hash":"0","done":1,"deeds":[]})";
        const auto other = marked_up(path);
        CHECK(other->done == 0);
        CHECK_FALSE(other->said.empty());
    }
    std::ofstream(autosave_path(path)) << "{";
    CHECK(marked_up(path)->done == 0);
    // A place that cannot be written says so, and nothing is lost.
    marking->save_to = (folder.path / "no such folder" / "x.glb").string();
    CHECK_FALSE(save(*marking));
    CHECK_FALSE(marking->said.empty());
    CHECK_FALSE(open_marking((folder.path / "none.glb").string()).has_value());
}

TEST_CASE("a photograph is put in, undone, taken out, kept beside the file and saved") {
    const testing::Folder folder;
    const std::string path = bare_map(folder), picture = (folder.path / "from below.png").string();
    // A PNG of one grey pixel (PNG, third edition; written by Python's zlib).
    constexpr std::array<unsigned char, 67> dot{
        0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44, 0x52, 0x00,
        0x00, 0x00, 0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3a, 0x7e, 0x9b, 0x55, 0x00,
        0x00, 0x00, 0x0a, 0x49, 0x44, 0x41, 0x54, 0x78, 0xda, 0x63, 0x68, 0x00, 0x00, 0x00, 0x82, 0x00, 0x81,
        0xda, 0x45, 0x08, 0x3b, 0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82};
    std::ofstream(picture, std::ios::binary).write(reinterpret_cast<const char*>(dot.data()), dot.size());
    const auto marking = marked_up(path);
    const std::int32_t node = node_of(*marking, "water_pump"), other = node_of(*marking, "engine_block");
    marking->picked = {node};
    CHECK_FALSE(add_photo(*marking, picture)); // scenery shows nothing
    CHECK(marking->said.find("say what it is") != std::string::npos);
    REQUIRE(mark_as(*marking, MarkKind::part));
    CHECK_FALSE(add_photo(*marking, (folder.path / "none.jpg").string()));
    CHECK_FALSE(add_photo(*marking, path)); // no picture
    CHECK(marking->said.find("JPEG or PNG") != std::string::npos);
    const std::string before = marking->bytes;
    REQUIRE(add_photo(*marking, picture));
    CHECK(photos_of(*marking) == std::vector<std::string>{"from_below"});
    REQUIRE(marking->map.photos.size() == 1);
    CHECK(marking->item_of.size() == marking->map.nodes.size()); // the node that holds it is known
    undo(*marking);
    CHECK(marking->bytes == before);
    redo(*marking);
    CHECK(marking->map.photos.size() == 1);
    // Another one shows it, too: taken out of the first it stays in the file.
    marking->picked = {other};
    REQUIRE(mark_as(*marking, MarkKind::part));
    REQUIRE(set_value(*marking, KeyId::photo, "from_below"));
    marking->picked = {node};
    REQUIRE(drop_photo(*marking, "from_below"));
    CHECK(marking->map.photos.size() == 1);
    CHECK_FALSE(drop_photo(*marking, "from_below"));
    // Beside the file, with its pixels.
    const auto again = marked_up(path);
    CHECK(again->recovered);
    CHECK(again->bytes == marking->bytes);
    again->picked = {other};
    REQUIRE(drop_photo(*again, "from_below"));
    CHECK(again->map.photos.empty());
    CHECK(image_names(std::as_bytes(std::span(again->bytes.data(), again->bytes.size()))) ==
          std::vector<std::string>{std::string(photo_taken_out)});
    undo(*again);
    REQUIRE(save(*again));
    const auto saved = read_map(again->save_to);
    REQUIRE(saved.has_value());
    CHECK(saved->photos.size() == 1);
}

TEST_CASE("a group that the file does not have is made of what is picked, and nothing moves") {
    const testing::Folder folder;
    const auto marking = marked_up(bare_map(folder));
    std::vector<std::size_t> all(marking->proposals.list.size());
    for (std::size_t i = 0; i < all.size(); ++i)
        all[i] = i;
    REQUIRE(take_proposals(*marking, all));
    const auto places = [](const Map& map, const std::vector<std::int32_t>& nodes) {
        std::vector<std::array<double, 16>> worlds;
        for (const std::int32_t node : nodes)
            worlds.push_back(map.nodes[std::size_t(node)].world);
        return worlds;
    };
    std::vector<std::int32_t> bolts;
    for (const std::int32_t node : nodes_named(*marking, "pulley_bolt_"))
        if (kind_of(*marking, node) == MarkKind::fastener)
            bolts.push_back(node);
    REQUIRE(bolts.size() >= 3);
    marking->picked = bolts;
    CHECK(can_group(*marking));
    const auto before = places(marking->map, bolts);
    CHECK_FALSE(make_group(*marking, "  "));
    REQUIRE(make_group(*marking, "Bolts of the pulley"));
    const std::int32_t group = marking->picked.front();
    CHECK(kind_of(*marking, group) == MarkKind::group);
    CHECK(marking->map.nodes[std::size_t(group)].name == "bolts_of_the_pulley");
    CHECK(marking->item_of.size() == marking->map.nodes.size());
    REQUIRE(marking->map.groups.size() == 1);
    CHECK(marking->map.groups.front().title == "Bolts of the pulley");
    CHECK(marking->map.groups.front().members.size() == bolts.size());
    CHECK(places(marking->map, bolts) == before);
    // What is said of it, its members inherit; what is one piece's alone is not offered.
    const std::vector<KeyId> keys = keys_for(*marking);
    const auto offered = [&](KeyId key) { return std::find(keys.begin(), keys.end(), key) != keys.end(); };
    CHECK(offered(KeyId::count));
    CHECK(offered(KeyId::torque));
    CHECK(offered(KeyId::photo));
    CHECK_FALSE(offered(KeyId::axis));
    CHECK_FALSE(offered(KeyId::mass_kg));
    REQUIRE(set_value(*marking, KeyId::torque, "10 N·m"));
    CHECK(marking->map.fastener(marking->map.nodes[std::size_t(bolts.front())].item).torque.has_value());
    undo(*marking);
    undo(*marking);
    CHECK(marking->map.groups.empty());
    CHECK(marking->picked.empty()); // the node is gone
    redo(*marking);
    REQUIRE(save(*marking));
    const auto saved = read_map(marking->save_to);
    REQUIRE(saved.has_value());
    REQUIRE(saved->groups.size() == 1);
    CHECK(saved->groups.front().members.size() == bolts.size());
    CHECK(places(*saved, bolts) == before);
    // Not of parts, and not of nothing.
    marking->picked = {node_of(*marking, "engine_block")};
    CHECK_FALSE(make_group(*marking, "no"));
    marking->picked.clear();
    CHECK_FALSE(make_group(*marking, "no"));
}

TEST_CASE("no file of another's is written over without a word") {
    const testing::Folder folder;
    const std::string path = bare_map(folder), marked = (folder.path / "bare_marked.glb").string();
    const auto say = [](Marking& marking, const std::string& title) {
        pick_node(marking, node_of(marking, "hose"), false);
        REQUIRE(mark_as(marking, MarkKind::part));
        REQUIRE(set_value(marking, KeyId::part, title));
    };
    const std::string theirs = "an evening's work";
    std::ofstream(marked, std::ios::binary) << theirs;
    const auto marking = marked_up(path);
    CHECK(marking->save_to == (folder.path / "bare_marked_2.glb").string());
    say(*marking, "First");
    // Its name is typed: asked, by that name, and nothing is lost.
    marking->save_to = marked;
    CHECK_FALSE(asks_replace(*marking));
    CHECK_FALSE(save(*marking));
    CHECK(asks_replace(*marking));
    CHECK(marking->said.find(marked) != std::string::npos);
    CHECK(bytes_at(marked) == theirs);
    CHECK_FALSE(save(*marking)); // once more without the answer is no answer
    CHECK(bytes_at(marked) == theirs);
    CHECK(is_unsaved(*marking));
    // Another spelling of the same file is the same file.
    marking->save_to = (folder.path / "." / "bare_marked.glb").string();
    CHECK_FALSE(asks_replace(*marking));
    CHECK_FALSE(save(*marking));
    CHECK(bytes_at(marked) == theirs);
    REQUIRE(save(*marking, true));
    CHECK(bytes_at(marked) != theirs);
    // It is this session's own from now on, in this room and the next one.
    say(*marking, "Second");
    marking->save_to = marked;
    CHECK(save(*marking));
    CHECK_FALSE(asks_replace(*marking));
    const auto later = open_marking(marked, marking->written);
    REQUIRE(later.has_value());
    CHECK((*later)->save_to == marked);
    // Another day: neither the file that was opened nor its neighbour.
    CHECK(marked_up(marked)->save_to == (folder.path / "bare_marked_2.glb").string());
    std::ofstream((folder.path / "bare_marked_2.glb").string()) << theirs;
    CHECK(marked_up(marked)->save_to == (folder.path / "bare_marked_3.glb").string());
    // The file that was opened is one's own, however it is spelt.
    const auto same = marked_up(path);
    say(*same, "Third");
    same->save_to = (folder.path / "." / "bare.glb").string();
    REQUIRE(save(*same));
    CHECK(same->done == 0); // what was opened is what was saved
    CHECK(same->original == bytes_at(path));
    // A folder is no file to be replaced.
    same->save_to = folder.path.string();
    CHECK_FALSE(save(*same));
    CHECK_FALSE(asks_replace(*same));
}

TEST_CASE("a title that is the node's name shows as none, and stays when nothing is typed") {
    const testing::Folder folder;
    const auto marking = marked_up(bare_map(folder));
    pick_node(*marking, node_of(*marking, "hose"), false);
    REQUIRE(mark_as(*marking, MarkKind::part));
    CHECK(value_of(*marking, KeyId::part) == "true");
    CHECK(shown_of(*marking, KeyId::part).empty());
    CHECK(hint_of(KeyId::part) == "its title");
    CHECK(hint_of(KeyId::group) == hint_of(KeyId::part));
    const std::size_t before = marking->done;
    CHECK(set_value(*marking, KeyId::part, " "));
    CHECK(marking->done == before); // nothing was said
    REQUIRE(set_value(*marking, KeyId::part, "Upper hose"));
    CHECK(shown_of(*marking, KeyId::part) == "Upper hose");
    // Emptied it is a part still: the kind is chosen by the buttons.
    REQUIRE(set_value(*marking, KeyId::part, ""));
    CHECK(kind_of(*marking, node_of(*marking, "hose")) == MarkKind::part);
    REQUIRE(set_value(*marking, KeyId::fixed, "true"));
    CHECK(shown_of(*marking, KeyId::fixed) == "true"); // only a title hides it
}

TEST_CASE("titles are shown beside names, and meant where a name is wanted") {
    const testing::Folder folder;
    const auto marking = marked_up(bare_map(folder));
    const std::int32_t hose = node_of(*marking, "hose"), pump = node_of(*marking, "water_pump");
    const std::int32_t block = node_of(*marking, "engine_block");
    for (const auto& [node, title] : {std::pair{hose, "Upper hose"}, {pump, "The pump"}, {block, ""}}) {
        pick_node(*marking, node, false);
        REQUIRE(mark_as(*marking, MarkKind::part));
        REQUIRE(set_value(*marking, KeyId::part, title));
    }
    CHECK(label_of(*marking, hose) == "Upper hose (hose)");
    CHECK(label_of(*marking, block) == "engine_block");
    CHECK(nodes_named(*marking, "the pump") == std::vector<std::int32_t>{pump});
    CHECK(label_of_offer(*marking, KeyId::holds, "water_pump; engine_block") == "The pump (water_pump); engine_block");
    CHECK(label_of_offer(*marking, KeyId::grade, "8.8") == "8.8");
    // Nothing waits for itself.
    pick_node(*marking, hose, false);
    const auto offers = offers_for(*marking, KeyId::after);
    CHECK(std::find(offers.begin(), offers.end(), "water_pump") != offers.end());
    CHECK(std::find(offers.begin(), offers.end(), "hose") == offers.end());
    try_value(*marking, KeyId::after, "the pump");
    CHECK(marking->typed.empty());
    REQUIRE(set_value(*marking, KeyId::after, "the pump; engine_block"));
    CHECK(value_of(*marking, KeyId::after) == "water_pump; engine_block");
    // A title that two have is no name; a name goes before a title.
    pick_node(*marking, block, false);
    REQUIRE(set_value(*marking, KeyId::part, "The pump"));
    CHECK(meant_by(*marking, KeyId::after, "The pump") == "The pump");
    REQUIRE(set_value(*marking, KeyId::part, "hose"));
    CHECK(meant_by(*marking, KeyId::after, "hose") == "hose");
    // A wrong target is told once.
    marking->picked.clear();
    try_value(*marking, KeyId::target, "no_such_part");
    CHECK(marking->typed.size() == 1);
    pick_node(*marking, node_of(*marking, "pulley_bolt_1"), false);
    REQUIRE(mark_as(*marking, MarkKind::fastener));
    marking->picked.clear();
    try_value(*marking, KeyId::target, "pulley_bolt_1");
    CHECK(marking->typed.size() == 1);
    const auto told = [&] {
        return std::count_if(marking->findings.begin(), marking->findings.end(),
                             [](const Finding& f) { return f.key == "target"; });
    };
    CHECK(told() == 1); // none is stated
    REQUIRE(set_value(*marking, KeyId::target, "no_such_part"));
    CHECK(told() == 1);
    REQUIRE(set_value(*marking, KeyId::target, "Upper hose"));
    CHECK(told() == 0);
    CHECK(value_of(*marking, KeyId::target) == "hose");
}

TEST_CASE("stepping out closes the offers first, then lets go") {
    const testing::Folder folder;
    const auto marking = marked_up(bare_map(folder));
    pick_node(*marking, node_of(*marking, "hose"), false);
    marking->offering = KeyId::after;
    step_out(*marking);
    CHECK(marking->offering == KeyId::id);
    CHECK(marking->picked.size() == 1);
    step_out(*marking);
    CHECK(marking->picked.empty());
}

TEST_CASE("a question about the model is asked in plain words, and its figures are beside it") {
    const testing::Folder folder;
    const auto right = marked_up(bare_map(folder));
    CHECK(question_of(*right).empty());
    const glm::dvec3 size = right->stage.bounds.size();
    const std::string file = right->original;
    const auto large = write_turned(std::as_bytes(std::span(file.data(), file.size())), 1000, upright_turn(UpAxis::y));
    REQUIRE(large.has_value());
    const std::string path = (folder.path / "large.glb").string();
    std::ofstream(path, std::ios::binary) << *large;
    const auto marking = marked_up(path);
    REQUIRE(asks_scale(*marking));
    const std::string longest = print_figure(std::max({size.x, size.y, size.z}));
    CHECK(question_of(*marking).find("In millimetres it would be " + longest + " m. Scale it?") != std::string::npos);
    REQUIRE(why_asked(*marking).size() == 4); // metres, millimetres, inches, centimetres
    for (const std::string& why : marking->question.why)
        CHECK(why.find("e+") == std::string::npos);
    REQUIRE(answer_scale(*marking, true));
    CHECK(question_of(*marking).empty());
    CHECK(print_figure(474.4) == "474");
    CHECK(print_figure(0.4744) == "0.474");
    CHECK(print_figure(16000) == "16000");
    CHECK(print_figure(13.04) == "13");
    CHECK(print_figure(0) == "0");
}

TEST_CASE("what is picked is marked in the drawing: of a group its shapes, each once") {
    const testing::Folder folder;
    const auto marking = marked_up(std::string(BOLTWALK_SOURCE_DIR) + "/assets/water_pump.glb");
    const std::int32_t group = node_of(*marking, "pulley_bolts"), bolt = node_of(*marking, "pulley_bolt_1");
    marking->picked = {group};
    CHECK(held_by(*marking, group).size() == 4);
    CHECK(drawn_of_picked(*marking) == held_by(*marking, group));
    marking->picked = {bolt, group};
    CHECK(drawn_of_picked(*marking).size() == 4);
    CHECK(drawn_of_picked(*marking).front() == bolt);
    CHECK(meaning_for(*marking, KeyId::holds).find("holds together") != std::string::npos);
}

namespace {

/// A file of that JSON alone, in the room.
std::shared_ptr<Marking> room_of(const testing::Folder& folder, const std::string& json) {
    const std::string path = (folder.path / "told.gltf").string();
    std::ofstream(path, std::ios::binary) << json;
    return marked_up(path);
}

/// What the room says to do about the finding of that rule.
std::string told_here(const Marking& marking, const std::string& rule) {
    for (const Finding& finding : marking.findings)
        if (finding.rule == rule)
            return remedy_here(marking, finding);
    FAIL_CHECK("no " << rule);
    return "";
}

/// A scene of these nodes; a triangle of the size of a hand is mesh 0.
std::string scene_of(const std::string& nodes, const std::string& list, const std::string& mesh_extras = "") {
    return R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[)" + list + R"(]}],"nodes":[)" + nodes +
           R"(],"meshes":[{"primitives":[{"attributes":{"POSITION":0}}])" +
           (mesh_extras.empty() ? "" : R"(,"extras":{)" + mesh_extras + "}") +
           R"(}],"accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3","min":[0,0,0],"max":[0.1,0.1,0]}],)"
           R"("bufferViews":[{"buffer":0,"byteLength":36}],"buffers":[{"byteLength":36,"uri":"data:application/octet-stream;base64,)"
           R"(AAAAAAAAAAAAAAAAzczMPQAAAAAAAAAAAAAAAM3MzD0AAAAA"}]})";
}

} // namespace

TEST_CASE("what to do is said in the room's own terms, and what cannot be done there is said to be so") {
    const testing::Folder folder;
    const auto part = [](const std::string& more) {
        return R"({"name":"a","mesh":0,"extras":{"part":true})" + more + "}";
    };
    const auto nothing = room_of(folder, scene_of(R"({"name":"a","mesh":0})", "0"));
    CHECK(told_here(*nothing, "not-annotated").find("Pick a shape") == 0);
    const auto mesh = room_of(folder, scene_of(R"({"name":"a","mesh":0},{"name":"b","mesh":0,"extras":{"part":true}})",
                                               "0,1", R"("fastener":"bolt")"));
    CHECK(told_here(*mesh, "on-mesh").find("Pick it, say what it is") == 0);
    const auto bare =
        room_of(folder, scene_of(R"({"name":"a","mesh":0,"extras":{"torque":"8 N·m"}},)" + part(""), "0,1"));
    CHECK(told_here(*bare, "no-item").find("Pick it, and say what it is: Part") == 0);
    const auto turned = room_of(folder, scene_of(part(R"(,"rotation":[0,0,0,0])"), "0"));
    CHECK(told_here(*turned, "rotation").find("It may stay so") == 0);
    const auto flat =
        room_of(folder, scene_of(R"({"name":"a","mesh":0,"scale":[1,2,1],"extras":{"fastener":"bolt"}})", "0"));
    CHECK(told_here(*flat, "scale").find("Not to be mended in this room") == 0);
    // Nothing that the room says first is a deed of another program.
    for (const auto& marking : {nothing, mesh, bare, turned, flat})
        for (const Finding& finding : marking->findings) {
            const std::string words = remedy_here(*marking, finding);
            for (const char* word : {"xport", "Blender", "ustom Propert", "Apply the object", "modelling tool"})
                CHECK_MESSAGE((words.find(word) == std::string::npos ||
                               words.find("where the model was made") < words.find(word)),
                              words);
        }
}

TEST_CASE("two of one name get names of their own as the room says") {
    const testing::Folder folder;
    const auto marking =
        room_of(folder, scene_of(R"({"name":"a","mesh":0,"extras":{"part":true}},)"
                                 R"({"name":"a","mesh":0,"extras":{"part":true},"translation":[1,0,0]})",
                                 "0,1"));
    CHECK(told_here(*marking, "two-of-one-name").find("Say Scenery of it, then again what it is") == 0);
    pick_node(*marking, 1, false);
    REQUIRE(mark_as(*marking, MarkKind::scenery));
    REQUIRE(mark_as(*marking, MarkKind::part));
    CHECK(std::none_of(marking->findings.begin(), marking->findings.end(),
                       [](const Finding& finding) { return finding.rule == "two-of-one-name"; }));
    CHECK(marking->map.parts.size() == 2);
}
