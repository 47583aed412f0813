// Which poses are tried, and what each would touch. Judging them: reach_judge.cpp.
#include "core/geometry/reach.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include <fmt/format.h>

#include "core/geometry/rays.hpp"
#include "core/geometry/reach_sweep.hpp"

namespace boltwalk {

using namespace reaching;

namespace {

constexpr double mm = 0.001;

std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}

bool is_nut(FastenerKind kind) {
    return kind == FastenerKind::nut || kind == FastenerKind::castle_nut;
}

bool is_shank(FastenerKind kind) {
    return kind == FastenerKind::bolt || kind == FastenerKind::screw;
}

/// A drive that a tool is put on.
bool takes_tool(const Drive& drive) {
    return drive.kind != DriveKind::none && drive.kind != DriveKind::hand && drive.kind != DriveKind::pliers;
}

/// As stated; else what this kind of thing is got hold of with, common practice. Locks and loose pieces inherit no
/// drive.
std::optional<Drive> drive_of(const Fastener& fastener) {
    if (fastener.drive)
        return fastener.drive;
    switch (fastener.kind) {
    case FastenerKind::washer:
    case FastenerKind::spacer:
    case FastenerKind::shim:
    case FastenerKind::stud:
        return Drive{DriveKind::none, 0, "none"};
    case FastenerKind::split_pin:
    case FastenerKind::lock_wire:
    case FastenerKind::tab:
        return Drive{DriveKind::pliers, 0, "pliers"};
    case FastenerKind::pin:
    case FastenerKind::connector:
    case FastenerKind::hanger:
        return Drive{DriveKind::hand, 0, "hand"};
    default:
        return std::nullopt;
    }
}

/// Members of a joint by its name, in file order.
using Joints = std::map<std::string, std::vector<ItemId>>;

Joints joints_of(const Map& map) {
    Joints joints;
    for (const Fastener& fastener : map.fasteners)
        if (!fastener.joint.empty())
            joints[fastener.joint].push_back(fastener.item);
    return joints;
}

/// The end of its joint that is turned, as annotation.md says of `turn`: what it states, else the end that a torque is
/// stated for, else the nut.
ItemId turned_end(const Map& map, const std::vector<ItemId>& joint, const Fastener& fastener) {
    if (!is_nut(fastener.kind) && !is_shank(fastener.kind))
        return fastener.item;
    ItemId shank;
    ItemId nut;
    std::string turn;
    for (const ItemId id : joint) {
        const Fastener& member = map.fastener(id);
        if (turn.empty())
            turn = member.turn;
        if (is_nut(member.kind))
            nut = id;
        else if (is_shank(member.kind) && !shank)
            shank = id;
    }
    if (!shank || !nut)
        return fastener.item;
    if (turn.empty())
        turn = map.fastener(shank).torque && !map.fastener(nut).torque ? "head" : "nut";
    return (turn == "head") == is_nut(fastener.kind) ? (turn == "head" ? shank : nut) : fastener.item;
}

double highest_torque(const Fastener& fastener) {
    double highest = 0;
    if (fastener.torque)
        for (const TorqueStage& stage : fastener.torque->stages)
            if (stage.has_torque)
                highest = std::max(highest, stage.high_nm);
    return highest;
}

/// What is asked: a Reached without poses, with the drive that is gripped and the site.
struct Asked {
    Reached reached;
    Drive drive;
    bool far_end = false;
    Site site;
    std::vector<std::int32_t> shapes; ///< in the order in which they are tried
};

/// The far side of a fastener's joint, held by a tool of its own.
bool counter_of(const Map& map, const std::vector<ItemId>& joint, const Fastener& fastener, Asked& asked) {
    const Reading<Drive> drive = read_drive(fastener.counter);
    if (fastener.counter.empty() || !drive || !takes_tool(*drive))
        return false;
    asked.drive = *drive;
    asked.far_end = true;
    asked.reached.item = fastener.item;
    asked.reached.at = fastener.item;
    asked.reached.use = Use::hold;
    asked.reached.grip = Grip::tool;
    for (const ItemId id : joint) {
        const Fastener& member = map.fastener(id);
        if (id == fastener.item || is_nut(member.kind) == is_nut(fastener.kind))
            continue;
        if (is_nut(member.kind) || is_shank(member.kind)) {
            asked.reached.at = id;
            asked.far_end = false;
            break;
        }
    }
    return true;
}

std::vector<Asked> questions(const Map& map, const Joints& joints) {
    std::vector<Asked> list;
    for (const Fastener& fastener : map.fasteners) {
        const auto joint = joints.find(fastener.joint);
        const std::vector<ItemId> members = joint == joints.end() ? std::vector<ItemId>{} : joint->second;
        Asked asked;
        asked.reached.item = fastener.item;
        asked.reached.at = fastener.item;
        const std::optional<Drive> drive = drive_of(fastener);
        if (!drive)
            asked.reached.grip = Grip::not_stated;
        else if (drive->kind == DriveKind::none || turned_end(map, members, fastener) != fastener.item)
            asked.reached.grip = Grip::nothing;
        else {
            asked.drive = *drive;
            asked.reached.grip = Grip::tool;
        }
        list.push_back(asked);
        Asked counter;
        if (counter_of(map, members, fastener, counter))
            list.push_back(counter);
        const double torque = highest_torque(fastener);
        if (asked.reached.grip != Grip::tool || !takes_tool(asked.drive) || torque <= 0)
            continue;
        asked.reached.torque_nm = torque;
        for (const Use use : {Use::loosen, Use::tighten}) {
            asked.reached.use = use;
            list.push_back(asked);
        }
    }
    return list;
}

/// Heads of one kind differ in the last digit from place to place; up to the next tenth of a millimetre they are alike
/// and share their tools' shapes.
double rounded_up(double metres) {
    return std::ceil(metres * 1e4 - 1e-3) / 1e4;
}

/// Shapes made once for each drive, use, torque and height of head.
class ShapeStore {
public:
    ShapeStore(const ToolBox& box, std::vector<ToolShape>& shapes) : box_(box), shapes_(shapes) {}

