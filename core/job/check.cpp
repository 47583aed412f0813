// Every finding of a map: of reading, of the order down, of the way back, and of what no order shows.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "core/geometry/shank.hpp"
#include "core/job/estimated.hpp"
#include "core/job/inside.hpp"
#include "core/job/tightening.hpp"

namespace boltwalk {

using namespace inside;

namespace {

Finding finding_of(Weight weight, std::string rule, std::vector<std::string> nodes, std::string key) {
    Finding finding;
    finding.weight = weight;
    finding.rule = std::move(rule);
    finding.nodes = std::move(nodes);
    finding.key = std::move(key);
    return finding;
}

/// As the annotation writes it.
std::string opposite_axis(const std::array<double, 3>& axis) {
    std::string numbers;
    for (std::size_t k = 0; k < 3; ++k) {
        if (std::abs(axis[k]) == 1)
            return fmt::format("{}{}", axis[k] > 0 ? '-' : '+', "xyz"[k]);
        numbers += fmt::format("{}{:.4g}", k == 0 ? "" : " ", axis[k] == 0 ? 0 : -axis[k]);
    }
    return numbers;
}

bool is_faulty(const Plan& plan) {
    return std::any_of(plan.findings.begin(), plan.findings.end(),
                       [](const Finding& f) { return f.weight == Weight::fault; });
}

bool task_does(const Job& job, ItemId item, TaskDoes does) {
    const auto tasks = job.tasks_for[at(item.index)];
    return std::any_of(tasks.begin(), tasks.end(), [&](ItemId id) { return job.map->task(id).does == does; });
}

void check_parts(const Job& job, std::vector<Finding>& out) {
    const Map& map = *job.map;
    for (std::size_t p = 0; p < map.parts.size(); ++p) {
        const Part& part = map.parts[p];
        const std::string& name = map[part.item].name;
        if (!part.support.empty() && job.carriers[p].empty() && !part.fixed) {
            Finding f = finding_of(Weight::doubt, "no-carrier", {name}, "support");
            f.value = part.support;
            f.what = fmt::format("{} has a support, but no fastener on the map carries it.", name);
            f.why = "So the rules cannot say before which fastener it has to be propped.";
            f.remedy = "State `carried_by`, or correct what the fasteners `holds`.";
            out.push_back(std::move(f));
        }
        if (part.mass_kg && *part.mass_kg >= heavy_kg && part.support.empty() && !part.fixed && part.aside.empty()) {
            Finding f = finding_of(Weight::doubt, "heavy-unsupported", {name}, "support");
            f.value = fmt::format("{} kg", print_number(*part.mass_kg, 1));
            f.what = fmt::format("{} weighs {} and no support is stated.", name, f.value);
            f.why = "Common lifting guidance takes about 25 kg as the most for one person's arms, held close.";
            f.remedy = "State `support`: jack, stand, helper or strap.";
            out.push_back(std::move(f));
        }
        if (!part.loaded.empty() && !task_does(job, part.item, TaskDoes::unload)) {
            Finding f = finding_of(Weight::doubt, "loaded-no-gate", {name}, "loaded");
            f.value = part.loaded;
            f.what = fmt::format("{} is under load ({}), and no task says how that is relieved.", name, part.loaded);
            f.why = "What is loaded is relieved, and that confirmed, before anything of it is slackened.";
            f.remedy = "Add a task with `gate`, `does: unload` and `to` naming it.";
            out.push_back(std::move(f));
        }
        if (!part.fluid.empty() && !part.fixed && job.drain_plugs[p].empty() &&
            !task_does(job, part.item, TaskDoes::drain)) {
            Finding f = finding_of(Weight::note, "drain-not-stated", {name}, "fluid");
            f.value = part.fluid;
            f.what = fmt::format("How {} is drained is not stated.", name);
            f.remedy = "Give it a `drain_plug`, or a task with `does: drain`.";
            out.push_back(std::move(f));
        }
    }
}

void check_fasteners(const Job& job, std::vector<Finding>& out) {
    const Map& map = *job.map;
    for (const Facts& facts : job.facts) {
        if (facts.kind != ItemKind::fastener || !facts.nut_frees)
            continue;
        const Fastener& fastener = map.fasteners[at(facts.slot)];
        const auto joint = job.joint[slot(job, fastener.item)];
        if (std::any_of(joint.begin(), joint.end(),
                        [&](ItemId id) { return id != fastener.item && is_nut(kind_of(job, id)); }))
            continue;
        if (fastener.kind == FastenerKind::stud && fastener.joint.empty() && fastener.holds.size() < 2)
            continue; // a bare stud in its part
        const std::string& name = map[fastener.item].name;
        Finding f = finding_of(Weight::doubt, "no-nut", {name}, "joint");
        f.value = fastener.joint;
        f.what = fmt::format("{} lets go when its nut is off, but its joint has no nut.", name);
        f.why = "So it would never let go.";
        f.remedy = "Give the nut the same `joint`, or state another `frees_when`.";
        out.push_back(std::move(f));
    }
}

/// Moves, and somebody gets at it: neither what stays, nor what lies loose in a joint or only locks it.
bool is_got_at(const Facts& facts) {
    if (facts.kind == ItemKind::part)
        return !facts.fixed;
    return facts.kind == ItemKind::fastener && !is_loose_piece(facts.fastener) && !is_lock(facts.fastener);
}

/// What the order down takes off the vehicle, fasteners first; not what is undone on the bench.
std::vector<ItemId> got_at_on_vehicle(const Job& job, const Plan& strip) {
    std::vector<ItemId> fasteners, parts;
    State state = as_found(job);
    for (const Step& step : strip.steps) {
        if (step.verb == Verb::take_off && bench_of(job, state, step.items.front()))
            continue; // away already: nothing of the vehicle's changes
        for (const ItemId id : step.items) {
            if (is_part(job, id) && leaves(step.verb) && !bench_of(job, state, id))
                parts.push_back(id);
            const auto is_off = [&](ItemId part) { return state.parts[slot(job, part)] == PartState::off; };
            if (is_fastener(job, id) && (step.verb == Verb::take_out || step.verb == Verb::loosen) &&
                std::none_of(job.holds[slot(job, id)].begin(), job.holds[slot(job, id)].end(), is_off))
                fasteners.push_back(id);
        }
        apply_step(job, state, step);
    }
    fasteners.insert(fasteners.end(), parts.begin(), parts.end());
    return fasteners;
}

/// The order down as it is where nobody says from where. One item that says "under" asks for stands, and where nothing
/// raises the vehicle the order then ends there; what has to be got at is the same.
Plan wherever_from(const Job& job, const Plan& strip) {
    if (!is_faulty(strip))
        return strip;
    Job without = job;
    for (const Item& item : job.map->items) {
        Facts& facts = without.facts[static_cast<std::size_t>(&item - job.map->items.data())];
        if (static_cast<Place>(facts.from) == Place::not_stated)
            continue;
        facts.from = {};
        facts.needs.stands = item.needs.stands;
    }
    return plan_strip(without);
}

/// One for the whole map: a doubt where no item says from where, for then no rule can ask for stands; else a note.
void check_places(const Job& job, const Plan& strip, std::vector<Finding>& out) {
    const Map& map = *job.map;
    const auto is_stated = [](const Facts& facts) { return static_cast<Place>(facts.from) != Place::not_stated; };
    const bool any = std::any_of(job.facts.begin(), job.facts.end(), is_stated);
    const Plan plan = wherever_from(job, strip);
    std::vector<ItemId> all;
    if (!is_faulty(plan)) {
        all = got_at_on_vehicle(job, plan);
    } else { // no order: nobody knows what of it all has to be got at
        for (const Fastener& fastener : map.fasteners)
            all.push_back(fastener.item);
        for (const Part& part : map.parts)
            all.push_back(part.item);
    }
    std::vector<std::string> list;
    std::vector<std::uint8_t> told(map.items.size(), 0);
    for (const ItemId id : all) {
        if (is_stated(fact(job, id)) || !is_got_at(fact(job, id)) ||
            std::exchange(told[at(id.index)], std::uint8_t{1}) != 0)
            continue;
        list.push_back(map[id].name);
    }
    if (list.empty())
        return;
    Finding f = finding_of(any ? Weight::note : Weight::doubt, "from-not-stated", list, "from");
    const std::size_t shown = std::min<std::size_t>(list.size(), 4);
    f.what = fmt::format("From where one gets at {}{} is not stated.",
                         fmt::join(list.begin(), list.begin() + static_cast<std::ptrdiff_t>(shown), ", "),
                         shown < list.size() ? fmt::format(" and {} more", list.size() - shown) : "");
    f.why = "Nothing then puts the vehicle on stands, or says where the person lies.";
    f.remedy = "Write `from` on them or on their group: under, over, left, right, front, rear or inside.";
    out.push_back(std::move(f));
}

/// A bolt drawn upside down comes out through what it holds. Where that stays, no order mends it: its axis may.
void offer_other_axis(const Job& job, const std::vector<Dropped>& dropped, std::vector<Finding>& found) {
    const Map& map = *job.map;
    for (const Dropped& pair : dropped) {
        if (pair.question != Question::way || !pair.by || !map.is_fastener(pair.item) || !map.is_part(pair.by) ||
            !map.part(pair.by).fixed || !names(map.fastener(pair.item).holds, pair.by))
            continue;
        for (Finding& f : found)
            if (f.rule == name_of(Rule::in_the_way) && f.key == "not_in_way" && names(f.nodes, map[pair.item].name) &&
                names(f.nodes, map[pair.by].name)) {
                f.key = "axis";
                f.remedy = fmt::format("If it goes the other way: `axis` = `{}`. {}",
                                       opposite_axis(map.fastener(pair.item).axis), f.remedy);
            }
    }
}

/// A thread and a shank that is drawn may differ by so much: a core drawn for a thread, a shank rolled thinner.
constexpr double shank_apart_share = 0.12, shank_apart_mm = 0.8;

/// A thread that the shape of the shank contradicts. Alike ones are told once.
void check_shanks(const Job& job, std::vector<Finding>& out) {
    const Map& map = *job.map;
    std::map<std::tuple<std::string, std::string, std::string>, std::size_t> told; ///< index into out
    for (const Fastener& fastener : map.fasteners) {
        if (!fastener.thread || fastener.thread->form == ThreadForm::pipe)
            continue;
        const std::optional<double> drawn = drawn_shank_mm(map, fastener);
        const double stated = fastener.thread->diameter_mm;
        if (!drawn || std::abs(*drawn - stated) <= std::max(shank_apart_share * stated, shank_apart_mm))
            continue;
        const Item& item = map[fastener.item];
        const std::string thick = print_number(*drawn, 1);
        const auto [known, fresh] = told.emplace(std::tuple(item.title, fastener.thread->name, thick), out.size());
        if (!fresh) {
            out[known->second].nodes.push_back(item.name);
            continue;
        }
        Finding f = finding_of(Weight::doubt, "shank-differs", {item.name}, "thread");
        f.value = fastener.thread->name;
        f.what = fmt::format("Estimated: the shank of {} is drawn {} mm thick, and {} is {} mm.", item.name, thick,
                             fastener.thread->name, print_number(stated, 1));
        f.why = "A bolt of the wrong thread strips the hole, or never clamps.";
        f.remedy = "Measure the bolt, then correct `thread`, or the shape.";
        out.push_back(std::move(f));
    }
}

/// Same head, drive and thread, another length or grade: the ones that get swapped.
void check_look_alikes(const Job& job, std::vector<Finding>& out) {
    const Map& map = *job.map;
    struct Kind {
        std::string length, grade;
        std::vector<ItemId> items;
    };
    std::map<std::tuple<int, std::string, std::string, std::string>, std::vector<Kind>> looks;
    for (const Fastener& fastener : map.fasteners) {
        if (!fastener.thread || is_loose_piece(fastener.kind) || is_nut(fastener.kind))
            continue;
        const std::string length = fastener.length_mm ? print_number(*fastener.length_mm, 1) : "";
        auto& kinds = looks[{static_cast<int>(fastener.kind), fastener.head, fastener.thread->name,
                             fastener.drive ? fastener.drive->name : ""}];
        const auto same = std::find_if(kinds.begin(), kinds.end(),
                                       [&](const Kind& k) { return k.length == length && k.grade == fastener.grade; });
        if (same == kinds.end())
            kinds.push_back({length, fastener.grade, {fastener.item}});
        else
            same->items.push_back(fastener.item);
    }
    for (const auto& [look, kinds] : looks) {
        if (kinds.size() < 2)
            continue;
        Finding f = finding_of(Weight::note, "look-alike", {}, "length_mm");
        std::string list;
        for (const Kind& kind : kinds) {
            const ItemId first = kind.items.front();
            f.nodes.push_back(map[first].name);
            list += fmt::format("{}{} of {}{}{} ({})", list.empty() ? "" : ", ", kind.items.size(),
                                kind.length.empty() ? "unstated length" : kind.length + " mm",
                                kind.grade.empty() ? "" : ", grade ", kind.grade, map[first].title);
        }
        f.value = std::get<2>(look);
        const bool unknown =
            std::any_of(kinds.begin(), kinds.end(), [](const Kind& kind) { return kind.length.empty(); });
        f.what = fmt::format("These look alike and {}: {} {}: {}.", unknown ? "may not be" : "are not",
                             std::get<2>(look), spoken(static_cast<FastenerKind>(std::get<0>(look))), list);
        f.why = "A long one in a short hole bottoms before it clamps; a short one strips.";
        f.remedy = "Lay them out apart as they come out.";
        out.push_back(std::move(f));
    }
}

void check_stated(const Job& job, const Plan& strip, std::vector<Finding>& out) {
    const Map& map = *job.map;
    std::vector<std::string> no_torque, no_source;
    std::vector<std::uint8_t> told(map.fasteners.size(), 0);
    for (const Step& step : strip.steps) {
        if (step.verb != Verb::take_out && step.verb != Verb::loosen)
            continue;
        for (const ItemId id : step.items) {
            const std::size_t f = slot(job, id);
            if (std::exchange(told[f], std::uint8_t{1}) != 0)
                continue;
            const Facts& facts = fact(job, id);
            const bool held_end = job.turned[f] != id;
            if (!facts.torque && !held_end && !facts.pushed && facts.fastener != FastenerKind::stud)
                no_torque.push_back(map[id].name);
            if (facts.torque && !facts.source)
                no_source.push_back(map[id].name);
        }
    }
    if (!no_torque.empty()) {
        Finding f = finding_of(Weight::note, "torque-not-stated", no_torque, "torque");
        f.what = no_torque.size() == 1
                     ? "The torque of 1 fastener that comes out is not stated."
                     : fmt::format("The torque of {} fasteners that come out is not stated.", no_torque.size());
        f.why = "Boltwalk never makes one up.";
        f.remedy = "Look it up in the maker's manual and write it in, with its `source`.";
        out.push_back(std::move(f));
    }
    if (!no_source.empty()) {
        Finding f = finding_of(Weight::note, "no-source", no_source, "source");
        f.what = fmt::format("{} torques have no source.", no_source.size());
        f.why = "A figure that nobody can look up again is a rumour.";
        f.remedy = "Write `source` on the scene, or on the items.";
        out.push_back(std::move(f));
    }
}

void check_whole(const Job& job, std::vector<Finding>& out) {
    const Map& map = *job.map;
    if (map.items.empty())
        return;
    // A wrong name was told while reading: that none is stated would be untrue.
    const bool is_told = std::any_of(map.findings.begin(), map.findings.end(),
                                     [](const Finding& f) { return f.key == "target" && f.weight == Weight::fault; });
    if (!map.target && is_told)
        return;
    if (!map.target) {
        Finding f = finding_of(Weight::note, "no-target", {}, "target");
        f.what = "The scene names no `target`: what must come out is not stated.";
        f.remedy = "Write the part's node name as `target` on the scene.";
        out.push_back(std::move(f));
    } else if (map.is_part(map.target) && map.part(map.target).fixed) {
        Finding f = finding_of(Weight::fault, "target-fixed", {map[map.target].name}, "target");
        f.value = map[map.target].name;
        f.what = "The target is marked as the body that stays.";
        f.remedy = "Take `fixed` away, or name another target.";
        out.push_back(std::move(f));
    }
}

} // namespace

std::vector<Finding> check(const Job& job) {
    const Map& map = *job.map;
    std::vector<Finding> found = map.findings;
    check_whole(job, found);
    check_parts(job, found);
    check_fasteners(job, found);
    if (!map.items.empty() && !(map.target && map.is_part(map.target) && map.part(map.target).fixed)) {
        const Plan strip = plan_strip(job);
        found.insert(found.end(), strip.findings.begin(), strip.findings.end());
        const std::vector<Finding> dropped = findings_of(job, job.dropped);
        found.insert(found.end(), dropped.begin(), dropped.end());
        // The way back from an order that cannot be is not worth judging: mend the order down first.
        if (!is_faulty(strip)) {
            const Plan refit = plan_refit(job, strip);
            found.insert(found.end(), refit.findings.begin(), refit.findings.end());
        }
        check_stated(job, strip, found);
        check_places(job, strip, found);
        offer_other_axis(job, job.dropped, found);
        offer_other_axis(job, strip.dropped, found);
    }
    if (job.shapes_asked) {
        check_shanks(job, found);
        found.insert(found.end(), job.estimates.doubts.begin(), job.estimates.doubts.end());
    }
    check_look_alikes(job, found);
    const std::vector<Finding> torques = implausible_torques(job);
    found.insert(found.end(), torques.begin(), torques.end());
    std::stable_sort(found.begin(), found.end(),
                     [](const Finding& a, const Finding& b) { return a.weight < b.weight; });
    return found;
}

} // namespace boltwalk
