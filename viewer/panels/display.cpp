// The display panel, the keys, and which panel is drawn.
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "viewer/panels/aloud.hpp"
#include "viewer/panels/frames.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

/// Leaves Dear ImGui's cursor under what flowed.
void settle(const Ui& ui, const ImVec2& from, const Flow& flow) {
    ImGui::SetCursorScreenPos(from);
    take_room(flow.box.w, std::max(0.0F, flow.bottom - from.y));
    space(ui.sizes.pad * 1.2F);
}

Flow flow_here(float width) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    return Flow({at.x, at.y, width, 0});
}

namespace {

constexpr double RULER_MM = 50;

void title(const Ui& ui, const char* text, float width) {
    paragraph(text, packed(ui.theme.text), ui.fonts.strong, width);
    space(ui.sizes.pad * 0.5F);
}

void ruler(Ui& ui, Desk& desk, float width) {
    Screen& screen = desk.screen;
    paragraph(screen.stated ? "Sizes by what this display says of itself. Hold a ruler to the bar: it should be 50 mm."
                            : "This display does not say how large it is. Hold a ruler to the bar: it should be 50 mm.",
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 0.5F);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float bar = float(RULER_MM * screen.px_per_mm), y = at.y + ui.sizes.text * 0.4F, tick = ui.sizes.text * 0.35F;
    ImDrawList* list = ImGui::GetWindowDrawList();
    const ImU32 ink = packed(ui.theme.text);
    list->AddLine({at.x, y}, {at.x + bar, y}, ink, ui.sizes.line * 2);
    for (const float x : {at.x, at.x + bar})
        list->AddLine({x, y - tick}, {x, y + tick}, ink, ui.sizes.line * 2);
    take_room(width, ui.sizes.text * 0.9F);
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow({from.x, from.y, width, 0});
    const auto put = [&](const char* id, const char* label, double factor) {
        if (button(ui, id, label, flow.next(width_of(ui, label), ui.sizes.target, ui.sizes.gap))) {
            if (!desk.before_ruler)
                desk.before_ruler = screen;
            screen.px_per_mm = std::clamp(screen.px_per_mm * factor, 40 / 25.4, 600 / 25.4);
            desk.screen_changed = true;
        }
    };
    put(RULER_SHORTER, "Shorter", 1 / 1.02);
    put(RULER_LONGER, "Longer", 1.02);
    settle(ui, from, flow);
    if (desk.before_ruler)
        paragraph("Letters and buttons follow as soon as anything else is pressed.", packed(ui.theme.text),
                  ui.fonts.text, width);
    space(ui.sizes.pad * 0.5F);
}

struct KeyLine {
    const char* keys;
    const char* what;
};
constexpr KeyLine KEY_LINES[]{
    {"Right, Page Down, Space", "the main action: enters the step as done, goes on (a page-turning pedal works; "
                                "pressed twice in a row it counts once)"},
    {"Left, Page Up", "looks back one step"},
    {". (full stop)", "looks on one step, and enters nothing"},
    {"U", "undo: strikes out what was entered last"},
    {"T", "tray"},
    {"W", "what is not torqued yet"},
    {"J", "log: every entry"},
    {"I", "something was in the way"},
    {"Home, End", "first step, past the last step"},
    {"R", "strip or refit"},
    {"N, Shift+N", "next or previous item of this step, and all about it"},
    {"F2", "steps"},
    {"F3 or /", "find by name"},
    {"F4", "findings"},
    {"F5", "about"},
    {"F6", "display"},
    {"F7", "say what is what in this model"},
    {"F1 or H", "this list"},
    {"F", "fit everything in the drawing"},
    {"V", "the view of this step"},
    {"1 to 6", "from front, rear, left, right, over, under"},
    {"Shift and arrows", "turn the view"},
    {"Ctrl and arrows", "move the view"},
    {"+ and -", "nearer, farther"},
    {"E, Shift+E", "explode more, less"},
    {"Z", "lying underneath: head forward, head rearward, neither"},
    {"A", "read each step aloud, or not"},
    {"L, G, D", "labels, see through, daylight or night"},
    {"M", "estimates in the drawing: tool, way out, centre of mass"},
    {"Up, Down", "turn the step card"},
    {"Tab, Shift+Tab, Enter", "go from button to button, press it"},
    {"Ctrl+O", "open another file"},
    {"Esc", "let go of what is picked, leave the panel, leave what is out of sight"},
};
constexpr KeyLine MOUSE_LINES[]{
    {"Left drag", "turn"},
    {"Right or middle drag, Shift and left drag", "move"},
    {"Wheel", "nearer, farther"},
    {"Click", "a fastener of this step: done, or not; anything else: about it"},
    {"Right click, or hold", "about what is under the pointer, and what happened to it"},
    {"Drop a file on the window", "open it"},
};

} // namespace

