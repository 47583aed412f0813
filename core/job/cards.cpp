// What a step's card says. Figures stand here only as the author stated them.
#include <algorithm>

#include <fmt/format.h>

#include "core/job/card_words.hpp"
#include "core/job/tightening.hpp"

namespace boltwalk {

using namespace inside;

namespace {

/// "when the vehicle is so: wheels down", "after mount bolts (4)".
std::string wait_of(const Job& job, const Fastener& fastener) {
    const Map& map = *job.map;
    const std::string vehicle = print_vehicle(torque_needs(job, fastener.item));
    std::string out = fastener.torque_after.empty() ? "" : "after " + list_titles(map, fastener.torque_after);
    if (!vehicle.empty())
        out += fmt::format("{}with {}", out.empty() ? "" : " and ", vehicle);
    return out;
}

std::string extras_of(const Job& job, const Fastener& fastener, const Step& step, bool refit) {
    const Map& map = *job.map;
    std::string extra;
    const auto add = [&](const std::string& text) { extra += fmt::format("{}{}", extra.empty() ? "" : "; ", text); };
    if (fastener.renew)
        add(refit ? "NEW one" : "single use: a new one goes back");
    if (fastener.hand == Hand::left)
        add("LEFT-HAND thread");
    if (const auto hold = hold_of(job, step.verb, fastener.item)) {
        const std::string place = place_words(hold->from);
        add(fmt::format("hold the other side: {}{}{}", hold->by.empty() ? "with what is not stated" : hold->by,
                        place.empty() ? "" : " ", place));
    }
    if (step.verb == Verb::tighten || step.verb == Verb::start || step.verb == Verb::seat) {
        if (is_self_locking(fastener))
            add(step.verb == Verb::start ? "self-locking: by hand for its first turns only, no farther yet"
                                         : fastener.lock);
        else if (!fastener.lock.empty())
            add("threadlocker: " + fastener.lock);
        if (!fastener.condition.empty())
            add("thread " + fastener.condition);
        if (!fastener.pattern.empty())
            add("pattern: " + fastener.pattern);
        if (!fastener.passes.empty())
            add("passes: " + fastener.passes);
        if (fastener.kind == FastenerKind::castle_nut)
            add(slot_words(fastener));
    }
    if (fastener.own_place)
        add("back into its own hole");
    if (fastener.leaves_with)
        add(refit ? fmt::format("in its hole since {} was fitted", title_of(map, fastener.leaves_with))
                  : fmt::format("stays in {} until that comes", title_of(map, fastener.leaves_with)));
    if (step.verb == Verb::seat)
        add("final torque later, " + wait_of(job, fastener));
    if (fastener.captive_in)
        add(fmt::format("captive in {}", title_of(map, fastener.captive_in)));
    if (step.verb == Verb::soak && fastener.soak_min)
        add(fmt::format("let it work for {} min", print_number(*fastener.soak_min, 0)));
    return extra;
}

std::vector<Hardware> hardware_of(const Job& job, const Step& step, bool refit, TorqueUnit unit) {
    const Map& map = *job.map;
    std::vector<Hardware> lines;
    for (const ItemId id : step.items) {
        if (!map.is_fastener(id))
            continue;
        const Fastener& fastener = map.fastener(id);
        Hardware line;
        line.kind = spoken(fastener.kind);
        line.size = is_pushed(fastener) && !fastener.thread && !fastener.length_mm ? "" : size_of(fastener);
        line.drive = fastener.drive && fastener.drive->kind != DriveKind::none ? fastener.drive->name : "";
        line.tool = tool_for(fastener.drive);
        line.grade = fastener.grade;
        if (fastener.torque)
            line.torque = torque_in_words(*fastener.torque, unit);
        else if (!is_pushed(fastener) && fastener.kind != FastenerKind::stud)
            line.torque = "torque not stated";
        if (step.verb != Verb::tighten)
            line.torque.clear();
        line.extra = extras_of(job, fastener, step, refit);
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
        if (part.renew)
            add_once(card.notes, "NEW one.");
        break;
    case Verb::mate:
        card.gate = true;
        add_once(card.cautions,
                 "Never draw it in with its bolts; never let it hang on a shaft, where it has one (common "
                 "practice, no source).");
        add_once(card.notes, "Dowels, where it has any: counted, each in its hole. How many: not stated.");
        add_once(card.notes, "Splines, where it has any: lined up by turning the flange by hand, never by force.");
        break;
    default:
        break;
    }
    if (part.mass_kg && (step.verb == Verb::take_off || step.verb == Verb::fit || step.verb == Verb::prop))
        add_once(card.notes, fmt::format("Mass: {} kg.", print_number(*part.mass_kg, 1)));
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
    case Verb::mate:
        return false;
    default:
        return true;
    }
}

/// Adjusted, or marked by a task of the map: its position on the way back is the one it had.
bool has_marks(const Job& job, ItemId part) {
    const auto tasks = job.tasks_for[at(part.index)];
    return fact(job, part).adjust ||
           std::any_of(tasks.begin(), tasks.end(), [&](ItemId id) { return job.map->task(id).does == TaskDoes::mark; });
}

/// Where it goes back, and where the first of what holds it is tightened: after that it can no longer be turned.
void add_marks(const Job& job, const Step& step, StepCard& card) {
    if (step.verb == Verb::fit || step.verb == Verb::put_back || step.verb == Verb::tighten || step.verb == Verb::seat)
        for (const ItemId id : step.items) {
            if (is_part(job, id) && has_marks(job, id))
                add_once(card.notes, "Line it up with its marks.");
            if (is_fastener(job, id) && !is_plug(kind_of(job, id)))
                for (const ItemId part : job.holds[slot(job, id)])
                    if (has_marks(job, part))
                        add_once(card.notes, fmt::format("Marks of {} in line before the first is tight.",
                                                         title_of(*job.map, part)));
        }
}

/// On the way back its own, where one is stated; a caution is never left out unless the author says so.
std::string caution_of(const Item& item, bool refit) {
    if (!refit || item.refit_caution.empty())
        return item.caution;
    return item.refit_caution == "none" ? "" : item.refit_caution;
}

/// Lift point and mass of what a task props; the state that it leaves the vehicle in.
void add_task_words(const Map& map, const Task& task, bool refit, StepCard& card) {
    card.gate = task.gate;
    if (asks_anything(task.sets))
        add_once(card.notes, "Then the vehicle is: " + print_vehicle(task.sets) + ".");
    if (task.does != TaskDoes::prop)
        return;
    for (const ItemId id : task.to) {
        if (!map.is_part(id))
            continue;
        const Part& part = map.part(id);
        add_once(card.cautions, caution_of(map[id], refit));
        add_once(card.notes, fmt::format("{}: {}{}.", title_of(map, id),
                                         part.lift_point.empty() ? "where to lift it is not stated"
                                                                 : "lift point " + part.lift_point,
                                         part.mass_kg ? fmt::format(", {} kg", print_number(*part.mass_kg, 1)) : ""));
    }
}

constexpr std::string_view too_heavy = "Heavy: not by one person's arms.";

bool is_heavy(const Part& part) {
    return part.mass_kg.value_or(0) >= heavy_kg;
}

/// By part: the step at which it leaves; the number of steps where it does not.
std::vector<std::size_t> steps_that_free(const Job& job, const Plan& plan) {
    std::vector<std::size_t> leaves_at(job.map->parts.size(), plan.steps.size());
    for (std::size_t s = plan.steps.size(); s-- > 0;)
        if (leaves(plan.steps[s].verb))
            leaves_at[slot(job, plan.steps[s].items.front())] = s;
    return leaves_at;
}

/// What lets a part's weight go: what carries it to its support; without one what is undone for its own sake, and not
/// for that of another part of the joint that leaves before it.
std::vector<ItemId> own_fasteners(const Job& job, const std::vector<std::size_t>& leaves_at, ItemId part) {
    const std::size_t p = slot(job, part);
    if (fact(job, part).supported)
        return {job.carriers[p].begin(), job.carriers[p].end()};
    std::vector<ItemId> own;
    for (const ItemId id : job.held_by[p]) {
        const auto held = job.holds[slot(job, id)];
        if (std::none_of(held.begin(), held.end(),
                         [&](ItemId other) { return leaves_at[slot(job, other)] < leaves_at[p]; }))
            own.push_back(id);
    }
    return own;
}

/// Is this step of an order down the first that lets a part's weight go?
bool begins_to_free(const Job& job, const Plan& plan, std::size_t index, const std::vector<std::size_t>& leaves_at,
                    ItemId part) {
    std::vector<ItemId> own = own_fasteners(job, leaves_at, part);
    std::sort(own.begin(), own.end());
    const auto undoes = [&](const Step& step) {
        return (step.verb == Verb::take_out || step.verb == Verb::loosen) &&
               std::any_of(step.items.begin(), step.items.end(),
                           [&](ItemId id) { return std::binary_search(own.begin(), own.end(), id); });
    };
    const auto here = plan.steps.begin() + static_cast<std::ptrdiff_t>(index);
    return undoes(*here) && std::none_of(plan.steps.begin(), here, undoes);
}

/// A part's caution stands where the part itself comes, and where its weight begins to go: beside every bolt that
/// touches the part one would learn to skip it.
void add_parts_that_come_loose(const Job& job, const Plan& plan, std::size_t index, StepCard& card) {
    const Map& map = *job.map;
    const Step& step = plan.steps[index];
    if (step.verb == Verb::take_out || step.verb == Verb::loosen) {
        std::vector<ItemId> touched;
        for (const ItemId id : step.items)
            for (const auto& parts : {job.carries[slot(job, id)], job.holds[slot(job, id)]})
                for (const ItemId part : parts)
                    if (!map[part].caution.empty() && !fact(job, part).fixed && !names(touched, part))
                        touched.push_back(part);
        const std::vector<std::size_t> leaves_at =
            touched.empty() ? std::vector<std::size_t>{} : steps_that_free(job, plan);
        for (const ItemId part : touched)
            if (begins_to_free(job, plan, index, leaves_at, part))
                add_once(card.cautions, map[part].caution);
    }
    for (const ItemId id : step.opens)
        add_once(card.notes, map[id].note);
    for (const ItemId id : step.drops) {
        const Part& part = map.part(id);
        add_once(card.cautions, map[id].caution);
        add_once(card.cautions,
                 is_heavy(part)
                     ? fmt::format("{} ({} kg) is too heavy to hold: prop it before the last one; what props it is not "
                                   "stated.",
                                   title_of(map, id), print_number(*part.mass_kg, 1))
                     : fmt::format("{}{} comes loose with the last one: hold it.", title_of(map, id),
                                   part.mass_kg ? fmt::format(" ({} kg)", print_number(*part.mass_kg, 1)) : ""));
        if (is_heavy(part) && step.people < 2)
            add_once(card.notes, std::string(too_heavy));
    }
}

/// A joint whose bolts are tightened in several steps is still one: its faces want all of them in turn.
void add_rest_of_joint(const Job& job, const Plan& plan, std::size_t index, StepCard& card) {
    const RestOfJoint rest = rest_of_joint(job, plan, index);
    if (rest.items.empty())
        return;
    std::string steps;
    for (std::size_t i = 0; i < rest.steps.size(); ++i)
        steps += fmt::format("{}{}", i == 0 ? "" : i + 1 == rest.steps.size() ? " and " : ", ", rest.steps[i] + 1);
    add_once(
        card.notes,
        fmt::format("One joint with {} other{} (step{} {}): go round all of them in one order, as `torque` gives it.",
                    rest.items.size(), rest.items.size() == 1 ? "" : "s", rest.steps.size() == 1 ? "" : "s", steps));
    constexpr std::size_t most_told = 24;
    for (const RestOfJoint::Order& order : rest.orders) {
        std::string list;
        for (std::size_t i = 0; i < order.members.size() && i < most_told; ++i) {
            const RestOfJoint::Member& one = order.members[i];
            list += fmt::format("  {}. {}{}", i + 1, (*job.map)[one.item].name,
                                one.step == index ? "" : fmt::format(" (step {})", one.step + 1));
        }
        if (order.members.size() > most_told)
            list += fmt::format("  and {} more", order.members.size() - most_told);
        add_once(card.notes, fmt::format("Order over the whole joint, {}:{}",
                                         order.stated ? "as stated" : "estimated from where they are", list));
    }
}

bool shows_figure(const StepCard& card) {
    return std::any_of(card.hardware.begin(), card.hardware.end(),
                       [](const Hardware& line) { return !line.torque.empty() && line.torque != "torque not stated"; });
}

} // namespace

