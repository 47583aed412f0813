// What lies along a joint, and the holes that fasteners ask for.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "core/block/builder.hpp"
#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

/// A blind thread goes on below the shank by so much of its diameter, four coarse pitches: common practice, no source.
constexpr double room_below = 0.6;
/// What of a countersunk head's cone is cut into the part, all round.
constexpr double sink_room_mm = 0.2;

} // namespace

std::string name_of_role(const std::string& bolt, Role role, bool washers_at_both_ends) {
    if (role == Role::self)
        return bolt;
    const std::string word = role == Role::nut                                  ? "nut"
                             : role == Role::nut_washer && washers_at_both_ends ? "nut_washer"
                                                                                : "washer";
    for (const std::string_view own : {"bolt", "screw"})
        if (const std::size_t at = bolt.rfind(own); at != std::string::npos)
            return bolt.substr(0, at) + word + bolt.substr(at + own.size());
    // Its number stays last.
    const std::size_t last = bolt.find_last_not_of("0123456789");
    if (last != std::string::npos && last + 1 < bolt.size() && bolt[last] == '_')
        return bolt.substr(0, last) + "_" + word + bolt.substr(last);
    return bolt + "_" + word;
}

/// How far below the seat the last face lies that the bolt goes through: of the pieces of what it holds that lie on
/// its axis, within its length.
std::optional<double> Builder::grip_of(const Entry& entry, const Instance& bolt) {
    if (entry.grip_mm)
        return entry.grip_mm;
    std::vector<std::string> names = entry.clear;
    if (const Member* holds = stated(entry, "holds", false))
        if (holds->value.is(Value::Kind::text) || holds->value.is(Value::Kind::list))
            if (const auto list = take_names(holds->value, "holds", notes))
                names.insert(names.end(), list->begin(), list->end());
    double far = 0;
    for (const std::string& name : names)
        for (const std::string& spelled :
             {bolt.mirrored && !instances_of(swapped(name)).empty() ? swapped(name) : name})
            for (const std::size_t i : instances_of(spelled))
                for (const Piece& piece : instances_[i].pieces) {
                    const Instance& part = instances_[i];
                    const Frame own = part.mirrored ? mirrored(piece.frame) : piece.frame;
                    const glm::dvec3 from = own.in(part.frame.in(bolt.frame.at));
                    const glm::dvec3 along =
                        glm::transpose(own.turn) * (glm::transpose(part.frame.turn) * -bolt.frame.turn[1]);
                    double in = -1e9;
                    double out = 1e9;
                    for (int axis = 0; axis < 3; ++axis) {
                        if (std::abs(along[axis]) < 1e-9) {
                            if (std::abs(from[axis]) > piece.half[axis])
                                out = -1e9;
                            continue;
                        }
                        const double a = (-piece.half[axis] - from[axis]) / along[axis];
                        const double b = (piece.half[axis] - from[axis]) / along[axis];
                        in = std::max(in, std::min(a, b));
                        out = std::min(out, std::max(a, b));
                    }
                    if (in < out && in < entry.form->length_mm)
                        far = std::max(far, out);
                }
    if (far < least_mm) {
        const Member* holds = stated(entry, "holds", false);
        const Mark at = holds ? holds->value.mark : entry.mark();
        if (const std::string unknown = unknown_part(names); !unknown.empty()) {
            no_such_part(unknown, at);
            return std::nullopt;
        }
        if (std::any_of(names.begin(), names.end(), [this](const std::string& name) { return is_of_failed(name); }))
            return std::nullopt; // told where it failed
        notes.fault(at, fmt::format("Nothing that {} holds lies on its axis, so its nut has no place.", bolt.name),
                    "State holds, or grip: how far below the head's face the nut sits.");
        return std::nullopt;
    }
    return far;
}

void Builder::join(Entry& entry) {
    const std::vector<std::size_t> bolts = entry.instances;
    const bool nut_end = !entry.table().find("turn") || entry.table().find("turn")->value.text != "head";
    // One place along the joint each, from the end that stays to the end that is turned.
    const std::vector<Role> order{Role::self, Role::head_washer, Role::nut_washer, Role::nut};
    const auto has = [&](Role role) {
        return role == Role::self || (role == Role::nut && entry.nut) ||
               (role == Role::head_washer && entry.head_washer) || (role == Role::nut_washer && entry.nut_washer);
    };
    for (const std::size_t i : bolts) {
        const Instance bolt = instances_[i];
        std::optional<double> grip;
        if (entry.nut) {
            grip = grip_of(entry, bolt);
            if (!grip)
                return;
        }
        const glm::dvec3 up = bolt.frame.turn[1];
        const double lift = entry.head_washer ? entry.head_washer->size.height_mm : 0;
        const double drop = entry.nut_washer ? entry.nut_washer->size.height_mm : 0;
        glm::dmat3 over = bolt.frame.turn; // the other way up
        over[1] = -over[1];
        over[2] = -over[2];
        if (grip && lift + *grip + drop > entry.form->length_mm)
            notes.doubt(entry.mark(),
                        fmt::format("{} is {} mm long and goes through {} mm: its nut finds no thread.", bolt.name,
                                    print_number(entry.form->length_mm), print_number(lift + *grip + drop)),
                        "State a longer one, or grip, if it goes through less.");
        int stack = 0;
        for (std::size_t k = 0; k < order.size(); ++k) {
            const Role role = nut_end ? order[k] : order[order.size() - 1 - k];
            if (!has(role))
                continue;
            ++stack;
            if (role == Role::self) {
                instances_[i].joint = bolt.name;
                // Without a nut the washer lies between what stays and the head that is turned.
                instances_[i].stack = entry.nut ? stack : 2;
                instances_[i].frame.at += up * lift;
                continue;
            }
            Instance more;
            more.entry = bolt.entry;
            more.role = role;
            more.mirrored = bolt.mirrored;
            more.number = bolt.number;
            more.name = name_of_role(bolt.name, role, entry.head_washer.has_value());
            more.joint = bolt.name;
            more.stack = entry.nut ? stack : 1;
            more.frame = role == Role::head_washer  ? bolt.frame
                         : role == Role::nut_washer ? Frame{over, bolt.frame.at - up * *grip}
                                                    : Frame{over, bolt.frame.at - up * (*grip + drop)};
            if (!add_instance(entry, std::move(more)))
                return;
        }
    }
}

