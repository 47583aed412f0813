// The step card: what is to be done now, in words and large figures.
#include <algorithm>
#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/frames.hpp"

namespace boltwalk {

namespace {

float pixels(ImFont* font) {
    return font->FontSize * ImGui::GetIO().FontGlobalScale;
}
float width_in(ImFont* font, const std::string& text) {
    return font->CalcTextSizeA(pixels(font), FLT_MAX, 0, text.c_str()).x;
}

void labelled(const Ui& ui, const char* name, const std::string& value, float width) {
    if (value.empty())
        return;
    paragraph(name, packed(ui.theme.text_soft), ui.fonts.text, width);
    paragraph(value, packed(ui.theme.text), ui.fonts.strong, width);
    space(ui.sizes.pad);
}

/// Figures as large as they fit: twice the text, else one and a quarter, else wrapped.
void figure(const Ui& ui, const std::string& text, float width, ImU32 colour) {
    ImFont* font = ui.fonts.figure;
    if (width_in(font, text) > width)
        font = ui.fonts.heading;
    paragraph(text, colour, font, width);
}

std::string joined(std::initializer_list<std::string> parts) {
    std::string all;
    for (const std::string& part : parts)
        if (!part.empty())
            all += (all.empty() ? "" : " · ") + part;
    return all;
}

/// In the hand the headline is told by its weight alone, as from 3 m: every line counts.
ImFont* headline_font(const Ui& ui) {
    return ui.sizes.handheld ? ui.fonts.strong : ui.fonts.heading;
}

/// "numbers 2, 4": which of the marks are these.
std::string numbers_of_kind(const Ticks& ticks, const Hardware& h) {
    std::string numbers;
    int count = 0;
    for (const Tick& tick : ticks.all)
        if (std::find(h.items.begin(), h.items.end(), tick.item) != h.items.end())
            numbers += (count++ > 0 ? ", " : "") + std::to_string(tick.number);
    return numbers.empty() ? "" : (count == 1 ? "number " : "numbers ") + numbers;
}

/// Where a torque is turned it stands above, larger than all else. `numbered`: there are other kinds.
void hardware_line(Ui& ui, View& view, const Hardware& h, std::size_t index, const Ticks& ticks, bool numbered,
                   float width) {
    const bool turning = ticks.turning != nullptr;
    const bool told = ui.sizes.handheld && !numbered; // all of it stands above
    const ImVec2 from = ImGui::GetCursorScreenPos();
    const bool sized = !h.size.empty();
    if (told) {
        // Only what goes with it is left to say.
    } else if (turning || ui.sizes.handheld) {
        paragraph(joined({how_many(h), h.tool, turning ? "" : h.torque}), packed(ui.theme.text), headline_font(ui),
                  width);
    } else {
        figure(ui, how_many(h), width, packed(ui.theme.text));
        if (!h.tool.empty())
            figure(ui, h.tool, width, packed(ui.theme.text));
        if (!h.torque.empty())
            figure(ui, h.torque, width, packed(ui.theme.text));
    }
    const std::string rest = joined({numbered && ticks.all.size() > 1 ? numbers_of_kind(ticks, h) : "",
                                     sized || told ? h.kind : "", h.grade.empty() ? "" : "grade " + h.grade});
    if (!rest.empty())
        paragraph(rest, packed(ui.theme.text), ui.fonts.text, width);
    if (!h.extra.empty())
        paragraph(h.extra, packed(ui.theme.text), ui.fonts.strong, width);

    // The whole block can be pressed: it tells about its first item, again about its next.
    const float low = from.y + ui.sizes.target - ImGui::GetCursorScreenPos().y;
    if (low > 0) // as high as a finger
        space(low);
    const ImVec2 to = ImGui::GetCursorScreenPos();
    const Box box{from.x, from.y, width, to.y - from.y};
    const bool on = std::find(h.items.begin(), h.items.end(), view.picked) != h.items.end();
    ImDrawList* list = ImGui::GetWindowDrawList();
    if (on)
        list->AddRectFilled({box.x - ui.sizes.pad * 0.7F, box.y}, {box.x - ui.sizes.pad * 0.3F, box.bottom()},
                            packed(ui.theme.accent));
    if (button(ui, fmt::format("card.hardware.{}", index), "", box, {.look = Rank::bare, .role = "row"}) &&
        !h.items.empty()) {
        const auto at = std::find(h.items.begin(), h.items.end(), view.picked);
        pick_item(view, at == h.items.end() || at + 1 == h.items.end() ? h.items.front() : *(at + 1));
    }
    ImGui::SetCursorScreenPos(to);
    space(ui.sizes.pad);
}

/// The picture as one sees it lying underneath.
void write_lying(Ui& ui, View& view, float width) {
    if (!is_from_under(view))
        return;
    paragraph("As I lie underneath", packed(ui.theme.text_soft), ui.fonts.text, width);
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    draw_lying_buttons(ui, view, flow);
    settle(ui, from, flow);
    write_not_from_under(ui, view, width);
}

void write_end(Ui& ui, View& view, Desk& desk, float width) {
    const std::size_t count = steps_of(view);
    if (view.keeper && view.back) {
        write_entered(ui, view, width);
        write_closing(ui, view, desk, width);
        return;
    }
    paragraph(view.back ? "End of the refit" : "End of the strip", packed(ui.theme.text), ui.fonts.heading, width);
    space(ui.sizes.pad);
    paragraph(
        fmt::format("The {} steps of this order are behind. Nothing here was measured or confirmed on the vehicle: "
                    "go by the maker's manual, and look yourself.",
                    count),
        packed(ui.theme.text), ui.fonts.text, width);
    if (view.keeper)
        write_before_refit(ui, view, desk, width);
}

void write_unannotated(Ui& ui, View& view, float width) {
    paragraph("No job in this file", packed(ui.theme.text), ui.fonts.heading, width);
    space(ui.sizes.pad);
    paragraph(
        "It holds a model, but no node says that it is a part or a fastener. Look at it freely. What things are is "
        "said "
        "by marking it up (F7), or by custom properties of its objects in a modelling tool. Seven are enough to begin: "
        "part, fastener, holds, from, thread, drive, torque.",
        packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    const ImVec2 at = ImGui::GetCursorScreenPos(); // by touch there is no F7
    Flow flow = flow_here(width);
    const float w = std::min(width, width_of(ui, "Mark it up"));
    if (button(ui, "card.mark", "Mark it up", flow.next(w, ui.sizes.target, ui.sizes.gap)))
        enter_marking(view);
    settle(ui, at, flow);
}

/// In pixels from the top of what is written.
struct Ends {
    float told = 0;     ///< of what is to be done, on how many of which size, with which tool, how tight
    float cautions = 0; ///< of the cautions
};

Ends write_step(Ui& ui, View& view, Desk& desk, const StepCard& card, float width) {
    const Ticks ticks = ticks_of(view);
    // From 3 m the card has room for the step alone: what is stored then stands in the ledger's row.
    if (desk.shape != Shape::words || !view.done.stored || !view.done.deviates.empty())
        write_entered(ui, view, width);
    // From 3 m the lines are for what is to be done; where one is in the order is read by whoever stands at the screen.
    const bool is_far = view.reach == Distance::helper;
    paragraph(
        fmt::format("Step {} of {}{}", view.at + 1, steps_of(view), card.by_rules ? ", asked for by the rules" : ""),
        packed(ui.theme.text_soft), is_far ? ui.near_fonts.text : ui.fonts.text, width);
    space(ui.sizes.pad * 0.4F);
    paragraph(card.headline, packed(ui.theme.text), headline_font(ui), width);
    space(ui.sizes.pad * (ui.sizes.handheld ? 0.4F : 1));
    Ends ends;
    // In the hand there is room for little more than what to fetch, so that comes first.
    const bool brief = ui.sizes.handheld && !card.hardware.empty();
    if (brief) {
        // The torque of the pass that is on stands below, large, and on what is pressed.
        std::string words = hardware_in_brief(card.hardware, ticks.turning == nullptr);
        if (ImGui::GetCursorPosY() + height_of(words, ui.fonts.text, width) > ImGui::GetWindowHeight())
            words = hardware_in_brief(card.hardware, false);
        paragraph(words, packed(ui.theme.text), ui.fonts.text, width);
        write_turn_torque(ui, view, ticks, width);
        ends.told = ImGui::GetCursorPosY();
        space(ui.sizes.pad);
    }
    for (const std::string& caution : card.cautions)
        framed(ui, caution, Mark::caution, packed(ui.theme.caution), width);
    if (card.gate)
        framed(ui, "To be confirmed before the next step", Mark::ahead, packed(ui.theme.note), width);
    if (const std::size_t open = open_before(view); open != std::string::npos)
        framed(ui, fmt::format("Looked at ahead: step {} is still open.", open + 1), Mark::now, packed(ui.theme.accent),
               width);
    for (const std::string& what : view.done.against)
        framed(ui, "Not yet: " + printable(what), Mark::doubt, packed(ui.theme.doubt), width);
    ends.cautions = ImGui::GetCursorPosY() - ui.sizes.pad;
    write_owed(ui, view, ticks, width);
    if (!brief)
        write_turn_torque(ui, view, ticks, width);
    write_turn(ui, view, ticks, width);
    write_ticks(ui, view, desk, ticks, width);
    for (std::size_t i = 0; i < card.hardware.size(); ++i)
        hardware_line(ui, view, card.hardware[i], i, ticks, card.hardware.size() > 1, width);
    if (!ui.sizes.handheld)
        ends.told = ImGui::GetCursorPosY() - ui.sizes.pad;
    write_turn_words(ui, ticks, width);

    if (at_bench(view)) {
        paragraph("On the bench: drawn without the vehicle's other parts.", packed(ui.theme.text), ui.fonts.text,
                  width);
        space(ui.sizes.pad);
    }
    labelled(ui, "Work", card.from, width); // "from under"
    write_lying(ui, view, width);
    labelled(ui, "People", card.people > 1 ? std::to_string(card.people) : "", width);
    labelled(ui, "Vehicle", card.vehicle, width);
    for (const std::string& note : card.notes) {
        paragraph(note, packed(ui.theme.text), ui.fonts.text, width);
        space(ui.sizes.pad);
    }
    if (!card.photos.empty())
        paragraph(card.photos.size() == 1 ? "Photograph" : "Photographs", packed(ui.theme.text_soft), ui.fonts.text,
                  width);
    draw_photo_row(ui, view.session->map, card.photos, view.photo, width);
    labelled(ui, "Why now", why_in_words(card), width);
    labelled(ui, "Then free", card.frees, width);
    labelled(ui, "Source", card.source, width);
    if (view.keeper) {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        const char* label = "Something was in the way";
        if (button(ui, "card.in_way", label,
                   flow.next(std::min(width, width_of(ui, label)), ui.sizes.target, ui.sizes.gap)))
            open_panel(view, desk, Panel::in_way);
        settle(ui, from, flow);
    }
    return ends;
}

} // namespace

void draw_card(Ui& ui, View& view, Desk& desk, const Box& box) {
    if (box.empty())
        return;
    plate(ui, box);
    const Box inside = box.inset(ui.sizes.pad);
    if (desk.read.at != view.at || desk.read.back != view.back || desk.read.session != view.sessions) {
        desk.read = {view.at, view.back, false, view.sessions};
        desk.card.want = 0;
    }
    const float scrolled = desk.card.want >= 0 ? desk.card.want : desk.card.at;
    Ends ends;
    const float width = begin_scroll(ui, "card", inside, desk.card);
    if (!has_job(view))
        write_unannotated(ui, view, width);
    else if (at_end(view))
        write_end(ui, view, desk, width);
    else
        ends = write_step(ui, view, desk, (view.back ? view.session->refit_cards : view.session->strip_cards)[view.at],
                          width);
    desk.read.all = desk.read.all || ends.cautions <= scrolled + ImGui::GetWindowHeight() + 1;
    desk.told_in_sight = scrolled <= 1 && ends.told <= ImGui::GetWindowHeight() + 1;
    end_scroll(ui, "card", desk.card);
}

} // namespace boltwalk
