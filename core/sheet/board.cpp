// The bolt board: each fastener taken out at its own outline and number, true to scale; and labels for bags.
#include <algorithm>

#include <fmt/format.h>

#include "core/sheet/parts.hpp"

namespace boltwalk::inside {

namespace {

constexpr double rule_length = mm(100);
constexpr double cell_gap = mm(5);
constexpr double least_cell = mm(24);
/// cos and sin of 60 degrees, for hexagons.
constexpr double half = 0.5, high = 0.8660254037844386;

/// Measure it, and the paper is proven or not.
void print_rule(Pages& pages) {
    const double x = pages.left(), y = pages.y() + mm(5);
    pages.rule(x, y, x + rule_length, y, 0.7);
    for (int i = 0; i <= 100; ++i)
        pages.rule(x + mm(i), y, x + mm(i), y - (i % 10 == 0 ? mm(4) : i % 5 == 0 ? mm(3) : mm(1.8)), 0.4);
    pages.text(Ink::small, "100 mm: lay a ruler on it. If it is not, print again at 100 %, not fitted to the page.",
               x + rule_length + mm(5), pages.right() - x - rule_length - mm(5));
    pages.move_to(y + mm(4));
}

struct Cell {
    ItemId item;
    int number = 0;
    Outline outline;
    double width = 0, height = 0; ///< of the drawing
    bool too_large = false;       ///< for the page: told, not drawn
    std::string size;
};

/// End on: a nut, a washer.
void draw_end_on(Pages& pages, const Outline& o, double x, double y) {
    const double radius = mm(o.across) / 2;
    const bool dashed = o.across_from == Source::model;
    if (o.sides == 6) {
        std::vector<double> points;
        for (const auto& [c, s] :
             {std::pair{1.0, 0.0}, {half, high}, {-half, high}, {-1.0, 0.0}, {-half, -high}, {half, -high}}) {
            points.push_back(x + c * radius);
            points.push_back(y + s * radius);
        }
        pages.polygon(points, 1, dashed);
    } else if (radius > 0) {
        pages.circle(x, y, radius, 1, dashed);
    }
    if (o.shank_width > 0)
        pages.circle(x, y, mm(o.shank_width) / 2, 1, o.width_from == Source::model);
}

/// Lying on its side, head up, its top at y.
void draw_lying(Pages& pages, const Outline& o, double x, double y) {
    const double head = mm(o.head_height), shank = mm(o.shank_length);
    if (o.head_height > 0) {
        const double across = mm(o.across);
        const bool dashed = o.across_from == Source::model || o.height_from == Source::model;
        pages.rectangle(x - across / 2, y, across, head, 1, dashed);
        if (o.sides == 6)
            for (const double side : {-1.0, 1.0}) // a hexagon from its flat: its edges stand at half its width
                pages.rule(x + side * across / 4, y, x + side * across / 4, y + head, 0.5);
    }
    if (o.shank_width > 0 && o.shank_length > 0) {
        const double width = mm(o.shank_width);
        pages.rectangle(x - width / 2, y + head, width, shank, 1,
                        o.width_from == Source::model || o.length_from == Source::model);
    }
}

/// What is flatter than wide lies on its face.
bool is_end_on(const Outline& o) {
    return o.shank_length <= 0 && o.head_height <= o.across;
}

std::vector<Cell> cells_of(const Printed& printed, std::size_t step, double most_width, double most_height) {
    const Map& map = *printed.job.map;
    std::vector<Cell> cells;
    for (std::size_t i = 0; i < printed.boarded.size(); ++i) {
        const ItemId item = printed.boarded[i];
        const auto f = static_cast<std::size_t>(map[item].detail);
        if (printed.out_at[f] != step)
            continue;
        Cell cell;
        cell.item = item;
        cell.number = printed.number_of[f];
        cell.size = size_of(map.fasteners[f]);
        cell.outline = printed.outlines[i].value_or(Outline{});
        const Outline& o = cell.outline;
        cell.width = std::max({mm(o.across), mm(o.shank_width), least_cell});
        cell.height = is_end_on(o) ? std::max(mm(o.across), mm(o.shank_width)) : mm(o.head_height + o.shank_length);
        cell.too_large = !(cell.width <= most_width && cell.height <= most_height);
        if (cell.too_large) {
            cell.width = 2 * least_cell;
            cell.height = 0;
        }
        cells.push_back(std::move(cell));
    }
    return cells;
}

void draw_cell(Pages& pages, const Printed& printed, const Cell& cell, double x, double y) {
    const double middle = x + cell.width / 2;
    pages.line_of_text(Ink::headline, std::to_string(cell.number), x, y, cell.width, Align::centre);
    const double from = y + pages.line_height(Ink::headline) + mm(1);
    if (cell.too_large)
        pages.line_of_text(Ink::tiny, "larger than the page", x, from, cell.width, Align::centre);
    else if (is_end_on(cell.outline))
        draw_end_on(pages, cell.outline, middle, from + cell.height / 2);
    else
        draw_lying(pages, cell.outline, middle, from);
    const double below = from + cell.height + mm(1);
    pages.line_of_text(Ink::tiny, printable(cell.size), x, below, cell.width, Align::centre);
    const Fastener& fastener = printed.job.map->fastener(cell.item);
    const char* extra = fastener.renew ? "not used again" : fastener.own_place ? "its own hole" : "";
    pages.line_of_text(Ink::tiny, extra, x, below + pages.line_height(Ink::tiny), cell.width, Align::centre);
}

} // namespace

void print_board(Pages& pages, const Printed& printed) {
    const Map& map = *printed.job.map;
    pages.text(Ink::title, "Bolt board");
    pages.text(Ink::small, "Glue it on card. Each fastener is laid on its outline, or pushed through it, as it comes "
                           "out. Dashed: as the model has it, an estimate; the size that is written is the map's.");
    pages.skip(mm(2));
    print_rule(pages);
    const double words = pages.line_height(Ink::headline) + mm(1) + mm(1) + 2 * pages.line_height(Ink::tiny) + mm(3);
    std::size_t step = 0;
    for (std::size_t s = 1; s <= printed.strip.steps.size(); ++s) {
        const std::vector<Cell> cells = cells_of(printed, s, pages.width(), pages.bottom() - pages.top() - mm(45));
        for (std::size_t i = 0; i < cells.size();) {
            // As many as stand in one row.
            std::size_t end = i;
            double width = 0, height = 0;
            while (end < cells.size() && (end == i || width + cell_gap + cells[end].width <= pages.width())) {
                width += (end == i ? 0 : cell_gap) + cells[end].width;
                height = std::max(height, cells[end].height);
                ++end;
            }
            const double heading = step == s ? 0 : pages.line_height(Ink::strong) + mm(1.5);
            if (pages.y() + heading + height + words > pages.bottom()) {
                pages.new_page();
                print_rule(pages);
            }
            if (step != s) {
                const Item& item = map[cells.front().item];
                pages.text(Ink::strong, printable(fmt::format("Step {}: {}", s, item.title)));
                pages.skip(mm(1.5));
                step = s;
            }
            double x = pages.left();
            for (; i < end; ++i) {
                draw_cell(pages, printed, cells[i], x, pages.y());
                x += cells[i].width + cell_gap;
            }
            pages.skip(height + words);
        }
    }
}

void print_labels(Pages& pages, const Printed& printed) {
    const Map& map = *printed.job.map;
    constexpr int columns = 2;
    constexpr double label_height = mm(36);
    const double width = (pages.width() - mm(4)) / columns;
    pages.text(Ink::title, "Labels for bags");
    pages.text(Ink::small, "Cut along the lines; one for each bag, with what is in it and where it goes back.");
    pages.skip(mm(3));
    std::size_t column = 0;
    double y = pages.y();
    for (std::size_t s = 0; s < printed.strip.steps.size(); ++s) {
        std::vector<ItemId> items;
        for (const ItemId item : printed.boarded)
            if (printed.out_at[static_cast<std::size_t>(map[item].detail)] == s + 1)
                items.push_back(item);
        if (items.empty())
            continue;
        if (column == 0) {
            pages.need(label_height + mm(3));
            y = pages.y();
        }
        const double x = pages.left() + (width + mm(4)) * static_cast<double>(column);
        pages.rectangle(x, y, width, label_height, 0.6, true);
        pages.move_to(y + mm(2));
        pages.line_of_text(Ink::figure, fmt::format("Out {}", s + 1), x + mm(3), pages.y());
        std::size_t back = 0;
        for (const ItemId item : items)
            back = std::max(back, printed.back_at[static_cast<std::size_t>(map[item].detail)]);
        if (back > 0)
            pages.line_of_text(Ink::figure, fmt::format("Back {}", back), x, pages.y(), width - mm(3), Align::right);
        const int first = printed.number_of[static_cast<std::size_t>(map[items.front()].detail)];
        const int last = printed.number_of[static_cast<std::size_t>(map[items.back()].detail)];
        pages.line_of_text(
            Ink::small, first == last ? fmt::format("board {}", first) : fmt::format("board {} to {}", first, last), x,
            pages.y() + pages.line_height(Ink::figure) - pages.line_height(Ink::small) - mm(0.7), width, Align::centre);
        pages.skip(pages.line_height(Ink::figure) + mm(1));
        const double inner = width - mm(6), floor = y + label_height - mm(2);
        const auto line = [&](Ink ink, const std::string& words) {
            if (words.empty() || pages.y() + pages.line_height(ink) > floor)
                return;
            pages.line_of_text(ink, printable(words), x + mm(3), pages.y(), inner);
            pages.skip(pages.line_height(ink) + 1);
        };
        // A long title takes two lines; what is longer still is cut there.
        const std::string title = printable(map[items.front()].title);
        const double room = 2 * pages.line_height(Ink::headline) + 1;
        if (pages.height_of([&] { pages.text(Ink::headline, title, x + mm(3), inner); }) <= room)
            pages.text(Ink::headline, title, x + mm(3), inner);
        else
            line(Ink::headline, title);
        pages.skip(1);
        const StepCard card = card_of(printed.job, printed.strip, s);
        std::vector<std::pair<Ink, std::string>> words;
        for (const Hardware& hardware : card.hardware) {
            words.emplace_back(Ink::strong, fmt::format("{} × {} {}", hardware.count, hardware.kind, hardware.size));
            words.emplace_back(Ink::small, hardware.extra);
            std::vector<std::string> torques; // members of a group may have each their own
            for (const ItemId item : hardware.items)
                if (const auto& torque = map.fastener(item).torque)
                    if (const std::string one = torque_in_words(*torque, printed.settings.unit);
                        std::find(torques.begin(), torques.end(), one) == torques.end())
                        torques.push_back(one);
            for (const std::string& one : torques)
                words.emplace_back(Ink::body, "back to " + one);
        }
        std::erase_if(words, [](const auto& one) { return one.second.empty(); });
        for (std::size_t i = 0; i < words.size(); ++i) {
            const bool is_last = i + 1 == words.size();
            // The last line that fits says that there is more.
            if (!is_last &&
                pages.y() + pages.line_height(words[i].first) + pages.line_height(words[i + 1].first) > floor) {
                line(Ink::small, fmt::format("and more: see step {}", s + 1));
                break;
            }
            line(words[i].first, words[i].second);
        }
        column = (column + 1) % columns;
        if (column == 0)
            pages.move_to(y + label_height + mm(3));
    }
}

} // namespace boltwalk::inside
