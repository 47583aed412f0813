// Values into fields: what the group states first, what the item states itself over it.

#include <algorithm>

#include <fmt/format.h>

#include "core/map/annotate.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

namespace {

constexpr double longest_fastener_mm = 5000;
constexpr double heaviest_part_kg = 100000;
constexpr double most_litres = 100000;
constexpr double longest_soak_min = 10080; // a week

/// One value on its way into one item.
struct Setting {
    Annotator& annotator;
    Stated& source; ///< the item's own node, or its group's
    KeyId key;
    TokenId token;
    ItemId item;
    bool inherited;

    const Json& json() const { return annotator.json; }

    void report(std::string_view rule, Weight weight, const Mistake& mistake, std::string why) const {
        if (source.reported[static_cast<std::size_t>(key)]) {
            return;
        }
        source.reported.set(static_cast<std::size_t>(key));
        annotator.add(weight, rule, source.node, key_of(key).name, shown_value(json(), token), mistake.what,
                      std::move(why), mistake.remedy);
    }

    template <typename From, typename To>
    void take(Reading<From>&& reading, To& field) const {
        if (reading) {
            field = static_cast<To>(std::move(*reading));
        } else {
            report("unreadable-value", Weight::fault, reading.error(), "It is read as not stated.");
        }
    }

    void text(std::string& field) const {
        Reading<std::string> reading = text_value(json(), token);
        if (reading && inherited) {
            annotator.inherited_text += reading->size();
            if (annotator.inherited_text > inherited_text_limit) {
                report("too-much-text", Weight::fault,
                       {"The texts that groups pass on add up to more than is kept.", "Shorten them."}, "");
                return;
            }
        }
        take(std::move(reading), field);
    }

    void positive(std::optional<double>& field, double most) const {
        const Reading<double> reading = number_value(json(), token, key_of(key));
        if (!reading) {
            report("wrong-unit", Weight::fault, reading.error(), "It is read as not stated.");
        } else if (!(*reading > 0 && *reading <= most)) {
            report("unreadable-value", Weight::fault,
                   {fmt::format("It should be more than 0 and at most {}.", print_number(most)), "Correct the number."},
                   "It is read as not stated.");
        } else {
            field = *reading;
        }
    }

    template <typename T>
    void choice(T& field, std::size_t first = 0) const {
        const Reading<std::size_t> reading = choice_value(json(), token, key_of(key));
        if (reading) {
            field = static_cast<T>(*reading + first);
        } else {
            report("unknown-word", Weight::fault, reading.error(), "It is read as not stated.");
        }
    }

    void word(std::string& field) const {
        std::size_t place = choices_of(key_of(key)).size();
        choice(place);
        if (place < choices_of(key_of(key)).size()) {
            field = choices_of(key_of(key))[place];
        }
    }

    /// A list of names: kept as written until every item is known.
    void names() const {
        const std::uint64_t slot = static_cast<std::uint64_t>(source.node) * key_count + static_cast<std::size_t>(key);
        auto known = annotator.list_of.find(slot);
        if (known == annotator.list_of.end()) {
            NamesStated list;
            list.node = source.node;
            list.key = key;
            std::string all;
            text(all);
            list.names = split_list(all);
            known = annotator.list_of.emplace(slot, static_cast<std::int32_t>(annotator.lists.size())).first;
            annotator.lists.push_back(std::move(list));
        }
        annotator.uses.push_back({item, key, known->second});
    }
};

template <typename Read>
auto read_text(const Setting& setting, const Read& read) -> decltype(read(std::string_view())) {
    const Reading<std::string> text = text_value(setting.json(), setting.token);
    if (!text) {
        return tl::unexpected(text.error());
    }
    return read(*text);
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
    case KeyId::after:
    case KeyId::refit_after:
    case KeyId::refit_free:
        setting.names();
        return true;
    default:
        return false;
    }
}

