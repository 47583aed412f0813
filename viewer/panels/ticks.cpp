// What of a step is done: the card's marks, the torque and whose turn it is, what was entered last; and the numbers of
// the same marks over the drawing.
#include <algorithm>
#include <fmt/format.h>
#include <utility>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

constexpr float FIGURE_RADII = 1.5F;        ///< of a number in its circle: the size of its letters,
constexpr float WIDEST_FIGURE_RADII = 1.6F; ///< and its width at most

Mark mark_of(Tick::Is is) {
    switch (is) {
    case Tick::Is::open:
        return Mark::none;
    case Tick::Is::next:
        return Mark::now;
    case Tick::Is::done:
        return Mark::done;
    case Tick::Is::left:
        return Mark::doubt;
    }
    return Mark::none;
}

const Tick* next_of(const Ticks& ticks) {
    for (const Tick& tick : ticks.all)
        if (tick.is == Tick::Is::next)
            return &tick;
    return nullptr;
}

/// A number in its circle, never larger than that has room for: letters for 3 m would be wider than it.
void figure_in(ImDrawList* list, const std::string& text, const ImVec2& middle, float radius, ImU32 ink, ImFont* font) {
    float size = std::min(font->FontSize * ImGui::GetIO().FontGlobalScale, FIGURE_RADII * radius);
    const float width = font->CalcTextSizeA(size, FLT_MAX, 0, text.c_str()).x;
    size *= std::min(1.0F, WIDEST_FIGURE_RADII * radius / std::max(width, 1.0F));
    const ImVec2 box = font->CalcTextSizeA(size, FLT_MAX, 0, text.c_str());
    list->AddText(font, size, {std::round(middle.x - box.x * 0.5F), std::round(middle.y - box.y * 0.5F)}, ink,
                  text.c_str());
}

ImU32 faded(ImU32 colour, float share) {
    ImVec4 parts = ImGui::ColorConvertU32ToFloat4(colour);
    parts.w *= share;
    return ImGui::ColorConvertFloat4ToU32(parts);
}

} // namespace

void write_entered(Ui& ui, const View& view, float width) {
    const Done& done = view.done;
    if (!done.said.empty() && !done.stored && view.keeper && view.keeper->is_storing())
        framed(ui, printable("Being stored: " + done.said), Mark::ahead, packed(ui.theme.note), width);
    else if (!done.said.empty())
        framed(ui, printable(done.stored ? "Stored. " + done.said : "In memory only. " + done.said),
               done.stored ? Mark::done : Mark::caution, packed(done.stored ? ui.theme.done : ui.theme.caution), width);
    for (const std::string& what : done.deviates)
        framed(ui, "Against the order, and entered all the same: " + printable(what), Mark::doubt,
               packed(ui.theme.doubt), width);
}

void write_turn_torque(const Ui& ui, const View& view, const Ticks& ticks, float width) {
    if (ticks.turning == nullptr)
        return;
    const std::string torque = round_torque(*ticks.turning, ticks.turn.round, view.unit);
    const std::string figure = torque.empty() ? "Torque not stated" : torque;
    ImFont* large = ui.sizes.handheld ? ui.fonts.heading : ui.fonts.figure;
    const float px = large->FontSize * ImGui::GetIO().FontGlobalScale;
    if (large->CalcTextSizeA(px, FLT_MAX, 0, figure.c_str()).x > width)
        large = ui.fonts.heading;
    paragraph(figure, packed(ui.theme.text), large, width);
}

