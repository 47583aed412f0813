// Any text as a recipe: it ends with notes and no map, or with a map that is read again without a fault.
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <span>
#include <string>

#include "core/block/block.hpp"
#include "core/map/map.hpp"

using namespace boltwalk;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const Blocked made = block_out({reinterpret_cast<const char*>(data), size});
    bool fault = false;
    for (const RecipeNote& note : made.notes) {
        fault = fault || note.weight == Weight::fault;
        if (note.what.empty() || note.line < 0 || note.column < 0)
            std::abort();
    }
    if (fault != made.glb.empty())
        std::abort();
    if (made.glb.empty())
        return 0;
    const auto map = read_map_bytes(std::as_bytes(std::span(made.glb.data(), made.glb.size())), "made", "");
    if (!map)
        std::abort();
    for (const Finding& finding : map->findings)
        if (finding.weight == Weight::fault)
            std::abort();
    return 0;
}
