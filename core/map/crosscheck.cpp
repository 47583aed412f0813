// What is well written and yet cannot be, or is probably wrong: names that stand twice, counts that differ, fasteners
// that hold nothing, a drive that no such thread is sold with, a scale that is none of a bolt's.

#include <algorithm>
#include <cmath>
#include <map>
#include <unordered_map>

#include <fmt/format.h>

#include "core/map/annotate.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

namespace {

/// A scale differs between axes, or axes are not square to each other, by more than this share: exporters round.
constexpr double scale_tolerance = 1e-3;

/// No fastener of a vehicle is larger or smaller than that; one that is was drawn in another unit.
constexpr double largest_fastener_m = 2;
constexpr double smallest_fastener_m = 0.0005;

void check_names(Annotator& annotator) {
    Map& map = annotator.map;
    // Only names that an item or a group has matter; scenery may be named as it likes.
    std::unordered_map<std::string_view, std::vector<std::int32_t>> nodes_of;
    for (const Item& item : map.items) {
        nodes_of[item.name];
    }
    for (const Group& group : map.groups) {
        nodes_of[group.name];
    }
    for (std::size_t i = 0; i < map.nodes.size(); ++i) {
        const auto named = nodes_of.find(map.nodes[i].name);
        if (map.nodes[i].in_scene && named != nodes_of.end()) {
            named->second.push_back(static_cast<std::int32_t>(i));
        }
    }
    const auto check = [&](std::int32_t node) {
        const std::string& name = annotator.name_of_node(node);
        const auto named = nodes_of.find(name);
        if (named != nodes_of.end() && named->second.size() > 1) {
            annotator.add(Weight::fault, "two-of-one-name", node, "", name,
                          fmt::format("{} nodes are named \"{}\".", named->second.size(), name),
                          "Whoever names one of them may mean another.", "Give each node a name of its own.",
                          std::vector<std::string>(named->second.size() > 8 ? 7 : named->second.size() - 1, name));
            nodes_of.erase(named);
        }
        if (name.find(';') != std::string::npos) {
            annotator.add(Weight::fault, "name-with-semicolon", node, "", name, "The name holds a semicolon.",
                          "Semicolons separate names: nobody can name this node.", "Take the semicolon out.");
        }
        if (printable(name) != name) {
            annotator.add(Weight::doubt, "name-unseen", node, "", name,
                          "The name holds characters that are not seen, or that reorder others.",
                          "It reads otherwise than it is.", "Type the name anew.");
        }
    };
    for (const Group& group : map.groups) {
        check(group.node);
    }
    for (const Item& item : map.items) {
        check(item.node);
    }
}

void check_unnamed(Annotator& annotator) {
    const Map& map = annotator.map;
    for (const Item& item : map.items) {
        const bool unnamed = !annotator.nodes.named[static_cast<std::size_t>(item.node)];
        if (unnamed) {
            annotator.add(Weight::doubt, "unnamed", item.node, "", "", "The node has no name.",
                          "Nothing can refer to it, and a log cannot find it again.", "Name it.");
        }
    }
}

void check_ids(Annotator& annotator) {
    std::unordered_map<std::string_view, ItemId> first;
    const Map& map = annotator.map;
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const Item& item = map.items[i];
        if (item.id.empty()) {
            continue;
        }
        const auto [known, fresh] = first.emplace(item.id, ItemId{static_cast<std::int32_t>(i)});
        if (!fresh) {
            annotator.add(Weight::fault, "two-of-one-id", item.node, "id", item.id,
                          fmt::format("\"{}\" has the same id.", map[known->second].name),
                          "A log would take one for the other. Copying an object copies its id.",
                          "Take the key \"id\" off the copy; saving gives it one of its own.",
                          {map[known->second].name});
        }
    }
}

/// Washers, pins and the like: counted only where nothing else is.
bool is_beside(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::washer:
    case FastenerKind::spacer:
    case FastenerKind::shim:
    case FastenerKind::split_pin:
    case FastenerKind::pin:
    case FastenerKind::lock_wire:
    case FastenerKind::tab:
        return true;
    default:
        return false;
    }
}

