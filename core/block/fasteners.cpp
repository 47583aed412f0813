// Hardware by its standard, what lies along a joint, and the holes that it asks for.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "core/block/builder.hpp"
#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

constexpr double longest_fastener_mm = 2000;
/// A blind thread goes on below the shank by so much of its diameter, four coarse pitches: common practice, no source.
constexpr double room_below = 0.6;
/// What of a countersunk head's cone is cut into the part, all round.
constexpr double sink_room_mm = 0.2;

bool is_plug(std::string_view kind) {
    return kind == "plug" || kind == "drain_plug" || kind == "fill_plug" || kind == "level_plug";
}

/// The series that is drawn where the recipe names none.
const HardwareStandard* usual(std::string_view kind, std::string_view head, ThreadForm form) {
    const bool inch = form == ThreadForm::unified;
    if (kind == "nut")
        return find_hardware_standard(inch ? "ASME B18.2.2" : "ISO 4032");
    if (kind == "castle_nut")
        return find_hardware_standard("DIN 935");
    if (kind == "washer")
        return find_hardware_standard("ISO 7089");
    return find_hardware_standard(head == "hex_flange"    ? "EN 1665"
                                  : head == "cap"         ? "ISO 4762"
                                  : head == "button"      ? "ISO 7380-1"
                                  : head == "countersunk" ? "ISO 10642"
                                  : head == "pan"         ? "ISO 7045"
                                  : head == "none"        ? "ISO 4026"
                                  : inch                  ? "ASME B18.2.1"
                                                          : "ISO 4014");
}

bool fits(std::string_view kind, HardwareShape shape) {
    switch (shape) {
    case HardwareShape::plain_nut:
    case HardwareShape::flanged_nut:
        return kind == "nut";
    case HardwareShape::slotted_nut:
        return kind == "castle_nut";
    case HardwareShape::flat_washer:
        return kind == "washer";
    default:
        return kind == "bolt" || kind == "screw" || is_plug(kind);
    }
}

std::string standards_for(std::string_view kind) {
    std::string list;
    for (const HardwareStandard& one : hardware_standards())
        if (fits(kind, one.shape))
            list += fmt::format("{}{}", list.empty() ? "" : ", ", one.name);
    return list;
}

struct Sized {
    HardwareForm form;
    bool good = false;
};

/// The size in the table of `standard`, or by proportion where none was named.
Sized sized(const HardwareStandard* standard, bool named, const Thread& thread, HardwareShape shape, Mark mark,
            Notes& notes) {
    Sized out;
    out.form.shape = standard ? standard->shape : shape;
    out.form.diameter_mm = thread.diameter_mm;
    // A standard of another thread form has no such size, whatever its figures.
    const bool same_form = standard && (standard->form == thread.form || standard->shape == HardwareShape::flat_washer);
    const auto size = same_form ? hardware_size(*standard, thread.diameter_mm) : std::nullopt;
    if (!size && named) {
        notes.fault(mark, fmt::format("{} has no {} here.", standard->name, thread.name),
                    "Name another standard, or leave it out: the head is then drawn by proportion.");
        return out;
    }
    out.form.size = size ? *size : by_proportion(out.form.shape, thread.diameter_mm);
    out.good = true;
    return out;
}

} // namespace

std::string name_of_role(const std::string& bolt, Role role, bool washers_at_both_ends) {
    if (role == Role::self)
        return bolt;
    const std::string word = role == Role::nut                                  ? "nut"
                             : role == Role::nut_washer && washers_at_both_ends ? "nut_washer"
                                                                                : "washer";
    for (const std::string_view own : {"bolt", "screw"})
        if (const std::size_t at = bolt.rfind(own); at != std::string::npos)
            return bolt.substr(0, at) + word + bolt.substr(at + own.size());
    // Its number stays last.
    const std::size_t last = bolt.find_last_not_of("0123456789");
    if (last != std::string::npos && last + 1 < bolt.size() && bolt[last] == '_')
        return bolt.substr(0, last) + "_" + word + bolt.substr(last);
    return bolt + "_" + word;
}

