// Typing, and opening a file by its path: what a window does in its own way and a web page in another (viewer/web).
#include <algorithm>

#include "viewer/panels/marking_room.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

bool text_field(Ui& ui, Desk& desk, std::string_view id, const char* hint, const Box& box, std::string& text) {
    const float size = ImGui::GetFontSize();
    ImGui::SetCursorScreenPos({box.x, box.y});
    ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {ui.sizes.pad, std::max(0.0F, (box.h - size) * 0.5F)});
    ImGui::PushStyleVar(ImGuiStyleVar_FrameBorderSize, ui.sizes.line);
    ImGui::PushStyleVar(ImGuiStyleVar_FrameRounding, 3);
    ImGui::PushStyleColor(ImGuiCol_FrameBg, packed(ui.theme.button));
    ImGui::PushStyleColor(ImGuiCol_Border, packed(ui.theme.panel_edge));
    ImGui::PushStyleColor(ImGuiCol_Text, packed(ui.theme.text));
    ImGui::PushStyleColor(ImGuiCol_TextDisabled, packed(ui.theme.text_soft));
    ImGui::PushStyleColor(ImGuiCol_TextSelectedBg, packed(ui.theme.row));
    ImGui::SetNextItemWidth(box.w);
    const bool wanted = desk.field_asked || (ui.focus == id && ui.keys.enter && !desk.field_active);
    if (wanted) {
        // The window first: Dear ImGui 1.90.1 looks for what is asked for in the window that has the keyboard only, and
        // a panel is a window of its own within ours.
        ImGui::SetWindowFocus();
        ImGui::SetKeyboardFocusHere();
        desk.field_asked = false;
    }
    ImGui::PushID(id.data(), id.data() + id.size());
    std::vector<char> letters(512, '\0');
    std::copy_n(text.begin(), std::min(text.size(), letters.size() - 1), letters.begin());
    const bool entered =
        ImGui::InputTextWithHint("##t", hint, letters.data(), letters.size(), ImGuiInputTextFlags_EnterReturnsTrue);
    text = letters.data();
    const bool active = ImGui::IsItemActive();
    desk.field_active = desk.field_active || active;
    ImGui::PopID();
    ImGui::PopStyleColor(5);
    ImGui::PopStyleVar(3);
    if (active)
        ui.focus = id;
    if (ui.focus == id)
        ImGui::GetWindowDrawList()->AddRect({box.x, box.y}, {box.right(), box.bottom()}, packed(ui.theme.text), 3, 0,
                                            std::max(2.0F, ui.sizes.line * 2));
    enter(ui, id, text, "field", box).on = active;
    return entered;
}

const char* how_to_open() {
    return "Drop a file on this window, or type its path here:";
}

void draw_open_row(Ui& ui, View& view, Desk& desk, const Box& box) {
    const float open_width = width_of(ui, "Open", {.look = Rank::main});
    const Box typed{box.x, box.y, box.w - open_width - ui.sizes.gap, box.h};
    const bool entered = text_field(ui, desk, "path.field", "path of a .glb or .gltf file", typed, view.wanted);
    const Box press{typed.right() + ui.sizes.gap, typed.y, open_width, box.h};
    const bool pressed = button(ui, "path.open", "Open", press, {.look = Rank::main, .enabled = !view.wanted.empty()});
    if ((entered || pressed) && !view.wanted.empty())
        open(view, view.wanted);
}

void name_tools(Ui& ui, float width) {
    paragraph(
        "Drop a text file of your tools on this window, one a line (\"torque wrench 20..100 N·m\"), or start with "
        "--wrenches FILE.",
        packed(ui.theme.text_soft), ui.fonts.text, width);
}

const char* how_to_add_photo() {
    return "Drop a JPEG or PNG file on this window, or name it. Its place, date and camera are left out.";
}

bool photo_field(Window& window, std::string& typed, float width, std::string& path) {
    Ui& ui = window.ui;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float h = ui.sizes.target, w = width_of(ui, "Add");
    const Box field{at.x, at.y, width - w - ui.sizes.gap, h};
    const bool entered = text_field(ui, window.desk, "mark.photo.path", "path of a picture", field, typed);
    const bool pressed =
        button(ui, "mark.photo.add", "Add", {at.x + width - w, at.y, w, h}, {.enabled = !typed.empty()});
    ImGui::SetCursorScreenPos(at);
    take_room(width, h + ui.sizes.gap);
    path = typed;
    return (entered || pressed) && !typed.empty();
}

} // namespace boltwalk
