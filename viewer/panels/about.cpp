// About one item: all that the map states of it, how it is at this step, and what still holds it.
#include <algorithm>
#include <fmt/format.h>
#include <utility>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

void section(const Ui& ui, const char* text, float width) {
    space(ui.sizes.pad);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImGui::GetWindowDrawList()->AddLine(at, {at.x + width, at.y}, packed(ui.theme.panel_edge), ui.sizes.line);
    space(ui.sizes.pad * 0.6F);
    paragraph(text, packed(ui.theme.text), ui.fonts.strong, width);
    space(ui.sizes.pad * 0.4F);
}

namespace {

std::string_view reason_words(Rule rule) {
    switch (rule) {
    case Rule::not_propped:
        return "must be supported first";
    case Rule::loaded:
        return "is under load, which is taken off first";
    case Rule::not_drained:
        return "must be drained first";
    case Rule::fill_not_proven:
        return "must be shown to come loose first";
    case Rule::not_soaked:
        return "must soak first";
    case Rule::not_marked:
        return "its position is marked first";
    case Rule::hold_lost:
        return "holds it while this is undone";
    default:
        return holding_words(rule);
    }
}

/// The step of the way down that an item is dealt with in; none: npos.
std::size_t step_with(const Plan& plan, ItemId item) {
    for (std::size_t i = plan.steps.size(); i > 0; --i)
        if (std::find(plan.steps[i - 1].items.begin(), plan.steps[i - 1].items.end(), item) !=
            plan.steps[i - 1].items.end())
            return i - 1;
    return std::string::npos;
}

void reason_row(Ui& ui, View& view, const std::string& id, const std::string& words, ItemId by, float width) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const Box row{at.x, at.y, width, row_height(ui, words, width)};
    const Map& map = view.session->map;
    const Mark mark = !by                   ? Mark::none
                      : map.is_fastener(by) ? Mark::bolt
                      : map.is_part(by)     ? Mark::drawing
                                            : Mark::words;
    if (list_row(ui, id, words, row, mark, packed(ui.theme.text), false) && by) {
        pick_item(view, by);
        look_at(view, {by});
        view.by_hand = true;
    }
    ImGui::SetCursorScreenPos(at);
    take_room(width, row.h + ui.sizes.gap);
}

/// Why it comes where it does on the way down: what the map states, and apart from that what the shapes suggest.
void write_why(Ui& ui, View& view, ItemId item, float width) {
    constexpr std::size_t MOST = 8;
    const Session& session = *view.session;
    const Map& map = session.map;
    section(ui, "Why this order?", width);
    const std::size_t step = step_with(session.strip, item);
    paragraph(step == std::string::npos
                  ? "No step of the way down is about it."
                  : fmt::format("Step {} of the way down. Looked at with everything as found:", step + 1),
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 0.4F);
    paragraph("Stated", packed(ui.theme.text_soft), ui.fonts.text, width);
    std::size_t count = 0, left_out = 0;
    if (step != std::string::npos) {
        const auto objections = judge(session.job, as_found(session.job), {session.strip.steps[step].verb, item, {}});
        for (const Objection& objection : objections)
            for (const ItemId by : objection.by) {
                if (is_estimated(objection.rule))
                    continue; // below
                if (count >= MOST) {
                    ++left_out;
                    continue;
                }
                reason_row(ui, view, fmt::format("why.stated.{}", ++count),
                           fmt::format("{}: {}", caption_of(map, by), reason_words(objection.rule)), by, width);
            }
        const StepCard& card = session.strip_cards[step];
        if (!card.vehicle.empty()) {
            paragraph("The vehicle: " + card.vehicle, packed(ui.theme.text), ui.fonts.text, width);
            ++count;
        }
        if (!card.why.empty() && !card.estimated) {
            paragraph(card.why, packed(ui.theme.text), ui.fonts.text, width);
            ++count;
        }
    }
    if (left_out > 0)
        paragraph(fmt::format("and {} more", left_out), packed(ui.theme.text), ui.fonts.text, width);
    if (count == 0)
        paragraph("Nothing that the map states.", packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 0.4F);
    paragraph("Estimated from the shapes", packed(ui.theme.text_soft), ui.fonts.text, width);
    if (step != std::string::npos && session.strip_cards[step].estimated)
        paragraph(session.strip_cards[step].why, packed(ui.theme.text), ui.fonts.text, width);
    const auto* all = view.study ? view.study->in_the_way() : nullptr;
    if (all == nullptr) {
        paragraph(view.study && !view.study->finished() ? "Being worked out."
                                                        : "Not worked out: it was stopped, and can go on in Display.",
                  packed(ui.theme.text), ui.fonts.text, width);
        return;
    }
    const auto& mine = (*all)[std::size_t(item.index)];
    for (std::size_t i = 0; i < mine.size(); ++i)
        reason_row(ui, view, fmt::format("why.estimated.{}", i + 1), mine[i].words, mine[i].by, width);
    if (mine.empty())
        paragraph("Nothing was found in its way.", packed(ui.theme.text), ui.fonts.text, width);
}

