#include "core/block/take.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "core/block/shell.hpp"
#include "core/map/keys.hpp"

namespace boltwalk::recipe {

namespace {

struct WayWord {
    std::string_view word, face;
    Way way;
};
constexpr std::array<WayWord, 6> ways{{{"front", "front", Way::front},
                                       {"rear", "rear", Way::rear},
                                       {"left", "left", Way::left},
                                       {"right", "right", Way::right},
                                       {"up", "top", Way::up},
                                       {"down", "bottom", Way::down}}};

/// Nothing lies farther out: a hundred metres.
constexpr double farthest_mm = 100'000;

} // namespace

std::optional<double> take_mm(const Value& value, std::string_view what, Notes& notes) {
    double mm = 0;
    if (value.is(Value::Kind::number)) {
        mm = value.number;
    } else if (value.is(Value::Kind::text)) {
        const bool negative = value.text.starts_with('-');
        const auto read = read_length_mm(std::string_view(value.text).substr(negative ? 1 : 0));
        if (!read) {
            notes.fault(value.mark, fmt::format("{}: {}", what, read.error().what), read.error().remedy);
            return std::nullopt;
        }
        mm = negative ? -*read : *read;
    } else {
        notes.fault(value.mark, fmt::format("{} wants a length, not {}.", what, spoken(value.kind)),
                    "Write millimetres: 12, or a text with its unit: \"1/2 in\".");
        return std::nullopt;
    }
    if (!(mm >= -farthest_mm && mm <= farthest_mm)) {
        notes.fault(value.mark, fmt::format("{}: {} mm is more than 100 metres.", what, print_number(mm)),
                    "Lengths are millimetres.");
        return std::nullopt;
    }
    return mm;
}

std::optional<double> take_size(const Value& value, std::string_view what, Notes& notes) {
    const auto mm = take_mm(value, what, notes);
    if (mm && !(*mm >= least_mm && *mm <= largest_mm)) {
        notes.fault(value.mark, fmt::format("{}: {} mm is no size that can be drawn.", what, print_number(*mm)),
                    fmt::format("Sizes are millimetres from {} to {}.", least_mm, largest_mm));
        return std::nullopt;
    }
    return mm;
}

std::optional<std::vector<double>> take_sizes(const Value& value, std::size_t count, std::string_view what,
                                              Notes& notes) {
    if (!value.is(Value::Kind::list) || value.list.size() != count) {
        notes.fault(value.mark, fmt::format("{} wants a list of {} lengths.", what, count),
                    "recipe.md says what each of them is.");
        return std::nullopt;
    }
    std::vector<double> sizes;
    for (const Value& one : value.list)
        if (const auto size = take_size(one, what, notes))
            sizes.push_back(*size);
    return sizes.size() == count ? std::optional(sizes) : std::nullopt;
}

std::optional<glm::dvec3> take_point(const Value& value, std::string_view what, Notes& notes) {
    if (!value.is(Value::Kind::list) || value.list.size() != 3) {
        notes.fault(value.mark, fmt::format("{} wants three lengths: to the left, up, to the front.", what),
                    "Write [120, 0, -40], for example.");
        return std::nullopt;
    }
    glm::dvec3 point{0.0};
    bool good = true;
    for (int i = 0; i < 3; ++i) {
        const auto mm = take_mm(value.list[static_cast<std::size_t>(i)], what, notes);
        good = good && mm;
        point[i] = mm.value_or(0);
    }
    return good ? std::optional(point) : std::nullopt;
}

std::optional<int> take_count(const Value& value, int least, int most, std::string_view what, Notes& notes) {
    if (!value.is(Value::Kind::number) || !value.whole || value.number < least || value.number > most) {
        notes.fault(value.mark, fmt::format("{} wants a whole number from {} to {}.", what, least, most),
                    "Write one without a point.");
        return std::nullopt;
    }
    return static_cast<int>(value.number);
}

std::optional<std::string> take_text(const Value& value, std::string_view what, Notes& notes) {
    if (value.is(Value::Kind::text) && !trimmed(value.text).empty())
        return std::string(trimmed(value.text));
    notes.fault(value.mark,
                fmt::format("{} wants a text, not {}.", what,
                            value.is(Value::Kind::text) ? "an empty one" : spoken(value.kind)),
                "Put it in quotes.");
    return std::nullopt;
}

std::optional<std::vector<std::string>> take_names(const Value& value, std::string_view what, Notes& notes) {
    std::vector<std::string> names;
    if (value.is(Value::Kind::list)) {
        for (const Value& one : value.list) {
            const auto name = take_text(one, what, notes);
            if (!name)
                return std::nullopt;
            names.push_back(*name);
        }
        return names;
    }
    const auto text = take_text(value, what, notes);
    if (!text)
        return std::nullopt;
    for (std::size_t at = 0; at <= text->size();) {
        const std::size_t end = std::min(text->find(';', at), text->size());
        if (std::string name(trimmed(std::string_view(*text).substr(at, end - at))); !name.empty())
            names.push_back(std::move(name));
        at = end + 1;
    }
    return names;
}

std::optional<Way> find_way(std::string_view word) {
    for (const WayWord& one : ways)
        if (one.word == word)
            return one.way;
    return std::nullopt;
}

std::optional<Way> find_face(std::string_view word) {
    for (const WayWord& one : ways)
        if (one.face == word || one.word == word)
            return one.way;
    return std::nullopt;
}

std::string_view face_name(Way way) {
    for (const WayWord& one : ways)
        if (one.way == way)
            return one.face;
    return "";
}

std::optional<Way> take_way(const Value& value, std::string_view what, Notes& notes) {
    if (value.is(Value::Kind::text))
        if (const auto way = find_way(trimmed(value.text)))
            return way;
    notes.fault(value.mark, fmt::format("{} wants a direction.", what),
                "It is one of \"front\", \"rear\", \"left\", \"right\", \"up\", \"down\".");
    return std::nullopt;
}

std::string near_word(std::string_view word, const std::vector<std::string>& of) {
    const std::string* best = nullptr;
    // A short word may be one letter off: the list is short, too.
    std::size_t least = std::max<std::size_t>(near_limit(word.size()), word.size() >= 3 ? 1 : 0) + 1;
    for (const std::string& one : of)
        if (const std::size_t apart = edit_distance(word, one, least); apart < least) {
            least = apart;
            best = &one;
        }
    if (best)
        return *best;
    // "diam" is short for diameter, where nothing else begins so.
    const std::string* begun = nullptr;
    for (const std::string& one : of)
        if (word.size() >= 3 && one.starts_with(word)) {
            if (begun)
                return {};
            begun = &one;
        }
    return begun ? *begun : std::string();
}

std::string near_one(std::string_view word, const std::vector<std::string>& of) {
    const std::string near = near_word(word, of);
    return near.empty() ? near : fmt::format(" Did you mean {}?", near);
}

void only_these(const Value& table, std::initializer_list<std::string_view> words, std::string_view of, Notes& notes) {
    std::vector<std::string> list;
    std::string all;
    for (const std::string_view word : words) {
        list.emplace_back(word);
        all += fmt::format("{}{}", all.empty() ? "" : ", ", word);
    }
    for (const Member& member : table.members)
        if (std::find(words.begin(), words.end(), member.key) == words.end())
            notes.fault(member.mark, fmt::format("{} knows no \"{}\".{}", of, member.key, near_one(member.key, list)),
                        fmt::format("It knows {}.", all));
}

} // namespace boltwalk::recipe
