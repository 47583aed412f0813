// The program: one executable, one file a subcommand in viewer/commands.
#include <cstdio>
#include <exception>
#include <new>

#include <CLI/CLI.hpp>

#include "viewer/commands/balance.hpp"
#include "viewer/commands/block.hpp"
#include "viewer/commands/check.hpp"
#include "viewer/commands/compare.hpp"
#include "viewer/commands/fit.hpp"
#include "viewer/commands/hidden.hpp"
#include "viewer/commands/holds.hpp"
#include "viewer/commands/log.hpp"
#include "viewer/commands/order.hpp"
#include "viewer/commands/page.hpp"
#include "viewer/commands/photo.hpp"
#include "viewer/commands/picture.hpp"
#include "viewer/commands/propose.hpp"
#include "viewer/commands/reach.hpp"
#include "viewer/commands/report.hpp"
#include "viewer/commands/serve.hpp"
#include "viewer/commands/set.hpp"
#include "viewer/commands/sheet.hpp"
#include "viewer/commands/table.hpp"
#include "viewer/commands/torque.hpp"
#include "viewer/commands/view.hpp"
#include "viewer/commands/way.hpp"

namespace {

int run(int argc, char** argv) {
    CLI::App app{"Boltwalk: where every fastener is, in which order things come off, and in which they go back"};
    app.require_subcommand(1);
    app.footer("MAP is a glTF 2.0 file whose nodes are annotated; core/map/annotation.md lists the keys.\n"
               "Exit codes: 0 no fault, 1 faults, 2 cannot be read or written, 64 wrong use.");
    int exit_code = boltwalk::exit_good;
    boltwalk::add_check(app, exit_code);
    boltwalk::add_order(app, exit_code);
    boltwalk::add_compare(app, exit_code);
    boltwalk::add_holds(app, exit_code);
    boltwalk::add_balance(app, exit_code);
    boltwalk::add_fit(app, exit_code);
    boltwalk::add_hidden(app, exit_code);
    boltwalk::add_reach(app, exit_code);
    boltwalk::add_torque(app, exit_code);
    boltwalk::add_block(app, exit_code);
    boltwalk::add_propose(app, exit_code);
    boltwalk::add_set(app, exit_code);
    boltwalk::add_photo(app, exit_code);
    boltwalk::add_table(app, exit_code);
    boltwalk::add_log(app, exit_code);
    boltwalk::add_picture(app, exit_code);
    boltwalk::add_sheet(app, exit_code);
    boltwalk::add_page(app, exit_code);
    boltwalk::add_serve(app, exit_code);
    boltwalk::add_way(app, exit_code);
    boltwalk::add_view(app, exit_code);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? boltwalk::exit_good : boltwalk::exit_usage;
    } catch (const std::bad_alloc&) {
        boltwalk::say_error("not enough memory for this map");
        return boltwalk::exit_unreadable;
    } catch (const std::exception& error) {
        boltwalk::say_error(std::string("this should not have happened: ") + error.what());
        return boltwalk::exit_unreadable;
    }
    return exit_code;
}

} // namespace

int main(int argc, char** argv) {
    try {
        return run(argc, argv);
    } catch (...) {
        std::fputs("boltwalk: this should not have happened, and could not be said\n", stderr);
        return boltwalk::exit_unreadable;
    }
}
