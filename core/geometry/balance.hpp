// Balance: what things weigh, where the centre of that is, and what would tip or drop.
//
// A stated mass goes before everything. Where none is stated, volume times density of the stated `material` is an
// estimate: of the solid as it is modelled, so a hollow casing that is drawn solid comes out too heavy. Where the
// material is not stated either there is no mass, only litres. The centre always comes from the shapes.
//
// Volumes are sums of signed tetrahedra of closed meshes (Gauss; Zhang and Chen, "Efficient feature extraction for
// 2D/3D objects in mesh representation", 2001). What shells that lie in one another share would count twice: lines
// through a body find how much that is. Open meshes have no volume; the centre of their surface stands in for theirs,
// and that is said.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/geometry/solids.hpp"

namespace boltwalk {

enum class MassFrom : std::uint8_t {
    stated,
    material,   ///< volume times density of the stated material, or of the steel that a stated property class means
    not_stated, ///< no mass
};

enum class CentreFrom : std::uint8_t {
    volume,  ///< of closed shapes
    lines,   ///< of shells in one another, counted along lines through them
    surface, ///< open shapes: of the surface, a worse estimate
    box,     ///< not even a surface
};

/// What a body weighs, as found.
struct BodyMass {
    std::optional<double> mass_kg;
    MassFrom mass_from = MassFrom::not_stated;
    CentreFrom centre_from = CentreFrom::box;
    double volume_m3 = 0; ///< of material as modelled; 0 where it is not known
    std::string material; ///< as stated; "steel" by property class; else empty
    glm::dvec3 centre{0.0};
};

struct Masses {
    std::vector<BodyMass> bodies;  ///< by body
    std::vector<Finding> findings; ///< open, turned inside out, shells in one another: of parts only
};

/// Bodies of 33 parts and 106 fasteners take some tens of thousands of lines.
Masses weigh(const Solids&, const Effort& = {});

/// kg/m3 of a `material`, or nothing for a word that is none of them. Sources in balance.cpp.
std::optional<double> density_of(std::string_view material);
/// What a litre without a stated material is compared with, and never taken for: "as steel it would be ...".
constexpr double steel_kg_m3 = 7850;

/// Several bodies as one.
struct Load {
    double mass_kg = 0;                ///< of those whose mass is known
    double estimated_kg = 0;           ///< the share of it that is worked out from volumes
    std::vector<std::int32_t> without; ///< bodies whose mass is not known
    double without_as_steel_kg = 0;    ///< what they would weigh as solid steel
    bool has_centre = false;
    glm::dvec3 centre{0.0};          ///< of those whose mass is known; where none is, of all as if of one material
    glm::dvec3 centre_as_steel{0.0}; ///< of all, those without a mass taken as solid steel: how far it might be off
};

/// `shift` by body, as Arrangement has it; empty: as found.
Load load_of(const Masses&, std::span<const std::int32_t> bodies, std::span<const glm::dvec3> shift = {});

enum class Poise : std::uint8_t {
    drops,   ///< nothing holds it
    beside,  ///< what holds it lies to one side of the centre: that side stays up, the other would go down
    turns,   ///< one point holds it, and the centre is not below or above it: it would turn about that point
    between, ///< the vertical line through the centre passes between what holds it
    close,   ///< too close to the edge to say, or the masses that are not stated decide it
};

/// A horizontal distance smaller than this between the centre and the edge of what holds it is not told apart: half a
/// flange's width, and more than the centre of a casing drawn solid is off. Larger: fewer verdicts, more "too close".
constexpr double poise_margin_m = 0.02;

struct Balanced {
    Poise poise = Poise::drops;
    glm::dvec3 line_from{0.0}, line_to{0.0}; ///< `beside`: the line that it would tip about; `turns`: the point, twice
    glm::dvec3 towards{0.0};                 ///< level, of length 1: the side that would go down; 0 where there is none
    double past_m = 0;                       ///< how far the centre lies outside of what holds it; negative: inside
    double moment_nm = 0;                    ///< about that line, of the mass that is known
    bool masses_decide = false;              ///< `close`, because masses that are not stated would make another verdict
};

/// Is the centre between these points, seen from above? Hanging or standing makes no difference to the answer.
Balanced balance_on(std::span<const glm::dvec3> held_at, const Load&);

/// "front", "front left": a level direction in the vehicle's own words. Empty for none.
std::string side_of(const glm::dvec3& direction);

} // namespace boltwalk