void write_turn(Ui& ui, View& view, const Ticks& ticks, float width) {
    const Tightening* tightening = ticks.turning;
    if (tightening == nullptr)
        return;
    const int rounds = rounds_of(*tightening);
    const auto strong = [&](const std::string& text) {
        paragraph(text, packed(ui.theme.text), ui.fonts.strong, width);
    };
    if (tightening->torque) {
        const std::string own = print_torque(*tightening->torque, tightening->torque->unit);
        if (rounds > 1)
            strong(fmt::format("Pass {} of {}; in the end {}", ticks.turn.round + 1, rounds,
                               torque_in_words(*tightening->torque, view.unit)));
        else if (view.unit != tightening->torque->unit)
            strong("The manual's own: " + own);
    }
    const Tick* next = next_of(ticks);
    if (next != nullptr && ticks.all.size() > 1)
        strong(fmt::format("Now number {}: {}", next->number, size_of(view.session->map.fastener(next->item))));
    if (const auto choice = wrench_now(view, ticks)) {
        // An angle alone takes none.
        const bool takes_none =
            choice->wrench == nullptr && tightening->rounds[std::size_t(ticks.turn.round)].stage.has_torque;
        if (takes_none)
            framed(ui, printable(choice->words), Mark::caution, packed(ui.theme.caution), width);
        else
            strong("With: " + printable(choice->words));
    }
    if (ticks.turn.in_place < int(tightening->items.size()))
        framed(ui,
               fmt::format("{} of {} are in their places: all are started before the first is tight.",
                           ticks.turn.in_place, tightening->items.size()),
               Mark::caution, packed(ui.theme.caution), width);
    space(ui.sizes.pad);
}

void write_turn_words(Ui& ui, const Ticks& ticks, float width) {
    const Tightening* tightening = ticks.turning;
    if (tightening == nullptr)
        return;
    const auto soft = [&](const std::string& text) { paragraph(text, packed(ui.theme.text), ui.fonts.text, width); };
    for (const std::string& words : tightening->words)
        soft(words);
    if (ticks.all.size() > 1 && !tightening->order_words.empty())
        soft("Order: " + tightening->order_words);
    if (!tightening->rounds_words.empty())
        soft(tightening->rounds_words);
    space(ui.sizes.pad);
}

/// A castle nut ends at a slot, at a torque that nobody can work out: it is asked for.
static void write_slot(Ui& ui, View& view, Desk& desk, const Ticks& ticks, float width) {
    const ItemId nut = ticks.turning != nullptr ? ticks.turn.next : ItemId{};
    if (!nut || view.session->map.fastener(nut).kind != FastenerKind::castle_nut ||
        ticks.turn.round + 1 < rounds_of(*ticks.turning))
        return;
    // Not the same as a reading: an item's sheet beside the card has its reading there, and would empty this one.
    std::string& reading = desk.slot_reading;
    if (std::exchange(desk.slot_of, nut) != nut)
        reading.clear();
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    bool entered = text_field(ui, desk, "slot.field", "at what torque in its slot? 72 N·m",
                              flow.next(width, ui.sizes.target, ui.sizes.gap), reading);
    const bool good = !reading.empty() && read_torque(reading).has_value();
    const char* label = "In its slot at this";
    entered =
        button(ui, "slot.enter", label, flow.next(std::min(width, width_of(ui, label)), ui.sizes.target, ui.sizes.gap),
               {.enabled = good}) ||
        entered;
    settle(ui, from, flow);
    space(ui.sizes.pad);
    if (!entered || !good)
        return;
    enter_slot(view, std::exchange(reading, {}));
}

