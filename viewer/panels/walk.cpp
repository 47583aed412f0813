#include "viewer/panels/walk.hpp"

#include <algorithm>
#include <fmt/format.h>
#include <utility>

#include "viewer/panels/entering.hpp"
#include "viewer/panels/facts.hpp"

namespace boltwalk {

namespace {

constexpr const char* MEMORY_ONLY = "Nothing is kept: what is done here is lost when this is closed.";

void fold_on(View& view) {
    Done& done = view.done;
    const Session& session = *view.session;
    const auto& entries = view.keeper->entries();
    const std::size_t known = done.now.struck.size();
    // What stands in memory only may have moved behind another window's entries.
    const bool goes_on = known > 0 && known <= entries.size() && entries[known - 1].key == done.last_key;
    if (goes_on)
        fold_further(session.job, done.now, entries);
    else
        done.now = fold(session.job, entries, gates_of(session.map, session.strip, session.refit));
    done.last_key = entries.empty() ? "" : entries.back().key;
    done.out = progress_of(session.job, session.strip, done.now, entries);
    done.back = progress_of(session.job, session.refit, done.now, entries);
    done.open = against_closing(session.job, done.now);
    done.looks = done.now.closed ? last_looks(session.job, session.refit) : std::vector<LastLook>();
    done.ledger = ledger_of(session.job, done.now);
    done.untorqued = untorqued_of(session.job, done.now);
    ++done.news;
}

bool holds(const std::vector<ItemId>& items, ItemId item) {
    return std::find(items.begin(), items.end(), item) != items.end();
}

/// One round of one bolt, with what turns the way where it is the first thing on the way back.
std::vector<Entry> turning(const View& view, const Tightening& tightening, const std::vector<ItemId>& items,
                           int round) {
    std::vector<Entry> entries;
    if (!view.done.now.state.refit) {
        entries.emplace_back();
        entries.back().deed = Deed::way_back;
    }
    for (const ItemId item : items) {
        entries.push_back(turn_entry(view.session->job, tightening, item, round, view.unit));
        entries.back().step = step_name(plan_of(view), view.at);
    }
    return entries;
}

std::vector<Entry> rest_of_step(const View& view, std::span<const ItemId> left_out) {
    return entries_of_step(view.session->job, view.done.now, plan_of(view), view.at, {}, left_out);
}

void go_on_if_done(View& view) {
    if (!at_end(view) && progress_now(view).steps[view.at].open == 0)
        go_to(view, view.at + 1);
}

const Tightening* tightening_with(const View& view, ItemId item) {
    for (const Tightening& one : view.session->turns)
        if (holds(one.items, item))
            return &one;
    return nullptr;
}

/// Something is in it that does not belong there: done, and yet not well.
bool is_in_wrong(const View& view, ItemId item) {
    const Map& map = view.session->map;
    const JobNow& now = view.done.now;
    if (!item || !map.is_fastener(item) || !now.state.refit)
        return false;
    const Site& site = now.sites[std::size_t(map[item].detail)];
    return site.piece >= 0 && site.opened && !belongs(map, now.pieces[std::size_t(site.piece)], item);
}

/// What one press enters of a step: all that is open, what is damaged last and by itself.
struct Rest {
    std::vector<ItemId> left_out;
    int count = 0;
    bool damaged = false;
};
Rest rest_now(const View& view) {
    const Step& step = plan_of(view).steps[view.at];
    const StepProgress& progress = progress_now(view).steps[view.at];
    Rest rest;
    std::vector<ItemId> whole, damaged;
    for (std::size_t i = 0; i < step.items.size(); ++i)
        if (progress.items[i] != Doneness::open)
            rest.left_out.push_back(step.items[i]);
        else
            (is_damaged_in_place(view, step.items[i]) ? damaged : whole).push_back(step.items[i]);
    rest.damaged = whole.empty() && !damaged.empty();
    if (!rest.damaged)
        rest.left_out.insert(rest.left_out.end(), damaged.begin(), damaged.end());
    rest.count = progress.open - (rest.damaged ? 0 : int(damaged.size()));
    return rest;
}

} // namespace

bool is_damaged_in_place(const View& view, ItemId item) {
    if (!item || !view.session->map.is_fastener(item))
        return false;
    const JobNow& now = view.done.now;
    const Site& site = now.sites[std::size_t(view.session->map[item].detail)];
    return site.piece >= 0 && now.pieces[std::size_t(site.piece)].damaged;
}

bool keep(View& view, std::vector<Entry> entries, const std::string& said) {
    if (!view.keeper || entries.empty())
        return false;
    Done& done = view.done;
    const std::size_t deviations = done.now.deviations.size();
    const bool strikes = entries.front().deed == Deed::struck;
    done.stored = view.keeper->add(std::move(entries));
    fold_on(view);
    done.said = said;
    done.deviates.clear();
    if (!strikes && deviations <= done.now.deviations.size())
        for (const Deviation& one :
             gathered(view.keeper->entries(), std::span(done.now.deviations).subspan(deviations)))
            done.deviates.push_back(one.what);
    show_again(view);
    return true;
}

Entry entry_about(const View& view, Deed deed, ItemId item) {
    Entry e;
    e.deed = deed;
    e.item = item;
    if (item)
        e.named = view.session->map[item].name;
    if (!at_end(view))
        e.step = step_name(plan_of(view), view.at);
    return e;
}

std::string name_in(const View& view, ItemId item) {
    if (!item)
        return "the vehicle";
    // Of alike ones by the number that stands on it.
    const Ticks ticks = ticks_of(view);
    const Tick* mark = tick_of(ticks, item);
    if (ticks.all.size() > 1 && mark != nullptr)
        return fmt::format("{}, number {}", view.session->map[item].title, mark->number);
    return caption_of(view.session->map, item);
}

void take_up_log(View& view) {
    view.done = {};
    view.why.clear();
    view.thing.clear();
    if (!has_job(view))
        return;
    view.keeper = view.keeper_for ? view.keeper_for(view.session->map) : keep_in_memory(MEMORY_ONLY);
    fold_on(view);
    view.done.resumed = !view.keeper->entries().empty();
    view.back = view.done.now.state.refit;
    if (!view.done.resumed)
        return;
    if (view.done.now.closed)
        view.back = true;
    const Progress& progress = progress_now(view);
    view.at = view.done.now.closed ? steps_of(view) : progress.next;
}

bool look_into_log(View& view) {
    if (!view.keeper || !view.keeper->refresh())
        return false;
    fold_on(view);
    show_again(view);
    return true;
}

void take_stored(View& view) {
    if (view.keeper && !view.done.said.empty())
        view.done.stored = view.keeper->unstored() == 0;
}

const Progress& progress_now(const View& view) {
    return view.back ? view.done.back : view.done.out;
}

bool is_as_logged(const View& view) {
    if (!view.keeper || at_end(view) || view.back != view.done.now.state.refit)
        return false;
    const Progress& progress = progress_now(view);
    return view.at <= std::max(progress.next, progress.reached);
}

void draw_as_logged(View& view) {
    const Session& session = *view.session;
    const Map& map = session.map;
    const State planned = std::exchange(view.shot.before, view.done.now.state);
    State& before = view.shot.before;
    // The step's own items stand where they stood before it: there they can be tapped, done or not.
    for (const ItemId item : plan_of(view).steps[view.at].items) {
        const auto slot = std::size_t(map[item].detail);
        if (map.is_fastener(item))
            before.fasteners[slot] = planned.fasteners[slot];
        else if (map.is_part(item))
            before.parts[slot] = planned.parts[slot];
    }
    view.shot.after = before;
    apply_step(session.job, view.shot.after, plan_of(view).steps[view.at]);
}

void judge_step(View& view) {
    view.done.against.clear();
    if (!is_as_logged(view))
        return;
    // Asked as `boltwalk log --ask` does: what would be listed, were it entered now.
    std::vector<Entry> then = view.keeper->entries();
    JobNow now = view.done.now;
    const std::size_t before = now.deviations.size();
    for (Entry& e : rest_of_step(view, {}))
        then.push_back(std::move(e));
    fold_further(view.session->job, now, then);
    for (const Deviation& one : gathered(then, std::span(now.deviations).subspan(before)))
        view.done.against.push_back(one.what);
}

std::size_t open_before(const View& view) {
    if (!view.keeper || at_end(view))
        return std::string::npos;
    const Progress& progress = progress_now(view);
    return progress.next < view.at ? progress.next : std::string::npos;
}

Ticks ticks_of(const View& view) {
    Ticks ticks;
    if (!view.keeper || at_end(view))
        return ticks;
    const Step& step = plan_of(view).steps[view.at];
    const StepProgress& progress = progress_now(view).steps[view.at];
    std::vector<ItemId> taken;
    const auto add = [&](ItemId item, Tick::Is is) {
        if (is == Tick::Is::done && is_in_wrong(view, item))
            is = Tick::Is::left;
        const int number = item ? view.session->numbers[std::size_t(item.index)] : 1;
        ticks.all.push_back({item, number, is});
        if (item)
            taken.push_back(item);
    };
    const auto is_of = [](Doneness one) {
        return one == Doneness::done ? Tick::Is::done : one == Doneness::left ? Tick::Is::left : Tick::Is::open;
    };
    if (step.verb == Verb::tighten)
        for (const Tightening& tightening : view.session->turns) {
            if (std::none_of(step.items.begin(), step.items.end(),
                             [&](ItemId item) { return holds(tightening.items, item); }))
                continue;
            RoundNow turn = turn_of(view.session->job, view.done.now, tightening);
            const int rounds = rounds_of(tightening);
            const bool its_turn = ticks.turning == nullptr && turn.round < rounds;
            if (its_turn && !turn.next) // none is in its place: what is said to be done is entered all the same
                for (std::size_t i = 0; i < tightening.items.size() && !turn.next; ++i)
                    if (turn.rounds[i] == turn.round)
                        turn.next = tightening.items[i];
            for (std::size_t i = 0; i < tightening.items.size(); ++i) {
                const bool through = turn.rounds[i] > turn.round || turn.round >= rounds;
                const bool next = its_turn && tightening.items[i] == turn.next;
                add(tightening.items[i], through ? Tick::Is::done : next ? Tick::Is::next : Tick::Is::open);
                if (its_turn && !through)
                    ++ticks.open;
            }
            if (its_turn) {
                ticks.turning = &tightening;
                ticks.turn = std::move(turn);
            }
        }
    for (std::size_t i = 0; i < progress.items.size(); ++i) {
        const ItemId item = step.items.empty() ? ItemId{} : step.items[i];
        if (item && holds(taken, item))
            continue;
        add(item, is_of(progress.items[i]));
        if (ticks.turning == nullptr && progress.items[i] == Doneness::open)
            ++ticks.open;
    }
    std::stable_sort(ticks.all.begin(), ticks.all.end(),
                     [](const Tick& a, const Tick& b) { return a.number < b.number; });
    return ticks;
}

const Tick* tick_of(const Ticks& ticks, ItemId item) {
    const auto found =
        std::find_if(ticks.all.begin(), ticks.all.end(), [&](const Tick& tick) { return tick.item == item; });
    return found == ticks.all.end() ? nullptr : &*found;
}

Entering entering(const View& view, const Ticks& ticks) {
    if (!view.keeper || at_end(view))
        return {};
    const Step& step = plan_of(view).steps[view.at];
    const StepProgress& progress = progress_now(view).steps[view.at];
    if (ticks.turning != nullptr) {
        const auto mark = std::find_if(ticks.all.begin(), ticks.all.end(),
                                       [](const Tick& tick) { return tick.is == Tick::Is::next; });
        const std::string torque = round_torque(*ticks.turning, ticks.turn.round, view.unit);
        const std::string brief = torque.empty() ? "Tight" : torque;
        if (ticks.all.size() == 1)
            return {torque.empty() ? "Tight" : torque + " reached", brief};
        // Of the joint's bolts this step may have only the last ones.
        const bool from_one = ticks.all.back().number == int(ticks.all.size());
        const std::string which =
            from_one ? fmt::format("{} of {}", mark->number, ticks.all.size()) : fmt::format("Number {}", mark->number);
        return {torque.empty() ? which + " tight" : fmt::format("{}: {}", which, torque),
                fmt::format("{}: {}", mark->number, brief)};
    }
    if (progress.open == 0)
        return {};
    const Rest rest = rest_now(view);
    const int all = progress.open + progress.done + progress.left;
    if (rest.damaged && all > 1)
        return {fmt::format("{}: {}", done_words(step, 1, 1).words,
                            rest.count == 1 ? "the one left" : fmt::format("the {} left", rest.count)),
                "The rest"};
    return done_words(step, rest.count, all);
}

void enter_step(View& view) {
    const Ticks ticks = ticks_of(view);
    const std::string words = entering(view, ticks).words;
    if (words.empty()) {
        step_on(view);
        return;
    }
    if (ticks.turning != nullptr) {
        const std::string torque = round_torque(*ticks.turning, ticks.turn.round, view.unit);
        const std::string said =
            fmt::format("{}: {}", name_in(view, ticks.turn.next), torque.empty() ? "tight" : torque);
        keep(view, turning(view, *ticks.turning, {ticks.turn.next}, ticks.turn.round), said);
        go_on_if_done(view);
        return;
    }
    const std::string said = fmt::format("Step {}: {}", view.at + 1, words);
    keep(view, rest_of_step(view, rest_now(view).left_out), said);
    go_on_if_done(view);
}

void enter_slot(View& view, const std::string& torque) {
    const Ticks ticks = ticks_of(view);
    if (ticks.turning == nullptr || !ticks.turn.next)
        return;
    std::vector<Entry> entries = turning(view, *ticks.turning, {ticks.turn.next}, ticks.turn.round);
    const auto read = read_torque(torque);
    entries.back().torque = read ? print_torque(*read, read->unit) : torque;
    entries.back().words = "in its slot";
    const std::string said =
        fmt::format("{}: in its slot at {}", name_in(view, ticks.turn.next), entries.back().torque);
    keep(view, std::move(entries), said);
    go_on_if_done(view);
}

void enter_round(View& view) {
    const Ticks ticks = ticks_of(view);
    if (ticks.turning == nullptr)
        return;
    std::vector<ItemId> items;
    for (std::size_t i = 0; i < ticks.turning->items.size(); ++i)
        if (ticks.turn.rounds[i] <= ticks.turn.round)
            items.push_back(ticks.turning->items[i]);
    keep(view, turning(view, *ticks.turning, items, ticks.turn.round),
         fmt::format("Step {}: the other {} of this pass", view.at + 1, items.size()));
    go_on_if_done(view);
}

void tap(View& view, ItemId item) {
    const Ticks ticks = ticks_of(view);
    const Tick* mark = tick_of(ticks, item);
    if (mark == nullptr)
        return;
    const Step& step = plan_of(view).steps[view.at];
    if (mark->is == Tick::Is::done || (mark->is == Tick::Is::left && is_in_wrong(view, item))) {
        const Entry* entry = entry_behind(view.keeper->entries(), view.done.now, item, step.verb);
        if (entry == nullptr)
            return; // it was so before anybody entered anything
        Entry e = strike_of(*entry);
        e.step = step_name(plan_of(view), view.at);
        keep(view, {std::move(e)}, fmt::format("Struck out: {}", name_in(view, item)));
        return;
    }
    const std::string said = fmt::format("Step {}: {}", view.at + 1, name_in(view, item));
    if (const Tightening* tightening = step.verb == Verb::tighten ? tightening_with(view, item) : nullptr) {
        const RoundNow turn = turn_of(view.session->job, view.done.now, *tightening);
        const auto place = std::find(tightening->items.begin(), tightening->items.end(), item);
        const int round = turn.rounds[std::size_t(place - tightening->items.begin())];
        const std::string torque = round_torque(*tightening, round, view.unit);
        keep(view, turning(view, *tightening, {item}, round), said + (torque.empty() ? "" : ", " + torque));
        return;
    }
    std::vector<ItemId> others = step.items;
    std::erase(others, item);
    keep(view, rest_of_step(view, others), said);
}

bool can_strike(const View& view, ItemId item) {
    return view.keeper && !at_end(view) &&
           entry_behind(view.keeper->entries(), view.done.now, item, plan_of(view).steps[view.at].verb) != nullptr;
}

bool is_closed(const View& view) {
    return view.keeper && view.done.now.closed;
}

} // namespace boltwalk
