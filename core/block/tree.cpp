#include "core/block/tree.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

// Errors as values: what a person mistypes is no exception.
#define TOML_EXCEPTIONS 0
// Its assertions are about what a file holds, and abort; without them the same places end in its ordinary errors.
#define TOML_ASSERT(expr) static_cast<void>(0)
#include <toml++/toml.h>

namespace boltwalk::recipe {

namespace {

/// toml++ walks its tree by recursion, when it is destroyed too: dotted keys are kept short. (Lists and inline tables
/// it limits itself, to 256 deep.)
constexpr int most_dots = 16;
constexpr std::size_t most_values = 200'000;
constexpr std::size_t most_notes = 200;

/// The offset of a key with too many dots, else npos. Texts and comments are stepped over.
std::size_t too_many_dots(std::string_view text) {
    int dots = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (c == '#') {
            i = std::min(text.find('\n', i), text.size());
            dots = 0;
        } else if (c == '"' || c == '\'') {
            const bool triple = text.substr(i, 3) == std::string(3, c);
            const std::string_view end = text.substr(i, triple ? 3 : 1);
            std::size_t at = i + end.size();
            while (at < text.size() && text.substr(at, end.size()) != end && (triple || text[at] != '\n'))
                at += c == '"' && text[at] == '\\' ? 2U : 1U;
            i = at + end.size() - 1;
        } else if (c == '.') {
            if (++dots > most_dots)
                return i;
        } else if (c == '\n' || c == '=' || c == ',' || c == '[' || c == ']' || c == '{' || c == '}') {
            dots = 0;
        }
    }
    return std::string_view::npos;
}

Mark mark_of(const toml::source_region& region) {
    return {static_cast<int>(region.begin.line), static_cast<int>(region.begin.column)};
}

bool before(Mark a, Mark b) {
    return a.line != b.line ? a.line < b.line : a.column < b.column;
}

struct Reader {
    std::size_t count = 0;
    RecipeNote wrong;
    bool failed = false;

    void fail(Mark mark, std::string what, std::string remedy) {
        if (!failed)
            wrong = {Weight::fault, mark.line, mark.column, std::move(what), std::move(remedy)};
        failed = true;
    }

    Value read(const toml::node& node) {
        Value value;
        value.mark = mark_of(node.source());
        if (++count > most_values) {
            fail(value.mark, fmt::format("There are more than {} values.", most_values), "Make two maps of it.");
            return value;
        }
        if (const auto* table = node.as_table()) {
            value.kind = Value::Kind::table;
            for (const auto& [key, child] : *table)
                value.members.push_back({std::string(key.str()), mark_of(key.source()), read(child)});
            std::stable_sort(value.members.begin(), value.members.end(),
                             [](const Member& a, const Member& b) { return before(a.mark, b.mark); });
        } else if (const auto* array = node.as_array()) {
            value.kind = Value::Kind::list;
            for (const toml::node& child : *array)
                value.list.push_back(read(child));
        } else if (const auto* text = node.as_string()) {
            value.kind = Value::Kind::text;
            value.text = text->get();
        } else if (const auto* yes = node.as_boolean()) {
            value.kind = Value::Kind::yes_no;
            value.yes = yes->get();
        } else if (node.is_number()) {
            value.kind = Value::Kind::number;
            value.whole = node.is_integer();
            value.number = node.value<double>().value_or(0);
            if (!std::isfinite(value.number) || std::abs(value.number) >= 1e15)
                fail(value.mark, "This number is beyond all measure.", "Write a smaller one.");
        } else {
            fail(value.mark, "A date or a time of day means nothing here.", "Put it in quotes, if it is a text.");
        }
        return value;
    }
};

bool begins_a_name(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-' ||
           c == '"' || c == '\'' || c == ']' || c == '\r' || c == '\n';
}

/// Where the first byte stands that begins no TOML: one beyond ASCII in no quotes and no comment, a [ with no name
/// behind it; line 0: nowhere. toml++ 3.3 answers some of them with undefined behaviour.
Mark bare_letter(std::string_view text) {
    Mark mark{1, 1};
    const auto starts = [&](std::size_t at, std::string_view what) { return text.substr(at, what.size()) == what; };
    int blanks = 0;         ///< at the line's beginning
    std::string_view until; ///< what ends the quotes or the comment that it is in
    for (std::size_t i = 0; i < text.size(); ++i, ++mark.column) {
        if (text[i] == '\n') {
            ++mark.line;
            mark.column = 0;
            blanks = 0;
        }
        if (until.empty()) {
            if (static_cast<unsigned char>(text[i]) >= 0x80)
                return mark;
            // toml++ takes for granted that a name follows [ and [[.
            if (text[i] == '[' && mark.column == 1 + blanks) {
                std::size_t name = text.find_first_not_of(" \t", i + 1);
                if (name < text.size() && text[name] == '[')
                    name = text.find_first_not_of(" \t", name + 1);
                if (name < text.size() && !begins_a_name(text[name]))
                    return mark;
            }
            if ((text[i] == ' ' || text[i] == '\t') && mark.column == 1 + blanks)
                ++blanks;
            for (const std::string_view open : {"\"\"\"", "'''", "\"", "'", "#"})
                if (until.empty() && starts(i, open)) {
                    until = open == "#" ? std::string_view("\n") : open;
                    i += open.size() - 1;
                    mark.column += static_cast<int>(open.size()) - 1;
                }
        } else if (until.front() == '"' && text[i] == '\\') {
            ++i; // what it escapes ends nothing
            ++mark.column;
        } else if (starts(i, until) || (until.size() == 1 && text[i] == '\n')) {
            i += until.size() - 1;
            mark.column += static_cast<int>(until.size()) - 1;
            until = {};
        }
    }
    return {};
}

} // namespace

