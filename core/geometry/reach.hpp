// Which tool gets on a fastener and can turn it, in any state, or what is in the way.
//
// A tool is a few coaxial rings (socket, extension, a ratchet's head, a spanner's head) and an arm that swings about
// the fastener's axis. Everything that the rings would touch is kept as a set of bodies; everything that the arm would
// touch is kept as directions, on a fixed table of 720 unit vectors, each run of them with the body that blocks it. A
// state is judged by leaving out what is gone and looking for the longest run of free directions: no shape is measured
// again.
//
// What does not count as in the way: the fastener itself, the members of its joint (washers, the stud through a nut),
// what stands inside a socket's bore, a plain face beneath (the tool begins reach_foot_mm above it), and what is stated
// to be flexible (hoses, cables, wiring: pushed aside). The way on
// counts: along the axis by the socket's own length and by what the head is high.
//
// Everything is an estimate. What it does not know: which way a person can get their shoulder, wobble ends and
// universal joints, two tools at once (bolt and counter-hold are each reached alone), tools ground thin.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "core/geometry/estimate.hpp"
#include "core/geometry/solids.hpp"
#include "core/geometry/tools.hpp"

namespace boltwalk {

/// What comes closer to a tool than this is in the way. Play of a hand-held tool on its fastener (a socket tilts by
/// about a degree: 1 mm at a ratchet's height) and the chord error of round holes drawn with few sides. Larger: tight
/// places that do go are refused; smaller: a tool passes where it would rub.
constexpr double reach_clearance_mm = 0.5;
/// How far above the face under the head a tool begins: so much, or reach_foot_share of the head's height where that is
/// more. Welds, washers' edges and low ledges beside a head keep a tool up, and it grips well enough when it has the
/// rest of the head. Larger: a ledge close to the head is not seen; smaller: an edge of a millimetre keeps a tool off.
constexpr double reach_foot_mm = 1;
constexpr double reach_foot_share = 0.4;
/// The directions of an arm are looked at in steps of this: a handle that is 10 mm wide or more blocks at least three
/// such steps at 250 mm, so none is missed. A swing is out by one step at most, to the lesser side.
constexpr double reach_step_deg = 0.5;
constexpr int reach_directions = 720;

// Swings that a tool needs. 360 degrees / 72 teeth; a ring of twelve points and an open end whose head stands at 15
// degrees and is flipped take up every 30 degrees (NAVEDTRA 14001; J. Rose, Modern Machine-Shop Practice, 1887, figures
// 443 to 448); a hexagon key every 60. Bar and torque wrench: one steady pull, common practice, no source.
constexpr double swing_ratchet_deg = 5;
constexpr double swing_spanner_deg = 30;
constexpr double swing_key_deg = 60;
constexpr double swing_pull_deg = 15;

/// A hand in the middle of the grip: this much of a handle's length is no lever. Common practice, no source.
constexpr double grip_half_mm = 50;
/// Above this force at the hand a longer lever is looked for. Common practice for one arm, lying down: no source.
constexpr double hand_force_n = 250;
/// Around a shaft that turns, its bolts are tried at so many places.
constexpr int turned_places = 12;

/// What a tool is put on for.
enum class Use : std::uint8_t {
    turn,    ///< undo it, or do it up, by the handiest tool (for clips, pins and plugs: get hold of it)
    hold,    ///< hold the other side: no swing, only a place for the tool
    loosen,  ///< break a tight one loose, where its torque is stated
    tighten, ///< bring it to its torque on the way back, where that is stated
};

/// Why nothing is to be reached, or nothing can be said.
enum class Grip : std::uint8_t {
    tool,       ///< there are poses to judge
    nothing,    ///< no tool turns it: washer, stud, the member of a joint that is only drawn, a brake that holds it
    not_stated, ///< its drive is not stated
    not_owned,  ///< no tool in the list fits; Reached::missing says which
    no_shape,   ///< it has no triangles
};

/// An arm cannot point along directions first..last (inclusive, numbers of the table) while that body is there.
struct ArmBlock {
    std::int32_t body = -1;
    std::uint16_t first = 0, last = 0;
};

/// A tool in a place.
struct Stance {
    std::int32_t shape = -1;   ///< index into Reach::shapes
    std::int32_t lowered = -1; ///< index into Reach::cases; -1: as found
    std::int8_t turned = 0;    ///< of turned_places, where the part it is in turns
    glm::dvec3 foot{0.0};      ///< on the axis, where heights are counted from
    glm::dvec3 axis{0, 0, 1};  ///< unit, from the fastener to the tool
    glm::dvec3 zero{1, 0, 0};  ///< unit, direction 0 of the arm; directions go counter-clockwise seen from the tool
    std::vector<std::int32_t> under; ///< bodies that rings touch; sorted
    std::vector<ArmBlock> arm;       ///< by first, then body
};

/// One of the coaxial pieces: heights above the foot, metres. Drawn as a cylinder from `low` to `high`.
struct ToolRing {
    double low = 0, high = 0;
    double inner = 0, outer = 0; ///< radii; what lies wholly within `inner` is not in the way
    double way_on = 0;           ///< it needs this much more height when it is put on
};
/// A length of the arm, metres: heights above the foot, distances from the axis, half its width.
struct ToolArm {
    double from = 0, to = 0, low = 0, high = 0, half_width = 0; ///< `from` below 0: it begins behind the axis
    double inner = 0; ///< what lies wholly within this distance of the axis is not in the way (a nut's stud)
};

/// The handle as it is drawn, metres: from one distance and height to another.
struct ToolHandle {
    double from = 0, from_height = 0, to = 0, to_height = 0, radius = 0; ///< radius 0: none
};

/// A tool's shape, made once for each tool, drive and height of head.
struct ToolShape {
    std::string name; ///< "ratchet 250 mm, extension 150 mm, socket 16"
    std::vector<ToolRing> rings;
    std::vector<ToolArm> arms;
    std::vector<ToolArm> hand; ///< room for the hand, as the arm swings: not drawn
    ToolHandle handle;         ///< the arm, to be drawn
    int need = 0;              ///< steps of swing that it needs; -1: it has no arm (screwdriver, pliers, a hand)
    double lever_m = 0;        ///< from the axis to the middle of the grip; 0: no lever
};

/// What is asked of one fastener for one use, and every pose tried, the handiest first.
struct Reached {
    ItemId item; ///< the fastener asked about
    ItemId at;   ///< the fastener that the tool is on: itself, or the member of its joint that is held
    Use use = Use::turn;
    Grip grip = Grip::nothing;
    std::string missing;  ///< for Grip::not_owned: "socket 24"
    double torque_nm = 0; ///< for loosen and tighten: the highest stated
    std::vector<Stance> poses;
};

struct Reach {
    const Map* map = nullptr;
    std::vector<Reached> list;                      ///< by fastener in file order, then by use
    std::vector<std::vector<std::int32_t>> of_item; ///< item: indices into `list`
    std::vector<ToolShape> shapes;
    std::vector<LoweredCase> cases;
    std::vector<std::int32_t> body_of; ///< as in Solids
    std::vector<ItemId> item_of;       ///< body: its item, or none
    std::vector<std::int32_t> node_of; ///< body: its first node
    std::vector<std::uint8_t> stays;   ///< body: scenery or a part that is fixed
};

/// All fasteners, all tools, as found and in each case. Poses stop at the first that nothing is ever in the way of.
/// `torques` false: only to undo it and to hold its other side, which is all that an order asks.
Reach find_reach(const Solids&, std::span<const LoweredCase>, const ToolBox&, const Effort& = {}, bool torques = true);

/// What comes out for one fastener in one state.
struct ReachAnswer {
    Verdict verdict = Verdict::undecided;
    Grip grip = Grip::nothing;
    std::int32_t reached = -1;            ///< index into Reach::list; -1: that use is not asked of it
    std::int32_t pose = -1;               ///< the handiest that works; when blocked the one with the fewest in its way
    int swing = 0;                        ///< in steps, the longest free run; reach_directions - 1: all the way round
    int first = 0;                        ///< the run's first direction
    double force_n = 0;                   ///< at the hand, for loosen and tighten
    std::vector<std::int32_t> blocked_by; ///< bodies, worst first
};
/// Bodies that are moved otherwise than in the nearest lowered case are taken as not there: nobody measured them so.
ReachAnswer judge_reach(const Reach&, ItemId fastener, Use, const Arrangement&);

/// Reach as precedence: what would have to be gone for each fastener (Use::turn as Question::reach, Use::hold as
/// Question::counter). Fasteners with nothing to be reached give none.
std::vector<Estimate> reach_estimates(const Reach&);

/// A tool on its fastener, to be drawn: pieces in the world, metres.
struct ToolPiece {
    glm::dvec3 from{0.0}, to{0.0}; ///< ends of its axis
    double radius = 0;
    bool capsule = false; ///< round ends (a handle), or flat ones
    bool swings = false;  ///< goes round with the handle; it stands in the first direction of the swing
};
struct ToolPose {
    std::string tool;
    std::vector<ToolPiece> pieces; ///< empty: no tool to draw (a hand)
    glm::dvec3 pivot{0.0}, axis{0, 0, 1};
    glm::dvec3 swing_from{1, 0, 0}, swing_to{1, 0, 0}; ///< unit; counter-clockwise seen from the tool
    double swing_deg = 0;                              ///< for people
    bool all_round = false;
};
ToolPose tool_pose(const Reach&, const ReachAnswer&);

/// For people: "ratchet 250 mm, socket 16", with how the part is turned for it. Empty for an answer without a pose.
std::string tool_of(const Reach&, const ReachAnswer&);

/// The unit vector of a direction of the table, in the plane: (cos, sin) of `number` steps.
glm::dvec2 direction_at(int number);

} // namespace boltwalk
