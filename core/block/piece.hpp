// The shapes that parts are made of, and their holes. For core/block only. Millimetres.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/block/shell.hpp"
#include "core/block/tree.hpp"
#include "core/map/map.hpp"

namespace boltwalk::recipe {

/// Own axes to outer axes.
struct Frame {
    glm::dmat3 turn{1.0};
    glm::dvec3 at{0.0};
    glm::dvec3 out(const glm::dvec3& p) const { return turn * p + at; }
    glm::dvec3 in(const glm::dvec3& p) const { return glm::transpose(turn) * (p - at); }
};

glm::dvec3 vector_of(Way);
Way opposite(Way);
/// Turns +Y that way, by quarters.
glm::dmat3 facing(Way);
/// The way that a unit vector goes, if it is one of the six.
std::optional<Way> way_along(const glm::dvec3&);

struct Box {
    glm::dvec3 middle{0.0}, half{0.0};
};
/// Of what is turned, in the outer axes.
Box outer_box(const Frame&, const glm::dvec3& half);
Box both(const Box&, const Box&);

/// The rim of a hole so deep below its face, about the hole's middle.
struct Level {
    double depth_mm = 0;
    Ring ring;
};
struct Hole {
    Mark mark;
    std::string name;          ///< for messages: "hole 2", "the hole of cover_bolt_1"
    Way face = Way::up;        ///< of the piece, in its own axes
    glm::dvec2 at{0.0};        ///< on that face, from its middle
    std::vector<Level> levels; ///< from the face down, equal in count
    bool through = false;      ///< the last level is the face beyond
    double widest_mm = 0;      ///< radius
};

struct Piece {
    enum class Kind { prism, turned, piped };
    Kind kind = Kind::prism;
    std::string name, word; ///< word: "box"
    Mark mark;
    Frame frame;              ///< into the part
    glm::dmat3 rotated{1.0};  ///< of it, what is no facing: the faces keep their names
    glm::dvec3 half{0.0};     ///< its own axes, about its middle
    glm::dvec3 drawn_at{0.0}; ///< its middle as its own figures place it
    bool all_sides = false;   ///< a box: each of its faces may carry holes
    Ring outline;             ///< prism: (z, x)
    Ring loop;                ///< turned: (radius, height)
    Bend bend;
    int sides = 0;
    std::vector<Hole> holes;
};

/// The face of a piece in its own axes, its origin in the middle.
Plane plane_of(const Piece&, Way);
/// Why a piece cannot have holes there, as a sentence; empty: it can.
std::string refuses_holes(const Piece&, Way);
/// Its thickness below that face.
double thickness(const Piece&, Way);

/// Its box as its faces are named: in `rotated`, about frame.at.
Box named_box(const Piece&);
/// The piece's own face that is called so, and where a point of the part lies on it.
Way own_face(const Piece&, Way named);
glm::dvec2 on_face(const Piece&, Way own, const glm::dvec3& in_part);

struct Sink {
    double width_mm = 0, deep_mm = 0;
    bool conical = false;
};
/// The rims of a round hole. depth 0: through.
void make_round(const Piece&, Hole&, double diameter_mm, double depth_mm, const std::optional<Sink>&);

/// Its surface in the part's axes. Holes that cannot be are faults.
Shell shell_of(const Piece&, Notes&);

/// The shape that a table asks for; nothing where it has none, or a wrong one (which was told). `facing` is read here.
std::optional<Piece> read_shape(const Value& table, Notes&);
bool is_shape_word(std::string_view);

} // namespace boltwalk::recipe
