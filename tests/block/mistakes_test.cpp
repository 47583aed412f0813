// Every mistake is told with its line and column, and with what would mend it.
#include "tests/block/made.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

const std::string one_frame = "frame = { part = true, fixed = true, box = [200, 40, 200] }\n";

/// The first note of a recipe that gives no map: where, and words that stand in it.
void wrong(const std::string& recipe, int line, int column, std::initializer_list<const char*> words) {
    const Blocked made = block_out(recipe);
    CAPTURE(recipe);
    const std::string notes = all_notes(made);
    CAPTURE(notes);
    CHECK(made.glb.empty());
    REQUIRE_FALSE(made.notes.empty());
    CHECK(made.notes[0].weight == Weight::fault);
    CHECK(made.notes[0].line == line);
    CHECK(made.notes[0].column == column);
    CHECK_FALSE(made.notes[0].remedy.empty());
    for (const char* word : words)
        CHECK(notes.find(word) != std::string::npos);
}

} // namespace

TEST_CASE("a letter beyond ASCII is at home in quotes and comments only") {
    for (const char* text : {"\xC3\xA9 = 1\n", "[\xC3\xA9]\n", "frame = { \xE3\x80\x80part = true }\n"})
        CHECK(block_out(text).glb.empty());
    CHECK(all_notes(block_out("\xC3\xA9 = 1\n")).find("outside of quotes") != std::string::npos);
    for (const char* text : {"# \xC3\xA9\n", "# it's \"one\n\n"})
        CHECK(all_notes(block_out(text + one_frame)).find("outside of quotes") == std::string::npos);
    const std::string quoted = "frame = { part = \"R\xC3\xA4"
                               "der \\\" \xC3\xA9\", fixed = true, box = [9, 9, 9] }\n";
    CHECK_FALSE(block_out(quoted).glb.empty());
}

TEST_CASE("no TOML") {
    const Blocked made = block_out("[frame\npart = 1\n");
    CHECK_FALSE(made.is_toml);
    CHECK(made.notes[0].line == 1);
    CHECK_FALSE(block_out("a = 2026-01-01\n").is_toml);
    CHECK_FALSE(block_out("[a]\nx = inf\n").is_toml);
    CHECK_FALSE(block_out(std::string(longest_recipe + 1, ' ')).is_toml);
    CHECK_FALSE(block_out("a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p.q.r.s = 1\n").is_toml);
    // Only texts and comments hold more than ASCII: what toml++ makes of it elsewhere is undefined.
    const Blocked accent = block_out("a = 1 # \u00e9 \u4e00\n\"\u00e9\" = 2\nn\u00e9 = 3\n");
    CHECK_FALSE(accent.is_toml);
    CHECK(accent.notes[0].line == 3);
    CHECK(accent.notes[0].column == 2);
    for (const char* behind_a_backslash :
         {"a = \"\"\"x\\\n\u00e9\"\"\"\n", "a = \"\"\"x\\\u00e9\"\"\"\n", "a = \"\\\u00e9\"\n"})
        CHECK_FALSE(block_out(behind_a_backslash).is_toml);
    wrong("a = 4\"4\"\n", 1, 6, {"quote stands where no text can begin"});
    wrong("a = \"x\" y\n", 1, 9, {"right behind a text"});
    wrong("a = \"x\"\nb = \x01\n", 2, 5, {"control character"});
    // Two quotes at the end of a long text are the text's own.
    CHECK(block_out(one_part("box = [1, 1, 1]\nnote = \"\"\"say \"\"so\"\"\"\"\"")).is_toml);
    CHECK(block_out("\xef\xbb\xbf" + one_part("box = [1, 1, 1]\nnote = \"\u00e9 N\u00b7m\"")).is_toml);
    // Dots within a text are none.
    CHECK(block_out(one_part("box = [1, 1, 1]\nnote = \"a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p.q.r.s\"")).notes.empty());
}

