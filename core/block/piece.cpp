#include "core/block/piece.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

bool is_along(Way a, Way b) {
    return a == b || a == opposite(b);
}

/// A direction of two faces: up and down have one.
Way positive(Way way) {
    return way == Way::down ? Way::up : way == Way::right ? Way::left : way == Way::rear ? Way::front : way;
}

/// On the face beyond, u and v change places.
glm::dvec2 seen_from_beyond(const glm::dvec2& p) {
    return {p.y, p.x};
}

Ring moved(const Ring& ring, const glm::dvec2& by) {
    Ring out;
    for (const glm::dvec2& p : ring)
        out.push_back(p + by);
    return out;
}

Ring face_outline(const Piece& piece, Way face) {
    if (is_along(face, Way::up)) {
        if (face == Way::up)
            return piece.outline;
        Ring out;
        for (auto p = piece.outline.rbegin(); p != piece.outline.rend(); ++p)
            out.push_back(seen_from_beyond(*p));
        return out;
    }
    const Plane plane = plane_of(piece, face);
    const double u = std::abs(glm::dot(plane.u, piece.half));
    const double v = std::abs(glm::dot(plane.v, piece.half));
    return {{-u, -v}, {u, -v}, {u, v}, {-u, v}};
}

/// The axis of a hole as a segment in the piece's axes.
struct Reach {
    glm::dvec3 from, to;
};
Reach reach_of(const Piece& piece, const Hole& hole) {
    const Plane plane = plane_of(piece, hole.face);
    return {plane.at(hole.at), plane.at(hole.at, hole.levels.back().depth_mm)};
}

/// Between two segments whose lines cross at a right angle or run parallel to an axis each.
double apart(const Reach& a, const Reach& b) {
    // Each segment is a box of no thickness along one axis.
    const glm::dvec3 gap = glm::max(
        glm::max(glm::min(a.from, a.to) - glm::max(b.from, b.to), glm::min(b.from, b.to) - glm::max(a.from, a.to)),
        glm::dvec3(0.0));
    return glm::length(gap);
}

const Ring& widest(const Hole& hole) {
    const auto size = [](const Level& level) { return std::abs(twice_area(on_grid(level.ring))); };
    return std::max_element(hole.levels.begin(), hole.levels.end(),
                            [&](const Level& a, const Level& b) { return size(a) < size(b); })
        ->ring;
}

bool run_into_each_other(const Piece& piece, const Hole& a, const Hole& b) {
    const Reach one = reach_of(piece, a);
    const Reach other = reach_of(piece, b);
    if (!is_along(a.face, b.face))
        return apart(one, other) < a.widest_mm + b.widest_mm + least_mm;
    const glm::dvec3 along = vector_of(positive(a.face));
    const auto low = [&](const Reach& r) { return std::min(glm::dot(r.from, along), glm::dot(r.to, along)); };
    const auto high = [&](const Reach& r) { return std::max(glm::dot(r.from, along), glm::dot(r.to, along)); };
    if (low(one) > high(other) + least_mm || low(other) > high(one) + least_mm)
        return false;
    const glm::dvec2 at = b.face == a.face ? b.at : seen_from_beyond(b.at);
    if (glm::length(a.at - at) > a.widest_mm + b.widest_mm + least_mm)
        return false;
    GridRing first = on_grid(moved(widest(a), a.at));
    Ring second_ring = moved(widest(b), b.at);
    if (b.face != a.face)
        for (glm::dvec2& p : second_ring)
            p = seen_from_beyond(p);
    const GridRing second = on_grid(second_ring);
    return meet(first, second) || holds(first, second.front()) || holds(second, first.front());
}

/// ": it reaches 4.5 mm beyond its left edge", of the edge that it is farthest over; of an outline nothing.
std::string beyond_in_words(const Piece& piece, const Hole& hole) {
    const Plane plane = plane_of(piece, hole.face);
    const glm::dvec2 half(std::abs(glm::dot(plane.u, piece.half)), std::abs(glm::dot(plane.v, piece.half)));
    double most = 0;
    glm::dvec3 towards(0.0);
    for (const Level& level : hole.levels)
        for (const glm::dvec2& p : moved(level.ring, hole.at))
            for (const auto& [over, way] : {std::pair(p.x - half.x, plane.u), std::pair(-p.x - half.x, -plane.u),
                                            std::pair(p.y - half.y, plane.v), std::pair(-p.y - half.y, -plane.v)})
                if (over > most) {
                    most = over;
                    towards = way;
                }
    const auto edge = way_along(towards);
    if (!edge || most < least_mm)
        return "";
    return fmt::format(": it reaches {} mm beyond its {} edge", print_number(most, 1), face_name(*edge));
}

struct Drilling {
    const Piece& piece;
    Notes& notes;
    Shell shell;

