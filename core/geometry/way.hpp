// Does a part come out along its way, or what is in the way? And where no way is stated: is there one?
//
// What goes out together (a part, what hangs on it alone, the fasteners that come with it) is swept along each leg as
// triangles, exactly; every other body that it meets is kept with the distance at which it is met. A state is judged
// afterwards by looking at which of these are there: nothing is swept again.
//
// The one tolerance scheme. What moves is made smaller by an inset, every face moved inwards by it; two bodies lie r
// deep in one another at rest when an inset of r is the least at which they no longer cross. Then along a leg:
//     blocked    they meet at an inset of r + 0.5 mm: it goes in deeper than at rest by at least that
//     free       they do not meet at an inset of r + 0.2 mm
//     undecided  between
// So a bolt slides in its hole, a press fit of 0.1 mm slides as it lies, and what only touches is not in the way. What
// lies deeper in another at rest than 1.5 mm (a shank in a block without a hole) has cut its own shape out of the
// other (a shank out of anything else, anything out of a sheet, or the smaller one out of the larger): what leaves
// along that shape is free, what enters anew is in the way. A hose or cable is no rigid wall:
// it is named as pushed aside, and blocks nothing.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "core/geometry/estimate.hpp"
#include "core/geometry/solids.hpp"

namespace boltwalk {

/// Deeper than at rest by this is blocked. Half a millimetre is more than what round holes of a few sides, faces that
/// are meant to touch and float positions differ by, and less than the play of a bolt in its hole (M6 to M16 fine to
/// medium: 0.4 to 1.5 mm across, ISO 273). Larger: tight ways pass for free; smaller: coarse models block themselves.
constexpr double way_blocked_mm = 0.5;
/// Less deep than this is free; between the two it is undecided. Above what a cylinder of 20 sides and M16 lacks from
/// its own roundness (0.1 mm). Larger: less is undecided and more is wrong.
constexpr double way_free_mm = 0.2;
/// Depth at rest up to which two bodies are thought to be meant so (threads drawn at their outer diameter in a hole of
/// the core's: 1.1 mm at a pitch of 2 mm). What lies deeper has cut its shape out.
constexpr double way_rest_most_mm = 1.5;
/// A drawn fastener goes by its own whole length and this much more: its shank is out then by more than its head's
/// height. Larger: what is taken out at a slant, once it is free, counts as blocked.
constexpr double drawn_clear_mm = 2;

/// What is asked: what moves together, and along which legs.
struct WayAsked {
    ItemId item;
    std::vector<std::int32_t> moving; ///< bodies that go with it, its own among them; others are in the way
    std::vector<glm::dvec3> legs;     ///< one after the other, metres; empty: none stated
};

/// The legs as the author states them.
std::vector<glm::dvec3> stated_legs(const Part&);
/// How a fastener is drawn: along its axis by how long it is along that, and drawn_clear_mm more. What goes with it is
/// itself alone. A nut goes as far as the joint's longest member reaches beyond it.
WayAsked drawn(const Solids&, ItemId fastener);
/// The fastener's axis in the world, from shank to head; a unit vector.
glm::dvec3 axis_of(const Map&, ItemId fastener);

/// Something in the way besides the map's bodies: a jack below, the floor. Named in answers by its index.
struct Obstacle {
    std::string name; ///< "jack"
    Bounds box;
};

/// One body that is met along a leg.
struct Meeting {
    std::int32_t body = -1;             ///< of Solids; none: `obstacle`
    std::int32_t obstacle = -1;         ///< of the caller's list
    Verdict verdict = Verdict::blocked; ///< blocked or undecided
    bool soft = false;                  ///< gives way: named, and blocks nothing
    double after_mm = 0;                ///< along the leg, where it is met
    double rest_mm = 0;                 ///< how deep the two lie in one another at rest
};

struct LegAnswer {
    glm::dvec3 leg{0.0};      ///< metres
    std::vector<Meeting> met; ///< blocked before undecided, the earliest met first, then by body
};

/// A turn before the legs: about an axis through the middle of what moves.
struct Turn {
    glm::dvec3 axis{0.0}; ///< zero: none
    int degrees = 0;      ///< right-handed
};

/// A way, with all that it meets whatever is there.
struct WayAnswer {
    bool stated = false; ///< the author's; otherwise found here
    Turn turn;
    std::vector<LegAnswer> legs;
    bool out = true; ///< at its end it is clear of everything that it lay among; a stated way is taken at its word
};

/// The answers for one item: the stated way first, if there is one, then what was found.
struct WaysOut {
    ItemId item;
    std::vector<std::int32_t> moving;
    std::vector<WayAnswer> ways;
    std::vector<ItemId> tethers; ///< lines of the map that limit how far it goes: how much they give is not known
    bool gives_way = false;      ///< it is flexible itself: what it meets is pushed against, not blocked by
};

/// What a state makes of a way. `there` by body, empty: everything is there. Obstacles of the caller are always there.
struct WayVerdict {
    Verdict verdict = Verdict::free;
    std::vector<Meeting> by; ///< who blocks, or keeps it undecided; over all legs, each body once, the worst first
    std::int32_t leg = -1;   ///< the first that is not free
    double free_mm = 0;      ///< how far it goes on the way before something blocks; all of it when free
};
WayVerdict judge(const WayAnswer&, std::span<const std::uint8_t> there = {});
/// The verdict of the best of its ways: free before undecided before blocked, then the earlier; -1: there is none.
std::int32_t best_way(const WaysOut&, std::span<const std::uint8_t> there = {});

/// Everything that sweeping wants to know about the shapes, made once for all that may be asked to move; holds a
/// pointer to the solids, which must outlive it.
struct WayShapes;
struct WaySpace {
    const Solids* solids = nullptr;
    std::vector<Obstacle> obstacles;
    std::shared_ptr<const WayShapes> shapes;
};
WaySpace make_way_space(const Solids&, std::span<const WayAsked>, std::vector<Obstacle> = {}, const Effort& = {});

/// The same shapes with the bodies elsewhere: `solids` are moved() from those that it was made of.
WaySpace in_place_of(const WaySpace&, const Solids& solids);

/// The stated legs, swept against everything else, or against what is there only (`there` by body, empty: everything):
/// then the answer is good for states in which no more is there.
WaysOut sweep_way(const WaySpace&, const WayAsked&, std::span<const std::uint8_t> there = {});
/// Of each.
std::vector<WaysOut> sweep_ways(const WaySpace&, std::span<const WayAsked>, const Effort& = {});

/// How far the search for a way goes; one query is one leg swept, or one turn.
struct WaySearch {
    int queries = 240; ///< of one item. More finds more crooked ways, and takes longer where there is none
    std::span<const std::uint8_t> there; ///< by body; empty: everything
    bool any_state = true; ///< what is found is held against everything, to be judged in any state; or what is there
};
/// Adds to `answer` a way that is free in this state: straight lines (six axes, the axes of its fasteners, across the
/// faces that it touches), then two and three legs, then a small turn and a line. Where nothing is free, the straight
/// line that is blocked by the fewest is added, and up to three more that need other things gone. False when none was
/// found to be free.
bool find_way(const WaySpace&, const WayAsked&, const WaySearch&, WaysOut& answer);

/// "rear 40 mm; down 600 mm"; a direction that is none of the six is written as three numbers.
std::string words_of(const WayAnswer&);

/// As core/job wants it: an alternative each way. Scenery and parts that stay make it `never`.
Estimate estimate_of(const Solids&, const WaysOut&);

} // namespace boltwalk
