#include "core/table/compare.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "core/geometry/solids.hpp"
#include "core/job/job.hpp"
#include "core/log/log.hpp"
#include "core/table/extras.hpp"

namespace boltwalk {

using namespace table_inside;

namespace {

/// What a modelling tool's own arithmetic adds on a second export is less; no fastener's place is known closer.
constexpr double least_move_mm = 0.1;
/// Of an entry of a rotation: about half a degree.
constexpr double least_turn = 0.01;

struct Side {
    const Map& map;
    Extras extras;
    Solids solids;
    Plan strip;

    Side(const Map& m, std::span<const std::byte> file)
        : map(m), extras(file), solids(make_solids(m)), strip(plan_strip(prepare(m))) {}

    /// What holds for an item: its own, else its group's where that is passed on.
    std::string stated(const Item& item, const Key& key) const {
        std::string own = extras.text(item.node, key.name);
        if (!own.empty() || !key.inherited || item.group < 0)
            return own;
        return extras.text(map.groups[static_cast<std::size_t>(item.group)].node, key.name);
    }
    std::string title(const Item& item) const {
        return item.group >= 0 ? map.groups[static_cast<std::size_t>(item.group)].title : item.title;
    }
};

/// The differences in the order in which they are told; those that are alike become one.
class Told {
public:
    void add(MapDifference difference) {
        const auto tenth = static_cast<long long>(difference.moved_mm / least_move_mm);
        const auto [known, fresh] = index_.emplace(
            std::tuple(difference.what, difference.title, difference.key, difference.before, difference.after, tenth),
            all.size());
        if (fresh)
            all.push_back(std::move(difference));
        else
            all[known->second].names.insert(all[known->second].names.end(), difference.names.begin(),
                                            difference.names.end());
    }
    std::vector<MapDifference> all;

private:
    std::map<std::tuple<Changed, std::string, std::string, std::string, std::string, long long>, std::size_t> index_;
};

/// A modelling tool that keeps numbers as floats writes 8.8 as 8.800000190734863: the same figure.
bool same_value(const std::string& a, const std::string& b) {
    if (a == b)
        return true;
    const auto x = read_number(a), y = read_number(b);
    constexpr double of_a_float = 1e-6;
    return x && y && std::fabs(*x - *y) <= of_a_float * std::max(std::fabs(*x), std::fabs(*y));
}

/// Items of the second map by item of the first; none: gone. What kept its name counts as the same, whatever became of
/// its shape.
std::vector<ItemId> pairs_of(const Side& a, const Side& b) {
    std::vector<ItemId> pairs = match(snapshot_of(a.map), snapshot_of(b.map)).items;
    std::map<std::string, ItemId> by_name;
    for (std::size_t i = 0; i < b.map.items.size(); ++i)
        by_name.emplace(b.map.items[i].name, ItemId{static_cast<std::int32_t>(i)});
    std::vector<bool> taken(b.map.items.size(), false);
    for (const ItemId id : pairs)
        if (id)
            taken[static_cast<std::size_t>(id.index)] = true;
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        if (pairs[i])
            continue;
        const auto found = by_name.find(a.map.items[i].name);
        const ItemId same_name = found == by_name.end() ? ItemId{} : found->second;
        if (same_name && !taken[static_cast<std::size_t>(same_name.index)] &&
            b.map[same_name].kind == a.map.items[i].kind) {
            pairs[i] = same_name;
            taken[static_cast<std::size_t>(same_name.index)] = true;
        }
    }
    return pairs;
}

void compare_facts(const Side& a, const Side& b, const Item& was, const Item& is, Told& told) {
    for (const Key& key : all_keys()) {
        if (key.id == KeyId::id || key.id == KeyId::group || key.id == KeyId::count)
            continue;
        std::string before = a.stated(was, key), after = b.stated(is, key);
        if (!same_value(before, after))
            told.add(
                {Changed::fact, {is.name}, b.title(is), std::string(key.name), std::move(before), std::move(after)});
    }
    if (was.name != is.name)
        told.add({Changed::fact, {is.name}, b.title(is), "name", was.name, is.name});
}

void compare_shapes(const Side& a, const Side& b, const std::vector<ItemId>& pairs, Told& told) {
    const Snapshot before = snapshot_of(a.map), after = snapshot_of(b.map);
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        if (!pairs[i])
            continue;
        const auto other = static_cast<std::size_t>(pairs[i].index);
        const Item& is = b.map.items[other];
        if (before.items[i].shape != after.items[other].shape) {
            told.add({Changed::shape, {is.name}, b.title(is), "", "", ""});
            continue;
        }
        // Turned on the spot: a column of its axes points elsewhere.
        const auto& then = a.map.nodes[static_cast<std::size_t>(a.map.items[i].node)].world;
        const auto& now = b.map.nodes[static_cast<std::size_t>(is.node)].world;
        double turned = 0;
        for (const std::size_t k : {0U, 1U, 2U, 4U, 5U, 6U, 8U, 9U, 10U})
            turned = std::max(turned, std::fabs(then[k] - now[k]));
        if (turned > least_turn)
            told.add({Changed::place, {is.name}, b.title(is), "axes", "", ""});
        const std::int32_t body_a = a.solids.body_of[i], body_b = b.solids.body_of[other];
        if (body_a < 0 || body_b < 0)
            continue;
        const double moved = 1000 * glm::length(b.solids.bodies[static_cast<std::size_t>(body_b)].bounds.centre() -
                                                a.solids.bodies[static_cast<std::size_t>(body_a)].bounds.centre());
        if (moved >= least_move_mm)
            told.add({Changed::place, {is.name}, b.title(is), "", "", "", moved});
    }
}

