#include "viewer/panels/controls.hpp"

#include <algorithm>
#include <cmath>

namespace boltwalk {

namespace {

constexpr float CORNER = 3;

ImVec2 corner(const Box& box) {
    return {box.x, box.y};
}
ImVec2 far_corner(const Box& box) {
    return {box.right(), box.bottom()};
}

float width_in(ImFont* font, float size, std::string_view text) {
    return font->CalcTextSizeA(size, FLT_MAX, 0, text.data(), text.data() + text.size()).x;
}

void focus_frame(const Ui& ui, const Box& box) {
    const float t = std::max(2.0F, ui.sizes.line * 2);
    const Box inner = box.inset(t * 0.5F);
    ImGui::GetWindowDrawList()->AddRect(corner(inner), far_corner(inner), packed(ui.theme.text), CORNER, 0, t);
}

} // namespace

Control& enter(Ui& ui, std::string_view id, std::string_view label, std::string_view role, const Box& box) {
    const ImVec2 low = ImGui::GetWindowDrawList()->GetClipRectMin(),
                 high = ImGui::GetWindowDrawList()->GetClipRectMax();
    Control control;
    control.id = id;
    control.label = label;
    control.role = role;
    control.box.x = std::max(box.x, low.x);
    control.box.y = std::max(box.y, low.y);
    control.box.w = std::min(box.right(), high.x) - control.box.x;
    control.box.h = std::min(box.bottom(), high.y) - control.box.y;
    control.whole = box;
    control.cut = control.box.w < box.w - 1 || control.box.h < box.h - 1;
    ui.book.push_back(std::move(control));
    return ui.book.back();
}

void Ui::begin_frame() {
    book.clear();
    areas.clear();
    focus_moved = false;
    if (!ImGui::IsMouseDown(ImGuiMouseButton_Left) && !ImGui::IsMouseReleased(ImGuiMouseButton_Left))
        swiped = slid = false;
}

void Ui::end_frame() {
    if (keys.move != 0) {
        std::vector<const Control*> stops;
        for (const Control& control : book)
            if (control.enabled && control.role != "slider" && control.role != "progress")
                stops.push_back(&control);
        if (!stops.empty()) {
            const auto at = std::find_if(stops.begin(), stops.end(), [&](const Control* c) { return c->id == focus; });
            const auto count = std::ptrdiff_t(stops.size());
            std::ptrdiff_t next = keys.move > 0 ? 0 : count - 1;
            if (at != stops.end())
                next = (at - stops.begin() + keys.move + count) % count;
            focus = stops[std::size_t(next)]->id;
            focus_moved = true;
        }
    }
    keys = {};
}

bool text_in(const Ui& ui, std::string_view text, const Box& box, float align, ImU32 colour, ImFont* font) {
    float size = font->FontSize * ImGui::GetIO().FontGlobalScale;
    const float least = ui.fonts.text->FontSize * ImGui::GetIO().FontGlobalScale;
    float width = width_in(font, size, text);
    if (width > box.w && size > least) {
        size = std::max(least, std::floor(size * box.w / width));
        width = width_in(font, size, text);
    }
    std::string shown(text);
    bool fits = true;
    if (width > box.w + 0.5F) {
        fits = false;
        while (!shown.empty() && width_in(font, size, shown + "\u2026") > box.w) {
            do
                shown.pop_back();
            while (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xC0U) == 0x80U);
            if (!shown.empty() && static_cast<unsigned char>(shown.back()) >= 0xC0U)
                shown.pop_back();
        }
        shown += "\u2026";
        width = width_in(font, size, shown);
    }
    const ImVec2 at{std::round(box.x + std::max(0.0F, box.w - width) * align),
                    std::round(box.y + (box.h - size) * 0.5F)};
    ImGui::GetWindowDrawList()->AddText(font, size, at, colour, shown.data(), shown.data() + shown.size());
    return fits;
}

float width_of(const Ui& ui, std::string_view label, const Style& style) {
    const float size = ui.fonts.strong->FontSize * ImGui::GetIO().FontGlobalScale;
    float width = label.empty() ? 0 : width_in(ui.fonts.strong, size, label) + 2 * ui.sizes.pad;
    if (style.mark != Mark::none)
        width += label.empty() ? ui.sizes.icon : size + ui.sizes.pad * 0.6F;
    if (!style.badge.empty())
        width += width_in(ui.fonts.strong, size, style.badge) + size * 0.6F + ui.sizes.pad * 0.6F;
    return std::ceil(std::max(width, ui.sizes.icon));
}

