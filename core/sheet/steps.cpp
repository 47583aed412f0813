// The way out and the way back: a step is a number, words and boxes on the left, its picture on the right.
#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "core/sheet/parts.hpp"

namespace boltwalk::inside {

namespace {

constexpr double number_width = mm(13);
constexpr double picture_width = mm(66);
constexpr double gap = mm(4);
constexpr double photo_height = mm(58); ///< at most: one held upright would take the page
constexpr std::size_t most_photos = 3;  ///< under the picture they still stand on one page
constexpr double box_side = mm(4.5);

struct Column {
    double x = 0, width = 0;
};

/// The tightening that an item belongs to; null: none.
const Tightening* tightening_of(const Printed& printed, ItemId item) {
    for (const Tightening& one : printed.tightenings)
        if (std::find(one.items.begin(), one.items.end(), item) != one.items.end())
            return &one;
    return nullptr;
}

/// Cells of one height, from left to right and then in the next row; on a new page where the old one is full.
class Cells {
public:
    /// `pitch` from one to the next, of which the last `apart` may lie beyond the column.
    Cells(Pages& pages, const Column& column, double top, double pitch, double apart, double row)
        : pages_(pages), column_(column), pitch_(pitch), apart_(apart), row_(row), x_(column.x), y_(top) {}

