// Objections in words: the findings that a broken order gives.
#include <algorithm>

#include <fmt/format.h>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

namespace {

std::string names_of(const Map& map, const std::vector<ItemId>& items) {
    std::vector<std::string> names;
    names.reserve(items.size());
    for (const ItemId id : items)
        names.push_back(map[id].name);
    return few_of(names, ", ", 5);
}

std::string steps_of(const Map& map, const std::vector<ItemId>& items) {
    std::string out;
    for (const ItemId id : items)
        if (map[id].step && out.find(fmt::format(" {}", *map[id].step)) == std::string::npos)
            out += fmt::format("{} {}", out.empty() ? "" : ",", *map[id].step);
    return out.empty() ? "" : fmt::format(" (step{})", out);
}

std::string doing(Verb verb) {
    switch (verb) {
    case Verb::do_task:
        return "is done";
    case Verb::soak:
        return "is soaked";
    case Verb::mark:
        return "is marked";
    case Verb::unload:
        return "is unloaded";
    case Verb::prop:
        return "is propped";
    case Verb::prove:
        return "is proven loose";
    case Verb::drain:
        return "is drained";
    case Verb::loosen:
        return "is undone";
    case Verb::take_out:
        return "is taken out";
    case Verb::let_down:
        return "is let down";
    case Verb::set_aside:
        return "is moved aside";
    case Verb::take_off:
        return "is taken off";
    case Verb::transfer:
        return "is moved over";
    case Verb::fit:
        return "is fitted";
    case Verb::put_back:
        return "is put back";
    case Verb::raise:
        return "is raised";
    case Verb::start:
        return "is started";
    case Verb::seat:
        return "is seated";
    case Verb::tighten:
        return "is tightened";
    case Verb::fill:
        return "is filled";
    case Verb::unprop:
        return "loses its prop";
    case Verb::mate:
        return "is seen to meet";
    case Verb::set_vehicle:
        return "";
    }
    return "";
}

struct Text {
    const char* what; ///< {0} item with step and what happens, {1} the others
    const char* why;
    const char* key;
    const char* remedy;
};

Text text_of(Rule rule) {
    switch (rule) {
    case Rule::after:
        return {"{0} before {1}.", "Its `after` says that they come first.", "after",
                "Give the others an earlier step, or take them out of `after`."};
    case Rule::secured:
        return {"{0} while {1} still locks it.", "A pin, wire or tab comes out before what it secures is turned.",
                "secures", "Give the lock an earlier step."};
    case Rule::joint_order:
        return {"{0} before {1} of the same joint.", "The nut, and what lies over it on a stud, comes first.", "stack",
                "Look at `joint` and `stack`, or give the outer one an earlier step."};
    case Rule::cannot_be_drawn:
        return {"{0}, but it cannot be drawn before {1} comes.", "It leaves with its part.", "leaves_with",
                "Let it be undone only, and come with its part."};
    case Rule::joined:
        return {"{0} while {1} still joins it to what stays.", "What still holds would bend, break, or be pried at.",
                "holds", "Give those an earlier step, or correct what they hold."};
    case Rule::not_propped:
        return {"{0} before {1} is propped.",
                "It carries it: support comes before the first carrier is slackened, not the last.", "support",
                "Prop it earlier: give the task that `does: prop` an earlier step."};
    case Rule::loaded:
        return {"{0} while {1} is under load.",
                "What is loaded is relieved, and that confirmed, before anything of it is slackened.", "loaded",
                "Give the task that `does: unload` an earlier step."};
    case Rule::vehicle:
        return {"{0}, but the vehicle is not as that needs.", "Its `needs`, or the place to work from, ask for it.",
                "needs", "Give the task that `sets` it an earlier step."};
    case Rule::hold_lost:
        return {"{0}, but what holds it is gone: {1}.",
                "A brake or a gear holds a shaft only while what it holds by is still on.", "held_through",
                "Do this while that is still on, or hold it another way."};
    case Rule::not_drained:
        return {"{0} before the fluid is out: {1}.", "It would run over whoever lies below.", "fluid",
                "Give the drain plug, or the task that `does: drain`, an earlier step."};
    case Rule::fill_not_proven:
        return {"{0} before {1} is proven loose.", "Never empty what cannot be filled again.", "does",
                "Prove the fill plug first: give it, or the task that `does: prove`, an earlier step."};
    case Rule::not_soaked:
        return {"{0} before its penetrating oil.", "The oil needs the stated minutes.", "soak_min",
                "Give the task that `does: soak` an earlier step."};
    case Rule::not_marked:
        return {"{0} before {1} is marked.", "Its adjusted position would be lost.", "adjust",
                "Give the task that `does: mark` an earlier step."};
    case Rule::refit_after:
        return {"On the way back {0} before {1}.", "Its `refit_after` says that they come first.", "refit_after",
                "The conditions of the way back contradict each other: take one away."};
    case Rule::mirror:
        return {"On the way back {0} before {1}.", "It came off after them, so they lie behind it.", "refit_free",
                "The conditions of the way back contradict each other: state `refit_free` where the mirror image does "
                "not hold."};
    case Rule::not_there:
        return {"On the way back {0} before {1}.", "What it holds must be there first.", "refit_after",
                "The conditions of the way back contradict each other: look at `refit_after`."};
    case Rule::not_all_started:
        return {"On the way back {0} before all are started: {1}.", "Every one of a group goes in by hand first.",
                "group", "Look at their `refit_after`."};
    case Rule::torque_waits:
        return {"On the way back {0} before {1}.", "Its `torque_after` waits for that.", "torque_after",
                "Look at `torque_after`: it names what comes later still, or never."};
    case Rule::still_carried:
        return {"On the way back {0} before {1} carries again.", "The prop goes when the load is carried again.",
                "carried_by", "Look at what carries it."};
    case Rule::not_filled:
        return {"On the way back {0} before {1} is filled.", "The plug closes on the right level.", "fluid",
                "Look at the fill's `refit_after`."};
    case Rule::not_transferred:
        return {"On the way back {0} before {1} is moved over.", "It goes over to the replacement first.", "transfer",
                "Look at its `refit_after`."};
    case Rule::not_mated:
        return {"On the way back {0} before {1} was seen to meet what it goes to, by hand, all round.",
                "Bolts that draw a unit in break its case, or bend the shaft that it hangs on.", "refit_after",
                "Give it a gate of its own: a task of the way back with `gate`, whose `refit_after` names it."};
    case Rule::held_up:
        return {"{0} while {1} stands on its prop or hangs lowered.",
                "A jack under a unit does not follow the vehicle.", "support",
                "Where it is raised for something that is done on stands: write `needs` = `stands` on what is propped, "
                "too. Else do what needs the wheels down before the prop goes under, or after it is away."};
    case Rule::out_of_reach:
        return {"{0}, but by the shapes no tool gets on it while {1} is there.", "An estimate.", "not_in_way",
                "Mend the shapes, or overrule them by `not_in_way`."};
    case Rule::in_the_way:
        return {"{0}, but by the shapes {1} is in its way.", "An estimate.", "not_in_way",
                "Mend the shapes, or overrule them by `not_in_way`."};
    case Rule::so_already:
        return {"{0}: it was so already.", "", "", ""};
    case Rule::step:
        break;
    }
    return {"{0}.", "", "", ""};
}

} // namespace