void set_fastener(const Setting& setting, Fastener& fastener) {
    const Json& json = setting.json();
    switch (setting.key) {
    case KeyId::holds:
    case KeyId::secures:
    case KeyId::held_through:
    case KeyId::torque_after:
    case KeyId::leaves_with:
    case KeyId::captive_in:
        setting.names();
        break;
    case KeyId::joint:
        setting.text(fastener.joint);
        break;
    case KeyId::stack:
        setting.take(whole_value(json, setting.token, 0), fastener.stack);
        break;
    case KeyId::turn:
        setting.word(fastener.turn);
        break;
    case KeyId::head:
        setting.word(fastener.head);
        break;
    case KeyId::slot:
        setting.word(fastener.slot);
        break;
    case KeyId::hand:
        setting.choice(fastener.hand);
        break;
    case KeyId::frees_when:
        setting.choice(fastener.frees_when);
        break;
    case KeyId::counter_from:
        setting.choice(fastener.counter_from, 1);
        break;
    case KeyId::thread:
        setting.take(read_text(setting, read_thread), fastener.thread);
        break;
    case KeyId::drive:
        setting.take(read_text(setting, read_drive), fastener.drive);
        break;
    case KeyId::torque:
        setting.take(read_text(setting, read_torque), fastener.torque);
        break;
    case KeyId::length_mm:
        setting.positive(fastener.length_mm, longest_fastener_mm);
        break;
    case KeyId::soak_min:
        setting.positive(fastener.soak_min, longest_soak_min);
        break;
    case KeyId::grade:
        setting.text(fastener.grade);
        break;
    case KeyId::counter:
        setting.text(fastener.counter);
        break;
    case KeyId::pattern:
        setting.text(fastener.pattern);
        break;
    case KeyId::passes:
        setting.take(passes_value(json, setting.token), fastener.passes);
        break;
    case KeyId::lock:
        setting.text(fastener.lock);
        break;
    case KeyId::condition:
        setting.text(fastener.condition);
        break;
    case KeyId::renew:
        setting.take(yes_no_value(json, setting.token), fastener.renew);
        break;
    case KeyId::own_place:
        setting.take(yes_no_value(json, setting.token), fastener.own_place);
        break;
    case KeyId::axis:
        setting.take(axis_value(json, setting.token), fastener.axis);
        break;
    default:
        break;
    }
}

/// "true", "yes", "1" and their contraries say only whether; any other text says how, too.
void set_adjust(const Setting& setting, Part& part) {
    if (const Reading<bool> yes_no = yes_no_value(setting.json(), setting.token)) {
        part.adjust = *yes_no;
        return;
    }
    setting.text(part.adjust_note);
    part.adjust = !part.adjust_note.empty();
}

void set_aside(const Setting& setting, Part& part) {
    setting.text(part.aside);
    if (const Reading<std::vector<Leg>> legs = read_legs(part.aside)) {
        part.aside_legs = *legs;
    }
}

void set_lower(const Setting& setting, Part& part) {
    const Reading<double> length = length_value(setting.json(), setting.token);
    if (length && !(*length > 0 && *length <= longest_leg_mm)) {
        setting.report("unreadable-value", Weight::fault,
                       {"It should be a length of more than 0 mm and at most 100 m.", "Correct the length."},
                       "It is read as not stated.");
    } else if (!length) {
        setting.report("wrong-unit", Weight::fault, length.error(), "It is read as not stated.");
    } else {
        part.lower_mm = *length;
    }
}

void set_part(const Setting& setting, Part& part) {
    const Json& json = setting.json();
    switch (setting.key) {
    case KeyId::tether:
    case KeyId::carried_by:
    case KeyId::opens:
        setting.names();
        break;
    case KeyId::fixed:
        setting.take(yes_no_value(json, setting.token), part.fixed);
        break;
    case KeyId::renew:
        setting.take(yes_no_value(json, setting.token), part.renew);
        break;
    case KeyId::transfer:
        setting.take(yes_no_value(json, setting.token), part.transfer);
        break;
    case KeyId::flexible:
        setting.take(yes_no_value(json, setting.token), part.flexible);
        break;
    case KeyId::adjust:
        set_adjust(setting, part);
        break;
    case KeyId::mass_kg:
        setting.positive(part.mass_kg, heaviest_part_kg);
        break;
    case KeyId::amount_l:
        setting.positive(part.amount_l, most_litres);
        break;
    case KeyId::way:
        setting.take(read_text(setting, read_legs), part.way);
        break;
    case KeyId::lower:
        set_lower(setting, part);
        break;
    case KeyId::aside:
        set_aside(setting, part);
        break;
    case KeyId::support:
        setting.take(choices_value(json, setting.token, key_of(KeyId::support)), part.support);
        break;
    case KeyId::turns: {
        const Reading<std::array<double, 3>> axis = axis_value(json, setting.token);
        if (axis && json.is(setting.token, JsonKind::array)) {
            part.turns = fmt::format("{} {} {}", (*axis)[0], (*axis)[1], (*axis)[2]);
        } else if (axis) {
            setting.text(part.turns);
        } else {
            setting.report("unreadable-value", Weight::fault, axis.error(), "It is read as not stated.");
        }
        break;
    }
    case KeyId::hang_from:
        setting.text(part.hang_from);
        break;
    case KeyId::lift_point:
        setting.text(part.lift_point);
        break;
    case KeyId::loaded:
        setting.text(part.loaded);
        break;
    case KeyId::fluid:
        setting.text(part.fluid);
        break;
    default:
        break;
    }
}

void set_task(const Setting& setting, Task& task) {
    switch (setting.key) {
    case KeyId::when:
        setting.choice(task.when);
        break;
    case KeyId::gate:
        setting.take(yes_no_value(setting.json(), setting.token), task.gate);
        break;
    case KeyId::does:
        setting.choice(task.does, 1);
        break;
    case KeyId::to:
        setting.names();
        break;
    case KeyId::sets:
        setting.take(read_text(setting, read_vehicle), task.sets);
        break;
    default:
        break;
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
