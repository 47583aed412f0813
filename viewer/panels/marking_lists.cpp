// The lists of the room where a model is marked up: nodes, proposals, findings.
#include <algorithm>

#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/marking_room.hpp"

namespace boltwalk {

namespace {

Mark mark_of(MarkKind kind) {
    switch (kind) {
    case MarkKind::part:
        return Mark::drawing;
    case MarkKind::fastener:
        return Mark::bolt;
    case MarkKind::task:
    case MarkKind::group:
        return Mark::words;
    default:
        return Mark::ahead;
    }
}

bool is_picked(const Marking& marking, std::int32_t node) {
    return std::find(marking.picked.begin(), marking.picked.end(), node) != marking.picked.end();
}

std::string proposal_words(const Marking& marking, const Proposal& p) {
    std::string text = fmt::format("{}: {}", printable(marking.map.nodes[std::size_t(p.node)].name), spoken(p.kind));
    if (p.drive)
        text += ", " + p.drive->name;
    text += fmt::format(" ({})", spoken(p.sureness));
    return text;
}

void draw_nodes(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    const float h = ui.sizes.target;
    const float w = width_of(ui, "Pick all");
    text_field(ui, window.desk, "mark.find", "part of a name", {box.x, box.y, box.w - w - ui.sizes.gap, h},
               room.search);
    const std::vector<std::int32_t> found = nodes_named(marking, room.search);
    if (button(ui, "mark.all", "Pick all", {box.right() - w, box.y, w, h}, {.enabled = !found.empty()})) {
        // What only holds others is picked by itself: with them, no key would fit all.
        marking.picked = found;
        const auto is_empty = [&](std::int32_t n) { return marking.map.nodes[std::size_t(n)].mesh < 0; };
        if (!std::all_of(found.begin(), found.end(), is_empty))
            std::erase_if(marking.picked, is_empty);
    }
    const Box rest{box.x, box.y + h + ui.sizes.gap, box.w, box.h - h - ui.sizes.gap};
    Scroll& scroll = room.lists[0];
    const float width = begin_scroll(ui, "mark.nodes", rest, scroll);
    std::size_t key = std::hash<std::string>{}(room.search) + marking.done * 31;
    draw_rows(
        ui, room.rows[0], width, key, found.size(),
        [&](std::size_t i) { return printable(label_of(marking, found[i])); },
        [&](std::size_t i, const Box& row) {
            const std::int32_t node = found[i];
            const std::string name = printable(marking.map.nodes[std::size_t(node)].name);
            if (list_row(ui, "mark.node." + name, printable(label_of(marking, node)), row,
                         mark_of(kind_of(marking, node)), packed(ui.theme.text), is_picked(marking, node)))
                pick_node(marking, node, room.several || ImGui::GetIO().KeyShift || ImGui::GetIO().KeyCtrl);
        });
    end_scroll(ui, "mark.nodes", scroll);
}

void draw_proposals(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    const std::vector<std::size_t> open = open_proposals(marking);
    Scroll& scroll = room.lists[1];
    const float width = begin_scroll(ui, "mark.proposals", box, scroll);
    paragraph(open.empty()
                  ? "Nothing is proposed, or all of it was answered. What has neither flats nor a key is never "
                    "proposed: pick it and say what it is."
                  : "Estimated from shapes alone. Each is yours to confirm.",
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    draw_rows(
        ui, room.rows[1], width, marking.done, open.size(),
        [&](std::size_t i) { return proposal_words(marking, marking.proposals.list[open[i]]); },
        [&](std::size_t i, const Box& row) {
            const Proposal& p = marking.proposals.list[open[i]];
            if (list_row(ui, "mark.proposal." + p.id, proposal_words(marking, p), row,
                         p.sureness == Sureness::fits_table   ? Mark::bolt
                         : p.sureness == Sureness::looks_like ? Mark::doubt
                                                              : Mark::note,
                         packed(ui.theme.text), is_picked(marking, p.node)))
                pick_node(marking, p.node, room.several || ImGui::GetIO().KeyShift || ImGui::GetIO().KeyCtrl);
        });
    end_scroll(ui, "mark.proposals", scroll);
}

void draw_mark_findings(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    Scroll& scroll = room.lists[2];
    const float width = begin_scroll(ui, "mark.findings", box, scroll);
    paragraph("By what is stated alone, as boltwalk check --no-estimates has it. What the shapes say against it, "
              "boltwalk check adds.",
              packed(ui.theme.text_soft), ui.fonts.text, width);
    space(ui.sizes.pad);
    if (marking.findings.empty())
        paragraph("Nothing found. That says only that the map does not contradict itself.", packed(ui.theme.text),
                  ui.fonts.text, width);
    const auto words = [&](std::size_t i) {
        const Finding& f = marking.findings[i];
        std::string text = on_screen(f.what);
        if (!f.nodes.empty())
            text = printable(f.nodes.front()) + ": " + text;
        const std::string remedy = remedy_here(marking, f);
        return text + (remedy.empty() ? "" : "\n" + on_screen(remedy));
    };
    draw_rows(ui, room.rows[2], width, marking.done, marking.findings.size(), words,
              [&](std::size_t i, const Box& row) {
                  const Finding& f = marking.findings[i];
                  if (!list_row(ui, fmt::format("mark.finding.{}", i + 1), words(i), row, mark_of(f.weight),
                                colour_of(ui, f.weight), false))
                      return;
                  marking.picked.clear();
                  for (const std::string& name : f.nodes)
                      for (const std::int32_t node : nodes_named(marking, name))
                          if (marking.map.nodes[std::size_t(node)].name == name)
                              pick_node(marking, node, true);
              });
    end_scroll(ui, "mark.findings", scroll);
}

} // namespace

void draw_mark_list(Window& window, MarkTab tab, const Box& box) {
    plate(window.ui, box);
    const Box inside = box.inset(window.ui.sizes.pad);
    if (tab == MarkTab::nodes)
        draw_nodes(window, inside);
    else if (tab == MarkTab::proposals)
        draw_proposals(window, inside);
    else
        draw_mark_findings(window, inside);
}

} // namespace boltwalk
