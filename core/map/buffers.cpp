// Where a buffer's bytes come from: the binary chunk, a data: URI, or a file in the map's own folder and nowhere else.

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <memory>

#include <fmt/format.h>

#include "core/map/base64.hpp"
#include "core/map/files.hpp"
#include "core/map/gltf.hpp"

namespace boltwalk {

namespace fs = std::filesystem;

Block make_block(std::size_t size) {
    // Not make_unique: the bytes are filled at once, and clearing 200 MB first takes longer than reading it.
    return {std::unique_ptr<std::byte[]>(new std::byte[size]), size};
}

namespace {

int hex_digit(char c) {
    if (c >= '0' && c <= '9') {
        return c - '0';
    }
    if (c >= 'a' && c <= 'f') {
        return c - 'a' + 10;
    }
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/// Percent escapes resolved, once (RFC 3986, section 2.4). An escape that is none stays as it is, like a file name has
/// it that was never escaped.
std::string decode_percent(std::string_view uri) {
    std::string out;
    for (std::size_t i = 0; i < uri.size(); ++i) {
        if (uri[i] == '%' && i + 2 < uri.size() && hex_digit(uri[i + 1]) >= 0 && hex_digit(uri[i + 2]) >= 0) {
            out += static_cast<char>(hex_digit(uri[i + 1]) * 16 + hex_digit(uri[i + 2]));
            i += 2;
        } else {
            out += uri[i];
        }
    }
    return out;
}

/// Why a decoded relative path may not be followed, or empty.
std::string why_outside(const std::string& path) {
    if (path.empty()) {
        return "it names no file";
    }
    if (path.find('\0') != std::string::npos) {
        return "its name holds a zero";
    }
    if (path.front() == '/' || path.find('\\') != std::string::npos || path.find(':') != std::string::npos) {
        return "only a file beside the map, or in a folder below it, may be named";
    }
    for (std::size_t begin = 0; begin <= path.size();) {
        const std::size_t end = std::min(path.find('/', begin), path.size());
        if (path.substr(begin, end - begin) == "..") {
            return "it leads out of the map's folder";
        }
        begin = end + 1;
    }
    return {};
}

bool is_below(const fs::path& folder, const fs::path& file) {
    const auto [folder_end, file_at] = std::mismatch(folder.begin(), folder.end(), file.begin(), file.end());
    // A folder written with a slash at its end has an empty last element.
    return (folder_end == folder.end() || folder_end->empty()) && file_at != file.end();
}

bool fetch_file(Gltf& gltf, const std::string& uri, const std::string& where, std::span<const std::byte>& out) {
    const std::string name = decode_percent(uri);
    const std::string outside = why_outside(name);
    if (!outside.empty()) {
        return gltf.refuse(fmt::format("{}: the buffer \"{}\" is refused: {}. Put the file beside the map, or export "
                                       "the map as one .glb",
                                       where, uri, outside));
    }
    if (gltf.folder.empty()) {
        return gltf.refuse(fmt::format("{}: the buffer \"{}\" is a file of its own, and this map came without a "
                                       "folder. Export it as one .glb",
                                       where, uri));
    }
    std::error_code error;
    const fs::path folder = fs::canonical(fs::path(gltf.folder), error);
    const fs::path path = error ? fs::path() : fs::canonical(folder / fs::path(name), error);
    if (error || !fs::is_regular_file(path, error) || error) {
        return gltf.refuse(fmt::format("{}: the buffer \"{}\" is missing. Put that file beside the map, or export the "
                                       "map as one .glb",
                                       where, uri));
    }
    if (!is_below(folder, path)) {
        return gltf.refuse(fmt::format("{}: the buffer \"{}\" is a link that leads out of the map's folder; it is not "
                                       "followed. Put the file itself beside the map",
                                       where, uri));
    }
    for (const auto& [known, bytes] : gltf.files) {
        if (known == path.native()) {
            out = bytes;
            return true;
        }
    }
    const std::uintmax_t size = fs::file_size(path, error);
    if (error || size > gltf.options.byte_limit - std::min(gltf.options.byte_limit, gltf.bytes_read)) {
        return gltf.refuse(fmt::format("{}: with the buffer \"{}\" of {} bytes the map is larger than the {} bytes "
                                       "allowed. Leave out what is not needed, or simplify the meshes",
                                       where, uri, size, gltf.options.byte_limit));
    }
    Block block = make_block(static_cast<std::size_t>(size));
    const std::unique_ptr<std::FILE, CloseFile> file(std::fopen(path.c_str(), "rb"));
    if (!file || std::fread(block.bytes.get(), 1, block.size, file.get()) != block.size) {
        return gltf.refuse(
            fmt::format("{}: the buffer \"{}\" cannot be read. See whether you may open that file", where, uri));
    }
    out = block.view();
    gltf.bytes_read += block.size;
    gltf.store->blocks.push_back(std::move(block));
    gltf.files.emplace_back(path.native(), out);
    return true;
}

bool fetch_data_uri(Gltf& gltf, std::string_view uri, const std::string& where, std::span<const std::byte>& out) {
    const std::size_t comma = uri.find(',');
    if (comma == std::string_view::npos || !uri.substr(0, comma).ends_with(";base64")) {
        return gltf.refuse(fmt::format("{}: its data: URI is not base64. Export the map again, as .glb", where));
    }
    const std::string_view text = uri.substr(comma + 1);
    Block block = make_block(base64_bytes(text));
    const std::string error = from_base64(text, block.bytes.get());
    if (!error.empty()) {
        return gltf.refuse(fmt::format("{}: {}. Export or copy the map again", where, error));
    }
    out = block.view();
    gltf.store->blocks.push_back(std::move(block));
    return true;
}

} // namespace

bool fetch_buffer(Gltf& gltf, std::size_t index, const std::string& where, std::span<const std::byte>& out) {
    if (gltf.buffers[index]) {
        out = *gltf.buffers[index];
        return true;
    }
    const TokenId token = gltf.objects(Array::buffers)[index];
    const std::string here = fmt::format("{}, {}", where, say_object(gltf, "buffer", index, token));
    std::size_t length = 0;
    if (!read_size(gltf, token, "byteLength", here, length)) {
        return false;
    }
    const TokenId uri = find_member(gltf.json, token, "uri");
    if (uri == no_token) {
        const TokenId extensions = find_member(gltf.json, token, "extensions");
        if (find_member(gltf.json, extensions, "EXT_meshopt_compression") != no_token) {
            return gltf.refuse(fmt::format("{}: the geometry is compressed (EXT_meshopt_compression), which is not "
                                           "read. Export it without compression",
                                           here));
        }
        if (index != 0 || !gltf.binary_chunk) {
            return gltf.refuse(fmt::format("{}: it names no file and the map holds no binary chunk for it. Export the "
                                           "map again, as .glb",
                                           here));
        }
        out = *gltf.binary_chunk;
    } else if (!gltf.json.is(uri, JsonKind::text)) {
        return gltf.refuse(
            fmt::format("{}: \"uri\" is {}, not a text. Export the map again", here, spoken(gltf.json[uri].kind)));
    } else {
        const std::string_view raw = gltf.json.raw(uri);
        // A data: URI may be most of the file: no copy of it where none is needed.
        const bool plain = !gltf.json[uri].escaped;
        const std::string copy = plain && raw.starts_with("\"data:") ? std::string() : text_of(gltf.json, uri);
        const std::string_view text =
            copy.empty() && raw.size() > 2 ? raw.substr(1, raw.size() - 2) : std::string_view(copy);
        if (text.starts_with("data:") ? !fetch_data_uri(gltf, text, here, out) : !fetch_file(gltf, copy, where, out)) {
            return false;
        }
    }
    if (out.size() < length) {
        return gltf.refuse(fmt::format("{}: {} bytes are promised, {} are there: the file was cut off. Export or copy "
                                       "it again",
                                       here, length, out.size()));
    }
    out = out.first(length);
    gltf.buffers[index] = out;
    return true;
}

bool fetch_view(Gltf& gltf, std::size_t index, const std::string& where, std::span<const std::byte>& out,
                std::size_t& stride) {
    const tinygltf::BufferView& view = gltf.model.bufferViews[index];
    const std::string here = fmt::format("{}, buffer view {}", where, index);
    if (const auto bad = gltf.bad_views.find(index); bad != gltf.bad_views.end()) {
        return gltf.refuse(here + bad->second);
    }
    if (view.extensions.contains("EXT_meshopt_compression")) {
        return gltf.refuse(fmt::format("{}: the geometry is compressed (EXT_meshopt_compression), which is not read. "
                                       "Export it without compression",
                                       here));
    }
    const std::size_t offset = view.byteOffset;
    const std::size_t length = view.byteLength;
    stride = view.byteStride;
    if (view.buffer < 0) {
        return gltf.refuse(fmt::format("{}: it names no buffer. Export the map again", here));
    }
    std::span<const std::byte> bytes;
    if (!fetch_buffer(gltf, static_cast<std::size_t>(view.buffer), where, bytes)) {
        return false;
    }
    if (offset > bytes.size() || length > bytes.size() - offset) {
        return gltf.refuse(fmt::format("{}: bytes {} to {} are asked of buffer {}, which has {}. Export the map again",
                                       here, offset, offset + length, view.buffer, bytes.size()));
    }
    out = bytes.subspan(offset, length);
    return true;
}

} // namespace boltwalk
