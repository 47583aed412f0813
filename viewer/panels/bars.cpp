// The rows above and below the drawing: panels and way, controls of the drawing.
#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

/// The word, a button either side, and between them as much of the bar as there is room for.
struct ExplodeWidths {
    float word = 0, bar = 0, all = 0;
};
ExplodeWidths explode_widths(const Ui& ui, float room) {
    const float em = ui.sizes.text;
    ExplodeWidths w;
    w.word = width_of(ui, "Explode");
    const float fixed = w.word + 2 * ui.sizes.icon + 2 * ui.sizes.gap;
    w.bar = std::clamp(room - fixed, em * 1.5F, std::max(em * 4, ui.sizes.icon * 1.5F));
    w.all = fixed + w.bar;
    return w;
}

void explode_control(Ui& ui, View& view, Flow& flow) {
    const float h = ui.sizes.target, gap = ui.sizes.gap;
    const ExplodeWidths widths = explode_widths(ui, flow.box.w);
    const Box all = flow.next(widths.all, h, gap);
    if (explosion(view) == nullptr) { // why it cannot be had yet
        const bool stopped = is_studying(view) && view.study->finished();
        button(ui, "explode.wait",
               !has_job(view) ? "Explode: no parts named"
               : stopped      ? "Explode: stopped"
                              : "Explode: estimating",
               all, {.enabled = false});
        return;
    }
    text_in(ui, "Explode", {all.x, all.y, widths.word, h}, 0.5F, packed(ui.theme.text), ui.fonts.strong);
    float x = all.x + widths.word;
    if (button(ui, "explode.less", "", {x, all.y, ui.sizes.icon, h},
               {.mark = Mark::minus, .enabled = view.explode_wanted > 0}))
        explode_to(view, view.explode_wanted - 0.25);
    x += ui.sizes.icon + gap;
    explode_to(view, slider(ui, "explode.bar", "Explode", {x, all.y, widths.bar, h}, view.explode_wanted));
    x += widths.bar + gap;
    if (button(ui, "explode.more", "", {x, all.y, ui.sizes.icon, h},
               {.mark = Mark::plus, .enabled = view.explode_wanted < 1}))
        explode_to(view, view.explode_wanted + 0.25);
}

constexpr const char* FIT = "Fit";
constexpr const char* THIS_STEP = "This step";
constexpr const char* NEARER = "Nearer";
constexpr const char* FARTHER = "Farther";
constexpr const char* LABELS = "Labels";
constexpr const char* SEE_THROUGH = "See through";

} // namespace

Box Flow::next(float width, float height, float gap) {
    if (x > box.x && x + width > box.right() + 0.5F) {
        x = box.x;
        y += height + gap;
    }
    const Box at{x, y, std::min(width, box.w), height};
    x += width + gap;
    bottom = y + height;
    return at;
}

void open_panel(View& view, Desk& desk, Panel panel) {
    view.panel = view.panel == panel ? Panel::none : panel;
    if (view.panel == Panel::find || view.panel == Panel::in_way)
        desk.field_asked = true;
    if (view.panel == Panel::steps)
        desk.shown_step = SIZE_MAX;
}

float study_width(const Ui& ui) {
    return ui.sizes.text * 12 + width_of(ui, "Stopping") + ui.sizes.gap;
}

void draw_study(Ui& ui, View& view, const Box& bar, const Box& press) {
    Study& study = *view.study;
    const bool working = !study.finished();
    const float share = study.share();
    const int percent = int(std::lround(double(share) * 100));
    std::string words;
    for (const std::string& shorter :
         {working ? fmt::format("Estimating {} %: {}", percent, study.doing())
                  : fmt::format("Estimates stopped at {} %", percent),
          working ? fmt::format("{} %: {}", percent, study.doing()) : fmt::format("Stopped at {} %", percent),
          fmt::format("{} %", percent)}) {
        words = shorter;
        if (ImGui::CalcTextSize(words.c_str()).x <= bar.w)
            break;
    }
    progress_bar(ui, "study.bar", words, bar, share);
    if (!button(ui, "study.stop",
                study.stopping() ? "Stopping"
                : working        ? "Stop"
                                 : "Go on",
                press, {.enabled = !study.stopping()}))
        return;
    if (working)
        study.stop();
    else
        study.resume();
}

