// The lists: steps, findings, items by name.
#include <algorithm>
#include <array>
#include <fmt/format.h>

#include "core/map/values.hpp"
#include "viewer/panels/facts.hpp"
#include "viewer/panels/frames.hpp"

namespace boltwalk {

namespace {

const char* word_of(Weight weight) {
    switch (weight) {
    case Weight::fault:
        return "Fault";
    case Weight::doubt:
        return "Doubt";
    case Weight::note:
        return "Note";
    }
    return "";
}

std::string finding_words(const Finding& finding) {
    return fmt::format("{}: {}", word_of(finding.weight), on_screen(finding.what));
}

float mark_column(const Ui& ui) {
    return ui.sizes.text * 1.5F;
}

} // namespace

Mark mark_of(Weight weight) {
    return weight == Weight::fault ? Mark::fault : weight == Weight::doubt ? Mark::doubt : Mark::note;
}

ImU32 colour_of(const Ui& ui, Weight weight) {
    return packed(weight == Weight::fault ? ui.theme.fault : weight == Weight::doubt ? ui.theme.doubt : ui.theme.note);
}

float row_height(const Ui& ui, std::string_view text, float width) {
    const float words = height_of(text, ui.fonts.text, width - mark_column(ui) - 1.5F * ui.sizes.pad);
    return std::max(ui.sizes.target, words + ui.sizes.pad);
}

bool list_row(Ui& ui, std::string_view id, std::string_view text, const Box& box, Mark mark, ImU32 mark_colour,
              bool on) {
    const ImVec2 after = ImGui::GetCursorScreenPos();
    const bool pressed = button(ui, id, "", box, {.look = Rank::row, .on = on, .role = "row"});
    ui.book.back().label = text;
    ImDrawList* list = ImGui::GetWindowDrawList();
    const float size = ImGui::GetFontSize(), column = mark_column(ui), sign = size * 0.7F;
    ImFont* font = on ? ui.fonts.strong : ui.fonts.text;
    const float wrap = box.w - column - 1.5F * ui.sizes.pad;
    const float height = height_of(text, ui.fonts.text, wrap);
    const float y = box.y + (box.h - height) * 0.5F;
    draw_mark(list, mark, {box.x + ui.sizes.pad * 0.5F + (column - sign) * 0.3F, y + (size - sign) * 0.5F, sign, sign},
              mark_colour, std::max(1.5F, ui.sizes.line), packed(ui.theme.panel));
    // Strong letters run wider: a row that would then break differently stays in plain ones.
    if (on && height_of(text, font, wrap) > height + 1)
        font = ui.fonts.text;
    const std::string lines = broken(text, font, wrap);
    list->AddText(font, size, {box.x + ui.sizes.pad * 0.5F + column, y}, packed(ui.theme.text), lines.data(),
                  lines.data() + lines.size(), wrap + 1);
    ImGui::SetCursorScreenPos(after);
    return pressed;
}

void draw_steps(Ui& ui, View& view, Desk& desk, const Box& box) {
    const auto& cards = view.back ? view.session->refit_cards : view.session->strip_cards;
    Scroll& scroll = desk.panel[std::size_t(Panel::steps)];
    const float width = begin_scroll(ui, "steps", box, scroll);
    const auto words = [&](std::size_t i) { return fmt::format("{}  {}", i + 1, cards[i].headline); };
    Desk::Rows& rows = desk.rows[std::size_t(Panel::steps)];
    draw_rows(
        ui, rows, width, std::size_t(view.sessions) * 2 + (view.back ? 1 : 0), cards.size(), words,
        [&](std::size_t i, const Box& row) {
            const bool done = is_done(view, i);
            const Mark mark = i == view.at ? Mark::now : done ? Mark::done : Mark::ahead;
            const ImU32 colour = packed(i == view.at ? ui.theme.accent : done ? ui.theme.done : ui.theme.panel_edge);
            if (list_row(ui, fmt::format("step.{}", i + 1), words(i), row, mark, colour, i == view.at) &&
                is_walking(view))
                go_to(view, i);
        });
    if (cards.empty())
        paragraph(view.back ? "No steps on the way back." : "No steps: nothing is stated that comes out.",
                  packed(ui.theme.text), ui.fonts.text, width);
    const float seen = ImGui::GetWindowHeight();
    if ((desk.shown_step != view.at || desk.shown_back != view.back) && !cards.empty() && scroll.contents > 0) {
        const std::size_t row = std::min(view.at, cards.size() - 1);
        if (rows.tops[row] < scroll.at || rows.tops[row + 1] > scroll.at + seen)
            scroll.want = std::max(0.0F, (rows.tops[row] + rows.tops[row + 1] - seen) * 0.5F);
        desk.shown_step = view.at;
        desk.shown_back = view.back;
    }
    end_scroll(ui, "steps", scroll);
}

void draw_findings(Ui& ui, View& view, Desk& desk, const Box& box) {
    const auto& findings = view.session->findings;
    Scroll& scroll = desk.panel[std::size_t(Panel::findings)];
    const float width = begin_scroll(ui, "findings", box, scroll);
    std::array<int, 3> counts{};
    for (const Finding& finding : findings)
        ++counts[std::size_t(finding.weight)];
    const auto plural = [](int n, const char* word) { return fmt::format("{} {}{}", n, word, n == 1 ? "" : "s"); };
    paragraph(findings.empty() ? "Nothing found. That says only that the map does not contradict itself."
                               : fmt::format("{}, {}, {}", plural(counts[0], "fault"), plural(counts[1], "doubt"),
                                             plural(counts[2], "note")),
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    const auto words = [&](std::size_t i) {
        std::string text = finding_words(findings[i]);
        if (int(i) == desk.open_finding) {
            for (const std::string* more : {&findings[i].why, &findings[i].remedy})
                if (!more->empty())
                    text += fmt::format("\n{}", on_screen(*more));
            for (const std::string& node : findings[i].nodes)
                text += fmt::format("\nAt: {}", printable(node));
        }
        return text;
    };
    const std::size_t key = std::size_t(view.sessions) * 100000 + std::size_t(desk.open_finding + 1);
    draw_rows(ui, desk.rows[std::size_t(Panel::findings)], width, key, findings.size(), words,
              [&](std::size_t i, const Box& row) {
                  const Finding& finding = findings[i];
                  if (!list_row(ui, fmt::format("finding.{}", i + 1), words(i), row, mark_of(finding.weight),
                                colour_of(ui, finding.weight), int(i) == desk.open_finding))
                      return;
                  desk.open_finding = int(i);
                  view.pointed.clear();
                  if (finding.nodes.empty())
                      return;
                  go_to_node(view, finding.nodes.front());
                  for (const std::string& node : finding.nodes)
                      if (const ItemId item = find_item(view.session->map, node))
                          view.pointed.push_back(item);
              });
    // After them, for who walks has no business there; by touch there is no F7.
    if (!findings.empty()) {
        space(ui.sizes.pad);
        paragraph("Whoever keeps this map mends them in the room for marking up.", packed(ui.theme.text_soft),
                  ui.fonts.text, width);
        space(ui.sizes.pad * 0.5F);
        const ImVec2 from = ImGui::GetCursorScreenPos();
        Flow flow = flow_here(width);
        const char* mend = "Mark it up";
        if (button(ui, "findings.mark", mend,
                   flow.next(std::min(width, width_of(ui, mend)), ui.sizes.target, ui.sizes.gap)))
            enter_marking(view);
        settle(ui, from, flow);
    }
    end_scroll(ui, "findings", scroll);
}

namespace {

/// As it is looked for: small letters, no blanks, and x for the sign between a thread and its length.
std::string looked_for(std::string_view text) {
    const std::string small = lower_case(text);
    static constexpr std::string_view TIMES = "×";
    std::string result;
    for (std::size_t i = 0; i < small.size();) {
        const bool times = std::string_view(small).substr(i).starts_with(TIMES);
        if (times)
            result += 'x';
        else if (small[i] != ' ')
            result += small[i];
        i += times ? TIMES.size() : 1;
    }
    return result;
}

/// By its name, its title, or its size and tool.
bool answers_to(const Map& map, ItemId id, const std::string& wanted) {
    if (looked_for(map[id].name).find(wanted) != std::string::npos ||
        looked_for(caption_of(map, id)).find(wanted) != std::string::npos)
        return true;
    if (!map.is_fastener(id))
        return false;
    const Fastener& fastener = map.fastener(id);
    return looked_for(size_of(fastener)).find(wanted) != std::string::npos ||
           looked_for(tool_for(fastener.drive)).find(wanted) != std::string::npos;
}

} // namespace

/// Sizes are looked for, and so they are shown.
static std::string found_words(const Map& map, ItemId id) {
    return map.is_fastener(id) ? caption_of(map, id) + "\n" + size_of(map.fastener(id)) : caption_of(map, id);
}

void draw_find(Ui& ui, View& view, Desk& desk, const Box& rest) {
    Scroll& scroll = desk.panel[std::size_t(Panel::find)];
    const Map& map = view.session->map;
    const std::string wanted = looked_for(view.search);
    std::vector<ItemId> found;
    std::size_t key = std::hash<std::string>{}(wanted) + std::size_t(view.sessions);
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const ItemId id{std::int32_t(i)};
        if (wanted.empty() || answers_to(map, id, wanted))
            found.push_back(id);
    }
    const float width = begin_scroll(ui, "find", rest, scroll);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    text_field(ui, desk, "find.field", "name, size or tool", {at.x, at.y, width, ui.sizes.target}, view.search);
    ImGui::SetCursorScreenPos(at);
    take_room(width, ui.sizes.target + ui.sizes.gap);
    if (found.empty())
        paragraph("Nothing of that name, size or tool.", packed(ui.theme.text), ui.fonts.text, width);
    draw_rows(
        ui, desk.rows[std::size_t(Panel::find)], width, key, found.size(),
        [&](std::size_t i) { return found_words(map, found[i]); },
        [&](std::size_t i, const Box& row) {
            const ItemId id = found[i];
            const Mark mark = map.is_fastener(id) ? Mark::bolt : map.is_part(id) ? Mark::drawing : Mark::words;
            if (list_row(ui, "found." + map[id].name, found_words(map, id), row, mark, packed(ui.theme.text),
                         view.picked == id)) {
                pick_item(view, id);
                look_at(view, {id});
                view.by_hand = true;
            }
        });
    end_scroll(ui, "find", scroll);
}

} // namespace boltwalk
