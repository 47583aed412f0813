// Before the walk: how to open a map, the bar while one opens, and the cautions that are read first.
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

Box middle_of(const Box& all, float w, float h) {
    w = std::min(w, all.w);
    h = std::min(h, all.h);
    return {std::round(all.x + (all.w - w) * 0.5F), std::round(all.y + (all.h - h) * 0.45F), w, h};
}

} // namespace

void draw_welcome(Ui& ui, View& view, Desk& desk, const Box& all) {
    const Box box =
        middle_of(all, ui.sizes.text * 36, ui.sizes.text * (view.error.empty() ? 13 : 20) + ui.sizes.target);
    plate(ui, box);
    const Box inside = box.inset(ui.sizes.pad * 2);
    static constexpr const char* MESSAGE = "welcome";
    const float field = ui.sizes.target, foot = field + ui.sizes.gap;
    const Box words{inside.x, inside.y, inside.w, inside.h - foot};
    const float width = begin_scroll(ui, MESSAGE, words, desk.start);
    paragraph("Boltwalk", packed(ui.theme.text), ui.fonts.heading, width);
    space(ui.sizes.pad);
    if (!view.error.empty()) {
        framed(ui, "This file could not be opened", Mark::fault, packed(ui.theme.fault), width);
        paragraph(printable(view.error), packed(ui.theme.text), ui.fonts.text, width);
        space(ui.sizes.pad);
        paragraph("boltwalk check FILE, in a terminal, lists all that is wrong with a file.", packed(ui.theme.text),
                  ui.fonts.text, width);
        space(ui.sizes.pad);
    }
    if (!view.session)
        paragraph("No map is open.", packed(ui.theme.text), ui.fonts.text, width);
    paragraph(
        "A map is a glTF file (.glb or .gltf) whose nodes say what is a part, what is a fastener and what there is to "
        "do. Any other glTF file can be looked at too.",
        packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    paragraph(how_to_open(), packed(ui.theme.text), ui.fonts.strong, width);
    end_scroll(ui, MESSAGE, desk.start);
    float left = inside.x;
    if (view.session) { // the way back to what is open
        const float w = width_of(ui, "Back", {.mark = Mark::back});
        if (button(ui, "path.back", "Back", {left, inside.bottom() - field, w, field}, {.mark = Mark::back})) {
            view.error.clear();
            view.choosing = false;
        }
        left += w + ui.sizes.gap;
    }
    draw_open_row(ui, view, desk, {left, inside.bottom() - field, inside.right() - left, field});
}

void draw_opening(Ui& ui, View& view, const Box& all) {
    const Opening& opening = *view.opening;
    const Box box = middle_of(all, ui.sizes.text * 32, ui.sizes.text * 7 + ui.sizes.target);
    plate(ui, box);
    const Box inside = box.inset(ui.sizes.pad * 2);
    const float em = ui.sizes.text;
    const std::string path = printable(opening.path());
    const auto slash = path.find_last_of('/');
    const std::string name = slash == std::string::npos ? path : path.substr(slash + 1);
    text_in(ui, "Opening " + name, {inside.x, inside.y, inside.w, em * 1.4F}, 0, packed(ui.theme.text),
            ui.fonts.strong);
    const float share = opening.share();
    progress_bar(ui, "opening.bar", fmt::format("{:.0f} %: {}", double(share) * 100, opening.doing()),
                 {inside.x, inside.y + em * 1.8F, inside.w, em * 2.4F}, share);
    const float w = width_of(ui, "Stop");
    if (button(ui, "opening.stop", opening.cancelled() ? "Stopping" : "Stop",
               {inside.right() - std::max(w, em * 6), inside.bottom() - ui.sizes.target, std::max(w, em * 6),
                ui.sizes.target},
               {.enabled = !opening.cancelled()}))
        view.opening->cancel();
}

/// At the foot of a card of the start: the main action, and a row above it; one beside the other where the card is so
/// low that little would be seen of what is to be read, and wide.
struct Foot {
    Box row, main;
    float height = 0; ///< with the gap above
};
static Foot foot_of(const Ui& ui, const Box& inside) {
    constexpr float LOW_ROWS = 20, WIDE = 36; // in its letters: half of it has room for the longer of their words
    const Sizes& sizes = ui.sizes;
    const Box main{inside.x, inside.bottom() - sizes.main, inside.w, sizes.main};
    const float both = sizes.main + sizes.target + 2 * sizes.gap;
    if (inside.h - both >= LOW_ROWS * sizes.text || inside.w < WIDE * sizes.text)
        return {{main.x, main.y - sizes.gap - sizes.target, main.w, sizes.target}, main, both};
    const float half = std::floor((inside.w - sizes.gap) * 0.5F);
    return {{main.x, main.y, half, main.h}, {main.right() - half, main.y, half, main.h}, main.h + sizes.gap};
}

/// In the start card's place: one of those out of sight, and on to the next.
static void draw_tour_card(Ui& ui, View& view, Desk& desk, const Box& box) {
    plate(ui, box);
    const OutOfSight& one = *on_tour(view);
    const std::size_t count = out_of_sight(view)->size();
    const Map& map = view.session->map;
    const Box inside = box.inset(ui.sizes.pad * 1.5F);
    const Foot foot = foot_of(ui, inside);
    const Box words{inside.x, inside.y, inside.w, inside.h - foot.height};
    const float width = begin_scroll(ui, "tour", words, desk.tour);
    const Item& item = map[one.fastener];
    paragraph(fmt::format("Out of sight {} of {}, estimated from the shapes", view.tour + 1, count),
              packed(ui.theme.text_soft), ui.fonts.text, width);
    paragraph(item.title, packed(ui.theme.text), ui.fonts.heading, width);
    if (item.name != item.title)
        paragraph(item.name, packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    const Fastener& fastener = map.fastener(one.fastener);
    std::string size = size_of(fastener);
    if (const std::string tool = tool_for(fastener.drive); !tool.empty())
        size += " · " + tool;
    paragraph(size, packed(ui.theme.text), ui.fonts.strong, width);
    space(ui.sizes.pad);
    paragraph("Hidden by", packed(ui.theme.text_soft), ui.fonts.text, width);
    paragraph(one.hidden_by, packed(ui.theme.text), ui.fonts.strong, width);
    space(ui.sizes.pad);
    paragraph("When it comes into sight", packed(ui.theme.text_soft), ui.fonts.text, width);
    paragraph(one.seen_after, packed(ui.theme.text), ui.fonts.strong, width);
    space(ui.sizes.pad);
    paragraph(one.view.glass.empty() ? "Seen here from close by, past what hides it."
                                     : "What hides it is drawn as glass.",
              packed(ui.theme.text_soft), ui.fonts.text, width);
    end_scroll(ui, "tour", desk.tour);
    const float half = std::floor((foot.row.w - ui.sizes.gap) * 0.5F);
    if (button(ui, "tour.back", "Back", {foot.row.x, foot.row.y, half, foot.row.h},
               {.mark = Mark::back, .enabled = view.tour > 0}))
        tour_to(view, view.tour - 1);
    if (button(ui, "tour.leave", "To the cautions", {foot.row.right() - half, foot.row.y, half, foot.row.h}))
        tour_to(view, -1);
    const MainAction action = main_action(view, desk);
    if (button(ui, "next", action.label, foot.main, {.look = Rank::main, .mark = Mark::forward, .mark_after = true}))
        do_main_action(view, desk);
}

/// The way into the round, or why there is none (yet).
static void draw_tour_button(Ui& ui, View& view, const Box& box) {
    const auto* list = out_of_sight(view);
    const bool working = list == nullptr && view.study && !view.study->finished();
    const std::string label = working           ? "Looking for what is out of sight"
                              : list == nullptr ? "Out of sight: not worked out"
                              : list->empty()   ? "Nothing out of sight (estimated)"
                                                : fmt::format("Show the {} out of sight", list->size());
    if (button(ui, "tour", label, box, {.enabled = list != nullptr && !list->empty()}))
        tour_to(view, 0);
}

/// Tools and parts that nobody ticked off, before the first bolt.
static void write_missing(Ui& ui, View& view, Desk& desk, float width) {
    std::vector<std::string> names;
    const std::vector<Need> needs = needs_of(view.session->job, view.done.now);
    for (const Need& need : needs)
        if (!need.ticked)
            names.push_back(printable(name_without_kind(need)));
    if (names.empty())
        return;
    framed(ui,
           fmt::format("Not ticked off yet, before the first bolt ({}): {}.", names.size(),
                       few_of(names, "; ", MOST_NEEDS)),
           Mark::note, packed(ui.theme.note), width);
    if (!desk.needs_open) {
        desk.needs_open = press_to_have(ui, width);
        return;
    }
    std::string ticked;
    for (const Need& need : needs) {
        const ImVec2 from = ImGui::GetCursorScreenPos();
        const Box row{from.x, from.y, width, row_height(ui, need_words(need), width)};
        if (need_row(ui, need, row))
            ticked = need.name;
        ImGui::SetCursorScreenPos(from);
        take_room(width, row.h + ui.sizes.gap);
    }
    if (!ticked.empty())
        enter_tick(view, ticked);
}

void draw_start_card(Ui& ui, View& view, Desk& desk, const Box& box) {
    if (on_tour(view) != nullptr) {
        draw_tour_card(ui, view, desk, box);
        return;
    }
    plate(ui, box);
    const Box inside = box.inset(ui.sizes.pad * 1.5F);
    const Foot foot = foot_of(ui, inside);
    // A row of its own, above: no button comes to stand where another was about to be pressed.
    const float row = is_studying(view) ? ui.sizes.target + ui.sizes.gap : 0;
    const Box words{inside.x, inside.y, inside.w, inside.h - foot.height - row};
    const Map& map = view.session->map;
    const float width = begin_scroll(ui, "start", words, desk.start);
    paragraph(map.job.empty() ? "Untitled job" : map.job, packed(ui.theme.text), ui.fonts.heading, width);
    if (!map.vehicle.empty())
        paragraph(map.vehicle, packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 0.5F);
    const std::vector<std::string> standing = standing_cautions(map);
    const auto cautions = [&](const char* title, const std::vector<std::string>& all, bool skip_standing) {
        bool titled = false;
        for (const std::string& caution : all) {
            if (skip_standing && std::find(standing.begin(), standing.end(), caution) != standing.end())
                continue;
            if (!titled) {
                paragraph(title, packed(ui.theme.text), ui.fonts.strong, width);
                space(ui.sizes.pad * 0.5F);
                titled = true;
            }
            framed(ui, caution, Mark::caution, packed(ui.theme.caution), width);
        }
    };
    if (view.done.resumed) {
        write_interruption(ui, view, width);
    } else if (view.at > 0 || view.back) {
        framed(ui,
               fmt::format("You were at step {} of {} {}. Look at stands, chocks and props before you go on.",
                           std::min(view.at + 1, steps_of(view)), steps_of(view),
                           view.back ? "on the way back" : "on the way down"),
               Mark::now, packed(ui.theme.accent), width);
        space(ui.sizes.pad);
    }
    cautions("Before every job", standing, false);
    cautions("Before this one", map.cautions, true);
    if (!view.done.now.begun && view.keeper)
        write_missing(ui, view, desk, width);
    paragraph(map.source.empty() ? "Source of the figures: not stated." : "Source of the figures: " + map.source,
              packed(ui.theme.text_soft), ui.fonts.text, width);
    const bool measured = desk.start.contents > 0;
    end_scroll(ui, "start", desk.start);
    if (is_studying(view))
        draw_study(ui, view, {inside.x, words.bottom() + ui.sizes.gap, inside.w, ui.sizes.target});
    draw_tour_button(ui, view, foot.row);
    const MainAction action = main_action(view, desk);
    if (button(ui, "next", action.label, foot.main,
               {.look = Rank::main, .mark = Mark::forward, .enabled = measured, .mark_after = true}))
        do_main_action(view, desk);
}

} // namespace boltwalk
