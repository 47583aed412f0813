// What changed between two maps of one job, in the job's terms: for somebody who was sent a corrected one.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "core/map/map.hpp"

namespace boltwalk {

enum class Changed : std::uint8_t {
    job,   ///< what the scene states
    gone,  ///< only in the first
    added, ///< only in the second
    fact,  ///< a key states something else
    place, ///< it sits elsewhere
    shape, ///< its triangles differ
    order, ///< it comes off at another time than its neighbours, in the order that the rules give
};
std::string_view name_of(Changed);

/// One change, of all items that it is the same for.
struct MapDifference {
    Changed what = Changed::fact;
    std::vector<std::string> names; ///< node names; of the second map where it has them
    std::string title;              ///< their group's or their own, of the map that has them
    std::string key;                ///< of the annotation, for `job` and `fact`
    std::string before, after;      ///< as written; empty: not stated
    double moved_mm = 0;            ///< for `place`: the distance between the middles
};

/// Scenery is not compared. Items are matched by id, then by name. In order of what, then of the first map's items;
/// deterministic. Equal maps give none. The files' bytes are those that the maps were read from.
std::vector<MapDifference> compare_maps(const Map& first, std::span<const std::byte> first_file, const Map& second,
                                        std::span<const std::byte> second_file);

/// "6 bolts: Skid plate bolts: torque 22 N·m, was 20 N·m"
std::string sentence_of(const MapDifference&);

/// Figures of a map (torque, thread, length, mass, amount) that no source is stated for, by title: of another's map
/// that is worth knowing. Names of the groups or items.
std::vector<std::string> figures_without_source(const Map&);

} // namespace boltwalk
