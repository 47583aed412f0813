// A .glb file's chunks, or a .gltf file's text: told apart by content, never by the name.
//
// Source: glTF 2.0 specification, section 4 "GLB file format": a header of magic, version, length; then chunks of
// length, type, data. Little-endian throughout.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <tl/expected.hpp>

namespace boltwalk {

struct Container {
    bool binary = false;
    std::string_view json;                          ///< the text; a leading byte order mark is not in it
    std::optional<std::span<const std::byte>> data; ///< the binary chunk, if there is one
};

/// Why it is neither, as a sentence without the file's name.
tl::expected<Container, std::string> open_container(std::span<const std::byte> file);

inline constexpr std::size_t glb_header_bytes = 12;
inline constexpr std::size_t glb_chunk_header_bytes = 8;
inline constexpr std::uint32_t glb_chunk_binary = 0x004e4942U; // "BIN" and a zero
std::uint32_t little_u32(std::span<const std::byte> bytes, std::size_t at);

} // namespace boltwalk
