// The words of a step: titles, headlines, reasons.
#include "core/job/card_words.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace boltwalk {

std::string torque_in_words(const TorqueSpec& torque, TorqueUnit unit) {
    const std::string words = print_torque(torque, unit);
    return unit == torque.unit ? words : fmt::format("{} (stated: {})", words, print_torque(torque, torque.unit));
}

std::string size_of(const Fastener& fastener) {
    std::string size = fastener.thread ? fastener.thread->name : "";
    if (fastener.length_mm)
        size += fmt::format("{}{}{}", size.empty() ? "" : " × ", print_number(*fastener.length_mm, 1),
                            size.empty() ? " mm" : "");
    return size.empty() ? "size not stated" : size;
}

namespace inside {

std::string title_of(const Map& map, ItemId id) {
    const Item& item = map[id];
    return item.title.empty() ? item.name : item.title;
}

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

std::string slot_words(const Fastener& fastener) {
    if (fastener.slot == "onward") // as shops and aircraft works do it; common practice, no source
        return "to the slot: onward to the next one, never back; write down the torque there";
    if (fastener.slot == "back")
        return "to the slot: back to the last one, for the play that the manual states; write down the torque there";
    return "to the slot: onward or back is not stated";
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

namespace {

std::string plural(std::string_view word, std::size_t count) {
    if (count == 1)
        return std::string(word);
    if (word.ends_with("ch") || word.ends_with("sh") || word.ends_with('s'))
        return fmt::format("{}es", word);
    return fmt::format("{}s", word);
}

/// "4 bolts", "1 drain plug and 1 washer".
std::string count_kinds(const Map& map, const std::vector<ItemId>& fasteners) {
    std::vector<std::pair<FastenerKind, std::size_t>> kinds;
    for (const ItemId id : fasteners) {
        const FastenerKind kind = map.fastener(id).kind;
        const auto same = std::find_if(kinds.begin(), kinds.end(), [&](const auto& k) { return k.first == kind; });
        if (same == kinds.end())
            kinds.emplace_back(kind, 1);
        else
            ++same->second;
    }
    std::string out;
    for (std::size_t i = 0; i < kinds.size(); ++i)
        out += fmt::format("{}{} {}",
                           i == 0                  ? ""
                           : i + 1 == kinds.size() ? " and "
                                                   : ", ",
                           kinds[i].second, plural(spoken(kinds[i].first), kinds[i].second));
    return out;
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
        return "Slacken fully, and leave in place";
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
    case Verb::mate:
        return "Faces meeting by hand, all round, before any bolt is turned";
    default:
        return "";
    }
}

} // namespace

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
    const bool grouped = map[first].group >= 0;
    return fmt::format("{}: {}, {}", fastener_verb(step.verb, map.fastener(first).kind), count_kinds(map, step.items),
                       grouped ? title_of(map, first) : list_titles(map, step.items));
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
    case Rule::not_mated:
        return fmt::format("Before {}: bolts never draw it in.", later);
    case Rule::not_transferred:
        return fmt::format("Before {} goes in.", later);
    case Rule::still_carried:
        return "Carries the load again.";
    case Rule::out_of_reach:
        return fmt::format("Before it is off, no tool gets on {}.", later);
    case Rule::in_the_way:
        return fmt::format("Is in the way of {}.", later);
    default:
        return "";
    }
}

} // namespace inside

} // namespace boltwalk