bool button(Ui& ui, std::string_view id, std::string_view label, const Box& box, const Style& style) {
    if (box.empty())
        return false;
    const std::string key(id);
    ImGui::SetCursorScreenPos(corner(box));
    ImGui::PushID(key.c_str());
    const bool clicked = ImGui::InvisibleButton("b", {box.w, box.h}) && style.enabled && !ui.swiped;
    const bool over = ImGui::IsItemHovered() && style.enabled;
    const bool held = ImGui::IsItemActive() && style.enabled && !ui.swiped;
    ImGui::PopID();

    const bool focused = ui.focus == id;
    if (clicked)
        ui.focus = key;
    if (focused && ui.focus_moved)
        ImGui::SetScrollHereY(0.5F);

    ImDrawList* list = ImGui::GetWindowDrawList();
    const bool flat = style.look == Rank::row || style.look == Rank::bare;
    ImU32 back = flat || !style.enabled ? 0 : packed(ui.theme.button), ink = packed(ui.theme.text);
    if (style.look == Rank::main && style.enabled) {
        back = packed(over ? ui.theme.action_over : ui.theme.action);
        ink = packed(ui.theme.action_text);
    } else if (style.look != Rank::bare) {
        if (style.on)
            back = packed(ui.theme.row);
        else if (held)
            back = packed(ui.theme.button_down);
        else if (over)
            back = packed(ui.theme.button_over);
    }
    // A disabled control keeps its letters legible and loses its ground.
    if (!style.enabled)
        ink = packed(ui.theme.text_soft);
    if (back != 0)
        list->AddRectFilled(corner(box), far_corner(box), back, CORNER);
    if (!flat || over)
        list->AddRect(corner(box), far_corner(box), packed(ui.theme.panel_edge), CORNER, 0, ui.sizes.line);
    if (held && style.look == Rank::main) {
        const Box inner = box.inset(ui.sizes.line * 2);
        list->AddRect(corner(inner), far_corner(inner), ink, CORNER, 0, ui.sizes.line * 2);
    }
    if (style.on && !flat) // a bar at the foot: what is chosen is told by shape too
        list->AddRectFilled({box.x, box.bottom() - std::max(3.0F, ui.sizes.line * 3)}, far_corner(box),
                            packed(ui.theme.accent), 0);

    const float size = ui.fonts.strong->FontSize * ImGui::GetIO().FontGlobalScale;
    const float pad = ui.sizes.pad;
    const float mark = label.empty() ? std::min(box.h, box.w) * 0.5F : size * 0.8F;
    const float words = label.empty() ? 0 : width_in(ui.fonts.strong, size, label);
    const float badge = style.badge.empty() ? 0 : width_in(ui.fonts.strong, size, style.badge) + size * 0.6F;
    const float between = pad * 0.6F;
    float whole = words + badge + (badge > 0 ? between : 0);
    if (style.mark != Mark::none)
        whole += mark + (label.empty() ? 0 : between);
    const float room = box.w - (label.empty() ? 0 : pad);
    float x = box.x + std::max((box.w - whole) * 0.5F, label.empty() ? 0.0F : pad * 0.5F);
    const auto put_mark = [&] {
        if (style.mark == Mark::none)
            return;
        draw_mark(list, style.mark, {x, box.y + (box.h - mark) * 0.5F, mark, mark}, ink, std::max(1.5F, mark * 0.1F),
                  back);
        x += mark + between;
    };
    bool fits = whole <= room + 1;
    if (!style.mark_after)
        put_mark();
    if (!label.empty()) {
        const float left = box.right() - pad * 0.5F - x - (badge > 0 ? badge + between : 0) -
                           (style.mark_after && style.mark != Mark::none ? mark + between : 0);
        fits = text_in(ui, label, {x, box.y, left, box.h}, 0, ink, ui.fonts.strong) && fits;
        x += std::min(words, left) + between;
    }
    if (style.mark_after)
        put_mark();
    if (badge > 0) {
        const Box frame{x, box.y + (box.h - size * 1.15F) * 0.5F, badge, size * 1.15F};
        list->AddRect(corner(frame), far_corner(frame), ink, frame.h * 0.5F, 0, ui.sizes.line);
        text_in(ui, style.badge, frame, 0.5F, ink, ui.fonts.strong);
    }
    if (focused)
        focus_frame(ui, box);

    Control& control = enter(ui, id, label, style.role, box);
    control.enabled = style.enabled;
    control.on = style.on;
    control.tight = !fits;
    return clicked || (focused && style.enabled && ui.keys.enter);
}

