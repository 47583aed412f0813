// The record of a job, from its log.
#include <algorithm>

#include <fmt/format.h>

#include "core/log/ledger.hpp"
#include "core/sheet/parts.hpp"

namespace boltwalk {

using namespace inside;

namespace {

/// "2026-03-07 18:04"
std::string when(std::int64_t at_ms) {
    std::string text = print_time(at_ms);
    if (text.size() < 16)
        return text;
    text = text.substr(0, 16);
    std::replace(text.begin(), text.end(), 'T', ' ');
    return text;
}

std::string title_and_name(const Item& item) {
    return item.title == item.name ? item.name : item.title + ": " + item.name;
}

struct Columns {
    std::vector<double> at; ///< from the left, as a share of the width
};

/// A cell is one of a row and stays on its page; a text as long as a map may hold would fill several.
std::string shortened(const std::string& text) {
    constexpr std::size_t most = 240;
    if (text.size() <= most)
        return text;
    std::size_t end = most;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) // not within a character
        --end;
    return text.substr(0, end) + "…";
}

void row(Pages& pages, const Columns& columns, Ink ink, const std::vector<std::string>& cells) {
    pages.together([&] {
        const double y = pages.y();
        double end = y;
        for (std::size_t i = 0; i < cells.size(); ++i) {
            const double x = pages.left() + columns.at[i] * pages.width();
            const double next = i + 1 < columns.at.size() ? columns.at[i + 1] : 1.0;
            pages.move_to(y + 1.5);
            pages.text(ink, shortened(cells[i]), x, (next - columns.at[i]) * pages.width() - mm(2));
            end = std::max(end, pages.y());
        }
        pages.move_to(end + 1.5);
        pages.rule(pages.left(), pages.y(), pages.right(), pages.y(), 0.3);
    });
}

/// Its head stands on every page that it goes on over.
void table(Pages& pages, const Columns& columns, const std::vector<std::string>& head,
           const std::vector<std::vector<std::string>>& rows) {
    const auto draw_head = [&] { row(pages, columns, Ink::strong, head); };
    draw_head();
    pages.head_pages_with(draw_head);
    for (const std::vector<std::string>& cells : rows)
        row(pages, columns, Ink::small, cells);
    pages.head_pages_with({});
}

void chapter(Pages& pages, const std::string& heading) {
    pages.need(mm(22));
    pages.skip(mm(4));
    pages.text(Ink::heading, heading);
    pages.skip(2);
}

void lines(Pages& pages, const std::string& heading, const std::vector<std::string>& list, const char* none) {
    const bool nothing = list.empty();
    if (nothing && none == nullptr)
        return;
    chapter(pages, heading);
    if (nothing)
        pages.text(Ink::body, none);
    for (const std::string& line : list)
        pages.together([&] {
            pages.text(Ink::body, printable(line));
            pages.skip(2);
        });
}

/// The entry by which a fastener got the torque that it has now.
std::vector<const Entry*> last_torques(const Job& job, const Done& done) {
    std::vector<const Entry*> out(job.map->fasteners.size(), nullptr);
    for (std::size_t i = 0; i < done.entries.size(); ++i) {
        const Entry& e = done.entries[i];
        if (done.now.struck[i] == 0 && e.deed == Deed::did && e.verb == Verb::tighten && e.item &&
            job.map->is_fastener(e.item))
            out[static_cast<std::size_t>((*job.map)[e.item].detail)] = &e;
    }
    return out;
}

void tightened(Pages& pages, const Job& job, const Done& done, TorqueUnit unit) {
    const Map& map = *job.map;
    const std::vector<const Entry*> readings = last_torques(job, done);
    chapter(pages, "Tightened");
    std::vector<std::vector<std::string>> rows;
    for (std::size_t f = 0; f < map.fasteners.size(); ++f) {
        if (!done.now.sites[f].final_torque || !done.now.sites[f].opened)
            continue;
        const Fastener& fastener = map.fasteners[f];
        const Item& item = map[fastener.item];
        const Entry* entry = readings[f];
        rows.push_back(
            {printable(title_and_name(item)), printable(size_of(fastener)),
             fastener.torque ? printable(torque_in_words(*fastener.torque, unit)) : "not stated",
             done.now.sites[f].torque.empty() ? "not written down" : printable(done.now.sites[f].torque),
             entry != nullptr ? when(entry->at_ms) + (entry->step.empty() ? "" : "\n" + printable(entry->step)) : ""});
    }
    if (rows.empty())
        pages.text(Ink::body, "Nothing.");
    else
        table(pages, {{0, 0.3, 0.46, 0.63, 0.8}}, {"What", "Size", "The map says", "Reading", "When, step"}, rows);
}

/// Those too that are tight and have no torque stated: whoever signs should see that none was measured.
std::vector<std::string> untorqued(const Job& job, const Done& done, TorqueUnit unit) {
    const Map& map = *job.map;
    std::vector<std::string> out;
    for (const Untorqued& one : untorqued_of(job, done.now)) {
        const Fastener& fastener = map.fastener(one.item);
        out.push_back(fmt::format("{}: {}; {}", title_and_name(map[one.item]),
                                  fastener.torque ? torque_in_words(*fastener.torque, unit) : "torque not stated",
                                  one.standing));
    }
    return out;
}

std::vector<std::string> replaced(const Job& job, const Done& done) {
    const Map& map = *job.map;
    std::vector<std::string> out;
    for (const HardwarePiece& piece : done.now.pieces)
        if (!piece.from && piece.whereabouts == Whereabouts::in_place && piece.site)
            out.push_back(fmt::format("{}: a new {}", map[piece.site].name, print_kind(piece.kind)));
    return out;
}

void signatures(Pages& pages) {
    pages.together([&] {
        pages.skip(mm(12));
        const double width = (pages.width() - mm(10)) / 2, y = pages.y() + mm(8);
        for (const int side : {0, 1}) {
            const double x = pages.left() + (width + mm(10)) * side;
            pages.rule(x, y, x + width, y, 0.6);
            pages.line_of_text(Ink::small,
                               side == 0 ? "Done by: name, date, signature" : "Looked at by: name, date, signature", x,
                               y + 2, width);
        }
        pages.move_to(y + mm(6));
    });
}

} // namespace

