#include "core/map/files.hpp"

#include <filesystem>
#include <fstream>
#include <iterator>

namespace boltwalk {

std::optional<std::string> bytes_if_readable(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    std::error_code failed;
    if (!file.is_open() || file.bad() || std::filesystem::is_directory(path, failed))
        return std::nullopt;
    return bytes;
}

bool put_whole(const std::string& path, std::string_view bytes) {
    const std::string beside = path + ".part";
    std::ofstream out(beside, std::ios::binary);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    out.close();
    std::error_code failed;
    if (out)
        std::filesystem::rename(beside, path, failed);
    if (out && !failed)
        return true;
    std::filesystem::remove(beside, failed);
    return false;
}

std::string folder_of(const std::string& path) {
    const std::filesystem::path folder = std::filesystem::path(path).parent_path();
    return folder.empty() ? "." : folder.string();
}

} // namespace boltwalk
