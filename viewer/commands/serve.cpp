#include "viewer/commands/serve.hpp"

#include <csignal>
#include <cstdio>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <pthread.h>
#include <unistd.h>

#include "viewer/commands/carried.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"
#include "viewer/serve/qr.hpp"
#include "viewer/serve/serve.hpp"

namespace boltwalk {

namespace {

struct Settings {
    std::string map, built;
    Serving serving;
};

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

int run(Settings& settings) {
    if (!map_of(settings.map))
        return exit_unreadable;
    const auto elements = map_as_elements(settings.map);
    if (!elements)
        return exit_unreadable;
    auto code = new_code();
    if (!code) {
        say_error(code.error());
        return exit_unreadable;
    }
    const std::string folder = settings.built.empty() ? page_folder() : settings.built;
    Serving& serving = settings.serving;
    serving.code = *code;
    struct Wanted {
        const char *name, *type;
    };
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
        if (!bytes) {
            say_no_page(folder);
            return exit_unreadable;
        }
        file.bytes = file.path == "offline.js" ? offline_of(std::move(*bytes), *code) : std::move(*bytes);
        serving.files.push_back(std::move(file));
    }

    // Waited for below, by this thread alone; the server's inherit it.
    sigset_t ends;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    sigaddset(&ends, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &ends, nullptr);

    const bool lan = serving.lan;
    const auto server = Server::start(std::move(serving));
    if (!server) {
        say_error(server.error());
        return exit_unreadable;
    }
    std::string text;
    for (const std::string& address : server->addresses())
        text += address + "\n";
    text += "\n" + qr_lines(qr_code(server->addresses().front()), isatty(STDOUT_FILENO) == 1) + "\n";
    text += lan ? "Type the address on the tablet, or point its camera at the code. Whoever in this network has the "
                  "address "
                  "can read the map; nobody can change it. The address changes at the next start.\n"
                : "Only this machine can open the address. For a tablet in the same network: --lan\n";
    text += "End it with Ctrl+C.\n";
    if (!print(text) || std::fflush(stdout) != 0)
        return exit_unreadable;
    int which = 0;
    sigwait(&ends, &which);
    return exit_good;
}

} // namespace

void add_serve(CLI::App& app, int& exit_code) {
    auto settings = std::make_shared<Settings>();
    CLI::App* command =
        app.add_subcommand("serve", "Hands the page and the map to a browser, on this machine or in the network");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_flag("--lan", settings->serving.lan, "to the network that this machine is in, not only to itself");
    command->add_option("--port", settings->serving.port, "the port; a walk is kept under it")
        ->capture_default_str()
        ->check(CLI::Range(1, 65535));
    command->add_option("--built", settings->built,
                        "the folder that viewer/web/build wrote; default: beside the program");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