/// "ISO 4017", "ISO 4017 M8x25", "ISO 4017 - M10x1.25x40 - 10.9": the standard's own way of calling one.
void Builder::read_designation(Entry& entry, const Member& member) {
    const auto text = take_text(member.value, "standard", notes);
    if (!text)
        return;
    std::size_t size_at = std::string::npos;
    for (std::size_t i = 1; i + 1 < text->size() && size_at == std::string::npos; ++i)
        if (((*text)[i] == 'M' || (*text)[i] == 'm') && (*text)[i + 1] >= '0' && (*text)[i + 1] <= '9' &&
            ((*text)[i - 1] == ' ' || (*text)[i - 1] == '-'))
            size_at = i;
    const auto stripped = [](std::string part) {
        const std::size_t begin = part.find_first_not_of(" -");
        return begin == std::string::npos ? std::string() : part.substr(begin, part.find_last_not_of(" -") + 1 - begin);
    };
    const std::string name = stripped(text->substr(0, size_at));
    entry.standard = find_hardware_standard(name);
    if (!entry.standard) {
        std::string list;
        for (const HardwareStandard& one : hardware_standards())
            list += fmt::format("{}{}", list.empty() ? "" : ", ", one.name);
        return notes.fault(member.value.mark, fmt::format("No table here has \"{}\".", name),
                           fmt::format("There are {}.", list));
    }
    entry.designated.kind = Value::Kind::table;
    const auto state = [&](std::string key, Value value) {
        if (const Member* twice = entry.table().find(key))
            return notes.fault(twice->mark, fmt::format("{} stands in standard already.", key),
                               "Leave it out here or there.");
        value.mark = member.value.mark;
        entry.designated.members.push_back({std::move(key), member.mark, std::move(value)});
    };
    const auto text_value = [](std::string t) {
        Value value;
        value.kind = Value::Kind::text;
        value.text = std::move(t);
        return value;
    };
    const bool nut = fits("nut", entry.standard->shape);
    if (!entry.table().find("fastener"))
        state("fastener", text_value(nut                                         ? "nut"
                                     : fits("castle_nut", entry.standard->shape) ? "castle_nut"
                                     : fits("washer", entry.standard->shape)     ? "washer"
                                     : entry.standard->shape == HardwareShape::hex_bolt ||
                                             entry.standard->shape == HardwareShape::flanged_bolt
                                         ? "bolt"
                                         : "screw"));
    if (size_at == std::string::npos)
        return;
    const std::string rest = text->substr(size_at);
    const std::size_t size_ends = std::min(rest.find(' '), rest.find('-'));
    std::vector<std::string> figures{""};
    for (const char c : rest.substr(0, size_ends))
        if (c == 'x' || c == 'X')
            figures.emplace_back();
        else if (c != '\xc3' && c != '\x97')
            figures.back() += c;
        else if (c == '\x97') // the multiplication sign, in UTF-8
            figures.emplace_back();
    const bool shanked = fits("bolt", entry.standard->shape);
    const bool has_length = shanked && figures.size() > 1;
    const std::size_t of_thread = figures.size() - (has_length ? 1 : 0);
    if (of_thread > 2)
        return notes.fault(member.value.mark, fmt::format("\"{}\" is no size.", rest.substr(0, size_ends)),
                           "Write M8x25, or with a fine pitch M10x1.25x40.");
    state("thread", text_value(figures[0] + (of_thread == 2 ? "x" + figures[1] : "")));
    if (has_length) {
        const auto length = read_number(figures.back());
        if (!length)
            return notes.fault(member.value.mark, fmt::format("\"{}\" is no length.", figures.back()),
                               length.error().remedy);
        Value value;
        value.kind = Value::Kind::number;
        value.number = *length;
        value.whole = *length == std::floor(*length);
        state("length_mm", std::move(value));
    }
    if (size_ends != std::string::npos)
        if (const std::string grade = stripped(rest.substr(size_ends)); !grade.empty())
            state("grade", text_value(grade));
}

