// How far a walk is by its log.
#include "core/log/progress.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "core/log/folding.hpp"

namespace boltwalk {

using log_fold::slot;

namespace {

/// Nobody has struck it out.
bool still_counts(const JobNow& now, std::size_t entry) {
    return entry >= now.struck.size() || now.struck[entry] == 0;
}

/// Does the state alone tell whether that was done?
bool shows_in_state(Verb verb) {
    switch (verb) {
    case Verb::do_task:
    case Verb::loosen:
    case Verb::take_out:
    case Verb::let_down:
    case Verb::set_aside:
    case Verb::take_off:
    case Verb::fit:
    case Verb::put_back:
    case Verb::raise:
    case Verb::start:
    case Verb::seat:
    case Verb::tighten:
        return true;
    default:
        return false;
    }
}

bool so_already(const Job& job, const State& state, const Action& action) {
    // The first objection alone may be another one.
    const auto objections = judge(job, state, action);
    return std::any_of(objections.begin(), objections.end(),
                       [](const Objection& o) { return o.rule == Rule::so_already; });
}

/// The entries that count of the stretch of this way that the walk is on, or was on last.
std::vector<const Entry*> stretch_of(const Plan& plan, const JobNow& now, const std::vector<Entry>& entries) {
    std::vector<const Entry*> all;
    bool back = false;
    for (std::size_t i = 0; i < entries.size(); ++i) {
        if (!still_counts(now, i))
            continue;
        const Entry& e = entries[i];
        if (e.deed == Deed::way_back || e.deed == Deed::way_out) {
            const bool turned = back != (e.deed == Deed::way_back);
            back = e.deed == Deed::way_back;
            if (turned && back == plan.refit)
                all.clear();
        } else if (back == plan.refit) {
            all.push_back(&e);
        }
    }
    return all;
}

bool entered(const std::vector<const Entry*>& stretch, Verb verb, ItemId item, const VehicleAsk& vehicle) {
    return std::any_of(stretch.begin(), stretch.end(), [&](const Entry* e) {
        return e->deed == Deed::did && e->verb == verb && e->item == item &&
               (verb != Verb::set_vehicle || e->vehicle == vehicle);
    });
}

bool left_for_later(const JobNow& now, ItemId item) {
    return std::any_of(now.duties.begin(), now.duties.end(), [&](const OpenDuty& open) {
        return open.duty == Duty::come_back && open.item == item && !open.settled;
    });
}

Doneness doneness_of(const Job& job, const JobNow& now, bool this_way, const std::vector<const Entry*>& stretch,
                     const Step& step, ItemId item) {
    const Action action{step.verb, item, step.vehicle};
    const bool by_state = this_way && so_already(job, now.state, action);
    if (by_state || ((!this_way || !shows_in_state(step.verb)) && entered(stretch, step.verb, item, step.vehicle)))
        return Doneness::done;
    return item && left_for_later(now, item) ? Doneness::left : Doneness::open;
}

void count(StepProgress& step) {
    for (const Doneness one : step.items)
        ++(one == Doneness::open ? step.open : one == Doneness::done ? step.done : step.left);
}

} // namespace

std::string step_name(const Plan& plan, std::size_t index) {
    return fmt::format("{} {}", plan.refit ? "back" : "out", index + 1);
}

Progress progress_of(const Job& job, const Plan& plan, const JobNow& now, const std::vector<Entry>& entries) {
    Progress progress;
    const std::vector<const Entry*> stretch = stretch_of(plan, now, entries);
    const bool this_way = now.state.refit == plan.refit;
    for (const Step& step : plan.steps) {
        StepProgress& one = progress.steps.emplace_back();
        if (step.items.empty())
            one.items.push_back(doneness_of(job, now, this_way, stretch, step, {}));
        for (const ItemId item : step.items)
            one.items.push_back(doneness_of(job, now, this_way, stretch, step, item));
        count(one);
    }
    while (progress.next < progress.steps.size() && progress.steps[progress.next].open == 0)
        ++progress.next;
    for (std::size_t i = plan.steps.size(); i > 0 && progress.reached == 0; --i)
        if (std::any_of(stretch.begin(), stretch.end(),
                        [&, name = step_name(plan, i - 1)](const Entry* e) { return e->step == name; }))
            progress.reached = i;
    return progress;
}

std::vector<Entry> entries_of_step(const Job& job, const JobNow& now, const Plan& plan, std::size_t index,
                                   const Entry& like, std::span<const ItemId> left_out) {
    const Step& step = plan.steps[index];
    const bool turns = plan.refit != now.state.refit;
    std::vector<Entry> entries;
    if (turns) {
        entries.emplace_back();
        entries.back().deed = plan.refit ? Deed::way_back : Deed::way_out;
    }
    const std::size_t first = entries.size();
    const auto enter = [&](ItemId item) {
        Entry e = like;
        e.deed = Deed::did;
        e.verb = step.verb;
        e.item = item;
        e.named = item ? (*job.map)[item].name : "";
        e.vehicle = step.vehicle;
        e.step = step_name(plan, index);
        entries.push_back(std::move(e));
    };
    if (step.verb == Verb::set_vehicle) {
        enter({});
        return entries;
    }
    for (const ItemId item : step.items)
        if (std::find(left_out.begin(), left_out.end(), item) == left_out.end() &&
            (turns || !so_already(job, now.state, {step.verb, item, {}})))
            enter(item);
    if (entries.size() == first)
        entries.clear();
    return entries;
}

int rounds_of(const Tightening& tightening) {
    return std::max(1, static_cast<int>(tightening.rounds.size()));
}

RoundNow turn_of(const Job& job, const JobNow& now, const Tightening& tightening) {
    const Map& map = *job.map;
    const int rounds = rounds_of(tightening);
    RoundNow turn;
    std::vector<std::uint8_t> there;
    for (const ItemId item : tightening.items) {
        const std::size_t f = slot(map, item);
        const Site& site = now.sites[f];
        const FastenerState is = now.state.fasteners[f];
        const bool in = is == FastenerState::started || is == FastenerState::seated || is == FastenerState::torqued;
        // As found and never touched: nobody has to tighten it.
        const bool as_found = is == FastenerState::tight;
        there.push_back(in ? 1 : 0);
        turn.in_place += in || as_found ? 1 : 0;
        const bool whole = as_found || (is == FastenerState::torqued && (site.pass == 0 || site.pass >= rounds));
        turn.rounds.push_back(whole ? rounds : in ? std::min(site.pass, rounds - 1) : 0);
    }
    turn.round = turn.rounds.empty() ? rounds : *std::min_element(turn.rounds.begin(), turn.rounds.end());
    for (std::size_t i = 0; i < tightening.items.size() && !turn.next; ++i)
        if (turn.rounds[i] == turn.round && turn.round < rounds && there[i] != 0)
            turn.next = tightening.items[i];
    return turn;
}

std::string round_torque(const Tightening& tightening, int round, TorqueUnit unit) {
    if (tightening.rounds.empty())
        return {};
    const int last = static_cast<int>(tightening.rounds.size()) - 1;
    return round_torque(tightening, tightening.rounds[static_cast<std::size_t>(std::clamp(round, 0, last))], unit);
}

Entry turn_entry(const Job& job, const Tightening& tightening, ItemId item, int round, TorqueUnit unit) {
    Entry e;
    e.deed = Deed::did;
    e.verb = Verb::tighten;
    e.item = item;
    e.named = (*job.map)[item].name;
    e.torque = round_torque(tightening, round, unit);
    if (const int rounds = rounds_of(tightening); rounds > 1) {
        e.pass = round + 1;
        e.passes = rounds;
    }
    if (job.map->fastener(item).kind == FastenerKind::castle_nut && round + 1 >= rounds_of(tightening))
        e.words =
            "the torque in its slot was not read"; // what is stated is no reading; whoever read it says so instead
    return e;
}

Entry strike_of(const Entry& entry) {
    Entry e;
    e.deed = Deed::struck;
    e.about = entry.key;
    e.item = entry.item;
    e.named = entry.named;
    return e;
}

std::vector<Entry> undo_of(const std::vector<Entry>& entries, const JobNow& now) {
    std::vector<Entry> strikes;
    const auto counts = [&](std::size_t i) { return entries[i].deed != Deed::struck && still_counts(now, i); };
    std::size_t i = entries.size();
    while (i > 0 && !counts(i - 1))
        --i;
    if (i == 0)
        return strikes;
    const Entry& last = entries[i - 1];
    for (; i > 0 && entries[i - 1].at_ms == last.at_ms; --i)
        if (counts(i - 1))
            strikes.push_back(strike_of(entries[i - 1]));
    return strikes;
}

const Entry* entry_behind(const std::vector<Entry>& entries, const JobNow& now, ItemId item, Verb verb) {
    for (std::size_t i = entries.size(); i-- > 0;)
        if (entries[i].deed == Deed::did && entries[i].item == item && entries[i].verb == verb && still_counts(now, i))
            return &entries[i];
    return nullptr;
}

BrokenOff broken_off(const Job& job, const JobNow& now) {
    const Map& map = *job.map;
    BrokenOff standing;
    for (std::size_t f = 0; f < now.sites.size(); ++f)
        switch (now.state.fasteners[f]) {
        case FastenerState::cracked:
        case FastenerState::slack:
        case FastenerState::started:
        case FastenerState::seated:
            standing.loose.push_back(map.fasteners[f].item);
            break;
        default:
            break;
        }
    for (std::size_t p = 0; p < map.parts.size(); ++p) {
        const PartState is = now.state.parts[p];
        if (now.state.propped[p] != 0)
            standing.propped.push_back(map.parts[p].item);
        else if (is == PartState::lowered || is == PartState::aside)
            standing.hanging.push_back(map.parts[p].item);
    }
    return standing;
}

} // namespace boltwalk
