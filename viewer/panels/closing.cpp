// Where the walk is taken up again, and where it ends.
#include <algorithm>
#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

constexpr std::size_t MOST_NAMED = 6;

void line(const Ui& ui, const std::string& text, float width) {
    paragraph(printable(text), packed(ui.theme.text), ui.fonts.text, width);
}

std::string propped_words(const Map& map, const std::vector<ItemId>& parts) {
    std::string words;
    for (const ItemId id : parts) {
        const std::string& support = map.part(id).support;
        words += fmt::format("{}{} ({})", words.empty() ? "" : ", ", caption_of(map, id),
                             support.empty() ? "by what is not stated" : support);
    }
    return words;
}

/// Tight, and nobody knows to what: no fault, and yet not "torqued".
void write_none_stated(const Ui& ui, const View& view, float width) {
    std::vector<ItemId> items;
    for (const Untorqued& one : view.done.untorqued)
        if (one.none_stated)
            items.push_back(one.item);
    if (items.empty())
        return;
    space(ui.sizes.pad);
    framed(ui,
           fmt::format("No torque is stated for {}: tight by the log, and nobody wrote down to what. {}.",
                       items.size() == 1 ? "one" : std::to_string(items.size()),
                       printable(few_items(view.session->map, items, MOST_NAMED))),
           Mark::note, packed(ui.theme.note), width);
}

} // namespace

void write_interruption(Ui& ui, const View& view, float width) {
    const Session& session = *view.session;
    const Map& map = session.map;
    const JobNow& now = view.done.now;
    if (now.closed) {
        framed(ui, "This job is closed. Whatever is entered now opens it again.", Mark::done, packed(ui.theme.done),
               width);
        return;
    }
    framed(ui, "The walk was broken off. First look at stands, chocks and props: they may have moved since.",
           Mark::caution, packed(ui.theme.caution), width);
    const BrokenOff standing = broken_off(session.job, now);
    const auto block = [&](const char* title, const std::string& words) {
        paragraph(title, packed(ui.theme.text_soft), ui.fonts.text, width);
        paragraph(printable(words), packed(ui.theme.text), ui.fonts.strong, width);
        space(ui.sizes.pad);
    };
    block("Propped, by the log", standing.propped.empty() ? "nothing" : propped_words(map, standing.propped));
    if (!standing.hanging.empty())
        block("Lowered or aside", few_items(map, standing.hanging, MOST_NAMED));
    block("Loose now: in its place and not tight",
          standing.loose.empty() ? "nothing" : few_items(map, standing.loose, MOST_NAMED));
    const std::string vehicle = print_vehicle(now.state.vehicle);
    if (!vehicle.empty())
        block("The vehicle, by the log", vehicle);
    const auto& cards = view.back ? session.refit_cards : session.strip_cards;
    block("Next", at_end(view)
                      ? "nothing on this way: the end of the steps"
                      : fmt::format("step {} of {} {}: {}", view.at + 1, steps_of(view),
                                    view.back ? "of the way back" : "of the way down", cards[view.at].headline));
    for (const std::string& differs : view.keeper->differs())
        framed(ui, "The map has changed: " + printable(differs), Mark::doubt, packed(ui.theme.doubt), width);
}

static void write_duty(const Ui& ui, const OpenDuty& open, const std::string& words, float width) {
    const bool note = open.duty == Duty::remember;
    framed(ui, printable(words), note ? Mark::note : Mark::doubt, packed(note ? ui.theme.note : ui.theme.doubt), width);
}

/// It was ticked off as there.
static bool is_bought(const View& view, const OpenDuty& open) {
    const Map& map = view.session->map;
    if (open.duty != Duty::buy || !map.is_fastener(open.item))
        return false;
    const auto& ticked = view.done.now.ticked;
    return std::find(ticked.begin(), ticked.end(), need_of_part(map, map.fastener(open.item))) != ticked.end();
}

void write_owed(const Ui& ui, const View& view, const Ticks& ticks, float width) {
    for (const OpenDuty& open : view.done.now.duties) {
        const Tick* tick = open.item ? tick_of(ticks, open.item) : nullptr;
        if (open.settled || tick == nullptr || is_bought(view, open))
            continue;
        // On the card a bolt goes by its number.
        std::string words = open.what;
        const std::string& name = view.session->map[open.item].name;
        if (const std::size_t at = words.find(name); ticks.all.size() > 1 && at != std::string::npos)
            words.replace(at, name.size(), fmt::format("number {}", tick->number));
        write_duty(ui, open, words, width);
    }
}

