// Pages of a PDF and a pen that runs down them. Points (1/72 inch) from the top left corner; mm() makes them.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "core/sheet/sheet.hpp"

namespace boltwalk {

constexpr double mm(double millimetres) {
    return millimetres * 72 / 25.4;
}

enum class Ink : std::uint8_t {
    title,    ///< the sheet's
    heading,  ///< a chapter's
    headline, ///< a step's
    figure,   ///< the torque of a step: the largest figure on it
    body,
    strong, ///< body in bold
    small,
    tiny, ///< under a box
};

enum class Align : std::uint8_t { left, centre, right };

class Pages {
public:
    /// `total` is how many pages there will be, for "3 of 12"; 0: not known yet, nothing is kept.
    Pages(Paper, std::string running_title, int total);
    ~Pages();
    Pages(const Pages&) = delete;
    Pages& operator=(const Pages&) = delete;

    double left() const { return left_; }
    double right() const { return right_; }
    double width() const { return right_ - left_; }
    double bottom() const { return bottom_; }
    double top() const { return top_; }
    double y() const { return y_; }
    void move_to(double y) { y_ = y; }
    void skip(double points) { y_ += points; }
    int page() const { return page_; }

    void new_page();
    /// Drawn at the top of every new page from here on: a table's head. Empty: nothing.
    void head_pages_with(std::function<void()> head) { head_ = std::move(head); }
    /// A new page, unless this much is left on the present one.
    void need(double height);
    /// How far the pen runs when `draw` draws: nothing is drawn, and no page ends in it.
    double height_of(const std::function<void()>& draw);
    /// Keeps what `draw` draws on one page, where it fits on one.
    void together(const std::function<void()>& draw);

    /// Wrapped text at the pen, which moves below it. What a PDF cannot hold was made printable before.
    void text(Ink, std::string_view, double x, double width, Align = Align::left);
    void text(Ink ink, std::string_view words) { text(ink, words, left_, width()); }
    /// One line, not wrapped, its top at `y`; the pen stays.
    void line_of_text(Ink, std::string_view, double x, double y, double width = 0, Align = Align::left);
    double line_height(Ink) const;

    /// An empty box to tick, its top left corner there.
    void box(double x, double y, double side);
    void rule(double x1, double y1, double x2, double y2, double thickness = 0.5);
    void rectangle(double x, double y, double width, double height, double thickness, bool dashed = false);
    void circle(double x, double y, double radius, double thickness, bool dashed = false);
    /// Closed: `points` are x, y, x, y, ...
    void polygon(const std::vector<double>& points, double thickness, bool dashed = false);
    void bar(double x, double y, double width, double height, double grey);
    void picture(const SheetPicture&, double x, double y, double width, double height);

    /// Ends the last page; the file's bytes. `title` goes into the file's own description.
    tl::expected<std::string, std::string> finish();

private:
    struct Inside;
    std::unique_ptr<Inside> inside_;
    double left_ = 0, right_ = 0, top_ = 0, bottom_ = 0, y_ = 0;
    int page_ = 1;
    bool dry_ = false;
    std::function<void()> head_;
    void running_words();
};

/// Draws twice, first to count the pages.
tl::expected<std::string, std::string> print_pages(Paper, const std::string& running_title,
                                                   const std::function<void(Pages&)>& draw);

} // namespace boltwalk
