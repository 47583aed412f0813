// CSV as spreadsheets save it. libcsv takes the cells apart; what comes before that is here.
#include <algorithm>
#include <array>
#include <memory>

#include <csv.h>
#include <fmt/format.h>

#include "core/map/cells.hpp"
#include "core/map/utf8.hpp"
#include "core/map/values.hpp"
#include "core/table/table.hpp"

namespace boltwalk {

namespace {

/// Windows-1252, which spreadsheets save and call Latin-1: ISO 8859-1 but for 0x80 to 0x9F (the WHATWG's Encoding
/// Standard, index windows-1252; from memory). Bytes that it leaves open stay what ISO 8859-1 makes of them.
std::string from_latin_1(std::string_view bytes) {
    constexpr std::array<std::uint32_t, 32> high{0x20AC, 0x81,   0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
                                                 0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0x8D,   0x017D, 0x8F,
                                                 0x90,   0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
                                                 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0x9D,   0x017E, 0x0178};
    std::string out;
    for (const char c : bytes) {
        const auto byte = static_cast<unsigned char>(c);
        append_utf8(out, byte >= 0x80 && byte < 0xA0 ? high[byte - 0x80U] : byte);
    }
    return out;
}

/// What separates the cells: of comma, semicolon and tab the one that the first line has most of, outside quotes.
char delimiter_of(std::string_view text) {
    constexpr std::array<char, 3> all{',', ';', '\t'};
    std::array<std::size_t, 3> count{};
    bool quoted = false;
    for (const char c : text) {
        if (c == '"')
            quoted = !quoted;
        if (quoted)
            continue;
        if ((c == '\n' || c == '\r') && count != std::array<std::size_t, 3>{})
            break;
        for (std::size_t i = 0; i < all.size(); ++i)
            count[i] += c == all[i] ? 1U : 0U;
    }
    return all[static_cast<std::size_t>(std::max_element(count.begin(), count.end()) - count.begin())];
}

struct Reader {
    Table table;
    TableRow row;
    bool any = false; ///< of this row holds something
    int line = 1;     ///< where the row begins
    int breaks = 0;   ///< in its cells

    void cell(std::string_view text) {
        breaks += static_cast<int>(std::count(text.begin(), text.end(), '\n'));
        std::string plain(trimmed(text));
        strip_apostrophe(plain);
        any = any || !plain.empty();
        row.cells.push_back(std::move(plain));
    }
    void end_row() {
        row.line = line;
        line += 1 + breaks;
        breaks = 0;
        if (any && table.heading.empty())
            table.heading = std::move(row.cells);
        else if (any)
            table.rows.push_back(std::move(row));
        row = {};
        any = false;
    }
};

struct ParserCloser {
    void operator()(csv_parser* parser) const {
        csv_free(parser);
        delete parser;
    }
};

} // namespace

tl::expected<Table, std::string> read_table(std::string_view bytes) {
    if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF"))
        return tl::unexpected(std::string("this is UTF-16: save it as CSV in UTF-8"));
    if (bytes.starts_with("\xEF\xBB\xBF"))
        bytes.remove_prefix(3);
    if (bytes.find('\0') != std::string_view::npos)
        return tl::unexpected(std::string("this is no text: save the spreadsheet as CSV"));
    std::string text = is_utf8(bytes) ? std::string(bytes) : from_latin_1(bytes);
    // One kind of line end, so that a line counts once; an old spreadsheet ends lines with a CR alone.
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '\r')
            plain += text[i];
        else if (i + 1 == text.size() || text[i + 1] != '\n')
            plain += '\n';
    }
    Reader reader;
    // Some spreadsheets write what separates the cells before everything else: "sep=;".
    if (plain.size() > 5 && lower_case(plain.substr(0, 4)) == "sep=" && plain[5] == '\n') {
        plain.erase(0, 6);
        ++reader.line;
    }
    std::unique_ptr<csv_parser, ParserCloser> parser(new csv_parser);
    csv_init(parser.get(), CSV_STRICT | CSV_STRICT_FINI | CSV_REPALL_NL);
    csv_set_delim(parser.get(), static_cast<unsigned char>(delimiter_of(plain)));
    const auto on_cell = [](void* cell, std::size_t size, void* to) {
        static_cast<Reader*>(to)->cell({static_cast<const char*>(cell), size});
    };
    const auto on_row = [](int, void* to) { static_cast<Reader*>(to)->end_row(); };
    const bool whole = csv_parse(parser.get(), plain.data(), plain.size(), on_cell, on_row, &reader) == plain.size() &&
                       csv_fini(parser.get(), on_cell, on_row, &reader) == 0;
    if (!whole)
        return tl::unexpected(
            fmt::format("line {}: a quote is opened and not closed, or stands in the middle of a cell", reader.line));
    if (reader.table.heading.empty())
        return tl::unexpected(
            std::string("there is nothing in it: the first line should name the columns, `name` among them"));
    return std::move(reader.table);
}

} // namespace boltwalk