void progress_bar(Ui& ui, std::string_view id, std::string_view words, const Box& box, float share) {
    const float bar = std::round(std::min(box.h * 0.3F, ui.sizes.text));
    const Box trough{box.x, box.bottom() - bar, box.w, bar};
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled(corner(trough), {trough.x + trough.w * std::clamp(share, 0.0F, 1.0F), trough.bottom()},
                        packed(ui.theme.accent), 2);
    list->AddRect(corner(trough), far_corner(trough), packed(ui.theme.text), 2, 0, ui.sizes.line);
    const bool fits = text_in(ui, words, {box.x, box.y, box.w, box.h - bar}, 0, packed(ui.theme.text), ui.fonts.text);
    enter(ui, id, words, "progress", box).tight = !fits;
}

double slider(Ui& ui, std::string_view id, std::string_view label, const Box& box, double value) {
    const std::string key(id);
    const float knob = ui.sizes.text * 0.4F, run = box.w - 2 * knob;
    ImGui::SetCursorScreenPos(corner(box));
    ImGui::InvisibleButton(key.c_str(), {box.w, box.h});
    ui.slid = ui.slid || ImGui::IsItemActive();
    if (ImGui::IsItemActive() && run > 0)
        value = std::clamp(double((ImGui::GetMousePos().x - box.x - knob) / run), 0.0, 1.0);
    ImDrawList* list = ImGui::GetWindowDrawList();
    const float y = box.y + box.h * 0.5F, at = box.x + knob + float(value) * run;
    const ImU32 ink = packed(ui.theme.text);
    list->AddLine({box.x, y}, {box.right(), y}, packed(ui.theme.panel_edge), ui.sizes.line * 2);
    list->AddLine({box.x, y}, {at, y}, ink, ui.sizes.line * 3);
    list->AddRectFilled({at - knob * 0.6F, y - knob * 1.25F}, {at + knob * 0.6F, y + knob * 1.25F}, ink, 2);
    enter(ui, id, label, "slider", box);
    return value;
}

namespace {

/// A press that began in the area and is drawn up or down turns it, as paper under a finger. Common practice, no
/// source.
void turn_by_swipe(Ui& ui, const Box& seen) {
    const ImGuiIO& io = ImGui::GetIO();
    const ImVec2 from = io.MouseClickedPos[0];
    if (!ImGui::IsMouseDown(ImGuiMouseButton_Left) || ui.slid || !seen.holds(from.x, from.y) ||
        !ImGui::IsMousePosValid(&io.MousePos))
        return;
    const float down = io.MousePos.y - from.y, across = io.MousePos.x - from.x;
    if (!ui.swiped && std::abs(down) > std::max(ui.sizes.text * 0.6F, std::abs(across)))
        ui.swiped = true;
    if (ui.swiped)
        ImGui::SetScrollY(std::clamp(ImGui::GetScrollY() - io.MouseDelta.y, 0.0F, ImGui::GetScrollMaxY()));
}

} // namespace

float begin_scroll(Ui& ui, std::string_view id, const Box& box, Scroll& scroll) {
    const std::string key(id);
    ui.areas.push_back(box);
    scroll.first = ui.book.size();
    const float words =
        std::max(width_of(ui, "Earlier", {.mark = Mark::up}), width_of(ui, "More", {.mark = Mark::down}));
    scroll.turning = turning_in(box, ui.sizes, words);
    // As wide whether it is turned or not: else it could be long when it is wide and short when it is narrow, for ever.
    const float width = scroll.turning.seen.w;
    scroll.is_long = scroll.contents > box.h + 1;
    const Box seen = scroll.is_long ? scroll.turning.seen : Box{box.x, box.y, width, box.h};
    ImGui::SetCursorScreenPos(corner(seen));
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
    ImGui::BeginChild(key.c_str(), {seen.w, seen.h}, false,
                      ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoNav | ImGuiWindowFlags_NoBackground);
    ImGui::PopStyleVar();
    if (scroll.want >= 0) {
        ImGui::SetScrollY(scroll.want);
        scroll.want = -1;
    }
    if (scroll.is_long)
        turn_by_swipe(ui, seen);
    return width;
}

