#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "core/block/builder.hpp"
#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

unsigned place_of_sort(Sort sort) {
    switch (sort) {
    case Sort::part:
    case Sort::scenery:
        return in_part;
    case Sort::fastener:
        return in_fastener;
    case Sort::task:
        return in_task;
    case Sort::group:
        break;
    }
    return in_group;
}

bool is_placed(const Value& table) {
    static constexpr std::array<std::string_view, 6> words{"at", "on", "row", "grid", "circle", "corners"};
    return std::any_of(table.members.begin(), table.members.end(), [](const Member& m) {
        return is_shape_word(m.key) || std::find(words.begin(), words.end(), m.key) != words.end();
    });
}

/// What people write where a recipe has another word.
constexpr std::array<std::array<std::string_view, 2>, 4> said_otherwise{
    {{"lift", "support, or lift_point"}, {"jack", "support"}, {"weight", "mass_kg"}, {"position", "at, or on"}}};

/// "skid_bolts" is made of skid_bolt_1, skid_bolt_2.
std::string one_of(const std::string& name) {
    const bool plural = name.size() > 2 && name.ends_with('s') && !name.ends_with("ss");
    return plural ? name.substr(0, name.size() - 1) : name;
}

} // namespace

const Entry* Builder::entry_of(const std::string& name) const {
    const auto it = std::find_if(entries_.begin(), entries_.end(), [&](const Entry& e) { return e.name == name; });
    return it == entries_.end() ? nullptr : &*it;
}

const Member* Builder::stated(const Entry& entry, std::string_view key, bool draw_too) const {
    if (const Member* own = entry.table().find(key))
        return own;
    if (const Member* designated = entry.designated.find(key))
        return designated;
    if (draw_too)
        if (const Member* draw = entry.table().find("draw"))
            if (const Member* drawn_only = draw->value.find(key))
                return drawn_only;
    const Entry* group = entry.in.empty() ? nullptr : entry_of(entry.in);
    const auto id = find_key(key);
    if (!group || !id || !key_of(*id).inherited)
        return nullptr;
    const Member* own = group->table().find(key);
    return own ? own : group->designated.find(key);
}

std::vector<std::size_t> Builder::instances_of(const std::string& name) const {
    if (const auto one = by_name_.find(name); one != by_name_.end())
        return {one->second};
    std::vector<std::size_t> list;
    for (const Entry& entry : entries_)
        if (entry.name == name || (entry.mirror_apart && entry.mirror_name == name))
            for (const std::size_t i : entry.instances)
                if (instances_[i].role == Role::self &&
                    (!entry.mirror_apart || instances_[i].mirrored == (entry.mirror_name == name)))
                    list.push_back(i);
    return list;
}

bool Builder::is_of_failed(const std::string& name) const {
    const std::size_t dot = name.rfind('.');
    const std::string table = name.substr(0, dot);
    for (const Entry& entry : entries_) {
        const std::string other = entry.mirror ? swapped(entry.name) : entry.name;
        for (const std::string& own : {entry.name, other}) {
            // "pump_2" of a row of pumps.
            const Member* said = entry.table().find("each");
            const std::string each = (said && said->value.is(Value::Kind::text) ? said->value.text : one_of(own)) + "_";
            const bool member =
                table.starts_with(each) && table.find_first_not_of("0123456789", each.size()) == std::string::npos;
            if (entry.failed && (own == table || member))
                return true;
            // A piece that is written in its table and is none in its place.
            if (dot != std::string::npos && own == table)
                if (const Member* piece = entry.table().find(name.substr(dot + 1)))
                    if (piece->value.is(Value::Kind::table) && notes.faulty())
                        return true;
        }
    }
    return false;
}

std::string Builder::unknown_part(const std::vector<std::string>& names) const {
    for (const std::string& name : names)
        if (instances_of(name).empty() && recipe_.find(name) == nullptr && !is_of_failed(name))
            return name;
    return {};
}

void Builder::no_such_part(const std::string& name, Mark mark) {
    std::vector<std::string> there;
    for (const auto& [other, index] : by_name_)
        if (!instances_[index].pieces.empty())
            there.push_back(other);
    notes.fault(mark, fmt::format("No part is named {}.{}", name, near_one(name, there)),
                "Name parts that have a shape.");
}

