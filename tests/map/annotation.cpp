// Every key, read.

#include "tests/map/tiny.hpp"

using namespace boltwalk;
using namespace tiny;

TEST_CASE("the scene's keys") {
    const Map map = map_of(
        gltf(with_parts(""), R"({"nodes":[0,1,2],"extras":{"job":"Pump out","vehicle":"small engine","target":"cover",)"
                             R"("caution":"Hot; Eyes","source":"invented"}})"));
    CHECK(map.job == "Pump out");
    CHECK(map.vehicle == "small engine");
    CHECK(map.source == "invented");
    CHECK(map.cautions == std::vector<std::string>{"Hot", "Eyes"});
    REQUIRE(map.target);
    CHECK(map[map.target].name == "cover");
    CHECK_MESSAGE(map.findings.empty(), list(map));
}

TEST_CASE("keys of any item") {
    const Map map = map_of(with_bolt(
        R"("step":3,"after":"cover; b0","refit_after":"frame","refit_free":"b0","not_in_way":"cover","from":"Under","people":2,)"
        R"("needs":"neutral; brake off","note":" n ","refit_note":"r","caution":"c","refit_caution":"d","source":"s","id":"x-1")"));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    const Item& b = item(map, "b");
    CHECK(b.step == 3);
    CHECK(names(map, b.after) == std::vector<std::string>{"cover", "b0"});
    CHECK(names(map, b.refit_after) == std::vector<std::string>{"frame"});
    CHECK(names(map, b.refit_free) == std::vector<std::string>{"b0"});
    CHECK(names(map, b.not_in_way) == std::vector<std::string>{"cover"});
    CHECK(b.from == Place::under);
    CHECK(b.people == 2);
    CHECK(b.needs.gear == Ask::no);
    CHECK(b.needs.brake == Ask::no);
    CHECK(b.note == "n");
    CHECK(b.refit_note == "r");
    CHECK(b.caution == "c");
    CHECK(b.refit_caution == "d");
    CHECK(b.source == "s");
    CHECK(b.id == "x-1");
    CHECK(b.title == "b");
}

TEST_CASE("keys of a fastener") {
    const Map map = map_of(with_bolt(
        R"("joint":"j","stack":2,"turn":"nut","thread":"M10x1.25","length_mm":45,"head":"hex_flange","drive":"hex 14",)"
        R"("grade":10.9,"hand":"left","counter":"brake","counter_from":"inside","held_through":"cover","torque":"69..78 N·m",)"
        R"("torque_after":"wheels down; b0","pattern":"star","passes":"30 %; 100 %","renew":true,"lock":"medium",)"
        R"("condition":"dry","soak_min":15,"frees_when":"slack","leaves_with":"cover","captive_in":"frame","own_place":1,)"
        R"("axis":"-z","secures":"b0")"));
    INFO(list(map));
    const Fastener& b = fastener(map, "b");
    CHECK(b.kind == FastenerKind::bolt);
    CHECK(names(map, b.holds) == std::vector<std::string>{"frame", "cover"});
    CHECK(b.joint == "j");
    CHECK(b.stack == 2);
    CHECK(b.turn == "nut");
    REQUIRE(b.thread.has_value());
    CHECK(b.thread->name == "M10x1.25");
    CHECK(b.length_mm == 45.0);
    CHECK(b.head == "hex_flange");
    REQUIRE(b.drive.has_value());
    CHECK(b.drive->name == "hex 14");
    CHECK(b.grade == "10.9");
    CHECK(b.hand == Hand::left);
    CHECK(b.counter == "brake");
    CHECK(b.counter_from == Place::inside);
    CHECK(names(map, b.held_through) == std::vector<std::string>{"cover"});
    REQUIRE(b.torque.has_value());
    CHECK(b.torque->stages[0].high_nm == doctest::Approx(78));
    CHECK(names(map, b.torque_after) == std::vector<std::string>{"b0"});
    CHECK(b.torque_after_vehicle.stands == Ask::no);
    CHECK(b.pattern == "star");
    CHECK(b.passes == "30 %; 100 %");
    CHECK(b.renew);
    CHECK(b.lock == "medium");
    CHECK(b.condition == "dry");
    CHECK(b.soak_min == 15.0);
    CHECK(b.frees_when == FreesWhen::slack);
    CHECK(map[b.leaves_with].name == "cover");
    CHECK(map[b.captive_in].name == "frame");
    CHECK(b.own_place);
    CHECK(b.axis == std::array<double, 3>{0, 0, -1});
    CHECK(names(map, b.secures) == std::vector<std::string>{"b0"});
}