/// By item: the step that takes it off or out, from 1; 0: none.
std::vector<int> steps_of(const Side& side) {
    std::vector<int> out(side.map.items.size(), 0);
    for (std::size_t s = 0; s < side.strip.steps.size(); ++s)
        for (const ItemId item : side.strip.steps[s].items)
            out[static_cast<std::size_t>(item.index)] = static_cast<int>(s) + 1;
    return out;
}

/// What left its place among the others: not on a longest run of items whose steps rise in both maps.
void compare_orders(const Side& a, const Side& b, const std::vector<ItemId>& pairs, Told& told) {
    struct Both {
        int before = 0, after = 0;
        std::size_t item = 0;
    };
    const std::vector<int> first = steps_of(a), second = steps_of(b);
    std::vector<Both> both;
    for (std::size_t i = 0; i < pairs.size(); ++i)
        if (pairs[i] && first[i] > 0 && second[static_cast<std::size_t>(pairs[i].index)] > 0)
            both.push_back({first[i], second[static_cast<std::size_t>(pairs[i].index)], i});
    std::sort(both.begin(), both.end(), [](const Both& x, const Both& y) {
        return std::tie(x.before, x.after, x.item) < std::tie(y.before, y.after, y.item);
    });
    // Longest run that never falls, by the piles of patience sorting.
    std::vector<std::size_t> piles, under(both.size(), SIZE_MAX);
    for (std::size_t i = 0; i < both.size(); ++i) {
        const auto pile = std::upper_bound(piles.begin(), piles.end(), both[i].after,
                                           [&](int after, std::size_t top) { return after < both[top].after; });
        if (pile != piles.begin())
            under[i] = *(pile - 1);
        if (pile == piles.end())
            piles.push_back(i);
        else
            *pile = i;
    }
    std::vector<bool> stays(both.size(), false);
    for (std::size_t i = piles.empty() ? SIZE_MAX : piles.back(); i != SIZE_MAX; i = under[i])
        stays[i] = true;
    for (std::size_t i = 0; i < both.size(); ++i) {
        if (stays[i])
            continue;
        const Item& is = b.map[pairs[both[i].item]];
        told.add({Changed::order,
                  {is.name},
                  b.title(is),
                  "",
                  fmt::format("step {}", both[i].before),
                  fmt::format("step {}", both[i].after)});
    }
}