void draw_display(Ui& ui, View& view, Desk& desk, const Box& box, const Layout& layout) {
    Scroll& scroll = desk.panel[std::size_t(Panel::display)];
    const float width = begin_scroll(ui, "display", box, scroll);

    title(ui, "Light", width);
    {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        for (const bool night : {false, true}) {
            const char* label = night ? "Night" : "Daylight";
            if (button(ui, night ? "light.night" : "light.day", label,
                       flow.next(width_of(ui, label), ui.sizes.target, ui.sizes.gap), {.on = view.night == night}))
                view.night = night;
        }
        settle(ui, from, flow);
    }

    title(ui, "Read from", width);
    {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        for (int i = 0; i < REACHES; ++i) {
            const auto reach = static_cast<Distance>(i);
            const float w = std::min(width, width_of(ui, spoken(reach)));
            if (button(ui, "reach." + std::string(name_of(reach)), spoken(reach),
                       flow.next(w, ui.sizes.target, ui.sizes.gap), {.on = view.reach == reach}))
                view.reach = reach;
        }
        settle(ui, from, flow);
    }
    paragraph(fmt::format("Capitals are {:.1f} mm high: 22 minutes of arc from {} m.", capital_height_mm(view.reach),
                          distance_m(view.reach)),
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 1.2F);

    if (layout.tools.empty()) {
        title(ui, "Drawing", width);
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        draw_view_buttons(ui, view, flow);
        flow.x = flow.box.x;
        flow.y += ui.sizes.target + ui.sizes.gap;
        draw_drawing_switches(ui, view, flow);
        settle(ui, from, flow);
    }
    title(ui, "As I lie underneath", width);
    {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        draw_lying_buttons(ui, view, flow);
        settle(ui, from, flow);
        write_not_from_under(ui, view, width);
    }
    if (has_job(view)) {
        title(ui, "Read aloud", width);
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        const std::string missing = no_voice();
        if (button(ui, "aloud", "Each step",
                   flow.next(std::min(width, width_of(ui, "Each step")), ui.sizes.target, ui.sizes.gap),
                   {.on = view.aloud, .enabled = missing.empty(), .role = "switch"}))
            view.aloud = !view.aloud;
        settle(ui, from, flow);
        if (!missing.empty()) {
            paragraph(missing, packed(ui.theme.text), ui.fonts.text, width);
            space(ui.sizes.pad);
        }
    }
    if (!desk.ways_on_top && has_job(view)) {
        title(ui, "Way", width);
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        for (const bool back : {false, true})
            if (button(ui, back ? "way.refit" : "way.strip", back ? "Refit" : "Strip",
                       flow.next(width_of(ui, "Refit"), ui.sizes.target, ui.sizes.gap), {.on = view.back == back}))
                take_way(view, back);
        settle(ui, from, flow);
    }
    if (has_job(view)) {
        title(ui, "Estimates", width);
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        if (button(ui, "estimates", "In the drawing",
                   flow.next(std::min(width, width_of(ui, "In the drawing")), ui.sizes.target, ui.sizes.gap),
                   {.on = view.estimates, .role = "switch"}))
            view.estimates = !view.estimates;
        if (is_studying(view) && !desk.study_on_top) {
            flow.x = flow.box.x;
            flow.y += ui.sizes.target + ui.sizes.gap;
            const Box bar = flow.next(width, ui.sizes.target, ui.sizes.gap);
            flow.x = flow.box.x;
            flow.y += ui.sizes.target + ui.sizes.gap;
            draw_study(ui, view, bar, flow.next(width_of(ui, "Stopping"), ui.sizes.target, ui.sizes.gap));
        }
        settle(ui, from, flow);
    }
    if (has_job(view)) {
        title(ui, "Torques in", width);
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        for (const TorqueUnit unit : {TorqueUnit::newton_metre, TorqueUnit::pound_force_foot}) {
            const std::string sign(torque_unit_sign(unit));
            if (button(ui, "unit." + sign, sign, flow.next(width_of(ui, sign), ui.sizes.target, ui.sizes.gap),
                       {.on = view.unit == unit}))
                take_unit(view, unit);
        }
        settle(ui, from, flow);
    }
    if (has_job(view)) {
        title(ui, "Your torque wrenches", width);
        std::string list;
        if (view.wrenches)
            for (const Tool& tool : view.wrenches->tools)
                if (tool.kind == ToolKind::torque_wrench)
                    list += (list.empty() ? "" : "\n") + name_of(tool);
        paragraph(!view.wrenches ? "None named: no torque says which one to take."
                  : list.empty() ? "No torque wrench is on the list."
                                 : list,
                  packed(ui.theme.text), ui.fonts.text, width);
        name_tools(ui, width);
        space(ui.sizes.pad);
    }
    title(ui, "Size", width);
    ruler(ui, desk, width);
    title(ui, "File", width);
    {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        if (button(ui, "file.other", "Open another",
                   flow.next(width_of(ui, "Open another"), ui.sizes.target, ui.sizes.gap)))
            view.choosing = desk.field_asked = true;
        const char* const over = "Hand to a tablet";
        if (view.hand_over && view.session &&
            button(ui, "file.hand_over", over,
                   flow.next(std::min(width, width_of(ui, over)), ui.sizes.target, ui.sizes.gap)))
            view.panel = Panel::hand_over;
        if (button(ui, "file.mark", "Mark it up", flow.next(width_of(ui, "Mark it up"), ui.sizes.target, ui.sizes.gap)))
            enter_marking(view);
        settle(ui, from, flow);
    }
    end_scroll(ui, "display", scroll);
}

