#include "core/map/base64.hpp"

#include <array>
#include <cstdint>

namespace boltwalk {

namespace {

int base64_value(char c) {
    if (c >= 'A' && c <= 'Z') {
        return c - 'A';
    }
    if (c >= 'a' && c <= 'z') {
        return c - 'a' + 26;
    }
    if (c >= '0' && c <= '9') {
        return c - '0' + 52;
    }
    if (c == '+' || c == '-') {
        return 62;
    }
    return c == '/' || c == '_' ? 63 : -1;
}

std::string_view without_padding(std::string_view text) {
    while (!text.empty() && text.back() == '=') {
        text.remove_suffix(1);
    }
    return text;
}

} // namespace

std::string base64_of(std::string_view bytes) {
    constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string out;
    out.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        std::uint32_t bits = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            bits = (bits << 8U) | (i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0U);
        }
        for (std::size_t k = 0; k < 4; ++k) {
            out += i + k > bytes.size() ? '=' : letters[(bits >> (18 - 6 * k)) & 63U];
        }
    }
    return out;
}

std::size_t base64_bytes(std::string_view text) {
    text = without_padding(text);
    return text.size() / 4 * 3 + (text.size() % 4 == 0 ? 0 : text.size() % 4 - 1);
}

std::string from_base64(std::string_view text, std::byte* out) {
    text = without_padding(text);
    if (text.size() % 4 == 1) {
        return "its base64 text is cut off";
    }
    constexpr std::uint8_t none = 0xff;
    static const std::array<std::uint8_t, 256> values = [] {
        std::array<std::uint8_t, 256> table{};
        for (std::size_t c = 0; c < 256; ++c) {
            const int value = base64_value(static_cast<char>(static_cast<unsigned char>(c)));
            table[c] = value < 0 ? none : static_cast<std::uint8_t>(value);
        }
        return table;
    }();
    std::size_t at = 0;
    std::uint32_t bits = 0;
    int held = 0;
    for (const char c : text) {
        const std::uint8_t value = values[static_cast<unsigned char>(c)];
        if (value == none) {
            return "its base64 text holds a character that is none of base64";
        }
        bits = (bits << 6U) | value;
        held += 6;
        if (held >= 8) {
            held -= 8;
            out[at++] = static_cast<std::byte>((bits >> static_cast<unsigned>(held)) & 0xffU);
        }
    }
    return {};
}

} // namespace boltwalk
