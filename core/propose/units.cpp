// Units and the axis that is up: questions, with the figures that raise them.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "core/propose/heads.hpp"

namespace boltwalk {

namespace {

struct Unit {
    double scale;
    std::string_view name;
};
constexpr std::array<Unit, 4> units{{{1, "metres"}, {0.001, "millimetres"}, {0.0254, "inches"}, {0.01, "centimetres"}}};

/// Hexagon heads on a vehicle, millimetres across flats; a whole unit, metres from corner to corner.
constexpr double least_head = 4, most_head = 60, least_whole = 0.02, most_whole = 12;

/// The share of the widths that some table holds within 1 %.
double in_tables(const std::vector<double>& flats, double scale) {
    int good = 0;
    for (const double width : flats) {
        const double size = width * scale * 1000;
        if (size >= least_head && size <= most_head && !sizes_sold_with(DriveKind::hex, size, false, 0.01).empty())
            ++good;
    }
    return flats.empty() ? 0 : static_cast<double>(good) / static_cast<double>(flats.size());
}

/// Widths of hexagons, in the file's own units, whatever they are: each shape once.
std::vector<double> hexagons(const Solids& solids) {
    std::vector<double> flats;
    std::vector<std::uint8_t> seen(solids.meshes.size(), 0);
    for (std::size_t b = 0; b < solids.bodies.size(); ++b) {
        if (solids.bodies[b].placements.size() != 1)
            continue;
        const Placement& placement = solids.placements[static_cast<std::size_t>(solids.bodies[b].placements[0])];
        auto& mesh = seen[static_cast<std::size_t>(placement.mesh)];
        if (mesh != 0 || solids.meshes[static_cast<std::size_t>(placement.mesh)]->size() > most_facets)
            continue;
        mesh = 1;
        const auto shape = turned_shape(facets_of(solids, static_cast<std::int32_t>(b)));
        if (!shape)
            continue;
        const auto hexagon = std::find_if(shape->bands.begin(), shape->bands.end(),
                                          [](const Band& band) { return band.flats() && !band.inward; });
        if (hexagon != shape->bands.end() && hexagon->outer > 0.5 * shape->widest)
            flats.push_back(2 * hexagon->inner);
    }
    return flats;
}

void ask_scale(const Solids& solids, UnitQuestion& question) {
    const std::vector<double> flats = hexagons(solids);
    const double whole = glm::length(solids.bounds.size());
    const auto fits = [&](double scale) { return whole * scale >= least_whole && whole * scale <= most_whole; };
    const double now = in_tables(flats, 1);
    double best = now;
    for (const Unit& unit : units) {
        if (!fits(unit.scale))
            continue;
        const double share = in_tables(flats, unit.scale);
        if (share > best + 0.2) {
            best = share;
            question.scale = unit.scale;
        }
    }
    std::vector<double> sorted = flats;
    std::sort(sorted.begin(), sorted.end());
    if (!flats.empty()) {
        const double middle = sorted[sorted.size() / 2];
        for (const Unit& unit : units)
            question.why.push_back(
                fmt::format("read as {}: {} m from corner to corner, {} shape{} of hexagons, the middle one {} mm "
                            "across flats, {:.0f} % of them in a table",
                            unit.name, print_figure(whole * unit.scale), flats.size(), flats.size() == 1 ? "" : "s",
                            print_figure(middle * unit.scale * 1000), 100 * in_tables(flats, unit.scale)));
    } else if (!fits(1) && whole > 0) {
        question.scale = fits(0.001) ? 0.001 : 1;
        question.why.push_back(fmt::format("it is {} m from corner to corner; read as millimetres {} m; no "
                                           "hexagon says more",
                                           print_figure(whole), print_figure(whole * 0.001)));
    }
    question.ask_scale = question.scale != 1;
}

/// Of every axis: the area of faces square to it, as a share of all.
std::array<double, 3> faces_along(const Solids& solids) {
    std::array<double, 3> along{};
    double all = 0;
    for (std::size_t b = 0; b < solids.bodies.size(); ++b)
        each_triangle_of(solids, static_cast<std::int32_t>(b), [&](const Triangle& t) {
            const glm::dvec3 cross = glm::cross(t.b - t.a, t.c - t.a);
            const double twice = glm::length(cross);
            all += twice;
            for (int k = 0; k < 3; ++k)
                if (std::abs(cross[k]) > 0.999 * twice)
                    along[static_cast<std::size_t>(k)] += twice;
        });
    for (double& share : along)
        share = all > 0 ? share / all : 0;
    return along;
}

void ask_up(const Solids& solids, UnitQuestion& question) {
    const glm::dvec3 size = solids.bounds.size();
    const double whole = glm::length(size);
    if (solids.bounds.empty() || !(whole > 0))
        return;
    const std::array<double, 3> faces = faces_along(solids);
    const char* names = "XYZ";
    std::array<int, 3> votes{};
    std::vector<std::string> why;
    // A model that stands on the floor begins at nought there, and lies about nought the other ways.
    int standing = -1;
    int count = 0;
    for (int k = 0; k < 3; ++k)
        if (std::abs(solids.bounds.low[k]) < 0.02 * size[k]) {
            standing = k;
            ++count;
        }
    if (count == 1) {
        votes[static_cast<std::size_t>(standing)] += 1;
        why.push_back(
            fmt::format("it begins at nought along {} only, as a model that stands on the floor", names[standing]));
    }
    // Plates, floors, pans and flanges lie flat: what looks up and down is the most of what is square to an axis.
    const auto most = static_cast<std::size_t>(std::max_element(faces.begin(), faces.end()) - faces.begin());
    const double second = std::max(faces[(most + 1) % 3], faces[(most + 2) % 3]);
    if (faces[most] > 1.25 * second) {
        votes[most] += 1;
        why.push_back(fmt::format("{:.0f} % of its surface lies square to {}, {:.0f} % to the next axis",
                                  100 * faces[most], names[most], 100 * second));
    }
    int least = 0;
    for (const int k : {1, 2})
        if (size[k] < size[least])
            least = k;
    const double next = std::min(size[(least + 1) % 3], size[(least + 2) % 3]);
    if (size[least] < 0.85 * next) {
        votes[static_cast<std::size_t>(least)] += 1;
        why.push_back(fmt::format("it is the shortest along {}", names[least]));
    }
    for (const std::size_t k : {std::size_t{2}, std::size_t{0}})
        if (votes[k] >= 2 && votes[1] == 0) {
            question.up = k == 2 ? UpAxis::z : UpAxis::x;
            question.ask_up = true;
        }
    question.why.insert(question.why.end(), why.begin(), why.end());
}

} // namespace

std::string print_figure(double value) {
    int digits = 2;
    for (double size = std::abs(value); size >= 10 && digits > 0; size /= 10)
        --digits;
    for (double size = std::abs(value); size > 0 && size < 1 && digits < 12; size *= 10)
        ++digits;
    return print_number(value, digits);
}

std::string_view name_of(UpAxis up) {
    return up == UpAxis::z ? "z" : up == UpAxis::x ? "x" : "y";
}

std::array<double, 4> upright_turn(UpAxis up) {
    constexpr double half = 0.7071067811865476; // a quarter turn
    return up == UpAxis::z   ? std::array<double, 4>{-half, 0, 0, half}
           : up == UpAxis::x ? std::array<double, 4>{0, 0, half, half}
                             : std::array<double, 4>{0, 0, 0, 1};
}

UnitQuestion ask_units(const Solids& solids) {
    UnitQuestion question;
    ask_scale(solids, question);
    question.why_scale = question.why.size();
    ask_up(solids, question);
    return question;
}

} // namespace boltwalk
