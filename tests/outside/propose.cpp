// Proposals on a model that nobody here made, and what is written of them. Sources: Debian's assimp-testmodels (the
// engine), glTF-Validator (npm's gltf-validator 2.0.0-dev.3.10), by the makers of the specification.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <span>
#include <sstream>

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "core/propose/propose.hpp"
#include "tests/outside/engine.hpp"
#include "tests/outside/gltf_node.hpp"
#include "tests/shared/folder.hpp"

using namespace boltwalk;

namespace {

std::span<const std::byte> span_of(const std::string& bytes) {
    return std::as_bytes(std::span(bytes.data(), bytes.size()));
}

std::string engine_bytes() {
    std::ifstream in(testing::engine_path, std::ios::binary);
    REQUIRE_MESSAGE(in.good(), "the package assimp-testmodels is not installed");
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}

} // namespace

TEST_CASE("engine: asked about its millimetres, its four rod bolts and two nuts are proposed") {
    const auto raw = read_map(testing::engine_path);
    REQUIRE(raw.has_value());
    const UnitQuestion question = ask_units(make_solids(*raw));
    CHECK(question.ask_scale);
    CHECK(question.scale == 0.001);
    const Map map = testing::read_engine();
    const Proposals proposals = find_proposals(make_solids(map));
    int bolts = 0;
    int nuts = 0;
    int others = 0;
    for (const Proposal& p : proposals.list) {
        // By their names, sizes and holds: the connecting rods' cap bolts (flanged, 11 mm across flats, 8 mm shank)
        // hold rod and cap.
        if (p.kind == FastenerKind::bolt) {
            ++bolts;
            CHECK(p.flats_mm == doctest::Approx(11).epsilon(0.001));
            CHECK(p.shank_mm == doctest::Approx(8).epsilon(0.001));
            CHECK(p.holds.size() == 2);
            CHECK(proposals.alike[static_cast<std::size_t>(p.alike)].nodes.size() == 4);
        } else if (p.kind == FastenerKind::nut) {
            ++nuts;
        } else {
            ++others;
        }
    }
    MESSAGE(fmt::format("of 67 parts {} bolts, {} nuts and {} others are proposed", bolts, nuts, others));
    CHECK(bolts == 4);
    CHECK(nuts == 2);
    CHECK(others <= 2);
}

TEST_CASE("engine: turned, scaled, named and marked it is as valid as before, and reads as it was meant") {
    const testing::Folder folder;
    const std::string before = engine_bytes();
    const double half = 0.7071067811865476;
    const auto turned = write_turned(span_of(before), 0.001, {-half, 0, 0, half});
    REQUIRE_MESSAGE(turned.has_value(), turned.error().text);
    const auto map = read_map_bytes(span_of(*turned), "engine", "");
    REQUIRE(map.has_value());
    const auto raw = read_map(testing::engine_path);
    const Solids was = make_solids(*raw);
    const Solids is = make_solids(*map);
    for (int k = 0; k < 3; ++k)
        CHECK(is.bounds.size()[k] == doctest::Approx(0.001 * was.bounds.size()[k == 0 ? 0 : 3 - k]).epsilon(1e-6));
    const Proposals proposals = find_proposals(is);
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < proposals.list.size(); ++i)
        all.push_back(i);
    const auto marked = write_changes(span_of(*turned), changes_of(*map, proposals, all));
    REQUIRE_MESSAGE(marked.has_value(), marked.error().text);
    const auto again = read_map_bytes(span_of(*marked), "engine", "");
    REQUIRE(again.has_value());
    CHECK(again->fasteners.size() == proposals.list.size());
    CHECK(std::none_of(again->findings.begin(), again->findings.end(),
                       [](const Finding& f) { return f.weight == Weight::fault; }));
    const std::string original = (folder.path / "before.glb").string();
    const std::string written = (folder.path / "after.glb").string();
    std::ofstream(original, std::ios::binary) << before;
    std::ofstream(written, std::ios::binary) << *marked;
    const auto told = outside::ask("gltf_validate.mjs", {original, written});
    CHECK(told[1]["failed"].is_null());
    CHECK_MESSAGE(told[1]["errors"] == told[0]["errors"], told[1].dump());
    CHECK_MESSAGE(told[1]["codes"] == told[0]["codes"], told[1].dump());
    MESSAGE(fmt::format("{} errors before, {} after", told[0]["errors"].get<int>(), told[1]["errors"].get<int>()));
}

TEST_CASE("every readable model of the package is looked at without harm") {
    namespace fs = std::filesystem;
    int models = 0;
    std::size_t proposed = 0;
    for (const auto& entry : fs::recursive_directory_iterator("/usr/share/assimp/models/glTF2")) {
        const std::string extension = entry.path().extension().string();
        if (extension != ".gltf" && extension != ".glb")
            continue;
        if (entry.path().string().find("2CylinderEngine") != std::string::npos)
            continue;
        const auto map = read_map(entry.path().string());
        if (!map)
            continue;
        ++models;
        const Solids solids = make_solids(*map);
        ask_units(solids);
        proposed += find_proposals(solids).list.size();
    }
    MESSAGE(fmt::format("{} models without a fastener, {} proposals", models, proposed));
    CHECK(models > 20);
    CHECK(proposed == 0);
}