const HardwareStandard* Builder::standard_of(const Entry& entry) const {
    const Entry* group = entry.in.empty() ? nullptr : entry_of(entry.in);
    return entry.standard ? entry.standard : group ? group->standard : nullptr;
}

void Builder::read_hardware(Entry& entry) {
    const Member* kind_member = stated(entry, "fastener", false);
    if (!kind_member || !kind_member->value.is(Value::Kind::text))
        return notes.fault(kind_member ? kind_member->value.mark : entry.mark(), "fastener wants a text.",
                           "Write fastener = \"bolt\".");
    const std::string kind = kind_member->value.text;
    const auto text_of = [&](std::string_view key) -> std::string {
        const Member* member = stated(entry, key, true);
        return member && member->value.is(Value::Kind::text) ? member->value.text : std::string();
    };
    if (const Member* draw = entry.table().find("draw"))
        only_these(draw->value, {"thread", "length_mm", "head", "drive"}, "draw", notes);
    const bool known = kind == "bolt" || kind == "screw" || kind == "nut" || kind == "castle_nut" || kind == "stud" ||
                       kind == "washer" || is_plug(kind);
    if (!known) {
        const auto choices = choices_of(key_of(KeyId::fastener));
        const bool word = std::find(choices.begin(), choices.end(), kind) != choices.end();
        const auto near = near_choice(key_of(KeyId::fastener), kind);
        return notes.fault(
            kind_member->value.mark,
            word ? fmt::format("No standard says what a {} looks like.", kind)
                 : fmt::format("No fastener is a \"{}\".{}", kind, near ? fmt::format(" Did you mean {}?", *near) : ""),
            word ? "Give it a shape: cylinder = [8, 20], for example." : "annotation.md lists the kinds.");
    }
    const Member* thread_member = stated(entry, "thread", true);
    if (!thread_member || !thread_member->value.is(Value::Kind::text))
        return notes.fault(
            thread_member ? thread_member->value.mark : entry.mark(),
            fmt::format("{} has no thread, so nobody knows how large it is.", entry.name),
            "Write thread = \"M8\"; or draw = { thread = \"M8\" }, which is drawn and not stated; or give it a shape.");
    const auto thread = read_thread(thread_member->value.text);
    if (!thread)
        return notes.fault(thread_member->value.mark, fmt::format("thread: {}", thread.error().what),
                           thread.error().remedy);
    if (thread->diameter_mm < 1 || thread->diameter_mm > 200)
        return notes.fault(thread_member->value.mark, fmt::format("{} is no thread that is drawn here.", thread->name),
                           "M1 to M200 are.");

    const HardwareStandard* standard = standard_of(entry);
    const bool named = standard != nullptr;
    const Member* word = entry.table().find("standard");
    const Mark named_at = word ? word->value.mark : entry.mark();
    if (!named && word)
        return; // told already
    if (named) {
        if (!fits(kind, standard->shape))
            return notes.fault(named_at, fmt::format("{} is no standard of a {}.", standard->name, kind),
                               fmt::format("Of a {} there are {}.", kind, standards_for(kind)));
        const Member* head = entry.table().find("head");
        if (head && !standard->head.empty() && head->value.text != standard->head)
            return notes.fault(head->value.mark, fmt::format("The head of {} is {}.", standard->name, standard->head),
                               "Leave one of the two out.");
    } else if (!is_plug(kind) && kind != "stud") {
        standard = usual(kind, text_of("head"), thread->form);
    }
    const auto made = sized(standard, named, *thread,
                            is_plug(kind) ? HardwareShape::flanged_bolt : HardwareShape::hex_bolt, named_at, notes);
    if (!made.good)
        return;
    HardwareForm form = made.form;
    form.stud = kind == "stud";
    if (const std::string text = text_of("drive"); !text.empty())
        if (auto drive = read_drive(text))
            form.size.drive = *drive; // a mistake in it is found when the map is read
    const bool shanked = form.stud || fits("bolt", form.shape);
    if (shanked) {
        const Member* length = stated(entry, "length_mm", true);
        if (!length && !is_plug(kind))
            return notes.fault(entry.mark(),
                               fmt::format("{} has no length_mm, so nobody knows how long it is.", entry.name),
                               "Write length_mm = 25; or draw = { length_mm = 25 }, which is drawn and not stated.");
        const auto mm =
            length ? take_size(length->value, "length_mm", notes) : std::optional(0.7 * thread->diameter_mm);
        if (!mm)
            return;
        if (*mm > longest_fastener_mm || (form.shape == HardwareShape::countersunk_screw && *mm <= form.size.height_mm))
            return notes.fault(length->value.mark,
                               fmt::format("A {} of {} mm cannot be drawn.", kind, print_number(*mm)),
                               "Lengths are millimetres; that of a countersunk screw includes its head.");
        form.length_mm = *mm;
    }
    if (form.stud) {
        form.rooted_mm =
            std::min(thread->diameter_mm, form.length_mm / 2); // once the diameter (DIN 938), where not said
        if (const Member* rooted = entry.table().find("rooted")) {
            const auto mm = take_size(rooted->value, "rooted", notes);
            if (mm && *mm > form.length_mm - least_mm)
                return notes.fault(rooted->value.mark, "The stud is rooted deeper than it is long.",
                                   "Make rooted smaller.");
            form.rooted_mm = mm.value_or(form.rooted_mm);
        }
    }
    entry.form = form;
    for (const std::string_view hole_word : {"clear", "tapped"})
        if (const Member* member = entry.table().find(hole_word)) {
            const auto names = take_names(member->value, hole_word, notes);
            if (names)
                (hole_word == "clear" ? entry.clear : entry.tapped) = *names;
            if (!shanked || (form.stud && hole_word == "clear"))
                notes.fault(member->mark, fmt::format("A {} makes no such hole.", kind),
                            "Write it in the bolt's table.");
        }
    const Member* drill_too = entry.table().find("drill");
    if (drill_too && !drill_too->value.is(Value::Kind::yes_no))
        notes.fault(drill_too->value.mark, "drill wants true or false.", "Without it, what a bolt holds is drilled.");
    entry.drills_itself =
        shanked && entry.clear.empty() && entry.tapped.empty() && !(drill_too && !drill_too->value.yes);
    if (const Member* grip = entry.table().find("grip"))
        entry.grip_mm = take_size(grip->value, "grip", notes);
    if (entry.table().find("nut") || entry.table().find("washer"))
        read_nut(entry, *thread, standard);
}

