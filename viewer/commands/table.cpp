#include "viewer/commands/table.hpp"

#include <map>
#include <memory>
#include <set>
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

constexpr std::size_t most_listed = 20;  ///< changes, and rows without a node; more are a screenful
constexpr std::size_t most_unspoken = 6; ///< groups and fasteners that no row speaks of: they are told in one line

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

/// Rows without a node are told up to a screenful: a table of another map has nothing else.
void tell_wrong(const Settings& settings, const TableChanges& changes) {
    const std::set<std::string> nowhere(changes.rows_without_node.begin(), changes.rows_without_node.end());
    std::size_t rows = 0;
    for (const TableNote& note : changes.wrong) {
        const bool without_node = note.line > 0 && note.column.empty() && nowhere.count(note.name) != 0;
        if (!without_node || ++rows <= most_listed || settings.all)
            say_error(say(settings.table, note));
    }
    if (rows > most_listed && !settings.all)
        say_error(fmt::format("{}: and {} more rows with a name that no fastener and no group has (--all lists them)",
                              settings.table, rows - most_listed));
}

/// "no row speaks of 12 of 106 fasteners: skid_bolts (all 6), brace_bolts (2 of 4), drain_plug"
void tell_without_row(const Settings& settings, const Map& map, const std::vector<std::string>& names) {
    if (names.empty())
        return;
    if (settings.all) {
        for (const std::string& name : names)
            say_error(fmt::format("no row speaks of {}", name));
        return;
    }
    std::map<std::string, std::int32_t> group_of;
    std::vector<std::size_t> members(map.groups.size(), 0);
    for (const Fastener& fastener : map.fasteners) {
        const Item& item = map[fastener.item];
        group_of.emplace(item.name, item.group);
        if (item.group >= 0)
            ++members[static_cast<std::size_t>(item.group)];
    }
    struct Untold {
        std::string name;
        std::int32_t group;
        std::size_t count;
    };
    std::vector<Untold> list;
    for (const std::string& name : names) {
        const auto known = group_of.find(name);
        const std::int32_t group = known == group_of.end() ? -1 : known->second;
        if (group >= 0 && !list.empty() && list.back().group == group)
            ++list.back().count;
        else
            list.push_back({group < 0 ? name : map.groups[static_cast<std::size_t>(group)].name, group, 1});
    }
    std::string told;
    std::size_t left = names.size();
    for (std::size_t i = 0; i < list.size() && i < most_unspoken; ++i) {
        const Untold& one = list[i];
        const std::size_t of = one.group < 0 ? 1 : members[static_cast<std::size_t>(one.group)];
        told += (i == 0 ? "" : ", ") + one.name;
        if (one.group >= 0)
            told += one.count == of ? fmt::format(" (all {})", of) : fmt::format(" ({} of {})", one.count, of);
        left -= one.count;
    }
    if (left > 0)
        told += fmt::format(" and {} more (--all names each)", left);
    say_error(fmt::format("no row speaks of {} of {} fasteners: {}", names.size(), map.fasteners.size(), told));
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
    tell_wrong(settings, changes);
    for (const TableNote& note : changes.doubts)
        say_error("worth a look: " + say(settings.table, note));
    tell_without_row(settings, map, changes.nodes_without_row);
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
    command->add_flag("--all", settings->all, "list every change and every name, however many")->needs(filled);
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk
