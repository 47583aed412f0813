// What parts are made of: a shape of their own, pieces with a name each, and holes.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "core/block/builder.hpp"
#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

constexpr std::size_t most_holes = 400; ///< in one piece
constexpr std::size_t most_pieces = 200;
constexpr int round_end_steps = 8; ///< of a slot's half circle

/// A hole's outline from its words, and where it lies.
struct Boring {
    const Value& table;
    const Piece& piece;
    Notes& notes;
    std::optional<double> diameter, depth;
    std::optional<Sink> sink;
    std::optional<Ring> ring; ///< of what is not round; along the face's own directions
    Way along = Way::left;
    double widest = 0;

    bool read() {
        const Member* kind = nullptr;
        for (const std::string_view word : {"d", "clears", "threaded", "slot", "window"})
            if (const Member* member = table.find(word)) {
                if (kind) {
                    notes.fault(member->mark, fmt::format("A hole is a {} or a {}.", kind->key, word),
                                "Leave one of the two out.");
                    return false;
                }
                kind = member;
            }
        if (!kind) {
            notes.fault(table.mark, "This hole has no size.",
                        "Write d = 9, clears = \"M8\", threaded = \"M8\", slot = [20, 9] or window = [40, 30].");
            return false;
        }
        if (const Member* deep = table.find("deep")) {
            depth = take_size(deep->value, "deep", notes);
            if (!depth)
                return false;
        }
        return size(*kind) && sinks();
    }

    bool size(const Member& kind) {
        if (kind.key == "d") {
            diameter = take_size(kind.value, "d", notes);
            return diameter.has_value();
        }
        if (kind.key == "clears" || kind.key == "threaded") {
            const auto text = take_text(kind.value, kind.key, notes);
            if (!text)
                return false;
            const auto thread = read_thread(*text);
            if (!thread) {
                notes.fault(kind.value.mark, fmt::format("{}: {}", kind.key, thread.error().what),
                            thread.error().remedy);
                return false;
            }
            // A thread is drawn at its nominal diameter, as the shank in it is.
            diameter = kind.key == "clears" ? clearance_hole_mm(thread->diameter_mm) : thread->diameter_mm;
            return true;
        }
        const auto sizes = take_sizes(kind.value, 2, kind.key, notes);
        if (!sizes)
            return false;
        const double a = (*sizes)[0] / 2;
        const double b = (*sizes)[1] / 2;
        widest = std::sqrt(a * a + b * b);
        if (kind.key == "window") {
            ring = Ring{{a, b}, {-a, b}, {-a, -b}, {a, -b}};
            return true;
        }
        if (a < b + least_mm) {
            notes.fault(kind.value.mark, "The slot is no longer than it is wide.", "Write [length over all, width].");
            return false;
        }
        ring.emplace();
        for (const double end : {1.0, -1.0})
            for (int i = 0; i <= round_end_steps; ++i) {
                const double angle = 3.141592653589793 * (static_cast<double>(i) / round_end_steps - 0.5);
                ring->emplace_back(end * (a - b + b * std::cos(angle)), end * b * std::sin(angle));
            }
        return true;
    }

    bool sinks() {
        const Member* bore = table.find("counterbore");
        const Member* cone = table.find("countersink");
        const Member* first = bore ? bore : cone;
        if (first && (ring || (bore && cone))) {
            notes.fault(first->mark, ring ? "Only a round hole is sunk." : "A hole has a counterbore or a countersink.",
                        "Leave it out.");
            return false;
        }
        if (bore) {
            const auto sizes = take_sizes(bore->value, 2, "counterbore", notes);
            if (!sizes)
                return false;
            sink = Sink{(*sizes)[0], (*sizes)[1], false};
        }
        if (cone) {
            const auto wide = take_size(cone->value, "countersink", notes);
            if (!wide)
                return false;
            sink = Sink{*wide, 0, true};
        }
        if (sink && sink->width_mm < *diameter + 2 * least_mm) {
            notes.fault(first->mark, "The sink is no wider than the hole.", "Its first figure is a diameter.");
            return false;
        }
        return true;
    }

