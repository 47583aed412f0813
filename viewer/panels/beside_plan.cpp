// What is entered beside the plan: struck out, damage, what was in the way, notes, readings, and the end.
#include <fmt/format.h>
#include <utility>

#include "viewer/panels/entering.hpp"

namespace boltwalk {

bool can_undo(const View& view) {
    return view.keeper && !undo_of(view.keeper->entries(), view.done.now).empty();
}

void undo(View& view) {
    if (!view.keeper)
        return;
    std::vector<Entry> strikes = undo_of(view.keeper->entries(), view.done.now);
    if (strikes.empty())
        return;
    const std::size_t count = strikes.size();
    const std::string which = count > 1                       ? fmt::format("{} entries", count)
                              : strikes.front().item          ? name_in(view, strikes.front().item)
                              : strikes.front().named.empty() ? "the last entry"
                                                              : strikes.front().named;
    if (!keep(view, std::move(strikes), "Struck out: " + which))
        return;
    // To where that is to be done again.
    view.back = view.done.now.state.refit;
    const std::size_t to = std::min(progress_now(view).next, steps_of(view));
    if (to != view.at)
        go_to(view, to);
    else
        show_again(view);
}

void enter_found(View& view, ItemId item, Mishap mishap, const std::string& words) {
    Entry e = entry_about(view, Deed::found, item);
    e.mishap = mishap;
    e.words = words;
    // "M8 × 30, hex, 8.8" is what it was; anything else is a word on it.
    if ((mishap == Mishap::substitute || mishap == Mishap::wrong_piece) && view.session->map.is_fastener(item))
        if (const auto kind = read_kind(words, view.session->map.fastener(item).kind);
            kind && (!kind->thread.empty() || kind->length_mm > 0)) {
            e.as = *kind;
            e.words.clear();
        }
    keep(view, {std::move(e)}, fmt::format("{}: {}", name_in(view, item), spoken(mishap)));
}

void enter_piece(View& view, ItemId site, ItemId from) {
    Entry e = entry_about(view, Deed::did, site);
    e.verb = Verb::start;
    e.piece = PieceFrom::of_site;
    e.piece_of = from;
    e.piece_named = view.session->map[from].name;
    const std::string said = fmt::format("{}: in it is the one of {}", e.named, e.piece_named);
    keep(view, {std::move(e)}, said);
}

void enter_out_again(View& view, ItemId item) {
    Entry e = entry_about(view, Deed::did, item);
    e.verb = Verb::take_out;
    keep(view, {std::move(e)}, fmt::format("{}: out again", name_in(view, item)));
}

void enter_in_way(View& view, ItemId item, const std::string& words) {
    Entry e = entry_about(view, Deed::in_the_way, item);
    e.words = words;
    const std::string what = item ? e.named : words;
    if (what.empty())
        return;
    keep(view, {std::move(e)}, fmt::format("In the way, and to go back: {}", what));
}

void enter_scenery_in_way(View& view, const std::string& node) {
    Entry e = entry_about(view, Deed::in_the_way, {});
    e.named = node;
    keep(view, {std::move(e)}, fmt::format("In the way, and to go back: {}", node));
}

void enter_note(View& view, ItemId item, const std::string& words) {
    Entry e = entry_about(view, Deed::noted, item);
    e.words = words;
    keep(view, {std::move(e)}, fmt::format("{}: {}", name_in(view, item), words));
}

void enter_settled(View& view, const OpenDuty& open) {
    Entry e = entry_about(view, Deed::settled, open.item);
    e.about = open.key;
    e.duty = open.duty;
    keep(view, {std::move(e)}, "Settled: " + open.what);
}

void enter_reading(View& view, ItemId item, const std::string& torque) {
    Entry e = entry_about(view, Deed::did, item);
    e.verb = Verb::tighten;
    e.torque = torque;
    keep(view, {std::move(e)}, fmt::format("{}: {}", name_in(view, item), torque));
}

void enter_moved(View& view, ItemId item, Whereabouts to) {
    Entry e = entry_about(view, Deed::moved, item);
    e.whereabouts = to;
    keep(view, {std::move(e)}, fmt::format("{}: {}", name_in(view, item), word_of(to)));
}

void enter_tick(View& view, const std::string& need) {
    Entry e;
    e.deed = Deed::ticked;
    e.words = need;
    keep(view, {std::move(e)}, "There: " + need);
}

void strike_out(View& view, std::size_t entry) {
    const auto& entries = view.keeper->entries();
    if (entry >= entries.size())
        return;
    const std::string said = fmt::format("Struck out: entry {}", entries[entry].number);
    keep(view, {strike_of(entries[entry])}, said);
}

void close_job(View& view) {
    if (!view.keeper || is_closed(view) || (view.why.empty() && !view.done.open.empty()))
        return;
    Entry e;
    e.deed = Deed::closed;
    e.words = view.why;
    keep(view, {std::move(e)}, "The job is closed");
    view.why.clear();
}

} // namespace boltwalk
