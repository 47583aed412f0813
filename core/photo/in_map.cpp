// Names and keys of photographs in a map's file.
#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "core/map/values.hpp"
#include "core/photo/encode.hpp"
#include "core/photo/photo.hpp"

namespace boltwalk {

namespace {

constexpr std::size_t longest_name = 40;

} // namespace

std::string photo_name_for(std::span<const std::byte> map_file, std::string_view path) {
    const std::size_t slash = path.find_last_of("/\\");
    std::string_view stem = slash == std::string_view::npos ? path : path.substr(slash + 1);
    stem = stem.substr(0, stem.find('.'));
    // Blender takes a suffix off a name and puts numbers behind a full stop; a list is taken apart at ";".
    std::string base;
    for (const char c : stem) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
        if (plain || (!base.empty() && base.back() != '_'))
            base += plain ? c : '_';
        if (base.size() == longest_name)
            break;
    }
    while (!base.empty() && base.back() == '_')
        base.pop_back();
    if (base.empty())
        base = "photo";
    const std::vector<std::string> taken = image_names(map_file);
    std::string name = base;
    for (int n = 2; std::find(taken.begin(), taken.end(), name) != taken.end(); ++n)
        name = base + "_" + std::to_string(n);
    return name;
}

std::string photo_added(std::string_view value, std::string_view name) {
    std::vector<std::string> names = split_list(value);
    if (std::find(names.begin(), names.end(), name) == names.end())
        names.emplace_back(name);
    return fmt::format("{}", fmt::join(names, "; "));
}

std::string photo_dropped(std::string_view value, std::string_view name) {
    std::vector<std::string> names = split_list(value);
    std::erase(names, name);
    return fmt::format("{}", fmt::join(names, "; "));
}

tl::expected<std::string, ReadError> write_without_photo(std::span<const std::byte> map_file, std::string_view name) {
    constexpr std::uint8_t grey = 0x80;
    return write_photo(map_file, name, photo_taken_out, inside::jpeg_of_pixels({1, 1, {grey, grey, grey}}));
}

} // namespace boltwalk
