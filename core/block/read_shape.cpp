// The words for shapes: box, plate, cylinder, tube, cone, turned, extruded, pipe.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "core/block/piece.hpp"
#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

constexpr std::array<std::string_view, 8> shape_words{"box",  "plate",  "cylinder", "tube",
                                                      "cone", "turned", "extruded", "pipe"};
constexpr int most_sides = 128;
constexpr std::size_t most_points = 500;
constexpr int corner_steps = 6; ///< of a quarter circle

struct Shaping {
    const Value& table;
    const Value& value;
    Notes& notes;
    Piece piece;
    std::optional<int> sides; ///< as said

    int sides_for(double diameter) const { return sides.value_or(sides_of(diameter)); }
    bool fault(Mark mark, const std::string& what, const std::string& remedy) {
        notes.fault(mark, what, remedy);
        return false;
    }

    void rectangle(double x, double z, double y) {
        piece.half = {x / 2, y / 2, z / 2};
        piece.outline = {{-z / 2, -x / 2}, {z / 2, -x / 2}, {z / 2, x / 2}, {-z / 2, x / 2}};
    }

    bool box() {
        const auto size = take_sizes(value, 3, "box", notes);
        if (!size)
            return false;
        rectangle((*size)[0], (*size)[2], (*size)[1]);
        piece.all_sides = true;
        return true;
    }

    bool plate() {
        const auto size = take_sizes(value, 3, "plate", notes);
        if (!size)
            return false;
        rectangle((*size)[0], (*size)[1], (*size)[2]);
        const Member* round = table.find("round");
        if (!round)
            return true;
        const auto radius = take_size(round->value, "round", notes);
        if (!radius)
            return false;
        if (2 * *radius > std::min((*size)[0], (*size)[1]) - least_mm)
            return fault(round->value.mark, "round is more than half of the plate's narrow side.", "Make it smaller.");
        const Ring corners = piece.outline;
        piece.outline.clear();
        for (std::size_t i = 0; i < 4; ++i) {
            const glm::dvec2 inward(corners[i].x > 0 ? -1 : 1, corners[i].y > 0 ? -1 : 1);
            const glm::dvec2 middle = corners[i] + inward * *radius;
            for (int k = 0; k <= corner_steps; ++k) {
                const double angle = 1.5707963267948966 * (static_cast<double>(i) + 2 + double(k) / corner_steps);
                piece.outline.push_back(middle + *radius * glm::dvec2(std::cos(angle), std::sin(angle)));
            }
        }
        return true;
    }

    bool cylinder(bool tube) {
        const auto size = take_sizes(value, tube ? 3 : 2, tube ? "tube" : "cylinder", notes);
        if (!size)
            return false;
        const double outside = (*size)[0];
        const double length = size->back();
        piece.sides = sides_for(outside);
        piece.outline = circle(outside / 2, piece.sides, false);
        piece.half = {outside / 2, length / 2, outside / 2};
        if (!tube)
            return true;
        const double inside = (*size)[1];
        if (inside > outside - 2 * least_mm)
            return fault(value.mark, "The tube is as wide inside as outside.",
                         "Write [outside, inside, length], diameters in millimetres.");
        Hole bore{value.mark, "the bore", Way::up, {0, 0}, {}, true, inside / 2};
        bore.levels = {{0, circle(inside / 2, piece.sides, true)}, {length, circle(inside / 2, piece.sides, true)}};
        piece.holes.push_back(std::move(bore));
        return true;
    }

    bool cone() {
        if (!value.is(Value::Kind::list) || value.list.size() != 3)
            return fault(value.mark, "cone wants a list of 3 lengths.",
                         "Write [diameter below, diameter above, height].");
        const auto below = take_mm(value.list[0], "cone", notes);
        const auto above = take_mm(value.list[1], "cone", notes);
        const auto height = take_size(value.list[2], "cone", notes);
        if (!below || !above || !height)
            return false;
        if (*below < 0 || *above < 0 || std::max(*below, *above) < least_mm || std::max(*below, *above) > largest_mm)
            return fault(value.mark, "These are no diameters of a cone.", "One of them may be 0: the tip.");
        piece.loop = {{0, -*height / 2}, {*below / 2, -*height / 2}, {*above / 2, *height / 2}, {0, *height / 2}};
        if (*below < least_mm)
            piece.loop.erase(piece.loop.begin());
        if (*above < least_mm)
            piece.loop.pop_back();
        return revolve();
    }

