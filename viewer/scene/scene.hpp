// The scene: where everything stands, where it is looked at from, what is labelled. Plain maths, no GL.
//
//   make_stage()     what follows from a map once: bounds, edges to draw, trees to pick by (slow: a thread may do it)
//   Camera           a turntable: orbit, pan, zoom, fit, the place a person works from, moves between two
//   poses_between()  where each item is drawn between two states of the job
//   pull_apart()     and seen apart
//   pick()           what a ray meets first, of what is drawn
//   covers_of()      what stands between the eye and an item
//   shot_of()        what the picture of a step shows: states, what is next, labels, caption
//   lay_out()        labels that overlap neither each other, nor their targets, nor what is reserved
//
// Axes as the map has them: metres, +Y up, the vehicle's front at +Z, its left at +X. Screen: pixels, x to the right, y
// down, from the top left corner. Angles in degrees. Everything is deterministic; nothing here draws or waits.
#pragma once

#include <cstdint>
#include <functional>
#include <glm/glm.hpp>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/geometry/explode.hpp"
#include "core/geometry/solids.hpp"
#include "core/job/job.hpp"
#include "core/map/map.hpp"

namespace boltwalk {

// ---------------------------------------------------------------------------------------------------------------------
// bounds

Bounds moved(const Bounds&, const glm::dvec3& shift);

struct Rect {
    double x = 0, y = 0, width = 0, height = 0; ///< x, y: top left corner
    bool operator==(const Rect&) const = default;
    double right() const { return x + width; }
    double bottom() const { return y + height; }
};
bool overlap(const Rect&, const Rect&);
Rect grown(const Rect&, double by); ///< on each side; shrunk when negative

// ---------------------------------------------------------------------------------------------------------------------
// camera

/// A turntable about `target`: the eye stands at `distance_m` from it. yaw 0 looks from the front (+Z) towards the
/// rear, yaw 90 from the left (+X); pitch 90 from straight above, -90 from straight below (pitch stays within). The
/// picture's upright is always that of the turntable, so nothing rolls, and straight up and down are as good as any
/// other view, but for `turned`.
struct Camera {
    glm::dvec3 target{0.0};
    double distance_m = 3.0;
    double yaw_deg = 35.0;
    double pitch_deg = 25.0;
    double field_deg = 30.0; ///< of view, over the picture's height
    bool turned = false;     ///< the picture stands on its head, and nothing else is changed
    bool operator==(const Camera&) const = default;
};

glm::dvec3 backward_of(const Camera&); ///< unit vector from target to eye
glm::dvec3 upright_of(const Camera&);
glm::dvec3 rightward_of(const Camera&);
glm::dvec3 eye_of(const Camera&);

/// World to screen and back. Near and far planes enclose `scene` (empty: a ball about the target).
struct Projection {
    glm::dmat4 view{1.0}, projection{1.0}, both{1.0}; ///< clip space as OpenGL's: z from -1 to 1
    glm::dvec2 size_px{1.0};
    double near_m = 0.01, far_m = 100;
    glm::dvec3 eye{0.0};
};
Projection project(const Camera&, glm::dvec2 size_px, const Bounds& scene);
/// Pixels; z is the depth from 0 (near plane) to 1 (far plane). None: behind the near plane.
std::optional<glm::dvec3> to_screen(const Projection&, const glm::dvec3& point);
/// The smallest rectangle about a box on the screen, or none when a part of it is behind the near plane.
std::optional<Rect> screen_box(const Projection&, const Bounds&);

/// Its `along` is a unit vector.
Ray ray_through(const Projection&, glm::dvec2 point_px);

Camera orbited(Camera, double yaw_deg, double pitch_deg);
/// What is under the pointer at the target's depth follows it: a drag by `by_px` in a picture `height_px` high.
Camera panned(Camera, glm::dvec2 by_px, double height_px);
/// factor above 1 comes nearer. Keeps what is under `at_px` where it is (the target's depth); (-1,-1): the middle.
Camera zoomed(Camera, double factor, glm::dvec2 at_px = {-1, -1}, glm::dvec2 size_px = {1, 1});
/// Same direction, so near that `bounds` just fits in `inside` (pixels of a picture `size_px` large).
Camera fitted(Camera, const Bounds& bounds, glm::dvec2 size_px, const Rect& inside);
Camera fitted(Camera, const Bounds& bounds, glm::dvec2 size_px, double margin = 0.06);
/// The same for many boxes, which is closer than one box about them all.
Camera fitted(Camera, std::span<const Bounds> boxes, glm::dvec2 size_px, const Rect& inside);
/// The direction of a place to work from, a little aslant so that depth shows; from under, the vehicle's front is up in
/// the picture. Distance, target and field stay. Place::not_stated: a general view from the front left above.
Camera turned_to(Camera, Place);
/// t from 0 (a) to 1 (b), slow at both ends; the yaw goes the short way round.
Camera between(const Camera& a, const Camera& b, double t);
/// How somebody lies under the vehicle: which way is up in a picture seen from under.
enum class Lying { as_seen, head_forward, head_rearward };
/// The same view, the picture turned so that the vehicle's front, or its rear, is rather up in it than down.
Camera as_lying(Camera, Lying);
double eased(double t); ///< 0 to 1, slow at both ends

// ---------------------------------------------------------------------------------------------------------------------
// stage

/// Edges of a mesh to be drawn: creases first, then those that may become an outline, as 16 bytes each: two points as
/// 16-bit shares of the mesh's bounds, the normals of the two faces beside it as 8-bit octahedral codes.
struct MeshEdges {
    struct Edge {
        std::uint16_t from[3];
        std::uint16_t to[3];
        std::uint8_t left[2];
        std::uint8_t right[2];
    };
    std::vector<Edge> edges;
    std::size_t crease_count = 0;  ///< the first so many are always drawn; an edge with one face only is one of them
    bool closed = true;            ///< every edge has two faces: what faces away can never be seen
    bool outlines_dropped = false; ///< they would have taken more than half the mesh's own memory
};
MeshEdges edges_of(const Mesh&);
/// The face normal behind an octahedral code, and the code of a normal.
glm::vec3 octahedral_normal(const std::uint8_t code[2]);
void octahedral_code(const glm::vec3& normal, std::uint8_t code[2]);

/// How a fastener's mesh lies along its axis, in the node's own axes: what the paint stroke and the ring are drawn by.
struct HeadShape {
    glm::dvec3 top{0.0};  ///< on the axis, where the head ends
    glm::dvec3 base{0.0}; ///< on the axis, where the head meets the part
    double radius = 0;    ///< of the head, across corners
    double length = 0;    ///< of the whole, along the axis
};

struct Stage {
    const Map* map = nullptr;        ///< must outlive the stage
    std::vector<std::int32_t> shown; ///< nodes with a mesh in the scene, in file order
    std::vector<Bounds> node_bounds; ///< by node: world, at rest; empty without a mesh
    std::vector<Bounds> item_bounds; ///< by item: of all its nodes
    std::vector<glm::dvec3> anchors; ///< by item: its middle; of a part what is nearest to that of its surface,
                                     ///< so that what points there points at it from everywhere
    std::vector<HeadShape> heads;    ///< by fastener (Map::fasteners), world, at rest
    std::vector<glm::dvec3> axes;    ///< by fastener, world, from shank to head
    Bounds bounds;                   ///< of everything shown
    std::vector<MeshEdges> edges;    ///< by mesh
    /// By mesh: it alone, in its own axes, for core/geometry's rays; made when it is first asked for.
    mutable std::vector<std::shared_ptr<const Solids>> alone;
};
/// progress: share done, 0 to 1; false stops (the stage is then without edges). May be empty.
Stage make_stage(const Map&, const std::function<bool(float)>& progress = {});

// ---------------------------------------------------------------------------------------------------------------------
// motion

struct Pose {
    glm::dvec3 shift_m{0.0};
    float presence = 1; ///< 1: drawn; 0: not drawn; between: fading
    bool operator==(const Pose&) const = default;
};

/// By item (Map::items): between state `a` (t = 0) and `b` (t = 1). What is off has presence 0, what is lowered or
/// aside hangs there.
std::vector<Pose> poses_between(const Job&, const Stage&, const State& a, const State& b, double t);
std::vector<Pose> poses_of(const Job&, const Stage&, const State&);
/// Seen apart, by a share from 0 to 1 of core/geometry's explosion, added to where items stand: only a picture. The
/// explosion was worked out as found; of what has left since, what is still there keeps its distance all the same.
void pull_apart(const Solids&, const Explosion&, double share, std::span<Pose>);
/// Of everything drawn, as posed.
Bounds bounds_of(const Stage&, std::span<const Pose>);
/// Of those items, as posed, drawn or not.
Bounds bounds_of(const Stage&, std::span<const Pose>, std::span<const ItemId>);

// ---------------------------------------------------------------------------------------------------------------------
// picking

struct Hit {
    std::int32_t node = -1;
    ItemId item; ///< none: scenery
    double distance_m = 0;
    glm::dvec3 point{0.0};
};
/// Nothing is met that is not drawn (presence 0). `poses` empty: everything at rest.
std::optional<Hit> pick(const Stage&, std::span<const Pose> poses, const Ray&);

/// How much of an item is in plain sight, 0 to 1, and the nodes between it and the eye, in file order. A fixed grid of
/// rays to its nodes' bounds, at most `rays`; its own nodes never cover it.
struct Cover {
    double in_sight = 1;
    std::vector<std::int32_t> nodes;
};
Cover covers_of(const Stage&, std::span<const Pose>, ItemId, const glm::dvec3& eye, int rays = 24);

// ---------------------------------------------------------------------------------------------------------------------
// labels

/// One label for hardware that is alike: "6 × M10x1.25 × 35" over "hex 14 · 64 N·m".
struct LabelWish {
    std::string headline;
    std::string detail; ///< may be empty
    std::vector<ItemId> items;
    /// A line to stand alone where the whole finds no room, the longest first: "6 × M10x1.25 × 35", "6 × 35 mm".
    std::vector<std::string> shorter;
    bool operator==(const LabelWish&) const = default;
};

struct LabelBox {
    std::int32_t wish = -1;
    Rect box;
    std::vector<glm::dvec2> leaders; ///< from the box to each of these points
    glm::dvec2 foot{0.0};            ///< where the leaders leave the box
    double opacity = 1;              ///< fading in or out (viewer/scene/steady.hpp)
    std::vector<std::int32_t> led;   ///< whose the leaders are: LabelTarget::id
    std::int32_t form = 0;           ///< 0: in full; else so manyeth of what is shorter
    bool operator==(const LabelBox&) const = default;
};

struct LabelLayout {
    std::vector<LabelBox> boxes;
    std::vector<std::int32_t> left_out; ///< wishes that found no room, fade, or whose items are out of the picture
    ItemId tool; ///< the fastener that a tool is drawn on; none: no tool (viewer/scene/overlays.hpp)
};

struct LabelTarget {
    glm::dvec2 at{0.0};
    double radius_px = 0; ///< kept clear of labels
    double end_px = 0;    ///< its leader ends so far from the middle
    std::int32_t id = -1; ///< tells it from the other targets of its wish, in every picture alike
};

/// A straight line on the screen.
struct Segment {
    glm::dvec2 a{0.0}, b{0.0};
};
bool runs_through(const Segment&, const Rect&);

struct LabelRoom {
    Rect area;                      ///< labels stay inside
    std::span<const Rect> reserved; ///< and off these,
    double gap_px = 0;              ///< off all targets and each other by so much,
    std::vector<Segment> lines;     ///< and off what is drawn as lines, if there is any room beside them
};

/// sizes_px: of each wish's box. targets: of each wish, already on the screen (none: out of the picture). `last`: the
/// layout of the picture before; a label stays on its side where it still can. No leader runs through a label.
LabelLayout lay_out(std::span<const glm::dvec2> sizes_px, std::span<const std::vector<LabelTarget>> targets,
                    const LabelRoom&, const LabelLayout* last = nullptr);
/// One more beside those that are laid out already, which stay where they are. False: it found no room.
bool lay_out_one_more(std::span<const glm::dvec2> sizes_px, std::span<const std::vector<LabelTarget>> targets,
                      const LabelRoom&, const LabelLayout* last, LabelLayout&, std::size_t wish);
/// Where a leader from there to a target ends.
glm::dvec2 leader_end(glm::dvec2 foot, const LabelTarget&);

/// Where an item's mark stands on the screen and how large it is: the head of a fastener, the middle of a part. None:
/// out of the picture or not drawn.
std::optional<LabelTarget> mark_of(const Stage&, std::span<const Pose>, ItemId, const Projection&, double least_px);

// ---------------------------------------------------------------------------------------------------------------------
// a step's picture

struct Caption {
    std::string count;    ///< "Step 3 of 24", "As found"
    std::string headline; ///< "Take out 6 bolts: skid plate bolts"
    std::string from;     ///< "Seen from under"
    std::vector<std::string> cautions;
    std::string footnote; ///< what is the author's, what is an estimate; empty where nothing needs it
    bool operator==(const Caption&) const = default;
};

struct Shot {
    State before, after;
    std::vector<ItemId> next;  ///< what the step is about
    std::vector<ItemId> moves; ///< parts that change place, and so get an arrow
    std::vector<ItemId> whole; ///< of `next`: parts that something is done to as a whole, which says nothing of where
    std::vector<ItemId> holes; ///< plugs that are out, at whose holes it is done
    std::vector<LabelWish> labels;
    Place from = Place::not_stated;
    Caption caption;
};

/// `start`: the state that the plan's first step begins in. step from 1; 0 is the state as the plan finds it, with
/// nothing next. Beyond the last: the state at its end.
Shot shot_of(const Job&, const Plan&, const State& start, std::size_t step);
/// All of them, replaying once: index 0 is the state as found.
std::vector<Shot> shots_of(const Job&, const Plan&, const State& start);

/// Is this step done on the bench: does it concern what is off the vehicle in the state drawn?
bool at_bench(const Job&, const State& drawn, std::span<const ItemId> next);
/// Then only its own items are drawn, and what they go onto.
void show_bench(const Job&, const State& drawn, std::span<const ItemId> next, std::vector<Pose>&);
/// A plug that is out, as it would be in what it goes into: so a hole is found.
void put_in_its_hole(const Map&, ItemId plug, std::vector<Pose>&);

/// "Seen from under"; empty when not stated.
std::string seen_from(Place);

/// From the step's place, the step's items large but with what is about them; step 0: everything. `clear`: what of the
/// picture is free of panels.
Camera camera_for(const Stage&, std::span<const Pose>, const Shot&, glm::dvec2 size_px, const Rect& clear);

/// By item: its final torque is done, so it carries the paint stroke.
std::vector<std::uint8_t> painted_in(const Job&, const State&);

} // namespace boltwalk
