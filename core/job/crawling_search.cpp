// The search for the least crawling (see crawling.cpp for what it rests on).
#include <algorithm>
#include <deque>
#include <queue>
#include <unordered_map>

#include "core/job/crawling.hpp"

namespace boltwalk::inside {

namespace {

std::uint16_t packed(const VehicleAsk& ask) {
    std::uint16_t out = 0;
    for (const auto field : vehicle_asks)
        out = static_cast<std::uint16_t>(out * 3 + static_cast<unsigned>(ask.*field));
    return out;
}

bool opposes(const VehicleAsk& now, const VehicleAsk& ask, const VehicleAsk& need) {
    return std::any_of(std::begin(vehicle_asks), std::end(vehicle_asks), [&](auto field) {
        return ask.*field != Ask::nothing && ask.*field != now.*field && need.*field != Ask::nothing &&
               need.*field != ask.*field;
    });
}

/// All that what may follow depends on.
struct Spot {
    Bits done;
    VehicleAsk vehicle;
    std::int16_t place = -1, tool = -1;
    std::int32_t changed = 0; ///< the vehicle, by itself
    std::vector<PartState> parts;
    std::vector<ItemId> went_with;

    bool operator==(const Spot&) const = default;
};

struct SpotHash {
    std::size_t operator()(const Spot& s) const {
        std::uint64_t h = 0x9e3779b97f4a7c15U;
        const auto mix = [&](std::uint64_t word) {
            h ^= word;
            h *= 0xff51afd7ed558ccdU;
            h ^= h >> 32U;
        };
        for (const std::uint64_t word : s.done.words)
            mix(word);
        mix((std::uint64_t{packed(s.vehicle)} << 32U) | (static_cast<std::uint64_t>(s.place + 1) << 24U) |
            (static_cast<std::uint64_t>(s.tool + 1) << 8U) | static_cast<std::uint64_t>(s.changed));
        for (std::size_t p = 0; p < s.parts.size(); ++p)
            mix((static_cast<std::uint64_t>(s.parts[p]) << 32U) | static_cast<std::uint32_t>(s.went_with[p].index));
        return static_cast<std::size_t>(h);
    }
};

struct ErrandNode {
    Bits done;
    State state; ///< emptied once its followers are known
    std::int16_t place = -1, tool = -1;
    std::int32_t changed = 0;
    std::vector<Action> to_come; ///< parts still to leave
    std::vector<Dropping> dropping;
    Changes so_far;
    std::int32_t parent = -1;
    std::vector<Stop> stops; ///< what was done since the parent
};

/// How often, at least, one has to come to a place (take up a tool) along any chain of what is left.
class Arrivals {
public:
    using Where = int(Errand::*);
    Arrivals(const Errands& errands, Where where, int count) {
        const std::size_t deeds = errands.list.size();
        std::vector<std::size_t> order(deeds);
        std::vector<std::size_t> depth(deeds, 0);
        for (std::size_t i = 0; i < deeds; ++i) {
            order[i] = i;
            for (const std::uint64_t word : errands.before[i].words)
                depth[i] += static_cast<std::size_t>(std::popcount(word));
        }
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return depth[a] > depth[b]; });
        std::vector<std::vector<std::size_t>> later(deeds);
        for (std::size_t b = 0; b < deeds; ++b)
            for (std::size_t a = 0; a < deeds; ++a)
                if (errands.before[b].has(a))
                    later[a].push_back(b);
        levels_.resize(static_cast<std::size_t>(count) * 2);
        std::vector<std::array<int, 2>> most(deeds);
        for (int q = 0; q < count; ++q) {
            for (const std::size_t i : order) {
                const int here = errands.list[i].*where;
                for (const std::size_t in : {std::size_t{0}, std::size_t{1}}) {
                    const std::size_t then = here < 0 ? in : here == q ? 1 : 0;
                    int best = 0;
                    for (const std::size_t next : later[i])
                        best = std::max(best, most[next][then]);
                    most[i][in] = best + (here == q && in == 0 ? 1 : 0);
                }
            }
            for (const std::size_t in : {std::size_t{0}, std::size_t{1}}) {
                auto& levels = levels_[static_cast<std::size_t>(q) * 2 + in];
                for (std::size_t i = 0; i < deeds; ++i)
                    for (int level = 0; level < most[i][in]; ++level) {
                        if (levels.size() <= static_cast<std::size_t>(level))
                            levels.emplace_back();
                        levels[static_cast<std::size_t>(level)].add(i);
                    }
            }
        }
    }