void Builder::drill() {
    for (Entry& entry : entries_) {
        if (!entry.form)
            continue;
        Mark at = entry.mark();
        if (entry.drills_itself) {
            // From the head to the thread: all are gone through, the last one holds the thread where no nut does.
            const Member* holds = stated(entry, "holds", false);
            if (!holds || !(holds->value.is(Value::Kind::text) || holds->value.is(Value::Kind::list)))
                continue;
            at = holds->value.mark;
            if (const auto names = take_names(holds->value, "holds", notes))
                entry.clear = *names;
            if (!entry.nut && !entry.clear.empty()) {
                entry.tapped = {entry.clear.back()};
                entry.clear.pop_back();
            }
        }
        const Member* clear = entry.table().find("clear");
        const Member* tapped = entry.table().find("tapped");
        for (const std::size_t i : entry.instances) {
            if (instances_[i].role != Role::self || notes.list.size() > 100)
                continue;
            const Instance bolt = instances_[i];
            for (const std::string& part : entry.clear)
                drill(entry, bolt, part, false, clear ? clear->value.mark : at);
            for (const std::string& part : entry.tapped)
                drill(entry, bolt, part, true, tapped ? tapped->value.mark : at);
        }
    }
}

void Builder::drill(const Entry& entry, const Instance& bolt, const std::string& name, bool tapped, Mark mark) {
    const HardwareForm& form = *entry.form;
    std::string part_name = name;
    if (bolt.mirrored && !instances_of(swapped(name)).empty())
        part_name = swapped(name);
    const auto parts = instances_of(part_name);
    if (parts.empty() && entry.drills_itself)
        return; // reading the map says so
    if (parts.empty()) {
        if (!is_of_failed(part_name))
            no_such_part(part_name, mark);
        return;
    }
    const double washer = entry.head_washer ? entry.head_washer->size.height_mm : 0;
    const glm::dvec3 down = -bolt.frame.turn[1];
    // Below the bolt's origin: where its shank begins and ends.
    const double begin = form.stud ? 0 : washer;
    const double end = form.stud ? form.rooted_mm : form.length_mm;
    bool drilled = false;
    bool slanted = false;
    for (const std::size_t p : parts) {
        Instance& part = instances_[p];
        for (Piece& piece : part.pieces) {
            const Frame own = part.mirrored ? mirrored(piece.frame) : piece.frame;
            glm::dvec3 at = own.in(part.frame.in(bolt.frame.at));
            glm::dvec3 way = glm::transpose(own.turn) * (glm::transpose(part.frame.turn) * down);
            if (part.mirrored) { // the shape is drilled before it is mirrored
                at.x = -at.x;
                way.x = -way.x;
            }
            const auto along = way_along(way);
            if (!along) {
                slanted = slanted || glm::length(glm::cross(way, -at)) < glm::length(piece.half);
                continue;
            }
            const Way face = opposite(*along);
            const Plane plane = plane_of(piece, face);
            const glm::dvec2 spot(glm::dot(at, plane.u), glm::dot(at, plane.v));
            const double u = glm::dot(glm::abs(plane.u), piece.half);
            const double v = glm::dot(glm::abs(plane.v), piece.half);
            // The face lies so far below the bolt's origin.
            const double top = glm::dot(plane.origin - at, way);
            const double thick = thickness(piece, face);
            if (std::abs(spot.x) > u || std::abs(spot.y) > v || top > end - least_mm || top + thick < begin + least_mm)
                continue;
            if (entry.drills_itself && !refuses_holes(piece, face).empty())
                continue;
            Hole hole;
            hole.mark = mark;
            hole.name = fmt::format("the hole of {} in {}", bolt.name, part.name);
            hole.face = face;
            hole.at = spot;
            std::optional<Sink> sink;
            if (form.shape == HardwareShape::countersunk_screw && !form.stud && std::abs(top) < least_mm)
                sink = Sink{form.size.width_mm + 2 * sink_room_mm, 0, true};
            const double bottom = end - top + room_below * form.diameter_mm;
            const bool blind = tapped && bottom < thick - 1;
            make_round(piece, hole, tapped ? form.diameter_mm : clearance_hole_mm(form.diameter_mm), blind ? bottom : 0,
                       sink);
            const bool there = std::any_of(piece.holes.begin(), piece.holes.end(), [&](const Hole& other) {
                return other.through && (other.face == face || other.face == opposite(face)) &&
                       glm::length(other.at - (other.face == face ? spot : glm::dvec2(spot.y, spot.x))) < least_mm &&
                       other.widest_mm >= hole.widest_mm - least_mm;
            });
            drilled = true;
            if (!there)
                piece.holes.push_back(std::move(hole));
        }
    }
    if (!drilled && !entry.drills_itself)
        notes.fault(mark,
                    slanted
                        ? fmt::format("{} meets {} at a slant: no hole goes through a shape so.", bolt.name, part_name)
                        : fmt::format("The shank of {} does not reach {}.", bolt.name, part_name),
                    slanted ? "Turn the bolt or the part by quarters, or leave the part out here."
                            : "Move the bolt, or take the part out of this list.");
}

} // namespace boltwalk::recipe