void draw_keys(Ui& ui, View&, Desk& desk, const Box& box) {
    Scroll& scroll = desk.panel[std::size_t(Panel::help)];
    const float width = begin_scroll(ui, "keys", box, scroll);
    const auto line = [&](const KeyLine& l) {
        paragraph(l.keys, packed(ui.theme.text), ui.fonts.strong, width);
        paragraph(l.what, packed(ui.theme.text), ui.fonts.text, width);
        space(ui.sizes.pad * 0.5F);
    };
    for (const KeyLine& l : KEY_LINES)
        line(l);
    space(ui.sizes.pad);
    for (const KeyLine& l : MOUSE_LINES)
        line(l);
    end_scroll(ui, "keys", scroll);
}

void draw_panel(Ui& ui, View& view, Desk& desk, const Box& box, const Layout& layout) {
    if (box.empty())
        return;
    plate(ui, box);
    const Box inside = box.inset(ui.sizes.pad);
    switch (view.panel) {
    case Panel::none:
        break;
    case Panel::steps:
        draw_steps(ui, view, desk, inside);
        break;
    case Panel::about:
        draw_about(ui, view, desk, inside);
        break;
    case Panel::findings:
        draw_findings(ui, view, desk, inside);
        break;
    case Panel::find:
        draw_find(ui, view, desk, inside);
        break;
    case Panel::display:
        draw_display(ui, view, desk, inside, layout);
        break;
    case Panel::help:
        draw_keys(ui, view, desk, inside);
        break;
    case Panel::tray:
        draw_tray(ui, view, desk, inside);
        break;
    case Panel::untorqued:
        draw_untorqued(ui, view, desk, inside);
        break;
    case Panel::record:
        draw_record(ui, view, desk, inside);
        break;
    case Panel::in_way:
        draw_in_way(ui, view, desk, inside);
        break;
    case Panel::needed:
        draw_needed(ui, view, desk, inside);
        break;
    case Panel::hand_over:
        draw_hand_over(ui, view, desk, inside);
        break;
    }
}

} // namespace boltwalk
