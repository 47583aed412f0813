// What a person picks and says of it, as deeds.
#include <algorithm>

#include <fmt/format.h>

#include "core/map/files.hpp"
#include "core/map/map.hpp"
#include "core/map/meaning.hpp"
#include "core/map/values.hpp"
#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

const std::string& name_at(const Marking& marking, std::int32_t node) {
    return marking.map.nodes[std::size_t(node)].name;
}

std::string counted(const Marking& marking) {
    return marking.picked.empty()       ? "the whole job"
           : marking.picked.size() == 1 ? name_at(marking, marking.picked.front())
                                        : fmt::format("{} nodes", marking.picked.size());
}

std::uint8_t place_of(MarkKind kind) {
    switch (kind) {
    case MarkKind::part:
        return on_part;
    case MarkKind::fastener:
        return on_fastener;
    case MarkKind::task:
        return on_task;
    case MarkKind::group:
        return on_group;
    default:
        return 0;
    }
}

/// What kinds of item stand in that group; nothing of any other node.
std::uint8_t members_of(const Marking& marking, std::int32_t node) {
    std::uint8_t kinds = 0;
    for (const Group& group : marking.map.groups)
        for (const ItemId member : group.node == node ? group.members : std::vector<ItemId>{})
            kinds |= marking.map.is_part(member) ? on_part : marking.map.is_fastener(member) ? on_fastener : on_task;
    return kinds;
}

bool is_marker(KeyId id) {
    return id == KeyId::part || id == KeyId::fastener || id == KeyId::task || id == KeyId::group;
}

/// The nodes that are spoken of: those picked, else the scene.
std::vector<std::int32_t> asked(const Marking& marking) {
    return marking.picked.empty() ? std::vector<std::int32_t>{-1} : marking.picked;
}

} // namespace

const Proposal* proposal_of(const Marking& marking, std::int32_t node) {
    for (const Proposal& p : marking.proposals.list)
        if (p.node == node)
            return &p;
    return nullptr;
}

void pick_node(Marking& marking, std::int32_t node, bool also) {
    const auto it = std::find(marking.picked.begin(), marking.picked.end(), node);
    const bool there = it != marking.picked.end();
    if (!also) {
        marking.picked.clear();
        marking.picked.push_back(node);
    } else if (there) {
        marking.picked.erase(it);
    } else {
        marking.picked.push_back(node);
    }
    marking.typed.clear();
    marking.typed_for.clear();
}

void step_out(Marking& marking) {
    if (marking.offering == KeyId::id)
        marking.picked.clear();
    marking.offering = KeyId::id;
}

void pick_alike(Marking& marking) {
    std::vector<std::int32_t> all;
    for (const std::int32_t node : marking.picked) {
        const auto set =
            std::find_if(marking.proposals.alike.begin(), marking.proposals.alike.end(), [&](const AlikeSet& one) {
                return std::find(one.nodes.begin(), one.nodes.end(), node) != one.nodes.end();
            });
        if (set == marking.proposals.alike.end())
            continue;
        for (const std::int32_t other : set->nodes)
            if (std::find(all.begin(), all.end(), other) == all.end())
                all.push_back(other);
    }
    if (all.empty())
        return;
    // In the order in which a person counts them, as far as they are proposed: round the circle, along the row.
    const auto count_of = [&](std::int32_t node) {
        const Proposal* p = proposal_of(marking, node);
        return p == nullptr ? std::pair{std::vector<std::int32_t>{}, 0} : std::pair{p->holds, p->number};
    };
    std::stable_sort(all.begin(), all.end(), [&](std::int32_t a, std::int32_t b) { return count_of(a) < count_of(b); });
    marking.picked = all;
    marking.said = fmt::format("{} of one shape", all.size());
}

MarkKind kind_of(const Marking& marking, std::int32_t node) {
    const auto has = [&](std::string_view key) {
        const auto& extras = marking.extras[std::size_t(node)];
        return std::any_of(extras.begin(), extras.end(), [&](const auto& one) { return one.first == key; });
    };
    if (has("group"))
        return MarkKind::group;
    if (has("task"))
        return MarkKind::task;
    if (has("fastener"))
        return MarkKind::fastener;
    if (has("part"))
        return MarkKind::part;
    const ItemId item = marking.map.nodes[std::size_t(node)].item;
    if (item && marking.map[item].node == node)
        return marking.map.is_fastener(item) ? MarkKind::fastener : MarkKind::part; // by its group
    return MarkKind::scenery;
}

