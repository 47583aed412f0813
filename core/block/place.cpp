#include "core/block/place.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

constexpr int most_in_a_pattern = 1000;
constexpr std::size_t most_spots = 1000;
constexpr std::string_view spot_form = "Write \"top of plate\", or \"top of plate, 12 from left, 20 from front\", or "
                                       "\"left of block, 3 off\".";

std::vector<std::string> words_of(std::string_view text) {
    std::vector<std::string> words;
    std::string word;
    for (const char c : text) {
        if (c == ' ' || c == '\t' || c == '\n' || c == '\r') {
            if (!word.empty())
                words.push_back(std::move(word));
            word.clear();
        } else {
            word += c;
        }
    }
    if (!word.empty())
        words.push_back(std::move(word));
    return words;
}

bool is_filler(const std::string& word) {
    return word == "the" || word == "its";
}

/// "12 mm from its left edge", "3 off".
bool read_distance(std::string_view text, Spot& spot, Notes& notes) {
    std::vector<std::string> words = words_of(text);
    std::erase_if(words, is_filler);
    if (!words.empty() && words.back() == "edge")
        words.pop_back();
    std::size_t sign = 0;
    while (sign < words.size() && words[sign] != "from" && words[sign] != "off")
        ++sign;
    std::string length;
    for (std::size_t i = 0; i < sign; ++i)
        length += (i ? " " : "") + words[i];
    const bool off = sign + 1 == words.size() && words[sign] == "off";
    const bool from = sign + 2 == words.size() && words[sign] == "from";
    const Way edge = from ? find_face(words.back()).value_or(spot.face) : spot.face; // the face itself is no edge of it
    if (length.empty() || (!off && edge == spot.face)) {
        notes.fault(spot.mark, fmt::format("\"{}\" says no distance.", text), std::string(spot_form));
        return false;
    }
    Value value;
    value.kind = Value::Kind::text;
    value.text = length;
    value.mark = spot.mark;
    const auto mm = take_mm(value, "on", notes);
    if (!mm)
        return false;
    if (off)
        spot.off_mm = *mm;
    else
        spot.from.emplace_back(edge, *mm);
    return true;
}

std::optional<Spot> read_on(const Value& value, bool own, Notes& notes) {
    const auto text = take_text(value, "on", notes);
    if (!text)
        return std::nullopt;
    Spot spot;
    spot.mark = value.mark;
    spot.on_face = true;
    const std::size_t comma = std::min(text->find(','), text->size());
    const std::string first = text->substr(0, comma);
    // The name is everything behind "of", spaces within it as they are.
    const std::size_t of = first.find(" of ");
    std::vector<std::string> words = words_of(std::string_view(first).substr(0, of));
    std::erase_if(words, is_filler);
    const auto face = words.size() == 1 ? find_face(words[0]) : std::nullopt;
    if (!face || (of == std::string::npos && !own)) {
        notes.fault(value.mark,
                    face ? fmt::format("\"{}\" does not say of what.", first)
                         : fmt::format("\"{}\" names no face.", first),
                    std::string("The faces are top, bottom, left, right, front, rear. ") + std::string(spot_form));
        return std::nullopt;
    }
    spot.face = *face;
    if (of != std::string::npos) {
        const std::size_t begin = first.find_first_not_of(' ', of + 4);
        const std::size_t end = first.find_last_not_of(' ');
        if (begin != std::string::npos)
            spot.of = first.substr(begin, end + 1 - begin);
        if (spot.of.starts_with("the "))
            spot.of.erase(0, 4);
    }
    for (std::size_t at = comma; at < text->size();) {
        const std::size_t end = std::min(text->find(',', at + 1), text->size());
        if (!read_distance(std::string_view(*text).substr(at + 1, end - at - 1), spot, notes))
            return std::nullopt;
        at = end;
    }
    for (std::size_t i = 0; i < spot.from.size(); ++i) {
        const Way edge = spot.from[i].first;
        bool twice = edge == spot.face || edge == opposite(spot.face);
        for (std::size_t k = 0; k < i; ++k)
            twice = twice || edge == spot.from[k].first || edge == opposite(spot.from[k].first);
        if (twice) {
            notes.fault(
                value.mark, fmt::format("\"from {}\" says nothing more on that face.", face_name(edge)),
                "State one edge for each of the face's two directions; \"5 off\" is the distance from the face.");
            return std::nullopt;
        }
    }
    return spot;
}

