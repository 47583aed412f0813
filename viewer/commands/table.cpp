#include "viewer/commands/table.hpp"

#include <memory>
#include <span>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "core/table/table.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace table_command {
namespace {

struct Settings {
    std::string map, output, table;
    bool partly = false, all = false;
};

constexpr std::size_t most_listed = 20; ///< changes; more are a screenful

/// "manual.csv, line 7, skid_bolts, torque: what. remedy"
std::string say(const std::string& file, const TableNote& note) {
    std::string out = file;
    if (note.line > 0)
        out += fmt::format(", line {}", note.line);
    for (const std::string& where : {note.name, note.column})
        if (!where.empty())
            out += ", " + where;
    return fmt::format("{}: {}{}{}", out, note.what, note.remedy.empty() ? "" : " ", note.remedy);
}

/// "  skid_bolts, torque: 24 N·m, was: 22 N·m"
std::string list_of(const std::vector<TableChanged>& told, bool all) {
    std::string out;
    const std::size_t listed = all || told.size() <= most_listed ? told.size() : most_listed;
    const auto shown = [](const std::string& value, const char* nothing) {
        return value.empty() ? std::string(nothing) : printable(value);
    };
    for (std::size_t i = 0; i < listed; ++i)
        out += fmt::format("  {}, {}: {}, was: {}\n", printable(told[i].name), told[i].key,
                           shown(told[i].to, "taken away"), shown(told[i].from, "not stated"));
    if (listed < told.size())
        out += fmt::format("  and {} more (--all lists them)\n", told.size() - listed);
    return out;
}

int apply(const Settings& settings, const Map& map, std::span<const std::byte> file) {
    const auto bytes = bytes_of(settings.table);
    if (!bytes)
        return exit_unreadable;
    const auto table = read_table(*bytes);
    if (!table) {
        say_error(fmt::format("{}: {}", settings.table, table.error()));
        return exit_unreadable;
    }
    const TableChanges changes = changes_of(map, file, *table);
    for (const TableNote& note : changes.wrong)
        say_error(say(settings.table, note));
    for (const TableNote& note : changes.doubts)
        say_error("worth a look: " + say(settings.table, note));
    for (const std::string& name : changes.nodes_without_row)
        say_error(fmt::format("no row speaks of {}", name));
    if (!changes.wrong.empty() && !settings.partly) {
        say_error(fmt::format("nothing was written: {} to mend (--partly writes what is right)", changes.wrong.size()));
        return exit_findings;
    }
    const auto written = write_changes(file, changes.changes);
    if (!written) {
        say_error(written.error().text);
        return exit_unreadable;
    }
    if (!write_whole(settings.output, *written))
        return exit_unreadable;
    const std::string done =
        fmt::format("{}: {} change{}, {} without a row, {} left out", settings.output, changes.changes.size(),
                    changes.changes.size() == 1 ? "" : "s", changes.nodes_without_row.size(), changes.wrong.size());
    if (!print(printable(done) + "\n" + list_of(changes.told, settings.all)))
        return exit_unreadable;
    return changes.wrong.empty() ? exit_good : exit_findings;
}

int run(const Settings& settings) {
    // A map may take a table's changes in; a table never takes a map's place.
    if (settings.table.empty() ? same_file(settings.map, settings.output) : same_file(settings.table, settings.output))
        return exit_usage;
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    const auto bytes = bytes_of(settings.map);
    if (!bytes)
        return exit_unreadable;
    const auto file = span_of(*bytes);
    if (!settings.table.empty())
        return apply(settings, *map, file);
    return write_whole(settings.output, table_of(*map, file)) ? exit_good : exit_unreadable;
}

} // namespace
} // namespace table_command

void add_table(CLI::App& app, int& exit_code) {
    using namespace table_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("table", "The fasteners' facts as a spreadsheet, and a filled-in one back");
    command->add_option("MAP", settings->map, "a .gltf or .glb file")->required();
    command->add_option("-o,--output", settings->output, "the CSV file; with --apply the map to write")->required();
    auto* filled = command->add_option("--apply", settings->table, "a CSV file, as a spreadsheet saves it");
    command->add_flag("--partly", settings->partly, "write what is right, although something is wrong")->needs(filled);
    command->add_flag("--all", settings->all, "list every change, however many")->needs(filled);
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
