#include "viewer/commands/files.hpp"

#include <filesystem>

#include <fmt/format.h>

#include "viewer/commands/report.hpp"

namespace boltwalk {

std::optional<Map> map_of(const std::string& path) {
    auto map = read_map(path);
    if (map)
        return std::move(*map);
    say_error(map.error().text);
    return std::nullopt;
}

std::optional<std::string> bytes_of(const std::string& path) {
    auto bytes = bytes_if_readable(path);
    if (!bytes)
        say_error(fmt::format("{}: cannot be read", path));
    return bytes;
}

bool same_file(const std::string& input, const std::string& output) {
    std::error_code failed;
    if (!std::filesystem::equivalent(input, output, failed) || failed)
        return false;
    say_error(fmt::format("{}: that is the file it is made from; give -o another name", output));
    return true;
}

bool write_whole(const std::string& path, std::string_view bytes) {
    const bool written = put_whole(path, bytes);
    if (!written)
        say_error(fmt::format("{}: cannot be written; is the folder there, and is there room?", path));
    return written;
}

} // namespace boltwalk
