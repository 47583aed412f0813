// Asks a script that runs in Node: one line of JSON a file. Whoever has no Node, or not the packages, is told so, and
// the test fails: a check that did not run has shown nothing.
#pragma once

#include <cstdio>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

namespace outside {

struct ClosePipe {
    void operator()(std::FILE* pipe) const { static_cast<void>(::pclose(pipe)); }
};

inline std::string output_of(const std::string& command) {
    const std::unique_ptr<std::FILE, ClosePipe> pipe(::popen(command.c_str(), "r"));
    REQUIRE(pipe != nullptr);
    std::string out;
    char piece[4096];
    for (std::size_t size = 0; (size = std::fread(piece, 1, sizeof piece, pipe.get())) > 0;) {
        out.append(piece, size);
    }
    return out;
}

inline std::string quoted(const std::string& word) {
    std::string out(1, '\'');
    for (const char c : word) {
        if (c == '\'') {
            out.append("'\\''");
        } else {
            out.push_back(c);
        }
    }
    out.push_back('\'');
    return out;
}

/// One answer a file, in their order.
inline std::vector<nlohmann::json> ask(const std::string& script, const std::vector<std::string>& files) {
    const std::filesystem::path folder = std::filesystem::path(BOLTWALK_SOURCE_DIR) / "tests" / "outside";
    REQUIRE_MESSAGE(output_of("node --version 2>&1").rfind("v", 0) == 0,
                    "node is not installed; third_party/install test brings it");
    REQUIRE_MESSAGE(std::filesystem::exists(folder / "node_modules" / "gltf-validator"),
                    "npm's packages are missing; tests/run installs them, or: cd tests/outside && npm ci");
    std::string command = "node " + quoted((folder / script).string());
    for (const std::string& file : files) {
        command.push_back(' ');
        command.append(quoted(file));
    }
    std::vector<nlohmann::json> answers;
    const std::string out = output_of(command + " 2>&1");
    for (std::size_t begin = 0; begin < out.size();) {
        const std::size_t end = std::min(out.find('\n', begin), out.size());
        answers.push_back(nlohmann::json::parse(out.substr(begin, end - begin), nullptr, false));
        REQUIRE_MESSAGE(!answers.back().is_discarded(), out.substr(begin, 2000));
        begin = end + 1;
    }
    REQUIRE(answers.size() == files.size());
    return answers;
}

} // namespace outside
