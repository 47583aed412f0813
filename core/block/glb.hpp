// Meshes and the bytes of a .glb. For core/block only.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "core/block/shell.hpp"

namespace boltwalk::recipe {

struct Paint {
    std::uint32_t rgb = 0; ///< 0xrrggbb, as a screen shows it
    double metallic = 0, roughness = 0.6;
    auto operator<=>(const Paint&) const = default;
};

/// Grows by mesh; alike ones are kept once. Millimetres in, metres out.
class Meshes {
public:
    int add(const Shell&, const std::string& name, const Paint&);
    std::size_t count() const { return list_.size(); }
    std::size_t corners() const { return corners_; }
    /// Puts meshes, materials, accessors, views and the buffer into the document, and gives the whole file.
    std::string file(nlohmann::ordered_json document) const;

private:
    struct Made {
        std::string name;
        int material = 0;
        std::string positions, normals, indices;
        std::size_t vertices = 0, index_count = 0;
        bool wide = false; ///< indices of four bytes
        float low[3] = {}, high[3] = {};
    };
    std::vector<Made> list_;
    std::map<std::pair<std::string, int>, int> known_; ///< by bytes and material
    std::vector<Paint> paints_;
    std::size_t corners_ = 0;
};

} // namespace boltwalk::recipe
