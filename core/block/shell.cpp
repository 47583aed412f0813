#include "core/block/shell.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace boltwalk::recipe {

namespace {

/// A bend is drawn in steps of at most so many degrees.
constexpr double bend_step_deg = 12;

glm::dvec3 any_across(const glm::dvec3& along) {
    const glm::dvec3 least = std::abs(along.y) < 0.9 ? glm::dvec3(0, 1, 0) : glm::dvec3(0, 0, 1);
    return glm::normalize(glm::cross(least, along));
}

/// `v` turned about the unit vector `axis` by an angle given by its cosine and sine.
glm::dvec3 turned_about(const glm::dvec3& v, const glm::dvec3& axis, double c, double s) {
    return v * c + glm::cross(axis, v) * s + axis * (glm::dot(axis, v) * (1 - c));
}

} // namespace

glm::dvec3 snapped(const glm::dvec3& p) {
    return glm::round(p * grid_per_mm) / grid_per_mm + 0.0; // + 0.0: no minus zero
}

void Shell::add(const glm::dvec3& a, const glm::dvec3& b, const glm::dvec3& c) {
    const std::array<glm::dvec3, 3> t{snapped(a), snapped(b), snapped(c)};
    if (t[0] != t[1] && t[1] != t[2] && t[2] != t[0])
        triangles.push_back(t);
}

void Shell::quad(const glm::dvec3& a, const glm::dvec3& b, const glm::dvec3& c, const glm::dvec3& d) {
    add(a, b, c);
    add(a, c, d);
}

void Shell::loft(const std::vector<Hoop>& hoops) {
    for (std::size_t k = 0; k + 1 < hoops.size(); ++k) {
        const std::size_t n = hoops[k].size();
        for (std::size_t i = 0; i < n; ++i)
            quad(hoops[k][i], hoops[k][(i + 1) % n], hoops[k + 1][(i + 1) % n], hoops[k + 1][i]);
    }
}

void Shell::cap(const Hoop& hoop) {
    glm::dvec3 middle{0.0};
    for (const glm::dvec3& p : hoop)
        middle += p;
    middle /= static_cast<double>(hoop.size());
    for (std::size_t i = 0; i < hoop.size(); ++i)
        add(middle, hoop[i], hoop[(i + 1) % hoop.size()]);
}

void Shell::append(const Shell& other, const glm::dmat3& turn_by, const glm::dvec3& moved) {
    for (const auto& t : other.triangles)
        add(turn_by * t[0] + moved, turn_by * t[1] + moved, turn_by * t[2] + moved);
}

int sides_of(double diameter_mm) {
    return 4 * std::clamp(static_cast<int>(std::lround(2 + std::sqrt(std::max(0.0, diameter_mm)))), 4, 16);
}

Ring circle(double radius_mm, int sides, bool hollow) {
    const double step = 2 * std::numbers::pi / sides;
    const double radius = hollow ? radius_mm / std::cos(step / 2) : radius_mm;
    Ring ring;
    for (int i = 0; i < sides; ++i)
        ring.emplace_back(radius * std::cos(i * step), radius * std::sin(i * step));
    return ring;
}

GridRing on_grid(const Ring& ring) {
    GridRing out;
    for (const glm::dvec2& p : ring)
        out.push_back({std::llround(p.x * grid_per_mm), std::llround(p.y * grid_per_mm)});
    return out;
}

bool add_face(Shell& shell, const Plane& plane, const Ring& outline, const std::vector<Ring>& holes) {
    std::vector<GridRing> rings{on_grid(outline)};
    Ring all = outline;
    for (const Ring& hole : holes) {
        const Ring back(hole.rbegin(), hole.rend());
        rings.push_back(on_grid(back));
        all.insert(all.end(), back.begin(), back.end());
    }
    const auto triangles = triangulate(rings);
    if (!triangles)
        return false;
    for (const auto& t : *triangles)
        shell.add(plane.at(all[t[0]]), plane.at(all[t[1]]), plane.at(all[t[2]]));
    return true;
}

