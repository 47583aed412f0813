// What happened to an item: on its sheet, one press each, and what follows from it.
#include <algorithm>
#include <array>
#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

constexpr std::array<Mishap, 13> OF_FASTENER{
    Mishap::sheared, Mishap::rounded,       Mishap::stripped,      Mishap::stuck,       Mishap::lost,
    Mishap::absent,  Mishap::cut_off,       Mishap::stud_came,     Mishap::wrong_piece, Mishap::substitute,
    Mishap::recut,   Mishap::insert_fitted, Mishap::back_for_night};
constexpr std::array<Mishap, 4> OF_PART{Mishap::stuck, Mishap::absent, Mishap::lost, Mishap::wrong_piece};

bool press(Ui& ui, Flow& flow, const std::string& id, std::string_view label, bool on = false, bool enabled = true) {
    return button(ui, id, label, flow.next(std::min(flow.box.w, width_of(ui, label)), ui.sizes.target, ui.sizes.gap),
                  {.on = on, .enabled = enabled});
}

/// Done or not, as its mark says: without a pointer too.
void write_own_tick(Ui& ui, View& view, ItemId item, float width) {
    const Ticks ticks = ticks_of(view);
    const Tick* mark = tick_of(ticks, item);
    if (mark == nullptr)
        return;
    const bool done = mark->is == Tick::Is::done || (mark->is == Tick::Is::left && can_strike(view, item));
    if (done && !can_strike(view, item)) // nobody entered that: it sheared, or was so before
        return;
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    const std::string label =
        done ? "Not done: strike it out" : "Done: " + done_words(plan_of(view).steps[view.at], 1, 1).words;
    if (press(ui, flow, "about.tick", label))
        tap(view, item);
    settle(ui, from, flow);
}

void write_own_number(const Ui& ui, const View& view, ItemId item, float width) {
    const Ticks ticks = ticks_of(view);
    const Tick* mark = tick_of(ticks, item);
    if (ticks.all.size() > 1 && mark != nullptr)
        paragraph(fmt::format("Number {} of this step", mark->number), packed(ui.theme.text), ui.fonts.text, width);
}

void write_duties(Ui& ui, View& view, ItemId item, float width) {
    const std::vector<OpenDuty> duties = view.done.now.duties; // a press changes them
    for (const OpenDuty& open : duties) {
        if (open.item != item || open.settled)
            continue;
        const bool note = open.duty == Duty::remember;
        framed(ui, printable(open.what), note ? Mark::note : Mark::doubt, packed(note ? ui.theme.note : ui.theme.doubt),
               width);
        if (note)
            continue;
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        if (open.duty == Duty::repair_hole) { // how is asked for: it goes into the record
            for (const Mishap how : {Mishap::recut, Mishap::insert_fitted})
                if (press(ui, flow, fmt::format("repaired.{}.{}", word_of(how), open.key), spoken(how)))
                    enter_found(view, item, how);
        } else if (press(ui, flow, fmt::format("settled.{}.{}", word_of(open.duty), open.key), "Settled")) {
            enter_settled(view, open);
        }
        settle(ui, from, flow);
    }
}

/// What is in a place on the way back, said only where it is not what belongs there; and out with it again.
void write_what_is_in(Ui& ui, View& view, ItemId item, float width) {
    const Map& map = view.session->map;
    const auto f = std::size_t(map[item].detail);
    const JobNow& now = view.done.now;
    const HardwarePiece& piece = now.pieces[std::size_t(now.sites[f].piece)];
    if (!belongs(map, piece, item))
        framed(ui,
               fmt::format("In it is {}{}. Here belongs {}.", printable(print_kind(piece.kind)),
                           piece.from && piece.from != item ? ", the one of " + map[piece.from].name : "",
                           printable(print_kind(kind_of(map.fastener(item))))),
               Mark::doubt, packed(ui.theme.doubt), width);
    if (now.state.fasteners[f] == FastenerState::tight)
        return;
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    if (press(ui, flow, "piece.out", "Out again"))
        enter_out_again(view, item);
    settle(ui, from, flow);
}

