// Which bolts are tightened together, in which order, in how many passes.
#include "core/job/tightening.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "core/job/card_words.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

using namespace inside;

namespace {

/// Axes that differ by less are one: the square of the cosine of 5 degrees.
constexpr double one_axis = 0.9924;

struct Seen {
    BoltPlace place{}, axis{};
};

/// Where a fastener is, in millimetres: the middle of its own mesh, for a node may have its origin anywhere; else the
/// node's origin. Its axis in the model's own axes, as a unit vector.
Seen seen_of(const Map& map, const Fastener& fastener) {
    Seen seen;
    const std::int32_t index = map[fastener.item].node;
    if (index < 0 || at(index) >= map.nodes.size()) {
        seen.axis = fastener.axis;
        return seen;
    }
    const Node& node = map.nodes[at(index)];
    BoltPlace own{};
    if (node.mesh >= 0) {
        const Mesh& mesh = map.meshes[at(node.mesh)];
        if (mesh.triangle_count > 0)
            for (std::size_t k = 0; k < 3; ++k)
                own[k] = (static_cast<double>(mesh.low[k]) + static_cast<double>(mesh.high[k])) / 2;
    }
    double length = 0;
    for (std::size_t row = 0; row < 3; ++row) {
        seen.place[row] = node.world[12 + row];
        for (std::size_t column = 0; column < 3; ++column) {
            seen.place[row] += node.world[4 * column + row] * own[column];
            seen.axis[row] += node.world[4 * column + row] * fastener.axis[column];
        }
        seen.place[row] *= 1000;
        length += seen.axis[row] * seen.axis[row];
    }
    length = std::sqrt(length);
    for (double& one : seen.axis)
        one = length > 0 ? one / length : 0;
    return seen;
}

double dot(const BoltPlace& a, const BoltPlace& b) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/// Their places in the plane that they share, so that a longer bolt does not lie elsewhere; as they are where their
/// axes differ, and then no axis is theirs.
std::vector<BoltPlace> places_of(const Map& map, const std::vector<ItemId>& items, BoltPlace& axis) {
    std::vector<Seen> seen;
    seen.reserve(items.size());
    for (const ItemId id : items)
        seen.push_back(seen_of(map, map.fastener(id)));
    axis = seen.front().axis;
    const bool parallel = std::all_of(seen.begin(), seen.end(), [&](const Seen& one) {
        const double cosine = dot(one.axis, axis);
        return cosine * cosine >= one_axis;
    });
    std::vector<BoltPlace> places;
    for (const Seen& one : seen) {
        BoltPlace place = one.place;
        const double along = parallel ? dot(place, axis) : 0;
        for (std::size_t k = 0; k < 3; ++k)
            place[k] -= along * axis[k];
        places.push_back(place);
    }
    if (!parallel)
        axis = {};
    return places;
}

/// The author's own order, bolt by bolt; what it leaves out follows. False where the pattern is no such list.
bool take_listed(const Map& map, const std::string& pattern, Tightening& made) {
    std::vector<ItemId> order;
    for (const std::string& name : split_list(pattern))
        for (const ItemId id : made.items)
            if (map[id].name == name && !names(order, id))
                order.push_back(id);
    if (order.empty())
        return false;
    const std::size_t stated = order.size();
    for (const ItemId id : made.items)
        if (!names(order, id))
            order.push_back(id);
    made.items = std::move(order);
    made.pattern = Pattern::listed;
    made.pattern_stated = true;
    made.order_words = "stated, one by one";
    if (stated < made.items.size())
        made.order_words += fmt::format("; {} that it does not name come last", made.items.size() - stated);
    return true;
}

void put_in_order(const Map& map, const std::string& pattern, Tightening& made) {
    if (take_listed(map, pattern, made))
        return;
    if (made.items.size() == 1) {
        made.pattern = Pattern::one;
        return;
    }
    BoltPlace axis{};
    const std::vector<BoltPlace> places = places_of(map, made.items, axis);
    const Pattern asked = pattern == "circle"       ? Pattern::round
                          : pattern == "centre_out" ? Pattern::centre_out
                                                    : Pattern::star;
    const TighteningOrder order = tightening_order(asked, places, axis);
    std::vector<ItemId> items;
    for (const std::size_t i : order.order)
        items.push_back(made.items[i]);
    made.items = std::move(items);
    made.pattern = order.pattern;
    made.pattern_stated = !pattern.empty();
    if (made.pattern == Pattern::two) {
        made.order_words = "turn about (common practice, no source)";
        return;
    }
    const bool as_listed = made.pattern == Pattern::listed || made.pattern == Pattern::too_many;
    const std::string found = as_listed ? std::string(name_of(order.pattern))
                                        : fmt::format("worked out from where they are: {} ({})", name_of(order.pattern),
                                                      source_of(order.pattern));
    made.order_words = pattern.empty() ? "not stated; " + found : fmt::format("stated: {}; {}", pattern, found);
}

std::vector<double> shares_of(const std::string& passes) {
    std::vector<double> shares;
    for (const std::string& piece : split_list(passes))
        if (piece.ends_with('%'))
            if (const Reading<double> share = read_number(std::string_view(piece).substr(0, piece.size() - 1)))
                shares.push_back(*share);
    return shares;
}

void put_rounds(const Fastener& fastener, Tightening& made) {
    if (!fastener.torque)
        return;
    const auto& stages = fastener.torque->stages;
    const bool several = made.items.size() > 1;
    if (stages.size() > 1) {
        made.rounds_words = "stages as stated, each all round";
        for (const TorqueStage& stage : stages)
            made.rounds.push_back({stage, 0, false});
    } else {
        std::vector<double> shares = shares_of(fastener.passes);
        made.rounds_words = "passes as stated";
        if (shares.empty()) {
            const Reading<double> number = read_number(fastener.passes);
            const int passes = number ? static_cast<int>(std::clamp(*number, 1.0, 20.0)) : 1;
            const PassShares common = pass_shares(passes);
            shares = common.percent;
            if (fastener.passes.empty())
                made.rounds_words = several ? "passes not stated: in one" : "";
            else if (passes > 1)
                made.rounds_words = fmt::format("{} passes stated, their shares not: {}", passes,
                                                common.published ? "30, 60 and 100 % as published"
                                                                 : "equal steps are common practice, no source");
        }
        TorqueStage torque = stages.front();
        const bool turns = torque.has_torque && torque.has_angle && several;
        if (turns)
            torque.has_angle = false; // all to their torque first, then all through the angle
        for (const double share : shares) {
            TorqueStage stage = torque;
            stage.low_nm *= share / 100;
            stage.high_nm *= share / 100;
            stage.has_angle = stage.has_angle && share >= 100;
            made.rounds.push_back({stage, share, false});
        }
        if (turns) {
            TorqueStage angle = stages.front();
            angle.has_torque = false;
            made.rounds.push_back({angle, 0, false});
        }
    }
    if (!made.rounds.empty())
        made.rounds.back().is_final = true;
}

void put_words(const Job& job, const Fastener& fastener, Tightening& made) {
    const Map& map = *job.map;
    const auto add = [&](const std::string& text) { made.words.push_back(text); };
    if (fastener.renew)
        add("NEW ones");
    if (fastener.hand == Hand::left)
        add("LEFT-HAND thread");
    if (fastener.kind == FastenerKind::castle_nut)
        add(slot_words(fastener));
    if (turns_by_angle(fastener))
        add("through the angle from a mark on head and part; never torqued again");
    if (is_self_locking(fastener))
        add(fastener.lock + ": what it takes to turn before it seats comes on top, and is not stated");
    else if (!fastener.lock.empty())
        add("threadlocker: " + fastener.lock);
    else if (fastener.torque)
        add("threadlocker: not stated");
    if (!fastener.condition.empty())
        add("thread " + fastener.condition);
    else if (fastener.torque)
        add("thread dry or oiled: not stated");
    if (fact(job, fastener.item).torque_waits) {
        const std::string vehicle = print_vehicle(torque_needs(job, fastener.item));
        const std::string after = list_titles(map, fastener.torque_after);
        add(fmt::format("seated first; to its torque only {}{}{}", after.empty() ? "" : "after " + after,
                        after.empty() || vehicle.empty() ? "" : " and ", vehicle.empty() ? "" : "with " + vehicle));
    }
}

/// What goes together: one flange, one size, one torque, one lock and condition of the thread.
using Alike = std::tuple<std::int32_t, int, std::int32_t, Hand, bool, bool, std::array<std::string, 5>>;

Alike alike_of(const Job& job, const Fastener& fastener) {
    const std::size_t f = slot(job, fastener.item);
    // A plug closes its own hole, what holds nothing is alone: told apart by its own slot.
    const bool alone = is_plug(fastener.kind) || fastener.holds.empty();
    const std::string torque = fastener.torque ? fastener.torque->text : "";
    return {alone ? -2 - static_cast<std::int32_t>(f) : job.kin[f],
            static_cast<int>(fastener.kind),
            fact(job, fastener.item).thread,
            fastener.hand,
            fastener.renew,
            fact(job, fastener.item).torque_waits,
            {torque, fastener.grade, fastener.lock, fastener.condition, fastener.slot}};
}

bool is_tightened_in_turn(const Job& job, ItemId id) {
    return is_fastener(job, id) && !fact(job, id).pushed && kind_of(job, id) != FastenerKind::stud;
}

/// How: what is said of it by its pattern and its passes.
using How = std::pair<std::string, std::string>;

How how_of(const Fastener& fastener) {
    return {fastener.pattern, fastener.passes};
}

/// Bolts of one flange of which some state a pattern and the others none go by that one; where two are stated, each
/// goes by its own.
std::vector<std::vector<ItemId>> by_how(const Map& map, const std::vector<ItemId>& items) {
    std::map<How, std::vector<ItemId>> ways;
    for (const ItemId id : items)
        ways[how_of(map.fastener(id))].push_back(id);
    std::vector<std::vector<ItemId>> out;
    if (ways.size() == 2 && ways.count(How{}) != 0) {
        out.push_back(items);
        return out;
    }
    for (auto& [how, list] : ways)
        out.push_back(std::move(list));
    std::sort(out.begin(), out.end());
    return out;
}

/// Of those that go together, one that states how.
const Fastener& spokesman(const Map& map, const std::vector<ItemId>& items) {
    for (const ItemId id : items)
        if (how_of(map.fastener(id)) != How{})
            return map.fastener(id);
    return map.fastener(items.front());
}

Tightening tightening_of(const Job& job, std::vector<ItemId> items) {
    const Map& map = *job.map;
    Tightening made;
    made.items = std::move(items);
    const Fastener& fastener = spokesman(map, made.items);
    std::vector<std::string> titles;
    for (const ItemId id : made.items)
        if (const std::string title = title_of(map, id); !names(titles, title) && titles.size() < 3)
            titles.push_back(title);
    for (const std::string& title : titles)
        made.title += (made.title.empty() ? "" : "; ") + title;
    made.torque = fastener.torque;
    const std::string& source = map[fastener.item].source.empty() ? map.source : map[fastener.item].source;
    if (made.torque)
        made.source = source.empty() ? "source not stated" : source;
    put_in_order(map, fastener.pattern, made);
    put_rounds(fastener, made);
    put_words(job, fastener, made);
    return made;
}

} // namespace

