#include "viewer/commands/carried.hpp"

#include <filesystem>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

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

/// The map and, of a .gltf, the files that it names. Empty: said why on the error stream.
std::vector<Carried> carried_of(const std::string& path) {
    std::vector<Carried> all;
    auto bytes = bytes_of(path);
    if (!bytes)
        return {};
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
                        ? bytes_of(beside)
                        : std::nullopt;
        if (!part) {
            say_error(fmt::format("{}: buffer \"{}\" is not carried along: it is no file with a plain name beside the "
                                  "map. Export the map as one .glb.",
                                  path, uri));
            return {};
        }
        all.push_back({uri, std::move(*part)});
    }
    return all;
}

} // namespace

std::string base64(std::string_view bytes) {
    constexpr std::string_view LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text;
    text.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        std::uint32_t three = 0;
        const std::size_t some = std::min<std::size_t>(3, bytes.size() - i);
        for (std::size_t k = 0; k < 3; ++k)
            three = three << 8U | (k < some ? static_cast<unsigned char>(bytes[i + k]) : 0U);
        for (std::size_t k = 0; k < 4; ++k)
            text += k <= some ? LETTERS[three >> (18U - 6U * static_cast<unsigned>(k)) & 63U] : '=';
    }
    return text;
}

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

void say_no_page(const std::string& folder) {
    say_error(fmt::format("{}: the web page is not there. viewer/web/build builds it (Debian 12 or 13); "
                          "--built FOLDER says where one is.",
                          folder));
}

std::optional<std::string> map_as_elements(const std::string& path) {
    std::string elements;
    for (const Carried& file : carried_of(path))
        elements += fmt::format(
            "<script type=\"application/octet-stream\" class=\"carried-map\" data-name=\"{}\">{}</script>\n",
            as_attribute(file.name), base64(file.bytes));
    return elements.empty() ? std::nullopt : std::optional(std::move(elements));
}

std::optional<std::string> page_with(std::string page, std::string_view elements) {
    constexpr std::string_view PLACE = "<!-- place of what is carried -->";
    const std::size_t at = page.find(PLACE);
    if (at == std::string::npos)
        return std::nullopt;
    page.replace(at, PLACE.size(), elements);
    return page;
}

} // namespace boltwalk