void check_counts(Annotator& annotator) {
    const Map& map = annotator.map;
    for (const Group& group : map.groups) {
        if (group.members.empty()) {
            annotator.add(Weight::doubt, "empty-group", group.node, "group", group.title, "The group has no members.",
                          "",
                          "Put its parts or fasteners below it, or say on it what kind of fastener its meshes are.");
        }
        if (!group.count) {
            continue;
        }
        std::map<FastenerKind, int> kinds;
        int all = 0;
        int main = 0;
        for (const ItemId id : group.members) {
            if (map.is_fastener(id)) {
                const FastenerKind kind = map.fastener(id).kind;
                ++all;
                if (!is_beside(kind)) {
                    ++main;
                    ++kinds[kind];
                }
            }
        }
        const bool each_kind = !kinds.empty() && std::all_of(kinds.begin(), kinds.end(), [&](const auto& kind) {
            return kind.second == *group.count;
        });
        if (*group.count == all || (main > 0 && *group.count == main) || each_kind) {
            continue;
        }
        std::string list;
        for (const auto& [kind, number] : kinds) {
            list += fmt::format("{}{} {}", list.empty() ? "" : ", ", number, spoken(kind));
        }
        annotator.add(Weight::fault, "count", group.node, "count", std::to_string(*group.count),
                      fmt::format("The group has {} fasteners{}, not {}.", all, list.empty() ? "" : " (" + list + ")",
                                  *group.count),
                      "One that the manual counts and the map lacks stays in while somebody pries.",
                      "Add what is missing, take out what is too much, or correct the count.");
    }
}

void check_scale(Annotator& annotator, const Item& item) {
    const auto& m = annotator.map.nodes[static_cast<std::size_t>(item.node)].world;
    const auto dot = [&](std::size_t a, std::size_t b) {
        return m[a * 4] * m[b * 4] + m[a * 4 + 1] * m[b * 4 + 1] + m[a * 4 + 2] * m[b * 4 + 2];
    };
    const std::array<double, 3> lengths{std::sqrt(dot(0, 0)), std::sqrt(dot(1, 1)), std::sqrt(dot(2, 2))};
    const double longest = *std::max_element(lengths.begin(), lengths.end());
    const double shortest = *std::min_element(lengths.begin(), lengths.end());
    const double slant = std::max({std::fabs(dot(0, 1)), std::fabs(dot(0, 2)), std::fabs(dot(1, 2))});
    const double determinant =
        m[0] * (m[5] * m[10] - m[6] * m[9]) - m[4] * (m[1] * m[10] - m[2] * m[9]) + m[8] * (m[1] * m[6] - m[2] * m[5]);
    const std::string value = fmt::format("{:.4g} {:.4g} {:.4g}", lengths[0], lengths[1], lengths[2]);
    constexpr std::string_view remedy = "Apply the object's scale (and its parents'), or place a copy by turning it.";
    if (!(shortest > 0)) {
        annotator.add(Weight::doubt, "scale", item.node, "scale", value, "The fastener is scaled to nothing.",
                      "It can be neither seen nor picked.", std::string(remedy));
    } else if (determinant < 0) {
        annotator.add(Weight::doubt, "scale", item.node, "scale", value, "The fastener is mirrored.",
                      "A mirrored thread is a left-hand one, and its axis may point the wrong way.",
                      std::string(remedy));
    } else if (longest - shortest > scale_tolerance * longest || slant > scale_tolerance * longest * longest) {
        annotator.add(Weight::doubt, "scale", item.node, "scale", value,
                      "The fastener is stretched: its scale differs between axes.",
                      "Its head and length are no longer what they are drawn to.", std::string(remedy));
    }
}

FastenerForm form_of(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::bolt:
    case FastenerKind::screw:
        return FastenerForm::bolt;
    case FastenerKind::nut:
        return FastenerForm::nut;
    case FastenerKind::castle_nut:
        return FastenerForm::castle_nut;
    case FastenerKind::stud:
        return FastenerForm::stud;
    case FastenerKind::plug:
    case FastenerKind::drain_plug:
    case FastenerKind::fill_plug:
    case FastenerKind::level_plug:
        return FastenerForm::plug;
    default:
        return FastenerForm::other;
    }
}