Finding in_words(const Job& job, const Action& action, const Objection& objection, std::int32_t author_step) {
    const Map& map = *job.map;
    const Text text = text_of(objection.rule);
    Finding finding;
    finding.weight = Weight::fault;
    finding.rule = name_of(objection.rule);
    std::string subject = objection.rule == Rule::vehicle ? "The vehicle" : "The vehicle is raised or let down";
    if (action.item) {
        finding.nodes.push_back(map[action.item].name);
        const std::string step = author_step >= 0 ? fmt::format(" (step {})", author_step) : "";
        subject = fmt::format("{}{} {}", map[action.item].name, step, doing(action.verb));
    }
    for (const ItemId id : objection.by)
        if (finding.nodes.empty() || map[id].name != finding.nodes.front())
            finding.nodes.push_back(map[id].name);
    finding.key = text.key;
    if (objection.rule == Rule::vehicle)
        finding.value = print_vehicle(objection.vehicle);
    else if (author_step >= 0)
        finding.value = fmt::format("step {}", author_step);
    std::string others = names_of(map, objection.by);
    if (author_step >= 0)
        others += steps_of(map, objection.by);
    finding.what = fmt::format(fmt::runtime(text.what), subject, others);
    if (objection.rule == Rule::vehicle) {
        finding.what = fmt::format("{}, which needs the vehicle so: {}.", subject, finding.value);
        const bool for_others = action.item && objection.vehicle.stands == Ask::yes &&
                                needs_of(job, action).stands != Ask::yes && fact(job, action.item).low_mate;
        if (for_others)
            finding.what += " Others of its joint need that, and it would be raised over half a joint.";
    }
    finding.why = text.why;
    finding.remedy = text.remedy;
    return finding;
}

} // namespace boltwalk::inside
