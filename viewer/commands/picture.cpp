#include "viewer/commands/picture.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <memory>
#include <optional>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/job/estimated.hpp"
#include "core/job/ways.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"
#include "viewer/commands/still.hpp"
#include "viewer/draw/draw.hpp"
#include "viewer/scene/seen_from.hpp"

namespace boltwalk {

namespace picture_command {
namespace {

constexpr int LARGEST = 16384;
constexpr int WAY_QUERIES = 60; ///< a way out is looked for so long where none is stated (core/geometry/way.hpp)

struct Settings {
    std::string map, output, from;
    std::string size = "1280x800";
    int step = -1;
    int hidden = -1;
    bool all = false;
    bool estimates = true;
    bool refit = false;
    bool night = false;
    bool xray = false;
    bool labels = true;
    bool caption = true;
    double explode = 0;
};

struct Size {
    int width = 0, height = 0;
};

/// "1280x800".
std::optional<Size> read_size(const std::string& text) {
    Size size;
    const char* end = text.data() + text.size();
    const auto first = std::from_chars(text.data(), end, size.width);
    if (first.ec != std::errc() || first.ptr == end || *first.ptr != 'x')
        return std::nullopt;
    const auto second = std::from_chars(first.ptr + 1, end, size.height);
    if (second.ec != std::errc() || second.ptr != end)
        return std::nullopt;
    if (size.width < 64 || size.height < 64 || size.width > LARGEST || size.height > LARGEST)
        return std::nullopt;
    return size;
}

std::optional<Place> read_place(const std::string& text) {
    for (const Place place :
         {Place::under, Place::over, Place::left, Place::right, Place::front, Place::rear, Place::inside})
        if (text == name_of(place))
            return place;
    return std::nullopt;
}

/// What all pictures of one call share.
struct Studio {
    const Settings& settings;
    Size size;
    std::optional<Place> from;
    const Job& job;
    const Stage& stage;
    Drawing& drawing;
    const Eyes& eyes;
    const Explosion& explosion; ///< empty: nothing is pulled apart

    /// A picture in which everything but the camera is settled.
    Frame frame_of(const Shot& shot, const Overlays& over) const {
        Frame frame =
            still_of(job, stage, shot, size.width, size.height, std::min(size.width / 1280.0, size.height / 800.0));
        frame.night = settings.night;
        frame.xray = settings.xray;
        pull_apart(eyes.solids, explosion, settings.explode, frame.poses);
        if (!settings.labels)
            frame.labels.clear();
        if (settings.explode <= 0) // pulled apart, nothing is where it was measured
            frame.over = over;
        tell_ways(frame.over, frame.labels, frame.caption);
        if (!settings.labels) // nothing estimated without its word
            without_words(frame.over);
        if (!settings.caption)
            frame.caption = Caption{};
        return frame;
    }

    tl::expected<void, std::string> take(Shot shot, const Overlays& over, const std::string& path) const {
        if (from) {
            shot.from = *from;
            shot.caption.from = seen_from(*from);
        }
        Frame frame = frame_of(shot, over);
        // What is pulled apart stands elsewhere than where the view was worked out for.
        aim(stage, shot, settings.explode > 0 ? StepView{} : view_of(job, stage, eyes, shot, room_of(frame)), frame);
        return finish(std::move(frame), path);
    }

    /// One that is out of sight as found: the `number`th, from 1.
    tl::expected<void, std::string> take_hidden(const Plan& strip, const Shot& found, int number,
                                                const std::string& path) const {
        // The words decide how much of the picture is free, so they come first.
        Frame frame = frame_of(found, {});
        frame.caption = Caption{"Out of sight 1 of 1", "", "", {}, "one line of what hides it, and when it shows"};
        const auto list = out_of_sight(job, stage, eyes, strip, room_of(frame));
        if (list.empty())
            return tl::unexpected(fmt::format("{}: no fastener is out of sight as found (estimated)", settings.map));
        if (number > static_cast<int>(list.size()))
            return tl::unexpected(
                fmt::format("--hidden {}: {} has {} fasteners out of sight (estimated); the first is 1", number,
                            settings.map, list.size()));
        const OutOfSight& one = list[static_cast<std::size_t>(number - 1)];
        frame.next = {one.fastener};
        frame.labels.clear();
        if (settings.caption)
            frame.caption = caption_of(*job.map, one, static_cast<std::size_t>(number), list.size());
        else
            frame.caption = Caption{};
        frame.camera = one.view.camera;
        frame.over.glass = one.view.glass;
        return finish(std::move(frame), path);
    }

