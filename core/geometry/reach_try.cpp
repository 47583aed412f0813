// Which poses are tried, and what each would touch.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "core/geometry/rays.hpp"
#include "core/geometry/reach_ask.hpp"

namespace boltwalk::reaching {

namespace {

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

/// Turning by twelfths of a turn about an axis through a point.
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
    Trying(const Reach& reach, const Solids& solids, const std::vector<Solids>& lowered, const Joints& joints)
        : reach_(reach), solids_(solids), lowered_(lowered), joints_(joints) {}

    /// `earlier`: what was asked of the same fastener before.
    void run(Asked& asked, const std::vector<const Asked*>& earlier) {
        earlier_ = earlier;
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
                place(lowered_[c], asked, static_cast<std::int32_t>(c), 0);
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
        enclosing(solids, start.foot + start.axis * (asked.site.proud + 0.5 * m_per_mm),
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
            else if (!mostly_as_found(asked, lowered, pose, frame))
                sweep(solids, frame, reach_.shapes[at(shape)], reach_clearance_mm * m_per_mm, ignored_, pose);
            asked.reached.poses.push_back(std::move(pose));
            if (settled(asked.reached.poses))
                return;
        }
    }

    /// In a lowered case that leaves the fastener where it is, all but what moved is met as before: only that is swept.
    /// False when that does not hold.
    bool mostly_as_found(const Asked& asked, std::int32_t lowered, Stance& pose, const Frame& frame) const {
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
        sweep(lowered_[at(lowered)], frame, reach_.shapes[at(pose.shape)], reach_clearance_mm * m_per_mm, others, pose);
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
            sweep(solids_, frame, reach_.shapes[at(pose.shape)], reach_clearance_mm * m_per_mm, ignored_, pose);
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
    const std::vector<Solids>& lowered_;
    const Joints& joints_;
    std::vector<std::int32_t> ignored_;
    std::vector<std::uint8_t> turning_;
    std::vector<std::uint8_t> hopeless_; ///< by shape
    std::vector<const Asked*> earlier_;
    glm::dvec3 through_{0.0}, about_{0, 0, 1};
};

} // namespace

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

void try_all(const Reach& reach, const Solids& solids, const std::vector<Solids>& lowered, const Joints& joints,
             Asked& asked, const std::vector<const Asked*>& earlier) {
    Trying(reach, solids, lowered, joints).run(asked, earlier);
}

} // namespace boltwalk::reaching