    /// Twice the area in grid steps; the ring is turned counter-clockwise.
    bool ring_of(const Value& list, std::string_view what, Ring& ring) {
        if (!list.is(Value::Kind::list) || list.list.size() < 3 || list.list.size() > most_points)
            return fault(list.mark, fmt::format("{} wants a list of 3 to {} points.", what, most_points),
                         "Write [[0, 0], [40, 0], [40, 20]], for example.");
        for (const Value& point : list.list) {
            if (!point.is(Value::Kind::list) || point.list.size() != 2)
                return fault(point.mark, fmt::format("{}: each point is a list of two lengths.", what),
                             "Write [40, 20], for example.");
            const auto a = take_mm(point.list[0], what, notes);
            const auto b = take_mm(point.list[1], what, notes);
            if (!a || !b)
                return false;
            if (std::max(std::abs(*a), std::abs(*b)) > largest_mm / 2)
                return fault(point.mark, fmt::format("{}: this point is more than 10 metres out.", what),
                             "Lengths are millimetres.");
            ring.emplace_back(*a, *b);
        }
        GridRing grid = on_grid(ring);
        if (grid.front() == grid.back()) {
            grid.pop_back();
            ring.pop_back();
        }
        if (grid.size() < 3 || meets_itself(grid) || twice_area(grid) == 0)
            return fault(list.mark, fmt::format("{}: the line between the points crosses or touches itself.", what),
                         "Go round the outline once, each point once; the last one is joined to the first.");
        if (twice_area(grid) < 0)
            std::reverse(ring.begin(), ring.end());
        return true;
    }

    bool revolve() {
        double wide = 0;
        double low = piece.loop.front().y;
        double high = low;
        for (const glm::dvec2& p : piece.loop) {
            wide = std::max(wide, p.x);
            low = std::min(low, p.y);
            high = std::max(high, p.y);
        }
        piece.kind = Piece::Kind::turned;
        piece.sides = sides_for(2 * wide);
        piece.half = {wide, (high - low) / 2, wide};
        piece.drawn_at = {0, (high + low) / 2, 0};
        for (glm::dvec2& p : piece.loop)
            p.y -= piece.drawn_at.y;
        return true;
    }

    bool turn() {
        if (!ring_of(value, "turned", piece.loop))
            return false;
        for (const glm::dvec2& p : piece.loop)
            if (p.x < 0)
                return fault(value.mark, "turned: a radius is below 0.", "Each point is [radius, height].");
        return revolve();
    }

    bool extrude() {
        if (!value.is(Value::Kind::table) || !value.find("outline") || !value.find("height"))
            return fault(value.mark, "extruded wants an outline and a height.",
                         "Write { outline = [[0, 0], [40, 0], [40, 20]], height = 10 }.");
        only_these(value, {"outline", "height"}, "extruded", notes);
        const auto height = take_size(value.find("height")->value, "height", notes);
        Ring ring;
        if (!height || !ring_of(value.find("outline")->value, "outline", ring))
            return false;
        glm::dvec2 low = ring.front();
        glm::dvec2 high = low;
        for (const glm::dvec2& p : ring) {
            low = glm::min(low, p);
            high = glm::max(high, p);
        }
        const glm::dvec2 middle = (low + high) / 2.0;
        const glm::dvec2 size = high - low;
        piece.half = {size.x / 2, *height / 2, size.y / 2};
        piece.drawn_at = {middle.x, *height / 2, middle.y};
        // Written as (left, front), kept as (front, left), counter-clockwise again.
        for (auto p = ring.rbegin(); p != ring.rend(); ++p)
            piece.outline.emplace_back(p->y - middle.y, p->x - middle.x);
        return true;
    }