void Builder::read_nut(Entry& entry, const Thread& thread, const HardwareStandard* bolt) {
    const Member* nut = entry.table().find("nut");
    const Member* washer = entry.table().find("washer");
    const bool no_nut = nut && nut->value.is(Value::Kind::yes_no) && !nut->value.yes;
    const bool no_washer = washer && washer->value.is(Value::Kind::yes_no) && !washer->value.yes;
    if (!bolt || !fits("bolt", bolt->shape) || entry.form->stud)
        return notes.fault((nut ? nut : washer)->mark, "Only a bolt or a screw takes its nut and washers along.",
                           "Write the nut as a table of its own, with fastener = \"nut\".");
    if (nut && !no_nut) {
        const Member* named = nut->value.is(Value::Kind::table) ? nut->value.find("standard") : nut;
        const bool by_name = named && named->value.is(Value::Kind::text);
        const bool form = nut->value.is(Value::Kind::table) || nut->value.is(Value::Kind::yes_no) || by_name;
        if (!form)
            return notes.fault(nut->value.mark, "nut wants true, a standard, or a table.",
                               "Write nut = true, nut = \"ISO 4032\" or nut = { torque = \"45 N·m\" }.");
        const HardwareStandard* standard =
            by_name ? find_hardware_standard(named->value.text) : usual("nut", "", thread.form);
        if (!standard || !(fits("nut", standard->shape) || fits("castle_nut", standard->shape)))
            return notes.fault(named->value.mark, fmt::format("{} is no standard of a nut.", named->value.text),
                               fmt::format("There are {}.", standards_for("nut")));
        const auto made = sized(standard, by_name, thread, HardwareShape::plain_nut, nut->value.mark, notes);
        if (!made.good)
            return;
        entry.nut = made.form;
        if (const Member* drive = nut->value.find("drive"); drive && drive->value.is(Value::Kind::text))
            if (auto read = read_drive(drive->value.text))
                entry.nut->size.drive = *read;
        for (const Member& key : nut->value.members)
            if (key.key != "standard" && !find_key(key.key)) {
                const auto near = near_key(key.key);
                notes.fault(key.mark,
                            fmt::format("\"{}\" is no key of the annotation.{}", key.key,
                                        near ? fmt::format(" Did you mean {}?", key_of(*near).name) : ""),
                            "In nut stand its standard and the keys that are its own.");
            }
    }
    if (!washer || no_washer)
        return;
    const std::string where =
        washer->value.is(Value::Kind::yes_no) ? (entry.nut ? "both" : "head") : washer->value.text;
    if (where != "head" && where != "nut" && where != "both")
        return notes.fault(washer->value.mark, "washer wants true, \"head\", \"nut\" or \"both\".",
                           "ISO 7089 is drawn.");
    if (where != "head" && !entry.nut)
        return notes.fault(washer->value.mark, "There is no nut for this washer to lie under.", "Write nut = true.");
    const auto made =
        sized(find_hardware_standard("ISO 7089"), false, thread, HardwareShape::flat_washer, washer->value.mark, notes);
    if (where != "nut")
        entry.head_washer = made.form;
    if (where != "head")
        entry.nut_washer = made.form;
}