std::optional<Target> Builder::target(const std::string& name, Mark mark) {
    const auto it = by_name_.find(name);
    if (it != by_name_.end()) {
        const Instance& instance = instances_[it->second];
        const Entry& entry = entries_[instance.entry];
        if (!entry.pieces.empty() && entry.sort != Sort::fastener) {
            Box box = entry.box;
            if (instance.mirrored)
                box.middle.x = -box.middle.x;
            return Target{instance.frame, box};
        }
        notes.fault(mark, fmt::format("{} has no shape to stand on.", name), "Name a part that has one.");
        return std::nullopt;
    }
    // "bracket.foot": one piece of a part.
    if (const std::size_t dot = name.rfind('.'); dot != std::string::npos)
        if (const auto part = by_name_.find(name.substr(0, dot)); part != by_name_.end())
            for (const Piece& piece : instances_[part->second].pieces)
                if (piece.name == name.substr(dot + 1)) {
                    const Instance& instance = instances_[part->second];
                    const Frame plain{piece.rotated, piece.frame.at};
                    const Frame own = instance.mirrored ? mirrored(plain) : plain;
                    return Target{{instance.frame.turn * own.turn, instance.frame.out(own.at)}, named_box(piece)};
                }
    if (is_of_failed(name))
        return std::nullopt; // told where it failed
    std::vector<std::string> there;
    for (const auto& [other, index] : by_name_)
        if (!instances_[index].pieces.empty()) {
            there.push_back(other);
            for (const Piece& piece : instances_[index].pieces)
                if (!piece.name.empty())
                    there.push_back(other + "." + piece.name);
        }
    const bool later = recipe_.find(name) != nullptr;
    std::string list;
    for (std::size_t i = 0; i < there.size() && i < 12; ++i)
        list += (i ? ", " : "") + there[i];
    notes.fault(mark,
                later ? fmt::format("{} comes later in the recipe.", name)
                      : fmt::format("Nothing is named {}.{}", name.empty() ? "so" : name, near_one(name, there)),
                later ? "Put its table above this one."
                      : fmt::format("There are {}.", list.empty() ? "no parts above this one" : list));
    return std::nullopt;
}

bool Builder::add_instance(Entry& entry, Instance instance) {
    if (instances_.size() >= most_items) {
        notes.fault(entry.mark(), fmt::format("There are more than {} items.", most_items), "Make two maps of it.");
        return false;
    }
    if (!names_.insert(instance.name).second) {
        notes.fault(entry.mark(), fmt::format("Two nodes would be named {}.", instance.name),
                    "Rename this table, or say with each what its members are called.");
        return false;
    }
    by_name_.emplace(instance.name, instances_.size());
    entry.instances.push_back(instances_.size());
    instances_.push_back(std::move(instance));
    return true;
}

Frame Builder::frame_of(const Entry& entry, const Seat& seat) const {
    const glm::dmat3 turned_by = rotation(entry.placing.rotate);
    if (entry.sort == Sort::fastener)
        return {seat.frame.turn * turned_by * facing(seat.face), seat.frame.at};
    const glm::dmat3 turn = seat.frame.turn * turned_by;
    const glm::dvec3 drawn_at = entry.placing.spots.empty() ? entry.box.middle : glm::dvec3(0.0);
    return {turn, seat.frame.at + drawn_at - turn * entry.box.middle};
}

void Builder::place(Entry& entry) {
    const auto placing = read_placing(entry.table(), false, notes);
    if (!placing)
        return;
    entry.placing = *placing;
    if (const Member* way = entry.table().find("facing"); way && entry.sort == Sort::fastener)
        entry.facing = take_way(way->value, "facing", notes).value_or(Way::up);
    const Frame turned_by{rotation(placing->rotate), {}};
    const glm::dvec3 half = entry.sort == Sort::fastener ? glm::dvec3(0.0) : outer_box(turned_by, entry.box.half).half;
    const auto seats = seats_of(
        *placing, half, entry.facing, [this](const std::string& name, Mark mark) { return target(name, mark); }, notes);
    if (seats)
        take_over(entry, *seats);
}