    void equip(Asked& asked) {
        const double torque = asked.reached.torque_nm;
        const auto list = [&](Use use) -> const Kept& { return kept(asked.drive, use, torque, asked.site); };
        Reached& reached = asked.reached;
        if (reached.use != Use::loosen) {
            const Kept& kept = list(reached.use);
            asked.shapes = kept.shapes;
            reached.missing = kept.missing;
        } else {
            // A handy tool that is long enough, then the bar, then what takes more force, the least first.
            std::vector<std::int32_t> hard;
            for (const std::int32_t shape : list(Use::turn).shapes)
                if (force(shape, torque) <= hand_force_n)
                    asked.shapes.push_back(shape);
                else if (shapes_[at(shape)].lever_m > 0)
                    hard.push_back(shape);
            const Kept& bars = list(Use::loosen);
            asked.shapes.insert(asked.shapes.end(), bars.shapes.begin(), bars.shapes.end());
            std::stable_sort(hard.begin(), hard.end(), [&](std::int32_t a, std::int32_t b) {
                return shapes_[at(a)].lever_m > shapes_[at(b)].lever_m;
            });
            asked.shapes.insert(asked.shapes.end(), hard.begin(), hard.end());
        }
        if (asked.shapes.empty())
            reached.grip = Grip::not_owned;
    }

    std::int32_t grip(DriveKind kind, double surface) {
        const auto key = std::make_pair(kind, std::lround(surface * 1e4));
        const auto found = grips_.find(key);
        if (found != grips_.end())
            return found->second;
        shapes_.push_back(straight_grip(kind, surface));
        return grips_[key] = static_cast<std::int32_t>(shapes_.size() - 1);
    }

private:
    struct Kept {
        std::vector<std::int32_t> shapes;
        std::string missing;
    };

    double force(std::int32_t shape, double torque) const {
        const double lever = shapes_[at(shape)].lever_m;
        return lever > 0 ? torque / lever : 1e300;
    }

    const Kept& kept(const Drive& drive, Use use, double torque, const Site& site) {
        const bool by_torque = use == Use::tighten;
        const auto key = std::make_tuple(drive.name, use, by_torque ? torque : 0.0, std::lround(site.head * 1e4),
                                         std::lround(site.proud * 1e4));
        const auto found = kept_.find(key);
        if (found != kept_.end())
            return found->second;
        Kept made;
        for (ToolShape& shape : shapes_for(box_, drive, use, torque, site, made.missing)) {
            made.shapes.push_back(static_cast<std::int32_t>(shapes_.size()));
            shapes_.push_back(std::move(shape));
        }
        return kept_[key] = std::move(made);
    }

