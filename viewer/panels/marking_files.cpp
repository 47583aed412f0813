// Where a model that is being marked up is saved, so that no file of anybody's is lost.
#include "viewer/panels/marking_files.hpp"

#include <algorithm>
#include <filesystem>
#include <system_error>

#include <fmt/format.h>

#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

namespace fs = std::filesystem;

bool is_there(const std::string& path) {
    std::error_code failed;
    return fs::exists(path, failed) && !fs::is_directory(path, failed);
}

/// Without the "_marked" or "_marked_2" of an earlier saving.
std::string plain_stem(std::string stem) {
    std::size_t end = stem.size();
    while (end > 0 && stem[end - 1] >= '0' && stem[end - 1] <= '9')
        --end;
    if (end < stem.size() && stem.substr(0, end).ends_with("_marked_"))
        stem.resize(end - 1);
    if (stem.ends_with("_marked"))
        stem.resize(stem.size() - std::string_view("_marked").size());
    return stem;
}

} // namespace

bool is_same_file(const std::string& a, const std::string& b) {
    std::error_code failed;
    return a == b || (fs::equivalent(a, b, failed) && !failed);
}

bool is_anothers(const std::string& path, const std::set<std::string>& written) {
    return is_there(path) && std::none_of(written.begin(), written.end(),
                                          [&](const std::string& own) { return is_same_file(own, path); });
}

std::string name_to_save(const std::string& path, const std::set<std::string>& written) {
    if (written.contains(path))
        return path;
    const std::size_t slash = path.find_last_of('/'), dot = path.find_last_of('.');
    const bool has_end = dot != std::string::npos && (slash == std::string::npos || dot > slash);
    const std::string stem = plain_stem(has_end ? path.substr(0, dot) : path),
                      end = has_end ? path.substr(dot) : ".glb";
    std::string name = stem + "_marked" + end;
    for (int n = 2; is_anothers(name, written); ++n)
        name = fmt::format("{}_marked_{}{}", stem, n, end);
    return name;
}

bool asks_replace(const Marking& marking) {
    return !marking.in_the_way.empty() && marking.in_the_way == marking.save_to;
}

} // namespace boltwalk
