// What the writers share. For core/map only.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/map/container.hpp"
#include "core/map/map.hpp"
#include "core/map/scan.hpp"

namespace boltwalk {

inline tl::unexpected<ReadError> cannot(std::string why) {
    return tl::unexpected(ReadError{std::move(why)});
}

/// A file's parts and its JSON, taken apart; both look into the file's own bytes.
struct OpenedJson {
    Container container;
    Json json;
};
/// Why it is none, and where.
tl::expected<OpenedJson, ReadError> open_json(std::span<const std::byte> file);

/// The number of the scene that is shown, as the file says it: it may have none such. 0 where it says nothing.
double shown_scene(const Json&);

/// New text for the bytes [begin, end) of the JSON.
struct Edit {
    std::size_t begin = 0, end = 0;
    std::string text;
};
/// `text` with every edit in its place; they do not overlap, and are put in order.
std::string edited(std::string_view text, std::vector<Edit>& edits);

/// The file with another JSON text in place of its own; everything else stays byte for byte. An error where that text
/// cannot be read again, or the file is not read_map's kind. `data`: of a .glb, the bytes of its binary chunk from now
/// on; where it had none, it gets one.
tl::expected<std::string, ReadError> with_json(std::span<const std::byte> file, std::string_view text,
                                               std::optional<std::string_view> data = std::nullopt);

} // namespace boltwalk
