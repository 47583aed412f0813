#include "viewer/commands/page.hpp"

#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/map/base64.hpp"
#include "viewer/commands/carried.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace page_command {
namespace {

struct Settings {
    std::string map, out, built;
};

int run(const Settings& settings) {
    if (!map_of(settings.map))
        return exit_unreadable;
    const std::string folder = settings.built.empty() ? page_folder() : settings.built;
    const auto program = of_page(folder, "boltwalk.wasm");
    auto index = of_page(folder, "index.html");
    auto elements = map_as_elements(settings.map);
    if (!elements) {
        say_error(elements.error());
        return exit_unreadable;
    }
    // Nothing lies beside one file.
    const auto page = index && program
                          ? page_with(std::move(*index), fmt::format("<script type=\"application/octet-stream\" "
                                                                     "id=\"carried-program\">{}</script>\n{}"
                                                                     "<script>window.boltwalkMaps = [];</script>",
                                                                     base64_of(*program), *elements))
                          : std::nullopt;
    if (!page) {
        say_error(no_page(folder));
        return exit_unreadable;
    }
    if (!write_whole(settings.out, *page))
        return exit_unreadable;
    return print(printable(fmt::format("{}: {} bytes, page and map in one. Copy it to the tablet and open it there.",
                                       settings.out, page->size())) +
                 "\n")
               ? exit_good
               : exit_unreadable;
}

} // namespace
} // namespace page_command

void add_page(CLI::App& app, int& exit_code) {
    using namespace page_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("page", "The map and all that shows it as one HTML file, for a tablet");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("-o,--output", settings->out, "the HTML file to write")->required();
    command->add_option("--built", settings->built,
                        "the folder that viewer/web/build wrote; default: beside the program");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