    const ToolBox& box_;
    std::vector<ToolShape>& shapes_;
    std::map<std::tuple<std::string, Use, double, long, long>, Kept> kept_;
    std::map<std::pair<DriveKind, long>, std::int32_t> grips_;
};

// ------------------------------------------------------------------------------------------------------------- poses

/// The side on which a person is, as stated; none: zero.
glm::dvec3 side_of(Place place) {
    switch (place) {
    case Place::under:
        return {0, -1, 0};
    case Place::over:
        return {0, 1, 0};
    case Place::left:
        return {1, 0, 0};
    case Place::right:
        return {-1, 0, 0};
    case Place::front:
        return {0, 0, 1};
    case Place::rear:
        return {0, 0, -1};
    default:
        return glm::dvec3(0.0);
    }
}

/// Directions from which a hand or pliers come: the faces, edges and corners of a cube. Those first that are nearest to
/// where the person is stated to be, else to the fastener's axis.
std::vector<glm::dvec3> ways_in(Place place, const glm::dvec3& axis) {
    const glm::dvec3 side = side_of(place);
    const glm::dvec3 towards = side == glm::dvec3(0.0) ? axis : side;
    std::vector<glm::dvec3> list;
    for (int x = -1; x <= 1; ++x)
        for (int y = -1; y <= 1; ++y)
            for (int z = -1; z <= 1; ++z)
                if (x != 0 || y != 0 || z != 0)
                    list.push_back(glm::normalize(glm::dvec3(x, y, z)));
    std::stable_sort(list.begin(), list.end(), [&](const glm::dvec3& a, const glm::dvec3& b) {
        return glm::dot(a, towards) > glm::dot(b, towards) + 1e-9;
    });
    return list;
}

/// Bodies that a point lies within: seen along three directions they are left once more than entered.
void enclosing(const Solids& solids, const glm::dvec3& point, const std::array<glm::dvec3, 3>& ways,
               const std::vector<std::int32_t>& ignored, std::vector<std::int32_t>& out) {
    std::map<std::int32_t, std::array<int, 3>> balance;
    for (std::size_t w = 0; w < ways.size(); ++w)
        each_hit(solids, Ray{point, ways[w]}, 1e3,
                 [&](const RayHit& hit) { balance[hit.body][w] += hit.entering ? -1 : 1; });
    for (const auto& [body, count] : balance)
        if (count[0] > 0 && count[1] > 0 && count[2] > 0 && !std::binary_search(ignored.begin(), ignored.end(), body))
            out.push_back(body);
}

/// Turning `angle` twelfths about an axis through a point; cosines of multiples of 30 degrees are exact enough.
glm::dmat4 turned_by(int twelfths, const glm::dvec3& through, const glm::dvec3& axis) {
    const int by = twelfths * (reach_directions / turned_places);
    const glm::dvec2 d = direction_at(by);
    glm::dmat3 m(0.0);
    for (int c = 0; c < 3; ++c) {
        glm::dvec3 e(0.0);
        e[c] = 1;
        m[c] = e * d.x + glm::cross(axis, e) * d.y + axis * (glm::dot(axis, e) * (1 - d.x));
    }
    glm::dmat4 result(m);
    result[3] = glm::dvec4(through - m * through, 1.0);
    return result;
}

/// All that is tried for one fastener. Poses that several uses share are swept once.
class Trying {
public:
    Trying(const Reach& reach, const Solids& solids, std::vector<const Solids*> lowered, const Joints& joints)
        : reach_(reach), solids_(solids), lowered_(std::move(lowered)), joints_(joints) {}

    /// `earlier`: what was asked of the same fastener before.
    void run(Asked& asked, std::vector<const Asked*> earlier) {
        earlier_ = std::move(earlier);
        const Fastener& fastener = reach_.map->fastener(asked.reached.at);
        ignored_.clear();
        for (const Part& part : reach_.map->parts)
            if (part.flexible)
                ignore(part.item);
        ignore(fastener.item);
        const auto joint = joints_.find(fastener.joint);
        if (joint != joints_.end())
            for (const ItemId member : joint->second)
                ignore(member);
        std::sort(ignored_.begin(), ignored_.end());
        ignored_.erase(std::unique(ignored_.begin(), ignored_.end()), ignored_.end());
        if (!takes_tool(asked.drive)) {
            grip(asked);
            return;
        }
        place(solids_, asked, -1, 0);
        if (!settled(asked.reached.poses))
            turn(asked, fastener);
        for (std::size_t c = 0; c < lowered_.size(); ++c)
            if (concerns(asked, reach_.cases[c]))
                place(*lowered_[c], asked, static_cast<std::int32_t>(c), 0);
    }

private:
    void ignore(ItemId item) {
        if (reach_.body_of[at(item.index)] >= 0)
            ignored_.push_back(reach_.body_of[at(item.index)]);
    }