void end_scroll(Ui& ui, std::string_view id, Scroll& scroll) {
    scroll.contents = ImGui::GetCursorPosY();
    scroll.at = scroll.next_at = ImGui::GetScrollY();
    scroll.most = ImGui::GetScrollMaxY();
    ImGui::EndChild();
    if (!scroll.is_long)
        return;
    const auto& [seen, earlier, more] = scroll.turning;
    std::vector<Extent> controls;
    for (auto control = ui.book.begin() + std::ptrdiff_t(scroll.first); control != ui.book.end(); ++control) {
        const float top = control->whole.y - seen.y + scroll.at;
        controls.push_back({top, top + control->whole.h});
    }
    const float gap = ui.sizes.gap;
    scroll.next_at = std::min(scroll.most, turned_on(scroll.at, seen.h, gap, controls));
    const std::string key(id);
    const auto words = [&](std::string_view word, const Box& place, Mark mark) {
        return place.w >= width_of(ui, word, {.mark = mark}) && place.h > ui.sizes.text * 1.4F ? word : "";
    };
    if (button(ui, key + ".earlier", words("Earlier", earlier, Mark::up), earlier,
               {.mark = Mark::up, .enabled = scroll.at > 1}))
        scroll.want = std::max(0.0F, turned_back(scroll.at, seen.h, gap, controls));
    if (button(ui, key + ".more", words("More", more, Mark::down), more,
               {.mark = Mark::down, .enabled = scroll.at < scroll.most - 1}))
        scroll.want = scroll.next_at;
}

/// Broken at spaces only: Dear ImGui breaks behind a closing quote too, and sets a comma at the next line's head.
std::string broken(std::string_view text, ImFont* font, float width) {
    constexpr std::string_view DOT = "\u00b7";
    const float size = font->FontSize * ImGui::GetIO().FontGlobalScale;
    std::string result;
    float used = 0;
    const float gap = width_in(font, size, " ");
    std::size_t from = 0;
    while (from < text.size()) {
        const std::size_t end = std::min(text.find_first_of(" \n", from), text.size());
        const std::string_view word = text.substr(from, end - from);
        const float wide = width_in(font, size, word);
        const bool parts = word == DOT; // what only parts two things is not said where a line does
        if (used > 0 && used + gap + wide > width) {
            if (result.ends_with(DOT))
                result.resize(result.size() - DOT.size() - 1);
            result += '\n';
            used = 0;
        } else if (from > 0 && (result.empty() || result.back() != '\n')) {
            result += ' ';
            used += gap;
        }
        if (!parts || used > 0) {
            result += word;
            used += wide;
        }
        if (end < text.size() && text[end] == '\n') {
            result += '\n';
            used = 0;
        }
        from = end + 1;
    }
    return result;
}

void framed(const Ui& ui, const std::string& text, Mark mark, ImU32 colour, float width) {
    const float pad = ui.sizes.pad, size = ui.fonts.strong->FontSize * ImGui::GetIO().FontGlobalScale,
                sign = size * 1.1F;
    const float edge = std::max(4.0F, ui.sizes.line * 3);
    const float inner = width - edge - 3 * pad - sign;
    const float height = std::ceil(std::max(height_of(text, ui.fonts.strong, inner), sign) + 1.4F * pad);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled(at, {at.x + edge, at.y + height}, colour);
    list->AddRect(at, {at.x + width, at.y + height}, colour, 0, 0, ui.sizes.line);
    draw_mark(list, mark, {at.x + edge + pad, at.y + 0.7F * pad + (size - sign) * 0.5F, sign, sign}, colour,
              ui.sizes.line * 1.5F, packed(ui.theme.panel));
    const std::string lines = broken(text, ui.fonts.strong, inner);
    list->AddText(ui.fonts.strong, size, {at.x + edge + 2 * pad + sign, at.y + 0.7F * pad}, packed(ui.theme.text),
                  lines.c_str(), lines.c_str() + lines.size(), inner + 1);
    take_room(width, height);
    space(pad * 0.8F);
}

void paragraph(std::string_view text, ImU32 colour, ImFont* font, float width) {
    const float size = font->FontSize * ImGui::GetIO().FontGlobalScale;
    const std::string lines = broken(text, font, width);
    const char *from = lines.data(), *to = from + lines.size();
    const float wrap = width + 1; // a word that is wider than the line
    ImGui::GetWindowDrawList()->AddText(font, size, ImGui::GetCursorScreenPos(), colour, from, to, wrap);
    take_room(width, font->CalcTextSizeA(size, FLT_MAX, wrap, from, to).y);
}

float height_of(std::string_view text, ImFont* font, float width) {
    const std::string lines = broken(text, font, width);
    return font
        ->CalcTextSizeA(font->FontSize * ImGui::GetIO().FontGlobalScale, FLT_MAX, width + 1, lines.data(),
                        lines.data() + lines.size())
        .y;
}

void take_room(float width, float height) {
    ImGui::Dummy({width, std::ceil(height)});
}

void space(float height) {
    take_room(0, height);
}

} // namespace boltwalk
