// What was found or happened, and what follows from it.
#include <algorithm>

#include <fmt/format.h>

#include "core/log/folding.hpp"
#include "core/log/ledger.hpp"

namespace boltwalk {

using namespace log_fold;

namespace {

std::string in_a_sentence(Mishap mishap) {
    std::string words(spoken(mishap));
    words[0] = static_cast<char>(words[0] - 'A' + 'a'); // ASCII capitals all of them
    return words;
}

bool has_own_thread_in_a_part(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::bolt:
    case FastenerKind::screw:
    case FastenerKind::stud:
    case FastenerKind::plug:
    case FastenerKind::drain_plug:
    case FastenerKind::fill_plug:
    case FastenerKind::level_plug:
        return true;
    default:
        return false;
    }
}

} // namespace

namespace log_fold {

std::string Folding::own_tap(std::size_t f) const {
    const auto& thread = map.fasteners[f].thread;
    return thread ? fmt::format("its own tap ({})", thread->name) : "its own tap (thread not stated: measure it)";
}

/// With no nut in its joint and in no captive one, as far as the map says.
bool Folding::goes_in_a_hole(std::size_t f) const {
    const Fastener& fastener = map.fasteners[f];
    if (!has_own_thread_in_a_part(fastener.kind))
        return false;
    return fastener.kind == FastenerKind::stud ||
           std::none_of(job.joint[f].begin(), job.joint[f].end(),
                        [&](ItemId id) { return is_nut(map.fastener(id).kind); });
}

void Folding::owe(Duty duty, ItemId item, const std::string& key, std::string what) {
    now.duties.push_back({duty, item, key, std::move(what), false});
}

bool Folding::owes(Duty duty, ItemId item) const {
    return std::any_of(now.duties.begin(), now.duties.end(),
                       [&](const OpenDuty& open) { return open.duty == duty && open.item == item && !open.settled; });
}

void Folding::settle(Duty duty, ItemId item) {
    for (OpenDuty& open : now.duties)
        if (open.duty == duty && open.item == item)
            open.settled = true;
}

/// What lay or sat there is no good any more.
void Folding::spoil(std::size_t f, Whereabouts to) {
    if (now.sites[f].piece >= 0) {
        const auto index = static_cast<std::size_t>(now.sites[f].piece);
        now.pieces[index].damaged = true;
        if (to != Whereabouts::in_place)
            empty(f, to);
    } else if (now.pieces[f].whereabouts == Whereabouts::tray) {
        now.pieces[f].damaged = true;
        if (to != Whereabouts::in_place)
            now.pieces[f].whereabouts = to;
    }
}

void Folding::after_soak(ItemId item, const std::string& key) {
    if (map.is_fastener(item) && goes_in_a_hole(slot(item)) && !owes(Duty::clear_hole, item))
        owe(Duty::clear_hole, item, key,
            fmt::format("Clear the hole of {} of oil before anything goes in, should it be blind (not stated): oil "
                        "that is trapped can crack it, and makes the torque read wrong.",
                        map[item].name));
}

void Folding::stud_came(std::size_t f, const Entry& e) {
    std::vector<std::size_t> both{f};
    for (const ItemId id : job.joint[f]) {
        const FastenerKind kind = map.fastener(id).kind;
        if (id != e.item && (is_nut(kind) || kind == FastenerKind::stud))
            both.push_back(slot(id));
    }
    std::string stud = e.named;
    for (const std::size_t one : both) {
        empty(one, Whereabouts::tray);
        if (map.fasteners[one].kind == FastenerKind::stud)
            stud = map[map.fasteners[one].item].name;
    }
    owe(Duty::chase_thread, e.item, e.key,
        fmt::format("Stud and nut came as one: look at the thread that {} sat in, and chase it with {}.", stud,
                    own_tap(f)));
    owe(Duty::remember, e.item, e.key,
        fmt::format("{}: the stud goes back to the depth and with the locking that the manual states, before its nut.",
                    stud));
}

void Folding::found_on(std::size_t f, const Entry& e) {
    const std::string wanted = print_kind(kind_of(map.fasteners[f]));
    const auto buy = [&](const char* why) {
        if (owes(Duty::buy, e.item))
            return;
        // One more than was ticked off as there.
        std::erase(now.ticked, need_of_part(map, map.fasteners[f]));
        owe(Duty::buy, e.item, e.key, fmt::format("Buy {} for {}: {}.", wanted, e.named, why));
    };
    const auto chase = [&] {
        const auto& thread = map.fasteners[f].thread;
        if (!owes(Duty::chase_thread, e.item))
            owe(Duty::chase_thread, e.item, e.key,
                fmt::format(
                    "Chase the thread that stays at {} (hole, nut, captive nut or stud) with a tap or die of its "
                    "own thread ({}) before anything goes on or in, or renew what has it.",
                    e.named, thread ? thread->name : "not stated: measure it"));
    };
    /// What a bolt that gave way leaves behind: a hole to repair, or a thread on something that can be renewed.
    const auto mend_thread = [&] {
        const FastenerKind kind = map.fasteners[f].kind;
        if (!goes_in_a_hole(f)) {
            if (is_nut(kind) || has_own_thread_in_a_part(kind))
                chase();
            return;
        }
        now.sites[f].hole = Hole::to_repair;
        now.sites[f].rest = e.mishap == Mishap::sheared;
        const std::string repair =
            fmt::format("epair the thread of {} before anything goes in: cut it again with {}, or fit an insert "
                        "with its kit's own drill and tap, never those of the nominal size.",
                        e.named, own_tap(f));
        if (!owes(Duty::repair_hole, e.item))
            owe(Duty::repair_hole, e.item, e.key,
                (now.sites[f].rest ? "First get the rest of it out of the hole, then r" : "R") + repair);
    };
    Site& site = now.sites[f];
    switch (e.mishap) {
    case Mishap::absent:
        if (site.piece == static_cast<std::int32_t>(f) && !now.pieces[f].came_out) {
            empty(f, Whereabouts::never);
        } else {
            deviate({}, fmt::format("{} is said to have been absent, but by the log it was there.", e.named));
        }
        buy("it was not there");
        break;
    case Mishap::wrong_piece: {
        HardwarePiece& piece = site.piece >= 0 ? now.pieces[static_cast<std::size_t>(site.piece)] : now.pieces[f];
        if (e.as)
            piece.kind = *e.as;
        buy(e.as ? "the one that was in it is not the manual's" : "the one that was in it is another, and not known");
        piece.damaged = piece.damaged || !e.as; // of what kind it is, nobody knows
        break;
    }
    case Mishap::sheared:
        spoil(f, Whereabouts::scrapped);
        buy("it sheared");
        mend_thread();
        break;
    case Mishap::stripped:
        spoil(f, Whereabouts::in_place);
        buy("its thread is stripped, or was in a stripped one");
        mend_thread();
        break;
    case Mishap::rounded:
        spoil(f, Whereabouts::in_place);
        buy("no tool grips it any more");
        break;
    case Mishap::stuck:
        owe(Duty::come_back, e.item, e.key,
            fmt::format("Come back to {}: it is stuck, and was left for later.", e.named));
        break;
    case Mishap::cut_off:
        spoil(f, Whereabouts::scrapped);
        buy("it was cut off");
        if (is_nut(map.fasteners[f].kind) || has_own_thread_in_a_part(map.fasteners[f].kind))
            chase();
        break;
    case Mishap::stud_came:
        stud_came(f, e);
        break;
    case Mishap::recut:
    case Mishap::insert_fitted:
        site.hole = e.mishap == Mishap::recut ? Hole::recut : Hole::insert;
        site.rest = false; // nobody cuts a thread beside it
        settle(Duty::repair_hole, e.item);
        settle(Duty::chase_thread, e.item);
        if (goes_in_a_hole(f) && !owes(Duty::clear_hole, e.item))
            owe(Duty::clear_hole, e.item, e.key,
                fmt::format("Clear the hole of {} of chips and oil before anything goes in.", e.named));
        owe(Duty::remember, e.item, e.key,
            fmt::format("{}: {}{}", e.named,
                        e.mishap == Mishap::recut ? "its thread was cut again." : "a thread insert was fitted.",
                        e.words.empty() ? "" : " " + e.words));
        break;
    case Mishap::substitute: {
        const PieceKind kind = e.as.value_or(kind_of(map.fasteners[f]));
        empty(f, Whereabouts::tray);
        put_in(f, make_new(kind, f));
        settle(Duty::buy, e.item);
        owe(Duty::remember, e.item, e.key,
            fmt::format("{}: in place of {} there is {}{}.", e.named, wanted,
                        e.as ? print_kind(kind) : "another one (which, was not written)",
                        e.words.empty() ? "" : " (" + e.words + ")"));
        break;
    }
    case Mishap::lost:
        if (site.piece >= 0)
            empty(f, Whereabouts::missing);
        else if (now.pieces[f].whereabouts == Whereabouts::tray || now.pieces[f].whereabouts == Whereabouts::scrapped)
            now.pieces[f].whereabouts = Whereabouts::missing;
        buy("it is lost; make sure that it lies in nothing that turns");
        break;
    case Mishap::back_for_night:
        if (site.piece < 0)
            fill(f, e);
        owe(Duty::undo_night, e.item, e.key,
            fmt::format("{} was put back by hand only, for the night: take it out again, or tighten it in its turn.",
                        e.named));
        break;
    }
}

void Folding::found(const Entry& e) {
    if (e.item && map.is_fastener(e.item)) {
        now.begun = true;
        found_on(slot(e.item), e);
        return;
    }
    if (!e.item) {
        deviate({}, fmt::format("{} is not on this map.", e.named));
        return;
    }
    // Of a part: it is written down, and a new one is to be bought where it is no good any more.
    switch (e.mishap) {
    case Mishap::absent:
    case Mishap::wrong_piece:
    case Mishap::sheared:
    case Mishap::cut_off:
    case Mishap::lost:
        owe(Duty::buy, e.item, e.key, fmt::format("Buy a {}: {}.", map[e.item].title, in_a_sentence(e.mishap)));
        break;
    case Mishap::stuck:
        owe(Duty::come_back, e.item, e.key,
            fmt::format("Come back to {}: it is stuck, and was left for later.", e.named));
        break;
    default:
        owe(Duty::remember, e.item, e.key,
            fmt::format("{}: {}{}", e.named, in_a_sentence(e.mishap), e.words.empty() ? "." : ": " + e.words));
        break;
    }
}

void Folding::settled(const Entry& e) {
    bool any = false;
    for (OpenDuty& open : now.duties)
        if (open.key == e.about && (e.duty == Duty::none || open.duty == e.duty)) {
            open.settled = true;
            any = true;
        }
    for (Extra& extra : now.extras)
        if (extra.key == e.about && (e.duty == Duty::none || e.duty == Duty::put_back))
            extra.back = true;
    if (!any)
        deviate({}, "Nothing that followed from that entry is settled by this.");
}

void Folding::settle_by_doing(const Entry& e) {
    if (!e.item || !map.is_fastener(e.item))
        return;
    const std::size_t f = slot(e.item);
    const FastenerState is = now.state.fasteners[f];
    if (is == FastenerState::out)
        settle(Duty::undo_night, e.item);
    if (is == FastenerState::torqued)
        settle(Duty::undo_night, e.item);
    if (e.verb == Verb::take_out || e.verb == Verb::loosen)
        settle(Duty::come_back, e.item);
    // Bought, when a piece is in that is not the spoilt one.
    if (const HardwarePiece* piece = piece_in(f); piece != nullptr && puts_in(e.verb) && !piece->damaged)
        settle(Duty::buy, e.item);
}

} // namespace log_fold

} // namespace boltwalk
