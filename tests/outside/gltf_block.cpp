// What a recipe becomes is valid glTF: the validator finds no error and no warning, other readers the same model.
// Source: glTF-Validator (npm's gltf-validator 2.0.0-dev.3.10), by the makers of the specification.
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "core/block/block.hpp"
#include "tests/outside/gltf_node.hpp"
#include "tests/shared/folder.hpp"

using namespace boltwalk;

TEST_CASE("the validator finds neither error nor warning in what a recipe becomes") {
    const testing::Folder folder;
    std::ifstream in(std::string(BOLTWALK_SOURCE_DIR) + "/assets/first.toml");
    std::ostringstream first;
    first << in.rdbuf();
    std::string seeds;
    {
        std::ifstream all(std::string(BOLTWALK_SOURCE_DIR) + "/tests/fuzz/block_seeds/shapes.toml");
        std::ostringstream out;
        out << all.rdbuf();
        seeds = out.str();
    }
    const std::vector<std::string> recipes{
        first.str(), seeds,
        "frame = { part = true, fixed = true, plate = [900, 900, 30], round = 20 }\n[bolts]\nstandard = \"ISO 4017 "
        "M8x25\"\n"
        "holds = \"frame\"\non = \"top of frame\"\ngrid = { count = [20, 15], step = [40, 50] }\nwasher = true\n",
        "[chock]\ntask = \"Chock the wheels\"\n"};
    std::vector<std::string> files;
    for (const std::string& recipe : recipes) {
        const Blocked made = block_out(recipe);
        for (const RecipeNote& note : made.notes)
            CAPTURE(say("recipe", note));
        REQUIRE_FALSE(made.glb.empty());
        files.push_back((folder.path / fmt::format("{}.glb", files.size())).string());
        std::ofstream(files.back(), std::ios::binary) << made.glb;
    }
    for (const auto& told : outside::ask("gltf_validate.mjs", files)) {
        CHECK_MESSAGE(told["failed"].is_null(), told.dump());
        CHECK_MESSAGE(told["errors"] == 0, told.dump());
        CHECK_MESSAGE(told["warnings"] == 0, told.dump());
    }
}
