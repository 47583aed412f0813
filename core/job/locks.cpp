#include "core/job/locks.hpp"

#include <algorithm>
#include <deque>
#include <map>
#include <numeric>

#include <fmt/format.h>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

/// So many links are followed for one knot: a knot of a few thousand is looked at from all sides, and one of 100,000
/// from some. Larger: a map that is one great lock takes longer to say so.
constexpr std::int64_t most_links = 4000000;

/// Strongly connected components (Tarjan 1972), by a stack of our own: a chain of 100,000 must not overflow the
/// machine's. A number for each node.
std::vector<std::int32_t> knots_of(const std::vector<Waits>& list) {
    constexpr std::int32_t none = -1;
    std::vector<std::int32_t> knot(list.size(), none), met(list.size(), none), low(list.size(), 0);
    std::vector<std::size_t> next(list.size(), 0);
    std::vector<std::int32_t> path, open;
    std::int32_t clock = 0, knots = 0;
    for (std::size_t start = 0; start < list.size(); ++start) {
        if (met[start] != none)
            continue;
        path = {static_cast<std::int32_t>(start)};
        while (!path.empty()) {
            const std::int32_t here = path.back();
            if (met[at(here)] == none) {
                met[at(here)] = low[at(here)] = clock++;
                open.push_back(here);
            }
            if (next[at(here)] < list[at(here)].links.size()) {
                const std::int32_t to = list[at(here)].links[next[at(here)]++].for_what;
                if (met[at(to)] == none)
                    path.push_back(to);
                else if (knot[at(to)] == none)
                    low[at(here)] = std::min(low[at(here)], met[at(to)]);
                continue;
            }
            path.pop_back();
            if (!path.empty())
                low[at(path.back())] = std::min(low[at(path.back())], low[at(here)]);
            if (low[at(here)] != met[at(here)])
                continue;
            for (std::int32_t member = none; member != here;) {
                member = open.back();
                open.pop_back();
                knot[at(member)] = knots;
            }
            ++knots;
        }
    }
    return knot;
}

/// The ring through each member of a knot in turn; a step from one thing to do about an item to another about the same
/// costs nothing, for only items are counted (0-1 search by a double-ended queue).
class Rings {
public:
    Rings(const std::vector<Waits>& list, const std::vector<std::int32_t>& knot)
        : list_(list), knot_(knot), cost_(list.size(), 0), seen_(list.size(), 0), from_(list.size()) {}

    /// The smallest ring through one of them; empty where there is none.
    Lock through(std::int32_t start) {
        Lock lock;
        std::int64_t left = most_links;
        lock.smallest = false;
        if (ring_through(start, INT32_MAX, left) < INT32_MAX)
            lock.ring = last_;
        begin_with_the_first(lock);
        return lock;
    }

    Lock smallest(const std::vector<std::int32_t>& members) {
        Lock best;
        std::int32_t least = INT32_MAX;
        std::int64_t left = most_links;
        for (const std::int32_t start : members) {
            if (!list_[at(start)].item)
                continue;
            if (left <= 0) {
                best.smallest = false;
                break;
            }
            if (const std::int32_t cost = ring_through(start, least, left); cost < least) {
                least = cost;
                best.ring = last_;
                if (least <= 1)
                    break; // nothing is smaller
            }
        }
        begin_with_the_first(best);
        return best;
    }

private:
    struct From {
        std::int32_t node = -1;
        Rule rule = Rule::after;
    };

    static void begin_with_the_first(Lock& lock) {
        const auto first = std::min_element(lock.ring.begin(), lock.ring.end(),
                                            [](const auto& a, const auto& b) { return a.item < b.item; });
        std::rotate(lock.ring.begin(), first, lock.ring.end());
    }

    /// Less than `below`, or INT32_MAX; then last_ is the ring.
    std::int32_t ring_through(std::int32_t start, std::int32_t below, std::int64_t& left) {
        ++now_;
        std::deque<std::int32_t> queue{start};
        seen_[at(start)] = now_;
        cost_[at(start)] = 0;
        std::int32_t home = INT32_MAX;
        From last;
        while (!queue.empty()) {
            const std::int32_t here = queue.front();
            queue.pop_front();
            const std::int32_t cost = cost_[at(here)];
            if (cost >= std::min(below, home))
                break; // the queue is in the order of cost
            for (const Waits::Link& link : list_[at(here)].links) {
                --left;
                const std::int32_t to = link.for_what;
                if (knot_[at(to)] != knot_[at(start)])
                    continue;
                const bool other_item = list_[at(to)].item && list_[at(to)].item != list_[at(here)].item;
                const std::int32_t then = cost + (other_item ? 1 : 0);
                if (to == start) {
                    if (then < home) {
                        home = then;
                        last = {here, link.rule};
                    }
                    continue;
                }
                if (seen_[at(to)] == now_ && cost_[at(to)] <= then)
                    continue;
                seen_[at(to)] = now_;
                cost_[at(to)] = then;
                from_[at(to)] = {here, link.rule};
                if (other_item)
                    queue.push_back(to);
                else
                    queue.push_front(to);
            }
        }
        if (home >= below)
            return INT32_MAX;
        last_.clear();
        for (From step = last;; step = from_[at(step.node)]) {
            const ItemId item = list_[at(step.node)].item;
            // Of several things to do about one item the last is what waits for the next one.
            if (item && (last_.empty() || last_.back().item != item))
                last_.push_back({item, step.rule});
            if (step.node == start)
                break;
        }
        if (last_.size() > 1 && last_.front().item == last_.back().item)
            last_.pop_back();
        std::reverse(last_.begin(), last_.end());
        return home;
    }

