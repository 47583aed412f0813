// Steps in words. Figures stand here only as the author stated them.
#include <algorithm>

#include <fmt/format.h>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

std::string size_of(const Fastener& fastener) {
    std::string size = fastener.thread ? fastener.thread->name : "";
    if (fastener.length_mm)
        size += fmt::format("{}{}{}", size.empty() ? "" : " × ", print_number(*fastener.length_mm, 1),
                            size.empty() ? " mm" : "");
    return size.empty() ? "size not stated" : size;
}

std::vector<std::string> standing_cautions() {
    return {
        "The maker's manual comes first, then local codes; brakes, steering, fuel and airbags are for those who are "
        "licensed for them.",
        "Never under a vehicle that only a jack holds: axle stands at the maker's points, wheels chocked.",
        "Look at stands and chocks again whenever a heavy unit has come out: the balance has changed.",
        "Eyes covered; nothing and nobody in the drop path; no hand in the gap.",
        "What Boltwalk works out from shapes is an estimate; what is not stated is not known.",
    };
}

namespace {

std::string title_of(const Map& map, ItemId id) {
    const Item& item = map[id];
    return item.title.empty() ? item.name : item.title;
}

std::string plural(std::string_view word, std::size_t count) {
    if (count == 1)
        return std::string(word);
    if (word.ends_with("ch") || word.ends_with("sh") || word.ends_with('s'))
        return fmt::format("{}es", word);
    return fmt::format("{}s", word);
}

/// "transfer box", "3 bolts", "rail and tunnel": at most three names, then how many more.
std::string list_titles(const Map& map, const std::vector<ItemId>& items) {
    std::vector<std::string> names;
    std::vector<std::pair<std::string, std::size_t>> fasteners; // by group's title
    for (const ItemId id : items) {
        if (map.is_fastener(id)) {
            const std::string title = title_of(map, id);
            const auto same =
                std::find_if(fasteners.begin(), fasteners.end(), [&](const auto& f) { return f.first == title; });
            if (same == fasteners.end())
                fasteners.emplace_back(title, 1);
            else
                ++same->second;
        } else {
            // Titles of tasks are whole sentences, commas and all.
            names.push_back(map.is_task(id) ? fmt::format("\"{}\"", title_of(map, id)) : title_of(map, id));
        }
    }
    for (const auto& [title, count] : fasteners)
        names.push_back(count == 1 ? title : fmt::format("{} ({})", title, count));
    std::string out;
    for (std::size_t i = 0; i < names.size() && i < 3; ++i)
        out += fmt::format("{}{}", i == 0 ? "" : i + 1 == names.size() ? " and " : ", ", names[i]);
    if (names.size() > 3)
        out += fmt::format(" and {} more", names.size() - 3);
    return out;
}

std::string place_words(Place place) {
    switch (place) {
    case Place::not_stated:
        return "";
    case Place::under:
        return "from under";
    case Place::over:
        return "from over";
    case Place::left:
        return "from the left";
    case Place::right:
        return "from the right";
    case Place::front:
        return "from the front";
    case Place::rear:
        return "from the rear";
    case Place::inside:
        return "from inside";
    }
    return "";
}

std::string vehicle_headline(const VehicleAsk& ask, bool refit) {
    std::string words;
    const auto add = [&](std::string_view text) { words += fmt::format("{}{}", words.empty() ? "" : "; ", text); };
    if (ask.chocked == Ask::yes)
        add("chock the wheels that stay on the ground");
    if (ask.stands == Ask::yes)
        add("raise it at the maker's points and set it on axle stands");
    if (ask.stands == Ask::no)
        add("let it down on its wheels");
    if (ask.brake == Ask::yes)
        add("brake on");
    if (ask.brake == Ask::no)
        add("brake off");
    if (ask.gear == Ask::yes)
        add("put it in gear");
    if (ask.gear == Ask::no)
        add("put it in neutral");
    if (ask.battery == Ask::no)
        add("disconnect the battery");
    if (ask.battery == Ask::yes)
        add(refit ? "connect the battery again" : "connect the battery");
    if (ask.straight == Ask::yes)
        add("steering straight ahead");
    if (ask.straight == Ask::no)
        add("steering turned");
    if (ask.chocked == Ask::no)
        add("chocks away");
    return "The vehicle: " + words;
}

std::string fastener_verb(Verb verb, FastenerKind kind) {
    switch (verb) {
    case Verb::soak:
        return "Soak with penetrating oil";
    case Verb::prove:
        return "Prove loose, and nip up again";
    case Verb::loosen:
        return "Undo, and leave in place";
    case Verb::start:
        return "Start by hand";
    case Verb::seat:
        return "Run down to its seat, not tight yet";
    case Verb::take_out:
        switch (kind) {
        case FastenerKind::connector:
            return "Disconnect";
        case FastenerKind::clip:
            return "Unclip";
        case FastenerKind::hanger:
            return "Unhook";
        case FastenerKind::split_pin:
        case FastenerKind::pin:
        case FastenerKind::lock_wire:
            return "Pull out";
        case FastenerKind::tab:
            return "Bend open";
        default:
            return "Take out";
        }
    case Verb::tighten:
        switch (kind) {
        case FastenerKind::connector:
            return "Connect";
        case FastenerKind::clip:
            return "Clip in";
        case FastenerKind::hanger:
            return "Hook up";
        case FastenerKind::split_pin:
        case FastenerKind::pin:
        case FastenerKind::lock_wire:
            return "Put in";
        case FastenerKind::tab:
            return "Bend over";
        case FastenerKind::washer:
        case FastenerKind::spacer:
        case FastenerKind::shim:
            return "Put on";
        default:
            return "Tighten";
        }
    default:
        return "";
    }
}

std::string part_verb(Verb verb) {
    switch (verb) {
    case Verb::mark:
        return "Mark the position of";
    case Verb::unload:
        return "Make sure that nothing loads";
    case Verb::prop:
        return "Prop";
    case Verb::drain:
        return "Drain";
    case Verb::let_down:
        return "Let down";
    case Verb::set_aside:
        return "Move aside";
    case Verb::take_off:
        return "Take off";
    case Verb::transfer:
        return "Move over to the replacement unit";
    case Verb::fit:
        return "Fit";
    case Verb::put_back:
        return "Put back";
    case Verb::raise:
        return "Raise";
    case Verb::fill:
        return "Fill";
    case Verb::unprop:
        return "Take the prop away from";
    default:
        return "";
    }
}

std::string headline_of(const Map& map, const Step& step, bool refit) {
    if (step.verb == Verb::set_vehicle)
        return vehicle_headline(step.vehicle, refit);
    const ItemId first = step.items.front();
    if (step.verb == Verb::do_task)
        return title_of(map, first);
    if (map.is_part(first)) {
        const Part& part = map.part(first);
        std::string words = fmt::format("{}: {}", part_verb(step.verb), title_of(map, first));
        if (step.verb == Verb::prop)
            words += fmt::format(", by {}", part.support);
        if (step.verb == Verb::let_down && part.lower_mm)
            words += fmt::format(", by {} mm", print_number(*part.lower_mm, 0));
        if (step.verb == Verb::fill && !part.fluid.empty()) {
            words += fmt::format(", {}", part.fluid);
            words += part.amount_l ? fmt::format(", {} l", print_number(*part.amount_l, 2)) : ", amount not stated";
        }
        return words;
    }
    FastenerKind kind = map.fastener(first).kind;
    bool one_kind = true;
    for (const ItemId id : step.items)
        one_kind = one_kind && map.fastener(id).kind == kind;
    const std::string what = one_kind ? plural(spoken(kind), step.items.size()) : plural("fastener", step.items.size());
    const bool grouped = map[first].group >= 0;
    return fmt::format("{}: {} {}, {}", fastener_verb(step.verb, kind), step.items.size(), what,
                       grouped ? title_of(map, first) : list_titles(map, step.items));
}

/// "when the vehicle is so: wheels down", "after mount bolts (4)".
std::string wait_of(const Map& map, const Fastener& fastener) {
    const std::string vehicle = print_vehicle(fastener.torque_after_vehicle);
    std::string out = fastener.torque_after.empty() ? "" : "after " + list_titles(map, fastener.torque_after);
    if (!vehicle.empty())
        out += fmt::format("{}with {}", out.empty() ? "" : " and ", vehicle);
    return out;
}

std::string extras_of(const Map& map, const Fastener& fastener, const Step& step, bool refit) {
    std::string extra;
    const auto add = [&](const std::string& text) { extra += fmt::format("{}{}", extra.empty() ? "" : "; ", text); };
    if (fastener.renew)
        add(refit ? "NEW one" : "single use: a new one goes back");
    if (fastener.hand == Hand::left)
        add("LEFT-HAND thread");
    if (!fastener.counter.empty()) {
        const bool place = fastener.counter_from != Place::not_stated;
        add(fmt::format("hold the other side: {}{}{}", fastener.counter, place ? " " : "",
                        place ? place_words(fastener.counter_from) : ""));
    }
    if (step.verb == Verb::tighten || step.verb == Verb::start || step.verb == Verb::seat) {
        if (!fastener.lock.empty())
            add("threadlocker: " + fastener.lock);
        if (!fastener.condition.empty())
            add("thread " + fastener.condition);
        if (!fastener.pattern.empty())
            add("pattern: " + fastener.pattern);
        if (!fastener.passes.empty())
            add("passes: " + fastener.passes);
        if (fastener.kind == FastenerKind::castle_nut)
            add(fastener.slot.empty() ? "to the slot: not stated" : "to the slot: " + fastener.slot);
    }
    if (fastener.own_place)
        add("back into its own hole");
    if (fastener.leaves_with)
        add(refit ? fmt::format("in its hole since {} was fitted", title_of(map, fastener.leaves_with))
                  : fmt::format("stays in {} until that comes", title_of(map, fastener.leaves_with)));
    if (step.verb == Verb::seat)
        add("final torque later, " + wait_of(map, fastener));
    if (fastener.captive_in)
        add(fmt::format("captive in {}", title_of(map, fastener.captive_in)));
    if (step.verb == Verb::soak && fastener.soak_min)
        add(fmt::format("let it work for {} min", print_number(*fastener.soak_min, 0)));
    return extra;
}

std::vector<Hardware> hardware_of(const Map& map, const Step& step, bool refit) {
    std::vector<Hardware> lines;
    for (const ItemId id : step.items) {
        if (!map.is_fastener(id))
            continue;
        const Fastener& fastener = map.fastener(id);
        Hardware line;
        line.kind = spoken(fastener.kind);
        line.size = is_pushed(fastener) && !fastener.thread && !fastener.length_mm ? "" : size_of(fastener);
        line.drive = fastener.drive && fastener.drive->kind != DriveKind::none ? fastener.drive->name : "";
        line.grade = fastener.grade;
        if (fastener.torque)
            line.torque = print_torque(*fastener.torque);
        else if (!is_pushed(fastener) && fastener.kind != FastenerKind::stud)
            line.torque = "torque not stated";
        if (step.verb != Verb::tighten)
            line.torque.clear();
        line.extra = extras_of(map, fastener, step, refit);
        const auto same = std::find_if(lines.begin(), lines.end(), [&](const Hardware& other) {
            return other.kind == line.kind && other.size == line.size && other.drive == line.drive &&
                   other.grade == line.grade && other.torque == line.torque && other.extra == line.extra;
        });
        Hardware& target = same == lines.end() ? lines.emplace_back(std::move(line)) : *same;
        ++target.count;
        target.items.push_back(id);
    }
    return lines;
}

void add_once(std::vector<std::string>& list, const std::string& text) {
    if (!text.empty() && std::find(list.begin(), list.end(), text) == list.end())
        list.push_back(text);
}

void add_part_words(const Job& job, const Step& step, StepCard& card) {
    const Map& map = *job.map;
    const Part& part = map.part(step.items.front());
    switch (step.verb) {
    case Verb::take_off:
    case Verb::set_aside: {
        std::string way;
        for (const Leg& leg : step.verb == Verb::take_off ? part.way : part.aside_legs) {
            constexpr std::string_view names[] = {"to the front", "to the rear", "to the left",
                                                  "to the right", "up",          "down"};
            way += fmt::format("{}{} {} mm", way.empty() ? "" : ", then ", names[static_cast<std::size_t>(leg.way)],
                               print_number(leg.length_mm, 0));
        }
        if (way.empty() && step.verb == Verb::set_aside)
            way = part.aside;
        add_once(card.notes, way.empty() ? "" : "Way out: " + way + ".");
        if (!part.hang_from.empty())
            add_once(card.notes, "Hang it from: " + part.hang_from + ".");
        else if (step.verb == Verb::set_aside)
            add_once(card.notes, "What to hang it from: not stated.");
        if (part.renew)
            add_once(card.notes, "Single use: a new one goes back.");
        if (!part.tether.empty())
            add_once(card.cautions,
                     fmt::format("Still tethered by {}: it goes no farther than that allows, and never hangs by it.",
                                 list_titles(map, part.tether)));
        break;
    }
    case Verb::prop:
        add_once(card.notes,
                 part.lift_point.empty() ? "Where to lift it: not stated." : "Lift point: " + part.lift_point + ".");
        break;
    case Verb::unload:
        add_once(card.cautions,
                 fmt::format("Under load: {}. Relieve it the way the maker's manual says.", part.loaded));
        card.gate = true;
        break;
    case Verb::mark:
        add_once(card.notes, part.adjust_note);
        break;
    case Verb::drain:
        add_once(card.notes, "How it is drained: not stated. Catch it in a pan.");
        break;
    case Verb::fit:
    case Verb::put_back:
        if (part.adjust)
            add_once(card.notes, "Line it up with its marks.");
        if (part.renew)
            add_once(card.notes, "NEW one.");
        break;
    case Verb::let_down:
        break;
    default:
        break;
    }
    if (part.mass_kg && (step.verb == Verb::take_off || step.verb == Verb::fit || step.verb == Verb::prop))
        add_once(card.notes, fmt::format("Mass: {} kg.", print_number(*part.mass_kg, 1)));
}

std::string why_of(const Map& map, const Step& step, bool refit) {
    if (step.why.empty())
        return step.by_rules && step.verb == Verb::unprop ? "What carries it is tight again." : "";
    const std::string later = list_titles(map, step.why);
    switch (step.why_rule) {
    case Rule::joined:
        return fmt::format("Holds {}.", later);
    case Rule::not_propped:
        return fmt::format("Before the first of what carries it is slackened: {}.", later);
    case Rule::secured:
        return refit ? fmt::format("Before {} can lock it.", later) : fmt::format("Locks {}.", later);
    case Rule::joint_order:
        return refit ? fmt::format("Lies under {}.", later) : fmt::format("Lies over {}.", later);
    case Rule::not_soaked:
        return fmt::format("The oil needs its time before {}.", later);
    case Rule::not_drained:
        return fmt::format("Or the fluid runs out with {}.", later);
    case Rule::fill_not_proven:
        return "Never empty what cannot be filled again.";
    case Rule::not_marked:
        return fmt::format("Or its position is lost with {}.", later);
    case Rule::loaded:
        return fmt::format("Or it is under load when {} is undone.", later);
    case Rule::after:
        return fmt::format("Stated: first this, then {}.", later);
    case Rule::refit_after:
        return fmt::format("Stated for the way back: first this, then {}.", later);
    case Rule::mirror:
        return fmt::format("Came off after {}, so it goes back first.", later);
    case Rule::not_there:
        return fmt::format("Carries, or is held by, {}.", later);
    case Rule::not_all_started:
        return "All by hand before any is tightened.";
    case Rule::torque_waits:
        return fmt::format("{} waits for it.", later);
    case Rule::not_filled:
        return fmt::format("Before {} closes.", later);
    case Rule::not_transferred:
        return fmt::format("Before {} goes in.", later);
    case Rule::still_carried:
        return "Carries the load again.";
    default:
        return "";
    }
}

/// Its note speaks of taking it out or putting it back, not of preparing it.
bool is_about_item(Verb verb) {
    switch (verb) {
    case Verb::soak:
    case Verb::mark:
    case Verb::unload:
    case Verb::prop:
    case Verb::prove:
    case Verb::drain:
    case Verb::transfer:
    case Verb::fill:
    case Verb::unprop:
        return false;
    default:
        return true;
    }
}

/// Lift point and mass of what a task props; the state that it leaves the vehicle in.
void add_task_words(const Map& map, const Task& task, StepCard& card) {
    card.gate = task.gate;
    if (asks_anything(task.sets))
        add_once(card.notes, "Then the vehicle is: " + print_vehicle(task.sets) + ".");
    if (task.does != TaskDoes::prop)
        return;
    for (const ItemId id : task.to) {
        if (!map.is_part(id))
            continue;
        const Part& part = map.part(id);
        add_once(card.notes, fmt::format("{}: {}{}.", title_of(map, id),
                                         part.lift_point.empty() ? "where to lift it is not stated"
                                                                 : "lift point " + part.lift_point,
                                         part.mass_kg ? fmt::format(", {} kg", print_number(*part.mass_kg, 1)) : ""));
    }
}

/// What begins to come loose with this step brings its cautions and notes along; what it was the last to hold is named.
void add_parts_that_come_loose(const Map& map, const Step& step, StepCard& card) {
    for (const ItemId id : step.opens) {
        add_once(card.cautions, map[id].caution);
        add_once(card.notes, map[id].note);
    }
    for (const ItemId id : step.drops) {
        const Part& part = map.part(id);
        add_once(card.cautions,
                 fmt::format("{}{} comes loose with the last one: hold it.", title_of(map, id),
                             part.mass_kg ? fmt::format(" ({} kg)", print_number(*part.mass_kg, 1)) : ""));
    }
}

bool shows_figure(const StepCard& card) {
    return std::any_of(card.hardware.begin(), card.hardware.end(),
                       [](const Hardware& line) { return !line.torque.empty() && line.torque != "torque not stated"; });
}

} // namespace

