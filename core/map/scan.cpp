#include "core/map/scan.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <locale>
#include <sstream>

#include <fmt/format.h>

#include "core/map/utf8.hpp"

namespace boltwalk {

namespace {

/// Bytes that may stand in a string as they are: printable ASCII but the quote and the backslash.
constexpr std::array<bool, 256> make_plain() {
    std::array<bool, 256> plain{};
    for (std::size_t c = 0x20; c < 0x80; ++c) {
        plain[c] = c != '"' && c != '\\';
    }
    return plain;
}
constexpr std::array<bool, 256> plain = make_plain();

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

int hex_value(char c) {
    if (is_digit(c)) {
        return c - '0';
    }
    if (c >= 'a' && c <= 'f') {
        return c - 'a' + 10;
    }
    if (c >= 'A' && c <= 'F') {
        return c - 'A' + 10;
    }
    return -1;
}

/// Four hexadecimal digits at `at`, or -1.
int hex4(std::string_view text, std::size_t at) {
    if (at + 4 > text.size()) {
        return -1;
    }
    int value = 0;
    for (std::size_t i = 0; i < 4; ++i) {
        const int digit = hex_value(text[at + i]);
        if (digit < 0) {
            return -1;
        }
        value = value * 16 + digit;
    }
    return value;
}

bool is_high_surrogate(int unit) {
    return unit >= 0xd800 && unit < 0xdc00;
}
bool is_low_surrogate(int unit) {
    return unit >= 0xdc00 && unit < 0xe000;
}

/// Whether a well-formed number lies beyond every double. Only the place of its first digit that is not zero matters:
/// below 1e308 all fit; from 1e309 none; between them the digits decide, and the conversion itself is asked.
bool is_beyond_double(std::string_view number);

struct Scanner {
    std::string_view text;
    std::size_t at = 0;
    std::vector<Token> tokens;
    ScanError error;

    bool fail(std::string what) {
        error = {at, std::move(what)};
        return false;
    }

    void skip_space() {
        while (at < text.size() && (text[at] == ' ' || text[at] == '\n' || text[at] == '\r' || text[at] == '\t')) {
            ++at;
        }
    }

    TokenId open(JsonKind kind) {
        tokens.push_back({static_cast<std::uint32_t>(at), 0, 0, kind, false});
        return static_cast<TokenId>(tokens.size() - 1);
    }
    void close(TokenId id) {
        tokens[id].end = static_cast<std::uint32_t>(at);
        tokens[id].next = static_cast<TokenId>(tokens.size());
    }

    bool word(std::string_view expected, JsonKind kind) {
        if (text.substr(at, expected.size()) != expected) {
            return fail("this is no value of JSON");
        }
        const TokenId id = open(kind);
        at += expected.size();
        close(id);
        return true;
    }

    bool escape() {
        ++at;
        if (at >= text.size()) {
            return fail("the text ends within a string");
        }
        if (text[at] != 'u') {
            if (std::string_view("\"\\/bfnrt").find(text[at]) == std::string_view::npos) {
                return fail("this escape is none of JSON");
            }
            ++at;
            return true;
        }
        const int unit = hex4(text, at + 1);
        if (unit < 0) {
            return fail("\\u wants four hexadecimal digits");
        }
        if (is_low_surrogate(unit)) {
            return fail("half of a surrogate pair is no character");
        }
        at += 5;
        if (is_high_surrogate(unit)) {
            if (text.substr(at, 2) != "\\u" || !is_low_surrogate(hex4(text, at + 2))) {
                return fail("half of a surrogate pair is no character");
            }
            at += 6;
        }
        return true;
    }

    bool string() {
        const TokenId id = open(JsonKind::text);
        ++at;
        for (;;) {
            while (at < text.size() && plain[static_cast<unsigned char>(text[at])]) {
                ++at;
            }
            if (at >= text.size()) {
                return fail("the text ends within a string");
            }
            const auto c = static_cast<unsigned char>(text[at]);
            if (c == '"') {
                ++at;
                close(id);
                return true;
            }
            if (c == '\\') {
                tokens[id].escaped = true;
                if (!escape()) {
                    return false;
                }
            } else if (c < 0x20) {
                return fail("a control character stands in a string");
            } else {
                const Utf8 next = decode_utf8(text, at);
                if (!next.valid) {
                    return fail("this is no UTF-8");
                }
                at += next.length;
            }
        }
    }

    bool digits() {
        if (at >= text.size() || !is_digit(text[at])) {
            return fail("a digit is missing");
        }
        while (at < text.size() && is_digit(text[at])) {
            ++at;
        }
        return true;
    }