bool read_spots(const Value& table, bool own, Placing& placing, Notes& notes) {
    const Member* at = table.find("at");
    const Member* on = table.find("on");
    if (at && on) {
        notes.fault(on->mark, "A thing stands at coordinates or on a face, not both.",
                    "Leave one of the two out; move shifts what stands on a face.");
        return false;
    }
    if (at) {
        const bool many =
            at->value.is(Value::Kind::list) && !at->value.list.empty() && at->value.list.front().is(Value::Kind::list);
        const std::vector<Value> one{at->value};
        for (const Value& value : many ? at->value.list : one) {
            const auto point = take_point(value, "at", notes);
            if (!point)
                return false;
            Spot spot;
            spot.mark = value.mark;
            spot.at = *point;
            placing.spots.push_back(std::move(spot));
        }
    }
    if (on) {
        const std::vector<Value> one{on->value};
        for (const Value& value : on->value.is(Value::Kind::list) ? on->value.list : one) {
            auto spot = read_on(value, own, notes);
            if (!spot)
                return false;
            placing.spots.push_back(std::move(*spot));
        }
    }
    if (const Member* stated = at ? at : on; stated && (placing.spots.empty() || placing.spots.size() > most_spots)) {
        notes.fault(stated->mark, fmt::format("{} names {} places.", stated->key, placing.spots.size()),
                    fmt::format("Name 1 to {}.", most_spots));
        return false;
    }
    return true;
}

/// A pattern's table has to have all of `needed`, may have `more`, and nothing else.
bool has_all(const Member& pattern, std::initializer_list<std::string_view> needed,
             std::initializer_list<std::string_view> more, std::string_view example, Notes& notes) {
    const std::string remedy = fmt::format("Write {} = {}.", pattern.key, example);
    if (!pattern.value.is(Value::Kind::table)) {
        notes.fault(pattern.mark, fmt::format("{} wants a table, not {}.", pattern.key, spoken(pattern.value.kind)),
                    remedy);
        return false;
    }
    std::vector<std::string> known(needed.begin(), needed.end());
    known.insert(known.end(), more.begin(), more.end());
    std::vector<std::string> meant; // what a word unknown here was probably to be: not told to be missing, too
    bool good = true;
    for (const Member& member : pattern.value.members)
        if (std::find(known.begin(), known.end(), member.key) == known.end()) {
            meant.push_back(near_word(member.key, known));
            notes.fault(member.mark,
                        fmt::format("{} knows no \"{}\".{}", pattern.key, member.key, near_one(member.key, known)),
                        remedy);
            good = false;
        }
    std::string missing;
    bool whole = true;
    for (const std::string_view word : needed) {
        whole = whole && pattern.value.find(word);
        if (!pattern.value.find(word) && std::find(meant.begin(), meant.end(), word) == meant.end())
            missing += fmt::format("{}{}", missing.empty() ? "" : " and ", word);
    }
    if (!missing.empty())
        notes.fault(pattern.mark, fmt::format("{} lacks {}.", pattern.key, missing), remedy);
    return good && whole;
}

