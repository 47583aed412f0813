// What is out and where it is: the tray, what is not torqued, and the log itself.
#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <utility>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

/// Tray, what is not torqued, log: one panel leads to the next.
constexpr std::array<Panel, 5> TABS{Panel::tray, Panel::untorqued, Panel::record, Panel::in_way, Panel::needed};

Box draw_tabs(Ui& ui, View& view, Desk& desk, const Box& box) {
    Flow flow(box);
    // What is in the way is held in the drawing: its panel stays narrow, and where it is low, one button leads to the
    // rest.
    const bool one_way = view.panel == Panel::in_way && box.h < 6 * ui.sizes.target;
    for (const Panel panel : TABS)
        if ((!one_way || panel == Panel::tray) &&
            button(ui, "tab." + std::string(title_of(panel)), title_of(panel),
                   flow.next(std::min(box.w, width_of(ui, title_of(panel))), ui.sizes.target, ui.sizes.gap),
                   {.on = view.panel == panel}) &&
            view.panel != panel)
            open_panel(view, desk, panel);
    const float top = flow.bottom + ui.sizes.pad;
    return {box.x, top, box.w, std::max(0.0F, box.bottom() - top)};
}

// ---- the tray

double thickness_mm(const PieceKind& kind) {
    const Reading<Thread> thread = read_thread(kind.thread);
    return thread ? thread->diameter_mm : 0;
}

bool has_outline(const Count& count) {
    return count.kind.length_mm > 0 && thickness_mm(count.kind) > 0;
}

/// How many pixels a millimetre of all that lies in the tray is: true size where the longest has room.
float tray_scale(const Desk& desk, const std::vector<Count>& ledger, float width) {
    double longest_mm = 0;
    for (const Count& count : ledger)
        if (has_outline(count))
            longest_mm = std::max(longest_mm, count.kind.length_mm + thickness_mm(count.kind));
    const auto wanted = float(desk.screen.px_per_mm);
    return longest_mm <= 0 ? wanted : std::min(wanted, width / float(longest_mm));
}

/// Head and shank from the side. The head's shape is schematic.
void draw_outline(const Ui& ui, const Count& count, float scale) {
    if (!has_outline(count))
        return;
    const float d = float(thickness_mm(count.kind)) * scale, length = float(count.kind.length_mm) * scale;
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float height = d * 1.7F, middle = at.y + height * 0.5F, head = d * 0.7F;
    ImDrawList* list = ImGui::GetWindowDrawList();
    const ImU32 ink = packed(ui.theme.text), fill = packed(ui.theme.button);
    const float line = std::max(1.5F, ui.sizes.line);
    const auto rect = [&](float x, float half, float to) {
        list->AddRectFilled({x, middle - half}, {to, middle + half}, fill);
        list->AddRect({x, middle - half}, {to, middle + half}, ink, 0, 0, line);
    };
    const bool headless = count.kind.what == FastenerKind::stud;
    const float from = at.x + (headless ? 0 : head);
    rect(from, d * 0.5F, from + length);
    if (!headless)
        rect(at.x, d * 0.85F, from);
    float x = from + length - d * 0.35F;
    while (x > from + length * 0.35F) {
        list->AddLine({x, middle - d * 0.5F}, {x - d * 0.2F, middle + d * 0.5F}, ink, line * 0.7F);
        x -= std::max(4.0F, d * 0.35F);
    }
    take_room(head + length, height);
    space(ui.sizes.pad * 0.3F);
}

std::string where_words(const Count& c) {
    std::string words = print_balance(c, true) + "; " + print_places(c, true);
    if (c.strangers > 0)
        words += fmt::format("; ANOTHER KIND IN {}", c.strangers);
    return words;
}