/// Findings about what a group states stand at the group, once.
struct ThreadChecks {
    Annotator& annotator;
    std::unordered_map<std::string, bool> told;

    void check(const Fastener& fastener) {
        const Item& item = annotator.map[fastener.item];
        if (!fastener.thread) {
            return;
        }
        const std::int32_t thread_at = annotator.stating(item, KeyId::thread);
        if (fastener.thread->series == ThreadSeries::unlisted &&
            told.emplace(fmt::format("thread {}", thread_at), true).second) {
            annotator.add(Weight::note, "thread-unlisted", thread_at, "thread", fastener.thread->name,
                          fmt::format("{} is in none of the tables of ISO 261, ISO 262, the unified series or pipe "
                                      "threads.",
                                      fastener.thread->name),
                          "Odd threads are real; so are slips of the pen.", "Measure it if the manual is not at hand.");
        }
        if (!fastener.drive) {
            return;
        }
        const std::int32_t drive_at = annotator.stating(item, KeyId::drive);
        std::string series;
        const Sold sold = is_sold(*fastener.thread, *fastener.drive, form_of(fastener.kind), fastener.head, &series);
        if (sold != Sold::not_listed ||
            !told.emplace(fmt::format("drive {} {} {} {}", drive_at, static_cast<int>(form_of(fastener.kind)),
                                      fastener.thread->name, fastener.drive->name),
                          true)
                 .second) {
            return;
        }
        annotator.add(
            Weight::doubt, "drive-not-sold", drive_at, "drive", fastener.drive->name,
            fmt::format("No series known here sells {} with {}.", fastener.thread->name, fastener.drive->name),
            "The wrong socket rounds a head that cannot be seen.",
            series.empty() ? std::string("Measure the head, or look at the manual.")
                           : series + "; measure the head, or look at the manual.");
    }
};

void check_pattern(Annotator& annotator, const Fastener& fastener, std::unordered_map<std::string, bool>& told) {
    const Map& map = annotator.map;
    const std::vector<std::string_view> words = choices_of(key_of(KeyId::pattern));
    if (fastener.pattern.empty() ||
        std::find(words.begin(), words.end(), lower_case(fastener.pattern)) != words.end()) {
        return;
    }
    const Item& item = map[fastener.item];
    const std::string slot = fmt::format("{} {}", item.group, fastener.pattern);
    if (!told.emplace(slot, true).second) {
        return;
    }
    for (const std::string& name : split_list(fastener.pattern)) {
        const auto named = annotator.item_of_name.find(name);
        if (named != annotator.item_of_name.end() && map.is_fastener(named->second)) {
            continue;
        }
        const auto near = near_choice(key_of(KeyId::pattern), name);
        annotator.add(Weight::fault, "unknown-name", item.node, "pattern", name,
                      fmt::format("\"{}\" is no pattern, and no fastener is named so.", name),
                      "The order of tightening cannot be shown.",
                      near ? fmt::format("Did you mean \"{}\"?", *near)
                           : "Write star, circle or centre_out, or the fasteners' names in order.");
    }
}

void check_fasteners(Annotator& annotator) {
    const Map& map = annotator.map;
    ThreadChecks threads{annotator, {}};
    std::unordered_map<std::string, bool> patterns;
    std::unordered_map<std::string_view, bool> joint_holds;
    for (const Fastener& fastener : map.fasteners) {
        if (!fastener.joint.empty()) {
            joint_holds[fastener.joint] = joint_holds[fastener.joint] || !fastener.holds.empty();
        }
    }
    for (const Fastener& fastener : map.fasteners) {
        const Item& item = map[fastener.item];
        check_scale(annotator, item);
        threads.check(fastener);
        check_pattern(annotator, fastener, patterns);
        const bool joined = !fastener.joint.empty() && joint_holds[fastener.joint];
        const bool of_a_joint = is_beside(fastener.kind) && !fastener.joint.empty();
        if (fastener.holds.empty() && !joined && fastener.secures.empty() && !of_a_joint) {
            annotator.add(Weight::doubt, "holds-nothing", item.node, "holds", "",
                          fmt::format("It is not stated what this {} holds.", spoken(fastener.kind)),
                          "So nothing waits for it, and nothing says when it must be out.",
                          "Name the parts in \"holds\", joined by \";\".");
        }
        if (!fastener.slot.empty() && fastener.kind != FastenerKind::castle_nut) {
            annotator.add(Weight::doubt, "wrong-place", item.node, "slot", fastener.slot,
                          fmt::format("A {} has no slots.", spoken(fastener.kind)), "",
                          "Say \"castle_nut\" if it is one, or leave the key out.");
        }
    }
}