    int still_to_come(const Bits& done, int now) const {
        int sum = 0;
        for (std::size_t q = 0; q * 2 < levels_.size(); ++q) {
            const auto& levels = levels_[q * 2 + (static_cast<int>(q) == now ? 1 : 0)];
            int most = 0;
            for (const Bits& level : levels) {
                if (level.within(done))
                    break;
                ++most;
            }
            sum += most;
        }
        return now < 0 && sum > 0 ? sum - 1 : sum; // where one begins is no change
    }

private:
    std::vector<std::vector<Bits>> levels_; ///< place or tool, twice: the deeds from which at least so many are left
};

class ErrandSearch {
public:
    ErrandSearch(const Job& job, const Errands& errands, Rules rules)
        : job_(job), map_(*job.map), e_(errands), rules_(rules), places_(errands, &Errand::place, place_count),
          tools_(errands, &Errand::tool, static_cast<int>(errands.tools.size())) {
        for (std::size_t i = 0; i < e_.list.size(); ++i)
            all_.add(i);
    }

    Found run(std::int64_t budget) {
        ErrandNode first;
        first.state = as_found(job_);
        find_dropping(first);
        put(std::move(first));
        Found found;
        while (!open_.empty()) {
            const Entry entry = open_.top();
            // The least that any order still in the queue can have; it grows as the search goes on.
            found.at_least = std::max(found.at_least, Changes{entry.place, entry.tool});
            if (nodes_[entry.node].done == all_) {
                found.proven = true;
                trace(entry.node, found.order);
                break;
            }
            if (found.nodes >= budget)
                break;
            open_.pop();
            ++found.nodes;
            expand(entry.node);
        }
        found.exhausted = open_.empty();
        return found;
    }

private:
    static constexpr int place_count = static_cast<int>(Place::inside) + 1;

    struct Entry {
        int place = 0, tool = 0; ///< at least, when it is all done
        std::size_t left = 0;    ///< deeds
        std::size_t node = 0;
        /// Least first; of equals the one nearest to its end, then the newest: std::priority_queue wants the reverse.
        bool operator<(const Entry& other) const {
            if (place != other.place)
                return place > other.place;
            if (tool != other.tool)
                return tool > other.tool;
            if (left != other.left)
                return left > other.left;
            return node < other.node;
        }
    };

    void put(ErrandNode node) {
        settle(node);
        Spot spot{node.done,    node.state.vehicle, node.place,          node.tool,
                  node.changed, node.state.parts,   node.state.went_with};
        const auto [known, fresh] = best_.emplace(std::move(spot), node.so_far);
        if (!fresh) {
            if (!(node.so_far < known->second))
                return;
            known->second = node.so_far;
        }
        Entry entry;
        entry.place = node.so_far.place + places_.still_to_come(node.done, node.place);
        entry.tool = node.so_far.tool + tools_.still_to_come(node.done, node.tool);
        for (std::size_t w = 0; w < all_.words.size(); ++w)
            entry.left += static_cast<std::size_t>(std::popcount(all_.words[w] & ~node.done.words[w]));
        entry.node = nodes_.size();
        open_.push(entry);
        nodes_.push_back(std::move(node));
    }

    void trace(std::size_t index, std::vector<Stop>& order) const {
        std::vector<std::size_t> path;
        for (auto i = static_cast<std::int32_t>(index); i >= 0; i = nodes_[at(i)].parent)
            path.push_back(at(i));
        for (auto i = path.rbegin(); i != path.rend(); ++i)
            order.insert(order.end(), nodes_[*i].stops.begin(), nodes_[*i].stops.end());
    }

    void find_dropping(ErrandNode& node) const {
        node.to_come.clear();
        for (std::size_t i = 0; i < e_.list.size(); ++i)
            if (e_.list[i].leaves && !node.done.has(i))
                node.to_come.push_back(e_.list[i].action);
        if (rules_ != Rules::order)
            node.dropping = about_to_drop(job_, node.state, node.to_come);
    }

    bool vehicle_may(const ErrandNode& node, const VehicleAsk& sets) const {
        return !asks_anything(missing(sets, node.state.vehicle)) ||
               judge_first(job_, node.state, {Verb::set_vehicle, {}, sets}).empty();
    }