/// Where its piece is, while it is in no place; and the reading, while it is.
void write_piece(Ui& ui, View& view, Desk& desk, ItemId item, float width) {
    const Map& map = view.session->map;
    const auto f = std::size_t(map[item].detail);
    const JobNow& now = view.done.now;
    const HardwarePiece& piece = now.pieces[f];
    const Site& site = now.sites[f];
    if (piece.whereabouts == Whereabouts::tray || piece.whereabouts == Whereabouts::missing ||
        piece.whereabouts == Whereabouts::scrapped) {
        const bool missing = piece.whereabouts == Whereabouts::missing;
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        if (piece.whereabouts == Whereabouts::tray && press(ui, flow, "piece.scrapped", "Thrown away"))
            enter_moved(view, item, Whereabouts::scrapped);
        if (piece.whereabouts != Whereabouts::tray &&
            press(ui, flow, "piece.tray", missing ? "Found again" : "Back in the tray"))
            enter_moved(view, item, Whereabouts::tray);
        settle(ui, from, flow);
    }
    if (!now.state.refit || site.piece < 0)
        return;
    write_what_is_in(ui, view, item, width);
    paragraph(site.torque.empty() ? "No reading is logged." : "Logged: " + printable(site.torque),
              packed(ui.theme.text), ui.fonts.text, width);
    if (desk.reading_of != item) {
        desk.reading_of = item;
        desk.reading.clear();
    }
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    const Box field = flow.next(width, ui.sizes.target, ui.sizes.gap);
    bool entered = text_field(ui, desk, "reading.field", "what the wrench said: 22 N·m", field, desk.reading);
    const bool good = !desk.reading.empty() && read_torque(desk.reading).has_value();
    // A castle nut ends at a slot, at a torque that nobody can work out: it is asked for.
    const bool slotted = map.fastener(item).kind == FastenerKind::castle_nut;
    entered = press(ui, flow, "reading.enter", slotted ? "In its slot at this" : "Tightened to this", false, good) ||
              (entered && good);
    settle(ui, from, flow);
    if (!desk.reading.empty() && !good)
        paragraph("Write it with its unit: 22 N·m, 16 lbf·ft.", packed(ui.theme.text), ui.fonts.text, width);
    if (entered) {
        if (slotted)
            enter_note(view, item, desk.reading + " at the slot");
        else
            enter_reading(view, item, desk.reading);
        desk.reading.clear();
    }
}

/// Which one went in there: what lies in the tray and is as thick. What does not belong is said before it is pressed.
void write_other_pieces(Ui& ui, View& view, ItemId item, float width) {
    const JobNow& now = view.done.now;
    const Map& map = view.session->map;
    const FastenerState is = now.state.fasteners[std::size_t(map[item].detail)];
    if (!now.state.refit || is == FastenerState::tight || is == FastenerState::torqued)
        return;
    const std::vector<Mistaken> others = mistaken_for(view.session->job, now, item);
    if (others.empty())
        return;
    section(ui, "Another one went in?", width);
    paragraph("Here belongs: " + printable(print_kind(kind_of(map.fastener(item)))), packed(ui.theme.text),
              ui.fonts.strong, width);
    paragraph("In the tray, as thick, and not for this place:", packed(ui.theme.text_soft), ui.fonts.text, width);
    space(ui.sizes.pad * 0.4F);
    ItemId went;
    for (const Mistaken& one : others) {
        const std::string words = fmt::format("{}{}\n{}{}", printable(print_kind(one.kind)),
                                              one.count > 1 ? fmt::format(" ({} of them)", one.count) : "",
                                              one.alike ? "Looks alike: " : "", one.differs);
        const ImVec2 at = ImGui::GetCursorScreenPos();
        const Box row{at.x, at.y, width, row_height(ui, words, width)};
        if (list_row(ui, "went_in." + map[one.from].name, words, row, one.alike ? Mark::caution : Mark::bolt,
                     packed(one.alike ? ui.theme.caution : ui.theme.text), false))
            went = one.from;
        ImGui::SetCursorScreenPos(at);
        take_room(width, row.h + ui.sizes.gap);
    }
    if (went)
        enter_piece(view, item, went);
}

} // namespace

void write_happened(Ui& ui, View& view, Desk& desk, ItemId item, float width) {
    const Map& map = view.session->map;
    if (!view.keeper || map.is_task(item))
        return;
    write_own_number(ui, view, item, width);
    write_own_tick(ui, view, item, width);
    write_duties(ui, view, item, width);
    section(ui, "What happened?", width);
    const auto choices = [&](const auto& all) {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        if (map.is_part(item) && press(ui, flow, "happened.in-way", "Was in the way"))
            enter_in_way(view, item, {});
        for (const Mishap mishap : all)
            if (press(ui, flow, "happened." + std::string(word_of(mishap)), spoken(mishap))) {
                enter_found(view, item, mishap, desk.words);
                desk.words.clear();
            }
        settle(ui, from, flow);
    };
    if (map.is_fastener(item))
        choices(OF_FASTENER);
    else
        choices(OF_PART);
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    text_field(ui, desk, "happened.field", "a word on it, first (or none)",
               flow.next(width, ui.sizes.target, ui.sizes.gap), desk.words);
    settle(ui, from, flow);
    if (map.is_fastener(item)) {
        write_other_pieces(ui, view, item, width);
        write_piece(ui, view, desk, item, width);
    }
}

} // namespace boltwalk
