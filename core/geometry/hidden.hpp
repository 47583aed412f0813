// How much of a fastener's head is seen, from where, and what hides it. An estimate.
//
// What is measured. Points are spread over the surface of the head (head.hpp), directions evenly over the sphere. A
// pair of point and direction counts when an eye there looks at the head's outside (normal . direction > 0) from above
// its seat (axis . direction > 0), and then by normal . direction: as large as the eye sees it. What a fastener hides
// of itself, and what others of its own joint hide (a washer under its nut: who sees one has found the other), does
// not count at all. So a bolt that stands free on a flat face is seen to 100 %, and the shares below say how much of
// that is left.
//
// A pair is seen when nothing that is there stands along it up to the eye. Each pair keeps which bodies those are, so
// that any state is judged later without a ray.
//
// Places. Directions are dealt out by the axis that they follow most: from below under, from above over and inside,
// else left, right, front, rear: each a sixth of the sphere. The eye is near (under, inside: who lies below the vehicle
// or kneels in it) or farther off (over, left, right, front, rear: who stands beside or bends over it); what stands
// beyond the eye hides nothing. Seen from all is the mean over all directions above the seat, `inside` left out (it
// shares its directions with `over`).
//
// Verdicts use no functions but square roots; the tables are the same on every machine.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "core/geometry/head.hpp"
#include "core/geometry/solids.hpp"

namespace boltwalk {

/// From the head to the eye of who lies under the vehicle on stands or kneels in it, metres: what the forearm reaches
/// (common practice, no source). Farther: the ground and the stands begin to hide; nearer: ever more is seen.
constexpr double near_eye_m = 0.6;
/// The same for who stands beside the vehicle or bends over it: an outstretched arm and a bit (common practice, no
/// source).
constexpr double far_eye_m = 1.0;

/// Less than this of what a place would see were nothing in the way, and the head is hidden from there: of five looks
/// four show nothing of it, so who does not know where it is does not come upon it. Higher: bolts in deep recesses
/// count as hidden; lower: what is seen through one slit or access hole counts as seen.
constexpr double hidden_below = 0.20;

/// A place that would see less than this of the whole free view is turned away: the head shows it hardly an edge. It
/// counts as seeing nothing.
constexpr double least_facing = 0.04;

/// By Place. Index 0 (Place::not_stated): all together.
using ByPlace = std::array<double, 8>;

struct SightSettings {
    int points = 32;      ///< on each head
    int directions = 128; ///< over the whole sphere, from each point; each point has its own
};

/// Pairs from one place along which the very same bodies stand.
struct Sight {
    Place from = Place::not_stated;
    double weight = 0;
    std::uint32_t first = 0, count = 0; ///< of HeadSights::bodies, by index, each once
};

struct HeadSights {
    ByPlace free{}; ///< what each place would see were nothing in the way; all 0: nothing is known (no triangles)
    std::vector<Sight> sights;
    std::vector<std::int32_t> bodies;
};

/// One arrangement of the bodies, all there: `heads` by fastener (Map::fasteners).
struct SightCase {
    std::vector<glm::dvec3> shift; ///< by body; empty: at rest
    std::vector<HeadSights> heads;
};

struct Sights {
    std::vector<Head> heads;      ///< by fastener, at rest
    std::vector<SightCase> cases; ///< at rest first, then as given
    std::size_t rays = 0;
};

/// Casts all rays, once a map: at rest, and for each lowered case what changes in it.
Sights measure_sights(const Solids&, std::span<const LoweredCase> = {}, const Effort& = {}, const SightSettings& = {});

struct Seen {
    bool there = false; ///< the fastener is where it was or has moved, not gone
    bool known = false; ///< false: no triangles, or all of it inside others of its joint
    ByPlace share{};    ///< 0 to 1, of what that place would see were nothing in the way
    ByPlace facing{};   ///< that place's part of the whole free view: 0 where the head is turned away
};

/// In a state. Bodies that have moved, relative to the head, otherwise than in any case count as gone (set aside).
/// `there` empty: everything.
Seen seen(const Sights&, std::size_t fastener, const Arrangement&);
/// The same for all fasteners.
std::vector<Seen> seen(const Sights&, const Arrangement&);

/// The place that sees most of it, and how much: share times facing decides, ties by the order of Place.
Place best_place(const Seen&);

/// Where the person is when working on it decides (`from`), if the author states it and the head faces there; else the
/// best place. A fastener of which nothing is known is not hidden.
Place judged_from(const Seen&, Place stated);
bool is_hidden(const Seen&, Place stated);

struct Hider {
    std::int32_t body = -1;
    double share = 0; ///< of the view: where several stand in one line, each has an equal part (their Shapley value)
    double alone = 0; ///< what comes into view when it alone goes
};

/// What hides it, as seen from a place (not_stated: all); the worst first, ties by file order.
std::vector<Hider> hiders(const Sights&, std::size_t fastener, const Arrangement&, Place);

/// One line of the list of the hidden.
struct HiddenHead {
    std::size_t fastener = 0;
    Place from = Place::not_stated; ///< judged from there
    double share = 0;               ///< seen from there
    Place best = Place::not_stated; ///< the place that sees most
    double best_share = 0;
    std::vector<Hider> by;       ///< as seen from `from`
    std::int32_t into_view = -1; ///< first later state in which it is not hidden any more; -1: none
    std::int32_t gone = -1;      ///< first later state in which it is not there any more, if before that; -1: none
    std::int32_t view = -1;      ///< state in which it is seen best from `view_from`: `into_view` if there is one, else
                                 ///< the best from `now` on until it is gone
    Place view_from = Place::not_stated;
    double view_share = 0;
};

/// Those hidden in states[now], in file order; `states`: as found, then after each step. What is gone is not hidden.
std::vector<HiddenHead> hidden_in(const Sights&, const Solids&, std::span<const Arrangement> states, std::size_t now);

} // namespace boltwalk