const Member* Value::find(std::string_view key) const {
    const auto it = std::find_if(members.begin(), members.end(), [&](const Member& m) { return m.key == key; });
    return it == members.end() ? nullptr : &*it;
}

std::string_view spoken(Value::Kind kind) {
    switch (kind) {
    case Value::Kind::text:
        return "a text";
    case Value::Kind::number:
        return "a number";
    case Value::Kind::yes_no:
        return "true or false";
    case Value::Kind::list:
        return "a list";
    case Value::Kind::table:
        break;
    }
    return "a table";
}

void Notes::add(Weight weight, Mark mark, const std::string& what, const std::string& remedy) {
    faulty_ = faulty_ || weight == Weight::fault;
    if (list.size() < most_notes)
        list.push_back({weight, mark.line, mark.column, what, remedy});
}

tl::expected<Value, RecipeNote> read_tree(std::string_view text) {
    if (text.size() > longest_recipe)
        return tl::unexpected(RecipeNote{Weight::fault, 0, 0,
                                         fmt::format("The recipe is longer than {} bytes.", longest_recipe),
                                         "Make two maps of it."});
    if (const std::size_t at = too_many_dots(text); at != std::string_view::npos) {
        const auto lines =
            static_cast<int>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
        return tl::unexpected(RecipeNote{Weight::fault, lines + 1, 1,
                                         fmt::format("A key has more than {} dots.", most_dots),
                                         "A recipe needs one at most: [bracket.foot]."});
    }
    if (const Mark mark = bare_letter(text); mark.line > 0)
        return tl::unexpected(
            RecipeNote{Weight::fault, mark.line, mark.column,
                       "What stands here is outside of quotes, and begins no name and no value.",
                       "Put a name or text with letters beyond ASCII in quotes; write [name] for a thing."});
    const toml::parse_result result = toml::parse(text);
    if (!result) {
        const Mark mark = mark_of(result.error().source());
        return tl::unexpected(RecipeNote{
            Weight::fault, mark.line, mark.column, fmt::format("This is no TOML: {}.", result.error().description()),
            "Texts stand in quotes, lists in [ ], a thing's name in [ ] on a line of its own."});
    }
    Reader reader;
    Value root = reader.read(result.table());
    if (reader.failed)
        return tl::unexpected(reader.wrong);
    return root;
}

} // namespace boltwalk::recipe
