#include "core/map/values.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "core/map/utf8.hpp"

namespace boltwalk {

namespace {

constexpr std::size_t longest_shown = 120;

/// Longer than any note in a manual. A value beyond it is left in the file and not used.
constexpr std::size_t longest_text = 4096;

tl::unexpected<Mistake> mistake(std::string what, std::string remedy) {
    return tl::unexpected(Mistake{std::move(what), std::move(remedy)});
}

/// The unit that a key's name ends in: its spellings, and how to say it.
struct KeyUnit {
    std::string_view suffix;
    std::string_view spoken;
    std::array<std::string_view, 4> spellings;
};
constexpr std::array<KeyUnit, 4> key_units{{
    {"_mm", "millimetres", {"mm", "millimetre", "millimetres", "millimeters"}},
    {"_kg", "kilograms", {"kg", "kilo", "kilogram", "kilograms"}},
    {"_l", "litres", {"l", "litre", "litres", "liters"}},
    {"_min", "minutes", {"min", "mins", "minute", "minutes"}},
}};

const KeyUnit* unit_of(const Key& key) {
    for (const KeyUnit& unit : key_units) {
        if (key.name.ends_with(unit.suffix)) {
            return &unit;
        }
    }
    return nullptr;
}

/// What the author probably meant, in the key's unit; empty where nothing is known of it.
std::string converted(std::string_view text, const KeyUnit& unit) {
    Reading<double> value = mistake("", "");
    if (unit.suffix == "_mm") {
        value = read_length_mm(text);
    } else if (unit.suffix == "_kg") {
        value = read_mass_kg(text);
    }
    return value ? fmt::format(" \"{}\" would be {}.", text, print_number(*value)) : std::string();
}

std::string list_choices(const Key& key) {
    std::string all;
    for (const std::string_view choice : choices_of(key)) {
        all += all.empty() ? "" : ", ";
        all += choice;
    }
    return all;
}

Reading<std::size_t> find_choice(const Key& key, std::string_view text) {
    const std::string word = lower_case(trimmed(text));
    const std::vector<std::string_view> choices = choices_of(key);
    for (std::size_t i = 0; i < choices.size(); ++i) {
        if (choices[i] == word) {
            return i;
        }
    }
    const auto near = near_choice(key, word);
    return mistake(
        fmt::format("\"{}\" is none of the words that \"{}\" knows.", text.substr(0, longest_shown), key.name),
        near ? fmt::format("Did you mean \"{}\"?", *near) : fmt::format("Write one of: {}.", list_choices(key)));
}

} // namespace

std::string lower_case(std::string_view text) {
    std::string out(text);
    for (char& c : out) {
        if (c >= 'A' && c <= 'Z') {
            c = static_cast<char>(c - 'A' + 'a');
        }
    }
    return out;
}

std::vector<std::string> split_list(std::string_view text) {
    std::vector<std::string> pieces;
    for (std::size_t begin = 0; begin <= text.size();) {
        const std::size_t end = std::min(text.find(';', begin), text.size());
        const std::string_view piece = trimmed(text.substr(begin, end - begin));
        if (!piece.empty()) {
            pieces.emplace_back(piece);
        }
        begin = end + 1;
    }
    return pieces;
}

Reading<std::string> text_value(const Json& json, TokenId token) {
    switch (json[token].kind) {
    case JsonKind::text: {
        if (json[token].end - json[token].begin > longest_text) {
            return mistake(fmt::format("The text is longer than {} bytes.", longest_text),
                           "Keep to what must be said here, and put the rest into a document of its own.");
        }
        const std::string text = text_of(json, token);
        return std::string(trimmed(text));
    }
    case JsonKind::number:
        // Modelling tools keep numbers as floats: 8.8 comes back as 8.800000190734863.
        return print_number(number_of(json, token));
    case JsonKind::yes:
        return std::string("true");
    case JsonKind::no:
        return std::string("false");
    default:
        return mistake(fmt::format("The value is {}.", spoken(json[token].kind)),
                       "Write a text, a number or true/false: the annotation is flat.");
    }
}

Reading<bool> yes_no_value(const Json& json, TokenId token) {
    const Reading<std::string> text = text_value(json, token);
    if (!text) {
        return tl::unexpected(text.error());
    }
    const std::string word = lower_case(*text);
    if (word == "true" || word == "yes" || word == "1") {
        return true;
    }
    if (word == "false" || word == "no" || word == "0") {
        return false;
    }
    return mistake(fmt::format("\"{}\" is neither yes nor no.", text->substr(0, longest_shown)),
                   "Write true or false.");
}

Reading<double> number_value(const Json& json, TokenId token, const Key& key) {
    if (json.is(token, JsonKind::number)) {
        return number_of(json, token);
    }
    const Reading<std::string> text = text_value(json, token);
    if (!text) {
        return tl::unexpected(text.error());
    }
    if (Reading<double> number = read_number(*text)) {
        return number;
    }
    const KeyUnit* unit = unit_of(key);
    if (unit == nullptr) {
        return mistake(fmt::format("\"{}\" is no number.", text->substr(0, longest_shown)), "Write a number.");
    }
    const std::size_t split = text->find_last_of("0123456789.");
    if (split != std::string::npos) {
        const std::string_view sign = trimmed(std::string_view(*text).substr(split + 1));
        const bool known =
            std::find(unit->spellings.begin(), unit->spellings.end(), lower_case(sign)) != unit->spellings.end();
        const Reading<double> number = read_number(trimmed(std::string_view(*text).substr(0, split + 1)));
        if (known && number) {
            return number;
        }
    }
    return mistake(fmt::format("\"{}\" is no number of {}.", text->substr(0, longest_shown), unit->spoken),
                   fmt::format("Write a number alone; it is taken as {}.{}", unit->spoken,
                               converted(text->substr(0, longest_shown), *unit)));
}

Reading<int> whole_value(const Json& json, TokenId token, int least) {
    Reading<double> number = 0.0;
    if (json.is(token, JsonKind::number)) {
        number = number_of(json, token);
    } else {
        const Reading<std::string> text = text_value(json, token);
        if (!text) {
            return tl::unexpected(text.error());
        }
        number = read_number(*text);
    }
    constexpr double most = 1000000;
    if (!number || *number != std::floor(*number) || *number < least || *number > most) {
        return mistake(fmt::format("It should be a whole number from {}.", least),
                       fmt::format("Write a whole number from {} to {:.0f}.", least, most));
    }
    return static_cast<int>(*number);
}

Reading<double> length_value(const Json& json, TokenId token) {
    if (json.is(token, JsonKind::number)) {
        return number_of(json, token);
    }
    const Reading<std::string> text = text_value(json, token);
    return text ? read_length_mm(*text) : Reading<double>(tl::unexpected(text.error()));
}

Reading<std::array<double, 3>> read_axis(std::string_view text) {
    const std::string word = lower_case(trimmed(text));
    std::array<double, 3> axis{};
    const bool sign = !word.empty() && (word[0] == '+' || word[0] == '-');
    if (word.size() == (sign ? 2U : 1U) && word.back() >= 'x' && word.back() <= 'z') {
        axis[static_cast<std::size_t>(word.back() - 'x')] = word[0] == '-' ? -1 : 1;
        return axis;
    }
    std::size_t count = 0;
    for (std::size_t begin = word.find_first_not_of(", "); begin != std::string::npos;) {
        const std::size_t end = std::min(word.find_first_of(", ", begin), word.size());
        const Reading<double> number = read_number(std::string_view(word).substr(begin, end - begin));
        if (!number || count == 3) {
            count = 0;
            break;
        }
        axis[count++] = *number;
        begin = word.find_first_not_of(", ", end);
    }
    const double length = std::sqrt(axis[0] * axis[0] + axis[1] * axis[1] + axis[2] * axis[2]);
    if (count != 3 || !(length > 1e-9 && length < 1e9)) {
        return mistake("That is no axis.", "Write +x, -x, +y, -y, +z or -z, or three numbers such as \"0 1 0\".");
    }
    for (double& part : axis) {
        part /= length;
    }
    return axis;
}

Reading<std::array<double, 3>> axis_value(const Json& json, TokenId token) {
    if (!json.is(token, JsonKind::array)) {
        const Reading<std::string> text = text_value(json, token);
        return text ? read_axis(*text) : Reading<std::array<double, 3>>(tl::unexpected(text.error()));
    }
    // Three numbers as one custom property come as an array from modelling tools.
    std::string text;
    for (const TokenId element : elements_of(json, token)) {
        if (!json.is(element, JsonKind::number) || text.size() > longest_shown) {
            return read_axis("");
        }
        text += fmt::format("{:.9f} ", number_of(json, element));
    }
    return read_axis(text);
}

Reading<std::size_t> choice_value(const Json& json, TokenId token, const Key& key) {
    const Reading<std::string> text = text_value(json, token);
    return text ? find_choice(key, *text) : Reading<std::size_t>(tl::unexpected(text.error()));
}

Reading<std::string> choices_value(const Json& json, TokenId token, const Key& key) {
    const Reading<std::string> text = text_value(json, token);
    if (!text) {
        return text;
    }
    std::string out;
    for (const std::string& piece : split_list(*text)) {
        const Reading<std::size_t> choice = find_choice(key, piece);
        if (!choice) {
            return tl::unexpected(choice.error());
        }
        out += out.empty() ? "" : "; ";
        out += choices_of(key)[*choice];
    }
    return out.empty() ? Reading<std::string>(find_choice(key, "").map([](std::size_t) { return std::string(); }))
                       : out;
}

Reading<std::string> passes_value(const Json& json, TokenId token) {
    const Reading<std::string> text = text_value(json, token);
    if (!text) {
        return text;
    }
    constexpr std::string_view remedy = "Write how many passes (\"2\"), or rising shares that end with 100 % (\"30 %; "
                                        "60 %; 100 %\").";
    if (text->find('%') == std::string::npos) {
        const Reading<double> number = read_number(*text);
        if (!number || *number != std::floor(*number) || *number < 1 || *number > 20) {
            return mistake("That is no number of passes.", std::string(remedy));
        }
        return text;
    }
    double last = 0;
    for (const std::string& piece : split_list(*text)) {
        const Reading<double> share = piece.back() == '%'
                                          ? read_number(trimmed(std::string_view(piece).substr(0, piece.size() - 1)))
                                          : Reading<double>(mistake("", ""));
        if (!share || *share <= last || *share > 100) {
            return mistake(fmt::format("\"{}\" is no share, or no larger one than before.", piece),
                           std::string(remedy));
        }
        last = *share;
    }
    if (last < 100) {
        return mistake("The last pass does not reach 100 %.", std::string(remedy));
    }
    return text;
}

std::string shown_value(const Json& json, TokenId token) {
    std::string text = json.is(token, JsonKind::text) && json[token].end - json[token].begin < 4 * longest_text
                           ? text_of(json, token)
                           : std::string(json.raw(token).substr(0, longest_shown + 4));
    if (text.size() <= longest_shown) {
        return text;
    }
    std::size_t cut = 0;
    while (cut < longest_shown) { // never within a character
        cut += decode_utf8(text, cut).length;
    }
    return text.substr(0, cut) + "…";
}

} // namespace boltwalk
