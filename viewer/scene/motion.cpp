// Where items are drawn between two states of the job. Only pictures: ways are the author's where stated, and where
// none is stated a part simply leaves outwards.
#include <algorithm>
#include <cmath>

#include "viewer/scene/scene.hpp"

namespace boltwalk {

namespace {

constexpr double CLEAR_M = 0.02;      ///< a fastener leaves by its own length and this much more
constexpr double LEAST_DRAW_M = 0.03; ///< a nut leaves a stud that is longer than the nut is high
constexpr double SLACK_M = 0.004;     ///< how far a slackened fastener stands out, a started one twice that
constexpr double FADE_FROM = 0.7;     ///< share of its way after which what leaves fades

glm::dvec3 vector_of(Way way) {
    const auto direction = direction_of(way);
    return {direction[0], direction[1], direction[2]};
}

double length_of(const std::vector<glm::dvec3>& legs) {
    double sum = 0;
    for (const glm::dvec3& leg : legs)
        sum += glm::length(leg);
    return sum;
}

/// The point so many metres along legs, the last leg going on beyond its end.
glm::dvec3 along(const std::vector<glm::dvec3>& legs, double metres) {
    glm::dvec3 point(0.0);
    for (const glm::dvec3& leg : legs) {
        const double length = glm::length(leg);
        if (length <= 0)
            continue;
        const double share = std::min(metres / length, 1.0);
        point += share * leg;
        metres -= share * length;
        if (metres <= 0)
            break;
    }
    return point;
}

/// Everything that does not change while a picture moves.
struct Mover {
    const Job& job;
    const Stage& stage;
    const Map& map;

    std::size_t slot(ItemId id) const { return at(map[id].detail); }

    std::vector<glm::dvec3> way_out(ItemId part) const {
        std::vector<glm::dvec3> legs;
        for (const Leg& leg : map.part(part).way)
            legs.push_back(vector_of(leg.way) * (leg.length_mm / 1000.0));
        if (length_of(legs) > 0)
            return legs;
        const Bounds& own = stage.item_bounds[at(part.index)];
        const Bounds& about = map.target && map.target != part ? stage.item_bounds[at(map.target.index)] : stage.bounds;
        glm::dvec3 outward(0, -1, 0);
        if (!own.empty() && !about.empty() && glm::length(own.centre() - about.centre()) > 1e-6)
            outward = glm::normalize(own.centre() - about.centre());
        return {outward * (1.5 * own.radius() + 0.1)};
    }

    /// Where a part hangs that is lowered or aside.
    glm::dvec3 hanging(ItemId part, PartState is) const {
        const Part& p = map.part(part);
        if (is == PartState::lowered)
            return vector_of(Way::down) * (p.lower_mm.value_or(0) / 1000.0);
        glm::dvec3 sum(0.0);
        if (is == PartState::aside)
            for (const Leg& leg : p.aside_legs)
                sum += vector_of(leg.way) * (leg.length_mm / 1000.0);
        return sum;
    }

    ItemId leader(const State& state, ItemId part) const {
        const ItemId other = state.went_with[slot(part)];
        return other ? other : part;
    }

    Pose part_at_rest(const State& state, ItemId part) const {
        const PartState is = state.parts[slot(part)];
        const ItemId by = leader(state, part);
        if (is == PartState::off) {
            const auto legs = way_out(by);
            return {along(legs, length_of(legs)), 0};
        }
        return {hanging(by, is), 1};
    }

    Pose part_between(const State& a, const State& b, ItemId part, double t) const {
        const bool off_a = a.parts[slot(part)] == PartState::off;
        const bool off_b = b.parts[slot(part)] == PartState::off;
        const Pose from = part_at_rest(a, part);
        const Pose to = part_at_rest(b, part);
        if (off_a == off_b)
            return {glm::mix(from.shift_m, to.shift_m, eased(t)), from.presence};
        const auto legs = way_out(leader(off_a ? a : b, part));
        const double gone = off_a ? 1.0 - t : t;
        const glm::dvec3 start = off_a ? to.shift_m : from.shift_m;
        return {start + along(legs, eased(gone) * length_of(legs)), fading(gone)};
    }

    static float fading(double gone) {
        if (gone >= 1)
            return 0;
        return static_cast<float>(1.0 - eased((gone - FADE_FROM) / (1.0 - FADE_FROM)));
    }

    glm::dvec3 axis(ItemId fastener) const { return stage.axes[slot(fastener)]; }
    double draw_length(ItemId fastener) const { return std::max(stage.heads[slot(fastener)].length, LEAST_DRAW_M); }

