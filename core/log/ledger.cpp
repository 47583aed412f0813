#include "core/log/ledger.hpp"

#include <algorithm>
#include <initializer_list>
#include <map>

#include <fmt/format.h>

#include "core/log/folding.hpp"

namespace boltwalk {

using log_fold::title_where_unsized;

namespace log_fold {

std::string title_where_unsized(const Map& map, const PieceKind& kind, ItemId item) {
    return kind.thread.empty() && kind.length_mm <= 0 && item ? map[item].title : std::string();
}

} // namespace log_fold

namespace {

/// Counts in the order of their first use.
class Counts {
public:
    explicit Counts(const Map& map) : map_(map) {}
    /// `item`: what a piece of that kind is for.
    Count& of(const PieceKind& kind, ItemId item) {
        const std::string title = title_where_unsized(map_, kind, item);
        const auto [found, made] = place_.emplace(std::pair{kind, title}, list.size());
        if (made) {
            list.emplace_back();
            list.back().kind = kind;
            list.back().of = title;
        }
        return list[found->second];
    }
    std::vector<Count> list;

private:
    const Map& map_;
    std::map<std::pair<PieceKind, std::string>, std::size_t> place_;
};

Finding open_of(const char* rule, std::vector<std::string> nodes, std::string what, std::string remedy) {
    Finding finding;
    finding.weight = Weight::fault;
    finding.rule = rule;
    finding.nodes = std::move(nodes);
    finding.what = std::move(what);
    finding.remedy = std::move(remedy);
    return finding;
}

std::string found_in(const Map& map, const HardwarePiece& piece) {
    return piece.from ? "the one of " + map[piece.from].name : "a new " + print_kind(piece.kind);
}

void pieces_open(const Job& job, const JobNow& now, std::vector<Finding>& out) {
    const Map& map = *job.map;
    for (const HardwarePiece& piece : now.pieces) {
        std::vector<std::string> nodes;
        if (piece.from)
            nodes.push_back(map[piece.from].name);
        if (piece.whereabouts == Whereabouts::tray)
            out.push_back(open_of("in-the-tray", nodes,
                                  fmt::format("In the tray: {} ({}).", found_in(map, piece), print_kind(piece.kind)),
                                  "Fit it where it belongs, or say that it was thrown away."));
        else if (piece.whereabouts == Whereabouts::missing)
            out.push_back(open_of("missing", nodes,
                                  fmt::format("Missing: {} ({}).", found_in(map, piece), print_kind(piece.kind)),
                                  "Find it: it may lie where something turns. Or close the job and write why not."));
    }
}

void sites_open(const Job& job, const JobNow& now, std::vector<Finding>& out) {
    const Map& map = *job.map;
    for (std::size_t f = 0; f < now.sites.size(); ++f) {
        const Site& site = now.sites[f];
        const Fastener& fastener = map.fasteners[f];
        const std::string& name = map[fastener.item].name;
        const FastenerState is = now.state.fasteners[f];
        if (site.piece < 0) {
            if (site.rest)
                out.push_back(open_of("place-empty", {name},
                                      fmt::format("In {} there is only the rest of the sheared one.", name),
                                      "Get it out of the hole, repair the thread, and fit a new one."));
            else
                out.push_back(open_of("place-empty", {name}, fmt::format("Nothing is in {}.", name), "Fit it."));
            continue;
        }
        const HardwarePiece& piece = now.pieces[static_cast<std::size_t>(site.piece)];
        const PieceKind wanted = kind_of(fastener);
        if (!belongs(map, piece, fastener.item))
            out.push_back(open_of("wrong-piece", {name},
                                  fmt::format("In {} there is {}; the manual wants {}.", name, print_kind(piece.kind),
                                              print_kind(wanted)),
                                  "Fit the right one, or close the job and write why."));
        if (piece.from && piece.from != fastener.item && (fastener.own_place || map.fastener(piece.from).own_place))
            out.push_back(open_of("own-place", {name, map[piece.from].name},
                                  fmt::format("In {} there is the one of {}; each must go back into its own place.",
                                              name, map[piece.from].name),
                                  "Change them over."));
        const bool undone = is != FastenerState::tight && is != FastenerState::torqued;
        const bool touched = site.opened || undone || is == FastenerState::torqued;
        if (piece.from && touched && (piece.damaged || (fastener.renew && is != FastenerState::cracked)))
            out.push_back(open_of("used-again", {name}, fmt::format("{} is to be new, and the old one is in it.", name),
                                  "Fit a new one, or say so if it is."));
        // A bare stud, a washer, a pin has no torque of its own: started is home.
        const bool turned = fastener.drive ? fastener.drive->kind != DriveKind::none : true;
        const bool home = is == FastenerState::started && !turned;
        if (undone && !home)
            out.push_back(open_of("not-tight", {name},
                                  fmt::format("{} is not tight: its final torque was not logged.", name),
                                  "Tighten it, and log that."));
        if (site.hole == Hole::to_repair)
            out.push_back(open_of("hole-to-repair", {name}, fmt::format("The thread of {} was not repaired.", name),
                                  "Repair it, and log how."));
    }
}

void parts_open(const Job& job, const JobNow& now, std::vector<Finding>& out) {
    const Map& map = *job.map;
    for (std::size_t p = 0; p < map.parts.size(); ++p) {
        const std::string& name = map[map.parts[p].item].name;
        if (now.state.parts[p] != PartState::on)
            out.push_back(open_of("part-away", {name}, fmt::format("{} is not back on.", name), "Fit it."));
        if (now.state.propped[p] != 0)
            out.push_back(open_of("prop-left", {name}, fmt::format("{} still stands on its prop.", name),
                                  "Take the prop away once it is carried again."));
        if (now.state.drained[p] != 0 && now.state.filled[p] == 0)
            out.push_back(
                open_of("not-filled", {name}, fmt::format("{} was drained, and not filled.", name), "Fill it."));
    }
    for (std::size_t t = 0; t < map.tasks.size(); ++t) {
        const Task& task = map.tasks[t];
        if (now.begun && task.when != TaskWhen::strip && (!now.state.refit || now.state.done[t] == 0))
            out.push_back(open_of("task-open", {map[task.item].name},
                                  fmt::format("Not done: {}.", map[task.item].title), "Do it, and log that."));
    }
}

} // namespace

std::string print_kind(const Count& count) {
    return count.of.empty() ? print_kind(count.kind)
                            : fmt::format("{}, size not stated: {}", spoken(count.kind.what), count.of);
}

std::string print_kind_briefly(const Count& count) {
    const PieceKind& kind = count.kind;
    if (!count.of.empty())
        return fmt::format("{}: {}", spoken(kind.what), count.of);
    std::string size = kind.thread;
    if (kind.length_mm > 0)
        size += fmt::format("{}{}", size.empty() ? "" : " × ", print_number(kind.length_mm));
    return size.empty() ? std::string(spoken(kind.what)) : size;
}

bool counts_those_of(const Map& map, const Count& count, ItemId fastener) {
    const PieceKind kind = kind_of(map.fastener(fastener));
    return kind == count.kind && title_where_unsized(map, kind, fastener) == count.of;
}

std::vector<Count> ledger_of(const Job& job, const JobNow& now) {
    const Map& map = *job.map;
    Counts counts(map);
    for (std::size_t f = 0; f < now.sites.size(); ++f)
        counts.of(kind_of(map.fasteners[f]), map.fasteners[f].item);
    for (const HardwarePiece& piece : now.pieces) {
        if (!piece.came_out)
            continue;
        Count& count = counts.of(piece.kind, piece.from ? piece.from : piece.meant_for);
        ++count.came_out;
        switch (piece.whereabouts) {
        case Whereabouts::tray:
            ++count.in_tray;
            if (piece.from)
                count.tray.push_back(piece.from);
            break;
        case Whereabouts::scrapped:
            ++count.scrapped;
            break;
        case Whereabouts::missing:
            ++count.missing;
            break;
        case Whereabouts::in_place:
            ++(belongs(map, piece, piece.site) ? count.refitted : count.elsewhere);
            break;
        case Whereabouts::never:
            break;
        }
    }
    for (std::size_t f = 0; f < now.sites.size(); ++f) {
        const Site& site = now.sites[f];
        if (!site.opened)
            continue;
        Count& count = counts.of(kind_of(map.fasteners[f]), map.fasteners[f].item);
        ++count.places;
        if (site.piece < 0) {
            ++count.empty;
            count.rests += site.rest ? 1 : 0;
            continue;
        }
        const HardwarePiece& piece = now.pieces[static_cast<std::size_t>(site.piece)];
        if (!belongs(map, piece, map.fasteners[f].item))
            ++count.strangers;
        else if (!piece.came_out)
            ++count.fresh;
    }
    std::erase_if(counts.list, [](const Count& count) { return count.came_out == 0 && count.places == 0; });
    for (std::size_t i = 0; i < counts.list.size(); ++i)
        for (std::size_t k = 0; k < counts.list.size(); ++k)
            if (i != k && look_alike(counts.list[i].kind, counts.list[k].kind))
                counts.list[i].look_alikes.push_back(k);
    return std::move(counts.list);
}

Count total_of(const std::vector<Count>& ledger) {
    Count total;
    for (const Count& c : ledger) {
        total.came_out += c.came_out;
        total.in_tray += c.in_tray;
        total.refitted += c.refitted;
        total.elsewhere += c.elsewhere;
        total.scrapped += c.scrapped;
        total.missing += c.missing;
        total.places += c.places;
        total.strangers += c.strangers;
        total.fresh += c.fresh;
        total.empty += c.empty;
        total.rests += c.rests;
    }
    return total;
}

namespace {

struct Term {
    const char* name;
    int count;
    bool always; ///< in the long form also where it is 0
};

std::string sum_of(std::initializer_list<Term> terms, bool short_words) {
    std::string sum;
    for (const auto& [name, count, always] : terms)
        if (count != 0 || (always && !short_words))
            sum += fmt::format("{}{} {}", sum.empty() ? "" : " + ", count, name);
    return sum;
}

std::string whereabouts_of(const Count& c, bool short_words) {
    return sum_of({{"in tray", c.in_tray, true},
                   {"refitted", c.refitted, true},
                   {"elsewhere", c.elsewhere, false},
                   {"scrapped", c.scrapped, true},
                   {"missing", c.missing, true}},
                  short_words);
}

std::string equation(const std::string& whole, const std::string& sum) {
    return sum.empty() ? whole : whole + " = " + sum;
}

} // namespace

std::string print_balance(const Count& c, bool short_words) {
    return equation(fmt::format("{} out", c.came_out), whereabouts_of(c, short_words));
}

std::string print_whereabouts(const Count& c) {
    return whereabouts_of(c, true);
}

std::string print_places(const Count& c, bool short_words) {
    return equation(fmt::format("{} {}", c.places, c.places == 1 ? "place" : "places"),
                    sum_of({{"refitted", c.refitted, true},
                            {"of another kind", c.strangers, false},
                            {"new", c.fresh, true},
                            {"empty", c.empty - c.rests, true},
                            {"with the rest of a sheared one", c.rests, false}},
                           short_words));
}

std::vector<Finding> against_closing(const Job& job, const JobNow& now) {
    std::vector<Finding> out;
    pieces_open(job, now, out);
    sites_open(job, now, out);
    parts_open(job, now, out);
    for (const OpenDuty& open : now.duties) {
        if (open.settled || open.duty == Duty::remember)
            continue;
        std::vector<std::string> nodes;
        if (open.item)
            nodes.push_back((*job.map)[open.item].name);
        out.push_back(open_of("still-to-do", std::move(nodes), open.what, "Do it, and log that it is settled."));
    }
    return out;
}

std::vector<Untorqued> untorqued_of(const Job& job, const JobNow& now) {
    const Map& map = *job.map;
    std::vector<Untorqued> out;
    for (std::size_t f = 0; f < now.sites.size(); ++f) {
        const Fastener& fastener = map.fasteners[f];
        const Site& site = now.sites[f];
        const FastenerState is = now.state.fasteners[f];
        const Facts& facts = job.facts[static_cast<std::size_t>(fastener.item.index)];
        if (facts.pushed || fastener.kind == FastenerKind::stud || job.turned[f] != fastener.item ||
            site.final_torque || (is == FastenerState::tight && !site.opened))
            continue;
        const bool in = is == FastenerState::started || is == FastenerState::seated || is == FastenerState::torqued;
        const auto words = [&]() -> std::string {
            switch (is) {
            case FastenerState::tight:
                return "tight as found";
            case FastenerState::cracked:
                return "broken loose, and nipped up";
            case FastenerState::slack:
                return "undone, still in place";
            case FastenerState::out:
                return "out";
            case FastenerState::started:
                return "started by hand";
            case FastenerState::seated:
                return "seated";
            case FastenerState::torqued:
                return fastener.torque ? "tightened, and not to its last pass"
                                       : "tightened, and to what was not logged";
            }
            return "";
        };
        out.push_back({fastener.item, words() + (in && site.pass > 0 ? fmt::format(", pass {} logged", site.pass) : ""),
                       is == FastenerState::torqued && !fastener.torque});
    }
    return out;
}

} // namespace boltwalk
