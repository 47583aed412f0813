// Names of classes and grades, and what a spreadsheet makes of them.
#include <algorithm>
#include <array>
#include <chrono>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "core/measure/spelling.hpp"
#include "core/standards/reading.hpp"
#include "core/standards/standards.hpp"

namespace boltwalk {

using namespace spelling;

namespace {

// All of these from memory; the standards' own texts were not opened.
// ISO 898-1: classes of bolts, screws and studs; 3.6, 6.6, 6.9 and 14.9 are of earlier editions or of DIN 267.
constexpr std::array<std::string_view, 14> bolt_classes{"3.6", "4.6", "4.8", "5.6",  "5.8",  "6.6",   "6.8",
                                                        "6.9", "8.8", "9.8", "10.9", "12.9", "12.9u", "14.9"};
// ISO 898-2: classes of nuts; 04 and 05 are thin ones.
constexpr std::array<std::string_view, 9> nut_classes{"04", "05", "4", "5", "6", "8", "9", "10", "12"};
// ISO 898-5: set screws, by hardness.
constexpr std::array<std::string_view, 4> set_screw_classes{"14h", "22h", "33h", "45h"};
// SAE J429: bolts. SAE J995, nuts, has 2, 5 and 8 of them.
constexpr std::array<std::string_view, 10> sae_grade_names{"1", "2", "4", "5", "5.1", "5.2", "7", "8", "8.1", "8.2"};
// ASTM: what a bolt's head or a nut is marked with, or the specification.
constexpr std::array<std::string_view, 16> astm_names{"a193", "a194", "a307", "a320", "a325", "a354", "a449", "a490",
                                                      "a563", "a574", "f593", "f594", "b7",   "b8",   "b16",  "2h"};
// ISO 3506: stainless steels, and what stands behind the dash: a tenth of the tensile strength in MPa, or the hardness
// of a set screw.
constexpr std::array<std::string_view, 16> stainless{"a1", "a2", "a3", "a4", "a5", "a8", "c1",  "c3",
                                                     "c4", "f1", "d2", "d4", "d6", "d8", "a2l", "a4l"};
constexpr std::array<std::string_view, 15> stainless_strengths{"45",  "50",  "60",  "70",  "80",  "100", "110", "020",
                                                               "025", "030", "035", "040", "055", "12h", "21h"};

template <typename List>
bool has(const List& list, std::string_view name) {
    return std::find(list.begin(), list.end(), name) != list.end();
}

/// ISO 8839: CU1 to CU7, AL1 to AL6.
bool is_non_ferrous(std::string_view name) {
    return name.size() == 3 && ((name.starts_with("cu") && name[2] >= '1' && name[2] <= '7') ||
                                (name.starts_with("al") && name[2] >= '1' && name[2] <= '6'));
}

/// Washers go by hardness (ISO 7089: "200 HV").
bool is_hardness(std::string_view name) {
    if (name.starts_with("hv"))
        name.remove_prefix(2);
    else if (name.ends_with("hv"))
        name.remove_suffix(2);
    else
        return false;
    return name.size() == 3 && std::all_of(name.begin(), name.end(), is_digit);
}

bool is_one(std::string_view name) {
    if (has(bolt_classes, name) || has(nut_classes, name) || has(set_screw_classes, name) ||
        has(sae_grade_names, name) || has(stainless, name) || is_non_ferrous(name) || is_hardness(name))
        return true;
    // ISO 898-1, of reduced loadability: 08.8, 010.9.
    if (name.starts_with('0') && has(bolt_classes, name.substr(1)))
        return true;
    if (const std::size_t dash = name.find('-'); dash != std::string_view::npos)
        return has(stainless, name.substr(0, dash)) && has(stainless_strengths, name.substr(dash + 1));
    return std::any_of(astm_names.begin(), astm_names.end(), [&](std::string_view known) {
        return name.starts_with(known) && name.size() <= known.size() + 3; // A354BD, B8M, A193B7
    });
}

struct Month {
    std::string_view begins;
    int number;
};
/// English and German, as spreadsheets shorten them.
constexpr Month months[] = {{"jan", 1},  {"feb", 2},  {"mar", 3},  {"m\xC3\xA4r", 3}, {"mrz", 3}, {"apr", 4},
                            {"may", 5},  {"mai", 5},  {"jun", 6},  {"jul", 7},        {"aug", 8}, {"sep", 9},
                            {"oct", 10}, {"okt", 10}, {"nov", 11}, {"dec", 12},       {"dez", 12}};

struct Date {
    int day = 0, month = 0;
};

/// Days since 30 December 1899, as spreadsheets count them: those of 1982 to 2063. (45512 is 8 August 2024.)
std::optional<Date> of_number(int number) {
    if (number < 30000 || number >= 60000)
        return std::nullopt;
    using namespace std::chrono;
    const year_month_day ymd{sys_days{year{1899} / 12 / 30} + days{number}};
    return Date{static_cast<int>(static_cast<unsigned>(ymd.day())),
                static_cast<int>(static_cast<unsigned>(ymd.month()))};
}

std::optional<Date> date_in(std::string_view text) {
    std::vector<int> numbers;
    std::vector<std::size_t> digits;
    int month = 0;
    for (std::size_t at = 0; at < text.size();) {
        if (is_digit(text[at])) {
            int value = 0;
            const std::size_t from = at;
            for (; at < text.size() && is_digit(text[at]); ++at)
                value = std::min(value * 10 + (text[at] - '0'), 1000000);
            numbers.push_back(value);
            digits.push_back(at - from);
        } else if (std::string_view(" .-/").find(text[at]) != std::string_view::npos) {
            ++at;
        } else {
            if (month != 0)
                return std::nullopt;
            for (const Month& one : months)
                if (text.substr(at).starts_with(one.begins))
                    month = one.number;
            if (month == 0)
                return std::nullopt;
            while (at < text.size() && !is_digit(text[at]) &&
                   std::string_view(" .-/").find(text[at]) == std::string_view::npos)
                ++at;
        }
    }
    const auto date = [](int day, int in_month) {
        return day >= 1 && day <= 31 && in_month >= 1 && in_month <= 12 ? std::optional(Date{day, in_month})
                                                                        : std::nullopt;
    };
    if (month != 0) { // "08. Aug", "8-Aug-26", "Aug 08", "Sep 98": a month and its year
        if (numbers.empty() || numbers.size() > 2)
            return std::nullopt;
        const bool year = numbers.front() > 31 && (digits[0] == 2 || digits[0] == 4);
        return year ? Date{0, month} : date(numbers.front(), month);
    }
    if (numbers.size() == 1 && digits[0] == 5)
        return of_number(numbers[0]);
    if (numbers.size() == 3 && digits[0] == 4)
        return date(numbers[2], numbers[1]);
    // Two numbers with a point between are a class as much as a day: "8.9". "08.08", "8/8" and "8.8." are none.
    const bool as_a_day = text.find_first_of("/-") != std::string_view::npos || text.ends_with('.') ||
                          (digits.size() == 2 && digits[0] == 2 && numbers[0] < 10);
    if ((numbers.size() == 2 && as_a_day) || numbers.size() == 3)
        return date(numbers[0], numbers[1]);
    return std::nullopt;
}

} // namespace

std::string plain_grade(std::string_view grade) {
    std::string text;
    for (const char c : grade)
        text += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c == ',' ? '.' : c;
    for (const std::string_view word : {"property", "class", "grade", "sae", "astm", "iso"})
        if (const std::size_t at = text.find(word); at != std::string::npos)
            text.erase(at, word.size());
    std::erase(text, ' ');
    return text;
}

bool is_grade(std::string_view grade) {
    if (is_one(plain_grade(grade)))
        return true;
    // "8.8 zinc plated", "10.9 (phosphated)": a coating stands behind the class.
    const std::size_t first = grade.find_first_not_of(' ');
    const std::size_t blank = first == std::string_view::npos ? first : grade.find(' ', first);
    if (blank == std::string_view::npos || grade_of_date(grade))
        return false;
    const std::size_t next = grade.find_first_not_of(' ', blank);
    return next != std::string_view::npos && !is_digit(grade[next]) && is_one(plain_grade(grade.substr(0, blank)));
}

std::optional<std::string> grade_of_date(std::string_view grade) {
    std::string text;
    for (const char c : grade)
        text += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if (is_one(plain_grade(text)))
        return std::nullopt;
    const std::optional<Date> date = date_in(text);
    if (!date)
        return std::nullopt;
    // Where the month is written first, 10.9 became the ninth of October.
    for (const auto& [first, then] : {std::pair(date->day, date->month), std::pair(date->month, date->day)})
        if (const std::string was = fmt::format("{}.{}", first, then); is_one(was))
            return was;
    return std::string();
}

} // namespace boltwalk
