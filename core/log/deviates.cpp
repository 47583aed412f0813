// Where an entry is against the rules, or against the order: in sentences, for people.
#include <algorithm>

#include <fmt/format.h>

#include "core/log/folding.hpp"
#include "core/log/ledger.hpp"

namespace boltwalk {

using namespace log_fold;

namespace {

/// How many are named before "and N more".
constexpr std::size_t most_named = 4;

/// "skid_bolt_1 is taken out before skid_plate is propped."
std::string in_words(const Job& job, const Entry& e, const Objection& objection) {
    if (objection.rule == Rule::so_already && e.verb == Verb::set_vehicle)
        return "The vehicle: it was so already.";
    return sentence_of(job, action_of(e), objection);
}

/// What is wrong with the piece that goes into site f.
void judge_piece(const Map& map, const JobNow& now, const Entry& e, std::size_t f, std::vector<std::string>& out) {
    const Fastener& fastener = map.fasteners[f];
    const PieceKind wanted = kind_of(fastener);
    const std::string& name = map[fastener.item].name;
    if (e.as && *e.as != wanted)
        out.push_back(
            fmt::format("{}: the manual wants {} here, this is {}.", name, print_kind(wanted), print_kind(*e.as)));
    if (e.piece != PieceFrom::of_site || !e.piece_of || !map.is_fastener(e.piece_of))
        return;
    const std::size_t from = static_cast<std::size_t>(map[e.piece_of].detail);
    const HardwarePiece& piece = now.pieces[from];
    const std::string& other = map[e.piece_of].name;
    if (!belongs(map, piece, fastener.item))
        out.push_back(fmt::format("{}: the manual wants {} here; the one of {} is {}.", name, print_kind(wanted), other,
                                  print_kind(piece.kind)));
    if (from != f && (fastener.own_place || map.fasteners[from].own_place))
        out.push_back(fmt::format("{}: the one of {} must go back into its own place.", name, other));
    if (from == f && fastener.renew && piece.came_out)
        out.push_back(fmt::format("{}: it is to be renewed, and the old one went back.", name));
    if (piece.damaged)
        out.push_back(fmt::format("{}: the one of {} is not to be used again.", name, other));
    if (piece.whereabouts == Whereabouts::in_place && piece.site != fastener.item)
        out.push_back(fmt::format("{}: the one of {} is in {} by the log.", name, other, map[piece.site].name));
    else if (piece.whereabouts != Whereabouts::in_place && piece.whereabouts != Whereabouts::tray)
        out.push_back(fmt::format("{}: the one of {} is not in the tray by the log ({}).", name, other,
                                  word_of(piece.whereabouts)));
}

} // namespace

std::vector<Deviation> deviations_of(const Job& job, const JobNow& now, const Entry& e) {
    return log_fold::deviations_with(job, now, e, log_fold::passed_over(now, *job.map, e));
}

std::vector<Deviation> log_fold::deviations_with(const Job& job, const JobNow& now, const Entry& e,
                                                 std::span<const std::size_t> passed) {
    const Map& map = *job.map;
    std::vector<Deviation> out;
    if (e.deed == Deed::closed) {
        const std::size_t open = against_closing(job, now).size();
        if (open > 0 && e.words.empty())
            out.push_back({0,
                           {},
                           fmt::format("Closed with {} open, and nobody wrote why.",
                                       open == 1 ? "one thing" : fmt::format("{} things", open))});
        return out;
    }
    const bool substitute = e.deed == Deed::found && e.mishap == Mishap::substitute;
    if (e.deed == Deed::did) {
        if (!fits(map, e.verb, e.item))
            return out; // said where it is folded
        for (Objection& objection : judge(job, now.state, action_of(e))) {
            if (objection.rule == Rule::so_already && e.piece == PieceFrom::of_site)
                continue; // which one it is, is news
            std::string what = in_words(job, e, objection);
            out.push_back({0, {std::move(objection)}, std::move(what)});
        }
        // What a rule has said of it already need not be said again.
        const auto is_said = [&](ItemId task) {
            return std::any_of(out.begin(), out.end(), [&](const Deviation& one) {
                return std::any_of(one.objections.begin(), one.objections.end(), [&](const Objection& objection) {
                    return std::find(objection.by.begin(), objection.by.end(), task) != objection.by.end();
                });
            });
        };
        std::vector<std::string> unconfirmed;
        for (const std::size_t gate : passed)
            if (const ItemId task = now.gates.all[gate].task; !is_said(task))
                unconfirmed.push_back(fmt::format("\"{}\"", map[task].title));
        if (!unconfirmed.empty())
            out.push_back({0,
                           {},
                           fmt::format("{}: it comes after what is to be confirmed, and was not: {}.",
                                       e.item ? e.named : "The vehicle", few_of(unconfirmed, ", ", most_named))});
        if (const std::vector<ItemId> parts = shaken_by_half(job, now.state, action_of(e)); !parts.empty()) {
            std::vector<std::string> names;
            names.reserve(parts.size());
            for (const ItemId part : parts)
                names.push_back(map[part].name);
            out.push_back({0,
                           {},
                           fmt::format("The vehicle is raised or let down while only part of the fasteners that carry "
                                       "{} hold.",
                                       few_of(names))});
        }
    } else if (!substitute || !e.item || !map.is_fastener(e.item)) {
        return out;
    }
    std::vector<std::string> own;
    if (substitute || puts_in(e.verb)) {
        const auto f = static_cast<std::size_t>(map[e.item].detail);
        judge_piece(map, now, e, f, own);
        if (now.sites[f].hole == Hole::to_repair)
            own.push_back(fmt::format("{}: its thread is to be repaired before anything goes in.", e.named));
    }
    for (std::string& what : own)
        out.push_back({0, {}, std::move(what)});
    return out;
}

std::vector<Deviation> gathered(const std::vector<Entry>& entries, std::span<const Deviation> deviations) {
    struct Said {
        std::size_t place = 0; ///< in `out`
        Rule rule = Rule::so_already;
        std::vector<std::string> likewise;
    };
    const auto alike = [&](std::size_t a, std::size_t b) {
        return entries[a].deed == entries[b].deed && entries[a].verb == entries[b].verb &&
               entries[a].step == entries[b].step;
    };
    std::vector<Deviation> out;
    std::vector<Said> said; // of the run of alike entries that is being read
    const auto end_run = [&] {
        for (const Said& one : said) {
            if (one.likewise.empty())
                continue;
            out[one.place].what += fmt::format(" Likewise {}.", few_of(one.likewise, ", ", most_named - 1));
        }
        said.clear();
    };
    std::size_t last = 0;
    for (const Deviation& deviation : deviations) {
        for (; last < deviation.entry; ++last)
            if (!alike(last, last + 1))
                end_run();
        last = deviation.entry;
        const Entry& e = entries[deviation.entry];
        const bool by_rule = deviation.objections.size() == 1 && e.deed == Deed::did && e.item;
        const auto before = std::find_if(said.begin(), said.end(), [&](const Said& one) {
            return by_rule && one.rule == deviation.objections.front().rule;
        });
        if (by_rule && before != said.end()) {
            before->likewise.push_back(e.named);
            continue;
        }
        if (by_rule)
            said.push_back({out.size(), deviation.objections.front().rule, {}});
        out.push_back(deviation);
    }
    end_run();
    return out;
}

} // namespace boltwalk
