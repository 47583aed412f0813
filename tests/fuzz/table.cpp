// Any bytes as a table: read, compared with a small map, its right cells applied, and the map read again.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "core/table/table.hpp"

using namespace boltwalk;

namespace {

const std::string file = R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0,1,2]}],"nodes":[
{"name":"frame","extras":{"part":"Frame","fixed":true}},{"name":"plate","extras":{"part":"Plate"}},
{"name":"bolts","children":[3],"extras":{"group":"Bolts","fastener":"bolt","holds":"plate; frame"}},
{"name":"bolt","extras":{"fastener":"bolt","thread":"M8","torque":"22 N\u00b7m","length_mm":25}}]})";

std::span<const std::byte> bytes(const std::string& text) {
    return std::as_bytes(std::span(text.data(), text.size()));
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const Map map = read_map_bytes(bytes(file), "map.gltf", "").value();
    const auto table = read_table({reinterpret_cast<const char*>(data), size});
    if (!table)
        return 0;
    const TableChanges changes = changes_of(map, bytes(file), *table);
    // What is called right must be writable, and readable again.
    const auto written = write_changes(bytes(file), changes.changes);
    if (!written || !read_map_bytes(bytes(*written), "map.gltf", ""))
        std::abort();
    return 0;
}
