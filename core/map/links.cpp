// Names into items: a group's name means its members, a name that is none is a fault with the nearest one offered.

#include <algorithm>
#include <unordered_map>
#include <unordered_set>

#include <fmt/format.h>

#include "core/map/annotate.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

namespace {

enum class Wanted { any, parts, fasteners };

Wanted wanted_by(KeyId key) {
    switch (key) {
    case KeyId::holds:
    case KeyId::held_through:
    case KeyId::leaves_with:
    case KeyId::captive_in:
    case KeyId::tether:
    case KeyId::opens:
    case KeyId::target:
        return Wanted::parts;
    case KeyId::secures:
    case KeyId::carried_by:
        return Wanted::fasteners;
    default:
        return Wanted::any;
    }
}

struct Names {
    std::unordered_map<std::string_view, ItemId> items;
    std::unordered_map<std::string_view, std::int32_t> groups;
    std::unordered_set<std::string_view> others; ///< names of nodes that are neither
    std::size_t judged = 0;                      ///< names compared with unknown ones so far
};

Names index_names(const Map& map) {
    Names names;
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        names.items.emplace(map.items[i].name, ItemId{static_cast<std::int32_t>(i)}); // the first of a name counts
    }
    for (std::size_t i = 0; i < map.groups.size(); ++i) {
        names.groups.emplace(map.groups[i].name, static_cast<std::int32_t>(i));
    }
    for (const Node& node : map.nodes) {
        names.others.insert(node.name);
    }
    return names;
}

/// The item or group whose name is nearest, or empty.
std::string near_name(const Map& map, Names& names, const std::string& unknown) {
    // Every name is looked at: after so many looks the file has another problem than its spelling.
    constexpr std::size_t most_judged = 500000;
    if (names.judged > most_judged || unknown.size() > 100) {
        return {};
    }
    names.judged += map.items.size() + map.groups.size();
    const std::string word = lower_case(unknown);
    std::string best;
    std::size_t best_distance = std::min<std::size_t>(3, unknown.size() / 3 + 1);
    const auto consider = [&](const std::string& name) {
        const std::size_t longer = std::max(name.size(), word.size());
        if (longer - std::min(name.size(), word.size()) > best_distance) {
            return;
        }
        const std::size_t distance = edit_distance(word, lower_case(name), best_distance);
        if (distance < best_distance) {
            best = name;
            best_distance = distance;
        }
    };
    for (const Item& item : map.items) {
        consider(item.name);
    }
    for (const Group& group : map.groups) {
        consider(group.name);
    }
    return best;
}

bool fits(const Map& map, ItemId id, Wanted wanted) {
    return wanted == Wanted::any || (wanted == Wanted::parts ? map.is_part(id) : map.is_fastener(id));
}

std::string_view spoken(Wanted wanted) {
    return wanted == Wanted::parts ? "part" : "fastener";
}

struct Resolver {
    Annotator& annotator;
    Names& names;

    void unknown(std::int32_t node, KeyId key, const std::string& name) {
        const std::string near = near_name(annotator.map, names, name);
        if (names.others.contains(name)) {
            annotator.add(
                Weight::fault, "unknown-name", node, key_of(key).name, name,
                fmt::format("\"{}\" is a node, and it is said to be neither part, fastener, task nor group.", name),
                "The rules cannot reckon with it.", "Say on that node what it is.", {name});
            return;
        }
        annotator.add(Weight::fault, "unknown-name", node, key_of(key).name, name,
                      fmt::format("No part, fastener, task or group is named \"{}\".", name),
                      "The rules cannot reckon with it.",
                      near.empty() ? std::string("Correct the name; capitals count.")
                                   : fmt::format("Did you mean \"{}\"?", near));
    }

    void wrong_kind(std::int32_t node, KeyId key, const std::string& name) {
        annotator.add(Weight::fault, "wrong-kind", node, key_of(key).name, name,
                      fmt::format("\"{}\" is no {}.", name, spoken(wanted_by(key))),
                      fmt::format("\"{}\" takes names of {}s.", key_of(key).name, spoken(wanted_by(key))),
                      "Correct the name, or the kind of that node.", {name});
    }

    bool resolve_one(const NamesStated& list, const std::string& name, std::vector<ItemId>& out) {
        const Map& map = annotator.map;
        const Wanted wanted = wanted_by(list.key);
        const auto item = names.items.find(name);
        if (item != names.items.end()) {
            if (fits(map, item->second, wanted)) {
                out.push_back(item->second);
            } else {
                wrong_kind(list.node, list.key, name);
            }
            return true;
        }
        const auto group = names.groups.find(name);
        if (group == names.groups.end()) {
            return false;
        }
        bool any = false;
        for (const ItemId member : map.groups[static_cast<std::size_t>(group->second)].members) {
            if (fits(map, member, wanted)) {
                out.push_back(member);
                any = true;
            }
        }
        if (!any) {
            wrong_kind(list.node, list.key, name);
        }
        return true;
    }