TEST_CASE("what a fastener does not state is not stated") {
    const Map map = map_of(with_bolt(""));
    const Fastener& b = fastener(map, "b");
    CHECK_FALSE(b.thread.has_value());
    CHECK_FALSE(b.drive.has_value());
    CHECK_FALSE(b.torque.has_value());
    CHECK_FALSE(b.length_mm.has_value());
    CHECK_FALSE(b.renew);
    CHECK(b.frees_when == FreesWhen::out);
    CHECK(b.axis == std::array<double, 3>{0, 1, 0});
    CHECK(b.hand == Hand::right);
    CHECK(item(map, "b").people == 1);
    CHECK_FALSE(item(map, "b").step.has_value());
}

TEST_CASE("a stud frees when its nut is off, unless it says otherwise") {
    const auto frees = [](const std::string& more) {
        const Map map =
            map_of(gltf(with_parts(R"({"name":"s","extras":{"fastener":"stud","holds":"frame;cover")" + more + "}}")));
        return fastener(map, "s").frees_when;
    };
    CHECK(frees("") == FreesWhen::nut_off);
    CHECK(frees(R"(,"frees_when":"out")") == FreesWhen::out);
}

TEST_CASE("keys of a part") {
    const Map map = map_of(with_part(
        R"("fixed":false,"mass_kg":"43 kg","material":"aluminium",)"
        R"("renew":"yes","transfer":true,"way":"front 40 mm; down 600 mm","lower":"5 cm",)"
        R"("aside":"left 200 mm","hang_from":"a wire","tether":"cover","support":"Jack; strap","carried_by":"b0",)"
        R"("lift_point":"the sump","loaded":"spring","turns":"+z","adjust":"mark it","flexible":true,"fluid":"oil",)"
        R"("amount_l":1.5,"opens":"p; cover")"));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    const Part& p = part(map, "p");
    CHECK_FALSE(p.fixed);
    CHECK(p.mass_kg == 43.0);
    CHECK(p.material == "aluminium");
    CHECK(p.renew);
    CHECK(p.transfer);
    REQUIRE(p.way.size() == 2);
    CHECK(p.way[1].length_mm == 600);
    CHECK(p.lower_mm == 50.0);
    CHECK(p.aside == "left 200 mm");
    CHECK(p.aside_legs.size() == 1);
    CHECK(p.hang_from == "a wire");
    CHECK(names(map, p.tether) == std::vector<std::string>{"cover"});
    CHECK(p.support == "jack; strap");
    CHECK(names(map, p.carried_by) == std::vector<std::string>{"b0"});
    CHECK(p.lift_point == "the sump");
    CHECK(p.loaded == "spring");
    CHECK(p.turns == "+z");
    CHECK(p.adjust);
    CHECK(p.adjust_note == "mark it");
    CHECK(p.flexible);
    CHECK(p.fluid == "oil");
    CHECK(p.amount_l == 1.5);
    CHECK(names(map, p.opens) == std::vector<std::string>{"p", "cover"});
    CHECK(item(map, "p").title == "p");
}

TEST_CASE("aside as text, adjust as yes and no") {
    const Map map = map_of(with_part(R"("aside":"up and over the rail","adjust":true)"));
    CHECK(part(map, "p").aside == "up and over the rail");
    CHECK(part(map, "p").aside_legs.empty());
    CHECK(part(map, "p").adjust);
    CHECK(part(map, "p").adjust_note == "");
    CHECK_FALSE(part(map_of(with_part(R"("adjust":"no")")), "p").adjust);
}

