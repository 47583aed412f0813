// Photographs of what is picked, and groups that the file does not have yet, as deeds.
#include <algorithm>

#include <fmt/format.h>

#include "core/map/files.hpp"
#include "core/map/scan.hpp"
#include "core/map/values.hpp"
#include "core/photo/photo.hpp"
#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

/// What a node itself says under `photo`.
std::string said_by(const Marking& marking, std::int32_t node) {
    for (const auto& [key, value] : marking.extras[std::size_t(node)])
        if (key == "photo")
            return value;
    return "";
}

bool shows_one(const Marking& marking, std::int32_t node) {
    return kind_of(marking, node) != MarkKind::scenery;
}

} // namespace

std::vector<std::string> photos_of(const Marking& marking) {
    std::vector<std::string> names;
    for (const std::int32_t node : marking.picked)
        for (std::string& name : split_list(said_by(marking, node)))
            if (std::find(names.begin(), names.end(), name) == names.end())
                names.push_back(std::move(name));
    return names;
}

bool add_photo(Marking& marking, const std::string& path) {
    const auto bytes = bytes_if_readable(path);
    if (!bytes) {
        marking.said = path + ": cannot be read. Is it there, and may you open it?";
        return false;
    }
    return add_photo_bytes(marking, path, *bytes);
}

bool add_photo_bytes(Marking& marking, const std::string& name, const std::string& bytes) {
    if (marking.picked.empty() || !std::all_of(marking.picked.begin(), marking.picked.end(),
                                               [&](std::int32_t n) { return shows_one(marking, n); })) {
        marking.said =
            "A photograph shows a part, a fastener, a group or a task: pick one, say what it is, then add it.";
        return false;
    }
    auto taken = take_photo(span_of(bytes));
    if (!taken) {
        marking.said = fmt::format("{}: {}.", name, taken.error());
        return false;
    }
    MarkDeed deed;
    deed.photo = photo_name_for(span_of(marking.bytes), name);
    deed.jpeg = std::move(taken->jpeg);
    for (const std::int32_t node : marking.picked)
        deed.changes.push_back({node, "photo", json_quoted(photo_added(said_by(marking, node), deed.photo)), false});
    deed.what = fmt::format("photograph {}: {} x {}, {} KiB, without place and date", deed.photo, taken->width,
                            taken->height, (deed.jpeg.size() + 1023) / 1024);
    return add_deed(marking, std::move(deed));
}

bool drop_photo(Marking& marking, const std::string& name) {
    MarkDeed deed;
    bool others = false;
    for (std::size_t n = 0; n < marking.extras.size(); ++n) {
        const std::string value = said_by(marking, std::int32_t(n));
        const std::string rest = photo_dropped(value, name);
        if (rest == photo_dropped(value, ""))
            continue;
        if (std::find(marking.picked.begin(), marking.picked.end(), std::int32_t(n)) == marking.picked.end())
            others = true;
        else
            deed.changes.push_back({std::int32_t(n), "photo", rest.empty() ? "" : json_quoted(rest), false});
    }
    const std::vector<std::string> images = image_names(span_of(marking.bytes));
    if (!others && std::find(images.begin(), images.end(), name) != images.end())
        deed.photo = name;
    deed.what = fmt::format("photograph {} taken out{}", name, others ? " here; others show it still" : "");
    return !deed.changes.empty() && add_deed(marking, std::move(deed));
}

bool can_group(const Marking& marking) {
    return !marking.picked.empty() && std::all_of(marking.picked.begin(), marking.picked.end(), [&](std::int32_t n) {
        return kind_of(marking, n) == MarkKind::fastener;
    });
}

bool make_group(Marking& marking, const std::string& typed) {
    const std::string title(trimmed(typed));
    if (title.empty() || !can_group(marking)) {
        marking.said =
            title.empty() ? "Type the group's title first." : "A group is made of fasteners: pick those only.";
        return false;
    }
    MarkDeed deed;
    std::string base = lower_case(title);
    for (char& c : base)
        if (c == ';' || c == ' ' || c == '"' || c == '\\' || static_cast<unsigned char>(c) < 32)
            c = '_';
    deed.group = base;
    const auto taken = [&](const std::string& name) {
        return std::any_of(marking.map.nodes.begin(), marking.map.nodes.end(),
                           [&](const Node& node) { return node.name == name; });
    };
    for (int n = 2; taken(deed.group); ++n)
        deed.group = fmt::format("{}_{}", base, n);
    deed.grouped = marking.picked;
    deed.what = fmt::format("group {} of {}", deed.group, marking.picked.size());
    const auto node = std::int32_t(marking.map.nodes.size());
    deed.changes.push_back({node, "group", json_quoted(title), false});
    if (!add_deed(marking, std::move(deed)))
        return false;
    marking.picked = {node};
    return true;
}

} // namespace boltwalk