    /// Where the next one stands.
    std::pair<double, double> next() {
        if (begun_)
            x_ += pitch_;
        if (begun_ && x_ + pitch_ - apart_ > column_.x + column_.width) {
            x_ = column_.x;
            y_ += row_;
        }
        begun_ = true;
        if (x_ <= column_.x) {
            pages_.move_to(y_);
            pages_.need(row_);
            y_ = pages_.y();
        }
        return {x_, y_};
    }
    void end() { pages_.move_to(y_ + row_); }

private:
    Pages& pages_;
    Column column_;
    double pitch_, apart_, row_, x_, y_;
    bool begun_ = false;
};

/// Under its box: its number on the bolt board.
void place_on_board(Pages& pages, const Printed& printed, ItemId item, double x, double y) {
    const Map& map = *printed.job.map;
    const int number = map.is_fastener(item) ? printed.number_of[static_cast<std::size_t>(map[item].detail)] : 0;
    if (number > 0)
        pages.line_of_text(Ink::tiny, std::to_string(number), x - mm(1.5), y + box_side + 1, box_side + mm(3),
                           Align::centre);
}

/// A box for each; several rows where there are many.
void boxes(Pages& pages, const Printed& printed, const std::vector<ItemId>& items, const Column& column) {
    const double pitch = box_side + mm(3.5), row = box_side + pages.line_height(Ink::tiny) + mm(1.2);
    Cells cells(pages, column, pages.y(), pitch, pitch - box_side, row);
    for (const ItemId item : items) {
        const auto [x, y] = cells.next();
        pages.box(x, y, box_side);
        place_on_board(pages, printed, item, x, y);
    }
    cells.end();
}

/// On the way back what gets its final torque has room for the reading: a box a pass, then a line. `items` belong to
/// one tightening, or to none.
void readings(Pages& pages, const Printed& printed, std::vector<ItemId> items, const Tightening* how,
              const Column& column) {
    int passes = 1;
    const bool in_turn = how != nullptr && how->items.size() > 1;
    if (how != nullptr) {
        const auto place = [&](ItemId item) { return std::find(how->items.begin(), how->items.end(), item); };
        std::stable_sort(items.begin(), items.end(), [&](ItemId a, ItemId b) { return place(a) < place(b); });
        passes = std::max(static_cast<int>(how->rounds.size()), 1);
        std::string words;
        // The joint's bolts may stand under several lines of hardware: their numbers say whose turn it is.
        if (in_turn)
            words = fmt::format("By the numbers before the boxes ({}).", how->order_words);
        for (int pass = 0; pass < passes && passes > 1; ++pass) {
            TorqueSpec one = *how->torque;
            one.stages = {how->rounds[static_cast<std::size_t>(pass)].stage};
            words +=
                fmt::format("{}{}", pass == 0 ? " A box a pass: " : ", ", print_torque(one, printed.settings.unit));
        }
        pages.text(Ink::small, printable(words), column.x, column.width);
    }
    // Many passes get smaller boxes, so that all of them stand in the column.
    const double line_width = mm(17), room = column.width - mm(6) - line_width;
    const double pitch_of_box = std::min(box_side + mm(1), room / passes), side = pitch_of_box - mm(1);
    const double boxes_width = pitch_of_box * passes;
    const double pitch = mm(6) + boxes_width + line_width + mm(3);
    const double row = box_side + pages.line_height(Ink::tiny) + mm(1.2);
    Cells cells(pages, column, pages.y() + 1, pitch, mm(3), row);
    for (const ItemId item : items) {
        const auto [x, y] = cells.next();
        if (in_turn)
            pages.line_of_text(Ink::strong, std::to_string(printed.turns[static_cast<std::size_t>(item.index)]), x,
                               y + mm(0.5), mm(5), Align::right);
        place_on_board(pages, printed, item, x + mm(6) + (pitch_of_box - mm(1) - box_side) / 2, y);
        for (int pass = 0; pass < passes; ++pass)
            pages.box(x + mm(6) + pitch_of_box * pass, y + box_side - side, side);
        pages.rule(x + mm(6) + boxes_width, y + box_side, x + mm(6) + boxes_width + line_width, y + box_side, 0.5);
    }
    cells.end();
}

/// The same for a line of hardware, a joint at a time.
void readings_by_joint(Pages& pages, const Printed& printed, const Hardware& line, const Column& column) {
    std::vector<std::pair<const Tightening*, std::vector<ItemId>>> joints;
    for (const ItemId item : line.items) {
        const Tightening* how = tightening_of(printed, item);
        const auto same =
            std::find_if(joints.begin(), joints.end(), [&](const auto& joint) { return joint.first == how; });
        (same == joints.end() ? joints.emplace_back(how, std::vector<ItemId>{}) : *same).second.push_back(item);
    }
    for (auto& [how, items] : joints)
        readings(pages, printed, std::move(items), how, column);
}

void hardware(Pages& pages, const Printed& printed, const Step& step, const Hardware& line, const Column& column) {
    const Map& map = *printed.job.map;
    std::string what = fmt::format("{} × {}{}{}", line.count, line.kind, line.size.empty() ? "" : " ", line.size);
    for (const std::string& more : {line.grade, line.tool})
        what += more.empty() ? "" : ", " + more;
    pages.text(Ink::strong, printable(what), column.x, column.width);
    if (step.verb == Verb::tighten && !line.torque.empty()) {
        const Fastener& fastener = map.fastener(line.items.front());
        if (fastener.torque) {
            pages.text(Ink::figure, print_torque(*fastener.torque, printed.settings.unit), column.x, column.width);
            if (printed.settings.unit != fastener.torque->unit)
                pages.text(Ink::small, printable("the manual's own: " + fastener.torque->text), column.x, column.width);
        } else {
            pages.text(Ink::strong, line.torque, column.x, column.width);
        }
    }
    pages.text(Ink::small, printable(line.extra), column.x, column.width);
    pages.skip(2);
    if (step.verb == Verb::tighten && !line.torque.empty())
        readings_by_joint(pages, printed, line, column);
    else
        boxes(pages, printed, line.items, column);
}

void words_of_step(Pages& pages, const Printed& printed, const Step& step, const StepCard& card, const Column& column) {
    pages.text(Ink::headline, printable(card.headline), column.x, column.width);
    std::string how;
    const auto add = [&](const std::string& text) {
        if (!text.empty())
            how += (how.empty() ? "" : "  ·  ") + text;
    };
    add(card.from);
    add(card.people > 1 ? fmt::format("{} people", card.people) : "");
    add(card.vehicle.empty() ? "" : "vehicle: " + card.vehicle);
    pages.text(Ink::body, printable(how), column.x, column.width);
    pages.skip(2);
    for (const std::string& caution : card.cautions)
        print_caution(pages, printable(caution), column.x, column.width);
    for (const Hardware& line : card.hardware)
        hardware(pages, printed, step, line, column);
    if (card.hardware.empty()) {
        pages.skip(2);
        const double y = pages.y();
        pages.box(column.x, y, box_side);
        pages.move_to(y + mm(0.4));
        pages.text(Ink::body, card.gate ? "confirmed" : "done", column.x + box_side + mm(2), mm(30));
        pages.move_to(y + box_side + mm(1.5));
    }
    for (const std::string& note : card.notes)
        pages.text(Ink::small, printable(note), column.x, column.width);
    if (!card.frees.empty())
        pages.text(Ink::small, printable("Free then: " + card.frees), column.x, column.width);
    if (!card.why.empty())
        pages.text(Ink::small, printable(why_in_words(card)), column.x, column.width);
    if (!card.source.empty())
        pages.text(Ink::small, printable("Source: " + card.source), column.x, column.width);
}

/// The step's photographs under its picture, each as wide as it or as high as may be. Where they end.
double print_photos(Pages& pages, const Printed& printed, const StepCard& card, double y) {
    std::size_t left = card.photos.size();
    for (const std::int32_t photo : card.photos) {
        const auto& print = printed.photos[static_cast<std::size_t>(photo)];
        if (!print || card.photos.size() - left >= most_photos)
            continue;
        const double share = std::min(picture_width / print->width_px, photo_height / print->height_px);
        const double width = share * print->width_px, height = share * print->height_px;
        pages.picture(*print, pages.right() - picture_width + (picture_width - width) / 2, y, width, height);
        y += height + mm(2);
        --left;
    }
    if (left == 0)
        return y;
    const double before = pages.y();
    pages.move_to(y);
    pages.text(Ink::small, fmt::format("{} more in the map.", left), pages.right() - picture_width, picture_width);
    y = pages.y();
    pages.move_to(before);
    return y;
}

} // namespace

void print_way(Pages& pages, const Printed& printed, bool refit) {
    const Plan& plan = refit ? printed.refit : printed.strip;
    pages.text(Ink::title, refit ? "The way back" : "The way out");
    pages.text(Ink::small, refit ? "A box for each that is done; beside a torque, room for the reading. Numbers before "
                                   "a box: whose turn it is, as on the screen. Small numbers: its place on the bolt "
                                   "board."
                                 : "A box for each that is out. Small numbers: its place on the bolt board.");
    pages.skip(mm(2));
    for (std::size_t i = 0; i < plan.steps.size(); ++i) {
        const StepCard card = card_of(printed.job, plan, i);
        const auto& pictures = printed.pictures[refit ? 1 : 0];
        const SheetPicture* picture = i < pictures.size() && pictures[i] ? &*pictures[i] : nullptr;
        Column column{pages.left() + number_width, pages.width() - number_width};
        const bool beside = picture != nullptr || !card.photos.empty();
        if (beside)
            column.width -= picture_width + gap;
        pages.together([&] {
            const double y = pages.y();
            pages.rule(pages.left(), y, pages.right(), y, 0.6);
            pages.line_of_text(Ink::figure, std::to_string(i + 1), pages.left(), y + mm(1.2));
            pages.move_to(y + mm(2));
            const int page = pages.page();
            double end = 0;
            if (picture != nullptr) { // first, for the words of a long step go on over the page's end
                const double height = picture_width * picture->height_px / picture->width_px;
                pages.picture(*picture, pages.right() - picture_width, y + mm(2), picture_width, height);
                end = y + mm(2) + height;
            }
            if (!card.photos.empty())
                end = print_photos(pages, printed, card, picture != nullptr ? end + mm(2) : y + mm(2));
            words_of_step(pages, printed, plan.steps[i], card, column);
            end = pages.page() == page ? std::max(end, pages.y()) : pages.y();
            pages.move_to(end + mm(3));
        });
    }
}

} // namespace boltwalk::inside