    tl::expected<void, std::string> finish(Frame frame, const std::string& path) const {
        place_labels(stage, {}, frame);
        const auto pixels = render(drawing, frame);
        if (!pixels)
            return tl::unexpected(pixels.error());
        return write_png(*pixels, path);
    }
};

tl::expected<void, std::string> take_pictures(const Settings& settings, const Studio& studio,
                                              const std::vector<Shot>& shots, const Plan& plan) {
    if (settings.hidden >= 0)
        return studio.take_hidden(plan, shots.front(), settings.hidden, settings.output);
    std::vector<Overlays> over(shots.size());
    if (settings.estimates && (settings.all || settings.step > 0))
        over = overlays_of(studio.job, studio.stage, studio.eyes.solids, plan, shots, WAY_QUERIES);
    for (std::size_t i = 1; i < over.size(); ++i)
        only_first_tool(over[i], plan.steps[i - 1]);
    if (!settings.all) {
        const auto step = static_cast<std::size_t>(settings.step);
        return studio.take(shots[step], over[step], settings.output);
    }
    std::error_code failed;
    std::filesystem::create_directories(settings.output, failed);
    if (failed)
        return tl::unexpected(fmt::format("{}: the folder cannot be made: {}", settings.output, failed.message()));
    for (std::size_t i = 0; i < shots.size(); ++i) {
        const auto path = std::filesystem::path(settings.output) / fmt::format("step-{:03}.png", i);
        if (const auto done = studio.take(shots[i], over[i], path.string()); !done)
            return done;
    }
    return {};
}

int run(const Settings& settings) {
    const auto wrong = [](const std::string& text) {
        say_error(text);
        return exit_usage;
    };
    const auto size = read_size(settings.size);
    if (!size)
        return wrong(fmt::format("--size {}: write WIDTHxHEIGHT in pixels, each from 64 to {}: 1280x800", settings.size,
                                 LARGEST));
    const auto from = read_place(settings.from);
    if (!settings.from.empty() && !from)
        return wrong(
            fmt::format("--from {}: a place is under, over, left, right, front, rear or inside", settings.from));
    const bool hidden = settings.hidden >= 0;
    if (!settings.all && !hidden && settings.step < 0)
        return wrong("which step? --step N (0 is the state as found), --all with a folder for -o, or --hidden N");
    if (hidden && (settings.hidden < 1 || settings.refit))
        return wrong(
            "--hidden N: the Nth fastener that is out of sight before the work begins, from 1; not on the refit");
    if (!(settings.explode >= 0 && settings.explode <= 1))
        return wrong(fmt::format("--explode {}: a share from 0 to 1", settings.explode));
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const Job job = settings.estimates ? job_with_shapes(*map) : prepare(*map);
    const Plan strip = plan_strip(job);
    const Plan plan = settings.refit ? plan_refit(job, strip) : strip;
    const auto shots = shots_of(job, plan, settings.refit ? refit_begin(strip) : as_found(job));
    if (!settings.all && !hidden && static_cast<std::size_t>(settings.step) >= shots.size())
        return wrong(fmt::format("--step {}: {} has {} steps; 0 is the state as found", settings.step, settings.map,
                                 plan.steps.size()));
    const auto context = open_offscreen();
    if (!context) {
        say_error(context.error());
        return exit_unreadable;
    }
    const Stage stage = make_stage(*map);
    const auto drawing = make_drawing(stage);
    if (!drawing) {
        say_error(drawing.error());
        return exit_unreadable;
    }
    const Eyes eyes = make_eyes(*map);
    Explosion explosion;
    if (settings.explode > 0)
        explosion = explode(eyes.solids, apart_of(job, eyes.solids, strip));
    const Studio studio{settings, *size,    settings.from.empty() ? std::nullopt : from, job, stage, **drawing,
                        eyes,     explosion};
    if (const auto done = take_pictures(settings, studio, shots, plan); !done) {
        say_error(done.error());
        return exit_unreadable;
    }
    return exit_good;
}

} // namespace
} // namespace picture_command

void add_picture(CLI::App& app, int& exit_code) {
    using namespace picture_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("picture", "A step as a picture, drawn without a screen");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    auto* step = command->add_option("--step", settings->step, "which step; 0 is the state as found");
    auto* all = command->add_flag("--all", settings->all, "every step: step-000.png (as found), step-001.png, ...")
                    ->excludes(step);
    command
        ->add_option("--hidden", settings->hidden,
                     "the Nth fastener that is out of sight as found, the worst first, and what hides it (estimated)")
        ->excludes(step)
        ->excludes(all);
    command->add_flag("--estimates,!--no-estimates", settings->estimates,
                      "tool in its place, way out, centre of mass; estimated from the shapes");
    command->add_option("-o,--output", settings->output, "the PNG file; with --all a folder")->required();
    command->add_option("--size", settings->size, "WIDTHxHEIGHT in pixels; default 1280x800");
    command->add_flag("--refit", settings->refit, "steps of the way back");
    command->add_flag("--night", settings->night, "light on dark");
    command->add_option("--from", settings->from, "under, over, left, right, front, rear, inside; default: the step's");
    command->add_option("--explode", settings->explode, "pulled apart, 0 to 1; then without estimates");
    command->add_flag("--labels,!--no-labels", settings->labels, "labels with size and tool");
    command->add_flag("--caption,!--no-caption", settings->caption, "step, headline, cautions");
    command->add_flag("--xray", settings->xray, "everything but what is next as glass");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