TEST_CASE("keys of a task") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"t","extras":{"task":"Drain it","when":"both","gate":true,"does":"drain","to":"cover; frame","sets":"stands; chocked"}})")));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    const Task& t = map.task(find_item(map, "t"));
    CHECK(item(map, "t").title == "Drain it");
    CHECK(t.when == TaskWhen::both);
    CHECK(t.gate);
    CHECK(t.does == TaskDoes::drain);
    CHECK(names(map, t.to) == std::vector<std::string>{"cover", "frame"});
    CHECK(t.sets.stands == Ask::yes);
}

TEST_CASE("a group passes its keys on, and an item's own word wins") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"g","children":[4,5,6],"extras":{"group":"Cover bolts","fastener":"bolt","thread":"M8","drive":"hex 13",)"
        R"("torque":"22 N·m","holds":"frame;cover","step":4,"count":3,"from":"under","source":"page 3"}},)"
        R"({"name":"g1","mesh":0},{"name":"g2","mesh":0,"extras":{"torque":"30 N·m","step":5}},)"
        R"({"name":"g3","mesh":0,"extras":{"fastener":"screw","id":"k"}})")));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    REQUIRE(map.groups.size() == 1);
    CHECK(map.groups[0].title == "Cover bolts");
    CHECK(map.groups[0].count == 3);
    CHECK(names(map, map.groups[0].members) == std::vector<std::string>{"g1", "g2", "g3"});
    CHECK(fastener(map, "g1").torque->text == "22 N·m");
    CHECK(fastener(map, "g2").torque->text == "30 N·m");
    CHECK(fastener(map, "g1").thread->name == "M8");
    CHECK(fastener(map, "g3").kind == FastenerKind::screw);
    CHECK(names(map, fastener(map, "g3").holds) == std::vector<std::string>{"frame", "cover"});
    CHECK(item(map, "g1").step == 4);
    CHECK(item(map, "g2").step == 5);
    CHECK(item(map, "g1").title == "Cover bolts");
    CHECK(item(map, "g1").from == Place::under);
    CHECK(item(map, "g1").source == "page 3");
    CHECK(item(map, "g1").group == 0);
    CHECK(item(map, "g1").id == "");
}

TEST_CASE("inheritance ends at the next group and at a part") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"g","children":[4,6,8],"extras":{"group":"outer","fastener":"bolt","torque":"22 N·m","holds":"frame;cover"}},)"
        R"({"name":"inner","children":[5],"extras":{"group":"inner","fastener":"nut","holds":"frame;cover"}},{"name":"i1","mesh":0},)"
        R"({"name":"q","children":[7],"extras":{"part":"q","after":"cover"}},{"name":"q_plug","mesh":0,"extras":{"fastener":"plug","holds":"q"}},)"
        R"({"name":"frame_of_meshes","children":[9]},{"name":"deep","mesh":0})")));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    CHECK_FALSE(fastener(map, "i1").torque.has_value());
    CHECK(fastener(map, "i1").kind == FastenerKind::nut);
    CHECK_FALSE(fastener(map, "q_plug").torque.has_value());
    CHECK(item(map, "q_plug").group == -1);
    CHECK(item(map, "q").group == find_group(map, "g"));
    CHECK(fastener(map, "deep").torque.has_value()); // through a node that is nothing
    CHECK_FALSE(find_item(map, "frame_of_meshes"));
}

TEST_CASE("washers and pins inherit what they hold, not what turns them") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"g","children":[4,5,6],"extras":{"group":"g","count":1,"thread":"M8","torque":"22 N·m","drive":"hex 13","holds":"frame;cover"}},)"
        R"({"name":"nut","mesh":0,"extras":{"fastener":"nut","joint":"j"}},{"name":"washer","mesh":0,"extras":{"fastener":"washer","joint":"j"}},)"
        R"({"name":"pin","mesh":0,"extras":{"fastener":"split_pin","secures":"nut","drive":"pliers"}})")));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    CHECK(fastener(map, "nut").torque.has_value());
    CHECK_FALSE(fastener(map, "washer").torque.has_value());
    CHECK_FALSE(fastener(map, "washer").thread.has_value());
    CHECK(fastener(map, "washer").holds.size() == 2);
    CHECK(fastener(map, "pin").drive->kind == DriveKind::pliers);
}