/// How far below the seat the last face lies that the bolt goes through: of the pieces of what it holds that lie on
/// its axis, within its length.
std::optional<double> Builder::grip_of(const Entry& entry, const Instance& bolt) {
    if (entry.grip_mm)
        return entry.grip_mm;
    std::vector<std::string> names = entry.clear;
    if (const Member* holds = stated(entry, "holds", false))
        if (holds->value.is(Value::Kind::text) || holds->value.is(Value::Kind::list))
            if (const auto list = take_names(holds->value, "holds", notes))
                names.insert(names.end(), list->begin(), list->end());
    double far = 0;
    for (const std::string& name : names)
        for (const std::string& spelled :
             {bolt.mirrored && !instances_of(swapped(name)).empty() ? swapped(name) : name})
            for (const std::size_t i : instances_of(spelled))
                for (const Piece& piece : instances_[i].pieces) {
                    const Instance& part = instances_[i];
                    const Frame own = part.mirrored ? mirrored(piece.frame) : piece.frame;
                    const glm::dvec3 from = own.in(part.frame.in(bolt.frame.at));
                    const glm::dvec3 along =
                        glm::transpose(own.turn) * (glm::transpose(part.frame.turn) * -bolt.frame.turn[1]);
                    double in = -1e9;
                    double out = 1e9;
                    for (int axis = 0; axis < 3; ++axis) {
                        if (std::abs(along[axis]) < 1e-9) {
                            if (std::abs(from[axis]) > piece.half[axis])
                                out = -1e9;
                            continue;
                        }
                        const double a = (-piece.half[axis] - from[axis]) / along[axis];
                        const double b = (piece.half[axis] - from[axis]) / along[axis];
                        in = std::max(in, std::min(a, b));
                        out = std::min(out, std::max(a, b));
                    }
                    if (in < out && in < entry.form->length_mm)
                        far = std::max(far, out);
                }
    if (far < least_mm) {
        notes.fault(entry.mark(),
                    fmt::format("Nothing that {} holds lies on its axis, so its nut has no place.", bolt.name),
                    "State holds, or grip: how far below the head's face the nut sits.");
        return std::nullopt;
    }
    return far;
}

