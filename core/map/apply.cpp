// Values into fields: what the group states first, what the item states itself over it.

#include <algorithm>

#include <fmt/format.h>

#include "core/map/setting.hpp"

namespace boltwalk {

namespace {

/// Names into photographs. One that cannot be shown makes no rule reckon with something untrue: a doubt.
void set_photos(const Setting& setting, Item& item) {
    const NodeReading& read = setting.annotator.nodes;
    std::string all;
    setting.text(all);
    item.photos.clear();
    for (const std::string& name : split_list(all)) {
        const auto known = read.photos.find(name);
        if (known != read.photos.end() && known->second >= 0) {
            if (std::find(item.photos.begin(), item.photos.end(), known->second) == item.photos.end()) {
                item.photos.push_back(known->second);
            }
            continue;
        }
        const auto found = read.bad_photos.find(name);
        const std::string why = found == read.bad_photos.end() ? "the file holds no image of that name" : found->second;
        const Mistake mistake{
            fmt::format("The photograph \"{}\" cannot be shown: {}.", name, why),
            fmt::format("Put it into the map (boltwalk photo, or the marking room), or take \"{}\" out "
                        "of the key.",
                        name)};
        setting.report("no-photo", Weight::doubt, mistake,
                       "The key names images inside the file, by the names that the file gives them.");
    }
}

/// Keys that any item may have. False: none of those.
bool set_common(const Setting& setting, Item& item) {
    const Json& json = setting.json();
    switch (setting.key) {
    case KeyId::caution:
        setting.text(item.caution);
        return true;
    case KeyId::source:
        setting.text(item.source);
        return true;
    case KeyId::note:
        setting.text(item.note);
        return true;
    case KeyId::refit_note:
        setting.text(item.refit_note);
        return true;
    case KeyId::refit_caution:
        setting.text(item.refit_caution);
        return true;
    case KeyId::photo:
        set_photos(setting, item);
        return true;
    case KeyId::id:
        setting.text(item.id);
        return true;
    case KeyId::step:
        setting.take(whole_value(json, setting.token, 0), item.step);
        return true;
    case KeyId::people:
        setting.take(whole_value(json, setting.token, 1), item.people);
        return true;
    case KeyId::from:
        setting.choice(item.from, 1);
        return true;
    case KeyId::needs:
        setting.take(read_text(setting, read_vehicle), item.needs);
        return true;
    default:
        return false;
    }
}

std::uint8_t place_of(ItemKind kind) {
    return kind == ItemKind::part ? on_part : kind == ItemKind::fastener ? on_fastener : on_task;
}

/// Washers and what locks others are turned by no tool: of a group's thread, drive and torque nothing is theirs.
bool is_turned(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::washer:
    case FastenerKind::spacer:
    case FastenerKind::shim:
    case FastenerKind::split_pin:
    case FastenerKind::pin:
    case FastenerKind::lock_wire:
    case FastenerKind::tab:
        return false;
    default:
        return true;
    }
}

/// Pliers for a split pin, the length of a spacer: stated on the piece itself they mean something.
bool may_be_stated(KeyId key) {
    return key == KeyId::drive || key == KeyId::length_mm || key == KeyId::head || key == KeyId::grade ||
           key == KeyId::soak_min || key == KeyId::lock || key == KeyId::condition;
}

void set_title(const Setting& setting, Item& item) {
    std::string title;
    setting.text(title);
    if (!title.empty() && title != "true" && title != "1") {
        item.title = title;
    }
}

void set(const Setting& setting) {
    Map& map = setting.annotator.map;
    Item& item = map.items[static_cast<std::size_t>(setting.item.index)];
    const Key& key = key_of(setting.key);
    if (setting.key == KeyId::fastener) {
        return; // set before everything else
    }
    if (setting.key == KeyId::part || setting.key == KeyId::task) {
        set_title(setting, item);
        return;
    }
    if ((key.on & place_of(item.kind)) == 0) {
        if (!setting.inherited) {
            constexpr std::array<std::string_view, 3> kinds{"part", "fastener", "task"};
            setting.report(
                "wrong-place", Weight::doubt,
                {fmt::format("A {} has no key \"{}\".", kinds[static_cast<std::size_t>(item.kind)], key.name),
                 "Move it to the node that it belongs to."},
                "It is not read there.");
        }
        return;
    }
    if (names_items(setting.key)) {
        setting.names();
        return;
    }
    if (set_common(setting, item)) {
        return;
    }
    const auto detail = static_cast<std::size_t>(item.detail);
    switch (item.kind) {
    case ItemKind::part:
        set_part(setting, map.parts[detail]);
        break;
    case ItemKind::fastener: {
        Fastener& fastener = map.fasteners[detail];
        if (key.turned_only && !is_turned(fastener.kind)) {
            if (!setting.inherited && !may_be_stated(setting.key)) {
                setting.report("wrong-place", Weight::doubt,
                               {fmt::format("A {} has no \"{}\": no tool turns it.", spoken(fastener.kind), key.name),
                                "Put it on the bolt or nut of the same joint."},
                               "It is not read there.");
            }
            if (setting.inherited || !may_be_stated(setting.key)) {
                return;
            }
        }
        set_fastener(setting, fastener);
        break;
    }
    case ItemKind::task:
        set_task(setting, map.tasks[detail]);
        break;
    }
}

void set_kind(Annotator& annotator, ItemId id, Stated* own, Stated* group) {
    Fastener& fastener = annotator.map.fasteners[static_cast<std::size_t>(annotator.map[id].detail)];
    Stated* source = own != nullptr && own->has[static_cast<std::size_t>(KeyId::fastener)] ? own : group;
    if (source == nullptr) {
        return;
    }
    const Setting setting{annotator, *source, KeyId::fastener, source->token(KeyId::fastener), id, source == group};
    setting.choice(fastener.kind);
    if (fastener.kind == FastenerKind::stud) {
        fastener.frees_when = FreesWhen::nut_off;
    }
}

void apply_scene(Annotator& annotator) {
    const Json& json = annotator.json;
    const TokenId extras = annotator.nodes.scene_extras;
    Map& map = annotator.map;
    const auto text = [&](KeyId key, std::string& field) {
        const TokenId token = find_member(json, extras, key_of(key).name);
        if (token == no_token) {
            return;
        }
        Reading<std::string> reading = text_value(json, token);
        if (reading) {
            field = std::move(*reading);
        } else {
            annotator.add(Weight::fault, "unreadable-value", -1, key_of(key).name, shown_value(json, token),
                          reading.error().what, "It is read as not stated.", reading.error().remedy);
        }
    };
    std::string cautions;
    std::string target;
    text(KeyId::job, map.job);
    text(KeyId::vehicle, map.vehicle);
    text(KeyId::source, map.source);
    text(KeyId::caution, cautions);
    text(KeyId::target, target);
    map.cautions = split_list(cautions);
    annotator.target_names = split_list(target);
    for (TokenId at = extras + 1; json.is(extras, JsonKind::object) && at < json[extras].next; at = json[at + 1].next) {
        const std::string key = text_of(json, at);
        const std::optional<KeyId> known = find_key(key);
        const std::optional<KeyId> near = known ? std::nullopt : near_key(key);
        if (near && (key_of(*near).on & on_scene) != 0) {
            annotator.add(Weight::doubt, "unknown-key", -1, key, shown_value(json, at + 1),
                          fmt::format("\"{}\" is no key of the scene.", key),
                          fmt::format("It looks like \"{}\", and as it stands it is not read.", key_of(*near).name),
                          fmt::format("Rename it to \"{}\" if that is meant.", key_of(*near).name));
        }
    }
}

/// Whether every member that could have the key states it itself: then nothing is lost by the group's word.
bool all_state(Annotator& annotator, const Group& group, const Key& key) {
    const Map& map = annotator.map;
    return std::all_of(group.members.begin(), group.members.end(), [&](ItemId id) {
        const Stated* own = annotator.stated_by(map[id].node);
        return (key.on & place_of(map[id].kind)) == 0 || (own != nullptr && own->has[static_cast<std::size_t>(key.id)]);
    });
}

void apply_groups(Annotator& annotator) {
    for (Group& group : annotator.map.groups) {
        Stated& stated = *annotator.stated_by(group.node);
        for (const Stated::Value& value : stated.values) {
            const Key& key = key_of(value.key);
            const Setting setting{annotator, stated, value.key, value.token, {}, false};
            if (value.key == KeyId::count) {
                setting.take(whole_value(annotator.json, value.token, 0), group.count);
                continue;
            }
            // What makes a group of it, and what a part or task on it was reported for already.
            const bool own = value.key == KeyId::group || value.key == KeyId::id || value.key == KeyId::part ||
                             value.key == KeyId::task;
            if (!key.inherited && !own && !all_state(annotator, group, key)) {
                setting.report("wrong-place", Weight::doubt,
                               {fmt::format("\"{}\" is not passed on by a group.", key.name),
                                "Put it on each member that it is true of."},
                               "What is said of one piece cannot be said of all.");
            }
        }
    }
}

} // namespace

void apply(Annotator& annotator) {
    Map& map = annotator.map;
    apply_scene(annotator);
    apply_groups(annotator);
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const ItemId id{static_cast<std::int32_t>(i)};
        const std::int32_t group = map.items[i].group;
        Stated* own = annotator.stated_by(map.items[i].node);
        Stated* above = group < 0 ? nullptr : annotator.stated_by(map.groups[static_cast<std::size_t>(group)].node);
        if (map.items[i].kind == ItemKind::fastener) {
            set_kind(annotator, id, own, above);
        }
        if (above != nullptr) {
            for (const Stated::Value& value : above->values) {
                const bool stated_itself = own != nullptr && own->has[static_cast<std::size_t>(value.key)];
                if (key_of(value.key).inherited && !stated_itself) {
                    set({annotator, *above, value.key, value.token, id, true});
                }
            }
        }
        if (own != nullptr) {
            for (const Stated::Value& value : own->values) {
                set({annotator, *own, value.key, value.token, id, false});
            }
        }
    }
}

} // namespace boltwalk
