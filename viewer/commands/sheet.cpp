#include "viewer/commands/sheet.hpp"

#include <memory>
#include <optional>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/job/estimated.hpp"
#include "core/sheet/sheet.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"
#include "viewer/commands/still.hpp"

namespace boltwalk {

namespace sheet_command {
namespace {

/// On paper 66 mm wide: 300 dots an inch.
constexpr int PICTURE_WIDTH = 780, PICTURE_HEIGHT = 500;
constexpr double CAPITAL_MM = 1.6; ///< of the gnomon's letters, as the sheet's small print
constexpr int JPEG_QUALITY = 88;

struct Settings {
    std::string map, output, log;
    std::string paper = "a4", unit = "N·m";
    bool done = false, pictures = true, boards = true;
};

/// Draws the steps of both ways for the page.
struct Painter {
    const Job& job;
    const Stage& stage;
    Drawing& drawing;
    const Eyes& eyes;
    std::vector<Shot> out, back;
    std::string error;

    std::optional<SheetPicture> take(bool refit, std::size_t step) {
        const Shot& shot = (refit ? back : out).at(step + 1);
        // A quarter as wide as a screen's picture and looked at from as near: marks and letters twice as large in it.
        Frame frame = still_of(job, stage, shot, PICTURE_WIDTH, PICTURE_HEIGHT, 2 * PICTURE_HEIGHT / 800.0);
        frame.capital_px = CAPITAL_MM * PICTURE_WIDTH / 66;
        frame.caption = Caption{}; // the page says it
        frame.labels.clear();
        aim(stage, shot, view_of(job, stage, eyes, shot, room_of(frame)), frame);
        const auto pixels = render(drawing, frame);
        if (!pixels) {
            error = pixels.error();
            return std::nullopt;
        }
        return SheetPicture{jpeg_of(*pixels, JPEG_QUALITY), pixels->width, pixels->height};
    }
};

int write(const Settings& settings, const tl::expected<std::string, std::string>& pdf) {
    if (!pdf) {
        say_error(pdf.error());
        return exit_unreadable;
    }
    return write_whole(settings.output, *pdf) ? exit_good : exit_unreadable;
}

int record(const Settings& settings, const SheetSettings& sheet, const Map& map, const Job& job) {
    const std::string path = settings.log.empty() ? log_path_of(settings.map) : settings.log;
    const Log log(map, path);
    if (log.entries().empty()) {
        say_error(
            log.warning().empty()
                ? fmt::format("{}: nothing was logged yet: `boltwalk log {}` or the window keep it", path, settings.map)
                : log.warning());
        return exit_unreadable;
    }
    const Plan strip = plan_strip(job);
    const JobNow now = fold(job, log.entries(), gates_of(map, strip, plan_refit(job, strip)));
    return write(settings, print_record(job, Done{log.entries(), now, log.map_match().differs}, sheet));
}

int run(const Settings& settings) {
    SheetSettings sheet;
    const auto unit = read_torque_unit(settings.unit);
    if (!unit) {
        say_error(fmt::format("--unit {}: {} {}", settings.unit, unit.error().what, unit.error().remedy));
        return exit_usage;
    }
    sheet.unit = *unit;
    sheet.paper = settings.paper == "letter" ? Paper::letter : Paper::a4;
    sheet.boards = settings.boards;
    if (same_file(settings.map, settings.output))
        return exit_usage;
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const Job job = job_with_shapes(*map);
    if (settings.done)
        return record(settings, sheet, *map, job);
    const Plan strip = plan_strip(job);
    const Plan refit = plan_refit(job, strip);
    for (const Plan* plan : {&strip, &refit})
        for (const Finding& finding : plan->findings)
            if (finding.weight == Weight::fault)
                say_error(fmt::format("fault: {} {}", finding.what, finding.remedy));
    const bool faulty = weighs(strip.findings, false) || weighs(refit.findings, false);
    if (!settings.pictures) {
        const int code = write(settings, print_sheet(job, strip, refit, sheet));
        return code == exit_good && faulty ? exit_findings : code;
    }
    const auto context = open_offscreen();
    if (!context) {
        say_error(context.error() + " (--no-pictures prints without)");
        return exit_unreadable;
    }
    const Stage stage = make_stage(*map);
    const auto drawing = make_drawing(stage);
    if (!drawing) {
        say_error(drawing.error() + " (--no-pictures prints without)");
        return exit_unreadable;
    }
    const Eyes eyes = make_eyes(*map);
    Painter painter{
        job, stage, **drawing, eyes, shots_of(job, strip, as_found(job)), shots_of(job, refit, refit_begin(strip)), {}};
    sheet.picture = [&](bool back, std::size_t step) { return painter.take(back, step); };
    const auto pdf = print_sheet(job, strip, refit, sheet);
    if (!painter.error.empty()) {
        say_error(painter.error);
        return exit_unreadable;
    }
    const int code = write(settings, pdf);
    return code == exit_good && faulty ? exit_findings : code;
}

} // namespace
} // namespace sheet_command

void add_sheet(CLI::App& app, int& exit_code) {
    using namespace sheet_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("sheet", "The job on paper: both ways, what to buy, a bolt board, labels");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("-o,--output", settings->output, "the PDF file")->required();
    command->add_option("--paper", settings->paper, "a4 or letter; default a4")->check(CLI::IsMember({"a4", "letter"}));
    command->add_option("--unit", settings->unit, "your torque wrench's unit; default N·m");
    auto* done = command->add_flag("--done", settings->done, "the record of a job, from its log, to be signed");
    command->add_option("--log", settings->log, "the log; default: the one beside the map")->needs(done);
    command->add_flag("--pictures,!--no-pictures", settings->pictures, "a picture of each step");
    command->add_flag("--boards,!--no-boards", settings->boards, "the bolt board and labels for bags");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