void Builder::join(Entry& entry) {
    const std::vector<std::size_t> bolts = entry.instances;
    const bool nut_end = !entry.table().find("turn") || entry.table().find("turn")->value.text != "head";
    // One place along the joint each, from the end that stays to the end that is turned.
    const std::vector<Role> order{Role::self, Role::head_washer, Role::nut_washer, Role::nut};
    const auto has = [&](Role role) {
        return role == Role::self || (role == Role::nut && entry.nut) ||
               (role == Role::head_washer && entry.head_washer) || (role == Role::nut_washer && entry.nut_washer);
    };
    for (const std::size_t i : bolts) {
        const Instance bolt = instances_[i];
        std::optional<double> grip;
        if (entry.nut) {
            grip = grip_of(entry, bolt);
            if (!grip)
                return;
        }
        const glm::dvec3 up = bolt.frame.turn[1];
        const double lift = entry.head_washer ? entry.head_washer->size.height_mm : 0;
        const double drop = entry.nut_washer ? entry.nut_washer->size.height_mm : 0;
        glm::dmat3 over = bolt.frame.turn; // the other way up
        over[1] = -over[1];
        over[2] = -over[2];
        if (grip && lift + *grip + drop > entry.form->length_mm)
            notes.doubt(entry.mark(),
                        fmt::format("{} is {} mm long and goes through {} mm: its nut finds no thread.", bolt.name,
                                    print_number(entry.form->length_mm), print_number(lift + *grip + drop)),
                        "State a longer one, or grip, if it goes through less.");
        int stack = 0;
        for (std::size_t k = 0; k < order.size(); ++k) {
            const Role role = nut_end ? order[k] : order[order.size() - 1 - k];
            if (!has(role))
                continue;
            ++stack;
            if (role == Role::self) {
                instances_[i].joint = bolt.name;
                // Without a nut the washer lies between what stays and the head that is turned.
                instances_[i].stack = entry.nut ? stack : 2;
                instances_[i].frame.at += up * lift;
                continue;
            }
            Instance more;
            more.entry = bolt.entry;
            more.role = role;
            more.mirrored = bolt.mirrored;
            more.number = bolt.number;
            more.name = name_of_role(bolt.name, role, entry.head_washer.has_value());
            more.joint = bolt.name;
            more.stack = entry.nut ? stack : 1;
            more.frame = role == Role::head_washer  ? bolt.frame
                         : role == Role::nut_washer ? Frame{over, bolt.frame.at - up * *grip}
                                                    : Frame{over, bolt.frame.at - up * (*grip + drop)};
            if (!add_instance(entry, std::move(more)))
                return;
        }
    }
}

void Builder::drill() {
    for (Entry& entry : entries_) {
        if (!entry.form)
            continue;
        Mark at = entry.mark();
        if (entry.drills_itself) {
            // From the head to the thread: all are gone through, the last one holds the thread where no nut does.
            const Member* holds = stated(entry, "holds", false);
            if (!holds || !(holds->value.is(Value::Kind::text) || holds->value.is(Value::Kind::list)))
                continue;
            at = holds->value.mark;
            if (const auto names = take_names(holds->value, "holds", notes))
                entry.clear = *names;
            if (!entry.nut && !entry.clear.empty()) {
                entry.tapped = {entry.clear.back()};
                entry.clear.pop_back();
            }
        }
        const Member* clear = entry.table().find("clear");
        const Member* tapped = entry.table().find("tapped");
        for (const std::size_t i : entry.instances) {
            if (instances_[i].role != Role::self || notes.list.size() > 100)
                continue;
            const Instance bolt = instances_[i];
            for (const std::string& part : entry.clear)
                drill(entry, bolt, part, false, clear ? clear->value.mark : at);
            for (const std::string& part : entry.tapped)
                drill(entry, bolt, part, true, tapped ? tapped->value.mark : at);
        }
    }
}

