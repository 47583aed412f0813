// One lean pass over a JSON text: is it well formed, and where in it stands what?
//
// The text stays where it is; a scan only notes the byte range of every value, so that a value can be read, checked or
// replaced byte for byte later. 16 bytes a value, no recursion deeper than depth_limit, no allocation but the list of
// tokens. Refused: broken UTF-8 (lone surrogates included), control characters in strings, nesting beyond the limit,
// numbers that no double holds ("1e999", NaN, Infinity), anything after the value.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

namespace boltwalk {

enum class JsonKind : std::uint8_t { object, array, text, number, yes, no, null };
/// "an object", "a number", ... for sentences.
std::string_view spoken(JsonKind);

/// Index into Json::tokens.
using TokenId = std::uint32_t;
inline constexpr TokenId no_token = 0xffffffffU;

/// A value or an object's key, in the order of the text. Bytes [begin, end), quotes and brackets included. An object's
/// members follow it as key, value, key, value; an array's elements follow it; `next` is the token after all of that.
struct Token {
    std::uint32_t begin = 0, end = 0;
    TokenId next = 0;
    JsonKind kind = JsonKind::null;
    bool escaped = false; ///< a text with backslashes in it
};

struct Json {
    std::string_view text; ///< the caller keeps it alive
    std::vector<Token> tokens;

    const Token& operator[](TokenId id) const { return tokens[id]; }
    bool is(TokenId id, JsonKind kind) const { return id != no_token && tokens[id].kind == kind; }
    std::string_view raw(TokenId id) const { return text.substr(tokens[id].begin, tokens[id].end - tokens[id].begin); }
};

struct ScanError {
    std::size_t offset = 0;
    std::string what; ///< "a comma or ] is missing"
};

/// How deep arrays and objects may stand in each other. Exporters stay below 12; 64 keeps every later recursion short.
inline constexpr int json_depth_limit = 64;

/// The root is token 0. Texts of 4 GiB and more are refused.
tl::expected<Json, ScanError> scan_json(std::string_view text);

/// "line 3, column 14" of that byte.
std::string place_in(std::string_view text, std::size_t offset);

/// The value of `key` in that object, or no_token (also when `object` is no object). Where a key stands twice, the last
/// one counts, as most parsers have it.
TokenId find_member(const Json&, TokenId object, std::string_view key);
/// The elements of an array; empty when it is none.
std::vector<TokenId> elements_of(const Json&, TokenId array);
/// A text with its escapes resolved.
std::string text_of(const Json&, TokenId);
bool text_equals(const Json&, TokenId, std::string_view);
/// A number as a double; the scan made sure that it is finite.
double number_of(const Json&, TokenId);

} // namespace boltwalk