bool read_pattern(const Value& table, Placing& placing, Notes& notes) {
    const Member* found = nullptr;
    for (const std::string_view word : {"row", "grid", "circle", "corners"})
        if (const Member* member = table.find(word)) {
            if (found) {
                notes.fault(member->mark,
                            fmt::format("One thing stands in a {} or in a {}, not in both.", found->key, word),
                            "Leave one of the two out.");
                return false;
            }
            found = member;
        }
    if (!found)
        return true;
    Pattern& pattern = placing.pattern;
    pattern.mark = found->mark;
    const Value& value = found->value;
    const auto size = [&](const Value& v, std::string_view what, double& to) {
        const auto mm = take_size(v, what, notes);
        to = mm.value_or(0);
        return mm.has_value();
    };
    const auto count = [&](const Value& v, int& to) {
        const auto n = take_count(v, 1, most_in_a_pattern, "count", notes);
        to = n.value_or(1);
        return n.has_value();
    };
    if (found->key == "corners") {
        pattern.kind = Pattern::Kind::corners;
        pattern.count = 4;
        return size(value, "corners", pattern.step_mm);
    }
    if (found->key == "row") {
        if (!has_all(*found, {"count", "step", "towards"}, {}, "{ count = 4, step = 30, towards = \"right\" }", notes))
            return false;
        pattern.kind = Pattern::Kind::row;
        const auto way = take_way(value.find("towards")->value, "towards", notes);
        pattern.towards = way.value_or(Way::left);
        return count(value.find("count")->value, pattern.count) &&
               size(value.find("step")->value, "step", pattern.step_mm) && way.has_value();
    }
    if (found->key == "circle") {
        if (!has_all(*found, {"count", "diameter"}, {"start"}, "{ count = 6, diameter = 80 }", notes))
            return false;
        pattern.kind = Pattern::Kind::circle;
        if (const Member* start = value.find("start")) {
            pattern.start = take_way(start->value, "start", notes);
            if (!pattern.start)
                return false;
        }
        return count(value.find("count")->value, pattern.count) &&
               size(value.find("diameter")->value, "diameter", pattern.step_mm);
    }
    if (!has_all(*found, {"count", "step"}, {}, "{ count = [3, 2], step = [60, 40] }", notes))
        return false;
    pattern.kind = Pattern::Kind::grid;
    const Value& counts = value.find("count")->value;
    const Value& steps = value.find("step")->value;
    if (counts.list.size() != 2 || steps.list.size() != 2) {
        notes.fault(found->mark, "grid wants two counts and two steps.",
                    "Write { count = [3, 2], step = [60, 40] }: 3 in each of 2 rows.");
        return false;
    }
    return count(counts.list[0], pattern.count) && count(counts.list[1], pattern.rows) &&
           size(steps.list[0], "step", pattern.step_mm) && size(steps.list[1], "step", pattern.rows_mm);
}

/// Along a row of a grid, from row to row, and where a circle begins, on a face that looks this way.
struct Across {
    glm::dvec3 along, next, start;
};
Across across(Way face) {
    const auto v = [](Way way) { return vector_of(way); };
    switch (face) {
    case Way::up:
    case Way::down:
        return {v(Way::right), v(Way::rear), v(Way::front)};
    case Way::front:
    case Way::rear:
        return {v(Way::right), v(Way::down), v(Way::up)};
    case Way::left:
    case Way::right:
        break;
    }
    return {v(Way::rear), v(Way::down), v(Way::up)};
}

/// Each place of a pattern about its first or middle one.
std::optional<std::vector<glm::dvec3>> shifts_of(const Pattern& pattern, Way face, const Target* target,
                                                 const glm::dvec3& half, Notes& notes) {
    std::vector<glm::dvec3> list;
    const Across plane = across(face);
    const glm::dvec3 normal = vector_of(face);
    switch (pattern.kind) {
    case Pattern::Kind::one:
        return std::vector{glm::dvec3(0.0)};
    case Pattern::Kind::row:
        for (int i = 0; i < pattern.count; ++i)
            list.push_back(vector_of(pattern.towards) * (i * pattern.step_mm));
        return list;
    case Pattern::Kind::grid:
        if (pattern.count * pattern.rows > most_in_a_pattern) {
            notes.fault(pattern.mark, fmt::format("This grid has {} places.", pattern.count * pattern.rows),
                        fmt::format("{} at most.", most_in_a_pattern));
            return std::nullopt;
        }
        for (int row = 0; row < pattern.rows; ++row)
            for (int i = 0; i < pattern.count; ++i)
                list.push_back(plane.along * ((i - (pattern.count - 1) / 2.0) * pattern.step_mm) +
                               plane.next * ((row - (pattern.rows - 1) / 2.0) * pattern.rows_mm));
        return list;
    case Pattern::Kind::circle: {
        const glm::dvec3 start = pattern.start ? vector_of(*pattern.start) : plane.start;
        if (std::abs(glm::dot(start, normal)) > 0.5) {
            notes.fault(pattern.mark, "The circle cannot start there: that way leads off the face.",
                        fmt::format("This face looks {}; start along it.", face_name(face)));
            return std::nullopt;
        }
        const glm::dvec3 side = glm::cross(start, normal);
        for (int i = 0; i < pattern.count; ++i) {
            const double angle = 2 * std::numbers::pi * i / pattern.count;
            list.push_back((start * std::cos(angle) + side * std::sin(angle)) * (pattern.step_mm / 2));
        }
        return list;
    }
    case Pattern::Kind::corners:
        break;
    }
    if (!target) {
        notes.fault(pattern.mark, "corners wants a face.", "Say on which: on = \"top of plate\".");
        return std::nullopt;
    }
    const auto reach = [&](const glm::dvec3& along) {
        return glm::dot(glm::abs(along), target->box.half - half) - pattern.step_mm;
    };
    const double a = reach(plane.along);
    const double b = reach(plane.next);
    if (a <= 0 || b <= 0) {
        notes.fault(pattern.mark, "So far in from the edges there are no corners left.", "Make corners smaller.");
        return std::nullopt;
    }
    return std::vector{-plane.along * a - plane.next * b, plane.along * a - plane.next * b,
                       plane.along * a + plane.next * b, -plane.along * a + plane.next * b};
}

} // namespace