void Builder::drill(const Entry& entry, const Instance& bolt, const std::string& name, bool tapped, Mark mark) {
    const HardwareForm& form = *entry.form;
    std::string part_name = name;
    if (bolt.mirrored && !instances_of(swapped(name)).empty())
        part_name = swapped(name);
    const auto parts = instances_of(part_name);
    if (parts.empty() && entry.drills_itself)
        return; // reading the map says so
    if (parts.empty()) {
        std::vector<std::string> there;
        for (const auto& [other, index] : by_name_)
            if (!instances_[index].pieces.empty())
                there.push_back(other);
        return notes.fault(mark, fmt::format("No part is named {}.{}", part_name, near_one(part_name, there)),
                           "Name parts that have a shape.");
    }
    const double washer = entry.head_washer ? entry.head_washer->size.height_mm : 0;
    const glm::dvec3 down = -bolt.frame.turn[1];
    // Below the bolt's origin: where its shank begins and ends.
    const double begin = form.stud ? 0 : washer;
    const double end = form.stud ? form.rooted_mm : form.length_mm;
    bool drilled = false;
    bool slanted = false;
    for (const std::size_t p : parts) {
        Instance& part = instances_[p];
        for (Piece& piece : part.pieces) {
            const Frame own = part.mirrored ? mirrored(piece.frame) : piece.frame;
            glm::dvec3 at = own.in(part.frame.in(bolt.frame.at));
            glm::dvec3 way = glm::transpose(own.turn) * (glm::transpose(part.frame.turn) * down);
            if (part.mirrored) { // the shape is drilled before it is mirrored
                at.x = -at.x;
                way.x = -way.x;
            }
            const auto along = way_along(way);
            if (!along) {
                slanted = slanted || glm::length(glm::cross(way, -at)) < glm::length(piece.half);
                continue;
            }
            const Way face = opposite(*along);
            const Plane plane = plane_of(piece, face);
            const glm::dvec2 spot(glm::dot(at, plane.u), glm::dot(at, plane.v));
            const double u = glm::dot(glm::abs(plane.u), piece.half);
            const double v = glm::dot(glm::abs(plane.v), piece.half);
            // The face lies so far below the bolt's origin.
            const double top = glm::dot(plane.origin - at, way);
            const double thick = thickness(piece, face);
            if (std::abs(spot.x) > u || std::abs(spot.y) > v || top > end - least_mm || top + thick < begin + least_mm)
                continue;
            if (entry.drills_itself && !refuses_holes(piece, face).empty())
                continue;
            Hole hole;
            hole.mark = mark;
            hole.name = fmt::format("the hole of {} in {}", bolt.name, part.name);
            hole.face = face;
            hole.at = spot;
            std::optional<Sink> sink;
            if (form.shape == HardwareShape::countersunk_screw && !form.stud && std::abs(top) < least_mm)
                sink = Sink{form.size.width_mm + 2 * sink_room_mm, 0, true};
            const double bottom = end - top + room_below * form.diameter_mm;
            const bool blind = tapped && bottom < thick - 1;
            make_round(piece, hole, tapped ? form.diameter_mm : clearance_hole_mm(form.diameter_mm), blind ? bottom : 0,
                       sink);
            const bool there = std::any_of(piece.holes.begin(), piece.holes.end(), [&](const Hole& other) {
                return other.through && (other.face == face || other.face == opposite(face)) &&
                       glm::length(other.at - (other.face == face ? spot : glm::dvec2(spot.y, spot.x))) < least_mm &&
                       other.widest_mm >= hole.widest_mm - least_mm;
            });
            drilled = true;
            if (!there)
                piece.holes.push_back(std::move(hole));
        }
    }
    if (!drilled && !entry.drills_itself)
        notes.fault(mark,
                    slanted
                        ? fmt::format("{} meets {} at a slant: no hole goes through a shape so.", bolt.name, part_name)
                        : fmt::format("The shank of {} does not reach {}.", bolt.name, part_name),
                    slanted ? "Turn the bolt or the part by quarters, or leave the part out here."
                            : "Move the bolt, or take the part out of this list.");
}

} // namespace boltwalk::recipe