    /// What the vehicle is not yet; on the bench nothing is asked of it.
    VehicleAsk lacks(const ErrandNode& node, std::size_t i) const {
        const Errand& errand = e_.list[i];
        const bool on_bench = errand.leaves && node.state.parts[slot(job_, errand.action.item)] == PartState::off;
        if (on_bench)
            return {};
        VehicleAsk needs = errand.needs;
        if (errand.undoes && needs_now(job_, node.state, errand.action).stands == Ask::yes)
            needs.stands = Ask::yes;
        return missing(needs, node.state.vehicle);
    }

    bool is_next(const ErrandNode& node, std::size_t i) const {
        return !node.done.has(i) && e_.before[i].within(node.done);
    }

    /// Could it be done now, had one the tool and were there?
    bool may(ErrandNode& node, std::size_t i) const {
        const Errand& errand = e_.list[i];
        if (!is_next(node, i) || asks_anything(lacks(node, i)) || !vehicle_may(node, errand.sets))
            return false;
        if (rules_ == Rules::all ? !judge_first(job_, node.state, errand.action).empty()
                                 : first_objection(job_, node.state, errand.action).has_value())
            return false;
        if (rules_ == Rules::order || !errand.undoes)
            return true;
        if (!is_about(map_, errand.action.item, node.dropping))
            return false;
        for (const NotAllBefore& rule : e_.holds)
            if (rule.others.has(i) && !node.done.has(rule.deed)) {
                Bits then = node.done;
                then.add(i);
                if (rule.others.within(then))
                    return false;
            }
        return !e_.nothing_hangs || !would_hang(job_, node.state, errand.action.item, node.to_come);
    }

    bool is_here(const ErrandNode& node, std::size_t i) const {
        const Errand& errand = e_.list[i];
        return (errand.place < 0 || errand.place == node.place) && (errand.tool < 0 || errand.tool == node.tool);
    }

    bool vehicle_opposed(const ErrandNode& node, const VehicleAsk& sets, std::size_t but) const {
        for (std::size_t i = 0; i < e_.list.size(); ++i)
            if (i != but && !node.done.has(i) && opposes(node.state.vehicle, sets, e_.list[i].needs))
                return true;
        return false;
    }

    /// Takes doing it now any freedom from what is left?
    bool costs_nothing(ErrandNode& node, std::size_t i) const {
        const Errand& errand = e_.list[i];
        if (asks_anything(errand.sets) && vehicle_opposed(node, errand.sets, i))
            return false;
        if (errand.holds_up)
            for (std::size_t other = 0; other < e_.list.size(); ++other) {
                const Errand& later = e_.list[other];
                const auto moves = [&](Ask to) { return to != Ask::nothing && to != node.state.vehicle.stands; };
                if (other != i && !node.done.has(other) && (moves(later.needs.stands) || moves(later.sets.stands)))
                    return false;
            }
        if (rules_ == Rules::order)
            return true;
        if (rules_ == Rules::last && errand.undoes && may_be_the_last(node, i) && !has_a_twin(node, i))
            return false;
        if (errand.undoes && !frees_something(node, i))
            return true;
        // What then hangs on nothing would have to be carried away at once, maybe from elsewhere.
        ErrandNode then;
        then.done = node.done;
        then.state = node.state;
        then.place = node.place;
        then.tool = node.tool;
        take(then, i);
        return std::all_of(then.dropping.begin(), then.dropping.end(),
                           [&](const Dropping& one) { return names(node.dropping, one) || comes_off_here(then, one); });
    }

    bool comes_off_here(ErrandNode& node, const Dropping& dropping) const {
        for (std::size_t i = 0; i < e_.list.size(); ++i)
            if (e_.list[i].leaves && names(dropping.company, e_.list[i].action.item) && is_here(node, i) &&
                may(node, i) && judge_first(job_, node.state, e_.list[i].action).empty())
                return true;
        return false;
    }

    bool frees_something(ErrandNode& node, std::size_t i) const {
        const Fastener& fastener = map_.fastener(e_.list[i].action.item);
        FastenerState& is = node.state.fasteners[slot(map_, fastener.item)];
        const FastenerState was = is;
        is = FastenerState::out;
        std::vector<ItemId> company;
        bool frees = fastener.frees_when == FreesWhen::nut_off || is_nut(fastener.kind) || !fastener.secures.empty();
        for (const ItemId part : fastener.holds)
            frees = frees || hangs_on_air(job_, node.state, part, company);
        is = was;
        return frees;
    }

