// Into a scanned text: members, elements, values.

#include <fmt/format.h>

#include "core/map/json_text.hpp"
#include "core/map/map.hpp"
#include "core/map/scan.hpp"
#include "core/map/utf8.hpp"

namespace boltwalk {

using namespace json_text;

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

std::string json_typed(const std::string& typed) {
    if (typed.empty() || typed == "true" || typed == "false")
        return typed;
    const auto value = scan_json(typed);
    return value && value->is(0, JsonKind::number) ? typed : json_quoted(typed);
}

} // namespace boltwalk
