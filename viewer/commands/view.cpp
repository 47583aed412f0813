#include "viewer/commands/view.hpp"

#include <map>
#include <memory>
#include <string>

#include "viewer/commands/hand_over.hpp"
#include "viewer/commands/report.hpp"
#include "viewer/commands/tool_list.hpp"
#include "viewer/panels/window.hpp"
#include "viewer/serve/serve.hpp"

namespace boltwalk {

void add_view(CLI::App& app, int& exit_code) {
    static const std::map<std::string, Distance> REACH_WORDS{
        {"desk", Distance::desk}, {"hand", Distance::hand}, {"bench", Distance::bench}, {"helper", Distance::helper}};
    CLI::App* view = app.add_subcommand("view", "Walk through a map in a window");
    const auto options = std::make_shared<WindowOptions>();
    view->add_option("MAP", options->path, "a .glb or .gltf file; without it the window says how to open one");
    view->add_option("--reach", options->reach,
                     "read from: desk, hand (0.5 m), bench (1 m), helper (3 m); default as this screen had it last")
        ->transform(CLI::CheckedTransformer(REACH_WORDS));
    view->add_option_function<std::string>(
            "--unit",
            [options](const std::string& text) {
                const auto unit = read_torque_unit(text);
                if (!unit)
                    throw CLI::ValidationError("--unit", unit.error().what + " " + unit.error().remedy);
                options->unit = *unit;
            },
            "your torque wrench's unit; default as this screen had it last, at first N·m")
        ->type_name("TEXT");
    const auto wrenches = std::make_shared<std::string>();
    view->add_option("--wrenches", *wrenches,
                     "a text file of the tools owned, one a line, as for reach: the card of a torque says which torque "
                     "wrench to take; without it nothing is said");
    for (const bool night : {false, true})
        view->add_flag_callback(
            night ? "--night" : "--day", [options, night] { options->night = night; },
            night ? "light on dark" : "dark on light; default as this screen had it last");
    view->add_flag("--mark", options->mark, "open in the room where a model is marked up");
    view->add_option("--width", options->width, "of the window, in pixels")->check(CLI::Range(320, 16384));
    view->add_option("--height", options->height, "of the window, in pixels")->check(CLI::Range(240, 16384));
    view->add_option("--press-gap", options->press_gap_s,
                     "seconds: a press of the main action that comes sooner than that after the last one was answered "
                     "is the same press; default 0.4")
        ->check(CLI::Range(0.0, 5.0));
    view->add_option("--report", options->report,
                     "write what is on the screen to this file after every frame (JSON: controls, boxes, step)");
    const auto serving = std::make_shared<Serving>();
    const auto built = std::make_shared<std::string>();
    view->add_option("--port", serving->port, "that the window hands the page to a tablet on, when asked to")
        ->capture_default_str()
        ->check(CLI::Range(1, 65535));
    view->add_option("--built", *built,
                     "the folder of that page, as viewer/web/build wrote it; default: beside the program");
    options->hand_over = [serving, built] { return hand_over_by_server(*built, serving->port); };
    view->callback([options, wrenches, &exit_code] {
        if (!wrenches->empty() && !(options->wrenches = tools_from(*wrenches))) {
            exit_code = exit_unreadable;
            return;
        }
        exit_code = run_window(*options);
    });
}

} // namespace boltwalk
