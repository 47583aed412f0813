#include "core/map/scan.hpp"

#include <array>

#include <fmt/format.h>

#include "core/map/json_text.hpp"
#include "core/map/utf8.hpp"

namespace boltwalk {

using namespace json_text;

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

} // namespace

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

} // namespace boltwalk
