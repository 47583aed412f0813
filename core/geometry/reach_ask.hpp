// What is asked of a map's fasteners, before anything is measured. For sources of reach only.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/geometry/reach.hpp"
#include "core/geometry/reach_sweep.hpp"

namespace boltwalk::reaching {

/// A drive that a tool is put on.
bool takes_tool(const Drive&);

/// Members of a joint by its name, in file order.
using Joints = std::map<std::string, std::vector<ItemId>>;
Joints joints_of(const Map&);

/// What is asked: a Reached without poses, with the drive that is gripped and the site.
struct Asked {
    Reached reached;
    Drive drive;
    bool far_end = false;
    Site site;
    std::vector<std::int32_t> shapes; ///< in the order in which they are tried
};

/// By fastener in file order, then by use; sites and shapes are not there yet.
std::vector<Asked> questions(const Map&, const Joints&);

/// Directions from which a hand or pliers come: the faces, edges and corners of a cube. Those first that are nearest to
/// where the person is stated to be, else to the fastener's axis.
std::vector<glm::dvec3> ways_in(Place, const glm::dvec3& axis);

/// Fills the poses of one question. `earlier`: what was asked of the same fastener before; poses that both have are
/// swept once. `lowered`: the bodies of each of Reach::cases.
void try_all(const Reach&, const Solids&, const std::vector<Solids>& lowered, const Joints&, Asked&,
             const std::vector<const Asked*>& earlier);

} // namespace boltwalk::reaching
