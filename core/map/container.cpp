#include "core/map/container.hpp"

#include <cstdint>

#include <fmt/format.h>

namespace boltwalk {

namespace {

constexpr std::uint32_t chunk_json = 0x4e4f534aU; // "JSON"

std::string_view as_text(std::span<const std::byte> bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

tl::expected<Container, std::string> open_glb(std::span<const std::byte> file) {
    if (file.size() < glb_header_bytes) {
        return tl::unexpected(std::string("the file ends within its header: it was cut off; export or copy it again"));
    }
    const std::uint32_t version = little_u32(file, 4);
    if (version != 2) {
        return tl::unexpected(
            fmt::format("this is version {} of the binary format; only glTF 2.0 is read: export it as that", version));
    }
    const std::size_t length = little_u32(file, 8);
    if (length > file.size()) {
        return tl::unexpected(fmt::format("the header promises {} bytes, the file has {}: it was cut off; export or "
                                          "copy it again",
                                          length, file.size()));
    }
    Container container;
    container.binary = true;
    bool has_json = false;
    for (std::size_t at = glb_header_bytes; at < length;) {
        if (length - at < glb_chunk_header_bytes) {
            return tl::unexpected(std::string("a chunk's header is cut off; export or copy the file again"));
        }
        const std::size_t size = little_u32(file, at);
        const std::uint32_t type = little_u32(file, at + 4);
        at += glb_chunk_header_bytes;
        if (size > length - at) {
            return tl::unexpected(fmt::format("a chunk at byte {} promises {} bytes where {} are left: the file was "
                                              "cut off or damaged; export or copy it again",
                                              at - glb_chunk_header_bytes, size, length - at));
        }
        if (!has_json) {
            if (type != chunk_json) {
                return tl::unexpected(std::string("the first chunk is not JSON: the file is damaged; export it again"));
            }
            has_json = true;
            container.json = as_text(file.subspan(at, size));
        } else if (type == glb_chunk_binary && !container.data) {
            container.data = file.subspan(at, size);
        }
        at += size;
    }
    if (!has_json) {
        return tl::unexpected(std::string("there is no JSON chunk in it; export it again"));
    }
    return container;
}

} // namespace

std::uint32_t little_u32(std::span<const std::byte> bytes, std::size_t at) {
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < 4; ++i) {
        value |= std::to_integer<std::uint32_t>(bytes[at + i]) << (8 * i);
    }
    return value;
}

tl::expected<Container, std::string> open_container(std::span<const std::byte> file) {
    std::string_view text = as_text(file);
    if (text.empty()) {
        return tl::unexpected(std::string("the file is empty"));
    }
    if (text.starts_with("glTF")) {
        return open_glb(file);
    }
    if (text.starts_with("\xef\xbb\xbf")) {
        text.remove_prefix(3);
    }
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos || text[first] != '{') {
        return tl::unexpected(std::string("this is neither a .glb nor a .gltf file (it starts with neither \"glTF\" "
                                          "nor \"{\"); export the model as glTF 2.0"));
    }
    return Container{false, text, std::nullopt};
}

} // namespace boltwalk