StepCard card_of(const Job& job, const Plan& plan, std::size_t index, TorqueUnit unit) {
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
        card.estimated = !card.why.empty() && is_estimated(step.why_rule);
        return card;
    }
    card.hardware = hardware_of(job, step, plan.refit, unit);
    VehicleAsk needs;
    std::string source = map.source;
    for (const ItemId id : step.items) {
        const Item& item = map[id];
        add_once(card.cautions, caution_of(item, plan.refit));
        if (is_about_item(step.verb))
            add_once(card.notes, plan.refit ? item.refit_note : item.note);
        for (const std::int32_t photo : item.photos)
            if (std::find(card.photos.begin(), card.photos.end(), photo) == card.photos.end())
                card.photos.push_back(photo);
        needs = merged(needs, needs_of(job, {step.verb, id, {}}));
        if (step.verb == Verb::tighten)
            needs = merged(needs, torque_needs(job, id));
        if (!item.source.empty())
            source = item.source;
    }
    if (map.is_part(step.items.front()))
        add_part_words(job, step, card);
    add_marks(job, step, card);
    if (map.is_task(step.items.front()))
        add_task_words(map, map.task(step.items.front()), plan.refit, card);
    add_parts_that_come_loose(job, plan, index, card);
    add_rest_of_joint(job, plan, index, card);
    if (step.verb == Verb::fit)
        for (const ItemId id : job.comes_with[slot(map, step.items.front())])
            if (map.fastener(id).leaves_with)
                add_once(card.notes, fmt::format("Put {} ({}) into its hole first: it goes in with this. {}",
                                                 map[id].name, size_of(map.fastener(id)), map[id].refit_note));
    const bool moves = step.verb == Verb::take_off || step.verb == Verb::fit || step.verb == Verb::set_aside;
    if (moves && step.people < 2 && is_heavy(map.part(step.items.front())))
        add_once(card.notes, std::string(too_heavy));
    card.vehicle = print_vehicle(needs);
    card.why = why_of(map, step, plan.refit);
    card.estimated = !card.why.empty() && is_estimated(step.why_rule);
    card.frees = list_titles(map, step.frees);
    if (shows_figure(card))
        card.source = source.empty() ? "source not stated" : source;
    return card;
}

std::string why_in_words(const StepCard& card) {
    if (card.why.empty() || (!card.estimated && card.why.starts_with("Stated"))) // says so itself
        return card.why;
    return card.why + (card.estimated ? " (estimated from the shapes)" : " (stated)");
}

} // namespace boltwalk