void write_holders(Ui& ui, View& view, ItemId item, float width) {
    const Session& session = *view.session;
    const std::vector<Held> holders = what_holds(session.job, view.shot.before, item);
    section(ui, "Still holds it", width);
    if (holders.empty()) {
        paragraph(session.map.is_part(item) && session.map.part(item).fixed ? "It is what stays."
                                                                            : "Nothing that the map states.",
                  packed(ui.theme.text), ui.fonts.text, width);
        return;
    }
    for (std::size_t i = 0; i < holders.size(); ++i) {
        const Held& held = holders[i];
        const std::string words = fmt::format("{}: {}", caption_of(session.map, held.by), holding_words(held.rule));
        const ImVec2 at = ImGui::GetCursorScreenPos();
        const Box row{at.x, at.y, width, row_height(ui, words, width)};
        const Mark mark = session.map.is_fastener(held.by) ? Mark::bolt : Mark::drawing;
        if (list_row(ui, fmt::format("holder.{}", i + 1), words, row, mark, packed(ui.theme.text), false)) {
            pick_item(view, held.by);
            look_at(view, {held.by});
            view.by_hand = true;
        }
        ImGui::SetCursorScreenPos(at);
        take_room(width, row.h + ui.sizes.gap);
    }
}

} // namespace

void draw_about(Ui& ui, View& view, Desk& desk, const Box& box) {
    Scroll& scroll = desk.panel[std::size_t(Panel::about)];
    const ItemId item = view.picked;
    if (std::exchange(desk.about, item) != item)
        scroll.want = 0;
    const float width = begin_scroll(ui, "about", box, scroll);
    if (!item) {
        paragraph(
            "Nothing is picked. Click a fastener or a part in the drawing, press N for the next item of this step, "
            "or find one by its name.",
            packed(ui.theme.text), ui.fonts.text, width);
    } else {
        const Session& session = *view.session;
        const Map& map = session.map;
        paragraph(map[item].title, packed(ui.theme.text), ui.fonts.heading, width);
        if (map[item].name != map[item].title)
            paragraph(map[item].name, packed(ui.theme.text), ui.fonts.text, width);
        if (!map[item].caution.empty()) {
            space(ui.sizes.pad * 0.5F);
            framed(ui, map[item].caution, Mark::caution, packed(ui.theme.caution), width);
        }
        space(ui.sizes.pad * 0.5F);
        paragraph(view.keeper ? "By the log" : "Before this step", packed(ui.theme.text_soft), ui.fonts.text, width);
        paragraph(condition_of(session.job, view.keeper ? view.done.now.state : view.shot.before, item),
                  packed(ui.theme.text), ui.fonts.strong, width);
        write_happened(ui, view, desk, item, width);
        if (!map.is_task(item))
            write_holders(ui, view, item, width);
        write_why(ui, view, item, width);
        section(ui, "Stated", width);
        for (const Fact& fact : facts_of(map, item)) {
            paragraph(fact.name, packed(ui.theme.text_soft), ui.fonts.text, width);
            paragraph(fact.value, packed(ui.theme.text), fact.stated ? ui.fonts.strong : ui.fonts.text, width);
            space(ui.sizes.pad * 0.6F);
        }
    }
    end_scroll(ui, "about", scroll);
}

} // namespace boltwalk