    /// `along` and `next`: directions on the face, in the part.
    void shape(Hole& hole, const glm::dvec3& along_face, const glm::dvec3& next) const {
        if (diameter) {
            make_round(piece, hole, *diameter, depth.value_or(0), sink);
            return;
        }
        const Plane plane = plane_of(piece, hole.face);
        const glm::dmat3 in = glm::transpose(piece.frame.turn) * piece.rotated;
        const glm::dvec3 a = in * along_face;
        const glm::dvec3 b = in * next;
        Ring made;
        for (const glm::dvec2& p : *ring) {
            const glm::dvec3 q = a * p.x + b * p.y;
            made.emplace_back(glm::dot(q, plane.u), glm::dot(q, plane.v));
        }
        if (twice_area(on_grid(made)) < 0)
            std::reverse(made.begin(), made.end());
        hole.through = !depth;
        hole.levels = {{0, made}, {hole.through ? thickness(piece, hole.face) : *depth, made}};
        hole.widest_mm = widest;
    }
};

} // namespace

void Builder::read_holes(Entry& entry, const Value& table, std::size_t first_piece) {
    const Member* holes = table.find("holes");
    if (!holes)
        return;
    if (first_piece >= entry.pieces.size() ||
        !(holes->value.is(Value::Kind::list) || holes->value.is(Value::Kind::table))) {
        notes.fault(holes->mark,
                    first_piece >= entry.pieces.size() ? "There is no shape for these holes here."
                                                       : "holes wants a list.",
                    "Write holes = [{ on = \"top\", d = 9 }] in the table of the shape.");
        return;
    }
    const std::vector<Value> one{holes->value};
    std::size_t number = 0;
    for (const Value& value : holes->value.is(Value::Kind::list) ? holes->value.list : one) {
        ++number;
        if (!value.is(Value::Kind::table)) {
            notes.fault(value.mark, "Each hole is a table.", "Write { on = \"top\", d = 9 }.");
            return;
        }
        only_these(value,
                   {"on", "move", "row", "grid", "circle", "corners", "d", "clears", "threaded", "deep", "slot",
                    "towards", "window", "counterbore", "countersink"},
                   "A hole", notes);
        const Piece& piece = entry.pieces[first_piece];
        Boring boring{value, piece, notes, {}, {}, {}, {}, Way::left, 0};
        auto placing = read_placing(value, true, notes);
        if (!placing || !boring.read())
            return;
        if (placing->spots.empty()) {
            notes.fault(value.mark, "This hole is in no face.", "Write on = \"top\", or on = \"top, 12 from left\".");
            return;
        }
        const auto own = [&](const std::string& of, Mark mark) -> std::optional<Target> {
            if (!of.empty() && of != entry.name && of != piece.name) {
                notes.fault(mark, fmt::format("A hole lies in its own shape, not in {}.", of),
                            "Write on = \"top, 12 from left\", or put the hole into the other's table.");
                return std::nullopt;
            }
            return Target{{piece.rotated, piece.frame.at}, named_box(piece)};
        };
        const auto seats = seats_of(*placing, glm::dvec3(0.0), Way::up, own, notes);
        if (!seats)
            return;
        for (const Seat& seat : *seats) {
            Hole hole;
            hole.mark = value.mark;
            hole.name = fmt::format("hole {}", number);
            hole.face = own_face(piece, seat.face);
            hole.at = on_face(piece, hole.face, seat.frame.at);
            glm::dvec3 along = vector_of(seat.face == Way::left || seat.face == Way::right ? Way::rear : Way::right);
            if (const Member* towards = value.find("towards")) {
                const auto way = take_way(towards->value, "towards", notes);
                if (!way)
                    return;
                along = vector_of(*way);
                if (std::abs(glm::dot(along, vector_of(seat.face))) > 0.5) {
                    notes.fault(towards->value.mark, "That way leads into the face, not along it.", "Choose another.");
                    return;
                }
            }
            boring.shape(hole, along, glm::cross(vector_of(seat.face), along));
            if (entry.pieces[first_piece].holes.size() >= most_holes) {
                notes.fault(holes->mark, fmt::format("There are more than {} holes in one shape.", most_holes),
                            "Make it of several pieces.");
                return;
            }
            entry.pieces[first_piece].holes.push_back(std::move(hole));
        }
    }
}