    /// Is nothing ever in the way of the last one?
    bool settled(const std::vector<Stance>& poses) const {
        return !poses.empty() && poses.back().under.empty() && free_run(poses.back());
    }

    /// Is a run of directions free that is long enough, with everything there?
    bool free_run(const Stance& pose) const {
        const int need = reach_.shapes[at(pose.shape)].need;
        if (need < 0 || pose.arm.empty())
            return true;
        int longest = 0;
        int end = 0;
        for (const ArmBlock& block : pose.arm) {
            longest = std::max(longest, block.first - end);
            end = std::max(end, block.last + 1);
        }
        // The gap before the first block and the one behind the last are one.
        longest = std::max(longest, reach_directions - end + pose.arm.front().first);
        return longest > need;
    }

    void place(const Solids& solids, Asked& asked, std::int32_t lowered, int twelfths) {
        Stance start;
        start.lowered = lowered;
        start.foot = asked.site.foot;
        if (lowered >= 0)
            start.foot += reach_.cases[at(lowered)].shift[at(reach_.body_of[at(asked.reached.at.index)])];
        start.axis = asked.site.axis;
        start.zero = asked.site.zero;
        start.turned = static_cast<std::int8_t>(twelfths);
        Frame frame;
        if (twelfths != 0) {
            const glm::dmat4 by = turned_by(twelfths, through_, about_);
            frame.of_turning = into_axes(start.foot, start.axis, start.zero);
            start.foot = glm::dvec3(by * glm::dvec4(start.foot, 1.0));
            start.axis = glm::dmat3(by) * start.axis;
            start.zero = glm::dmat3(by) * start.zero;
            frame.turning = &turning_;
        }
        frame.of_rest = into_axes(start.foot, start.axis, start.zero);
        std::vector<std::int32_t> around;
        enclosing(solids, start.foot + start.axis * (asked.site.proud + 0.5 * mm),
                  {start.axis, start.zero, glm::cross(start.axis, start.zero)}, ignored_, around);
        for (const std::int32_t shape : asked.shapes) {
            if (twelfths != 0 && hopeless_[at(shape)])
                continue;
            Stance pose = start;
            pose.shape = shape;
            pose.under = around;
            const Stance* known = known_pose(asked.reached.at, pose);
            if (known)
                pose = *known;
            else if (!differs(asked, lowered, pose, frame))
                sweep(solids, frame, reach_.shapes[at(shape)], reach_clearance_mm * mm, ignored_, pose);
            asked.reached.poses.push_back(std::move(pose));
            if (settled(asked.reached.poses))
                return;
        }
    }

    /// In a lowered case that leaves the fastener where it is, all but what moved is met as before.
    bool differs(const Asked& asked, std::int32_t lowered, Stance& pose, const Frame& frame) const {
        if (lowered < 0)
            return false;
        const std::vector<glm::dvec3>& shift = reach_.cases[at(lowered)].shift;
        if (shift[at(reach_.body_of[at(asked.reached.at.index)])] != glm::dvec3(0.0))
            return false;
        const auto base =
            std::find_if(asked.reached.poses.begin(), asked.reached.poses.end(), [&](const Stance& other) {
                return other.shape == pose.shape && other.lowered < 0 && other.turned == 0;
            });
        if (base == asked.reached.poses.end())
            return false;
        const auto moves = [&](std::int32_t body) { return shift[at(body)] != glm::dvec3(0.0); };
        std::vector<std::int32_t> others;
        for (std::size_t b = 0; b < shift.size(); ++b)
            if (const auto body = static_cast<std::int32_t>(b);
                !moves(body) || std::binary_search(ignored_.begin(), ignored_.end(), body))
                others.push_back(body);
        std::erase_if(pose.under, [&](std::int32_t b) { return !moves(b); });
        sweep(*lowered_[at(lowered)], frame, reach_.shapes[at(pose.shape)], reach_clearance_mm * mm, others, pose);
        for (const std::int32_t body : base->under)
            if (!moves(body))
                pose.under.push_back(body);
        for (const ArmBlock& block : base->arm)
            if (!moves(block.body))
                pose.arm.push_back(block);
        std::sort(pose.under.begin(), pose.under.end());
        std::sort(pose.arm.begin(), pose.arm.end(), by_direction);
        return true;
    }