    /// What nothing leaves hanging: it stays, or stands on its prop before the first of what carries it is undone.
    bool is_held(const ErrandNode& node, ItemId part) const {
        const std::size_t p = slot(map_, part);
        const Part& held = map_.parts[p];
        return held.fixed || node.state.propped[p] != 0 || node.state.parts[p] == PartState::aside ||
               node.state.parts[p] == PartState::off ||
               (!held.support.empty() && held.carried_by.empty() && !job_.carriers[p].empty());
    }

    /// Parts that would hang on nothing together, by way of this one.
    void join_company(const ErrandNode& node, ItemId part, std::vector<ItemId>& company) const {
        if (is_held(node, part) || names(company, part))
            return;
        company.push_back(part);
        for (std::size_t c = company.size() - 1; c < company.size(); ++c)
            for (const ItemId id : job_.held_by[slot(map_, company[c])])
                if (!is_freed(job_, node.state, id))
                    for (const ItemId other : map_.fastener(id).holds)
                        if (!is_held(node, other) && !names(company, other))
                            company.push_back(other);
    }

    bool touches(std::size_t i, const std::vector<ItemId>& company) const {
        const auto& holds = map_.fastener(e_.list[i].action.item).holds;
        return std::any_of(holds.begin(), holds.end(), [&](ItemId part) { return names(company, part); });
    }

    /// Does it join that company to something else?
    bool holds_up(std::size_t i, const std::vector<ItemId>& company) const {
        const Fastener& fastener = map_.fastener(e_.list[i].action.item);
        return joins(fastener) && touches(i, company) &&
               (fastener.holds.size() == 1 || !std::all_of(fastener.holds.begin(), fastener.holds.end(),
                                                           [&](ItemId part) { return names(company, part); }));
    }

    /// Of several fasteners that hold one thing, or that must not all come before something else: does it make a
    /// difference whether this one is left for the last?
    bool may_be_the_last(const ErrandNode& node, std::size_t i) const {
        for (const NotAllBefore& rule : e_.holds)
            if (rule.others.has(i) && !node.done.has(rule.deed))
                return true;
        const Fastener& fastener = map_.fastener(e_.list[i].action.item);
        if (!joins(fastener))
            return false;
        std::vector<ItemId> company;
        for (const ItemId part : fastener.holds)
            join_company(node, part, company);
        std::vector<std::size_t> on_it; // fasteners of the company that are still to be undone
        for (std::size_t g = 0; g < e_.list.size(); ++g)
            if (e_.list[g].undoes && !node.done.has(g) && touches(g, company))
                on_it.push_back(g);
        for (const std::size_t g : on_it)
            if (e_.before[g].has(i) && holds_up(g, company))
                return false; // that one comes later in any case
        for (std::size_t t = 0; t < e_.list.size(); ++t)
            if (e_.list[t].leaves && !node.done.has(t) && names(company, e_.list[t].action.item) &&
                (is_carried_elsewhere(t, company, on_it) ||
                 (e_.nothing_hangs && waits_for_others(node, t, company, on_it))))
                return true;
        return false;
    }

    /// Who undoes the last of them may have to go elsewhere to carry it away.
    bool is_carried_elsewhere(std::size_t t, const std::vector<ItemId>& company,
                              const std::vector<std::size_t>& on_it) const {
        const int to = e_.list[t].place;
        return to >= 0 && std::any_of(on_it.begin(), on_it.end(), [&](std::size_t g) {
                   return holds_up(g, company) && e_.list[g].place >= 0 && e_.list[g].place != to;
               });
    }

    /// It could not come off yet, were all undone that holds it.
    bool waits_for_others(const ErrandNode& node, std::size_t t, const std::vector<ItemId>& company,
                          const std::vector<std::size_t>& on_it) const {
        if (asks_anything(lacks(node, t)))
            return true;
        for (std::size_t r = 0; r < e_.list.size(); ++r)
            if (e_.before[t].has(r) && !node.done.has(r) && !(e_.list[r].undoes && touches(r, company)) &&
                std::none_of(on_it.begin(), on_it.end(), [&](std::size_t g) { return e_.before[g].has(r); }))
                return true;
        return false;
    }

    /// Another that could be left in its stead without any difference.
    bool has_a_twin(const ErrandNode& node, std::size_t i) const {
        const Errand& own = e_.list[i];
        for (std::size_t g = 0; g < e_.list.size(); ++g) {
            const Errand& other = e_.list[g];
            if (g == i || !other.undoes || !is_next(node, g) || other.place != own.place || other.tool != own.tool ||
                !(other.needs == own.needs) ||
                job_.kin[slot(map_, other.action.item)] != job_.kin[slot(map_, own.action.item)])
                continue;
            Bits mine = e_.later[i], its = e_.later[g];
            mine.drop(g);
            its.drop(i);
            if (mine == its)
                return true;
        }
        return false;
    }

