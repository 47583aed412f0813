#include "viewer/commands/photo.hpp"

#include <algorithm>
#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/job/estimated.hpp"
#include "core/map/map.hpp"
#include "core/photo/photo.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace photo_command {
namespace {

struct Settings {
    std::string map, out, node, drop, save, name;
    std::vector<std::string> files;
    int step = -1;
};

std::string list(const Map& map) {
    std::string text;
    for (std::size_t p = 0; p < map.photos.size(); ++p) {
        const Photo& photo = map.photos[p];
        std::string names;
        for (const Item& item : map.items)
            if (std::find(item.photos.begin(), item.photos.end(), static_cast<std::int32_t>(p)) != item.photos.end())
                names += (names.empty() ? "" : ", ") + printable(item.name);
        const auto size = look_at_photo(photo.bytes);
        text += fmt::format("{}: {}, {} KiB, of {}", printable(photo.name),
                            size ? fmt::format("{} x {}", size->width, size->height) : size.error(),
                            (photo.bytes.size() + 1023) / 1024, names);
        std::string told;
        for (const std::string& what : told_by_photo(photo.bytes))
            told += (told.empty() ? "" : ", ") + what;
        text += told.empty() ? "\n" : fmt::format("; holds more than pixels: {}\n", told);
    }
    return map.photos.empty() ? "no photographs\n" : text;
}

/// What a step of the order down is about: the group, where all of it belongs to one, else its first item.
std::int32_t node_of_step(const Settings& settings, const Map& map) {
    const Job job = job_with_shapes(map);
    const Plan plan = plan_strip(job);
    const auto number = static_cast<std::size_t>(settings.step);
    if (number < 1 || number > plan.steps.size()) {
        say_error(fmt::format("{}: the order down has {} steps and none is {}; `boltwalk order` lists them",
                              settings.map, plan.steps.size(), settings.step));
        return -1;
    }
    const std::vector<ItemId>& items = plan.steps[number - 1].items;
    if (items.empty()) {
        say_error(fmt::format("{}: step {} is about the vehicle and no item of the map; name an item with --node",
                              settings.map, settings.step));
        return -1;
    }
    const std::int32_t group = map[items.front()].group;
    const bool one_group =
        group >= 0 && std::all_of(items.begin(), items.end(), [&](ItemId id) { return map[id].group == group; });
    return one_group ? map.groups[static_cast<std::size_t>(group)].node : map[items.front()].node;
}

/// The node that gets them: an item or a group of that name, or what a step is about.
std::int32_t node_for(const Settings& settings, const Map& map) {
    if (settings.step >= 0)
        return node_of_step(settings, map);
    if (const ItemId item = find_item(map, settings.node))
        return map[item].node;
    if (const std::int32_t group = find_group(map, settings.node); group >= 0)
        return map.groups[static_cast<std::size_t>(group)].node;
    say_error(fmt::format("{}: no item or group is named {}; name one with --node, or a step with --step", settings.map,
                          settings.node.empty() ? "\"\"" : settings.node));
    return -1;
}

struct Written {
    std::string bytes;
    std::string said;
};

tl::expected<Written, std::string> put_in(const Settings& settings, std::string bytes, std::int32_t node) {
    std::string value;
    for (const auto& [own, text] : values_of_key(span_of(bytes), "photo"))
        if (own == node)
            value = text;
    Written written;
    for (const std::string& path : settings.files) {
        const auto file = bytes_of(path);
        if (!file)
            return tl::unexpected(std::string());
        const auto taken = take_photo(span_of(*file));
        if (!taken)
            return tl::unexpected(fmt::format("{}: {}", path, taken.error()));
        const std::string name = photo_name_for(span_of(bytes), settings.name.empty() ? path : settings.name);
        auto next = write_photo(span_of(bytes), "", name, taken->jpeg);
        if (!next)
            return tl::unexpected(next.error().text);
        bytes = std::move(*next);
        value = photo_added(value, name);
        written.said +=
            fmt::format("{}: {} x {}, {} KiB\n", name, taken->width, taken->height, (taken->jpeg.size() + 1023) / 1024);
    }
    const Change change{node, "photo", json_quoted(value), false};
    auto done = write_changes(span_of(bytes), {&change, 1});
    if (!done)
        return tl::unexpected(done.error().text);
    written.bytes = std::move(*done);
    return written;
}

tl::expected<Written, std::string> take_out(const Settings& settings, const std::string& bytes) {
    auto out = write_without_photo(span_of(bytes), settings.drop);
    if (!out)
        return tl::unexpected(fmt::format("{}: {}", settings.map, out.error().text));
    // Whoever named it says so no more.
    std::vector<Change> changes;
    for (const auto& [node, value] : values_of_key(span_of(bytes), "photo")) {
        const std::string rest = photo_dropped(value, settings.drop);
        if (rest != photo_dropped(value, ""))
            changes.push_back({node, "photo", rest.empty() ? "" : json_quoted(rest), false});
    }
    auto done = write_changes(span_of(*out), changes);
    if (!done)
        return tl::unexpected(done.error().text);
    return Written{std::move(*done), fmt::format("{}: taken out\n", settings.drop)};
}

int save(const Settings& settings, const Map& map) {
    for (const Photo& photo : map.photos)
        if (photo.name == settings.save)
            return write_whole(settings.out, {reinterpret_cast<const char*>(photo.bytes.data()), photo.bytes.size()})
                       ? exit_good
                       : exit_unreadable;
    say_error(fmt::format("{}: no item shows a photograph named {}", settings.map, settings.save));
    return exit_unreadable;
}

int run(const Settings& settings) {
    const bool putting = !settings.files.empty(), changing = putting || !settings.drop.empty();
    if (putting + !settings.drop.empty() + !settings.save.empty() > 1) {
        say_error("one at a time: FILE puts in, --drop takes out, --save writes one as a file");
        return exit_usage;
    }
    if ((changing || !settings.save.empty()) && settings.out.empty()) {
        say_error("name the file to write with -o");
        return exit_usage;
    }
    const auto bytes = bytes_of(settings.map);
    const auto map = bytes ? map_of(settings.map) : std::nullopt;
    if (!map)
        return exit_unreadable;
    if (!settings.save.empty())
        return save(settings, *map);
    if (!changing)
        return print(list(*map)) ? exit_good : exit_unreadable;
    const std::int32_t node = putting ? node_for(settings, *map) : 0;
    if (node < 0)
        return exit_unreadable;
    const auto written = putting ? put_in(settings, *bytes, node) : take_out(settings, *bytes);
    if (!written) {
        if (!written.error().empty())
            say_error(written.error());
        return exit_unreadable;
    }
    if (!write_whole(settings.out, written->bytes))
        return exit_unreadable;
    return print(written->said) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace photo_command

void add_photo(CLI::App& app, int& exit_code) {
    using namespace photo_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("photo", "Photographs into a map, without place and date, and out of it");
    command->add_option("MAP", settings->map, "a .gltf or .glb file; alone, its photographs are listed")->required();
    command->add_option("FILE", settings->files, "JPEG or PNG files to put in");
    auto* node = command->add_option("--node", settings->node, "the item or group that they show");
    command
        ->add_option("--step", settings->step,
                     "or what that step of the order down is about: its group, or its first item")
        ->check(CLI::NonNegativeNumber)
        ->excludes(node);
    command->add_option("--name", settings->name, "what it is called in the map; else as its file");
    command->add_option("--drop", settings->drop, "take the photograph of that name out of the map");
    command->add_option("--save", settings->save, "write the photograph of that name as a file");
    command->add_option("-o,--output", settings->out, "the file to write");
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
