// Models made by others, good and broken: Debian's package assimp-testmodels, folder glTF2. Each file is listed with
// what is to be expected of it and why, found by reading the file itself.
//
// The good ones are read by another reader too (@gltf-transform/core), and node transforms and bounds compared.

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "core/map/map.hpp"
#include "tests/outside/gltf_node.hpp"

using namespace boltwalk;

namespace {

namespace fs = std::filesystem;

const fs::path folder = "/usr/share/assimp/models/glTF2";

struct Model {
    const char* file;
    const char* refusal; ///< words of it; empty: is read
    const char* reason;
};

const std::vector<Model> models{
    {"2CylinderEngine-glTF-Binary/2CylinderEngine.glb", "", "82 nodes, meshes shared, lines beside triangles"},
    {"BoxBadNormals-glTF-Binary/BoxBadNormals.glb", "", "normals not of unit length: drawn oddly, read all the same"},
    {"BoxTexcoords-glTF/boxTexcoords.gltf", "", "an ordinary box"},
    {"BoxTextured-glTF/BoxTextured.gltf", "", "buffer in a file beside it"},
    {"BoxTextured-glTF-Binary/BoxTextured.glb", "", "image in the binary chunk"},
    {"BoxTextured-glTF-Embedded/BoxTextured.gltf", "", "data: URIs"},
    {"BoxTextured-glTF-pbrSpecularGlossiness/BoxTextured.gltf", "", "another kind of material"},
    {"BoxTextured-glTF-techniqueWebGL/BoxTextured.gltf", "", "requires an extension that only colours: a doubt"},
    {"BoxWithInfinites-glTF-Binary/BoxWithInfinites.glb", "infinite", "positions hold infinities"},
    {"ClearCoat-glTF/ClearCoatTest.gltf", "", "27 meshes, unknown material extensions"},
    {"IncorrectVertexArrays/Cube.gltf", "", "triangles and lines cut off mid-way: what is whole is read"},
    {"IndexOutOfRange/AllIndicesOutOfRange.gltf", "index 65535", "every index is 65535, there are 24 positions"},
    {"IndexOutOfRange/IndexOutOfRange.gltf", "index 255", "one index is 255, there are 24 positions"},
    {"MissingBin/BoxTextured.gltf", "BoxTextured0.bin", "its .bin is not there"},
    {"RecursiveNodes/RecursiveNodes.gltf", "below itself", "two nodes are each other's child"},
    {"SchemaFailures/sceneWrongType.gltf", "\"scene\" is a text", "\"scene\" is \"hello\""},
    {"TestNoRootNode/NoScene.gltf", "\"scene\" is 0", "names scene 0 and has none"},
    {"TestNoRootNode/SceneWithoutNodes.gltf", "", "a scene without nodes is empty, not broken"},
    {"cameras/Cameras.gltf", "", "cameras are none of our business"},
    {"draco/2CylinderEngine.gltf", "KHR_draco_mesh_compression", "compressed geometry, required"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_00.gltf", "", "points"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_01.gltf", "", "lines"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_02.gltf", "", "line loop"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_03.gltf", "", "line strip"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_04.gltf", "", "triangle strip"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_05.gltf", "", "triangle fan"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_06.gltf", "", "triangles without indices"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_07.gltf", "", "indexed points"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_08.gltf", "", "indexed lines"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_09.gltf", "", "indexed line loop"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_10.gltf", "", "indexed line strip"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_11.gltf", "", "indexed triangle strip"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_12.gltf", "", "indexed triangle fan"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_13.gltf", "", "indices as whole numbers"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_14.gltf", "", "indices as bytes"},
    {"glTF-Asset-Generator/Mesh_PrimitiveMode/Mesh_PrimitiveMode_15.gltf", "", "indices as shorts"},
    {"glTF-Sample-Models/AnimatedMorphCube-glTF/AnimatedMorphCube.gltf", "", "morph targets: shown at rest"},
    {"issue_3269/texcoord_crash.gltf", "", "texture coordinates with a gap, which nothing here reads"},
    {"simple_skin/simple_skin.gltf", "", "a skin: shown at rest"},
    {"textureTransform/TextureTransformTest.gltf", "", "nine panels"},
    {"wrongTypes/badArray.gltf", "\"primitives\"", "primitives are an object"},
    {"wrongTypes/badExtension.gltf", "", "a texture's extension is a text: nothing here reads it"},
    {"wrongTypes/badNumber.gltf", "", "a normal map's scale is a text: nothing here reads it"},
    {"wrongTypes/badObject.gltf", "", "a material's colours are an array: the material keeps its default"},
    {"wrongTypes/badString.gltf", "", "a scene's name is a number: nothing here reads it"},
    {"wrongTypes/badUint.gltf", "", "a texture index is -1: nothing here reads it"},
};

void compare(const Map& map, const nlohmann::json& other) {
    REQUIRE(other["nodes"].size() == map.nodes.size());
    for (std::size_t i = 0; i < map.nodes.size(); ++i) {
        const auto& world = map.nodes[i].world;
        double scale = 1;
        for (const double value : world) {
            scale = std::max(scale, std::fabs(value));
        }
        for (std::size_t k = 0; k < 16; ++k) {
            CAPTURE(i);
            CAPTURE(k);
            // Files keep quaternions to seven digits, one of them to five; only we make them of length one.
            CHECK(std::fabs(world[k] - other["nodes"][i][k].get<double>()) <= 1e-5 * scale);
        }
    }
    REQUIRE(other["meshes"].size() == map.meshes.size());
    for (std::size_t i = 0; i < map.meshes.size(); ++i) {
        const Mesh& mesh = map.meshes[i];
        const nlohmann::json& theirs = other["meshes"][i];
        CAPTURE(i);
        CHECK(mesh.triangle_count == theirs["triangles"].get<std::size_t>());
        for (std::size_t axis = 0; axis < 3 && mesh.triangle_count > 0; ++axis) {
            // Both read the same floats; nothing may differ.
            CHECK(static_cast<double>(mesh.low[axis]) == theirs["low"][axis].get<double>());
            CHECK(static_cast<double>(mesh.high[axis]) == theirs["high"][axis].get<double>());
        }
    }
}

/// Debian 13's package has one more than 12's: a skinned quad, read for its mesh.
const char* const only_in_13 = "simple_skin/quad_skin.glb";

} // namespace

TEST_CASE("assimp-testmodels: the list names every glTF 2.0 file of the package") {
    REQUIRE_MESSAGE(fs::exists(folder),
                    "the package assimp-testmodels is not installed; third_party/install test brings it");
    std::set<std::string> listed;
    for (const Model& model : models) {
        listed.insert(model.file);
    }
    listed.insert(only_in_13);
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        const std::string extension = entry.path().extension().string();
        if (extension == ".gltf" || extension == ".glb") {
            CHECK_MESSAGE(listed.contains(fs::relative(entry.path(), folder).string()), entry.path().string());
        }
    }
}