void draw_study(Ui& ui, View& view, const Box& row) {
    const float w = width_of(ui, "Stopping");
    draw_study(ui, view, {row.x, row.y, row.w - w - ui.sizes.gap, row.h}, {row.right() - w, row.y, w, row.h});
}

void draw_top(Ui& ui, View& view, Desk& desk, const Layout& layout) {
    desk.study_on_top = desk.ways_on_top = false;
    if (layout.top.empty())
        return;
    const Box& top = layout.top;
    const float gap = ui.sizes.gap, h = top.h;
    const bool job = has_job(view);
    std::vector<Panel> panels{Panel::display, Panel::help};
    if (job)
        panels = {Panel::steps, Panel::about, Panel::findings, Panel::find, Panel::display, Panel::help};
    else if (view.session)
        panels = {Panel::about, Panel::findings, Panel::find, Panel::display, Panel::help};

    const std::string found = view.session ? std::to_string(view.session->findings.size()) : "";
    std::vector<float> widths;
    float wanted = 0;
    for (const Panel panel : panels) {
        const bool counted = panel == Panel::findings && found != "0";
        widths.push_back(width_of(ui, title_of(panel), {.badge = counted ? std::string_view(found) : ""}));
        wanted += widths.back() + gap;
    }
    const float way = std::max(width_of(ui, "Strip"), width_of(ui, "Refit"));
    // Where the window is too narrow for all of it the list of keys goes first (F1 opens it all the same), then the
    // way, which the display panel has too.
    const float both_ways = 2 * way + gap, keys = widths.back() + gap;
    desk.ways_on_top = job && wanted - keys + both_ways <= top.w;
    const float ways = desk.ways_on_top ? both_ways : 0;
    if (job && wanted + ways > top.w) {
        wanted -= keys;
        panels.pop_back();
        widths.pop_back();
    }
    // Too many letters for one row: the words share what there is, and text_in() says so in the book.
    const float share = std::min(1.0F, (top.w - ways) / wanted);
    float x = top.x;
    for (std::size_t i = 0; i < panels.size(); ++i) {
        const Panel panel = panels[i];
        const bool counted = panel == Panel::findings && found != "0";
        const Box box{x, top.y, std::floor(widths[i] * share), h};
        const std::string id = "panel." + std::string(title_of(panel));
        if (button(ui, id, title_of(panel), box,
                   {.on = view.panel == panel, .badge = counted ? std::string_view(found) : ""}))
            open_panel(view, desk, panel);
        x = box.right() + gap;
    }
    if (!job)
        return;
    const float right = top.right();
    if (desk.ways_on_top) {
        if (button(ui, "way.refit", "Refit", {right - way, top.y, way, h}, {.on = view.back}))
            take_way(view, true);
        if (button(ui, "way.strip", "Strip", {right - ways, top.y, way, h}, {.on = !view.back}))
            take_way(view, false);
    }
    const Box title{x + ui.sizes.pad, top.y, right - ways - 2 * ui.sizes.pad - x - ui.sizes.pad, h};
    if (is_studying(view) && title.w >= study_width(ui)) {
        draw_study(ui, view, title);
        desk.study_on_top = true;
        return;
    }
    const std::string& job_title = view.session->map.job;
    const float size = ImGui::GetFontSize();
    if (title.w > 0 && ui.fonts.text->CalcTextSizeA(size, FLT_MAX, 0, job_title.c_str()).x <= title.w)
        text_in(ui, job_title, title, 0.5F, packed(ui.theme.text), ui.fonts.text);
}

