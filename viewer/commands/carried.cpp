#include "viewer/commands/carried.hpp"

#include <filesystem>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/map/base64.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace {

struct Carried {
    std::string name, bytes;
};

std::string as_attribute(std::string_view text) {
    std::string result;
    for (const char c : text) {
        if (c == '&' || c == '"' || c == '<' || c == '>')
            result += fmt::format("&#{};", static_cast<int>(c));
        else
            result += c;
    }
    return result;
}

/// The map and, of a .gltf, the files that it names.
tl::expected<std::vector<Carried>, std::string> carried_of(const std::string& path) {
    std::vector<Carried> all;
    auto bytes = bytes_if_readable(path);
    if (!bytes)
        return tl::unexpected(path + ": cannot be read");
    const std::filesystem::path whole(path);
    all.push_back({whole.filename().string(), std::move(*bytes)});
    const auto document = nlohmann::json::parse(all.front().bytes, nullptr, false); // a .glb is none, and names no file
    const auto buffers = document.is_object() ? document.value("buffers", nlohmann::json::array()) : nlohmann::json();
    for (const auto& buffer : buffers) {
        const std::string uri = buffer.is_object() ? buffer.value("uri", std::string()) : std::string();
        if (uri.empty() || uri.starts_with("data:"))
            continue;
        const std::string beside = (whole.parent_path() / uri).string();
        std::error_code failed;
        auto part = uri.find_first_of("/\\%") == std::string::npos && std::filesystem::is_regular_file(beside, failed)
                        ? bytes_if_readable(beside)
                        : std::nullopt;
        if (!part) {
            return tl::unexpected(
                fmt::format("{}: buffer \"{}\" is not carried along: it is no file with a plain name beside the "
                            "map. Export the map as one .glb.",
                            path, uri));
        }
        all.push_back({uri, std::move(*part)});
    }
    return all;
}

/// The list of what a browser keeps for later names files that are not offered here (the demo maps, and the page under
/// a second name): one that is not found, and it keeps nothing. What it keeps is this page with this map, under a name
/// of its own.
std::string offline_of(std::string text, const std::string& code) {
    for (const std::string_view begins : {"'maps/", "'index.html'"})
        for (std::size_t at = 0; (at = text.find(begins, at)) != std::string::npos;) {
            const std::size_t end = text.find("',", at);
            if (end == std::string::npos)
                break;
            text.erase(at, end + 2 - at);
        }
    constexpr std::string_view NAME = "const VERSION = 'boltwalk ";
    if (const std::size_t at = text.find(NAME); at != std::string::npos)
        text.insert(at + NAME.size(), code.substr(0, 8) + " ");
    return text;
}

} // namespace

std::string page_folder() {
    std::error_code failed;
    const auto folder = std::filesystem::read_symlink("/proc/self/exe", failed).parent_path();
    for (const char* place : {"web", "../share/boltwalk/web"})
        if (std::filesystem::exists(folder / place / "index.html", failed))
            return (folder / place).string();
    return (folder / "web").string();
}

std::optional<std::string> of_page(const std::string& folder, const std::string& name) {
    std::error_code failed;
    const std::string path = folder + "/" + name;
    return std::filesystem::is_regular_file(path, failed) ? bytes_of(path) : std::nullopt;
}

std::string no_page(const std::string& folder) {
    return fmt::format("{}: the web page is not there. viewer/web/build builds it (Debian 12 or 13); "
                       "--built FOLDER says where one is.",
                       folder);
}

tl::expected<std::string, std::string> map_as_elements(const std::string& path) {
    const auto carried = carried_of(path);
    if (!carried)
        return tl::unexpected(carried.error());
    std::string elements;
    for (const Carried& file : *carried)
        elements += fmt::format(
            "<script type=\"application/octet-stream\" class=\"carried-map\" data-name=\"{}\">{}</script>\n",
            as_attribute(file.name), base64_of(file.bytes));
    return elements;
}

std::optional<std::string> page_with(std::string page, std::string_view elements) {
    constexpr std::string_view PLACE = "<!-- place of what is carried -->";
    const std::size_t at = page.find(PLACE);
    if (at == std::string::npos)
        return std::nullopt;
    page.replace(at, PLACE.size(), elements);
    return page;
}

tl::expected<std::vector<Offered>, std::string> offered_of(const std::string& map, const std::string& folder,
                                                           const std::string& code) {
    const auto elements = map_as_elements(map);
    if (!elements)
        return tl::unexpected(elements.error());
    struct Wanted {
        const char *name, *type;
    };
    std::vector<Offered> all;
    for (const auto& [name, type] :
         {Wanted{"index.html", "text/html; charset=utf-8"}, Wanted{"boltwalk.wasm", "application/wasm"},
          Wanted{"manifest.webmanifest", "application/manifest+json"}, Wanted{"icon.svg", "image/svg+xml"},
          Wanted{"offline.js", "text/javascript; charset=utf-8"}}) {
        auto bytes = of_page(folder, name);
        Offered file{name, type, {}};
        if (bytes && file.path == "index.html") {
            bytes = page_with(std::move(*bytes),
                              fmt::format("{}<script {}>window.boltwalkMaps = [];</script>", *elements, nonce_place));
            file.path.clear();
        }
        if (!bytes)
            return tl::unexpected(no_page(folder));
        file.bytes = file.path == "offline.js" ? offline_of(std::move(*bytes), code) : std::move(*bytes);
        all.push_back(std::move(file));
    }
    return all;
}

} // namespace boltwalk
