// Where a thing stands: by coordinates or on a face of another, once or in a pattern. For core/block only. Millimetres.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/block/piece.hpp"

namespace boltwalk::recipe {

/// "top of plate, 12 from left, 3 off", or a point.
struct Spot {
    Mark mark;
    bool on_face = false;
    std::string of; ///< empty: the thing itself (of a hole)
    Way face = Way::up;
    std::vector<std::pair<Way, double>> from;
    double off_mm = 0;
    glm::dvec3 at{0.0};
};

struct Pattern {
    enum class Kind { one, row, grid, circle, corners };
    Kind kind = Kind::one;
    Mark mark;
    int count = 1, rows = 1;
    double step_mm = 0, rows_mm = 0; ///< of circle: step_mm is the diameter; of corners: the inset
    Way towards = Way::left;
    std::optional<Way> start;
};

struct Placing {
    std::vector<Spot> spots; ///< empty: where it was drawn
    Pattern pattern;
    glm::dvec3 move{0.0}, rotate{0.0};
};
/// The words at, on, move, rotate, row, grid, circle, corners of a table; each mistake is told. `own`: a face without
/// "of NAME" is the thing's own.
std::optional<Placing> read_placing(const Value& table, bool own, Notes&);

/// What things stand on.
struct Target {
    Frame frame;
    Box box; ///< in the frame's axes
};
/// Nothing where there is none, which was told.
using Targets = std::function<std::optional<Target>(const std::string& name, Mark)>;

/// Where the middle of a thing comes to (or the seat of what has no size).
struct Seat {
    Frame frame;
    Way face = Way::up; ///< that it stands on, in the frame's axes
    bool on_face = false;
};
/// Every place in order. `half`: of the thing, in its own axes; `facing`: of what is placed by coordinates.
std::optional<std::vector<Seat>> seats_of(const Placing&, const glm::dvec3& half, Way facing, const Targets&, Notes&);

/// About +X, then +Y, then +Z, in degrees; quarters are exact.
glm::dmat3 rotation(const glm::dvec3& degrees);

} // namespace boltwalk::recipe