    bool pipe() {
        const auto wants = [&] {
            return fault(
                value.mark, "pipe wants its diameter outside and the points that it goes through.",
                "Write { outside = 42, wall = 2, bend = 60, through = [[0, 0, 0], [0, 0, 300], [200, 0, 300]] }.");
        };
        if (!value.is(Value::Kind::table) || !value.find("outside") || !value.find("through"))
            return wants();
        only_these(value, {"outside", "wall", "bend", "through"}, "pipe", notes);
        const auto outside = take_size(value.find("outside")->value, "outside", notes);
        if (!outside)
            return false;
        Bend bend;
        bend.outer_mm = *outside / 2;
        bend.bend_mm = *outside; // to the middle line, where nothing is said: once the diameter
        if (const Member* wall = value.find("wall")) {
            const auto mm = take_size(wall->value, "wall", notes);
            if (!mm)
                return false;
            if (*mm > *outside / 2 - least_mm)
                return fault(wall->value.mark, "The wall is as thick as half the pipe.",
                             "Leave it out for a solid bar.");
            bend.inner_mm = *outside / 2 - *mm;
        }
        if (const Member* radius = value.find("bend")) {
            const auto mm = take_size(radius->value, "bend", notes);
            if (!mm)
                return false;
            bend.bend_mm = *mm;
            if (*mm < *outside / 2)
                return fault(radius->value.mark, "The bend is tighter than half the pipe's diameter.",
                             "It is the radius of the pipe's middle line.");
        }
        const Value& through = value.find("through")->value;
        if (!through.is(Value::Kind::list) || through.list.size() < 2 || through.list.size() > most_points)
            return wants();
        for (const Value& one : through.list) {
            const auto point = take_point(one, "through", notes);
            if (!point)
                return false;
            if (!bend.through.empty() && glm::length(*point - bend.through.back()) < least_mm)
                return fault(one.mark, "through: two points in a row are the same.", "Leave one out.");
            bend.through.push_back(*point);
        }
        bend.sides = sides_for(*outside);
        return finish_pipe(through, std::move(bend));
    }

    bool finish_pipe(const Value& through, Bend bend) {
        const Piped made = piped(bend);
        if (made.wrong_at > 0)
            return fault(
                through.list[made.wrong_at - 1].mark,
                fmt::format(
                    "There is no room for the bend of {} mm here: the points are too near, or it turns straight back.",
                    print_number(bend.bend_mm)),
                "Move the points apart, or state a smaller bend.");
        glm::dvec3 low{1e9};
        glm::dvec3 high{-1e9};
        for (const auto& t : made.shell.triangles)
            for (const glm::dvec3& p : t) {
                low = glm::min(low, p);
                high = glm::max(high, p);
            }
        if (glm::length(high - low) > largest_mm)
            return fault(value.mark, "This pipe reaches over more than 20 metres.", "Lengths are millimetres.");
        piece.kind = Piece::Kind::piped;
        piece.drawn_at = (low + high) / 2.0;
        piece.half = (high - low) / 2.0;
        for (glm::dvec3& p : bend.through)
            p -= piece.drawn_at;
        piece.bend = std::move(bend);
        return true;
    }

    bool make(std::string_view word) {
        return word == "box"        ? box()
               : word == "plate"    ? plate()
               : word == "cylinder" ? cylinder(false)
               : word == "tube"     ? cylinder(true)
               : word == "cone"     ? cone()
               : word == "turned"   ? turn()
               : word == "extruded" ? extrude()
                                    : pipe();
    }
};

} // namespace

bool is_shape_word(std::string_view word) {
    return std::find(shape_words.begin(), shape_words.end(), word) != shape_words.end();
}

std::optional<Piece> read_shape(const Value& table, Notes& notes) {
    const Member* shape = nullptr;
    for (const Member& member : table.members)
        if (is_shape_word(member.key)) {
            if (shape) {
                notes.fault(member.mark,
                            fmt::format("This is a {} already, so it can be no {}.", shape->key, member.key),
                            "Give the second shape a table of its own, inside the part's: [NAME.foot].");
                return std::nullopt;
            }
            shape = &member;
        }
    if (!shape)
        return std::nullopt;
    Shaping shaping{table, shape->value, notes, {}, {}};
    shaping.piece.word = shape->key;
    shaping.piece.mark = shape->mark;
    const Member* round = table.find("round");
    if (round && shape->key != "plate")
        notes.fault(round->mark, "Only a plate has round corners.", "Make it a plate: [across, along, thickness].");
    if (const Member* sides = table.find("sides")) {
        shaping.sides = take_count(sides->value, 3, most_sides, "sides", notes);
        if (shape->key == "box" || shape->key == "plate" || shape->key == "extruded")
            notes.fault(sides->mark, fmt::format("A {} has no round side to divide.", shape->key), "Leave sides out.");
    }
    if (!shaping.make(shape->key))
        return std::nullopt;
    Piece piece = std::move(shaping.piece);
    if (const Member* way = table.find("facing")) {
        const auto to = take_way(way->value, "facing", notes);
        if (!to)
            return std::nullopt;
        if (piece.word == "box" || piece.word == "pipe") {
            notes.fault(way->mark,
                        fmt::format("A {} faces no way: its lengths are to the left, up and to the front.", piece.word),
                        "Leave facing out; rotate turns it.");
            return std::nullopt;
        }
        piece.frame.turn = facing(*to);
    }
    piece.frame.at = piece.frame.turn * piece.drawn_at;
    return piece;
}

} // namespace boltwalk::recipe