    bool number() {
        const TokenId id = open(JsonKind::number);
        const std::size_t begin = at;
        if (text[at] == '-') {
            ++at;
        }
        if (text.substr(at, 8) == "Infinity") {
            return fail("Infinity is no number of JSON");
        }
        if (at < text.size() && text[at] == '0') {
            ++at;
        } else if (!digits()) {
            return false;
        }
        if (at < text.size() && text[at] == '.') {
            ++at;
            if (!digits()) {
                return false;
            }
        }
        bool exponent = false;
        if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
            exponent = true;
            ++at;
            if (at < text.size() && (text[at] == '+' || text[at] == '-')) {
                ++at;
            }
            if (!digits()) {
                return false;
            }
        }
        // Without an exponent it takes 309 digits to get there.
        if ((exponent || at - begin > 300) && is_beyond_double(text.substr(begin, at - begin))) {
            at = begin;
            return fail("this number is too large");
        }
        close(id);
        return true;
    }

    bool object(int depth) {
        const TokenId id = open(JsonKind::object);
        ++at;
        skip_space();
        if (at < text.size() && text[at] == '}') {
            ++at;
            close(id);
            return true;
        }
        for (;;) {
            if (at >= text.size() || text[at] != '"') {
                return fail("a key in quotes is missing");
            }
            if (!string()) {
                return false;
            }
            skip_space();
            if (at >= text.size() || text[at] != ':') {
                return fail("a colon is missing");
            }
            ++at;
            if (!value(depth + 1)) {
                return false;
            }
            skip_space();
            if (at < text.size() && text[at] == '}') {
                ++at;
                close(id);
                return true;
            }
            if (at >= text.size() || text[at] != ',') {
                return fail("a comma or } is missing");
            }
            ++at;
            skip_space();
        }
    }

    bool array(int depth) {
        const TokenId id = open(JsonKind::array);
        ++at;
        skip_space();
        if (at < text.size() && text[at] == ']') {
            ++at;
            close(id);
            return true;
        }
        for (;;) {
            if (!value(depth + 1)) {
                return false;
            }
            skip_space();
            if (at < text.size() && text[at] == ']') {
                ++at;
                close(id);
                return true;
            }
            if (at >= text.size() || text[at] != ',') {
                return fail("a comma or ] is missing");
            }
            ++at;
        }
    }

    // Recursive, at most json_depth_limit deep.
    bool value(int depth) { // NOLINT(misc-no-recursion)
        skip_space();
        if (at >= text.size()) {
            return fail("the text ends where a value should stand");
        }
        if (depth > json_depth_limit) {
            return fail(fmt::format("arrays and objects are nested more than {} deep", json_depth_limit));
        }
        switch (text[at]) {
        case '{':
            return object(depth);
        case '[':
            return array(depth);
        case '"':
            return string();
        case 't':
            return word("true", JsonKind::yes);
        case 'f':
            return word("false", JsonKind::no);
        case 'n':
            return word("null", JsonKind::null);
        case 'N':
        case 'I':
            return fail("NaN and Infinity are no numbers of JSON");
        default:
            if (text[at] == '-' || is_digit(text[at])) {
                return number();
            }
            return fail("this is no value of JSON");
        }
    }
};

/// The conversion itself, whatever the locale. False where the number lies beyond a double (or below the smallest).
bool convert(std::string_view text, double& value) {
#if defined(__cpp_lib_to_chars)
    return std::from_chars(text.data(), text.data() + text.size(), value).ec == std::errc();
#else
    // libc++ before 20 converts no floating point with from_chars.
    std::istringstream stream{std::string(text)};
    stream.imbue(std::locale::classic());
    stream >> value;
    return !stream.fail() && std::isfinite(value);
#endif
}

bool is_beyond_double(std::string_view number) {
    // Exponent of the first digit that is not zero, held within bounds so that no count overflows.
    const std::size_t mark = number.find_first_of("eE");
    const std::string_view mantissa = number.substr(0, mark);
    long exponent = 0;
    if (mark != std::string_view::npos) {
        std::string_view digits = number.substr(mark + 1);
        const bool negative = digits.front() == '-';
        if (negative || digits.front() == '+') {
            digits.remove_prefix(1);
        }
        for (const char c : digits) {
            exponent = std::min(exponent * 10 + (c - '0'), 1000000000L);
        }
        exponent = negative ? -exponent : exponent;
    }
    const std::size_t point = mantissa.find('.');
    const std::size_t first = mantissa.find_first_of("123456789");
    if (first == std::string_view::npos) {
        return false;
    }
    const std::size_t whole_end = point == std::string_view::npos ? mantissa.size() : point;
    const long place =
        first < whole_end ? static_cast<long>(whole_end - first) - 1 : -static_cast<long>(first - whole_end);
    const long magnitude = place + exponent;
    if (magnitude < 308) {
        return false;
    }
    double value = 0;
    return magnitude > 308 || !convert(number, value) || !std::isfinite(value);
}

} // namespace