    const std::vector<Waits>& list_;
    const std::vector<std::int32_t>& knot_;
    std::vector<std::int32_t> cost_;
    std::vector<std::uint32_t> seen_;
    std::vector<From> from_;
    std::vector<Lock::Member> last_;
    std::uint32_t now_ = 0;
};

/// The key by which a map states such a wait, on the one or on the other; empty for what no single key states.
std::string_view key_of(Rule rule) {
    switch (rule) {
    case Rule::after:
        return "after";
    case Rule::secured:
        return "secures";
    case Rule::joint_order:
        return "joint";
    case Rule::joined:
    case Rule::not_there:
        return "holds";
    case Rule::hold_lost:
        return "held_through";
    case Rule::loaded:
        return "loaded";
    case Rule::refit_after:
        return "refit_after";
    case Rule::torque_waits:
        return "torque_after";
    case Rule::not_transferred:
        return "transfer";
    case Rule::step:
        return "step";
    default:
        return "";
    }
}

} // namespace

std::vector<Lock> smallest_locks(const std::vector<Waits>& list) {
    return locks_through(list, {});
}

std::vector<Lock> locks_through(const std::vector<Waits>& list, const std::vector<std::int32_t>& also) {
    const std::vector<std::int32_t> knot = knots_of(list);
    std::vector<std::vector<std::int32_t>> members;
    std::vector<std::int32_t> place;
    for (std::size_t i = 0; i < list.size(); ++i) {
        if (at(knot[i]) >= place.size())
            place.resize(at(knot[i]) + 1, -1);
        if (place[at(knot[i])] < 0) {
            place[at(knot[i])] = static_cast<std::int32_t>(members.size());
            members.emplace_back();
        }
        members[at(place[at(knot[i])])].push_back(static_cast<std::int32_t>(i));
    }
    Rings rings(list, knot);
    std::vector<Lock> locks;
    for (std::vector<std::int32_t>& knotted : members) {
        std::stable_sort(knotted.begin(), knotted.end(),
                         [&](std::int32_t a, std::int32_t b) { return list[at(a)].item < list[at(b)].item; });
        Lock lock = rings.smallest(knotted);
        if (!lock.ring.empty())
            locks.push_back(std::move(lock));
    }
    for (const std::int32_t one : also) {
        Lock lock = rings.through(one);
        const bool known = std::any_of(locks.begin(), locks.end(), [&](const Lock& other) {
            return std::equal(lock.ring.begin(), lock.ring.end(), other.ring.begin(), other.ring.end(),
                              [](const auto& a, const auto& b) { return a.item == b.item; });
        });
        if (!lock.ring.empty() && !known)
            locks.push_back(std::move(lock));
    }
    return locks;
}

namespace {

/// What has to go in any case, whatever else leaves first: what joins it straight to what stays.
bool leads_to_ground(const Job& job, ItemId fastener) {
    const auto holds = job.holds[slot(job, fastener)];
    return holds.size() == 1 ||
           std::any_of(holds.begin(), holds.end(), [&](ItemId part) { return fact(job, part).fixed; });
}

bool has_link(const Lock& lock, ItemId from, ItemId to) {
    for (std::size_t i = 0; i < lock.ring.size(); ++i)
        if (lock.ring[i].item == from && lock.ring[(i + 1) % lock.ring.size()].item == to)
            return true;
    return false;
}

/// Shares a link with a smaller one, which says the same with less.
bool is_echo(const Lock& lock, const std::vector<Lock>& others) {
    for (const Lock& other : others)
        if (other.ring.size() < lock.ring.size())
            for (std::size_t i = 0; i < lock.ring.size(); ++i)
                if (has_link(other, lock.ring[i].item, lock.ring[(i + 1) % lock.ring.size()].item))
                    return true;
    return false;
}

} // namespace