bool mark_as(Marking& marking, MarkKind kind) {
    MarkDeed deed;
    NodeNames names(marking.map);
    int place = 0; // among what is picked: all of one shape are picked in the order in which a person counts them
    for (const std::int32_t node : marking.picked) {
        ++place;
        const Proposal* proposal = proposal_of(marking, node);
        for (const auto& [key, value] : marking.extras[std::size_t(node)]) {
            const auto known = find_key(key);
            if (!known || *known == KeyId::id)
                continue;
            // A key that this kind cannot have goes; of scenery all do.
            if (is_marker(*known) || (key_of(*known).on & place_of(kind)) == 0)
                deed.changes.push_back({node, key, "", false});
        }
        const bool measured = kind == MarkKind::fastener && proposal != nullptr;
        const std::string_view word = kind == MarkKind::part    ? "part"
                                      : kind == MarkKind::task  ? "task"
                                      : kind == MarkKind::group ? "group"
                                                                : "fastener";
        if (kind == MarkKind::fastener) {
            deed.changes.push_back(
                {node, "fastener", json_typed(std::string(measured ? name_of(proposal->kind) : "bolt")), false});
        } else if (kind != MarkKind::scenery) {
            deed.changes.push_back({node, std::string(word), "true", false});
        }
        if (kind != MarkKind::scenery)
            names.of(node,
                     marking.picked.size() == 1 ? fmt::format("{}_{}", word, node)
                                                : fmt::format("{}_{}_{}", word, marking.picked.front(), place),
                     deed.changes);
    }
    constexpr std::string_view kinds[] = {"scenery", "part", "fastener", "task", "group"};
    deed.what = fmt::format("{}: {}", counted(marking), kinds[std::size_t(kind)]);
    return !marking.picked.empty() && add_deed(marking, std::move(deed));
}

std::vector<KeyId> keys_for(const Marking& marking) {
    std::uint8_t places = 0xff, passed_on = 0xff; // a group also says what its members inherit
    for (const std::int32_t node : marking.picked) {
        places &= place_of(kind_of(marking, node));
        passed_on &= members_of(marking, node);
    }
    std::vector<KeyId> keys;
    if (marking.picked.empty()) {
        places = on_scene;
        passed_on = 0;
    }
    const bool one = marking.picked.size() == 1;
    for (const Key& key : all_keys())
        if (((key.on & places) != 0 || (key.inherited && (key.on & passed_on) != 0)) && key.id != KeyId::id &&
            (!is_marker(key.id) || one || key.id == KeyId::fastener))
            keys.push_back(key.id);
    return keys;
}

std::string meaning_for(const Marking& marking, KeyId id) {
    if (marking.picked.empty())
        return meaning_of(id, on_scene);
    const std::int32_t node = marking.picked.front();
    return meaning_of(id, std::uint8_t(place_of(kind_of(marking, node)) | members_of(marking, node)));
}

std::string value_of(const Marking& marking, KeyId id, bool* differ) {
    std::string value;
    bool first = true;
    if (differ != nullptr)
        *differ = false;
    for (const std::int32_t node : asked(marking)) {
        std::string own;
        for (const auto& [key, text] : node < 0 ? marking.scene : marking.extras[std::size_t(node)])
            if (key == key_of(id).name)
                own = text;
        if (!first && own != value) {
            if (differ != nullptr)
                *differ = true;
            return "";
        }
        value = own;
        first = false;
    }
    return value;
}

bool set_value(Marking& marking, KeyId id, const std::string& typed) {
    const std::string text = meant_by(marking, id, typed);
    bool differ = false;
    if (value_of(marking, id, &differ) == text && !differ)
        return true;
    MarkDeed deed;
    const std::string key(key_of(id).name);
    for (const std::int32_t node : asked(marking))
        deed.changes.push_back({node, key, json_typed(text), false});
    deed.what = text.empty() ? fmt::format("{}: {} taken away", counted(marking), key)
                             : fmt::format("{}: {} {}", counted(marking), key, text);
    return add_deed(marking, std::move(deed));
}