void write_ticks(Ui& ui, View& view, Desk& desk, const Ticks& ticks, float width) {
    write_slot(ui, view, desk, ticks, width);
    const bool any_done =
        std::any_of(ticks.all.begin(), ticks.all.end(), [](const Tick& tick) { return tick.is != Tick::Is::open; });
    if (ticks.all.empty() || !ticks.all.front().item || (ticks.all.size() == 1 && !any_done))
        return;
    const Map& map = view.session->map;
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    ItemId tapped;
    for (const Tick& tick : ticks.all) {
        const std::string label = std::to_string(tick.number);
        const float w = std::max(width_of(ui, label, {.mark = Mark::done}), ui.sizes.target);
        const bool pressed = button(
            ui, "tick." + map[tick.item].name, label, flow.next(std::min(w, width), ui.sizes.target, ui.sizes.gap),
            {.mark = tick.is == Tick::Is::open && is_damaged_in_place(view, tick.item) ? Mark::doubt : mark_of(tick.is),
             .on = tick.is == Tick::Is::next || view.picked == tick.item,
             .role = "switch"});
        const bool mine = ImGui::IsItemActive() || pressed;
        if (mine && !desk.hold_taken && !ui.swiped && held_long()) {
            desk.hold_taken = true;
            pick_item(view, tick.item);
        } else if (ImGui::IsItemHovered() && ImGui::IsMouseReleased(ImGuiMouseButton_Right)) {
            pick_item(view, tick.item);
        }
        if (pressed && !desk.hold_taken)
            tapped = tick.item;
    }
    settle(ui, from, flow);
    if (ticks.turning != nullptr && ticks.open > 1) {
        const std::string label = fmt::format("All {} of this pass", ticks.open);
        const ImVec2 at = ImGui::GetCursorScreenPos();
        if (button(ui, "tick.round", label, {at.x, at.y, std::min(width, width_of(ui, label)), ui.sizes.target}))
            enter_round(view);
        ImGui::SetCursorScreenPos(at);
        take_room(width, ui.sizes.target + ui.sizes.pad);
    }
    if (ticks.all.size() > 1) {
        paragraph("Tap: done, or not. Hold: what happened.", packed(ui.theme.text_soft), ui.fonts.text, width);
        if (const std::string later =
                numbered_for_later(plan_of(view).steps[view.at].verb, ticks.all, view.session->turns);
            !later.empty())
            paragraph(later, packed(ui.theme.text_soft), ui.fonts.text, width);
        space(ui.sizes.pad);
    }
    if (tapped)
        tap(view, tapped);
}

void draw_numbers(Ui& ui, const std::vector<StepNumber>& numbers, const Box& box) {
    ImDrawList* list = ImGui::GetWindowDrawList();
    const float line = std::max(1.5F, ui.sizes.line);
    for (const StepNumber& one : numbers) {
        if (one.opacity <= 0)
            continue;
        const auto tint = [&](ImU32 whole) { return faded(whole, float(one.opacity)); };
        const ImVec2 at{box.x + float(one.at.x), box.y + float(one.at.y)},
            head{box.x + float(one.head.x), box.y + float(one.head.y)};
        const auto r = float(one.radius);
        const Tick::Is is = one.tick.is;
        const bool next = is == Tick::Is::next;
        const ImU32 ink = tint(packed(next ? ui.theme.action_text : ui.theme.text)),
                    fill = tint(packed(next ? ui.theme.action : ui.theme.label)),
                    rim = tint(packed(is == Tick::Is::done ? ui.theme.done : ui.theme.label_edge));
        list->AddLine(head, at, tint(packed(ui.theme.label_edge)), line);
        list->AddCircleFilled(at, r, fill, 24);
        list->AddCircle(at, r, rim, 24, is == Tick::Is::done ? line * 2 : line);
        figure_in(list, std::to_string(one.tick.number), at, r, ink, ui.fonts.strong);
        if (is == Tick::Is::done || is == Tick::Is::left) { // a sign of its own at the rim
            const float s = r * 1.1F;
            const ImVec2 sign{at.x + r * 0.45F, at.y + r * 0.35F};
            list->AddCircleFilled({sign.x + s * 0.5F, sign.y + s * 0.5F}, s * 0.72F, tint(packed(ui.theme.label)), 16);
            draw_mark(list, is == Tick::Is::done ? Mark::done : Mark::doubt, {sign.x, sign.y, s, s},
                      tint(packed(is == Tick::Is::done ? ui.theme.done : ui.theme.doubt)), line * 1.5F,
                      tint(packed(ui.theme.label)));
        }
    }
}

} // namespace boltwalk