    void resolve(NamesStated& list) {
        list.resolved = true;
        for (const std::string& name : list.names) {
            if (resolve_one(list, name, list.items)) {
                continue;
            }
            bool contradicts = false;
            if (list.key != KeyId::torque_after || !take_vehicle_word(lower_case(name), list.vehicle, contradicts)) {
                unknown(list.node, list.key, name);
            } else if (contradicts) {
                annotator.add(Weight::fault, "unreadable-value", list.node, key_of(list.key).name, name,
                              fmt::format("\"{}\" contradicts what stands before it.", name), "",
                              "State each thing about the vehicle once.");
            }
        }
        // Each item once, in the order written.
        std::unordered_set<std::int32_t> seen;
        std::erase_if(list.items, [&](ItemId id) { return !seen.insert(id.index).second; });
    }
};

std::vector<ItemId>* field_of(Map& map, ItemId id, KeyId key) {
    Item& item = map.items[static_cast<std::size_t>(id.index)];
    const auto detail = static_cast<std::size_t>(item.detail);
    switch (key) {
    case KeyId::after:
        return &item.after;
    case KeyId::refit_after:
        return &item.refit_after;
    case KeyId::refit_free:
        return &item.refit_free;
    case KeyId::not_in_way:
        return &item.not_in_way;
    case KeyId::holds:
        return &map.fasteners[detail].holds;
    case KeyId::secures:
        return &map.fasteners[detail].secures;
    case KeyId::held_through:
        return &map.fasteners[detail].held_through;
    case KeyId::torque_after:
        return &map.fasteners[detail].torque_after;
    case KeyId::tether:
        return &map.parts[detail].tether;
    case KeyId::carried_by:
        return &map.parts[detail].carried_by;
    case KeyId::opens:
        return &map.parts[detail].opens;
    case KeyId::to:
        return &map.tasks[detail].to;
    default:
        return nullptr;
    }
}

/// One part only: of several the first counts.
void set_single(Annotator& annotator, const NamesUse& use, const NamesStated& list) {
    Fastener& fastener = annotator.map.fasteners[static_cast<std::size_t>(annotator.map[use.item].detail)];
    if (list.items.empty()) {
        return;
    }
    (use.key == KeyId::leaves_with ? fastener.leaves_with : fastener.captive_in) = list.items.front();
}

} // namespace

void link(Annotator& annotator) {
    Map& map = annotator.map;
    Names names = index_names(map);
    Resolver resolver{annotator, names};
    bool told = false;
    for (const NamesUse& use : annotator.uses) {
        NamesStated& list = annotator.lists[static_cast<std::size_t>(use.list)];
        const bool first = !list.resolved;
        if (first) {
            resolver.resolve(list);
            annotator.links += list.items.size();
        }
        if (annotator.links + list.items.size() > link_limit) {
            if (!told) {
                annotator.add(Weight::fault, "too-many-names", list.node, key_of(list.key).name, "",
                              "Spelt out, the lists of names are longer than is kept.",
                              "What stands after this one is left out.", "Name groups that are smaller.");
                told = true;
            }
            continue;
        }
        annotator.links += list.items.size();
        if (use.key == KeyId::torque_after) {
            map.fasteners[static_cast<std::size_t>(map[use.item].detail)].torque_after_vehicle = list.vehicle;
        }
        std::vector<ItemId>* field = field_of(map, use.item, use.key);
        if (field == nullptr) {
            if (list.items.size() > 1 && first) {
                annotator.add(Weight::fault, "one-only", list.node, key_of(list.key).name, "",
                              "Only one part can be named here; the first one counts.", "", "Leave one name.");
            }
            set_single(annotator, use, list);
            continue;
        }
        *field = list.items;
        // A part may well open its own fluid space.
        const bool names_itself =
            use.key != KeyId::opens && std::find(field->begin(), field->end(), use.item) != field->end();
        if (names_itself) {
            std::erase(*field, use.item);
            const std::string& own = map[use.item].name;
            if (std::find(list.names.begin(), list.names.end(), own) != list.names.end()) {
                annotator.add(Weight::fault, "names-itself", map[use.item].node, key_of(use.key).name, own,
                              "The item names itself.", "Nothing can wait for itself.", "Leave its own name out.");
            }
        }
    }
    if (!annotator.target_names.empty()) {
        NamesStated list;
        list.key = KeyId::target;
        list.names = annotator.target_names;
        resolver.resolve(list);
        if (!list.items.empty()) {
            map.target = list.items.front();
        }
        if (list.items.size() > 1) {
            annotator.add(Weight::fault, "one-only", -1, "target", "",
                          "Only one part can be the target; the first one counts.", "", "Leave one name.");
        }
    }
}

} // namespace boltwalk
