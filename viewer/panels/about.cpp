// About one item: all that the map states of it, how it is at this step, and what still holds it.
#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

void heading(const Ui& ui, const char* text, float width) {
    space(ui.sizes.pad);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    ImGui::GetWindowDrawList()->AddLine(at, {at.x + width, at.y}, packed(ui.theme.panel_edge), ui.sizes.line);
    space(ui.sizes.pad * 0.6F);
    paragraph(text, packed(ui.theme.text), ui.fonts.strong, width);
    space(ui.sizes.pad * 0.4F);
}

void write_holders(Ui& ui, View& view, ItemId item, float width) {
    const Session& session = *view.session;
    const std::vector<Held> holders = what_holds(session.job, view.shot.before, item);
    heading(ui, "Still holds it", width);
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
        ImGui::Dummy({width, row.h + ui.sizes.gap});
    }
}

} // namespace

void draw_about(Ui& ui, View& view, Desk& desk, const Box& box) {
    Scroll& scroll = desk.panel[std::size_t(Panel::about)];
    const ItemId item = view.picked;
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
        if (!map[item].caution.empty()) {
            space(ui.sizes.pad * 0.5F);
            framed(ui, map[item].caution, Mark::caution, packed(ui.theme.caution), width);
        }
        space(ui.sizes.pad * 0.5F);
        paragraph("Before this step", packed(ui.theme.text_soft), ui.fonts.text, width);
        paragraph(condition_of(session.job, view.shot.before, item), packed(ui.theme.text), ui.fonts.strong, width);
        if (!map.is_task(item))
            write_holders(ui, view, item, width);
        heading(ui, "Stated", width);
        for (const Fact& fact : facts_of(map, item)) {
            paragraph(fact.name, packed(ui.theme.text_soft), ui.fonts.text, width);
            paragraph(fact.value, packed(ui.theme.text), fact.stated ? ui.fonts.strong : ui.fonts.text, width);
            space(ui.sizes.pad * 0.6F);
        }
    }
    end_scroll(ui, "about", box, scroll);
}

} // namespace boltwalk
