// What follows from a map once: who joins whom, what carries whom, which pin locks which nut.
#include <algorithm>
#include <map>
#include <tuple>

#include "core/job/inside.hpp"

namespace boltwalk {

using namespace inside;

namespace inside {

namespace {

bool is_turned(const Fastener& fastener) {
    if (fastener.thread || !fastener.drive)
        return fastener.thread.has_value();
    const DriveKind kind = fastener.drive->kind;
    return kind != DriveKind::hand && kind != DriveKind::pliers && kind != DriveKind::none;
}

} // namespace

bool is_pushed(const Fastener& fastener) {
    switch (fastener.kind) {
    case FastenerKind::clip:
        return !is_turned(fastener);
    case FastenerKind::hanger:
    case FastenerKind::connector:
    case FastenerKind::split_pin:
    case FastenerKind::pin:
    case FastenerKind::lock_wire:
    case FastenerKind::tab:
    case FastenerKind::washer:
    case FastenerKind::spacer:
    case FastenerKind::shim:
        return true;
    case FastenerKind::clamp:
        return !fastener.torque && !is_turned(fastener);
    default:
        return false;
    }
}

bool is_self_locking(const Fastener& fastener) {
    constexpr std::string_view word = "self-locking";
    const auto same = [](char a, char b) { return (a >= 'A' && a <= 'Z' ? a - 'A' + 'a' : a) == b; };
    for (std::string_view list = fastener.lock; !list.empty();) {
        const std::size_t end = std::min(list.find_first_of(";,"), list.size());
        std::string_view one = list.substr(0, end);
        list.remove_prefix(std::min(end + 1, list.size()));
        one.remove_prefix(std::min(one.find_first_not_of(' '), one.size()));
        one = one.substr(0, one.find_last_not_of(' ') + 1);
        if (std::equal(one.begin(), one.end(), word.begin(), word.end(), same))
            return true;
    }
    return false;
}

bool turns_by_angle(const Fastener& fastener) {
    return fastener.torque && std::any_of(fastener.torque->stages.begin(), fastener.torque->stages.end(),
                                          [](const TorqueStage& stage) { return stage.has_angle; });
}

bool joins(const Fastener& fastener) {
    return !is_loose_piece(fastener.kind) && !is_lock(fastener.kind) && !is_plug(fastener.kind) &&
           !fastener.holds.empty();
}

bool torque_waits(const Fastener& fastener) {
    return !fastener.torque_after.empty() || asks_anything(fastener.torque_after_vehicle);
}

} // namespace inside

Lists Lists::of(std::size_t count, const Pairs& pairs) {
    Lists lists;
    lists.ranges_.resize(count);
    lists.items_.resize(pairs.size());
    for (const auto& pair : pairs)
        ++lists.ranges_[pair.first].second;
    std::uint32_t begin = 0;
    for (auto& range : lists.ranges_) {
        const std::uint32_t length = range.second;
        range = {begin, begin};
        begin += length;
    }
    for (const auto& [thing, item] : pairs)
        lists.items_[lists.ranges_[thing].second++] = item;
    return lists;
}

Lists Lists::shared(std::span<const std::int32_t> class_of, std::size_t classes, std::span<const ItemId> members) {
    Pairs pairs;
    for (std::size_t i = 0; i < class_of.size(); ++i)
        if (class_of[i] >= 0)
            pairs.emplace_back(at(class_of[i]), members[i]);
    Lists lists = of(classes, pairs);
    std::vector<std::pair<std::uint32_t, std::uint32_t>> ranges;
    ranges.reserve(class_of.size());
    for (const std::int32_t one : class_of)
        ranges.push_back(one < 0 ? std::pair<std::uint32_t, std::uint32_t>{} : lists.ranges_[at(one)]);
    lists.ranges_ = std::move(ranges);
    return lists;
}

namespace {

void set_part_facts(const Part& part, Facts& facts) {
    facts.fixed = part.fixed;
    facts.flexible = part.flexible;
    facts.supported = !part.support.empty();
    facts.loaded = !part.loaded.empty();
    facts.adjust = part.adjust;
    facts.fluid = !part.fluid.empty();
    facts.renew = part.renew;
    facts.tethered = !part.tether.empty();
    facts.opens = !part.opens.empty();
    facts.goes_aside = !part.aside.empty();
    facts.goes_down = part.lower_mm.has_value();
    if (part.support.find("helper") != std::string::npos)
        facts.people = std::max(facts.people, 2);
}

void set_fastener_facts(const Fastener& fastener, Facts& facts) {
    facts.fastener = fastener.kind;
    facts.joins = joins(fastener);
    facts.pushed = is_pushed(fastener);
    facts.nut_frees = fastener.frees_when == FreesWhen::nut_off;
    facts.slack_frees = fastener.frees_when == FreesWhen::slack;
    facts.drawn_late = fastener.leaves_with || fastener.captive_in;
    facts.soaks = fastener.soak_min && *fastener.soak_min > 0;
    facts.torque = fastener.torque.has_value();
    facts.secures = !fastener.secures.empty();
    facts.torque_waits = torque_waits(fastener);
    facts.held_through = !fastener.held_through.empty();
    facts.jointed = !fastener.joint.empty();
    if (fastener.counter == "brake" && facts.needs.brake == Ask::nothing)
        facts.needs.brake = Ask::yes;
    if (fastener.counter == "gear" && facts.needs.gear == Ask::nothing)
        facts.needs.gear = Ask::yes;
    facts.countered = states_hold(fastener);
}

/// Numbers names in their own order; 0 is no name. Until all are known, by when they were met first.
class Names {
public:
    std::int32_t met(std::string_view name) {
        return met_.emplace(name, static_cast<std::int32_t>(met_.size()) + 1).first->second;
    }
    /// By when they were met: their place among all.
    std::vector<std::int32_t> places() const {
        std::vector<std::int32_t> places(met_.size() + 1, 0);
        std::int32_t next = 0;
        for (const auto& [name, number] : met_)
            places[at(number)] = ++next;
        return places;
    }

private:
    std::map<std::string_view, std::int32_t> met_;
};

Facts facts_of(const Map& map, const Item& item) {
    Facts facts;
    facts.slot = item.detail;
    facts.group = item.group;
    facts.step = item.step.value_or(-1);
    facts.people = item.people;
    facts.needs = item.needs;
    facts.kind = item.kind;
    facts.from = static_cast<std::uint8_t>(item.from);
    facts.after = !item.after.empty();
    facts.refit_after = !item.refit_after.empty();
    facts.refit_free = !item.refit_free.empty();
    facts.source = !item.source.empty() || !map.source.empty();
    const std::size_t detail = at(item.detail);
    const bool raises = item.kind == ItemKind::task && map.tasks[detail].sets.stands != Ask::nothing;
    if (item.from == Place::under && facts.needs.stands == Ask::nothing && !raises)
        facts.needs.stands = Ask::yes;
    if (item.kind == ItemKind::part)
        set_part_facts(map.parts[detail], facts);
    if (item.kind == ItemKind::fastener)
        set_fastener_facts(map.fasteners[detail], facts);
    return facts;
}

/// What every question asks is read from the map in one go, for of many thousands no cache holds what was read before.
/// Texts are compared once, here: which tool, which thread.
void find_facts(const Map& map, Job& job) {
    Names tools, threads;
    job.facts.reserve(map.items.size());
    for (const Item& item : map.items) {
        Facts& facts = job.facts.emplace_back(facts_of(map, item));
        if (item.kind != ItemKind::fastener)
            continue;
        const Fastener& fastener = map.fasteners[at(item.detail)];
        if (fastener.drive)
            facts.tool = tools.met(fastener.drive->name);
        if (fastener.thread)
            facts.thread = threads.met(fastener.thread->name);
    }
    const std::vector<std::int32_t> tool = tools.places(), thread = threads.places();
    for (Facts& facts : job.facts) {
        facts.tool = tool[at(facts.tool)];
        facts.thread = thread[at(facts.thread)];
    }
}

/// Sorts things by their keys and gives those of one key one number, in `class_of`; how many numbers there are.
template <typename Key>
std::size_t classify(std::vector<std::pair<Key, std::size_t>> things, std::vector<std::int32_t>& class_of) {
    std::sort(things.begin(), things.end());
    std::int32_t last = -1;
    for (std::size_t i = 0; i < things.size(); ++i) {
        if (i == 0 || things[i - 1].first != things[i].first)
            ++last;
        class_of[things[i].second] = last;
    }
    return at(last + 1);
}

void find_joints(const Map& map, std::span<const ItemId> ids, Job& job) {
    std::vector<std::pair<std::string_view, std::size_t>> named;
    for (std::size_t i = 0; i < ids.size(); ++i)
        if (fact(job, ids[i]).jointed)
            named.emplace_back(map.fasteners[i].joint, i);
    std::vector<std::int32_t> joint_of(map.fasteners.size(), -1);
    const std::size_t joints = classify(std::move(named), joint_of);
    job.joint = Lists::shared(joint_of, joints, ids);
    for (const ItemId id : ids)
        if (fact(job, id).jointed && states_hold(map.fastener(id)))
            for (const ItemId mate : job.joint[slot(job, id)])
                job.facts[at(mate.index)].countered = true;
}

/// The parts that a fastener holds, in one order: two of them by value, for hardly any has more.
struct HeldParts {
    ItemId first, second;
    std::vector<ItemId> rest;
    bool operator==(const HeldParts&) const = default;
    bool operator<(const HeldParts& other) const { // libc++ 14 has no <=> of vectors
        return std::tie(first, second, rest) < std::tie(other.first, other.second, other.rest);
    }
};

void find_mates(std::span<const ItemId> ids, Job& job) {
    std::vector<std::pair<HeldParts, std::size_t>> all;
    all.reserve(ids.size());
    std::vector<ItemId> sorted;
    for (std::size_t i = 0; i < ids.size(); ++i) {
        sorted.assign(job.holds[i].begin(), job.holds[i].end());
        std::sort(sorted.begin(), sorted.end());
        HeldParts& held = all.emplace_back(HeldParts{}, i).first;
        if (!sorted.empty())
            held.first = sorted[0];
        if (sorted.size() > 1)
            held.second = sorted[1];
        if (sorted.size() > 2)
            held.rest.assign(sorted.begin() + 2, sorted.end());
    }
    job.kin.assign(ids.size(), -1);
    const std::size_t kinds = classify(std::move(all), job.kin);
    job.mates = Lists::shared(job.kin, kinds, ids);
    std::vector<std::uint8_t> raised(kinds, 0);
    const auto counts = [&](std::size_t i) { return fact(job, ids[i]).joins && !fact(job, ids[i]).pushed; };
    for (std::size_t i = 0; i < ids.size(); ++i)
        if (counts(i) && fact(job, ids[i]).needs.stands == Ask::yes)
            raised[at(job.kin[i])] = 1;
    for (std::size_t i = 0; i < ids.size(); ++i)
        if (raised[at(job.kin[i])] != 0 && counts(i) && fact(job, ids[i]).needs.stands == Ask::nothing)
            job.facts[at(ids[i].index)].low_mate = true;
}

void relate_fasteners(const Map& map, Job& job) {
    const std::size_t parts = map.parts.size();
    const std::size_t fasteners = map.fasteners.size();
    std::vector<ItemId> ids;
    ids.reserve(fasteners);
    Lists::Pairs holds, held_by, secured_by, comes_with, drain_plugs, fill_plugs;
    for (std::size_t i = 0; i < fasteners; ++i) {
        const Fastener& fastener = map.fasteners[i];
        const Facts& facts = fact(job, fastener.item);
        ids.push_back(fastener.item);
        for (const ItemId part : fastener.holds) {
            const std::size_t p = slot(job, part);
            holds.emplace_back(i, part);
            if (facts.joins)
                held_by.emplace_back(p, fastener.item);
            if (facts.fastener == FastenerKind::drain_plug)
                drain_plugs.emplace_back(p, fastener.item);
            if (facts.fastener == FastenerKind::fill_plug)
                fill_plugs.emplace_back(p, fastener.item);
        }
        if (facts.secures)
            for (const ItemId locked : fastener.secures) {
                secured_by.emplace_back(slot(job, locked), fastener.item);
                job.facts[at(locked.index)].pinned = true;
            }
        if (facts.drawn_late)
            for (const ItemId part : {fastener.leaves_with, fastener.captive_in})
                if (part)
                    comes_with.emplace_back(slot(job, part), fastener.item);
    }
    job.holds = Lists::of(fasteners, holds);
    job.held_by = Lists::of(parts, held_by);
    job.secured_by = Lists::of(fasteners, secured_by);
    job.comes_with = Lists::of(parts, comes_with);
    job.drain_plugs = Lists::of(parts, drain_plugs);
    job.fill_plugs = Lists::of(parts, fill_plugs);
    find_joints(map, ids, job);
    find_mates(ids, job);
}

/// The end of a joint that is torqued: as `turn` says; else the end that a torque is stated for; else the nut. Of
/// several nuts each is torqued itself.
ItemId turned_end(const Map& map, const Job& job, ItemId item) {
    if (!fact(job, item).jointed)
        return item;
    const Fastener& fastener = map.fastener(item);
    const auto members = job.joint[slot(job, item)];
    if (members.size() < 2 ||
        (!is_nut(fastener.kind) && fastener.kind != FastenerKind::bolt && fastener.kind != FastenerKind::screw))
        return item;
    ItemId shaft, nut;
    std::string turn;
    for (const ItemId id : members) {
        const Fastener& member = map.fastener(id);
        if (turn.empty())
            turn = member.turn;
        if (is_nut(member.kind)) {
            const bool outer = !nut || member.stack.value_or(0) > map.fastener(nut).stack.value_or(0);
            nut = outer ? id : nut;
        } else if (!shaft && (member.kind == FastenerKind::bolt || member.kind == FastenerKind::screw)) {
            shaft = id;
        }
    }
    if (!shaft || !nut)
        return item;
    if (turn.empty())
        turn = map.fastener(shaft).torque && !map.fastener(nut).torque ? "head" : "nut";
    if (turn == "head")
        return is_nut(fastener.kind) ? shaft : item;
    return is_nut(fastener.kind) ? item : nut;
}

void relate_items(const Map& map, Job& job) {
    Lists::Pairs after, before, tasks_for, opened_by;
    for (std::size_t i = 0; i < map.items.size(); ++i)
        if (job.facts[i].after)
            for (const ItemId earlier : map.items[i].after) {
                after.emplace_back(i, earlier);
                before.emplace_back(at(earlier.index), ItemId{static_cast<std::int32_t>(i)});
            }
    for (const Task& task : map.tasks)
        if (task.does != TaskDoes::nothing)
            for (const ItemId item : task.to)
                tasks_for.emplace_back(at(item.index), task.item);
    for (const Part& part : map.parts) {
        if (part.transfer)
            job.transfers.push_back(part.item);
        if (!part.fluid.empty())
            job.fluids.push_back(part.item);
        for (const ItemId opened : part.opens)
            opened_by.emplace_back(slot(job, opened), part.item);
    }
    job.after = Lists::of(map.items.size(), after);
    job.before = Lists::of(map.items.size(), before);
    job.tasks_for = Lists::of(map.items.size(), tasks_for);
    job.opened_by = Lists::of(map.parts.size(), opened_by);
}

void relate_carriers(const Map& map, Job& job) {
    Lists::Pairs carries;
    const Lists::Pairs carriers = find_carriers(job);
    for (const auto& [p, id] : carriers)
        if (map.is_fastener(id)) {
            carries.emplace_back(slot(job, id), map.parts[p].item);
            job.facts[at(id.index)].carries = true;
        }
    job.carriers = Lists::of(map.parts.size(), carriers);
    job.joined_at_first = Lists::of(map.parts.size(), find_first_joints(job));
    job.carries = Lists::of(map.fasteners.size(), carries);
}

/// A heavy unit that is bolted on: somebody has to see that it meets what it goes to, before a bolt is turned. Where
/// the author has a gate for that, done once the part is fitted, it is that one.
void find_matings(const Map& map, Job& job) {
    for (std::size_t p = 0; p < map.parts.size(); ++p) {
        const Part& part = map.parts[p];
        const bool jacked = !part.mass_kg && part.support.find("jack") != std::string::npos;
        job.facts[at(part.item.index)].mating = !part.fixed && !part.flexible && !part.road_wheel &&
                                                !job.held_by[p].empty() &&
                                                (jacked || part.mass_kg.value_or(0) >= heavy_kg);
    }
    for (const Task& task : map.tasks)
        if (task.gate && task.when != TaskWhen::strip)
            for (const ItemId id : map[task.item].refit_after)
                job.facts[at(id.index)].mating = false;
}

/// Road wheels are torqued on the ground.
void find_wheels(const Map& map, Job& job) {
    for (const Part& part : map.parts)
        if (part.road_wheel)
            for (const ItemId id : job.held_by[slot(map, part.item)]) {
                Facts& facts = job.facts[at(id.index)];
                facts.on_ground = !facts.pushed && facts.fastener != FastenerKind::stud;
                facts.torque_waits = facts.torque_waits || facts.on_ground;
            }
}

} // namespace

Job prepare(const Map& map) {
    Job job;
    job.map = &map;
    find_facts(map, job);
    relate_fasteners(map, job);
    job.turned.resize(map.fasteners.size());
    for (std::size_t i = 0; i < job.facts.size(); ++i)
        if (job.facts[i].kind == ItemKind::fastener)
            job.turned[at(job.facts[i].slot)] = turned_end(map, job, {static_cast<std::int32_t>(i)});
    relate_items(map, job);
    relate_carriers(map, job);
    find_matings(map, job);
    find_wheels(map, job);
    return job;
}

} // namespace boltwalk
