#include "viewer/commands/page.hpp"

#include <filesystem>
#include <memory>
#include <utility>
#include <vector>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/map/map.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace {

struct Settings {
    std::string map, out, built;
};

struct Carried {
    std::string name, bytes;
};

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

/// Where viewer/web/build puts it: beside the program, or in the place of an installed one.
std::string built_beside() {
    std::error_code failed;
    const auto folder = std::filesystem::read_symlink("/proc/self/exe", failed).parent_path();
    for (const char* place : {"web", "../share/boltwalk/web"})
        if (std::filesystem::exists(folder / place / "index.html", failed))
            return (folder / place).string();
    return (folder / "web").string();
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

int run(const Settings& settings) {
    if (const auto map = read_map(settings.map); !map) {
        say_error(map.error().text);
        return exit_unreadable;
    }
    const std::string folder = settings.built.empty() ? built_beside() : settings.built;
    const auto built = [&](const char* name) {
        std::error_code failed;
        const std::string path = folder + name;
        return std::filesystem::is_regular_file(path, failed) ? bytes_of(path) : std::nullopt;
    };
    auto page = built("/index.html");
    const auto program = built("/boltwalk.wasm");
    constexpr std::string_view PLACE = "<!-- place of what is carried -->";
    const std::size_t at = page ? page->find(PLACE) : std::string::npos;
    if (at == std::string::npos || !program) {
        say_error(fmt::format("{}: the web page is not there. viewer/web/build builds it (Debian 12 or 13); "
                              "--built FOLDER says where one is.",
                              folder));
        return exit_unreadable;
    }
    const std::vector<Carried> files = carried_of(settings.map);
    if (files.empty())
        return exit_unreadable;
    std::string carried =
        fmt::format("<script type=\"application/octet-stream\" id=\"carried-program\">{}</script>\n", base64(*program));
    for (const Carried& file : files)
        carried += fmt::format(
            "<script type=\"application/octet-stream\" class=\"carried-map\" data-name=\"{}\">{}</script>\n",
            as_attribute(file.name), base64(file.bytes));
    // Nothing lies beside one file.
    carried += "<script>window.boltwalkMaps = [];</script>";
    page->replace(at, PLACE.size(), carried);
    if (!write_whole(settings.out, *page))
        return exit_unreadable;
    return print(printable(fmt::format("{}: {} bytes, page and map in one. Copy it to the tablet and open it there.",
                                       settings.out, page->size())) +
                 "\n")
               ? exit_good
               : exit_unreadable;
}

} // namespace

void add_page(CLI::App& app, int& exit_code) {
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("page", "The map and all that shows it as one HTML file, for a tablet");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("-o,--output", settings->out, "the HTML file to write")->required();
    command->add_option("--built", settings->built,
                        "the folder that viewer/web/build wrote; default: beside the program");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
