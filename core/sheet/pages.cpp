#include "core/sheet/pages.hpp"

#include <array>
#include <utility>
#include <vector>

#include <cairo/cairo-pdf.h>
#include <fmt/format.h>
#include <pango/pangocairo.h>

namespace boltwalk {

namespace {

struct Letter {
    double size_pt;
    PangoWeight weight;
};

/// By Ink. Read at the bench, about half a metre away: capitals of 2.4 mm and more for what is read while working.
constexpr std::array<Letter, 8> letters{{{20, PANGO_WEIGHT_BOLD},
                                         {14, PANGO_WEIGHT_BOLD},
                                         {11.5, PANGO_WEIGHT_BOLD},
                                         {16, PANGO_WEIGHT_BOLD},
                                         {9.5, PANGO_WEIGHT_NORMAL},
                                         {9.5, PANGO_WEIGHT_BOLD},
                                         {8, PANGO_WEIGHT_NORMAL},
                                         {6, PANGO_WEIGHT_NORMAL}}};

constexpr double a4_width = mm(210), a4_height = mm(297);
constexpr double letter_width = 8.5 * 72, letter_height = 11.0 * 72;
constexpr double margin = mm(13), margin_to_bind = mm(18);
constexpr double foot = mm(8); ///< for the running words

struct LayoutCloser {
    void operator()(PangoLayout* layout) const { g_object_unref(layout); }
};
using Layout = std::unique_ptr<PangoLayout, LayoutCloser>;

cairo_status_t keep(void* out, const unsigned char* bytes, unsigned count) {
    static_cast<std::string*>(out)->append(reinterpret_cast<const char*>(bytes), count);
    return CAIRO_STATUS_SUCCESS;
}

} // namespace

struct Pages::Inside {
    std::string bytes, running_title;
    int total = 0;
    double page_width = 0, page_height = 0;
    cairo_surface_t* surface = nullptr;
    cairo_t* pen = nullptr;

