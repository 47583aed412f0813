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

namespace serve_command {
namespace {

struct Settings {
    std::string map, built;
    Serving serving;
};

int run(Settings& settings) {
    if (!map_of(settings.map))
        return exit_unreadable;
    auto code = new_code();
    if (!code) {
        say_error(code.error());
        return exit_unreadable;
    }
    const std::string folder = settings.built.empty() ? page_folder() : settings.built;
    Serving& serving = settings.serving;
    serving.code = *code;
    auto files = offered_of(settings.map, folder, *code);
    if (!files) {
        say_error(files.error());
        return exit_unreadable;
    }
    serving.files = std::move(*files);

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
} // namespace serve_command

void add_serve(CLI::App& app, int& exit_code) {
    using namespace serve_command;
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