namespace {

/// What a way back tightens together, each set in file order.
std::vector<std::vector<ItemId>> together_in(const Job& job, const Plan& refit) {
    const Map& map = *job.map;
    std::vector<std::vector<ItemId>> flanges;
    std::map<Alike, std::size_t> known;
    for (const Step& step : refit.steps) {
        if (step.verb != Verb::tighten)
            continue;
        for (const ItemId id : step.items) {
            if (!is_tightened_in_turn(job, id))
                continue;
            const auto [found, is_new] = known.emplace(alike_of(job, map.fastener(id)), flanges.size());
            if (is_new)
                flanges.emplace_back();
            flanges[found->second].push_back(id);
        }
    }
    std::vector<std::vector<ItemId>> all;
    for (std::vector<ItemId>& flange : flanges) {
        std::sort(flange.begin(), flange.end());
        for (std::vector<ItemId>& items : by_how(map, flange))
            all.push_back(std::move(items));
    }
    return all;
}

/// Items, pattern and its words alone.
Tightening order_of(const Map& map, std::vector<ItemId> items) {
    Tightening made;
    made.items = std::move(items);
    put_in_order(map, spokesman(map, made.items).pattern, made);
    return made;
}

} // namespace

std::vector<Tightening> tightenings(const Job& job, const Plan& refit) {
    std::vector<Tightening> all;
    for (std::vector<ItemId>& items : together_in(job, refit))
        all.push_back(tightening_of(job, std::move(items)));
    return all;
}

