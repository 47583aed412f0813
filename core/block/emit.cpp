// Nodes and their keys.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>
#include <glm/gtc/quaternion.hpp>

#include "core/block/builder.hpp"
#include "core/block/glb.hpp"

namespace boltwalk::recipe {

namespace {

using Json = nlohmann::ordered_json;

/// Calm greys, told apart by their neighbours; parts take one after the other.
constexpr std::array<std::uint32_t, 5> greys{0x9aa7b1, 0xb3b0a4, 0x8f9d93, 0xa8a2ad, 0xbcc3c8};
constexpr Paint of_what_stays{0x6d747c, 0, 0.7};
constexpr Paint zinc{0xc9cbc6, 0.4, 0.45};

struct Look {
    std::string_view material;
    Paint paint;
};
constexpr std::array<Look, 7> looks{{{"steel", {0x8e969d, 0.3, 0.5}},
                                     {"cast_steel", {0x82888d, 0.2, 0.6}},
                                     {"cast_iron", {0x6f7274, 0.1, 0.75}},
                                     {"aluminium", {0xc4c9cd, 0.3, 0.45}},
                                     {"magnesium", {0xb4b6b2, 0.3, 0.5}},
                                     {"brass", {0xc2a55c, 0.4, 0.4}},
                                     {"rubber", {0x3b3d40, 0, 0.9}}}};

/// Keys whose words left and right mean a side, so that they change with it: names of items where the other one is
/// there, places and ways always.
bool names_a_side(KeyId id) {
    return id == KeyId::from || id == KeyId::counter_from || id == KeyId::way || id == KeyId::aside ||
           id == KeyId::part || id == KeyId::group || id == KeyId::task || id == KeyId::joint;
}
/// What a nut, and a washer, has from its bolt.
bool nut_has(KeyId id) {
    return id == KeyId::holds || id == KeyId::thread || id == KeyId::hand || id == KeyId::step || id == KeyId::after ||
           id == KeyId::refit_after || id == KeyId::refit_free || id == KeyId::needs || id == KeyId::people ||
           id == KeyId::turn || id == KeyId::source;
}
bool washer_has(KeyId id) {
    return id == KeyId::holds || id == KeyId::step || id == KeyId::after || id == KeyId::refit_after ||
           id == KeyId::source;
}

struct Stated {
    KeyId key;
    Json value;
};

} // namespace

class Emitter {
public:
    Emitter(Builder& builder, Notes& notes) : b(builder), notes_(notes) {}

    std::string run(Blocked& counts) {
        for (std::size_t i = 0; i < b.entries_.size(); ++i)
            entry(i);
        if (notes_.faulty())
            return {};
        Json scene = {{"nodes", tops_}};
        if (const Member* own = b.recipe_.find("scene")) {
            Json extras = Json::object();
            for (const Member& member : own->value.members)
                if (auto value = json_of(member))
                    extras[member.key] = *value;
            if (!extras.empty())
                scene["extras"] = extras;
        }
        Json document = {{"asset", {{"version", "2.0"}, {"generator", "Boltwalk block"}}},
                         {"scene", 0},
                         {"scenes", Json::array({scene})},
                         {"nodes", nodes_}};
        counts.meshes = meshes_.count();
        return notes_.faulty() ? std::string() : meshes_.file(std::move(document));
    }

private:
    std::optional<Json> json_of(const Member& member) {
        const Value& value = member.value;
        switch (value.kind) {
        case Value::Kind::text:
            return Json(value.text);
        case Value::Kind::yes_no:
            return Json(value.yes);
        case Value::Kind::number:
            return value.whole ? Json(static_cast<std::int64_t>(value.number)) : Json(value.number);
        case Value::Kind::list: {
            std::string names;
            for (const Value& one : value.list) {
                if (!one.is(Value::Kind::text)) {
                    notes_.fault(one.mark, fmt::format("{} wants a text, or a list of texts.", member.key),
                                 "Put each in quotes.");
                    return std::nullopt;
                }
                names += (names.empty() ? "" : "; ") + one.text;
            }
            return Json(names);
        }
        case Value::Kind::table:
            break;
        }
        notes_.fault(member.mark, fmt::format("{} wants a value, not a table.", member.key),
                     "annotation.md says what it holds.");
        return std::nullopt;
    }