ToolWidths tool_widths(const Ui& ui, const View& view) {
    const auto row = [&](std::initializer_list<const char*> labels) {
        float sum = 0;
        for (const char* label : labels)
            sum += width_of(ui, label) + ui.sizes.gap;
        return sum;
    };
    ToolWidths widths;
    widths.places = row({FIT}) - ui.sizes.gap;
    for (const PlaceButton& place : PLACES)
        widths.places += row({place.label});
    widths.switches = explode_widths(ui, 1e6F).all + row({NEARER, FARTHER});
    if (has_job(view)) {
        widths.places += row({THIS_STEP});
        widths.switches += row({LABELS, SEE_THROUGH});
    }
    return widths;
}

void draw_view_buttons(Ui& ui, View& view, Flow& flow) {
    const float h = ui.sizes.target, gap = ui.sizes.gap;
    const Style style{.enabled = view.session != nullptr};
    const auto put = [&](const char* id, const char* label) {
        return button(ui, id, label, flow.next(width_of(ui, label), h, gap), style);
    };
    if (put("look.all", FIT))
        look_at_all(view);
    if (has_job(view) && put("look.step", THIS_STEP))
        look_at_step(view);
    for (const PlaceButton& place : PLACES)
        if (put(place.id, place.label))
            look_from(view, place.place);
}

void draw_drawing_switches(Ui& ui, View& view, Flow& flow) {
    const float h = ui.sizes.target, gap = ui.sizes.gap;
    explode_control(ui, view, flow);
    const auto zoom = [&](const char* id, const char* label, double factor) {
        if (button(ui, id, label, flow.next(width_of(ui, label), h, gap), {.enabled = view.session != nullptr}))
            turn_by_hand(view, zoomed(camera_now(view), factor));
    };
    zoom("look.nearer", NEARER, 1.25);
    zoom("look.farther", FARTHER, 0.8);
    const auto flip = [&](const char* id, const char* label, bool& value) {
        if (button(ui, id, label, flow.next(width_of(ui, label), h, gap), {.on = value, .role = "switch"}))
            value = !value;
    };
    if (has_job(view)) {
        flip("labels", LABELS, view.labels);
        flip("glass", SEE_THROUGH, view.see_through);
    }
}

void draw_lying_buttons(Ui& ui, View& view, Flow& flow) {
    const Lying shown = lying_shown(view);
    for (const bool forward : {true, false}) {
        const char* label = forward ? "Head forward" : "Head rearward";
        const Lying lying = forward ? Lying::head_forward : Lying::head_rearward;
        if (button(ui, forward ? "lie.forward" : "lie.rearward", label,
                   flow.next(std::min(flow.box.w, width_of(ui, label)), ui.sizes.target, ui.sizes.gap),
                   {.on = shown == lying, .enabled = shown != Lying::as_seen, .role = "switch"}))
            lie(view, lying);
    }
}

void write_not_from_under(Ui& ui, const View& view, float width) {
    if (lying_shown(view) != Lying::as_seen)
        return;
    paragraph("This picture is not seen from under.", packed(ui.theme.text_soft), ui.fonts.text, width);
    space(ui.sizes.pad);
}

void draw_tools(Ui& ui, View& view, const Layout& layout) {
    if (layout.tools.empty())
        return;
    Flow flow(layout.tools);
    draw_view_buttons(ui, view, flow);
    if (layout.tool_rows > 1) {
        flow.x = flow.box.x;
        flow.y += ui.sizes.target + ui.sizes.gap;
    }
    draw_drawing_switches(ui, view, flow);
}

void plate(const Ui& ui, const Box& box) {
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled({box.x, box.y}, {box.right(), box.bottom()}, packed(ui.theme.panel), 3);
    list->AddRect({box.x, box.y}, {box.right(), box.bottom()}, packed(ui.theme.panel_edge), 3, 0, ui.sizes.line);
}

} // namespace boltwalk
