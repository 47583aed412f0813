#include "core/block/tree.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

// Errors as values: what a person mistypes is no exception.
#define TOML_EXCEPTIONS 0
// toml++ 3.3.0 takes for granted that no value begins with a bracket, which "[}" breaks (found by tests/fuzz): an
// abort, or with NDEBUG undefined behaviour. Without its assumptions it says by itself what is wrong.
#undef NDEBUG
#define TOML_ASSERT(expr) static_cast<void>(0)
#include <toml++/toml.h>

namespace boltwalk::recipe {

namespace {

/// toml++ walks its tree by recursion, when it is destroyed too: dotted keys are kept short. (Lists and inline tables
/// it limits itself, to 256 deep.)
constexpr int most_dots = 16;
constexpr std::size_t most_values = 200'000;
constexpr std::size_t most_notes = 200;

bool is_space(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

bool is_plain(char c) {
    return static_cast<unsigned char>(c) < 0x80;
}

struct Wrong {
    std::size_t at = 0;
    std::string what; ///< empty: nothing
    const char* remedy = "";
};

bool begins_a_name(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-' ||
           c == '"' || c == '\'' || c == ']' || c == '\r' || c == '\n';
}

/// What toml++ is not to be given: keys with too many dots; a [ at a line's beginning with no name behind it; letters
/// beyond ASCII outside texts and comments, or first behind a backslash (and the line's end that it hides). TOML has no
/// use for them there, and toml++ 3.3.0 asks whether they are spaces by a table that most of them are not in (undefined
/// behaviour; all found by tests/fuzz).
Wrong look_through(std::string_view text) {
    constexpr const char* bare = "What stands here is outside of quotes, and begins no name and no value.";
    constexpr const char* quote = "Put a name or text with letters beyond ASCII in quotes; write [name] for a thing.";
    int dots = 0;
    int depth = 0;      // in lists and inline tables
    char before = '\n'; // the last that was no blank (a line's end: a line begins); a quote: a text ended there
    for (std::size_t i = text.starts_with("\xef\xbb\xbf") ? 3 : 0; i < text.size(); ++i) {
        const char c = text[i];
        if (c == ' ' || c == '\t')
            continue;
        // toml++ reads on behind what it then calls wrong, and would not stop where this does.
        constexpr std::string_view a_text_follows = "\n=,.[{", follows_a_text = "\r\n=,.]}#";
        const bool is_quote = c == '"' || c == '\'';
        if (is_quote && a_text_follows.find(before) == std::string_view::npos)
            return {i, "A quote stands where no text can begin.",
                    "Put a text in quotes from its beginning to its end."};
        if (before == '"' && follows_a_text.find(c) == std::string_view::npos)
            return {i, "Something stands right behind a text.", "Put a comma or the line's end between."};
        if (static_cast<unsigned char>(c) < ' ' && c != '\n' && (c != '\r' || text.substr(i, 2) != "\r\n"))
            return {i, "A control character.",
                    "Take it out; line ends and tabs are the only ones that may stand here."};
        const bool line_begins = before == '\n';
        before = is_quote ? '"' : c == '#' ? '\n' : c;
        if (c == '[' && line_begins && depth == 0) {
            std::size_t name = text.find_first_not_of(" \t", i + 1);
            if (name < text.size() && text[name] == '[')
                name = text.find_first_not_of(" \t", name + 1);
            if (name < text.size() && !begins_a_name(text[name]))
                return {i, bare, quote};
        }
        depth += c == '[' || c == '{' ? 1 : (c == ']' || c == '}') && depth > 0 ? -1 : 0;
        if (c == '#') {
            i = std::min(text.find('\n', i), text.size());
            dots = 0;
        } else if (is_quote) {
            const bool triple = text.substr(i, 3) == std::string(3, c);
            const std::string_view end = text.substr(i, triple ? 3 : 1);
            std::size_t at = i + end.size();
            while (at < text.size() && text.substr(at, end.size()) != end && (triple || text[at] != '\n')) {
                if (c == '\'' || text[at] != '\\') {
                    ++at;
                    continue;
                }
                std::size_t next = at + 1;
                while (next < text.size() && is_space(text[next]))
                    ++next;
                if (next < text.size() && !is_plain(text[next]))
                    return {next, "A letter beyond ASCII comes right behind a backslash.",
                            "Take the backslash away, or put another letter between."};
                at = next > at + 1 ? next : at + 2;
            }
            if (at >= text.size() || text.substr(at, end.size()) != end)
                return {i, "A quote is opened here and not closed.",
                        triple ? "Put three more where the text ends."
                               : "Put one more where the text ends, on this line."};
            i = at + end.size() - 1;
            // One or two quotes may stand before the three that end it (TOML 1.0.0, "String").
            for (int more = 0; triple && more < 2 && i + 1 < text.size() && text[i + 1] == c; ++more)
                ++i;
        } else if (!is_plain(c)) {
            return {i, bare, quote};
        } else if (c == '.') {
            if (++dots > most_dots)
                return {i, fmt::format("A key has more than {} dots.", most_dots),
                        "A recipe needs one at most: [bracket.foot]."};
        } else if (c == '\n' || c == '=' || c == ',' || c == '[' || c == ']' || c == '{' || c == '}') {
            dots = 0;
        }
    }
    return {};
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
    if (const Wrong wrong = look_through(text); !wrong.what.empty()) {
        const std::string_view before_it = text.substr(0, wrong.at);
        const std::size_t line = before_it.rfind('\n') == std::string_view::npos ? 0 : before_it.rfind('\n') + 1;
        const auto count = [](std::string_view in, auto&& which) {
            return static_cast<int>(std::count_if(in.begin(), in.end(), which));
        };
        // Columns are characters: what goes on a character in UTF-8 is none.
        const int column =
            count(before_it.substr(line), [](char c) { return (static_cast<unsigned char>(c) & 0xc0U) != 0x80; });
        return tl::unexpected(RecipeNote{Weight::fault, count(before_it, [](char c) { return c == '\n'; }) + 1,
                                         column + 1, wrong.what, wrong.remedy});
    }
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
