// One key of what is picked: its field, what is wrong with what is typed, what may be chosen.
#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/marking_room.hpp"

namespace boltwalk {

void draw_mark_key(Window& window, KeyId id, float width) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    const std::string name(key_of(id).name);
    bool differ = false;
    value_of(marking, id, &differ);
    std::string& text = room.texts[std::size_t(id)];
    paragraph(differ ? name + "  (several values)" : name, packed(ui.theme.text_soft), ui.fonts.text, width);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    // Turns the form so far that what was drawn last is in sight, and the field still is.
    const auto into_sight = [&] {
        const float top = ImGui::GetWindowPos().y;
        const float by =
            std::min(ImGui::GetCursorScreenPos().y - top - ImGui::GetWindowHeight(), at.y - ui.sizes.text * 1.5F - top);
        if (by > 0) {
            room.form.want = room.form.at + by;
            window.settle = SETTLE_FRAMES;
        }
    };
    const float h = ui.sizes.target, icon = ui.sizes.icon;
    const Box field{at.x, at.y, width - icon - ui.sizes.gap, h};
    const std::string before = text;
    const bool entered = text_field(ui, window.desk, "mark.key." + name, std::string(hint_of(id)).c_str(), field, text);
    const bool active = ui.book.back().on;
    bool opened = false;
    if (button(ui, "mark.offers." + name, "", {field.right() + ui.sizes.gap, at.y, icon, h},
               {.mark = marking.offering == id ? Mark::up : Mark::down, .on = marking.offering == id})) {
        opened = marking.offering != id;
        marking.offering = opened ? id : KeyId::id;
        room.offering_nodes = marking.picked;
    }
    ImGui::SetCursorScreenPos(at);
    take_room(width, h + ui.sizes.gap);
    const bool begins = active && room.typing != id;
    if (active) {
        if (begins)
            room.typing_nodes = marking.picked;
        room.typing = room.explained = id;
        room.explained_of = marking.picked;
        if (text != before || marking.typed_for.empty())
            try_value(marking, id, text);
    }
    const bool left = room.typing == id && !active;
    if (entered || left) {
        room.typing = KeyId::id;
        marking.typed.clear();
        marking.typed_for.clear();
        set_value(marking, id, text);
        window.settle = SETTLE_FRAMES;
        return;
    }
    // It stays when the keyboard goes elsewhere: a button below must not move away under the finger.
    if (room.explained == id && marking.picked == room.explained_of) {
        paragraph(meaning_for(marking, id), packed(ui.theme.text_soft), ui.fonts.text, width);
        space(ui.sizes.pad);
    }
    if (active)
        for (const Finding& finding : marking.typed) {
            framed(ui, on_screen(finding.what), mark_of(finding.weight), colour_of(ui, finding.weight), width);
            if (const std::string remedy = remedy_here(marking, finding); !remedy.empty())
                paragraph(on_screen(remedy), packed(ui.theme.text), ui.fonts.text, width);
        }
    // What it means, and what is wrong, stand below the field.
    if (begins || (active && !marking.typed.empty()))
        into_sight();
    if (marking.offering != id)
        return;
    const std::vector<std::string> offers = offers_for(marking, id);
    if (offers.empty())
        paragraph("Nothing to choose from: type it.", packed(ui.theme.text), ui.fonts.text, width);
    std::string chosen;
    buttons(ui, width, [&](const auto& put) {
        for (const std::string& offer : offers)
            if (put(fmt::format("mark.offer.{}.{}", name, offer), printable(label_of_offer(marking, id, offer)),
                    {.on = offer == text}))
                chosen = offer;
    });
    if (opened)
        into_sight();
    if (!chosen.empty()) {
        // Names and states are lists: another one is added to what stands there.
        const bool adds = names_items(id) && !text.empty() && text.find(chosen) == std::string::npos;
        marking.offering = adds || names_items(id) ? id : KeyId::id;
        set_value(marking, id, adds ? text + "; " + chosen : chosen);
        window.settle = SETTLE_FRAMES;
    }
}

} // namespace boltwalk
