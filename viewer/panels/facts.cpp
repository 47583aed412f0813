#include "viewer/panels/facts.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "core/log/log.hpp"

namespace boltwalk {

namespace {

const std::string NOT_STATED = "not stated";

struct Lines {
    const Map& map;
    std::vector<Fact> all;

    void always(const char* name, const std::string& value) {
        all.push_back({name, value.empty() ? NOT_STATED : value, !value.empty()});
    }
    void stated(const char* name, const std::string& value) {
        if (!value.empty())
            all.push_back({name, value, true});
    }
    void stated(const char* name, bool is_so, const char* value) {
        if (is_so)
            all.push_back({name, value, true});
    }
    void items(const char* name, const std::vector<ItemId>& ids) { stated(name, names(ids)); }
    void item(const char* name, ItemId id) {
        if (id)
            stated(name, caption_of(map, id));
    }
    std::string names(const std::vector<ItemId>& ids) const {
        std::string text;
        for (const ItemId id : ids) {
            if (!text.empty())
                text += "; ";
            text += caption_of(map, id);
        }
        return text;
    }
};

std::string place_words(Place place) {
    return place == Place::not_stated ? std::string() : std::string(name_of(place));
}

std::string torque_words(const TorqueSpec& torque) {
    if (torque.unit == TorqueUnit::newton_metre)
        return torque.text;
    return torque.text + "  (" + print_torque(torque) + ")";
}

std::string legs_words(const std::vector<Leg>& legs) {
    static constexpr const char* WORDS[] = {"to the front", "to the rear", "to the left", "to the right", "up", "down"};
    std::string text;
    for (const Leg& leg : legs) {
        if (!text.empty())
            text += ", then ";
        text += print_number(leg.length_mm, 0) + " mm " + WORDS[static_cast<std::size_t>(leg.way)];
    }
    return text;
}

void fastener_lines(Lines& lines, const Fastener& f) {
    lines.always("Kind", std::string(spoken(f.kind)));
    lines.always("Thread", f.thread ? f.thread->name : "");
    lines.always("Length", f.length_mm ? print_number(*f.length_mm) + " mm" : "");
    lines.stated("Head", spoken_head(f.head));
    lines.always("Tool", !f.drive ? "" : f.drive->kind == DriveKind::none ? "none" : tool_for(*f.drive));
    lines.stated("Grade", f.grade);
    lines.stated("Hand", f.hand == Hand::left, "left-hand thread");
    lines.always("Torque", f.torque ? torque_words(*f.torque) : "");
    std::string wait = lines.names(f.torque_after);
    if (const std::string vehicle = print_vehicle(f.torque_after_vehicle); !vehicle.empty())
        wait += (wait.empty() ? "" : "; ") + vehicle;
    lines.stated("Tightened when", wait);
    lines.stated("Order of tightening", f.pattern);
    lines.stated("Passes", f.passes);
    lines.stated("Next slot", f.slot);
    lines.stated("Threadlocker", f.lock);
    lines.stated("Thread when tightened", f.condition);
    lines.always("Used again", f.renew ? "no: a new one each time" : "");
    lines.items("Holds", f.holds);
    lines.stated("Other side held by", f.counter);
    lines.stated("Held from", place_words(f.counter_from));
    lines.items("Held through", f.held_through);
    lines.stated("Penetrating oil", f.soak_min ? print_number(*f.soak_min) + " min before" : "");
    if (f.frees_when != FreesWhen::out)
        lines.stated("Lets go when", f.frees_when == FreesWhen::slack ? "slack" : "its nut is off");
    lines.item("Comes out with", f.leaves_with);
    lines.item("Stays in", f.captive_in);
    lines.stated("Own hole", f.own_place, "must go back where it was");
    lines.stated("Joint", f.joint);
    lines.stated("Place in joint", f.stack ? std::to_string(*f.stack) : "");
    lines.stated("Turned at", f.turn);
    lines.items("Locks", f.secures);
}

void part_lines(Lines& lines, const Part& p) {
    lines.stated("Stays", p.fixed, "this body stays where it is");
    lines.always("Mass", p.mass_kg ? print_number(*p.mass_kg) + " kg" : p.fixed ? "not asked: it stays" : "");
    lines.always("Way out", p.fixed ? "none: it stays" : legs_words(p.way));
    lines.stated("Lowered by", p.lower_mm ? print_number(*p.lower_mm) + " mm" : "");
    lines.stated("Moved aside", p.aside_legs.empty() ? p.aside : legs_words(p.aside_legs));
    lines.stated("Hangs from", p.hang_from);
    lines.items("Tethered by", p.tether);
    lines.stated("Support", p.support);
    lines.items("Carried by", p.carried_by);
    if (!p.support.empty() || p.mass_kg)
        lines.always("Lift point", p.lift_point);
    lines.stated("Under load", p.loaded);
    lines.stated("Turns about", p.turns);
    lines.stated("Adjusted", p.adjust, p.adjust_note.empty() ? "mark its position first" : p.adjust_note.c_str());
    lines.stated("Flexible", p.flexible, "gives way, carries nothing");
    lines.stated("Holds fluid", p.fluid);
    if (!p.fluid.empty())
        lines.always("Amount", p.amount_l ? print_number(*p.amount_l) + " l" : "");
    lines.items("Opens", p.opens);
    lines.stated("Used again", p.renew, "no: a new one each time");
    lines.stated("Road wheel", p.road_wheel, "torqued on the ground, and again after 50 to 100 km");
    lines.stated("Replacement", p.transfer, "goes over to the replacement unit");
}

void task_lines(Lines& lines, const Task& t) {
    lines.stated("When", t.when == TaskWhen::both    ? "on the way down and on the way back"
                         : t.when == TaskWhen::refit ? "on the way back"
                                                     : "on the way down");
    lines.stated("Must be confirmed", t.gate, "yes");
    lines.items("For", t.to);
    lines.stated("Leaves the vehicle", print_vehicle(t.sets));
}

} // namespace

std::string on_screen(const std::string& text) {
    std::string out;
    std::size_t from = 0;
    for (;;) {
        const std::size_t open = text.find('`', from);
        const std::size_t close = open == std::string::npos ? open : text.find('`', open + 1);
        if (close == std::string::npos)
            return printable(out + text.substr(from));
        out += text.substr(from, open - from) + "“" + text.substr(open + 1, close - open - 1) + "”";
        from = close + 1;
    }
}

std::vector<Fact> facts_of(const Map& map, ItemId id) {
    Lines lines{map, {}};
    const Item& item = map[id];
    if (item.group >= 0) {
        const Group& group = map.groups[static_cast<std::size_t>(item.group)];
        std::string text = group.title;
        if (group.count)
            text += ", " + std::to_string(*group.count) + " by the manual";
        lines.stated("Group", text);
    }
    switch (item.kind) {
    case ItemKind::fastener:
        fastener_lines(lines, map.fastener(id));
        break;
    case ItemKind::part:
        part_lines(lines, map.part(id));
        break;
    case ItemKind::task:
        task_lines(lines, map.task(id));
        break;
    }
    lines.items("Only after", item.after);
    lines.items("On the way back, only after", item.refit_after);
    lines.items("On the way back, free of", item.refit_free);
    lines.stated("Worked from", place_words(item.from));
    lines.stated("People", item.people > 1 ? std::to_string(item.people) : "");
    lines.stated("Vehicle", print_vehicle(item.needs));
    lines.stated("Note", item.note);
    lines.stated("Note for the way back", item.refit_note);
    lines.always("Source", item.source.empty() ? map.source : item.source);
    lines.stated("Name in the file", item.name);
    return std::move(lines.all);
}

std::string how_many(const Hardware& h) {
    return fmt::format("{} × {}", h.count, h.size.empty() ? h.kind : h.size);
}

static std::string in_one_line(const std::string& text) {
    std::string out;
    for (const char c : text)
        out += c == ' ' ? std::string("\u00a0") : std::string(1, c);
    return out;
}

std::string hardware_in_brief(const std::vector<Hardware>& hardware, bool with_torque) {
    std::string all;
    for (std::size_t i = 0; i < hardware.size(); ++i) {
        const Hardware& own = hardware[i];
        const auto is_alike = [&](const Hardware& h) {
            return h.tool == own.tool && (!with_torque || h.torque == own.torque);
        };
        const auto first = hardware.begin() + std::ptrdiff_t(i);
        if (std::any_of(hardware.begin(), first, is_alike))
            continue;
        // What differs in words alone, not in size, is fetched as one.
        std::vector<Hardware> sizes;
        for (auto at = first; at != hardware.end(); ++at) {
            if (!is_alike(*at))
                continue;
            const auto same = std::find_if(sizes.begin(), sizes.end(), [&](const Hardware& h) {
                return h.size == at->size && (!h.size.empty() || h.kind == at->kind);
            });
            if (same == sizes.end())
                sizes.push_back(*at);
            else
                same->count += at->count;
        }
        std::string counted;
        for (const Hardware& h : sizes)
            counted += (counted.empty() ? "" : ", ") + in_one_line(how_many(h));
        all += (all.empty() ? "" : "; ") + counted;
        for (const std::string& text : {own.tool, with_torque ? own.torque : std::string{}})
            if (!text.empty()) // what no tool grips has none to fetch
                all += " · " + in_one_line(text);
    }
    return all;
}

std::string caption_of(const Map& map, ItemId id) {
    const Item& item = map[id];
    if (item.kind != ItemKind::fastener || item.title.empty() || item.title == item.name)
        return item.title.empty() ? item.name : item.title;
    return item.title + " (" + item.name + ")";
}

std::string condition_of(const Job& job, const State& state, ItemId id) {
    const Map& map = *job.map;
    const auto slot = static_cast<std::size_t>(map[id].detail);
    switch (map[id].kind) {
    case ItemKind::fastener:
        switch (state.fasteners[slot]) {
        case FastenerState::tight:
            return "tight, as found";
        case FastenerState::cracked:
            return "broken loose and nipped again";
        case FastenerState::slack:
            return "undone, still in place";
        case FastenerState::out:
            return "out";
        case FastenerState::started:
            return "started by hand";
        case FastenerState::seated:
            return "run down, not yet to torque";
        case FastenerState::torqued:
            return "tightened";
        }
        break;
    case ItemKind::part: {
        std::string text;
        switch (state.parts[slot]) {
        case PartState::on:
            text = "on";
            break;
        case PartState::lowered:
            text = "let down, still attached";
            break;
        case PartState::aside:
            text = "moved aside, still attached";
            break;
        case PartState::off:
            text = "off";
            break;
        }
        if (state.propped[slot] != 0)
            text += ", propped";
        if (state.marked[slot] != 0)
            text += ", marked";
        if (state.drained[slot] != 0)
            text += ", drained";
        return text;
    }
    case ItemKind::task:
        return state.done[slot] != 0 ? "done" : "not done";
    }
    return {};
}

std::string_view holding_words(Rule rule) {
    switch (rule) {
    case Rule::joined:
        return "joins it to what stays";
    case Rule::secured:
        return "locks it";
    case Rule::joint_order:
        return "lies over it in the joint";
    case Rule::cannot_be_drawn:
        return "it comes out with this";
    case Rule::after:
        return "must come first, as stated";
    default:
        return "must come first";
    }
}

} // namespace boltwalk