void try_value(Marking& marking, KeyId id, const std::string& typed) {
    const std::string text = meant_by(marking, id, typed);
    const std::string key(key_of(id).name);
    if (marking.typed_for == key + "=" + text)
        return;
    marking.typed_for = key + "=" + text;
    marking.typed.clear();
    if (text.empty())
        return;
    const std::int32_t node = asked(marking).front();
    const Change change{node, key, json_typed(text), false};
    const auto bytes = write_changes(span_of(marking.bytes), {&change, 1});
    if (!bytes)
        return;
    const auto map = read_map_bytes(span_of(*bytes), marking.path, folder_of(marking.path));
    if (!map)
        return;
    for (const Finding& finding : map->findings)
        if (finding.key == key &&
            (node < 0 ? finding.nodes.empty() || id == KeyId::target
                      : !finding.nodes.empty() && finding.nodes.front() == name_at(marking, node)))
            marking.typed.push_back(finding);
}

// ---------------------------------------------------------------------------------------------------------------------

std::vector<std::size_t> open_proposals(const Marking& marking) {
    std::vector<std::size_t> open = open_ones_of(marking.map, marking.proposals);
    std::erase_if(open, [&](std::size_t i) { return marking.refused.contains(marking.proposals.list[i].node); });
    return open;
}

bool take_proposals(Marking& marking, const std::vector<std::size_t>& which) {
    MarkDeed deed;
    deed.changes = changes_of(marking.map, marking.proposals, which);
    deed.what = which.size() == 1
                    ? fmt::format("{} taken as proposed", name_at(marking, marking.proposals.list[which.front()].node))
                    : fmt::format("{} proposals taken", which.size());
    return !which.empty() && add_deed(marking, std::move(deed));
}

bool refuse_proposal(Marking& marking, std::size_t which) {
    MarkDeed deed;
    deed.refused = marking.proposals.list[which].node;
    deed.what = fmt::format("{} is none", name_at(marking, deed.refused));
    return add_deed(marking, std::move(deed));
}

std::vector<std::size_t> alike_open(const Marking& marking, std::size_t which) {
    std::vector<std::size_t> same;
    for (const std::size_t i : open_proposals(marking))
        if (marking.proposals.list[i].alike == marking.proposals.list[which].alike)
            same.push_back(i);
    return same;
}

namespace {

bool is_answered(const Marking& marking, bool scale) {
    for (std::size_t i = 0; i < marking.done; ++i)
        if (scale ? marking.deeds[i].answers_scale : marking.deeds[i].answers_up)
            return true;
    return false;
}

} // namespace

bool asks_scale(const Marking& marking) {
    return marking.question.ask_scale && !is_answered(marking, true);
}

bool asks_up(const Marking& marking) {
    return marking.question.ask_up && !is_answered(marking, false);
}

std::string question_of(const Marking& marking) {
    if (asks_scale(marking)) {
        const glm::dvec3 size = marking.stage.bounds.size();
        const double whole = std::max({size.x, size.y, size.z}), scale = marking.question.scale;
        const std::string unit = scale == 0.001 ? "millimetres" : scale == 0.0254 ? "inches" : "centimetres";
        return fmt::format("This model would be {} m long.\nIn {} it would be {} m. Scale it?", print_figure(whole),
                           unit, print_figure(whole * scale));
    }
    if (asks_up(marking))
        return fmt::format("This model seems to lie on its side: its {} looks like up, where glTF has Y.\nTurn it "
                           "upright?",
                           marking.question.up == UpAxis::z ? "Z" : "X");
    return "";
}

std::vector<std::string> why_asked(const Marking& marking) {
    const std::vector<std::string>& why = marking.question.why;
    const auto middle = why.begin() + std::ptrdiff_t(marking.question.why_scale);
    return asks_scale(marking) ? std::vector(why.begin(), middle) : std::vector(middle, why.end());
}

bool answer_scale(Marking& marking, bool yes) {
    MarkDeed deed;
    deed.answers_scale = true;
    deed.scale = yes ? marking.question.scale : 1;
    deed.what = yes ? fmt::format("the model scaled by {}", deed.scale) : "the model is in metres";
    return add_deed(marking, std::move(deed));
}

bool answer_up(Marking& marking, bool yes) {
    MarkDeed deed;
    deed.answers_up = true;
    if (yes)
        deed.rotation = upright_turn(marking.question.up);
    deed.what = yes ? fmt::format("the model turned: its {} is up", name_of(marking.question.up)) : "Y is up";
    return add_deed(marking, std::move(deed));
}

} // namespace boltwalk