    /// The same pose of an earlier use of the same fastener (turned by hand, and broken loose).
    const Stance* known_pose(ItemId fastener, const Stance& wanted) const {
        for (const Asked* other : earlier_) {
            if (other->reached.at != fastener || other->far_end)
                continue;
            for (const Stance& pose : other->reached.poses)
                if (pose.shape == wanted.shape && pose.lowered == wanted.lowered && pose.turned == wanted.turned)
                    return &pose;
        }
        return nullptr;
    }

    /// What turns with the fastener is in the way at every place alike. Then no place is better than the first.
    void rule_out(const Asked& asked) {
        hopeless_.assign(reach_.shapes.size(), 0);
        for (const Stance& pose : asked.reached.poses) {
            if (pose.lowered >= 0)
                continue;
            Stance own = pose;
            std::erase_if(own.arm, [&](const ArmBlock& block) { return !turning_[at(block.body)]; });
            const bool under =
                std::any_of(pose.under.begin(), pose.under.end(), [&](std::int32_t b) { return turning_[at(b)] != 0; });
            hopeless_[at(pose.shape)] = under || !free_run(own) ? 1 : 0;
        }
    }

    /// Brings the fastener round with the part that it is in.
    void turn(Asked& asked, const Fastener& fastener) {
        ItemId part;
        if (!turning_axis(solids_, fastener, through_, about_, part))
            return;
        turning_.assign(solids_.bodies.size(), 0);
        turning_[at(reach_.body_of[at(part.index)])] = 1;
        for (const Fastener& other : reach_.map->fasteners) {
            const std::int32_t body = reach_.body_of[at(other.item.index)];
            if (body >= 0 && std::find(other.holds.begin(), other.holds.end(), part) != other.holds.end())
                turning_[at(body)] = 1;
        }
        rule_out(asked);
        for (int k = 1; k < turned_places && !settled(asked.reached.poses); ++k)
            place(solids_, asked, -1, k);
    }

    void grip(Asked& asked) {
        std::size_t i = 0;
        for (const glm::dvec3& way : ways_in((*reach_.map)[asked.reached.at].from, asked.site.axis)) {
            Stance pose;
            pose.shape = asked.shapes[i++];
            pose.foot = asked.site.foot;
            pose.axis = way;
            pose.zero = square_to(way);
            Frame frame;
            frame.of_rest = into_axes(pose.foot, pose.axis, pose.zero);
            const double begin = reach_.shapes[at(pose.shape)].rings.front().low;
            enclosing(solids_, pose.foot + way * begin, {way, pose.zero, glm::cross(way, pose.zero)}, ignored_,
                      pose.under);
            sweep(solids_, frame, reach_.shapes[at(pose.shape)], reach_clearance_mm * mm, ignored_, pose);
            asked.reached.poses.push_back(std::move(pose));
            if (settled(asked.reached.poses))
                return;
        }
    }

    /// Does a lowered case change anything here: is the fastener moved, was something moved in the way, or does it come
    /// near?
    bool concerns(const Asked& asked, const LoweredCase& lowered) const {
        double far = 0;
        for (const std::int32_t shape : asked.shapes) {
            for (const ToolRing& ring : reach_.shapes[at(shape)].rings)
                far = std::max(far, ring.high + ring.way_on);
            for (const ToolArm& arm : reach_.shapes[at(shape)].arms)
                far = std::max(far, std::sqrt(arm.to * arm.to + arm.high * arm.high) + arm.half_width);
        }
        const std::int32_t own = reach_.body_of[at(asked.reached.at.index)];
        if (lowered.shift[at(own)] != glm::dvec3(0.0))
            return true;
        const auto moves = [&](std::int32_t body) { return lowered.shift[at(body)] != glm::dvec3(0.0); };
        for (const Stance& stance : asked.reached.poses)
            if (std::any_of(stance.under.begin(), stance.under.end(), moves) ||
                std::any_of(stance.arm.begin(), stance.arm.end(), [&](const ArmBlock& b) { return moves(b.body); }))
                return true;
        for (std::size_t b = 0; b < solids_.bodies.size(); ++b) {
            if (lowered.shift[b] == glm::dvec3(0.0))
                continue;
            const Bounds& box = solids_.bodies[b].bounds;
            const glm::dvec3 near =
                glm::clamp(asked.site.foot, box.low + lowered.shift[b], box.high + lowered.shift[b]);
            if (glm::length(near - asked.site.foot) <= far)
                return true;
        }
        return false;
    }

