#include "viewer/commands/naming.hpp"

#include <algorithm>
#include <vector>

#include <fmt/format.h>

#include "core/map/values.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace {

struct Candidate {
    Named named;
    std::string name, title;
};

/// Small letters, single blanks; what stands between words in a name or a title is a blank.
std::string spoken_form(std::string_view text) {
    std::string out;
    for (const char c : lower_case(text)) {
        const bool between = c == ' ' || c == '_' || c == '-' || c == '.' || c == ',' || c == ';' || c == ':';
        if (!between)
            out += c;
        else if (!out.empty() && out.back() != ' ')
            out += ' ';
    }
    if (!out.empty() && out.back() == ' ')
        out.pop_back();
    return out;
}

std::vector<Candidate> candidates_of(const Map& map, Naming naming) {
    std::vector<Candidate> list;
    if (naming == Naming::hardware)
        for (std::size_t g = 0; g < map.groups.size(); ++g)
            list.push_back({{{}, static_cast<std::int32_t>(g)}, map.groups[g].name, map.groups[g].title});
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const ItemId id{static_cast<std::int32_t>(i)};
        const bool fits = naming == Naming::item || (naming != Naming::hardware && map.is_part(id)) ||
                          (naming != Naming::part && map.is_fastener(id));
        if (!fits)
            continue;
        // The title of one of a group is the group's: that says which group, not which of them.
        const bool shared = map.is_fastener(id) && map[id].group >= 0;
        list.push_back({{id, -1}, map[id].name, shared ? std::string() : map[id].title});
    }
    return list;
}

/// Does each of these words begin a word of that text?
bool has_words(const std::string& text, const std::string& words) {
    for (std::size_t from = 0; from < words.size();) {
        const std::size_t to = std::min(words.find(' ', from), words.size());
        if ((" " + text).find(" " + words.substr(from, to - from)) == std::string::npos)
            return false;
        from = to + 1;
    }
    return !words.empty();
}

} // namespace

tl::expected<Named, std::string> find_named(const Map& map, std::string_view typed, Naming naming) {
    const std::vector<Candidate> all = candidates_of(map, naming);
    const auto exact = std::find_if(all.begin(), all.end(), [&](const Candidate& c) { return c.name == typed; });
    if (exact != all.end())
        return exact->named;
    const std::string words = spoken_form(typed);
    std::vector<const Candidate*> found;
    const auto collect = [&](auto&& fits) {
        if (found.empty())
            for (const Candidate& one : all)
                if (fits(one))
                    found.push_back(&one);
    };
    collect([&](const Candidate& c) { return !words.empty() && spoken_form(c.title) == words; });
    collect([&](const Candidate& c) { return !words.empty() && spoken_form(c.name) == words; });
    collect([&](const Candidate& c) { return has_words(spoken_form(c.title), words); });
    if (found.size() == 1)
        return found.front()->named;
    constexpr std::string_view kinds[] = {"part", "item", "group", "part"};
    const std::string_view kind = kinds[static_cast<std::size_t>(naming)];
    if (found.empty())
        return tl::unexpected(no_such_item(map, std::string(typed), std::string(kind).c_str()));
    constexpr std::size_t most_named = 8;
    std::vector<std::string> names;
    names.reserve(found.size());
    for (const Candidate* one : found)
        names.push_back(fmt::format("{} ({})", one->name, one->title));
    return tl::unexpected(fmt::format("{}: \"{}\" may be one of {}: {}; write one of these names", map.path, typed,
                                      found.size(), few_of(names, ", ", most_named)));
}

} // namespace boltwalk