StepCard card_of(const Job& job, const Plan& plan, std::size_t index) {
    const Map& map = *job.map;
    const Step& step = plan.steps[index];
    StepCard card;
    card.headline = headline_of(map, step, plan.refit);
    card.by_rules = step.by_rules;
    card.people = step.people;
    card.from = place_words(step.from);
    if (step.verb == Verb::set_vehicle) {
        if (step.vehicle.stands == Ask::yes)
            card.cautions.emplace_back("Never under a vehicle that only a jack holds. Push at it before going under.");
        if (step.vehicle.brake == Ask::no || step.vehicle.gear == Ask::no)
            card.cautions.emplace_back("Look at the chocks first: nothing else keeps it from rolling.");
        card.why = why_of(map, step, plan.refit);
        return card;
    }
    card.hardware = hardware_of(map, step, plan.refit);
    VehicleAsk needs;
    std::string source = map.source;
    for (const ItemId id : step.items) {
        const Item& item = map[id];
        add_once(card.cautions, item.caution);
        if (is_about_item(step.verb))
            add_once(card.notes, plan.refit ? item.refit_note : item.note);
        needs = merged(needs, needs_of(job, {step.verb, id, {}}));
        if (step.verb == Verb::tighten)
            needs = merged(needs, map.fastener(id).torque_after_vehicle);
        if (!item.source.empty())
            source = item.source;
    }
    if (map.is_part(step.items.front()))
        add_part_words(job, step, card);
    if (map.is_task(step.items.front()))
        add_task_words(map, map.task(step.items.front()), card);
    add_parts_that_come_loose(map, step, card);
    if (step.verb == Verb::fit)
        for (const ItemId id : job.comes_with[slot(map, step.items.front())])
            if (map.fastener(id).leaves_with)
                add_once(card.notes, fmt::format("Put {} ({}) into its hole first: it goes in with this. {}",
                                                 map[id].name, size_of(map.fastener(id)), map[id].refit_note));
    const bool moves = step.verb == Verb::take_off || step.verb == Verb::fit || step.verb == Verb::set_aside;
    if (moves && step.people < 2 && map.part(step.items.front()).mass_kg.value_or(0) >= heavy_kg)
        card.notes.emplace_back("Heavy: not by one person's arms.");
    card.vehicle = print_vehicle(needs);
    card.why = why_of(map, step, plan.refit);
    card.frees = list_titles(map, step.frees);
    if (shows_figure(card))
        card.source = source.empty() ? "source not stated" : source;
    return card;
}

} // namespace boltwalk
