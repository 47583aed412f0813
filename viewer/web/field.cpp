#include "viewer/web/field.hpp"

#include <emscripten.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "viewer/panels/marking_room.hpp"
#include "viewer/panels/panels.hpp"

// clang-format off
EM_JS(void, page_field, (const char* text, const char* hint, float x, float y, float w, float h, float size), {
    Module.page.field(UTF8ToString(text), UTF8ToString(hint), x, y, w, h, size);
});
EM_JS(void, page_field_at, (float x, float y, float w, float h, float above, float below), { Module.page.fieldAt(x, y, w, h, above, below); });
EM_JS(void, page_field_gone, (), { Module.page.fieldGone(); });
EM_JS(void, page_choose, (), { Module.page.choose(); });
EM_JS(void, page_choose_photo, (), { Module.page.choosePhoto(); });
EM_JS(void, page_fetch, (int which), { Module.page.fetchMap(which); });
// clang-format on

namespace boltwalk {

namespace {

/// The one field that is typed into.
struct Typing {
    std::string id, text; ///< id empty: none is
    bool entered = false, drawn = false;
};
Typing typing;
std::vector<std::string> offered; ///< maps that came with the page, by name

} // namespace

bool text_field(Ui& ui, Desk& desk, std::string_view id, const char* hint, const Box& box, std::string& text) {
    const bool wanted = desk.field_asked;
    desk.field_asked = false;
    const bool mine = typing.id == id;
    const bool pressed = button(ui, id, text.empty() ? hint : text, box, {.on = mine, .role = "field"});
    if ((pressed || wanted) && !mine) {
        typing = {std::string(id), text, false, true};
        page_field(text.c_str(), hint, box.x, box.y, box.w, box.h, ImGui::GetFontSize());
        desk.field_active = true;
        return false;
    }
    desk.field_active = desk.field_active || mine;
    if (!mine)
        return false;
    typing.drawn = true;
    // The browser's own lies over everything: what of it is scrolled out of sight is cut off.
    const ImDrawList& list = *ImGui::GetWindowDrawList();
    page_field_at(box.x, box.y, box.w, box.h, std::max(0.0F, list.GetClipRectMin().y - box.y),
                  std::max(0.0F, box.bottom() - list.GetClipRectMax().y));
    text = typing.text;
    return std::exchange(typing.entered, false);
}

void close_field_if_gone() {
    if (!typing.id.empty() && !typing.drawn) {
        typing = {};
        page_field_gone();
    }
    typing.drawn = false;
}

const char* how_to_open() {
    return offered.empty() ? "Drop a file on this page, or choose one:"
                           : "Drop a file on this page, choose one, or look at one that came with it:";
}

void name_tools(Ui& ui, float width) {
    paragraph("A text file of your tools, one a line: \"torque wrench 20..100 N·m\".", packed(ui.theme.text_soft),
              ui.fonts.text, width);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const char* const label = "Choose a list";
    if (button(ui, "tools.choose", label, {at.x, at.y, std::min(width, width_of(ui, label)), ui.sizes.target}))
        page_choose();
    ImGui::SetCursorScreenPos(at);
    ImGui::Dummy({width, ui.sizes.target + ui.sizes.gap});
}

const char* how_to_add_photo() {
    return "From this device: a file, or its camera. Place, date and camera are left out.";
}

bool photo_field(Window& window, std::string&, float width, std::string& path) {
    Ui& ui = window.ui;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float h = ui.sizes.target;
    if (button(ui, "mark.photo.choose", "Take or choose one",
               {at.x, at.y, std::min(width, width_of(ui, "Take or choose one")), h}))
        page_choose_photo();
    ImGui::SetCursorScreenPos(at);
    ImGui::Dummy({width, h + ui.sizes.gap});
    path.clear();
    return false; // it comes by page_photo
}

void draw_open_row(Ui& ui, View&, Desk& desk, const Box& box) {
    desk.field_asked = false; // a path is nothing that a page could open
    Flow flow(box);
    const auto put = [&](const std::string& id, const std::string& label, Rank rank) {
        return button(ui, id, label, flow.next(width_of(ui, label, {.look = rank}), box.h, ui.sizes.gap),
                      {.look = rank});
    };
    if (put("file.choose", "Choose a file", Rank::main))
        page_choose();
    for (std::size_t i = 0; i < offered.size(); ++i)
        if (put("file.offered." + std::to_string(i), offered[i], Rank::plain))
            page_fetch(int(i));
}

} // namespace boltwalk

extern "C" {

EMSCRIPTEN_KEEPALIVE void page_typed(const char* text, int entered) {
    boltwalk::typing.text = text;
    boltwalk::typing.entered = entered != 0;
}

/// The browser took the keyboard elsewhere.
EMSCRIPTEN_KEEPALIVE void page_typed_out() {
    boltwalk::typing = {};
}

EMSCRIPTEN_KEEPALIVE void page_offer(const char* name) {
    boltwalk::offered.emplace_back(name);
}
}