    static double standing_out(FastenerState is) {
        switch (is) {
        case FastenerState::slack:
            return SLACK_M;
        case FastenerState::started:
            return 2 * SLACK_M;
        default:
            return 0;
        }
    }

    /// The parts that a fastener goes with while it is in: what it is captive in, what it leaves with, else what it
    /// holds.
    std::vector<ItemId> company(ItemId id) const {
        const Fastener& fastener = map.fastener(id);
        if (fastener.captive_in)
            return {fastener.captive_in};
        if (fastener.leaves_with)
            return {fastener.leaves_with};
        return fastener.holds;
    }
};

bool is_out(FastenerState is) {
    return is == FastenerState::out;
}

/// The pose of whatever moved least among `items`: what is bolted to something that stays, stays.
Pose least_moved(const std::vector<ItemId>& items, const std::vector<Pose>& poses) {
    Pose least;
    bool first = true;
    for (const ItemId item : items) {
        const Pose& pose = poses[at(item.index)];
        const bool less = pose.presence > least.presence ||
                          (pose.presence >= least.presence && glm::length(pose.shift_m) < glm::length(least.shift_m));
        if (first || less)
            least = pose;
        first = false;
    }
    return least;
}

void pose_fasteners(const Mover& mover, const State& a, const State& b, double t, std::vector<Pose>& poses) {
    const Map& map = mover.map;
    for (const Fastener& fastener : map.fasteners) {
        const ItemId id = fastener.item;
        const FastenerState from = a.fasteners[mover.slot(id)];
        const FastenerState to = b.fasteners[mover.slot(id)];
        Pose pose = least_moved(mover.company(id), poses);
        if (is_out(from) && is_out(to)) {
            pose.presence = 0;
        } else if (is_out(from) || is_out(to)) {
            const double gone = is_out(to) ? t : 1.0 - t;
            const double rest = Mover::standing_out(is_out(to) ? from : to);
            pose.shift_m += mover.axis(id) * glm::mix(rest, mover.draw_length(id) + CLEAR_M, eased(gone));
            pose.presence = std::min(pose.presence, Mover::fading(gone));
        } else {
            pose.shift_m += mover.axis(id) * glm::mix(Mover::standing_out(from), Mover::standing_out(to), eased(t));
        }
        poses[at(id.index)] = pose;
    }
    // Pins and wires hold nothing: while they are in they go with what they lock.
    for (const Fastener& fastener : map.fasteners) {
        const std::size_t slot = mover.slot(fastener.item);
        if (!fastener.secures.empty() && !is_out(a.fasteners[slot]) && !is_out(b.fasteners[slot]))
            poses[at(fastener.item.index)] = poses[at(fastener.secures.front().index)];
    }
}

} // namespace

std::vector<Pose> poses_between(const Job& job, const Stage& stage, const State& a, const State& b, double t) {
    const Mover mover{job, stage, *job.map};
    std::vector<Pose> poses(job.map->items.size());
    t = std::clamp(t, 0.0, 1.0);
    for (const Part& part : job.map->parts)
        poses[at(part.item.index)] = mover.part_between(a, b, part.item, t);
    pose_fasteners(mover, a, b, t, poses);
    return poses;
}

std::vector<Pose> poses_of(const Job& job, const Stage& stage, const State& state) {
    return poses_between(job, stage, state, state, 0);
}

void pull_apart(const Solids& solids, const Explosion& explosion, double share, std::span<Pose> poses) {
    share = std::clamp(share, 0.0, 1.0);
    for (std::size_t i = 0; i < poses.size() && i < solids.body_of.size(); ++i)
        poses[i].shift_m += exploded_by(explosion, solids.body_of[i], share);
}

Bounds bounds_of(const Stage& stage, std::span<const Pose> poses) {
    Bounds result;
    for (const std::int32_t node : stage.shown) {
        const ItemId item = stage.map->nodes[at(node)].item;
        const Pose pose = item && at(item.index) < poses.size() ? poses[at(item.index)] : Pose{};
        if (pose.presence > 0)
            result.add(moved(stage.node_bounds[at(node)], pose.shift_m));
    }
    return result;
}

Bounds bounds_of(const Stage& stage, std::span<const Pose> poses, std::span<const ItemId> items) {
    Bounds result;
    for (const ItemId item : items) {
        const Pose pose = at(item.index) < poses.size() ? poses[at(item.index)] : Pose{};
        result.add(moved(stage.item_bounds[at(item.index)], pose.shift_m));
    }
    return result;
}

} // namespace boltwalk
