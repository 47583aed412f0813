// One key of what is picked: its field, what is wrong with what is typed, what may be chosen.
#include <algorithm>
#include <utility>

#include <fmt/format.h>

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
    const float h = ui.sizes.target, icon = ui.sizes.icon;
    const std::vector<std::string> offers =
        marking.offering == id || room.typing == id ? offers_for(marking, id) : std::vector<std::string>{};
    const Box field{at.x, at.y, width - icon - ui.sizes.gap, h};
    const std::string before = text;
    const bool entered = text_field(ui, window.desk, "mark.key." + name, std::string(hint_of(id)).c_str(), field, text);
    const bool active = ui.book.back().on;
    if (button(ui, "mark.offers." + name, "", {field.right() + ui.sizes.gap, at.y, icon, h},
               {.mark = marking.offering == id ? Mark::up : Mark::down, .on = marking.offering == id})) {
        marking.offering = marking.offering == id ? KeyId::id : id;
        room.offering_nodes = marking.picked;
    }
    ImGui::SetCursorScreenPos(at);
    ImGui::Dummy({width, h + ui.sizes.gap});
    if (active) {
        if (room.typing != id)
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
            framed(ui, printable(finding.what), mark_of(finding.weight), colour_of(ui, finding.weight), width);
            if (!finding.remedy.empty())
                paragraph(printable(finding.remedy), packed(ui.theme.text), ui.fonts.text, width);
        }
    // What is wrong is brought into sight: it stands below the field.
    const float below = ImGui::GetCursorScreenPos().y - ImGui::GetWindowPos().y - ImGui::GetWindowHeight();
    if (active && !marking.typed.empty() && below > 0) {
        room.form.want = room.form.at + below;
        window.settle = SETTLE_FRAMES;
    }
    if (marking.offering != id)
        return;
    if (offers.empty())
        paragraph("Nothing to choose from: type it.", packed(ui.theme.text), ui.fonts.text, width);
    std::string chosen;
    buttons(ui, width, [&](const auto& put) {
        for (const std::string& offer : offers)
            if (put(fmt::format("mark.offer.{}.{}", name, offer), printable(label_of_offer(marking, id, offer)),
                    {.on = offer == text}))
                chosen = offer;
    });
    if (!chosen.empty()) {
        // Names and states are lists: another one is added to what stands there.
        const bool adds = names_items(id) && !text.empty() && text.find(chosen) == std::string::npos;
        marking.offering = adds || names_items(id) ? id : KeyId::id;
        set_value(marking, id, adds ? text + "; " + chosen : chosen);
        window.settle = SETTLE_FRAMES;
    }
}

} // namespace boltwalk
