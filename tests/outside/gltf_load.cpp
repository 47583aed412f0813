// A file of 5 million triangles and 10,000 fasteners: at most 4 times the mesh data of memory, and tinygltf (Debian's
// libtinygltf-dev, a reader by others), given the whole file, sees the same model. tests/bench/load.cpp takes the time.

#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "core/map/map.hpp"
#include "core/map/tinygltf.hpp"
#include "tests/outside/gltf_big.hpp"
#include "tests/shared/sanitized.hpp"

using namespace boltwalk;

namespace {

namespace fs = std::filesystem;

struct File {
    fs::path path;
    explicit File(const std::string& bytes)
        : path(fs::temp_directory_path() / fmt::format("boltwalk-{}.glb", ::getpid())) {
        std::ofstream(path, std::ios::binary) << bytes;
    }
    ~File() {
        std::error_code error;
        fs::remove(path, error);
    }
    File(const File&) = delete;
    File& operator=(const File&) = delete;
};

bool no_image(tinygltf::Image*, int, std::string*, std::string*, int, int, const unsigned char*, int, void*) {
    return true;
}

tinygltf::Model theirs(const fs::path& path) {
    tinygltf::TinyGLTF loader;
    tinygltf::Model model;
    std::string error;
    std::string warning;
    loader.SetImageLoader(no_image, nullptr);
    REQUIRE_MESSAGE(loader.LoadBinaryFromFile(&model, &error, &warning, path.string()), error);
    return model;
}

/// The most memory that a process of its own held while it read the file, all that it started with included.
std::size_t peak_bytes(const fs::path& path) {
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        const auto map = read_map(path.string());
        rusage after{};
        ::getrusage(RUSAGE_SELF, &after);
        std::ofstream(path.string() + ".peak") << (map ? after.ru_maxrss * 1024 : -1);
        ::_exit(0);
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    long bytes = -1;
    std::ifstream(path.string() + ".peak") >> bytes;
    std::error_code error;
    fs::remove(path.string() + ".peak", error);
    REQUIRE(bytes >= 0);
    return static_cast<std::size_t>(bytes);
}

} // namespace

TEST_CASE(
    "5 million triangles and 10,000 fasteners load in at most 4 times the mesh data, and tinygltf sees the same") {
    std::size_t mesh_bytes = 0;
    std::size_t triangles = 0;
    // Under the sanitizers every access costs many times as much, so there only a small one is read, and no time taken.
    constexpr std::size_t wanted = testing::sanitized ? 100000 : 5000000;
    constexpr std::size_t fasteners = testing::sanitized ? 1000 : 10000;
    const File file([&] {
        big_map::Made made = big_map::make(wanted, fasteners);
        mesh_bytes = made.mesh_bytes;
        triangles = made.triangles;
        return std::move(made.file);
    }());
    {
        const auto map = read_map(file.path.string());
        REQUIRE_MESSAGE(map.has_value(), map.error().text);
        CHECK(map->fasteners.size() == fasteners);
        CHECK(map->findings.empty());
        std::size_t found = 0;
        for (const Mesh& mesh : map->meshes) {
            found += mesh.triangle_count;
        }
        CHECK(found == triangles);
        const tinygltf::Model model = theirs(file.path);
        CHECK(model.nodes.size() == map->nodes.size());
        CHECK(model.meshes.size() == map->meshes.size());
    }
    if (testing::sanitized) {
        return;
    }
    const std::size_t peak = peak_bytes(file.path);
    MESSAGE(fmt::format("{} MB at most for {} MB of mesh data, ratio {:.2f}", peak >> 20U, mesh_bytes >> 20U,
                        static_cast<double>(peak) / static_cast<double>(mesh_bytes)));
    CHECK(peak <= 4 * mesh_bytes);
}
