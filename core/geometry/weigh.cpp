// Volumes, centres and masses of bodies.
#include "core/geometry/weigh.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "core/geometry/balance.hpp"
#include "core/geometry/bits.hpp"
#include "core/geometry/shells.hpp"

namespace boltwalk {

namespace {

struct Density {
    std::string_view material;
    double kg_m3;
};

// Middle values. Sources: ASM Metals Handbook Desk Edition (as quoted by material tables on the web) for steel, cast
// iron, ductile and malleable iron; tables of light alloys, brass, titanium from one source each; rubber from memory.
// The spread within one word: cast iron 6600 to 7800, light alloys 2560 to 2800, rubber 1100 to 1300.
constexpr std::array<Density, 10> densities{{{"steel", steel_kg_m3},
                                             {"cast_steel", 7800},
                                             {"cast_iron", 7150},
                                             {"ductile_iron", 7150},
                                             {"malleable_iron", 7250},
                                             {"aluminium", 2700},
                                             {"magnesium", 1800},
                                             {"brass", 8500},
                                             {"titanium", 4500},
                                             {"rubber", 1150}}};

/// Property classes of ISO 898-1 and ISO 898-2 are of carbon or alloy steel by that standard's scope: "8.8", "10.9",
/// and of nuts "8", "10". Stainless classes (ISO 3506, "A2-70") are steel too, a little heavier; not told apart.
bool means_steel(std::string_view grade) {
    constexpr std::array<std::string_view, 14> classes{"4.6",  "4.8",  "5.6",   "5.8", "6.8", "8.8", "9.8",
                                                       "10.9", "12.9", "12.9U", "5",   "8",   "10",  "12"};
    return std::find(classes.begin(), classes.end(), grade) != classes.end();
}

/// Mixes 64 bits (the finaliser of splitmix64: Steele, Lea, Flood, "Fast splittable pseudorandom number generators",
/// 2014).
std::uint64_t mixed(std::uint64_t x) {
    x = (x ^ (x >> 30U)) * 0xbf58476d1ce4e5b9ULL;
    x = (x ^ (x >> 27U)) * 0x94d049bb133111ebULL;
    return x ^ (x >> 31U);
}

/// A corner by its place: the corners of two triangles are one corner where their positions are the same bits.
std::uint64_t key_of(const Vec3& p) {
    const auto bits = [](float value) { return std::uint64_t{bits_of(value + 0.0F)}; };
    return mixed((bits(p.x) << 32U | bits(p.y)) ^ mixed(bits(p.z) + 0x9e3779b97f4a7c15ULL));
}

} // namespace

// Whether a mesh is closed is asked without a list of its edges: each edge, mixed into a number, is added when met in
// one direction and taken away when met in the other. What is left is 0 for a closed mesh, and for an open one only by
// a chance of one in 2^64.
Enclosed enclosed_by(const Mesh& mesh) {
    Enclosed sum;
    std::uint64_t left = 0;
    std::uint64_t pairs = 0;
    const auto edge = [&](std::uint64_t a, std::uint64_t b) {
        if (a == b)
            return;
        const std::uint64_t both = mixed(a < b ? a + 3 * b : b + 3 * a);
        left += a < b ? both : 0 - both;
        pairs ^= both;
    };
    // About the mesh's own middle, so that one far from its origin keeps its digits.
    const glm::dvec3 low(mesh.low[0], mesh.low[1], mesh.low[2]);
    const glm::dvec3 high(mesh.high[0], mesh.high[1], mesh.high[2]);
    const glm::dvec3 middle = mesh.triangle_count > 0 ? 0.5 * (low + high) : glm::dvec3(0.0);
    for (const Primitive& primitive : mesh.primitives)
        for (std::size_t i = 0; i + 2 < primitive.index_count; i += 3) {
            const std::array<Vec3, 3> p{primitive.positions[primitive.index(i)],
                                        primitive.positions[primitive.index(i + 1)],
                                        primitive.positions[primitive.index(i + 2)]};
            const std::array<std::uint64_t, 3> key{key_of(p[0]), key_of(p[1]), key_of(p[2])};
            for (std::size_t k = 0; k < 3; ++k)
                edge(key[k], key[(k + 1) % 3]);
            const auto corner = [&](std::size_t k) { return glm::dvec3(p[k].x, p[k].y, p[k].z) - middle; };
            const glm::dvec3 a = corner(0);
            const glm::dvec3 b = corner(1);
            const glm::dvec3 c = corner(2);
            const glm::dvec3 normal = glm::cross(b - a, c - a);
            const glm::dvec3 corners = a + b + c;
            const double six = glm::dot(a, normal);
            const double twice = glm::length(normal);
            sum.volume += six;
            sum.moment += six * corners;
            sum.area += twice;
            sum.area_moment += twice * corners;
        }
    sum.volume /= 6;
    sum.moment = sum.moment / 24.0 + middle * sum.volume;
    sum.area /= 2;
    sum.area_moment = sum.area_moment / 6.0 + middle * sum.area;
    sum.closed = left == 0 && mesh.triangle_count > 0;
    sum.paired = pairs == 0 && mesh.triangle_count > 0;
    return sum;
}

std::optional<double> density_of(std::string_view material) {
    for (const Density& density : densities)
        if (density.material == material)
            return density.kg_m3;
    return {};
}

namespace {

/// What shells share is told from this part of their volume on. Less: welds and pins that are let in.
constexpr double told_share = 0.05;

struct Shape {
    BodyMass mass;
    bool open = false, flipped = false, inside_out = false, in_one_another = false;
    double by_tetrahedra = 0;
};

Shape shape_of(const Solids& solids, const std::vector<Enclosed>& enclosed, const Body& body, bool count) {
    Shape shape;
    double volume = 0;
    double area = 0;
    glm::dvec3 moment(0.0);
    glm::dvec3 area_moment(0.0);
    for (const std::int32_t index : body.placements) {
        const Placement& placement = solids.placements[at(index)];
        const Enclosed& mesh = enclosed[at(placement.mesh)];
        const glm::dmat3 turn(placement.world);
        const double scale = std::abs(glm::determinant(turn));
        const double flip = mesh.volume < 0 ? -1 : 1;
        shape.open = shape.open || !mesh.paired;
        shape.flipped = shape.flipped || (mesh.paired && !mesh.closed);
        shape.inside_out = shape.inside_out || (mesh.closed && mesh.volume < 0);
        const auto in_world = [&](const glm::dvec3& weighted, double weight) {
            return turn * weighted + glm::dvec3(placement.world[3]) * weight;
        };
        volume += scale * flip * mesh.volume;
        moment += scale * flip * in_world(mesh.moment, mesh.volume);
        // The surface's own scale: exact for what is scaled alike in all directions, and only a weight elsewhere.
        const double spread = std::cbrt(scale) * std::cbrt(scale);
        area += spread * mesh.area;
        area_moment += spread * in_world(mesh.area_moment, mesh.area);
    }
    BodyMass& mass = shape.mass;
    mass.centre = body.bounds.centre();
    shape.by_tetrahedra = volume;
    if (!shape.open && !shape.flipped && volume > 0) {
        mass.centre_from = CentreFrom::volume;
        mass.volume_m3 = volume;
        mass.centre = moment / volume;
        if (count && !shape.inside_out) {
            const Shared shared = shared_by_shells(solids, body);
            if (shared.twice > 0) {
                // Of the true volume, so that what the lines miss of thin walls drops out.
                const double away = volume * std::min(shared.twice / shared.met, 0.99);
                mass.volume_m3 = volume - away;
                mass.centre = (moment - away / shared.twice * shared.twice_moment) / mass.volume_m3;
                if (away > told_share * volume) {
                    shape.in_one_another = true;
                    mass.centre_from = CentreFrom::lines;
                }
            }
        }
    } else if (area > 0) {
        mass.centre_from = CentreFrom::surface;
        mass.centre = area_moment / area;
    }
    return shape;
}

void find(Masses& masses, const Solids& solids, const Body& body, const char* rule, std::string what,
          const char* remedy) {
    Finding finding;
    finding.weight = Weight::note;
    finding.rule = rule;
    finding.nodes.push_back(solids.map->nodes[at(body.node)].name);
    finding.what = std::move(what);
    finding.why = "Estimated from the shapes: volume and centre of mass depend on it.";
    finding.remedy = remedy;
    masses.findings.push_back(std::move(finding));
}

void tell(Masses& masses, const Solids& solids, const Body& body, const Shape& shape) {
    const bool stays = solids.map->part(body.item).fixed;
    if (stays)
        return;
    if (shape.open)
        find(masses, solids, body, "open-shape",
             "its surface has holes: no volume, and its centre is taken from the surface.",
             "Close it in the modelling tool, or state `mass_kg`.");
    else if (shape.flipped)
        find(masses, solids, body, "flipped-faces",
             "some of its faces are turned the other way: no volume, and its centre is taken from the surface.",
             "Recalculate the normals outwards in the modelling tool.");
    else if (shape.inside_out)
        find(masses, solids, body, "inside-out", "it is turned inside out: its volume is taken as if it were not.",
             "Recalculate the normals outwards in the modelling tool.");
    else if (shape.in_one_another)
        find(masses, solids, body, "shells-overlap",
             fmt::format("its shells lie in one another: {:.2f} l one by one, about {:.2f} l together.",
                         shape.by_tetrahedra * 1000, shape.mass.volume_m3 * 1000),
             "Unite them in the modelling tool; the estimate goes by the second figure.");
}

void set_mass(const Map& map, ItemId item, BodyMass& mass) {
    if (map.is_part(item)) {
        const Part& part = map.part(item);
        mass.material = part.material;
        if (part.mass_kg) {
            mass.mass_kg = part.mass_kg;
            mass.mass_from = MassFrom::stated;
            return;
        }
    } else if (map.is_fastener(item) && means_steel(map.fastener(item).grade)) {
        mass.material = "steel";
    }
    const std::optional<double> density = density_of(mass.material);
    if (density && mass.volume_m3 > 0) {
        mass.mass_kg = *density * mass.volume_m3;
        mass.mass_from = MassFrom::material;
    }
}

} // namespace

Masses weigh(const Solids& solids, const Effort& effort) {
    const Map& map = *solids.map;
    std::vector<std::uint8_t> used(map.meshes.size(), 0);
    for (const Body& body : solids.bodies)
        if (body.item)
            for (const std::int32_t p : body.placements)
                used[at(solids.placements[at(p)].mesh)] = 1;
    std::vector<Enclosed> enclosed(map.meshes.size());
    std::vector<Shape> shapes(solids.bodies.size());
    const auto is_part = [&](const Body& body) { return body.item && map.is_part(body.item); };
    const bool whole = in_parallel(map.meshes.size(), effort,
                                   [&](std::size_t i) {
                                       if (used[i])
                                           enclosed[i] = enclosed_by(map.meshes[i]);
                                   }) &&
                       in_parallel(shapes.size(), effort, [&](std::size_t b) {
                           const Body& body = solids.bodies[b];
                           if (!body.item)
                               return;
                           const bool count = is_part(body) && !map.part(body.item).fixed;
                           shapes[b] = shape_of(solids, enclosed, body, count);
                           set_mass(map, body.item, shapes[b].mass);
                       });
    Masses masses;
    for (std::size_t b = 0; b < shapes.size(); ++b) {
        if (whole && is_part(solids.bodies[b]))
            tell(masses, solids, solids.bodies[b], shapes[b]);
        masses.bodies.push_back(std::move(shapes[b].mass));
    }
    return masses;
}

} // namespace boltwalk