std::optional<Placing> read_placing(const Value& table, bool own, Notes& notes) {
    Placing placing;
    if (!read_spots(table, own, placing, notes) || !read_pattern(table, placing, notes))
        return std::nullopt;
    if (const Member* move = table.find("move")) {
        const auto by = take_point(move->value, "move", notes);
        if (!by)
            return std::nullopt;
        placing.move = *by;
    }
    if (const Member* rotate = table.find("rotate")) {
        const Value& value = rotate->value;
        bool good = value.is(Value::Kind::list) && value.list.size() == 3;
        for (std::size_t i = 0; good && i < 3; ++i) {
            good = value.list[i].is(Value::Kind::number) && std::abs(value.list[i].number) <= 360;
            placing.rotate[static_cast<int>(i)] = value.list[i].number;
        }
        if (!good) {
            notes.fault(value.mark, "rotate wants three angles in degrees, each from -360 to 360.",
                        "About the axis to the left, then up, then to the front: [0, 30, 0].");
            return std::nullopt;
        }
    }
    return placing;
}

std::optional<std::vector<Seat>> seats_of(const Placing& placing, const glm::dvec3& half, Way facing_way,
                                          const Targets& targets, Notes& notes) {
    std::vector<Seat> seats;
    std::vector<Spot> spots = placing.spots;
    if (spots.empty())
        spots.emplace_back();
    for (const Spot& spot : spots) {
        std::optional<Target> target;
        glm::dvec3 at = spot.at;
        const Way face = spot.on_face ? spot.face : facing_way;
        if (spot.on_face) {
            target = targets(spot.of, spot.mark);
            if (!target)
                return std::nullopt;
            const glm::dvec3 normal = vector_of(face);
            at = target->box.middle + normal * (glm::dot(glm::abs(normal), target->box.half + half) + spot.off_mm);
            for (const auto& [edge, distance] : spot.from) {
                const glm::dvec3 e = vector_of(edge);
                at += e * (glm::dot(glm::abs(e), target->box.half - half) - distance);
            }
        }
        const auto shifts = shifts_of(placing.pattern, face, target ? &*target : nullptr, half, notes);
        if (!shifts)
            return std::nullopt;
        const Frame frame = target ? target->frame : Frame{};
        if (seats.size() + shifts->size() > most_items) {
            notes.fault(spot.mark, "These are too many places.",
                        fmt::format("A recipe makes {} items at most.", most_items));
            return std::nullopt;
        }
        for (const glm::dvec3& shift : *shifts)
            seats.push_back({{frame.turn, frame.out(at + shift + placing.move)}, face, spot.on_face});
    }
    return seats;
}

glm::dmat3 rotation(const glm::dvec3& degrees) {
    glm::dmat3 all(1.0);
    for (int axis = 0; axis < 3; ++axis) {
        const double quarter = degrees[axis] / 90;
        const double angle = degrees[axis] * std::numbers::pi / 180;
        const bool exact = quarter == std::round(quarter);
        const double c = exact ? std::round(std::cos(angle)) : std::cos(angle);
        const double s = exact ? std::round(std::sin(angle)) : std::sin(angle);
        const int u = (axis + 1) % 3;
        const int v = (axis + 2) % 3;
        glm::dmat3 one(1.0);
        one[u][u] = c;
        one[u][v] = s;
        one[v][u] = -s;
        one[v][v] = c;
        all = one * all;
    }
    return all;
}

} // namespace boltwalk::recipe
