// What nodes are called in the room: by the title that a person gave, where there is one, beside the file's own name.
#include <algorithm>

#include <fmt/format.h>

#include "core/map/map.hpp"
#include "core/map/values.hpp"
#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

std::string title_at(const Marking& marking, std::int32_t node) {
    for (const auto& [key, value] : marking.extras[std::size_t(node)])
        if ((key == "part" || key == "task" || key == "group") && value != "true")
            return value;
    return "";
}

std::int32_t node_at(const Marking& marking, const std::string& name) {
    for (std::size_t n = 0; n < marking.map.nodes.size(); ++n)
        if (marking.map.nodes[n].name == name)
            return std::int32_t(n);
    return -1;
}

/// The one node with that title, whatever its capitals; none, or several: -1.
std::int32_t node_titled(const Marking& marking, const std::string& title) {
    std::int32_t found = -1;
    for (std::size_t n = 0; n < marking.map.nodes.size(); ++n)
        if (lower_case(title_at(marking, std::int32_t(n))) == lower_case(title)) {
            if (found >= 0)
                return -1;
            found = std::int32_t(n);
        }
    return found;
}

bool takes_names(KeyId id) {
    return names_items(id) || id == KeyId::target;
}

/// Every element of a list of names by itself.
template <typename Change>
std::string each_name(const std::string& list, const Change& change) {
    std::string out;
    for (const std::string& name : split_list(list))
        out += (out.empty() ? "" : "; ") + change(name);
    return out;
}

} // namespace

std::string label_of(const Marking& marking, std::int32_t node) {
    const std::string& name = marking.map.nodes[std::size_t(node)].name;
    const std::string title = title_at(marking, node);
    return title.empty() || title == name ? name : fmt::format("{} ({})", title, name);
}

std::string label_of_offer(const Marking& marking, KeyId id, const std::string& offer) {
    if (!takes_names(id))
        return offer;
    return each_name(offer, [&](const std::string& name) {
        const std::int32_t node = node_at(marking, name);
        return node < 0 ? name : label_of(marking, node);
    });
}

std::string meant_by(const Marking& marking, KeyId id, const std::string& typed) {
    const std::string text(trimmed(typed));
    if (is_title(id) && text.empty() && !value_of(marking, id).empty())
        return "true"; // it stays what it is, by its node's name: another kind is chosen by the buttons
    if (!takes_names(id) || text.empty())
        return text;
    bool other = false;
    const std::string names = each_name(text, [&](const std::string& name) {
        const std::int32_t node = node_at(marking, name) < 0 ? node_titled(marking, name) : -1;
        other = other || node >= 0;
        return node < 0 ? name : marking.map.nodes[std::size_t(node)].name;
    });
    return other ? names : text;
}

std::string shown_of(const Marking& marking, KeyId id) {
    const std::string value = value_of(marking, id);
    return is_title(id) && value == "true" ? "" : value;
}

bool is_title(KeyId id) {
    return id == KeyId::part || id == KeyId::task || id == KeyId::group;
}

std::vector<std::int32_t> nodes_named(const Marking& marking, const std::string& text) {
    const std::string wanted = lower_case(text);
    std::vector<std::int32_t> found;
    for (std::size_t n = 0; n < marking.map.nodes.size(); ++n)
        if (marking.map.nodes[n].in_scene &&
            (wanted.empty() || lower_case(label_of(marking, std::int32_t(n))).find(wanted) != std::string::npos))
            found.push_back(std::int32_t(n));
    return found;
}

std::vector<std::int32_t> held_by(const Marking& marking, std::int32_t node) {
    std::vector<std::int32_t> held;
    for (std::size_t n = 0; n < marking.map.nodes.size(); ++n)
        for (std::int32_t above = marking.map.nodes[n].parent; above >= 0;
             above = marking.map.nodes[std::size_t(above)].parent)
            if (above == node) {
                if (marking.item_of[n])
                    held.push_back(std::int32_t(n));
                break;
            }
    return held;
}

std::vector<std::int32_t> drawn_of_picked(const Marking& marking) {
    std::vector<std::int32_t> drawn;
    const auto take = [&](std::int32_t node) {
        if (std::find(drawn.begin(), drawn.end(), node) == drawn.end())
            drawn.push_back(node);
    };
    for (const std::int32_t node : marking.picked)
        if (marking.item_of[std::size_t(node)])
            take(node);
        else
            for (const std::int32_t held : held_by(marking, node))
                take(held);
    return drawn;
}

} // namespace boltwalk