void write_kind(Ui& ui, View& view, const Count& count, std::size_t index, float scale, float width) {
    if (index > 0) { // its outline belongs to the words below it
        const ImVec2 from = ImGui::GetCursorScreenPos();
        ImGui::GetWindowDrawList()->AddLine(from, {from.x + width, from.y}, packed(ui.theme.panel_edge), ui.sizes.line);
        space(ui.sizes.pad);
    }
    draw_outline(ui, count, scale);
    if (count.in_tray > 0)
        paragraph(fmt::format("{} in the tray", count.in_tray), packed(ui.theme.text), ui.fonts.heading, width);
    const std::string words = print_kind(count) + "\n" + where_words(count);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const Box row{at.x, at.y, width, row_height(ui, words, width)};
    const bool on = std::find(count.tray.begin(), count.tray.end(), view.picked) != count.tray.end();
    const Mark mark = count.missing > 0 ? Mark::caution : Mark::bolt;
    if (list_row(ui, fmt::format("tray.{}", index + 1), words, row, mark, packed(ui.theme.text), on) &&
        !count.tray.empty()) { // its first, again: the next
        const auto now = std::find(count.tray.begin(), count.tray.end(), view.picked);
        view.picked = now == count.tray.end() || now + 1 == count.tray.end() ? count.tray.front() : *(now + 1);
        view.pointed = count.tray;
    }
    ImGui::SetCursorScreenPos(at);
    take_room(width, row.h + ui.sizes.pad);
}

} // namespace

bool has_tabs(Panel panel) {
    return panel != Panel::in_way && std::find(TABS.begin(), TABS.end(), panel) != TABS.end();
}

float warning_height(const Ui& ui, const View& view, float width) {
    const std::string warning = view.keeper ? view.keeper->warning() : std::string();
    if (warning.empty())
        return 0;
    const float sign = ImGui::GetFontSize() * 1.1F;
    return height_of(printable(warning), ui.fonts.strong, width - sign - 4 * ui.sizes.pad) + 1.4F * ui.sizes.pad;
}

void draw_warning(Ui& ui, const View& view, const Box& box) {
    if (box.empty())
        return;
    ImGui::GetWindowDrawList()->AddRectFilled({box.x, box.y}, {box.right(), box.bottom()}, packed(ui.theme.panel));
    ImGui::SetCursorScreenPos({box.x, box.y});
    framed(ui, printable(view.keeper->warning()), Mark::caution, packed(ui.theme.fault), box.w);
}

void draw_tray(Ui& ui, View& view, Desk& desk, const Box& all) {
    const Box box = draw_tabs(ui, view, desk, all);
    Scroll& scroll = desk.panel[std::size_t(Panel::tray)];
    const float width = begin_scroll(ui, "tray", box, scroll);
    const std::vector<Count>& ledger = view.done.ledger;
    const float scale = tray_scale(desk, ledger, width);
    if (ledger.empty())
        paragraph("Nothing is taken out yet.", packed(ui.theme.text), ui.fonts.text, width);
    else
        paragraph(scale >= float(desk.screen.px_per_mm) - 1e-4F ? "Drawn at true size, heads schematic."
                                                                : "Drawn to one scale, heads schematic.",
                  packed(ui.theme.text_soft), ui.fonts.text, width);
    space(ui.sizes.pad);
    std::vector<std::uint8_t> written(ledger.size(), 0);
    for (std::size_t i = 0; i < ledger.size(); ++i) {
        if (written[i] != 0)
            continue;
        // Look-alikes stand side by side, so that the shorter one is seen to be the shorter one.
        const bool alike = !ledger[i].look_alikes.empty();
        if (alike)
            framed(ui, "These look alike and are not the same. Keep them apart.", Mark::caution,
                   packed(ui.theme.caution), width);
        write_kind(ui, view, ledger[i], i, scale, width);
        written[i] = 1;
        for (const std::size_t other : ledger[i].look_alikes)
            if (written[other] == 0) {
                write_kind(ui, view, ledger[other], other, scale, width);
                written[other] = 1;
            }
        if (alike)
            section(ui, "", width);
    }
    end_scroll(ui, "tray", scroll);
}

