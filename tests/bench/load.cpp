// Loading a map of 5 million triangles and 10,000 fasteners against tinygltf parsing the same bytes from the same file:
// best of seven, in turns, in one run. The limit is 1.5 times.
//
//     build/bench_load
#define DOCTEST_CONFIG_IMPLEMENT // the maker of the map is shared with a test
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>

#include "core/map/map.hpp"
#include "core/map/tinygltf.hpp"
#include "tests/outside/gltf_big.hpp"

using namespace boltwalk;

namespace {

bool no_image(tinygltf::Image*, int, std::string*, std::string*, int, int, const unsigned char*, int, void*) {
    return true;
}

bool read_theirs(const std::string& path) {
    tinygltf::TinyGLTF loader;
    tinygltf::Model model;
    std::string error, warning;
    loader.SetImageLoader(no_image, nullptr);
    return loader.LoadBinaryFromFile(&model, &error, &warning, path);
}

template <typename Read>
double seconds(const Read& read) {
    const auto begin = std::chrono::steady_clock::now();
    if (!read())
        return 1e9;
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

} // namespace

int main() {
    const auto path = std::filesystem::temp_directory_path() / "boltwalk_bench_load.glb";
    {
        const big_map::Made made = big_map::make(5000000, 10000);
        std::ofstream(path, std::ios::binary) << made.file;
    }
    double ours = 1e9, theirs = 1e9;
    for (int i = 0; i < 7; ++i) {
        ours = std::min(ours, seconds([&] { return read_map(path.string()).has_value(); }));
        theirs = std::min(theirs, seconds([&] { return read_theirs(path.string()); }));
    }
    std::filesystem::remove(path);
    std::printf("ours %.0f ms, tinygltf %.0f ms, ratio %.2f (limit 1.5)\n", ours * 1e3, theirs * 1e3, ours / theirs);
    return 0;
}
