#include "viewer/panels/remembered.hpp"

#include <cstdlib>
#include <filesystem>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/map/files.hpp"

namespace boltwalk {

namespace {

using nlohmann::json;

/// The specification: a path that is not whole is left out of account.
std::string folder_in(const char* variable) {
    const char* const value = std::getenv(variable); // NOLINT(concurrency-mt-unsafe): nothing here sets one
    return value != nullptr && value[0] == '/' ? value : std::string();
}

json all_in(const std::string& path) {
    const auto bytes = bytes_if_readable(path);
    json all = bytes ? json::parse(*bytes, nullptr, false) : json();
    return all.is_object() ? all : json::object();
}

} // namespace

std::string remembered_path() {
    const std::string own = folder_in("XDG_CONFIG_HOME");
    if (!own.empty())
        return own + "/boltwalk/screens.json";
    const std::string home = folder_in("HOME");
    return home.empty() ? std::string() : home + "/.config/boltwalk/screens.json";
}

std::string screen_key(int width_px, int height_px, int width_mm, int height_mm) {
    return fmt::format("{} x {} pixels, {} x {} mm", width_px, height_px, width_mm, height_mm);
}

std::string remembered(const std::string& path, const std::string& screen) {
    const json all = all_in(path);
    const auto found = all.find(screen);
    return found != all.end() && found->is_object() ? found->dump(-1, ' ', false, json::error_handler_t::replace)
                                                    : std::string();
}

bool remember(const std::string& path, const std::string& screen, std::string_view settings) {
    json mine = json::parse(settings, nullptr, false);
    if (path.empty() || !mine.is_object())
        return false;
    json all = all_in(path);
    all[screen] = std::move(mine);
    std::error_code failed;
    std::filesystem::create_directories(folder_of(path), failed);
    return !failed && put_whole(path, all.dump(1, ' ', false, json::error_handler_t::replace) + "\n");
}

} // namespace boltwalk