void check_parts(Annotator& annotator) {
    const Map& map = annotator.map;
    std::vector<bool> held(map.items.size(), false);
    for (const Fastener& fastener : map.fasteners) {
        for (const ItemId id : fastener.holds) {
            held[static_cast<std::size_t>(id.index)] = true;
        }
    }
    bool any_fixed = false;
    for (const Part& part : map.parts) {
        any_fixed = any_fixed || part.fixed;
        const Item& item = map[part.item];
        // A hose hangs on what it joins; a gasket that waits for its cover was not forgotten by its author.
        if (part.fixed || part.flexible || !item.after.empty() || held[static_cast<std::size_t>(part.item.index)]) {
            continue;
        }
        annotator.add(Weight::doubt, "held-by-nothing", item.node, "part", item.title, "No fastener holds this part.",
                      "It could be taken off first of all, or falls off: both are seldom meant.",
                      "Name it in \"holds\" of the fasteners that hold it, or say \"fixed\" if it stays.");
    }
    if (!any_fixed && !map.parts.empty() && !map.fasteners.empty()) {
        annotator.add(Weight::doubt, "nothing-fixed", -1, "fixed", "", "No part is said to stay.",
                      "What comes off comes off something.", "Say \"fixed\" on the body or frame that stays.");
    }
}

/// One doubt for all of them: where one fastener is a thousand times too large, they all are.
void check_sizes(Annotator& annotator) {
    const Map& map = annotator.map;
    std::size_t count = 0;
    std::int32_t first = -1;
    double first_size = 0;
    for (const Node& node : map.nodes) {
        if (!node.item || node.mesh < 0 || !map.is_fastener(node.item)) {
            continue;
        }
        const Mesh& mesh = map.meshes[static_cast<std::size_t>(node.mesh)];
        double size = 0;
        for (std::size_t axis = 0; axis < 3 && mesh.triangle_count > 0; ++axis) {
            const double* column = &node.world[axis * 4];
            const double scale = std::sqrt(column[0] * column[0] + column[1] * column[1] + column[2] * column[2]);
            const double extent = static_cast<double>(mesh.high[axis]) - static_cast<double>(mesh.low[axis]);
            size = std::max(size, extent * scale);
        }
        const bool odd = size > largest_fastener_m || (size < smallest_fastener_m && size > 0);
        if (odd && count++ == 0) {
            first = map[node.item].node;
            first_size = size;
        }
    }
    if (count > 0) {
        annotator.add(Weight::doubt, "absurd-size", first, "", fmt::format("{:.4g} m", first_size),
                      fmt::format("{} fastener(s) are larger than 2 m or smaller than half a millimetre.", count),
                      "glTF is in metres; this model seems to be drawn in another unit.",
                      "Set the unit in the modelling tool, or scale the whole model, and export again.");
    }
}

constexpr int many_people = 4;

void check_items(Annotator& annotator) {
    const Map& map = annotator.map;
    for (const Item& item : map.items) {
        if (item.people > many_people) {
            annotator.add(Weight::doubt, "people", item.node, "people", std::to_string(item.people),
                          fmt::format("{} people are asked for.", item.people), "More than a home garage has room for.",
                          "Correct the number if it is a slip.");
        }
    }
}

} // namespace

void cross_check(Annotator& annotator) {
    const Map& map = annotator.map;
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        annotator.item_of_name.emplace(map.items[i].name, ItemId{static_cast<std::int32_t>(i)});
    }
    check_names(annotator);
    check_unnamed(annotator);
    check_ids(annotator);
    check_counts(annotator);
    check_fasteners(annotator);
    check_grades(annotator);
    check_sizes(annotator);
    check_parts(annotator);
    check_items(annotator);
}

} // namespace boltwalk