Shell turned(const Ring& loop, int sides) {
    Shell shell;
    const double step = 2 * std::numbers::pi / sides;
    const auto at = [&](const glm::dvec2& p, int i) {
        const double angle = (i % sides) * step;
        return glm::dvec3(p.x * std::sin(angle), p.y, p.x * std::cos(angle));
    };
    for (std::size_t k = 0; k < loop.size(); ++k) {
        const glm::dvec2& a = loop[k];
        const glm::dvec2& b = loop[(k + 1) % loop.size()];
        if (a.x < 1 / grid_per_mm && b.x < 1 / grid_per_mm)
            continue; // along the axis there is no surface
        for (int i = 0; i < sides; ++i)
            shell.quad(at(a, i), at(a, i + 1), at(b, i + 1), at(b, i));
    }
    return shell;
}

Piped piped(const Bend& bend) {
    Piped out;
    const auto& through = bend.through;
    struct Station {
        glm::dvec3 at, along, across;
    };
    std::vector<Station> stations;
    glm::dvec3 along = glm::normalize(through[1] - through[0]);
    glm::dvec3 across = any_across(along);
    stations.push_back({through[0], along, across});
    double used = 0; // of the leg behind, by its bend
    for (std::size_t i = 1; i + 1 < through.size(); ++i) {
        const glm::dvec3 next = glm::normalize(through[i + 1] - through[i]);
        const double leg = glm::length(through[i] - through[i - 1]);
        const glm::dvec3 normal = glm::cross(along, next);
        const double sine = glm::length(normal);
        const double cosine = glm::dot(along, next);
        if (sine < 1e-6 && cosine > 0) {
            out.length_mm += leg - used;
            used = 0;
            continue;
        }
        const double angle = std::atan2(sine, cosine);
        const double cut = bend.bend_mm * std::tan(angle / 2);
        if (sine < 1e-6 || used + cut > leg + 1e-6 || cut > glm::length(through[i + 1] - through[i]) + 1e-6) {
            out.wrong_at = i + 1;
            return out;
        }
        out.length_mm += leg - used - cut + bend.bend_mm * angle;
        const glm::dvec3 axis = normal / sine;
        const glm::dvec3 begin = through[i] - along * cut;
        const glm::dvec3 centre = begin + glm::cross(axis, along) * bend.bend_mm;
        const int steps = std::max(1, static_cast<int>(std::ceil(angle * 180 / std::numbers::pi / bend_step_deg)));
        for (int k = 0; k <= steps; ++k) {
            const double c = std::cos(angle * k / steps);
            const double s = std::sin(angle * k / steps);
            stations.push_back({centre + turned_about(begin - centre, axis, c, s), turned_about(along, axis, c, s),
                                turned_about(across, axis, c, s)});
        }
        along = next;
        across = stations.back().across;
        used = cut;
    }
    const double last = glm::length(through.back() - through[through.size() - 2]);
    if (used > last + 1e-6) {
        out.wrong_at = through.size();
        return out;
    }
    out.length_mm += last - used;
    stations.push_back({through.back(), along, across});

    const auto hoops = [&](double radius, bool hollow) {
        std::vector<Hoop> list;
        for (const Station& s : stations) {
            const glm::dvec3 other = glm::cross(s.along, s.across);
            Hoop hoop;
            for (const glm::dvec2& p : circle(radius, bend.sides, hollow))
                hoop.push_back(s.at + s.across * p.x + other * p.y);
            list.push_back(std::move(hoop));
        }
        return list;
    };
    const auto reversed = [](Hoop hoop) {
        std::reverse(hoop.begin(), hoop.end());
        return hoop;
    };
    const std::vector<Hoop> outer = hoops(bend.outer_mm, false);
    out.shell.loft(outer);
    if (bend.inner_mm > 0) {
        std::vector<Hoop> inner = hoops(bend.inner_mm, true);
        out.shell.loft({inner.front(), outer.front()});
        out.shell.loft({outer.back(), inner.back()});
        std::reverse(inner.begin(), inner.end());
        out.shell.loft(inner);
    } else {
        out.shell.cap(reversed(outer.front()));
        out.shell.cap(outer.back());
    }
    return out;
}

} // namespace boltwalk::recipe
