// Sweeping a set of bodies along a line, as triangles, exactly. Sources of way and explode only.
#pragma once

#include <array>
#include <map>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "core/geometry/way.hpp"
#include "core/geometry/way_skin.hpp"

namespace boltwalk {

/// What make_way_space() makes once.
struct WayShapes {
    std::vector<Sense> senses;                      ///< by mesh
    std::vector<std::shared_ptr<const Skin>> skins; ///< by placement; null where it is never moved
    std::vector<Turned> turns;                      ///< by placement
    std::vector<Tree> boxes;                        ///< of the caller's obstacles
};

/// Axes in which a sweep goes along +z, from an origin near what moves so that floats are fine enough.
struct WayFrame {
    glm::dmat3 to{1.0}; ///< from the world's axes
    glm::dvec3 origin{0.0};
};
/// Along a unit vector.
WayFrame frame_along(const glm::dvec3& along, const glm::dvec3& origin);
/// Nearly along an axis, but along no face of an ordinary model: for looking at what stands still.
WayFrame frame_askew(const glm::dvec3& origin);

/// One of the placements that move.
struct Piece {
    std::int32_t placement = -1;
    const Tree* tree = nullptr;
    const Skin* skin = nullptr;
    Sense sense;
    glm::dmat4 world{1.0};
    glm::dmat3 turn{1.0};
    bool mirrored = false;
};

/// What moves together.
struct Mover {
    std::vector<Piece> pieces;
    std::vector<std::uint8_t> moves; ///< by body
    Bounds bounds;
};
Mover make_mover(const WaySpace&, std::span<const std::int32_t> bodies);
/// The same turned about an axis (a unit vector) through a point, by an angle of which sine and cosine are given.
Mover turned_mover(const Mover&, const glm::dvec3& axis, const glm::dvec3& through, double sine, double cosine);

/// How a mover is looked at: in a frame, brought somewhere, made smaller by an inset.
struct Posing {
    WayFrame frame;
    glm::dvec3 offset{0.0};
    double inset_m = 0;
    bool leading_only = false; ///< of closed meshes only the faces that look along +z
};

/// A piece's triangles in a pose, worked out as they are asked for.
class Poser {
public:
    Poser(const Piece&, const Posing&);
    /// False where it does not count.
    bool triangle(std::size_t number, std::array<glm::vec3, 3>& out) const;
    bool counts(std::size_t number) const;

private:
    std::array<glm::vec3, 3> at_rest(std::size_t number) const;
    bool leads(const std::array<glm::vec3, 3>&) const;
    const Piece* piece_;
    glm::mat3 linear_{1.0F}, inward_{1.0F};
    glm::vec3 shift_{0.0F};
    float inset_ = 0, sense_ = 1;
    bool leading_only_ = false;
};

/// One of a mover's pieces, posed: only boxes are kept, since triangles would take more than the mesh does.
struct Posed {
    struct Box {
        glm::vec3 low, high; ///< low above high: nothing in it counts
    };
    Poser poser;
    const Tree* tree = nullptr;
    std::vector<Box> boxes; ///< by node of the tree
};
Posed pose(const Piece&, const Posing&);

/// What stands still: a body's placements or an obstacle's box.
struct Standing {
    struct Piece {
        const Tree* tree = nullptr;
        glm::dmat4 world{1.0};
        Sense sense;
        bool mirrored = false;
        Bounds bounds;
    };
    std::vector<Piece> pieces;
    std::int32_t body = -1, obstacle = -1;
};

constexpr double never_met = -1;
/// Of each: where along +z the mover first meets it, in metres from 0 to `length`, or never_met. `any`: the first that
/// is found will do.
std::vector<double> first_contacts(const Mover&, const Posing&, std::span<const Standing* const>, double length,
                                   bool any);

/// How far along +z, at least 0, until nothing is met from `gap` before to `gap` behind; never_met when that is not
/// before `length`.
double first_room(const Mover&, const Posing&, std::span<const Standing>, double gap, double length);

/// Everything that does not move and whose box the mover's box touches on its way; by body, then obstacles. `margin` in
/// metres. `shift` by body, empty: nothing is moved.
std::vector<Standing> standing_near(const WaySpace&, const Mover&, const glm::dvec3& offset, const glm::dvec3& leg,
                                    double margin, std::span<const std::uint8_t> there = {});

/// The mover where it lies at rest, as something to be met.
Standing standing_of(const Mover&);

/// Is the point inside the closed meshes among these? A ray along nothing in particular tells.
bool is_inside(const Standing&, const glm::dvec3& point);

} // namespace boltwalk
