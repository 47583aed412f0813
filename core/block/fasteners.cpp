// Hardware by its standard, what lies along a joint, and the holes that it asks for.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "core/block/builder.hpp"
#include "core/block/take.hpp"

namespace boltwalk::recipe {

namespace {

constexpr double longest_fastener_mm = 2000;

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
    const auto stripped = [](const std::string& part) {
        const std::size_t begin = part.find_first_not_of(" -");
        return begin == std::string::npos ? std::string() : part.substr(begin, part.find_last_not_of(" -") + 1 - begin);
    };
    const std::string name = stripped(text->substr(0, size_at));
    entry.standard = find_hardware_standard(name);
    if (!entry.standard) {
        std::string list;
        for (const HardwareStandard& one : hardware_standards())
            list += fmt::format("{}{}", list.empty() ? "" : ", ", one.name);
        const HardwareStandard* successor = successor_of(name);
        return notes.fault(
            member.value.mark, fmt::format("No table here has \"{}\".", name),
            successor ? fmt::format("{0} took its place (from memory): write {0}; look whether its head is as large.",
                                    successor->name)
                      : fmt::format("There are {}.", list));
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
        if (c == 'x' || c == 'X' || c == '\x97') // the last byte of the multiplication sign, in UTF-8
            figures.emplace_back();
        else if (c != '\xc3')
            figures.back() += c;
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
    if (const Member* word = entry.table().find("standard"); word && !entry.standard)
        return; // told already
    if (const Entry* group = entry.in.empty() ? nullptr : entry_of(entry.in);
        group && !entry.standard && !group->standard && group->table().find("standard"))
        return; // told at the group
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
    if (standard && standard->drive == DriveKind::slot)
        form.size.drive = Drive{DriveKind::slot, 0, ""}; // drawn; no standard says what blade goes into it
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

} // namespace boltwalk::recipe
