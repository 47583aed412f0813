// Proposals: what a model without annotation seems to hold, each to be confirmed by a person.
//
//   find_alike()     congruent shapes, numbered in an order that a person would count them in
//   find_proposals() what looks like a fastener, what it measures, what it seems to hold, and why
//   ask_units()      a model that seems to be in millimetres or inches, or to have another axis up
//   changes_of()     the keys that a confirmed proposal becomes
//
// Shapes are all that is asked: names count for nothing. Everything here is an estimate and says so; no torque, grade
// or pitch is ever proposed, for no shape tells them. Lengths in millimetres where the name says so, else metres;
// glTF's axes. Same file, same proposals, in file order. Time grows as n log n in triangles, but for the triangles
// near each fastener. No function throws on what a map may hold.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <glm/glm.hpp>

#include "core/geometry/solids.hpp"
#include "core/map/map.hpp"
#include "core/standards/standards.hpp"

namespace boltwalk {

// ----------------------------------------------------------------------------------------------------------- alike

/// Corners of congruent shapes lie within this of each other: what an exporter's rounding leaves.
constexpr double alike_mm = 0.02;
/// And, of large shapes, within this share of their size: 32-bit numbers far from the origin are coarser.
constexpr double alike_share = 1e-4;

enum class Spread : std::uint8_t {
    alone,
    circle,    ///< numbered clockwise as seen onto their heads, from the topmost (else the foremost)
    row,       ///< numbered along it: front to rear, or left to right, or from the top down
    scattered, ///< front to rear, then left to right, then from the top down
};

/// Nodes whose shapes are congruent: instances, copies of the corners, turned, moved or mirrored. Each node with a
/// mesh stands in exactly one set; sets and their nodes in file order. Two tessellations of one shape are two sets.
struct AlikeSet {
    std::vector<std::int32_t> nodes;
    std::vector<bool> mirrored; ///< by node: the first one's image in a mirror, and not also a turned copy of it
};
std::vector<AlikeSet> find_alike(const Solids&);

/// The nodes in the order in which a person would number them. `axis`: of their heads; zero where there is none.
struct Numbered {
    Spread layout = Spread::alone;
    std::vector<std::int32_t> nodes;
};
Numbered number_nodes(const Solids&, std::span<const std::int32_t> nodes, const glm::dvec3& axis);

// ------------------------------------------------------------------------------------------------------- fasteners

enum class Sureness : std::uint8_t {
    fits_table, ///< shape, and sizes that a standard's table holds
    looks_like, ///< the shape; its sizes are in no table
    perhaps,    ///< only what it is in line with says so
};
std::string_view spoken(Sureness);

struct Proposal {
    std::string id; ///< "p1", in file order
    std::int32_t node = -1;
    FastenerKind kind = FastenerKind::bolt;
    std::string head;           ///< the annotation's word; empty: not told
    std::optional<Drive> drive; ///< of the table where it fits, else as measured
    double flats_mm = 0;        ///< measured; 0: none
    double across_mm = 0;       ///< widest of the head, flange or ring
    double shank_mm = 0;        ///< diameter measured; of a nut or washer its hole
    double length_mm = 0;       ///< by the standard's way of measuring that head; of nuts and rings the height
    glm::dvec3 axis{0, 1, 0};   ///< in the world, from shank to head
    glm::dvec3 base{0.0};       ///< on the axis, where it bears; metres
    Sureness sureness = Sureness::perhaps;
    std::vector<SizeSold> sold;      ///< threads that such a head is sold with and the shank fits; the likeliest first
    std::vector<std::int32_t> holds; ///< nodes of what its shank passes or its face bears on, from the head downwards
    std::vector<std::int32_t> stacked; ///< other proposals on the same axis, by index
    std::int32_t rests_on = -1;        ///< node that the bearing face meets, a washer included; -1: nothing found
    std::int32_t alike = -1;           ///< index into Proposals::alike
    int number = 1;                    ///< among those alike that hold the same
    std::vector<std::string> why;      ///< for people, with the measured figures
};

struct Proposals {
    std::vector<AlikeSet> alike;
    std::vector<Proposal> list; ///< by node
};

/// The model as it would be if nobody had said anything of it: every mesh is scenery.
Map as_scenery(Map);

/// Of nodes that no item owns; what is annotated is only taken for what can be held.
Proposals find_proposals(const Solids&);
/// Where they were found as_scenery(): those whose nodes nobody has spoken for in the map itself, as indices.
std::vector<std::size_t> open_ones_of(const Map&, const Proposals&);

/// Faces nearer than this touch; models are seldom drawn closer.
constexpr double touching_m = 0.0003;
/// Which bodies a body touches: of points spread over it, the share that has the other within `near` metres.
struct Touching {
    std::int32_t body = -1;
    double share = 0;
};
/// The largest share first.
std::vector<Touching> touched_by(const Solids&, std::int32_t body);

/// Names by which other nodes can refer to one: a node's own, or, where that is another's too or none at all, a new
/// one.
class NodeNames {
public:
    explicit NodeNames(const Map&);
    /// A new name is made of `base`, and written once.
    std::string of(std::int32_t node, const std::string& base, std::vector<Change>& changes);

private:
    const Map& map_;
    std::map<std::string, int> count_;
    std::map<std::int32_t, std::string> given_;
};

/// A proposal's changes: what it is, its measured figures, what it holds; names where the node has none of its own;
/// `part` for what it holds and nobody has said anything of. No thread, for no pitch was measured, unless `thread` says
/// one.
std::vector<Change> changes_of(const Map&, const Proposals&, std::span<const std::size_t> taken,
                               const std::string& thread = {});

// ------------------------------------------------------------------------------------------------- units, up-axis

enum class UpAxis : std::uint8_t { y, z, x };
std::string_view name_of(UpAxis);
/// The turn that brings that axis to +Y, as glTF writes one (x, y, z, w); none for Y.
std::array<double, 4> upright_turn(UpAxis);

struct UnitQuestion {
    double scale = 1; ///< from the file's units to metres, as proposed
    UpAxis up = UpAxis::y;
    bool ask_scale = false, ask_up = false;
    std::vector<std::string> why; ///< figures for and against, those about the scale first
    std::size_t why_scale = 0;    ///< so many of them are about the scale
};
/// Three figures, no power of ten: "474", "0.474", "16000".
std::string print_figure(double value);
/// Never an answer, only a question: a person says yes or no to it.
UnitQuestion ask_units(const Solids&);

} // namespace boltwalk
