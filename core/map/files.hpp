// Files as bytes: in whole, or not at all.
#pragma once

#include <cstddef>
#include <cstdio>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace boltwalk {

struct CloseFile {
    void operator()(std::FILE* file) const { static_cast<void>(std::fclose(file)); }
};

/// All bytes; none when it cannot be read.
std::optional<std::string> bytes_if_readable(const std::string& path);

/// Written beside it and then renamed: a full disk must not leave half a file where a whole one was. False when that
/// failed; what was there is there still.
bool put_whole(const std::string& path, std::string_view bytes);

/// The folder that a file's path names, as read_map_bytes() wants it: "." where it names none.
std::string folder_of(const std::string& path);

/// The same bytes as read_map_bytes() and write_changes() take them.
inline std::span<const std::byte> span_of(const std::string& bytes) {
    return std::as_bytes(std::span(bytes.data(), bytes.size()));
}

} // namespace boltwalk