TEST_CASE("words and names") {
    wrong("", 0, 0, {"nothing in this recipe"});
    wrong("x = 3\n", 1, 1, {"stands in no table"});
    wrong(one_frame + "[a]\npart = true\nboxx = [1, 2, 3]\nafter = \"frame\"\n", 4, 1, {"boxx", "Did you mean box"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\nmas_kg = 3\n", 5, 1, {"Did you mean mass_kg"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\nnut = true\n", 5, 1, {"has no place here"});
    wrong(one_frame + "[scene]\nvehicel = \"x\"\n", 3, 1, {"Did you mean vehicle"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\non = \"tp of frame\"\n", 5, 6,
          {"names no face", "top, bottom, left"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\non = \"top of frme\"\n", 5, 6, {"Did you mean frame"});
    wrong("[a]\npart = true\nbox = [1, 2, 3]\non = \"top of frame\"\n[frame]\npart = true\nbox = [9, 9, 9]\n", 4, 6,
          {"comes later"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\non = \"top of frame, 3 from top\"\n", 5, 6, {"from top"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\non = \"top of frame, 3 mils from left\"\n", 5, 6, {"mils"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\non = \"top of frame, left\"\n", 5, 6, {"says no distance"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\non = \"top of frame\"\nat = [1, 2, 3]\n", 5, 1, {"not both"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\nmirror = true\n", 2, 2, {"neither left nor right"});
    wrong(one_frame + "[a]\nin = \"bolts\"\nbox = [1, 2, 3]\n", 3, 6, {"group named bolts"});
    wrong(one_frame + "[frames]\npart = true\nbox = [1, 2, 3]\nrow = { count = 2, step = 9, towards = \"up\" }\neach = "
                      "\"frame\"\n"
                      "[frame_1]\npart = true\nbox = [1, 2, 3]\n",
          7, 2, {"Two nodes would be named frame_1"});
}

TEST_CASE("shapes") {
    wrong("[a]\npart = true\n", 1, 2, {"has no shape"});
    wrong(one_part("box = [1, 2]"), 4, 7, {"list of 3"});
    wrong(one_part("box = [1, -2, 3]"), 4, 11, {"-2 mm is no size"});
    wrong(one_part("box = [1, 2, 30000]"), 4, 14, {"30000"});
    wrong(one_part("box = [1, 2, \"3 stone\"]"), 4, 14, {"box"});
    wrong(one_part("box = [1, 2, 3]\ntube = [1, 2, 3]"), 5, 1, {"box already"});
    wrong(one_part("tube = [20, 20, 3]"), 4, 8, {"as wide inside"});
    wrong(one_part("cone = [0, 0, 3]"), 4, 8, {"no diameters"});
    wrong(one_part("extruded = { outline = [[0, 0], [10, 10], [10, 0], [0, 10]], height = 3 }"), 4, 24,
          {"crosses or touches itself"});
    wrong(one_part("turned = [[-1, 0], [10, 0], [10, 10]]"), 4, 10, {"radius is below 0"});
    wrong(one_part("pipe = { outside = 20, bend = 60, through = [[0,0,0],[0,0,50],[50,0,50]] }"), 4, 54,
          {"no room for the bend"});
    wrong(one_part("pipe = { outside = 20, through = [[0,0,0],[0,0,50],[0,0,9]] }"), 4, 43, {"straight back"});
    wrong(one_part("box = [1, 2, 3]\nround = 2"), 5, 1, {"Only a plate"});
    wrong(one_part("box = [1, 2, 3]\nfacing = \"up\""), 5, 1, {"faces no way"});
    wrong(one_part("cylinder = [10, 3]\nsides = 2"), 5, 9, {"from 3 to 128"});
    wrong(one_part("foot = { mass_kg = 3 }"), 4, 10, {"no word for a piece"});
    wrong(one_part("foot = { box = [1, 2, 3] }\nwall = { box = [1, 2, 3], on = \"top of fot\" }"), 5, 32,
          {"Did you mean foot"});
}

TEST_CASE("holes") {
    wrong(one_part("cone = [20, 10, 9]\nholes = [{ on = \"top\", d = 3 }]"), 5, 10, {"carries no holes"});
    wrong(one_part("pipe = { outside = 20, through = [[0,0,0],[0,0,50]] }\nholes = [{ on = \"top\", d = 3 }]"), 5, 10,
          {"pipe carries no holes"});
    wrong(one_part("plate = [60, 40, 5]\nholes = [{ on = \"front\", d = 3 }]"), 5, 10, {"two flat ends only"});
    // Drawn with 16 sides, whose middles lie on the circle: its corners are 4.5 / cos 11.25 degrees = 4.59 mm out.
    wrong(one_part("plate = [60, 40, 5]\nholes = [{ on = \"top, 2 from left\", d = 9 }]"), 5, 10,
          {"does not lie within the top of the plate: it reaches 2.6 mm beyond its left edge."});
    wrong(one_part("plate = [60, 40, 5]\nholes = [{ on = \"bottom, 3 from front\", d = 9 }]"), 5, 10,
          {"bottom of the plate: it reaches 1.6 mm beyond its front edge."});
    wrong(one_part("plate = [60, 40, 5]\nround = 18\nholes = [{ on = \"top, 6 from left, 6 from front\", d = 9 }]"), 6,
          10, {"does not lie within the top of the plate."}); // in the corner that is cut off
    wrong(one_part("plate = [60, 40, 5]\nholes = [{ on = \"top\", d = 9 }, { on = \"top, 24 from left\", d = 9 }]"), 5,
          33, {"hole 2 runs into hole 1"});
    wrong(one_part("box = [60, 40, 50]\nholes = [{ on = \"top\", d = 9 }, { on = \"left\", d = 9 }]"), 5, 33,
          {"runs into"});
    wrong(one_part("box = [60, 40, 50]\nholes = [{ on = \"top\", d = 9, deep = 40 }]"), 5, 10,
          {"40 mm deep where there are 40"});
    wrong(one_part("box = [60, 40, 50]\nholes = [{ on = \"top\" }]"), 5, 10, {"no size"});
    wrong(one_part("box = [60, 40, 50]\nholes = [{ on = \"top\", d = 9, dep = 4 }]"), 5, 31, {"Did you mean deep"});
    wrong(one_part("box = [60, 40, 50]\nholes = [{ d = 9 }]"), 5, 10, {"in no face"});
    wrong(one_part("box = [60, 40, 50]\nholes = [{ on = \"top\", d = 9, countersink = 100 }]"), 5, 10, {"within"});
    wrong(one_part("box = [60, 40, 50]\nholes = [{ on = \"top\", d = 9, deep = 4, counterbore = [20, 6] }]"), 5, 10,
          {"deeper than the hole"});
}

TEST_CASE("fasteners") {
    const std::string on = "holds = \"frame\"\non = \"top of frame\"\n";
    wrong(one_frame + "[b]\nfastener = \"bolt\"\n" + on, 2, 2, {"has no thread"});
    wrong(one_frame + "[b]\nfastener = \"bolt\"\nthread = \"M8\"\n" + on, 2, 2, {"has no length_mm"});
    wrong(one_frame + "[b]\nfastener = \"bolt\"\nthread = \"M8x25\"\n" + on, 4, 10, {"thread"});
    wrong(one_frame + "[b]\nfastener = \"bollt\"\n" + on, 3, 12, {"Did you mean bolt"});
    wrong(one_frame + "[b]\nfastener = \"clip\"\n" + on, 3, 12, {"Give it a shape"});
    wrong(one_frame + "[b]\nstandard = \"ISO 9999 M8x20\"\n" + on, 3, 12, {"No table here has", "ISO 4017"});
    for (const auto& [old, instead] : {std::pair("DIN 912 M8x20", "ISO 4762 took its place (from memory)"),
                                       std::pair("din125-A", "ISO 7089"), std::pair("DIN 7985 M4x12", "ISO 7045")})
        wrong(one_frame + "[b]\nstandard = \"" + old + "\"\n" + on, 3, 12, {"No table here has", instead});
    wrong(one_frame + "[b]\nstandard = \"DIN 9121 M8x20\"\n" + on, 3, 12, {"No table here has", "There are ISO 4014"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4032 M8\"\nfastener = \"bolt\"\nlength_mm = 9\n" + on, 3, 12,
          {"no standard of a bolt"});
    wrong(one_frame + "[b]\nstandard = \"ISO 7380 M7x20\"\n" + on, 3, 12, {"has no M7"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\nthread = \"M8\"\n" + on, 4, 1,
          {"stands in standard already"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\nhead = \"cap\"\n" + on, 4, 8, {"head of ISO 4017 is hex"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\nnut = true\nfrom = \"under\"\non = \"top of frame\"\n", 2, 2,
          {"its nut has no place"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x60\"\nnut = 3\n" + on, 4, 7, {"nut wants"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x60\"\nwasher = \"nut\"\n" + on, 4, 10, {"no nut for this washer"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\nclear = \"frmae\"\n" + on, 4, 9,
          {"No part is named frmae", "Did you mean frame"});
    wrong(one_frame + "[p]\npart = true\npipe = { outside = 20, through = [[0,40,0],[0,40,50]] }\nafter = \"frame\"\n"
                      "[b]\nstandard = \"ISO 4017 M8x20\"\nholds = \"p\"\nclear = \"p\"\nat = [0, 50, 25]\n",
          9, 9, {"pipe carries no holes"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\ntapped = \"frame\"\nrotate = [0, 0, 30]\n" + on, 4, 10,
          {"at a slant"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\ntapped = \"frame\"\nholds = \"frame\"\nat = [0, 99, 0]\n", 4,
          10, {"does not reach"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\nmirror = { lenth_mm = 3 }\n" + on, 4, 12,
          {"Did you mean length_mm"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\nrow = { count = 3 }\n" + on, 4, 1,
          {"row lacks step and towards"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\ncircle = { count = 3, diameter = 40, start = \"up\" }\n" +
              on,
          4, 1, {"leads off the face"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\ncorners = 150\n" + on, 4, 1, {"no corners left"});
    wrong(one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\ngrid = { count = [999, 999], step = [1, 1] }\n" + on, 4, 1,
          {"places"});
}

TEST_CASE("a pattern says what it does not know and what it lacks") {
    const std::string bolt =
        one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\nholds = \"frame\"\non = \"top of frame\"\n";
    wrong(bolt + "circle = { count = 6, diam = 92 }\n", 6, 23, {"knows no \"diam\"", "Did you mean diameter?"});
    CHECK(block_out(bolt + "circle = { count = 6, diam = 92 }\n").notes.size() == 1);
    wrong(bolt + "circle = 6\n", 6, 1, {"circle wants a table, not a number", "circle = { count = 6, diameter = 80 }"});
    wrong(bolt + "circle = { diameter = 80 }\n", 6, 1, {"circle lacks count."});
    wrong(bolt + "grid = { count = [2, 2], stp = [9, 9] }\n", 6, 26, {"Did you mean step?"});
    wrong(bolt + "row = { count = 2, step = 9, towards = \"left\", colour = 3 }\n", 6, 48, {"row knows no \"colour\""});
}

TEST_CASE("what depends on a table that failed is not told again") {
    const auto alone = [](const std::string& recipe, int line, const char* words) {
        const Blocked made = block_out(recipe);
        const std::string notes = all_notes(made);
        CAPTURE(notes);
        REQUIRE(made.notes.size() == 1);
        CHECK(made.notes[0].line == line);
        CHECK(notes.find(words) != std::string::npos);
    };
    const std::string gearbox = one_frame + "[gearbox]\npart = true\nbox = [90, 90, 90]\non = \"top of frame\"\n";
    const std::string pump = "[pump]\npart = true\nbox = [30, 30, 30]\non = \"top of gearbx\"\n"
                             "flange = { box = [9, 9, 9], on = \"top of pump\" }\n"; // lines 6 to 10
    const std::string cover = "[cover]\npart = true\nbox = [9, 9, 9]\non = \"top of pump\"\n"
                              "[lid]\npart = true\nbox = [9, 9, 9]\non = \"front of pump.flange\"\n"
                              "[cap]\npart = true\nbox = [9, 9, 9]\non = \"top of cover\"\n";
    const std::string bolts =
        "[b]\nstandard = \"ISO 4017 M8x60\"\nnut = true\nholds = \"pump; gearbox\"\non = \"top of "
        "cap\"\n[c]\nstandard = \"ISO 4017 M8x20\"\nclear = \"pump\"\nholds = \"pump\"\non = \"top "
        "of frame\"\n";
    alone(gearbox + pump + cover + bolts, 9, "Did you mean gearbox?");
    // Of a row that failed, its members too.
    alone(one_frame +
              "[pumps]\npart = true\nbox = [9, 9, 9]\non = \"top of frame\"\nrow = { count = 2, stp = 9, towards = "
              "\"left\" }\n[lid]\npart = true\nbox = [9, 9, 9]\non = \"top of pump_2\"\n",
          6, "Did you mean step?");
    // A piece that failed, in its own part and from outside.
    alone(one_frame + "[pump]\npart = true\nbox = [30, 30, 30]\non = \"top of frame\"\n[pump.flange]\nbox = [9, 9]\n"
                      "[pump.lug]\nbox = [3, 3, 3]\non = \"top of flange\"\n[lid]\npart = true\nbox = [9, 9, 9]\n"
                      "on = \"top of pump.flange\"\n",
          7, "list of 3");
    // A group that is none: what its members are, it would have said.
    alone(one_frame +
              "[bolts]\ngroup = \"Bolts\"\nstandard = \"ISO 4017 M8x20\"\nholds = \"frame\"\n[b]\nin = \"bolt\"\n"
              "on = \"top of frame\"\nwasher = true\n",
          7, "is a group named bolt");
    alone(one_frame +
              "[bolts]\ngroup = \"Bolts\"\nstandard = \"ISO 4O17 M8x20\"\nholds = \"frame\"\n[b]\nin = \"bolts\"\n"
              "on = \"top of frame\"\n",
          4, "No table here has");
    // One that is there and stands below is still told.
    wrong("[a]\npart = true\nbox = [1, 2, 3]\non = \"top of frame\"\n[frame]\npart = true\nfixed = true\nbox = [9, 9, "
          "9]\n",
          4, 6, {"comes later"});
}

TEST_CASE("a word that is near one of another kind of table, or that people use for another") {
    wrong(one_frame + "[b]\nstandart = \"ISO 4017 M8x20\"\nholds = \"frame\"\n", 3, 1, {"Did you mean standard?"});
    wrong(one_frame + "[a]\npart = true\nbox = [1, 2, 3]\nlift = \"jack\"\n", 5, 1,
          {"Did you mean support, or lift_point?"});
}

TEST_CASE("a quote that is not closed") {
    wrong(one_frame + "[a]\npart = \"Cover\nbox = [1, 2, 3]\n", 3, 8, {"not closed"});
    wrong(one_frame + "[a]\npart = 'Cover\nbox = [1, 2, 3]\n", 3, 8, {"not closed"});
    wrong(one_frame + "[a]\nnote = \"\"\"Cover\nbox = [1, 2, 3]\n", 3, 8, {"not closed", "three more"});
    wrong("a = \"", 1, 5, {"not closed"});
}

TEST_CASE("holds is told at its own line, for the nut too") {
    const std::string bolt = one_frame + "[b]\nstandard = \"ISO 4017 M8x60\"\nnut = true\non = \"top of frame\"\n";
    wrong(bolt + "holds = \"frme\"\n", 6, 9, {"No part is named frme.", "Did you mean frame?"});
    const Blocked made =
        block_out(bolt + "row = { count = 2, step = 20, towards = \"left\" }\nholds = \"frame; cover\"\n");
    REQUIRE(!made.notes.empty());
    for (const RecipeNote& note : made.notes)
        CHECK(note.line == 7);
}

TEST_CASE("a face is no place to work from") {
    const std::string bolt =
        one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\non = \"top of frame\"\nholds = \"frame\"\n";
    wrong(bolt + "from = \"top\"\n", 6, 1, {"Did you mean \"over\"?"});
    wrong(bolt + "from = \"bottom\"\n", 6, 1, {"Did you mean \"under\"?"});
}

TEST_CASE("what the annotation finds is told at the recipe's own line") {
    const std::string bolt = one_frame + "[b]\nstandard = \"ISO 4017 M8x20\"\non = \"top of frame\"\n";
    wrong(bolt + "holds = \"frame\"\ntorque = \"20\"\n", 6, 1, {"torque"});
    wrong(bolt + "holds = \"frame; cover\"\n", 5, 1, {"cover"});
    wrong(bolt + "holds = \"frame\"\nfrom = \"below\"\n", 6, 1, {"below"});
    wrong(
        one_frame +
            "[b]\nstandard = \"ISO 4017 M8x60\"\non = \"top of frame\"\nholds = \"frame\"\nnut = { torque = \"20\" }\n"
            "row = { count = 2, step = 20, towards = \"left\" }\n",
        6, 9, {"torque"});
    wrong(one_frame + "[scene]\ntarget = \"none\"\n", 3, 1, {"none"});
    // A doubt leaves the map.
    const Blocked made = block_out("[a]\npart = true\nbox = [1, 2, 3]\n");
    CHECK_FALSE(made.glb.empty());
    REQUIRE_FALSE(made.notes.empty());
    CHECK(made.notes[0].weight == Weight::doubt);
}

TEST_CASE("limits hold") {
    wrong(one_frame +
              "[bs]\nstandard = \"ISO 4017 M3x6\"\nholds = \"frame\"\non = [\"top of frame\", \"top of frame\", \"top "
              "of frame\","
              " \"top of frame\", \"top of frame\", \"top of frame\"]\ngrid = { count = [31, 32], step = [5, 5] }\n",
          5, 87, {"too many places"});
}