void Builder::take_over(Entry& entry, const std::vector<Seat>& seats) {
    const bool pattern = entry.placing.pattern.kind != Pattern::Kind::one || seats.size() > 1;
    const std::string other = swapped(entry.name);
    if (entry.mirror) {
        entry.mirror_apart = other != entry.name;
        if (!entry.mirror_apart && entry.sort != Sort::fastener) {
            notes.fault(entry.mark(),
                        fmt::format("{} is mirrored, but its name says neither left nor right.", entry.name),
                        fmt::format("Name it {0}_left; the other becomes {0}_right.", entry.name));
            return;
        }
        entry.mirror_name = other;
    }
    entry.many = pattern || (entry.mirror && !entry.mirror_apart) || entry.table().find("group");
    entry.each = entry.many ? one_of(entry.name) : entry.name;
    if (const Member* each = entry.table().find("each")) {
        if (!entry.many)
            notes.fault(each->mark, "There is one of it only.", "Leave each out.");
        else if (const auto text = take_text(each->value, "each", notes))
            entry.each = *text;
    }
    entry.mirror_each = swapped(entry.each);
    if (entry.mirror_apart && entry.many && entry.mirror_each == entry.each)
        entry.mirror_each = one_of(entry.mirror_name);
    if (entry.many && entry.in.empty() && entry.sort != Sort::scenery && entry.sort != Sort::task)
        for (const std::string& group : {entry.name, entry.mirror_apart ? entry.mirror_name : std::string()})
            if (!group.empty() && !names_.insert(group).second) {
                notes.fault(entry.mark(), fmt::format("Two nodes would be named {}.", group), "Rename this table.");
                return;
            }
    int number = 0;
    for (const bool other_side : {false, true}) {
        if (other_side && !entry.mirror)
            break;
        if (other_side && entry.mirror_apart)
            number = 0;
        for (const Seat& seat : seats) {
            Instance instance;
            instance.entry = static_cast<std::size_t>(&entry - entries_.data());
            instance.mirrored = other_side;
            instance.frame = frame_of(entry, seat);
            if (other_side)
                instance.frame = mirrored(instance.frame);
            instance.number = entry.many ? ++number : 0;
            const bool apart = other_side && entry.mirror_apart;
            instance.name = entry.many ? fmt::format("{}_{}", apart ? entry.mirror_each : entry.each, number)
                                       : (apart ? entry.mirror_name : entry.name);
            instance.pieces = entry.pieces;
            if (!add_instance(entry, std::move(instance)))
                return;
        }
    }
}

void Builder::check_words(Entry& entry) {
    const unsigned where = place_of_sort(entry.sort);
    for (const Member& member : entry.table().members) {
        if (is_word(member.key, where) || find_key(member.key))
            continue;
        if (where == in_part && member.value.is(Value::Kind::table))
            continue; // a piece
        entry.misspelt = true;
        std::vector<std::string> known;
        for (const RecipeWord& word : recipe_words())
            if (word.where & where)
                known.emplace_back(word.word);
        std::string near = near_one(member.key, known);
        if (near.empty())
            if (const auto id = near_key(member.key))
                near = fmt::format(" Did you mean {}?", key_of(*id).name);
        if (near.empty()) {
            // A word of another kind of table: the one misspelt may be what makes this one a fastener.
            for (const RecipeWord& word : recipe_words())
                known.emplace_back(word.word);
            near = near_one(member.key, known);
        }
        for (const auto& [said, meant] : said_otherwise)
            if (near.empty() && member.key == said)
                near = fmt::format(" Did you mean {}?", meant);
        const bool elsewhere = std::any_of(recipe_words().begin(), recipe_words().end(),
                                           [&](const RecipeWord& w) { return w.word == member.key; });
        notes.fault(member.mark,
                    elsewhere ? fmt::format("\"{}\" has no place here.", member.key)
                              : fmt::format("\"{}\" is no word of a recipe.{}", member.key, near),
                    "recipe.md lists the words, annotation.md the keys.");
    }
}