void put_in_order_of_joints(const Job& job, Plan& refit) {
    std::map<ItemId, std::pair<std::size_t, std::size_t>> turn; // of which joint, and the how manyeth of it
    std::size_t joint = 0;
    for (std::vector<ItemId>& items : together_in(job, refit)) {
        std::size_t place = 0;
        for (const ItemId id : order_of(*job.map, std::move(items)).items)
            turn[id] = {joint, place++};
        ++joint;
    }
    for (Step& step : refit.steps) {
        if (step.verb != Verb::tighten)
            continue;
        // Those of one joint change places among themselves; what lies between them (a pin behind its nut) stays.
        std::map<std::size_t, std::vector<ItemId>> joints;
        for (const ItemId id : step.items)
            if (const auto known = turn.find(id); known != turn.end())
                joints[known->second.first].push_back(id);
        for (auto& [number, items] : joints)
            std::sort(items.begin(), items.end(),
                      [&](ItemId a, ItemId b) { return turn.at(a).second < turn.at(b).second; });
        std::map<std::size_t, std::size_t> next;
        for (ItemId& id : step.items)
            if (const auto known = turn.find(id); known != turn.end()) {
                const std::size_t own = known->second.first;
                id = joints.at(own)[next[own]++];
            }
    }
}

RestOfJoint rest_of_joint(const Job& job, const Plan& refit, std::size_t index) {
    const Map& map = *job.map;
    const Step& step = refit.steps[index];
    RestOfJoint rest;
    if (step.verb != Verb::tighten)
        return rest;
    std::vector<ItemId> own(step.items);
    std::sort(own.begin(), own.end());
    std::vector<std::int32_t> kins;
    std::vector<ItemId> others;
    for (const ItemId id : own) {
        if (!is_tightened_in_turn(job, id) || names(kins, job.kin[slot(job, id)]))
            continue;
        kins.push_back(job.kin[slot(job, id)]);
        for (const ItemId mate : job.mates[slot(job, id)])
            if (is_tightened_in_turn(job, mate) && !std::binary_search(own.begin(), own.end(), mate))
                others.push_back(mate);
    }
    if (others.empty())
        return rest;
    std::sort(others.begin(), others.end());
    std::map<ItemId, std::size_t> tightened_at;
    for (std::size_t s = 0; s < refit.steps.size(); ++s)
        if (refit.steps[s].verb == Verb::tighten)
            for (const ItemId id : refit.steps[s].items)
                if (std::binary_search(others.begin(), others.end(), id))
                    tightened_at[id] = s;
    std::map<Alike, std::vector<ItemId>> flanges;
    for (const ItemId id : own)
        if (is_tightened_in_turn(job, id))
            flanges[alike_of(job, map.fastener(id))].push_back(id);
    for (const auto& [id, at_step] : tightened_at)
        if (const auto flange = flanges.find(alike_of(job, map.fastener(id))); flange != flanges.end())
            flange->second.push_back(id);
    std::set<std::size_t> steps;
    for (auto& [alike, flange] : flanges) {
        std::sort(flange.begin(), flange.end());
        for (const std::vector<ItemId>& together : by_how(map, flange)) {
            if (std::none_of(together.begin(), together.end(), [&](ItemId id) { return names(own, id); }))
                continue;
            const std::size_t before = rest.items.size();
            for (const ItemId id : together)
                if (const auto other = tightened_at.find(id); other != tightened_at.end()) {
                    rest.items.push_back(id);
                    steps.insert(other->second);
                }
            if (rest.items.size() == before)
                continue;
            const Tightening whole = order_of(map, together);
            RestOfJoint::Order& order = rest.orders.emplace_back();
            order.stated = whole.pattern_stated && whole.pattern == Pattern::listed;
            for (const ItemId id : whole.items) {
                const auto other = tightened_at.find(id);
                order.members.push_back({id, other == tightened_at.end() ? index : other->second});
            }
        }
    }
    rest.steps.assign(steps.begin(), steps.end());
    return rest;
}

} // namespace boltwalk
