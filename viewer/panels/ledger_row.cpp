// The row that is always in sight: the kinds of the step and what looks like them, all that is out, what is not
// torqued.
#include <algorithm>
#include <fmt/format.h>

#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

/// A kind in the row.
struct Cell {
    const Count* count = nullptr;
    std::string whole, brief; ///< "M8 × 60: 2 out = 2 in tray", "M8 × 60: 2 in tray"
    Mark mark = Mark::bolt;
};

/// The first that has room; the last, where none has.
std::string longest(const Ui& ui, const std::vector<std::string>& texts, float width) {
    for (const std::string& text : texts)
        if (width_of(ui, text) <= width)
            return text;
    return texts.back();
}

std::vector<std::string> balance_words(const View& view, const Count& total) {
    if (!view.done.now.begun)
        return {"Nothing is taken out yet", "Nothing out", "0 out", "0"};
    const std::string out = print_balance(total, true);
    return {out + "; " + print_places(total, true), out,
            fmt::format("{} out, {} in tray", total.came_out, total.in_tray), fmt::format("{} out", total.came_out),
            std::to_string(total.came_out)};
}

std::vector<Cell> cells_of(const View& view) {
    std::vector<Cell> cells;
    const std::vector<KindNow> kinds = kinds_now(view);
    for (const KindNow& kind : kinds) {
        const Count& count = view.done.ledger[kind.count];
        std::string name = print_kind_briefly(count);
        const auto same = std::count_if(kinds.begin(), kinds.end(), [&](const KindNow& other) {
            return print_kind_briefly(view.done.ledger[other.count]) == name;
        });
        if (same > 1) // a grade or head alone tells them apart
            name = print_kind(count);
        if (kind.like)
            name.insert(0, "alike: ");
        name = printable(name);
        std::string more;
        if (count.fresh > 0)
            more += fmt::format("; new {}", count.fresh);
        if (count.strangers > 0)
            more += fmt::format("; ANOTHER KIND IN {}", count.strangers);
        const std::string where = print_whereabouts(count);
        cells.push_back({&count, fmt::format("{}: {}{}", name, print_balance(count, true), more),
                         fmt::format("{}: {}{}", name, where.empty() ? "0 out" : where, more),
                         kind.alike || count.missing > 0 ? Mark::caution : Mark::bolt});
    }
    return cells;
}

/// What of the cells is drawn, and what stands in the rest of the row.
struct Row {
    std::size_t cells = 0;
    bool whole = true;
    std::string total;
};

/// As many kinds as there is room for, then as many words.
Row fit_row(const Ui& ui, const std::vector<Cell>& cells, const std::vector<std::string>& totals, float width) {
    const auto width_of_cells = [&](std::size_t count, bool whole) {
        float w = 0;
        for (std::size_t i = 0; i < count; ++i)
            w += width_of(ui, whole ? cells[i].whole : cells[i].brief, {.mark = cells[i].mark}) + ui.sizes.gap;
        return w;
    };
    const auto room = [&](const std::string& total) { return width_of(ui, total, {.mark = Mark::bolt}); };
    for (std::size_t count = cells.size(); count > 0; --count) {
        const std::size_t left_out = cells.size() - count;
        for (const bool whole : {true, false})
            for (const std::string& one : totals) {
                const std::string total =
                    left_out > 0 ? fmt::format("{} more kind{}; {}", left_out, left_out == 1 ? "" : "s", one) : one;
                if (width_of_cells(count, whole) + room(total) <= width)
                    return {count, whole, total};
            }
    }
    // In the hand there is room for one thing: the step's own kind, if it has one.
    std::vector<std::string> alone;
    if (!cells.empty() && room(totals.front()) > width)
        alone = {cells.front().brief + " · all " + totals.back(), cells.front().brief};
    alone.insert(alone.end(), totals.begin(), totals.end());
    for (std::string& one : alone)
        if (room(one) <= width)
            return {0, true, one};
    return {0, true, alone.back()};
}

void show_in_tray(View& view, Desk& desk, const Count& count) {
    if (view.panel != Panel::tray)
        open_panel(view, desk, Panel::tray);
    if (!count.tray.empty())
        view.picked = count.tray.front();
    view.pointed = count.tray;
}

} // namespace

void draw_ledger_row(Ui& ui, View& view, Desk& desk, const Layout& layout) {
    const Box& row = layout.ledger;
    if (row.empty() || !view.keeper)
        return;
    const float gap = ui.sizes.gap;
    const float undo_width = width_of(ui, "Undo");
    if (button(ui, "undo", "Undo", {row.x, row.y, undo_width, row.h}, {.enabled = can_undo(view)}))
        undo(view);
    float right = row.right();
    if (view.back || view.done.now.state.refit) {
        const std::size_t tight = none_stated(view.done.untorqued), open = view.done.untorqued.size() - tight;
        // Once all that has a figure is done, the rest is no work left over.
        const bool only_tight = open == 0 && tight > 0;
        const std::string count = std::to_string(only_tight ? tight : open);
        const std::string label =
            longest(ui,
                    only_tight ? std::vector<std::string>{"No torque stated " + count, "Unstated " + count}
                               : std::vector<std::string>{"Not torqued " + count, "Open " + count},
                    row.w * 0.3F);
        const float w = width_of(ui, label);
        if (button(ui, "untorqued", label, {right - w, row.y, w, row.h}, {.on = view.panel == Panel::untorqued}))
            open_panel(view, desk, Panel::untorqued);
        right -= w + gap;
    }
    Box middle{row.x + undo_width + gap, row.y, right - row.x - undo_width - gap, row.h};
    const Count total = total_of(view.done.ledger);
    std::vector<std::string> totals = balance_words(view, total);
    // From 3 m what was entered last stands here, and not on the card.
    if (layout.shape == Shape::words && view.done.stored && !view.done.said.empty()) {
        const std::string stored = "Stored. " + printable(view.done.said);
        std::vector<std::string> both;
        both.reserve(totals.size() + 1);
        for (const std::string& one : totals)
            both.push_back(fmt::format("{} · {}", stored, one));
        both.push_back(stored);
        totals.insert(totals.begin(), both.begin(), both.end());
    }
    const std::vector<Cell> cells = cells_of(view);
    const Row fitted = fit_row(ui, cells, totals, middle.w);
    // A look-alike that has no room is told of by its sign.
    const bool left_out_alike = std::any_of(cells.begin() + std::ptrdiff_t(fitted.cells), cells.end(),
                                            [](const Cell& cell) { return cell.mark == Mark::caution; });
    for (std::size_t i = 0; i < fitted.cells; ++i) {
        const Cell& cell = cells[i];
        const std::string& words = fitted.whole ? cell.whole : cell.brief;
        const float w = width_of(ui, words, {.mark = cell.mark});
        if (button(ui, fmt::format("ledger.{}", i + 1), words, {middle.x, row.y, w, row.h}, {.mark = cell.mark}))
            show_in_tray(view, desk, *cell.count);
        middle.x += w + gap;
        middle.w -= w + gap;
    }
    Mark mark = total.missing > 0 || left_out_alike ? Mark::caution : Mark::bolt;
    if (mark == Mark::bolt && width_of(ui, fitted.total, {.mark = mark}) > middle.w)
        mark = Mark::none; // rather the number than its sign
    if (button(ui, "ledger", fitted.total, middle, {.mark = mark, .on = view.panel == Panel::tray}))
        open_panel(view, desk, Panel::tray);
}

} // namespace boltwalk