TEST_CASE("assimp-testmodels: the good are read, the bad refused for what is wrong with them") {
    if (const auto newer = folder / only_in_13; fs::exists(newer)) {
        CHECK(read_map(newer.string()).has_value());
    }
    for (const Model& model : models) {
        CAPTURE(model.file);
        CAPTURE(model.reason);
        const auto map = read_map((folder / model.file).string());
        const bool good = *model.refusal == '\0';
        const std::string why = map ? "read" : map.error().text;
        CHECK_MESSAGE(map.has_value() == good, why);
        CHECK_MESSAGE(why.find(good ? "read" : model.refusal) != std::string::npos, why);
    }
}

TEST_CASE("node transforms and bounds are those of another reader") {
    // Its last three buffer views lie beyond its buffer; no mesh uses them, and only the other reader looks at them.
    const std::string beyond_the_other = "IncorrectVertexArrays/Cube.gltf";
    std::vector<std::string> files;
    for (const Model& model : models) {
        if (*model.refusal == '\0' && model.file != beyond_the_other) {
            files.push_back((folder / model.file).string());
        }
    }
    for (const char* own : {"transfer_box.glb", "water_pump.glb"}) {
        files.push_back((fs::path(BOLTWALK_SOURCE_DIR) / "assets" / own).string());
    }
    const std::vector<nlohmann::json> answers = outside::ask("gltf_reader.mjs", files);
    std::size_t nodes = 0;
    for (std::size_t i = 0; i < files.size(); ++i) {
        CAPTURE(files[i]);
        const auto map = read_map(files[i]);
        REQUIRE(map.has_value());
        REQUIRE_MESSAGE(!answers[i].contains("error"), answers[i].dump());
        compare(*map, answers[i]);
        nodes += map->nodes.size();
    }
    MESSAGE(files.size() << " models, " << nodes << " nodes compared");
    CHECK(nodes > 300);
}