void Builder::read_piece(Entry& entry, const Member& member) {
    const Value& table = member.value;
    const std::size_t wrong = notes.list.size();
    for (const Member& word : table.members)
        if (!is_word(word.key, in_piece)) {
            std::vector<std::string> known;
            for (const RecipeWord& w : recipe_words())
                if (w.where & in_piece)
                    known.emplace_back(w.word);
            notes.fault(word.mark,
                        fmt::format("\"{}\" is no word for a piece of a part.{}", word.key, near_one(word.key, known)),
                        "A piece has a shape, a place and holes; keys belong to the part.");
        }
    auto piece = read_shape(table, notes);
    if (!piece) {
        if (notes.list.size() == wrong)
            notes.fault(member.mark, fmt::format("{} has no shape.", member.key),
                        "A table within a part's is a piece of it: give it a box, plate, cylinder, tube, cone, turned, "
                        "extruded or pipe.");
        return;
    }
    piece->name = member.key;
    const auto placing = read_placing(table, false, notes);
    if (!placing)
        return;
    const auto within = [&](const std::string& of, Mark mark) -> std::optional<Target> {
        for (const Piece& other : entry.pieces)
            if (other.name == of || (of == entry.name && other.name.empty()))
                return Target{{other.rotated, other.frame.at}, named_box(other)};
        if (const Member* failed = entry.table().find(of);
            failed && failed < &member && failed->value.is(Value::Kind::table) && notes.faulty())
            return std::nullopt; // a piece above, told there
        std::vector<std::string> there;
        for (const Piece& other : entry.pieces)
            there.push_back(other.name.empty() ? entry.name : other.name);
        std::string list;
        for (const std::string& name : there)
            list += (list.empty() ? "" : ", ") + name;
        notes.fault(mark,
                    fmt::format("No piece of {} above this one is named {}.{}", entry.name, of, near_one(of, there)),
                    list.empty() ? "This is the first of its pieces: place the part itself."
                                 : fmt::format("There are {}.", list));
        return std::nullopt;
    };
    const glm::dmat3 turned_by = rotation(placing->rotate);
    const glm::dvec3 half = outer_box({turned_by * piece->frame.turn, {}}, piece->half).half;
    const auto seats = seats_of(*placing, half, Way::up, within, notes);
    if (!seats)
        return;
    const std::size_t first = entry.pieces.size();
    for (const Seat& seat : *seats) {
        if (entry.pieces.size() >= most_pieces) {
            notes.fault(member.mark, fmt::format("{} has more than {} pieces.", entry.name, most_pieces),
                        "Make two parts of it.");
            return;
        }
        Piece copy = *piece;
        copy.rotated = seat.frame.turn * turned_by;
        copy.frame.turn = copy.rotated * piece->frame.turn;
        copy.frame.at = seat.frame.at + (placing->spots.empty() ? piece->frame.at : glm::dvec3(0.0));
        entry.pieces.push_back(std::move(copy));
    }
    read_holes(entry, table, first);
    // The holes of the first of several are those of all.
    for (std::size_t i = first + 1; i < entry.pieces.size(); ++i)
        entry.pieces[i].holes = entry.pieces[first].holes;
}

void Builder::read_pieces(Entry& entry) {
    const std::size_t wrong = notes.list.size();
    if (auto own = read_shape(entry.table(), notes)) {
        if (entry.sort == Sort::fastener)
            own->frame = {glm::dmat3(1.0), own->drawn_at}; // facing turns the fastener, not its shape in it
        entry.pieces.push_back(std::move(*own));
        read_holes(entry, entry.table(), 0);
    } else if (entry.table().find("holes") && notes.list.size() == wrong) {
        read_holes(entry, entry.table(), 0);
    }
    if (entry.sort == Sort::part || entry.sort == Sort::scenery)
        for (const Member& member : entry.table().members)
            if (member.value.is(Value::Kind::table) && !is_word(member.key, in_part) && !find_key(member.key))
                read_piece(entry, member);
    if (entry.pieces.empty() && notes.list.size() == wrong && !entry.misspelt &&
        (entry.sort == Sort::part || entry.sort == Sort::scenery))
        notes.fault(entry.mark(), fmt::format("{} has no shape.", entry.name),
                    "Give it a box, plate, cylinder, tube, cone, turned, extruded or pipe; or say what it is with "
                    "part, fastener, task or group.");
    if (entry.pieces.empty())
        return;
    entry.box = outer_box(entry.pieces[0].frame, entry.pieces[0].half);
    for (const Piece& piece : entry.pieces)
        entry.box = both(entry.box, outer_box(piece.frame, piece.half));
    if (entry.sort == Sort::fastener) {
        // It stands with its foot on its seat.
        for (Piece& piece : entry.pieces)
            piece.frame.at -= entry.box.middle - glm::dvec3(0, entry.box.half.y, 0);
        entry.box.middle = {0, entry.box.half.y, 0};
    }
}

} // namespace boltwalk::recipe