    void take(ErrandNode& node, std::size_t i) const {
        node.done.add(i);
        apply(job_, node.state, e_.list[i].action);
        while (rules_ != Rules::all && e_.company->follow(job_, node.state)) {
        }
        node.stops.push_back({static_cast<std::int32_t>(i), {}});
        find_dropping(node);
    }

    /// Does whatever can be done from here with this tool and costs nothing: what leaves first, then as the plan has
    /// it.
    void settle(ErrandNode& node) const {
        for (bool again = true; again;) {
            again = false;
            for (const bool leaving : {true, false})
                for (std::size_t i = 0; i < e_.list.size() && !again; ++i)
                    if (e_.list[i].leaves == leaving && is_here(node, i) && may(node, i) && costs_nothing(node, i)) {
                        take(node, i);
                        again = true;
                    }
        }
    }

    ErrandNode next_of(const ErrandNode& node, std::size_t index) const {
        ErrandNode next = node;
        next.parent = static_cast<std::int32_t>(index);
        next.stops.clear();
        return next;
    }

    void expand(std::size_t index) {
        ErrandNode node = std::move(nodes_[index]);
        nodes_[index].parent = node.parent;
        nodes_[index].stops = node.stops;
        std::vector<std::uint8_t> tools(e_.tools.size(), 0);
        std::array<std::uint8_t, place_count> places{};
        for (std::size_t i = 0; i < e_.list.size(); ++i) {
            if (!may(node, i))
                continue;
            const Errand& errand = e_.list[i];
            if (is_here(node, i)) {
                ErrandNode next = next_of(node, index);
                take(next, i);
                put(std::move(next));
            } else if (errand.place >= 0 && errand.place != node.place) {
                places[static_cast<std::size_t>(errand.place)] = 1;
            } else {
                tools[static_cast<std::size_t>(errand.tool)] = 1;
            }
        }
        for (std::size_t t = 0; t < tools.size(); ++t)
            if (tools[t] != 0) {
                ErrandNode next = next_of(node, index);
                next.so_far.tool += node.tool >= 0 ? 1 : 0;
                next.tool = static_cast<std::int16_t>(t);
                put(std::move(next));
            }
        for (std::size_t p = 0; p < places.size(); ++p)
            if (places[p] != 0) {
                ErrandNode next = next_of(node, index);
                next.so_far.place += node.place >= 0 ? 1 : 0;
                next.place = static_cast<std::int16_t>(p);
                put(std::move(next));
            }
        if (node.changed < e_.vehicle_changes)
            change_vehicle(node, index);
    }

    void change_vehicle(const ErrandNode& node, std::size_t index) {
        std::vector<VehicleAsk> asks;
        for (std::size_t i = 0; i < e_.list.size(); ++i) {
            if (node.done.has(i))
                continue;
            VehicleAsk ask = lacks(node, i);
            if (!asks_anything(ask) && lacks_chocks(node.state.vehicle, e_.list[i].sets))
                ask.chocked = Ask::yes;
            if (!asks_anything(ask))
                continue;
            if (lacks_chocks(node.state.vehicle, ask))
                ask.chocked = Ask::yes;
            if (vehicle_may(node, ask) && std::find(asks.begin(), asks.end(), ask) == asks.end())
                asks.push_back(ask);
        }
        for (const VehicleAsk& ask : asks) {
            ErrandNode next = next_of(node, index);
            apply(job_, next.state, {Verb::set_vehicle, {}, ask});
            ++next.changed;
            next.stops.push_back({-1, ask});
            find_dropping(next);
            put(std::move(next));
        }
    }

    const Job& job_;
    const Map& map_;
    const Errands& e_;
    Rules rules_;
    Arrivals places_, tools_;
    Bits all_;
    std::vector<ErrandNode> nodes_;
    std::priority_queue<Entry> open_;
    std::unordered_map<Spot, Changes, SpotHash> best_;
};

} // namespace

Found search_least_crawling(const Job& job, const Errands& errands, Rules rules, std::int64_t budget) {
    return ErrandSearch(job, errands, rules).run(budget);
}

} // namespace boltwalk::inside
