// What is written is valid glTF: the validator finds no error in it that was not there before.
// Source: glTF-Validator (npm's gltf-validator 2.0.0-dev.3.10), by the makers of the specification.

#include <algorithm>
#include <array>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <span>
#include <sstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "core/map/map.hpp"
#include "core/photo/photo.hpp"
#include "tests/outside/gltf_node.hpp"
#include "tests/shared/folder.hpp"

using namespace boltwalk;

namespace {

namespace fs = std::filesystem;
using testing::Folder;

std::string bytes_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    REQUIRE(in.good());
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}

/// Ids where there are none, a key on every third node, one taken away, one on the scene.
std::vector<Change> many_changes(const Map& map) {
    std::vector<Change> changes = missing_ids(map);
    for (std::size_t i = 0; i < map.nodes.size(); i += 3) {
        changes.push_back({static_cast<std::int32_t>(i), "note", "\"looked at: 64 N·m \\u2713 \\\"tight\\\"\""});
        changes.push_back({static_cast<std::int32_t>(i), "step", std::to_string(i)});
        changes.push_back({static_cast<std::int32_t>(i), "torque", ""});
    }
    return changes;
}

/// A PNG of one grey pixel (PNG, third edition; written by Python's zlib).
constexpr std::array<unsigned char, 67> grey_dot{
    0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44, 0x52, 0x00,
    0x00, 0x00, 0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3a, 0x7e, 0x9b, 0x55, 0x00,
    0x00, 0x00, 0x0a, 0x49, 0x44, 0x41, 0x54, 0x78, 0xda, 0x63, 0x68, 0x00, 0x00, 0x00, 0x82, 0x00, 0x81,
    0xda, 0x45, 0x08, 0x3b, 0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82};

} // namespace

TEST_CASE("the validator finds no new error in what is written, and the geometry stays") {
    const Folder folder;
    const fs::path models = "/usr/share/assimp/models/glTF2";
    REQUIRE_MESSAGE(fs::exists(models), "the package assimp-testmodels is not installed");
    std::vector<fs::path> originals;
    for (const char* own : {"transfer_box.glb", "water_pump.glb"}) {
        originals.push_back(fs::path(BOLTWALK_SOURCE_DIR) / "assets" / own);
    }
    for (const auto& entry : fs::recursive_directory_iterator(models)) {
        const std::string extension = entry.path().extension().string();
        if ((extension == ".gltf" || extension == ".glb") && read_map(entry.path().string())) {
            originals.push_back(entry.path());
        }
    }
    std::sort(originals.begin() + 2, originals.end());

    std::vector<std::string> before;
    std::vector<std::string> after;
    for (std::size_t i = 0; i < originals.size(); ++i) {
        CAPTURE(originals[i].string());
        const std::string file = bytes_of(originals[i]);
        const auto map = read_map(originals[i].string());
        REQUIRE(map.has_value());
        std::vector<Change> changes = many_changes(*map);
        if (file.find("\"scenes\"") != std::string::npos) {
            changes.push_back({-1, "job", "\"written by the test\""});
        }
        const auto written = write_changes(std::as_bytes(std::span(file.data(), file.size())), changes);
        REQUIRE_MESSAGE(written.has_value(), written.error().text);
        // Beside copies of the buffers and images that the file names.
        // Two photographs, one of them taken out again: the file stays valid, and what is in it is used.
        const auto dot = take_photo(std::as_bytes(std::span(grey_dot)));
        REQUIRE(dot.has_value());
        auto with_photos =
            write_photo(std::as_bytes(std::span(written->data(), written->size())), "", "first", dot->jpeg);
        REQUIRE_MESSAGE(with_photos.has_value(), with_photos.error().text);
        with_photos =
            write_photo(std::as_bytes(std::span(with_photos->data(), with_photos->size())), "", "second", dot->jpeg);
        REQUIRE_MESSAGE(with_photos.has_value(), with_photos.error().text);
        with_photos = write_without_photo(std::as_bytes(std::span(with_photos->data(), with_photos->size())), "first");
        REQUIRE_MESSAGE(with_photos.has_value(), with_photos.error().text);
        const fs::path place = folder.path / std::to_string(i);
        fs::copy(originals[i].parent_path(), place);
        after.push_back((place / originals[i].filename()).string());
        std::ofstream(after.back(), std::ios::binary | std::ios::trunc) << *with_photos;
        before.push_back(originals[i].string());

        const auto again = read_map(after.back());
        REQUIRE_MESSAGE(again.has_value(), again.error().text);
        CHECK(again->meshes.size() == map->meshes.size() + 1); // that of the photographs
        for (std::size_t m = 0; m < map->meshes.size(); ++m) {
            CHECK(again->meshes[m].triangle_count == map->meshes[m].triangle_count);
            CHECK(again->meshes[m].low == map->meshes[m].low);
        }
        CHECK(again->items.size() == map->items.size());
        CHECK(missing_ids(*again).empty());
    }
    const auto asked_before = outside::ask("gltf_validate.mjs", before);
    const auto asked_after = outside::ask("gltf_validate.mjs", after);
    std::size_t clean = 0;
    for (std::size_t i = 0; i < after.size(); ++i) {
        CAPTURE(before[i]);
        CHECK_MESSAGE(asked_after[i]["failed"] == asked_before[i]["failed"], asked_after[i].dump());
        CHECK_MESSAGE(asked_after[i]["codes"] == asked_before[i]["codes"], asked_after[i].dump());
        CHECK(asked_after[i]["errors"] == asked_before[i]["errors"]);
        clean += asked_after[i]["errors"] == 0 ? 1U : 0U;
        if (i < 2) {
            CHECK_MESSAGE(asked_after[i]["errors"] == 0, asked_after[i].dump()); // our own maps
        }
    }
    MESSAGE(fmt::format("{} files written, {} of them without any error", after.size(), clean));
    CHECK(clean > 25);
}

TEST_CASE("the validator does find errors where there are some") {
    const Folder folder;
    const std::string bad = (folder.path / "bad.gltf").string();
    std::ofstream(bad) << R"({"asset":{"version":"2.0"},"nodes":[{"mesh":3}]})";
    CHECK(outside::ask("gltf_validate.mjs", {bad})[0]["errors"].get<int>() > 0);
}