    /// Whether the holes can be; what cannot is told.
    bool check() {
        bool good = true;
        for (std::size_t i = 0; i < piece.holes.size(); ++i) {
            const Hole& hole = piece.holes[i];
            if (const std::string why = refuses_holes(piece, hole.face); !why.empty()) {
                notes.fault(hole.mark, fmt::format("{}: {}", hole.name, why),
                            "Put it into a face that carries holes, or make the part of two pieces.");
                good = false;
                continue;
            }
            const GridRing outline = on_grid(face_outline(piece, hole.face));
            bool inside = true;
            for (const Level& level : hole.levels) {
                const GridRing ring = on_grid(moved(level.ring, hole.at));
                inside = inside && !meet(outline, ring) && holds(outline, ring.front());
            }
            if (!inside) {
                notes.fault(hole.mark,
                            fmt::format("{} does not lie within the {} of the {}{}.", hole.name, face_name(hole.face),
                                        piece.name.empty() ? piece.word : piece.name, beyond_in_words(piece, hole)),
                            "Move it inwards, or make it smaller; a bolt with drill = false makes none.");
                good = false;
            }
            for (std::size_t k = 0; k + 1 < hole.levels.size(); ++k)
                if (good && hole.levels[k].depth_mm >
                                hole.levels[k + 1].depth_mm - (k + 2 == hole.levels.size() ? least_mm : 0)) {
                    notes.fault(hole.mark, fmt::format("{} is sunk deeper than the hole goes.", hole.name),
                                "Make the sink less deep or less wide.");
                    good = false;
                }
            if (!hole.through && hole.levels.back().depth_mm > thickness(piece, hole.face) - least_mm) {
                notes.fault(hole.mark,
                            fmt::format("{} is {} mm deep where there are {} mm.", hole.name,
                                        print_number(hole.levels.back().depth_mm),
                                        print_number(thickness(piece, hole.face))),
                            "Leave deep out: then it goes through.");
                good = false;
            }
            for (std::size_t k = 0; good && k < i; ++k)
                if (run_into_each_other(piece, hole, piece.holes[k])) {
                    notes.fault(hole.mark, fmt::format("{} runs into {}.", hole.name, piece.holes[k].name),
                                "Move one of them, or make it smaller or less deep.");
                    good = false;
                }
        }
        return good;
    }

    void walls(const Hole& hole) {
        const Plane plane = plane_of(piece, hole.face);
        for (std::size_t k = 0; k + 1 < hole.levels.size(); ++k) {
            const Level& high = hole.levels[k];
            const Level& low = hole.levels[k + 1];
            const std::size_t n = high.ring.size();
            for (std::size_t i = 0; i < n; ++i) {
                const std::size_t j = (i + 1) % n;
                shell.quad(
                    plane.at(hole.at + high.ring[i], high.depth_mm), plane.at(hole.at + high.ring[j], high.depth_mm),
                    plane.at(hole.at + low.ring[j], low.depth_mm), plane.at(hole.at + low.ring[i], low.depth_mm));
            }
        }
        if (hole.through)
            return;
        const Level& bottom = hole.levels.back();
        Hoop hoop;
        for (const glm::dvec2& p : bottom.ring)
            hoop.push_back(plane.at(hole.at + p, bottom.depth_mm));
        shell.cap(hoop);
    }

    bool face(Way way) {
        std::vector<Ring> rims;
        for (const Hole& hole : piece.holes) {
            if (hole.face == way) {
                rims.push_back(moved(hole.levels.front().ring, hole.at));
            } else if (hole.through && hole.face == opposite(way)) {
                Ring rim = moved(hole.levels.back().ring, hole.at);
                for (glm::dvec2& p : rim)
                    p = seen_from_beyond(p);
                std::reverse(rim.begin(), rim.end());
                rims.push_back(std::move(rim));
            }
        }
        return add_face(shell, plane_of(piece, way), face_outline(piece, way), rims);
    }

    bool prism() {
        bool good = face(Way::up) && face(Way::down);
        if (piece.all_sides) {
            for (const Way way : {Way::front, Way::rear, Way::left, Way::right})
                good = good && face(way);
        } else {
            const Plane top = plane_of(piece, Way::up);
            const std::size_t n = piece.outline.size();
            for (std::size_t i = 0; i < n; ++i) {
                const glm::dvec2& a = piece.outline[i];
                const glm::dvec2& b = piece.outline[(i + 1) % n];
                shell.quad(top.at(a, 2 * piece.half.y), top.at(b, 2 * piece.half.y), top.at(b), top.at(a));
            }
        }
        for (const Hole& hole : piece.holes)
            walls(hole);
        return good;
    }
};

} // namespace

glm::dvec3 vector_of(Way way) {
    const auto d = direction_of(way);
    return {d[0], d[1], d[2]};
}

Way opposite(Way way) {
    switch (way) {
    case Way::front:
        return Way::rear;
    case Way::rear:
        return Way::front;
    case Way::left:
        return Way::right;
    case Way::right:
        return Way::left;
    case Way::up:
        return Way::down;
    case Way::down:
        break;
    }
    return Way::up;
}

