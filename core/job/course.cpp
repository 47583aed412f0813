#include "core/job/course.hpp"

#include <algorithm>
#include <deque>
#include <span>

namespace boltwalk::inside {

bool is_counted(Verb verb) {
    return verb == Verb::take_out || verb == Verb::loosen || leaves(verb);
}

std::string tool_of(const Map& map, const Action& action) {
    switch (action.verb) {
    case Verb::take_out:
    case Verb::loosen:
    case Verb::prove:
    case Verb::seat:
    case Verb::tighten:
        break;
    default:
        return {};
    }
    if (!action.item || !map.is_fastener(action.item))
        return {};
    const auto& drive = map.fastener(action.item).drive;
    if (!drive || drive->kind == DriveKind::hand || drive->kind == DriveKind::none)
        return {};
    return drive->name;
}

namespace {

bool goes_along(const Job& job, const State& state, ItemId part) {
    std::vector<ItemId> together{part};
    for (std::size_t i = 0; i < together.size(); ++i)
        for (const ItemId id : job.held_by[slot(job, together[i])]) {
            const std::span<const ItemId> holds = job.holds[slot(job, id)];
            if (is_freed(job, state, id))
                continue;
            if (holds.size() == 1)
                return false;
            for (const ItemId other : holds) {
                if (state.parts[slot(job, other)] == PartState::off || names(together, other))
                    continue;
                if (fact(job, other).fixed || fact(job, other).supported)
                    return false;
                together.push_back(other);
            }
        }
    return true;
}

/// Straight to the body that stays.
bool leads_to_the_body(const Job& job, ItemId fastener) {
    const std::span<const ItemId> holds = job.holds[slot(job, fastener)];
    return holds.size() == 1 ||
           std::any_of(holds.begin(), holds.end(), [&](ItemId part) { return fact(job, part).fixed; });
}

std::int32_t deed_that(const std::vector<Action>& deeds, ItemId item, bool (*is)(Verb)) {
    for (std::size_t i = 0; i < deeds.size(); ++i)
        if (deeds[i].item == item && is(deeds[i].verb))
            return static_cast<std::int32_t>(i);
    return -1;
}

bool goes_away(Verb verb) {
    return verb == Verb::take_off || verb == Verb::set_aside;
}

bool undoes(Verb verb) {
    return verb == Verb::take_out || verb == Verb::loosen;
}

} // namespace

Company::Company(const Job& job, const std::vector<Action>& deeds) {
    const Map& map = *job.map;
    // What stays, or has a support of its own, does not leave along, nor anything by way of it.
    const auto stays = [&](ItemId part) { return fact(job, part).fixed || fact(job, part).supported; };
    std::vector<std::uint8_t> seen(map.parts.size(), 0);
    for (const Part& start : map.parts) {
        if (stays(start.item) || seen[slot(job, start.item)] != 0)
            continue;
        std::vector<ItemId> region{start.item}, leaders;
        seen[slot(job, start.item)] = 1;
        for (std::size_t i = 0; i < region.size(); ++i) {
            if (deed_that(deeds, region[i], goes_away) >= 0 && !names(leaders, region[i]))
                leaders.push_back(region[i]);
            for (const ItemId id : job.held_by[slot(job, region[i])])
                for (const ItemId other : job.holds[slot(job, id)]) {
                    if (stays(other)) {
                        if (deed_that(deeds, other, goes_away) >= 0 && !names(leaders, other))
                            leaders.push_back(other);
                    } else if (seen[slot(job, other)] == 0) {
                        seen[slot(job, other)] = 1;
                        region.push_back(other);
                    }
                }
        }
        for (const ItemId part : region) {
            Follower follower{part, leaders};
            std::erase(follower.leaders, part);
            if (!follower.leaders.empty())
                followers_.push_back(std::move(follower));
        }
    }
}

void Company::leave_out(const Job& job, const std::vector<Action>& deeds, const std::vector<Bits>& before) {
    for (Follower& follower : followers_) {
        const std::int32_t own = deed_that(deeds, follower.part, goes_away);
        std::vector<std::int32_t> joints;
        for (const ItemId id : job.held_by[slot(job, follower.part)]) {
            const auto holds = job.holds[slot(job, id)];
            if (std::any_of(holds.begin(), holds.end(),
                            [&](ItemId part) { return part != follower.part && !fact(job, part).fixed; }))
                joints.push_back(deed_that(deeds, id, undoes));
        }
        std::erase_if(follower.leaders, [&](ItemId leader) {
            const auto leaving = at(deed_that(deeds, leader, goes_away));
            const Bits& earlier = before[leaving];
            const auto held_longer = [&](ItemId id) {
                const std::int32_t joint = deed_that(deeds, id, undoes);
                return leads_to_the_body(job, id) && joint >= 0 && before[at(joint)].has(leaving);
            };
            const auto held_by = job.held_by[slot(job, follower.part)];
            return std::any_of(held_by.begin(), held_by.end(), held_longer) || (own >= 0 && earlier.has(at(own))) ||
                   std::all_of(joints.begin(), joints.end(),
                               [&](std::int32_t joint) { return joint >= 0 && earlier.has(at(joint)); });
        });
    }
    std::erase_if(followers_, [](const Follower& follower) { return follower.leaders.empty(); });
}

bool Company::follow(const Job& job, State& state) const {
    const auto is_away = [&](ItemId part) {
        const PartState is = state.parts[slot(job, part)];
        return is == PartState::off || is == PartState::aside;
    };
    bool any = false;
    for (const Follower& follower : followers_) {
        const std::size_t p = slot(job, follower.part);
        if (state.parts[p] == PartState::off)
            continue;
        for (const ItemId leader : follower.leaders) {
            const PartState to = state.parts[slot(job, leader)];
            if (!is_away(leader) || state.parts[p] == to || !goes_along(job, state, follower.part))
                continue;
            // By way of something that went, or goes, the same way.
            const auto joints = job.held_by[p];
            const bool led = std::any_of(joints.begin(), joints.end(), [&](ItemId id) {
                const auto holds = job.holds[slot(job, id)];
                return std::any_of(holds.begin(), holds.end(),
                                   [&](ItemId other) { return other != follower.part && is_away(other); });
            });
            if (!led)
                continue;
            state.parts[p] = to;
            state.went_with[p] = leader;
            any = true;
            break;
        }
    }
    return any;
}

bool Company::may_follow(ItemId part) const {
    return std::any_of(followers_.begin(), followers_.end(),
                       [&](const Follower& follower) { return follower.part == part; });
}

Flood::Flood(const Job& job, std::vector<Action> deeds) : company(job, deeds), job_(job), deeds_(std::move(deeds)) {
    const Map& map = *job.map;
    on_part_.resize(map.parts.size());
    for (const Fastener& fastener : map.fasteners)
        for (const ItemId part : fastener.holds)
            on_part_[slot(map, part)].push_back(fastener.item);
}

/// A joint that leads straight to what stays has to go in any case.
bool Flood::leads_to_ground(const State& state, ItemId id) const {
    const Map& map = *job_.map;
    const Fastener& fastener = map.fastener(id);
    return fastener.holds.size() == 1 || std::any_of(fastener.holds.begin(), fastener.holds.end(), [&](ItemId part) {
               return map.part(part).fixed && state.parts[slot(map, part)] == PartState::on;
           });
}

namespace {

/// Whose fluid must be out for certain, whatever leaves along: its own, and that of what it opens.
bool own_fluid_is_in(const Map& map, const State& state, ItemId part) {
    const auto in = [&](ItemId id) { return !map.part(id).fluid.empty() && state.drained[slot(map, id)] == 0; };
    const auto& opens = map.part(part).opens;
    return in(part) || std::any_of(opens.begin(), opens.end(),
                                   [&](ItemId id) { return state.parts[slot(map, id)] != PartState::off && in(id); });
}

bool is_left_out(const Map& map, const State& state, const Action& action, const Objection& objection) {
    switch (objection.rule) {
    case Rule::vehicle:
    case Rule::hold_lost:
    case Rule::held_up:
        return true;
    case Rule::not_drained:
        return !own_fluid_is_in(map, state, action.item);
    case Rule::in_the_way:
        // Of a part: what moves with it, and where it hangs by then, is not only ever freer.
        return map.is_part(action.item);
    case Rule::joined:
        // What left in another's company could have been the one to leave, with the other in its company.
        return map.is_part(action.item) && state.parts[slot(map, action.item)] == PartState::off;
    default:
        return false;
    }
}

} // namespace

std::optional<Objection> first_objection(const Job& job, const State& state, const Action& action) {
    const Map& map = *job.map;
    std::vector<Objection> objections = judge_first(job, state, action);
    if (!objections.empty() && is_left_out(map, state, action, objections.front())) {
        objections = judge(job, state, action);
        std::erase_if(objections, [&](const Objection& o) { return is_left_out(map, state, action, o); });
    }
    if (objections.empty())
        return std::nullopt;
    return std::move(objections.front());
}

Flood::Answer Flood::ask(const State& state, std::size_t deed, bool& wide, std::vector<ItemId>& for_any_of) {
    const Map& map = *job_.map;
    ++asked;
    const std::optional<Objection> objection = first_objection(job_, state, deeds_[deed]);
    if (!objection)
        return Answer::may;
    const Objection& first = *objection;
    if (first.rule == Rule::so_already)
        return Answer::so_already;
    wide = false;
    for_any_of = first.by;
    switch (first.rule) {
    case Rule::after:
    case Rule::secured:
    case Rule::joint_order:
        for_any_of.resize(1); // each of them has to go, so one will do to wait for
        break;
    case Rule::joined: {
        // Fasteners that lead straight to the ground have to go; where there are none, freeing something farther off
        // may do as well.
        const auto fixed = std::find_if(first.by.begin(), first.by.end(),
                                        [&](ItemId id) { return map.is_fastener(id) && leads_to_ground(state, id); });
        if (fixed != first.by.end())
            for_any_of = {*fixed};
        else
            wide = true;
        break;
    }
    case Rule::out_of_reach:
    case Rule::in_the_way:
        wide = true; // any of its alternatives will do
        for_any_of.clear();
        break;
    case Rule::not_drained:
        for (const ItemId id : first.by)
            if (map.is_fastener(id))
                for_any_of.insert(for_any_of.end(), map.fastener(id).holds.begin(), map.fastener(id).holds.end());
        break;
    default:
        break;
    }
    return Answer::waits;
}

Bits Flood::run(const Bits& without, const Bits* until) {
    const Map& map = *job_.map;
    State state = as_found(job_);
    Bits done;
    std::vector<std::vector<std::size_t>> waiters(map.items.size());
    std::vector<std::size_t> wide_waiters;
    std::deque<std::size_t> queue;
    std::vector<std::uint8_t> queued(deeds_.size(), 0);
    const auto push = [&](std::size_t deed) {
        if (queued[deed] == 0) {
            queued[deed] = 1;
            queue.push_back(deed);
        }
    };
    const auto wake = [&](ItemId item) {
        for (const std::size_t deed : waiters[at(item.index)])
            push(deed);
        waiters[at(item.index)].clear();
    };
    const auto wake_wide = [&] {
        for (const std::size_t deed : wide_waiters)
            push(deed);
        wide_waiters.clear();
    };
    for (std::size_t i = 0; i < deeds_.size(); ++i)
        if (!without.has(i))
            push(i);
    std::vector<ItemId> for_any_of;
    while (!queue.empty()) {
        const std::size_t deed = queue.front();
        queue.pop_front();
        queued[deed] = 0;
        if (done.has(deed))
            continue;
        bool wide = false;
        const Answer answer = ask(state, deed, wide, for_any_of);
        if (answer == Answer::waits) {
            if (wide)
                wide_waiters.push_back(deed);
            for (const ItemId item : for_any_of)
                waiters[at(item.index)].push_back(deed);
            continue;
        }
        done.add(deed);
        if (until != nullptr && until->within(done))
            return done;
        if (answer == Answer::so_already)
            continue;
        const Action& action = deeds_[deed];
        const bool moves = leaves(action.verb) || undoes(action.verb);
        const std::vector<PartState> parts = moves ? state.parts : std::vector<PartState>{};
        apply(job_, state, action);
        while (moves && company.follow(job_, state)) {
        }
        if (!action.item)
            continue;
        wake(action.item);
        if (map.is_task(action.item)) {
            for (const ItemId to : map.task(action.item).to)
                wake(to);
        } else if (map.is_fastener(action.item)) {
            for (const ItemId mate : job_.joint[slot(map, action.item)])
                wake(mate);
            for (const ItemId part : map.fastener(action.item).holds)
                wake(part); // a drain plug drains it
        }
        for (std::size_t p = 0; p < parts.size(); ++p)
            if (parts[p] != state.parts[p]) {
                wake(map.parts[p].item);
                for (const ItemId id : on_part_[p])
                    wake(id);
            }
        if (moves)
            wake_wide();
    }
    return done;
}

namespace {

std::vector<Bits> before_each(Flood& flood) {
    const std::size_t count = flood.deeds().size();
    std::vector<Bits> before(count);
    for (std::size_t b = 0; b < count; ++b) {
        Bits without;
        without.add(b);
        const Bits done = flood.run(without);
        for (std::size_t a = 0; a < count; ++a)
            if (a != b && !done.has(a))
                before[a].add(b);
    }
    return before;
}

} // namespace

void narrow_company(const Job& job, Flood& flood) {
    flood.company.leave_out(job, flood.deeds(), before_each(flood));
}

Precedence precedence_of(const Job& job, Flood& flood) {
    const std::size_t count = flood.deeds().size();
    Precedence result;
    // What is known by now rules out some company, and what then is known, more of what comes before what.
    narrow_company(job, flood);
    result.before = before_each(flood);
    const Bits all = flood.run({});
    for (std::size_t i = 0; i < count; ++i)
        result.whole = result.whole && all.has(i);
    return result;
}

bool hangs_on_air(const Job& job, const State& state, ItemId part, std::vector<ItemId>& company) {
    const auto is_held = [&](std::size_t p) {
        return job.map->parts[p].fixed || state.propped[p] != 0 || state.parts[p] == PartState::aside;
    };
    company = {part};
    if (const std::size_t p = slot(job, part); is_held(p) || state.parts[p] == PartState::off)
        return false;
    for (std::size_t i = 0; i < company.size(); ++i)
        for (const ItemId id : job.held_by[slot(job, company[i])]) {
            const std::span<const ItemId> holds = job.holds[slot(job, id)];
            if (is_freed(job, state, id))
                continue;
            if (holds.size() == 1)
                return false;
            for (const ItemId other : holds) {
                const std::size_t p = slot(job, other);
                if (state.parts[p] == PartState::off || names(company, other))
                    continue;
                if (is_held(p))
                    return false;
                company.push_back(other);
            }
        }
    return true;
}

bool can_drop(const Map& map, ItemId part) {
    return !map.part(part).renew || map.part(part).mass_kg;
}

std::vector<Dropping> about_to_drop(const Job& job, const State& state, const std::vector<Action>& to_come) {
    std::vector<Dropping> dropping;
    std::vector<ItemId> company;
    for (const Action& action : to_come)
        if (can_drop(*job.map, action.item) && hangs_on_air(job, state, action.item, company) &&
            judge_first(job, state, action).empty())
            dropping.push_back({action, company});
    return dropping;
}

bool is_about(const Map& map, ItemId fastener, const std::vector<Dropping>& dropping) {
    const auto& holds = map.fastener(fastener).holds;
    return holds.empty() || std::all_of(dropping.begin(), dropping.end(), [&](const Dropping& one) {
               return std::any_of(holds.begin(), holds.end(), [&](ItemId part) { return names(one.company, part); });
           });
}

bool would_hang(const Job& job, State& state, ItemId fastener, const std::vector<Action>& to_come) {
    const Map& map = *job.map;
    const std::size_t f = slot(map, fastener);
    if (!joins(map.fasteners[f]))
        return false;
    const FastenerState was = state.fasteners[f];
    state.fasteners[f] = FastenerState::out;
    bool hangs = false;
    std::vector<ItemId> company;
    for (const ItemId part : map.fasteners[f].holds) {
        if (!can_drop(map, part) || !hangs_on_air(job, state, part, company))
            continue;
        bool is_to_come = false, can_come = false;
        for (const Action& action : to_come) {
            if (can_come || !names(company, action.item))
                continue;
            is_to_come = true;
            can_come = judge_first(job, state, action).empty();
        }
        hangs = hangs || (is_to_come && !can_come);
    }
    state.fasteners[f] = was;
    return hangs;
}

} // namespace boltwalk::inside