void compare_scenes(const Map& a, const Map& b, Told& told) {
    const auto differs = [&](const char* key, const std::string& before, const std::string& after) {
        if (before != after)
            told.add({Changed::job, {}, "", key, before, after});
    };
    const auto joined = [](const std::vector<std::string>& list) {
        std::string out;
        for (const std::string& one : list)
            out += (out.empty() ? "" : "; ") + one;
        return out;
    };
    differs("job", a.job, b.job);
    differs("vehicle", a.vehicle, b.vehicle);
    differs("target", a.target ? a[a.target].name : "", b.target ? b[b.target].name : "");
    differs("caution", joined(a.cautions), joined(b.cautions));
    differs("source", a.source, b.source);
    for (const Group& group : a.groups) {
        const std::int32_t other = find_group(b, group.name);
        if (other < 0) {
            told.add({Changed::gone, {group.name}, group.title, "group", "", ""});
            continue;
        }
        const Group& now = b.groups[static_cast<std::size_t>(other)];
        const auto count = [](const Group& g) { return g.count ? std::to_string(*g.count) : std::string(); };
        if (count(group) != count(now))
            told.add({Changed::fact, {now.name}, now.title, "count", count(group), count(now)});
        if (group.title != now.title)
            told.add({Changed::fact, {now.name}, now.title, "group", group.title, now.title});
    }
    for (const Group& group : b.groups)
        if (find_group(a, group.name) < 0)
            told.add({Changed::added, {group.name}, group.title, "group", "", ""});
}

constexpr std::array<std::string_view, 7> words{"job", "gone", "new", "states", "moved", "shape", "order"};

} // namespace

std::string_view name_of(Changed what) {
    return words[static_cast<std::size_t>(what)];
}

std::vector<MapDifference> compare_maps(const Map& first, std::span<const std::byte> first_file, const Map& second,
                                        std::span<const std::byte> second_file) {
    const Side a(first, first_file), b(second, second_file);
    const std::vector<ItemId> pairs = pairs_of(a, b);
    Told told;
    compare_scenes(first, second, told);
    std::vector<bool> met(second.items.size(), false);
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        if (pairs[i])
            met[static_cast<std::size_t>(pairs[i].index)] = true;
        else
            told.add({Changed::gone, {first.items[i].name}, a.title(first.items[i]), "", "", ""});
    }
    for (std::size_t i = 0; i < met.size(); ++i)
        if (!met[i])
            told.add({Changed::added, {second.items[i].name}, b.title(second.items[i]), "", "", ""});
    for (std::size_t i = 0; i < pairs.size(); ++i)
        if (pairs[i])
            compare_facts(a, b, first.items[i], second[pairs[i]], told);
    compare_shapes(a, b, pairs, told);
    compare_orders(a, b, pairs, told);
    std::stable_sort(told.all.begin(), told.all.end(),
                     [](const MapDifference& x, const MapDifference& y) { return x.what < y.what; });
    return std::move(told.all);
}

std::string sentence_of(const MapDifference& d) {
    std::string who = few_of(d.names);
    if (!d.title.empty() && (d.names.size() != 1 || d.title != d.names.front()))
        who = fmt::format("{} ({})", d.title, who);
    const auto or_nothing = [](const std::string& text) { return text.empty() ? std::string("not stated") : text; };
    switch (d.what) {
    case Changed::gone:
        return who + ": not on the second map";
    case Changed::added:
        return who + ": only on the second map";
    case Changed::place:
        return d.key == "axes" ? who + ": is turned"
                               : fmt::format("{}: sits {} mm from where it sat", who, print_number(d.moved_mm, 1));
    case Changed::shape:
        return who + ": of another shape";
    case Changed::order:
        return fmt::format("{}: comes at {}, came at {}", who, d.after, d.before);
    default:
        return fmt::format("{}{}{}: {}, was: {}", who, who.empty() ? "" : ": ", d.key, or_nothing(d.after),
                           or_nothing(d.before));
    }
}

std::vector<std::string> figures_without_source(const Map& map) {
    std::vector<std::string> out;
    if (!map.source.empty())
        return out; // it stands for every figure that has no other
    for (const Item& item : map.items) {
        bool figure = false;
        if (item.kind == ItemKind::fastener) {
            const Fastener& fastener = map.fasteners[static_cast<std::size_t>(item.detail)];
            figure = fastener.torque || fastener.thread || fastener.length_mm;
        } else if (item.kind == ItemKind::part) {
            const Part& part = map.parts[static_cast<std::size_t>(item.detail)];
            figure = part.mass_kg || part.amount_l;
        }
        if (figure && item.source.empty() && std::find(out.begin(), out.end(), item.title) == out.end())
            out.push_back(item.title);
    }
    return out;
}

} // namespace boltwalk