TEST_CASE("a group's name means its members, of the kind asked for") {
    const Map map = map_of(
        gltf(with_parts(R"({"name":"g","children":[4,5],"extras":{"group":"g"}},{"name":"gp","extras":{"part":"gp"}},)"
                        R"({"name":"gb","extras":{"fastener":"bolt","holds":"gp;frame"}},)"
                        R"({"name":"b","extras":{"fastener":"bolt","holds":"g; frame","after":"g;gb"}})")));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    CHECK(names(map, fastener(map, "b").holds) == std::vector<std::string>{"gp", "frame"});
    CHECK(names(map, item(map, "b").after) == std::vector<std::string>{"gp", "gb"}); // each once, as written
}

TEST_CASE("a member that waits for its own group does not wait for itself") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"g","children":[4,5],"extras":{"group":"g","fastener":"bolt","holds":"frame;cover","after":"g"}},{"name":"x","mesh":0},{"name":"y","mesh":0})")));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    CHECK(names(map, item(map, "x").after) == std::vector<std::string>{"y"});
}

TEST_CASE("meshes belong to the nearest item above; the rest is scenery") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"p","children":[4],"extras":{"part":"p","after":"cover"}},{"name":"shell","mesh":0,"children":[5]},)"
        R"({"name":"plug","mesh":0,"extras":{"fastener":"plug","holds":"p"},"children":[6]},{"name":"head","mesh":0},{"name":"wall","mesh":0})")));
    const auto owner = [&](std::size_t node) {
        const ItemId id = map.nodes[node].item;
        return id ? map[id].name : std::string("-");
    };
    CHECK(owner(4) == "p");
    CHECK(owner(5) == "plug");
    CHECK(owner(6) == "plug");
    CHECK(owner(7) == "-");
}

TEST_CASE("items stand in file order, wherever they stand in the tree") {
    const Map map = map_of(gltf(
        R"({"name":"z","extras":{"part":"z","after":"a"}},{"name":"root","children":[0,2]},{"name":"a","extras":{"part":"a","fixed":true}})"));
    REQUIRE(map.items.size() == 2);
    CHECK(map.items[0].name == "z");
    CHECK(map.items[1].name == "a");
}

TEST_CASE("values as other tools write them: numbers as text, text as numbers, 1 for yes, arrays for an axis") {
    const Map map = map_of(with_bolt(
        R"("length_mm":"30 mm","step":"2","grade":8.800000190734863,"renew":1,"own_place":"no","axis":[0,0,2],"stack":"1.0","soak_min":"15 min")"));
    CHECK_MESSAGE(map.findings.empty(), list(map));
    const Fastener& b = fastener(map, "b");
    CHECK(b.length_mm == 30.0);
    CHECK(item(map, "b").step == 2);
    CHECK(b.grade == "8.8");
    CHECK(b.renew);
    CHECK_FALSE(b.own_place);
    CHECK(b.axis == std::array<double, 3>{0, 0, 1});
    CHECK(b.stack == 1);
    CHECK(b.soak_min == 15.0);
}

TEST_CASE("titles: true, 1 and nothing mean the node's name") {
    for (const char* title : {"true", "1", "\"\""}) {
        const Map map = map_of(gltf(fmt::format(R"({{"name":"frame","extras":{{"part":{},"fixed":true}}}})", title)));
        CHECK(map.items[0].title == "frame");
    }
}

TEST_CASE("a file without any annotation has one note") {
    const Map map = map_of(
        gltf(R"({"name":"x","mesh":0,"extras":{"source":"a scan","id":7,"cycles":{"a":[1]},"note":"n","steps":3}})"));
    only(map, "not-annotated", Weight::note, "", "");
    CHECK_MESSAGE(map.findings.size() == 1, list(map));
    CHECK(map.items.empty());
}

TEST_CASE("other programs' extras are left alone") {
    const Map map = map_of(gltf(with_parts(
        R"({"name":"x","mesh":0,"extras":{"cycles":{"a":[1]},"rigid_body":null,"colour":"red","price":3,"type":"y"}},)"
        R"({"name":"y","mesh":0,"extras":[1,2]},{"name":"z","mesh":0,"extras":"text"})")));
    CHECK_MESSAGE(map.findings.empty(), list(map));
}