    bool is_there(const std::string& name) const { return b.names_.contains(name) || b.entry_of(name) != nullptr; }

    /// "mount_left; frame" to "mount_right; frame".
    std::string other_names(const std::string& list) const {
        std::string out;
        for (std::size_t at = 0; at <= list.size();) {
            const std::size_t end = std::min(list.find(';', at), list.size());
            std::string name = list.substr(at, end - at);
            const std::size_t begin = name.find_first_not_of(' ');
            if (begin != std::string::npos) {
                name = name.substr(begin, name.find_last_not_of(' ') + 1 - begin);
                const std::string other = swapped(name);
                out += (out.empty() ? "" : "; ") + (is_there(other) ? other : name);
            }
            at = end + 1;
        }
        return out;
    }

    /// The keys of an entry's things, as they stand on one side, in the order of the text.
    std::vector<Stated> keys_of(const Entry& entry, Role role, bool other_side) {
        std::vector<Stated> keys;
        const Member* nut = role == Role::nut ? entry.table().find("nut") : nullptr;
        std::vector<const Member*> members;
        // A washer has no thread of its own: it is only drawn by that of its bolt.
        const bool washer = entry.standard && entry.standard->shape == HardwareShape::flat_washer;
        for (const Member& member : entry.designated.members)
            if (!washer || member.key != "thread")
                members.push_back(&member);
        for (const Member& member : entry.table().members)
            members.push_back(&member);
        for (const Member* each : members) {
            const Member& member = *each;
            const auto id = find_key(member.key);
            if (!id || is_word(member.key, in_fastener) || (role == Role::nut && !nut_has(*id)) ||
                ((role == Role::head_washer || role == Role::nut_washer) && !washer_has(*id)))
                continue;
            auto value = json_of(member);
            if (!value)
                continue;
            if (other_side && value->is_string()) {
                const std::string text = value->get<std::string>();
                const bool differs = entry.mirror && entry.mirror->find(member.key);
                if (names_items(*id))
                    value = other_names(text);
                else if (names_a_side(*id))
                    value = swapped(text);
                else if (swapped(text) != text && !differs && role == Role::self)
                    notes_.doubt(member.mark,
                                 fmt::format("{} is copied to the other side as it stands, and it says left or right.",
                                             member.key),
                                 fmt::format("Say what holds there: mirror = {{ {} = \"...\" }}.", member.key));
            }
            keys.push_back({*id, *value});
        }
        const auto set = [&](KeyId id, const Json& value) {
            std::erase_if(keys, [&](const Stated& s) { return s.key == id; });
            keys.push_back({id, value});
        };
        if (nut)
            for (const Member& member : nut->value.members)
                if (const auto id = find_key(member.key))
                    if (auto value = json_of(member))
                        set(*id, *value);
        if (other_side && entry.mirror)
            for (const Member& member : entry.mirror->members)
                if (const auto id = find_key(member.key))
                    if (role == Role::self || (role == Role::nut ? nut_has(*id) : washer_has(*id)))
                        if (auto value = json_of(member))
                            set(*id, *value);
        if (role == Role::nut)
            set(KeyId::fastener, entry.nut->shape == HardwareShape::slotted_nut ? "castle_nut" : "nut");
        else if (role != Role::self)
            set(KeyId::fastener, "washer");
        by_standard(entry, role, keys);
        return keys;
    }

    /// A standard that was named says what its head is and what goes on it.
    void by_standard(const Entry& entry, Role role, std::vector<Stated>& keys) {
        const auto says = [&](KeyId id) {
            return std::any_of(keys.begin(), keys.end(), [&](const Stated& s) { return s.key == id; }) ||
                   (role == Role::self && b.stated(entry, key_of(id).name, false));
        };
        const HardwareForm* form = role == Role::self && entry.form ? &*entry.form
                                   : role == Role::nut              ? &*entry.nut
                                                                    : nullptr;
        const Member* nut = role == Role::nut ? entry.table().find("nut") : nullptr;
        if (nut && nut->value.is(Value::Kind::table))
            nut = nut->value.find("standard");
        const HardwareStandard* standard = role == Role::self ? b.standard_of(entry)
                                           : nut              ? find_hardware_standard(nut->value.text)
                                                              : nullptr;
        if (!form || !standard)
            return;
        if (!standard->head.empty() && !says(KeyId::head))
            keys.push_back({KeyId::head, std::string(standard->head)});
        const auto size = hardware_size(*standard, form->diameter_mm);
        if (size && size->drive && !says(KeyId::drive))
            keys.push_back({KeyId::drive, size->drive->name});
    }