void draw_untorqued(Ui& ui, View& view, Desk& desk, const Box& all) {
    const Box box = draw_tabs(ui, view, desk, all);
    Scroll& scroll = desk.panel[std::size_t(Panel::untorqued)];
    const Map& map = view.session->map;
    const std::vector<Untorqued>& list = view.done.untorqued;
    const float width = begin_scroll(ui, "untorqued", box, scroll);
    if (list.empty())
        paragraph(view.done.now.begun ? "Everything that was undone has its final torque logged."
                                      : "Nothing is logged as undone.",
                  packed(ui.theme.text), ui.fonts.text, width);
    else
        paragraph(fmt::format("Without a paint stroke: {}", list.size()), packed(ui.theme.text), ui.fonts.strong,
                  width);
    if (const std::size_t tight = none_stated(list); tight > 0)
        paragraph(fmt::format("{} tight, with no torque stated for {}. Nothing is open there by the log; who has a "
                              "figure logs it: press one, then About.",
                              tight == list.size() ? (tight == 1 ? "It is" : "All are")
                                                   : fmt::format("{} of them {}", tight, tight == 1 ? "is" : "are"),
                              tight == 1 ? "it" : "them"),
                  packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    const auto words = [&](std::size_t i) {
        const Fastener& f = map.fastener(list[i].item);
        return fmt::format("{}\n{}; {}", caption_of(map, list[i].item),
                           f.torque ? torque_in_words(*f.torque, view.unit) : "torque not stated", list[i].standing);
    };
    const std::size_t key =
        std::size_t(view.sessions) * 100000 + std::size_t(view.done.news) * 4 + std::size_t(view.unit);
    draw_rows(ui, desk.rows[std::size_t(Panel::untorqued)], width, key, list.size(), words,
              [&](std::size_t i, const Box& row) {
                  if (!list_row(ui, "untorqued." + map[list[i].item].name, words(i), row, Mark::ahead,
                                packed(ui.theme.text), view.picked == list[i].item))
                      return;
                  view.picked = list[i].item;
                  look_at(view, {list[i].item});
                  view.by_hand = true;
              });
    end_scroll(ui, "untorqued", scroll);
}

void draw_record(Ui& ui, View& view, Desk& desk, const Box& all) {
    Box box = draw_tabs(ui, view, desk, all);
    const auto& entries = view.keeper->entries();
    const std::vector<std::uint8_t>& struck = view.done.now.struck;
    const bool chosen = desk.open_entry < entries.size() && struck[desk.open_entry] == 0;
    const std::string label =
        chosen ? fmt::format("Strike out {}", entries[desk.open_entry].number) : std::string("Strike out");
    Flow flow(box);
    if (button(ui, "record.strike", label,
               flow.next(std::min(box.w, width_of(ui, label)), ui.sizes.target, ui.sizes.gap), {.enabled = chosen})) {
        strike_out(view, desk.open_entry);
        desk.open_entry = std::string::npos;
    }
    const char* const copy = "Save a copy";
    if (view.keeper->can_copy() &&
        button(ui, "record.copy", copy, flow.next(std::min(box.w, width_of(ui, copy)), ui.sizes.target, ui.sizes.gap)))
        view.keeper->copy_out();
    const float used = flow.bottom - box.y + ui.sizes.pad;
    box.h -= used;
    box.y += used;
    Scroll& scroll = desk.panel[std::size_t(Panel::record)];
    const float width = begin_scroll(ui, "record", box, scroll);
    const std::string where = view.keeper->where();
    paragraph(where.empty() ? "In memory only." : printable(where), packed(ui.theme.text_soft), ui.fonts.text, width);
    if (entries.empty())
        paragraph("No entry yet.", packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    const std::size_t count = entries.size(), unstored = view.keeper->unstored();
    const auto words = [&](std::size_t i) {
        const std::size_t e = count - 1 - i;
        return printable(print_entry(entries[e])) + (struck[e] != 0 ? "  [struck out]" : "");
    };
    draw_rows(ui, desk.rows[std::size_t(Panel::record)], width,
              std::size_t(view.sessions) * 100000 + std::size_t(view.done.news), count, words,
              [&](std::size_t i, const Box& row) {
                  const std::size_t e = count - 1 - i;
                  const Mark mark = struck[e] != 0                 ? Mark::minus
                                    : e + unstored >= count        ? Mark::caution
                                    : entries[e].deed == Deed::did ? Mark::done
                                                                   : Mark::note;
                  if (list_row(ui, fmt::format("entry.{}", e + 1), words(i), row, mark, packed(ui.theme.text),
                               desk.open_entry == e))
                      desk.open_entry = e;
              });
    end_scroll(ui, "record", scroll);
}

void draw_in_way(Ui& ui, View& view, Desk& desk, const Box& all) {
    const Box box = draw_tabs(ui, view, desk, all);
    Scroll& scroll = desk.panel[std::size_t(Panel::in_way)];
    const float width = begin_scroll(ui, "in_way", box, scroll);
    const auto row = [&] {
        const ImVec2 at = ImGui::GetCursorScreenPos();
        take_room(width, ui.sizes.target + ui.sizes.gap);
        return Box{at.x, at.y, width, ui.sizes.target};
    };
    const auto at_row = [&](const auto& draw) {
        const Box place = row();
        const ImVec2 after = ImGui::GetCursorScreenPos();
        draw(place);
        ImGui::SetCursorScreenPos(after);
    };
    paragraph("Something was in the way that the map does not foresee, and came off. It is then to go back.",
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    bool entered = false;
    at_row([&](const Box& place) {
        entered = text_field(ui, desk, "in_way.field", "a cable tie round the hose", place, view.thing);
    });
    at_row([&](const Box& place) {
        entered = button(ui, "in_way.enter", "This was in the way", place, {.enabled = !view.thing.empty()}) || entered;
    });
    if (entered && !view.thing.empty()) {
        enter_in_way(view, {}, view.thing);
        view.thing.clear();
    }
    const Map& map = view.session->map;
    // A name may be longer than the panel is wide: it stands in lines of its own, not on the button.
    const bool is_item = view.picked && !map.is_task(view.picked);
    if (is_item || !view.scenery.empty()) {
        paragraph(is_item ? caption_of(map, view.picked) : printable(view.scenery), packed(ui.theme.text),
                  ui.fonts.text, width);
        at_row([&](const Box& place) {
            if (!button(ui, is_item ? "in_way.picked" : "in_way.scenery", "It was this one", place))
                return;
            if (is_item)
                enter_in_way(view, view.picked, {});
            else
                enter_scenery_in_way(view, std::exchange(view.scenery, {}));
        });
    } else {
        paragraph("Or hold it in the drawing.", packed(ui.theme.text), ui.fonts.text, width);
    }
    section(ui, "Taken away", width);
    for (const Extra& extra : view.done.now.extras) {
        paragraph(printable(extra.name), packed(ui.theme.text), ui.fonts.strong, width);
        if (extra.back) {
            paragraph("back in its place", packed(ui.theme.text_soft), ui.fonts.text, width);
            continue;
        }
        at_row([&](const Box& place) {
            if (!button(ui, "in_way.back." + extra.key, "Back in its place", place))
                return;
            OpenDuty open;
            open.duty = Duty::put_back;
            open.key = extra.key;
            open.what = extra.name;
            enter_settled(view, open);
        });
    }
    if (view.done.now.extras.empty())
        paragraph("Nothing so far.", packed(ui.theme.text), ui.fonts.text, width);
    end_scroll(ui, "in_way", scroll);
}

std::string need_words(const Need& need) {
    return printable(need.name) + "\n" + printable(amount_in_words(need));
}

bool need_row(Ui& ui, const Need& need, const Box& row) {
    return list_row(ui, "need." + need.name, need_words(need), row, need.ticked ? Mark::done : Mark::ahead,
                    packed(need.ticked ? ui.theme.done : ui.theme.text), false) &&
           !need.ticked;
}

void draw_needed(Ui& ui, View& view, Desk& desk, const Box& all) {
    const Box box = draw_tabs(ui, view, desk, all);
    Scroll& scroll = desk.panel[std::size_t(Panel::needed)];
    const std::vector<Need> needs = needs_of(view.session->job, view.done.now);
    const float width = begin_scroll(ui, "needed", box, scroll);
    const auto missing = std::count_if(needs.begin(), needs.end(), [](const Need& need) { return !need.ticked; });
    paragraph(needs.empty()  ? "The map states no tool and no part to have."
              : missing == 0 ? "Everything that the map states is ticked off."
                             : fmt::format("To have before the first bolt; {} not ticked off:", missing),
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    const auto words = [&](std::size_t i) { return need_words(needs[i]); };
    std::string ticked;
    draw_rows(ui, desk.rows[std::size_t(Panel::needed)], width,
              std::size_t(view.sessions) * 100000 + std::size_t(view.done.news), needs.size(), words,
              [&](std::size_t i, const Box& row) {
                  if (need_row(ui, needs[i], row))
                      ticked = needs[i].name;
              });
    if (!ticked.empty())
        enter_tick(view, ticked);
    end_scroll(ui, "needed", scroll);
}

} // namespace boltwalk