tl::expected<std::string, std::string> print_record(const Job& job, const Done& done, const SheetSettings& settings) {
    const Map& map = *job.map;
    const std::string job_title = title_of_job(map);
    const std::vector<Finding> open = against_closing(job, done.now);
    const std::vector<LastLook> looks = last_looks(job, plan_refit(job, plan_strip(job)));
    return print_pages(settings.paper, job_title + ": record", [&](Pages& pages) {
        pages.text(Ink::title, "Record: " + job_title);
        pages.skip(mm(1));
        std::string head = map.vehicle.empty() ? "Vehicle: not stated" : printable("Vehicle: " + map.vehicle);
        pages.text(Ink::body, head);
        if (!done.entries.empty())
            pages.text(Ink::body, fmt::format("{} entries, from {} to {} (UTC)", done.entries.size(),
                                              when(done.entries.front().at_ms), when(done.entries.back().at_ms)));
        pages.skip(mm(2));
        if (done.now.closed && open.empty())
            pages.text(Ink::strong, "Closed, with nothing open.");
        else if (done.now.closed)
            print_caution(pages,
                          printable(fmt::format("Closed over {} open finding{}, because: {}", open.size(),
                                                open.size() == 1 ? "" : "s", done.now.closed_why)),
                          pages.left(), pages.width());
        else
            print_caution(pages,
                          open.empty() ? "Nothing is open by the log, but the job was not closed."
                                       : fmt::format("Not closed: {} still open.", open.size()),
                          pages.left(), pages.width());

        std::vector<std::string> texts;
        texts.reserve(open.size());
        for (const Finding& finding : open)
            texts.push_back(finding.what);
        lines(pages, "Left open", texts, "Nothing.");
        tightened(pages, job, done, settings.unit);
        lines(pages, "Without a final torque in the log", untorqued(job, done, settings.unit), "Nothing.");
        lines(pages, "New hardware fitted", replaced(job, done), "None.");

        texts.clear();
        for (std::size_t i = 0; i < done.entries.size(); ++i)
            if (done.now.struck[i] == 0 && (done.entries[i].deed == Deed::found || done.entries[i].deed == Deed::moved))
                texts.push_back(print_entry(done.entries[i]));
        lines(pages, "Found, or happened", texts, "Nothing.");
        texts.clear();
        for (const OpenDuty& duty : done.now.duties)
            texts.push_back((duty.duty == Duty::remember ? "note: " : duty.settled ? "done: " : "OPEN: ") + duty.what);
        lines(pages, "What followed from it", texts, nullptr);
        texts.clear();
        for (const Extra& extra : done.now.extras)
            texts.push_back(extra.name + (extra.back ? ": back" : ": NOT BACK"));
        lines(pages, "In the way, not foreseen by the manual", texts, nullptr);
        texts.clear();
        for (std::size_t i = 0; i < done.entries.size(); ++i)
            if (done.now.struck[i] == 0 && done.entries[i].deed == Deed::noted)
                texts.push_back(print_entry(done.entries[i]));
        lines(pages, "Notes", texts, nullptr);
        texts.clear();
        for (const Deviation& deviation : gathered(done.entries, done.now.deviations))
            texts.push_back(fmt::format("entry {}: {}", done.entries[deviation.entry].number, deviation.what));
        lines(pages, "Done otherwise than planned", texts, nullptr);

        const std::vector<Count> ledger = ledger_of(job, done.now);
        if (!ledger.empty()) {
            chapter(pages, "Counted");
            std::vector<std::vector<std::string>> rows;
            rows.reserve(ledger.size());
            for (const Count& c : ledger)
                rows.push_back({printable(print_kind(c)), std::to_string(c.came_out),
                                std::to_string(c.refitted + c.elsewhere), std::to_string(c.fresh),
                                std::to_string(c.scrapped), std::to_string(c.missing), std::to_string(c.in_tray)});
            table(pages, {{0, 0.42, 0.52, 0.61, 0.7, 0.81, 0.92}},
                  {"Kind", "came out", "back", "new", "scrapped", "missing", "tray"}, rows);
        }
        texts.clear();
        for (const LastLook& look : looks)
            texts.push_back(look.when + ": " + look.what);
        lines(pages, "The map has changed since", done.differs, nullptr);
        // Nobody signs a page with nothing on it.
        pages.together([&] {
            lines(pages, "To look at afterwards (common practice, no source; the manual goes before)", texts, nullptr);
            signatures(pages);
        });
    });
}

} // namespace boltwalk