    Paint paint_of(const Entry& entry, const Instance& instance) {
        if (const Member* colour = entry.table().find("colour")) {
            const std::string& text = colour->value.text;
            if (text.size() == 7 && text[0] == '#' &&
                text.find_first_not_of("0123456789abcdefABCDEF", 1) == std::string::npos)
                return {static_cast<std::uint32_t>(std::stoul(text.substr(1), nullptr, 16)), 0, 0.6};
            notes_.fault(colour->value.mark, "colour wants red, green and blue in hexadecimal.",
                         "Write colour = \"#9aa7b1\".");
        }
        if (entry.sort == Sort::fastener)
            return zinc;
        if (const Member* material = b.stated(entry, "material", false))
            for (const Look& look : looks)
                if (look.material == material->value.text)
                    return look.paint;
        const Member* fixed = b.stated(entry, "fixed", false);
        if (fixed && fixed->value.yes)
            return of_what_stays;
        return {greys[instance.entry % greys.size()], 0, 0.6};
    }

    int mesh_of(const Entry& entry, const Instance& instance) {
        const Paint paint = paint_of(entry, instance);
        if (instance.pieces.empty()) {
            const auto& form = instance.role == Role::self          ? entry.form
                               : instance.role == Role::nut         ? entry.nut
                               : instance.role == Role::head_washer ? entry.head_washer
                                                                    : entry.nut_washer;
            if (!form)
                return -1;
            const auto [it, fresh] = hardware_.try_emplace({*form, paint}, 0);
            if (fresh)
                it->second = meshes_.add(drawn(*form),
                                         fmt::format("{} {}",
                                                     entry.form && instance.role == Role::self
                                                         ? b.stated(entry, "fastener", false)->value.text
                                                     : instance.role == Role::nut ? "nut"
                                                                                  : "washer",
                                                     print_number(form->diameter_mm)),
                                         paint);
            return it->second;
        }
        Shell whole;
        for (const Piece& piece : instance.pieces)
            whole.append(shell_of(piece, notes_), glm::dmat3(1.0), glm::dvec3(0.0));
        if (instance.mirrored)
            for (auto& t : whole.triangles) {
                for (glm::dvec3& p : t)
                    p.x = -p.x + 0.0;
                std::swap(t[1], t[2]);
            }
        if (notes_.faulty() || whole.triangles.empty())
            return -1;
        corners_ += 3 * whole.triangles.size();
        if (corners_ > most_corners) {
            notes_.fault(entry.mark(), "The shapes have too many triangles.",
                         "State fewer sides, or make two maps of it.");
            return -1;
        }
        return meshes_.add(whole, instance.name, paint);
    }

    std::size_t put(Json node, std::optional<std::size_t> parent) {
        const std::size_t index = nodes_.size();
        nodes_.push_back(std::move(node));
        if (parent)
            nodes_[*parent]["children"].push_back(index);
        else
            tops_.push_back(index);
        return index;
    }

    void thing(const Entry& entry, const Instance& instance, const std::vector<Stated>& keys, bool grouped,
               std::optional<std::size_t> parent) {
        Json node = {{"name", instance.name}};
        const glm::dquat q = glm::normalize(glm::quat_cast(instance.frame.turn));
        const glm::dvec3 at = glm::round(instance.frame.at * 1e6) / 1e9 + 0.0;
        const auto tidy = [](double v) { return std::round(v * 1e9) / 1e9 + 0.0; };
        if (at != glm::dvec3(0.0))
            node["translation"] = {at.x, at.y, at.z};
        if (std::abs(q.w) < 1 - 1e-12)
            node["rotation"] = {tidy(q.x), tidy(q.y), tidy(q.z), tidy(q.w)};
        if (const int mesh = mesh_of(entry, instance); mesh >= 0)
            node["mesh"] = mesh;
        Json extras = Json::object();
        for (const Stated& stated : keys) {
            if (stated.key == KeyId::group || (grouped && is_shared(stated.key, instance.role)))
                continue;
            Json value = stated.value;
            if (instance.number > 0 && value.is_string() &&
                (stated.key == KeyId::part || stated.key == KeyId::joint || stated.key == KeyId::secures)) {
                std::string text = value.get<std::string>();
                const std::size_t mark = text.find('#');
                if (mark != std::string::npos)
                    text.replace(mark, 1, std::to_string(instance.number));
                else if (stated.key != KeyId::secures)
                    text += fmt::format("{}{}", stated.key == KeyId::part ? " " : "_", instance.number);
                value = text;
            }
            extras[std::string(key_of(stated.key).name)] = value;
        }
        if (!instance.joint.empty() && !extras.contains("joint"))
            extras["joint"] = instance.joint;
        if (instance.stack > 0 && !extras.contains("stack"))
            extras["stack"] = instance.stack;
        if (!extras.empty())
            node["extras"] = extras;
        put(std::move(node), parent);
    }