bool Builder::open(const Member& member) {
    if (!member.value.is(Value::Kind::table)) {
        notes.fault(member.mark, fmt::format("\"{}\" stands in no table.", member.key),
                    "Put it below a line like [skid_plate], or [scene].");
        return false;
    }
    Entry entry;
    entry.member = &member;
    entry.name = member.key;
    const Value& table = member.value;
    const bool grouped = table.find("group") != nullptr;
    entry.sort = table.find("part")                                         ? Sort::part
                 : table.find("task")                                       ? Sort::task
                 : table.find("fastener") && (!grouped || is_placed(table)) ? Sort::fastener
                 : table.find("standard") && !grouped                       ? Sort::fastener
                 : grouped ? is_placed(table) && table.find("standard") ? Sort::fastener : Sort::group
                           : Sort::scenery;
    if (const Member* in = table.find("in")) {
        const auto group = take_text(in->value, "in", notes);
        const Entry* there = group ? entry_of(*group) : nullptr;
        if (group && (!there || there->sort != Sort::group)) {
            entry.failed = true; // what it is, its group would say
            notes.fault(in->value.mark, fmt::format("No table above this one is a group named {}.", *group),
                        "Write [NAME] with group = \"its title\" further up.");
        } else if (group) {
            entry.in = *group;
            // A member of a group with `fastener` is one without saying so.
            if (entry.sort == Sort::scenery && (there->table().find("fastener") || there->table().find("standard")))
                entry.sort = Sort::fastener;
        }
    }
    if (const Member* standard = table.find("standard");
        standard && (entry.sort == Sort::fastener || entry.sort == Sort::group))
        read_designation(entry, *standard);
    if (const Member* mirror = table.find("mirror")) {
        const bool yes =
            mirror->value.is(Value::Kind::table) || (mirror->value.is(Value::Kind::yes_no) && mirror->value.yes);
        if (!yes && !mirror->value.is(Value::Kind::yes_no))
            notes.fault(mirror->value.mark, "mirror wants true, or what differs on the other side.",
                        "Write mirror = { length_mm = 30 }, for example.");
        if (yes)
            entry.mirror = &mirror->value;
        for (const Member& differs : mirror->value.members)
            if (!find_key(differs.key)) {
                const auto near = near_key(differs.key);
                notes.fault(differs.mark,
                            fmt::format("\"{}\" is no key of the annotation.{}", differs.key,
                                        near ? fmt::format(" Did you mean {}?", key_of(*near).name) : ""),
                            "In mirror stand the keys that differ on the other side.");
            }
    }
    entries_.push_back(std::move(entry));
    return true;
}

void Builder::read() {
    entries_.reserve(recipe_.members.size());
    for (const Member& member : recipe_.members) {
        if (member.key == "scene" || !open(member))
            continue;
        Entry& entry = entries_.back();
        if (entry.failed) {
            names_.insert(entry.name);
            continue;
        }
        check_words(entry);
        if (entry.sort == Sort::group) {
            if (!names_.insert(entry.name).second)
                notes.fault(entry.mark(), fmt::format("Two nodes would be named {}.", entry.name),
                            "Rename this table.");
            continue;
        }
        const std::size_t wrong = notes.list.size();
        read_pieces(entry);
        if (entry.sort == Sort::fastener && entry.pieces.empty())
            read_hardware(entry);
        if (notes.list.size() != wrong && notes.faulty() && entry.pieces.empty() && !entry.form) {
            names_.insert(entry.name); // what refers to it is not at fault
            entry.failed = true;
            continue;
        }
        place(entry);
        if (entry.instances.empty() && notes.faulty()) {
            names_.insert(entry.name);
            entry.failed = true;
        }
        if (entry.nut || entry.head_washer)
            join(entry);
    }
    if (const Member* scene = recipe_.find("scene"))
        for (const Member& member : scene->value.members) {
            const auto id = find_key(member.key);
            if (id && (key_of(*id).on & on_scene))
                continue;
            const auto near = near_key(member.key);
            notes.fault(member.mark,
                        fmt::format("The scene knows no \"{}\".{}", member.key,
                                    near ? fmt::format(" Did you mean {}?", key_of(*near).name) : ""),
                        "Its keys are job, vehicle, target, caution, source.");
        }
    if (entries_.empty() && notes.list.empty())
        notes.fault({}, "There is nothing in this recipe.",
                    "Begin with a part: [frame], part = \"Frame\", fixed = true, box = [400, 20, 300].");
    drill();
}

Mark Builder::place_of(const std::string& node, const std::string& key) const {
    const auto of_group = groups_.find(node);
    const auto of_item = by_name_.find(node);
    const Entry* entry = nullptr;
    Origin origin;
    if (of_item != by_name_.end()) {
        const Instance& instance = instances_[of_item->second];
        origin = {instance.entry, instance.role, instance.mirrored};
        entry = &entries_[origin.entry];
    } else if (of_group != groups_.end()) {
        origin = of_group->second;
        entry = &entries_[origin.entry];
    } else {
        entry = entry_of(node);
    }
    if (!entry) {
        const Member* scene = recipe_.find("scene");
        const Member* member = scene ? scene->value.find(key) : nullptr;
        return member ? member->mark : scene ? scene->mark : Mark{};
    }
    const Member* nut = origin.role == Role::nut ? entry->table().find("nut") : nullptr;
    if (nut && nut->value.find(key))
        return nut->value.find(key)->mark;
    if (origin.mirrored && entry->mirror && entry->mirror->find(key))
        return entry->mirror->find(key)->mark;
    const Member* member = stated(*entry, key, false);
    return member ? member->mark : nut ? nut->mark : entry->mark();
}

} // namespace boltwalk::recipe
