#include "core/map/json_text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <locale>
#include <sstream>
#include <string>

namespace boltwalk::json_text {

namespace {

int hex_value(char c) {
    if ((c >= '0' && c <= '9')) {
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

} // namespace

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

} // namespace boltwalk::json_text