    static bool is_shared(KeyId id, Role role) {
        const bool washer = role == Role::head_washer || role == Role::nut_washer;
        return key_of(id).inherited && !(washer && key_of(id).turned_only);
    }

    /// All of one role on one side.
    void set(const Entry& entry, std::size_t index, Role role, bool other_side, std::optional<std::size_t> parent) {
        std::vector<const Instance*> members;
        for (const std::size_t i : entry.instances)
            if (b.instances_[i].role == role && (!entry.mirror_apart || b.instances_[i].mirrored == other_side))
                members.push_back(&b.instances_[i]);
        if (members.empty())
            return;
        const std::vector<Stated> keys = keys_of(entry, role, other_side && entry.mirror_apart);
        const bool grouped = entry.many && !parent && entry.sort != Sort::scenery && entry.sort != Sort::task;
        if (grouped) {
            const std::string base = other_side ? entry.mirror_name : entry.name;
            const std::string name = name_of_role(base, role, entry.head_washer.has_value());
            if (role != Role::self && !b.names_.insert(name).second)
                notes_.fault(entry.mark(), fmt::format("Two nodes would be named {}.", name),
                             "Rename one of the tables.");
            b.groups_[name] = {index, role, other_side};
            Json extras = Json::object();
            extras["group"] = title_of(name);
            for (const Stated& stated : keys)
                if ((stated.key == KeyId::group && role == Role::self) || stated.key == KeyId::count ||
                    (is_shared(stated.key, role) && stated.key != KeyId::group))
                    extras[std::string(key_of(stated.key).name)] = stated.value;
            parent = put({{"name", name}, {"extras", extras}}, std::nullopt);
        }
        for (const Instance* member : members) {
            // Where both sides are in one group, what differs on the other stands on its members.
            const bool apart = other_side || !member->mirrored || entry.mirror_apart;
            thing(entry, *member, apart ? keys : keys_of(entry, role, true), grouped && apart, parent);
        }
    }

    void entry(std::size_t index) {
        const Entry& entry = b.entries_[index];
        if (entry.sort == Sort::group) {
            Json extras = Json::object();
            for (const Stated& stated : keys_of(entry, Role::self, false))
                extras[std::string(key_of(stated.key).name)] = stated.value;
            group_node_[entry.name] = put({{"name", entry.name}, {"extras", extras}}, std::nullopt);
            return;
        }
        std::optional<std::size_t> parent;
        if (!entry.in.empty())
            parent = group_node_[entry.in];
        for (const bool other_side : {false, true})
            for (const Role role : {Role::self, Role::head_washer, Role::nut_washer, Role::nut})
                if (!other_side || entry.mirror_apart)
                    set(entry, index, role, other_side, parent);
    }

    Builder& b;
    Notes& notes_;
    Json nodes_ = Json::array();
    std::vector<std::size_t> tops_;
    std::map<std::string, std::size_t> group_node_;
    std::map<std::pair<HardwareForm, Paint>, int> hardware_;
    Meshes meshes_;
    std::size_t corners_ = 0;
};

std::string Builder::write(Blocked& counts) {
    for (const Instance& instance : instances_) {
        const Sort sort = entries_[instance.entry].sort;
        ++(sort == Sort::fastener ? counts.fasteners : sort == Sort::task ? counts.tasks : counts.parts);
    }
    return Emitter(*this, notes).run(counts);
}

} // namespace boltwalk::recipe
