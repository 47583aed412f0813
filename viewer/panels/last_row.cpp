// The last row: back, the walk in small, the main action.
#include <algorithm>
#include <fmt/format.h>

#include "viewer/panels/panels.hpp"

namespace boltwalk {

bool is_done(const View& view, std::size_t step) {
    if (!view.keeper)
        return step < view.at;
    const StepProgress& progress = progress_now(view).steps[step];
    return progress.open == 0 && progress.left == 0;
}

namespace {

const StepCard& card_now(const View& view) {
    const auto& cards = view.back ? view.session->refit_cards : view.session->strip_cards;
    return cards[view.at];
}

/// The walk in small: a tick for what is done, a wedge where one is, a dot for what is ahead. Where they would get
/// too small to tell apart they become one bar with a wedge.
void draw_track(Ui& ui, View& view, const Box& box) {
    ImDrawList* list = ImGui::GetWindowDrawList();
    const std::size_t count = steps_of(view);
    const std::string words = count == 0     ? "No steps"
                              : at_end(view) ? fmt::format("Past the last of {} steps", count)
                                             : fmt::format("Step {} of {}", view.at + 1, count);
    const float line = ui.sizes.text * 1.2F;
    const bool two = box.h >= line * 1.8F;
    const Box above{box.x, box.y, box.w, two ? box.h - line * 0.75F : box.h};
    text_in(ui, words, above, 0.5F, packed(ui.theme.text), ui.fonts.strong);
    if (!two || count == 0)
        return;
    const Box row{box.x, box.bottom() - line * 0.7F, box.w, line * 0.5F};
    const float pitch = row.w / float(count), mark = std::min(row.h, pitch * 0.8F);
    const ImU32 done = packed(ui.theme.done), soft = packed(ui.theme.panel_edge), now = packed(ui.theme.accent);
    const float thick = std::max(1.5F, ui.sizes.line);
    if (mark < 5) {
        const float y = row.y + row.h * 0.5F, x = row.x + pitch * float(view.at);
        list->AddLine({row.x, y}, {row.right(), y}, soft, thick);
        for (std::size_t i = 0; i < count; ++i)
            if (is_done(view, i))
                list->AddLine({row.x + pitch * float(i), y}, {row.x + pitch * float(i + 1), y}, done, thick * 3);
        draw_mark(list, Mark::now, {x - row.h * 0.5F, row.y, row.h, row.h}, now, thick);
        return;
    }
    for (std::size_t i = 0; i < count; ++i) {
        const Box at{row.x + pitch * (float(i) + 0.5F) - mark * 0.5F, row.y + (row.h - mark) * 0.5F, mark, mark};
        if (i == view.at)
            draw_mark(list, Mark::now, at, now, thick);
        else if (is_done(view, i))
            draw_mark(list, Mark::done, at, done, thick);
        else
            draw_mark(list, Mark::ahead, at, soft, thick);
    }
}

} // namespace

/// The step has a caution, or wants confirming, and that was not in sight yet.
static bool is_unread(const View& view, const Desk& desk) {
    if (at_end(view) || (card_now(view).cautions.empty() && !card_now(view).gate))
        return false;
    return desk.read.at != view.at || desk.read.back != view.back || desk.read.session != view.sessions ||
           !desk.read.all;
}

/// At the end of the refit, not closed yet.
static bool is_closing(const View& view) {
    return view.keeper && view.back && at_end(view) && !is_closed(view);
}

MainAction main_action(const View& view, const Desk& desk) {
    if (!view.session)
        return {"", "", false};
    if (on_tour(view) != nullptr)
        return {std::size_t(view.tour) + 1 < out_of_sight(view)->size() ? "Next one" : "To the cautions", "", true};
    if (!view.start_read) {
        const bool all = desk.start.at >= desk.start.most - 1;
        return {all ? "I have read this" : "Read on", all ? "" : "Read", true};
    }
    if (is_unread(view, desk))
        return {"Read on", "Read", true};
    if (!at_end(view)) {
        const Entering enters = entering(view, ticks_of(view));
        if (enters.words.empty())
            return {"Next step", "Next", true};
        if (card_now(view).gate)
            return {"Confirmed", "Confirm", true};
        return {enters.words, enters.brief, true};
    }
    if (!view.back && !view.session->refit.steps.empty())
        return {"On to the refit", "Refit", true};
    if (is_closing(view)) {
        const std::size_t open = view.done.open.size();
        if (open == 0)
            return {"Close the job", "Close", true};
        return {fmt::format("Close over {} open", open), "Close", !view.why.empty()};
    }
    return {is_closed(view) ? "Closed" : "End of the steps", "End", false};
}

void do_main_action(View& view, Desk& desk) {
    ++desk.press.seen;
    if (!view.session || !main_action(view, desk).enabled || !desk.press.takes(now_s()))
        return;
    desk.press.acted();
    if (on_tour(view) != nullptr) {
        tour_to(view, view.tour + 1);
    } else if (!view.start_read) {
        if (desk.start.at >= desk.start.most - 1) {
            view.start_read = true;
            look_at_step(view);
        } else {
            desk.start.want = desk.start.next_at;
        }
    } else if (is_unread(view, desk)) {
        // Two presses within one frame end here too: what was not drawn yet was not read.
        view.drawing_asked = false;
        if (desk.shape != Shape::wide)
            view.panel = Panel::none;
        if (desk.read.at == view.at && desk.read.back == view.back)
            desk.card.want = desk.card.next_at;
    } else if (!at_end(view)) {
        enter_step(view);
    } else if (is_closing(view)) {
        close_job(view);
    } else {
        take_way(view, true);
    }
}

void draw_last_row(Ui& ui, View& view, Desk& desk, const Layout& layout) {
    const bool words = layout.shape == Shape::words;
    if (!has_job(view))
        return;
    const bool roomy = layout.back.w > width_of(ui, "Back", {.mark = Mark::back});
    if (button(ui, "back", words || !roomy ? "" : "Back", layout.back, {.mark = Mark::back, .enabled = view.at > 0}))
        step_back(view);
    if (!layout.track.empty())
        draw_track(ui, view, layout.track);
    if (button(ui, "ahead", "", layout.ahead, {.mark = Mark::forward, .enabled = !at_end(view)}))
        step_on(view);
    if (words) {
        const bool drawing = view.drawing_asked && view.panel == Panel::none;
        if (button(ui, "show", "", layout.show, {.mark = drawing ? Mark::words : Mark::drawing})) {
            view.drawing_asked = !drawing;
            view.panel = Panel::none;
        }
        if (button(ui, "more", "", layout.more, {.mark = Mark::dials, .on = view.panel == Panel::display}))
            open_panel(view, desk, Panel::display);
    }
    const MainAction action = main_action(view, desk);
    const auto fits = [&](const std::string& label) {
        const float size = ui.fonts.strong->FontSize * ImGui::GetIO().FontGlobalScale;
        return ui.fonts.strong->CalcTextSizeA(size, FLT_MAX, 0, label.c_str()).x + size * 1.3F < layout.next.w;
    };
    const std::string& label = fits(action.label) || action.brief.empty() ? action.label : action.brief;
    // Whoever presses it stands at the screen: rather letters for the hand than words cut off.
    const Fonts far_fonts = ui.fonts;
    if (!fits(label))
        ui.fonts = ui.near_fonts;
    const bool pressed =
        button(ui, "next", label, layout.next,
               {.look = Rank::main, .mark = Mark::forward, .enabled = action.enabled, .mark_after = true});
    ui.fonts = far_fonts;
    if (pressed)
        do_main_action(view, desk);
}

} // namespace boltwalk
