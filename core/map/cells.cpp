#include "core/map/cells.hpp"

#include <string_view>

namespace boltwalk {

namespace {

/// What a spreadsheet takes for a formula, or for the sign that it is none (OWASP, "CSV Injection").
bool needs_apostrophe(std::string_view text) {
    constexpr std::string_view first = "=+-@\t\r\n'";
    if (text.empty())
        return false;
    if (first.find(text.front()) != std::string_view::npos)
        return true;
    // The full-width forms of = + - @ (U+FF1D, U+FF0B, U+FF0D, U+FF20), which some take for the same.
    return text.starts_with("\xEF\xBC\x9D") || text.starts_with("\xEF\xBC\x8B") || text.starts_with("\xEF\xBC\x8D") ||
           text.starts_with("\xEF\xBC\xA0");
}

} // namespace

void put_cell(std::string& out, const std::string& text, char delimiter) {
    const bool marked = needs_apostrophe(text);
    // A space at either end is quoted, too: readers drop it otherwise.
    const bool quoted = text.find_first_of("\"\r\n") != std::string::npos ||
                        text.find(delimiter) != std::string::npos ||
                        (!text.empty() && (text.front() == ' ' || text.back() == ' '));
    if (quoted)
        out += '"';
    if (marked)
        out += '\'';
    for (const char c : text) {
        out += c;
        if (quoted && c == '"')
            out += c;
    }
    if (quoted)
        out += '"';
}

void strip_apostrophe(std::string& text) {
    if (!text.empty() && text.front() == '\'')
        text.erase(0, 1);
}

} // namespace boltwalk