std::string_view spoken(JsonKind kind) {
    switch (kind) {
    case JsonKind::object:
        return "an object";
    case JsonKind::array:
        return "an array";
    case JsonKind::text:
        return "a text";
    case JsonKind::number:
        return "a number";
    case JsonKind::yes:
        return "true";
    case JsonKind::no:
        return "false";
    case JsonKind::null:
        return "null";
    }
    return "";
}

tl::expected<Json, ScanError> scan_json(std::string_view text) {
    if (text.size() >= no_token) {
        return tl::unexpected(ScanError{0, "the text is 4 GiB or longer"});
    }
    Scanner scanner{text, 0, {}, {}};
    if (!scanner.value(0)) {
        return tl::unexpected(std::move(scanner.error));
    }
    scanner.skip_space();
    if (scanner.at != text.size()) {
        return tl::unexpected(ScanError{scanner.at, "something follows where the text should end"});
    }
    return Json{text, std::move(scanner.tokens)};
}

std::string place_in(std::string_view text, std::size_t offset) {
    std::size_t line = 1;
    std::size_t column = 1;
    for (std::size_t i = 0; i < offset && i < text.size(); ++i) {
        if (text[i] == '\n') {
            ++line;
            column = 1;
        } else {
            ++column;
        }
    }
    return fmt::format("line {}, column {}", line, column);
}

TokenId find_member(const Json& json, TokenId object, std::string_view key) {
    if (!json.is(object, JsonKind::object)) {
        return no_token;
    }
    TokenId found = no_token;
    for (TokenId at = object + 1; at < json[object].next;) {
        const TokenId value = at + 1;
        if (text_equals(json, at, key)) {
            found = value;
        }
        at = json[value].next;
    }
    return found;
}

std::vector<TokenId> elements_of(const Json& json, TokenId array) {
    std::vector<TokenId> elements;
    if (json.is(array, JsonKind::array)) {
        for (TokenId at = array + 1; at < json[array].next; at = json[at].next) {
            elements.push_back(at);
        }
    }
    return elements;
}

std::string text_of(const Json& json, TokenId id) {
    const std::string_view raw = json.raw(id);
    const std::string_view inner = raw.substr(1, raw.size() - 2);
    if (!json[id].escaped) {
        return std::string(inner);
    }
    std::string out;
    out.reserve(inner.size());
    for (std::size_t i = 0; i < inner.size();) {
        if (inner[i] != '\\') {
            out += inner[i++];
            continue;
        }
        const char kind = inner[i + 1];
        i += 2;
        constexpr std::string_view from = "bfnrt";
        constexpr std::string_view to = "\b\f\n\r\t";
        if (kind != 'u') {
            const std::size_t place = from.find(kind);
            out += place == std::string_view::npos ? kind : to[place];
            continue;
        }
        int point = hex4(inner, i);
        i += 4;
        if (is_high_surrogate(point)) {
            point = 0x10000 + ((point - 0xd800) << 10) + (hex4(inner, i + 2) - 0xdc00);
            i += 6;
        }
        append_utf8(out, static_cast<std::uint32_t>(point));
    }
    return out;
}

bool text_equals(const Json& json, TokenId id, std::string_view wanted) {
    if (json[id].escaped) {
        return text_of(json, id) == wanted;
    }
    const std::string_view raw = json.raw(id);
    return raw.size() == wanted.size() + 2 && raw.substr(1, wanted.size()) == wanted;
}

double number_of(const Json& json, TokenId id) {
    double value = 0;
    // What lies below the smallest double is no mistake of the file: it is zero.
    return convert(json.raw(id), value) ? value : 0.0;
}

std::string json_quoted(std::string_view text) {
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') {
            out += '\\';
            out += c;
        } else if (static_cast<unsigned char>(c) < 0x20) {
            out += fmt::format("\\u{:04x}", static_cast<unsigned>(static_cast<unsigned char>(c)));
        } else {
            out += c;
        }
    }
    out += '"';
    return out;
}

} // namespace boltwalk
