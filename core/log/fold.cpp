// How everything stands after a list of entries. Nothing is refused: what makes no sense changes as much as it can, and
// is listed.
#include <algorithm>
#include <unordered_map>

#include <fmt/format.h>

#include "core/log/folding.hpp"

namespace boltwalk {

using namespace log_fold;

namespace log_fold {

bool fits(const Map& map, Verb verb, ItemId item) {
    switch (verb) {
    case Verb::set_vehicle:
        return true;
    case Verb::do_task:
        return item && map.is_task(item);
    case Verb::soak:
    case Verb::prove:
    case Verb::loosen:
    case Verb::take_out:
    case Verb::start:
    case Verb::seat:
    case Verb::tighten:
        return item && map.is_fastener(item);
    default:
        return item && map.is_part(item);
    }
}

bool puts_in(Verb verb) {
    return verb == Verb::start || verb == Verb::seat || verb == Verb::tighten;
}

Action action_of(const Entry& e) {
    // Several passes: only the last is the final torque.
    const bool short_of_final = e.verb == Verb::tighten && e.pass > 0 && e.pass < e.passes;
    return {short_of_final ? Verb::seat : e.verb, e.verb == Verb::set_vehicle ? ItemId{} : e.item, e.vehicle};
}

std::vector<std::uint8_t> struck_out(const std::vector<Entry>& entries) {
    // A strike counts unless it was itself struck out by a later one, so they are asked from the last to the first.
    std::vector<std::uint8_t> struck(entries.size(), 0);
    std::unordered_map<std::string_view, std::size_t> place;
    for (std::size_t i = 0; i < entries.size(); ++i)
        place.emplace(entries[i].key, i);
    for (std::size_t i = entries.size(); i-- > 0;) {
        if (entries[i].deed != Deed::struck || struck[i] != 0)
            continue;
        const auto found = place.find(entries[i].about);
        if (found != place.end() && found->second < i)
            struck[found->second] = 1;
    }
    return struck;
}

Folding::Folding(const Job& the_job) : job(the_job), map(*the_job.map) {
    now.state = as_found(job);
    now.sites.resize(map.fasteners.size());
    for (std::size_t f = 0; f < map.fasteners.size(); ++f) {
        now.sites[f].piece = static_cast<std::int32_t>(f);
        const ItemId site = map.fasteners[f].item;
        now.pieces.push_back({kind_of(map.fasteners[f]), site, {}, site, Whereabouts::in_place, false, false});
    }
}

Folding::Folding(const Job& the_job, JobNow from) : job(the_job), map(*the_job.map), now(std::move(from)) {}

HardwarePiece* Folding::piece_in(std::size_t f) {
    return now.sites[f].piece < 0 ? nullptr : &now.pieces[static_cast<std::size_t>(now.sites[f].piece)];
}

void Folding::empty(std::size_t f, Whereabouts to) {
    Site& site = now.sites[f];
    if (HardwarePiece* piece = piece_in(f)) {
        piece->whereabouts = to;
        piece->site = {};
        piece->came_out = piece->came_out || to != Whereabouts::never;
        site.opened = true;
    }
    site.piece = -1;
    site.final_torque = false;
    site.pass = 0;
    site.torque.clear();
    now.state.fasteners[f] = FastenerState::out;
}

void Folding::put_in(std::size_t f, std::int32_t index) {
    HardwarePiece& piece = now.pieces[static_cast<std::size_t>(index)];
    if (now.sites[f].piece == index)
        return;
    if (piece.whereabouts == Whereabouts::in_place)
        empty(slot(piece.site), Whereabouts::tray);
    const FastenerState as = now.state.fasteners[f];
    if (now.sites[f].piece >= 0)
        empty(f, Whereabouts::tray);
    now.sites[f].opened = true;
    now.sites[f].rest = false;
    now.sites[f].piece = index;
    piece.whereabouts = Whereabouts::in_place;
    piece.site = map.fasteners[f].item;
    now.state.fasteners[f] = as == FastenerState::out ? FastenerState::started : as;
}

std::int32_t Folding::make_new(const PieceKind& kind, std::size_t f) {
    now.pieces.push_back({kind, {}, map.fasteners[f].item, {}, Whereabouts::tray, false, false});
    return static_cast<std::int32_t>(now.pieces.size() - 1);
}

std::int32_t Folding::usual_piece(std::size_t f) {
    const PieceKind wanted = kind_of(map.fasteners[f]);
    const HardwarePiece& own = now.pieces[f];
    const auto usable = [&](const HardwarePiece& piece) {
        return piece.whereabouts == Whereabouts::tray && !piece.damaged && belongs(map, piece, map.fasteners[f].item);
    };
    if (!map.fasteners[f].renew) {
        if (usable(own))
            return static_cast<std::int32_t>(f);
        // Changed over with another of its kind: then that one's, or any that has no place of its own. A damaged or
        // lost one is replaced.
        const bool changed_over = own.whereabouts == Whereabouts::in_place;
        for (std::size_t i = 0; i < now.pieces.size(); ++i) {
            const HardwarePiece& other = now.pieces[i];
            const bool free = changed_over && !(other.from && map.fastener(other.from).own_place);
            if (usable(other) && (free || other.meant_for == map.fasteners[f].item))
                return static_cast<std::int32_t>(i);
        }
    }
    discard_replaced(f);
    return make_new(wanted, f);
}

/// What may not be used again goes when a new one takes its place; anything else lies in the tray until somebody says.
void Folding::discard_replaced(std::size_t f) {
    const ItemId site = map.fasteners[f].item;
    for (HardwarePiece& piece : now.pieces)
        if ((piece.from == site || piece.meant_for == site) && piece.whereabouts == Whereabouts::tray &&
            (map.fasteners[f].renew || piece.damaged))
            piece.whereabouts = Whereabouts::scrapped;
}

void Folding::fill(std::size_t f, const Entry& e) {
    if (e.piece == PieceFrom::of_site && e.piece_of && map.is_fastener(e.piece_of)) {
        put_in(f, static_cast<std::int32_t>(slot(e.piece_of)));
    } else if (e.piece == PieceFrom::fresh) {
        if (now.sites[f].piece >= 0 && !piece_in(f)->from)
            return; // the new one is in it already
        empty(f, Whereabouts::tray);
        discard_replaced(f);
        put_in(f, make_new(e.as.value_or(kind_of(map.fasteners[f])), f));
    } else if (now.sites[f].piece < 0) {
        put_in(f, usual_piece(f));
    }
}

/// After the rules have applied a verb: a site is empty exactly when its fastener is out.
void Folding::even_out(const std::vector<FastenerState>& before, const Entry& e) {
    for (std::size_t f = 0; f < now.sites.size(); ++f) {
        const FastenerState is = now.state.fasteners[f];
        if (is == before[f])
            continue;
        if (is == FastenerState::out) {
            empty(f, Whereabouts::tray);
        } else if (now.sites[f].piece < 0) {
            const bool in = is == FastenerState::started || is == FastenerState::seated || is == FastenerState::torqued;
            if (in)
                fill(f, e);
            now.state.fasteners[f] = in ? is : FastenerState::out; // undoing what is not there changes nothing
        }
        if (is == FastenerState::slack || is == FastenerState::cracked)
            now.sites[f].final_torque = false;
    }
}

void Folding::did(const Entry& e) {
    const Action action = action_of(e);
    if (!fits(map, e.verb, action.item)) {
        deviate({}, fmt::format("{} cannot be done to {}: it is not the kind of thing, or not on this map.",
                                word_of(e.verb), e.named));
        return;
    }
    const std::vector<FastenerState> before = now.state.fasteners;
    const bool site_verb = puts_in(e.verb);
    if (site_verb && (e.piece != PieceFrom::usual || now.sites[slot(action.item)].piece < 0)) {
        fill(slot(action.item), e);
    }
    apply(job, now.state, action);
    even_out(before, e);
    if (site_verb) {
        Site& site = now.sites[slot(action.item)];
        const Fastener& fastener = map.fastener(action.item);
        if (!e.torque.empty())
            site.torque = e.torque;
        site.pass = e.pass;
        site.final_torque = action.verb == Verb::tighten && (fastener.torque || !e.torque.empty());
    } else if (e.verb == Verb::soak) {
        after_soak(e.item, e.key);
    } else if (e.verb == Verb::do_task && map.task(e.item).does == TaskDoes::soak) {
        for (const ItemId item : map.task(e.item).to)
            after_soak(item, e.key);
    }
    if (e.verb != Verb::set_vehicle && e.verb != Verb::do_task && e.verb != Verb::soak && e.verb != Verb::mark)
        now.begun = true;
    settle_by_doing(e);
}

void Folding::moved(const Entry& e) {
    if (!e.item || !map.is_fastener(e.item)) {
        deviate({}, fmt::format("{} is no fastener of this map.", e.named));
        return;
    }
    const std::size_t f = slot(e.item);
    // With "new", the one that was put in new there; otherwise the one that was found there.
    std::size_t index = f;
    if (e.piece == PieceFrom::fresh && now.sites[f].piece >= 0)
        index = static_cast<std::size_t>(now.sites[f].piece);
    HardwarePiece& piece = now.pieces[index];
    if (piece.whereabouts == Whereabouts::in_place) {
        empty(slot(piece.site), Whereabouts::tray);
    } else if (piece.whereabouts == Whereabouts::never) {
        deviate({}, fmt::format("Nothing was found in {}, so nothing of it can be moved.", e.named));
        return;
    }
    piece.whereabouts = e.whereabouts == Whereabouts::scrapped || e.whereabouts == Whereabouts::missing
                            ? e.whereabouts
                            : Whereabouts::tray;
}

void Folding::take(const Entry& e) {
    if (e.deed == Deed::closed) {
        now.closed = true;
        now.closed_why = e.words;
        return;
    }
    switch (e.deed) {
    case Deed::did:
        did(e);
        break;
    case Deed::found:
        found(e);
        break;
    case Deed::in_the_way: {
        const std::string name = e.named.empty() ? e.words : e.named;
        now.extras.push_back({e.key, name.empty() ? "something" : name, false});
        owe(Duty::put_back, {}, e.key, fmt::format("Put back what was in the way: {}.", now.extras.back().name));
        now.begun = true;
        break;
    }
    case Deed::moved:
        moved(e);
        break;
    case Deed::settled:
        settled(e);
        break;
    case Deed::ticked:
        if (std::find(now.ticked.begin(), now.ticked.end(), e.words) == now.ticked.end())
            now.ticked.push_back(e.words);
        break;
    case Deed::way_back:
        if (!now.state.refit)
            std::fill(now.state.done.begin(), now.state.done.end(), std::uint8_t{0});
        now.state.refit = true;
        now.passed.assign(now.passed.size(), 0);
        break;
    case Deed::way_out:
        now.state.refit = false;
        now.passed.assign(now.passed.size(), 0);
        break;
    case Deed::unknown:
        deviate({}, fmt::format("\"{}\" is not understood: it is of a later version of this program.", e.unread));
        break;
    case Deed::noted:
    case Deed::struck:
    case Deed::closed:
        break;
    }
    if (now.closed && e.deed != Deed::noted && e.deed != Deed::struck) {
        now.closed = false; // work goes on
        now.closed_why.clear();
    }
}

void Folding::deviate(std::vector<Objection> objections, std::string what) {
    now.deviations.push_back({entry, std::move(objections), std::move(what)});
}

} // namespace log_fold

namespace {

void take_from(const Job& job, Folding& folding, const std::vector<Entry>& entries, std::size_t from) {
    for (std::size_t i = from; i < entries.size(); ++i) {
        if (folding.now.struck[i] != 0)
            continue;
        folding.entry = i;
        const std::vector<std::size_t> passed = passed_over(folding.now, *job.map, entries[i]);
        for (Deviation& deviation : deviations_with(job, folding.now, entries[i], passed)) {
            deviation.entry = i;
            folding.now.deviations.push_back(std::move(deviation));
        }
        for (const std::size_t gate : passed)
            folding.now.passed[gate] = 1;
        folding.take(entries[i]);
    }
}

} // namespace

bool belongs(const Map& map, const HardwarePiece& piece, ItemId site) {
    const PieceKind wanted = kind_of(map.fastener(site));
    if (piece.kind != wanted)
        return false;
    const ItemId of = piece.from ? piece.from : piece.meant_for;
    return !wanted.thread.empty() || wanted.length_mm > 0 || (of && map[of].title == map[site].title);
}

JobNow fold(const Job& job, const std::vector<Entry>& entries, Gates gates) {
    Folding folding(job);
    folding.now.passed.assign(gates.all.size(), 0);
    folding.now.gates = std::move(gates);
    folding.now.struck = struck_out(entries);
    take_from(job, folding, entries, 0);
    return std::move(folding.now);
}

void fold_further(const Job& job, JobNow& now, const std::vector<Entry>& entries) {
    const std::size_t from = now.struck.size();
    const bool any_struck =
        from > entries.size() || std::any_of(entries.begin() + static_cast<std::ptrdiff_t>(from), entries.end(),
                                             [](const Entry& e) { return e.deed == Deed::struck; });
    if (any_struck) {
        now = fold(job, entries, std::move(now.gates));
        return;
    }
    Folding folding(job, std::move(now));
    folding.now.struck.resize(entries.size(), 0);
    take_from(job, folding, entries, from);
    now = std::move(folding.now);
}

} // namespace boltwalk