    const Reach& reach_;
    const Solids& solids_;
    std::vector<const Solids*> lowered_;
    const Joints& joints_;
    std::vector<std::int32_t> ignored_;
    std::vector<std::uint8_t> turning_;
    std::vector<std::uint8_t> hopeless_; ///< by shape
    std::vector<const Asked*> earlier_;
    glm::dvec3 through_{0.0}, about_{0, 0, 1};
};

/// How far a body's box reaches from its middle along a direction.
double surface_along(const Body& body, const glm::dvec3& way) {
    const glm::dvec3 half = 0.5 * body.bounds.size();
    return std::abs(way.x) * half.x + std::abs(way.y) * half.y + std::abs(way.z) * half.z;
}

void find_sites(const Solids& solids, std::vector<Asked>& list, const Effort& effort) {
    in_parallel(list.size(), Effort{effort.threads, {}}, [&](std::size_t i) {
        Asked& asked = list[i];
        if (asked.reached.grip != Grip::tool)
            return;
        if (!find_site(solids, asked.reached.at, gripped_mm(asked.drive), asked.far_end, asked.site)) {
            asked.reached.grip = Grip::no_shape;
            return;
        }
        asked.site.head = rounded_up(asked.site.head);
        asked.site.proud = std::max(rounded_up(asked.site.proud), asked.site.head);
        if (!takes_tool(asked.drive))
            asked.site.foot = solids.bodies[at(solids.body_of[at(asked.reached.at.index)])].bounds.centre();
    });
}

} // namespace

Reach find_reach(const Solids& solids, std::span<const LoweredCase> cases, const ToolBox& box, const Effort& effort) {
    const Map& map = *solids.map;
    Reach reach;
    reach.map = &map;
    reach.cases.assign(cases.begin(), cases.end());
    for (LoweredCase& one : reach.cases)
        one.shift.resize(solids.bodies.size(), glm::dvec3(0.0));
    reach.body_of = solids.body_of;
    for (const Body& body : solids.bodies) {
        reach.item_of.push_back(body.item);
        reach.stays.push_back(!body.item || map.is_task(body.item) ||
                              (map.is_part(body.item) && map.part(body.item).fixed));
    }
    const Joints joints = joints_of(map);
    std::vector<Asked> list = questions(map, joints);
    find_sites(solids, list, effort);
    ShapeStore store(box, reach.shapes);
    for (Asked& asked : list) {
        if (asked.reached.grip != Grip::tool)
            continue;
        if (takes_tool(asked.drive)) {
            store.equip(asked);
            continue;
        }
        if (asked.drive.kind == DriveKind::pliers &&
            std::none_of(box.tools.begin(), box.tools.end(),
                         [](const Tool& t) { return t.kind == ToolKind::pliers; })) {
            asked.reached.grip = Grip::not_owned;
            asked.reached.missing = "pliers";
            continue;
        }
        const Body& body = solids.bodies[at(solids.body_of[at(asked.reached.at.index)])];
        for (const glm::dvec3& way : ways_in(map[asked.reached.at].from, asked.site.axis))
            asked.shapes.push_back(store.grip(asked.drive.kind, rounded_up(surface_along(body, way))));
    }
    std::vector<Solids> moved_solids;
    moved_solids.reserve(reach.cases.size());
    std::vector<const Solids*> lowered;
    for (const LoweredCase& one : reach.cases) {
        moved_solids.push_back(moved(solids, one.shift));
        lowered.push_back(&moved_solids.back());
    }
    // One fastener's questions after each other, for they share poses.
    std::vector<std::size_t> begins;
    for (std::size_t i = 0; i < list.size(); ++i)
        if (i == 0 || list[i].reached.item != list[i - 1].reached.item)
            begins.push_back(i);
    in_parallel(begins.size(), effort, [&](std::size_t f) {
        const std::size_t end = f + 1 < begins.size() ? begins[f + 1] : list.size();
        Trying trying(reach, solids, lowered, joints);
        std::vector<const Asked*> earlier;
        for (std::size_t i = begins[f]; i < end; ++i) {
            if (list[i].reached.grip == Grip::tool)
                trying.run(list[i], earlier);
            earlier.push_back(&list[i]);
        }
    });
    reach.of_item.resize(map.items.size());
    for (Asked& asked : list) {
        reach.of_item[at(asked.reached.item.index)].push_back(static_cast<std::int32_t>(reach.list.size()));
        reach.list.push_back(std::move(asked.reached));
    }
    return reach;
}

} // namespace boltwalk