    Layout layout(Ink ink, std::string_view text, double width, Align align) const {
        Layout out(pango_cairo_create_layout(pen));
        PangoContext* context = pango_layout_get_context(out.get());
        pango_context_set_round_glyph_positions(context, FALSE); // paper has no pixels
        pango_cairo_context_set_resolution(context, 72);
        const Letter& letter = letters[static_cast<std::size_t>(ink)];
        PangoFontDescription* font = pango_font_description_from_string("Inter, DejaVu Sans");
        pango_font_description_set_size(font, static_cast<int>(letter.size_pt * PANGO_SCALE));
        pango_font_description_set_weight(font, letter.weight);
        pango_layout_set_font_description(out.get(), font);
        pango_font_description_free(font);
        pango_layout_set_text(out.get(), text.data(), static_cast<int>(text.size()));
        if (width > 0) {
            pango_layout_set_width(out.get(), static_cast<int>(width * PANGO_SCALE));
            pango_layout_set_wrap(out.get(), PANGO_WRAP_WORD_CHAR);
        }
        pango_layout_set_alignment(out.get(), align == Align::left     ? PANGO_ALIGN_LEFT
                                              : align == Align::centre ? PANGO_ALIGN_CENTER
                                                                       : PANGO_ALIGN_RIGHT);
        return out;
    }
    void stroke(double thickness, bool dashed) const {
        const double dash = 2.4;
        cairo_set_line_width(pen, thickness);
        cairo_set_dash(pen, &dash, dashed ? 1 : 0, 0);
        cairo_set_source_rgb(pen, 0, 0, 0);
        cairo_stroke(pen);
    }
};

Pages::Pages(Paper paper, std::string running_title, int total) : inside_(std::make_unique<Inside>()) {
    Inside& in = *inside_;
    in.running_title = std::move(running_title);
    in.total = total;
    in.page_width = paper == Paper::a4 ? a4_width : letter_width;
    in.page_height = paper == Paper::a4 ? a4_height : letter_height;
    in.surface = total > 0 ? cairo_pdf_surface_create_for_stream(keep, &in.bytes, in.page_width, in.page_height)
                           : cairo_pdf_surface_create_for_stream(nullptr, nullptr, in.page_width, in.page_height);
    // The same job gives the same file: an empty time of printing is left out.
    cairo_pdf_surface_set_metadata(in.surface, CAIRO_PDF_METADATA_TITLE, in.running_title.c_str());
    cairo_pdf_surface_set_metadata(in.surface, CAIRO_PDF_METADATA_CREATOR, "Boltwalk");
    cairo_pdf_surface_set_metadata(in.surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
    in.pen = cairo_create(in.surface);
    left_ = margin_to_bind;
    right_ = in.page_width - margin;
    top_ = margin;
    bottom_ = in.page_height - margin - foot;
    y_ = top_;
}

Pages::~Pages() {
    cairo_destroy(inside_->pen);
    cairo_surface_destroy(inside_->surface);
}

void Pages::running_words() {
    const double y = bottom_ + mm(4);
    rule(left_, y, right_, y, 0.4);
    line_of_text(Ink::small, inside_->running_title, left_, y + 3, width() * 0.75);
    const std::string pages =
        inside_->total > 0 ? fmt::format("{} of {}", page_, inside_->total) : std::to_string(page_);
    line_of_text(Ink::small, pages, left_, y + 3, width(), Align::right);
}

void Pages::new_page() {
    if (dry_)
        return;
    running_words();
    cairo_show_page(inside_->pen);
    ++page_;
    y_ = top_;
    if (head_)
        head_();
}

void Pages::need(double height) {
    if (!dry_ && y_ + height > bottom_ && y_ > top_)
        new_page();
}

double Pages::height_of(const std::function<void()>& draw) {
    const bool was = std::exchange(dry_, true);
    const double from = y_;
    draw();
    const double height = y_ - from;
    y_ = from;
    dry_ = was;
    return height;
}

void Pages::together(const std::function<void()>& draw) {
    if (!dry_)
        need(height_of(draw));
    draw();
}

void Pages::text(Ink ink, std::string_view words, double x, double width, Align align) {
    if (words.empty())
        return;
    const Layout layout = inside_->layout(ink, words, width, align);
    int height_units = 0;
    pango_layout_get_size(layout.get(), nullptr, &height_units);
    const double height = static_cast<double>(height_units) / PANGO_SCALE;
    if (dry_ || y_ + height <= bottom_) {
        if (!dry_) {
            cairo_set_source_rgb(inside_->pen, 0, 0, 0);
            cairo_move_to(inside_->pen, x, y_);
            pango_cairo_show_layout(inside_->pen, layout.get());
        }
        y_ += height;
        return;
    }
    // What fits on no page goes on over the next ones, line by line: nothing runs off the paper.
    PangoLayoutIter* at = pango_layout_get_iter(layout.get());
    do {
        PangoRectangle line;
        pango_layout_iter_get_line_extents(at, nullptr, &line);
        const double line_height = static_cast<double>(line.height) / PANGO_SCALE;
        need(line_height);
        const double baseline = static_cast<double>(pango_layout_iter_get_baseline(at) - line.y) / PANGO_SCALE;
        cairo_set_source_rgb(inside_->pen, 0, 0, 0);
        cairo_move_to(inside_->pen, x + static_cast<double>(line.x) / PANGO_SCALE, y_ + baseline);
        pango_cairo_show_layout_line(inside_->pen, pango_layout_iter_get_line_readonly(at));
        y_ += line_height;
    } while (pango_layout_iter_next_line(at) != FALSE);
    pango_layout_iter_free(at);
}

void Pages::line_of_text(Ink ink, std::string_view words, double x, double y, double width, Align align) {
    if (dry_ || words.empty())
        return;
    const Layout layout = inside_->layout(ink, words, width, align);
    if (width > 0) {
        pango_layout_set_height(layout.get(), 0); // one line
        pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    }
    cairo_set_source_rgb(inside_->pen, 0, 0, 0);
    cairo_move_to(inside_->pen, x, y);
    pango_cairo_show_layout(inside_->pen, layout.get());
}

double Pages::line_height(Ink ink) const {
    const Layout layout = inside_->layout(ink, "Hg", 0, Align::left);
    int height = 0;
    pango_layout_get_size(layout.get(), nullptr, &height);
    return static_cast<double>(height) / PANGO_SCALE;
}

void Pages::box(double x, double y, double side) {
    rectangle(x, y, side, side, 0.9);
}

void Pages::rule(double x1, double y1, double x2, double y2, double thickness) {
    if (dry_)
        return;
    cairo_move_to(inside_->pen, x1, y1);
    cairo_line_to(inside_->pen, x2, y2);
    inside_->stroke(thickness, false);
}

void Pages::rectangle(double x, double y, double width, double height, double thickness, bool dashed) {
    if (dry_)
        return;
    cairo_rectangle(inside_->pen, x, y, width, height);
    inside_->stroke(thickness, dashed);
}

void Pages::circle(double x, double y, double radius, double thickness, bool dashed) {
    if (dry_)
        return;
    cairo_new_sub_path(inside_->pen);
    cairo_arc(inside_->pen, x, y, radius, 0, 2 * 3.14159265358979323846);
    inside_->stroke(thickness, dashed);
}

void Pages::polygon(const std::vector<double>& points, double thickness, bool dashed) {
    if (dry_)
        return;
    for (std::size_t i = 0; i + 1 < points.size(); i += 2)
        i == 0 ? cairo_move_to(inside_->pen, points[i], points[i + 1])
               : cairo_line_to(inside_->pen, points[i], points[i + 1]);
    cairo_close_path(inside_->pen);
    inside_->stroke(thickness, dashed);
}

void Pages::bar(double x, double y, double width, double height, double grey) {
    if (dry_)
        return;
    cairo_set_source_rgb(inside_->pen, grey, grey, grey);
    cairo_rectangle(inside_->pen, x, y, width, height);
    cairo_fill(inside_->pen);
}

void Pages::picture(const SheetPicture& picture, double x, double y, double width, double height) {
    if (dry_ || picture.jpeg.empty() || picture.width_px <= 0 || picture.height_px <= 0)
        return;
    // The JPEG goes into the file as it is; the surface beneath it only says how large it is.
    cairo_surface_t* image = cairo_image_surface_create(CAIRO_FORMAT_A1, picture.width_px, picture.height_px);
    auto* bytes = new std::string(picture.jpeg);
    const cairo_status_t status = cairo_surface_set_mime_data(
        image, CAIRO_MIME_TYPE_JPEG, reinterpret_cast<const unsigned char*>(bytes->data()), bytes->size(),
        [](void* held) { delete static_cast<std::string*>(held); }, bytes);
    if (status != CAIRO_STATUS_SUCCESS)
        delete bytes;
    cairo_save(inside_->pen);
    cairo_translate(inside_->pen, x, y);
    cairo_scale(inside_->pen, width / picture.width_px, height / picture.height_px);
    cairo_set_source_surface(inside_->pen, image, 0, 0);
    cairo_paint(inside_->pen);
    cairo_restore(inside_->pen);
    cairo_surface_destroy(image);
    rectangle(x, y, width, height, 0.4);
}

tl::expected<std::string, std::string> Pages::finish() {
    running_words();
    cairo_show_page(inside_->pen);
    cairo_surface_finish(inside_->surface);
    cairo_status_t status = cairo_surface_status(inside_->surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_status(inside_->pen);
    if (status != CAIRO_STATUS_SUCCESS)
        return tl::unexpected(fmt::format("the PDF could not be made: {}", cairo_status_to_string(status)));
    return std::move(inside_->bytes);
}

tl::expected<std::string, std::string> print_pages(Paper paper, const std::string& running_title,
                                                   const std::function<void(Pages&)>& draw) {
    int total = 1;
    {
        Pages counted(paper, running_title, 0);
        draw(counted);
        total = counted.page();
    }
    Pages pages(paper, running_title, total);
    draw(pages);
    return pages.finish();
}

} // namespace boltwalk
