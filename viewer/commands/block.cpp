#include "viewer/commands/block.hpp"

#include <chrono>
#include <cstdio>
#include <map>
#include <memory>
#include <string>
#include <thread>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/block/block.hpp"
#include "core/map/scan.hpp"
#include "core/map/values.hpp"
#include "core/photo/photo.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace block_command {
namespace {

constexpr std::chrono::milliseconds between_looks{200};

struct Settings {
    std::string recipe, output;
    bool watch = false;
};

std::string counted(std::size_t count, const char* one) {
    return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
}

/// A recipe's `photo` names picture files beside it; each comes into the map once. None: one could not be taken, which
/// was said.
std::optional<std::string> with_photos(const Settings& settings, std::string glb) {
    std::map<std::string, std::string> names; // by file
    std::vector<Change> changes;
    for (const auto& [node, files] : values_of_key(span_of(glb), "photo")) {
        std::string value;
        for (const std::string& file : split_list(files)) {
            std::string& name = names[file];
            if (name.empty()) {
                const auto picture = bytes_of(folder_of(settings.recipe) + "/" + file);
                const auto taken = picture ? take_photo(span_of(*picture)) : tl::unexpected(std::string());
                if (!taken) {
                    if (picture)
                        say_error(fmt::format("{}: photo \"{}\": {}", settings.recipe, file, taken.error()));
                    return std::nullopt;
                }
                name = photo_name_for(span_of(glb), file);
                auto with_one = write_photo(span_of(glb), "", name, taken->jpeg);
                if (!with_one) {
                    say_error(with_one.error().text);
                    return std::nullopt;
                }
                glb = std::move(*with_one);
            }
            value = photo_added(value, name);
        }
        changes.push_back({node, "photo", json_quoted(value), false});
    }
    auto written = write_changes(span_of(glb), changes);
    if (!written) {
        say_error(written.error().text);
        return std::nullopt;
    }
    return std::move(*written);
}

int build(const Settings& settings, const std::string& recipe) {
    const Blocked made = block_out(recipe);
    std::size_t faults = 0;
    for (const RecipeNote& note : made.notes) {
        faults += note.weight == Weight::fault ? 1U : 0U;
        say_error(say(settings.recipe, note));
    }
    if (made.glb.empty()) {
        say_error(fmt::format("{}: not written, {} to mend", settings.output, faults));
        return made.is_toml ? exit_findings : exit_unreadable;
    }
    const auto bytes = with_photos(settings, made.glb);
    if (!bytes || !write_whole(settings.output, *bytes))
        return exit_unreadable;
    const std::string done = fmt::format("{}: {}, {}, {}, {}", settings.output, counted(made.parts, "part"),
                                         counted(made.fasteners, "fastener"), counted(made.tasks, "task"),
                                         fmt::format("{} KiB", (bytes->size() + 1023) / 1024));
    return print(printable(done) + "\n") ? exit_good : exit_unreadable;
}

int run(const Settings& settings) {
    auto recipe = bytes_of(settings.recipe);
    if (!recipe)
        return exit_unreadable;
    int code = build(settings, *recipe);
    while (settings.watch) {
        std::fflush(stdout);
        std::this_thread::sleep_for(between_looks);
        auto now = bytes_if_readable(settings.recipe); // an editor may be replacing it
        if (!now || *now == *recipe)
            continue;
        recipe = std::move(now);
        code = build(settings, *recipe);
    }
    return code;
}

} // namespace
} // namespace block_command

void add_block(CLI::App& app, int& exit_code) {
    using namespace block_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("block", "Make a map from nothing: shapes and fasteners from a short text");
    command->add_option("RECIPE", settings->recipe, "a TOML file; core/block/recipe.md lists its words")->required();
    command->add_option("-o,--output", settings->output, "the .glb file to write")->required();
    command->add_flag("--watch", settings->watch, "build again whenever the recipe changes, until interrupted");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
