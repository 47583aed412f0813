#include "core/map/meaning.hpp"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include "core/measure/measure.hpp"

namespace boltwalk {

/// annotation.md as it stands (core/CMakeLists.txt).
extern const std::string_view annotation_text;

namespace {

constexpr std::array<std::pair<std::string_view, std::uint8_t>, 6> sections{
    {{"## Keys of the scene", on_scene},
     {"## Keys of any item", on_part | on_fastener | on_task},
     {"## Keys of a group", on_group},
     {"## Keys of a fastener", on_fastener},
     {"## Keys of a part", on_part},
     {"## Keys of a task", on_task}}};

/// As a line on the screen: the first sentence, no marks of the text's own.
std::string short_of(std::string_view cell) {
    std::string text;
    for (const char c : trimmed(cell))
        if (c != '`')
            text += c;
    for (const std::string_view end : {". ", ": ", "; "})
        if (const std::size_t at = text.find(end); at != std::string::npos && (end == ". " || text.size() > 90))
            text.resize(at);
    return text;
}

} // namespace

std::string meaning_of(KeyId id, std::uint8_t places) {
    const std::string row = "| `" + std::string(key_of(id).name) + "` |";
    std::string any;
    std::uint8_t section = 0;
    for (std::size_t at = 0; at < annotation_text.size();) {
        const std::size_t end = std::min(annotation_text.find('\n', at), annotation_text.size());
        const std::string_view line = annotation_text.substr(at, end - at);
        at = end + 1;
        if (line.starts_with("## ")) {
            section = 0;
            for (const auto& [heading, on] : sections)
                if (line == heading)
                    section = on;
        }
        if (section == 0 || !line.starts_with(row) || !line.ends_with("|"))
            continue;
        const std::string_view cells = line.substr(0, line.size() - 1);
        std::string meaning = short_of(cells.substr(cells.rfind('|') + 1));
        if ((section & places) != 0)
            return meaning;
        if (any.empty())
            any = std::move(meaning);
    }
    return any;
}

} // namespace boltwalk