std::vector<Lock> author_locks(const Job& job, const State& state, const std::vector<Action>& now,
                               std::int32_t latest_step) {
    std::vector<Waits> list;
    std::vector<Action> actions;
    std::map<std::pair<ItemId, Verb>, std::int32_t> known;
    const auto node_of = [&](const Action& action) {
        const auto [found, fresh] =
            known.emplace(std::pair{action.item, action.verb}, static_cast<std::int32_t>(list.size()));
        if (fresh) {
            list.push_back({action.item, {}});
            actions.push_back(action);
        }
        return found->second;
    };
    const auto step_of = [&](const Action& action) {
        return is_own_doing(action.verb) ? fact(job, action.item).step : -1;
    };
    std::vector<std::int32_t> through;
    through.reserve(now.size());
    for (const Action& action : now)
        through.push_back(node_of(action));
    for (std::size_t i = 0; i < actions.size(); ++i) { // grows: what is needed needs others
        const Action action = actions[i];
        std::vector<Waits::Link> links;
        for (Objection& objection : judge_stated(job, state, action)) {
            // By the time of a later step other things may have left, and this along with them.
            if (objection.rule == Rule::joined && step_of(action) > latest_step)
                std::erase_if(objection.by,
                              [&](ItemId by) { return !is_fastener(job, by) || !leads_to_ground(job, by); });
            for (const Action& first : mends(job, state, action, objection))
                if (first.item && !(first.item == action.item && first.verb == action.verb))
                    links.push_back({node_of(first), objection.rule});
        }
        list[i].links = std::move(links);
    }
    // What has a step waits for all of the steps before: for the last of them, and what that stands for.
    std::map<std::int32_t, std::vector<std::int32_t>> steps;
    for (std::size_t i = 0; i < actions.size(); ++i)
        if (const std::int32_t step = step_of(actions[i]); step >= 0)
            steps[step].push_back(static_cast<std::int32_t>(i));
    std::int32_t before = -1;
    for (const auto& [step, members] : steps) {
        if (before >= 0)
            for (const std::int32_t member : members)
                list[at(member)].links.push_back({before, Rule::step});
        Waits all;
        if (before >= 0)
            all.links.push_back({before, Rule::step});
        for (const std::int32_t member : members)
            all.links.push_back({member, Rule::step});
        before = static_cast<std::int32_t>(list.size());
        list.push_back(std::move(all));
    }
    std::vector<Lock> locks = locks_through(list, through);
    const auto is_now = [&](ItemId item) {
        return std::any_of(now.begin(), now.end(), [&](const Action& action) { return action.item == item; });
    };
    for (Lock& lock : locks) {
        const auto by_step = [](const Lock::Member& one) { return one.rule == Rule::step; };
        lock.told_by_itself = lock.ring.size() == 2 && std::any_of(lock.ring.begin(), lock.ring.end(), by_step) &&
                              std::any_of(lock.ring.begin(), lock.ring.end(),
                                          [&](const Lock::Member& one) { return !by_step(one) && is_now(one.item); });
    }
    const std::vector<Lock> all = locks;
    std::erase_if(locks, [&](const Lock& lock) { return is_echo(lock, all); });
    return locks;
}

Finding in_words(const Job& job, const Lock& lock) {
    const Map& map = *job.map;
    Finding finding;
    finding.weight = Weight::fault;
    finding.rule = "lock";
    constexpr std::size_t most_told = 4;
    std::string chain;
    std::vector<std::string> keys;
    for (std::size_t i = 0; i < lock.ring.size(); ++i) {
        const Lock::Member& member = lock.ring[i];
        const std::string& name = map[member.item].name;
        if (!names(finding.nodes, name))
            finding.nodes.push_back(name);
        if (i < most_told)
            chain += fmt::format("{}{} ({})", chain.empty() ? "" : " waits for ", name, name_of(member.rule));
        if (const std::string key(key_of(member.rule)); !key.empty() && !names(keys, key))
            keys.push_back(key);
    }
    if (lock.ring.size() > most_told)
        chain += fmt::format(" waits for {} more, the last of which", lock.ring.size() - most_told);
    std::sort(keys.begin(), keys.end());
    finding.key = keys.empty() ? "after" : keys.front();
    finding.what = fmt::format("There is no order: {} waits for {}.", chain, map[lock.ring.front().item].name);
    finding.why = fmt::format("Each of these has to wait for the next, and the last for the first{}.",
                              lock.smallest ? "; no fewer items of this knot do" : "");
    std::string stated;
    for (std::size_t i = 0; i < keys.size(); ++i)
        stated += fmt::format("{}`{}`", i == 0 ? "" : i + 1 == keys.size() ? " or " : ", ", keys[i]);
    finding.remedy = keys.empty() ? "Change what is stated about one of them."
                                  : fmt::format("Change what one of them states in {}.", stated);
    return finding;
}

} // namespace boltwalk::inside