glm::dmat3 facing(Way way) {
    const glm::dvec3 x(1, 0, 0);
    const glm::dvec3 y(0, 1, 0);
    const glm::dvec3 z(0, 0, 1);
    switch (way) {
    case Way::down:
        return {x, -y, -z};
    case Way::front:
        return {x, z, -y};
    case Way::rear:
        return {x, -z, y};
    case Way::left:
        return {-y, x, z};
    case Way::right:
        return {y, -x, z};
    case Way::up:
        break;
    }
    return {x, y, z};
}

std::optional<Way> way_along(const glm::dvec3& v) {
    for (const Way way : {Way::up, Way::down, Way::left, Way::right, Way::front, Way::rear})
        if (glm::dot(vector_of(way), v) > 1 - 1e-9)
            return way;
    return std::nullopt;
}

Box outer_box(const Frame& frame, const glm::dvec3& half) {
    Box box{frame.at, glm::dvec3(0.0)};
    for (int i = 0; i < 3; ++i)
        box.half += glm::abs(frame.turn[i] * half[i]);
    return box;
}

Box both(const Box& a, const Box& b) {
    const glm::dvec3 low = glm::min(a.middle - a.half, b.middle - b.half);
    const glm::dvec3 high = glm::max(a.middle + a.half, b.middle + b.half);
    return {(low + high) / 2.0, (high - low) / 2.0};
}

Plane plane_of(const Piece& piece, Way face) {
    const glm::dvec3 x(1, 0, 0);
    const glm::dvec3 y(0, 1, 0);
    const glm::dvec3 z(0, 0, 1);
    const glm::dvec3 n = vector_of(face);
    const glm::dvec3 at = n * piece.half;
    switch (face) {
    case Way::up:
        return {at, z, x, n};
    case Way::down:
        return {at, x, z, n};
    case Way::front:
        return {at, x, y, n};
    case Way::rear:
        return {at, y, x, n};
    case Way::left:
        return {at, y, z, n};
    case Way::right:
        break;
    }
    return {at, z, y, n};
}

double thickness(const Piece& piece, Way face) {
    return 2 * std::abs(glm::dot(vector_of(face), piece.half));
}

std::string refuses_holes(const Piece& piece, Way face) {
    if (piece.kind == Piece::Kind::turned)
        return fmt::format("a {} carries no holes of its own.", piece.word == "cone" ? "cone" : "turned profile");
    if (piece.kind == Piece::Kind::piped)
        return "a pipe carries no holes.";
    if (!piece.all_sides && !is_along(face, Way::up))
        return fmt::format("a {} carries holes through its two flat ends only.", piece.word);
    return {};
}

Box named_box(const Piece& piece) {
    return {glm::dvec3(0.0), outer_box({glm::transpose(piece.rotated) * piece.frame.turn, {}}, piece.half).half};
}

Way own_face(const Piece& piece, Way named) {
    return way_along(glm::transpose(piece.frame.turn) * piece.rotated * vector_of(named)).value_or(named);
}

glm::dvec2 on_face(const Piece& piece, Way own, const glm::dvec3& in_part) {
    const glm::dvec3 p = piece.frame.in(in_part);
    const Plane plane = plane_of(piece, own);
    return {glm::dot(p, plane.u), glm::dot(p, plane.v)};
}

void make_round(const Piece& piece, Hole& hole, double diameter_mm, double depth_mm, const std::optional<Sink>& sink) {
    hole.through = !(depth_mm > 0);
    const double bottom = hole.through ? thickness(piece, hole.face) : depth_mm;
    const double wide = sink ? std::max(sink->width_mm, diameter_mm) : diameter_mm;
    const int sides = sides_of(wide);
    hole.widest_mm = wide / 2;
    const Ring rim = circle(diameter_mm / 2, sides, true);
    hole.levels.clear();
    if (sink) {
        const Ring mouth = circle(wide / 2, sides, true);
        hole.levels.push_back({0, mouth});
        if (!sink->conical)
            hole.levels.push_back({sink->deep_mm, mouth});
        hole.levels.push_back({sink->conical ? (wide - diameter_mm) / 2 : sink->deep_mm, rim});
    } else {
        hole.levels.push_back({0, rim});
    }
    hole.levels.push_back({bottom, rim});
}

Shell shell_of(const Piece& piece, Notes& notes) {
    Shell own;
    if (piece.kind == Piece::Kind::piped) {
        own = piped(piece.bend).shell;
    } else if (piece.kind == Piece::Kind::turned) {
        own = turned(piece.loop, piece.sides);
    } else {
        Drilling drilling{piece, notes, {}};
        if (!drilling.check())
            return {};
        if (!drilling.prism()) {
            notes.fault(piece.mark, "The outline and its holes cannot be cut into triangles.",
                        "They touch somewhere: move them apart.");
            return {};
        }
        own = std::move(drilling.shell);
    }
    if (piece.kind != Piece::Kind::prism)
        for (const Hole& hole : piece.holes)
            notes.fault(hole.mark, fmt::format("{}: {}", hole.name, refuses_holes(piece, hole.face)),
                        "Put the hole into the outline, or make the part of two pieces.");
    Shell out;
    out.append(own, piece.frame.turn, piece.frame.at);
    return out;
}

} // namespace boltwalk::recipe
