#include "core/map/finding.hpp"

#include <fmt/format.h>

#include "core/map/utf8.hpp"

namespace boltwalk {

Utf8 decode_utf8(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) -> std::uint32_t {
        return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0U;
    };
    const std::uint32_t lead = byte(0);
    if (lead < 0x80) {
        return {lead, 1, true};
    }
    std::size_t length = 0;
    std::uint32_t least = 0;
    std::uint32_t point = 0;
    if ((lead & 0xe0U) == 0xc0U) {
        length = 2;
        least = 0x80;
        point = lead & 0x1fU;
    } else if ((lead & 0xf0U) == 0xe0U) {
        length = 3;
        least = 0x800;
        point = lead & 0x0fU;
    } else if ((lead & 0xf8U) == 0xf0U) {
        length = 4;
        least = 0x10000;
        point = lead & 0x07U;
    } else {
        return {};
    }
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xc0U) != 0x80U) {
            return {};
        }
        point = (point << 6U) | (byte(i) & 0x3fU);
    }
    if (point < least || point > 0x10ffff || (point >= 0xd800 && point < 0xe000)) {
        return {};
    }
    return {point, length, true};
}

bool is_utf8(std::string_view text) {
    for (std::size_t at = 0; at < text.size();) {
        const Utf8 next = decode_utf8(text, at);
        if (!next.valid) {
            return false;
        }
        at += next.length;
    }
    return true;
}

void append_utf8(std::string& out, std::uint32_t point) {
    const auto put = [&](std::uint32_t byte) { out += static_cast<char>(static_cast<unsigned char>(byte)); };
    if (point < 0x80) {
        put(point);
    } else if (point < 0x800) {
        put(0xc0U | (point >> 6U));
        put(0x80U | (point & 0x3fU));
    } else if (point < 0x10000) {
        put(0xe0U | (point >> 12U));
        put(0x80U | ((point >> 6U) & 0x3fU));
        put(0x80U | (point & 0x3fU));
    } else {
        put(0xf0U | (point >> 18U));
        put(0x80U | ((point >> 12U) & 0x3fU));
        put(0x80U | ((point >> 6U) & 0x3fU));
        put(0x80U | (point & 0x3fU));
    }
}

namespace {

/// Characters that move, hide or reorder others instead of being seen. Bidirectional controls: Unicode Standard
/// Annex 9, section 2; the others are the format characters and line breaks of the Unicode Character Database (Cc, Cf,
/// Zl, Zp) that have no shape of their own.
bool is_unseen(std::uint32_t point) {
    return point < 0x20 || (point >= 0x7f && point < 0xa0) || point == 0xad || point == 0x61c ||
           (point >= 0x200b && point <= 0x200f) || (point >= 0x2028 && point <= 0x202e) ||
           (point >= 0x2060 && point <= 0x206f) || point == 0xfeff || (point >= 0xfff9 && point <= 0xfffb) ||
           (point >= 0xe0000 && point <= 0xe0fff);
}

} // namespace

std::string printable(const std::string& text) {
    std::string out;
    out.reserve(text.size());
    for (std::size_t at = 0; at < text.size();) {
        const Utf8 next = decode_utf8(text, at);
        if (!next.valid) {
            out += fmt::format("\\x{:02x}", static_cast<unsigned>(static_cast<unsigned char>(text[at])));
        } else if (!is_unseen(next.point)) {
            out.append(text, at, next.length);
        } else if (next.point < 0x100) {
            out += fmt::format("\\x{:02x}", next.point);
        } else {
            out += fmt::format("\\u{:04x}", next.point);
        }
        at += next.length;
    }
    return out;
}

std::string few_of(const std::vector<std::string>& names, std::string_view by, std::size_t most) {
    std::string out;
    for (std::size_t i = 0; i < names.size() && i < most; ++i)
        out += fmt::format("{}{}", i == 0 ? "" : by, names[i]);
    if (names.size() > most)
        out += fmt::format(" and {} more", names.size() - most);
    return out;
}

} // namespace boltwalk
