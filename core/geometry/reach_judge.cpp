// Poses judged in a state, as precedence, and as something to draw.
#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include <fmt/format.h>

#include "core/geometry/reach.hpp"

namespace boltwalk {

namespace {

/// As many obstacles of one pose are told apart; more than that never clear.
constexpr std::size_t most_obstacles = 64;
/// As many ways to stand of one pose, and alternatives of one fastener, are kept.
constexpr std::size_t most_windows = 6;
constexpr std::size_t most_alternatives = 24;

/// What counts as there in a state, and which lowered case it is.
struct Scene {
    std::vector<std::uint8_t> there;
    std::int32_t lowered = -1;
};

/// The case whose shifts differ least from the state's; what still differs is taken as not there.
Scene scene_of(const Reach& reach, const Arrangement& arrangement) {
    const std::size_t bodies = reach.item_of.size();
    Scene scene;
    scene.there = arrangement.there;
    scene.there.resize(bodies, 1);
    if (arrangement.shift.empty())
        return scene;
    const auto shift = [&](std::size_t b) {
        return b < arrangement.shift.size() ? arrangement.shift[b] : glm::dvec3(0.0);
    };
    const auto differs = [&](std::int32_t c, std::size_t b) {
        return scene.there[b] && shift(b) != (c < 0 ? glm::dvec3(0.0) : reach.cases[at(c)].shift[b]);
    };
    std::size_t fewest = bodies + 1;
    for (std::int32_t c = -1; c < static_cast<std::int32_t>(reach.cases.size()); ++c) {
        std::size_t count = 0;
        for (std::size_t b = 0; b < bodies; ++b)
            count += differs(c, b) ? 1U : 0U;
        if (count < fewest) {
            fewest = count;
            scene.lowered = c;
        }
    }
    std::vector<std::uint8_t> gone(bodies, 0);
    for (std::size_t b = 0; b < bodies; ++b)
        gone[b] = differs(scene.lowered, b) ? 1 : 0;
    for (std::size_t b = 0; b < bodies; ++b)
        if (gone[b])
            scene.there[b] = 0;
    return scene;
}

struct Run {
    int first = 0;
    int count = 0; ///< directions
};

/// The longest run of directions that nothing there blocks; of equal ones the first.
Run free_run(const Stance& pose, const std::vector<std::uint8_t>& there) {
    Run best;
    int end = 0;
    int lead = -1;
    for (const ArmBlock& block : pose.arm) {
        if (!there[at(block.body)])
            continue;
        if (lead < 0)
            lead = block.first;
        else if (block.first - end > best.count)
            best = {end, block.first - end};
        end = std::max(end, block.last + 1);
    }
    if (lead < 0)
        return {0, reach_directions};
    const int wrap = reach_directions - end + lead;
    return wrap > best.count ? Run{end % reach_directions, wrap} : best;
}

using Set = std::vector<std::int32_t>; ///< bodies, sorted

/// What is in the way of a pose: what its rings touch, and for the directions to stand in the fewest more.
/// `there` null: everything counts.
std::vector<Set> obstacle_sets(const Reach& reach, const Stance& pose, const std::vector<std::uint8_t>* there) {
    Set base;
    for (const std::int32_t body : pose.under)
        if (!there || (*there)[at(body)])
            base.push_back(body);
    const int need = reach.shapes[at(pose.shape)].need;
    if (need < 0)
        return {base};
    std::vector<std::int32_t> bodies;
    for (const ArmBlock& block : pose.arm)
        if (!there || (*there)[at(block.body)])
            bodies.push_back(block.body);
    std::sort(bodies.begin(), bodies.end());
    bodies.erase(std::unique(bodies.begin(), bodies.end()), bodies.end());
    if (bodies.size() > most_obstacles)
        bodies.resize(most_obstacles);
    // Which bodies are met in the window that begins at a direction and ends `need` later changes only where a window
    // runs into a block or leaves it behind.
    struct Change {
        int at;
        std::size_t body;
        int by;
    };
    std::vector<Change> changes;
    const auto met_from = [&](std::size_t body, int first, int end) {
        changes.push_back({first, body, 1});
        if (end < reach_directions)
            changes.push_back({end, body, -1});
    };
    for (const ArmBlock& block : pose.arm) {
        const auto found = std::lower_bound(bodies.begin(), bodies.end(), block.body);
        if (found == bodies.end() || *found != block.body)
            continue;
        const auto body = static_cast<std::size_t>(found - bodies.begin());
        const int first = block.first - need;
        if (block.last - first + 1 >= reach_directions) {
            met_from(body, 0, reach_directions);
            continue;
        }
        met_from(body, std::max(first, 0), block.last + 1);
        if (first < 0)
            met_from(body, reach_directions + first, reach_directions);
    }
    std::sort(changes.begin(), changes.end(), [](const Change& a, const Change& b) { return a.at < b.at; });
    std::array<int, most_obstacles> count{};
    std::uint64_t met = 0;
    std::vector<std::uint64_t> windows;
    if (changes.empty() || changes.front().at > 0)
        windows.push_back(0);
    for (std::size_t i = 0; i < changes.size(); ++i) {
        const Change& change = changes[i];
        count[change.body] += change.by;
        const std::uint64_t bit = std::uint64_t{1} << change.body;
        met = count[change.body] > 0 ? met | bit : met & ~bit;
        if (i + 1 == changes.size() || changes[i + 1].at != change.at)
            windows.push_back(met);
    }
    std::sort(windows.begin(), windows.end());
    windows.erase(std::unique(windows.begin(), windows.end()), windows.end());
    std::uint64_t stays = 0;
    for (std::size_t i = 0; i < bodies.size(); ++i)
        stays |= reach.stays[at(bodies[i])] ? std::uint64_t{1} << i : 0;
    const auto stay = [&](std::uint64_t set) {
        return 1000 * std::popcount(set & stays) + std::popcount(set & ~stays);
    };
    std::stable_sort(windows.begin(), windows.end(),
                     [&](std::uint64_t a, std::uint64_t b) { return stay(a) < stay(b); });
    std::vector<std::uint64_t> least;
    for (const std::uint64_t window : windows) {
        const bool more = std::any_of(least.begin(), least.end(), [&](std::uint64_t l) { return (l & window) == l; });
        if (!more && least.size() < most_windows)
            least.push_back(window);
    }
    std::vector<Set> sets;
    for (const std::uint64_t window : least) {
        Set set = base;
        for (std::size_t i = 0; i < bodies.size(); ++i)
            if ((window >> i) & 1U)
                set.push_back(bodies[i]);
        std::sort(set.begin(), set.end());
        set.erase(std::unique(set.begin(), set.end()), set.end());
        sets.push_back(std::move(set));
    }
    return sets;
}

int weight_of(const Reach& reach, const Set& set) {
    int weight = 0;
    for (const std::int32_t body : set)
        weight += reach.stays[at(body)] ? 1000 : 1;
    return weight;
}

/// Bodies of a set, worst first: what never goes, what the rings touch, what blocks the most directions.
void worst_first(const Reach& reach, const Stance& pose, Set& set) {
    const auto blocks = [&](std::int32_t body) {
        int count = std::binary_search(pose.under.begin(), pose.under.end(), body) ? reach_directions : 0;
        for (const ArmBlock& block : pose.arm)
            count += block.body == body ? block.last - block.first + 1 : 0;
        return count + (reach.stays[at(body)] ? 2 * reach_directions : 0);
    };
    std::stable_sort(set.begin(), set.end(), [&](std::int32_t a, std::int32_t b) { return blocks(a) > blocks(b); });
}

std::int32_t index_of(const Reach& reach, ItemId fastener, Use use) {
    if (!fastener || at(fastener.index) >= reach.of_item.size())
        return -1;
    for (const std::int32_t i : reach.of_item[at(fastener.index)])
        if (reach.list[at(i)].use == use)
            return i;
    return -1;
}

/// "down", "left": where a hand comes from, for people.
std::string side_of(const glm::dvec3& way) {
    const glm::dvec3 size = glm::abs(way);
    if (size.y >= size.x && size.y >= size.z)
        return way.y > 0 ? "from above" : "from below";
    if (size.x >= size.z)
        return way.x > 0 ? "from the left" : "from the right";
    return way.z > 0 ? "from the front" : "from the rear";
}

std::string how_of(const Reach& reach, const Stance& pose) {
    const ToolShape& shape = reach.shapes[at(pose.shape)];
    std::string text = shape.name;
    if (shape.need < 0 && (shape.name == "pliers" || shape.name == "by hand"))
        text += " " + side_of(pose.axis);
    if (pose.turned != 0)
        text += fmt::format(", turned by {} degrees", pose.turned * 360 / turned_places);
    return text;
}

} // namespace

ReachAnswer judge_reach(const Reach& reach, ItemId fastener, Use use, const Arrangement& arrangement) {
    ReachAnswer answer;
    answer.reached = index_of(reach, fastener, use);
    if (answer.reached < 0)
        return answer;
    const Reached& reached = reach.list[at(answer.reached)];
    answer.grip = reached.grip;
    if (reached.grip != Grip::tool)
        return answer;
    const Scene scene = scene_of(reach, arrangement);
    const bool measured =
        scene.lowered >= 0 && std::any_of(reached.poses.begin(), reached.poses.end(),
                                          [&](const Stance& pose) { return pose.lowered == scene.lowered; });
    const std::int32_t lowered = measured ? scene.lowered : -1;
    const auto force = [&](const Stance& pose) {
        const double lever = reach.shapes[at(pose.shape)].lever_m;
        return lever > 0 ? reached.torque_nm / lever : 0.0;
    };
    // Of several that work the first; breaking loose is best done with what needs no more than hand_force_n, else with
    // the longest lever, and the poses stand in that order.
    for (std::size_t i = 0; i < reached.poses.size(); ++i) {
        const Stance& pose = reached.poses[i];
        if (pose.lowered != lowered)
            continue;
        if (std::any_of(pose.under.begin(), pose.under.end(), [&](std::int32_t b) { return scene.there[at(b)] != 0; }))
            continue;
        const int need = reach.shapes[at(pose.shape)].need;
        const Run run = free_run(pose, scene.there);
        if (need >= 0 && run.count <= need)
            continue;
        answer.verdict = Verdict::free;
        answer.pose = static_cast<std::int32_t>(i);
        answer.first = run.first;
        answer.swing = need < 0 ? 0 : run.count - 1;
        answer.force_n = force(pose);
        return answer;
    }
    answer.verdict = Verdict::blocked;
    int least = 0;
    for (std::size_t i = 0; i < reached.poses.size(); ++i) {
        const Stance& pose = reached.poses[i];
        if (pose.lowered != lowered)
            continue;
        for (Set& set : obstacle_sets(reach, pose, &scene.there)) {
            const int weight = weight_of(reach, set);
            if (answer.pose >= 0 && weight >= least)
                continue;
            least = weight;
            answer.pose = static_cast<std::int32_t>(i);
            answer.blocked_by = std::move(set);
        }
    }
    if (answer.pose >= 0) {
        const Stance& pose = reached.poses[at(answer.pose)];
        const Run run = free_run(pose, scene.there);
        answer.first = run.first;
        answer.swing = std::max(run.count - 1, 0);
        answer.force_n = force(pose);
        worst_first(reach, pose, answer.blocked_by);
    }
    return answer;
}

std::vector<Estimate> reach_estimates(const Reach& reach) {
    std::vector<Estimate> list;
    for (const Reached& reached : reach.list) {
        if ((reached.use != Use::turn && reached.use != Use::hold) || reached.grip != Grip::tool)
            continue;
        Estimate estimate;
        estimate.item = reached.item;
        estimate.question = reached.use == Use::turn ? Question::reach : Question::counter;
        struct Kept {
            Set set;
            std::int32_t lowered;
        };
        std::vector<Kept> kept;
        for (const Stance& pose : reached.poses)
            for (Set& set : obstacle_sets(reach, pose, nullptr)) {
                const bool more = std::any_of(kept.begin(), kept.end(), [&](const Kept& k) {
                    return (k.lowered < 0 || k.lowered == pose.lowered) &&
                           std::includes(set.begin(), set.end(), k.set.begin(), k.set.end());
                });
                if (more || kept.size() >= most_alternatives)
                    continue;
                Alternative alternative;
                for (const std::int32_t body : set) {
                    const ItemId item = reach.item_of[at(body)];
                    if (!reach.stays[at(body)])
                        alternative.gone.push_back(item);
                    else if (item)
                        alternative.stays.push_back(item);
                    else
                        alternative.scenery.push_back(reach.node_of[at(body)]);
                }
                std::sort(alternative.gone.begin(), alternative.gone.end());
                std::sort(alternative.stays.begin(), alternative.stays.end());
                std::sort(alternative.scenery.begin(), alternative.scenery.end());
                alternative.never = !alternative.stays.empty() || !alternative.scenery.empty();
                if (pose.lowered >= 0)
                    alternative.lowered = reach.cases[at(pose.lowered)].parts;
                alternative.how = how_of(reach, pose);
                estimate.alternatives.push_back(std::move(alternative));
                kept.push_back({std::move(set), pose.lowered});
            }
        list.push_back(std::move(estimate));
    }
    return list;
}

std::string tool_of(const Reach& reach, const ReachAnswer& answer) {
    if (answer.reached < 0 || answer.pose < 0)
        return "";
    return how_of(reach, reach.list[at(answer.reached)].poses[at(answer.pose)]);
}

ToolPose tool_pose(const Reach& reach, const ReachAnswer& answer) {
    ToolPose drawn;
    if (answer.reached < 0 || answer.pose < 0)
        return drawn;
    const Stance& pose = reach.list[at(answer.reached)].poses[at(answer.pose)];
    const ToolShape& shape = reach.shapes[at(pose.shape)];
    drawn.tool = how_of(reach, pose);
    drawn.pivot = pose.foot;
    drawn.axis = pose.axis;
    const glm::dvec3 third = glm::cross(pose.axis, pose.zero);
    const auto along = [&](int number) {
        const glm::dvec2 d = direction_at(number);
        return pose.zero * d.x + third * d.y;
    };
    drawn.swing_from = along(answer.first);
    drawn.swing_to = along(answer.first + answer.swing);
    drawn.swing_deg = answer.swing * reach_step_deg;
    drawn.all_round = answer.swing >= reach_directions - 1;
    for (const ToolRing& ring : shape.rings)
        drawn.pieces.push_back(
            {pose.foot + pose.axis * ring.low, pose.foot + pose.axis * ring.high, ring.outer, false, false});
    if (shape.name == "by hand")
        drawn.pieces.clear();
    const ToolHandle& handle = shape.handle;
    if (handle.radius > 0)
        drawn.pieces.push_back({pose.foot + pose.axis * handle.from_height + drawn.swing_from * handle.from,
                                pose.foot + pose.axis * handle.to_height + drawn.swing_from * handle.to, handle.radius,
                                true, true});
    return drawn;
}

} // namespace boltwalk