void write_before_refit(Ui& ui, View& view, Desk& desk, float width) {
    const Map& map = view.session->map;
    std::vector<std::string> missing;
    for (const Need& need : needs_of(view.session->job, view.done.now))
        if (!need.ticked && need.kind != NeedKind::tool)
            missing.push_back(printable(name_without_kind(need)));
    // A fastener that is to be bought is among what is not ticked off.
    std::vector<const OpenDuty*> duties;
    for (const OpenDuty& open : view.done.now.duties)
        if (!open.settled && open.duty != Duty::remember &&
            !(open.duty == Duty::buy && open.item && map.is_fastener(open.item)))
            duties.push_back(&open);
    if (missing.empty() && duties.empty())
        return;
    section(ui, "Before anything goes back", width);
    for (const OpenDuty* open : duties)
        write_duty(ui, *open, open->what, width);
    if (missing.empty())
        return;
    framed(ui,
           fmt::format("To buy, or to have ready; {} not ticked off: {}.", missing.size(),
                       few_of(missing, "; ", MOST_NEEDS)),
           Mark::note, packed(ui.theme.note), width);
    if (press_to_have(ui, width))
        open_panel(view, desk, Panel::needed);
}

bool press_to_have(Ui& ui, float width) {
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    const char* label = "Tick off what is there";
    const bool pressed =
        button(ui, "to_have", label, flow.next(std::min(width, width_of(ui, label)), ui.sizes.target, ui.sizes.gap));
    settle(ui, from, flow);
    space(ui.sizes.pad);
    return pressed;
}

void write_closing(Ui& ui, View& view, Desk& desk, float width) {
    const Session& session = *view.session;
    const JobNow& now = view.done.now;
    if (now.closed) {
        paragraph("The job is closed", packed(ui.theme.text), ui.fonts.heading, width);
        space(ui.sizes.pad);
        if (!now.closed_why.empty())
            framed(ui, "Closed over what was open: " + printable(now.closed_why), Mark::doubt, packed(ui.theme.doubt),
                   width);
        std::string when;
        for (const LastLook& look : view.done.looks) {
            if (look.when != when) {
                section(ui, ("Look " + look.when).c_str(), width);
                when = look.when;
            }
            framed(ui, look.what + " " + few_items(session.map, look.items, MOST_NAMED) + ".", Mark::ahead,
                   packed(ui.theme.note), width);
        }
        section(ui, "The record", width);
        const std::string where = view.keeper->where();
        line(ui, where.empty() ? "In memory only: it goes with this window." : where, width);
        line(
            ui,
            view.keeper->can_copy()
                ? "To be printed and signed: save a copy (panel Log) beside the map, and in a terminal there: boltwalk "
                  "sheet MAP --done -o record.pdf"
                : "To be printed and signed, in a terminal: boltwalk sheet MAP --done -o record.pdf",
            width);
        return;
    }
    const std::vector<Finding> open = view.done.open; // a press changes it
    paragraph(open.empty() ? "Everything is accounted for" : "Not finished", packed(ui.theme.text), ui.fonts.heading,
              width);
    space(ui.sizes.pad);
    if (open.empty()) {
        line(ui,
             "By the log: nothing is in the tray, no place is empty, every stated torque is logged, nothing is to be "
             "done still. Nothing here was measured on the vehicle: look yourself.",
             width);
        write_none_stated(ui, view, width);
        return;
    }
    line(ui,
         fmt::format("{} open. It can be closed over {} only by writing why.",
                     open.size() == 1 ? "One thing is" : fmt::format("{} things are", open.size()),
                     open.size() == 1 ? "it" : "them"),
         width);
    space(ui.sizes.pad * 0.5F);
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    if (text_field(ui, desk, "why.field", "why it may be closed", flow.next(width, ui.sizes.target, ui.sizes.gap),
                   view.why) &&
        !view.why.empty())
        close_job(view);
    settle(ui, from, flow);
    for (std::size_t i = 0; i < open.size(); ++i) {
        const std::string words = on_screen(open[i].what) + "\n" + on_screen(open[i].remedy);
        const ImVec2 at = ImGui::GetCursorScreenPos();
        const Box row{at.x, at.y, width, row_height(ui, words, width)};
        if (list_row(ui, fmt::format("open.{}", i + 1), words, row, Mark::fault, packed(ui.theme.fault), false)) {
            if (open[i].nodes.empty()) // nothing of the map: it was in the way
                view.panel = Panel::in_way;
            else if (go_to_node(view, open[i].nodes.front()))
                pick_item(view, view.picked);
        }
        ImGui::SetCursorScreenPos(at);
        take_room(width, row.h + ui.sizes.gap);
    }
}

} // namespace boltwalk
